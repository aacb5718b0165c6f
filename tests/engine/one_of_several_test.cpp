// Who waits for one of several places takes the first of them that comes free, whichever that is.
// From the definition: without looking ahead no place stands idle that something ready could use
// (sequence.hpp, non-delay schedules).

#include "sched/core/problem.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "tests/catch.hpp"

using namespace sched::core;

TEST_CASE("a place that is left sooner than another is taken at once", "[engine]") {
    // Two racks. What stands there leaves when somebody takes it on, which nobody knows before:
    // the first after 30 s from rack A, the second after 10 s from rack B. The third waits from 1
    // on.
    Problem p;
    p.name = "two racks";
    p.horizon_end = SimTime{Seconds{1000}};
    p.objective = {Criterion::FlowTime};
    p.resources = {{.name = "A"}, {.name = "B"}, {.name = "bench", .capacity = 3}};
    const ResourceId a{0}, b{1}, bench{2};
    const std::int64_t stands[] = {30, 10, 5}, comes[] = {0, 0, 1};
    for (std::size_t j = 0; j < 3; ++j) {
        p.orders.push_back({.name = "o", .release = SimTime{Seconds{comes[j]}}});
        p.jobs.push_back({.name = "j", .order = OrderId{j}});
        Operation rack{.name = "rack", .job = JobId{j}, .max_stretch = std::nullopt};
        rack.modes = {Mode{.work = Seconds{stands[j]}, .needs = {{.any_of = {a, b}}}}};
        Operation work{.name = "work", .job = JobId{j}};
        work.modes = {Mode{.work = Seconds{7}, .needs = {{.any_of = {bench}}}}};
        p.operations.push_back(rack);
        p.operations.push_back(work);
        p.constraints.push_back(
            TimeLag{.from = OperationId{2 * j}, .to = OperationId{2 * j + 1}, .max = Seconds{0}});
    }
    REQUIRE(validate(p).empty());
    const sched::engine::CompiledProblem compiled(p);
    sched::engine::Decoder decoder(compiled);
    for (const bool turns : {false, true}) {
        sched::engine::Sequence s;
        s.lookahead = 0;
        s.keeps_turn = turns;
        s.rank = {0, 1, 2, 3, 4, 5};
        REQUIRE(decoder.decode(s));
        const auto& placed = decoder.schedule();
        CHECK(placed.end[0] == 30);
        CHECK(placed.end[2] == 10);
        CHECK(placed.start[4] == 10);
        CHECK(placed.chosen[static_cast<std::size_t>(compiled.operations[4].chosen)] == 1);
    }
}
