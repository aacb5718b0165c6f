#include "sched/board/page.hpp"

#include "sched/report/words/html.hpp"
#include "sched/report/words/web_assets.hpp"

namespace sched::board {

const std::vector<report::PageLink>& board_pages() {
    static const std::vector<report::PageLink> pages = {{"/", "Board"},
                                                        {"/plan.html", "Plan"},
                                                        {"/sheets.html", "Run sheets"},
                                                        {"/timeline.html", "Timeline to print"},
                                                        {"/ask", "Ask"}};
    return pages;
}

std::string board_policy() {
    return "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
           "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

std::string board_page() {
    return "<!DOCTYPE html>\n<html lang=\"en\" class=\"safelight\">\n<head>\n"
           "<meta charset=\"utf-8\">\n"
           "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
           "<meta name=\"referrer\" content=\"no-referrer\">\n<title>Board</title>\n"
           "<link rel=\"stylesheet\" href=\"/board.css\">\n"
           "<script src=\"/board.js\" defer></script>\n"
           "<script src=\"/marks.js\" defer></script>\n</head>\n"
           "<body>\n<header>\n<p id=\"clock\"></p>\n<h1 id=\"room\">Board</h1>\n"
           "<nav id=\"tabs\" aria-label=\"What is shown\">"
           "<button type=\"button\" data-view=\"stations\" aria-pressed=\"true\">Stations</button>"
           "<button type=\"button\" data-view=\"people\" aria-pressed=\"false\">People</button>"
           "<button type=\"button\" data-view=\"orders\" aria-pressed=\"false\">Orders</button>"
           "<button type=\"button\" data-view=\"more\" aria-pressed=\"false\">More</button>"
           "</nav>\n</header>\n<p id=\"message\" role=\"alert\"></p>\n"
           "<div id=\"said\" role=\"status\"></div>\n"
           "<main id=\"main\"><p>The plan is being read.</p>\n"
           "<noscript><p>The board needs this page's script; <a href=\"/plan.html\">the plan</a> "
           "shows the same without it.</p></noscript></main>\n"
           "<footer id=\"strip\"></footer>\n</body>\n</html>\n";
}

}  // namespace sched::board
