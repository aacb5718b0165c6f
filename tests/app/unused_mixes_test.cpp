// A pot that ends during the run is not counted on, so another is put on the list. A plan that
// coats all it must from the old one mixes and buys nothing. Demo room, one order of two screens.

#include "sched/app/parts/unused_mixes.hpp"

#include <algorithm>
#include <memory>
#include <variant>

#include "model/read/scenario.hpp"
#include "sched/app/parts/asked_again.hpp"
#include "sched/app/parts/chances.hpp"
#include "sched/app/parts/returned.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/check/checker.hpp"
#include "sched/promise/promise.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "tests/catch.hpp"

namespace {

using namespace sched;

model::SimTime that_morning(const std::string& text) {
    return *model::parse_date_time("2026-11-26T" + text);
}

// "blue 1" ends at four in the afternoon: + 5 weeks, as room.yaml says.
app::Question ask_for_two_screens() {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", d);
    REQUIRE(s);
    app::Question q{.folder = "", .scenario = *std::move(s), .start = that_morning("00:00")};
    q.scenario.orders = {q.scenario.orders[2]};
    q.scenario.room.pots[0].mixed = *model::parse_date_time("2026-10-22T16:00");
    q.how.budget.evaluations = 20;
    q.quiet = q.on_paper = true;
    return q;
}

struct LeftOut {
    app::RoomOfPlan room;
    app::FoundPlan plan;
    std::size_t mixes = 0;  // that the room asked for
    report::PlanDocument document;
};

LeftOut left_out_of(const app::Question& q) {
    model::Diagnostics d;
    auto room = app::room_of(q, d);
    REQUIRE(room);
    LeftOut p{.room = *std::move(room)};
    p.mixes = p.room.room.mixes.size();
    p.plan = app::find_plan(q, p.room, p.room.room.problem, q.how);
    REQUIRE(p.plan.solution.schedule);
    for (std::size_t i = 0; i < p.plan.room.operations.size(); ++i)  // as simulated days choose it
        p.plan.turns.push_back(static_cast<std::int32_t>(i) + 1);
    app::leave_out_unused_mixes(q, p.room, p.plan);
    CHECK(check::check(p.plan.room.problem, *p.plan.solution.schedule).empty());
    const auto filled = app::fill_returns(q.pins, q.scenario, p.plan.how, p.plan.room,
                                          p.plan.solution, app::begun_returns(q));
    p.document = report::make_plan_document(q.scenario, filled.room, filled.solution, {});
    app::say_changes(q, p.room, p.plan, p.document);
    return p;
}

bool somebody_mixes(const report::PlanDocument& d) {
    return std::any_of(d.operations.begin(), d.operations.end(),
                       [](const auto& line) { return line.step == "mix-dissolve"; });
}

}  // namespace

TEST_CASE("what no coat of the plan takes from is neither mixed nor bought", "[app][pots]") {
    const auto q = ask_for_two_screens();
    const auto p = left_out_of(q);
    CHECK(p.mixes == 1);
    CHECK(p.document.mixes.empty());
    CHECK_FALSE(somebody_mixes(p.document));
    CHECK(p.document.problem.stores.size() == 1);
    // The steps that are left keep their order of work, counted without gaps.
    REQUIRE(p.plan.turns.size() == p.plan.room.operations.size());
    for (std::size_t i = 0; i < p.plan.turns.size(); ++i)
        CHECK(p.plan.turns[i] == static_cast<std::int32_t>(i) + 1);
    // The second judge asks the scenario again and finds the same room.
    for (const auto& words : app::otherwise_asked(p.document, q.scenario)) {
        INFO(words);
        CHECK(words.empty());
    }
    // The old pot ends before anybody is there: then the other is mixed.
    auto early = ask_for_two_screens();
    early.scenario.room.pots[0].mixed = *model::parse_date_time("2026-10-22T05:00");
    const auto other = left_out_of(early);
    CHECK(other.document.mixes.size() == 1);
    CHECK(somebody_mixes(other.document));
    CHECK(app::otherwise_asked(other.document, early.scenario).empty());
}

TEST_CASE("planned again, what was left out does not come back", "[app][pots][midday]") {
    auto q = ask_for_two_screens();
    const auto before = left_out_of(q);
    q.midday = {.now = that_morning("07:30"), .state = {}, .posted = before.document};
    const auto again = left_out_of(q);
    CHECK(again.mixes == 0);  // the pots of the plan that hangs are enough
    CHECK(again.document.mixes.empty());
    REQUIRE(again.document.again);
    CHECK(again.document.again->changes.empty());
}

// Before, the desk compiled the room with the pot that the plan had left out: the plan that hangs
// was not that of its room, and was made anew.
TEST_CASE("a promise at midday counts on the pots of the plan that hangs", "[app][pots][midday]") {
    auto q = ask_for_two_screens();
    std::int64_t taken = 0;
    for (const auto& c : left_out_of(q).plan.room.problem.constraints) {
        if (const auto* take = std::get_if<core::Take>(&c)) taken += take->amount;
    }
    REQUIRE(taken > 0);
    q.scenario.room.pots[0].volume =
        model::Millilitres{static_cast<double>(taken)};  // none for anybody else
    const auto before = left_out_of(q);
    REQUIRE(before.document.mixes.empty());

    auto begun = std::make_shared<study::BegunDay>();
    begun->now = that_morning("07:30");
    begun->posted = app::posted_plan(before.document);
    begun->frames = app::frames_under_way(before.document, {}, begun->now);
    study::PromiseOptions how;
    how.compile.start = q.start;
    how.remedies = false;
    how.begun = begun;
    how.right = [](const core::Problem& problem, const core::Schedule& schedule) {
        return check::check(problem, schedule).empty();
    };
    model::Diagnostics d;
    std::string problem;
    const auto desk = study::PromiseDesk::open(q.scenario, how, d, problem);
    INFO(problem);
    REQUIRE(desk);
    CHECK(desk->room().mixes.empty());
    const auto base = desk->base();
    REQUIRE(base.room.problem.operations.size() == before.plan.room.problem.operations.size());
    CHECK(base.solution.schedule->placements == before.plan.solution.schedule->placements);

    // The coats of an enquiry find nothing left: for them a pot is mixed, and they are promised.
    study::Enquiry enquiry{.lines = q.scenario.orders[0].lines};
    study::PromiseDesk::Planned planned;
    const study::Promise promise = desk->ask(enquiry, &planned);
    INFO(promise.impossible);
    CHECK(promise.recommended);
    CHECK(planned.room.mixes.size() == 1);
}

TEST_CASE("a coat that comes to the old pot a little too late ends the day all the same",
          "[app][pots]") {
    auto q = ask_for_two_screens();
    const auto first = left_out_of(q);
    model::SimTime last{};
    for (const auto& line : first.document.operations) {
        if (line.step == "coat") last = std::max(last, line.start);
    }
    q.scenario.room.pots[0].mixed = last + std::chrono::minutes{5} - std::chrono::weeks{5};
    auto p = left_out_of(q);
    REQUIRE(p.document.mixes.empty());
    q.days.number = 40;
    app::add_chances({q, p.plan.how, p.plan.room}, *p.plan.solution.schedule, {}, p.document);
    for (const auto& warning : p.document.warnings)
        CHECK(warning.words.find("did not come to an end") == std::string::npos);
    CHECK(p.document.orders[0].chance_late);
}
