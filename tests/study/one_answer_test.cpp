// Plan, promise and size are asked about the same orders in the same room: they may not contradict
// each other. Each makes a plan of its own, with what it may cost, so they agree within what the
// order of work moves, not to the day. No source outside: it is a demand on the program.

#include <cmath>

#include "model/read/scenario.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/promise/promise.hpp"
#include "sched/search/solve.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/replicate.hpp"
#include "sched/size/size.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

const model::SimTime day_start = *model::parse_date_time("2026-11-26T00:00");

// Late orders a day as `coatroom plan` counts them.
std::vector<double> late_by_plan(const model::Scenario& scenario) {
    const compile::CompileOptions compiled{.start = day_start};
    model::Diagnostics diagnostics;
    const auto room = compile::compile_room(scenario, compiled, diagnostics);
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
    const auto lived = replicate(scenario, compiled, *room, &plan.schedule, days);
    REQUIRE(lived);
    std::vector<double> late;
    for (const OrderOutcome& order : lived->orders)
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

double late_by_size(const model::Scenario& scenario) {
    SizeOptions how;
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
    return 1.0 - result.cells.front().on_time;
}

double mean(const std::vector<double>& x) {
    double sum = 0.0;
    for (const double v : x)
        sum += v;
    return sum / static_cast<double>(x.size());
}

}  // namespace

TEST_CASE("plan, promise and size do not contradict each other", "[one answer]") {
    for (const char* name : {"tomorrow", "damp-day", "first-day"}) {
        model::Diagnostics diagnostics;
        const auto scenario =
            model::read_scenario(std::string(COATROOM_SOURCE "/scenarios/") + name, diagnostics);
        REQUIRE(scenario);
        const auto plan = late_by_plan(*scenario);
        const auto promise = late_by_promise(*scenario);
        const double size = late_by_size(*scenario);
        REQUIRE(plan.size() == promise.size());
        double apart = 0.0;
        for (std::size_t o = 0; o < plan.size(); ++o)
            apart += std::abs(plan[o] - promise[o]) / static_cast<double>(plan.size());
        CAPTURE(name, plan, promise, size, apart);
        // Share of late orders, and how far apart single orders are on average.
        CHECK(std::abs(mean(plan) - mean(promise)) < 0.10);
        CHECK(apart < 0.15);
        CHECK(std::abs(mean(plan) - size) < 0.15);
    }
}
