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

// What a mark says that a plan must know; empty: it need not.
std::string told(const journal::Entry& e, SimTime now) {
    const bool today = model::date_of(e.time) == model::date_of(now);
    const auto since = today ? model::format_time_of_day(e.time) : model::format_date_time(e.time);
    switch (e.mark) {
        case journal::Mark::Down:
            return fmt::format("{} is out of work since {}", e.what, since);
        case journal::Mark::Up:
            return fmt::format("{} works again since {}", e.what, since);
        case journal::Mark::Absent:
            return fmt::format("{} is not here since {}", e.what, since);
        case journal::Mark::Present:
            return fmt::format("{} is here again since {}", e.what, since);
        case journal::Mark::Film:
            return fmt::format("the film of {} comes at {}", e.what, since);
        case journal::Mark::Empty:
            return fmt::format("{} is empty since {}", e.what, since);
        case journal::Mark::Remake:
            return fmt::format("{} is made again{}", e.what,
                               e.reason.empty() ? "" : ": " + e.reason);
        case journal::Mark::Longer:
        case journal::Mark::First:
        case journal::Mark::Another:
            return words_of_change(e.mark, e.what);
        default:
            return "";
    }
}

// The mark that an undo, or an undo of it, is about. @pre ids rise.
const journal::Entry* root_of(const std::vector<journal::Entry>& entries, const journal::Entry& e) {
    const journal::Entry* at = &e;
    while (at->mark == journal::Mark::Undo) {
        const auto found = std::lower_bound(entries.begin(), entries.end(), at->undoes,
                                            [](const auto& x, auto id) { return x.id < id; });
        if (found == entries.end() || found->id != at->undoes) return nullptr;
        at = &*found;
    }
    return at;
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
    const auto counting = journal::in_force(entries);
    // Of stations, whichever day they failed on; all else is of the plan's day.
    from = std::max(from, plan.problem.horizon_start);
    std::map<std::string, std::int64_t> down;  // since this entry
    for (const auto& e : counting) {
        if (e.mark == journal::Mark::Down) down[e.what] = e.id;
        if (e.mark == journal::Mark::Up) down.erase(e.what);
    }
    const auto counts = [&](const journal::Entry& e) {
        const auto station = down.find(e.what);
        return e.time >= from ||
               (e.mark == journal::Mark::Down && station != down.end() && station->second == e.id);
    };
    for (const auto& e : counting) {
        if (e.id <= seen || !counts(e)) continue;
        if (e.mark == journal::Mark::Film) {
            // A film that comes no later than it was waited for changes nothing.
            const auto order = std::find_if(plan.orders.begin(), plan.orders.end(),
                                            [&](const auto& x) { return x.name == e.what; });
            if (e.time <= now || order == plan.orders.end() || e.time <= order->release) continue;
        }
        const std::string words = told(e, now);
        if (!words.empty()) out.push_back({fmt::format("entry {}", e.id), words});
    }
    for (const auto& e : entries) {
        if (e.mark != journal::Mark::Undo || e.id <= seen) continue;
        // What the plan took for true and is not.
        const auto* about = root_of(entries, e);
        if (about == nullptr || about->id > seen) continue;
        if (about->time < from && about->mark != journal::Mark::Down) continue;
        const bool stands = std::any_of(counting.begin(), counting.end(),
                                        [&](const auto& x) { return x.id == about->id; });
        const std::string words = told(*about, now);
        if (!stands && !words.empty())
            out.push_back({fmt::format("entry {} not", about->id), words + ": taken back"});
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
                const auto& task = *list[k].first;
                known = known ||
                        std::any_of(so_far->steps.begin(), so_far->steps.end(), [&](const auto& s) {
                            return s.step == task.step && s.round - 1 == task.round;
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
