#include <algorithm>
#include <cmath>

#include "sched/compile/room_builder.hpp"
#include "sched/core/pauses.hpp"

namespace sched::compile {

using core::Calendar;
using core::ResourceId;
using core::Seconds;
using core::SimTime;
using core::Window;
using model::Step;

model::Step named_step(model::Step step) {
    switch (step) {
        case Step::InkDegrease:
            return Step::InkOff;
        case Step::Rinse:
            return Step::Strip;
        case Step::FaceCoat:
            return Step::Coat;
        case Step::DryFace:
            return Step::DryCoat;
        case Step::MixStir:
            return Step::MixDissolve;
        default:
            return step;  // every other step is named by itself
    }
}

namespace {

constexpr int most_on_blanket = 8;  // the exact placement stays small

bool names(const std::vector<Step>& list, Step step) {
    return std::find(list.begin(), list.end(), step) != list.end() ||
           std::find(list.begin(), list.end(), named_step(step)) != list.end();
}

// Adds [from, to) to a calendar that is sorted; touching or overlapping windows become one.
void join(Calendar& calendar, Window window) {
    if (window.from >= window.to) return;
    calendar.push_back(window);
    std::sort(calendar.begin(), calendar.end(),
              [](const Window& a, const Window& b) { return a.from < b.from; });
    Calendar merged;
    for (const Window& w : calendar) {
        if (!merged.empty() && w.from <= merged.back().to) {
            merged.back().to = std::max(merged.back().to, w.to);
        } else {
            merged.push_back(w);
        }
    }
    calendar = std::move(merged);
}

void cut(Calendar& calendar, Window hole) {
    Calendar rest;
    for (const Window& w : calendar) {
        if (hole.to <= w.from || w.to <= hole.from) {
            rest.push_back(w);
            continue;
        }
        if (w.from < hole.from) rest.push_back({w.from, hole.from});
        if (hole.to < w.to) rest.push_back({hole.to, w.to});
    }
    calendar = std::move(rest);
}

struct PersonDays {
    Calendar shifts;    // with overtime, without breaks
    Calendar overtime;  // the part after the shift
    std::vector<core::Pause> pauses;
    std::vector<Window> under_way;  // breaks that the run's start falls into
};

// Where a plan that searches begins: floating breaks are staggered over the people, so that the
// room is not empty; person k of n takes it at earliest + k / (n - 1) of the span, on whole
// minutes.
SimTime break_start(const model::Break& pause, SimTime day, std::size_t k, std::size_t n) {
    const auto span = (pause.latest - pause.earliest).count();
    const auto part =
        n > 1 ? span * static_cast<std::int64_t>(k) / static_cast<std::int64_t>(n - 1) : 0;
    return day + pause.earliest + Seconds{part / 60 * 60};
}

bool meets(const core::Pause& pause, Window window) {
    return pause.at < window.to && window.from < pause.at + pause.length;
}

// The breaks of one shift that are still to come, each where it is staggered, or at the next
// quarter of an hour that no other break of the person has.
void add_breaks(const Builder& b, std::size_t k, SimTime day, const model::Shift& shift,
                PersonDays& days) {
    const SimTime start = b.out.problem.horizon_start;
    for (const model::Break& pause : b.room().people[k].breaks) {
        // Night shifts have their breaks after midnight.
        for (const SimTime base : {day, SimTime{day + std::chrono::days{1}}}) {
            const SimTime earliest = std::max(base + pause.earliest, day + shift.from);
            const SimTime latest = std::min(base + pause.latest, day + shift.to - pause.length);
            if (earliest > latest) continue;
            const SimTime usual =
                std::clamp(break_start(pause, base, k, b.room().people.size()), earliest, latest);
            if (usual + pause.length <= start) continue;  // it is over
            if (usual < start) {
                days.under_way.push_back({usual, usual + pause.length});
                continue;
            }
            core::Pause mine{.resource = {},
                             .earliest = std::max(earliest, start),
                             .latest = latest,
                             .length = pause.length,
                             .at = usual};
            const auto taken = [&] {
                return std::any_of(days.pauses.begin(), days.pauses.end(),
                                   [&](const core::Pause& other) {
                                       return meets(other, {mine.at, mine.at + mine.length});
                                   });
            };
            constexpr Seconds quarter = model::minutes(15);
            if (taken()) {
                for (mine.at = mine.earliest; mine.at < latest && taken();)
                    mine.at = std::min(mine.at + quarter, latest);
            }
            if (!taken()) days.pauses.push_back(mine);
        }
    }
}

PersonDays days_of(const Builder& b, std::size_t k) {
    const model::Person& person = b.room().people[k];
    const core::Problem& problem = b.out.problem;
    PersonDays days;
    // One day before the start: a night shift reaches into the horizon.
    const SimTime first =
        model::midnight(model::date_of(problem.horizon_start)) - std::chrono::days{1};
    for (SimTime day = first; day < problem.horizon_end; day += std::chrono::days{1}) {
        const auto date = model::date_of(day);
        if (std::find(person.absent.begin(), person.absent.end(), date) != person.absent.end()) {
            continue;
        }
        for (const model::Shift& shift : person.shifts) {
            if (!shift.weekdays[static_cast<std::size_t>(model::weekday_index(date))]) continue;
            join(days.shifts, {day + shift.from, day + shift.to + person.overtime});
            if (person.overtime.count() > 0) {
                join(days.overtime, {day + shift.to, day + shift.to + person.overtime});
            }
            add_breaks(b, k, day, shift, days);
        }
    }
    cut(days.shifts, {first - std::chrono::days{2}, problem.horizon_start});
    cut(days.overtime, {first - std::chrono::days{2}, problem.horizon_start});
    for (const Window& w : days.under_way)
        cut(days.shifts, w);
    return days;
}

void add_station(Builder& b, std::size_t index) {
    const model::Station& station = b.room().stations[index];
    core::Problem& problem = b.out.problem;
    core::Resource resource;
    resource.name = station.name;
    resource.capacity = station.places;
    if (!station.closed.empty()) {
        Calendar open{{problem.horizon_start, problem.horizon_end}};
        for (const auto& [from, to] : station.closed)
            cut(open, {from, to});
        resource.calendar = std::move(open);
    }
    resource.shared = cabinet_rate(b, station);
    if (station.blanket && station_does(station, Step::Expose)) {
        const auto millimetres = [](model::Centimetres c) {
            return static_cast<int>(std::lround(c.value * 10.0));
        };
        resource.batch = core::BatchArea{.width_mm = millimetres(station.blanket->width),
                                         .height_mm = millimetres(station.blanket->height),
                                         .gap_mm = millimetres(b.room().limits.blanket_gap),
                                         .max_members = most_on_blanket};
    }
    b.station_resource.push_back(ResourceId{problem.resources.size()});
    problem.resources.push_back(std::move(resource));
    b.out.resources.push_back({ResourceKind::Station, static_cast<int>(index)});
    if (station_does(station, Step::TakeOut)) b.rack = true;
}

void add_person(Builder& b, std::size_t index) {
    core::Problem& problem = b.out.problem;
    PersonDays days = days_of(b, index);
    const ResourceId id{problem.resources.size()};
    core::Resource resource;
    resource.name = b.room().people[index].name;
    resource.calendar = std::move(days.shifts);
    b.person_resource.push_back(id);
    problem.resources.push_back(std::move(resource));
    b.out.resources.push_back({ResourceKind::Person, static_cast<int>(index)});
    for (const Window& w : days.overtime)
        problem.overtime.push_back({id, w});
    for (core::Pause& pause : days.pauses) {
        cut(*problem.resources.back().calendar, {pause.at, pause.at + pause.length});
        pause.resource = id;
        problem.pauses.push_back(pause);
    }
}

}  // namespace

bool station_does(const model::Station& station, Step step) {
    return names(station.does, step);
}

bool person_can(const model::Person& person, Step step) {
    // Carrying is no skill: TakeOut stands for hanging up as well.
    return person.can.empty() || step == Step::TakeOut || names(person.can, step);
}

void add_resources(Builder& b) {
    for (std::size_t i = 0; i < b.room().stations.size(); ++i)
        add_station(b, i);
    for (std::size_t i = 0; i < b.room().people.size(); ++i)
        add_person(b, i);
    core::place_pauses(b.out.problem, b.options.pauses);
}

}  // namespace sched::compile
