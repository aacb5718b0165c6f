// A plan that is followed, as long as all goes as planned: when a block may begin by it, and how a
// block is booked exactly where the plan has it.

#include "sched/engine/decode/plans_way.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::engine {

// When the block may begin by the plan: as long as all goes as planned, and where the plan's order
// or times are kept, at its planned time or as soon as what it waits for in the plan is over. Where
// the order is kept, not before that is booked which goes before something in it, if it was to be:
// in the plan its block begins sooner. A time to come: worth asking again then, or when one of
// those is booked or ends (release_followers). @pre its first operation that is left is planned.
Tick PlansWay::opens(std::int32_t b) const {
    const Block& block = problem_.blocks[ix(b)];
    const std::int32_t op = problem_.ops_of(block)[ix(block.begun)];
    const Tick planned = plan_.baseline->start[ix(op)];
    const Range own = plan_.baseline->release_range[ix(op)];
    if (plan_.baseline->recourse == Recourse::Free && !plan_.all_on_time) return state_.now;
    const bool times = plan_.baseline->recourse == Recourse::Times;
    Tick opens = times ? planned : state_.now;
    Tick turn = state_.now;
    bool waits = false;
    for (std::int32_t k = own.begin; k < own.end; ++k) {
        const Release& x = plan_.baseline->releases[ix(k)];
        const std::size_t q = ix(x.operation);
        const bool booked = state_.is_placed[q] != 0;
        if (x.turn) {
            if (!booked) turn = never;
            if (booked) turn = std::max(turn, state_.placed.start[q]);
            continue;
        }
        waits = true;
        Tick over = plan_.baseline->start[q] + 1;  // unless it begins
        if (booked) {
            over = x.edge == core::Edge::Start     ? state_.placed.start[q]
                   : x.edge == core::Edge::WorkEnd ? state_.placed.work_end[q]
                                                   : state_.placed.end[q];
            over = over < 0 ? never : over + x.min;
        } else if (plan_.baseline->recourse == Recourse::Order) {
            over = never;
        }
        opens = std::max(opens, over);
    }
    if (plan_.baseline->recourse == Recourse::Order) {
        const auto ops = problem_.ops_of(block);
        for (std::size_t k = ix(block.begun) + 1; k < ops.size(); ++k) {
            plan_.for_forerunners(ops[k], [&](std::int32_t q) {
                const Block& theirs = problem_.blocks[ix(problem_.operations[ix(q)].block)];
                const bool sooner =
                    plan_.baseline->start[ix(problem_.ops_of(theirs).front())] < planned;
                if (sooner && state_.is_placed[ix(q)] == 0) turn = never;
            });
        }
    }
    return std::max(waits ? std::min(opens, planned) : planned, turn);
}

// The work takes as long as the plan says, as far as anybody can know. @pre plan_.as_planned.
bool PlansWay::as_long_as_planned(std::int32_t op, const CompiledMode& m) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Tick start = plan_.baseline->start[ix(op)], planned = plan_.baseline->work_end[ix(op)];
    if (m.coupled) return true;
    if (m.stages.size() > 0)
        return start + fits_.length_of(o, m, plan_.baseline->chosen[ix(o.chosen)], start, true) ==
               planned;
    if (!o.pausable) return start + m.work == planned;
    const std::span<const std::int32_t> chosen{plan_.baseline->chosen.data() + o.chosen,
                                               ix(m.needs.size())};
    return fits_.pausing_end(m, chosen, start) == planned;
}

// Who and what the plan names is there, this day too.
bool PlansWay::open_as_planned(std::int32_t op, const CompiledMode& m) const {
    const CompiledOperation& o = problem_.operations[ix(op)];
    const Tick start = plan_.baseline->start[ix(op)];
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const CompiledNeed& need = problem_.needs[ix(m.needs.begin + n)];
        const std::int32_t r = plan_.baseline->chosen[ix(o.chosen + n)];
        if (r < 0) return false;
        const CompiledResource& c = problem_.resources[ix(r)];
        if (!c.has_calendar) continue;
        const Tick end = o.pausable              ? start + 1
                         : need.whole && !o.open ? plan_.baseline->end[ix(op)]
                                                 : plan_.baseline->work_end[ix(op)];
        if (end <= start) continue;
        bool open = false;
        for (std::int32_t w = state_.window[ix(r)]; w < c.windows.end && !open; ++w) {
            const CompiledWindow& x = problem_.windows[ix(w)];
            open = x.from <= start && end <= x.to;
        }
        if (!open) return false;
    }
    return true;
}

// Operations `first`.. of the block exactly where the plan has them. As long as everything is as
// planned nobody is in their way, whatever is booked of those who will have left by then. False:
// nothing of them is booked, since something takes longer or is not there. @pre plan_.as_planned.
bool PlansWay::put(std::int32_t b, std::size_t first) {
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    for (std::size_t k = first; k < ops.size(); ++k) {
        const CompiledOperation& o = problem_.operations[ix(ops[k])];
        const std::int32_t mode = plan_.baseline->mode[ix(ops[k])];
        if (mode < 0 || plan_.baseline->start[ix(ops[k])] < state_.now) return false;
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + mode)];
        if (!open_as_planned(ops[k], m) || !as_long_as_planned(ops[k], m)) return false;
    }
    plan_.sure = true;
    std::size_t k = first;
    for (; k < ops.size(); ++k) {
        const std::int32_t op = ops[k];
        const CompiledOperation& o = problem_.operations[ix(op)];
        EarliestFit fit;
        fit.mode = plan_.baseline->mode[ix(op)];
        const CompiledMode& m = problem_.modes[ix(o.modes.begin + fit.mode)];
        fit.start = plan_.baseline->start[ix(op)];
        fit.work_end = fit.early = plan_.baseline->work_end[ix(op)];
        fit.fits = true;
        const StartLimits limits = fits_.limits_of(op, o, m);
        if (fit.start < limits.low || fit.start > limits.high || fit.work_end > limits.latest_end)
            break;
        fits_.choice.batch = -1;
        for (std::int32_t n = 0; n < m.needs.size(); ++n) {
            const std::int32_t r = plan_.baseline->chosen[ix(o.chosen + n)];
            fits_.choice.resources[ix(n)] = r;
            if (!problem_.resources[ix(r)].has_batch || plan_.baseline->batch[ix(op)] < 0) continue;
            for (std::size_t q = 0; q < state_.batches.size(); ++q) {
                const OpenBatch& batch = state_.batches[q];
                if (batch.members > 0 && batch.resource == r &&
                    plan_.baseline->batch[ix(batch.last_member)] == plan_.baseline->batch[ix(op)])
                    fits_.choice.batch = static_cast<std::int32_t>(q);
            }
        }
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t)
            fits_.choice.stores[ix(t - o.takes.begin)] =
                plan_.baseline->stores[ix(problem_.takes[ix(t)].index)];
        std::int32_t blamed = -1;
        Tick floor = 0;
        if (!bookings_.extend_holds(op, fit.start, blamed, floor)) {
            bookings_.unplace(op);  // takes back the holds already stretched for it
            break;
        }
        bookings_.place(op, fit);
    }
    plan_.sure = false;
    if (k == ops.size() && bookings_.consistent(b)) return true;
    while (k > first)
        bookings_.unplace(ops[--k]);
    return false;
}

// The block has begun on time, but something in it takes longer: nobody knows before its planned
// end, and from then on others cannot count on its people and places.
void PlansWay::note_slips(std::int32_t b, std::size_t first) {
    const auto ops = problem_.ops_of(problem_.blocks[ix(b)]);
    for (std::size_t k = first; k < ops.size(); ++k) {
        const std::size_t op = ix(ops[k]);
        if (state_.placed.start[op] > plan_.baseline->start[op]) {
            plan_.slips_at = std::min(plan_.slips_at, plan_.baseline->start[op]);
            return;
        }
        if (state_.placed.work_end[op] > plan_.baseline->work_end[op]) {
            plan_.slips_at = std::min(plan_.slips_at, plan_.baseline->work_end[op]);
            return;
        }
    }
}

// Something has not begun by now that the plan has before now, or shows now that it is longer.
bool PlansWay::late() {
    const auto& order = plan_.baseline->order;
    while (plan_.next_planned < order.size() &&
           state_.done[ix(problem_.operations[ix(order[plan_.next_planned])].block)] != 0)
        ++plan_.next_planned;
    std::erase_if(plan_.wet, [&](std::int32_t op) { return state_.is_placed[ix(op)] == is_dry; });
    bool late = plan_.slips_at <= state_.now ||
                (plan_.next_planned < order.size() &&
                 plan_.baseline->start[ix(order[plan_.next_planned])] < state_.now);
    for (const std::int32_t op : plan_.wet)
        late |= state_.placed.work_end[ix(op)] <= state_.now;
    return late;
}

}  // namespace sched::engine
