// The lead-time table: classes and borrowing by hand, order of sizes on random samples.

#include "sched/promise/lead_table.hpp"

#include <random>

#include "tests/catch.hpp"

using namespace sched::study;
namespace core = sched::core;

namespace {

/// Orders A1, A2, ... of so many screens each, kind by kind; one person, Monday to Friday.
model::Scenario scenario_of(const std::vector<std::pair<int, std::string>>& orders) {
    model::Scenario s;
    s.room.people = {{.name = "one",
                      .shifts = {{.weekdays = {true, true, true, true, true, false, false},
                                  .from = model::hours(6),
                                  .to = model::hours(16)}}}};
    for (const auto& [screens, mesh] : orders) {
        s.orders.push_back({.name = "A" + std::to_string(s.orders.size() + 1),
                            .lines = {{.count = screens, .mesh = mesh, .coat_plan = "1+1"}}});
    }
    return s;
}

core::SimTime monday() {
    return *model::parse_date_time("2026-11-23T00:00");
}

/// So many alike: in at `at` o'clock on Monday, ready `hours` later, one minute later each.
void add(std::vector<LongRunOrder>& to, int kind, int at, int hours, int n) {
    for (int k = 0; k < n; ++k) {
        const auto entry = monday() + model::hours(at) + model::minutes(k);
        to.push_back({kind, entry, entry + model::hours(hours)});
    }
}

}  // namespace

TEST_CASE("size classes are the room's, and none is too large for them", "[promise]") {
    auto s = scenario_of({{1, "a"}, {16, "a"}});
    const auto words = [&] {
        std::vector<std::string> out;
        for (const auto& c : size_classes(s))
            out.push_back(c.words());
        return out;
    };
    CHECK(words() == std::vector<std::string>{"1 to 4", "5 to 8", "9 to 16"});
    s.orders[1].lines[0].count = 17;
    CHECK(words() == std::vector<std::string>{"1 to 4", "5 to 8", "9 to 16", "17 and more"});
    s.room.promise.sizes = {1, 20};
    CHECK(words() == std::vector<std::string>{"1", "2 to 20"});
}

TEST_CASE("times of entry are those at which orders come in", "[promise]") {
    const auto words = [](std::vector<sched::core::Seconds> times) {
        std::string out;
        for (const auto& c : entry_classes(std::move(times)))
            out += (out.empty() ? "" : "; ") + c.words;
        return out;
    };
    const std::string usual = "before 10:00; 10:00 to 13:00; after 13:00";
    CHECK(words({}) == usual);
    std::vector<sched::core::Seconds> all_day, evening;
    for (int k = 0; k < 60; ++k) {
        all_day.push_back(model::minutes(7 * 60 + 10 * k));  // 7:00 to 16:50
        evening.push_back(model::minutes(16 * 60 + 6 * k));  // 16:00 to 21:54
    }
    CHECK(words(all_day) == usual);
    CHECK(words(evening) == "before 18:00; 18:00 to 20:00; after 20:00");
    CHECK(words(std::vector<sched::core::Seconds>(60, model::hours(17))) == "at any time");
}

// By hand: nine of ten orders need rank 9 of 9 orders at least ((n + 1) x 0.9 <= n).
TEST_CASE("a cell with too few orders goes by those of all kinds", "[promise]") {
    const auto s = scenario_of({{2, "a"}, {2, "b"}, {6, "b"}});
    std::vector<LongRunOrder> orders;
    add(orders, 0, 8, 3, 9);   // kind a, in before 10:00, ready the same day
    add(orders, 1, 8, 26, 8);  // kind b: one too few
    LeadTable t;
    fill_lead_table(s, orders, t);
    REQUIRE(t.kinds.size() == 2);
    REQUIRE(t.cells.size() == 2 * 3 * 3);
    const auto& a = t.cells[0];
    CHECK(a.n == 9);
    CHECK_FALSE(a.pooled);
    CHECK(a.by->working_days == 0);
    CHECK(*a.level_h == 3.0);
    // Of 17 orders rank 17 (0.9 x 18 = 16.2): one of kind b, on Tuesday.
    const auto& b = t.cells[9];
    CHECK(b.n == 8);
    CHECK(b.pooled);
    CHECK(b.by->working_days == 1);
    CHECK(*b.level_h == 26.0);
    // Nobody came later on: all hours. Of 5 to 8 screens nobody came at all.
    CHECK(t.cells[1].pooled);
    CHECK(t.cells[1].by == b.by);
    CHECK_FALSE(t.cells[3].by);
    CHECK(t.prices[0].n == 17);
    CHECK_FALSE(t.prices[1].by[0]);
    CHECK(t.levels == std::vector<double>{0.5, 0.8, 0.9, 0.95});
}

// Every order is somewhere, larger ones are never promised sooner, a higher level never sooner.
TEST_CASE("whatever comes in, larger orders are never promised sooner", "[promise]") {
    std::mt19937_64 dice(1);
    const auto roll = [&](int n) { return static_cast<int>(dice() % static_cast<unsigned>(n)); };
    for (int round = 0; round < 40; ++round) {
        std::vector<std::pair<int, std::string>> kinds;
        for (int k = 0; k < 12; ++k)
            kinds.emplace_back(1 + roll(24), roll(2) == 0 ? "a" : "b");
        const auto s = scenario_of(kinds);
        std::vector<LongRunOrder> orders;
        const int n = 20 + roll(400);
        for (int k = 0; k < n; ++k)
            add(orders, roll(12), 6 + roll(10), 1 + roll(90), 1);
        LeadTable t;
        fill_lead_table(s, orders, t);
        std::size_t in_cells = 0;
        for (const auto& cell : t.cells) {
            in_cells += cell.n;
            CHECK((cell.by || !cell.pooled));
            for (const auto& other : t.cells) {
                if (other.kind != cell.kind || other.entry != cell.entry ||
                    other.size <= cell.size || !cell.by || !other.by)
                    continue;
                CHECK(*cell.by <= *other.by);
                CHECK(*cell.level_h <= *other.level_h);
                CHECK(*cell.median_h <= *other.median_h);
            }
        }
        CHECK(in_cells == orders.size());
        for (std::size_t g = 0; g < t.prices.size(); ++g) {
            for (std::size_t l = 0; l < t.levels.size(); ++l) {
                const auto& by = t.prices[g].by;
                if (l > 0 && by[l] && by[l - 1]) CHECK(*by[l - 1] <= *by[l]);
                if (g > 0 && by[l] && t.prices[g - 1].by[l])
                    CHECK(*t.prices[g - 1].by[l] <= *by[l]);
            }
        }
    }
}

TEST_CASE("arrivals so many times as many", "[promise]") {
    ArrivalProcess p;
    p.per_hour[0][8] = 2.0;
    p.history[1] = {{{10, 0}, {20, 1}, {30, 2}, {40, 3}}};
    const auto half = times_as_many(p, 0.5), more = times_as_many(p, 1.5);
    CHECK(half.per_hour[0][8] == 1.0);
    REQUIRE(half.history[1][0].size() == 2);
    CHECK(half.history[1][0][0].second == 20);
    CHECK(half.history[1][0][1].second == 40);
    CHECK(more.history[1][0].size() == 6);
    CHECK(times_as_many(p, 1.0).history[1][0].size() == 4);
}
