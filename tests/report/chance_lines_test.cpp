#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/sheets.hpp"
#include "tests/catch.hpp"

using namespace sched::report;

namespace {

PlanDocument with_chances(const std::vector<double>& chances) {
    PlanDocument document;
    for (std::size_t k = 0; k < chances.size(); ++k) {
        OrderLine order;
        order.name = "A" + std::to_string(k + 1);
        order.chance_late = chances[k];
        document.orders.push_back(order);
    }
    add_first_words(document);
    return document;
}

}  // namespace

TEST_CASE("the first line says how many will be late and which to watch", "[chance lines]") {
    CHECK(with_chances({0.9, 0.02, 0.8, 0.3}).run.first_words ==
          "About 2 of 4 orders will be late; watch A1 (90 %), A3 (80 %) and A4 (30 %).");
    CHECK(with_chances({0.05, 0.25}).run.first_words ==
          "All 2 orders are likely to be on time; watch A2 (25 %).");
    CHECK(with_chances({0.05, 0.1}).run.first_words == "All 2 orders are likely to be on time.");
    CHECK(with_chances({0.7, 0.7, 0.7, 0.7, 0.7, 0.7}).run.first_words ==
          "About 4 of 6 orders will be late; watch A1 (70 %), A2 (70 %), A3 (70 %), A4 (70 %) and "
          "2 more.");
    // Half an order in all, none of them marked: somebody is named all the same.
    CHECK(with_chances({0.12, 0.0, 0.12, 0.2, 0.06}).run.first_words ==
          "About 1 of 5 orders will be late; the likeliest is A4 (20 %).");
    CHECK(with_chances({0.9}).run.first_words ==
          "The order will probably be late; watch A1 (90 %).");
}

TEST_CASE("at midday nobody is told to watch what is ready", "[chance lines]") {
    const auto noon = *model::parse_date_time("2026-11-26T12:00");
    const auto first = [&](std::vector<int> ready_at, const std::vector<double>& chances) {
        PlanDocument document = with_chances(chances);
        for (std::size_t k = 0; k < ready_at.size(); ++k) {
            document.orders[k].ready = noon + model::minutes(60 * (ready_at[k] - 12));
            document.orders[k].lateness = model::Seconds{chances[k] == 1.0 ? 600 : -600};
        }
        document.again.emplace().now = noon;
        add_first_words(document);
        return *document.run.first_words;
    };
    CHECK(first({9, 11, 14}, {1.0, 0.0, 0.1}) ==
          "A1 was ready late. The other order is likely to be on time.");
    CHECK(first({9, 11, 14, 15}, {1.0, 1.0, 1.0, 0.1}) ==
          "A1 and A2 were ready late. About 1 of 2 other orders will be late; watch A3 (100 %).");
    CHECK(first({9, 11}, {0.0, 0.0}) == "All orders are ready.");
    CHECK(first({13, 14}, {0.0, 0.0}) == "All 2 orders are likely to be on time.");
}

TEST_CASE("an order is marked when it is late as planned or above one in five", "[chance lines]") {
    const auto document = with_chances({0.2, 0.21});
    CHECK_FALSE(at_risk(document.orders[0]));
    CHECK(at_risk(document.orders[1]));
    OrderLine late;
    late.lateness = sched::report::Seconds{1};
    CHECK(at_risk(late));
}

TEST_CASE("what to do when the day differs names the numbers only where there are some",
          "[chance lines]") {
    PlanDocument document;
    CHECK(recourse_words(document).empty());
    document.run.replications = 200;
    CHECK(recourse_words(document).find("planned first") != std::string::npos);
    document.operations.resize(2);
    add_turns({2, 1}, document);
    CHECK(document.operations[0].turn == 2);
    CHECK(recourse_words(document).find("lowest number") != std::string::npos);
    // What a lead asks who sees 1, 4, 2 down a column, and what the column is called.
    CHECK(recourse_words(document).find("do not rise with the time") != std::string::npos);
    CHECK(recourse_words(document).find("(Turn on the sheets)") != std::string::npos);
    document.operations[0].people = {"Ada"};
    document.operations[0].words = "coat A-1";
    document.operations[0].step = "coat";
    document.people.push_back({.name = "Ada"});
    CHECK(to_sheets(document).find("<th>Turn</th>") != std::string::npos);
}

TEST_CASE("what an order is said to be is inside its own range", "[report]") {
    OrderLine order{.name = "A1"};
    order.due = model::SimTime{model::minutes(600)};
    order.ready = model::SimTime{model::minutes(500)};
    order.lateness = *order.ready - *order.due;
    CHECK(as_expected(order) == order);
    // Planned without slack: sooner than nine days of ten.
    order.ready_p10 = model::SimTime{model::minutes(520)};
    order.ready_p50 = model::SimTime{model::minutes(610)};
    order.ready_p90 = model::SimTime{model::minutes(700)};
    order.chance_late = 0.6;
    const OrderLine shown = as_expected(order);
    REQUIRE(shown.ready);
    CHECK(*shown.ready >= *order.ready_p10);
    CHECK(*shown.ready <= *order.ready_p90);
    CHECK(shown.lateness == model::minutes(10));
}
