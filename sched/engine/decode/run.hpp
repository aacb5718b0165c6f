#pragma once
// What the parts of a decoder have in common: the run under way.

#include <cstdint>

#include "sched/engine/decode/following.hpp"
#include "sched/engine/decode/timelines.hpp"
#include "sched/engine/sequence.hpp"

namespace sched::engine {

/// A batch that a group of blocks is being booked into, all of them or none (batch_waiting.cpp).
struct BatchUnderWay {
    bool booking = false;
    bool cannot = false;      // a member does not go into the batch
    std::int32_t batch = -1;  // that the first of them has opened
    Tick from = 0;            // it begins no sooner
    Tick missed = 0;          // the latest instant at which a member came too late for it
};

struct Run {
    explicit Run(const CompiledProblem& p) : problem(p), state(p) {}

    const CompiledProblem& problem;
    Timelines state;
    const Sequence* sequence = nullptr;  // outlives the run
    Following plan;
    BatchUnderWay group;
    Obstacle obstacle = Obstacle::None;  // of the last block that did not go
    std::int32_t obstacle_at = -1;       // operation

    void fail(Obstacle why, std::int32_t operation) {
        obstacle = why;
        obstacle_at = operation;
    }
};

}  // namespace sched::engine
