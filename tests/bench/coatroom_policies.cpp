// What a plan is worth on the days that come: each policy, and each rule without a plan, on the
// same simulated days (docs/simulation.md).
//
//     coatroom-policies --schedules 3000 --days 300 scenarios/tomorrow scenarios/big-day
//     coatroom-policies --rooms 1-12 --days 300

#include <CLI/CLI.hpp>
#include <cstdio>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/simulate/replicate.hpp"
#include "tests/room_judge/random_scenario.hpp"

namespace {

struct PolicyQuestion {
    std::int64_t schedules = 3000;
    std::size_t days = 300;
    std::uint64_t seed = 1;
    bool none = false;
    std::vector<std::string> policies = {"follow", "timetable", "review", "edd", "atc"};
};

double late_on_paper(const sched::core::Problem& p, const sched::core::Schedule& plan) {
    const auto done = sched::core::completions(p, plan);
    int late = 0;
    for (std::size_t o = 0; o < p.orders.size(); ++o)
        late += done[o] && p.orders[o].due && *done[o] > *p.orders[o].due;
    return late;
}

void measure(const std::string& name, const model::Scenario& scenario, model::SimTime start,
             const PolicyQuestion& question) {
    using namespace sched;
    model::Diagnostics diagnostics;
    const compile::CompileOptions how{.start = start, .days = 6};
    const auto room = compile::compile_room(scenario, how, diagnostics);
    if (!room) return;
    search::SearchOptions search;
    search.budget.evaluations = question.schedules;
    search.seed = question.seed;
    const auto plan = search::search_room(room->problem, search);
    if (!plan.schedule) return;
    std::printf("%s: %zu orders, on paper %.0f late, tardiness %.0f min\n", name.c_str(),
                room->problem.orders.size(), late_on_paper(room->problem, *plan.schedule),
                static_cast<double>(core::evaluate(room->problem, *plan.schedule).parts[0]) / 60.0);
    for (const auto& policy : question.policies) {
        study::ReplicateOptions options;
        options.replications = question.days;
        options.policy = policy;
        if (question.none) options.chance = study::Chance::none();
        const auto r = study::replicate(scenario, how, *room, &*plan.schedule, options);
        if (!r || r->used == 0) continue;
        std::printf(
            "  %-10s late %6.2f +- %.2f  tardiness %8.1f +- %.1f min  unfinished %zu  "
            "improvised %zu\n",
            policy.c_str(), r->late_orders.mean, r->late_orders.half_width,
            r->objective[0].mean / 60.0, r->objective[0].half_width / 60.0, r->incomplete,
            r->improvised);
    }
    std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("Plans and rules on simulated days");
    PolicyQuestion question;
    std::vector<std::string> folders;
    std::string rooms;
    app.add_option("--schedules", question.schedules, "Tried for each plan");
    app.add_option("--days", question.days, "Simulated");
    app.add_option("--seed", question.seed, "Of the search");
    app.add_flag("--no-chance", question.none, "Nothing turns out otherwise");
    app.add_option("--policies", question.policies, "Compared")->delimiter(',');
    app.add_option("--rooms", rooms, "Random rooms, FIRST-LAST");
    app.add_option("folders", folders, "Scenarios");
    CLI11_PARSE(app, argc, argv);
    for (const auto& folder : folders) {
        model::Diagnostics diagnostics;
        const auto scenario = model::read_scenario(folder, diagnostics);
        if (!scenario) return 2;
        measure(folder, *scenario, model::midnight(scenario->room.day.value_or(model::LocalDate{})),
                question);
    }
    if (rooms.empty()) return 0;
    const auto dash = rooms.find('-');
    const auto last = std::stoull(rooms.substr(dash + 1));
    for (auto seed = std::stoull(rooms); seed <= last; ++seed)
        measure("room " + std::to_string(seed), random_scenario::make(seed),
                random_scenario::first_day(), question);
    return 0;
}
