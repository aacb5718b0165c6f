// How it works: operations whose end is known leave the problem; their lags become earliest
// starts of what follows. What is under way stays, with one mode that holds what it holds for
// what is left of it, counted through the calendars of those who work at it. Where a person
// leaves before its end, that need goes. whole() and rest() translate schedules by the table of
// numbers that is made on the way.

#include "sched/engine/remaining_problem.hpp"

#include <algorithm>
#include <map>
#include <variant>

#include "sched/engine/past_drying.hpp"

namespace sched::engine {

namespace {

using core::Begun;
using core::Seconds;
using core::SimTime;

// The first second by which `work` seconds open in all calendars have passed, and how many of them
// passed before `now`.
struct OpenWork {
    std::optional<SimTime> end;
    Seconds done{0};
};
OpenWork open_work(const core::Problem& p, const std::vector<core::ResourceId>& chosen,
                   SimTime start, Seconds work, SimTime now) {
    OpenWork result;
    SimTime t = start;
    Seconds left = work;
    while (true) {
        SimTime opens = t;
        std::optional<SimTime> closes;
        for (const core::ResourceId r : chosen) {
            const auto& calendar = p.resources[r.index()].calendar;
            if (!calendar) continue;
            const auto w = std::find_if(calendar->begin(), calendar->end(),
                                        [&](const core::Window& x) { return x.to > t; });
            if (w == calendar->end()) {
                if (left == Seconds{0}) result.end = t;
                return result;
            }
            opens = std::max(opens, w->from);
            closes = closes ? std::min(*closes, w->to) : w->to;
        }
        if (opens > t) {
            if (left == Seconds{0}) {
                result.end = t;
                return result;
            }
            t = opens;
            continue;
        }
        const Seconds here = closes ? std::min(left, *closes - t) : left;
        result.done += std::max(Seconds{0}, std::min(t + here, now) - std::min(t, now));
        left -= here;
        t += here;
        if (left == Seconds{0}) {
            result.end = t;
            return result;
        }
    }
}

std::optional<SimTime> end_of_work(const core::Problem& p, const Begun& b,
                                   const PastDrying& drying) {
    const core::Operation& o = p.operations[b.operation.index()];
    const core::Mode& m = o.modes[static_cast<std::size_t>(b.mode)];
    if (!m.stages.empty()) {
        if (b.work_end && *b.work_end <= *p.now) return b.work_end;
        if (!drying.left.empty()) return std::nullopt;
        SimTime end = b.start + m.work;
        if (drying.dry_since) end = std::max(end, *drying.dry_since);
        if (b.work_end) end = std::max(end, *b.work_end);
        return end;
    }
    if (b.work_end) return b.work_end;
    if (!o.pausable) return b.start + m.work;
    return open_work(p, b.chosen, b.start, m.work, *p.now).end;
}

// Takes [from, to) out of a calendar.
core::Calendar without(const core::Calendar& calendar, SimTime from, SimTime to) {
    core::Calendar kept;
    for (const core::Window& w : calendar) {
        if (w.from < std::min(w.to, from)) kept.push_back({w.from, std::min(w.to, from)});
        if (std::max(w.from, to) < w.to) kept.push_back({std::max(w.from, to), w.to});
    }
    return kept;
}

class RemainingMaker {
public:
    RemainingMaker(const core::Problem& whole, const std::vector<std::optional<SimTime>>& work_end,
                   const std::vector<PastDrying>& drying)
        : whole_(whole),
          now_(*whole.now),
          work_end_(work_end),
          drying_(drying),
          entry_(whole.operations.size(), -1) {
        for (std::size_t k = 0; k < whole.begun.size(); ++k)
            entry_[whole.begun[k].operation.index()] = static_cast<int>(k);
    }

    core::Problem make() {
        p_ = whole_;
        p_.constraints.clear();
        p_.begun.clear();
        takes_.assign(p_.operations.size(), 0);
        for (std::size_t k = 0; k < whole_.begun.size(); ++k)
            begun(k);
        find_first_starts();
        for (at_ = 0; at_ < whole_.constraints.size(); ++at_)
            std::visit([&](const auto& x) { constraint(x); }, whole_.constraints[at_]);
        for (std::size_t i = 0; i < p_.operations.size(); ++i) {
            if (entry_[i] < 0)
                p_.constraints.push_back(
                    core::StartWindow{core::OperationId{i}, now_, std::nullopt});
        }
        return std::move(p_);
    }

    std::vector<std::size_t> missed;  // constraints

private:
    // What has begun lets nothing of the rest start sooner.
    void find_first_starts() {
        first_.assign(whole_.operations.size(), now_);
        for (const auto& c : whole_.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&c);
            const Begun* from = lag ? fact(lag->from) : nullptr;
            if (!from) continue;
            SimTime& first = first_[lag->to.index()];
            if (lag->edge == core::Edge::Start)
                first = std::max(first, from->start + lag->min);
            else if (work_end(*from))
                first = std::max(first, *work_end(*from) + lag->min);
        }
    }
    const Begun* fact(core::OperationId id) const {
        const int k = entry_[id.index()];
        return k < 0 ? nullptr : &whole_.begun[static_cast<std::size_t>(k)];
    }
    std::optional<SimTime> work_end(const Begun& b) const {
        return work_end_[static_cast<std::size_t>(entry_[b.operation.index()])];
    }
    /// Where it stands in the present.
    SimTime moment(const Begun& b) const {
        if (!b.end) return now_;
        return whole_.operations[b.operation.index()].max_stretch ? *b.end : *b.work_end;
    }

    void begun(std::size_t k) {
        const Begun& b = whole_.begun[k];
        core::Operation& o = p_.operations[b.operation.index()];
        const SimTime at = moment(b);
        p_.constraints.push_back(core::StartWindow{b.operation, at, at});
        Begun here{.operation = b.operation, .start = at, .mode = b.mode};
        core::Mode left;
        if (b.end) {
            o.max_stretch = Seconds{0};
            o.pausable = false;
            o.batch.reset();
            here.work_end = here.end = at;
        } else {
            left = what_is_left(k, o, here);
        }
        if (o.job.valid() && p_.jobs[o.job.index()].order.valid()) {
            auto& order = p_.orders[p_.jobs[o.job.index()].order.index()];
            order.release = std::min(order.release, at);
        }
        // Every way is this one: whoever asks for the shortest finds it.
        std::fill(o.modes.begin(), o.modes.end(), left);
        p_.begun.push_back(std::move(here));
    }

    core::Mode what_is_left(std::size_t k, core::Operation& o, Begun& here) {
        const Begun& b = whole_.begun[k];
        const core::Mode& m = o.modes[static_cast<std::size_t>(b.mode)];
        core::Mode left{.work = Seconds{0}, .needs = m.needs, .stages = drying_[k].left};
        const auto end = work_end_[k];
        if (!left.stages.empty()) {
            left.work = std::max(Seconds{0},
                                 std::max(b.start + m.work, b.work_end.value_or(b.start)) - now_);
        } else if (end && *end <= now_) {
            const Seconds stood = now_ - *end;
            // It has stood too long already: now only that it goes on counts.
            if (o.max_stretch)
                o.max_stretch =
                    *o.max_stretch < stood ? std::nullopt : std::optional(*o.max_stretch - stood);
            o.pausable = false;
        } else if (b.work_end) {
            left.work = *b.work_end - now_;
            o.pausable = false;
        } else if (o.pausable) {
            left.work = m.work - open_work(whole_, b.chosen, b.start, m.work, now_).done;
        } else {
            left.work = b.start + m.work - now_;
        }
        here.batch = b.batch;
        here.chosen = b.chosen;
        for (std::size_t n = 0; n < left.needs.size(); ++n)
            left.needs[n].any_of = {b.chosen[n]};
        if (!o.pausable && left.stages.empty()) beyond_hours(left, here);
        return left;
    }

    // Who is not there till the end stays all the same: that need goes, and so does the person's
    // time for anything else.
    void beyond_hours(core::Mode& left, Begun& here) {
        const SimTime until = now_ + left.work;
        for (std::size_t n = left.needs.size(); n-- > 0;) {
            auto& resource = p_.resources[here.chosen[n].index()];
            // A place stays taken by what stands there.
            if (left.needs[n].span != core::Span::Work) continue;
            if (!resource.calendar || resource.capacity != 1 || until <= now_) continue;
            const bool there =
                std::any_of(resource.calendar->begin(), resource.calendar->end(),
                            [&](const core::Window& w) { return w.from <= now_ && until <= w.to; });
            if (there) continue;
            resource.calendar = without(*resource.calendar, now_, until);
            left.needs.erase(left.needs.begin() + static_cast<std::ptrdiff_t>(n));
            here.chosen.erase(here.chosen.begin() + static_cast<std::ptrdiff_t>(n));
        }
    }

    void constraint(const core::TimeLag& lag) {
        const Begun* from = fact(lag.from);
        const Begun* to = fact(lag.to);
        if (from && to) return;
        if (!from) {
            core::TimeLag moved = lag;
            if (to) {
                const Seconds later = moment(*to) - to->start;
                moved.min += later;
                if (moved.max) *moved.max += later;
            }
            p_.constraints.push_back(moved);
            return;
        }
        std::optional<SimTime> edge;
        if (lag.edge == core::Edge::Start) edge = from->start;
        if (lag.edge == core::Edge::WorkEnd && work_end(*from) && *work_end(*from) <= now_)
            edge = work_end(*from);
        if (lag.edge == core::Edge::End) edge = from->end;
        if (!edge) {
            p_.constraints.push_back(lag);
        } else if (lag.max && *edge + *lag.max >= first_[lag.to.index()]) {
            // From the moment at which it stands in the present.
            const Seconds earlier = *edge - moment(*from);
            p_.constraints.push_back(core::TimeLag{.from = lag.from,
                                                   .edge = core::Edge::Start,
                                                   .to = lag.to,
                                                   .min = lag.min + earlier,
                                                   .max = *lag.max + earlier});
        } else {
            if (lag.max) missed.push_back(at_);
            p_.constraints.push_back(
                core::StartWindow{lag.to, std::max(now_, *edge + lag.min), std::nullopt});
        }
    }
    void constraint(const core::StartWindow& w) {
        if (!fact(w.operation)) p_.constraints.push_back(w);
    }
    void constraint(const core::SameMode& same) {
        if (!fact(same.a) || !fact(same.b)) p_.constraints.push_back(same);
    }
    void constraint(const core::SameResource& same) {
        const Begun* a = fact(same.a);
        const Begun* b = fact(same.b);
        if (a && b) return;
        if (!a && !b) {
            p_.constraints.push_back(same);
        } else if (a) {
            same_as(*a, same.need_a, same.b, same.need_b);
        } else {
            same_as(*b, same.need_b, same.a, same.need_a);
        }
    }
    void same_as(const Begun& b, int need, core::OperationId other, int other_need) {
        if (static_cast<std::size_t>(need) >= b.chosen.size()) return;
        const core::ResourceId r = b.chosen[static_cast<std::size_t>(need)];
        bool fits = false;
        for (core::Mode& m : p_.operations[other.index()].modes) {
            if (static_cast<std::size_t>(other_need) >= m.needs.size()) continue;
            auto& any_of = m.needs[static_cast<std::size_t>(other_need)].any_of;
            if (std::find(any_of.begin(), any_of.end(), r) != any_of.end()) {
                any_of = {r};
                fits = true;
            }
        }
        // A way that cannot go there asks for more than there is.
        if (!fits) return;
        for (core::Mode& m : p_.operations[other.index()].modes) {
            if (static_cast<std::size_t>(other_need) >= m.needs.size()) continue;
            core::Need& n = m.needs[static_cast<std::size_t>(other_need)];
            if (n.any_of == std::vector{r}) continue;
            for (const core::ResourceId id : n.any_of)
                n.amount = std::max(n.amount, p_.resources[id.index()].capacity + 1);
        }
    }
    void constraint(const core::Take& take) {
        const Begun* b = fact(take.operation);
        if (!b) {
            p_.constraints.push_back(take);
            return;
        }
        const std::size_t k = takes_[take.operation.index()]++;
        if (k < b->stores.size()) p_.stores[b->stores[k].index()].initial -= take.amount;
    }
    void constraint(const core::Give& give) {
        const Begun* b = fact(give.operation);
        if (b && work_end(*b) && *work_end(*b) <= now_) {
            core::Store& store = p_.stores[give.store.index()];
            store.initial += give.amount;
            if (store.life) store.until = *work_end(*b) + *store.life;
            store.life.reset();
        } else {
            p_.constraints.push_back(give);
        }
    }

    const core::Problem& whole_;
    SimTime now_;
    const std::vector<std::optional<SimTime>>& work_end_;
    const std::vector<PastDrying>& drying_;
    std::vector<int> entry_;          // per operation: into begun; -1: not begun
    std::vector<SimTime> first_;      // per operation: no start before, by what has begun
    std::size_t at_ = 0;              // constraint under work
    std::vector<std::size_t> takes_;  // per operation: takes seen
    core::Problem p_;
};

}  // namespace

Seconds worked_by_now(const core::Problem& problem, const Begun& b) {
    const core::Operation& o = problem.operations[b.operation.index()];
    const Seconds elapsed = std::max(Seconds{0}, *problem.now - b.start);
    if (!o.pausable) return elapsed;
    const Seconds work = o.modes[static_cast<std::size_t>(b.mode)].work;
    return open_work(problem, b.chosen, b.start, std::max(work, elapsed), *problem.now).done;
}

std::vector<std::optional<SimTime>> ends_of_work(const core::Problem& problem) {
    if (!problem.now) return {};
    const auto drying = past_drying(problem);
    std::vector<std::optional<SimTime>> ends;
    for (std::size_t k = 0; k < problem.begun.size(); ++k)
        ends.push_back(end_of_work(problem, problem.begun[k], drying[k]));
    return ends;
}

RemainingProblem::RemainingProblem(const core::Problem& problem) : whole_(problem) {
    if (!problem.now) return;
    const auto drying = past_drying(problem);
    for (std::size_t k = 0; k < problem.begun.size(); ++k)
        work_end_.push_back(end_of_work(problem, problem.begun[k], drying[k]));
    RemainingMaker maker(problem, work_end_, drying);
    remaining_ = maker.make();
    missed_ = std::move(maker.missed);
    for (std::size_t k = 0; k < work_end_.size(); ++k) {
        // What is still to come is for the schedule to say.
        if (work_end_[k] && *work_end_[k] > *problem.now) work_end_[k].reset();
    }
    for (const Begun& b : problem.begun)
        first_batch_ = std::max(first_batch_, b.batch.value_or(-1) + 1);
}

core::Schedule RemainingProblem::whole(core::Schedule present) const {
    // Who joins a batch that has begun bears its number.
    std::map<int, int> known;
    for (const Begun& b : whole_.begun) {
        const auto& here = present.placements[b.operation.index()].batch;
        if (here && b.batch) known[*here] = *b.batch;
    }
    for (core::Placement& p : present.placements) {
        if (!p.batch) continue;
        const auto told = known.find(*p.batch);
        p.batch = told != known.end() ? told->second : *p.batch + first_batch_;
    }
    for (std::size_t k = 0; k < whole_.begun.size(); ++k) {
        const Begun& b = whole_.begun[k];
        core::Placement& p = present.placements[b.operation.index()];
        p.start = b.start;
        p.mode = b.mode;
        p.chosen = b.chosen;
        p.stores = b.stores;
        p.batch = b.batch;
        if (work_end_[k]) p.work_end = *work_end_[k];
        if (b.end) p.end = *b.end;
    }
    return present;
}

core::Schedule RemainingProblem::rest(core::Schedule whole) const {
    if (!whole_.now) return whole;
    for (const Begun& here : remaining_.begun) {
        core::Placement& p = whole.placements[here.operation.index()];
        p.start = here.start;
        p.mode = here.mode;
        p.chosen = here.chosen;
        p.stores.clear();
        p.batch = here.batch;
        p.work_end = here.work_end.value_or(std::max(p.work_end, p.start));
        p.end = here.end.value_or(std::max(p.end, p.work_end));
    }
    return whole;
}

}  // namespace sched::engine
