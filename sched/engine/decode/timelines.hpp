#pragma once
// What a run writes: the timelines of resources and stores, the clocks, the placements so far.
// Sized once for a CompiledProblem and reused, so that runs allocate nothing once warm.

#include <algorithm>
#include <cstdint>
#include <vector>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/decode/deadlock_avoidance.hpp"
#include "sched/engine/decode/waiting.hpp"
#include "sched/engine/drying_clock.hpp"
#include "sched/engine/event_queue.hpp"
#include "sched/engine/profile.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// Changes of one store's level, by time; what comes in counts before what goes out.
class Ledger {
public:
    void reset(std::int64_t initial, Tick life = never) {
        initial_ = initial;
        total_ = initial;
        life_ = life;
        over_ = never;
        flows_.clear();
    }
    /// Nothing is taken from then on. @pre one thing is given, if it does not keep for ever.
    Tick over() const { return over_; }
    void add(Tick t, std::int64_t amount) {
        if (amount > 0 && life_ < never) over_ = t + life_;
        const Flow f{t, amount};
        auto at = flows_.end();
        while (at != flows_.begin() && f.before(*(at - 1)))
            --at;
        flows_.insert(at, f);
        total_ += amount;
    }
    void remove(Tick t, std::int64_t amount) {
        for (auto at = flows_.end(); at != flows_.begin();) {
            --at;
            if (at->time == t && at->amount == amount) {
                flows_.erase(at);
                total_ -= amount;
                if (amount > 0) over_ = never;
                return;
            }
        }
    }
    /// What is left when all that is booked has been taken.
    std::int64_t left() const { return total_; }
    /// The level is never below 0.
    bool holds() const {
        std::int64_t level = initial_;
        return std::all_of(flows_.begin(), flows_.end(),
                           [&](const Flow& f) { return (level += f.amount) >= 0; });
    }
    /// First instant >= from at which `amount` can be taken so that the level never drops below 0
    /// later.
    Tick earliest(Tick from, std::int64_t amount) const {
        std::int64_t after = total_;
        if (after < amount) return never;
        for (std::size_t i = flows_.size(); i-- > 0;) {
            if (flows_[i].time < from) break;  // the level from `from` on is enough
            after -= flows_[i].amount;
            if (after < amount && !(flows_[i].time == from && flows_[i].amount > 0))
                return flows_[i].time;
        }
        return from;
    }

private:
    struct Flow {
        Tick time;
        std::int64_t amount;
        bool before(const Flow& o) const {
            return time < o.time || (time == o.time && amount > 0 && o.amount < 0);
        }
    };
    std::vector<Flow> flows_;
    std::int64_t initial_ = 0, total_ = 0;
    Tick life_ = never, over_ = never;
};

struct OpenBatch {
    std::int32_t resource = 0;
    Tick start = 0, work_end = 0, end = 0;
    std::int32_t family = 0;
    std::int32_t members = 0;
    std::int32_t last_member = -1;  // chain through Timelines::batch_next
};

/// Begun work whose place nobody else gets before its block is booked.
struct Standing {
    std::int32_t operation = 0;
    std::int32_t block = 0;
    Tick from = 0;      // its own end; held from there on for good
    Tick leave_by = 0;  // somebody else has booked its place from then on
};

/// Timelines::is_placed of what is booked; of what dries by a clock once it is inside, and then
/// dry.
inline constexpr char is_booked = 1, is_entered = 2, is_dry = 3;

/// What of an event of Timelines::entries.
inline constexpr std::uint32_t goes_into_cabinet = 0, comes_to_place = 1;

struct Timelines {
    explicit Timelines(const CompiledProblem& p);
    void reset(const CompiledProblem& p);

    std::vector<Profile> profile;      // per resource
    std::vector<std::int32_t> window;  // per resource: first window that is not over
    Tick window_over = -never;         // the first of them to end
    std::vector<Ledger> ledger;        // per store
    std::vector<DryingClock> clock;    // per resource (unused where not coupled)
    std::vector<Tick> clock_next;      // per resource: next change, never if none
    std::vector<std::int32_t> clocks;  // resources that have a coupled clock
    EventQueue
        entries;  // whom = operation that enters its cabinet, or block that comes to its place

    FlatSchedule placed;
    std::vector<char> is_placed;  // per operation; 0: not yet
    std::vector<Tick> early;  // per operation: earliest its work can end (= work_end unless drying)
    std::vector<std::int32_t> open_links;  // per operation: holds that still set its end
    std::vector<Tick> open_end;            // per operation: its end by the holds so far
    std::vector<std::int32_t> batch_next;  // per operation: next member of its batch
    std::vector<OpenBatch> batches;
    std::size_t batches_over = 0;  // so many of the first have started
    std::vector<char> shared;      // per choice: another member of the batch has booked it

    std::vector<std::int32_t>
        missing;              // per block: lags from operations whose times are not known yet
    std::vector<char> done;   // per block
    std::vector<Tick> asked;  // per OnDemand: when it may begin; never: nobody has asked, -never:
                              // it has been told
    std::vector<char>
        waiting_batch;        // per block: how it stands with its batch mates (batch mates.cpp)
    std::vector<Tick> floor;  // per operation of the block under work (by place)
    std::vector<std::int32_t> open_operations;  // those that hold a place open, booked or under way
    std::vector<DeadlockAvoidance::Holder> holders;  // their places, by job and resource
    std::vector<std::uint64_t> exits_ahead;          // per job: what its unbooked blocks hold
    std::vector<Standing> standing;
    std::vector<std::int32_t> running;  // loose limits (out rows) of which only `from` is booked
    std::vector<Tick> put_off;          // per block: looking for a time to begin goes on from there
    bool vain_hurry = false;            // somebody whose loose limit is near finds no place
    std::vector<char> kept_free;        // per appointment: the time is booked for it beforehand
    bool shut_in = false;         // those inside at the moment of the plan could not all come out
    Waiting waiting;              // blocks that may go, by rank
    std::vector<Tick> order_end;  // per order: it ends no sooner, by what is booked
    std::vector<std::int32_t> order_step;  // per order: first of its order_steps that is not booked
    std::int64_t overtime = 0;             // s, of what is booked and will not be booked again
    std::int32_t blocks_left = 0;
    std::int32_t wet = 0;  // entries scheduled or inside clocks
    Tick now = 0;
};

}  // namespace sched::engine
