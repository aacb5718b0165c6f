#pragma once
// Who executes a reality: a policy as a Sequence for the engine. Seen in this folder only.

#include <memory>
#include <string>
#include <vector>

#include "sched/core/schedule.hpp"
#include "sched/engine/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/study/realise.hpp"

namespace sched::study {

/// Ranks that do not know the luck of the day: from the plan, or from the rule on planned times.
class Policy {
public:
    /// @param nominal compiled with spare ways.  @returns nullptr when the name is unknown or a
    /// plan is missing.
    static std::unique_ptr<Policy> make(const std::string& name,
                                        const compile::RoomProblem& nominal,
                                        const core::Schedule* plan);

    engine::Sequence sequence(const Reality& reality) const;

private:
    void follow(const core::Problem& nominal, const core::Schedule& plan);
    void obey(const compile::RoomProblem& nominal, const engine::Rule& rule);

    bool follows_ = false;
    std::vector<double> key_;         // per nominal operation: planned start, or the rule's key
    std::vector<std::int16_t> mode_;  // per operation of the run, as planned
    std::vector<std::uint8_t> choice_;
    std::vector<std::uint8_t> join_;
};

}  // namespace sched::study
