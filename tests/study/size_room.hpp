#pragma once
// A room that is a queue by construction, as what the size study simulates: one place, screens that
// come as rush orders through one long day. Hand-made past the compiler of rooms; everything from
// the day's random variation on is the study's own.

#include <string>
#include <vector>

#include "sched/size/size_day.hpp"

namespace study_test {

using namespace sched;

struct QueueRoom {
    model::Scenario scenario;
    study::SizeOptions settings;
    compile::RoomProblem room;
};

/// @param servers of mean service `mean` s, exponential.  @param load offered, in servers.
/// @param speed if > 0: no servers but a cabinet whose drying clock is shared equally and runs that
/// fast (processor sharing).
inline QueueRoom queue_room(int servers, double load, double mean, double customers,
                            double speed = 0.0) {
    QueueRoom q;
    const model::SimTime start = *model::parse_date_time("2026-11-26T00:00");
    q.scenario.room.name = "queue";
    q.scenario.room.stations.push_back({.name = "booth"});
    q.scenario.orders.push_back({.name = "none", .due = start + model::hours(9000)});
    core::Problem& p = q.room.problem;
    p.horizon_start = start;
    p.horizon_end = start + model::hours(24 * 360);
    p.objective = {core::Criterion::FlowTime};
    p.orders.push_back({.name = "none", .release = start});
    p.jobs.push_back({.name = "none", .order = core::OrderId{0}});
    core::Resource booth{.name = "booth", .capacity = speed > 0.0 ? 64 : servers};
    // rate(t) = min(base / (1 + S), cap / S): with a huge base and shares of 1 the cap alone
    // divides, which is processor sharing once anyone is there; S = 1 gives the full speed.
    if (speed > 0.0) booth.shared = core::SharedRate{{{start, 1e9, speed}}};
    p.resources.push_back(booth);
    core::Mode mode{.work = model::Seconds{static_cast<std::int64_t>(mean)},
                    .needs = {{.any_of = {core::ResourceId{0}}}}};
    if (speed > 0.0) {
        mode.work = model::Seconds{0};
        mode.stages = {{.work = mean, .share = 1.0}};
    }
    core::Mode nothing{.work = model::Seconds{1}};
    // The run's own screen needs no place; it is not of the queue.
    p.operations.push_back({.name = "none", .job = core::JobId{0}, .modes = {nothing}});
    p.operations.push_back({.name = "serve", .job = core::JobId{0}, .modes = {mode}});
    q.room.operations.push_back({.step = model::Step::Inspect, .screen = 0});
    q.room.operations.push_back({.step = model::Step::WashOut, .screen = 0});
    q.room.screens.push_back({.order = 0, .tag = "none", .job = core::JobId{0}});
    q.room.spare.push_back({.screen = 0, .again = false, .first = 1, .count = 1});
    q.room.resources.push_back({compile::ResourceKind::Station, 0});
    q.room.orders.push_back(0);

    study::SizeOptions& s = q.settings;
    s.start = start;
    s.policy = "fifo";
    s.effort = 0;
    s.chance = study::Chance::none();
    s.chance.factors[model::Step::WashOut] = study::Distribution::exponential(1.0);
    const double rate = load / mean;  // customers a second
    s.chance.rush = {.a_day = customers,
                     .from = model::Seconds{0},
                     .to = model::Seconds{static_cast<std::int64_t>(customers / rate)},
                     .most_screens = 1,
                     .allowed = model::Seconds{0}};  // tardiness is the time in the system
    return q;
}

}  // namespace study_test
