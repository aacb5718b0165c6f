#include "sched/report/promise/promise_page.hpp"
#include "sched/report/promise/ask_page.hpp"

#include <cmath>

#include "sched/report/promise/dot_plot.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::report;

namespace {

core::SimTime at(const char* text) {
    return *model::parse_date_time(text);
}

std::size_t count_of(const std::string& text, const std::string& what) {
    std::size_t n = 0;
    for (auto i = text.find(what); i != std::string::npos; i = text.find(what, i + 1))
        ++n;
    return n;
}

// 199 days: 180 in time for 16:00, 19 after it, four of which never end.
study::Promise answer() {
    study::Promise p;
    p.enquiry.name = "E1 <b>";
    p.enquiry.customer = "Fern & \"Co\"";
    model::ScreenLine line;
    line.count = 4;
    line.mesh = "120-34";
    line.emulsion = "dual-cure A";
    line.coat_plan = "2+2";
    p.enquiry.lines.push_back(line);
    p.enquiry.wanted = at("2026-11-26T12:00");
    p.room = "Demo room";
    p.invented = true;
    p.asked = at("2026-11-26T08:00");
    p.planned = at("2026-11-26T13:00");
    p.days = 199;
    p.unfinished = 4;
    for (int i = 0; i < 180; ++i)
        p.ready.push_back(at("2026-11-26T11:00") + model::minutes(i));
    for (int i = 0; i < 15; ++i)
        p.ready.push_back(at("2026-11-27T08:00") + model::minutes(5 * i));
    p.quantiles = {{.level = 0.9, .rank = 180, .ready = p.ready[179]}};
    p.at_level = p.ready[179];
    p.recommended = at("2026-11-26T16:00");
    p.slot_words = "the next of 11:00 and 16:00";
    p.recommended_odds = {180, 199, 180.0 / 199.0, {0.86, 0.94}};
    p.wanted = study::Odds{61, 199, 61.0 / 199.0, {0.25, 0.37}};
    p.endangered.push_back({.order = "A7",
                            .customer = "<script>",
                            .due = at("2026-11-26T15:00"),
                            .later_minutes = 12.0,
                            .later_interval = {10.0, 14.0},
                            .before = {190, 199, 0.95, {0.9, 0.97}},
                            .after = {170, 199, 0.85, {0.8, 0.9}},
                            .lost_days = 20});
    p.remedies.push_back({.kind = "film",
                          .words = "if the films are here by 07:30",
                          .recommended = at("2026-11-26T11:00"),
                          .sooner_minutes = 40.0});
    p.chain.push_back({at("2026-11-26T09:00"), model::minutes(5), "waits 5 min for Booth"});
    p.sentence = "Your screens are ready on Thursday at 16:00.";
    return p;
}

}  // namespace

TEST_CASE("twenty dots stand for equal shares of the days", "[promise-page]") {
    const auto p = answer();
    const auto dots = quantile_dots(p);
    REQUIRE(dots.size() == 20);
    // By hand: rank ceil(199 (2i + 1) / 40): 5, 15, ..., i = 17: ceil(174.1) = 175, i = 18:
    // ceil(184.1) = 185, i = 19: ceil(194.0) = 195.
    CHECK(dots[0] == p.ready[4]);
    CHECK(dots[1] == p.ready[14]);
    CHECK(dots[17] == p.ready[174]);
    CHECK(dots[18] == p.ready[184]);
    CHECK(dots[19] == p.ready[194]);
    CHECK(dots_sentence(dots, *p.recommended) == "2 of 20 dots are after Thu 2026-11-26 16:00.");
    CHECK(dots_sentence(dots, p.ready[0]) == "20 of 20 dots are after Thu 2026-11-26 11:00.");
    CHECK(dots_sentence(dots, at("2026-11-28T00:00")) ==
          "None of 20 dots are after Sat 2026-11-28 00:00.");
    auto never = p;
    never.unfinished = 60;
    CHECK_FALSE(quantile_dots(never)[19]);
    CHECK(quantile_dots(study::Promise{}).empty());
    study::Promise one;
    one.ready = {p.planned};
    CHECK(quantile_dots(one) == std::vector<std::optional<core::SimTime>>(20, p.planned));
}

TEST_CASE("the plot has every dot, none on another, the late ones marked", "[promise-page]") {
    const auto p = answer();
    const auto dots = quantile_dots(p);
    const std::string svg = dot_plot_svg({dots, p.recommended, p.enquiry.wanted});
    CHECK(count_of(svg, "<circle") == 20);
    CHECK(count_of(svg, "class=\"dot after\"") == 2);
    CHECK(count_of(svg, "class=\"gap\"") == 1);  // the night is cut out
    CHECK(svg.find("nan") == std::string::npos);
    CHECK(svg.find("inf") == std::string::npos);
    std::vector<std::pair<double, double>> centres;
    for (auto i = svg.find("cx=\""); i != std::string::npos; i = svg.find("cx=\"", i + 1)) {
        centres.emplace_back(std::stod(svg.substr(i + 4)),
                             std::stod(svg.substr(svg.find("cy=\"", i) + 4)));
    }
    REQUIRE(centres.size() == 20);
    for (std::size_t a = 0; a < centres.size(); ++a) {
        CHECK(centres[a].first > 8.0);
        CHECK(centres[a].first < 472.0);
        for (std::size_t b = 0; b < a; ++b) {
            CHECK(std::hypot(centres[a].first - centres[b].first,
                             centres[a].second - centres[b].second) > 13.8);
        }
    }
    // All at one minute, and none that ended: still a picture, or none.
    CHECK(count_of(dot_plot_svg({std::vector<std::optional<core::SimTime>>(20, p.planned), {}, {}}),
                   "<circle") == 20);
    CHECK(dot_plot_svg({std::vector<std::optional<core::SimTime>>(20), {}, {}}).empty());
    CHECK(count_of(dot_plot_svg({std::vector<std::optional<core::SimTime>>(20), p.planned, {}}),
                   "<circle") == 20);
}

TEST_CASE("the page says what matters and lets no text become markup", "[promise-page]") {
    const std::string page = promise_page(answer());
    CHECK(page.find("Your screens are ready on Thursday at 16:00.") != std::string::npos);
    CHECK(page.find("2 of 20 dots are after Thu 2026-11-26 16:00.") != std::string::npos);
    CHECK(page.find("E1 <b>") == std::string::npos);
    CHECK(page.find("E1 &lt;b&gt;") != std::string::npos);
    CHECK(page.find("&lt;script&gt;") != std::string::npos);
    CHECK(count_of(page, "<script") == 1);
    CHECK(page.find("190 of 199") != std::string::npos);
    CHECK(page.find("if the films are here by 07:30") != std::string::npos);
    CHECK(page.find("waits 5 min for Booth") != std::string::npos);
    CHECK(page.find("http") == page.find("http-equiv"));  // nothing is fetched
    study::Promise none;
    none.enquiry.name = "E2";
    none.impossible = "no frame of 10 x 10 cm is in the store.";
    const std::string no = promise_page(none);
    CHECK(no.find("No answer: no frame of 10 x 10 cm") != std::string::npos);
    CHECK(no.find("<svg") == std::string::npos);
}

TEST_CASE("the form and the refusal are pages that stand alone, names escaped", "[promise][page]") {
    model::Scenario s;
    s.room.name = "A <b> & C";
    s.room.meshes.push_back({.name = "120 \"x\""});
    const std::string ask = sched::report::ask_page(s);
    CHECK(ask.find("A &lt;b&gt; &amp; C") != std::string::npos);
    CHECK(ask.find("<option value=\"120 &quot;x&quot;\">") != std::string::npos);
    CHECK(ask.find("action=\"/promise.html\"") != std::string::npos);
    const std::string no = sched::report::refusal_page("no <mesh>");
    CHECK(no.find("no &lt;mesh&gt;") != std::string::npos);
    for (const auto& page : {ask, no}) {
        CHECK(page.find("Content-Security-Policy") != std::string::npos);
        CHECK(page.rfind("</html>\n") == page.size() - 8);
    }
}
