// How long the work lasts: typed, suspended by calendars, or dried by the clock of a cabinet.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>

#include "sched/check/case.hpp"

namespace sched::check {

using core::Calendar;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

OpenTime open_time(const std::vector<const Calendar*>& calendars, SimTime start, Seconds work) {
    OpenTime result;
    SimTime t = start;
    Seconds left = work;
    for (bool first = true;; first = false) {
        // The window of each calendar that is open at t, or else the next to open.
        SimTime opens = t;
        std::optional<SimTime> closes;
        for (const Calendar* calendar : calendars) {
            const auto window = std::find_if(calendar->begin(), calendar->end(),
                                             [&](const core::Window& w) { return w.to > t; });
            if (window == calendar->end()) return result;
            opens = std::max(opens, window->from);
            closes = closes ? std::min(*closes, window->to) : window->to;
        }
        if (opens == t) {
            if (first) result.starts_open = true;
            if (!closes || *closes - t >= left) {
                result.end = t + left;
                return result;
            }
            left -= *closes - t;
            t = *closes;
        } else {
            if (left == Seconds{0}) {
                result.end = t;
                return result;
            }
            t = opens;
        }
    }
}

void check_length(Case& c) {
    for (std::size_t i = 0; i < c.size(); ++i) {
        const auto& o = c.operation(i);
        const auto& p = c.placement(i);
        const core::Begun* fact = c.begun[i];
        // What had stood too long before the moment of the plan stands too long.
        const bool gone =
            fact && (fact->end || (o.max_stretch && p.work_end + *o.max_stretch < *c.problem.now));
        if (!gone && o.max_stretch && p.end - p.work_end > *o.max_stretch) {
            auto& v = c.say(Rule::Stretch, i,
                            fmt::format("{} stands {} after its work, at most {} is allowed",
                                        o.name, model::format_duration(p.end - p.work_end),
                                        model::format_duration(*o.max_stretch)));
            v.at = p.work_end;
        }
        if (fact && fact->work_end) continue;                    // check_begun looks at that
        if (!c.sound[i] || !c.mode(i).stages.empty()) continue;  // check_drying looks at the stages
        const Seconds work = c.mode(i).work;
        std::optional<SimTime> expected = p.start + work;
        if (o.pausable) {
            std::vector<const Calendar*> calendars;
            for (const ResourceId r : p.chosen) {
                if (c.resource(r).calendar) calendars.push_back(&*c.resource(r).calendar);
            }
            expected = open_time(calendars, p.start, work).end;
        }
        if (expected == p.work_end) continue;
        c.say(Rule::WorkLength, i,
              expected
                  ? fmt::format("{} works from {} to {}, its work of {} ends at {}", o.name,
                                model::format_date_time(p.start),
                                model::format_date_time(p.work_end), model::format_duration(work),
                                model::format_date_time(*expected))
                  : fmt::format("{} starts at {} and never gets its work of {} done", o.name,
                                model::format_date_time(p.start), model::format_duration(work)))
            .at = p.start;
    }
    check_drying(c);
}

namespace {

/// What hangs in one cabinet; times in seconds since the first start there.
struct Wet {
    std::size_t operation;
    const std::vector<core::DryStage>* stages;
    std::size_t stage = 0;
    long double left = 0;  // of the present stage, in clock units
};

/// Integrates d tau / dt = min(max(base / (1 + S), crowd / (crowd shift + S)), cap / (shift + S))
/// from event to event: an entry, a step of the rate, the end of a stage.
class CabinetIntegration {
public:
    CabinetIntegration(const core::SharedRate& rate, SimTime origin)
        : rate_(rate), origin_(origin) {}

    /// @param entries by start. @returns per entry the instant at which it is dry, in seconds after
    /// origin.
    std::vector<long double> run(const Case& c, const std::vector<std::size_t>& entries) {
        std::vector<long double> dry(c.size(), never);
        std::size_t next = 0;
        while (next < entries.size() || !wet_.empty()) {
            const long double entry =
                next < entries.size() ? since(c.placement(entries[next]).start) : never;
            if (wet_.empty()) now_ = std::max(now_, entry);
            take_out(c);
            if (entry <= now_) {
                const std::size_t op = entries[next++];
                wet_.push_back({.operation = op, .stages = &c.mode(op).stages});
                wet_.back().left = wet_.back().stages->front().work;
            } else if (!advance(std::min(entry, first_out(c)))) {
                break;  // stands still for good
            }
            settle(dry);
        }
        std::vector<long double> result;
        for (const std::size_t op : entries)
            result.push_back(dry[op]);
        return result;
    }

    static constexpr long double never = std::numeric_limits<long double>::infinity();

private:
    long double since(SimTime t) const { return static_cast<long double>((t - origin_).count()); }

    /// When begun work is said to be dry by now, whatever the clock says.
    long double said_dry(const Case& c, std::size_t op) const {
        const core::Begun* fact = c.begun[op];
        if (!fact || !fact->work_end || *fact->work_end > *c.problem.now) return never;
        return since(*fact->work_end);
    }
    long double first_out(const Case& c) const {
        long double first = never;
        for (const auto& w : wet_)
            first = std::min(first, said_dry(c, w.operation));
        return first;
    }
    void take_out(const Case& c) {
        std::erase_if(wet_, [&](const Wet& w) { return said_dry(c, w.operation) <= now_; });
    }

    /// Takes what has finished a stage to the next, and what is dry out.
    void settle(std::vector<long double>& dry) {
        for (auto& w : wet_) {
            while (w.left <= 0 && w.stage < w.stages->size()) {
                ++w.stage;
                if (w.stage < w.stages->size()) w.left = (*w.stages)[w.stage].work;
            }
            if (w.stage == w.stages->size()) dry[w.operation] = now_;
        }
        std::erase_if(wet_, [](const Wet& w) { return w.stage == w.stages->size(); });
    }

    /// Goes to the next event, at the latest `limit`. @returns false if nothing will ever happen.
    bool advance(long double limit) {
        std::size_t step = 0;
        while (step + 1 < rate_.steps.size() && since(rate_.steps[step + 1].from) <= now_)
            ++step;
        long double until = limit;
        if (step + 1 < rate_.steps.size())
            until = std::min(until, since(rate_.steps[step + 1].from));

        long double load = 0;
        for (const auto& w : wet_)
            load += (*w.stages)[w.stage].share;
        long double speed = rate_.steps[step].base / (1 + load);
        if (const auto& crowd = rate_.steps[step].crowd) {
            // Crowded, damp air takes up more than base would let it.
            const long double crowded = *crowd / (rate_.steps[step].crowd_shift + load);
            if (crowded > speed) speed = crowded;
        }
        if (const long double over = rate_.steps[step].cap_shift + load;
            rate_.steps[step].cap && over > 0)
            speed = std::min(speed, *rate_.steps[step].cap / over);

        long double least = never;
        for (const auto& w : wet_)
            least = std::min(least, w.left);
        if (speed > 0 && now_ + least / speed <= until) {
            now_ += least / speed;
            for (auto& w : wet_)
                w.left = w.left <= least ? 0 : w.left - least;
            return true;
        }
        if (until == never) return false;
        for (auto& w : wet_)
            w.left -= speed * (until - now_);
        now_ = until;
        return true;
    }

    const core::SharedRate& rate_;
    SimTime origin_;
    long double now_ = 0;
    std::vector<Wet> wet_;
};

}  // namespace

void check_drying(Case& c) {
    std::vector<std::vector<std::size_t>> cabinets(c.problem.resources.size());
    for (std::size_t i = 0; i < c.size(); ++i) {
        if (!c.sound[i] || c.mode(i).stages.empty() || c.placement(i).chosen.empty()) continue;
        const ResourceId r = c.placement(i).chosen.front();
        if (c.resource(r).shared && !c.resource(r).shared->steps.empty())
            cabinets[r.index()].push_back(i);
    }
    for (std::size_t r = 0; r < cabinets.size(); ++r) {
        auto& entries = cabinets[r];
        if (entries.empty()) continue;
        std::stable_sort(entries.begin(), entries.end(), [&](std::size_t a, std::size_t b) {
            return c.placement(a).start < c.placement(b).start;
        });
        const SimTime origin = c.placement(entries.front()).start;
        const auto dry = CabinetIntegration(*c.problem.resources[r].shared, origin).run(c, entries);
        for (std::size_t k = 0; k < entries.size(); ++k) {
            const std::size_t i = entries[k];
            const auto& o = c.operation(i);
            const auto& p = c.placement(i);
            const core::Begun* fact = c.begun[i];
            if (fact && fact->work_end && *fact->work_end <= *c.problem.now) continue;
            std::string text;
            if (dry[k] == CabinetIntegration::never) {
                text = fmt::format("{} never dries in {}", o.name, c.problem.resources[r].name);
            } else {
                // A millionth of a second is rounding of the integration, not time.
                const auto clock =
                    origin + Seconds{static_cast<std::int64_t>(std::ceil(dry[k] - 1e-6L))};
                SimTime expected = std::max(clock, p.start + c.mode(i).work);
                if (fact && fact->work_end) expected = std::max(expected, *fact->work_end);
                if (std::abs((p.work_end - expected).count()) <= 1 &&
                    p.work_end >= p.start + c.mode(i).work)
                    continue;
                text = fmt::format("{} is said to be dry in {} at {}, it is at {}", o.name,
                                   c.problem.resources[r].name, model::format_date_time(p.work_end),
                                   model::format_date_time(expected));
            }
            auto& v = c.say(Rule::Drying, i, std::move(text));
            v.resource = ResourceId{r};
            v.at = p.work_end;
        }
    }
}

}  // namespace sched::check
