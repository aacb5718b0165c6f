#pragma once
// Who executes a reality: a policy as a Sequence for the engine. Seen in this folder only.

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sched/core/schedule.hpp"
#include "sched/engine/baseline.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/engine/rules.hpp"
#include "sched/simulate/realise.hpp"

namespace sched::study {

/// A day as it was simulated.
struct SimulatedDay {
    bool complete = false;
    core::Schedule schedule;  // of Reality::problem with its factors applied
    std::vector<std::int64_t> objective;
    int misses = 0;           // limits that reality broke (maximum lags, latest starts)
    bool improvised = false;  // the plan could not be kept to: its order alone was
};

/// A plan that the day follows.
struct FollowedPlan {
    const engine::Agreements* agreements = nullptr;  // nullptr: none
    engine::Recourse recourse = engine::Recourse::Free;
    bool known = true;                // false: the day is not as planned from the start on
    std::vector<std::int32_t> place;  // per planned operation: where it is in the day; -1: not
    bool listed = false;              // no plan but a list of work: see decode_list
};

/// Simulates the day by a priority per real operation, lower goes first. @param reality consumed:
/// its factors are applied. @param planned not empty: what is left is ranked anew at fixed times
/// (review.hpp).
SimulatedDay simulate_by_keys(Reality& reality, const std::vector<double>& key,
                              std::span<const engine::Tick> planned = {},
                              const FollowedPlan& follow = {});

/// What people do. Immutable; shared by threads.
class Policy {
public:
    /// @param nominal compiled with spare ways. @param turns by whose starts work is taken once the
    /// day has left the plan; nullptr: the plan's. @returns nullptr when the name is unknown or a
    /// plan is missing.
    static std::unique_ptr<Policy> make(const std::string& name,
                                        const compile::RoomProblem& nominal,
                                        const core::Schedule* plan,
                                        const core::Schedule* turns = nullptr);

    /// A list of work: whoever is free takes, of what they can do, what has the lowest turn.
    /// @param turns per operation of `nominal`, s; see turns_of_room().
    static std::unique_ptr<Policy> list(const compile::RoomProblem& nominal,
                                        std::vector<double> turns);

    /// @param reality consumed: its factors are applied.
    SimulatedDay simulate(Reality& reality) const;

    /// The plan that is followed; nullptr: none.
    const engine::Agreements* agreements() const { return agreements_.get(); }
    engine::Recourse recourse() const {
        return kind_ == Kind::KeepTimes   ? engine::Recourse::Times
               : kind_ == Kind::KeepOrder ? engine::Recourse::Order
                                          : engine::Recourse::Free;
    }
    /// What is left is ranked anew at fixed times (review.hpp).
    bool reviewed() const { return kind_ == Kind::Review; }
    /// A rule, not a plan, says what goes first.
    bool ruled() const { return kind_ == Kind::Rule; }
    /// A list of work, its turns counted in seconds.
    bool listed() const { return kind_ == Kind::List; }
    /// Per nominal operation: planned start [s], turn [s], or the rule's key.
    const std::vector<double>& nominal_keys() const { return key_; }
    /// Per nominal operation: planned length alone in its place, s; only if reviewed().
    const std::vector<engine::Tick>& lengths() const { return length_; }

private:
    enum class Kind { KeepTimes, KeepOrder, Free, Rule, Review, List };

    void follow(const core::Schedule& plan, const core::Schedule* turns);
    void obey(const engine::Rule& rule);
    /// Priority of each operation of the day by key_; lower goes first.
    std::vector<double> keys(const Reality& reality) const;

    Kind kind_ = Kind::Rule;
    const compile::RoomProblem* nominal_ = nullptr;
    std::unique_ptr<engine::Agreements> agreements_;
    std::vector<engine::Tick> length_;  // per nominal operation: planned, for reviews
    std::vector<double> key_;           // per nominal operation: planned start, or the rule's key
};

/// Turns of the spare ways from those of the run: a screen made again has the turns of the first
/// one, step by step; what the first one had not to do goes before.
/// @param run per operation of the run, s. @returns per operation of `nominal`.
std::vector<double> turns_of_room(const compile::RoomProblem& nominal,
                                  const std::vector<double>& run);

/// How the engine is told: lowest turn first, nothing ahead of its time, turns are kept.
engine::Sequence sequence_of(const std::vector<double>& turns);

/// Decodes it; of a day under way as it would have gone on from its morning: who has begun a block
/// has booked all of it. @returns false: it leads to no end.
bool decode_list(engine::Decoder& decoder, const engine::CompiledProblem& compiled,
                 const engine::Sequence& sequence);

/// What a list of work gives with the planned lengths. @param turns per operation of `problem`.
/// @returns nullopt if it leads to no end.
std::optional<core::Schedule> schedule_of_list(const core::Problem& problem,
                                               const std::vector<double>& turns);

}  // namespace sched::study
