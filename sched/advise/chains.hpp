#pragma once
// The chains of all orders of one schedule (explain.hpp says what a chain is): each link is looked
// for once, however many chains go through it.

#include <optional>
#include <vector>

#include "sched/advise/explain.hpp"
#include "sched/advise/explain_link.hpp"

namespace sched::search {

class Chains {
public:
    /// Both must outlive it.
    Chains(const core::Problem& problem, const core::Schedule& schedule);

    /// As chain_of gives it.
    std::vector<ChainLink> of(core::OrderId order) const;
    const ChainLink& link(core::OperationId op) const;
    const LinkFinder& finder() const { return finder_; }

private:
    LinkFinder finder_;
    std::vector<std::optional<core::OperationId>> last_;   // per order
    mutable std::vector<std::optional<ChainLink>> links_;  // per operation, once asked for
    mutable std::vector<std::size_t> seen_;                // per operation: number of the walk
    mutable std::size_t walk_ = 0;
};

}  // namespace sched::search
