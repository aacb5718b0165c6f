// How it works: the entries of the day are folded (journal::so_far); what is new since the plan was
// made is a cause by itself, what was marked late or not at all is measured against the plan's
// times, and the orders' simulated quantiles are moved by the lateness of their screens.

#include "sched/app/parts/off_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "sched/app/parts/day_change.hpp"
#include "sched/journal/so_far.hpp"

namespace sched::app {

namespace {

using model::Seconds;
using model::SimTime;

bool carried(const std::string& step) {
    return step == "put-in" || step == "take-out";
}

// A step of a screen in the plan, from its first hand to the end of its work.
struct PlannedTask {
    const report::OperationLine* first = nullptr;
    SimTime start{}, end{};
};
using Tasks = std::vector<PlannedTask>;  // of one screen, in their order

std::map<std::string, Tasks> tasks_of(const report::PlanDocument& plan) {
    std::map<std::string, Tasks> out;
    std::vector<const report::OperationLine*> rows;
    for (const auto& o : plan.operations) {
        if (!o.screen.empty() && !carried(o.step)) rows.push_back(&o);
    }
    std::stable_sort(rows.begin(), rows.end(),
                     [](const auto* a, const auto* b) { return a->start < b->start; });
    for (const auto* o : rows) {
        Tasks& tasks = out[o->screen];
        const auto* last = tasks.empty() ? nullptr : tasks.back().first;
        if (last && last->step == o->step && last->round == o->round)
            tasks.back().end = std::max(tasks.back().end, o->work_end);
        else
            tasks.push_back({o, o->start, o->work_end});
    }
    return out;
}

const PlannedTask* task_of(const Tasks& tasks, const journal::StepSoFar& step) {
    for (const auto& t : tasks) {
        if (t.first->step == step.step && t.first->round == step.round - 1) return &t;
    }
    return nullptr;
}

std::string minutes(Seconds s) {
    return model::format_duration(Seconds{s.count() / 60 * 60});
}

std::string plain(std::string step) {
    std::replace(step.begin(), step.end(), '-', ' ');
    return step;
}

// How far a screen is behind by its last mark; zero where it is not.
Seconds behind_of(const Tasks& tasks, const journal::ScreenSoFar& screen, SimTime now,
                  std::string& step) {
    Seconds out{0};
    std::int64_t last = 0;
    for (const auto& s : screen.steps) {
        const auto* task = task_of(tasks, s);
        if (!task || s.last < last) continue;
        last = s.last;
        const SimTime end = s.done ? *s.done : std::max(now, *s.start + (task->end - task->start));
        out = std::max(Seconds{0}, end - task->end);
        step = plain(s.step);
    }
    return out;
}

}  // namespace

double chance_late_behind(const report::OrderLine& order, Seconds behind) {
    const double planned = order.chance_late.value_or(0.0);
    if (!order.due || !order.ready_p10 || !order.ready_p50 || !order.ready_p90 ||
        behind <= Seconds{0})
        return planned;
    // Where on the line of its quantiles lies the due time, less what it is behind?
    const auto due = static_cast<double>((*order.due - behind).time_since_epoch().count());
    const auto at = [](SimTime t) { return static_cast<double>(t.time_since_epoch().count()); };
    const double x[3] = {at(*order.ready_p10), at(*order.ready_p50), at(*order.ready_p90)};
    const double p[3] = {0.1, 0.5, 0.9};
    const int k = due < x[1] ? 0 : 1;
    const double width = std::max(x[k + 1] - x[k], 60.0);
    const double on_time = std::clamp(p[k] + (p[k + 1] - p[k]) * (due - x[k]) / width, 0.0, 1.0);
    return std::max(planned, 1.0 - on_time);
}

std::vector<OffPlan> off_plan(const report::PlanDocument& plan,
                              const std::vector<journal::Entry>& entries, std::int64_t seen,
                              SimTime from, SimTime now, const OffPlanLimits& limits) {
    std::vector<OffPlan> out;
    const auto clock = [](SimTime t) { return model::format_time_of_day(t); };
    for (const auto& e : journal::in_force(entries)) {
        if (e.id <= seen || e.time < from) continue;
        std::string words;
        switch (e.mark) {
            case journal::Mark::Down:
                words = fmt::format("{} is out of work since {}", e.what, clock(e.time));
                break;
            case journal::Mark::Up:
                words = fmt::format("{} works again since {}", e.what, clock(e.time));
                break;
            case journal::Mark::Absent:
                words = fmt::format("{} is not here since {}", e.what, clock(e.time));
                break;
            case journal::Mark::Present:
                words = fmt::format("{} is here again since {}", e.what, clock(e.time));
                break;
            case journal::Mark::Film: {
                // A film that comes no later than it was waited for changes nothing.
                const auto order = std::find_if(plan.orders.begin(), plan.orders.end(),
                                                [&](const auto& o) { return o.name == e.what; });
                if (e.time <= now || order == plan.orders.end() || e.time <= order->release)
                    continue;
                words = fmt::format("the film of {} comes at {}", e.what, clock(e.time));
                break;
            }
            case journal::Mark::Empty:
                words = fmt::format("{} is empty since {}", e.what, clock(e.time));
                break;
            case journal::Mark::Remake:
                words = fmt::format("{} is made again{}", e.what,
                                    e.reason.empty() ? "" : ": " + e.reason);
                break;
            case journal::Mark::Longer:
            case journal::Mark::First:
            case journal::Mark::Another:
                words = words_of_change(e.mark, e.what);
                break;
            default:
                continue;
        }
        out.push_back({fmt::format("entry {}", e.id), words});
    }

    const auto tasks = tasks_of(plan);
    const auto day = journal::so_far(entries, from);
    std::map<std::string, Seconds> behind;  // of orders
    std::map<std::string, std::string> order_of;
    for (const auto& s : plan.screens)
        order_of[s.tag] = s.order;
    const auto quarters = [&](Seconds s) { return s / limits.late; };
    for (const auto& screen : day.screens) {
        const auto found = tasks.find(screen.tag);
        if (found == tasks.end() || screen.remake) continue;
        std::string step;
        const Seconds late = behind_of(found->second, screen, now, step);
        if (late >= limits.late) {
            out.push_back(
                {fmt::format("screen {} {}", screen.tag, quarters(late)),
                 fmt::format("{} is {} behind its plan ({})", screen.tag, minutes(late), step)});
        }
        auto& of = behind[order_of[screen.tag]];
        of = std::max(of, late);
    }
    // Where somebody marks, what should have begun and is not marked has not begun.
    std::set<std::string> watched;
    for (const auto& e : journal::in_force(entries)) {
        if (e.time >= from && !e.station.empty() &&
            (e.mark == journal::Mark::Start || e.mark == journal::Mark::Done))
            watched.insert(e.station);
    }
    std::map<std::string, std::pair<Seconds, std::string>> waits;  // by station
    for (const auto& [tag, list] : tasks) {
        const auto* so_far = day.screen(tag);
        for (std::size_t i = 0; i < list.size(); ++i) {
            const auto& t = list[i];
            if (watched.count(t.first->place) == 0 || now - t.start < limits.late) continue;
            if (plan.again && t.end <= plan.again->now) continue;
            if (so_far && so_far->remake) continue;
            bool known = false;  // it, or a later step
            for (std::size_t k = i; so_far && k < list.size(); ++k) {
                known =
                    known ||
                    std::any_of(so_far->steps.begin(), so_far->steps.end(), [&](const auto& s) {
                        return s.step == list[k].first->step && s.round - 1 == list[k].first->round;
                    });
            }
            auto& worst = waits[t.first->place];
            if (!known && now - t.start > worst.first) worst = {now - t.start, tag};
        }
    }
    for (const auto& [station, wait] : waits) {
        if (wait.first < limits.late) continue;
        out.push_back({fmt::format("station {} {}", station, quarters(wait.first)),
                       fmt::format("{}: {} should have begun {} ago", station, wait.second,
                                   minutes(wait.first))});
        auto& of = behind[order_of[wait.second]];
        of = std::max(of, wait.first);
    }
    for (const auto& order : plan.orders) {
        const auto late = behind.find(order.name);
        if (late == behind.end() || order.chance_late.value_or(1.0) >= limits.chance) continue;
        const double chance = chance_late_behind(order, late->second);
        if (chance < limits.chance) continue;
        out.push_back(
            {"order " + order.name, fmt::format("{} is late with a chance of about {:.0f} % now",
                                                order.name, 100.0 * chance)});
    }
    return out;
}

}  // namespace sched::app
