// What a plan is worth on the days that may come, against no plan at all: every dispatching rule,
// the plan that is best on paper, and the plan that `coatroom plan` takes, all on the same fresh
// days; and what could be had by who knew each day beforehand. docs/chance.md says what the last
// run gave.
//
//     coatroom-chance scenarios/tomorrow --seconds 15 --days 1000 --perfect 50
//     coatroom-chance --random 12 --seconds 15 --days 1000
//
// Or whether chances hold: "late with p" of the sheets, from 200 days, against fresh days, by
// tenths.
//
//     coatroom-chance --calibrate 2000 --days 50

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cmath>
#include <cstdio>

#include "model/read/scenario.hpp"
#include "sched/app/parts/chances.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/find_plan.hpp"
#include "sched/check/checker.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/realise.hpp"
#include "tests/room_judge/random_scenario.hpp"

namespace {

using namespace sched;

struct Settings {
    double seconds = 15.0;
    std::size_t days = 1000;
    int threads = 1, perfect = 0;
    std::int64_t schedules = 500;
    std::uint64_t seed = 1;
};

struct Row {
    std::string name;
    double tardiness = 0.0, late = 0.0;  // expected: minutes times weight, orders
};

// A day that did not end is late for everybody until the horizon ends.
Row row_of(const std::string& name, const core::Problem& problem, const study::Replications& r) {
    Row row{.name = name};
    for (const auto& day : r.all) {
        for (std::size_t o = 0; o < problem.orders.size(); ++o) {
            const auto& order = problem.orders[o];
            if (!order.due) continue;
            const auto end =
                day.complete ? day.ready[o] : (problem.horizon_end - problem.horizon_start).count();
            const auto late = end - (*order.due - problem.horizon_start).count();
            row.late += late > 0 ? 1.0 : 0.0;
            row.tardiness += late > 0 ? static_cast<double>(order.weight * late) / 60.0 : 0.0;
        }
    }
    const auto n = static_cast<double>(r.all.size());
    row.late /= n;
    row.tardiness /= n;
    if (r.incomplete > 0) row.name += fmt::format(" ({} not ended)", r.incomplete);
    return row;
}

// Each day's best plan with its lengths and disturbances known beforehand, by the room search: what
// no plan made the evening before can reach.
Row perfect_row(const app::FoundPlan& plan, const app::Question& question, const Settings& how,
                std::uint64_t seed) {
    compile::CompileOptions longer = plan.how;
    longer.days += 3;
    longer.spare_ways = true;
    model::Diagnostics diagnostics;
    const auto wide = compile::compile_room(question.scenario, longer, diagnostics);
    const study::Realiser realiser(question.scenario, *wide, question.days.chance);
    Row row{.name = fmt::format("perfect information ({} days)", how.perfect)};
    for (int d = 0; d < how.perfect; ++d) {
        auto reality = realiser.realise(engine::Draws(seed, static_cast<std::uint64_t>(d)));
        study::apply_factors(reality);
        search::SearchOptions one{.budget = {.evaluations = how.schedules}, .threads = 1};
        const auto best = search::search_room(reality.problem, one);
        if (!best.schedule) continue;
        row.tardiness += static_cast<double>(best.value.parts[0]) / 60.0 / how.perfect;
        row.late += best.value.parts.size() > 1
                        ? static_cast<double>(best.value.parts[1]) / how.perfect
                        : 0.0;
    }
    return row;
}

/// @returns tardiness and late orders of the plan as shares of the best rule's; nothing: no plan.
std::optional<std::pair<double, double>> measure(const std::string& name, app::Question question,
                                                 const Settings& how) {
    model::Diagnostics diagnostics;
    question.how.budget.seconds = how.seconds;
    question.how.seed = how.seed;
    question.how.threads = how.threads;
    question.quiet = true;
    const auto room = app::room_of(question, diagnostics);
    if (!room || room->first.kind != search::FirstAnswer::Kind::Plan) return std::nullopt;
    const auto plan = app::find_plan(question, *room, room->room.problem, question.how);
    if (!plan.solution.schedule) return std::nullopt;
    auto on_paper = question;
    on_paper.on_paper = true;
    const auto paper = app::find_plan(on_paper, *room, room->room.problem, on_paper.how);

    study::ReplicateOptions fresh;
    fresh.replications = how.days;
    fresh.seed = how.seed + 1'000'000;
    fresh.threads = how.threads;
    fresh.chance = question.days.chance;
    std::vector<Row> rows;
    const auto add = [&](const std::string& row, const app::FoundPlan& of,
                         const core::Schedule* schedule) {
        const auto r = study::replicate(question.scenario, of.how, of.room, schedule, fresh);
        if (r) rows.push_back(row_of(row, of.room.problem, *r));
    };
    for (const auto& rule : engine::rules()) {
        fresh.policy = rule.name;
        add(rule.name, plan, nullptr);
    }
    Row best = rows.front(), punctual = rows.front();
    for (const auto& r : rows) {
        if (r.tardiness < best.tardiness) best = r;
        if (r.late < punctual.late) punctual = r;
    }
    fresh.policy = "follow";
    add("best on paper, followed", paper, &*paper.solution.schedule);
    fresh.turns = study::turns_in_seconds(*plan.solution.schedule, plan.turns);
    add("the plan", plan, &*plan.solution.schedule);
    const Row mine = rows.back();
    if (how.perfect > 0) rows.push_back(perfect_row(plan, question, how, fresh.seed));
    std::printf("%s, %zu days\n", name.c_str(), how.days);
    for (const auto& r : rows) {
        std::printf("  %-32s %9.1f min %6.2f late   %.2f  %.2f\n", r.name.c_str(), r.tardiness,
                    r.late, r.tardiness / best.tardiness, r.late / punctual.late);
    }
    std::fflush(stdout);
    return std::pair(mine.tardiness / best.tardiness, mine.late / punctual.late);
}

struct Tenth {
    int orders = 0;
    double said = 0.0, came = 0.0;
};

/// The chances that the sheets of one plan give, and the share of fresh days on which it came so.
/// @returns false: no plan.
bool add_to(std::vector<Tenth>& tenths, app::Question question, const Settings& how) {
    model::Diagnostics diagnostics;
    question.how.budget = {.evaluations = how.schedules};
    question.how.seed = how.seed;
    question.how.threads = how.threads;
    question.quiet = true;
    question.days.number = 200;
    question.days.chance = study::Chance::of({}, question.scenario);
    const auto room = app::room_of(question, diagnostics);
    if (!room || room->first.kind != search::FirstAnswer::Kind::Plan) return false;
    const auto plan = app::find_plan(question, *room, room->room.problem, question.how);
    if (!plan.solution.schedule) return false;
    const app::SimulatedRoom of{question, plan.how, plan.room};
    report::PlanDocument document;
    for (const auto& order : plan.room.problem.orders) {
        if (order.due) document.orders.push_back({.name = order.name});
    }
    app::add_chances(of, *plan.solution.schedule, plan.turns, document);
    study::ReplicateOptions fresh;
    fresh.replications = how.days;
    fresh.seed = how.seed + 1'000'000;
    fresh.threads = how.threads;
    fresh.chance = question.days.chance;
    fresh.turns = study::turns_in_seconds(*plan.solution.schedule, plan.turns);
    const auto days =
        study::replicate(question.scenario, plan.how, plan.room, &*plan.solution.schedule, fresh);
    if (!days) return false;
    for (const auto& line : document.orders) {
        for (const auto& outcome : days->orders) {
            if (outcome.name != line.name || !line.chance_late || outcome.n == 0) continue;
            Tenth& tenth = tenths[std::min<std::size_t>(
                9, static_cast<std::size_t>(10.0 * *line.chance_late))];
            ++tenth.orders;
            tenth.said += *line.chance_late;
            tenth.came += static_cast<double>(outcome.late) / static_cast<double>(outcome.n);
        }
    }
    return true;
}

int calibrate(int wanted, std::uint64_t first, const Settings& how) {
    std::vector<Tenth> tenths(10);
    const auto orders = [&] {
        int n = 0;
        for (const Tenth& t : tenths)
            n += t.orders;
        return n;
    };
    int rooms = 0;
    for (std::uint64_t seed = first; orders() < wanted; ++seed) {
        Settings own = how;  // days of its own: else all rooms share what chance did on a few
        own.seed += seed;
        rooms += add_to(
            tenths,
            {.scenario = random_scenario::make(seed), .start = random_scenario::first_day()}, own);
    }
    std::printf("| late with | orders | said, mean | came so | apart |\n|---|---|---|---|---|\n");
    for (std::size_t k = 0; k < tenths.size(); ++k) {
        const Tenth& t = tenths[k];
        if (t.orders == 0) continue;
        const double said = 100.0 * t.said / t.orders, came = 100.0 * t.came / t.orders;
        std::printf("| %zu to %zu %% | %d | %.1f %% | %.1f %% | %+.1f |\n", 10 * k, 10 * k + 10,
                    t.orders, said, came, came - said);
    }
    std::printf("\n%d orders of %d rooms, %zu fresh days each.\n", orders(), rooms, how.days);
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app("What plans cost on simulated days");
    std::string folder, date;
    Settings how;
    int random = 0;
    std::uint64_t first = 1;
    app.add_option("scenario", folder, "Scenario folder");
    app.add_option("--date", date, "Day of the plan, if the scenario names none");
    app.add_option("--random", random, "So many invented rooms instead");
    app.add_option("--first", first, "Seed of the first of them");
    app.add_option("--seconds", how.seconds, "Of search");
    app.add_option("--days", how.days, "Fresh days");
    app.add_option("--threads", how.threads, "Threads");
    app.add_option("--seed", how.seed, "Of the search");
    int calibrated = 0;
    app.add_option("--calibrate", calibrated, "So many orders of invented rooms: do chances hold?");
    app.add_option("--schedules", how.schedules, "Of the search, with --calibrate");
    app.add_option("--perfect", how.perfect, "Days planned with perfect information");
    CLI11_PARSE(app, argc, argv);

    if (calibrated > 0) return calibrate(calibrated, first, how);
    model::Diagnostics diagnostics;
    if (random == 0) {
        auto scenario = model::read_scenario(folder, diagnostics);
        const auto start = scenario ? app::day_of_plan({.date = date}, *scenario) : std::nullopt;
        if (!start) return 2;
        app::Question question{.scenario = *std::move(scenario), .start = *start};
        return measure(folder, std::move(question), how) ? 0 : 1;
    }
    int done = 0;
    double worst = 0.0, sum = 0.0, late = 0.0;
    for (std::uint64_t seed = first; done < random; ++seed) {
        app::Question question{.scenario = random_scenario::make(seed),
                               .start = random_scenario::first_day()};
        const auto shares = measure(fmt::format("room {}", seed), std::move(question), how);
        if (!shares || !std::isfinite(shares->first) || !std::isfinite(shares->second)) continue;
        ++done;
        worst = std::max(worst, shares->first);
        sum += shares->first;
        late += shares->second;
    }
    std::printf(
        "%d rooms: tardiness %.2f of the best rule's on average, at most %.2f; late orders "
        "%.2f\n",
        done, sum / done, worst, late / done);
    return 0;
}
