// How it works: the schedule is read as the lists in which places and people take their
// operations. A move changes one list, or one operation's place in it, and the retimer gives
// all that follows its earliest start again, in passes over one list of all operations until
// nothing is pushed any more. The result is rough where drying depends on the load: the decoder
// has the last word.

#include "sched/search/room/graph.hpp"

#include <algorithm>
#include <array>
#include <numeric>

#include "sched/core/index.hpp"
#include "sched/search/room/blocker.hpp"

namespace sched::search {

namespace {

using engine::CompiledLag;
using engine::CompiledOperation;
using engine::never;
using engine::Tick;

constexpr int kPasses = 40;          // until what maximum lags push later stands still
constexpr int kMostLanes = 64;       // of one resource; more are taken for plenty
constexpr std::size_t kStride = 16;  // so many operations from one saved state to the next

class Retimer {
public:
    explicit Retimer(const RoomView& v)
        : v_(v), p_(v.problem), n_(p_.operations.size()), chosen_(v.schedule.chosen) {
        position_.resize(n_);
        for (std::size_t k = 0; k < n_; ++k)
            position_[ix(p_.block_operations[k])] = static_cast<std::int32_t>(k);
        list_.resize(n_);
        std::iota(list_.begin(), list_.end(), 0);
        std::sort(list_.begin(), list_.end(), [&](std::int32_t a, std::int32_t b) {
            const Tick x = v.schedule.start[ix(a)], y = v.schedule.start[ix(b)];
            return x != y ? x < y : position_[ix(a)] < position_[ix(b)];
        });
        before_ = list_;
    }

    const engine::CompiledMode& mode_of(std::int32_t op) const {
        return p_.modes[ix(p_.operations[ix(op)].modes.begin + v_.schedule.mode[ix(op)])];
    }

    /// `first`, and what has to come before it, goes right before `second`.
    bool before(std::int32_t first, std::int32_t second) {
        const auto at = std::find(list_.begin(), list_.end(), second);
        std::vector<char> moves(n_, 0);
        moves[ix(first)] = 1;
        std::vector<std::int32_t> todo{first}, moved;
        std::vector<std::int32_t> where(n_);
        for (std::size_t k = 0; k < n_; ++k)
            where[ix(list_[k])] = static_cast<std::int32_t>(k);
        const std::int32_t limit = where[ix(second)];
        if (where[ix(first)] < limit) return false;
        while (!todo.empty()) {
            const std::int32_t op = todo.back();
            todo.pop_back();
            moved.push_back(op);
            const CompiledOperation& o = p_.operations[ix(op)];
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
                const std::int32_t from = p_.lags[ix(p_.lags_in[ix(k)])].from;
                if (from == second) return false;
                if (moves[ix(from)] || where[ix(from)] < limit) continue;
                moves[ix(from)] = 1;
                todo.push_back(from);
            }
        }
        std::sort(moved.begin(), moved.end(),
                  [&](std::int32_t a, std::int32_t b) { return where[ix(a)] < where[ix(b)]; });
        std::vector<std::int32_t> next(list_.begin(), at);
        next.insert(next.end(), moved.begin(), moved.end());
        for (auto k = at; k != list_.end(); ++k) {
            if (!moves[ix(*k)]) next.push_back(*k);
        }
        list_ = std::move(next);
        return true;
    }

    /// The operation, which has `from`, could have `to` in its place.
    bool may_use(std::int32_t op, std::int32_t from, std::int32_t to) const {
        const auto& needs = mode_of(op).needs;
        for (std::int32_t k = needs.begin; k < needs.end; ++k) {
            const auto any = p_.needs[ix(k)].any_of;
            const auto* first = p_.candidates.data() + any.begin;
            const auto* last = p_.candidates.data() + any.end;
            if (std::find(first, last, from) != last && std::find(first, last, to) != last)
                return true;
        }
        return false;
    }

    /// The operation uses `to` instead of `from`.
    void hand_over(std::int32_t op, std::int32_t from, std::int32_t to) {
        const std::int32_t at = p_.operations[ix(op)].chosen;
        for (std::int32_t k = 0; k < mode_of(op).needs.size(); ++k) {
            if (chosen_[ix(at + k)] == from) chosen_[ix(at + k)] = to;
        }
    }

    /// The operation and all of its unit that start later move by so much; what of the unit comes
    /// before them and would come after, with them. Whoever is free first takes them, if `free`.
    void shift(std::int32_t op, Tick by, bool free) {
        std::vector<Tick> key = v_.schedule.start;
        greedy_.assign(n_, 0);
        const std::int32_t unit = v_.units.unit_of[ix(p_.operations[ix(op)].block)];
        for (const std::int32_t b : v_.units.blocks[ix(unit)]) {
            for (const std::int32_t i : p_.ops_of(p_.blocks[ix(b)])) {
                if (v_.schedule.start[ix(i)] < v_.schedule.start[ix(op)]) continue;
                key[ix(i)] += by;
                greedy_[ix(i)] = free;
            }
        }
        for (const std::int32_t i : p_.block_operations) {
            const CompiledOperation& o = p_.operations[ix(i)];
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k)
                key[ix(i)] = std::max(key[ix(i)], key[ix(p_.lags[ix(p_.lags_in[ix(k)])].from)]);
        }
        std::sort(list_.begin(), list_.end(), [&](std::int32_t a, std::int32_t b) {
            const Tick x = key[ix(a)], y = key[ix(b)];
            return x != y ? x < y : position_[ix(a)] < position_[ix(b)];
        });
    }

    bool run() {
        floor_.assign(n_, -never);
        for (std::size_t k = 0; k < n_ && !changed(k); ++k)
            floor_[ix(list_[k])] = v_.schedule.start[ix(list_[k])];
        start_.assign(n_, 0);
        end_.assign(n_, 0);
        where_.resize(n_);
        for (std::size_t k = 0; k < n_; ++k)
            where_[ix(list_[k])] = k;
        places_.assign(p_.resources.size(), Place{});
        saved_.resize((n_ / kStride + 1) * places_.size());
        first_lane_.assign(p_.resources.size(), -1);
        std::int32_t lanes = 0;
        for (std::size_t r = 0; r < p_.resources.size(); ++r) {
            const auto& c = p_.resources[r];
            if (c.capacity < 2 || c.capacity > kMostLanes || c.has_batch) continue;
            first_lane_[r] = lanes;
            lanes += c.capacity;
        }
        lanes_.assign(ix(lanes), -never);
        saved_lanes_.resize((n_ / kStride + 1) * lanes_.size());
        again_ = 0;
        for (int k = 0; k < kPasses && again_ < n_; ++k)
            pass(again_);
        return again_ >= n_;
    }

    void write(RoomPoint& point) const {
        point.after.clear();
        point.genes.waiting_batch.clear();  // the waits say it all
        point.genes.waits_inside = true;
        point.genes.delay.clear();
        point.genes.after.clear();
        point.genes.earliest = start_;
        point.genes.choice.assign(n_, 0);
        point.genes.mode.assign(n_, -1);
        point.genes.lookahead = -1;
        for (std::size_t i = 0; i < n_; ++i) {
            const CompiledOperation& o = p_.operations[i];
            if (o.modes.size() > 1) point.genes.mode[i] = v_.schedule.mode[i];
            const auto& needs = mode_of(static_cast<std::int32_t>(i)).needs;
            for (std::int32_t k = 0; k < needs.size(); ++k) {
                const auto any = p_.needs[ix(needs.begin + k)].any_of;
                for (std::int32_t q = 0; q < any.size(); ++q) {
                    if (q > 0 && q < 256 &&
                        p_.candidates[ix(any.begin + q)] == chosen_[ix(o.chosen + k)])
                        point.genes.choice[i] = static_cast<std::uint8_t>(q);
                }
            }
        }
        for (std::size_t k = n_; k-- > 0;)
            point.key[ix(p_.operations[ix(list_[k])].block)] = static_cast<double>(k);
    }

private:
    /// What goes on at a place, or with a person, up to the operation under work.
    struct Place {
        Tick free = -never;
        Tick batch_start = -never;
        std::int32_t batch = -1;   // the last one here
        std::int32_t opener = -1;  // its first operation
    };

    /// Here the order, or who does it, is another than in the schedule; all before stays as it is.
    bool changed(std::size_t k) const {
        const std::int32_t op = list_[k];
        if (op != before_[k] || (!greedy_.empty() && greedy_[ix(op)])) return true;
        const std::int32_t at = p_.operations[ix(op)].chosen;
        for (std::int32_t n = 0; n < mode_of(op).needs.size(); ++n) {
            if (chosen_[ix(at + n)] != v_.schedule.chosen[ix(at + n)]) return true;
        }
        return false;
    }

    /// Somebody who has been timed has to start at `t` or later: another pass from there.
    void push(std::int32_t op, Tick t) {
        floor_[ix(op)] = std::max(floor_[ix(op)], t);
        again_ = std::min(again_, where_[ix(op)]);
    }

    /// Times every operation of the list from `first` on, which is where the next pass begins again
    /// (n_: nothing was pushed).
    void pass(std::size_t first) {
        first -= first % kStride;
        again_ = n_;
        const auto width = static_cast<std::ptrdiff_t>(places_.size());
        const auto saved = [&](std::size_t k) {
            return saved_.begin() + static_cast<std::ptrdiff_t>(k / kStride) * width;
        };
        const auto lanes = static_cast<std::ptrdiff_t>(lanes_.size());
        const auto saved_lanes = [&](std::size_t k) {
            return saved_lanes_.begin() + static_cast<std::ptrdiff_t>(k / kStride) * lanes;
        };
        if (first > 0) {
            std::copy_n(saved(first), width, places_.begin());
            std::copy_n(saved_lanes(first), lanes, lanes_.begin());
        } else {
            places_.assign(places_.size(), Place{});
            lanes_.assign(lanes_.size(), -never);
        }
        for (std::size_t at = first; at < n_; ++at) {
            if (at % kStride == 0) {
                std::copy_n(places_.begin(), width, saved(at));
                std::copy_n(lanes_.begin(), lanes, saved_lanes(at));
            }
            const std::int32_t op = list_[at];
            const auto i = ix(op);
            const CompiledOperation& o = p_.operations[i];
            const CompiledLag* const in = p_.in_rows.data();
            Tick t = o.not_before;
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k)
                t = std::max(t, edge(in[k]) + in[k].min);
            const Tick length = v_.schedule.work_end[i] - v_.schedule.start[i];
            if (!greedy_.empty() && greedy_[i]) pick(op);
            const std::int32_t with = batch_place(op);
            t = fit(op, std::max(t, floor_[i]), length, with);
            // The batch that it goes into begins when it can.
            if (with >= 0 && t > places_[ix(with)].batch_start) push(places_[ix(with)].opener, t);
            start_[i] = t;
            end_[i] = t + length;
            take(op, with);
            for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
                const CompiledLag& l = in[k];
                const auto from = ix(l.from);
                if (l.max >= never) continue;
                if (l.hold || (l.edge == core::Edge::End && p_.operations[from].stretch >= never)) {
                    hold(l.from, t);
                    continue;
                }
                Tick over = t - edge(l) - l.max;
                if (over <= 0) continue;
                // It stands for as long as it may, and begins later by the rest.
                if (l.edge == core::Edge::End && p_.operations[from].stretch > 0) {
                    const Tick stands = std::min(over, p_.operations[from].stretch);
                    over -= stands;
                    hold(l.from, end_[from] + stands);
                }
                if (over > 0) push(l.from, start_[from] + over);
            }
        }
    }

    /// The place where its batch has begun and goes on; -1: none.
    std::int32_t batch_place(std::int32_t op) const {
        const std::int32_t batch = v_.schedule.batch[ix(op)];
        if (batch < 0) return -1;
        const std::int32_t at = p_.operations[ix(op)].chosen;
        for (std::int32_t k = 0; k < mode_of(op).needs.size(); ++k) {
            const std::int32_t r = chosen_[ix(at + k)];
            if (p_.resources[ix(r)].has_batch) return places_[ix(r)].batch == batch ? r : -1;
        }
        return -1;
    }

    void pick(std::int32_t op) {
        const auto& needs = mode_of(op).needs;
        const std::int32_t at = p_.operations[ix(op)].chosen;
        for (std::int32_t k = 0; k < needs.size(); ++k) {
            const auto any = p_.needs[ix(needs.begin + k)].any_of;
            std::int32_t& mine = chosen_[ix(at + k)];
            if (any.size() < 2 || !counts(mine)) continue;
            for (std::int32_t q = any.begin; q < any.end; ++q) {
                const std::int32_t r = p_.candidates[ix(q)];
                const auto taken = [&](std::int32_t e) { return chosen_[ix(at + e)] == r; };
                bool other = false;
                for (std::int32_t e = 0; e < needs.size(); ++e)
                    other = other || (e != k && taken(e));
                if (!other && places_[ix(r)].free < places_[ix(mine)].free) mine = r;
            }
        }
    }

    Tick edge(const CompiledLag& l) const {
        return l.edge == core::Edge::Start ? start_[ix(l.from)] : end_[ix(l.from)];
    }

    bool counts(std::int32_t r) const {
        const auto& c = p_.resources[ix(r)];
        return c.capacity == 1 || c.has_batch;
    }

    Tick fit(std::int32_t op, Tick t, Tick length, std::int32_t with) const {
        const CompiledOperation& o = p_.operations[ix(op)];
        const std::int32_t size = mode_of(op).needs.size();
        const std::int32_t batch = with < 0 ? -1 : v_.schedule.batch[ix(op)];
        if (with >= 0) t = std::max(t, places_[ix(with)].batch_start);
        for (int rounds = 0; rounds < 20; ++rounds) {
            const Tick before = t;
            for (std::int32_t k = 0; k < size; ++k) {
                const std::int32_t r = chosen_[ix(o.chosen + k)];
                const auto& c = p_.resources[ix(r)];
                if (length <= 0 && !c.has_batch) continue;
                // Who minds the batch minds all of it.
                const Place& place = places_[ix(r)];
                if (counts(r) && (batch < 0 || place.batch != batch)) t = std::max(t, place.free);
                if (first_lane_[ix(r)] >= 0)
                    t = std::max(t,
                                 lanes_free(r, p_.needs[ix(mode_of(op).needs.begin + k)].amount));
                if (!c.has_calendar || o.happened) continue;
                const Tick open = o.pausable ? 1 : length;
                for (std::int32_t w = c.windows.begin; w < c.windows.end; ++w) {
                    const auto& window = p_.windows[ix(w)];
                    if (window.to < std::max(t, window.from) + open) continue;
                    t = std::max(t, window.from);
                    break;
                }
            }
            if (t == before) break;
        }
        return t;
    }

    void take(std::int32_t op, std::int32_t with) {
        const auto i = ix(op);
        const std::int32_t at = p_.operations[i].chosen;
        const std::int32_t batch = v_.schedule.batch[i];
        for (std::int32_t k = 0; k < mode_of(op).needs.size(); ++k) {
            const std::int32_t r = chosen_[ix(at + k)];
            if (first_lane_[ix(r)] >= 0 && end_[i] > start_[i])
                take_lanes(r, p_.needs[ix(mode_of(op).needs.begin + k)].amount, start_[i], end_[i]);
            if (!counts(r)) continue;
            Place& place = places_[ix(r)];
            place.free = std::max(place.free, end_[i]);
            if (with < 0 && p_.resources[ix(r)].has_batch) {
                place.batch_start = start_[i];
                place.opener = op;
            }
            place.batch = batch;
        }
    }

    /// It stands where it is until then.
    void hold(std::int32_t op, Tick until) {
        const auto& needs = mode_of(op).needs;
        for (std::int32_t k = 0; k < needs.size(); ++k) {
            const std::int32_t r = chosen_[ix(p_.operations[ix(op)].chosen + k)];
            if (!p_.needs[ix(needs.begin + k)].whole) continue;
            if (counts(r)) places_[ix(r)].free = std::max(places_[ix(r)].free, until);
            if (first_lane_[ix(r)] < 0 || until <= end_[ix(op)]) continue;
            // Lanes are alike: those that come free when it ends.
            Tick* const lane = lanes_.data() + first_lane_[ix(r)];
            std::int32_t left = p_.needs[ix(needs.begin + k)].amount;
            for (std::int32_t c = 0; c < p_.resources[ix(r)].capacity && left > 0; ++c) {
                if (lane[c] != end_[ix(op)]) continue;
                lane[c] = until;
                --left;
            }
        }
    }

    /// When `amount` units of a resource are free together, each unit taken in turn.
    Tick lanes_free(std::int32_t r, std::int32_t amount) const {
        const Tick* const lane = lanes_.data() + first_lane_[ix(r)];
        const std::int32_t capacity = p_.resources[ix(r)].capacity;
        if (amount == 1) return *std::min_element(lane, lane + capacity);
        std::array<Tick, kMostLanes> sorted{};
        std::copy_n(lane, capacity, sorted.begin());
        const auto nth = sorted.begin() + (std::min(amount, capacity) - 1);
        std::nth_element(sorted.begin(), nth, sorted.begin() + capacity);
        return *nth;
    }

    /// Those that have been free for the shortest time.
    void take_lanes(std::int32_t r, std::int32_t amount, Tick start, Tick end) {
        Tick* const lane = lanes_.data() + first_lane_[ix(r)];
        for (; amount > 0; --amount) {
            std::int32_t best = -1;
            for (std::int32_t c = 0; c < p_.resources[ix(r)].capacity; ++c) {
                if (lane[c] <= start && (best < 0 || lane[c] > lane[best])) best = c;
            }
            if (best < 0) return;
            lane[best] = end;
        }
    }

    const RoomView& v_;
    const engine::CompiledProblem& p_;
    std::size_t n_;
    std::vector<std::int32_t> chosen_, position_, list_, before_;
    std::vector<std::size_t> where_;  // per operation, in list_
    std::vector<char> greedy_;
    std::vector<Tick> start_, end_, floor_;
    std::vector<Place> places_, saved_;  // per resource; the same at every kStride-th operation
    // Of resources with room for several: per unit, when it is free.
    std::vector<std::int32_t> first_lane_;  // per resource; -1: not counted
    std::vector<Tick> lanes_, saved_lanes_;
    std::size_t again_ = 0;  // first in list_ that was pushed; n_: none
};

// Somebody else than `resource` who may do it; -1: nobody.
std::int32_t another(const RoomView& v, const Retimer& timer, std::int32_t op,
                     std::int32_t resource, Rng& rng) {
    const auto& needs = timer.mode_of(op).needs;
    for (std::int32_t k = needs.begin; k < needs.end; ++k) {
        const auto any = v.problem.needs[ix(k)].any_of;
        if (any.size() < 2) continue;
        for (std::int32_t q = 0; q < any.size(); ++q) {
            if (v.problem.candidates[ix(any.begin + q)] != resource) continue;
            const std::int32_t other = (q + 1 + rng.below(any.size() - 1)) % any.size();
            return v.problem.candidates[ix(any.begin + other)];
        }
    }
    return -1;
}

// What `op` chose among several, or just has; -1: nothing.
std::int32_t had(const RoomView& v, const Retimer& timer, std::int32_t op, Rng& rng) {
    const std::int32_t size = timer.mode_of(op).needs.size();
    return size == 0 ? -1
                     : v.schedule.chosen[ix(v.problem.operations[ix(op)].chosen + rng.below(size))];
}

// One change of the order, not yet timed.
bool reorder(Retimer& timer, const RoomView& v, Rng& rng) {
    const int what = rng.below(16);
    const Waiting w = waiting_step(v, rng);
    if (what < 6) {  // the one that waits goes first
        if (!w.found()) return false;
        // It takes what the other had, if it took something else of the same kind.
        const auto& needs = timer.mode_of(w.op).needs;
        for (std::int32_t k = needs.begin; k < needs.end; ++k) {
            const auto any = v.problem.needs[ix(k)].any_of;
            const std::int32_t mine =
                v.schedule.chosen[ix(v.problem.operations[ix(w.op)].chosen + k - needs.begin)];
            for (std::int32_t q = any.begin; q < any.end; ++q) {
                if (v.problem.candidates[ix(q)] != w.resource || mine == w.resource) continue;
                timer.hand_over(w.op, mine, w.resource);
                // The other then often takes what this one had.
                if (rng.below(2) == 0 && timer.may_use(w.blocker, w.resource, mine))
                    timer.hand_over(w.blocker, w.resource, mine);
            }
        }
        if (!timer.before(w.op, w.blocker)) return false;
    } else if (what < 8) {  // one of the two goes to somebody else
        if (!w.found()) return false;
        const std::int32_t op = rng.below(2) == 0 ? w.blocker : w.op;
        const std::int32_t has = op == w.blocker ? w.resource : had(v, timer, op, rng);
        const std::int32_t other = has < 0 ? -1 : another(v, timer, op, has, rng);
        if (other < 0) return false;
        timer.hand_over(op, has, other);
    } else if (what < 12) {  // a screen from some step on takes the turn of another
        const int n = static_cast<int>(v.problem.operations.size());
        const std::int32_t op =
            w.found() && rng.below(2) == 0 ? (rng.below(2) == 0 ? w.op : w.blocker) : rng.below(n);
        const std::int32_t other = rng.below(n);
        const Tick by = v.schedule.start[ix(other)] - v.schedule.start[ix(op)];
        if (by == 0) return false;
        timer.shift(op, by + (by > 0 ? 1 : -1), rng.below(2) == 0);
    } else {  // any one goes before who had the same before it, or to somebody else
        const std::int32_t op = rng.below(static_cast<int>(v.problem.operations.size()));
        const std::int32_t has = had(v, timer, op, rng);
        if (has < 0) return false;
        if (rng.below(2) == 0) {
            const std::int32_t other = another(v, timer, op, has, rng);
            if (other < 0) return false;
            timer.hand_over(op, has, other);
        } else {
            std::int32_t last = -1;
            for (std::size_t c = 0; c < v.problem.operations.size(); ++c) {
                const auto& o = v.problem.operations[c];
                if (v.schedule.start[c] >= v.schedule.start[ix(op)]) continue;
                const std::int32_t size = timer.mode_of(static_cast<std::int32_t>(c)).needs.size();
                for (std::int32_t k = 0; k < size; ++k) {
                    if (v.schedule.chosen[ix(o.chosen + k)] == has &&
                        (last < 0 || v.schedule.start[c] > v.schedule.start[ix(last)]))
                        last = static_cast<std::int32_t>(c);
                }
            }
            if (last < 0 || !timer.before(op, last)) return false;
        }
    }
    return true;
}

}  // namespace

bool as_graph(RoomPoint& point, const RoomView& v) {
    Retimer timer(v);
    if (!timer.run()) return false;
    timer.write(point);
    return true;
}

bool graph_move(RoomPoint& point, const RoomView& v, Rng& rng) {
    Retimer timer(v);
    // Mostly one change; what two or three together reach, one after the other may not.
    bool changed = reorder(timer, v, rng);
    while (rng.below(3) == 0)
        changed = reorder(timer, v, rng) || changed;
    if (!changed || !timer.run()) return false;
    timer.write(point);
    return true;
}

}  // namespace sched::search
