#include "sched/report/words/glossary.hpp"

#include <algorithm>
#include <set>

#include "tests/catch.hpp"

using namespace sched::report;

namespace {

std::string page_of(const std::string& body) {
    return "<html><body><header><h1>Lateness</h1></header>\n<main>\n" + body +
           "</main>\n<script>const lateness = 1;</script></body></html>\n";
}

int count_of(const std::string& text, const std::string& what) {
    int n = 0;
    for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
        ++n;
    return n;
}

}  // namespace

TEST_CASE("the glossary has one sentence for each word, each word once", "[glossary]") {
    REQUIRE(glossary().size() > 30);
    std::set<std::string> names;
    for (const GlossaryTerm& term : glossary()) {
        REQUIRE_FALSE(term.names.empty());
        INFO(term.names.front() << ": " << term.meaning);
        for (const std::string& name : term.names) {
            CHECK_FALSE(name.empty());
            CHECK(names.insert(name).second);
        }
        CHECK(term.meaning.ends_with('.'));
        CHECK(count_of(term.meaning, ". ") == 0);
        CHECK(term.meaning.size() <= 120);
        CHECK(term.meaning.front() >= 'A');
        CHECK(term.meaning.front() <= 'Z');
    }
    // Words of the field that a lead need not know, and that stand on pages.
    for (const char* word : {"utilisation",
                             "bottleneck",
                             "net present value",
                             "annual net benefit",
                             "internal rate",
                             "payback",
                             "interval",
                             "80 % range",
                             "critical WIP",
                             "raw process time",
                             "random variation",
                             "common random numbers",
                             "paired difference",
                             "lateness",
                             "turnaround",
                             "lead time",
                             "lower bound",
                             "indifference zone",
                             "dose",
                             "promise"}) {
        INFO(word);
        CHECK(names.contains(word));
    }
}

TEST_CASE("a word leads to its meaning, once in each section", "[glossary]") {
    const std::string out = with_words(page_of(
        "<section id=\"a\"><h2>Lateness of all</h2><p>No lateness, and utilisation.</p></section>\n"
        "<section id=\"b\"><p title=\"lateness\">The lateness.</p></section>\n"));
    CHECK(count_of(out, "<a class=\"word\" href=\"#word-early-or-late\"") == 2);
    CHECK(out.find(">Lateness</a> of all</h2>") != std::string::npos);
    CHECK(out.find("<p>No lateness, and <a class=\"word\" href=\"#word-utilisation\"") !=
          std::string::npos);
    CHECK(count_of(out, "<dt id=\"word-early-or-late\"") == 1);
    CHECK(count_of(out, "<dt ") == 2);
    CHECK(out.find("What 2 words on this page mean") != std::string::npos);
    CHECK(out.find("<h1>Lateness</h1>") != std::string::npos);    // the head stays
    CHECK(out.find("const lateness = 1;") != std::string::npos);  // the script too
    CHECK(out.find("title=\"lateness\"") != std::string::npos);   // and attributes
    CHECK(out.find("<dt id=\"word-") < out.find("</main>"));
}

TEST_CASE("the longest word wins, and only whole words count", "[glossary]") {
    const std::string out = with_words(
        page_of("<p>practical worst case; worst cases; workload, intervals-like, interval.</p>"));
    CHECK(count_of(out, "class=\"word\"") == 3);
    CHECK(out.find(">practical worst case</a>; <a") != std::string::npos);
    CHECK(out.find(">worst cases</a>; workload, intervals-like, <a") != std::string::npos);
}

TEST_CASE("a name with a capital is a whole heading", "[glossary]") {
    const std::string out = with_words(
        page_of("<table><tr><th>Load</th><td>load the unit, Load the unit</td></tr></table>"));
    CHECK(count_of(out, "class=\"word\"") == 1);
    CHECK(out.find("<th><a class=\"word\" href=\"#word-load\"") != std::string::npos);
}

TEST_CASE("nothing that is pressed, drawn or typed gets a link", "[glossary]") {
    for (const char* body :
         {"<a href=\"x\">lateness</a>", "<button>lateness</button>",
          "<svg><text>lateness</text></svg>",
          "<details><summary>lateness <b>lateness</b></summary></details>",
          "<select><option>lateness</option></select>", "<code>lateness</code>", "<p>late</p>"}) {
        INFO(body);
        CHECK(with_words(page_of(body)) == page_of(body));
    }
    CHECK(with_words("<p>lateness</p>") == "<p>lateness</p>");
    CHECK(with_words("</main><main>lateness") == "</main><main>lateness");
}
