// Some hundreds of invented rooms, planned as the command line plans them and read by both judges.
// Ten thousand: coatroom-judge (docs/checking.md).

#include <algorithm>
#include <set>

#include "sched/report/plan/exchange.hpp"
#include "sched/report/plan/person_rows.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/odd_days.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"

namespace {

long occurrences(const std::string& text, const std::string& what) {
    long n = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
        ++n;
    return n;
}

/// Everyone's sheet and calendar: each of the person's operations once.
void check_sheets(const sched::report::PlanDocument& plan) {
    for (const auto& person : plan.people) {
        std::multiset<int> rows, own;
        for (const auto& row : sched::report::person_rows(plan, person.name))
            rows.insert(row.operations.begin(), row.operations.end());
        for (std::size_t i = 0; i < plan.operations.size(); ++i) {
            const auto& names = plan.operations[i].people;
            const auto times = std::count(names.begin(), names.end(), person.name);
            if (times > 0) own.insert(static_cast<int>(i));
        }
        CHECK(rows == own);
        const std::string calendar = sched::report::to_calendar(plan, person.name);
        CHECK(occurrences(calendar, "BEGIN:VEVENT") == static_cast<long>(own.size()));
    }
    const std::string table = sched::report::to_csv(plan);
    CHECK(occurrences(table, "\r\n") == static_cast<long>(plan.operations.size()) + 1);
}

/// Wrong today, each with its cause known; a line goes when its cause does.
bool known(const std::string& words) {
    const std::pair<const char*, const char*> causes[] = {
        {"break: ", " does not get a break"},  // two that meet
        {"document aims: overtime", ""},       // a shared load counts once a screen
    };
    for (const auto& [begin, part] : causes) {
        if (words.starts_with(begin) && words.find(part) != std::string::npos) return true;
    }
    return false;
}

void judge(std::uint64_t seed, const model::Scenario& scenario, const planned::Planned& result) {
    INFO("room " << seed);
    for (const auto& words : result.broken) {
        if (!known(words)) FAIL_CHECK(words);
    }
    for (const auto& words : planned::verdict(*result.plan, scenario)) {
        if (!known(words)) FAIL_CHECK(words);
    }
}

}  // namespace

TEST_CASE("in random rooms no plan breaks a rule that either judge knows", "[property]") {
    int planned_rooms = 0, unsound = 0;
    constexpr std::uint64_t rooms = 300;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        const auto scenario = random_scenario::make(seed);
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        if (!result.sound) ++unsound;
        if (!result.plan) continue;
        ++planned_rooms;
        judge(seed, scenario, result);
        if (seed % 10 == 0) check_sheets(*result.plan);
    }
    CHECK(planned_rooms > static_cast<int>(rooms) / 2);
    CHECK(unsound < static_cast<int>(rooms) / 10);
}

// Half of what coatroom-judge does: odd rooms, and each plan once more from a moment of its day on.
TEST_CASE("in odd rooms and at midday no plan breaks a rule that either judge knows",
          "[property]") {
    int planned_rooms = 0, again = 0, none = 0;
    constexpr std::uint64_t rooms = 120;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        sched::app::Question question{.scenario = random_scenario::make_odd(seed),
                                      .start = random_scenario::first_day()};
        question.how.threads = 1;
        question.how.budget.evaluations = 8;
        const auto result = planned::plan(question);
        if (!result.plan) continue;
        ++planned_rooms;
        judge(seed, question.scenario, result);
        const auto midday = random_scenario::happened(question, *result.plan, seed);
        const auto later = planned::plan(midday);
        if (!later.plan) {
            ++none;
            continue;
        }
        ++again;
        judge(seed, midday.scenario, later);
    }
    CHECK(planned_rooms > static_cast<int>(rooms) * 9 / 10);
    CHECK(again > planned_rooms * 9 / 10);
    INFO(none << " without a plan at midday");
}

// Places with typed minutes beside a cabinet with a clock: the decoder lost screens that it booked
// again from one to the other.
TEST_CASE("a cabinet that types its minutes stands beside one that computes them", "[property]") {
    for (const std::uint64_t seed : {185, 221, 278, 1282, 1336}) {
        const auto scenario = random_scenario::make(seed);
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        REQUIRE(result.plan);
        judge(seed, scenario, result);
    }
}
