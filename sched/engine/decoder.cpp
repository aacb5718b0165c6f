#include "sched/engine/decoder.hpp"

#include <algorithm>
#include <limits>

namespace sched::engine {

namespace {

constexpr char placed_only = 1, entered = 2, dry_now = 3;

std::size_t at(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

Decoder::Decoder(const CompiledProblem& problem) : problem_(problem), state_(problem) {
    std::size_t needs = 1, takes = 1;
    for (const auto& m : problem.modes)
        needs = std::max(needs, at(m.needs.size()));
    for (const auto& o : problem.operations)
        takes = std::max(takes, at(o.takes.size()));
    pick_.assign(needs, -1);
    best_pick_.assign(needs, -1);
    pick_store_.assign(takes, -1);
    best_store_.assign(takes, -1);
    extensions_.reserve(problem.operations.size());
}

void Decoder::fail(Obstacle why, std::int32_t op) {
    obstacle_ = why;
    obstacle_at_ = op;
}

bool Decoder::decode(const Sequence& sequence) {
    sequence_ = &sequence;
    failure_ = {};
    stuck_ = false;
    lookahead_ = sequence.lookahead >= 0 ? sequence.lookahead : (problem_.coupled ? 0 : never);
    state_.reset(problem_);
    extensions_.clear();
    state_.now = problem_.horizon_start;
    for (const auto& o : problem_.operations) {
        if (o.fixed) state_.now = std::min(state_.now, o.not_before);
    }
    for (const std::int32_t r : state_.clocks)
        state_.clock[at(r)].reset(state_.now);
    state_.key.resize(problem_.blocks.size());
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        const std::int32_t first = problem_.ops_of(problem_.blocks[b]).front();
        state_.key[b] =
            sequence.rank.empty() ? static_cast<std::int32_t>(b) : sequence.rank[at(first)];
        if (problem_.blocks[b].urgent) state_.key[b] = std::numeric_limits<std::int32_t>::min();
    }
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        if (state_.missing[b] == 0) arrived(static_cast<std::int32_t>(b), false);
    }
    return run();
}

bool Decoder::run() {
    while (state_.blocks_left > 0 || state_.wet > 0) {
        ++counters_.instants;
        if (!pass()) break;
        if (state_.blocks_left == 0 && state_.wet == 0) break;
        if (!advance()) {
            if (failure_.why == Obstacle::None) {
                failure_ = {obstacle_ == Obstacle::None ? Obstacle::Blocked : obstacle_,
                            core::OperationId{obstacle_at_}};
                for (const std::int32_t b : state_.eligible) {
                    // The first in rank that waits for nothing but a place is the one to name.
                    obstacle_ = Obstacle::None;
                    if (!try_block(b) && obstacle_ != Obstacle::None) {
                        failure_ = {obstacle_, core::OperationId{obstacle_at_}};
                        break;
                    }
                }
            }
            return false;
        }
        if (stuck_) break;
    }
    return failure_.why == Obstacle::None;
}

void Decoder::arrived(std::int32_t block, bool one_of) {
    if (one_of && --state_.missing[at(block)] > 0) return;
    auto& list = state_.eligible;
    const auto before = [&](std::int32_t a, std::int32_t b) {
        const std::int32_t ka = state_.key[at(a)], kb = state_.key[at(b)];
        return ka < kb || (ka == kb && a < b);
    };
    auto place = list.end();
    while (place != list.begin() && before(block, *(place - 1)))
        --place;
    restart_ = std::min(restart_, static_cast<std::size_t>(place - list.begin()));
    list.insert(place, block);
    state_.kind[at(block)] = kind_of(problem_.blocks[at(block)]);
}

// Blocks whose first operation is of one kind fail for the same reason: one try an instant is
// enough.
std::int32_t Decoder::kind_of(const Block& block) const {
    const std::int32_t op = problem_.ops_of(block).front();
    const CompiledOperation& o = problem_.operations[at(op)];
    if (block.meets || block.urgent) return -1;
    std::int32_t mode = sequence_->mode.empty() ? -1 : sequence_->mode[at(op)];
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[at(s)];
        if (problem_.operations[at(other)].block == o.block) continue;
        if (!state_.is_placed[at(other)]) return -1;
        mode = state_.placed.mode[at(other)];
    }
    return mode >= 0 ? problem_.modes[at(o.modes.begin + mode)].kind : o.kind;
}

// Books what can be booked now, in rank order; a block that becomes eligible meanwhile takes its
// turn.
bool Decoder::pass() {
    std::size_t i = 0;
    while (i < state_.eligible.size()) {
        const std::int32_t b = state_.eligible[i];
        if (wake_of(b) > state_.now || !try_block(b)) {
            ++i;
            continue;
        }
        state_.eligible.erase(state_.eligible.begin() + static_cast<std::ptrdiff_t>(i));
        restart_ = i;
        commit(b);
        if (stuck_) return false;
        i = std::min(i, restart_);
    }
    return true;
}

bool Decoder::try_block(std::int32_t b) {
    const Block& block = problem_.blocks[at(b)];
    ++counters_.tried;
    const auto ops = problem_.ops_of(block);
    // What the block takes away from an open hold is free for itself: a hand-over within one place.
    const auto lift = [&](std::int32_t sign) {
        for (const std::int32_t op : ops) {
            const CompiledOperation& o = problem_.operations[at(op)];
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
                const CompiledLag& l = problem_.lags[at(problem_.lags_in[at(k)])];
                if (!l.cross || !l.hold || !l.meets || state_.open_links[at(l.from)] != 1) continue;
                const CompiledOperation& f = problem_.operations[at(l.from)];
                const Range ns =
                    problem_.modes[at(f.modes.begin + state_.placed.mode[at(l.from)])].needs;
                const Tick from = std::max(state_.now, state_.placed.work_end[at(l.from)]);
                for (std::int32_t n = ns.begin; n < ns.end; ++n) {
                    if (!problem_.needs[at(n)].whole) continue;
                    state_.profile[at(state_.placed.chosen[at(f.chosen + n - ns.begin)])].add(
                        from, never, sign * problem_.needs[at(n)].amount);
                }
            }
        }
    };
    const Tick limit = block.urgent || lookahead_ >= never ? never : state_.now + lookahead_;
    Tick found = never;
    if (block.meets) lift(-1);
    bool ok = book(b, 0, limit, true, found);
    if (!ok && problem_.batches && found >= never) ok = book(b, 0, limit, false, found);
    if (block.meets) lift(1);
    if (ok && problem_.circles && !safe_after(b)) {
        for (std::size_t k = ops.size(); k-- > 0;)
            unplace(ops[k]);
        state_.wake[at(b)] = never;
        state_.waits_on[at(b)] = -2;
        fail(Obstacle::Blocked, ops.front());
        return false;
    }
    if (ok) return true;
    state_.wake[at(b)] = found >= never ? never : std::max(state_.now + 1, found - lookahead_);
    return false;
}

void Decoder::commit(std::int32_t b) {
    const Block& block = problem_.blocks[at(b)];
    ++counters_.booked;
    state_.done[at(b)] = 1;
    --state_.blocks_left;
    extensions_.clear();
    for (const std::int32_t op : problem_.ops_of(block)) {
        const CompiledOperation& o = problem_.operations[at(op)];
        const bool coupled = problem_.modes[at(o.modes.begin + state_.placed.mode[at(op)])].coupled;
        if (!coupled && o.gives.size() > 0) freed(-3);
        if (o.open) {
            state_.open_operations.push_back(op);
            state_.open_end[at(op)] = -never;
        }
        if (coupled) {
            ++state_.wet;
            state_.entries.push(state_.placed.start[at(op)], 0, static_cast<std::uint32_t>(op));
        }
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[at(problem_.lags_out[at(k)])];
            if (!l.cross) continue;
            if (l.hold) ++state_.open_links[at(op)];
            if (!coupled || l.edge == core::Edge::Start)
                arrived(problem_.operations[at(l.to)].block, true);
        }
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.lags[at(problem_.lags_in[at(k)])];
            if (!l.cross || !l.hold) continue;
            Tick& e = state_.open_end[at(l.from)];
            e = std::max(e, state_.placed.start[at(op)] - l.max);
            if (--state_.open_links[at(l.from)] == 0) close(l.from);
        }
    }
}

// With block b booked: can all who hold a place open still come out?
bool Decoder::safe_after(std::int32_t b) {
    const auto ops = problem_.ops_of(problem_.blocks[at(b)]);
    const auto each_place = [&](std::int32_t op, auto&& visit) {
        const CompiledOperation& o = problem_.operations[at(op)];
        const Range ns = problem_.modes[at(o.modes.begin + state_.placed.mode[at(op)])].needs;
        for (std::int32_t n = ns.begin; n < ns.end; ++n) {
            if (problem_.needs[at(n)].whole)
                visit(state_.placed.chosen[at(o.chosen + n - ns.begin)],
                      problem_.needs[at(n)].amount);
        }
    };
    // Room for the largest need on all that it takes: whoever could come out before still can.
    bool tight = false;
    for (const std::int32_t op : ops) {
        if (!problem_.operations[at(op)].open) continue;
        each_place(op, [&](std::int32_t r, std::int32_t) {
            const std::int32_t left =
                problem_.resources[at(r)].capacity - state_.profile[at(r)].finally_used();
            tight |= problem_.circular[at(r)] != 0 && left < problem_.largest[at(r)];
        });
    }
    if (!tight) return true;
    way_out_.free.resize(problem_.resources.size());
    for (std::size_t r = 0; r < problem_.resources.size(); ++r) {
        way_out_.free[r] = problem_.resources[r].capacity - state_.profile[r].finally_used();
    }
    way_out_.holders.clear();
    const auto hold = [&](std::int32_t op) {
        const std::int32_t job = problem_.operations[at(op)].job;
        if (job < 0) return;
        each_place(op, [&](std::int32_t r, std::int32_t amount) {
            way_out_.holders.push_back({job, r, amount});
        });
    };
    for (const std::int32_t op : state_.open_operations) {
        bool closes = false;  // by block b
        const CompiledOperation& o = problem_.operations[at(op)];
        for (std::int32_t k = o.lags_out.begin;
             k < o.lags_out.end && state_.open_links[at(op)] == 1; ++k) {
            const CompiledLag& l = problem_.lags[at(problem_.lags_out[at(k)])];
            closes |= l.cross && l.hold && problem_.operations[at(l.to)].block == b;
        }
        if (closes) {
            each_place(
                op, [&](std::int32_t r, std::int32_t amount) { way_out_.free[at(r)] += amount; });
        } else {
            hold(op);
        }
    }
    for (const std::int32_t op : ops) {
        if (problem_.operations[at(op)].open) hold(op);
    }
    std::sort(way_out_.holders.begin(), way_out_.holders.end(),
              [](const WayOut::Holder& x, const WayOut::Holder& y) {
                  return x.job < y.job || (x.job == y.job && x.resource < y.resource);
              });
    return way_out_.safe(problem_, state_.is_placed);
}

// The last hold on `op` is set: its place is free from its end on.
void Decoder::close(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[at(op)];
    const Tick end = std::max(state_.placed.work_end[at(op)], state_.open_end[at(op)]);
    state_.placed.end[at(op)] = end;
    const Range ns = problem_.modes[at(o.modes.begin + state_.placed.mode[at(op)])].needs;
    for (std::int32_t n = ns.begin; n < ns.end; ++n) {
        if (!problem_.needs[at(n)].whole) continue;
        const std::int32_t r = state_.placed.chosen[at(o.chosen + n - ns.begin)];
        state_.profile[at(r)].add(end, never, -problem_.needs[at(n)].amount);
        freed(r);
        const CompiledResource& c = problem_.resources[at(r)];
        if (c.has_calendar &&
            !o.pausable) {  // an open hold cannot be kept inside a window beforehand
            for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
                const CompiledWindow& x = problem_.windows[at(w)];
                if (x.from <= state_.placed.start[at(op)] && state_.placed.start[at(op)] < x.to &&
                    end > x.to) {
                    failure_ = {Obstacle::Closed, core::OperationId{op}};
                    stuck_ = true;
                }
            }
        }
    }
    auto& list = state_.open_operations;
    list.erase(std::find(list.begin(), list.end(), op));
    freed(-2);
}

// Something of `r` is free earlier than was known: whoever waits for it may look again.
void Decoder::freed(std::int32_t r) {
    for (const std::int32_t b : state_.eligible) {
        if (state_.waits_on[at(b)] == r && state_.wake[at(b)] > state_.now)
            state_.wake[at(b)] = state_.now;
    }
    for (std::size_t k = 0; k < state_.kind_wake.size(); ++k) {
        if (state_.kind_waits[k] == r) state_.kind_wake[k] = -never;
    }
    restart_ = 0;
}

void Decoder::know_end(std::int32_t op) {
    const CompiledOperation& o = problem_.operations[at(op)];
    for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
        const CompiledLag& l = problem_.lags[at(problem_.lags_out[at(k)])];
        if (l.cross && l.edge != core::Edge::Start)
            arrived(problem_.operations[at(l.to)].block, true);
    }
}

void Decoder::dried(std::int32_t op, Tick when) {
    const CompiledOperation& o = problem_.operations[at(op)];
    const CompiledMode& m = problem_.modes[at(o.modes.begin + state_.placed.mode[at(op)])];
    const Tick done = std::max(when, state_.placed.start[at(op)] + m.work);
    --state_.wet;
    state_.is_placed[at(op)] = dry_now;
    const Tick booked = state_.placed.work_end[at(op)];
    if (o.known_end < never && done > o.known_end) {
        failure_ = {Obstacle::Window, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    state_.placed.work_end[at(op)] = done;
    state_.early[at(op)] = done;
    if (done > problem_.horizon_end) {
        failure_ = {Obstacle::Horizon, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    if (o.order >= 0 && done > problem_.order_deadline[at(o.order)]) {
        failure_ = {Obstacle::Deadline, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g) {
        const CompiledGive& give = problem_.gives[at(g)];
        state_.ledger[at(give.store)].add(done, give.amount);
        freed(-3);
    }
    if (!o.open) {
        Tick needed = done;
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.lags[at(problem_.lags_out[at(k)])];
            if (l.edge == core::Edge::End && l.max < never && state_.is_placed[at(l.to)]) {
                needed = std::max(needed, state_.placed.start[at(l.to)] - l.max);
            }
        }
        const Tick end = state_.placed.end[at(op)];
        for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
            const CompiledNeed& need = problem_.needs[at(n)];
            const std::int32_t r = state_.placed.chosen[at(o.chosen + n - m.needs.begin)];
            state_.profile[at(r)].add(std::max(state_.now, need.whole ? needed : done),
                                      need.whole ? end : booked, -need.amount);
            freed(r);
        }
        state_.placed.end[at(op)] = needed;
    }
    know_end(op);
    if (o.place + 1 < problem_.blocks[at(o.block)].operations.size()) book_again(op);
}

void Decoder::refresh_clock(std::int32_t r) {
    DryingClock& c = state_.clock[at(r)];
    if (!c.dry().empty()) {
        // Taken one by one: what follows may enter this clock again.
        for (std::size_t i = 0; i < c.dry().size(); ++i) {
            const DryingClock::Dry d = c.dry()[i];
            dried(static_cast<std::int32_t>(d.who), d.at);
        }
        c.clear_dry();
    }
    const auto next = c.next_change();
    state_.clock_next[at(r)] = next ? *next : never;
}

// To the next instant at which something happens or is worth trying.
bool Decoder::advance() {
    Tick next = state_.entries.empty() ? never : state_.entries.top().time;
    for (const std::int32_t r : state_.clocks)
        next = std::min(next, state_.clock_next[at(r)]);
    for (const std::int32_t b : state_.eligible)
        next = std::min(next, wake_of(b));
    if (next >= never) return false;
    if (next > problem_.horizon_end) {
        failure_ = {
            Obstacle::Horizon,
            core::OperationId{
                state_.eligible.empty()
                    ? obstacle_at_
                    : problem_.ops_of(problem_.blocks[at(state_.eligible.front())]).front()}};
        return false;
    }
    state_.now = std::max(state_.now, next);
    for (std::size_t r = 0; r < state_.profile.size(); ++r) {
        state_.profile[r].forget_before(state_.now);
        const CompiledResource& c = problem_.resources[r];
        while (state_.window[r] < c.windows.end &&
               problem_.windows[at(state_.window[r])].to <= state_.now)
            ++state_.window[r];
    }
    for (const std::int32_t r : state_.clocks) {
        if (state_.clock_next[at(r)] > state_.now) continue;
        state_.clock[at(r)].advance(state_.now);
        refresh_clock(r);
    }
    while (!state_.entries.empty() && state_.entries.top().time <= state_.now) {
        const Event e = state_.entries.pop();
        const auto op = static_cast<std::int32_t>(e.whom);
        if (state_.is_placed[at(op)] != placed_only || state_.placed.start[at(op)] != e.time)
            continue;  // moved
        const CompiledOperation& o = problem_.operations[at(op)];
        const CompiledMode& m = problem_.modes[at(o.modes.begin + state_.placed.mode[at(op)])];
        const std::int32_t r = state_.placed.chosen[at(o.chosen)];
        state_.is_placed[at(op)] = entered;
        DryingClock& c = state_.clock[at(r)];
        if (c.now() < state_.now) {
            c.advance(state_.now);
            refresh_clock(r);
        }
        c.enter(e.whom, problem_.stages_of(m));
        refresh_clock(r);
    }
    return true;
}

const std::vector<std::int64_t>& Decoder::value() {
    evaluate(problem_, state_.placed, completion_, parts_);
    return parts_;
}

}  // namespace sched::engine
