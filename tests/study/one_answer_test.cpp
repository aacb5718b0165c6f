// Plan, promise and size are asked about the same orders in the same room: they may not contradict
// each other. Each makes a plan of its own, with what it may cost, so they agree within what the
// order of work moves, not to the day. No source outside: it is a demand on the program.

#include <cmath>

#include "model/read/scenario.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/promise/promise.hpp"
#include "sched/search/solve.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/enough_pots.hpp"
#include "sched/simulate/long_run.hpp"
#include "sched/simulate/replicate.hpp"
#include "sched/size/size.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

const model::SimTime day_start = *model::parse_date_time("2026-11-26T00:00");

// The days of a plan as `coatroom plan` makes it.
Replications days_of_plan(const model::Scenario& scenario) {
    model::Diagnostics diagnostics;
    const auto compile = [&](const compile::CompileOptions& how) {
        return compile::compile_room(scenario, how, diagnostics);
    };
    const auto compiled = with_enough_pots({.start = day_start}, nullptr, compile, {});
    const auto room = compile(compiled);
    REQUIRE(room);
    search::SearchOptions how;
    how.budget.evaluations = 400;
    const auto paper = search::solve(room->problem, how);
    REQUIRE(paper.schedule);
    const auto plan = plan_for_chance(scenario, compiled, *room, room->problem, *paper.schedule,
                                      {.how = how, .chance = {}, .progress = {}});
    ReplicateOptions days;
    days.replications = 200;
    days.turns = turns_in_seconds(plan.schedule, plan.turns);
    auto simulated = replicate(scenario, compiled, *room, &plan.schedule, days);
    REQUIRE(simulated);
    return *std::move(simulated);
}

// Late orders a day as `coatroom plan` counts them.
std::vector<double> late_by_plan(const model::Scenario& scenario) {
    const Replications simulated = days_of_plan(scenario);
    std::vector<double> late;
    for (const OrderOutcome& order : simulated.orders)
        late.push_back(static_cast<double>(order.late) / static_cast<double>(order.n));
    return late;
}

std::vector<double> late_by_promise(const model::Scenario& scenario) {
    PromiseOptions how;
    how.compile.start = day_start;
    model::Diagnostics diagnostics;
    std::string problem;
    const auto desk = PromiseDesk::open(scenario, how, diagnostics, problem);
    INFO(problem);
    REQUIRE(desk);
    const core::Problem& p = desk->room().problem;
    std::vector<double> late(p.orders.size(), 0.0);
    for (const Replication& day : desk->days().all) {
        for (std::size_t o = 0; o < late.size(); ++o) {
            const bool kept =
                day.complete && day.ready[o] <= (*p.orders[o].due - p.horizon_start).count();
            late[o] += kept ? 0.0 : 1.0 / static_cast<double>(desk->days().all.size());
        }
    }
    return late;
}

SizeCell sized(const model::Scenario& scenario, SizeOptions how) {
    how.start = day_start;
    how.least = 60;
    how.most = 60;
    SizeOption today;
    today.scenario = scenario;
    std::string problem;
    const auto study = SizeStudy::open({today}, how, problem);
    INFO(problem);
    REQUIRE(study);
    const SizeResult result = study->run();
    REQUIRE_FALSE(result.cells.empty());
    return result.cells.front();
}

double late_by_size(const model::Scenario& scenario) {
    return 1.0 - sized(scenario, {}).on_time;
}

// Hours late a day, all orders together.
double tardiness_by_rule(const model::Scenario& scenario) {
    SizeOptions how;
    how.effort = 0;
    how.policy = "edd";
    return sized(scenario, how).tardiness_h.mean.mean;
}

double mean(const std::vector<double>& x) {
    double sum = 0.0;
    for (const double v : x)
        sum += v;
    return sum / static_cast<double>(x.size());
}

}  // namespace

namespace {

// What is mixed ends so long after it was stirred in; nothing is there at the start.
model::Scenario with_pot_life(const char* name, model::Seconds life) {
    model::Diagnostics diagnostics;
    auto scenario =
        model::read_scenario(std::string(COATROOM_SOURCE "/scenarios/") + name, diagnostics);
    REQUIRE(scenario);
    for (auto& emulsion : scenario->room.emulsions) {
        emulsion.family = model::EmulsionFamily::DualCure;
        emulsion.pot_life_room = life;
    }
    scenario->room.pots.clear();
    return *std::move(scenario);
}

void agree(const model::Scenario& scenario, const std::string& name) {
    const auto plan = late_by_plan(scenario);
    const auto promise = late_by_promise(scenario);
    const double size = late_by_size(scenario);
    REQUIRE(plan.size() == promise.size());
    double apart = 0.0;
    for (std::size_t o = 0; o < plan.size(); ++o)
        apart += std::abs(plan[o] - promise[o]) / static_cast<double>(plan.size());
    CAPTURE(name, plan, promise, size, apart, mean(plan), mean(promise));
    // Share of late orders, and how far apart single orders are on average.
    CHECK(std::abs(mean(plan) - mean(promise)) < 0.10);
    CHECK(apart < 0.15);
    CHECK(std::abs(mean(plan) - size) < 0.15);
}

}  // namespace

TEST_CASE("plan, promise and size do not contradict each other", "[one answer]") {
    for (const char* name : {"tomorrow", "damp-day", "first-day"}) {
        model::Diagnostics diagnostics;
        const auto scenario =
            model::read_scenario(std::string(COATROOM_SOURCE "/scenarios/") + name, diagnostics);
        REQUIRE(scenario);
        agree(*scenario, name);
    }
}

TEST_CASE("nor where what is mixed keeps for hours", "[one answer][pots]") {
    const auto ends = with_pot_life("tomorrow", model::hours(3));
    agree(ends, "3 h");
    // By one rule in both, so that no order of work is luckier than another.
    const double short_lived = tardiness_by_rule(ends);
    const double long_lived = tardiness_by_rule(with_pot_life("tomorrow", model::hours(28 * 24)));
    CAPTURE(short_lived, long_lived);
    CHECK(short_lived > long_lived + 1.0);
}

namespace {

// The first orders of the scenario, ready s after five in the morning, on average over days.
double ready_by_plan(const model::Scenario& scenario) {
    const Replications simulated = days_of_plan(scenario);
    double sum = 0.0, n = 0.0;
    for (const Replication& day : simulated.all) {
        for (const std::int64_t ready : day.ready) {
            sum += static_cast<double>(ready - 5 * 3600);
            n += 1.0;
        }
    }
    return sum / n;
}

double ready_by_weeks(const model::Scenario& scenario) {
    LongRunOptions o;
    o.days = 200;
    const auto open = open_week(scenario.room);
    o.arrivals.kind_weight.assign(scenario.orders.size(), 1.0);
    ArrivalProcess::PastDay every;
    for (std::size_t k = 0; k < scenario.orders.size(); ++k)
        every.push_back({.second = 5 * 3600, .kind = static_cast<int>(k)});
    for (std::size_t d = 0; d < 7; ++d) {
        o.arrivals.history[d].push_back(open.weekdays[d] ? every : ArrivalProcess::PastDay{});
    }
    const auto run = run_long(scenario, {.start = day_start}, o);
    REQUIRE(run);
    CHECK(run->stuck == "");
    CHECK(run->orders_out + 20 > run->orders_in);
    return run->turnaround.mean;
}

}  // namespace

TEST_CASE("weeks show what a short pot life costs, as the days of a plan do",
          "[one answer][pots]") {
    std::vector<double> plan, weeks;
    for (const auto life : {model::hours(28 * 24), model::hours(8), model::hours(3)}) {
        auto scenario = with_pot_life("tomorrow", life);
        scenario.orders.resize(5);
        scenario.weather.clear();
        plan.push_back(ready_by_plan(scenario) / 3600.0);
        weeks.push_back(ready_by_weeks(scenario) / 3600.0);
    }
    CAPTURE(plan, weeks);
    // Hours from five in the morning. Of what keeps, weeks have some from the day before.
    CHECK(weeks[0] < plan[0]);
    CHECK(weeks[1] > weeks[0] + 0.25);
    CHECK(weeks[2] > weeks[1] + 0.10);
    CHECK(std::abs(weeks[1] - plan[1]) < 0.25);
    CHECK(std::abs(weeks[2] - plan[2]) < 0.25);
}
