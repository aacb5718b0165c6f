// A day on compiled rows is the day that the slow way gives: realise, compile, execute.
#include <algorithm>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/engine/sequence.hpp"
#include "sched/simulate/day_run.hpp"
#include "sched/simulate/realise.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

struct Room {
    model::Scenario scenario;
    compile::RoomProblem room;  // with spare ways
};

Room open(const std::string& name, const char* start) {
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/" + name, diagnostics);
    REQUIRE(scenario);
    const compile::CompileOptions options{
        .start = *model::parse_date_time(start), .days = 6, .spare_ways = true};
    auto room = compile::compile_room(*scenario, options, diagnostics);
    REQUIRE(room);
    return {*std::move(scenario), *std::move(room)};
}

Chance eventful() {
    Chance chance;
    chance.remakes = {{.at = model::Step::WashOut, .chance = 0.1, .back_to = model::Step::Degrease},
                      {.at = model::Step::Inspect, .chance = 0.15}};
    chance.failures = {{"exposure unit", Distribution::exponential(8 * 3600.0),
                        Distribution::uniform(600.0, 3600.0)}};
    chance.absent = 0.05;
    chance.film_late = 0.2;
    chance.rush.a_day = 2.0;
    return chance;
}

/// @returns how many days of `n` were compared.
int same_days(const Room& room, const Chance& chance, const char* policy, std::uint64_t n,
              double volume) {
    const Realiser realiser(room.scenario, room.room, chance);
    // A plan of the run by the rule "edd", for the policies that follow one.
    const auto by_due = Policy::make("edd", room.room, nullptr);
    const Chance none = Chance::none();
    const Realiser without(room.scenario, room.room, none);
    Reality quiet = without.realise(engine::Draws(1, 0));
    const core::Schedule plan = by_due->simulate(quiet).schedule;
    const auto worker = Policy::make(policy, room.room, &plan);
    REQUIRE(worker);
    const auto kit = DayKit::make(realiser.disturbances(), *worker);
    REQUIRE(kit);
    DayRun run(*kit);
    int compared = 0;
    for (std::uint64_t r = 0; r < n; ++r) {
        const engine::Draws draws(5, r);
        DayDisturbances disturbances;
        realiser.disturbances().draw(draws, volume, disturbances);
        Reality reality = realiser.build(disturbances, draws);
        const SimulatedDay slow = worker->simulate(reality);
        const bool quick = run.simulate(disturbances, draws);
        INFO(policy << ", day " << r);
        REQUIRE(quick == slow.complete);
        if (!quick) continue;
        auto placements = engine::to_schedule(run.problem(), run.schedule()).placements;
        CHECK(placements == slow.schedule.placements);
        CHECK(run.objective() == slow.objective);
        ++compared;
    }
    return compared;
}

}  // namespace

// What a day mixes besides is said by its parts (where the pots are too few the last one holds
// more): both ways to make the day give as much, no more.
TEST_CASE("a spare mix gives what the day needs of it", "[day-run]") {
    const Room tomorrow = open("tomorrow", "2026-11-26T00:00");
    const Chance chance = eventful();
    const Realiser realiser(tomorrow.scenario, tomorrow.room, chance);
    const auto rule = Policy::make("edd", tomorrow.room, nullptr);
    const auto kit = DayKit::make(realiser.disturbances(), *rule);
    REQUIRE(kit);
    DayRun run(*kit);
    std::vector<char> spare(tomorrow.room.problem.stores.size(), 0);
    std::vector<std::int64_t> usual(spare.size(), 0);
    for (const auto& emulsion : tomorrow.room.spare_emulsions) {
        for (const auto& mix : emulsion.mixes) {
            spare[mix.store.index()] = 1;
            usual[mix.store.index()] = mix.volume;
        }
    }
    int mixed = 0, more = 0;
    for (std::uint64_t r = 0; r < 40; ++r) {
        const engine::Draws draws(5, r);
        DayDisturbances disturbances;
        realiser.disturbances().draw(draws, 6.0, disturbances);
        std::vector<std::int64_t> said, slow, quick;
        for (const DayPart& part : disturbances.parts) {
            if (part.volume > 0) said.push_back(part.volume);
        }
        const Reality reality = realiser.build(disturbances, draws);
        for (const auto& constraint : reality.problem.constraints) {
            const auto* give = std::get_if<core::Give>(&constraint);
            if (give == nullptr || spare[give->store.index()] == 0) continue;
            slow.push_back(give->amount);
            more += give->amount > usual[give->store.index()];
        }
        run.simulate(disturbances, draws);
        for (const auto& give : run.problem().gives) {
            if (spare[static_cast<std::size_t>(give.store)] != 0) quick.push_back(give.amount);
        }
        for (auto* list : {&said, &slow, &quick})
            std::sort(list->begin(), list->end());
        INFO("day " << r);
        CHECK(slow == said);
        CHECK(quick == said);
        mixed += static_cast<int>(said.size());
    }
    CHECK(mixed > 10);
    CHECK(more > 0);
}

TEST_CASE("days on compiled rows are the days that were realised", "[day-run]") {
    const Room tomorrow = open("tomorrow", "2026-11-26T00:00");
    CHECK(same_days(tomorrow, eventful(), "atc", 25, 1.0) > 20);
    CHECK(same_days(tomorrow, eventful(), "edd", 25, 1.3) > 15);
    CHECK(same_days(tomorrow, Chance::none(), "spt", 1, 1.0) == 1);
    // Plans: followed, and reviewed every two hours.
    CHECK(same_days(tomorrow, eventful(), "follow", 20, 1.0) > 16);
    CHECK(same_days(tomorrow, eventful(), "review", 20, 1.0) > 16);
    CHECK(same_days(tomorrow, eventful(), "in-order", 8, 1.0) > 5);
    CHECK(same_days(tomorrow, eventful(), "timetable", 8, 1.0) > 5);
    const Room damp = open("damp-day", "2026-11-26T00:00");
    CHECK(same_days(damp, eventful(), "atc", 10, 0.8) > 8);
}
