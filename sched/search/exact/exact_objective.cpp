// One criterion of the exact model as a side to be made small.

#include <algorithm>

#include "sched/search/exact/exact_model.hpp"
#include "sched/search/exact/lcg/lcg_linear.hpp"

namespace sched::search {

using lcg::at_most;
using lcg::Lit;
using lcg::Side;

void ExactModel::make_objective(std::size_t index, std::optional<std::int64_t> limit) {
    const core::Criterion criterion = p_.objective[index];
    std::vector<lcg::Weighted> terms;
    std::int64_t most = 0;      // of the sum
    std::int64_t constant = 0;  // sum = constant + terms
    unit_ = criterion == core::Criterion::LateOrders ? 1 : grain_;
    const auto each_of = [&](std::size_t order, auto&& act) {
        for (std::size_t i = 0; i < operations_.size(); ++i) {
            const auto job = p_.operations[i].job;
            if (job.valid() && p_.jobs[job.index()].order.valid() &&
                p_.jobs[job.index()].order.index() == order) {
                act(operations_[i]);
            }
        }
    };
    Side total = -1;
    switch (criterion) {
        case core::Criterion::Makespan: {
            total = 2 * engine_.new_variable(0, horizon_);
            for (const auto& m : operations_)
                engine_.add_difference(m.completion, 0, {total, 0});
            break;
        }
        case core::Criterion::WeightedTardiness:
            for (std::size_t o = 0; o < p_.orders.size(); ++o) {
                const auto& order = p_.orders[o];
                if (!order.due || order.weight == 0) continue;
                const int due = scaled_time(*order.due);
                Side late = -1;
                each_of(o, [&](const OperationModel& m) {
                    if (engine_.ub(m.completion) <= due) return;
                    if (late < 0) late = 2 * engine_.new_variable(0, std::max(0, horizon_ - due));
                    engine_.add_difference(m.completion, -due, {late, 0});
                });
                if (late < 0) continue;
                terms.push_back({order.weight, late});
                most += order.weight * engine_.ub(late);
            }
            break;
        case core::Criterion::LateOrders:
            for (std::size_t o = 0; o < p_.orders.size(); ++o) {
                const auto& order = p_.orders[o];
                if (!order.due) continue;
                const int due = scaled_time(*order.due);
                Lit late;
                each_of(o, [&](const OperationModel& m) {
                    if (engine_.ub(m.completion) <= due) return;
                    if (!late.valid()) late = engine_.new_bool();
                    clause({at_most(m.completion, due), late});
                });
                if (!late.valid()) continue;
                terms.push_back({1, late.side});
                ++most;
            }
            break;
        case core::Criterion::Overtime:
            break;  // only without overtime windows (exact_supports): 0
        case core::Criterion::Holding:
            for (const auto& m : operations_) {
                if (m.end == m.work_end) continue;
                terms.push_back({1, m.end.side});
                terms.push_back({1, lcg::flipped(m.work_end.side)});
                constant += m.end.offset - m.work_end.offset;
                most += engine_.ub(m.end) - engine_.lb(m.work_end);
            }
            break;
        case core::Criterion::FlowTime:
            for (std::size_t o = 0; o < p_.orders.size(); ++o) {
                const int release = scaled_time(p_.orders[o].release);
                Side done = -1;
                each_of(o, [&](const OperationModel& m) {
                    if (done < 0) done = 2 * engine_.new_variable(std::min(0, release), horizon_);
                    engine_.add_difference(m.completion, 0, {done, 0});
                });
                if (done < 0) continue;
                terms.push_back({1, done});
                constant -= release;
                most += std::max(0, horizon_ - release);
            }
            break;
    }
    if (total < 0) {
        total = 2 * engine_.new_variable(0, static_cast<int>(most));
        if (!terms.empty()) lcg::post_linear(engine_, std::move(terms), -constant, total);
    }
    if (limit) {
        clause({at_most({total, 0}, static_cast<int>(std::min<std::int64_t>(scaled(*limit),
                                                                            engine_.ub(total))))});
    } else {
        objective_ = total;
    }
}

}  // namespace sched::search
