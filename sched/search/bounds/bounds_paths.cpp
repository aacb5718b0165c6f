// Earliest times by longest paths, with calendars and the fastest possible drying.

#include <algorithm>
#include <cmath>
#include <limits>

#include "sched/search/bounds/bounds.hpp"

namespace sched::search {

namespace {

using core::Problem;
using core::SimTime;

constexpr std::int64_t kNever = std::numeric_limits<std::int64_t>::max() / 4;

/// The fastest that stages can pass: alone in the cabinet, best climate step.
std::int64_t fastest_drying(const core::Mode& mode, const Problem& p) {
    std::int64_t best = kNever;
    for (const auto r : mode.needs[0].any_of) {
        const auto& shared = p.resources[r.index()].shared;
        if (!shared) return 0;
        double seconds = 0.0;
        for (const auto& stage : mode.stages) {
            double rate = 0.0;
            for (const auto& step : shared->steps)
                rate = std::max(rate, core::clock_rate(step, stage.share));
            if (stage.work > 0.0 && rate <= 0.0)
                seconds = std::numeric_limits<double>::infinity();
            else if (stage.work > 0.0)
                seconds += stage.work / rate;
        }
        // One second of tolerance: judge and clock may round apart.
        if (seconds < 1e15)
            best = std::min(
                best, static_cast<std::int64_t>(std::max(0.0, std::ceil(seconds - 1e-3) - 1.0)));
    }
    return best;
}

struct Run {
    std::int64_t start = 0;
    std::int64_t work_end = 0;
};

class PathFinder {
public:
    explicit PathFinder(const Problem& p) : p_(p), n_(p.operations.size()) {
        e_.start.assign(n_, std::numeric_limits<std::int64_t>::min() / 4);
        for (std::size_t i = 0; i < n_; ++i) {
            std::int64_t low = kNever;
            std::int64_t high = 0;
            bool fixed = !p_.operations[i].pausable;
            for (const auto& m : p_.operations[i].modes) {
                const std::int64_t d = length(m);
                low = std::min(low, d);
                high = std::max(high, d);
                fixed = fixed && m.stages.empty();
            }
            e_.shortest.push_back(low);
            longest_.push_back(fixed ? high : kNever);
        }
    }

    EarliestTimes run() {
        for (std::size_t i = 0; i < n_; ++i)
            e_.start[i] = first_start(i);
        for (const auto& c : p_.constraints) {
            const auto* w = std::get_if<core::StartWindow>(&c);
            if (w && w->not_before) {
                auto& s = e_.start[w->operation.index()];
                s = w->not_after == w->not_before ? since(*w->not_before)
                                                  : std::max(s, since(*w->not_before));
            }
        }
        e_.work_end = e_.start;
        e_.end = e_.start;
        const std::int64_t stop = since(p_.horizon_end);
        bool changed = true;
        // n + 1 rounds suffice without a positive cycle; with one, or where calendars drive it on
        // past the horizon, nothing is feasible and any number bounds it.
        for (std::size_t round = 0; changed && round < n_ + 50 && !past_; ++round) {
            changed = false;
            for (std::size_t i = 0; i < n_; ++i)
                changed = own(i) || changed;
            for (const auto& c : p_.constraints) {
                const auto* lag = std::get_if<core::TimeLag>(&c);
                if (lag) changed = over(*lag) || changed;
            }
            for (std::size_t i = 0; i < n_; ++i)
                past_ = past_ || e_.start[i] > stop;
        }
        return std::move(e_);
    }

private:
    std::int64_t since(SimTime t) const { return (t - p_.horizon_start).count(); }

    std::int64_t length(const core::Mode& m) const { return fastest_work(p_, m); }

    std::int64_t first_start(std::size_t i) const {
        std::int64_t s = 0;
        const auto job = p_.operations[i].job;
        if (job.valid() && p_.jobs[job.index()].order.valid()) {
            s = std::max(s, since(p_.orders[p_.jobs[job.index()].order.index()].release));
        }
        return s;
    }

    static bool lift(std::int64_t& slot, std::int64_t value) {
        if (value <= slot) return false;
        slot = value;
        return true;
    }

    /// Within one operation: start, work end and end against each other, and the calendars.
    bool own(std::size_t i) {
        bool changed = false;
        const Run r = earliest_run(i, e_.start[i]);
        changed = lift(e_.start[i], std::min(r.start, kNever / 2)) || changed;
        changed = lift(e_.work_end[i], std::min(r.work_end, kNever / 2)) || changed;
        changed = lift(e_.end[i], e_.work_end[i]) || changed;
        if (const auto& stretch = p_.operations[i].max_stretch) {
            changed = lift(e_.work_end[i], e_.end[i] - stretch->count()) || changed;
        }
        if (longest_[i] < kNever)
            changed = lift(e_.start[i], e_.work_end[i] - longest_[i]) || changed;
        return changed;
    }

    bool over(const core::TimeLag& lag) {
        const std::size_t a = lag.from.index();
        auto& from = lag.edge == core::Edge::Start     ? e_.start[a]
                     : lag.edge == core::Edge::WorkEnd ? e_.work_end[a]
                                                       : e_.end[a];
        auto& to = e_.start[lag.to.index()];
        bool changed = lift(to, from + lag.min.count());
        if (lag.max) changed = lift(from, to - lag.max->count()) || changed;
        return changed;
    }

    /// The earliest start at or after t and work end that the calendars of some mode allow: the
    /// least over its resources, the most over its needs.
    Run earliest_run(std::size_t i, std::int64_t t) const {
        const auto& o = p_.operations[i];
        Run best{kNever, kNever};
        for (const auto& m : o.modes) {
            const std::int64_t d = length(m);
            Run run{t, t + d};
            for (const auto& need : m.needs) {
                Run any{kNever, kNever};
                for (const auto r : need.any_of) {
                    const auto& calendar = p_.resources[r.index()].calendar;
                    const Run here = !calendar    ? Run{t, t + d}
                                     : o.pausable ? paused(*calendar, t, d, m.stages.empty())
                                                  : inside(*calendar, t, d);
                    any.start = std::min(any.start, here.start);
                    any.work_end = std::min(any.work_end, here.work_end);
                }
                run.start = std::max(run.start, any.start);
                run.work_end = std::max(run.work_end, any.work_end);
            }
            run.work_end = std::max(run.work_end, run.start + d);
            best.start = std::min(best.start, run.start);
            best.work_end = std::min(best.work_end, run.work_end);
        }
        return best;
    }

    Run inside(const core::Calendar& calendar, std::int64_t t, std::int64_t d) const {
        if (d == 0) return {t, t};  // an empty interval needs nothing
        for (const auto& w : calendar) {
            const std::int64_t s = std::max(t, since(w.from));
            if (s + d <= since(w.to)) return {s, s + d};
        }
        return {kNever, kNever};
    }

    Run paused(const core::Calendar& calendar, std::int64_t t, std::int64_t d, bool pauses) const {
        if (d == 0 || !pauses) return {t, t + d};
        Run run{kNever, kNever};
        for (const auto& w : calendar) {
            const std::int64_t s = std::max(t, since(w.from));
            const std::int64_t to = since(w.to);
            if (s >= to) continue;
            if (run.start == kNever) run.start = s;
            if (d <= to - s) return {run.start, s + d};
            d -= to - s;
        }
        return {run.start, kNever};
    }

    const Problem& p_;
    std::size_t n_;
    EarliestTimes e_;
    std::vector<std::int64_t> longest_;
    bool past_ = false;
};

}  // namespace

std::int64_t fastest_work(const Problem& problem, const core::Mode& mode) {
    if (mode.stages.empty()) return mode.work.count();
    return std::max(mode.work.count(), fastest_drying(mode, problem));
}

EarliestTimes earliest_times(const Problem& problem) {
    return PathFinder(problem).run();
}

}  // namespace sched::search
