// How it works: blocks tied by lags to one job make a unit; the rank of a block is that of its
// key. Keys are renumbered after a move by inserting the few that moved into the order of last
// time.

#include "sched/search/room/point.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <numeric>

namespace sched::search {

namespace {

using engine::CompiledOperation;
using engine::CompiledProblem;

constexpr std::size_t kSmallBlocks = 64;
constexpr std::size_t kShiftsABlock = 3;  // that insertion may cost; sorting costs some 9

}  // namespace

RoomUnits::RoomUnits(const CompiledProblem& p) {
    const std::size_t n = p.blocks.size();
    of_order.resize(p.order_due.size());
    unit_of.assign(n, -1);
    uses.assign(n, 0);
    givers.resize(n);
    // Blocks of no job: tied by lags among themselves.
    std::vector<std::int32_t> group(n);
    std::iota(group.begin(), group.end(), 0);
    const auto root = [&](std::int32_t x) {
        while (group[ix(x)] != x)
            x = group[ix(x)];
        return x;
    };
    for (const auto& lag : p.lags) {
        const auto& from = p.operations[ix(lag.from)];
        const auto& to = p.operations[ix(lag.to)];
        if (from.job >= 0 || to.job >= 0) continue;
        const std::int32_t x = root(from.block), y = root(to.block);
        group[ix(std::max(x, y))] = std::min(x, y);
    }
    std::vector<std::int32_t> of_job(p.problem.jobs.size(), -1), of_group(n, -1);
    for (std::size_t b = 0; b < n; ++b) {
        const auto block = static_cast<std::int32_t>(b);
        const CompiledOperation& first = p.operations[ix(p.ops_of(p.blocks[b]).front())];
        std::int32_t& unit = first.job >= 0 ? of_job[ix(first.job)] : of_group[ix(root(block))];
        if (unit < 0) {
            unit = static_cast<std::int32_t>(blocks.size());
            blocks.emplace_back();
            order.push_back(first.order);
            if (first.order >= 0) of_order[ix(first.order)].push_back(unit);
        }
        blocks[ix(unit)].push_back(block);
        unit_of[b] = unit;
    }
    std::vector<std::vector<std::int32_t>> fills(p.stores.size());
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const CompiledOperation& o = p.operations[i];
        const auto op = static_cast<std::int32_t>(i);
        for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
            for (std::int32_t k = p.modes[ix(m)].needs.begin; k < p.modes[ix(m)].needs.end; ++k) {
                const auto any = p.needs[ix(k)].any_of;
                for (std::int32_t c = any.begin; c < any.end; ++c) {
                    uses[ix(o.block)] |= std::uint64_t{1} << (p.candidates[ix(c)] % 64);
                }
                if (any.size() > 1 && (choosers.empty() || choosers.back() != op))
                    choosers.push_back(op);
            }
        }
        if (o.modes.size() > 1) modal.push_back(op);
        if (o.batch_family >= 0 && p.batches) batched.push_back(op);
        for (std::int32_t g = o.gives.begin; g < o.gives.end; ++g)
            fills[ix(p.gives[ix(g)].store)].push_back(o.block);
    }
    for (const CompiledOperation& o : p.operations) {
        for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t) {
            const auto any = p.takes[ix(t)].any_of;
            for (std::int32_t s = any.begin; s < any.end; ++s) {
                auto& list = givers[ix(o.block)];
                const auto& from = fills[ix(p.take_stores[ix(s)])];
                list.insert(list.end(), from.begin(), from.end());
            }
        }
    }
    small = p.coupled && n <= kSmallBlocks;
    find_spare(p);
}

// What everybody would have to do if each operation were shared out evenly among those who may; an
// operation then asks first the one with the least.
void RoomUnits::find_spare(const CompiledProblem& p) {
    std::vector<double> wanted(p.resources.size(), 0.0);
    const auto each_need = [&](auto body) {
        for (std::size_t i = 0; i < p.operations.size(); ++i) {
            const auto modes = p.operations[i].modes;
            if (modes.size() == 0) continue;
            const auto& m = p.modes[ix(modes.begin)];
            for (std::int32_t k = m.needs.begin; k < m.needs.end; ++k)
                body(i, static_cast<double>(m.work), p.needs[ix(k)].any_of);
        }
    };
    each_need([&](std::size_t, double work, engine::Range any) {
        for (std::int32_t c = any.begin; c < any.end; ++c)
            wanted[ix(p.candidates[ix(c)])] += work / any.size();
    });
    spare.assign(p.operations.size(), 0);
    each_need([&](std::size_t i, double, engine::Range any) {
        if (any.size() < 2) return;
        std::int32_t best = any.begin;
        for (std::int32_t c = any.begin; c < any.end; ++c) {
            if (wanted[ix(p.candidates[ix(c)])] < wanted[ix(p.candidates[ix(best)])]) best = c;
        }
        spare[i] = static_cast<std::uint8_t>(std::min<std::int32_t>(255, best - any.begin));
    });
}

void blocks_in_turn(const RoomPoint& point, std::vector<std::int32_t>& turn) {
    const auto before = [&](std::int32_t a, std::int32_t b) {
        const double x = point.key[ix(a)], y = point.key[ix(b)];
        return x != y ? x < y : a < b;
    };
    const std::size_t n = point.key.size();
    if (turn.size() != n) {
        turn.resize(n);
        std::iota(turn.begin(), turn.end(), 0);
    }
    // A move leaves most where they were last time: insertion, as long as that is less work.
    std::size_t left = kShiftsABlock * n;
    for (std::size_t i = 1; i < n; ++i) {
        const std::int32_t block = turn[i];
        std::size_t at = i;
        for (; at > 0 && before(block, turn[at - 1]) && left > 0; --at, --left)
            turn[at] = turn[at - 1];
        turn[at] = block;
        if (left > 0) continue;
        std::sort(turn.begin(), turn.end(), before);
        return;
    }
}

void renumber(RoomPoint& point, std::vector<std::int32_t>& turn) {
    blocks_in_turn(point, turn);
    for (std::size_t k = 0; k < turn.size(); ++k)
        point.key[ix(turn[k])] = static_cast<double>(k);
}

void to_sequence(const CompiledProblem& problem, const RoomPoint& point,
                 const std::vector<std::int32_t>& turn, engine::Sequence& sequence) {
    sequence.delay = point.genes.delay;
    sequence.earliest = point.genes.earliest;
    sequence.after = point.genes.after;
    sequence.waits_inside = point.genes.waits_inside;
    sequence.mode = point.genes.mode;
    sequence.choice = point.genes.choice;
    sequence.join = point.genes.join;
    sequence.waiting_batch = point.genes.waiting_batch;
    sequence.lookahead = point.genes.lookahead;
    sequence.rank.resize(problem.operations.size());
    for (std::size_t k = 0; k < turn.size(); ++k) {
        for (const std::int32_t op : problem.ops_of(problem.blocks[ix(turn[k])]))
            sequence.rank[ix(op)] = static_cast<std::int32_t>(k);
    }
}

RoomPoint to_point(const CompiledProblem& problem, const engine::Sequence& sequence) {
    RoomPoint point;
    point.genes = sequence;
    point.genes.rank.clear();
    point.key.resize(problem.blocks.size());
    for (std::size_t b = 0; b < problem.blocks.size(); ++b)
        point.key[b] = sequence.rank[ix(problem.ops_of(problem.blocks[b]).front())];
    std::vector<std::int32_t> turn;
    renumber(point, turn);
    return point;
}

}  // namespace sched::search
