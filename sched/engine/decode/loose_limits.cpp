// Loose limits: a mesh that is dry must be coated within hours. What sets such a limit is booked
// without what the limit is for, so it must be sure enough that this comes in time: there is a
// place for it by then, and somebody, after all that is in the same case. When the time runs short
// what is limited goes first, and whoever could make it later goes round it. If a limit is missed
// all the same, the run begins again, more carefully; where the sequence allows it (weeks), what
// had dried is done again instead, which takes its time. Who finds no end at all can tie the limits
// (core::Ties): then what they tie is one block, as by any shorter limit.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

constexpr Tick part_of_limit = 4;  // that is left when it hurries, and when one must be careful
constexpr Tick spare_part = 8;     // else: of the limit, for what nobody foresees
constexpr int most_moves = 16;     // of one beginning in one try
constexpr Tick least_step = 128;   // part of the limit by which a beginning is put off at least

}  // namespace

// Too many under way already for the places that they go to next. More than are free now may be, as
// long as those inside make room within the limit; who is careful counts on nobody.
bool Decoder::crowds(const Block& block) {
    if (state_.vain_hurry) {
        waits_for_ = waits_for_way_out;
        return true;
    }
    const std::int32_t running = limits_.count();
    bool full = false;
    limits_.for_limits_of(block, [&](std::int32_t op, const CompiledLag& l) {
        limits_.for_open_needs(problem_.operations[ix(l.to)].block, [&](const CompiledOperation&,
                                                                        const CompiledMode&,
                                                                        const CompiledNeed& need) {
            std::int32_t room = limits_.left_for_good(need);
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end && care_ == Care::Little;
                 ++c)
                room += problem_.resources[ix(problem_.candidates[ix(c)])].capacity / need.amount;
            if (running < room || full) return;
            full = true;
            waits_for_ = problem_.candidates[ix(need.any_of.begin)];
            run_.fail(Obstacle::Closed, op);
        });
    });
    return full;
}

// With block b booked: can what it limits begin in time, after all that is in the same case?
bool Decoder::reaches_limits(std::int32_t b, Tick& found) {
    Tick before = 0;
    for (const std::int32_t k : state_.running) {
        const std::int32_t to = problem_.out_rows[ix(k)].to;
        if (state_.is_placed[ix(to)] == 0)
            before += problem_.modes[ix(problem_.operations[ix(to)].modes.begin)].work;
    }
    bool reached = true;
    limits_.for_limits_of(problem_.blocks[ix(b)], [&](std::int32_t op, const CompiledLag& l) {
        if (!reached) return;
        if (tracking_) held_.tried(problem_.operations[ix(l.to)].block);
        const CompiledOperation& o = problem_.operations[ix(op)];
        const CompiledOperation& to = problem_.operations[ix(l.to)];
        const Tick start = state_.placed.start[ix(op)];
        const Tick dry =
            start + fits_.length_of(o,
                                    problem_.modes[ix(o.modes.begin + state_.placed.mode[ix(op)])],
                                    state_.placed.chosen[ix(o.chosen)], start, true);
        const Tick low = std::max(fits_.limits_of(l.to, to, problem_.modes[ix(to.modes.begin)]).low,
                                  dry + l.min);
        EarliestFit fit = fits_.find(l.to, low, false);
        bool later = true;  // helps
        if (fit.fits && care_ != Care::Most) {
            const Tick spare = l.max / (care_ == Care::Little ? spare_part : part_of_limit);
            const Tick queue = before + limits_.queue_for_place(to.block, op, fit.start);
            later = low + queue + spare <= state_.early[ix(op)] + l.max;
            fit = fits_.find(l.to, fit.start + queue, false);
            if (fit.fits && fit.over + spare > 0) {
                fit.fits = false;
                fit.over += spare;
            }
        }
        if (fit.fits) return;
        reached = false;
        waits_for_ = later ? fits_.blocking : waits_for_way_out;
        found = later && fit.over > 0 && fit.over < never
                    ? state_.placed.start[ix(problem_.ops_of(problem_.blocks[ix(b)]).front())] +
                          std::max(fit.over, l.max / least_step)
                    : never;
        run_.fail(Obstacle::Limits, op);
    });
    return reached;
}

// Block b is booked; it stays so if it begins at a time from which its limits can be kept. Else it
// is put off, as far as it may begin later. False: it is not booked.
bool Decoder::begins_in_time(std::int32_t b, Tick limit, Tick& found) {
    bool booked = true;
    for (int moves = 0; booked && !reaches_limits(b, found); ++moves) {
        take_back(b);
        booked = false;
        if (moves == most_moves) state_.put_off[ix(b)] = found;  // on from there
        if (found > limit || moves == most_moves) break;
        put_off_ = found;
        booked = book_now(b, 0, limit, found);
        put_off_ = -never;
    }
    return booked;
}

// On its way to what its limit is for: who is awake goes. False: that leads to no end.
bool Decoder::go_first(std::int32_t block, bool& gone) {
    const std::int32_t place = state_.waiting.place_of(block);
    gone = state_.waiting.next_awake(place) == place && try_block(block);
    return !gone || take_up(block);
}

// Whose limit is near goes first, whatever his rank; who cannot go yet is booked for the time of
// the pass where he could. False: that leads to no end.
bool Decoder::hurry() {
    std::erase_if(state_.running, [&](std::int32_t k) {
        return state_.is_placed[ix(problem_.out_rows[ix(k)].to)] != 0;
    });
    if (plan_.baseline != nullptr && plan_.all_on_time) return true;
    const bool in_vain = state_.vain_hurry;
    state_.vain_hurry = false;
    for (std::size_t x = 0; x < state_.running.size(); ++x) {
        const CompiledLag& l = problem_.out_rows[ix(state_.running[x])];
        if (state_.is_placed[ix(l.to)] != 0) continue;
        if (care_ != Care::Most &&
            limits_.due_by(state_.running[x]) - l.max / part_of_limit > state_.now)
            continue;
        const CompiledOperation& to = problem_.operations[ix(l.to)];
        bool gone = false;
        for (std::int32_t k = to.lags_in.begin; k < to.lags_in.end; ++k) {
            const CompiledLag& in = problem_.in_rows[ix(k)];
            if (!in.cross || !in.hold || state_.is_placed[ix(in.from)] != 0) continue;
            if (!go_first(problem_.operations[ix(in.from)].block, gone)) return false;
        }
        if (state_.missing[ix(to.block)] > 0) continue;
        if (!go_first(to.block, gone)) return false;
        if (gone) continue;
        const Block& block = problem_.blocks[ix(to.block)];
        if (block.meets || block.begun > 0) continue;
        if (plan_.baseline != nullptr && way_.opens(to.block) > state_.now) continue;
        Tick found = never;
        if (tracking_) held_.tried(to.block);
        if (book(to.block, 0, never, false, found)) {
            bookings_.keep_stretched();
            // Asleep until something is freed, it could go now: kept for it, and by it not used,
            // the place would be nobody's for good.
            if (run_.sequence->redoes &&
                state_.placed.start[ix(problem_.ops_of(block).front())] <= state_.now) {
                take_back(to.block);
                state_.waiting.wake(to.block);
                if (!go_first(to.block, gone)) return false;
                state_.vain_hurry |= !gone;
                continue;
            }
            hurried_.push_back(to.block);
        } else {
            state_.vain_hurry = true;
        }
    }
    if (in_vain && !state_.vain_hurry) state_.waiting.freed(waits_for_way_out);
    state_.waiting.settle(state_.now);
    return true;
}

void Decoder::give_back_hurried() {
    for (const std::int32_t b : hurried_) {
        const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
        for (std::size_t k = ops.size(); k-- > 0;)
            bookings_.unplace(ops[k]);
    }
    hurried_.clear();
}

// The run has missed a limit: again, with more care. @returns true if that leads to an end.
bool Decoder::run_carefully() {
    if (std::none_of(problem_.blocks.begin(), problem_.blocks.end(),
                     [](const Block& b) { return b.limits; }))
        return false;
    for (const Care more : {Care::More, Care::Most}) {
        if (care_ >= more || given_up_) continue;
        care_ = more;
        begin_ = Begin::Stand;
        failure_ = {};
        stuck_ = false;
        if (tracking_) held_.begin(-1);
        start();
        if (run()) return true;
    }
    return false;
}

}  // namespace sched::engine
