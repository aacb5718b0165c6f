// How it works: an instant after the other. At each, the blocks that may go are tried in rank
// order; one that fits is booked with all its operations, others go to sleep until the first
// moment at which something that they wait for can change. Then time moves on to the next such
// moment. A sequence that repeats the held run for a while begins at a saved instant of it
// (held_run.hpp); one that shuts itself in ends with an obstacle and is tried again in a freer
// way.

#include "sched/engine/decode/decoder.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <limits>

namespace sched::engine {

Decoder::Decoder(const CompiledProblem& problem)
    : run_(problem),
      problem_(problem),
      state_(run_.state),
      plan_(run_.plan),
      fits_(run_, groups_),
      held_places_(run_),
      standing_(run_),
      bookings_(run_, fits_, groups_, standing_),
      way_(run_, fits_, bookings_),
      appointments_(run_),
      limits_(run_, fits_),
      held_(problem) {}

bool Decoder::decode(const Sequence& sequence) {
    return decode_until(sequence, never);
}

bool Decoder::decode_until(const Sequence& sequence, Tick pause) {
    prepare(sequence);
    tracking_ = false;
    cutoff_ = nullptr;
    if (pause < never && !problem_.rests.empty()) {
        // How to begin shows in the end only: the way that leads there is gone again to the pause.
        if (!run_from_start()) return false;
        pause_ = pause;
        start();
        return run();
    }
    pause_ = pause;
    return run_from_start();
}

bool Decoder::go_on(const Sequence& sequence, Tick pause) {
    prepare(sequence);
    pause_ = pause;
    if (!sequence.first_come) state_.waiting.reorder(turns_);
    leave_waiting_batches();
    restart_ = 0;
    return run();
}

void Decoder::prepare(const Sequence& sequence) {
    run_.sequence = &sequence;
    plan_.baseline = sequence.baseline;
    failure_ = {};
    stuck_ = false;
    given_up_ = false;
    care_ = Care::Little;
    pause_ = never;
    patient_ = sequence.keeps_turn && plan_.baseline == nullptr;
    lookahead_ = sequence.lookahead >= 0 ? sequence.lookahead : (problem_.coupled ? 0 : never);
    bookings_.keep_stretched();
    rank_blocks();
    groups_.gather(problem_, sequence, turns_);
    awaiting_.clear();
    for (std::size_t i = 0; i < sequence.after.size(); ++i) {
        if (sequence.after[i] >= 0 && problem_.operations[i].place == 0)
            awaiting_.emplace_back(awaited(sequence.after[i]), problem_.operations[i].block);
    }
}

// Who must begin soon goes first, whatever its rank. Where people work by turns, what keeps for
// longer than a day waits for its own.
bool Decoder::presses(const Block& block) const {
    constexpr Tick soon = 24 * 3600;
    return block.urgent && !(patient_ && block.latest > problem_.horizon_start + soon);
}

void Decoder::rank_blocks() {
    const Sequence& sequence = *run_.sequence;
    key_.resize(problem_.blocks.size());
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        const std::int32_t first = problem_.ops_of(problem_.blocks[b]).front();
        key_[b] = sequence.rank.empty() ? static_cast<std::int32_t>(b) : sequence.rank[ix(first)];
        if (presses(problem_.blocks[b])) key_[b] = std::numeric_limits<std::int32_t>::min();
    }
    turns_.by(key_);
}

bool Decoder::run_from_start() {
    begin_ = Begin::Stand;
    start();
    if (run()) return true;
    if (patient_ && !given_up_ &&
        std::any_of(problem_.blocks.begin(), problem_.blocks.end(),
                    [&](const Block& b) { return b.urgent && !presses(b); })) {
        patient_ = false;
        rank_blocks();
        begin_ = Begin::Stand;
        failure_ = {};
        stuck_ = false;
        start();
        if (run()) return true;
    }
    return run_otherwise();
}

// From the beginning.
void Decoder::start() {
    ++counters_.whole;
    limits_.forget();
    if (plan_.baseline) {
        plan_.began_on_time.assign(problem_.blocks.size(), 0);
        plan_.all_on_time = plan_.baseline->known;
        plan_.next_planned = 0;
        plan_.slips_at = never;
        plan_.wet.clear();
    }
    if (run_.sequence->first_come) {  // those who press have the first turns
        next_pressing_ = 0;
        next_turn_ =
            static_cast<std::int32_t>(std::count_if(problem_.blocks.begin(), problem_.blocks.end(),
                                                    [&](const Block& b) { return presses(b); }));
    }
    plan_.promised.clear();
    plan_.crowded_at = never;
    if (run_.sequence->keeps_turn) kept_start_.assign(problem_.blocks.size(), -1);
    plan_.hold_until.assign(problem_.operations.size(), never);
    keeping_.clear();
    kept_.clear();
    hurried_.clear();
    if (problem_.midday)
        begin();
    else
        reset();
    if (plan_.baseline) tell_all();  // the plan says when
}

void Decoder::reset() {
    state_.reset(problem_);
    state_.now = problem_.horizon_start;
    for (const auto& o : problem_.operations) {
        if (o.fixed) state_.now = std::min(state_.now, o.not_before);
    }
    for (const std::int32_t r : state_.clocks)
        state_.clock[ix(r)].reset(state_.now);
    state_.waiting.reset(turns_);
    appointments_.keep_all();
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        if (state_.missing[b] == 0) arrived(static_cast<std::int32_t>(b), false);
    }
}

bool Decoder::run() {
    paused_ = false;
    while (!done()) {
        ++counters_.instants;
        if (tracking_ && held_.wants()) held_.save(state_);
        if (!pass()) break;
        if (done()) break;
        if (!advance()) {
            if (failure_.why == Obstacle::None) {
                failure_ = {run_.obstacle == Obstacle::None ? Obstacle::Blocked : run_.obstacle,
                            core::OperationId{run_.obstacle_at}};
                for (std::int32_t i = state_.waiting.next(0); i >= 0;
                     i = state_.waiting.next(i + 1)) {
                    const std::int32_t b = state_.waiting.block_at(i);
                    // The first in rank that waits for nothing but a place is the one to name.
                    run_.obstacle = Obstacle::None;
                    if (!try_block(b) && run_.obstacle != Obstacle::None) {
                        failure_ = {run_.obstacle, core::OperationId{run_.obstacle_at}};
                        break;
                    }
                }
            }
            return false;
        }
        if (paused_) return true;
        if (stuck_) break;
        // Looking costs as much as a small instant; a few later is soon enough.
        if (cutoff_ && (counters_.instants & 3) == 0 && beyond()) {
            ++counters_.given_up;
            given_up_ = true;
            return false;
        }
    }
    return failure_.why == Obstacle::None;
}

void Decoder::arrived(std::int32_t block, bool one_of) {
    if (one_of && --state_.missing[ix(block)] > 0) return;
    if (tracking_) held_.arrived(block);
    if (const Tick at = run_.sequence->first_come ? comes_at(block) : -never; at > state_.now) {
        state_.entries.push(at, comes_to_place, static_cast<std::uint32_t>(block));
        return;
    }
    if (meets_waiting_batch(block)) enter(block);
}

// When nothing but what the block itself needs holds it up any more. What presses is there at once.
Tick Decoder::comes_at(std::int32_t block) const {
    if (presses(problem_.blocks[ix(block)])) return -never;
    const std::int32_t op = problem_.ops_of(problem_.blocks[ix(block)]).front();
    const CompiledOperation& o = problem_.operations[ix(op)];
    return fits_.limits_of(op, o, problem_.modes[ix(o.modes.begin)]).low;
}

void Decoder::enter(std::int32_t block) {
    if (run_.sequence->first_come) {
        std::int32_t& turn = presses(problem_.blocks[ix(block)]) ? next_pressing_ : next_turn_;
        state_.waiting.stand_at(block, turn++);
    }
    restart_ = std::min(restart_, state_.waiting.place_of(block));
    state_.waiting.arrive(block, kind_of(problem_.blocks[ix(block)]), state_.now);
}

// Blocks whose first operation is of one kind fail for the same reason: one try an instant is
// enough. On a simulated day lengths differ: those are of one kind that ask for the same, where
// there is no choice whom to ask (vain_tries.cpp): else one who comes free is not who was waited
// for.
std::int32_t Decoder::kind_of(const Block& block) const {
    const std::int32_t op = problem_.ops_of(block).front();
    const CompiledOperation& o = problem_.operations[ix(op)];
    if (block.meets || block.urgent || plan_.baseline || !groups_.of(o.block).empty()) return -1;
    if (run_.sequence->keeps_turn) {
        const CompiledMode& m = problem_.modes[ix(o.modes.begin)];
        const bool asks = problem_.varies && o.plain && !o.open && !block.bulky &&
                          block.begun == 0 && o.same_resource.size() == 0 &&
                          m.candidates == m.needs.size();
        return asks ? m.ask : -1;
    }
    std::int32_t mode = run_.sequence->mode.empty() ? -1 : run_.sequence->mode[ix(op)];
    for (std::int32_t s = o.same_mode.begin; s < o.same_mode.end; ++s) {
        const std::int32_t other = problem_.same_mode[ix(s)];
        if (problem_.operations[ix(other)].block == o.block) continue;
        if (!state_.is_placed[ix(other)]) return -1;
        mode = state_.placed.mode[ix(other)];
    }
    return mode >= 0 ? problem_.modes[ix(o.modes.begin + mode)].kind : o.kind;
}

// What was booked stays. False: that leads to no end.
bool Decoder::take_up(std::int32_t b) {
    if (tracking_) held_.awake(state_.waiting);
    const std::int32_t self = b;
    for (const std::int32_t m :
         goes_together(b) ? groups_.of(b) : std::span<const std::int32_t>(&self, 1)) {
        state_.waiting.leave(m);
        commit(m);
        if (stuck_) return false;
    }
    state_.waiting.settle(state_.now);
    return true;
}

// Books what can be booked now, in rank order; a block that becomes eligible meanwhile takes its
// turn.
bool Decoder::pass() {
    const bool ends = go_by_turns();
    give_back_hurried();
    return ends;
}

bool Decoder::go_by_turns() {
    Waiting& waiting = state_.waiting;
    waiting.settle(state_.now);
    told_ = false;
    if (plan_.baseline && plan_.all_on_time && way_.late()) leave_known_way();
    for (const std::int32_t b : keeping_)
        waiting.wake(b);
    if (!state_.running.empty() && !hurry()) return false;
    for (std::int32_t i = waiting.next_awake(0); i >= 0; i = waiting.next_awake(i)) {
        const std::int32_t b = waiting.block_at(i);
        if (!try_block(b)) {
            if (run_.sequence->keeps_turn && problem_.blocks[ix(b)].bulky) keep_turn(b);
            i = told_ ? 0 : i + 1;
            told_ = false;
            continue;
        }
        if (plan_.baseline && plan_.all_on_time && plan_.began_on_time[ix(b)] == 0) {
            // Not as planned: the plan ends before it is booked, which must not count on it.
            take_back(b);
            if (!kept_.empty()) give_back(0);
            leave_known_way();
            if (stuck_) return false;
            i = 0;
            continue;
        }
        restart_ = i;
        if (!take_up(b)) return false;
        i = restart_;
        if (!kept_.empty()) give_back(i);
    }
    if (!kept_.empty()) give_back(-1);
    return true;
}

// What the block takes away from an open hold is free for itself: a hand-over within one place.
void Decoder::lift_meeting(std::int32_t b, std::int32_t sign) {
    for (const std::int32_t op : problem_.ops_of(problem_.blocks[ix(b)])) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.in_rows[ix(k)];
            if (!l.cross || !l.hold || !l.meets || state_.open_links[ix(l.from)] != 1) continue;
            const CompiledOperation& f = problem_.operations[ix(l.from)];
            const Range ns =
                problem_.modes[ix(f.modes.begin + state_.placed.mode[ix(l.from)])].needs;
            const Tick from = std::max(state_.now, state_.placed.work_end[ix(l.from)]);
            for (std::int32_t n = ns.begin; n < ns.end; ++n) {
                if (!problem_.needs[ix(n)].whole) continue;
                state_.profile[ix(state_.placed.chosen[ix(f.chosen + n - ns.begin)])].add(
                    from, plan_.hold_until[ix(l.from)], sign * problem_.needs[ix(n)].amount);
            }
        }
    }
}

// What the block will hold until somebody takes it on finds no place for good, in no way of doing
// it: known before all of it is booked. @pre what it gives back itself is lifted.
bool Decoder::no_place_for_good(const Block& block) {
    for (const std::int32_t op : problem_.ops_of(block)) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        if (!o.open) continue;
        const std::int32_t only = run_.sequence->mode.empty() ? -1 : run_.sequence->mode[ix(op)];
        std::int32_t full = -1;  // first place of the first need without room
        for (std::int32_t i = 0; i < o.modes.size(); ++i) {
            if (only >= 0 && i != only) continue;
            const CompiledMode& m = problem_.modes[ix(o.modes.begin + i)];
            std::int32_t here = -1;
            for (std::int32_t n = m.needs.begin; n < m.needs.end && here < 0; ++n) {
                const CompiledNeed& need = problem_.needs[ix(n)];
                if (!need.whole && !m.coupled) continue;
                bool room = false;
                for (std::int32_t c = need.any_of.begin; c < need.any_of.end && !room; ++c) {
                    const std::int32_t r = problem_.candidates[ix(c)];
                    room = state_.profile[ix(r)].finally_used() + need.amount +
                               (care_ == Care::Little ? 0 : limits_.promised(r, block)) <=
                           problem_.resources[ix(r)].capacity;
                }
                if (!room) here = problem_.candidates[ix(need.any_of.begin)];
            }
            full = here;
            if (here < 0) break;
        }
        if (full < 0) continue;
        waits_for_ = full;
        run_.fail(Obstacle::Closed, op);
        return true;
    }
    return false;
}

bool Decoder::try_block(std::int32_t b) {
    if (goes_together(b) && try_waiting_batch(groups_.of(b))) return true;
    if (goes_together(b)) return false;
    const Block& block = problem_.blocks[ix(b)];
    const auto ops = problem_.ops_of(block);
    const Tick limit = presses(block) || lookahead_ >= never ? never : state_.now + lookahead_;
    Tick found = never;
    const auto first = static_cast<std::size_t>(block.begun);
    // On the plan's way exactly as it says, or not yet.
    const Tick planned = plan_.baseline ? plan_.baseline->start[ix(ops[first])] : -never;
    // The rest of work under way is booked ahead.
    const bool rest = first > 0 && planned >= state_.now;
    // So is what somebody counts on inside a block that begins by now.
    const Tick counted_on =
        plan_.baseline && plan_.all_on_time ? plan_.baseline->ahead[ix(b)] : never;
    const bool ahead = planned > state_.now && counted_on <= state_.now;
    const bool exactly = plan_.all_on_time && (planned == state_.now || rest || ahead);
    if (planned > -never && !rest && !ahead) {
        const Tick opens = std::min(way_.opens(b), counted_on);
        if (opens > state_.now) {
            state_.waiting.sleep(b, opens, -1);
            run_.fail(Obstacle::Blocked, ops[first]);
            return false;
        }
    }
    if (const Tick opens = awaiting_.empty() ? -never : awaited_at(b); opens > state_.now) {
        if (tracking_) held_.tried(b);
        state_.waiting.sleep(b, opens, waits_for_nothing);
        run_.fail(Obstacle::Blocked, ops[first]);
        return false;
    }
    const bool simple = first == 0 && !block.meets;  // gives back nothing itself
    if (simple && !exactly && block.opens && no_place_for_good(block)) {
        state_.waiting.sleep(b, never, waits_for_);
        return false;
    }
    // What is fixed happens all the same, and whoever keeps a plan's order cannot put it off.
    const bool kept = plan_.baseline != nullptr && plan_.baseline->recourse != Recourse::Free;
    const bool looks = block.limits && first == 0 && !exactly && !kept &&
                       !problem_.operations[ix(ops.front())].fixed;
    if (looks && crowds(block)) {
        if (tracking_) held_.tried(b);
        state_.waiting.sleep(b, never, waits_for_);
        return false;
    }
    ++counters_.tried;
    if (tracking_) held_.tried(b);
    fits_.lacking = -1;
    lift(b, -1);
    if (first > 0) standing_.lift(b, -1);
    if (block.limits) put_off_ = state_.put_off[ix(b)];
    const bool full = first == 0 && !simple && !exactly && no_place_for_good(block);
    bool ok = false, slips = false;
    if (exactly) {
        plan_.as_planned = plan_.on_time = true;
        // What is known to slip may be in the way of what is booked ahead.
        const Tick over = plan_.baseline->end[ix(ops.back())];
        ok = over <= plan_.slips_at && way_.put(b, first);
        slips = !ok;
        ok = ok || book_now(b, first, rest ? never : limit, found);
        plan_.as_planned = plan_.on_time = false;
        if (ok) plan_.began_on_time[ix(b)] = 1;
        // Somebody may still hand over at this very instant.
        found = std::min(found, ahead ? planned : state_.now + 1);
    }
    // Where turns are kept, most are tried in vain; elsewhere a look costs more than it spares.
    if (!ok && !full && (!exactly || rest) &&
        !(first == 0 && run_.sequence->keeps_turn && cannot_begin(b, ops.front(), limit, found))) {
        ok = book_now(b, first, limit, found);
    }
    put_off_ = -never;
    if (ok && looks) ok = begins_in_time(b, limit, found);
    lift(b, 1);
    if (first > 0 && !ok) standing_.lift(b, 1);
    // While all goes as planned, all come out as they do in the plan.
    const bool known = plan_.baseline && plan_.all_on_time && plan_.began_on_time[ix(b)] != 0;
    if (ok && problem_.circles && !known && !held_places_.safe_after({&b, 1}) && !stuck_before(b)) {
        take_back(b);
        state_.waiting.sleep(b, never, waits_for_way_out);
        run_.fail(Obstacle::Blocked, ops.front());
        return false;
    }
    if (ok && slips && plan_.all_on_time) way_.note_slips(b, first);
    if (ok) return true;
    if (block.limited && run_.sequence->redoes)
        found = std::min(found, limits_.missed_after(block));
    if (fits_.lacking >= 0) ask_for(fits_.lacking, fits_.lacking_at);
    Tick again = found >= never ? never : std::max(state_.now + 1, found - lookahead_);
    // Who would coat it may be elsewhere by then, and then sets out sooner: for it, and not for one
    // whose turn comes later and who was asked after that.
    if (block.limited && again < never && again - problem_.walk > state_.now)
        again -= problem_.walk;
    state_.waiting.sleep(b, again, waits_for_);
    return false;
}

// The block, booked as a whole and not committed, is not booked any more.
void Decoder::take_back(std::int32_t b) {
    const Block& block = problem_.blocks[ix(b)];
    const auto ops = problem_.ops_of(block);
    for (std::size_t k = ops.size(); k-- > static_cast<std::size_t>(block.begun);)
        bookings_.unplace(ops[k]);
    held_places_.pass_exits(b);
    appointments_.keep_for(b);
    if (plan_.baseline) plan_.began_on_time[ix(b)] = 0;
    if (block.begun > 0) standing_.lift(b, 1);
}

bool Decoder::book_now(std::int32_t b, std::size_t first, Tick limit, Tick& found) {
    if (book(b, first, limit, true, found)) return true;
    return problem_.batches && found >= never && book(b, first, limit, false, found);
}

void Decoder::commit(std::int32_t b) {
    const Block& block = problem_.blocks[ix(b)];
    ++counters_.booked;
    state_.done[ix(b)] = 1;
    if (plan_.baseline && plan_.all_on_time && plan_.began_on_time[ix(b)] == 0) leave_known_way();
    --state_.blocks_left;
    held_places_.pass_exits(b);
    if (block.begun > 0) standing_.leave(b, [&](std::int32_t r) { freed(r); });
    if (tracking_) held_.booked(b);
    const std::int32_t first = problem_.ops_of(block).front();
    if (const std::int32_t order = problem_.operations[ix(first)].order; order >= 0) {
        state_.order_end[ix(order)] = std::max(
            state_.order_end[ix(order)], state_.placed.start[ix(first)] + problem_.tail[ix(first)]);
    }
    bookings_.keep_stretched();
    bool stays = tracking_ && !problem_.overtime.empty();
    for (const std::int32_t op : problem_.ops_of(block)) {
        if (!problem_.operations[ix(op)].begun) commit_operation(op, stays);
    }
    if (problem_.on_demand.empty()) return;
    for (const std::int32_t op : problem_.ops_of(block)) {
        if (problem_.operations[ix(op)].takes.size() > 0) ask_ahead(op);
    }
}

void Decoder::commit_operation(std::int32_t op, bool& stays) {
    {
        if (!awaiting_.empty()) tell_awaiting(op);
        const CompiledOperation& o = problem_.operations[ix(op)];
        const bool coupled = problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])].coupled;
        stays = stays && !coupled;  // what follows drying may be booked again, earlier
        if (stays)
            state_.overtime +=
                overtime_of(problem_, state_.placed, ix(op), problem_.operations.size());
        if (plan_.baseline) release_followers(op);
        if (coupled && !o.open && plan_.baseline && plan_.all_on_time) plan_.wet.push_back(op);
        if (!coupled && o.gives.size() > 0) freed(waits_for_store);
        if (o.open) {
            state_.open_operations.push_back(op);
            held_places_.hold(op);
            state_.open_end[ix(op)] = -never;
        }
        if (coupled) {
            ++state_.wet;
            state_.entries.push(state_.placed.start[ix(op)], goes_into_cabinet,
                                static_cast<std::uint32_t>(op));
        }
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = problem_.out_rows[ix(k)];
            if (!l.cross) continue;
            if (l.loose) state_.running.push_back(k);
            if (l.hold) ++state_.open_links[ix(op)];
            if (!coupled || l.edge == core::Edge::Start)
                arrived(problem_.operations[ix(l.to)].block, true);
        }
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.in_rows[ix(k)];
            if (l.loose) freed(waits_for_way_out);
            if (!l.cross || !l.hold) continue;
            Tick& e = state_.open_end[ix(l.from)];
            e = std::max(e, state_.placed.start[ix(op)] - l.max);
            if (--state_.open_links[ix(l.from)] == 0) close(l.from);
        }
    }
}

const std::vector<std::int64_t>& Decoder::value() {
    evaluate(problem_, state_.placed, completion_, parts_);
    return parts_;
}

}  // namespace sched::engine
