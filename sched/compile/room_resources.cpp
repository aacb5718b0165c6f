// How it works: a station becomes a resource with its slots and, where it closes, a calendar. A
// person becomes a resource of capacity 1: shifts and overtime joined make the calendar, fixed
// breaks are cut out of it, those that may float become pauses; a break that is under way is
// time off.

#include <algorithm>
#include <cmath>

#include "model/room/breaks.hpp"
#include "model/room/spots.hpp"
#include "model/room/steps.hpp"
#include "sched/compile/room_builder.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/pauses.hpp"

namespace sched::compile {

using core::Calendar;
using core::ResourceId;
using core::Seconds;
using core::SimTime;
using core::Window;
using model::Step;

namespace {

constexpr int most_on_blanket = 8;  // the exact placement stays small

struct PersonDays {
    Calendar shifts;    // with overtime, without breaks
    Calendar overtime;  // the part after the shift
    std::vector<core::Pause> pauses;
    std::vector<Window> under_way;  // breaks that the run's start falls into
};

// The breaks that are still to come. One that the run's start falls into is under way: time off
// that nobody moves any more, and that no other break is moved into.
void add_breaks(const Builder& b, std::size_t k, SimTime first, PersonDays& days) {
    const SimTime start = b.out.problem.horizon_start;
    const auto plan = model::place_breaks(b.room().people[k], first, b.out.problem.horizon_end,
                                          {k, b.room().people.size()});
    for (const model::PlacedBreak& x : plan.placed) {
        if (x.at + x.length <= start) continue;  // it is over
        if (x.at < start) {
            days.under_way.push_back({x.at, x.at + x.length});
            continue;
        }
        SimTime earliest = std::max(x.earliest, start);
        for (const Window& w : days.under_way)
            earliest = std::max(earliest, w.to);
        days.pauses.push_back({.resource = {},
                               .earliest = earliest,
                               .latest = x.latest,
                               .length = x.length,
                               .at = x.at});
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
        std::optional<SimTime> last;  // end of the last shift of the date
        for (const model::Shift& shift : person.shifts) {
            if (!shift.weekdays[static_cast<std::size_t>(model::weekday_index(date))]) continue;
            const SimTime end = day + shift.to;
            core::open_window(days.shifts, {day + shift.from, end});
            last = std::max(last.value_or(end), end);
        }
        if (last) {  // who goes home at noon and comes again at two stays longer in the evening
            core::open_window(days.shifts, {*last, *last + person.overtime});
            core::open_window(days.overtime, {*last, *last + person.overtime});
        }
        for (const model::LongerDay& longer : person.longer) {
            if (!last || longer.date != date) continue;
            const Window more{*last, *last + person.overtime + longer.by};
            core::open_window(days.shifts, more);
            core::open_window(days.overtime, more);
        }
    }
    add_breaks(b, k, first, days);
    // Time after one shift is no overtime where the next one has begun.
    for (const auto& [from, to] : model::attendance(person, first, problem.horizon_end))
        core::close_window(days.overtime, {from, to});
    const Window before{first - std::chrono::days{2}, problem.horizon_start};
    core::close_window(days.shifts, before);
    core::close_window(days.overtime, before);
    for (const Window& w : days.under_way)
        core::close_window(days.shifts, w);
    return days;
}

void add_station(Builder& b, std::size_t index, std::size_t spot) {
    const model::Station& station = b.room().stations[index];
    core::Problem& problem = b.out.problem;
    core::Resource resource;
    resource.name = station.name;
    resource.capacity = station.places;
    if (!station.closed.empty()) {
        Calendar open{{problem.horizon_start, problem.horizon_end}};
        for (const auto& [from, to] : station.closed)
            core::close_window(open, {from, to});
        resource.calendar = std::move(open);
    }
    resource.shared = cabinet_rate(b, station);
    if (station.blanket && model::does_step(station, Step::Expose)) {
        const auto millimetres = [](model::Centimetres c) {
            return static_cast<int>(std::lround(c.value * 10.0));
        };
        resource.batch = core::BatchArea{.width_mm = millimetres(station.blanket->width),
                                         .height_mm = millimetres(station.blanket->height),
                                         .gap_mm = millimetres(b.room().limits.blanket_gap),
                                         .max_members = most_on_blanket};
    }
    if (spot != index) resource.beside = b.station_resource[spot];
    b.station_resource.push_back(ResourceId{problem.resources.size()});
    problem.resources.push_back(std::move(resource));
    b.out.resources.push_back({ResourceKind::Station, static_cast<int>(index)});
    if (model::does_step(station, Step::TakeOut)) b.rack = true;
}

void add_person(Builder& b, std::size_t index) {
    core::Problem& problem = b.out.problem;
    PersonDays days = days_of(b, index);
    const ResourceId id{problem.resources.size()};
    core::Resource resource;
    resource.name = b.room().people[index].name;
    resource.calendar = std::move(days.shifts);
    resource.walk = b.room().between_stations;
    b.person_resource.push_back(id);
    problem.resources.push_back(std::move(resource));
    b.out.resources.push_back({ResourceKind::Person, static_cast<int>(index)});
    for (const Window& w : days.overtime)
        problem.overtime.push_back({id, w});
    for (core::Pause& pause : days.pauses) {
        core::close_window(*problem.resources.back().calendar, {pause.at, pause.at + pause.length});
        pause.resource = id;
        problem.pauses.push_back(pause);
    }
}

}  // namespace

bool person_can(const model::Person& person, Step step) {
    // Carrying is no skill: TakeOut stands for hanging up as well.
    return person.can.empty() || step == Step::TakeOut || model::names_step(person.can, step);
}

std::optional<core::SimTime> first_there(const Builder& b) {
    std::optional<core::SimTime> first;
    for (const core::ResourceId person : b.person_resource) {
        const auto& calendar = b.out.problem.resources[person.index()].calendar;
        if (!calendar || calendar->empty()) continue;
        first = std::min(first.value_or(calendar->front().from), calendar->front().from);
    }
    return first;
}

std::optional<core::SimTime> warm_from(const Builder& b, std::size_t station) {
    const auto& lamp = b.room().stations[station].lamp;
    if (!lamp || lamp->warm_up <= core::Seconds{0}) return std::nullopt;
    const core::SimTime there = first_there(b).value_or(b.out.problem.horizon_start);
    const auto& open = b.out.problem.resources[b.station_resource[station].index()].calendar;
    if (!open) return there + lamp->warm_up;
    for (const core::Window& w : *open) {
        const core::SimTime warm = std::max(there, w.from) + lamp->warm_up;
        if (warm <= w.to) return warm;
    }
    return b.out.problem.horizon_end;
}

void add_resources(Builder& b) {
    const auto spots = model::spots_of(b.room());
    for (std::size_t i = 0; i < b.room().stations.size(); ++i)
        add_station(b, i, spots[i]);
    for (std::size_t i = 0; i < b.room().people.size(); ++i)
        add_person(b, i);
    core::place_pauses(b.out.problem, b.options.pauses);
}

}  // namespace sched::compile
