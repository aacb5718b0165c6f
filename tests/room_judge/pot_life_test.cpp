// Emulsion that keeps for hours only, through the whole chain of `coatroom plan`: what is mixed in
// the run is used before its life is over, later coats get another mixing, and where the hours of
// the people leave no time for it, that is said.

#include <algorithm>
#include <variant>

#include "model/read/scenario.hpp"
#include "sched/check/checker.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/planned.hpp"

namespace {

using namespace sched;

model::SimTime midnight() {
    return *model::parse_date_time("2026-11-26T00:00");
}

model::Scenario tomorrow(model::Seconds life) {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", d);
    REQUIRE(s);
    for (auto& e : s->room.emulsions) {
        e.family = model::EmulsionFamily::DualCure;
        e.pot_life_room = life;
    }
    s->room.pots.clear();
    return *std::move(s);
}

void judged(const planned::Planned& result, const model::Scenario& scenario) {
    INFO(result.why_none);
    REQUIRE(result.plan);
    CHECK(result.broken == std::vector<std::string>{});
    CHECK(planned::verdict(*result.plan, scenario) == std::vector<std::string>{});
}

}  // namespace

TEST_CASE("emulsion that keeps for three hours is mixed again for later coats", "[pots]") {
    const auto keeps = tomorrow(model::hours(24 * 28));
    const auto ends = tomorrow(model::hours(3));
    const auto long_lived = planned::plan(keeps, midnight(), 10);
    const auto short_lived = planned::plan(ends, midnight(), 10);
    judged(long_lived, keeps);
    judged(short_lived, ends);
    CHECK(short_lived.plan->mixes.size() > long_lived.plan->mixes.size());
    // Each coat within three hours of the stirring of its pot; the judge says the same of itself.
    const auto& plan = *short_lived.plan;
    int coats = 0;
    for (std::size_t i = 0; i < plan.operations.size(); ++i) {
        const auto& stores = plan.schedule.placements[i].stores;
        if (stores.empty()) continue;
        ++coats;
        const std::string& pot = plan.problem.stores[stores.front().index()].name;
        const auto mix = std::find_if(plan.mixes.begin(), plan.mixes.end(),
                                      [&](const auto& m) { return m.pot == pot; });
        REQUIRE(mix != plan.mixes.end());
        model::SimTime stirred{};
        for (const int k : mix->operations) {
            const auto& op = plan.operations[static_cast<std::size_t>(k)];
            if (!op.people.empty()) stirred = std::max(stirred, *op.people_until);
        }
        CHECK(plan.operations[i].start < stirred + model::hours(3));
        CHECK(plan.operations[i].start >= *mix->usable);
    }
    CHECK(coats > 30);
}

TEST_CASE("a coat after the pot's life breaks a rule of the problem", "[pots]") {
    const auto scenario = tomorrow(model::hours(3));
    const auto result = planned::plan(scenario, midnight(), 10);
    REQUIRE(result.plan);
    auto problem = result.plan->problem;
    REQUIRE(check::check(problem, result.plan->schedule).empty());
    for (auto& store : problem.stores) {
        if (store.life) *store.life = model::Seconds{1};
    }
    const auto broken = check::check(problem, result.plan->schedule);
    CHECK(std::any_of(broken.begin(), broken.end(),
                      [](const auto& v) { return v.rule == check::Rule::Store; }));
}

TEST_CASE("who mixes in the morning and who coats at night share no pot of three hours", "[pots]") {
    auto scenario = tomorrow(model::hours(3));
    scenario.room.limits.two_people_from.reset();
    auto& people = scenario.room.people;
    REQUIRE(people.size() >= 2);
    for (std::size_t i = 0; i < people.size(); ++i) {
        auto& p = people[i];
        if (p.can.empty()) {
            for (int k = 0; k < model::step_count; ++k)
                p.can.push_back(static_cast<model::Step>(k));
        }
        const auto without = [&](model::Step step) { std::erase(p.can, step); };
        if (i == 0) {  // coats, and nobody else does; from six in the evening
            without(model::Step::MixDissolve);
            without(model::Step::MixStir);
            for (const auto step : {model::Step::Coat, model::Step::FaceCoat}) {
                if (std::find(p.can.begin(), p.can.end(), step) == p.can.end())
                    p.can.push_back(step);
            }
            p.breaks.clear();
            for (auto& shift : p.shifts) {
                shift.from = model::hours(18);
                shift.to = model::hours(23);
            }
        } else {
            without(model::Step::Coat);
            without(model::Step::FaceCoat);
            p.breaks.clear();
            p.overtime = model::Seconds{0};
            for (auto& shift : p.shifts) {
                shift.from = model::hours(6);
                shift.to = model::hours(14);
            }
        }
    }
    const auto result = planned::plan(scenario, midnight(), 10);
    INFO(result.why_none);
    CHECK_FALSE(result.plan);
    // In the words of the proof, or of the first try where the proof does not see it.
    CHECK((result.why_none.find("close enough together for the pot life") != std::string::npos ||
           result.why_none.find("no store ever holds what it takes") != std::string::npos));
}

TEST_CASE("emulsion that is over before it is free of bubbles is no input", "[pots]") {
    auto scenario = tomorrow(model::hours(1));
    scenario.room.steps[model::Step::MixStir] = {model::minutes(5), model::hours(1), {}};
    const auto result = planned::plan(scenario, midnight(), 10);
    CHECK_FALSE(result.sound);
    CHECK(result.why_none.find("free of bubbles") != std::string::npos);
}
