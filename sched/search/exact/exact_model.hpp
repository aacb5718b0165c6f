#pragma once
// A Problem as the exact solver's variables and constraints, and the way back from fixed variables
// to a Schedule. Times inside are whole multiples of the problem's own time grain, counted from the
// horizon's start. The layer between exact.hpp and lcg_engine.hpp.

#include <optional>
#include <string>
#include <vector>

#include "sched/core/schedule.hpp"
#include "sched/search/exact/exact_order.hpp"
#include "sched/search/exact/lcg/lcg_engine.hpp"

namespace sched::search {

/// Resources that nothing tells apart (same calendar, named by the same needs): used as one of
/// higher capacity, and told apart again at the end by colouring intervals.
struct Pool {
    std::vector<core::ResourceId> members;
    int capacity = 1;  // all members together
};

struct PoolChoice {
    int pool = 0;
    lcg::Lit when;  // invalid: always
};

struct OperationModel {
    lcg::Term start;
    lcg::Term work_end;
    lcg::Term end;
    lcg::Term completion;
    std::vector<lcg::Lit> modes;  // one per mode; invalid: the only one
    std::vector<std::vector<std::vector<PoolChoice>>> choices;  // [mode][need]
};

class ExactModel {
public:
    /// @param fixed upper limits of the criteria before the one to be minimised, in objective
    /// order; the criterion at index fixed.size() becomes the objective (none left: feasibility
    /// only).
    ExactModel(const core::Problem& problem, const std::vector<std::int64_t>& fixed);

    lcg::Engine& engine() { return engine_; }
    const std::vector<OperationModel>& operations() const { return operations_; }
    /// The objective as a side to be made small; -1: none.
    lcg::Side objective() const { return objective_; }
    /// From a criterion's value to the objective's scale (rounded down) and back.
    std::int64_t scaled(std::int64_t value) const { return value / unit_; }
    std::int64_t unscaled(std::int64_t value) const { return value * unit_; }
    /// @pre every variable is fixed.
    core::Schedule schedule() const;
    /// Tries to stay near this schedule from now on.
    void follow(const core::Schedule& schedule);
    /// The same with the values that are fixed now.
    void follow_current();

private:
    void make_pools();
    void make_times();
    void make_modes();
    void make_lags();
    void make_alike();
    void make_uses();
    void make_calendars();
    void make_objective(std::size_t index, std::optional<std::int64_t> limit);
    int scaled_time(core::SimTime t) const;
    int scaled_down(core::SimTime t) const;
    int scaled_length(core::Seconds d) const { return static_cast<int>(d.count() / grain_); }
    void clause(std::vector<lcg::Lit> lits, lcg::Lit unless_false = {});

    const core::Problem& p_;
    lcg::Engine engine_;
    std::vector<OperationModel> operations_;
    std::vector<Pool> pools_;
    std::vector<int> pool_of_;        // per resource
    std::vector<char> may_be_empty_;  // per operation and span: [2 * i + (span == Work)]
    std::vector<OrderPair> order_pairs_;
    std::int64_t grain_ = 1;
    std::int64_t unit_ = 1;
    int horizon_ = 0;
    lcg::Side objective_ = -1;
    bool impossible_ = false;
};

/// The largest length that divides every time of the problem (the end of the horizon excepted).
std::int64_t time_grain(const core::Problem& problem);

class ExactBrancher final : public lcg::Brancher {
public:
    explicit ExactBrancher(const ExactModel& model);
    /// The earliest undecided event first: its ways, then its time, as early as possible.
    lcg::Lit next(const lcg::Engine& engine) override;

private:
    struct Event {
        lcg::Term time;
        int operation;  // -1: an end
    };
    const ExactModel& model_;
    std::vector<Event> events_;
};

}  // namespace sched::search
