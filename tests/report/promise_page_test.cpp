#include "sched/report/promise/promise_page.hpp"
#include "sched/report/promise/ask_page.hpp"

#include <cmath>

#include "sched/report/promise/chain_bar.hpp"
#include "sched/report/promise/dot_plot.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::report;

namespace {

core::SimTime at(const char* text) {
    return *model::parse_date_time(text);
}

std::size_t occurrences(const std::string& text, const std::string& what) {
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
    CHECK(dots_sentence(dots, *p.recommended) == "2 of 20 dots are after Thu 26 Nov, 16:00.");
    CHECK(dots_sentence(dots, p.ready[0]) == "20 of 20 dots are after Thu 26 Nov, 11:00.");
    CHECK(dots_sentence(dots, at("2026-11-28T00:00")) ==
          "None of 20 dots are after Sat 28 Nov, 00:00.");
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
    CHECK(occurrences(svg, "<circle") == 20);
    CHECK(occurrences(svg, "class=\"dot after\"") == 2);
    CHECK(occurrences(svg, "class=\"gap\"") == 1);  // the night is cut out
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
    CHECK(occurrences(
              dot_plot_svg({std::vector<std::optional<core::SimTime>>(20, p.planned), {}, {}}),
              "<circle") == 20);
    CHECK(dot_plot_svg({std::vector<std::optional<core::SimTime>>(20), {}, {}}).empty());
    CHECK(occurrences(dot_plot_svg({std::vector<std::optional<core::SimTime>>(20), p.planned, {}}),
                      "<circle") == 20);
}

TEST_CASE("the page says what matters and lets no text become markup", "[promise-page]") {
    const std::string page = promise_page(answer());
    CHECK(page.find("Your screens are ready on Thursday at 16:00.") != std::string::npos);
    CHECK(page.find("2 of 20 dots are after Thu 26 Nov, 16:00.") != std::string::npos);
    CHECK(page.find("E1 <b>") == std::string::npos);
    CHECK(page.find("E1 &lt;b&gt;") != std::string::npos);
    CHECK(page.find("&lt;script&gt;") != std::string::npos);
    CHECK(occurrences(page, "<script") == 1);
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
    s.room.meshes.push_back({.name = "77-55"});
    const std::string ask = sched::report::ask_page(sched::report::ask_form(s), {});
    CHECK(ask.find("A &lt;b&gt; &amp; C") != std::string::npos);
    CHECK(ask.find("name=\"mesh\" value=\"120 &quot;x&quot;\">") != std::string::npos);
    CHECK(ask.find("action=\"/promise.html\"") != std::string::npos);
    const std::string no = sched::report::refusal_page("no <mesh>", {});
    CHECK(no.find("no &lt;mesh&gt;") != std::string::npos);
    for (const auto& page : {ask, no}) {
        CHECK(page.find("Content-Security-Policy") != std::string::npos);
        CHECK(page.rfind("</html>\n") == page.size() - 8);
    }
}

TEST_CASE("the form has a button for each choice of the room and keeps what was sent",
          "[promise][page]") {
    AskForm form{.room = "Demo",
                 .meshes = {"43-80", "120-34"},
                 .frames = {"58 x 84 cm"},
                 .coats = {"1+1", "2+2"},
                 .emulsions = {"dual-cure A"}};
    const std::string fresh = ask_page(form, {});
    CHECK(occurrences(fresh, "type=\"radio\"") ==
          2 + 1 + 2 + 2);                        // the usual emulsion, and the one
    CHECK(occurrences(fresh, " checked") == 2);  // the only frame, and the usual emulsion
    CHECK(occurrences(fresh, "class=\"wrong\"") == 0);
    form.given = {{"screens", "99"}, {"mesh", "120-34"}, {"job", "<b>"}};
    form.wrong_field = "screens";
    form.wrong = "--screens: Value 99 not in range 1 to 64";
    const std::string wrong = ask_page(form, {});
    CHECK(occurrences(wrong, "class=\"wrong\"") == 1);
    // In the form's words, at its field, which points to them.
    CHECK(wrong.find("id=\"screens-wrong\" role=\"alert\">Not possible: 99. Give a whole number "
                     "from 1 to 64.</p>") != std::string::npos);
    CHECK(wrong.find("value=\"99\" aria-invalid=\"true\" aria-describedby=\"screens-wrong\"") !=
          std::string::npos);
    CHECK(wrong.find("--screens") == std::string::npos);
    CHECK(wrong.find("value=\"120-34\" checked") != std::string::npos);
    CHECK(wrong.find("value=\"&lt;b&gt;\"") != std::string::npos);
    // What belongs to no field stands above them.
    form.wrong_field = "screns";
    form.wrong = "there is no parameter screns.";
    CHECK(ask_page(form, {}).find("there is no parameter screns.") != std::string::npos);
    // The answer stands beside the form, with the room's names filled in.
    auto p = answer();
    p.enquiry.lines[0].frame = {model::Centimetres{58}, model::Centimetres{84}};
    form.wrong_field.clear();
    form.wrong.clear();
    form.given = {{"screens", "4"}, {"mesh", "120/cm"}, {"frame", "58x84"}, {"coats", "2 + 2"}};
    const std::string both = ask_page(form, p, {});
    CHECK(both.find("<form") < both.find("Your screens are ready on Thursday at 16:00."));
    CHECK(both.find("value=\"120-34\" checked") != std::string::npos);
    CHECK(both.find("value=\"2+2\" checked") != std::string::npos);
    CHECK(occurrences(both, "<h1>") == 1);
}

TEST_CASE("the chain is one bar without a gap: waiting, work, drying", "[promise][page]") {
    using Kind = ChainStretch::Kind;
    // By hand: 10 min wait, 5 work, 40 drying, 20 wait, 6 work, 4 until it is ready.
    const auto t = [](const char* clock) {
        return at((std::string("2026-11-26T") + clock).c_str());
    };
    const std::vector<study::PromiseLink> chain = {
        {t("09:10"), model::minutes(10), "degrease", t("09:15"), false},
        {t("09:15"), model::minutes(0), "dry", t("09:55"), true},
        {t("10:15"), model::minutes(20), "coat", t("10:21"), false},
    };
    const auto all = chain_stretches(chain, t("10:25"));
    CHECK(all == std::vector<ChainStretch>{{Kind::Waiting, t("09:00"), t("09:10")},
                                           {Kind::Work, t("09:10"), t("09:15")},
                                           {Kind::Drying, t("09:15"), t("09:55")},
                                           {Kind::Waiting, t("09:55"), t("10:15")},
                                           {Kind::Work, t("10:15"), t("10:21")},
                                           {Kind::Waiting, t("10:21"), t("10:25")}});
    const std::string bar = chain_bar(chain, t("10:25"));
    CHECK(bar.find("waiting 34 min, work 11 min, drying 40 min") != std::string::npos);
    CHECK(bar.find("Thu 26 Nov, 10:25") != std::string::npos);
    CHECK(occurrences(bar, "<rect") == 6 + 3);  // and the key
    CHECK(bar.find("two strokes") == std::string::npos);
    // A night is drawn short, with a break; a step that the next one overtakes ends there.
    const std::vector<study::PromiseLink> night = {
        {t("15:00"), model::hours(0), "coat", t("15:30"), false},
        {at("2026-11-27T06:00"), model::hours(14), "expose", at("2026-11-27T09:00"), false},
        {at("2026-11-27T07:00"), model::hours(0), "rinse", at("2026-11-27T07:10"), false}};
    const auto over = chain_stretches(night, at("2026-11-27T07:10"));
    for (std::size_t i = 1; i < over.size(); ++i)
        CHECK(over[i].from == over[i - 1].to);
    CHECK(over.back().to == at("2026-11-27T07:10"));
    CHECK(chain_bar(night, at("2026-11-27T07:10")).find("two strokes") != std::string::npos);
    CHECK(chain_bar({}, t("10:25")).empty());
}
