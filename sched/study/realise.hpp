#pragma once
// One replication's luck applied to a compiled room: the Problem as that day really was. Nothing
// here knows the plan; who executes must not look ahead in it.

#include <string>
#include <vector>

#include "sched/compile/room_problem.hpp"
#include "sched/engine/draws.hpp"
#include "sched/study/chance.hpp"

namespace sched::study {

/// The day as it was, with planned work times; what they really took is `factor`. Operations [0,
/// run) of the compiled room come first and in its order, without those that a remake cut off;
/// remakes and rush orders follow.
struct Reality {
    core::Problem problem;
    std::vector<int> nominal;     // per operation: index into RoomProblem::operations
    std::vector<int> attempt;     // per operation: 0 as planned, 1.. remake; -1: of a rush order
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
/// The day as it is seen afterwards: the factors applied to its problem.
void apply_factors(Reality& reality);

/// Makes realities of one room; holds what does not change from one to the next.
class Realiser {
public:
    /// @param room compiled with spare_ways (without: no remakes and no rush orders). Both
    /// references must outlive the realiser.
    Realiser(const model::Scenario& scenario, const compile::RoomProblem& room,
             const Chance& chance);

    /// @param volume share of the run's orders: below 1 some are left out, above 1 some come twice
    /// (or more often), each by its own draw, so that a larger volume holds all orders of a smaller
    /// one.
    Reality realise(const engine::Draws& draws, double volume = 1.0) const;

    int run_operations() const { return run_; }

private:
    struct OperationKey {
        std::uint64_t subject = 0;
        std::uint64_t item = 0;
        std::uint64_t purpose = 0;
    };
    struct Way {
        int first = 0;
        int count = 0;
        std::vector<int> constraints;  // indices into Problem::constraints
    };

    double factor(int nominal, std::uint64_t attempt, const engine::Draws& draws) const;
    bool fails(int nominal, std::uint64_t attempt, const engine::Draws& draws) const;
    int add_way(Reality& reality, const Way& way, std::uint64_t attempt, bool rush, int cut,
                core::JobId job, const engine::Draws& draws) const;
    void add_run(Reality& reality, const engine::Draws& draws, double volume) const;
    void add_rush(Reality& reality, const engine::Draws& draws) const;
    void add_copies(Reality& reality, const engine::Draws& draws, double volume) const;
    bool left_out(std::size_t screen, const engine::Draws& draws, double volume) const;
    void close_stations(Reality& reality, const engine::Draws& draws) const;
    void send_people_home(Reality& reality, const engine::Draws& draws) const;
    void delay_films(Reality& reality, const engine::Draws& draws) const;

    const model::Scenario& scenario_;
    const compile::RoomProblem& room_;
    const Chance& chance_;
    int run_ = 0;                       // operations of the run
    std::vector<OperationKey> keys_;    // per nominal operation
    std::vector<Distribution> laws_;    // of the factor, per nominal operation
    std::vector<double> remake_;        // chance to fail there, per nominal operation
    std::vector<Way> screens_;          // the run's operations of each screen, in order
    std::vector<Way> again_, fresh_;    // spare ways per screen; count 0: none
    std::vector<int> run_constraints_;  // all operations in the run
};

}  // namespace sched::study
