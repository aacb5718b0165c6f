// Plans chosen by what they cost on simulated days: a list of work gives its plan back when nothing
// is left to chance; who is chosen costs less on days that the search has not seen.
#include <set>

#include "model/read/scenario.hpp"
#include "sched/check/checker.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/list_search.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

struct ListRoom {
    model::Scenario scenario;
    compile::CompileOptions how;
    compile::RoomProblem room;
    core::Schedule paper;
};

ListRoom list_room(const std::string& name) {
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/" + name, diagnostics);
    REQUIRE(scenario);
    compile::CompileOptions how;
    how.start = *model::parse_date_time("2026-11-26 00:00");
    how.days = 4;
    auto room = compile::compile_room(*scenario, how, diagnostics);
    REQUIRE(room);
    search::SearchOptions quick;
    quick.budget.evaluations = 20;  // a plan on paper that leaves something to find
    const auto found = search::search_room(room->problem, quick);
    REQUIRE(found.schedule);
    return {*std::move(scenario), how, *std::move(room), *found.schedule};
}

ChancePlan planned(const ListRoom& r, std::int64_t evaluations, int threads) {
    ChancePlanOptions options;
    options.how.budget.evaluations = evaluations;
    options.how.threads = threads;
    return plan_for_chance(r.scenario, r.how, r.room, r.room.problem, r.paper, options);
}

double mean_cost(const ListRoom& r, const core::Schedule& plan, const std::vector<double>& turns,
                 const std::string& policy, std::uint64_t seed) {
    ReplicateOptions days;
    days.replications = 150;
    days.seed = seed;
    days.turns = turns;
    days.policy = policy;
    const auto lived = replicate(r.scenario, r.how, r.room, &plan, days);
    REQUIRE(lived);
    double sum = 0.0;
    for (const auto& day : lived->all)
        sum += cost_of_day(r.room.problem, day);
    return sum / static_cast<double>(lived->all.size());
}

}  // namespace

TEST_CASE("a list of work without chance is its plan, second by second", "[chance plan]") {
    for (const char* name : {"damp-day", "tomorrow"}) {
        const ListRoom r = list_room(name);
        const auto chosen = planned(r, 2000, 1);
        REQUIRE_FALSE(chosen.turns.empty());
        CHECK(check::check(r.room.problem, chosen.schedule).empty());
        std::set<std::int32_t> different(chosen.turns.begin(), chosen.turns.end());
        CHECK(different.size() == r.room.problem.operations.size());
        CHECK(*different.begin() == 1);
        ReplicateOptions days;
        days.replications = 2;
        days.chance = Chance::none();
        days.operations = true;
        days.turns = turns_in_seconds(chosen.schedule, chosen.turns);
        const auto lived = replicate(r.scenario, r.how, r.room, &chosen.schedule, days);
        REQUIRE(lived);
        REQUIRE(lived->used == 2);
        const auto start = r.room.problem.horizon_start;
        for (std::size_t i = 0; i < chosen.schedule.placements.size(); ++i) {
            INFO(name << ": " << r.room.operations[i].words);
            const auto& p = chosen.schedule.placements[i];
            REQUIRE(lived->all[0].begun[i] == (p.start - start).count());
            REQUIRE(lived->all[0].done[i] == (p.work_end - start).count());
        }
    }
}

TEST_CASE("the chosen plan costs less on fresh days than the one on paper and than edd",
          "[chance plan]") {
    const ListRoom r = list_room("damp-day");
    const auto chosen = planned(r, 6000, 1);
    REQUIRE_FALSE(chosen.turns.empty());
    const double cost = mean_cost(r, chosen.schedule,
                                  turns_in_seconds(chosen.schedule, chosen.turns), "follow", 77);
    CHECK(cost < mean_cost(r, r.paper, {}, "follow", 77));
    CHECK(cost < mean_cost(r, r.paper, {}, "edd", 77));
}

TEST_CASE("interrupted while lists are searched, the list so far is the plan", "[chance plan]") {
    const ListRoom r = list_room("tomorrow");
    ChancePlanOptions options;
    options.how.budget.evaluations = 20'000;
    options.how.threads = 1;
    int generations = 0;
    options.progress = [&](const std::string& words) {
        generations += words.find("orders of work on simulated days") != std::string::npos ? 1 : 0;
    };
    options.how.stop = [&] { return generations >= 4; };
    const auto chosen =
        plan_for_chance(r.scenario, r.how, r.room, r.room.problem, r.paper, options);
    CHECK(generations == 4);
    CHECK(chosen.evaluations < 10'000);
    REQUIRE_FALSE(chosen.turns.empty());
    CHECK(chosen.words.find("Interrupted") == 0);
    CHECK(check::check(r.room.problem, chosen.schedule).empty());
    CHECK(mean_cost(r, chosen.schedule, turns_in_seconds(chosen.schedule, chosen.turns), "follow",
                    77) < mean_cost(r, r.paper, {}, "follow", 77));
}

TEST_CASE("the same budget in evaluations gives the same plan for 1 and 3 threads",
          "[chance plan]") {
    const ListRoom r = list_room("damp-day");
    const auto one = planned(r, 700, 1);
    const auto three = planned(r, 700, 3);
    CHECK(one.turns == three.turns);
    CHECK(one.schedule.placements == three.schedule.placements);
    CHECK(one.evaluations == three.evaluations);
    // No more than asked, but for the days that decide and the first days of every list.
    CHECK(one.evaluations < 700 + 7 * static_cast<std::int64_t>(deciding_days) + 200);
}

TEST_CASE("the plan on paper lives all days; others go when they are clearly dearer",
          "[chance plan]") {
    // By hand. Differences to the cheapest (the second): the first 9, 11, 10, 10: mean 10, standard
    // error sqrt(0.5 / 4) = 0.35, clear. The third 4, -4, 4, -3: mean 0.25, error 1.9, not clear.
    // The fourth 5, 5, 5, 5: clear.
    const std::vector<std::vector<double>> cost{
        {9, 11, 10, 10}, {0, 0, 0, 0}, {4, -4, 4, -3}, {5, 5, 5, 5}};
    const Race race = race_of(cost);
    CHECK(race.live_on == std::vector<std::size_t>{0, 1, 2});
    CHECK_FALSE(race.decided);
    CHECK(race_of({cost[0], cost[1], cost[3]}).live_on == std::vector<std::size_t>{0, 1});
    CHECK(race_of({cost[0], cost[1], cost[3]}).decided);
}

TEST_CASE("turns count in seconds as the plan's starts do", "[chance plan]") {
    core::Schedule plan;
    for (const int at : {30, 10, 20})
        plan.placements.push_back({.start = core::SimTime{core::Seconds{at}}});
    const auto turns = turns_in_seconds(plan, {1, 3, 2});
    REQUIRE(turns.size() == 3);
    CHECK(turns[0] < turns[2]);
    CHECK(turns[2] < turns[1]);
    CHECK(std::abs(turns[0] - 10.0) < 0.1);
    CHECK(std::abs(turns[1] - 30.0) < 0.1);
    CHECK(turns_in_seconds(plan, {}).empty());
}

TEST_CASE("nothing by chance is told from something", "[chance plan]") {
    CHECK(nothing_by_chance(Chance::none()));
    CHECK_FALSE(nothing_by_chance(Chance{}));
    Chance films = Chance::none();
    films.film_late = 0.1;
    CHECK_FALSE(nothing_by_chance(films));
}
