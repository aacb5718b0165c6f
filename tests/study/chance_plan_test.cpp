// Plans chosen by what they cost on simulated days: a list of work gives its plan back when nothing
// is left to chance; who is chosen costs less on days that the search has not seen.
#include <numeric>
#include <set>

#include "model/read/scenario.hpp"
#include "sched/check/checker.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/simulate/begun_day.hpp"
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

/// @param life of what is mixed; none: as the file says.
ListRoom list_room(const std::string& name, std::optional<model::Seconds> life = {}) {
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/" + name, diagnostics);
    REQUIRE(scenario);
    if (life) {
        std::erase_if(scenario->room.pots, [](const model::Pot& p) { return p.mixed.has_value(); });
        for (auto& emulsion : scenario->room.emulsions) {
            if (emulsion.family != model::EmulsionFamily::Photopolymer)
                emulsion.pot_life_room = emulsion.pot_life_cold = *life;
        }
    }
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
    const auto simulated = replicate(r.scenario, r.how, r.room, &plan, days);
    REQUIRE(simulated);
    double sum = 0.0;
    for (const auto& day : simulated->all)
        sum += cost_of_day(r.room.problem, day);
    return sum / static_cast<double>(simulated->all.size());
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
        const auto simulated = replicate(r.scenario, r.how, r.room, &chosen.schedule, days);
        REQUIRE(simulated);
        REQUIRE(simulated->used == 2);
        const auto start = r.room.problem.horizon_start;
        for (std::size_t i = 0; i < chosen.schedule.placements.size(); ++i) {
            INFO(name << ": " << r.room.operations[i].words);
            const auto& p = chosen.schedule.placements[i];
            REQUIRE(simulated->all[0].begun[i] == (p.start - start).count());
            REQUIRE(simulated->all[0].done[i] == (p.work_end - start).count());
        }
    }
}

// What is mixed on demand and ends after five hours ends so on simulated days: without random
// variation they are the plan that the list leads to, pot by pot.
TEST_CASE("pots of short life end on simulated days as in the plan", "[chance plan][replicate]") {
    const ListRoom r = list_room("tomorrow", model::hours(5));
    std::vector<double> turns;
    for (const auto& p : r.paper.placements)
        turns.push_back(static_cast<double>(p.start.time_since_epoch().count()));
    const auto plan = schedule_of_list(r.room.problem, turns);
    REQUIRE(plan);
    REQUIRE(r.room.mixes.size() > 1);
    ReplicateOptions days;
    days.replications = 1;
    days.chance = Chance::none();
    days.operations = true;
    days.turns = turns;
    const auto simulated = replicate(r.scenario, r.how, r.room, &*plan, days);
    REQUIRE(simulated);
    REQUIRE(simulated->used == 1);
    const auto start = r.room.problem.horizon_start;
    for (std::size_t i = 0; i < plan->placements.size(); ++i) {
        INFO(r.room.operations[i].words);
        REQUIRE(simulated->all[0].begun[i] == (plan->placements[i].start - start).count());
    }
    // A day on which they are not enough does not fail for that.
    days.chance = Chance{};
    days.replications = 40;
    const auto others = replicate(r.scenario, r.how, r.room, &*plan, days);
    REQUIRE(others);
    CHECK(others->incomplete == 0);
}

namespace {

/// The room at `now`, all having gone as posted, planned again by chance.
struct Again {
    compile::RoomProblem room;
    search::EarlierPlan earlier;
    ChancePlan plan;
    int moved = 0;  // steps against the posted plan, those begun left out
    // Between two steps of one person's hands nobody is: else somebody else may go on (hands.hpp).
    bool in_nobodys_hands = true;
};

/// Pairs of steps under way of which the first has begun and the second has not, in one person's
/// hands.
bool in_hands(const core::Problem& problem, const std::vector<core::Begun>& begun) {
    std::set<core::OperationId> has;
    for (const core::Begun& b : begun)
        has.insert(b.operation);
    return std::any_of(
        problem.constraints.begin(), problem.constraints.end(), [&](const core::Constraint& c) {
            const auto* same = std::get_if<core::SameResource>(&c);
            if (same == nullptr || has.count(same->a) == has.count(same->b)) return false;
            const auto& needs = problem.operations[same->a.index()].modes.front().needs;
            return needs[static_cast<std::size_t>(same->need_a)].span == core::Span::Work;
        });
}

// Somebody has just ended a step and is on the way to the next: told the time, not the way, the
// remaining day has them there at once.
bool on_the_way(const core::Problem& problem, const core::Schedule& schedule, core::SimTime now) {
    return std::any_of(
        schedule.placements.begin(), schedule.placements.end(), [&](const core::Placement& p) {
            return std::any_of(p.chosen.begin(), p.chosen.end(), [&](core::ResourceId r) {
                return p.work_end <= now && now < p.work_end + problem.resources[r.index()].walk;
            });
        });
}

Again again_at(const ListRoom& r, const ChancePlan& posted, core::SimTime now,
               bool schedule_is_told) {
    BegunDay day;
    day.now = now;
    day.posted = {r.room.problem, posted.schedule, posted.turns};
    Again out{.room = r.room, .earlier = {}, .plan = {}};
    out.earlier = earlier_of(day, out.room);
    std::vector<std::string> notes;
    model::Diagnostics diagnostics;
    REQUIRE(put_begun(day, out.earlier, out.room, notes, diagnostics));
    search::SearchOptions quick;
    quick.budget.evaluations = 60;
    const auto paper = search::replan(out.room.problem, out.earlier, {}, quick);
    REQUIRE(paper.solution.schedule);
    ChancePlanOptions options;
    options.how.budget.evaluations = 400;
    options.deciding = 40;
    options.posted = {
        .turns = posted_turns(*day.posted, out.room.problem, *paper.solution.schedule),
        .schedule = {}};
    if (schedule_is_told) options.posted->schedule = posted.schedule;
    // Worked on in the order that is posted, the day goes on as it was planned before it began.
    out.in_nobodys_hands = !in_hands(r.room.problem, out.room.problem.begun) &&
                           !on_the_way(r.room.problem, posted.schedule, now);
    if (!posted.turns.empty() && out.in_nobodys_hands) {
        const auto goes_on = schedule_of_list(out.room.problem, options.posted->turns);
        REQUIRE(goes_on);
        for (std::size_t i = 0; i < goes_on->placements.size(); ++i) {
            INFO(out.room.problem.operations[i].name);
            REQUIRE(goes_on->placements[i].start == posted.schedule.placements[i].start);
            REQUIRE(goes_on->placements[i].end == posted.schedule.placements[i].end);
        }
    }
    out.plan = plan_for_chance(r.scenario, r.how, out.room, out.room.problem,
                               *paper.solution.schedule, options);
    CHECK(check::check(out.room.problem, out.plan.schedule).empty());
    search::Replan changes{.solution = {.schedule = out.plan.schedule}};
    search::list_changes(out.room.problem, out.earlier, core::Seconds{59}, changes);
    out.moved = changes.changed;
    return out;
}

}  // namespace

TEST_CASE("a good order of work that is posted stays at midday", "[chance plan]") {
    for (const char* name : {"damp-day", "tomorrow"}) {
        const ListRoom r = list_room(name);
        const auto posted = planned(r, 4000, 2);
        REQUIRE_FALSE(posted.turns.empty());
        int compared = 0;
        for (const int hour : {8, 10, 12}) {
            INFO(name << " at " << hour);
            const auto at = r.room.problem.horizon_start + model::minutes(60 * hour);
            const Again as_posted = again_at(r, posted, at, true);
            CHECK(as_posted.plan.turns == posted.turns);
            CHECK(as_posted.plan.schedule.placements == posted.schedule.placements);
            CHECK(as_posted.moved == 0);
            compared += as_posted.in_nobodys_hands ? 1 : 0;
            // Where its times cannot be kept (here: are not told) its order is.
            CHECK(again_at(r, posted, at, false).plan.turns == posted.turns);
        }
        CHECK(compared >= 2);
    }
}

TEST_CASE("a bad order of work that is posted goes at midday", "[chance plan]") {
    const ListRoom r = list_room("tomorrow");
    // Due last goes first.
    const auto& p = r.room.problem;
    std::vector<double> turns;
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const auto job = p.operations[i].job;
        const auto due = job.valid() ? p.orders[p.jobs[job.index()].order.index()].due
                                     : std::optional<core::SimTime>();
        turns.push_back(due ? -static_cast<double>(due->time_since_epoch().count()) +
                                  static_cast<double>(i)
                            : -1e12);
    }
    const auto schedule = schedule_of_list(p, turns);
    REQUIRE(schedule);
    ChancePlan bad{.schedule = *schedule};
    std::vector<std::int32_t> by(turns.size());
    std::iota(by.begin(), by.end(), 0);
    std::stable_sort(by.begin(), by.end(), [&](std::int32_t a, std::int32_t b) {
        return turns[static_cast<std::size_t>(a)] < turns[static_cast<std::size_t>(b)];
    });
    bad.turns.resize(by.size());
    for (std::size_t k = 0; k < by.size(); ++k)
        bad.turns[static_cast<std::size_t>(by[k])] = static_cast<std::int32_t>(k) + 1;
    const Again again =
        again_at(r, bad, p.horizon_start + model::minutes(8 * 60), /*schedule_is_told=*/true);
    CHECK(again.plan.turns != bad.turns);
    CHECK(again.moved > 0);
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

TEST_CASE("the plan on paper goes through all days; others go when they are clearly dearer",
          "[chance plan]") {
    // By hand. Differences to the cheapest (the second): the first 9, 11, 10, 10: mean 10, standard
    // error sqrt(0.5 / 4) = 0.35, clear. The third 4, -4, 4, -3: mean 0.25, error 1.9, not clear.
    // The fourth 5, 5, 5, 5: clear.
    const std::vector<std::vector<double>> cost{
        {9, 11, 10, 10}, {0, 0, 0, 0}, {4, -4, 4, -3}, {5, 5, 5, 5}};
    const Race race = race_of(cost);
    CHECK(race.simulate_on == std::vector<std::size_t>{0, 1, 2});
    CHECK_FALSE(race.decided);
    CHECK(race_of({cost[0], cost[1], cost[3]}).simulate_on == std::vector<std::size_t>{0, 1});
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
