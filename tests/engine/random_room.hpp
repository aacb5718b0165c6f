#pragma once
// Small random problems in the shape of a room, for tests: seeded, with drying clocks or typed
// minutes, calendars, maximum lags, holds, stores and batches.

#include <cstdint>
#include <string>

#include "sched/core/problem.hpp"

namespace random_room {

class Draw {
public:
    explicit Draw(std::uint64_t seed) : state_(seed) {}
    std::int32_t below(std::int32_t n) {
        state_ += 0x9E3779B97F4A7C15ULL;
        std::uint64_t z = state_;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
        z ^= z >> 31;
        return static_cast<std::int32_t>((z >> 33) % static_cast<std::uint64_t>(n));
    }

private:
    std::uint64_t state_;
};

struct Size {
    int screens = 0;     // 0: 2 to 7
    bool plain = false;  // the demo shape: coupled clock, no batch, no store
};

inline sched::core::Problem make(std::uint64_t seed, Size size = {}) {
    using namespace sched::core;
    Draw d(seed);
    Problem p;
    p.name = "random room " + std::to_string(seed);
    const SimTime start{Seconds{1000}};
    p.horizon_start = start;
    p.horizon_end = start + Seconds{6 * 86'400};
    const auto resource = [&](const char* name, int capacity) {
        p.resources.push_back({.name = name, .capacity = capacity});
        return ResourceId{p.resources.size() - 1};
    };
    const int screens = size.screens > 0 ? size.screens : 2 + d.below(6);
    const bool clock = size.plain || d.below(3) > 0;
    const bool limits = size.plain || d.below(2) == 0;
    const bool batching = !size.plain && d.below(3) == 0;
    const auto sink = resource("sink", 1);
    const auto stand = resource("stand", size.plain ? 2 : 1 + d.below(2));
    const auto cabinet = resource("cabinet", size.plain ? 12 : 2 + d.below(4));
    const auto rack = resource("rack", size.plain ? 40 : 1 + d.below(3));
    const auto unit = resource("unit", 1);
    const auto booth = resource("booth", 1);
    const auto table = resource("table", 1);
    if (clock) {
        SharedRate rate;
        rate.steps.push_back({start, 1.0, std::nullopt});
        if (d.below(2) == 0) rate.steps[0].cap = 0.4 + 0.1 * d.below(5);
        rate.steps.push_back({start + Seconds{5 * 3600}, 0.8, rate.steps[0].cap});
        rate.steps.push_back({start + Seconds{9 * 3600}, 1.1, rate.steps[0].cap});
        p.resources[cabinet.index()].shared = rate;
    }
    if (batching) p.resources[unit.index()].batch = BatchArea{1200, 900, 20, 3};
    std::vector<ResourceId> people;
    const int crew = size.plain ? 3 : 1 + d.below(3);
    for (int i = 0; i < crew; ++i) {
        const auto person = resource("person", 1);
        Calendar c;
        for (int day = 0; day < 6; ++day) {
            const SimTime at = start + Seconds{day * 86'400 + i * 900};
            c.push_back({at, at + Seconds{4 * 3600}});
            c.push_back({at + Seconds{4 * 3600 + 1800}, at + Seconds{9 * 3600}});
        }
        p.resources[person.index()].calendar = c;
        people.push_back(person);
    }
    std::vector<StoreId> pots;
    if (!size.plain && d.below(2) == 0) {
        p.stores.push_back({.name = "pot", .initial = 100 * d.below(4)});
        p.stores.push_back({.name = "new pot", .initial = 0, .until = start + Seconds{5 * 86'400}});
        pots = {StoreId{std::size_t{0}}, StoreId{std::size_t{1}}};
        Operation mix{
            .name = "mix",
            .modes = {{.work = Seconds{600}, .needs = {{.any_of = people, .span = Span::Work}}}}};
        mix.pausable = d.below(2) == 0;
        p.operations.push_back(mix);
        p.operations.push_back({.name = "let stand", .modes = {{.work = Seconds{3600}}}});
        p.constraints.push_back(TimeLag{.from = OperationId{std::size_t{0}},
                                        .to = OperationId{std::size_t{1}},
                                        .max = Seconds{0}});
        p.constraints.push_back(Give{OperationId{std::size_t{1}}, pots[1], 2000});
    }
    const int orders = 1 + screens / 3;
    for (int k = 0; k < orders; ++k) {
        p.orders.push_back({.name = "order",
                            .release = start + Seconds{600 * d.below(6)},
                            .due = start + Seconds{3600 * (3 + d.below(8))},
                            .weight = 1 + d.below(3)});
    }
    for (int k = 0; k < screens; ++k) {
        const JobId job{p.jobs.size()};
        p.jobs.push_back(
            {.name = "screen", .order = OrderId{static_cast<std::int32_t>(k % orders)}});
        const int slots = size.plain ? (k % 6 == 0 ? 2 : 1) : 1 + (d.below(4) == 0 ? 1 : 0);
        OperationId last;
        const auto add = [&](const char* name, Mode mode, bool hold, bool free_stretch) {
            Operation o{.name = std::string(name) + " " + std::to_string(k),
                        .job = job,
                        .modes = {std::move(mode)}};
            if (free_stretch) o.max_stretch = std::nullopt;
            const OperationId id{p.operations.size()};
            p.operations.push_back(o);
            if (last.valid()) {
                TimeLag lag{.from = last, .to = id};
                if (hold) lag.max = Seconds{0};
                p.constraints.push_back(lag);
            }
            last = id;
            return id;
        };
        const auto work = [&](ResourceId place, int seconds) {
            return Mode{.work = Seconds{seconds},
                        .needs = {{.any_of = {place}}, {.any_of = people, .span = Span::Work}}};
        };
        const auto dry = [&](int seconds) {
            Mode m{.needs = {{.any_of = {cabinet}, .amount = slots}}};
            if (clock)
                m.stages = {{seconds * 0.7, 0.15 * slots}, {seconds * 0.3, 0.05 * slots}};
            else
                m.work = Seconds{seconds};
            return m;
        };
        const auto take_out = [&] {
            return Mode{.work = Seconds{60},
                        .needs = {{.any_of = {rack}}, {.any_of = people, .span = Span::Work}}};
        };
        if (d.below(2) == 0) {
            add("ink off", work(sink, 240 + d.below(120)), false, true);
            const auto strip = add("remover on", work(sink, 60 + d.below(30)), true, true);
            const auto rinse = add("rinse", work(sink, 180 + d.below(90)), true, true);
            p.constraints.push_back(TimeLag{.from = strip,
                                            .edge = Edge::Start,
                                            .to = rinse,
                                            .min = Seconds{90},
                                            .max = Seconds{300}});
        }
        add("degrease", work(sink, 200 + d.below(60)), last.valid(), true);
        const auto mesh = add("dry mesh", dry(900 + d.below(300)), true, true);
        add("take out", take_out(), true, true);
        const auto coat = add("coat", work(stand, 200 + d.below(160)), true, true);
        if (!pots.empty()) p.constraints.push_back(Take{coat, pots, 50 + d.below(100)});
        if (limits)
            p.constraints.push_back(
                TimeLag{.from = mesh, .edge = Edge::WorkEnd, .to = coat, .max = Seconds{4 * 3600}});
        add("dry coat", dry(1500 + d.below(900)), true, true);
        add("take out", take_out(), true, true);
        const auto load = add("load", work(unit, 90), true, false);
        Mode run{.work = Seconds{120 + d.below(200)}, .needs = {{.any_of = {unit}}}};
        const auto expose = add("expose", run, true, true);
        const auto unload = add("unload", work(unit, 45), true, false);
        if (batching) {
            for (const OperationId o : {load, expose, unload})
                p.operations[o.index()].batch = BatchShape{d.below(1), 500 + 100 * d.below(3), 400};
        }
        p.constraints.push_back(SameResource{load, 0, unload, 0});
        const auto wash = add("wash out", work(booth, 240 + d.below(200)), false, true);
        p.constraints.push_back(
            TimeLag{.from = unload, .edge = Edge::End, .to = wash, .max = Seconds{1800}});
        add("dry stencil", dry(900), true, true);
        add("take out", take_out(), true, true);
        add("inspect", work(table, 240), true, true);
        add("let block-out dry", Mode{.work = Seconds{600}}, true, false);
    }
    p.objective = {Criterion::WeightedTardiness, Criterion::Makespan, Criterion::LateOrders,
                   Criterion::Holding, Criterion::FlowTime};
    return p;
}

}  // namespace random_room
