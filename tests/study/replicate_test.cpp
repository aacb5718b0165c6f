#include "sched/simulate/replicate.hpp"

#include <cmath>
#include <cstdio>
#include <map>
#include <set>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/realise.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

struct Tomorrow {
    model::Scenario scenario;
    compile::CompileOptions options;
    compile::RoomProblem room;
    core::Schedule plan;  // by the rule "edd"
};

core::Schedule by_rule(const core::Problem& problem, const char* name) {
    const engine::CompiledProblem compiled(problem);
    engine::Decoder decoder(compiled);
    const auto views = engine::rule_views(compiled);
    for (const auto& rule : engine::rules()) {
        if (std::string(rule.name) == name) {
            auto sequence = engine::rule_sequence(compiled, views, rule);
            sequence.keeps_turn = true;  // as on simulated days
            const bool done = decoder.decode(sequence);
            INFO(engine::words(decoder.failure().why)
                 << ", operation " << decoder.failure().operation.value << " "
                 << (decoder.failure().operation.valid()
                         ? problem.operations[decoder.failure().operation.index()].name
                         : ""));
            REQUIRE(done);
        }
    }
    return decoder.to_schedule();
}

const Tomorrow& tomorrow() {
    static const Tomorrow made = [] {
        model::Diagnostics diagnostics;
        auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/tomorrow", diagnostics);
        REQUIRE(scenario);
        const compile::CompileOptions options{.start = *model::parse_date_time("2026-11-26T00:00")};
        auto room = compile::compile_room(*scenario, options, diagnostics);
        REQUIRE(room);
        core::Schedule plan = by_rule(room->problem, "edd");
        return Tomorrow{*std::move(scenario), options, *std::move(room), std::move(plan)};
    }();
    return made;
}

ReplicateOptions few(std::size_t n) {
    ReplicateOptions o;
    o.replications = n;
    return o;
}

}  // namespace

TEST_CASE("without luck the simulated day is the plan, second for second", "[replicate]") {
    // The same rule plans and simulates; nothing is drawn: every placement is equal.
    const Tomorrow& t = tomorrow();
    compile::CompileOptions options = t.options;
    options.spare_ways = true;
    model::Diagnostics diagnostics;
    const auto room = compile::compile_room(t.scenario, options, diagnostics);
    REQUIRE(room);
    const Chance none = Chance::none();
    const Reality reality = Realiser(t.scenario, *room, none).realise(engine::Draws(1, 0));
    REQUIRE(reality.problem.operations == t.room.problem.operations);
    CHECK(reality.problem.constraints == t.room.problem.constraints);
    int kept_plans = 0;
    for (const auto& rule : engine::rules()) {
        INFO(rule.name);
        Reality day = reality;
        const core::Schedule plan = by_rule(t.room.problem, rule.name);
        const SimulatedDay ruled = Policy::make(rule.name, *room, nullptr)->simulate(day);
        REQUIRE(ruled.complete);
        CHECK(ruled.schedule == plan);
        // And a plan that is followed, whoever made it, in every way of following.
        for (const char* name : {"follow", "in-order", "timetable", "review"}) {
            INFO(name);
            day = reality;
            const SimulatedDay kept = Policy::make(name, *room, &plan)->simulate(day);
            REQUIRE(kept.complete);
            CHECK_FALSE(kept.improvised);
            CHECK(kept.misses == 0);
            ++kept_plans;
            int differ = 0;
            for (std::size_t i = 0; i < plan.placements.size(); ++i) {
                auto planned_one = plan.placements[i];
                auto simulated_one = kept.schedule.placements[i];
                planned_one.batch = simulated_one.batch = std::nullopt;  // by order of booking
                differ += planned_one == simulated_one ? 0 : 1;
            }
            CHECK(differ == 0);
        }
    }
    CHECK(kept_plans == 36);
}

TEST_CASE("every simulated day is a right schedule of that day", "[replicate]") {
    const Tomorrow& t = tomorrow();
    compile::CompileOptions options = t.options;
    options.spare_ways = true;
    options.days += 3;
    model::Diagnostics diagnostics;
    const auto room = compile::compile_room(t.scenario, options, diagnostics);
    REQUIRE(room);
    Chance chance;
    chance.remakes = {{.at = model::Step::WashOut, .chance = 0.1},
                      {.at = model::Step::Inspect, .chance = 0.1}};
    chance.failures = {{.station = "washout booth",
                        .between = Distribution::exponential(6 * 3600.0),
                        .repair = Distribution::lognormal(1800, 0.5)}};
    chance.absent = 0.05;
    chance.film_late = 0.5;
    chance.rush.a_day = 2;
    const Realiser realiser(t.scenario, *room, chance);
    int remakes = 0, failures = 0, absences = 0, late_films = 0, rush = 0, incomplete = 0;
    std::map<std::string, int> improvised;
    for (std::uint64_t r = 0; r < 30; ++r) {
        const Reality reality = realiser.realise(engine::Draws(3, r));
        REQUIRE(core::validate(reality.problem).empty());
        remakes += reality.remakes;
        failures += reality.failures;
        absences += reality.absences;
        late_films += reality.late_films;
        rush += reality.rush();
        for (const char* name : {"in-order", "timetable", "follow", "edd"}) {
            Reality day = reality;
            const SimulatedDay simulated = Policy::make(name, *room, &t.plan)->simulate(day);
            improvised[name] += simulated.improvised ? 1 : 0;
            if (!simulated.complete) {
                ++incomplete;
                continue;
            }
            for (const auto& v : check::check(day.problem, simulated.schedule)) {
                INFO(name << " replication " << r << ": " << v.words);
                CHECK(false);
            }
        }
    }
    // Each kind of event happened; 41 screens x 0.19 remakes x 30 days = about 234 expected.
    CHECK(remakes > 150);
    CHECK(remakes < 320);
    CHECK(failures > 30);
    CHECK(absences > 2);
    CHECK(late_films > 10);
    CHECK(rush > 30);
    CHECK(incomplete == 0);
    // Whoever decides on the way always gets on. Where all work in the plan's order, come what may,
    // those on such days often stand before a full cabinet in which nobody can move.
    CHECK(improvised["follow"] + improvised["timetable"] + improvised["edd"] <= 1);
    CHECK(improvised["in-order"] < 25);
}

TEST_CASE("the number of threads and shards changes nothing", "[replicate]") {
    const Tomorrow& t = tomorrow();
    auto options = few(24);
    const auto one = replicate(t.scenario, t.options, t.room, &t.plan, options);
    options.threads = 3;
    const auto three = replicate(t.scenario, t.options, t.room, &t.plan, options);
    REQUIRE(one);
    REQUIRE(three);
    CHECK(one->all == three->all);
    options.replications = 10;
    const auto first = replicate(t.scenario, t.options, t.room, &t.plan, options);
    options.first = 10;
    options.replications = 14;
    const auto second = replicate(t.scenario, t.options, t.room, &t.plan, options);
    auto joined = first->all;
    joined.insert(joined.end(), second->all.begin(), second->all.end());
    CHECK(joined == one->all);
    CHECK(one->used == 24);
}

TEST_CASE("a second cabinet meets the same luck", "[replicate]") {
    // Common random numbers: durations drawn for the same screen are the same in both rooms.
    const Tomorrow& t = tomorrow();
    model::Scenario larger = t.scenario;
    for (const auto& station : t.scenario.room.stations) {
        if (station.name == "cabinet") {
            larger.room.stations.insert(larger.room.stations.begin(), station);
            larger.room.stations.front().name = "second cabinet";
        }
    }
    model::Diagnostics diagnostics;
    const auto room = compile::compile_room(larger, t.options, diagnostics);
    REQUIRE(room);
    Chance chance;
    chance.remakes.clear();
    const Realiser a(t.scenario, t.room, chance);
    const Realiser b(larger, *room, chance);
    const Reality x = a.realise(engine::Draws(1, 7));
    const Reality y = b.realise(engine::Draws(1, 7));
    REQUIRE(x.problem.operations.size() == y.problem.operations.size());
    for (std::size_t i = 0; i < x.problem.operations.size(); ++i) {
        CHECK(x.factor[i] == y.factor[i]);
    }
}

TEST_CASE("figures of the replications are what they say", "[replicate]") {
    const Tomorrow& t = tomorrow();
    auto options = few(60);
    options.threads = 2;
    const auto r = replicate(t.scenario, t.options, t.room, &t.plan, options);
    REQUIRE(r);
    REQUIRE(r->orders.size() == t.scenario.orders.size());
    for (const auto& o : r->orders) {
        CHECK(o.p10.value <= o.p50.value);
        CHECK(o.p50.value <= o.p90.value);
        CHECK(o.p50.interval.low <= o.p50.value);
        CHECK(o.p50.value <= o.p50.interval.high);
        CHECK(o.n == 60);
    }
    for (const auto& k : r->resources) {
        if (!k.utilisation) continue;
        CHECK(k.utilisation->mean >= 0.0);
        CHECK(k.allocation->mean <= 1.0 + 1e-9);
        CHECK(k.utilisation->mean <= k.allocation->mean + 1e-9);
    }
    // Mean remakes: 4 % of the screens, second failures included (Inspect happens on every way).
    const double screens = static_cast<double>(t.room.screens.size());
    CHECK(r->remakes.mean ==
          Approx(screens * (0.04 + 0.04 * 0.04)).margin(4 * std::sqrt(screens * 0.04 / 60)));
    CHECK_FALSE(replicate(t.scenario, t.options, t.room, nullptr, options));
    options.policy = "no such rule";
    CHECK_FALSE(replicate(t.scenario, t.options, t.room, &t.plan, options));
}

// Eight days on which B is ready at 17:00 and two on which it is ready at 7:00 next morning, A at
// 9:00 on each; two more have no end.
TEST_CASE("a day without an end undoes nothing, and nobody is ready at night", "[replicate]") {
    core::Problem p;
    p.horizon_start = *model::parse_date_time("2026-11-26T00:00");
    p.orders = {{.name = "A", .due = p.horizon_start + model::hours(10)},
                {.name = "B", .due = p.horizon_start + model::hours(18)}};
    std::vector<Replication> all(12);
    for (std::size_t d = 0; d < 10; ++d) {
        all[d].complete = true;
        all[d].ready = {9 * 3600, d < 8 ? 17 * 3600 : 31 * 3600};
    }
    auto r = summarise(p, all, 0.95);
    CHECK(r.orders[0].late == 2);
    CHECK(r.orders[1].late == 4);
    CHECK(r.orders[1].p50.value == 17 * 3600);
    CHECK(r.orders[1].p90.value == 31 * 3600);
    all.pop_back();
    all.pop_back();
    all.pop_back();  // of nine days the ninth decile is one of them, too
    CHECK(summarise(p, all, 0.95).orders[1].p90.value == 31 * 3600);
    // At ten A is ready, whatever the rest of the day brings.
    all.resize(12);
    p.now = p.horizon_start + model::hours(10);
    r = summarise(p, all, 0.95);
    CHECK(r.orders[0].late == 0);
    CHECK(r.orders[0].chance_late.high < 0.5);
    CHECK(r.orders[1].late == 4);
}

TEST_CASE("more luck means later and less sure", "[replicate]") {
    const Tomorrow& t = tomorrow();
    auto options = few(40);
    options.chance = Chance::none();
    const auto sure = replicate(t.scenario, t.options, t.room, &t.plan, options);
    options.chance.work_cv = 0.4;
    const auto unsure = replicate(t.scenario, t.options, t.room, &t.plan, options);
    REQUIRE(sure);
    REQUIRE(unsure);
    for (const auto& o : sure->orders)
        CHECK(o.ready.variance == 0.0);
    // All orders together: the last one alone may stand before a pause that random variation jumps
    // over.
    double later = 0.0;
    for (std::size_t o = 0; o < sure->orders.size(); ++o)
        later += unsure->orders[o].ready.mean - sure->orders[o].ready.mean;
    CHECK(later > 0.0);
}
