#pragma once
// One replication's random variation applied to a compiled room: the Problem as that day really
// was. Nothing here knows the plan; who executes must not look ahead in it.

#include <optional>
#include <string>
#include <vector>

#include "sched/chance/disturbances.hpp"

namespace sched::study {

/// The day as it was, with planned work times; what they really took is `factor`. Operations [0,
/// run) of the compiled room come first and in its order, without those that a remake cut off;
/// remakes, copies, rush orders and mixings for them follow.
struct Reality {
    core::Problem problem;
    std::vector<int> nominal;     // per operation: index into RoomProblem::operations
    std::vector<int> attempt;     // per operation: DayPart::round
    std::vector<double> factor;   // per operation: on its work, or on its drying
    std::vector<char> unplanned;  // per operation of the run: its film came late, it lost its turn
    int copies = 0;               // orders that a larger volume brings, after the planned ones
    int planned_orders = 0;       // orders of the run come first, rush orders after
    int remakes = 0;
    int failures = 0;
    int absences = 0;
    int late_films = 0;
    /// Something happened that the plan has no place for.
    bool surprises() const { return remakes > 0 || late_films > 0 || absences > 0 || rush() > 0; }
    int rush() const { return static_cast<int>(problem.orders.size()) - planned_orders - copies; }
};

/// Work of the length that it really has.
core::Seconds real_work(core::Seconds planned, double factor);
/// That of one operation applied to its problem.
void apply_factor(Reality& reality, std::size_t operation);
/// The day as it is seen afterwards: the factors applied to its problem.
void apply_factors(Reality& reality);

/// Makes realities of one room; in a day that is under way (Problem::now), of what is left of it.
/// Holds what does not change from one to the next.
class Realiser {
public:
    /// @param room compiled with spare_ways (without: no remakes and no rush orders). Both
    /// references must outlive the realiser.
    Realiser(const model::Scenario& scenario, const compile::RoomProblem& room,
             const Chance& chance);

    /// @param volume see Random variation::draw.
    Reality realise(const engine::Draws& draws, double volume = 1.0) const;
    /// @param draws of the lengths.
    Reality build(const DayDisturbances& disturbances, const engine::Draws& draws) const;

    int run_operations() const { return disturbances_.run_operations(); }
    const Disturbances& disturbances() const { return disturbances_; }

private:
    void add_part(Reality& reality, const DayPart& part, int begin) const;
    void add_begun(Reality& reality, const std::vector<int>& place,
                   const engine::Draws& draws) const;

    const compile::RoomProblem& room_;
    Disturbances disturbances_;
    std::vector<int> run_constraints_;                 // all operations in the run
    std::vector<std::vector<int>> spare_constraints_;  // per operation: those of its spare way, at
                                                       // the way's first operation
    std::vector<int> way_first_;                       // per operation: its way's first
    std::vector<char> spare_store_;                    // per store
    /// Per entry of Problem::begun of the room: when its work is over if nothing happens; none:
    /// wet.
    std::vector<std::optional<core::SimTime>> begun_end_;
};

}  // namespace sched::study
