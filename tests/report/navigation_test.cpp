// The line of links: to what lies beside a page, and to nothing else.
#include "sched/report/words/navigation.hpp"

#include <unistd.h>

#include <fstream>
#include <sstream>

#include "sched/report/plan/outputs.hpp"
#include "sched/report/words/html.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched::report;
namespace fs = std::filesystem;

namespace {

struct LinkedFolder {
    fs::path path = fs::temp_directory_path() / ("coatroom-pages-" + std::to_string(::getpid()));
    LinkedFolder() { fs::create_directories(path); }
    ~LinkedFolder() { fs::remove_all(path); }
    void write(const std::string& name, const std::string& text) const {
        std::ofstream(path / name, std::ios::binary) << text;
    }
    std::string read(const std::string& name) const {
        std::ifstream in(path / name, std::ios::binary);
        std::ostringstream text;
        text << in.rdbuf();
        return text.str();
    }
};

std::string some_page(const std::string& own) {
    return page_head("T", page_script()) + "<body>\n" + page_top({.own = own, .title = "T"}) +
           "</body>\n";
}

}  // namespace

TEST_CASE("a page alone has no line of links", "[pages]") {
    const std::string none =
        "<nav class=\"pages\" data-coatroom aria-label=\"Pages\" hidden></nav>";
    CHECK(navigation({}, "plan.html") == none);
    CHECK(navigation({{"plan.html", "Plan"}}, "plan.html") == none);
    CHECK(navigation({{"plan.html", "Plan"}, {"size.html", "A & B"}}, "size.html") ==
          "<nav class=\"pages\" data-coatroom aria-label=\"Pages\"><a href=\"plan.html\">Plan</a> "
          "<a href=\"size.html\" aria-current=\"page\">A &amp; B</a></nav>");
    CHECK(with_navigation("no line", known_pages(), "plan.html") == "no line");
}

TEST_CASE("pages of a folder link to each other, whichever came first", "[pages]") {
    const LinkedFolder folder;
    folder.write("drying.html", some_page("drying.html"));
    join_pages(folder.path / "drying.html");
    CHECK(folder.read("drying.html").find("<a href") == std::string::npos);
    folder.write("size.html", "<html>another program's</html>");
    REQUIRE(write_outputs(fixture::golden_document(), folder.path).errors.empty());
    for (const char* name : {"plan.html", "sheets.html", "drying.html"}) {
        const std::string page = folder.read(name);
        INFO(name);
        for (const char* other : {"plan.html", "sheets.html", "drying.html"})
            CHECK(page.find(std::string("<a href=\"") + other + "\"") != std::string::npos);
        CHECK(page.find("href=\"weeks.html\"") == std::string::npos);
        CHECK(page.find(std::string("<a href=\"") + name + "\" aria-current=\"page\"") !=
              std::string::npos);
    }
    CHECK(folder.read("size.html") == "<html>another program's</html>");
    // A page of another name links to them; they do not know it.
    folder.write("order-7.html", some_page("dose.html"));
    join_pages(folder.path / "order-7.html");
    CHECK(folder.read("order-7.html").find("href=\"plan.html\"") != std::string::npos);
    CHECK(folder.read("plan.html").find("order-7") == std::string::npos);
    // What is gone is no longer linked.
    fs::remove(folder.path / "drying.html");
    join_pages(folder.path);
    CHECK(folder.read("plan.html").find("drying.html") == std::string::npos);
}
