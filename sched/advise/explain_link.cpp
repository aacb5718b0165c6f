// How it works: every cause allows a start from some instant on (a predecessor its end and lag, a
// taken resource the moment at which enough of it was let go, a store the moment at which it held
// enough). The cause that allows the latest start is the reason, if the operation does start then;
// if only the calendars lie between, they are; if nothing does, the plan waits on purpose, and what
// follows close behind it is asked for its own reason.

#include "sched/advise/explain_link.hpp"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

namespace sched::search {

using core::Edge;
using core::OperationId;
using core::ResourceId;
using core::Seconds;
using core::SimTime;
using core::Span;

LinkFinder::LinkFinder(const core::Problem& problem, const core::Schedule& schedule)
    : problem_(problem),
      schedule_(schedule),
      uses_(problem.resources.size()),
      latest_(problem.resources.size()),
      flows_(problem.stores.size()),
      into_(problem.operations.size()),
      out_of_(problem.operations.size()),
      windows_(problem.operations.size()),
      takes_(problem.operations.size()) {
    std::map<std::pair<int, std::size_t>, std::size_t>
        of_batch;  // (batch, resource) -> place in uses_
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const OperationId op{i};
        const auto& p = placement(op);
        first_start_ = i == 0 ? p.start : std::min(first_start_, p.start);
        if (p.batch) batches_[*p.batch].push_back(op);
        const auto& needs = mode(op).needs;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            const std::size_t r = p.chosen[n].index();
            const SimTime to = needs[n].span == Span::Whole ? p.end : p.work_end;
            if (p.batch && (problem.resources[r].batch || problem.resources[r].capacity == 1)) {
                const auto [at, fresh] = of_batch.try_emplace({*p.batch, r}, uses_[r].size());
                if (!fresh) {
                    Use& shared = uses_[r][at->second];
                    shared.from = std::min(shared.from, p.start);
                    shared.work_end = std::max(shared.work_end, p.work_end);
                    shared.to = std::max(shared.to, to);
                    continue;
                }
            }
            uses_[r].push_back({p.start, p.work_end, to, needs[n].amount, op, p.batch});
        }
    }
    for (std::size_t r = 0; r < uses_.size(); ++r) {
        auto& uses = uses_[r];
        std::stable_sort(uses.begin(), uses.end(),
                         [](const Use& a, const Use& b) { return a.from < b.from; });
        levels_.push_back(levels_of(uses));
        for (const Use& u : uses) {
            latest_[r].push_back(latest_[r].empty() ? u.to : std::max(latest_[r].back(), u.to));
            if (u.batch) of_batch_[{*u.batch, r}].push_back(u);
        }
    }

    struct Reader {
        LinkFinder& f;
        void operator()(const core::TimeLag& x) const {
            f.into_[x.to.index()].push_back(&x);
            f.out_of_[x.from.index()].push_back(&x);
        }
        void operator()(const core::StartWindow& x) const {
            f.windows_[x.operation.index()].push_back(&x);
        }
        void operator()(const core::SameMode&) const {}
        void operator()(const core::SameResource&) const {}
        void operator()(const core::Take& x) const {
            auto& takes = f.takes_[x.operation.index()];
            const auto store = f.placement(x.operation).stores[takes.size()];
            takes.emplace_back(store, x.amount);
            f.flows_[store.index()].push_back(
                {f.placement(x.operation).start, -x.amount, x.operation});
        }
        void operator()(const core::Give& x) const {
            f.flows_[x.store.index()].push_back(
                {f.placement(x.operation).work_end, x.amount, x.operation});
        }
    };
    for (const auto& c : problem.constraints)
        std::visit(Reader{*this}, c);
    for (auto& flows : flows_) {
        std::stable_sort(flows.begin(), flows.end(), [](const Flow& a, const Flow& b) {
            return std::tuple(a.at, a.amount < 0) < std::tuple(b.at, b.amount < 0);
        });
    }
}

SimTime LinkFinder::begins() const {
    return problem_.now.value_or(problem_.horizon_start);
}

const core::Mode& LinkFinder::mode(OperationId id) const {
    return operation(id).modes[static_cast<std::size_t>(placement(id).mode)];
}

SimTime LinkFinder::batch_work_end(OperationId op) const {
    SimTime until = placement(op).work_end;
    if (const auto& batch = placement(op).batch) {
        for (const OperationId mate : batches_.at(*batch))
            until = std::max(until, placement(mate).work_end);
    }
    return until;
}

void LinkFinder::add_predecessors(OperationId op, const Operations& not_from,
                                  std::vector<Candidate>& all) const {
    const SimTime start = placement(op).start;
    for (const auto* lag : into_[op.index()]) {
        if (lag->from == op ||
            std::find(not_from.begin(), not_from.end(), lag->from) != not_from.end())
            continue;
        const auto& from = placement(lag->from);
        // What begins later (a negative lag) explains nothing that lies before it.
        if (from.start > start) continue;
        // One that stands and waits for us does not hold us back: without us it would end with its
        // work, or with its batch's.
        const SimTime edge = lag->edge == Edge::Start     ? from.start
                             : lag->edge == Edge::WorkEnd ? from.work_end
                                                          : batch_work_end(lag->from);
        all.push_back({Cause::Predecessor, edge + lag->min, lag->from, std::nullopt});
    }
}

LinkFinder::Levels LinkFinder::levels_of(const std::vector<Use>& uses) {
    std::vector<std::pair<std::int64_t, int>> changes;
    for (const Use& u : uses) {
        if (u.from >= u.to) continue;
        changes.emplace_back(u.from.time_since_epoch().count(), u.amount);
        changes.emplace_back(u.to.time_since_epoch().count(), -u.amount);
    }
    std::sort(changes.begin(), changes.end());
    Levels levels;
    int load = 0;
    for (const auto& [t, amount] : changes) {
        load += amount;
        if (!levels.all.empty() && levels.all.back().from == t)
            levels.all.back().load = load;
        else
            levels.all.push_back({t, load});
    }
    levels.most.resize(levels.all.size() / many_levels);
    for (std::size_t k = 0; k < levels.most.size(); ++k) {
        for (std::size_t i = 0; i < many_levels; ++i)
            levels.most[k] = std::max(levels.most[k], levels.all[k * many_levels + i].load);
    }
    return levels;
}

// The last moment before `start` at which less than `room` is left, `but` not counted. Backwards
// from there, through what the levels and `but` have in common.
std::optional<SimTime> LinkFinder::blocked_until(const Levels& levels, SimTime start, int room,
                                                 const std::vector<Part>& but) {
    const std::int64_t t = start.time_since_epoch().count();
    auto at = static_cast<std::size_t>(
        std::lower_bound(levels.all.begin(), levels.all.end(), t,
                         [](const Level& l, std::int64_t x) { return l.from < x; }) -
        levels.all.begin());
    std::int64_t until = t;
    while (at > 0) {
        if (at % many_levels == 0 && levels.most[at / many_levels - 1] <= room) {
            at -= many_levels;
            until = levels.all[at].from;
            continue;
        }
        const Level& level = levels.all[--at];
        while (until > level.from) {
            // Nothing of `but` begins or ends between `since` and `until`.
            std::int64_t since = level.from;
            int load = level.load;
            for (const Part& part : but) {
                if (part.from < until) since = std::max(since, part.from);
                if (part.to < until) since = std::max(since, part.to);
                if (part.from < until && until <= part.to) load -= part.amount;
            }
            if (load > room) return SimTime{Seconds{until}};
            until = since;
        }
    }
    return std::nullopt;
}

// Who has it at that moment, first of all who lets go then.
const LinkFinder::Use* LinkFinder::user_until(ResourceId r, SimTime moment, OperationId but,
                                              const Use* lets_go) const {
    const auto& uses = uses_[r.index()];
    const auto& latest = latest_[r.index()];
    auto at = static_cast<std::size_t>(
        std::lower_bound(uses.begin(), uses.end(), moment,
                         [](const Use& u, SimTime x) { return u.from < x; }) -
        uses.begin());
    const Use* user = nullptr;
    bool then = false;
    while (at > 0 && latest[at - 1] >= moment) {
        const Use& u = uses[--at];
        const SimTime to = &u == lets_go ? u.work_end : u.to;
        if (to < moment || u.operation == but) continue;
        if (then && to != moment) continue;
        user = &u;
        then = to == moment;
    }
    return user;
}

// How long r walks from the work on `a` to that on `b`, which follows.
Seconds LinkFinder::walk_between(OperationId a, OperationId b, ResourceId r) const {
    const core::Resource& resource = problem_.resources[r.index()];
    if (resource.walk.count() == 0) return Seconds{0};
    const auto place = [&](OperationId op) -> std::optional<ResourceId> {
        const auto& needs = mode(op).needs;
        if (needs.empty() || needs.front().span != Span::Whole) return std::nullopt;
        const ResourceId at = placement(op).chosen.front();
        return problem_.resources[at.index()].beside.value_or(at);
    };
    const auto from = place(a), to = place(b);
    if (!from || !to || from == to) return Seconds{0};
    const auto within = [&](const core::Window& w) {
        return w.from <= placement(a).work_end && placement(b).start <= w.to;
    };
    const bool stays = !resource.calendar ||
                       std::any_of(resource.calendar->begin(), resource.calendar->end(), within);
    return stays ? resource.walk : Seconds{0};
}

LinkFinder::Part LinkFinder::part_of(SimTime from, SimTime to, int amount) {
    return {from.time_since_epoch().count(), to.time_since_epoch().count(), amount};
}

// What the batch that `op` comes into holds of r; empty: it comes into none that has begun.
std::vector<LinkFinder::Part> LinkFinder::joined(OperationId op, ResourceId r) const {
    const auto& p = placement(op);
    if (!p.batch) return {};
    std::vector<Part> parts;
    bool begun = false;
    for (const Use& u : of_batch_.at({*p.batch, r.index()})) {
        if (u.from < u.to) parts.push_back(part_of(u.from, u.to, u.amount));
        begun = begun || u.from < p.start;
    }
    if (!begun) parts.clear();
    return parts;
}

void LinkFinder::add_resources(OperationId op, std::vector<Candidate>& all) const {
    const auto& p = placement(op);
    const auto& needs = mode(op).needs;
    for (std::size_t n = 0; n < needs.size(); ++n) {
        const ResourceId r = p.chosen[n];
        const int room = problem_.resources[r.index()].capacity - needs[n].amount;
        // Who joins a batch that has begun does not stand in his own way.
        std::vector<Part> but = joined(op, r);
        auto blocked = blocked_until(levels_[r.index()], p.start, room, but);
        const Use* user = blocked ? user_until(r, *blocked, op, nullptr) : nullptr;
        // The screen's own step that stands there and waits for this one lets go when its work is
        // done: it holds nobody back till then.
        if (user && user->work_end < user->to && operation(user->operation).job.valid() &&
            operation(user->operation).job == operation(op).job) {
            const Use* own = user;
            if (but.empty() || own->batch != p.batch)
                but.push_back(part_of(std::max(own->from, own->work_end), own->to, own->amount));
            blocked = blocked_until(levels_[r.index()], p.start, room, but);
            user = blocked ? user_until(r, *blocked, op, own) : nullptr;
        }
        if (!user) continue;
        const SimTime there = *blocked + walk_between(user->operation, op, r);
        all.push_back({Cause::Resource, std::min(there, p.start), user->operation, r});
    }
}

void LinkFinder::add_stores(OperationId op, std::vector<Candidate>& all) const {
    const SimTime start = placement(op).start;
    for (const auto& [store, amount] : takes_[op.index()]) {
        const auto& s = problem_.stores[store.index()];
        if (s.from) all.push_back({Cause::Store, *s.from, std::nullopt, std::nullopt});
        std::int64_t level = s.initial;
        std::optional<Candidate> enough;  // the last time that it became enough
        for (const Flow& f : flows_[store.index()]) {
            if (f.at > start) break;
            if (f.operation == op) continue;
            const bool short_before = level < amount;
            level += f.amount;
            if (short_before && f.amount > 0) {
                enough = Candidate{Cause::Store, f.at, f.operation, std::nullopt};
            }
        }
        if (enough) all.push_back(*enough);
    }
}

void LinkFinder::add_release(OperationId op, std::vector<Candidate>& all) const {
    for (const auto* w : windows_[op.index()]) {
        if (w->not_before)
            all.push_back({Cause::Release, *w->not_before, std::nullopt, std::nullopt});
    }
    const auto job = operation(op).job;
    if (job.valid() && problem_.jobs[job.index()].order.valid()) {
        const auto& order = problem_.orders[problem_.jobs[job.index()].order.index()];
        all.push_back({Cause::Release, order.release, std::nullopt, std::nullopt});
    }
}

std::vector<LinkFinder::Candidate> LinkFinder::candidates(OperationId op,
                                                          const Operations& not_from) const {
    // In the order in which they are preferred among equals.
    std::vector<Candidate> all;
    all.push_back({Cause::Begin, begins(), std::nullopt, std::nullopt});
    add_predecessors(op, not_from, all);
    add_resources(op, all);
    add_stores(op, all);
    add_release(op, all);
    return all;
}

std::optional<SimTime> LinkFinder::staffed_from(OperationId op, SimTime t) const {
    const auto& p = placement(op);
    const Seconds length = operation(op).pausable ? Seconds{1} : p.work_end - p.start;
    if (p.work_end == p.start) return t;
    for (bool moved = true; moved;) {
        moved = false;
        for (const ResourceId r : p.chosen) {
            const auto& calendar = problem_.resources[r.index()].calendar;
            if (!calendar) continue;
            const auto w = std::find_if(
                calendar->begin(), calendar->end(),
                [&](const core::Window& x) { return x.to - std::max(x.from, t) >= length; });
            if (w == calendar->end()) return std::nullopt;
            if (w->from > t) {
                t = w->from;
                moved = true;
            }
        }
    }
    return t;
}

std::optional<ResourceId> LinkFinder::last_to_open(OperationId op) const {
    const auto& p = placement(op);
    std::optional<ResourceId> latest;
    std::optional<SimTime> opened;
    for (const ResourceId r : p.chosen) {
        const auto& calendar = problem_.resources[r.index()].calendar;
        if (!calendar) continue;
        for (const auto& w : *calendar) {
            if (w.from > p.start || w.to <= p.start) continue;
            if (!opened || w.from > *opened) {
                opened = w.from;
                latest = r;
            }
        }
    }
    return latest;
}

SimTime LinkFinder::forced_start(OperationId op) const {
    SimTime forced = begins();
    for (const auto& c : candidates(op, {}))
        forced = std::max(forced, c.allows);
    return staffed_from(op, forced).value_or(forced);
}

std::optional<OperationId> LinkFinder::near_follower(OperationId op) const {
    const auto& p = placement(op);
    for (const auto* lag : out_of_[op.index()]) {
        if (!lag->max || lag->to == op) continue;
        const SimTime edge = lag->edge == Edge::Start     ? p.start
                             : lag->edge == Edge::WorkEnd ? p.work_end
                                                          : p.end;
        if (placement(lag->to).start == edge + *lag->max) return lag->to;
    }
    return std::nullopt;
}

std::optional<OperationId> LinkFinder::last_mate(OperationId op) const {
    const auto& p = placement(op);
    if (!p.batch) return std::nullopt;
    for (const OperationId mate : batches_.at(*p.batch)) {
        if (mate != op && forced_start(mate) >= p.start) return mate;
    }
    return std::nullopt;
}

std::optional<LinkFinder::Shut> LinkFinder::shut_out(OperationId op, SimTime t, int depth) const {
    constexpr int far = 12;  // more steps than any screen is tied to
    const auto& p = placement(op);
    for (const auto* lag : out_of_[op.index()]) {
        const OperationId to = lag->to;
        if (!lag->max || to == op || placement(to).start < p.start) continue;
        const SimTime edge = lag->edge == Edge::Start     ? t
                             : lag->edge == Edge::WorkEnd ? t + (p.work_end - p.start)
                                                          : t + (batch_work_end(op) - p.start);
        const SimTime soonest = edge + lag->min;
        const auto staffed = staffed_from(to, soonest);
        if (!staffed || *staffed > edge + std::max(*lag->max, lag->min)) {
            const auto opens = last_to_open(to);
            if (opens) return Shut{to, *opens};
            continue;
        }
        if (depth == far) continue;
        if (const auto found = shut_out(to, *staffed, depth + 1)) return found;
    }
    return std::nullopt;
}

ChainLink LinkFinder::own_reason(OperationId op, const Operations& not_from) const {
    const SimTime start = placement(op).start;
    ChainLink result{.operation = op};
    if (start <= begins()) return result;

    const auto all = candidates(op, not_from);
    std::size_t best = 0;
    for (std::size_t k = 1; k < all.size(); ++k) {
        if (all[k].allows > all[best].allows) best = k;
    }
    SimTime others = begins();  // what all but the best would have allowed
    for (std::size_t k = 0; k < all.size(); ++k) {
        if (k != best) others = std::max(others, all[k].allows);
    }
    others = staffed_from(op, others).value_or(others);

    const SimTime allowed = std::min(all[best].allows, start);
    const SimTime staffed = std::min(staffed_from(op, allowed).value_or(start), start);
    result.because = all[best].because;
    if (allowed == start) {
        result.cause = all[best].cause;
        result.resource = all[best].resource;
        result.waited = std::max(Seconds{0}, start - others);
        result.held = result.cause == Cause::Resource && result.because &&
                      batch_work_end(*result.because) < start;
    } else if (staffed == start) {
        result.cause = Cause::Calendar;
        result.resource = last_to_open(op);
        result.waited = start - allowed;
    } else {
        result.cause = Cause::Choice;
        result.waited = start - staffed;
    }
    return result;
}

void LinkFinder::add_purpose(ChainLink& link) const {
    const SimTime start = placement(link.operation).start;
    // What is tied to it would have run into the end of a shift or a break.
    if (const auto shut = shut_out(link.operation, start - link.waited)) {
        const auto& calendar = problem_.resources[shut->resource.index()].calendar;
        const bool since = std::any_of(calendar->begin(), calendar->end(), [&](const auto& w) {
            return start - link.waited < w.from && w.from <= placement(shut->follower).start &&
                   placement(shut->follower).start < w.to;
        });
        if (since) {
            link.waits_for = shut->follower;
            link.resource = shut->resource;
            link.away = true;
            return;
        }
    }
    const auto follower = near_follower(link.operation);
    if (!follower) {
        if (const auto mate = last_mate(link.operation)) link.waits_for = link.because = mate;
        return;
    }
    link.waits_for = follower;
    // The follower may wait for its own follower in turn; the last of them has a reason. Who began
    // after us is no reason for us, though it be one for the follower: the chain runs back in time.
    Operations asked{link.operation};
    for (auto at = follower; at && std::find(asked.begin(), asked.end(), *at) == asked.end();) {
        const ChainLink reason = own_reason(*at, asked);
        asked.push_back(*at);
        if (reason.cause == Cause::Choice) {
            at = near_follower(*at);
            continue;
        }
        if (reason.cause == Cause::Calendar) {
            link.resource = reason.resource;
            link.away = reason.resource.has_value();
        }
        if (!reason.because || placement(*reason.because).start > start ||
            std::find(asked.begin(), asked.end(), *reason.because) != asked.end())
            return;
        if (reason.cause == Cause::Resource) link.resource = reason.resource;
        if (reason.cause != Cause::Calendar) link.because = reason.because;
        return;
    }
}

ChainLink LinkFinder::link(OperationId op) const {
    ChainLink result = own_reason(op, {});
    if (result.cause == Cause::Choice) add_purpose(result);
    add_before(result);
    return result;
}

std::optional<OperationId> LinkFinder::let_go(const ChainLink& link) const {
    if (!link.held) return std::nullopt;
    const SimTime start = placement(link.operation).start;
    const auto moved_on = [&](OperationId holder) -> std::optional<OperationId> {
        for (const auto* lag : out_of_[holder.index()]) {
            const SimTime at = placement(lag->to).start;
            if (lag->edge == Edge::End && lag->to != link.operation && at <= start &&
                at == placement(holder).end + lag->min)
                return lag->to;
        }
        return std::nullopt;
    };
    if (const auto found = moved_on(*link.because)) return found;
    const auto& batch = placement(*link.because).batch;
    if (!batch) return std::nullopt;
    for (const OperationId mate : batches_.at(*batch)) {
        if (const auto found = moved_on(mate)) return found;
    }
    return std::nullopt;
}

void LinkFinder::add_before(ChainLink& link) const {
    const SimTime start = placement(link.operation).start;
    const bool shares = link.waits_for && link.because == link.waits_for;
    if (link.cause == Cause::Resource || link.cause == Cause::Calendar ||
        (link.cause == Cause::Choice && !shares)) {
        // A screen that waited a minute for somebody after an hour in the cabinet is held by its
        // hour, not by what that somebody did meanwhile.
        const auto all = candidates(link.operation, {});
        const Candidate* last = nullptr;
        for (const Candidate& c : all) {
            const bool own = c.cause == Cause::Predecessor &&
                             operation(*c.because).job == operation(link.operation).job;
            const bool given = (c.cause == Cause::Store || c.cause == Cause::Release) &&
                               c.allows > std::max(first_start_, begins());
            if ((own || given) && (!last || c.allows > last->allows)) last = &c;
        }
        if (last) {
            link.before = last->cause;
            link.stood = std::max(Seconds{0}, start - last->allows);
            link.goes_on = last->because;
            return;
        }
        if (had_just_come(link)) {
            link.before = Cause::Calendar;
            link.stood = link.waited;
            return;
        }
    }
    const auto by = let_go(link);
    link.goes_on = by ? by : link.because;
}

bool LinkFinder::had_just_come(const ChainLink& link) const {
    if (link.cause != Cause::Resource || !link.resource) return false;
    const auto& calendar = problem_.resources[link.resource->index()].calendar;
    if (!calendar) return false;
    for (const core::Mode& m : operation(link.operation).modes) {
        const auto only = [&](const core::Need& need) {
            return need.any_of.size() == 1 && need.any_of.front() == *link.resource;
        };
        if (std::none_of(m.needs.begin(), m.needs.end(), only)) return false;
    }
    const SimTime since = placement(link.operation).start - link.waited;
    return since > std::max(first_start_, begins()) &&
           std::any_of(calendar->begin(), calendar->end(),
                       [&](const auto& w) { return w.from == since; });
}

}  // namespace sched::search
