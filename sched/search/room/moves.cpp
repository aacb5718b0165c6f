// The moves of the search over rooms. Most are aimed: they start from an order that is late (or
// ends last) in the present schedule and walk back along what held it up.

#include <algorithm>
#include <array>

#include "sched/core/index.hpp"
#include "sched/search/room/blocker.hpp"
#include "sched/search/room/point.hpp"

namespace sched::search {

namespace {

using engine::Tick;

int size_of(std::size_t n) {
    return static_cast<int>(n);
}

void shift(RoomPoint& p, const RoomView& v, std::int32_t unit, double by) {
    for (const std::int32_t b : v.units.blocks[ix(unit)])
        p.key[ix(b)] += by;
}

double mean_key(const RoomPoint& p, const RoomView& v, std::int32_t unit) {
    const auto& blocks = v.units.blocks[ix(unit)];
    double sum = 0.0;
    for (const std::int32_t b : blocks)
        sum += p.key[ix(b)];
    return sum / static_cast<double>(blocks.size());
}

std::int32_t any_unit(const RoomView& v, Rng& rng) {
    return rng.below(size_of(v.units.blocks.size()));
}

// The same between blocks.
struct WaitingBlock {
    std::int32_t block = -1, blocker = -1;
};

WaitingBlock waiting_block(const RoomView& v, Rng& rng) {
    const Waiting w = waiting_step(v, rng);
    if (!w.found()) return {};
    const auto& ops = v.problem.operations;
    std::int32_t block = ops[ix(w.op)].block, blocker = ops[ix(w.blocker)].block;
    // A pot that is not mixed yet holds up as well as a place.
    const auto& givers = v.units.givers[ix(block)];
    if (!givers.empty() && rng.below(8) == 0)
        blocker = givers[ix(rng.below(size_of(givers.size())))];
    if (block == blocker) return {};
    return {block, blocker};
}

// ---- the moves -------------------------------------------------------------------------------

bool block_before_blocker(RoomPoint& p, const RoomView& v, Rng& rng) {
    const WaitingBlock w = waiting_block(v, rng);
    if (w.block < 0) return false;
    if (rng.below(2) == 0) {
        p.key[ix(w.block)] = std::min(p.key[ix(w.block)], p.key[ix(w.blocker)] - 0.5);
    } else {
        p.key[ix(w.blocker)] = std::max(p.key[ix(w.blocker)], p.key[ix(w.block)] + 0.5);
    }
    return true;
}

bool unit_before_blocker(RoomPoint& p, const RoomView& v, Rng& rng) {
    const WaitingBlock w = waiting_block(v, rng);
    if (w.block < 0) return false;
    const double by = p.key[ix(w.block)] - p.key[ix(w.blocker)] + 0.5;
    if (by <= 0.0) return false;
    if (rng.below(2) == 0) {
        shift(p, v, v.units.unit_of[ix(w.block)], -by);
    } else {
        shift(p, v, v.units.unit_of[ix(w.blocker)], by);
    }
    return true;
}

bool order_before_blocker(RoomPoint& p, const RoomView& v, Rng& rng) {
    const WaitingBlock w = waiting_block(v, rng);
    if (w.block < 0) return false;
    const double by = p.key[ix(w.block)] - p.key[ix(w.blocker)] + 0.5;
    const bool ours = rng.below(2) == 0;
    const std::int32_t order = v.units.order[ix(v.units.unit_of[ix(ours ? w.block : w.blocker)])];
    if (order < 0 || by <= 0.0) return false;
    for (const std::int32_t u : v.units.of_order[ix(order)])
        shift(p, v, u, ours ? -by : by);
    return true;
}

bool unit_beside_unit(RoomPoint& p, const RoomView& v, Rng& rng) {
    const std::int32_t a = any_unit(v, rng), b = any_unit(v, rng);
    if (a == b) return false;
    shift(p, v, a, mean_key(p, v, b) - mean_key(p, v, a) + (rng.unit() - 0.5));
    return true;
}

bool unit_a_little(RoomPoint& p, const RoomView& v, Rng& rng) {
    shift(p, v, any_unit(v, rng), (rng.unit() - 0.5) * 0.2 * static_cast<double>(p.key.size()));
    return true;
}

bool units_swap(RoomPoint& p, const RoomView& v, Rng& rng) {
    const std::int32_t a = any_unit(v, rng), b = any_unit(v, rng);
    if (a == b) return false;
    const double by = mean_key(p, v, b) - mean_key(p, v, a);
    shift(p, v, a, by);
    shift(p, v, b, -by);
    return true;
}

bool order_shift(RoomPoint& p, const RoomView& v, Rng& rng) {
    const std::int32_t o = any_order(v, rng);
    if (o < 0) return false;
    const double by = (rng.unit() - 0.5) * 0.3 * static_cast<double>(p.key.size());
    for (const std::int32_t u : v.units.of_order[ix(o)])
        shift(p, v, u, by);
    return true;
}

// Every unit of one order goes beside the same unit of another: all that it is made of moves over.
bool order_beside_order(RoomPoint& p, const RoomView& v, Rng& rng) {
    const std::int32_t a = any_order(v, rng), b = any_order(v, rng);
    if (a < 0 || b < 0 || a == b) return false;
    const auto mean = [&](std::int32_t o) {
        double sum = 0.0;
        for (const std::int32_t u : v.units.of_order[ix(o)])
            sum += mean_key(p, v, u);
        return sum / static_cast<double>(v.units.of_order[ix(o)].size());
    };
    const double by = mean(b) - mean(a) + (rng.below(2) == 0 ? 0.5 : -0.5);
    for (const std::int32_t u : v.units.of_order[ix(a)])
        shift(p, v, u, by);
    return true;
}

// From some block on, a unit is more or less urgent.
bool tail_shift(RoomPoint& p, const RoomView& v, Rng& rng) {
    const auto& blocks = v.units.blocks[ix(any_unit(v, rng))];
    const double by = (rng.unit() - 0.5) * 0.3 * static_cast<double>(p.key.size());
    for (std::size_t k = ix(rng.below(size_of(blocks.size()))); k < blocks.size(); ++k)
        p.key[ix(blocks[k])] += by;
    return true;
}

bool block_anywhere(RoomPoint& p, const RoomView&, Rng& rng) {
    const int n = size_of(p.key.size());
    p.key[ix(rng.below(n))] = p.key[ix(rng.below(n))] + (rng.below(2) == 0 ? 0.5 : -0.5);
    return true;
}

bool look_ahead(RoomPoint& p, const RoomView&, Rng& rng) {
    constexpr std::array<Tick, 6> steps{-1, 0, 300, 900, 1800, 3600};
    const Tick next = steps[ix(rng.below(size_of(steps.size())))];
    if (next == p.genes.lookahead) return false;
    p.genes.lookahead = next;
    return true;
}

bool other_mode(RoomPoint& p, const RoomView& v, Rng& rng) {
    if (v.units.modal.empty()) return false;
    const std::int32_t op = v.units.modal[ix(rng.below(size_of(v.units.modal.size())))];
    if (p.genes.mode.empty()) p.genes.mode.assign(v.problem.operations.size(), -1);
    std::int16_t& mode = p.genes.mode[ix(op)];
    // -1, "the one that ends first", is one of the choices.
    mode = static_cast<std::int16_t>(rng.below(v.problem.operations[ix(op)].modes.size() + 1) - 1);
    return true;
}

bool other_choice(RoomPoint& p, const RoomView& v, Rng& rng) {
    if (v.units.choosers.empty()) return false;
    const std::int32_t op = v.units.choosers[ix(rng.below(size_of(v.units.choosers.size())))];
    if (p.genes.choice.empty()) p.genes.choice.assign(v.problem.operations.size(), 0);
    p.genes.choice[ix(op)] = static_cast<std::uint8_t>(rng.below(8));
    return true;
}

bool other_batch(RoomPoint& p, const RoomView& v, Rng& rng) {
    if (v.units.batched.empty()) return false;
    const std::int32_t op = v.units.batched[ix(rng.below(size_of(v.units.batched.size())))];
    if (p.genes.join.empty()) p.genes.join.assign(v.problem.operations.size(), 0);
    p.genes.join[ix(op)] ^= 1;
    return true;
}

// An operation shares its batch with one that begins about when it does, or with nobody.
bool other_waiting_batch(RoomPoint& p, const RoomView& v, Rng& rng) {
    constexpr Tick near = 3 * 3600;
    const auto& batched = v.units.batched;
    auto& waiting_batch = p.genes.waiting_batch;
    if (waiting_batch.empty()) waiting_batch.assign(v.problem.operations.size(), -1);
    std::int32_t op = batched[ix(rng.below(size_of(batched.size())))];
    if (const Waiting w = waiting_step(v, rng); w.found() && rng.below(2) == 0) {
        // One that waits for a place where batches go, or the one that has it.
        for (const std::int32_t i : {w.op, w.blocker}) {
            if (std::binary_search(batched.begin(), batched.end(), i) && rng.below(2) == 0) op = i;
        }
    }
    if (waiting_batch[ix(op)] >= 0 && rng.below(3) == 0) {
        const std::int32_t number = waiting_batch[ix(op)];
        const bool all = rng.below(2) == 0;
        for (const std::int32_t i : batched) {
            if (i == op || (all && waiting_batch[ix(i)] == number)) waiting_batch[ix(i)] = -1;
        }
        return true;
    }
    const auto& ops = v.problem.operations;
    std::int32_t mate = -1;
    int seen = 0;
    for (const std::int32_t i : batched) {
        const Tick apart = v.schedule.start[ix(i)] - v.schedule.start[ix(op)];
        if (ops[ix(i)].batch_family != ops[ix(op)].batch_family ||
            ops[ix(i)].block == ops[ix(op)].block || apart > near || apart < -near ||
            (waiting_batch[ix(op)] >= 0 && waiting_batch[ix(i)] == waiting_batch[ix(op)]))
            continue;
        if (rng.below(++seen) == 0) mate = i;
    }
    if (mate < 0) return false;
    // The mate comes along into the batch mates of the one, or founds one with it.
    if (waiting_batch[ix(op)] < 0) {
        const std::int32_t first = std::min(op, mate);
        for (const std::int32_t i : batched) {
            if (waiting_batch[ix(i)] == first) waiting_batch[ix(i)] = -1;
        }
        waiting_batch[ix(op)] = first;
    }
    waiting_batch[ix(mate)] = waiting_batch[ix(op)];
    return true;
}

// Two units with as many operations take each other's part: turn, waits, choices.
bool parts_swap(RoomPoint& p, const RoomView& v, Rng& rng) {
    const std::int32_t a = any_unit(v, rng), b = any_unit(v, rng);
    return swap_parts(p, v, a, b);
}

// From some unit on, each begins when the one so many before it is through one of its steps: fewer
// are under way at once, so what dries beside others dries sooner.
bool one_in_one_out(RoomPoint& p, const RoomView& v, Rng& rng) {
    const auto first = [&](std::int32_t u) {
        return v.problem.ops_of(v.problem.blocks[ix(v.units.blocks[ix(u)].front())]).front();
    };
    std::vector<std::int32_t> turn;
    for (std::size_t u = 0; u < v.units.blocks.size(); ++u) {
        if (v.units.order[u] >= 0) turn.push_back(static_cast<std::int32_t>(u));
    }
    if (turn.size() < 2) return false;
    std::stable_sort(turn.begin(), turn.end(), [&](std::int32_t a, std::int32_t b) {
        return v.schedule.start[ix(first(a))] < v.schedule.start[ix(first(b))];
    });
    const int apart = 1 + rng.below(std::min(4, size_of(turn.size()) - 1));
    const int begin = apart + rng.below(size_of(turn.size()) - apart);
    const int end = begin + 1 + rng.below(std::min(8, size_of(turn.size()) - begin));
    const int step = rng.below(8);
    p.genes.after.resize(v.problem.operations.size(), -1);
    bool changed = false;
    for (int k = begin; k < end; ++k) {
        const auto& blocks = v.units.blocks[ix(turn[ix(k - apart)])];
        const std::int32_t block = blocks[ix(std::min(step, size_of(blocks.size()) - 1))];
        const std::int32_t other = v.problem.ops_of(v.problem.blocks[ix(block)]).front();
        std::int32_t& after = p.genes.after[ix(first(turn[ix(k)]))];
        changed |= after != engine::after_end(other);
        after = engine::after_end(other);
    }
    return changed;
}

bool small(const RoomUnits& units) {
    return units.small;
}

constexpr std::array<RoomMove, 21> move_table{{
    {"one in, one out", 6, one_in_one_out, small},
    {"parts swap", 10, parts_swap, small},
    {"block before rival", 16, block_before_blocker},
    {"unit before rival", 16, unit_before_blocker},
    {"order before rival", 8, order_before_blocker},
    {"unit beside unit", 10, unit_beside_unit},
    {"unit a little", 6, unit_a_little},
    {"units swap", 6, units_swap},
    {"order shift", 6, order_shift},
    {"order beside order", 6, order_beside_order},
    {"tail shift", 4, tail_shift},
    {"block anywhere", 6, block_anywhere},
    {"rival waits", 10, blocker_waits},
    {"another hand", 10, another_hand},
    {"wait on purpose", 4, wait_on_purpose},
    {"fewer waits", 4, fewer_waits},
    {"look ahead", 2, look_ahead},
    {"other mode", 4, other_mode},
    {"other choice", 4, other_choice},
    {"other batch", 4, other_batch},
    {"other waiting batch", 6, other_waiting_batch,
     [](const RoomUnits& units) { return units.batched.size() > 1; }},
}};

}  // namespace

bool swap_parts(RoomPoint& p, const RoomView& v, std::int32_t a, std::int32_t b) {
    if (a == b) return false;
    const auto& x = v.units.blocks[ix(a)];
    const auto& y = v.units.blocks[ix(b)];
    if (x.size() != y.size()) return false;
    const auto ops = [&](std::int32_t block) {
        return v.problem.ops_of(v.problem.blocks[ix(block)]);
    };
    for (std::size_t k = 0; k < x.size(); ++k) {
        if (ops(x[k]).size() != ops(y[k]).size()) return false;
    }
    std::vector<std::pair<std::int32_t, std::int32_t>> pairs;
    for (std::size_t k = 0; k < x.size(); ++k) {
        std::swap(p.key[ix(x[k])], p.key[ix(y[k])]);
        for (std::size_t i = 0; i < ops(x[k]).size(); ++i)
            pairs.emplace_back(ops(x[k])[i], ops(y[k])[i]);
    }
    const auto swap_in = [&](auto& genes) {
        if (genes.empty()) return;
        for (const auto& [i, j] : pairs)
            std::swap(genes[ix(i)], genes[ix(j)]);
    };
    swap_in(p.genes.delay);
    swap_in(p.genes.earliest);
    swap_in(p.genes.choice);
    swap_in(p.after);
    swap_in(p.genes.after);
    for (auto& what : p.genes.after) {
        if (what < 0) continue;
        for (const auto& [i, j] : pairs) {
            if (engine::awaited(what) == i) {
                what = 2 * j + what % 2;
                break;
            }
            if (engine::awaited(what) == j) {
                what = 2 * i + what % 2;
                break;
            }
        }
    }
    for (auto& waits_for : p.after) {
        for (const auto& [i, j] : pairs) {
            if (waits_for == i) {
                waits_for = j;
                break;
            }
            if (waits_for == j) {
                waits_for = i;
                break;
            }
        }
    }
    return true;
}

bool unit_after_unit(RoomPoint& p, const RoomView& v, std::int32_t a, std::int32_t b, Rng& rng) {
    const auto first = [&](std::int32_t block) {
        return v.problem.ops_of(v.problem.blocks[ix(block)]).front();
    };
    const auto& blocks = v.units.blocks[ix(b)];
    const std::int32_t op = first(v.units.blocks[ix(a)].front());
    const std::int32_t other = first(blocks[ix(rng.below(size_of(blocks.size())))]);
    if (v.schedule.work_end[ix(other)] <= v.schedule.start[ix(op)]) return false;
    p.genes.after.resize(v.problem.operations.size(), -1);
    p.genes.after[ix(op)] = engine::after_end(other);
    return true;
}

std::span<const RoomMove> room_moves() {
    return move_table;
}

}  // namespace sched::search
