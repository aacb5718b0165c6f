// Problem::constraints that concern times, modes and choices, and what holds for orders and the
// horizon.

#include <fmt/format.h>

#include <algorithm>
#include <variant>

#include "sched/check/case.hpp"

namespace sched::check {

using core::Edge;
using core::SimTime;

namespace {

struct ConstraintChecker {
    Case& c;

    void operator()(const core::TimeLag& lag) const {
        if (c.has_begun(lag.from) && c.has_begun(lag.to)) return;
        const auto& from = c.placement(lag.from);
        const SimTime edge = lag.edge == Edge::Start     ? from.start
                             : lag.edge == Edge::WorkEnd ? from.work_end
                                                         : from.end;
        const SimTime start = c.placement(lag.to).start;
        const auto gap = start - edge;
        const char* since = lag.edge == Edge::Start     ? "the start"
                            : lag.edge == Edge::WorkEnd ? "the end of work"
                                                        : "the end";
        std::string text;
        if (gap < lag.min) {
            text =
                fmt::format("{} starts {} s after {} of {}, at least {} s are due", c.name(lag.to),
                            gap.count(), since, c.name(lag.from), lag.min.count());
        } else if (lag.max && gap > *lag.max && !passed_before(lag)) {
            text =
                fmt::format("{} starts {} s after {} of {}, at most {} s are allowed",
                            c.name(lag.to), gap.count(), since, c.name(lag.from), lag.max->count());
        } else {
            return;
        }
        auto& v = c.say(Rule::TimeLag, lag.to.index(), std::move(text));
        v.other = lag.from;
        v.at = start;
    }

    /// The maximum is over before the moment of the plan, or before what has begun lets the
    /// follower start: nobody can keep it any more.
    bool passed_before(const core::TimeLag& lag) const {
        const core::Begun* fact = c.begun[lag.from.index()];
        if (!fact) return false;
        std::optional<SimTime> edge;
        if (lag.edge == Edge::Start) edge = fact->start;
        if (lag.edge == Edge::WorkEnd) edge = c.placement(lag.from).work_end;
        if (lag.edge == Edge::End) {
            const auto& stretch = c.operation(lag.from.index()).max_stretch;
            if (fact->end)
                edge = fact->end;
            else if (stretch)
                edge = c.placement(lag.from).work_end + *stretch;
        }
        return edge && *edge + *lag.max < first_start(lag.to);
    }
    SimTime first_start(core::OperationId id) const {
        SimTime first = *c.problem.now;
        for (const auto& constraint : c.problem.constraints) {
            const auto* other = std::get_if<core::TimeLag>(&constraint);
            if (!other || other->to != id || !c.has_begun(other->from)) continue;
            const auto& from = c.placement(other->from);
            first = std::max(
                first, (other->edge == Edge::Start ? from.start : from.work_end) + other->min);
        }
        return first;
    }

    void operator()(const core::StartWindow& w) const {
        if (c.has_begun(w.operation)) return;
        const SimTime start = c.placement(w.operation).start;
        std::string text;
        if (w.not_before && start < *w.not_before) {
            text =
                fmt::format("{} starts at {}, not before {} is allowed", c.name(w.operation),
                            model::format_date_time(start), model::format_date_time(*w.not_before));
        } else if (w.not_after && start > *w.not_after) {
            text =
                fmt::format("{} starts at {}, not after {} is allowed", c.name(w.operation),
                            model::format_date_time(start), model::format_date_time(*w.not_after));
        } else {
            return;
        }
        c.say(Rule::StartWindow, w.operation.index(), std::move(text)).at = start;
    }

    void operator()(const core::SameMode& same) const {
        if (c.has_begun(same.a) && c.has_begun(same.b)) return;
        if (c.placement(same.a).mode == c.placement(same.b).mode) return;
        c.say(Rule::SameMode, same.a.index(),
              fmt::format("{} uses mode {}, {} uses mode {}", c.name(same.a),
                          c.placement(same.a).mode, c.name(same.b), c.placement(same.b).mode))
            .other = same.b;
    }

    void operator()(const core::SameResource& same) const {
        if (c.has_begun(same.a) && c.has_begun(same.b)) return;
        if (!c.sound[same.a.index()] || !c.sound[same.b.index()]) return;
        const auto& a = c.placement(same.a).chosen;
        const auto& b = c.placement(same.b).chosen;
        const auto na = static_cast<std::size_t>(same.need_a);
        const auto nb = static_cast<std::size_t>(same.need_b);
        if (na >= a.size() || nb >= b.size() || a[na] == b[nb]) return;
        auto& v =
            c.say(Rule::SameResource, same.a.index(),
                  fmt::format("{} uses {}, {} uses {}", c.name(same.a), c.resource(a[na]).name,
                              c.name(same.b), c.resource(b[nb]).name));
        v.other = same.b;
        v.resource = a[na];
    }

    void operator()(const core::Take&) const {}  // check_stores
    void operator()(const core::Give&) const {}  // check_stores
};

/// Fixed to a start before the horizon (work already begun).
bool fixed_earlier(const Case& c, std::size_t i) {
    for (const auto& constraint : c.problem.constraints) {
        const auto* w = std::get_if<core::StartWindow>(&constraint);
        if (w && w->operation.index() == i && w->not_before && w->not_after &&
            *w->not_before == *w->not_after && *w->not_before < c.problem.horizon_start) {
            return true;
        }
    }
    return false;
}

}  // namespace

void check_constraints(Case& c) {
    for (const auto& constraint : c.problem.constraints)
        std::visit(ConstraintChecker{c}, constraint);
}

void check_orders(Case& c) {
    std::vector<std::optional<SimTime>> done(c.problem.orders.size());
    std::vector<std::size_t> last(c.problem.orders.size(), 0);
    for (std::size_t i = 0; i < c.size(); ++i) {
        const auto& o = c.operation(i);
        const auto& p = c.placement(i);
        if (p.start < c.problem.horizon_start && !c.has_begun(i) && !fixed_earlier(c, i)) {
            c.say(Rule::Horizon, i, fmt::format("{} starts before the horizon", o.name)).at =
                p.start;
        }
        if (p.end > c.problem.horizon_end) {
            c.say(Rule::Horizon, i, fmt::format("{} ends after the horizon", o.name)).at = p.end;
        }
        if (!o.job.valid() || !c.problem.jobs[o.job.index()].order.valid()) continue;
        const std::size_t k = c.problem.jobs[o.job.index()].order.index();
        if (p.start < c.problem.orders[k].release && !c.has_begun(i)) {
            c.say(Rule::Release, i,
                  fmt::format("{} starts at {}, order {} is released at {}", o.name,
                              model::format_date_time(p.start), c.problem.orders[k].name,
                              model::format_date_time(c.problem.orders[k].release)))
                .at = p.start;
        }
        const SimTime completed = o.max_stretch.has_value() ? p.end : p.work_end;
        if (!done[k] || *done[k] < completed) {
            done[k] = completed;
            last[k] = i;
        }
    }
    for (std::size_t k = 0; k < done.size(); ++k) {
        const auto& order = c.problem.orders[k];
        if (!done[k] || !order.deadline || *done[k] <= *order.deadline) continue;
        if (c.has_begun(last[k]) && c.begun[last[k]]->work_end) continue;
        c.say(Rule::Deadline, last[k],
              fmt::format("order {} is complete at {}, its deadline is {}", order.name,
                          model::format_date_time(*done[k]),
                          model::format_date_time(*order.deadline)))
            .at = *done[k];
    }
}

}  // namespace sched::check
