#pragma once
// Who executes a reality: a policy as a Sequence for the engine. Seen in this folder only.

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "sched/core/schedule.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/execute/execute.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/engine/rules.hpp"
#include "sched/simulate/realise.hpp"

namespace sched::study {

/// Two people who must lift one frame agree on a moment when both are free, so far ahead; the same
/// for a frame that takes two slots. Half an hour: common practice, no source.
constexpr engine::Tick agreed_ahead = 30 * 60;

/// A day as it was simulated.
struct SimulatedDay {
    bool complete = false;
    core::Schedule schedule;  // of Reality::problem with its factors applied
    std::vector<std::int64_t> objective;
    int misses = 0;           // limits that reality broke (maximum lags, latest starts)
    bool improvised = false;  // the plan could not be kept to: its order alone was
};

/// Lives the day by a priority per real operation, lower goes first; nothing waits for a planned
/// time. @param reality consumed: its factors are applied. @param planned not empty: what is left
/// is ranked anew at fixed times (review.hpp).
SimulatedDay live_by_keys(Reality& reality, const std::vector<double>& key,
                          std::span<const engine::Tick> planned = {});

/// What the floor does. Immutable; shared by threads.
class Policy {
public:
    /// @param nominal compiled with spare ways.  @returns nullptr when the name is unknown or a
    /// plan is missing.
    static std::unique_ptr<Policy> make(const std::string& name,
                                        const compile::RoomProblem& nominal,
                                        const core::Schedule* plan);

    /// @param reality consumed: its factors are applied.
    SimulatedDay live(Reality& reality) const;

    /// Works by a list alone, so that a day needs no Problem (day_floor.hpp).
    bool by_list() const {
        return kind_ == Kind::Free || kind_ == Kind::Rule || kind_ == Kind::Review;
    }
    /// What is left is ranked anew at fixed times (review.hpp).
    bool reviewed() const { return kind_ == Kind::Review; }
    /// A rule, not a plan, says what goes first.
    bool ruled() const { return kind_ == Kind::Rule; }
    /// Per nominal operation: planned start [s], or the rule's key.
    const std::vector<double>& nominal_keys() const { return key_; }
    /// Per nominal operation: planned length alone in its place, s; only if reviewed().
    const std::vector<engine::Tick>& lengths() const { return length_; }

private:
    enum class Kind { KeepTimes, KeepOrder, Free, Rule, Review };

    void follow(const core::Schedule& plan);
    void obey(const engine::Rule& rule);
    /// Priority of each operation of the day by key_; lower goes first.
    std::vector<double> keys(const Reality& reality) const;
    /// The plan of this day: as planned, with what nobody planned fitted into its gaps.
    bool plan_of_day(const Reality& reality, const engine::RemainingProblem& present,
                     const engine::CompiledProblem& compiled, engine::FlatSchedule& out) const;
    /// Lives the day by its plan. False: that could not be kept to; `reality` is as good as before.
    bool keep_plan(Reality& reality, SimulatedDay& simulated) const;
    /// What is not planned, alone; the plan's use of places and people as fixed blockers.
    struct Gaps {
        core::Problem problem;
        std::vector<int> real;  // per operation: index into Reality::problem; -1: a blocker
    };
    Gaps gaps_of(const Reality& reality) const;
    bool somebody_is_missing(const Reality& reality) const;  // who has planned work

    Kind kind_ = Kind::Rule;
    const compile::RoomProblem* nominal_ = nullptr;
    core::Schedule plan_;
    std::vector<engine::Tick> length_;   // per nominal operation: planned, for reviews
    std::vector<double> key_;            // per nominal operation: planned start, or the rule's key
    std::vector<core::Seconds> drying_;  // per nominal operation: planned length of its drying
};

}  // namespace sched::study
