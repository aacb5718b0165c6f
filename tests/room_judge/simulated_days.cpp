#include "tests/room_judge/simulated_days.hpp"

#include <fmt/format.h>

#include <map>

#include "sched/check/checker.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/sequence.hpp"
#include "sched/simulate/day_run.hpp"
#include "sched/simulate/realise.hpp"
#include "sched/simulate/replicate.hpp"
#include "tests/room_judge/day_figures.hpp"
#include "tests/room_judge/dice.hpp"

namespace planned {

using namespace sched;
using namespace sched::study;

namespace {

using random_scenario::Dice;

Chance eventful(const model::Scenario& scenario, Dice& dice) {
    Chance chance;
    chance.work_cv = 0.1 * dice.below(6);
    chance.drying_cv = 0.1 * dice.below(4);
    chance.machine_cv = dice.chance(30) ? 0.1 : 0.0;
    chance.remakes = {{.at = model::Step::Inspect, .chance = 0.01 * dice.below(30)}};
    if (dice.chance(50))
        chance.remakes.push_back(
            {.at = model::Step::WashOut, .chance = 0.1, .back_to = model::Step::Degrease});
    const auto& stations = scenario.room.stations;
    if (dice.chance(60))
        chance.failures = {
            {.station = stations[ix(dice.below(static_cast<int>(stations.size())))].name,
             .between = Distribution::exponential(6 * 3600.0),
             .repair = Distribution::lognormal(1800, 0.5)}};
    chance.absent = dice.chance(30) ? 0.05 : 0.0;
    chance.film_late = dice.chance(50) ? 0.5 : 0.0;
    chance.rush.a_day = dice.chance(40) ? 1.0 : 0.0;
    return chance;
}

class Days {
public:
    Days(const model::Scenario& scenario, const Planned& planned, std::uint64_t seed)
        : scenario_(scenario), planned_(planned), dice_(seed + 5'000'011), seed_(seed) {}

    SimulatedDays simulate(int days) {
        compile::CompileOptions how = planned_.how;
        how.spare_ways = true;
        how.days += 3;
        model::Diagnostics diagnostics;
        auto room = compile::compile_room(scenario_, how, diagnostics);
        if (!room) {
            say("compile", "the room does not compile with spare ways");
            return std::move(out_);
        }
        room_ = *std::move(room);
        as_planned();
        chance_ = eventful(scenario_, dice_);
        const Realiser realiser(scenario_, room_, chance_);
        const char* policies[] = {"follow", "in-order", "timetable", "review", "edd", "atc"};
        for (int d = 0; d < days; ++d)
            one(realiser, policies[dice_.below(6)], static_cast<std::uint64_t>(d));
        return std::move(out_);
    }

private:
    void say(const std::string& rule, const std::string& words) {
        out_.broken.push_back("day " + rule + ": " + words);
    }

    void as_planned() {
        const Chance none = Chance::none();
        const Realiser realiser(scenario_, room_, none);
        for (const char* name : {"follow", "in-order", "timetable"}) {
            Reality day = realiser.realise(engine::Draws(seed_, 0));
            const auto simulated = Policy::make(name, room_, &planned_.schedule)->simulate(day);
            if (!simulated.complete) {
                say("as planned", std::string(name) + " leads to no end");
                continue;
            }
            for (std::size_t i = 0; i < planned_.schedule.placements.size(); ++i) {
                auto wanted = planned_.schedule.placements[i];
                auto got = simulated.schedule.placements[i];
                wanted.batch = got.batch = std::nullopt;  // numbered in the order of booking
                if (wanted == got) continue;
                say("as planned", fmt::format("{}: {} is planned {} and simulated {}", name,
                                              room_.problem.operations[i].name,
                                              model::format_date_time(wanted.start),
                                              model::format_date_time(got.start)));
                break;
            }
        }
    }

    void one(const Realiser& realiser, const char* name, std::uint64_t d) {
        const engine::Draws draws(seed_, d);
        DayDisturbances disturbances;
        realiser.disturbances().draw(draws, 1.0, disturbances);
        Reality day = realiser.build(disturbances, draws);
        const std::string which = fmt::format("{}, day {}: ", name, d);
        if (const auto wrong = core::validate(day.problem); !wrong.empty())
            say("problem", which + wrong.front());
        const auto policy = Policy::make(name, room_, &planned_.schedule);
        const auto simulated = policy->simulate(day);
        ++out_.days;
        quickly(realiser, *policy, disturbances, draws, day, simulated, which);
        conserved(day, which);
        if (!simulated.complete) {
            ++out_.unfinished;
            return;
        }
        out_.improvised += simulated.improvised ? 1 : 0;
        flows(day, simulated, name, which, d);
        if (simulated.misses > 0) say("limits", which + "a limit of a fresh day was given up");
        for (const auto& v : check::check(day.problem, simulated.schedule))
            say(check::words(v.rule), which + v.words);
    }

    // By design not the same as the slow way: a pot does not end its life, nor a station that
    // closes or fails the stay of who stands in it.
    bool comparable(const Reality& day) const {
        const auto& stations = scenario_.room.stations;
        const auto& stores = day.problem.stores;
        return day.failures == 0 &&
               std::all_of(stations.begin(), stations.end(),
                           [](const auto& x) { return x.closed.empty(); }) &&
               std::none_of(stores.begin(), stores.end(),
                            [](const auto& x) { return x.life.has_value(); });
    }

    void quickly(const Realiser& realiser, const Policy& policy,
                 const DayDisturbances& disturbances, const engine::Draws& draws,
                 const Reality& day, const SimulatedDay& simulated, const std::string& which) {
        const auto kit = DayKit::make(realiser.disturbances(), policy);
        if (!kit || !comparable(day)) return;
        DayRun run(*kit);
        const bool complete = run.simulate(disturbances, draws);
        if (complete != simulated.complete) {
            say("quick", which + "one way to simulate it ends, the other does not");
            return;
        }
        if (!complete) return;
        if (run.improvised() != simulated.improvised)
            say("quick", which + "one way to simulate it keeps to the plan, the other does not");
        const auto schedule = engine::to_schedule(run.problem(), run.schedule());
        for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
            if (schedule.placements[i] == simulated.schedule.placements[i]) continue;
            say("quick",
                which + "the two ways to simulate it differ in " + day.problem.operations[i].name);
            break;
        }
    }

    // Whoever comes in becomes ready, once, and nobody stays; who is found bad is made again, as
    // often as the day says; the number inside, summed over time, is what the screens' times
    // inside add up to (Little's law, of a day that begins and ends empty exact to the second).
    void flows(const Reality& day, const SimulatedDay& simulated, const char* policy,
               const std::string& which, std::uint64_t d) {
        std::map<int, int> last;  // by screen of the room: its last operation of the run
        const int run = run_operations();
        for (int i = 0; i < run; ++i) {
            if (room_.operations[ix(i)].screen >= 0) last[room_.operations[ix(i)].screen] = i;
        }
        std::vector<LoggedStep> log;
        std::map<int, std::size_t> before;  // by job: its step before in the log
        for (std::size_t i = 0; i < day.nominal.size(); ++i) {
            const auto& info = room_.operations[ix(day.nominal[i])];
            const core::JobId job = day.problem.operations[i].job;
            if (!job.valid() || info.screen < 0) continue;
            const auto& end = room_.operations[ix(last.at(info.screen))];
            const auto& placed = simulated.schedule.placements[i];
            // Rush orders are made once.
            const int round = std::max(0, day.attempt[i]);
            const auto [at, first] = before.try_emplace(job.value, log.size());
            if (!first && log[at->second].round < round) log[at->second].bad = true;
            at->second = log.size();
            log.push_back(
                {.screen = job.value,
                 .round = round,
                 .last = info.step == end.step && info.part == end.part && info.round == end.round,
                 .from = placed.start.time_since_epoch().count(),
                 .to = placed.work_end.time_since_epoch().count()});
        }
        const DayFigures flow = figures_of(log);
        for (const auto& words : flow.wrong)
            say("flow", which + words);
        if (flow.came != flow.ready || flow.inside != 0)
            say("flow", fmt::format("{}{} screens come, {} become ready, {} are inside at the end",
                                    which, flow.came, flow.ready, flow.inside));
        if (flow.came != static_cast<int>(before.size()))
            say("flow", fmt::format("{}{} screens of {} come", which, flow.came, before.size()));
        if (flow.again != day.remakes)
            say("flow", fmt::format("{}{} screens are made again, {} were to be", which, flow.again,
                                    day.remakes));
        if (flow.area != flow.stays)
            say("Little", fmt::format("{}{} screen-seconds inside by the clock, {} by the screens",
                                      which, flow.area, flow.stays));
        out_.screens += flow.ready;
        out_.stays += flow.stays;
        if (comparable(day)) reported(day, flow, policy, which, d);
    }

    // What the program reports of that day is what its log says.
    void reported(const Reality& day, const DayFigures& flow, const char* policy,
                  const std::string& which, std::uint64_t d) {
        ReplicateOptions options;
        options.replications = 1;
        options.first = d;
        options.seed = seed_;
        options.policy = policy;
        options.chance = chance_;
        const auto said =
            replicate(scenario_, planned_.how, planned_.room, &planned_.schedule, options);
        if (!said || said->all.size() != 1 || !said->all.front().complete) {
            say("reported", which + "replicate() tells of no such day");
            return;
        }
        const Replication& one = said->all.front();
        std::vector<std::int64_t> ready(one.ready.size(), 0);
        for (const auto& [screen, at] : flow.ready_at) {
            const std::size_t order = day.problem.jobs[ix(screen)].order.index();
            const std::int64_t after = at - day.problem.horizon_start.time_since_epoch().count();
            if (order < ready.size()) ready[order] = std::max(ready[order], after);
        }
        for (std::size_t o = 0; o < ready.size(); ++o) {
            if (ready[o] != one.ready[o])
                say("reported", fmt::format("{}{} is ready at {} s, replicate() says {} s", which,
                                            day.problem.orders[o].name, ready[o], one.ready[o]));
        }
        if (one.remakes != flow.again || one.rush_orders != day.rush())
            say("reported", which + "replicate() tells of other remakes or rush orders");
    }

    // Every planned screen goes through its last step once; every coat takes once.
    void conserved(const Reality& day, const std::string& which) {
        std::map<int, int> last;  // by planned job: its last operation of the run
        const int run = run_operations();
        for (int i = 0; i < run; ++i) {
            const core::JobId job = room_.problem.operations[ix(i)].job;
            if (job.valid()) last[job.value] = i;
        }
        std::map<int, int> ready;
        std::size_t coats = 0, takes = 0;
        for (std::size_t i = 0; i < day.nominal.size(); ++i) {
            const auto& info = room_.operations[ix(day.nominal[i])];
            const core::JobId job = day.problem.operations[i].job;
            coats += info.screen >= 0 && info.part != model::route::Part::Load &&
                     (info.step == model::Step::Coat || info.step == model::Step::FaceCoat);
            const auto found = job.valid() ? last.find(job.value) : last.end();
            if (found == last.end()) continue;
            const auto& end = room_.operations[ix(found->second)];
            if (info.step == end.step && info.part == end.part && info.round == end.round)
                ++ready[job.value];
        }
        for (const auto& [job, operation] : last) {
            if (ready[job] != 1)
                say("conservation", fmt::format("{}{} is ready {} times", which,
                                                room_.problem.jobs[ix(job)].name, ready[job]));
        }
        std::map<std::size_t, int> takes_of;
        for (const auto& c : day.problem.constraints) {
            const auto* take = std::get_if<core::Take>(&c);
            if (take == nullptr) continue;
            ++takes;
            if (++takes_of[take->operation.index()] > 1)
                say("conservation", which + "an operation takes twice");
        }
        if (takes > coats) say("conservation", which + "more takes than coats");
    }

    int run_operations() const {
        int run = static_cast<int>(room_.operations.size());
        for (const auto& way : room_.spare)
            run = std::min(run, way.first);
        for (const auto& emulsion : room_.spare_emulsions) {
            for (const auto& mix : emulsion.mixes) {
                if (mix.count > 0) run = std::min(run, mix.first);
            }
        }
        return run;
    }

    const model::Scenario& scenario_;
    const Planned& planned_;
    Dice dice_;
    std::uint64_t seed_;
    compile::RoomProblem room_;
    Chance chance_;
    SimulatedDays out_;
};

}  // namespace

SimulatedDays simulated_days(const model::Scenario& scenario, const Planned& planned, int days,
                             std::uint64_t seed) {
    return Days(scenario, planned, seed).simulate(days);
}

}  // namespace planned
