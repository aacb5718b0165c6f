// What a day's random variation does: the same draws whatever stands beside, emulsion for what
// nobody planned, back to a given step, days of the weather file.
#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/chance/planned_lengths.hpp"
#include "sched/check/checker.hpp"
#include "sched/simulate/day_run.hpp"
#include "sched/simulate/realise.hpp"
#include "sched/simulate/replicate.hpp"
#include "sched/simulate/robust.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

model::Scenario scenario_named(const std::string& name) {
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/" + name, diagnostics);
    REQUIRE(scenario);
    return *std::move(scenario);
}

compile::RoomProblem with_spare_ways(const model::Scenario& scenario) {
    model::Diagnostics diagnostics;
    auto room = compile::compile_room(
        scenario,
        {.start = *model::parse_date_time("2026-11-26T00:00"), .days = 6, .spare_ways = true},
        diagnostics);
    REQUIRE(room);
    return *std::move(room);
}

/// Factor of every operation of the run and its remakes, by what it is.
std::map<std::string, double> factors_of(const compile::RoomProblem& room, const Reality& day) {
    std::map<std::string, double> out;
    for (std::size_t i = 0; i < day.nominal.size(); ++i) {
        if (day.attempt[i] < 0) continue;
        const auto n = static_cast<std::size_t>(day.nominal[i]);
        const auto& info = room.operations[n];
        if (info.screen < 0) continue;
        const auto& screen = room.screens[static_cast<std::size_t>(info.screen)];
        std::string key = screen.tag + " " + room.problem.operations[n].name + " " +
                          std::to_string(day.attempt[i]) + " " + std::to_string(info.round);
        while (out.contains(key))
            key += "'";
        out[key] = day.factor[i];
    }
    return out;
}

}  // namespace

TEST_CASE("an order less changes no draw of the others", "[luck]") {
    const model::Scenario all = scenario_named("tomorrow");
    model::Scenario fewer = all;
    fewer.orders.erase(fewer.orders.begin() + 2);
    const std::string gone = all.orders[2].name;
    const auto room = with_spare_ways(all), smaller = with_spare_ways(fewer);
    Chance chance;
    chance.work_cv = 0.3;
    chance.remakes = {{.at = model::Step::Inspect, .chance = 0.3}};
    const Realiser a(all, room, chance), b(fewer, smaller, chance);
    int compared = 0, remade = 0;
    for (std::uint64_t r = 0; r < 5; ++r) {
        const auto x = factors_of(room, a.realise(engine::Draws(9, r)));
        const auto y = factors_of(smaller, b.realise(engine::Draws(9, r)));
        for (const auto& [key, factor] : y) {
            // The frame that a screen is made on may be another one now: its steps are others then.
            const auto found = x.find(key);
            if (found == x.end()) continue;
            ++compared;
            remade += key.find(" 1 ") != std::string::npos ? 1 : 0;
            INFO(key);
            CHECK(factor == found->second);
        }
        CHECK(std::none_of(y.begin(), y.end(),
                           [&](const auto& f) { return f.first.rfind(gone + "-", 0) == 0; }));
    }
    CHECK(compared > 1500);
    CHECK(remade > 100);
}

// By hand: 40 s of brushing, then four minutes, within five minutes of the first touch: who brushes
// for more than 60 s (of lognormal work with cv 0.5 one in six does) would never keep it.
TEST_CASE("slow work alone breaks no limit that runs from its first touch", "[luck]") {
    model::Scenario scenario = scenario_named("tomorrow");
    scenario.room.limits.remover_max = model::minutes(5);
    scenario.room.steps[model::Step::Strip] = {.attended = core::Seconds{40},
                                               .stand = model::minutes(4)};
    const auto room = with_spare_ways(scenario);
    Chance chance;
    chance.work_cv = 0.5;
    const Realiser realiser(scenario, room, chance);
    const auto policy = Policy::make("atc", room, nullptr);
    int longest = 0, cut = 0;
    for (std::uint64_t r = 0; r < 10; ++r) {
        Reality day = realiser.realise(engine::Draws(3, r));
        Reality after = day;
        apply_factors(after);
        for (std::size_t i = 0; i < day.nominal.size(); ++i) {
            const auto& info = room.operations[static_cast<std::size_t>(day.nominal[i])];
            if (info.step != model::Step::Strip) continue;
            const auto work =
                static_cast<int>(after.problem.operations[i].modes.front().work.count());
            longest = std::max(longest, work);
            cut += work == 60 ? 1 : 0;
        }
        CHECK(policy->simulate(day).complete);
    }
    CHECK(longest == 60);
    CHECK(cut > 5);
}

TEST_CASE("remakes and rush orders take emulsion, and more is mixed where it runs out", "[luck]") {
    model::Scenario scenario = scenario_named("tomorrow");
    const auto room = with_spare_ways(scenario);
    Chance chance;
    chance.remakes = {{.at = model::Step::Inspect, .chance = 0.5}};
    chance.rush.a_day = 6;
    const Realiser realiser(scenario, room, chance);
    const auto policy = Policy::make("atc", room, nullptr);
    int mixed = 0, simulated_days = 0;
    for (std::uint64_t r = 0; r < 8; ++r) {
        Reality day = realiser.realise(engine::Draws(2, r));
        REQUIRE(core::validate(day.problem).empty());
        std::size_t coats = 0, takes = 0;
        for (std::size_t i = 0; i < day.nominal.size(); ++i) {
            const auto& info = room.operations[static_cast<std::size_t>(day.nominal[i])];
            coats += info.screen >= 0 &&
                             (info.step == model::Step::Coat || info.step == model::Step::FaceCoat)
                         ? 1
                         : 0;
            mixed += day.attempt[i] == -2 ? 1 : 0;
        }
        for (const auto& c : day.problem.constraints)
            takes += std::holds_alternative<core::Take>(c) ? 1 : 0;
        CHECK(takes == coats);
        const SimulatedDay simulated = policy->simulate(day);
        if (!simulated.complete) continue;
        ++simulated_days;
        for (const auto& v : check::check(day.problem, simulated.schedule)) {
            INFO(v.words);
            CHECK(false);
        }
    }
    CHECK(mixed > 0);
    CHECK(simulated_days >= 6);  // half of all screens made again: a pot may end its life before
}

// A batch that is mixed once a screen has failed must not be what that screen was to be coated
// with: then the day would stand still. More orders and more remakes make the emulsion short.
TEST_CASE("no day stands still for want of emulsion", "[luck]") {
    model::Scenario scenario = scenario_named("tomorrow");
    const auto room = with_spare_ways(scenario);
    for (const double bad : {0.04, 0.15}) {
        Chance chance;
        chance.remakes = {{.at = model::Step::Inspect, .chance = bad}};
        const Realiser realiser(scenario, room, chance);
        int mixed = 0;
        for (std::uint64_t r = 0; r < 25; ++r) {
            Reality day = realiser.realise(engine::Draws(1, r), 1.4);
            for (const int attempt : day.attempt)
                mixed += attempt == -2 ? 1 : 0;
            // Whatever goes first: here the last of the run, so that remakes come early.
            std::vector<double> key(day.nominal.size());
            for (std::size_t i = 0; i < key.size(); ++i)
                key[i] = day.attempt[i] == 0 ? -static_cast<double>(day.nominal[i]) : -1e6;
            INFO("day " << r);
            CHECK(simulate_by_keys(day, key).complete);
        }
        CHECK(mixed > 25);
    }
}

TEST_CASE("a screen found bad goes back to the step that its rule names", "[luck]") {
    const model::Scenario scenario = scenario_named("tomorrow");
    const auto room = with_spare_ways(scenario);
    Chance chance;
    chance.remakes = {{.at = model::Step::WashOut,
                       .chance = 1.0,
                       .mesh = "77-55",
                       .back_to = model::Step::Degrease}};
    chance.most_remakes = 1;
    const Disturbances disturbances(scenario, room, chance);
    DayDisturbances day;
    disturbances.draw(engine::Draws(1, 0), 1.0, day);
    int back = 0;
    for (const auto& part : day.parts) {
        if (part.round < 1) continue;
        ++back;
        const auto& first = room.operations[static_cast<std::size_t>(part.first)];
        CHECK(first.step == model::Step::Degrease);
        CHECK(room.screens[static_cast<std::size_t>(first.screen)].mesh == "77-55");
        REQUIRE(part.after >= 0);
        const auto& before = day.parts[static_cast<std::size_t>(part.after)];
        CHECK(room.operations[static_cast<std::size_t>(before.first + before.count - 1)].step ==
              model::Step::WashOut);
    }
    CHECK(back > 5);
}

// What chance.yaml says of a step is how long the step takes: times and bounds are its own,
// whatever is planned (the quantiles of a lognormal law by p50 and p90 are those two, and its
// median).
TEST_CASE("a law of a step keeps its own times and bounds", "[luck]") {
    model::ChanceSettings settings;
    model::TimeLaw law;
    law.p50 = model::minutes(4);
    law.p90 = model::minutes(7);
    law.at_most = model::minutes(20);
    settings.times.push_back({.steps = {model::Step::WashOut}, .time = law, .place = {}});
    model::TimeLaw always;
    always.law = model::LawKind::Constant;
    always.value = model::minutes(25);
    settings.times.push_back(
        {.steps = {model::Step::Inspect, model::Step::DryCoat}, .time = always, .place = {}});
    model::TimeLaw observed;
    observed.law = model::LawKind::Observed;
    observed.observed = {60.0, 120.0, 180.0};
    settings.times.push_back({.steps = {model::Step::Coat}, .time = observed, .place = {}});
    const model::Scenario scenario = scenario_named("tomorrow");
    const Chance chance = Chance::of(settings, scenario);
    const auto room = with_spare_ways(scenario);
    const auto planned = planned_lengths(room, [](std::size_t) { return true; });
    const Realiser realiser(scenario, room, chance);
    std::map<model::Step, std::vector<double>> took;
    for (std::uint64_t d = 0; d < 40; ++d) {
        const Reality day = realiser.realise(engine::Draws(3, d));
        for (std::size_t i = 0; i < day.nominal.size(); ++i) {
            const auto n = static_cast<std::size_t>(day.nominal[i]);
            if (compile::hangs_up(room.operations[n])) continue;
            took[room.operations[n].step].push_back(day.factor[i] * planned[n]);
        }
    }
    for (const auto step : {model::Step::Inspect, model::Step::DryCoat}) {
        REQUIRE(took[step].size() > 1000);
        for (const double s : took[step])
            REQUIRE(s == Approx(1500.0));
    }
    for (const double s : took[model::Step::Coat])
        CHECK((s == Approx(60.0) || s == Approx(120.0) || s == Approx(180.0)));
    auto& wash = took[model::Step::WashOut];
    std::sort(wash.begin(), wash.end());
    REQUIRE(wash.size() > 1000);
    CHECK(wash.back() <= 1200.0);
    // Four standard errors of a share of n, turned into minutes by the density of the law: 12 s.
    CHECK(std::abs(wash[wash.size() / 2] - 240.0) < 12.0);
    CHECK(std::abs(wash[wash.size() * 9 / 10] - 420.0) < 40.0);
    model::TimeLaw weibull;
    weibull.law = model::LawKind::Weibull;
    weibull.mean = model::hours(10);
    weibull.shape = 1.5;
    CHECK(time_law(weibull).mean() == Approx(36'000.0));
}

TEST_CASE("a law whose median is not what is planned is said, once a step", "[luck]") {
    const model::Scenario scenario = scenario_named("tomorrow");
    const auto room = with_spare_ways(scenario);
    model::ChanceSettings settings;
    model::TimeLaw law;
    law.p50 = model::minutes(4);  // as room.yaml plans washing out and inspecting
    law.p90 = model::minutes(7);
    settings.times.push_back(
        {.steps = {model::Step::WashOut, model::Step::Inspect}, .time = law, .place = {}});
    model::Diagnostics diagnostics;
    compare_laws(settings, room, diagnostics);
    CHECK(diagnostics.all().empty());
    settings.times.front().time.p50 = model::minutes(6);
    compare_laws(settings, room, diagnostics);
    REQUIRE(diagnostics.all().size() == 2);
    CHECK_FALSE(diagnostics.has_errors());
    // Thicker stencils are planned with longer washing out.
    CHECK(diagnostics.all()[0].message.starts_with(
        "wash out takes 6 min on half of the days by this law, but is planned with 3 min 49 s"));
    CHECK(diagnostics.all()[1].message ==
          "inspect takes 6 min on half of the days by this law, but is planned with 4 min.");
}

TEST_CASE("days of the weather file are days that a simulated day can be", "[luck]") {
    model::Scenario scenario = scenario_named("tomorrow");
    const auto at = [](const char* text) { return *model::parse_date_time(text); };
    scenario.weather = {
        {at("2026-11-03T00:00"), {model::Celsius{15.0}, model::RelativeHumidity{0.4}}},
        {at("2026-11-03T12:00"), {model::Celsius{18.0}, model::RelativeHumidity{0.5}}},
        {at("2026-11-04T00:00"), {model::Celsius{24.0}, model::RelativeHumidity{0.8}}},
        {at("2026-11-05T13:00"), {model::Celsius{30.0}, model::RelativeHumidity{0.9}}}};
    const auto days = weather_days(scenario);
    REQUIRE(days.size() == 2);  // the third begins in the afternoon: its morning is unknown
    const auto on = on_day(scenario, days[0], at("2026-11-26T00:00"), 2);
    REQUIRE(on.weather.size() == 4);
    CHECK(on.weather[1].from == at("2026-11-26T12:00"));
    CHECK(on.weather[1].air.temperature.value == 18.0);
    CHECK(on.weather[2].from == at("2026-11-27T00:00"));
    CHECK(on.weather[2].air.temperature.value == 15.0);
}

TEST_CASE("of two plans the one that stands the days better is taken, if that is clear", "[luck]") {
    const model::Scenario scenario = scenario_named("tomorrow");
    const compile::CompileOptions options{.start = *model::parse_date_time("2026-11-26T00:00")};
    model::Diagnostics diagnostics;
    const auto room = compile::compile_room(scenario, options, diagnostics);
    REQUIRE(room);
    const auto by = [&](const char* name) {
        const engine::CompiledProblem compiled(room->problem);
        engine::Decoder decoder(compiled);
        const auto views = engine::rule_views(compiled);
        for (const auto& rule : engine::rules()) {
            if (std::string(rule.name) == name)
                REQUIRE(decoder.decode(engine::rule_sequence(compiled, views, rule)));
        }
        return decoder.to_schedule();
    };
    // Most work first heeds no due time: clearly worse than earliest due first.
    const std::vector<core::Schedule> worse_first{by("mwr"), by("edd")};
    ReplicateOptions how;
    how.replications = 40;
    const auto choice = choose_robust(scenario, options, *room, worse_first, how);
    REQUIRE(choice);
    CHECK(choice->replications > 30);
    CHECK(choice->chosen == 1);
    CHECK(choice->plans[1].to_first.interval.high < 0.0);
    CHECK(choice->words.find("Taken: plan 2") != std::string::npos);
    const std::vector<core::Schedule> same{by("edd"), by("edd")};
    const auto kept = choose_robust(scenario, options, *room, same, how);
    REQUIRE(kept);
    CHECK(kept->chosen == 0);
    CHECK(kept->plans[1].to_first.difference == 0.0);
}
