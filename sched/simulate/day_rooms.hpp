#pragma once
// The days that may come, ready to be simulated one by one. Seen in this folder only.

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "sched/simulate/day_run.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/replicate.hpp"

namespace sched::study {

/// One kind of day: the room compiled for it, and who makes its realities and executes them.
struct DayRoom {
    std::string kind;
    double weight = 1.0;
    compile::RoomProblem room;
    std::unique_ptr<Realiser> realiser;
    std::unique_ptr<Policy> policy;
    std::unique_ptr<DayKit> kit;  // nullptr: days are realised one by one
    bool pots_end = false;        // what is mixed may end while it is wanted
    core::Window hours;
};

/// Immutable; shared by threads.
class DayRooms {
public:
    /// What one thread needs to simulate days; runs by kind of day, made when first needed.
    struct Worker {
        std::vector<std::unique_ptr<DayRun>> runs;
        DayDisturbances disturbances;
        std::vector<std::pair<std::int32_t, std::int32_t>> counted;
        std::vector<engine::Tick> done;
    };

    /// @param plan the schedule of `room`; nullptr only with a rule.
    /// @returns nullptr as replicate() returns nullopt. The references must outlive it.
    static std::unique_ptr<DayRooms> make(const model::Scenario& scenario,
                                          const compile::CompileOptions& compile_options,
                                          const compile::RoomProblem& room,
                                          const core::Schedule* plan,
                                          const ReplicateOptions& options);

    /// What is kept of a day besides its orders and its objective.
    struct Keep {
        bool operations = false;  // the times of every step
        bool use = true;          // what places and people were doing
    };
    /// @param list instead of the policy's keys: per operation of the nominal room, as
    /// list_of_room() gives them; nullptr: the policy.
    Replication simulate(const engine::Draws& draws, const Keep& keep, Worker& worker,
                         const std::vector<double>* list = nullptr) const;
    /// A room of the days that may come; they differ in air only.
    const compile::RoomProblem& room() const { return rooms_.front()->room; }
    int run_operations() const { return rooms_.front()->realiser->run_operations(); }

private:
    DayRooms() = default;
    std::vector<std::unique_ptr<DayRoom>> rooms_;
};

}  // namespace sched::study
