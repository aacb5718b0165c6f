// A time that a plan of the room keeps can be held: what a pin "A3 by 10:14" asks for is there, in
// the plan that the same search finds without it.

#include "sched/app/parts/find_plan.hpp"
#include "sched/app/parts/room_of_plan.hpp"
#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "tests/catch.hpp"

TEST_CASE("the times of a plan can be held when it is planned again", "[app]") {
    using namespace sched;
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", d);
    REQUIRE(s);
    app::Question q{.folder = "",
                    .scenario = *std::move(s),
                    .start = *model::parse_date_time("2026-11-26T00:00")};
    q.how.budget.evaluations = 1000;
    q.quiet = q.on_paper = true;
    const auto room = app::room_of(q, d);
    REQUIRE(room);
    const auto free = app::find_plan(q, *room, room->room.problem, q.how);
    REQUIRE(free.solution.schedule);
    const auto done = core::completions(free.problem, *free.solution.schedule);

    core::Problem pinned = room->room.problem;
    for (std::size_t o = 0; o < 5; ++o)
        pinned.orders[o].deadline = *done[o] + core::Seconds{60};
    const auto held = app::find_plan(q, *room, pinned, q.how);
    REQUIRE(held.solution.schedule);
    CHECK(check::check(held.problem, *held.solution.schedule).empty());
    CHECK(held.problem.orders == pinned.orders);
    CHECK(held.solution.value == core::evaluate(held.problem, *held.solution.schedule));
    for (std::size_t k = 0; k < held.solution.value.parts.size(); ++k)
        CHECK(held.solution.bound.parts[k] <= held.solution.value.parts[k]);
}
