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

std::string board_page() {
    const auto script = report::web_asset("board.js");
    std::string out = report::page_head("Board", script, "connect-src 'self'; form-action 'self'");
    out.insert(out.find("<html lang=\"en\"") + 15, " class=\"safelight\"");
    out +=
        "<body class=\"board\">\n<header>\n<h1 id=\"room\">Board</h1>\n"
        "<p id=\"clock\" aria-live=\"off\"></p>\n"
        "</header>\n<p id=\"message\" role=\"alert\" hidden></p>\n"
        "<section class=\"line\" aria-label=\"Controls and pages\">\n<div class=\"tools\" "
        "role=\"group\" aria-label=\"What is shown\">"
        "<button type=\"button\" data-view=\"station\" aria-pressed=\"true\">Stations</button>"
        "<button type=\"button\" data-view=\"person\" aria-pressed=\"false\">People</button>"
        "<button type=\"button\" data-step=\"-15\" aria-label=\"15 minutes "
        "back\">&minus;15</button>"
        "<button type=\"button\" data-step=\"0\" aria-pressed=\"true\">Now</button>"
        "<button type=\"button\" data-step=\"15\" aria-label=\"15 minutes on\">+15</button>"
        "</div>\n" +
        report::navigation({board_pages()[1], board_pages()[2], board_pages().back()}, "/") +
        "\n</section>\n<main id=\"cards\"></main>\n"
        "<noscript><p>The board needs this page's script; <a href=\"/plan.html\">the plan</a> "
        "shows the same without it.</p></noscript>\n"
        "<script>" +
        std::string(script) + "</script>\n</body>\n</html>\n";
    return out;
}

}  // namespace sched::board
