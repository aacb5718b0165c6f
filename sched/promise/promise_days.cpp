// Days simulated by a plan with an enquiry in it: when every order was ready.

#include "sched/core/objective.hpp"
#include "sched/promise/promise_inside.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/list_search.hpp"
#include "sched/simulate/realise.hpp"

namespace sched::study::promising {

namespace {

constexpr int more_days = 3;  // so that what is late still ends

}  // namespace

namespace {

/// The room of a plan with what its days need besides, and what simulates them.
struct DaysOfPlan {
    compile::RoomProblem room;
    std::unique_ptr<Realiser> realiser;
    std::unique_ptr<Policy> policy;
};

std::unique_ptr<DaysOfPlan> days_of(const PromiseDesk::Planned& plan,
                                    const PromiseOptions& options) {
    compile::CompileOptions longer = plan.how;
    longer.spare_days = more_days;
    longer.spare_ways = true;
    model::Diagnostics diagnostics;
    auto room = compile::compile_room(plan.scenario, longer, diagnostics);
    if (!room) return nullptr;
    take_over_remaining(plan.room.problem, room->problem);
    // An enquiry does not begin before it is asked, nor before its plan says.
    for (std::size_t o = 0; o < plan.room.problem.orders.size(); ++o)
        room->problem.orders[o].release = plan.room.problem.orders[o].release;
    auto days = std::make_unique<DaysOfPlan>();
    days->room = *std::move(room);
    days->realiser = std::make_unique<Realiser>(plan.scenario, days->room, options.chance);
    if (static_cast<int>(plan.turns.placements.size()) != days->realiser->run_operations())
        return nullptr;
    const bool by_turns = options.policy == "follow";
    days->policy =
        plan.by_list
            ? Policy::list(days->room, turns_of_room(days->room, starts_in_seconds(plan.turns)))
            : Policy::make(options.policy, days->room, &*plan.solution.schedule,
                           by_turns ? &plan.turns : nullptr);
    if (!days->policy) return nullptr;
    return days;
}

}  // namespace

std::optional<core::Schedule> simulated_day(const PromiseDesk::Planned& plan,
                                            const PromiseOptions& options, std::uint64_t seed,
                                            std::uint64_t number) {
    PromiseOptions quiet = options;
    quiet.chance.remakes.clear();
    quiet.chance.failures.clear();
    quiet.chance.rush.a_day = 0.0;
    quiet.chance.absent = quiet.chance.film_late = 0.0;
    const auto days = days_of(plan, quiet);
    if (!days) return std::nullopt;
    Reality reality = days->realiser->realise(engine::Draws(seed, number));
    SimulatedDay simulated = days->policy->simulate(reality);
    if (!simulated.complete) return std::nullopt;
    return std::move(simulated.schedule);
}

std::optional<Replications> simulate_days(const PromiseDesk::Planned& plan,
                                          const PromiseOptions& options, std::uint64_t seed,
                                          std::uint64_t first, std::size_t count) {
    ReplicateOptions how{
        .replications = count,
        .seed = seed,
        .first = first,
        .threads = options.threads,
        .policy = options.policy,
        .turns = plan.by_list ? starts_in_seconds(plan.turns) : std::vector<double>{},
        .ranked_by = options.policy == "follow" ? &plan.turns : nullptr,
        .chance = options.chance,
        .spare_days = more_days,
        .precision = {},
        .stop = options.stop,
        .progress = {}};
    auto out = replicate(plan.scenario, plan.how, plan.room, &*plan.solution.schedule, how);
    if (out) out->all.resize(count);  // what was stopped has not ended
    return out;
}

std::optional<Replications> simulate(const PromiseDesk::Inside& desk,
                                     const PromiseDesk::Planned& plan, std::size_t replications) {
    return simulate_days(plan, desk.options, desk.options.seed, 0, replications);
}

}  // namespace sched::study::promising
