#include "sched/engine/decode/waiting_batches.hpp"

#include <algorithm>

namespace sched::engine {

void WaitingBatches::gather(const CompiledProblem& problem, const Sequence& sequence,
                            const Turns& turns) {
    groups_.clear();
    members_.clear();
    group_of_.clear();
    if (sequence.waiting_batch.empty() || !problem.batches) return;
    rows_.clear();
    for (std::size_t i = 0; i < sequence.waiting_batch.size(); ++i) {
        const CompiledOperation& o = problem.operations[i];
        if (sequence.waiting_batch[i] < 0 || o.batch_family < 0 || o.open || o.coupled || o.fixed ||
            problem.blocks[ix(o.block)].urgent || problem.blocks[ix(o.block)].begun > 0)
            continue;
        const auto ops = problem.ops_of(problem.blocks[ix(o.block)]);
        const auto first = std::find_if(ops.begin(), ops.end(), [&](std::int32_t op) {
            return problem.operations[ix(op)].batch_family >= 0;
        });
        if (*first != static_cast<std::int32_t>(i)) continue;
        rows_.push_back({sequence.waiting_batch[i], static_cast<std::int32_t>(i), o.block});
    }
    if (rows_.size() < 2) return;
    group_of_.assign(problem.blocks.size(), -1);
    sharer_.resize(problem.blocks.size());
    // A screen may be loaded, exposed and unloaded in batches of their own: all of that counts.
    const auto work = [&](const Member& x) {
        Tick sum = 0;
        for (const std::int32_t op : problem.ops_of(problem.blocks[ix(x.block)])) {
            const CompiledOperation& o = problem.operations[ix(op)];
            if (o.batch_family >= 0) sum += problem.modes[ix(o.modes.begin)].work;
        }
        return sum;
    };
    std::sort(rows_.begin(), rows_.end(), [&](const Member& a, const Member& b) {
        if (a.number != b.number) return a.number < b.number;
        if (work(a) != work(b)) return work(a) > work(b);
        const std::int32_t x = turns.place[ix(a.block)], y = turns.place[ix(b.block)];
        return x != y ? x < y : a.operation < b.operation;
    });
    for (std::size_t i = 0; i < rows_.size();) {
        const std::int32_t number = rows_[i].number;
        const std::int32_t family = problem.operations[ix(rows_[i].operation)].batch_family;
        const auto group = static_cast<std::int32_t>(groups_.size());
        const auto begin = static_cast<std::int32_t>(members_.size());
        for (; i < rows_.size() && rows_[i].number == number; ++i) {
            const Member& m = rows_[i];
            if (problem.operations[ix(m.operation)].batch_family != family) continue;
            group_of_[ix(m.block)] = group;
            sharer_[ix(m.block)] = m.operation;
            members_.push_back(m.block);
        }
        if (members_.size() - ix(begin) < 2) {
            for (std::size_t k = ix(begin); k < members_.size(); ++k)
                group_of_[ix(members_[k])] = -1;
            members_.resize(ix(begin));
        } else {
            groups_.push_back({begin, static_cast<std::int32_t>(members_.size())});
        }
    }
    if (groups_.empty()) group_of_.clear();
}

}  // namespace sched::engine
