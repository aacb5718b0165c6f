// The limits of docs/input.md, and who carries what, read off the plan document's clock times: each
// limit once as the planner keeps it, and once broken by a second on the same plan.

#include <algorithm>
#include <set>

#include "sched/check/checker.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/report/one_of_each.hpp"

using namespace model;
namespace core = sched::core;
namespace report = sched::report;
using sched::check::Rule;

namespace {

const SimTime day = *parse_date_time("2026-11-26T00:00");

Scenario small_room() {
    return one_of_each(day);
}

struct Planned {
    sched::compile::RoomProblem room;
    core::Schedule schedule;
    report::PlanDocument document;

    /// Of one screen: its operations of that step, in time order.
    std::vector<report::OperationLine> of(const std::string& tag, const std::string& step) const {
        std::vector<report::OperationLine> out;
        for (const auto& op : document.operations) {
            if (op.screen == tag && op.step == step) out.push_back(op);
        }
        std::stable_sort(out.begin(), out.end(),
                         [](const auto& a, const auto& b) { return a.start < b.start; });
        return out;
    }
    std::vector<std::string> tags() const {
        std::vector<std::string> out;
        for (const auto& s : document.screens)
            out.push_back(s.tag);
        return out;
    }
};

Planned planned(const Scenario& s) {
    Diagnostics d;
    auto room = sched::compile::compile_room(s, {.start = day, .days = 4}, d);
    for (const auto& x : d.all())
        UNSCOPED_INFO(to_text(x));
    REQUIRE(room);
    sched::search::SearchOptions options;
    options.budget.evaluations = 40;
    const core::Solution solution = sched::search::solve(room->problem, options);
    REQUIRE(solution.schedule);
    for (const auto& v : sched::check::check(room->problem, *solution.schedule))
        UNSCOPED_INFO(v.words);
    CHECK(sched::check::check(room->problem, *solution.schedule).empty());
    auto document = report::make_plan_document(s, *room, solution, {});
    return {*std::move(room), *solution.schedule, std::move(document)};
}

/// The same plan with everything from operation `i` of its screen on moved by `by`: is it too long
/// after operation `from`?
bool breaks_lag(const Planned& p, std::size_t from, std::size_t i, Seconds by) {
    core::Schedule late = p.schedule;
    for (std::size_t k = i; k < late.placements.size(); ++k) {
        if (p.room.operations[k].screen != p.room.operations[i].screen) continue;
        auto& at = late.placements[k];
        at.start += by;
        at.work_end += by;
        at.end += by;
    }
    // Handed over: it stays where it was till then.
    if (i == from + 1) late.placements[from].end = late.placements[i].start;
    const auto found = sched::check::check(p.room.problem, late);
    return std::any_of(found.begin(), found.end(), [&](const auto& v) {
        return v.rule == Rule::TimeLag && v.operation == core::OperationId{i} &&
               v.other == core::OperationId{from} && v.words.find("at most") != std::string::npos;
    });
}

std::size_t index_of(const Planned& p, const std::string& tag, const std::string& step, bool last) {
    std::size_t found = p.document.operations.size();
    for (std::size_t i = 0; i < p.document.operations.size(); ++i) {
        const auto& op = p.document.operations[i];
        if (op.screen != tag || op.step != step) continue;
        if (last || found == p.document.operations.size()) found = i;
    }
    REQUIRE(found < p.document.operations.size());
    return found;
}

/// The lamp's part of the exposure: nobody is there.
report::OperationLine lamp(const Planned& p, const std::string& tag) {
    for (const auto& op : p.of(tag, "expose")) {
        if (op.people.empty()) return op;
    }
    FAIL("no exposure of " << tag);
    return {};
}

}  // namespace

TEST_CASE("from the end of the exposure to washing out the limit holds by the clock",
          "[ways][max-lag]") {
    Scenario s = small_room();
    s.room.limits.expose_to_wash = minutes(10);
    const Planned p = planned(s);
    for (const auto& tag : p.tags()) {
        const SimTime off = lamp(p, tag).work_end;
        const auto wash = p.of(tag, "wash-out").front();
        CHECK(wash.start - off <= minutes(10));
        // Kept to the second, and not a second more.
        const std::size_t i = index_of(p, tag, "wash-out", false);
        const std::size_t from = index_of(p, tag, "expose", false) + 1;
        const Seconds spare = minutes(10) - (wash.start - off);
        CHECK_FALSE(breaks_lag(p, from, i, spare));
        CHECK(breaks_lag(p, from, i, spare + Seconds{1}));
    }
}

// Taken out late, the stencil has gone on hardening in the unit all the same.
TEST_CASE("a screen left in the unit is as late as one left beside it", "[ways][max-lag]") {
    const Planned p = planned(small_room());
    const std::size_t unload = index_of(p, "A1-1", "expose", true);
    core::Schedule late = p.schedule;
    late.placements[unload - 1].end += hours(2);  // it stays in the unit
    for (std::size_t k = unload; k < late.placements.size(); ++k) {
        if (p.room.operations[k].screen != p.room.operations[unload].screen) continue;
        late.placements[k].start += hours(2);
        late.placements[k].work_end += hours(2);
        late.placements[k].end += hours(2);
    }
    const auto found = sched::check::check(p.room.problem, late);
    CHECK(std::any_of(found.begin(), found.end(), [](const auto& v) {
        return v.rule == Rule::TimeLag && v.words.find("wash out A1-1") != std::string::npos;
    }));
}

TEST_CASE("remover is rinsed off in its time by the clock", "[ways][max-lag]") {
    Scenario s = small_room();
    s.room.limits.remover_max = minutes(4);
    const Planned p = planned(s);
    for (const auto& tag : p.tags()) {
        const auto on = p.of(tag, "strip").front();
        const auto rinse = p.of(tag, "rinse").front();
        CHECK(rinse.start - on.start >= minutes(2));
        CHECK(rinse.start - on.start <= minutes(4));
        const Seconds spare = minutes(4) - (rinse.start - on.start);
        const std::size_t i = index_of(p, tag, "rinse", false);
        const std::size_t from = index_of(p, tag, "strip", false);
        CHECK_FALSE(breaks_lag(p, from, i, spare));
        CHECK(breaks_lag(p, from, i, spare + Seconds{1}));
        // Too early is as wrong: it must have worked for two minutes.
        core::Schedule early = p.schedule;
        early.placements[i].start = on.start + minutes(2) - Seconds{1};
        const auto found = sched::check::check(p.room.problem, early);
        CHECK(std::any_of(found.begin(), found.end(),
                          [](const auto& v) { return v.rule == Rule::TimeLag; }));
    }
}

TEST_CASE("from dry mesh to coat the limit holds by the clock", "[ways][max-lag]") {
    Scenario s = small_room();
    s.room.limits.dry_to_coat = minutes(10);
    const Planned p = planned(s);
    for (const auto& tag : p.tags()) {
        const SimTime dry = p.of(tag, "dry-mesh").back().work_end;
        const auto coat = p.of(tag, "coat").front();
        const Seconds spare = minutes(10) - (coat.start - dry);
        CHECK(spare >= Seconds{0});
        const std::size_t i = index_of(p, tag, "coat", false);
        const std::size_t from = index_of(p, tag, "dry-mesh", false);
        CHECK_FALSE(breaks_lag(p, from, i, spare));
        CHECK(breaks_lag(p, from, i, spare + Seconds{1}));
    }
}

TEST_CASE("from dry coat to the lamp the shelf life holds by the clock", "[ways][max-lag]") {
    Scenario s = small_room();
    s.room.limits.coated_shelf = hours(1);
    s.room.stations[3].lamp->draw_down = minutes(2);  // before the lamp is on
    const Planned p = planned(s);
    for (const auto& tag : p.tags()) {
        const SimTime dry = p.of(tag, "dry-coat").back().work_end;
        const auto run = lamp(p, tag);
        const SimTime on = run.start + minutes(2);
        CHECK(on - dry <= hours(1));
        const std::size_t i = index_of(p, tag, "expose", false) + 1;
        const std::size_t from = index_of(p, tag, "dry-coat", false);
        REQUIRE(p.document.operations[i].people.empty());
        const Seconds spare = hours(1) - (on - dry);
        CHECK_FALSE(breaks_lag(p, from, i, spare));
        CHECK(breaks_lag(p, from, i, spare + Seconds{1}));
    }
}

TEST_CASE("a frame that was coated before is exposed within its shelf life, or not used",
          "[ways][max-lag]") {
    Scenario s = small_room();
    s.orders[0].lines[0].count = 1;
    s.frames = {{.size = s.orders[0].lines[0].frame,
                 .mesh = "90-48",
                 .state = FrameState::Coated,
                 .coated_dry = day - hours(24 * 28) + hours(60),
                 .emulsion = "quick",
                 .coat_plan = "2+2"},
                {.size = s.orders[0].lines[0].frame, .mesh = "90-48", .state = FrameState::Ready}};
    const Planned p = planned(s);
    CHECK(p.document.screens[0].made_on == "coated");
    const std::size_t i = index_of(p, "A1-1", "expose", false) + 1;
    const auto not_after = [&](Seconds after) {
        core::Schedule late = p.schedule;
        late.placements[i].start = day + hours(60) + after;
        const auto found = sched::check::check(p.room.problem, late);
        return std::any_of(found.begin(), found.end(), [](const auto& v) {
            return v.rule == Rule::StartWindow && v.words.find("not after") != std::string::npos;
        });
    };
    CHECK_FALSE(not_after(Seconds{0}));
    CHECK(not_after(Seconds{1}));
    // Old this very day: another frame is taken.
    s.frames[0].coated_dry = day - hours(24 * 28) + hours(9);
    CHECK(planned(s).document.screens[0].made_on == "ready");
}

// Cabinet with two slots, three screens, one person till 15:00, drying of three hours: screens wait
// for a slot over the evening, and nobody is there to hang them up.
TEST_CASE("nobody there: nothing is carried", "[ways][hands]") {
    Scenario s = small_room();
    s.room.stations[2].places = 1;
    s.room.steps[Step::DryMesh] = {.attended = Seconds{20}, .stand = hours(3)};
    s.room.steps[Step::DryCoat] = {.attended = Seconds{20}, .stand = hours(3)};
    const Planned p = planned(s);
    int hung = 0;
    for (const auto& op : p.document.operations) {
        // Whatever begins at a place has been brought there, but for what goes on where it is.
        const bool goes_on = op.words.starts_with("dry ") || op.words.starts_with("let ") ||
                             op.words.starts_with("expose ");
        if (goes_on || op.place.empty()) {
            CHECK(op.people.empty());
            continue;
        }
        INFO(op.words);
        CHECK(op.people == std::vector<std::string>{"Ada"});
        CHECK(op.start < op.work_end);
        const Seconds of_day = op.start - midnight(date_of(op.start));
        CHECK(of_day >= hours(7));
        CHECK(op.work_end - midnight(date_of(op.start)) <= hours(15));
        hung += op.step == "put-in" ? 1 : 0;
    }
    CHECK(hung == 3 * 4);  // mesh, coat, stencil and block-out of three screens
    // What dries has been hung up at that moment, at that place.
    for (const auto& tag : p.tags()) {
        std::set<SimTime> brought;
        for (const auto& op : p.of(tag, "put-in"))
            brought.insert(op.end);
        for (const char* step : {"dry-mesh", "dry-coat", "dry-stencil", "dry-touch-up"})
            CHECK(brought.contains(p.of(tag, step).front().start));
    }
}

TEST_CASE("a dry screen is taken out by anybody, learnt or not", "[ways][hands]") {
    Scenario s = small_room();
    s.room.people[0].can = {Step::InkOff,  Step::InkDegrease, Step::Strip, Step::Rinse,
                            Step::Haze,    Step::Degrease,    Step::Coat,  Step::Expose,
                            Step::WashOut, Step::Inspect};
    Person helper = s.room.people[0];
    helper.name = "Cy";
    helper.can = {Step::TakeOut};
    s.room.people.push_back(helper);
    const Planned p = planned(s);
    for (std::size_t i = 0; i < p.room.operations.size(); ++i) {
        const auto& step = p.document.operations[i].step;
        const auto& needs = p.room.problem.operations[i].modes.front().needs;
        const bool carried = step == "put-in" || step == "take-out";
        if (needs.size() < 2) continue;
        CHECK(needs.back().any_of.size() == (carried ? 2 : 1));
    }
}

TEST_CASE("attended is with a person, stands is without, in every step", "[ways]") {
    // 1 min attended and 4 min standing, whatever the step; in the sink, at the stand, in the
    // booth, at the table the screen stands where it is.
    Scenario s = small_room();
    const std::vector<Step> all{Step::InkOff,   Step::InkDegrease, Step::Rinse,   Step::Haze,
                                Step::Degrease, Step::Coat,        Step::WashOut, Step::Inspect};
    for (const Step step : all)
        s.room.steps[step] = {.attended = minutes(1), .stand = minutes(4)};
    s.room.steps[Step::Strip] = {.attended = minutes(1), .stand = minutes(3)};
    s.frames[0].haze = s.frames[1].haze = true;
    const Planned p = planned(s);
    const std::vector<std::pair<std::string, Seconds>> steps{
        {"ink-off", minutes(4)}, {"ink-degrease", minutes(4)}, {"strip", minutes(3)},
        {"rinse", minutes(4)},   {"haze", minutes(4)},         {"degrease", minutes(4)},
        {"coat", minutes(4)},    {"inspect", minutes(4)}};
    for (const auto& tag : p.tags()) {
        for (const auto& [step, stands] : steps) {
            const auto parts = p.of(tag, step);
            if (parts.empty()) continue;  // only the inky one has ink to come off
            INFO(tag << " " << step);
            CHECK(parts.front().work_end - parts.front().start == minutes(1));
            CHECK(parts.front().people_until == parts.front().work_end);
            SimTime left = parts.front().end;
            for (std::size_t k = 1; k < parts.size(); ++k) {
                CHECK(parts[k].people.empty());
                CHECK(parts[k].place == parts.front().place);
                CHECK(parts[k].start == left);
                left = parts[k].end;
            }
            CHECK(left - parts.front().work_end >= stands);
        }
        // Wash-out grows with the stencil; what stands does not.
        const auto wash = p.of(tag, "wash-out").front();
        CHECK(wash.end - wash.work_end >= minutes(4));
    }
    // Nothing stands idle for longer than it must where it is set aside afterwards.
    for (const char* step : {"ink-off", "ink-degrease", "rinse", "haze"}) {
        const auto parts = p.of("A1-3", step);
        REQUIRE(parts.size() == 2);
        CHECK(parts.back().end - parts.front().work_end == minutes(4));
    }
}

TEST_CASE("while a machine coats, its minder does something else", "[ways]") {
    Scenario s = small_room();
    s.frames = {
        {.size = s.frames[0].size, .mesh = "90-48", .state = FrameState::Ready, .count = 3}};
    s.room.between_stations = Seconds{0};  // who takes it to the cabinet is there at once
    s.room.steps[Step::Coat] = {.attended = minutes(1), .stand = minutes(6)};
    const Planned p = planned(s);
    for (const auto& tag : p.tags()) {
        const auto coat = p.of(tag, "coat").front();
        CHECK(coat.work_end - coat.start == minutes(1));
        CHECK(coat.end - coat.start >= minutes(7));
    }
    // The plan's own times take the place of the step's; they do not add up.
    s.room.coat_plans[0].coat = minutes(3);
    for (const auto& tag : planned(s).tags()) {
        const auto coat = planned(s).of(tag, "coat").front();
        CHECK(coat.work_end - coat.start == minutes(3));
        break;
    }
    Scenario alone = s;  // nobody else is degreased meanwhile
    alone.orders = {s.orders[0]};
    alone.orders[0].lines[0].count = 1;
    const Planned whole = planned(alone);
    const bool at_once = std::any_of(
        whole.document.operations.begin(), whole.document.operations.end(),
        [](const auto& op) { return op.step == "coat" && op.end - op.start == minutes(3); });
    CHECK(at_once);
    s.room.coat_plans[0].coat.reset();
    s.room.coat_plans[0].coat_stand = minutes(2);
    const auto coat = planned(s).of("A1-1", "coat").front();
    CHECK(coat.work_end - coat.start == minutes(1));
    CHECK(coat.end - coat.work_end >= minutes(2));
    CHECK(coat.end - coat.work_end < minutes(6));
}

TEST_CASE("whatever takes no time can be planned", "[ways]") {
    // A break in the middle: what takes no time is not done in it either.
    for (int k = 0; k < step_count; ++k) {
        const auto step = static_cast<Step>(k);
        Scenario s = small_room();
        s.room.people[0].breaks = {{hours(8), hours(9), minutes(15)}};
        s.room.steps[step] = {};
        if (step == Step::MixDissolve) {
            s.room.steps[Step::MixStir] = {};
            s.room.emulsions[0].family = EmulsionFamily::DualCure;
            s.room.pots[0].needs_mixing = true;
        }
        INFO("step " << k);
        planned(s);
    }
    Scenario s = small_room();
    s.room.people[0].breaks = {{hours(8), hours(9), minutes(15)}};
    for (int k = 0; k < step_count; ++k)
        s.room.steps[static_cast<Step>(k)] = {};
    const Planned p = planned(s);
    for (const auto& op : p.document.operations) {
        if (!op.people.empty()) CHECK(op.work_end > op.start);  // a hand it takes all the same
    }
}

TEST_CASE("the time of exposure is that of the unit that is used", "[ways]") {
    Scenario s = small_room();
    Station near = s.room.stations[3];
    near.name = "unit 2";
    near.lamp->distance = Centimetres{80};  // against 100 cm: 0.64 of the time by the square
    s.room.stations.push_back(near);
    s.room.stations[3].closed = {{day, day + hours(96)}};  // only the second can be used
    const Planned p = planned(s);
    for (const auto& screen : p.document.screens) {
        const auto run = lamp(p, screen.tag);
        CHECK(run.place == "unit 2");
        CHECK(screen.exposure == run.work_end - run.start);
        const double first = static_cast<double>(p.room.screens[0].exposures[0].count());
        CHECK(std::abs(static_cast<double>(screen.exposure.count()) - 0.64 * first) <= 1.0);
    }
}
