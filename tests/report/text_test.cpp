#include <sstream>

#include "sched/report/plan/page.hpp"
#include "sched/report/plan/sheets.hpp"
#include "sched/report/plan/store_lines.hpp"
#include "sched/report/plan/text.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/wording.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched::report;

TEST_CASE("the buying list names each emulsion once, and each day") {
    const auto at = [](const char* text) { return *model::parse_date_time(text); };
    const auto buy = [](const char* emulsion, double ml, std::optional<model::SimTime> by) {
        report::MixLine mix;
        mix.emulsion = emulsion;
        mix.volume_ml = ml;
        mix.to_buy = true;
        mix.buy_by = by;
        return mix;
    };
    CHECK(report::buying_list(
              {buy("dual", 500, at("2026-12-02T07:27")), buy("photo", 1000, std::nullopt),
               buy("dual", 500, at("2026-12-03T06:01")), buy("dual", 500, at("2026-12-02T07:23"))},
              at("2026-12-02T06:00")) ==
          std::vector<std::string>{
              "1000 ml of photo is not in stock: buy it by the run's start.",
              "1000 ml of dual is not in stock: buy it by 2026-12-02 07:23, 500 ml more by "
              "2026-12-03 06:01."});
}

TEST_CASE("the summary fits its width and has no escape codes unless asked") {
    for (const int width : {80, 50, 120}) {
        std::istringstream rows(to_text(fixture::document(), {.width = width}));
        for (std::string row; std::getline(rows, row);) {
            INFO(row);
            CHECK(columns_of(row) <= static_cast<std::size_t>(width));
            CHECK(row.find('\x1b') == std::string::npos);
        }
    }
    CHECK(to_text(fixture::document(), {.colour = true}).find("\x1b[") != std::string::npos);
}

TEST_CASE("the summary names what the day needs") {
    const std::string text = to_text(fixture::document(), {.width = 100});
    for (const char* word :
         {"A1", "35 min late", "1 h 55 min early", "Violet D", "BUY", "Bö-1", "orders.csv:3:9",
          "could be up to 20 min lower", "proven best", "demo data"}) {
        INFO(word);
        CHECK(text.find(word) != std::string::npos);
    }
}

TEST_CASE("an order that is ready by now is said to be, without a chance", "[report][text]") {
    PlanDocument d = fixture::document();
    d.again.emplace().now = d.run.last_end;
    for (OrderLine& order : d.orders)
        order.chance_late = 0.0;
    const auto count = [&](const std::string& words) {
        const std::string text = to_text(d, {.width = 100});
        std::size_t n = 0;
        for (auto at = text.find(words); at != std::string::npos; at = text.find(words, at + 1))
            ++n;
        return n;
    };
    CHECK(count("it is ready") == d.orders.size());
    CHECK(count("late with a chance") == 0);
    d.again->now = d.run.first_start;
    CHECK(count("it is ready") == 0);
    CHECK(count("late with a chance") == d.orders.size());
}

TEST_CASE("orders on hold are named before anything is told to do", "[report][text]") {
    PlanDocument d = fixture::document();
    const std::string words = "On hold, so left out of everything: P1, P7.";
    const auto stands_before = [&](const std::string& text, const std::string& later) {
        const auto at = text.find(words);
        return at != std::string::npos && at < text.find(later);
    };
    const auto sheets = [&] { return to_sheets(d); };
    CHECK(to_text(d, {.width = 100}).find("On hold") == std::string::npos);
    CHECK(sheets().find("On hold") == std::string::npos);
    // As model::read_scenario says it (tests/read/scenario_test.cpp).
    d.warnings.push_back({"orders.csv:8:1", "on-hold",
                          "on hold, so left out of everything: P1, P7. Take `hold` away to plan "
                          "them."});
    CHECK(stands_before(to_text(d, {.width = 100}), "First:"));
    CHECK(stands_before(to_page(d), "class=\"firsts\""));
    CHECK(stands_before(sheets(), "<table"));
}

TEST_CASE("what one simulated day shows is neither never nor always", "[report][text]") {
    PlanDocument d = fixture::document();
    const auto says = [&](double chance, const std::string& words) {
        for (OrderLine& order : d.orders)
            order.chance_late = chance;
        return to_text(d, {.width = 100}).find("late with a chance of " + words) !=
                   std::string::npos &&
               to_page(d).find(">" + words + "<") != std::string::npos;
    };
    CHECK(says(0.0, "0 %"));
    CHECK(says(1.0 / 200.0, "under 1 %"));
    CHECK(says(2.0 / 200.0, "1 %"));
    CHECK(says(199.0 / 200.0, "over 99 %"));
    CHECK(says(1.0, "100 %"));
}

TEST_CASE("what has been mixed is not to be bought any more", "[report][text]") {
    PlanDocument d = fixture::document();
    REQUIRE(d.mixes.at(0).buy_by);
    d.again.emplace().now = *d.mixes[0].buy_by;
    CHECK(to_text(d, {.width = 100}).find("BUY IT") != std::string::npos);
    d.again->now += model::minutes(1);
    CHECK(to_text(d, {.width = 100}).find("BUY IT") == std::string::npos);
    CHECK(to_page(d).find("buy by") == std::string::npos);
}

TEST_CASE("a day of one order and one screen is told in the singular") {
    PlanDocument d = fixture::document();
    CHECK(to_text(d, {.width = 100}).find(" screens in 2 orders") != std::string::npos);
    d.orders.resize(1);
    d.screens.resize(1);
    CHECK(to_text(d, {.width = 100}).find(" 1 screen in 1 order;") != std::string::npos);
}

TEST_CASE("a plan that the search begins with is not said to be the best of none",
          "[report][text]") {
    PlanDocument d = fixture::document();
    for (const auto& [tried, words] : {std::pair{0, "no other schedule tried"},
                                       {1, " 1 schedule tried"},
                                       {95, " 95 schedules tried"}}) {
        d.run.evaluations = tried;
        INFO(words);
        CHECK(to_text(d, {.width = 100}).find(words) != std::string::npos);
        CHECK(to_page(d).find(words) != std::string::npos);
    }
}

TEST_CASE("names cannot steer a terminal") {
    PlanDocument d = fixture::document();
    d.room = "x\x1b[2Jy\r\n\xc2\x9b";
    d.orders[0].customer = "\x07\xff";
    const std::string text = to_text(d);
    for (const char c : {'\x1b', '\r', '\x07', '\xff'})
        CHECK(text.find(c) == std::string::npos);
    CHECK(text.find("\xc2\x9b") == std::string::npos);
}

TEST_CASE("columns count code points and wrapping loses nothing") {
    CHECK(columns_of("Bö") == 2);
    CHECK(padded("Bö-123", 4) == "Bö-~");
    CHECK(wrapped("aa bb cccccc d", 5) == std::vector<std::string>{"aa bb", "ccccc", "c d"});
    CHECK(wrapped("", 5) == std::vector<std::string>{""});
}

TEST_CASE("a frame that stood in the store has not come back", "[report][text]") {
    PlanDocument d;
    d.run.from = *model::parse_date_time("2026-11-26T00:00");
    ReturnLine line{.tag = "R1", .frame = "58 x 84 cm", .mesh = "77-55", .state = "inky"};
    line.back = d.run.from;
    CHECK(return_words(d, line) ==
          "58 x 84 cm 77-55, inky; no idle time for it, it stays as it is");
    line.back = d.run.from + model::hours(12);
    CHECK(return_words(d, line).find(", back ") != std::string::npos);
}

TEST_CASE("ready on another day is not cut, with chances or without", "[report][text]") {
    PlanDocument d = fixture::document();
    d.run.replications.reset();
    for (auto& order : d.orders) {
        order.ready_p50.reset();
        order.chance_late.reset();
        order.due = d.run.first_start + model::hours(2);
        order.ready = d.run.first_start + model::hours(26);
    }
    const std::string shown = when(d.run, d.run.first_start + model::hours(26));
    REQUIRE(shown.size() > 5);
    CHECK(to_text(d, {.width = 80}).find(shown) != std::string::npos);
    CHECK(to_text(d, {.width = 80}).find('~') == std::string::npos);
}

TEST_CASE("what ends after the last order is not the orders' end", "[report][text]") {
    PlanDocument d = fixture::document();
    std::optional<model::SimTime> last;
    for (const auto& order : d.orders)
        last = std::max(last, order.ready);
    REQUIRE(last);
    d.run.last_end = *last;
    CHECK(to_text(d, {.width = 120}).find("for orders until") == std::string::npos);
    d.run.last_end = *last + model::minutes(50);
    CHECK(to_text(d, {.width = 120}).find(" (for orders until " + when(d.run, *last) + "), ") !=
          std::string::npos);
}

TEST_CASE("the job is cut, not whether it is late; a number on the frames is told",
          "[report][text]") {
    PlanDocument d = fixture::document();
    d.orders.resize(1);
    d.screens.resize(1);
    d.orders[0].name = d.screens[0].order = "job-2003";
    d.orders[0].customer = "a fairly long title of a job";
    d.screens[0].tag = "#4-1";
    d.orders[0].due = d.run.first_start + model::hours(3);
    d.orders[0].ready = *d.orders[0].due - model::minutes(61);
    d.orders[0].lateness = -model::minutes(61);
    d.orders[0].ready_p50 = d.orders[0].ready;
    const std::string text = to_text(d, {.width = 80});
    CHECK(text.find("1 h 1 min early\n") != std::string::npos);
    CHECK(text.find("job-2003 #4") != std::string::npos);
    CHECK(to_sheets(d).find("#4-1</span> job-2003</td>") != std::string::npos);
    // A name that stands on the frames is said once.
    d.orders[0].name = d.screens[0].order = "A7";
    d.screens[0].tag = "A7-1";
    CHECK(to_text(d, {.width = 80}).find("A7 ") != std::string::npos);
    CHECK(to_text(d, {.width = 80}).find('#') == std::string::npos);
    CHECK(to_sheets(d).find("A7-1</span> </td>") != std::string::npos);
}
