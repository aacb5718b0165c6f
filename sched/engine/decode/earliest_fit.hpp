#pragma once
// Where one operation could go: the first instant at which its lags, places, people, calendars and
// stores allow it.

#include <algorithm>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "sched/engine/decode/remembered_fits.hpp"
#include "sched/engine/decode/run.hpp"
#include "sched/engine/decode/waiting_batches.hpp"

namespace sched::engine {

struct EarliestFit {
    Tick start = never, work_end = never, early = never;
    std::int16_t mode = -1;
    bool fits = false;        // start within its limits
    Tick over = 0;            // by how much the tightest limit is missed
    std::int32_t cause = -1;  // operation that set it; -1: a limit of its own
};

/// What is booked already leaves one operation.
struct StartLimits {
    Tick low, high, latest_end;
    std::int32_t cause;  // operation that set `high`; -1: a limit of its own
};

/// Who and what an operation is booked with.
struct Choice {
    std::vector<std::int32_t> resources;  // one per need of its mode
    std::vector<std::int32_t> stores;     // one per take
    std::int32_t batch = -1;              // that it joins; -1: none
};

/// Looks into the timelines of a run and changes nothing there. What it chose for the last answer
/// stands in `choice` until the next question.
class EarliestFits {
public:
    EarliestFits(Run& run, const WaitingBatches& groups);

    /// In the way in which it ends first, of those that the sequence leaves open.
    /// @param floor no sooner than that. @param joins it may join a batch.
    EarliestFit find(std::int32_t op, Tick floor, bool joins);

    /// As find(), of an operation that is CompiledOperation::plain, or but for its stores; what was
    /// found for another one that asks for the same people and places is taken as long as their
    /// timelines are the same. Only where and when: see at(). Valid until the next call.
    /// @param by if it cannot start by then, who would take it up is left open.
    RememberedFit& find_plain(std::int32_t op, const CompiledOperation& o, const CompiledMode& m,
                              Tick from, const StartLimits& limits, Tick by);
    /// All that it takes is there at t, if it starts then, whichever of its stores is asked first.
    bool stores_hold(const CompiledOperation& o, Tick t) const;

    StartLimits limits_of(std::int32_t op, const CompiledOperation& o, const CompiledMode& m) const;
    /// Start, end and slack of an operation that can go at t, and then lasts so long.
    /// @param mode number of m. @param quick the least that it can last.
    EarliestFit at(std::int32_t op, const CompiledOperation& o, const CompiledMode& m,
                   std::int16_t mode, Tick t, Tick length, Tick quick, const StartLimits& limits);

    /// Length of the work on resource r from t on. `slow`: in a full cabinet; else alone. Exact
    /// where nothing is shared. never: it does not end.
    Tick length_of(const CompiledOperation& o, const CompiledMode& m, std::int32_t r, Tick t,
                   bool slow) const;
    /// When somebody must set out for what can start then.
    Tick sets_out(std::int32_t op, const EarliestFit& earliest_fit) const;
    /// End of pausable work from t on: only time counts in which every chosen resource is open.
    Tick pausing_end(const CompiledMode& m, std::span<const std::int32_t> chosen, Tick t) const;
    /// The operation of the same block that has made `resource` the only choice of `op`; -1: none.
    std::int32_t bound_to(std::int32_t op, std::int32_t resource) const;

    /// Who takes up `op` is not to be `resource`, until avoid_nobody().
    void avoid(std::int32_t op, std::int32_t resource) { avoided_.emplace_back(op, resource); }
    void avoid_nobody() { avoided_.clear(); }
    bool avoids(std::int32_t op, std::int32_t resource) const {
        return !avoided_.empty() && std::find(avoided_.begin(), avoided_.end(),
                                              std::pair(op, resource)) != avoided_.end();
    }

    Choice choice;
    std::int32_t blocking = waits_for_nothing;  // what set the start of the last answer
    Tick low = 0;               // what lags and release alone allowed for the last answer
    std::int32_t lacking = -1;  // take that found no store
    Tick lacking_at = 0;        // when all else was there

private:
    EarliestFit find_in_mode(std::int32_t op, std::int16_t mode, Tick floor, bool joins);
    template <class Lengths>
    Tick fit_plain(std::int32_t op, const CompiledOperation& o, const CompiledMode& m, Tick t,
                   Tick high, Lengths& lengths, Tick& last);
    std::uint64_t way_of(std::int32_t op, const CompiledOperation& o, const CompiledMode& m) const;
    Tick fit(std::int32_t r, Tick from, Tick length, std::int32_t spare,
             const CompiledOperation& o) const;
    Tick fit_as_planned(std::int32_t op, std::int32_t r, Tick from, Tick length,
                        std::int32_t spare) const;
    Tick planned_drying(std::int32_t op, Tick t) const;
    std::int32_t planned_first(std::int32_t op, std::int32_t need, const std::int32_t* any,
                               std::int32_t size, std::int32_t& must) const;
    std::int32_t forced(std::int32_t op, std::int32_t need) const;
    std::int32_t dries_after(std::int32_t op) const;
    Tick turn_inside(std::int32_t op) const;
    bool goes_with_group(std::int32_t op, const CompiledMode& m, std::int32_t r);

    Run& run_;
    const CompiledProblem& problem_;
    const Timelines& state_;
    const Following& plan_;
    const WaitingBatches& groups_;
    RememberedFits remembered_;
    RememberedFit once_;       // an answer that is not remembered
    std::vector<Tick> known_;  // per candidate of the mode being looked at
    Choice trial_;             // of the way being looked at
    Choice waits_;             // scratch
    // Operation and resource: who takes it up cannot do what is bound to it in time.
    std::vector<std::pair<std::int32_t, std::int32_t>> avoided_;
};

}  // namespace sched::engine
