// How it works: the parts of a room are added one after the other to one builder: resources,
// orders, frames, screens, emulsion. What looks wrong in what was asked is said on the way; an
// error ends it.

#include "sched/compile/room_problem.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/compile/room_builder.hpp"

namespace sched::compile {

namespace {

constexpr std::chrono::days far_off{60};

// Nothing is due on the day of the run or later: mostly another day was meant. Said once for all.
bool all_overdue(Builder& b) {
    const auto& orders = b.scenario.orders;
    const core::SimTime start = b.out.problem.horizon_start;
    if (orders.size() < 2) return false;
    const auto [first, last] = std::minmax_element(
        orders.begin(), orders.end(),
        [](const model::Order& x, const model::Order& y) { return x.due < y.due; });
    if (last->due >= start) return false;
    const std::string day = model::format_date_time(first->due).substr(0, 10);
    b.diagnostics.warning(
        first->due_place, "all-overdue",
        fmt::format("all {} orders were due before the run begins ({}), the last {}: all are late.",
                    orders.size(), model::format_date_time(start),
                    model::format_date_time(last->due)),
        fmt::format("If their day is meant, write --date {0}, or day: {0} in room.yaml.", day));
    return true;
}

// A due date before the run, or far behind it: mostly another day was meant, or another year.
void check_due(Builder& b, const model::Order& order) {
    const core::SimTime start = b.out.problem.horizon_start;
    if (order.due < start) {
        b.diagnostics.warning(
            order.due_place, "order-overdue",
            fmt::format("order {} was due {}, before the run begins ({}): it is late already, and "
                        "each hour more counts by its priority.",
                        order.name, model::format_date_time(order.due),
                        model::format_date_time(start)),
            "If another day is meant, write it with --date, or as day: in room.yaml.");
    } else if (order.due > start + far_off) {
        b.diagnostics.warning(
            order.due_place, "due-far-off",
            fmt::format("order {} is due {}, {} days after the run begins ({}).", order.name,
                        model::format_date_time(order.due),
                        std::chrono::floor<std::chrono::days>(order.due - start).count(),
                        model::format_date_time(start)),
            "Look at the year and the month; if the run is on another day, write --date, or day: "
            "in room.yaml.");
    }
}

// A run of a Saturday on which nobody works begins on Monday, and its orders are late by then.
void check_somebody_there(Builder& b) {
    const core::SimTime start = b.out.problem.horizon_start;
    if (model::time_of_day(start) != core::Seconds{0}) return;
    std::optional<core::SimTime> first;
    for (const core::ResourceId person : b.person_resource) {
        const auto& there = b.out.problem.resources[person.index()].calendar;
        if (there && !there->empty())
            first = std::min(first.value_or(there->front().from), there->front().from);
    }
    if (!first || *first < start + std::chrono::days{1}) return;
    b.diagnostics.warning(
        b.room().people.front().place, "nobody-that-day",
        fmt::format("nobody works on {}: the run begins {}.",
                    model::format_date_time(start).substr(0, 10), model::format_date_time(*first)),
        "If another day is meant, write it with --date, or as day: in room.yaml; else look at "
        "shifts and absent.");
}

void add_orders(Builder& b) {
    const bool said = all_overdue(b);
    for (std::size_t i = 0; i < b.scenario.orders.size(); ++i) {
        const model::Order& order = b.scenario.orders[i];
        if (!said) check_due(b, order);
        b.out.problem.orders.push_back({.name = order.name,
                                        .release = b.out.problem.horizon_start,
                                        .due = order.due,
                                        .weight = order.priority});
        b.out.orders.push_back(static_cast<int>(i));
    }
}

enum class ClockChange { None, Forward, Back };

// Summer time begins on the last Sunday of March and ends on the last of October (directive
// 2000/84/EC), or from the second Sunday of March to the first of November (15 U.S.C. 260a).
ClockChange clock_change(model::LocalDate date) {
    if (model::weekday_index(date) != 6) return ClockChange::None;
    const auto day = static_cast<unsigned>(date.day());
    if (date.month() == std::chrono::March && (day >= 25 || (day >= 8 && day <= 14)))
        return ClockChange::Forward;
    if ((date.month() == std::chrono::October && day >= 25) ||
        (date.month() == std::chrono::November && day <= 7))
        return ClockChange::Back;
    return ClockChange::None;
}

// A day of the plan has 24 hours. Where somebody works through the hour that is left out or comes
// twice, the plan is an hour wrong from then on; which hour that is, if any, the country says.
void check_clocks(Builder& b) {
    core::SimTime last = b.out.problem.horizon_start;
    for (const model::Order& order : b.scenario.orders)
        last = std::max(last, order.due);
    last = std::min(last, b.out.problem.horizon_end);
    for (auto day = model::midnight(model::date_of(b.out.problem.horizon_start)); day <= last;
         day += std::chrono::days{1}) {
        const model::LocalDate date = model::date_of(day);
        const ClockChange change = clock_change(date);
        if (change == ClockChange::None) continue;
        const core::Window changes{day + model::hours(1), day + model::hours(4)};
        std::string who;
        for (std::size_t r = 0; r < b.out.resources.size(); ++r) {
            const core::Resource& resource = b.out.problem.resources[r];
            if (b.out.resources[r].kind != ResourceKind::Person || !resource.calendar) continue;
            if (std::any_of(resource.calendar->begin(), resource.calendar->end(),
                            [&](const core::Window& w) {
                                return std::max(w.from, changes.from) < std::min(w.to, changes.to);
                            }))
                who += (who.empty() ? "" : ", ") + resource.name;
        }
        if (who.empty()) continue;
        const bool forward = change == ClockChange::Forward;
        b.diagnostics.warning(
            b.room().place, "clock-change",
            fmt::format("in the night to {}, in which there is work ({}), clocks go {} in many "
                        "countries: a day of the plan has 24 hours, so {}.",
                        model::format_date(date), who, forward ? "forward" : "back",
                        forward ? "it counts on an hour that there is not"
                                : "it knows nothing of the hour that comes twice"),
            forward
                ? "Where they do, end the shift of that night an hour sooner and add an hour to "
                  "what the plan says from then on."
                : "Where they do, take an hour from what the plan says from then on.");
    }
}

core::Criterion criterion_of(model::Aim aim) {
    switch (aim) {
        case model::Aim::Tardiness:
            return core::Criterion::WeightedTardiness;
        case model::Aim::LateOrders:
            return core::Criterion::LateOrders;
        case model::Aim::Overtime:
            return core::Criterion::Overtime;
        case model::Aim::Finish:
            return core::Criterion::Makespan;
        case model::Aim::Holding:
            return core::Criterion::Holding;
        case model::Aim::Changes:
            break;  // of a plan against another, no criterion of the problem
    }
    return core::Criterion::Makespan;
}

}  // namespace

std::optional<RoomProblem> compile_room(const model::Scenario& scenario,
                                        const CompileOptions& options,
                                        model::Diagnostics& diagnostics) {
    Builder b{scenario, options, diagnostics, {}, {}, {}, false, {}};
    core::Problem& problem = b.out.problem;
    problem.name = scenario.room.name;
    problem.horizon_start = options.start;
    problem.horizon_end = options.start + std::chrono::days{options.days + options.spare_days};
    for (const model::Aim aim : scenario.room.aims) {
        if (aim == model::Aim::Changes)
            b.out.changes_at = problem.objective.size();
        else
            problem.objective.push_back(criterion_of(aim));
    }
    const std::size_t errors_before = diagnostics.error_count();
    check_climate(b);
    add_resources(b);
    check_clocks(b);
    check_somebody_there(b);
    add_orders(b);
    assign_frames(b);
    if (diagnostics.error_count() > errors_before) return std::nullopt;
    add_screens(b);
    add_emulsion(b);
    if (options.spare_ways) {
        add_spare_ways(b);
        add_spare_emulsion(b);
    }
    if (diagnostics.error_count() > errors_before) return std::nullopt;
    // The one place where a room's problem is made is the one where it is validated.
    for (const std::string& wrong : core::validate(problem)) {
        diagnostics.error(b.room().stations.front().place, "unsound-room",
                          "the room does not make a sound problem: " + wrong + ".",
                          "Look at slots, sizes and hours; if they are right, this is a fault of "
                          "the program.");
    }
    if (diagnostics.error_count() > errors_before) return std::nullopt;
    return std::move(b.out);
}

}  // namespace sched::compile
