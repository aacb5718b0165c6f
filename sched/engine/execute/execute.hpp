#pragma once
// The simulator: a plan meets durations that differ from it. Same compiled problem, clocks and
// event list as the decoder; but nothing is known before it happens, so limits can be missed, and
// are then counted.

#include <cstdint>
#include <functional>
#include <vector>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/decode/deadlock_avoidance.hpp"
#include "sched/engine/drying_clock.hpp"
#include "sched/engine/event_queue.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// What an operation takes in reality. `work` in s; `drying` multiplies the work of every drying
/// stage.
struct ActualDuration {
    Tick work = 0;
    double drying = 1.0;
};
/// Asked once per operation and mode. A pure function of both, or runs are not reproducible.
using DurationSource = std::function<ActualDuration(core::OperationId operation, int mode)>;

/// Durations of one run, per CompiledProblem::modes; filled once, so that the run calls nothing.
struct Durations {
    std::vector<Tick> work;
    std::vector<double> drying;
    /// What the problem says.
    static Durations planned(const CompiledProblem& problem);
    void fill(const CompiledProblem& problem, const DurationSource& source);
};

/// What the floor does when reality differs from the plan. In all of them the plan's order on every
/// place and person is kept, and its choice of mode, place and store.
enum class Recourse {
    /// An operation starts at its planned time or as soon after as its turn, its lags and its
    /// places allow; never earlier.
    /// With the planned durations this gives back the plan, second for second.
    KeepTimes,
    /// The same, but what could start earlier does.
    KeepOrder,
};

struct ExecuteOptions {
    Recourse recourse = Recourse::KeepTimes;
    /// Whoever is late and finds a person or place of a need with a choice taken goes to another
    /// one of the choice that is free and has nothing due (not where SameResource binds it), or
    /// passes others that are late too, are not due before it is done, and would not be shut in by
    /// it (way_out.hpp).
    bool substitute = true;
    /// Lateness from which on it may pass, s: a little disorder costs more limits than it saves.
    Tick patience = 1800;
};

/// A maximum lag, a stretch or a latest start that reality broke.
struct Miss {
    std::int32_t operation = -1;
    std::int32_t lag = -1;  // index into CompiledProblem::lags; -1: its own latest start
    Tick by = 0;
};

struct ExecuteResult {
    bool complete = false;  // every operation ended before time ran out
    std::vector<Miss> misses;
    std::int64_t substitutions = 0;
    Tick overrun = 0;         // s worked by people after their window closed
    std::int64_t events = 0;  // logical: ends of work, dryings
};

/// Attended work does not start unless its planned length ends inside the window; what takes longer
/// then overruns. A late block (operations tied by maximum lags) does not begin unless its rest,
/// shifted by the delay, would still find its people on shift: remover is not put on when nobody
/// could rinse it. Not thread-safe; one a thread. No allocation once warm.
class Executor {
public:
    explicit Executor(const CompiledProblem& problem);
    /// Takes a plan to be followed. @pre complete and right (sched/check).
    void plan(const FlatSchedule& plan);
    /// One run. @pre plan() was called.
    const ExecuteResult& run(const Durations& durations, const ExecuteOptions& options = {});
    /// What happened in the last run; entries of operations that never ended are -1.
    const FlatSchedule& happened() const { return now_placed_; }

private:
    enum What : std::uint32_t { WorkEnds, Look };

    void look(std::int32_t op);
    bool may_start(std::int32_t op, Tick& again);
    bool windows_allow(std::int32_t op, Tick start, Tick work, Tick& again) const;
    bool rest_fits(std::int32_t op, Tick& again);
    bool may_pass(std::int32_t op, std::int32_t r) const;
    bool safe_with(std::int32_t op);
    bool ends_hold(std::int32_t member, std::int32_t i) const;
    /// The members of its batch in turn, `op` first; itself if it is in none.
    template <class Visit>
    void for_members(std::int32_t op, Visit&& visit) const {
        std::int32_t member = op;
        do {
            visit(member);
            member = next_member_[static_cast<std::size_t>(member)];
        } while (member != op);
    }
    bool open_at(std::int32_t r, Tick from, Tick length) const;
    std::int32_t substitute_for(std::int32_t op, std::int32_t need) const;
    void start(std::int32_t op);
    void work_ends(std::int32_t op);
    void ends(std::int32_t op, Tick end);
    void release(std::int32_t op, bool whole);
    void known(std::int32_t op, bool start_edge);
    void poke(std::int32_t op);
    void poke_resource(std::int32_t r);
    void settle();
    void collect(std::int32_t r);
    Tick work_end_after(std::int32_t op, Tick work) const;
    std::int32_t place_of(const CompiledOperation& o, std::int32_t need) const;

    const CompiledProblem& problem_;
    FlatSchedule plan_;
    FlatSchedule now_placed_;
    // Plan order per resource.
    std::vector<Range> turn_range_;
    std::vector<std::int32_t> turns_;
    std::vector<std::int32_t> front_;
    std::vector<std::int32_t> ready_missing_, missing_;  // lags in that are not known yet
    std::vector<std::int32_t> holds_, holds_left_;       // End lags that set an operation's end
    std::vector<std::int32_t> level_resource_;           // units in use per resource
    std::vector<std::int64_t> level_;                    // per store
    std::vector<DryingClock> clock_;
    std::vector<Tick> clock_next_;
    std::vector<std::int32_t> clocks_;
    std::vector<DryingClock::Stage> stages_;  // scaled
    std::vector<char> state_;                 // 0 waits, 1 works, 2 holds, 3 ended
    std::vector<char> queued_;
    std::vector<Tick> looked_;  // per operation: time of the latest look that is scheduled
    std::vector<std::int32_t> work_list_, late_list_, takers_;
    EventQueue queue_;
    const Durations* durations_ = nullptr;
    ExecuteOptions options_;
    ExecuteResult result_;
    Tick now_ = 0;
    std::vector<char> is_late_;
    std::vector<std::int32_t> next_member_;  // per operation: the next of its batch, in a ring
    std::vector<char> counted_;              // per choice: this member answers for the place
    std::vector<std::int32_t> active_;       // works or holds
    DeadlockAvoidance deadlock_avoidance_;
    bool passed_ = false;  // somebody has, in this run
    std::vector<Tick> likely_;
    bool substituting_ = false;
    bool freed_ = false;
    std::int32_t left_ = 0;
};

}  // namespace sched::engine
