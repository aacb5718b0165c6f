// Routes become operations: each with its places, its people, and the lags to what comes before.

#include <algorithm>
#include <cmath>
#include <optional>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/compile/hands.hpp"
#include "sched/compile/operation_maker.hpp"
#include "sched/compile/walking.hpp"

namespace sched::compile {

using core::Mode;
using core::Need;
using core::Operation;
using core::OperationId;
using core::ResourceId;
using core::Seconds;
using core::Span;
using model::Step;
using model::route::Part;
using model::route::RouteOperation;

namespace {

core::Edge edge_of(model::route::From from) {
    switch (from) {
        case model::route::From::Start:
            return core::Edge::Start;
        case model::route::From::WorkEnd:
            return core::Edge::WorkEnd;
        case model::route::From::End:
            return core::Edge::End;
    }
    return core::Edge::End;
}

constexpr int warm_up_family = 0;  // shares its batch with nothing; screens count from 1

void add_screen(Builder& b, std::size_t index, HazeTurn& haze) {
    core::Problem& problem = b.out.problem;
    ScreenInfo& screen = b.out.screens[index];
    const model::Order& order = b.scenario.orders[static_cast<std::size_t>(screen.order)];
    const model::ScreenLine& line = order.lines[static_cast<std::size_t>(screen.line)];
    const model::FrameStock& stock = b.scenario.frames[static_cast<std::size_t>(screen.stock)];
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);

    screen.job = core::JobId{problem.jobs.size()};
    problem.jobs.push_back({.name = screen.tag, .order = core::OrderId{screen.order}});

    model::route::RouteRequest request;
    request.frame = screen.source;
    const bool used =
        screen.source == model::FrameState::Inky || screen.source == model::FrameState::OldStencil;
    request.haze = used && haze.next(stock.haze, screen.haze);
    request.plan = plan;
    request.rack = b.rack;
    request.size = &screen.frame;
    const auto route = model::route::build_route(b.room(), request);

    const std::size_t first = problem.operations.size();
    OperationMaker maker(b, &screen);
    for (const RouteOperation& step : route.operations) {
        if (model::row_of(step.step).dries == model::Dries::ByAir) maker.dried_before = step.step;
        Operation operation = maker.make(step);
        if (operation.modes.empty()) {
            b.diagnostics.error(line.place, "no-place",
                                "no station of the room does \"" +
                                    std::string(model::words_of(step.step)) + "\" for a frame of " +
                                    model::format_size(screen.frame) + ": " + screen.tag +
                                    " of order " + order.name + ".",
                                "Give a station this step in `does`, large enough for the frame.");
            operation.modes.push_back({});  // so that the rest can still be looked at
        }
        if (step.step == Step::Expose && step.part == Part::Run) {
            for (const Mode& mode : operation.modes) {
                if (mode.needs.empty()) continue;  // nowhere can it be done
                screen.exposures.push_back(
                    exposure_time(b, maker.station(mode.needs.front().any_of.front()), screen));
            }
            // A coat that was there before the run ages as well.
            if (const auto by = shelf_end(b, stock)) {
                problem.constraints.push_back(core::StartWindow{
                    .operation = OperationId{problem.operations.size()}, .not_after = *by});
            }
        }
        if (step.step == Step::Expose && step.part == Part::Load && line.film_ready) {
            problem.constraints.push_back(
                core::StartWindow{.operation = OperationId{problem.operations.size()},
                                  .not_before = *line.film_ready});
        }
        b.out.operations.push_back({.step = step.step,
                                    .screen = static_cast<int>(index),
                                    .part = step.part,
                                    .round = step.round,
                                    .words = operation.name});
        problem.operations.push_back(std::move(operation));
    }
    if (stock.from && *stock.from > problem.horizon_start) {
        problem.constraints.push_back(
            core::StartWindow{.operation = OperationId{first}, .not_before = *stock.from});
    }
    for (const auto& lag : route.lags) {
        add_lag(problem, lag, OperationId{first + static_cast<std::size_t>(lag.from)},
                OperationId{first + static_cast<std::size_t>(lag.to)});
    }
    add_walks(b, route, first);
    tie_hands(b, route, first);
}

// The lamp is warmed up before the first exposure and stays on for the rest of the run.
void add_warm_up(Builder& b, std::size_t station) {
    const model::Station& unit = b.room().stations[station];
    core::Problem& problem = b.out.problem;
    const ResourceId resource = b.station_resource[station];
    const OperationId warm{problem.operations.size()};
    Operation operation;
    operation.name = "warm up the lamp of " + unit.name;
    operation.modes = {{.work = unit.lamp->warm_up, .needs = {{.any_of = {resource}}}}};
    if (problem.resources[resource.index()].batch) {
        operation.batch = core::BatchShape{.family = warm_up_family, .width_mm = 1, .height_mm = 1};
    }
    std::vector<OperationId> loads;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        if (b.out.operations[i].step != Step::Expose) continue;
        const auto& modes = problem.operations[i].modes;
        const bool here = std::any_of(modes.begin(), modes.end(), [&](const Mode& mode) {
            return mode.needs.size() > 1 && mode.needs[0].any_of.front() == resource;
        });
        // Load and unload have people; a lag before the unload as well does no harm.
        if (here) loads.push_back(OperationId{i});
    }
    if (loads.empty()) return;
    b.out.operations.push_back({.step = Step::Expose, .words = operation.name});
    problem.operations.push_back(std::move(operation));
    // Somebody switches it on: not before the first one is there.
    const std::optional<core::SimTime> opens = first_there(b);
    if (opens) {
        problem.constraints.push_back(core::StartWindow{.operation = warm, .not_before = *opens});
    }
    for (const OperationId load : loads) {
        problem.constraints.push_back(core::TimeLag{.from = warm, .to = load});
    }
}

// Screens that fit the blanket together and need about the same dose may share an exposure.
void add_batch_shapes(Builder& b) {
    core::Problem& problem = b.out.problem;
    const bool shared = std::any_of(problem.resources.begin(), problem.resources.end(),
                                    [](const core::Resource& r) { return r.batch.has_value(); });
    if (!shared) return;
    // Doses are compared under one lamp, whichever units the screens fit.
    const auto& stations = b.room().stations;
    const auto unit = std::find_if(stations.begin(), stations.end(), [](const model::Station& s) {
        return model::does_step(s, Step::Expose);
    });
    std::vector<double> seconds;
    for (const ScreenInfo& screen : b.out.screens) {
        seconds.push_back(screen.exposures.empty()
                              ? 0.0
                              : static_cast<double>(exposure_time(b, *unit, screen).count()));
    }
    const std::vector<int> families = dose_families_of(b, seconds);
    const auto millimetres = [](model::Centimetres c) {
        return static_cast<int>(std::lround(c.value * 10.0));
    };
    for (std::size_t i = 0; i < b.out.operations.size(); ++i) {
        const OperationInfo& info = b.out.operations[i];
        if (info.step != Step::Expose || info.screen < 0) continue;
        const auto screen = static_cast<std::size_t>(info.screen);
        const model::Area& frame = b.out.screens[screen].frame;
        problem.operations[i].batch = core::BatchShape{.family = families[screen] + 1,
                                                       .width_mm = millimetres(frame.width),
                                                       .height_mm = millimetres(frame.height)};
    }
}

}  // namespace

void add_lag(core::Problem& problem, const model::route::RouteLag& lag, OperationId from,
             OperationId to) {
    // A limit longer than the horizon binds nothing and would only cost time.
    auto max = lag.max;
    if (max && *max >= problem.horizon_end - problem.horizon_start) max.reset();
    problem.constraints.push_back(core::TimeLag{
        .from = from, .edge = edge_of(lag.edge), .to = to, .min = lag.min, .max = max});
    if (lag.same_mode) problem.constraints.push_back(core::SameMode{from, to});
    if (lag.same_place) {
        problem.constraints.push_back(
            core::SameResource{.a = from, .need_a = 0, .b = to, .need_b = 0});
    }
}

void add_screens(Builder& b) {
    HazeTurn haze(b.room().haze_share.value);
    for (std::size_t i = 0; i < b.out.screens.size(); ++i) {
        if (b.out.screens[i].stock >= 0) add_screen(b, i, haze);
    }
    add_batch_shapes(b);
    for (std::size_t i = 0; i < b.room().stations.size(); ++i) {
        const auto& lamp = b.room().stations[i].lamp;
        if (lamp && lamp->warm_up.count() > 0) add_warm_up(b, i);
    }
    for (const std::size_t i : b.cold_units) {
        const model::Station& unit = b.room().stations[i];
        const core::SimTime warm = *warm_from(b, i);
        b.diagnostics.warning(
            unit.place, "unit-closed",
            unit.name +
                (warm < b.out.problem.horizon_end
                     ? " is warm only at " + model::format_date_time(warm)
                     : " is closed all the time") +
                ": what another unit can expose does not wait for it, in all of the run.",
            "If it is to help from then on, plan without its warm-up (lamp in room.yaml) and "
            "switch it on in time.");
    }
}

namespace {

// They have no windows: a study gives them their times. What they take: room_emulsion.cpp. False,
// and nothing added, where the room has no place for one of the steps.
bool add_spare_way(Builder& b, std::size_t index, bool again, model::FrameState frame) {
    core::Problem& problem = b.out.problem;
    const ScreenInfo screen = b.out.screens[index];
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);
    model::route::RouteRequest request;
    request.frame = frame;
    request.plan = plan;
    request.rack = b.rack;
    request.size = &screen.frame;
    const auto route = model::route::build_route(b.room(), request);
    const std::size_t first = problem.operations.size();
    OperationMaker maker(b, &screen);
    std::vector<Operation> operations;
    for (const RouteOperation& step : route.operations) {
        if (model::row_of(step.step).dries == model::Dries::ByAir) maker.dried_before = step.step;
        operations.push_back(maker.make(step));
        if (operations.back().modes.empty()) return false;
        if (step.step != Step::Expose) continue;
        // May share an exposure like the screen of the run; with nothing if that one had its
        // stencil.
        operations.back().batch = core::BatchShape{
            .family = warm_up_family - 1 - static_cast<int>(index), .width_mm = 1, .height_mm = 1};
        for (std::size_t i = 0; i < first; ++i) {
            const auto& info = b.out.operations[i];
            if (info.screen == static_cast<int>(index) && info.step == Step::Expose) {
                operations.back().batch = problem.operations[i].batch;
                break;
            }
        }
    }
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const RouteOperation& step = route.operations[i];
        b.out.operations.push_back({.step = step.step,
                                    .screen = static_cast<int>(index),
                                    .part = step.part,
                                    .round = step.round,
                                    .words = operations[i].name + (again ? " again" : "")});
        problem.operations.push_back(std::move(operations[i]));
    }
    for (const auto& lag : route.lags) {
        add_lag(problem, lag, OperationId{first + static_cast<std::size_t>(lag.from)},
                OperationId{first + static_cast<std::size_t>(lag.to)});
    }
    add_walks(b, route, first);
    tie_hands(b, route, first);
    b.out.spare.push_back({.screen = static_cast<int>(index),
                           .again = again,
                           .first = static_cast<int>(first),
                           .count = static_cast<int>(operations.size())});
    return true;
}

}  // namespace

void add_spare_ways(Builder& b) {
    for (std::size_t i = 0; i < b.out.screens.size(); ++i) {
        if (b.out.screens[i].stock < 0) continue;
        // A room that does not strip makes what was found bad on another clean frame.
        if (!add_spare_way(b, i, true, model::FrameState::OldStencil))
            add_spare_way(b, i, true, model::FrameState::Ready);
        add_spare_way(b, i, false, model::FrameState::Ready);
    }
}

/// Operations of one mixing; the last one gives to `mix.store`.
void add_mixing(Builder& b, std::size_t mix_index) {
    core::Problem& problem = b.out.problem;
    MixInfo& mix = b.out.mixes[mix_index];
    const auto route = model::route::build_mixing(b.room());
    const std::size_t first = problem.operations.size();
    OperationMaker maker(b, nullptr);
    for (const RouteOperation& step : route.operations) {
        Operation operation = maker.make(step);
        operation.name += " of " + mix.pot;
        b.out.operations.push_back({.step = step.step,
                                    .part = step.part,
                                    .round = step.round,
                                    .mix = static_cast<int>(mix_index),
                                    .words = operation.name});
        problem.operations.push_back(std::move(operation));
    }
    for (const auto& lag : route.lags) {
        add_lag(problem, lag, OperationId{first + static_cast<std::size_t>(lag.from)},
                OperationId{first + static_cast<std::size_t>(lag.to)});
    }
    problem.constraints.push_back(
        core::Give{.operation = OperationId{problem.operations.size() - 1},
                   .store = mix.store,
                   .amount = static_cast<std::int64_t>(mix.volume_ml)});
}

}  // namespace sched::compile
