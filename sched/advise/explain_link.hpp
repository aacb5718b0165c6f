#pragma once
// Why one operation starts when it does: what each cause alone would have allowed, and the latest.

#include <map>
#include <vector>

#include "sched/advise/explain.hpp"

namespace sched::search {

/// Reads Problem and Schedule once, then answers for any operation. Holds references to both.
class LinkFinder {
public:
    LinkFinder(const core::Problem& problem, const core::Schedule& schedule);

    ChainLink link(core::OperationId op) const;

    /// One use of a resource: an operation's, or that of a whole batch (its first member speaks).
    struct Use {
        core::SimTime from;
        core::SimTime work_end;
        core::SimTime to;
        int amount = 0;
        core::OperationId operation;
        std::optional<int> batch;
    };
    const std::vector<Use>& uses(core::ResourceId r) const { return uses_[r.index()]; }

private:
    struct Candidate {
        Cause cause;
        core::SimTime allows;  // the start that this cause alone would have allowed
        std::optional<core::OperationId> because;
        std::optional<core::ResourceId> resource;
    };
    struct Flow {
        core::SimTime at;
        std::int64_t amount;  // > 0 given, < 0 taken
        core::OperationId operation;
    };

    const core::Operation& operation(core::OperationId id) const {
        return problem_.operations[id.index()];
    }
    const core::Placement& placement(core::OperationId id) const {
        return schedule_.placements[id.index()];
    }
    core::SimTime begins() const;  // what has not begun starts no sooner
    const core::Mode& mode(core::OperationId id) const;

    using Operations = std::vector<core::OperationId>;

    /// @param not_from operations that are not accepted as predecessors: they wait for `op`
    /// themselves.
    std::vector<Candidate> candidates(core::OperationId op, const Operations& not_from) const;
    /// The link without a look at followers and batch mates.
    ChainLink own_reason(core::OperationId op, const Operations& not_from) const;
    /// For a Choice: whom it waits for, and what keeps that one.
    void add_purpose(ChainLink& link) const;
    /// What bound it before its wait, and what the chain goes on with.
    void add_before(ChainLink& link) const;
    /// Who let go at the moment at which `link` starts: where `because` was only holding its
    /// place, the operation that it moved on to; else nullopt.
    std::optional<core::OperationId> let_go(const ChainLink& link) const;
    /// The resource that was taken when `link` might have started, and for which there is no
    /// other, had only just come: its calendar opens at that moment.
    bool had_just_come(const ChainLink& link) const;
    core::SimTime batch_work_end(core::OperationId op) const;
    void add_predecessors(core::OperationId op, const Operations& not_from,
                          std::vector<Candidate>& all) const;
    struct Level {  // taken from `from` on, seconds as in SimTime
        std::int64_t from;
        int load;
    };
    struct Part {  // of that, seconds as in SimTime
        std::int64_t from, to;
        int amount;
    };
    static constexpr std::size_t many_levels = 64;
    struct Levels {
        std::vector<Level> all;  // by time
        std::vector<int> most;   // the largest load of the first so many, of the next, ...
    };
    static Levels levels_of(const std::vector<Use>& uses);
    static std::optional<core::SimTime> blocked_until(const Levels& levels, core::SimTime start,
                                                      int room, const std::vector<Part>& but);
    static Part part_of(core::SimTime from, core::SimTime to, int amount);
    std::vector<Part> joined(core::OperationId op, core::ResourceId r) const;
    /// @param lets_go one of the uses of r that ends with its work; nullptr: none.
    const Use* user_until(core::ResourceId r, core::SimTime moment, core::OperationId but,
                          const Use* lets_go) const;
    core::Seconds walk_between(core::OperationId a, core::OperationId b, core::ResourceId r) const;
    void add_resources(core::OperationId op, std::vector<Candidate>& all) const;
    void add_stores(core::OperationId op, std::vector<Candidate>& all) const;
    void add_release(core::OperationId op, std::vector<Candidate>& all) const;
    /// The earliest start at or after `t` that the calendars of all chosen resources allow;
    /// nullopt: none.
    std::optional<core::SimTime> staffed_from(core::OperationId op, core::SimTime t) const;
    std::optional<core::ResourceId> last_to_open(core::OperationId op) const;
    /// Latest start that anything forces, calendars included.
    core::SimTime forced_start(core::OperationId op) const;
    std::optional<core::OperationId> near_follower(core::OperationId op) const;
    std::optional<core::OperationId> last_mate(core::OperationId op) const;
    struct Shut {
        core::OperationId follower;
        core::ResourceId resource;
    };
    /// Had `op` begun at `t`: the first of those that maximum lags tie to it for which a calendar
    /// leaves no time within its lag, and that resource, which is there again at its start.
    std::optional<Shut> shut_out(core::OperationId op, core::SimTime t, int depth = 0) const;

    const core::Problem& problem_;
    const core::Schedule& schedule_;
    std::vector<std::vector<Use>> uses_;              // per resource, by start
    std::vector<std::vector<core::SimTime>> latest_;  // per use: end of it or of one before
    std::vector<Levels> levels_;                      // of these, per resource
    std::map<std::pair<int, std::size_t>, std::vector<Use>> of_batch_;  // (batch, resource)
    std::vector<std::vector<Flow>> flows_;                 // per store, by time, given before taken
    std::vector<std::vector<const core::TimeLag*>> into_;  // per operation
    std::vector<std::vector<const core::TimeLag*>> out_of_;
    std::vector<std::vector<const core::StartWindow*>> windows_;
    std::vector<std::vector<std::pair<core::StoreId, std::int64_t>>> takes_;
    std::map<int, Operations> batches_;
    core::SimTime first_start_{};
};

}  // namespace sched::search
