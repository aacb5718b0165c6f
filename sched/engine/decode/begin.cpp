// The floor at the moment of a plan in the middle of the day: what has begun is put where it is,
// and the rest of what cannot be parted from it is booked, before time goes forward.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

namespace {

constexpr std::size_t most_begins = 12;  // orders in which the rests are tried
constexpr int most_before = 4;           // that stand in each other's way, one behind the other

}  // namespace

// Stand: whoever stands somewhere keeps his place until the rest of his block is booked in its turn
// by rank; what cannot wait is booked at once. If that shuts them in (each needs the other's
// place), Ahead: all rests are booked first, in the order in which they began, each leaving when
// the next comes; one that cannot be booked or loses its place then goes first. Loose: as Stand,
// but a place may be promised to somebody else from when its work there is over.
void Decoder::begin() {
    rests_ = problem_.rests;
    for (std::size_t attempt = 0; attempt < most_begins; ++attempt) {
        const bool last = attempt + 1 == most_begins;
        if (tracking_) held_.begin(-1);
        failure_ = {};
        stuck_ = false;
        plan_.wet.clear();
        put_begun();
        if (stuck_) return;
        // On the plan's way (follow.cpp) nobody takes a place before it is left.
        const auto plan_keeps = [&] { return plan_.baseline != nullptr && plan_.all_on_time; };
        const auto urgent = [&](std::int32_t b) { return problem_.blocks[ix(b)].urgent; };
        for (const std::int32_t b : rests_) {
            if (!urgent(b) && begin_ == Begin::Stand && !plan_keeps()) standing_.stand(b);
        }
        std::size_t refused = rests_.size();
        for (std::size_t k = 0; k < rests_.size(); ++k) {
            const std::int32_t b = rests_[k];
            if (state_.done[ix(b)] || (!urgent(b) && begin_ != Begin::Ahead)) continue;
            const bool eligible = state_.missing[ix(b)] == 0;
            if (book_rest(b, most_before) || plan_keeps()) continue;
            if (!standing_.stand(b) || (eligible && urgent(b))) {
                refused = k;
                if (k > 0 && !last) break;
            }
            if (stuck_) return;
        }
        if (refused == rests_.size() || refused == 0) break;
        std::rotate(rests_.begin(), rests_.begin() + static_cast<std::ptrdiff_t>(refused),
                    rests_.begin() + static_cast<std::ptrdiff_t>(refused) + 1);
    }
    state_.shut_in = problem_.circles && !held_places_.all_come_out();
}

// Books the rest of block b at once. Who stands in the place that it waits for goes before it; at
// most `before` deep.
bool Decoder::book_rest(std::int32_t b, int before) {
    if (state_.missing[ix(b)] > 0) return false;
    while (!try_block(b)) {
        if (before == 0 || run_.obstacle == Obstacle::Blocked) return false;
        const std::int32_t wanted = waits_for_;
        bool gone = false;
        for (std::size_t k = 0; k < rests_.size() && !gone && !stuck_; ++k) {
            const std::int32_t other = rests_[k];
            if (state_.done[ix(other)]) continue;
            bool in_the_way = false;
            standing_.for_each(other, [&](const Standing&, std::int32_t r, std::int32_t) {
                in_the_way |= other != b && r == wanted;
            });
            gone = in_the_way && book_rest(other, before - 1);
        }
        if (!gone || stuck_) return false;
    }
    state_.waiting.leave(b);
    if (tracking_) held_.all_awake();
    commit(b);
    return true;
}

// The other ways to begin, where the first led nowhere.
bool Decoder::run_otherwise() {
    if (run_carefully()) return true;
    if (problem_.rests.empty()) return false;
    care_ = Care::Little;
    for (const Begin other : {Begin::Ahead, Begin::Loose}) {
        if (begin_ >= other || given_up_) continue;
        begin_ = other;
        start();
        if (run()) return true;
    }
    return false;
}

void Decoder::put_begun() {
    state_.reset(problem_);
    state_.now = problem_.problem.now->time_since_epoch().count();
    for (std::size_t r = 0; r < state_.profile.size(); ++r) {
        const CompiledResource& c = problem_.resources[r];
        while (state_.window[r] < c.windows.end &&
               problem_.windows[ix(state_.window[r])].to <= state_.now)
            ++state_.window[r];
    }
    for (const std::int32_t r : state_.clocks)
        state_.clock[ix(r)].reset(state_.now);
    state_.waiting.reset(turns_);
    mates_.clear();
    for (const CompiledBegun& x : problem_.begun) {
        put_one(x);
        if (stuck_) return;
    }
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        const Block& block = problem_.blocks[b];
        if (block.begun == 0 || block.begun < block.operations.size()) continue;
        state_.done[b] = 1;
        --state_.blocks_left;
        if (!tracking_) continue;
        held_.arrived(static_cast<std::int32_t>(b));
        held_.booked(static_cast<std::int32_t>(b));
    }
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        if (problem_.blocks[b].begun > 0) held_places_.pass_exits(static_cast<std::int32_t>(b));
    }
    appointments_.keep_all();
    bool counted = false;  // what has passed is the same in every run
    for (const CompiledBegun& x : problem_.begun)
        commit_operation(x.operation, counted);
    for (std::size_t b = 0; b < problem_.blocks.size(); ++b) {
        if (state_.missing[b] == 0 && !state_.done[b] && problem_.blocks[b].waits_for == 0)
            arrived(static_cast<std::int32_t>(b), false);
    }
}

void Decoder::put_one(const CompiledBegun& x) {
    const std::int32_t op = x.operation;
    const CompiledOperation& o = problem_.operations[ix(op)];
    const CompiledMode& m = problem_.modes[ix(o.modes.begin + x.mode)];
    if (o.order >= 0) {
        Tick& end = state_.order_end[ix(o.order)];
        end = std::max(end, x.start);
    }
    EarliestFit earliest_fit;
    earliest_fit.mode = x.mode;
    earliest_fit.start = x.start;
    earliest_fit.fits = true;
    if (x.over) {
        state_.is_placed[ix(op)] = is_booked;
        state_.placed.mode[ix(op)] = x.mode;
        state_.placed.start[ix(op)] = state_.placed.work_end[ix(op)] = state_.placed.end[ix(op)] =
            state_.early[ix(op)] = x.start;
        state_.placed.batch[ix(op)] = -1;
        return;
    }
    std::copy(x.chosen.begin(), x.chosen.end(), fits_.choice.resources.begin());
    Tick length = m.work, quick = m.work;
    if (m.stages.size() > 0) {
        length = o.open && m.coupled ? 0 : fits_.length_of(o, m, x.chosen.front(), x.start, true);
        quick = m.coupled ? fits_.length_of(o, m, x.chosen.front(), x.start, false) : length;
        if (m.coupled && !o.open && plan_.baseline && plan_.all_on_time &&
            plan_.baseline->work_end[ix(op)] > x.start) {
            length = quick = plan_.baseline->work_end[ix(op)] - x.start;
            plan_.wet.push_back(op);
        }
    } else if (o.pausable) {
        const Tick end = fits_.pausing_end(m, x.chosen, x.start);
        length = quick = end >= never ? never : end - x.start;
    }
    if (length >= never) {
        failure_ = {Obstacle::Closed, core::OperationId{op}};
        stuck_ = true;
        return;
    }
    earliest_fit.work_end = x.start + length;
    earliest_fit.early = x.start + quick;
    fits_.choice.batch = -1;
    for (const auto& [number, open] : mates_) {
        if (x.batch >= 0 && number == x.batch) fits_.choice.batch = open;
    }
    bookings_.place(op, earliest_fit);
    if (x.batch >= 0 && fits_.choice.batch < 0 && state_.placed.batch[ix(op)] >= 0)
        mates_.emplace_back(x.batch, state_.placed.batch[ix(op)]);
}

// The floor was shut in at the moment of the plan: then whoever moves on is welcome.
bool Decoder::stuck_before(std::int32_t b) {
    const Block& block = problem_.blocks[ix(b)];
    if (block.begun > 0 && block.urgent) return true;  // it is inside and cannot wait
    if (!state_.shut_in) return false;
    for (const std::int32_t op : problem_.ops_of(block)) {
        const CompiledOperation& o = problem_.operations[ix(op)];
        for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
            const CompiledLag& l = problem_.in_rows[ix(k)];
            if (l.cross && l.hold && state_.is_placed[ix(l.from)]) return true;
        }
    }
    return false;
}

}  // namespace sched::engine
