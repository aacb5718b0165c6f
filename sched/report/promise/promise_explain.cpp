#include "sched/report/promise/promise_explain.hpp"

#include "sched/report/document/plan_document.hpp"
#include "sched/report/words/steps.hpp"

namespace sched::report {

void explain_promise(const study::PromiseDesk::Planned& plan, study::Promise& promise) {
    promise.chain.clear();
    if (!promise.impossible.empty() || !plan.solution.schedule) return;
    const PlanDocument document =
        make_plan_document(plan.scenario, plan.room, plan.solution, {.seed = promise.seed});
    for (const auto& order : document.orders) {
        if (order.name != promise.enquiry.name) continue;
        for (const auto& reason : order.reasons) {
            const auto& operation = document.operations[static_cast<std::size_t>(reason.operation)];
            promise.chain.push_back({.start = operation.start,
                                     .waited = reason.waited,
                                     .words = reason.words,
                                     .end = operation.work_end,
                                     .dries = drying_step(operation.step)});
        }
    }
}

}  // namespace sched::report
