#include "sched/advise/chains.hpp"

#include "sched/core/objective.hpp"

namespace sched::search {

using core::OperationId;
using core::OrderId;
using core::SimTime;

Chains::Chains(const core::Problem& problem, const core::Schedule& schedule)
    : finder_(problem, schedule),
      last_(problem.orders.size()),
      links_(problem.operations.size()),
      seen_(problem.operations.size(), 0) {
    std::vector<SimTime> latest(problem.orders.size());
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const auto job = problem.operations[i].job;
        if (!job.valid() || !problem.jobs[job.index()].order.valid()) continue;
        const std::size_t o = problem.jobs[job.index()].order.index();
        const SimTime done = core::completion(problem.operations[i], schedule.placements[i]);
        if (!last_[o] || done > latest[o]) {
            latest[o] = done;
            last_[o] = OperationId{i};
        }
    }
}

const ChainLink& Chains::link(OperationId op) const {
    auto& known = links_[op.index()];
    if (!known) known = finder_.link(op);
    return *known;
}

std::vector<ChainLink> Chains::of(OrderId order) const {
    std::vector<ChainLink> chain;
    ++walk_;
    const auto fresh = [&](const std::optional<OperationId>& x) {
        return x && seen_[x->index()] != walk_;
    };
    std::optional<OperationId> op = last_[order.index()];
    while (fresh(op)) {
        seen_[op->index()] = walk_;
        chain.push_back(link(*op));
        op = chain.back().goes_on;
        // Places may be exchanged in one instant, each let go by the other: then the holder itself
        // goes on with the chain.
        if (op && !fresh(op)) op = chain.back().because;
    }
    return chain;
}

}  // namespace sched::search
