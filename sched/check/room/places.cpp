// Stations: who may be there (step, size, light, opening), how many at once by slots, and who may
// share an exposure on the blanket.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/physics/exposure.hpp"
#include "model/physics/placement.hpp"
#include "model/room/steps.hpp"
#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

int slots_of(const model::Station& station, const ScreenCase* x) {
    return x != nullptr && station.double_from && larger(x->frame, *station.double_from) ? 2 : 1;
}

void judge_place_of(const Case& c, int i) {
    const OperationLine& line = c.op(i);
    const auto step = c.step_of(i);
    if (!step || line.place.empty()) return;
    const model::Station* station = c.station(line.place);
    const ScreenCase* x = c.screen_of(line);
    if (station == nullptr) {
        c.say("place", line.words + " is at " + line.place + ", no station of room.yaml.");
        return;
    }
    if (std::find(station->does.begin(), station->does.end(), *step) == station->does.end())
        c.say("place", fmt::format("{}: {} does not do it ({}).", line.words, station->name,
                                   model::words_of(*step)));
    if (x != nullptr && station->largest_frame && larger(x->frame, *station->largest_frame))
        c.say("place",
              fmt::format("{}: the frame is too large for {}.", line.words, station->name));
    if (line.places != slots_of(*station, x))
        c.say("place", fmt::format("{} takes {} places of {}, the plan says {}.", line.words,
                                   slots_of(*station, x), station->name, line.places));
    if (trade(*step).dark && !station->light_safe)
        c.say("light", fmt::format("{}: {} is not light-safe.", line.words, station->name));
    for (const auto& [from, to] : station->closed) {
        if (line.start < to && from < line.work_end)
            c.say("place", fmt::format("{}: {} is closed from {} to {}.", line.words, station->name,
                                       clock_words(from), clock_words(to)));
    }
    if (x != nullptr && x->returned != nullptr && *step == Step::DryMesh && station->air)
        c.say("place", line.words + " takes a cabinet's warm air for the store.");
}

// A screen that waits on the rack with its coat on waits in yellow light.
void judge_rack_light(const Case& c, const ScreenCase& x) {
    for (std::size_t k = 1; k < x.stages.size(); ++k) {
        if (x.stages[k].step != Step::TakeOut || !trade(x.stages[k - 1].step).dark) continue;
        const model::Station* rack = c.station(c.op(x.stages[k].parts.front()).place);
        if (rack != nullptr && !rack->light_safe)
            c.say("light", fmt::format("{} waits with its coat on at {}, which is not light-safe.",
                                       x.tag, rack->name));
    }
}

void judge_step_place(const Case& c, int i) {
    const OperationLine& line = c.op(i);
    const auto step = c.step_of(i);
    if (!step || !line.place.empty() || line.work_end <= line.start) return;
    const ScreenCase* x = c.screen_of(line);
    const bool wall = *step == Step::DryTouchUp || *step == Step::MixDissolve ||
                      *step == Step::MixStir ||
                      (x != nullptr && x->returned != nullptr && *step == Step::DryMesh);
    if (!wall) c.say("place", line.words + " is done nowhere.");
}

// Of one batch the largest counts once.
void judge_slots(const Case& c, const model::Station& station) {
    struct Change {
        SimTime at;
        int places;
    };
    std::vector<Change> changes;
    std::map<int, std::pair<const OperationLine*, int>> batches;
    const auto take = [&](const OperationLine& line, int places) {
        const SimTime until = line.place_until.value_or(line.start);
        if (until <= line.start) return;
        changes.push_back({line.start, places});
        changes.push_back({until, -places});
    };
    for (const OperationLine& line : c.d.operations) {
        if (line.place != station.name) continue;
        const int places = slots_of(station, c.screen_of(line));
        if (!line.batch || !station.blanket) {
            take(line, places);
            continue;
        }
        auto& [first, most] = batches[*line.batch];
        if (first == nullptr) first = &line;
        most = std::max(most, places);
    }
    for (const auto& [number, batch] : batches)
        take(*batch.first, batch.second);
    std::sort(changes.begin(), changes.end(), [](const Change& a, const Change& b) {
        return std::pair(a.at, a.places) < std::pair(b.at, b.places);
    });
    int taken = 0;
    for (const Change& x : changes) {
        taken += x.places;
        if (x.places < 0 || taken <= station.places || (c.d.again && x.at < c.d.again->now))
            continue;
        c.say("place", fmt::format("{} has {} places, from {} on {} are taken.", station.name,
                                   station.places, clock_words(x.at), taken));
        return;
    }
}

std::vector<std::pair<SimTime, SimTime>> burning(const Case& c, const model::Station& unit) {
    std::vector<std::pair<SimTime, SimTime>> out;
    for (const ScreenCase& x : c.screens) {
        for (const Stage& stage : x.stages) {
            const int run = c.exposure_of(stage);
            if (run >= 0 && c.op(run).place == unit.name)
                out.emplace_back(stage.start, c.op(run).start);
        }
    }
    return out;
}

void judge_warm_up(const Case& c, const model::Station& unit) {
    if (!unit.lamp || unit.lamp->warm_up <= Seconds{0} || c.d.again) return;
    const auto loads = burning(c, unit);
    if (loads.empty()) return;
    const SimTime first = std::min_element(loads.begin(), loads.end(), [](auto& a, auto& b) {
                              return a.second < b.second;
                          })->second;
    for (const OperationLine& line : c.d.operations) {
        const bool warm = line.screen.empty() && line.step == "expose" && line.place == unit.name;
        if (warm && line.work_end <= first && line.work_end - line.start >= unit.lamp->warm_up)
            return;
    }
    c.say("exposure",
          fmt::format("the lamp of {} is not warm at {}.", unit.name, clock_words(first)));
}

// Screens under one lamp: together in and out, about the same dose, and on the blanket.
void judge_shared(const Case& c) {
    std::map<std::pair<int, SimTime>, std::vector<int>> loads;
    for (const ScreenCase& x : c.screens) {
        for (const Stage& stage : x.stages) {
            const int run = c.exposure_of(stage);
            if (run < 0) continue;
            // Alone on the blanket it has to fit as well.
            const int alone = -1 - run;
            loads[{c.op(run).batch.value_or(alone), c.op(run).start}].push_back(run);
        }
    }
    for (const auto& [key, runs] : loads) {
        const OperationLine& first = c.op(runs.front());
        const model::Station* unit = c.station(first.place);
        if (unit == nullptr || (runs.size() < 2 && !unit->blanket)) continue;
        std::vector<model::physics::Rectangle> frames;
        Seconds least = Seconds::max(), most{0};
        for (const int i : runs) {
            const ScreenCase& x = *c.screen_of(c.op(i));
            const auto mm = [](model::Centimetres v) {
                return static_cast<int>(std::lround(10.0 * v.value));
            };
            frames.push_back({mm(x.frame.width), mm(x.frame.height)});
            if (c.op(i).place != first.place || c.op(i).end != first.end)
                c.say("exposure", first.words + " and " + c.op(i).words +
                                      " share an exposure, but not place and time.");
            if (!x.known() || !unit->lamp) continue;
            const Seconds own =
                model::physics::exposure_seconds(*x.emulsion, *unit->lamp, *x.mesh, *x.plan);
            least = std::min(least, own);
            most = std::max(most, own);
        }
        const double allowed =
            static_cast<double>(least.count()) * (1.0 + c.room.limits.dose_tolerance.value);
        if (unit->lamp && static_cast<double>(most.count()) > allowed + 1.0)
            c.say("exposure", fmt::format("{} shares an exposure with screens that need {} to {} "
                                          "s: not the same dose.",
                                          first.words, least.count(), most.count()));
        const bool room =
            unit->blanket && frames.size() <= model::physics::most_placed &&
            model::physics::fits(
                frames,
                {static_cast<int>(std::lround(10.0 * unit->blanket->width.value)),
                 static_cast<int>(std::lround(10.0 * unit->blanket->height.value))},
                static_cast<int>(std::lround(10.0 * c.room.limits.blanket_gap.value)));
        if (!room)
            c.say("exposure", fmt::format("{} and {} more do not lie on the blanket of {}.",
                                          first.words, frames.size() - 1, unit->name));
    }
}

}  // namespace

void judge_places(Case& c) {
    for (std::size_t i = 0; i < c.d.operations.size(); ++i) {
        if (!c.begins_later(static_cast<int>(i))) continue;
        judge_place_of(c, static_cast<int>(i));
        judge_step_place(c, static_cast<int>(i));
    }
    for (const ScreenCase& x : c.screens)
        judge_rack_light(c, x);
    for (const model::Station& station : c.room.stations) {
        judge_slots(c, station);
        judge_warm_up(c, station);
    }
    judge_shared(c);
}

}  // namespace sched::check::room
