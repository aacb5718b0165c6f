#pragma once
// What the parts of the promise share: the desk's insides and an enquiry planned in. Seen in this
// folder only.

#include <map>
#include <span>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"
#include "sched/simulate/replicate.hpp"

namespace sched::study {

struct PromiseDesk::Inside {
    model::Scenario scenario;
    PromiseOptions options;  // compile.days as it was needed
    compile::RoomProblem room;
    core::Solution solution;
    core::Schedule turns;  // of the solution, or those of a list of work in the place of starts
    bool by_list = false;
    Replications days;                        // simulated without the enquiry
    std::vector<core::SimTime> planned;       // per order
    std::vector<core::SimTime> protected_by;  // per order: planned to be ready no later than that
    core::SimTime asked{};
    std::vector<std::string> notes;
    std::vector<RelaxedLimit> relaxed;  // limits of screens under way that no plan keeps
    int closings = 0;                   // of places, in a row, that such screens stand through
};

namespace promising {

inline constexpr const char* no_plan_found = "no plan was found within ";

/// What the promised ones keep, in the plan: the slack that random variation needs; their planned
/// times; all their turns before the enquiry's and the day on which it is asked to themselves.
enum class Care { Slack, Times, Tomorrow };

/// One turn of the enquiry among those of what is promised, as it comes out without random
/// variation.
struct TurnTried {
    std::int64_t turn = 0;
    std::int64_t harm = 0;   // s beyond what the promised ones may move, by weight
    std::int64_t ready = 0;  // of the enquiry, s as in SimTime
};

/// How an enquiry is planned in.
struct InsertHow {
    Care care = Care::Slack;
    int displaced = -1;                       // an order that goes behind it; -1: none
    std::optional<std::int64_t> turn;         // this one, whatever it harms
    std::vector<TurnTried>* tried = nullptr;  // gets all turns that were tried
};

/// Pots of the plan that hangs, by emulsion; nullptr: none hangs.
const std::map<std::string, int>* posted_pots(const PromiseOptions& options);
/// The days that are planned, s.
core::Seconds days_in_seconds(const PromiseOptions& options);

/// The room of a scenario with what has begun put on it. @param notes may be null.
std::optional<compile::RoomProblem> compile_remaining(const model::Scenario& scenario,
                                                      const PromiseOptions& options,
                                                      search::EarlierPlan& earlier,
                                                      std::vector<std::string>* notes,
                                                      model::Diagnostics& diagnostics);

/// The day as it would go without random variation, work being taken by the starts of
/// `turns`.
std::optional<core::Schedule> nominal_day(const core::Problem& problem,
                                          const core::Schedule& turns);

/// The scenario with the enquiry as its last order, due after everything else.
model::Scenario scenario_with(const model::Scenario& scenario, const Enquiry& enquiry,
                              core::SimTime far);

/// @param with has the enquiry as its last order. @returns nullopt with `why` when it does not
/// compile or no plan was found.
std::optional<PromiseDesk::Planned> insert(const PromiseDesk::Inside& desk, model::Scenario with,
                                           const InsertHow& how, std::string& why);

/// Simulates a plan with the enquiry; the days have the random variation of the desk's own.
std::optional<Replications> simulate(const PromiseDesk::Inside& desk,
                                     const PromiseDesk::Planned& plan, std::size_t replications);

/// Days `first` to `first + count - 1` of the random variation of `seed`; only `all` is filled, of
/// each day number, complete and ready.
std::optional<Replications> simulate_days(const PromiseDesk::Planned& plan,
                                          const PromiseOptions& options, std::uint64_t seed,
                                          std::uint64_t first, std::size_t count);

/// One day as it was simulated by a plan, when nothing comes in, fails or is missing: by the
/// operations of the plan. @returns nullopt if it did not end.
std::optional<core::Schedule> simulated_day(const PromiseDesk::Planned& plan,
                                            const PromiseOptions& options, std::uint64_t seed,
                                            std::uint64_t number);

/// Ready times of one order over the days, ascending, those that did not end left out.
std::vector<core::SimTime> ready_times(const Replications& days, std::size_t order,
                                       core::SimTime start);

/// The quantile of `sorted` of n days.
PromiseQuantile quantile_of(std::span<const core::SimTime> sorted, std::size_t n, double level);

/// What past promises add to a time at the shop's level.
core::SimTime corrected(const PromiseDesk::Inside& desk, core::SimTime t);

Odds odds_by(std::span<const core::SimTime> sorted, std::size_t n, core::SimTime time);

/// Every promised order whose days differ, worst first.
std::vector<EndangeredOrder> compare_days(const PromiseDesk::Inside& desk, const Replications& with,
                                          std::size_t days);

/// What is being done, to whoever asks and wants to know.
void tell(const PromiseDesk::Inside& desk, const std::string& words);

/// Days lost less days won, over all promised orders.
std::int64_t net_loss(const std::vector<EndangeredOrder>& orders);

/// @param promise filled but for remedies.  @param days simulated by `plan`.
std::vector<Remedy> find_remedies(const PromiseDesk::Inside& desk, const Promise& promise,
                                  const PromiseDesk::Planned& plan, const Replications& days);

core::SimTime completion_of(const core::Problem& problem, const core::Schedule& schedule,
                            std::size_t order);

}  // namespace promising
}  // namespace sched::study
