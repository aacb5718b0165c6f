// When a pot is mixed, by hand: one mixer, one coat at noon, 10 min to dissolve, 15 min to stand,
// 5 min to stir, 60 min until it is free of bubbles: an hour and a half in all.

#include "sched/app/parts/late_mixes.hpp"

#include <algorithm>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "tests/catch.hpp"

namespace {

using namespace sched;
using core::OperationId;
using core::Placement;
using core::ResourceId;
using core::StoreId;
using model::minutes;

core::SimTime at(int hour, int minute = 0) {
    return *model::parse_date_time("2026-11-26T00:00") + minutes(60 * hour + minute);
}

// Mixed at six, as soon as Ada is there, for a coat that nobody can do before noon.
app::FoundPlan mixed_at_six(const core::Calendar& hours) {
    app::FoundPlan plan;
    core::Problem& p = plan.problem;
    p.horizon_start = at(0);
    p.horizon_end = at(24);
    p.resources = {{.name = "Ada", .calendar = hours}, {.name = "table"}};
    p.stores = {{.name = "pot"}};
    p.orders = {{.name = "A", .release = at(0), .due = at(13)}};
    p.jobs = {{.name = "A-1", .order = core::OrderId{std::size_t{0}}}};
    const core::Need ada{{ResourceId{std::size_t{0}}}, 1, core::Span::Work};
    const auto step = [&](const char* name, int lasts, bool attended) {
        core::Operation o{.name = name};
        o.modes = {{.work = minutes(lasts)}};
        if (attended) o.modes[0].needs = {ada};
        p.operations.push_back(o);
    };
    step("dissolve", 10, true);
    step("stir", 5, true);
    step("stand", 60, false);
    step("coat", 4, true);
    p.operations[3].job = core::JobId{std::size_t{0}};
    const auto id = [](std::size_t i) { return OperationId{i}; };
    p.constraints = {
        core::TimeLag{.from = id(0), .to = id(1), .min = minutes(15)},
        core::TimeLag{.from = id(1), .to = id(2), .max = minutes(0)},
        core::StartWindow{.operation = id(3), .not_before = at(12)},
        core::Give{.operation = id(2), .store = StoreId{std::size_t{0}}, .amount = 900},
        core::Take{.operation = id(3), .any_of = {StoreId{std::size_t{0}}}, .amount = 40}};
    p.objective = {core::Criterion::WeightedTardiness, core::Criterion::Makespan};
    plan.room.problem = p;
    plan.room.operations = {{.step = model::Step::MixDissolve, .mix = 0},
                            {.step = model::Step::MixStir, .mix = 0},
                            {.step = model::Step::MixStir, .round = 1, .mix = 0},
                            {.step = model::Step::Coat, .screen = 0}};
    plan.room.mixes = {{.emulsion = "blue", .pot = "pot", .store = StoreId{std::size_t{0}}}};
    const auto placed = [&](core::SimTime from, int lasts, bool attended) {
        Placement x{.start = from, .work_end = from + minutes(lasts), .end = from + minutes(lasts)};
        if (attended) x.chosen = {ResourceId{std::size_t{0}}};
        return x;
    };
    core::Schedule s;
    s.placements = {placed(at(6), 10, true), placed(at(6, 25), 5, true),
                    placed(at(6, 30), 60, false), placed(at(12), 4, true)};
    s.placements[3].stores = {StoreId{std::size_t{0}}};
    for (const auto& violation : check::check(p, s))
        UNSCOPED_INFO(violation.words);
    REQUIRE(check::check(p, s).empty());
    plan.solution.value = core::evaluate(p, s);
    plan.solution.schedule = s;
    plan.turns = {1, 2, 3, 4};
    return plan;
}

}  // namespace

// Ready at 11:30 is half an hour before the coat; an hour and a half before that is 10:00.
TEST_CASE("a pot is ready half an hour before its first coat", "[app][pots]") {
    auto plan = mixed_at_six({{at(6), at(14)}});
    const core::Value before = plan.solution.value;
    app::mix_when_wanted(plan);
    const auto& s = *plan.solution.schedule;
    CHECK(s.placements[0].start == at(10));
    CHECK(s.placements[1].start == at(10, 25));
    CHECK(s.placements[2].work_end == at(11, 30));
    CHECK(s.placements[3].start == at(12));
    CHECK(plan.solution.value == before);
    CHECK(check::check(plan.problem, s).empty());
    CHECK(plan.turns == std::vector<std::int32_t>{1, 2, 3, 4});
}

// A break from 10:20 to 10:35 is in the way of the stirring at 10:25: every five minutes sooner is
// tried; at 9:50 she stirs from 10:15 to 10:20, when the break begins.
TEST_CASE("a pot is mixed while whoever mixes is there", "[app][pots]") {
    auto plan = mixed_at_six({{at(6), at(10, 20)}, {at(10, 35), at(14)}});
    app::mix_when_wanted(plan);
    const auto& s = *plan.solution.schedule;
    CHECK(s.placements[0].start == at(9, 50));
    CHECK(s.placements[1].work_end == at(10, 20));
    CHECK(check::check(plan.problem, s).empty());
}

// Stirred at 10:25, so ready at 11:30 as it should be, but dissolved at six: 25 min before is
// 10:00.
TEST_CASE("the first step of a pot is late, too", "[app][pots]") {
    auto plan = mixed_at_six({{at(6), at(14)}});
    auto& placed = plan.solution.schedule->placements;
    placed[1].start = at(10, 25);
    placed[1].work_end = placed[1].end = placed[2].start = at(10, 30);
    placed[2].work_end = placed[2].end = at(11, 30);
    app::mix_when_wanted(plan);
    const auto& s = *plan.solution.schedule;
    CHECK(s.placements[0].start == at(10));
    CHECK(s.placements[1].start == at(10, 25));
    CHECK(check::check(plan.problem, s).empty());
}

// Ada has no gap before noon, and the plan is no order of work: 345 min of degreasing come sooner.
TEST_CASE("a plan without turns keeps its pots back, too", "[app][pots]") {
    auto plan = mixed_at_six({{at(6), at(14)}});
    core::Operation other = plan.problem.operations[3];
    other.name = "degrease";
    core::SimTime from = at(6, 10);
    const auto add = [&](int lasts) {
        other.modes[0].work = minutes(lasts);
        for (core::Problem* p : {&plan.problem, &plan.room.problem})
            p->operations.push_back(other);
        plan.room.operations.push_back({.step = model::Step::Degrease, .screen = 0});
        Placement x{.start = from, .work_end = from + minutes(lasts), .end = from + minutes(lasts)};
        x.chosen = {ResourceId{std::size_t{0}}};
        plan.solution.schedule->placements.push_back(x);
        from += minutes(lasts);
    };
    add(15);
    from = at(6, 30);
    for (int k = 0; k < 11; ++k)
        add(30);
    plan.turns.clear();
    REQUIRE(check::check(plan.problem, *plan.solution.schedule).empty());
    const core::Value before = core::evaluate(plan.problem, *plan.solution.schedule);
    app::mix_when_wanted(plan);
    const auto& s = *plan.solution.schedule;
    CHECK(s.placements[0].start >= at(9));
    CHECK(s.placements[2].work_end <= at(11, 50));
    CHECK(core::evaluate(plan.problem, s).parts[0] == before.parts[0]);
    CHECK(check::check(plan.problem, s).empty());
    CHECK(plan.turns.empty());
}

namespace {

void add_degreasing_at_eight(app::FoundPlan& plan) {
    core::Operation sooner = plan.problem.operations[3];
    sooner.name = "degrease";
    for (core::Problem* p : {&plan.problem, &plan.room.problem})
        p->operations.push_back(sooner);
    plan.room.operations.push_back({.step = model::Step::Degrease, .screen = 0});
    Placement early{.start = at(8), .work_end = at(8, 4), .end = at(8, 4)};
    early.chosen = {ResourceId{std::size_t{0}}};
    plan.solution.schedule->placements.push_back(early);
    plan.turns = {1, 2, 3, 5, 4};
}

}  // namespace

// The turn goes before what begins later, behind what is done sooner; what is pinned, or begun, or
// hangs already stays.
TEST_CASE("a pot that is mixed later has a later turn, one that is pinned none", "[app][pots]") {
    auto plan = mixed_at_six({{at(6), at(14)}});
    add_degreasing_at_eight(plan);
    auto pinned = plan;
    app::mix_when_wanted(plan);
    CHECK(plan.turns == std::vector<std::int32_t>{2, 3, 4, 5, 1});

    pinned.problem.constraints.push_back(
        core::StartWindow{.operation = OperationId{std::size_t{0}}, .not_after = at(7)});
    const auto stays = pinned;
    app::mix_when_wanted(pinned);
    CHECK(pinned.solution.schedule->placements == stays.solution.schedule->placements);
    CHECK(pinned.turns == stays.turns);
}

// Stopped at the first try nothing moves; at the second, the pot lies where the first try put it.
TEST_CASE("a pot that there is no time for stays where it is", "[app][pots]") {
    auto plan = mixed_at_six({{at(6), at(14)}});
    const auto before = plan;
    app::mix_when_wanted(plan, {}, [] { return true; });
    CHECK(plan.solution.schedule->placements == before.solution.schedule->placements);
    CHECK(plan.turns == before.turns);
    int tries = 0;
    app::mix_when_wanted(plan, {}, [&] { return ++tries > 1; });
    CHECK(plan.solution.schedule->placements[0].start == at(10));
    CHECK(tries > 1);
}

// In the middle of the day, of a plan that hangs: what is as posted stays; where the coat comes
// later than posted the pot does, too, and both are listed; what is held stays.
TEST_CASE("a pot is mixed later when its coat moves at midday", "[app][pots][midday]") {
    auto plan = mixed_at_six({{at(5), at(14)}});
    plan.chosen = "Chosen.";
    plan.stays = "Chosen. The turns on the posted sheets still hold.";
    add_degreasing_at_eight(plan);
    search::EarlierPlan earlier;
    for (const Placement& p : plan.solution.schedule->placements)
        earlier.emplace_back(p);
    plan.changes.emplace();
    plan.changes->solution = plan.solution;
    auto as_posted = plan;
    app::mix_when_wanted(as_posted, earlier);
    CHECK(as_posted.solution.schedule->placements == plan.solution.schedule->placements);
    CHECK(as_posted.stays == plan.stays);

    earlier[3]->start = at(7, 30);
    earlier[3]->work_end = earlier[3]->end = at(7, 34);
    auto held = plan;
    held.changes->held = {OperationId{std::size_t{1}}};
    app::mix_when_wanted(held, earlier);
    CHECK(held.solution.schedule->placements == plan.solution.schedule->placements);

    app::mix_when_wanted(plan, earlier);
    const auto& s = *plan.solution.schedule;
    CHECK(s.placements[0].start == at(10));
    CHECK(s.placements[2].work_end == at(11, 30));
    CHECK(s.placements[3].start == at(12));
    CHECK(check::check(plan.problem, s).empty());
    CHECK(plan.changes->solution.schedule->placements == s.placements);
    CHECK(plan.changes->changed == 4);
    CHECK(plan.turns == std::vector<std::int32_t>{2, 3, 4, 5, 1});
    CHECK(plan.stays == "Chosen.");
}

// One that the plan that hangs does not know, of orders that came in, is as late as in the morning.
TEST_CASE("a pot that nobody has posted is mixed when it is wanted", "[app][pots][midday]") {
    auto plan = mixed_at_six({{at(6), at(14)}});
    plan.changes.emplace();
    plan.changes->solution = plan.solution;
    app::mix_when_wanted(plan, search::EarlierPlan(4));
    CHECK(plan.solution.schedule->placements[0].start == at(10));
}

// A coat at eight takes from the second pot, mixed at six, one at noon from the first, mixed at
// ten: the pots change places, with their turns; all the more if the first is in stock and the
// second is still to be bought.
TEST_CASE("pots that are alike are numbered as they are mixed", "[app][pots]") {
    const bool to_buy = GENERATE(false, true);
    auto plan = mixed_at_six({{at(6), at(14)}});
    const auto shifted = [](core::Schedule& s, std::size_t i, core::SimTime to) {
        const auto by = to - s.placements[i].start;
        s.placements[i].start += by;
        s.placements[i].work_end += by;
        s.placements[i].end += by;
    };
    core::Schedule& s = *plan.solution.schedule;
    for (core::Problem* p : {&plan.problem, &plan.room.problem}) {
        const auto copied = p->constraints;
        for (std::size_t i = 0; i < 4; ++i)
            p->operations.push_back(core::Operation(p->operations[i]));
        p->stores.push_back({.name = "pot 2"});
        for (core::Constraint c : copied) {
            if (auto* lag = std::get_if<core::TimeLag>(&c)) {
                lag->from = OperationId{lag->from.index() + 4};
                lag->to = OperationId{lag->to.index() + 4};
            } else if (auto* give = std::get_if<core::Give>(&c)) {
                give->operation = OperationId{give->operation.index() + 4};
                give->store = StoreId{std::size_t{1}};
            } else if (auto* take = std::get_if<core::Take>(&c)) {
                take->operation = OperationId{std::size_t{7}};
            } else {
                continue;
            }
            p->constraints.push_back(c);
        }
        for (auto& c : p->constraints) {
            if (auto* take = std::get_if<core::Take>(&c))
                take->any_of = {StoreId{std::size_t{0}}, StoreId{std::size_t{1}}};
        }
    }
    for (std::size_t i = 0; i < 4; ++i) {
        auto info = plan.room.operations[i];
        if (info.mix == 0) info.mix = 1;
        plan.room.operations.push_back(info);
        s.placements.push_back(Placement(s.placements[i]));
    }
    plan.room.mixes.push_back(
        {.emulsion = "blue", .pot = "pot 2", .store = StoreId{std::size_t{1}}, .to_buy = to_buy});
    for (const auto& [step, minute] : {std::pair{0, 0}, {1, 25}, {2, 30}})
        shifted(s, static_cast<std::size_t>(step), at(10, minute));
    shifted(s, 7, at(8));
    s.placements[7].stores = {StoreId{std::size_t{1}}};
    plan.turns = {5, 6, 7, 8, 1, 2, 3, 4};
    for (const auto& violation : check::check(plan.problem, s))
        UNSCOPED_INFO(violation.words);
    REQUIRE(check::check(plan.problem, s).empty());
    app::mix_when_wanted(plan);
    const auto& numbered = *plan.solution.schedule;
    CHECK(numbered.placements[0].start == at(6));
    CHECK(numbered.placements[4].start == at(10));
    CHECK(numbered.placements[7].stores == std::vector{StoreId{std::size_t{0}}});
    CHECK(numbered.placements[3].stores == std::vector{StoreId{std::size_t{1}}});
    CHECK(plan.turns == std::vector<std::int32_t>{1, 2, 3, 8, 5, 6, 7, 4});
    CHECK(check::check(plan.problem, numbered).empty());
}
