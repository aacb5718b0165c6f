// Floating breaks as a decision of the plan: what it saves, that it costs nothing, and that the
// judge sees a broken one.

#include "sched/advise/pause_search.hpp"

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/core/pauses.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched;
using core::Pause;
using core::ResourceId;
using core::Window;

namespace {

core::SimTime clock_at(int hour, int minute) {
    return core::SimTime{model::hours(24 * 20'000 + hour) + model::minutes(minute)};
}

search::SearchOptions budget(std::int64_t evaluations, int threads = 1) {
    search::SearchOptions options;
    options.budget.evaluations = evaluations;
    options.threads = threads;
    return options;
}

// Ann from 9:00 to 12:00 with half an hour off, begun between 9:00 and 10:30 and put to 9:30, and
// one order of an hour, due 10:15. Work is not interrupted: with the break at 9:30 it begins at
// 10:00 and is 45 min late; with the break after it, it is done at 10:00.
core::Problem one_order() {
    core::Problem p;
    p.horizon_start = clock_at(0, 0);
    p.horizon_end = clock_at(24, 0);
    p.resources = {{.name = "Ann",
                    .calendar = core::Calendar{{clock_at(9, 0), clock_at(9, 30)},
                                               {clock_at(10, 0), clock_at(12, 0)}}}};
    p.orders = {{.name = "A", .release = p.horizon_start, .due = clock_at(10, 15)}};
    p.jobs = {{.name = "A-1", .order = core::OrderId{0}}};
    p.operations = {
        {.name = "coat",
         .job = core::JobId{0},
         .modes = {{.work = model::hours(1),
                    .needs = {{.any_of = {ResourceId{0}}, .span = core::Span::Work}}}}}};
    p.objective = {core::Criterion::WeightedTardiness};
    p.pauses = {{.resource = ResourceId{0},
                 .earliest = clock_at(9, 0),
                 .latest = clock_at(10, 30),
                 .length = model::minutes(30),
                 .at = clock_at(9, 30)}};
    return p;
}

void checker(const search::PausedSolution& s) {
    REQUIRE(s.solution.schedule);
    const auto wrong = check::check(s.problem, *s.solution.schedule);
    INFO((wrong.empty() ? std::string{} : wrong.front().words));
    CHECK(wrong.empty());
    CHECK(core::evaluate(s.problem, *s.solution.schedule) == s.solution.value);
}

}  // namespace

TEST_CASE("a break that makes an order late is taken later", "[pauses]") {
    const auto p = one_order();
    REQUIRE(core::validate(p).empty());
    const auto staggered = search::solve(p, budget(200));
    REQUIRE(staggered.schedule);
    CHECK(staggered.value.parts.front() == 45 * 60);
    const auto found = search::solve_with_pauses(p, budget(200));
    checker(found);
    CHECK(found.solution.value.parts.front() == 0);
    CHECK(found.problem.pauses[0].at >= clock_at(10, 0));
    CHECK(found.problem.pauses[0].at <= clock_at(10, 30));
    CHECK(found.solution.status == core::Status::Optimal);
}

TEST_CASE("a break in the way of a pin is moved", "[pauses]") {
    auto p = one_order();
    // To begin between 9:10 and 9:20; with half an hour off from 9:30 there is no plan.
    p.constraints.push_back(core::StartWindow{.operation = core::OperationId{0},
                                              .not_before = clock_at(9, 10),
                                              .not_after = clock_at(9, 20)});
    CHECK_FALSE(search::solve(p, budget(100)).schedule);
    const auto found = search::solve_with_pauses(p, budget(200));
    checker(found);
    CHECK(found.problem.pauses[0].at >= clock_at(10, 10));
}

TEST_CASE("a fixed break stays, and a plan without floating ones is the plain search's",
          "[pauses]") {
    auto p = one_order();
    p.pauses[0].earliest = p.pauses[0].latest = p.pauses[0].at;
    const auto plain = search::solve(p, budget(200));
    const auto found = search::solve_with_pauses(p, budget(200));
    checker(found);
    CHECK(found.problem == p);
    CHECK(found.solution.value == plain.value);
    CHECK(found.solution.value.parts.front() == 45 * 60);
}

TEST_CASE("moving a pause moves the hole in the calendar and nothing else", "[pauses]") {
    auto p = one_order();
    core::move_pause(p, 0, clock_at(9, 0));
    CHECK(*p.resources[0].calendar == core::Calendar{{clock_at(9, 30), clock_at(12, 0)}});
    core::move_pause(p, 0, clock_at(10, 15));
    CHECK(*p.resources[0].calendar ==
          core::Calendar{{clock_at(9, 0), clock_at(10, 15)}, {clock_at(10, 45), clock_at(12, 0)}});
    core::move_pause(p, 0, clock_at(9, 30));
    CHECK(p == one_order());
    CHECK(*core::without_movable_pauses(p).resources[0].calendar ==
          core::Calendar{{clock_at(9, 0), clock_at(12, 0)}});
    CHECK_FALSE(core::pause_fits(p, 0, clock_at(10, 31)));
    p.pauses.push_back(p.pauses[0]);
    p.pauses[1].at = clock_at(10, 15);
    CHECK_FALSE(core::pause_fits(p, 0, clock_at(10, 0)));
    CHECK(core::pause_fits(p, 0, clock_at(9, 45)));
}

TEST_CASE("the judge sees a break that is worked through, misplaced, or shared with another",
          "[pauses][check]") {
    const auto rules = [](const core::Problem& p, core::SimTime start) {
        core::Schedule s;
        s.placements = {{.start = start,
                         .work_end = start + model::hours(1),
                         .end = start + model::hours(1),
                         .chosen = {ResourceId{0}}}};
        std::vector<check::Rule> out;
        for (const auto& v : check::check(p, s))
            out.push_back(v.rule);
        return out;
    };
    using check::Rule;
    auto p = one_order();
    CHECK(rules(p, clock_at(10, 0)).empty());
    CHECK(rules(p, clock_at(9, 0)) == std::vector{Rule::Calendar, Rule::Pause});
    // A calendar that hides the break is not believed.
    p.resources[0].calendar = core::Calendar{{clock_at(9, 0), clock_at(12, 0)}};
    CHECK(rules(p, clock_at(10, 0)) == std::vector{Rule::Pause});
    CHECK(rules(p, clock_at(9, 0)) == std::vector{Rule::Pause, Rule::Pause});
    p = one_order();
    core::move_pause(p, 0, clock_at(10, 45));  // begins a quarter of an hour too late
    CHECK(rules(p, clock_at(9, 30)) == std::vector{Rule::Pause});
    p = one_order();
    p.pauses.push_back(p.pauses[0]);
    CHECK(rules(p, clock_at(10, 0)) == std::vector{Rule::Pause});
}

TEST_CASE("breaks are the same whatever the threads, and never make a plan worse",
          "[pauses][property]") {
    int better = 0;
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        auto p = random_room::make(seed);
        // Everyone with a calendar has a floating half hour in the first window that holds it.
        for (std::size_t r = 0; r < p.resources.size(); ++r) {
            auto& calendar = p.resources[r].calendar;
            if (!calendar || p.resources[r].capacity != 1) continue;
            for (const Window& w : *calendar) {
                if (w.to - w.from < model::hours(2)) continue;
                p.pauses.push_back({.resource = ResourceId{r},
                                    .earliest = w.from,
                                    .latest = w.to - model::minutes(30),
                                    .length = model::minutes(30),
                                    .at = w.from});
                core::move_pause(p, p.pauses.size() - 1, w.from + model::minutes(30));
                break;
            }
        }
        if (p.pauses.empty()) continue;
        INFO("seed " << seed);
        REQUIRE(core::validate(p).empty());
        const auto first = search::solve(p, budget(18));  // the part that goes to the given places
        const auto one = search::solve_with_pauses(p, budget(120, 1));
        const auto three = search::solve_with_pauses(p, budget(120, 3));
        CHECK(one.problem == three.problem);
        CHECK(one.solution.schedule == three.solution.schedule);
        CHECK(one.solution.evaluations == three.solution.evaluations);
        CHECK(one.solution.evaluations <= 130);
        if (!first.schedule) continue;
        checker(one);
        CHECK(one.solution.value <= first.value);
        better += one.solution.value < first.value ? 1 : 0;
        for (std::size_t k = 0; k < one.solution.value.parts.size(); ++k)
            CHECK(one.solution.bound.parts[k] <= one.solution.value.parts[k]);
    }
    CHECK(better > 0);
}
