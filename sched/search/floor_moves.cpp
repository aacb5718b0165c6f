// The moves of the search over rooms. Most are aimed: they start from an order that is late (or
// ends last) in the present schedule and walk back along what held it up.

#include <algorithm>
#include <array>

#include "sched/search/floor_point.hpp"

namespace sched::search {

namespace {

using engine::CompiledLag;
using engine::CompiledOperation;
using engine::never;
using engine::Tick;

std::size_t ix(std::int32_t i) {
    return static_cast<std::size_t>(i);
}

int size_of(std::size_t n) {
    return static_cast<int>(n);
}

std::int32_t first_of(const FloorView& v, std::int32_t block) {
    return v.problem.ops_of(v.problem.blocks[ix(block)]).front();
}

void shift(FloorPoint& p, const FloorView& v, std::int32_t unit, double by) {
    for (const std::int32_t b : v.units.blocks[ix(unit)])
        p.key[ix(b)] += by;
}

double mean_key(const FloorPoint& p, const FloorView& v, std::int32_t unit) {
    const auto& blocks = v.units.blocks[ix(unit)];
    double sum = 0.0;
    for (const std::int32_t b : blocks)
        sum += p.key[ix(b)];
    return sum / static_cast<double>(blocks.size());
}

std::int32_t any_unit(const FloorView& v, Rng& rng) {
    return rng.below(size_of(v.units.blocks.size()));
}

std::int32_t any_order(const FloorView& v, Rng& rng) {
    for (int tries = 0; tries < 8; ++tries) {
        const std::int32_t o = rng.below(size_of(v.units.of_order.size()));
        if (!v.units.of_order[ix(o)].empty()) return o;
    }
    return -1;
}

// An order that costs: late ones by their weighted tardiness; if none is late, the one that ends
// last half of the time, else any.
std::int32_t costly_order(const FloorView& v, Rng& rng) {
    double sum = 0.0;
    const auto cost = [&](std::size_t k) {
        return v.completion[k] > v.problem.order_due[k]
                   ? static_cast<double>(v.problem.order_weight[k]) *
                         static_cast<double>(v.completion[k] - v.problem.order_due[k])
                   : 0.0;
    };
    for (std::size_t k = 0; k < v.completion.size(); ++k)
        sum += cost(k);
    if (sum > 0.0 && rng.below(8) > 0) {
        double left = rng.unit() * sum;
        std::int32_t last = -1;
        for (std::size_t k = 0; k < v.completion.size(); ++k) {
            if (cost(k) <= 0.0) continue;
            last = static_cast<std::int32_t>(k);
            left -= cost(k);
            if (left < 0.0) break;
        }
        return last;
    }
    if (v.completion.empty()) return -1;
    if (rng.below(2) == 0) return any_order(v, rng);
    return static_cast<std::int32_t>(std::max_element(v.completion.begin(), v.completion.end()) -
                                     v.completion.begin());
}

// The block of the order that ends last.
std::int32_t last_block(const FloorView& v, std::int32_t order) {
    std::int32_t best = -1;
    Tick end = -never;
    for (const std::int32_t u : v.units.of_order[ix(order)]) {
        for (const std::int32_t b : v.units.blocks[ix(u)]) {
            for (const std::int32_t op : v.problem.ops_of(v.problem.blocks[ix(b)])) {
                if (v.schedule.work_end[ix(op)] <= end) continue;
                end = v.schedule.work_end[ix(op)];
                best = b;
            }
        }
    }
    return best;
}

// When the block's own lags and release let it begin, and the block that set this (-1: none).
Tick ready(const FloorView& v, std::int32_t block, std::int32_t& by) {
    const CompiledOperation& o = v.problem.operations[ix(first_of(v, block))];
    Tick at = o.not_before;
    by = -1;
    for (std::int32_t k = o.lags_in.begin; k < o.lags_in.end; ++k) {
        const CompiledLag& l = v.problem.lags[ix(v.problem.lags_in[ix(k)])];
        if (!l.cross) continue;
        const Tick edge = l.edge == core::Edge::Start     ? v.schedule.start[ix(l.from)]
                          : l.edge == core::Edge::WorkEnd ? v.schedule.work_end[ix(l.from)]
                          : l.hold                        ? v.schedule.work_end[ix(l.from)]
                                                          : v.schedule.end[ix(l.from)];
        if (edge + l.min <= at) continue;
        at = edge + l.min;
        by = v.problem.operations[ix(l.from)].block;
    }
    return at;
}

// A block of another unit that shares a resource with `block`, went before it and was still at work
// when `block` could have begun. -1: none.
std::int32_t rival(const FloorView& v, std::int32_t block, Tick since, Rng& rng) {
    const Tick start = v.schedule.start[ix(first_of(v, block))];
    std::int32_t found = -1;
    int seen = 0;
    for (std::size_t c = 0; c < v.units.uses.size(); ++c) {
        if ((v.units.uses[c] & v.units.uses[ix(block)]) == 0) continue;
        if (v.units.unit_of[c] == v.units.unit_of[ix(block)]) continue;
        const auto ops = v.problem.ops_of(v.problem.blocks[c]);
        if (v.schedule.start[ix(ops.front())] >= start) continue;
        if (v.schedule.end[ix(ops.back())] <= since) continue;
        if (rng.below(++seen) == 0) found = static_cast<std::int32_t>(c);
    }
    return found;
}

struct Waiting {
    std::int32_t block = -1, rival = -1;
};

// Back from the end of a costly order along what held it up, to a block that waited for another.
Waiting waiting_block(const FloorView& v, Rng& rng) {
    const std::int32_t order = costly_order(v, rng);
    if (order < 0 || v.units.of_order[ix(order)].empty()) return {};
    std::int32_t b = last_block(v, order);
    if (rng.below(4) == 0) {  // not only the last screen of the order
        const auto& units = v.units.of_order[ix(order)];
        b = v.units.blocks[ix(units[ix(rng.below(size_of(units.size())))])].back();
    }
    Waiting found;
    for (int step = 0; step < 40 && b >= 0; ++step) {
        std::int32_t by = -1;
        const Tick since = ready(v, b, by);
        if (v.schedule.start[ix(first_of(v, b))] > since) {
            std::int32_t c = rival(v, b, since, rng);
            const auto& givers = v.units.givers[ix(b)];
            if (!givers.empty() && rng.below(4) == 0)
                c = givers[ix(rng.below(size_of(givers.size())))];
            if (c >= 0) {
                found = {b, c};
                if (rng.below(2) == 0) return found;
                if (rng.below(3) == 0) {
                    b = c;
                    continue;
                }
            }
        }
        b = by;
    }
    return found;
}

// ---- the moves -------------------------------------------------------------------------------

bool block_before_rival(FloorPoint& p, const FloorView& v, Rng& rng) {
    const Waiting w = waiting_block(v, rng);
    if (w.block < 0) return false;
    if (rng.below(2) == 0) {
        p.key[ix(w.block)] = std::min(p.key[ix(w.block)], p.key[ix(w.rival)] - 0.5);
    } else {
        p.key[ix(w.rival)] = std::max(p.key[ix(w.rival)], p.key[ix(w.block)] + 0.5);
    }
    return true;
}

bool unit_before_rival(FloorPoint& p, const FloorView& v, Rng& rng) {
    const Waiting w = waiting_block(v, rng);
    if (w.block < 0) return false;
    const double by = p.key[ix(w.block)] - p.key[ix(w.rival)] + 0.5;
    if (by <= 0.0) return false;
    if (rng.below(2) == 0) {
        shift(p, v, v.units.unit_of[ix(w.block)], -by);
    } else {
        shift(p, v, v.units.unit_of[ix(w.rival)], by);
    }
    return true;
}

bool order_before_rival(FloorPoint& p, const FloorView& v, Rng& rng) {
    const Waiting w = waiting_block(v, rng);
    if (w.block < 0) return false;
    const double by = p.key[ix(w.block)] - p.key[ix(w.rival)] + 0.5;
    const bool ours = rng.below(2) == 0;
    const std::int32_t order = v.units.order[ix(v.units.unit_of[ix(ours ? w.block : w.rival)])];
    if (order < 0 || by <= 0.0) return false;
    for (const std::int32_t u : v.units.of_order[ix(order)])
        shift(p, v, u, ours ? -by : by);
    return true;
}

bool unit_beside_unit(FloorPoint& p, const FloorView& v, Rng& rng) {
    const std::int32_t a = any_unit(v, rng), b = any_unit(v, rng);
    if (a == b) return false;
    shift(p, v, a, mean_key(p, v, b) - mean_key(p, v, a) + (rng.unit() - 0.5));
    return true;
}

bool unit_a_little(FloorPoint& p, const FloorView& v, Rng& rng) {
    shift(p, v, any_unit(v, rng), (rng.unit() - 0.5) * 0.2 * static_cast<double>(p.key.size()));
    return true;
}

bool units_swap(FloorPoint& p, const FloorView& v, Rng& rng) {
    const std::int32_t a = any_unit(v, rng), b = any_unit(v, rng);
    if (a == b) return false;
    const double by = mean_key(p, v, b) - mean_key(p, v, a);
    shift(p, v, a, by);
    shift(p, v, b, -by);
    return true;
}

bool order_shift(FloorPoint& p, const FloorView& v, Rng& rng) {
    const std::int32_t o = any_order(v, rng);
    if (o < 0) return false;
    const double by = (rng.unit() - 0.5) * 0.3 * static_cast<double>(p.key.size());
    for (const std::int32_t u : v.units.of_order[ix(o)])
        shift(p, v, u, by);
    return true;
}

// Every unit of one order goes beside the same unit of another: all that it is made of moves over.
bool order_beside_order(FloorPoint& p, const FloorView& v, Rng& rng) {
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
bool tail_shift(FloorPoint& p, const FloorView& v, Rng& rng) {
    const auto& blocks = v.units.blocks[ix(any_unit(v, rng))];
    const double by = (rng.unit() - 0.5) * 0.3 * static_cast<double>(p.key.size());
    for (std::size_t k = ix(rng.below(size_of(blocks.size()))); k < blocks.size(); ++k)
        p.key[ix(blocks[k])] += by;
    return true;
}

bool block_anywhere(FloorPoint& p, const FloorView&, Rng& rng) {
    const int n = size_of(p.key.size());
    p.key[ix(rng.below(n))] = p.key[ix(rng.below(n))] + (rng.below(2) == 0 ? 0.5 : -0.5);
    return true;
}

bool wait_on_purpose(FloorPoint& p, const FloorView& v, Rng& rng) {
    if (p.genes.delay.empty()) p.genes.delay.assign(v.problem.operations.size(), 0);
    // A rival of a costly order is the one that should wait; else somebody.
    const Waiting w = waiting_block(v, rng);
    const std::int32_t b =
        w.rival >= 0 && rng.below(4) > 0 ? w.rival : rng.below(size_of(p.key.size()));
    std::int32_t& delay = p.genes.delay[ix(first_of(v, b))];
    delay = delay > 0 ? 0 : 60 * (1 + rng.below(30));
    return true;
}

bool look_ahead(FloorPoint& p, const FloorView&, Rng& rng) {
    constexpr std::array<Tick, 6> steps{-1, 0, 300, 900, 1800, 3600};
    const Tick next = steps[ix(rng.below(size_of(steps.size())))];
    if (next == p.genes.lookahead) return false;
    p.genes.lookahead = next;
    return true;
}

bool other_mode(FloorPoint& p, const FloorView& v, Rng& rng) {
    if (v.units.modal.empty()) return false;
    const std::int32_t op = v.units.modal[ix(rng.below(size_of(v.units.modal.size())))];
    if (p.genes.mode.empty()) p.genes.mode.assign(v.problem.operations.size(), -1);
    std::int16_t& mode = p.genes.mode[ix(op)];
    // -1, "the one that ends first", is one of the choices.
    mode = static_cast<std::int16_t>(rng.below(v.problem.operations[ix(op)].modes.size() + 1) - 1);
    return true;
}

bool other_choice(FloorPoint& p, const FloorView& v, Rng& rng) {
    if (v.units.choosers.empty()) return false;
    const std::int32_t op = v.units.choosers[ix(rng.below(size_of(v.units.choosers.size())))];
    if (p.genes.choice.empty()) p.genes.choice.assign(v.problem.operations.size(), 0);
    p.genes.choice[ix(op)] = static_cast<std::uint8_t>(rng.below(8));
    return true;
}

bool other_batch(FloorPoint& p, const FloorView& v, Rng& rng) {
    if (v.units.batched.empty()) return false;
    const std::int32_t op = v.units.batched[ix(rng.below(size_of(v.units.batched.size())))];
    if (p.genes.join.empty()) p.genes.join.assign(v.problem.operations.size(), 0);
    p.genes.join[ix(op)] ^= 1;
    return true;
}

constexpr std::array<FloorMove, 15> move_table{{
    {"block before rival", 16, block_before_rival},
    {"unit before rival", 16, unit_before_rival},
    {"order before rival", 8, order_before_rival},
    {"unit beside unit", 10, unit_beside_unit},
    {"unit a little", 6, unit_a_little},
    {"units swap", 6, units_swap},
    {"order shift", 6, order_shift},
    {"order beside order", 6, order_beside_order},
    {"tail shift", 4, tail_shift},
    {"block anywhere", 6, block_anywhere},
    {"wait on purpose", 3, wait_on_purpose},
    {"look ahead", 2, look_ahead},
    {"other mode", 4, other_mode},
    {"other choice", 4, other_choice},
    {"other batch", 4, other_batch},
}};

}  // namespace

std::span<const FloorMove> floor_moves() {
    return move_table;
}

}  // namespace sched::search
