#pragma once
// Blocks that share a batch on purpose, as a sequence says (Sequence::waiting_batch).

#include <cstdint>
#include <span>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/decode/waiting.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

class WaitingBatches {
public:
    /// Groups of two blocks or more whose operations are of one family, the first of each block
    /// that takes batches. Within a group whoever brings the longest work comes first, since it
    /// opens the batch; then by rank.
    void gather(const CompiledProblem& problem, const Sequence& sequence, const Turns& turns);

    bool none() const { return group_of_.empty(); }
    std::size_t groups() const { return groups_.size(); }
    /// Blocks of a group.
    std::span<const std::int32_t> group(std::size_t k) const {
        return {members_.data() + groups_[k].begin, ix(groups_[k].size())};
    }
    /// The group of a block, itself among them; empty: none.
    std::span<const std::int32_t> of(std::int32_t block) const {
        if (group_of_.empty() || group_of_[ix(block)] < 0) return {};
        return group(ix(group_of_[ix(block)]));
    }
    /// Its operation that shares the batch. @pre of(block) is not empty.
    std::int32_t sharer(std::int32_t block) const { return sharer_[ix(block)]; }

private:
    struct Member {
        std::int32_t number, operation, block;
    };
    std::vector<Member> rows_;            // scratch
    std::vector<std::int32_t> members_;   // blocks, those of one group side by side
    std::vector<Range> groups_;           // into members_
    std::vector<std::int32_t> group_of_;  // per block; -1: none; empty: there are no groups
    std::vector<std::int32_t> sharer_;    // per block
};

}  // namespace sched::engine
