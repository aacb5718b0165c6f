// A fixed promise as text and JSON, byte for byte as tests/golden has it; enquiries from JSON; the
// lead-time table. Renew as in golden_test.cpp.

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <tuple>

#include "model/read/scenario.hpp"
#include "sched/report/promise/lead_page.hpp"
#include "sched/report/promise/promise_json.hpp"
#include "sched/report/promise/promise_page.hpp"
#include "sched/report/promise/promise_text.hpp"
#include "tests/catch.hpp"

using namespace sched;

namespace {

model::SimTime clock(const char* text) {
    return *model::parse_date_time(text);
}

study::Promise golden_promise() {
    study::Promise p;
    p.room = "Demo room";
    p.invented = true;
    p.asked = clock("2026-11-26T00:00");
    p.enquiry.name = "E1";
    p.enquiry.customer = "tile <prints>";
    p.enquiry.lines.push_back({.count = 4,
                               .mesh = "120-34",
                               .frame = {model::Centimetres{58.0}, model::Centimetres{84.0}},
                               .emulsion = "dual-cure A",
                               .coat_plan = "2+2",
                               .film_ready = clock("2026-11-26T09:30")});
    p.enquiry.wanted = clock("2026-11-26T11:00");
    p.screens = 4;
    p.days = 19;
    p.unfinished = 1;
    for (int i = 0; i < 18; ++i)
        p.ready.push_back(clock("2026-11-26T10:15") + model::minutes(10 * i));
    p.quantiles = {{0.5, 10, p.ready[9]},
                   {0.8, 16, p.ready[15]},
                   {0.9, 18, p.ready[17]},
                   {0.95, 19, std::nullopt}};
    p.planned = clock("2026-11-26T10:20");
    p.level = 0.9;
    p.correction = model::minutes(5);
    p.at_level = clock("2026-11-26T13:10");
    p.recommended = clock("2026-11-26T16:00");
    p.recommended_odds = study::odds_of(18, 19);
    p.slot_words = "the next of 11:00 and 16:00";
    p.wanted = study::odds_of(5, 19);
    p.endangered = {{.order = "A5",
                     .customer = "shop banner",
                     .due = clock("2026-11-26T12:00"),
                     .later_minutes = 12.5,
                     .later_interval = {10.0, 15.0},
                     .before = study::odds_of(18, 19),
                     .after = study::odds_of(15, 19),
                     .lost_days = 3,
                     .won_days = 0},
                    {.order = "A6",
                     .due = clock("2026-11-26T12:50"),
                     .later_minutes = 0.2,
                     .before = study::odds_of(19, 19),
                     .after = study::odds_of(19, 19)}};
    p.remedies = {{.kind = "film",
                   .words = "if the films are here by Thu 26 Nov, 07:30",
                   .ready = clock("2026-11-26T10:50"),
                   .recommended = clock("2026-11-26T11:00"),
                   .sooner_minutes = 140.0,
                   .wanted = study::odds_of(17, 19)},
                  {.kind = "displace",
                   .words = "if order A3 goes behind it",
                   .ready = clock("2026-11-26T12:40"),
                   .recommended = clock("2026-11-26T16:00"),
                   .sooner_minutes = 30.0,
                   .wanted = study::odds_of(7, 19),
                   .order = "A3",
                   .consequences = {p.endangered.front()}}};
    p.chain = {{clock("2026-11-26T09:30"), model::minutes(20), "09:30 load E1-1: the film came"}};
    p.sentence = "We can have 4 screens ready by Thu 26 Nov, 16:00.";
    return p;
}

std::string golden_text(const std::string& name, const std::string& now) {
    const std::filesystem::path golden = std::filesystem::path(COATROOM_TEST_DATA) / "golden";
    if (const char* out = std::getenv("COATROOM_GOLDEN_OUT"))
        std::ofstream(std::filesystem::path(out) / name, std::ios::binary) << now;
    std::ifstream in(golden / name, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

}  // namespace

TEST_CASE("a fixed promise renders to the golden files", "[golden][promise]") {
    const auto p = golden_promise();
    const std::string json = report::promise_to_json(p);
    CHECK((json == golden_text("promise.json", json)));
    const std::string text = report::promise_to_text(p, true);
    CHECK((text == golden_text("promise.txt", text)));
}

TEST_CASE("the page marks an order that is worse off, the text names who is later", "[promise]") {
    auto p = golden_promise();
    p.remedies.clear();
    p.endangered.resize(1);
    auto& e = p.endangered.front();
    e = {.order = "A5", .due = clock("2026-11-26T12:00")};
    // Half an hour later, and in time all the same, is said and not marked.
    for (const auto& [lost, of, later, more_late, named, marked] :
         {std::tuple{1, 199, 1.0, 0.1, false, false}, std::tuple{3, 199, 1.0, 0.1, false, false},
          std::tuple{4, 199, 1.0, 1.0, true, true}, std::tuple{0, 199, 31.0, 0.1, true, false},
          std::tuple{0, 199, 31.0, 12.0, true, true}}) {
        e.before = study::odds_of(150, of);
        e.after = study::odds_of(150 - lost, of);
        e.lost_days = lost;
        e.later_minutes = later;
        e.more_late_minutes = more_late;
        CAPTURE(lost, of, later);
        CHECK((report::promise_to_text(p, false).find("A5") != std::string::npos) == named);
        CHECK((report::promise_page(p).find("<tr class=\"bad\"") != std::string::npos) == marked);
    }
}

TEST_CASE("an order that stays as it is fills no line of the page", "[promise]") {
    auto p = golden_promise();
    p.remedies.clear();
    p.endangered.resize(1);
    p.endangered.front() = {.order = "A5",
                            .due = clock("2026-11-26T12:00"),
                            .before = study::odds_of(150, 199),
                            .after = study::odds_of(150, 199)};
    CHECK(report::promise_page(p).find("A5") == std::string::npos);
    CHECK(report::promise_page(p).find("no promised order changes") != std::string::npos);
    p.endangered.front().after = study::odds_of(149, 199);
    CHECK(report::promise_page(p).find("A5") != std::string::npos);
}

TEST_CASE("an enquiry is read from JSON, whatever somebody sends", "[promise]") {
    model::Diagnostics reading;
    const auto s =
        model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", reading);
    REQUIRE(s);
    model::Diagnostics none;
    const auto e = report::enquiry_from_json(
        R"({"screens": 4, "mesh": "120/cm", "frame": "58x84", "coat plan": "2+2",
            "wanted": "2026-11-26T15:00", "customer": "x"})",
        *s, none);
    REQUIRE(e);
    CHECK(e->lines.front().count == 4);
    CHECK(*e->lines.front().mesh == "120-34");
    CHECK(e->wanted == clock("2026-11-26T15:00"));
    const auto two = report::enquiry_from_json(
        R"({"order": "Q", "lines": [{"screens": 1, "mesh": "77-55", "frame": "58 x 84 cm", "coat plan": "1+1"},
            {"screens": 2, "mesh": "120-34", "frame": "58 x 84 cm", "coat plan": "2+2", "film": "2026-11-26T09:00"}]})",
        *s, none);
    REQUIRE(two);
    CHECK(two->lines.size() == 2);
    for (
        const char* bad :
        {"", "{", "[]", "3", "{}",
         R"({"screens": 0, "mesh": "77-55", "frame": "58x84", "coat plan": "1+1"})",
         R"({"screens": 1, "mesh": 7, "frame": "58x84", "coat plan": "1+1"})",
         R"({"screens": 1, "mesh": "77-55", "frame": "58x84", "coat plan": "1+1", "wish": 1})",
         R"({"screens": 1, "mesh": "77-55", "frame": "58x84", "coat plan": "1+1", "film": "soon"})",
         R"({"lines": []})", R"({"lines": [1]})", R"({"screens": 1e99, "mesh": "77-55"})"}) {
        model::Diagnostics found;
        INFO(bad);
        CHECK(!report::enquiry_from_json(bad, *s, found));
        CHECK(found.has_errors());
    }
}

TEST_CASE("the lead-time table says for each cell what held, or to ask", "[promise]") {
    study::LeadTable t{.room = "Room & Co",
                       .level = 0.9,
                       .levels = {0.5, 0.9},
                       .trusted = true,
                       .kinds = {"77-55, 1+1"},
                       .sizes = {{1, 4}, {5, 8}, {9, std::nullopt}},
                       .entries = study::entry_classes({})};
    for (std::size_t g = 0; g < 3; ++g) {
        const study::LeadTime by{static_cast<int>(g), model::hours(16)};
        for (std::size_t e = 0; e < t.entries.size(); ++e) {
            study::LeadCell cell{.kind = 0, .size = g, .entry = e};
            if (e < 2) {
                cell.n = e == 0 ? 40 : 5;
                cell.pooled = e == 1;
                cell.median_h = 3.25;
                cell.level_h = 5.5;
                cell.by = by;
            }
            t.cells.push_back(cell);
        }
        t.prices.push_back({.size = g, .n = 45, .by = {study::LeadTime{0, model::hours(11)}, by}});
    }
    const std::string page = report::lead_page(t);
    CHECK(page.find("Room &amp; Co") != std::string::npos);
    CHECK(page.find("<td><b>same day 11:00</b></td>") < page.find("By kind and time"));
    CHECK(page.find("<b>same day 16:00</b>") != std::string::npos);
    CHECK(page.find("<b>next working day 16:00 *</b>") != std::string::npos);
    CHECK(page.find("<b>2 working days, 16:00</b>") != std::string::npos);
    CHECK(page.find("ask<small>0 orders</small>") != std::string::npos);
    const std::string csv = report::lead_csv(t);
    CHECK(csv.find("\"77-55, 1+1\",1 to 4,before 10:00,40,3.25,5.50,0,16:00,same day 16:00,its "
                   "own\n") != std::string::npos);
    CHECK(csv.find("9 and more,10:00 to 13:00,5,3.25,5.50,2,16:00,\"2 working days, 16:00\",all "
                   "kinds\n") != std::string::npos);
    CHECK(std::count(csv.begin(), csv.end(), '\n') == 10);
    const std::string prices = report::price_csv(t);
    CHECK(prices.find("5 to 8,45,90,1,16:00,next working day 16:00\n") != std::string::npos);
    CHECK(std::count(prices.begin(), prices.end(), '\n') == 7);
    std::istringstream lines(report::lead_text(t));
    for (std::string line; std::getline(lines, line);)
        CHECK(line.size() <= 80);
}
