#pragma once
// A problem of a few operations that a test writes down, decoded, and looked at by the checker.

#include <optional>
#include <string>
#include <vector>

#include "sched/check/checker.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "tests/catch.hpp"

namespace small_problem {

using namespace sched::core;
using sched::engine::CompiledProblem;
using sched::engine::Decoder;
using sched::engine::Obstacle;
using sched::engine::Sequence;
using sched::engine::Tick;

using Starts = std::vector<Tick>;
inline SimTime at(Tick t) {
    return SimTime{Seconds{t}};
}

struct Small {
    Problem p;
    Small() {
        p.name = "small";
        p.horizon_end = at(100'000);
        p.objective = {Criterion::Makespan};
    }
    ResourceId resource(int capacity = 1) {
        p.resources.push_back(
            {.name = "r" + std::to_string(p.resources.size()), .capacity = capacity});
        return ResourceId{p.resources.size() - 1};
    }
    OperationId operation(Tick work, std::vector<Need> needs) {
        p.operations.push_back({.name = "o" + std::to_string(p.operations.size()),
                                .modes = {{.work = Seconds{work}, .needs = std::move(needs)}}});
        return OperationId{p.operations.size() - 1};
    }
    Operation& operator[](OperationId o) { return p.operations[o.index()]; }
    /// A cabinet whose clock runs at 1 / (1 + S).
    ResourceId cabinet(int capacity = 1) {
        const auto r = resource(capacity);
        p.resources[r.index()].shared = SharedRate{{{SimTime{}, 1.0, std::nullopt}}};
        return r;
    }
    /// Dries there; with share 1, alone, twice as long as `units`.
    OperationId drying(ResourceId where, double units, double share = 1.0) {
        const auto o = operation(0, {{.any_of = {where}}});
        (*this)[o].modes[0].stages = {{units, share}};
        return o;
    }
    void before(OperationId a, OperationId b, Tick min = 0, std::optional<Tick> max = {},
                Edge edge = Edge::End) {
        TimeLag lag{.from = a, .edge = edge, .to = b, .min = Seconds{min}};
        if (max) lag.max = Seconds{*max};
        p.constraints.push_back(lag);
    }
    void starts_at(OperationId o, Tick t) { p.constraints.push_back(StartWindow{o, at(t), at(t)}); }
    void not_before(OperationId o, Tick t) {
        p.constraints.push_back(StartWindow{o, at(t), std::nullopt});
    }
    /// It has begun, in its first mode, with the first of each list.
    void begun(OperationId o, Tick start, std::optional<int> batch = {}) {
        Begun x{.operation = o, .start = at(start), .batch = batch};
        for (const Need& need : (*this)[o].modes[0].needs)
            x.chosen.push_back(need.any_of[0]);
        p.begun.push_back(x);
    }
    /// Starts by operation; empty if there is no schedule. The checker agrees.
    Starts decode(const Sequence& s = {}) {
        REQUIRE(validate(p).empty());
        const sched::engine::RemainingProblem rest(p);
        const CompiledProblem compiled(rest.problem());
        Decoder d(compiled);
        why = Obstacle::None;
        if (!d.decode(s)) {
            why = d.failure().why;
            return {};
        }
        const auto schedule = p.now ? rest.whole(d.to_schedule()) : d.to_schedule();
        const auto wrong = sched::check::check(p, schedule);
        INFO((wrong.empty() ? std::string{} : wrong.front().words));
        REQUIRE(wrong.empty());
        chosen = d.schedule().chosen;
        end.clear();
        Starts starts;
        for (const Placement& x : schedule.placements) {
            starts.push_back(x.start.time_since_epoch().count());
            end.push_back(x.end.time_since_epoch().count());
        }
        return starts;
    }
    Obstacle why = Obstacle::None;
    std::vector<Tick> end;
    std::vector<std::int32_t> chosen;
};

}  // namespace small_problem
