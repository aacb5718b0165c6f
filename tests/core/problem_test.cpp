#include "sched/core/problem.hpp"
#include "tests/catch.hpp"

using namespace sched::core;

TEST_CASE("a problem with dangling ids is refused with words", "[core]") {
    Problem p;
    p.horizon_end = SimTime{Seconds{100}};
    p.resources.push_back({.name = "stand"});
    p.operations.push_back(
        {.name = "coat", .modes = {{.work = Seconds{10}, .needs = {{.any_of = {ResourceId{0}}}}}}});
    REQUIRE(validate(p).empty());
    p.operations[0].modes[0].needs[0].any_of[0] = ResourceId{3};
    p.constraints.push_back(TimeLag{.from = OperationId{0}, .to = OperationId{7}});
    CHECK(validate(p).size() == 2);
}
