// What would help, on simulated days: against the days of the plan as replicate() has them, and
// where the answer is known beforehand.

#include "sched/simulate/what_if_days.hpp"

#include <algorithm>
#include <cmath>

#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;
using search::WhatIf;

namespace {

struct Asked {
    model::Scenario scenario;
    compile::CompileOptions how;
    compile::RoomProblem room;
    core::Solution solution;
    Chance chance;
    std::vector<std::int32_t> turns;
    std::vector<std::vector<double>> compared;

    JudgedPlan plan() const { return {scenario, how, room, *solution.schedule, turns, compared}; }
    WhatIfDayOptions options() const { return {.most = 40, .chance = chance}; }
};

Asked asked(const char* name) {
    Asked a;
    model::Diagnostics diagnostics;
    auto scenario =
        model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/" + name, diagnostics);
    REQUIRE(scenario);
    a.scenario = *std::move(scenario);
    const auto chance = model::read_chance(a.scenario, diagnostics);
    REQUIRE(chance);
    a.chance = Chance::of(chance->chance, a.scenario);
    a.how = {.start = *model::parse_date_time("2026-11-26T00:00"), .days = 3};
    auto room = compile::compile_room(a.scenario, a.how, diagnostics);
    REQUIRE(room);
    a.room = *std::move(room);
    search::SearchOptions search;
    search.budget.evaluations = 300;
    search.threads = 1;
    a.solution = search::solve(a.room.problem, search);
    REQUIRE(a.solution.schedule);
    return a;
}

const Asked& tomorrow_asked() {
    static const Asked a = asked("tomorrow");
    return a;
}

WhatIf more_of(const Asked& a, const std::string& name, WhatIf::Kind kind) {
    WhatIf w;
    w.kind = kind;
    for (std::size_t r = 0; r < a.room.problem.resources.size(); ++r) {
        if (a.room.problem.resources[r].name == name) w.resource = core::ResourceId{r};
    }
    w.schedule = *a.solution.schedule;
    return w;
}

bool same(const WhatIf::OnDays& x, const WhatIf::OnDays& y) {
    return x.days == y.days && x.cost == y.cost && x.shows == y.shows &&
           x.fewer_late == y.fewer_late && x.saved == y.saved && x.saved_shows == y.saved_shows &&
           x.orders.size() == y.orders.size();
}

}  // namespace

TEST_CASE("the same room as another way changes nothing on any day", "[what-if-days]") {
    const Asked& a = tomorrow_asked();
    std::vector<WhatIf> what_ifs(1);
    what_ifs[0].kind = WhatIf::Kind::Other;
    what_ifs[0].schedule = *a.solution.schedule;
    auto options = a.options();
    options.policy = "in-order";  // one way to work: there is nothing to choose
    judge_on_days(a.plan(), {{a.scenario, a.room.problem}}, options, what_ifs);
    REQUIRE(what_ifs[0].on_days);
    const auto& days = *what_ifs[0].on_days;
    CHECK(days.days == 40);
    CHECK(days.cost == 0.0);
    CHECK_FALSE(days.shows);
    CHECK(days.orders.empty());
    CHECK(std::count(days.saved.begin(), days.saved.end(), 0.0) ==
          static_cast<std::ptrdiff_t>(days.saved.size()));
}

// Ada does what most steps ask for: docs/sizing.md has a second person there as what helps most.
TEST_CASE("one more of whom the day waits for makes fewer orders late", "[what-if-days]") {
    const Asked& a = tomorrow_asked();
    std::vector<WhatIf> what_ifs = {more_of(a, "washout booth", WhatIf::Kind::OneMore),
                                    more_of(a, "Ada", WhatIf::Kind::OneMore),
                                    more_of(a, "Ada", WhatIf::Kind::Longer)};
    judge_on_days(a.plan(), {}, a.options(), what_ifs);
    for (const WhatIf& w : what_ifs)
        REQUIRE(w.on_days);
    CHECK(std::is_sorted(what_ifs.begin(), what_ifs.end(), [](const WhatIf& x, const WhatIf& y) {
        return x.on_days->cost < y.on_days->cost;
    }));
    const auto ada = std::find_if(what_ifs.begin(), what_ifs.end(), [&](const WhatIf& w) {
        return w.kind == WhatIf::Kind::OneMore &&
               a.room.problem.resources[w.resource.index()].name == "Ada";
    });
    const auto& found = *ada->on_days;
    CHECK(found.shows);
    CHECK(found.cost < 0.0);
    CHECK(found.fewer_late > 0.0);
    REQUIRE(!found.orders.empty());
    CHECK(found.orders.front().late_with < found.orders.front().late_without);

    // Without it the days are those of the plan's chances, number by number.
    ReplicateOptions same_days;
    same_days.replications = 40;
    same_days.chance = a.chance;
    const auto chances = replicate(a.scenario, a.how, a.room, &*a.solution.schedule, same_days);
    REQUIRE(chances);
    for (const auto& o : found.orders) {
        const OrderOutcome& outcome = chances->orders[o.order.index()];
        CHECK(o.late_without == Approx(static_cast<double>(outcome.late) / 40.0));
    }
}

// Nobody has to use what is added, so it cannot cost anything that shows.
TEST_CASE("what is added makes no day worse beyond chance", "[what-if-days]") {
    const Asked& a = tomorrow_asked();
    std::vector<WhatIf> what_ifs;
    for (const auto& resource : a.room.problem.resources) {
        for (const auto kind : {WhatIf::Kind::OneMore, WhatIf::Kind::Longer})
            what_ifs.push_back(more_of(a, resource.name, kind));
    }
    auto options = a.options();
    options.most = fewest_judging_days;
    judge_on_days(a.plan(), {}, options, what_ifs);
    for (const WhatIf& w : what_ifs) {
        REQUIRE(w.on_days);
        INFO(a.room.problem.resources[w.resource.index()].name);
        CHECK_FALSE((w.on_days->shows && w.on_days->cost > 0.0));
        // Nor are more orders late for a gain that may be chance.
        if (w.on_days->shows && w.on_days->cost < 0.0) continue;
        CHECK_FALSE((w.on_days->fewer_show && w.on_days->fewer_late < 0.0));
        for (const auto& order : w.on_days->orders)
            CHECK(order.late_with <= order.late_without);
    }
}

// Figures of one more booth in a room of two cabinets, where the order of work that was found for
// it had 1.4 more orders late in 25 days, for less lateness, of a few nights, that was not certain.
TEST_CASE("what is added is left where only its harm is certain", "[what-if-days]") {
    const core::Problem& problem = tomorrow_asked().room.problem;
    REQUIRE(problem.objective[0] == core::Criterion::WeightedTardiness);
    WhatIf::OnDays days{.days = 25, .cost = -3600.0, .fewer_late = -1.4, .fewer_show = true};
    days.saved.assign(problem.objective.size(), 0.0);
    days.saved_shows.assign(problem.objective.size(), 0);
    CHECK(only_harm_shows(problem, days));
    days.shows = true;  // it is worth that
    CHECK_FALSE(only_harm_shows(problem, days));
    days.shows = days.fewer_show = false;
    CHECK_FALSE(only_harm_shows(problem, days));
    days.orders = {{core::OrderId{0}, 0.1, 0.0}};
    CHECK_FALSE(only_harm_shows(problem, days));
    days.orders.push_back({core::OrderId{1}, 0.44, 0.96});
    CHECK(only_harm_shows(problem, days));
    days.orders.clear();
    days.saved.back() = -600.0;
    days.saved_shows.back() = 1;  // that screens stand longer is no harm
    REQUIRE(problem.objective.back() == core::Criterion::Holding);
    CHECK_FALSE(only_harm_shows(problem, days));
    days.saved[0] = -600.0;
    days.saved_shows[0] = 1;
    CHECK(only_harm_shows(problem, days));
}

TEST_CASE("threads do not change what the days say, and what is stopped says nothing",
          "[what-if-days]") {
    const Asked& a = tomorrow_asked();
    auto one = std::vector<WhatIf>{more_of(a, "Ada", WhatIf::Kind::OneMore),
                                   more_of(a, "Ben", WhatIf::Kind::Longer)};
    auto three = one, stopped = one, late = one;
    auto options = a.options();
    judge_on_days(a.plan(), {}, options, one);
    options.threads = 3;
    judge_on_days(a.plan(), {}, options, three);
    for (std::size_t k = 0; k < one.size(); ++k) {
        REQUIRE(one[k].on_days);
        REQUIRE(three[k].on_days);
        CHECK(one[k].kind == three[k].kind);
        CHECK(same(*one[k].on_days, *three[k].on_days));
    }
    options.stop = [] { return true; };
    judge_on_days(a.plan(), {}, options, stopped);
    for (const WhatIf& w : stopped)
        CHECK_FALSE(w.on_days);
    // After a first round of all: what they all have counts.
    options.threads = 1;
    int asked_so_far = 0;
    options.most = 60;
    options.stop = [&] { return ++asked_so_far > 400; };
    judge_on_days(a.plan(), {}, options, late);
    for (const WhatIf& w : late)
        CHECK((!w.on_days || w.on_days->days == fewest_judging_days || w.on_days->days == 60));
}

// By hand: where nothing happens by chance every day is the same day, so that a saving is the
// difference of two plans and shows however small it is.
TEST_CASE("without random variation days say what paper says", "[what-if-days]") {
    const Asked& a = tomorrow_asked();
    auto options = a.options();
    options.chance = Chance::none();
    std::vector<WhatIf> what_ifs = {more_of(a, "Ada", WhatIf::Kind::Longer)};
    judge_on_days(a.plan(), {}, options, what_ifs);
    REQUIRE(what_ifs[0].on_days);
    const auto& days = *what_ifs[0].on_days;
    for (std::size_t k = 0; k < days.saved.size(); ++k) {
        CHECK(days.saved[k] == std::round(days.saved[k]));
        CHECK((days.saved_shows[k] != 0) == (days.saved[k] != 0.0));
    }
}
