// A plan before any search, or the cause why there is none: causes by hand, then random rooms with
// odd hours, whose plans pass the checker and whose causes the exact search confirms.

#include "sched/advise/feasibility.hpp"

#include <algorithm>

#include "sched/advise/replan.hpp"
#include "sched/check/checker.hpp"
#include "sched/search/exact/exact.hpp"
#include "sched/search/room/careful.hpp"
#include "sched/search/room/room_search.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::core;
using namespace sched::search;
using Kind = FirstAnswer::Kind;

namespace {

constexpr std::int64_t day_s = 86'400;

SimTime at(std::int64_t t) {
    return SimTime{Seconds{t}};
}

struct Hall {
    Problem p;
    Hall() {
        p.name = "hall";
        p.horizon_end = at(10 * day_s);
        p.objective = {Criterion::Makespan};
        p.jobs.push_back({.name = "A1-1"});
    }
    ResourceId resource(const char* name, std::optional<Calendar> calendar = std::nullopt) {
        p.resources.push_back({.name = name, .calendar = std::move(calendar)});
        return ResourceId{p.resources.size() - 1};
    }
    OperationId operation(const char* name, std::int64_t work, std::vector<Need> needs) {
        p.operations.push_back({.name = name,
                                .job = JobId{0},
                                .modes = {{.work = Seconds{work}, .needs = std::move(needs)}}});
        return OperationId{p.operations.size() - 1};
    }
};

Calendar daily(std::int64_t from, std::int64_t to, int days = 10) {
    Calendar c;
    for (int d = 0; d < days; ++d)
        c.push_back({at(d * day_s + from), at(d * day_s + to)});
    return c;
}

// Hours that no shop has: people are there for minutes at a time, at night, once a day, or never
// with each other; stations close; some screens take two to coat.
Problem odd_room(std::uint64_t seed, int screens, int days, bool plain_only) {
    Problem p = random_room::make(seed, {.screens = screens});
    random_room::Draw d(seed * 31 + 7);
    p.horizon_end = p.horizon_start + Seconds{days * day_s};
    const auto start = p.horizon_start;
    for (auto& s : p.stores)
        s.until.reset();
    const bool hard = d.below(3) == 0;
    std::size_t person_number = 0;
    for (auto& r : p.resources) {
        const bool person = r.name == "person";
        if (plain_only && r.shared) r.shared.reset();
        if (!person && d.below(5) > 0) continue;
        Calendar c;
        const int kind = hard ? 1 + d.below(4) : d.below(4);
        const int often = 3 + d.below(12);
        person_number += person ? 1 : 0;
        for (int k = 0; k < days; ++k) {
            const auto open = [&](std::int64_t from, std::int64_t length) {
                const SimTime a = start + Seconds{k * day_s + from};
                const SimTime b = std::min(a + Seconds{length}, p.horizon_end);
                if (a >= b || (!c.empty() && c.back().to >= a)) return;
                c.push_back({a, b});
            };
            if (!person) {  // closed for some minutes or hours
                const std::int64_t hole = 3600 * d.below(20);
                open(1, hole);
                open(hole + 600 * (1 + d.below(12)), day_s - hole - 8000);
            } else if (kind == 0) {
                open(3600 * d.below(6), 8 * 3600);
            } else if (kind == 1) {
                for (int w = 0; w < often; ++w)
                    open(w * 5400 + 600 * d.below(4), (hard ? 300 : 600) + 60 * d.below(40));
            } else if (kind == 2) {
                open(3600 * (14 + d.below(4)), 5 * 3600);
            } else if (kind == 3) {
                open(3600 * d.below(8), 1800 + 600 * d.below(9));
            } else {  // each at an hour of their own
                open(static_cast<std::int64_t>(person_number) * 7200, 3600);
            }
        }
        r.calendar = c;
    }
    for (auto& o : p.operations) {
        if (o.name.rfind("coat", 0) != 0 || d.below(4) > 0) continue;
        for (auto& m : o.modes) {
            if (m.needs.size() == 2 && m.needs[1].any_of.size() > 1) m.needs.push_back(m.needs[1]);
        }
    }
    return p;
}

}  // namespace

TEST_CASE("two who must lift together and never meet are named before any search",
          "[search][feasibility]") {
    // Ada from 6 to 10, Bo from 10 to 14: no minute together. Cleo cannot coat.
    Hall h;
    const auto ada = h.resource("Ada", daily(6 * 3600, 10 * 3600));
    const auto bo = h.resource("Bo", daily(10 * 3600, 14 * 3600));
    h.resource("Cleo", daily(6 * 3600, 14 * 3600));
    const auto stand = h.resource("coating stand");
    const Need both{.any_of = {ada, bo}, .span = Span::Work};
    h.operation("coat A1-1", 240, {{.any_of = {stand}}, both, both});
    const auto first = first_answer(h.p);
    CHECK(first.kind == Kind::Impossible);
    CHECK(first.words ==
          "coat A1-1 takes 2 people at once, and Ada or Bo are never there together for 4 min in "
          "one piece.");
    // A quarter of an hour together is enough.
    (*h.p.resources[bo.index()].calendar)[3].from = at(3 * day_s + 9 * 3600 + 2700);
    const auto now = first_answer(h.p);
    REQUIRE(now.kind == Kind::Plan);
    CHECK(now.schedule->placements[0].start == at(3 * day_s + 9 * 3600 + 2700));
    CHECK(sched::check::check(h.p, *now.schedule).empty());
}

TEST_CASE("one who alone may do what takes two is named", "[search][feasibility]") {
    Hall h;
    const auto ada = h.resource("Ada");
    const Need one{.any_of = {ada}, .span = Span::Work};
    h.operation("coat A5-1", 240, {one, one});
    const auto found = find_impossible(h.p);
    REQUIRE(found);
    CHECK(found->words ==
          "coat A5-1 takes 2 people at once, and only Ada may do it: nobody can carry and work "
          "with a second person.");
}

TEST_CASE("a limit between two whose hours never allow it is named", "[search][feasibility]") {
    // Exposed by Ada from 6 to 10, washed out by Bo from 11 on, at most 30 min after the end of the
    // exposure (2 min): 10:00 is the latest end, and 10:30 comes before 11:00.
    Hall h;
    const auto ada = h.resource("Ada", daily(6 * 3600, 10 * 3600));
    const auto bo = h.resource("Bo", daily(11 * 3600, 15 * 3600));
    const auto expose = h.operation("expose A1-1", 120, {{.any_of = {ada}, .span = Span::Work}});
    const auto wash = h.operation("wash out A1-1", 300, {{.any_of = {bo}, .span = Span::Work}});
    h.p.constraints.push_back(TimeLag{.from = expose,
                                      .edge = Edge::WorkEnd,
                                      .to = wash,
                                      .min = Seconds{0},
                                      .max = Seconds{1800}});
    const auto first = first_answer(h.p);
    CHECK(first.kind == Kind::Impossible);
    CHECK(first.words ==
          "wash out A1-1 must begin at most 30 min after the work of expose A1-1, and the hours of "
          "those who may do the two never allow it (expose A1-1: Ada; wash out A1-1: Bo).");
    std::get<TimeLag>(h.p.constraints[0]).max = Seconds{3600};
    CHECK(first_answer(h.p).kind == Kind::Plan);
}

TEST_CASE("of two units, the one that is always closed is passed by", "[search][feasibility]") {
    // Loading ends first on unit 1, whose lamp is never on long enough: both must be at unit 2.
    Hall h;
    const auto one = h.resource("unit 1", daily(0, 100)),
               two = h.resource("unit 2", daily(500, 5000));
    const auto load = h.operation("load", 60, {{.any_of = {one}}});
    const auto run = h.operation("expose", 300, {{.any_of = {one}}});
    for (const auto o : {load, run}) {
        h.p.operations[o.index()].modes.push_back(h.p.operations[o.index()].modes[0]);
        h.p.operations[o.index()].modes[1].needs[0].any_of = {two};
    }
    h.p.constraints = {SameMode{load, run}, TimeLag{.from = load, .to = run, .max = Seconds{0}}};
    const auto first = first_answer(h.p);
    REQUIRE(first.kind == Kind::Plan);
    CHECK(first.schedule->placements[1].mode == 1);
}

TEST_CASE("two ways that must be one do not hide each other", "[search][feasibility]") {
    // Remover and rinse at the same place, sink or booth; the rinse begins within 5 min of the
    // remover's start, and Ada leaves at 100 s. At the sink the rinse finds no place when the
    // remover is at the booth: the booth's, hours later, is still the way.
    Hall h;
    const auto ada = h.resource("Ada", Calendar{{at(0), at(300)}, {at(5000), at(9000)}});
    const auto sink = h.resource("sink"), booth = h.resource("booth");
    const Need her{.any_of = {ada}, .span = Span::Work};
    const auto on = h.operation("remover on", 100, {{.any_of = {sink}}, her});
    const auto off = h.operation("rinse", 240, {{.any_of = {sink}}, her});
    for (const auto o : {on, off}) {
        auto& operation = h.p.operations[o.index()];
        operation.max_stretch.reset();
        operation.modes.push_back(operation.modes[0]);
        operation.modes[1].work -= Seconds{20};
        operation.modes[1].needs[0].any_of = {booth};
    }
    h.p.constraints = {
        TimeLag{.from = on, .to = off, .max = Seconds{0}},
        TimeLag{
            .from = on, .edge = Edge::Start, .to = off, .min = Seconds{120}, .max = Seconds{300}},
        SameResource{on, 0, off, 0}};
    const auto first = first_answer(h.p);
    REQUIRE(first.kind == Kind::Plan);
    CHECK(first.schedule->placements[0].start == at(5000));
    CHECK(sched::check::check(h.p, *first.schedule).empty());
}

namespace {

// Ada puts a screen into a drying place for four, and takes it out within `after` of its being dry.
// It dries in 1500 s there (each screen weighs 0.5), beside three others in 3000.
Hall drying_hall(Calendar ada_hours, std::int64_t after) {
    Hall h;
    const auto ada = h.resource("Ada", std::move(ada_hours));
    const auto cabinet = h.resource("cabinet");
    h.p.resources[cabinet.index()].capacity = 4;
    h.p.resources[cabinet.index()].shared = SharedRate{{{.from = at(0), .base = 1.0}}};
    const Need her{.any_of = {ada}, .span = Span::Work};
    const auto put = h.operation("put in", 60, {{.any_of = {cabinet}}, her});
    const auto dry = h.operation("dry", 0, {{.any_of = {cabinet}}});
    h.p.operations[dry.index()].modes[0].stages = {{.work = 1000.0, .share = 0.5}};
    h.p.operations[dry.index()].max_stretch.reset();
    const auto out = h.operation("coat", 60, {her});
    h.p.constraints = {
        TimeLag{.from = put, .to = dry, .max = Seconds{0}},
        TimeLag{.from = dry, .to = out, .max = Seconds{0}},
        TimeLag{.from = dry, .edge = Edge::WorkEnd, .to = out, .max = Seconds{after}}};
    return h;
}

}  // namespace

TEST_CASE("what comes out in time only if it dries alone has a plan", "[search][feasibility]") {
    // 60 + 1500 + 60 s fit into her 37 min; in a full place (3000 s, as that is counted) they do
    // not, and on the next day the limit is over.
    const Hall h = drying_hall(daily(3600, 3600 + 2200), 600);
    const auto first = first_answer(h.p);
    REQUIRE(first.kind == Kind::Plan);
    CHECK(sched::check::check(h.p, *first.schedule).empty());
}

TEST_CASE("drying that cannot be over so late proves that there is no plan",
          "[search][feasibility]") {
    // Ada's 1000 s are too short even alone (60 + 1500 + 60 s), and dry it
    // is long before she comes again, however full the place.
    const Hall h = drying_hall(daily(3600, 3600 + 1000), 600);
    const auto first = first_answer(h.p);
    CHECK(first.kind == Kind::Impossible);
    CHECK(first.words ==
          "coat must begin at most 10 min after the work of dry, and the hours of those who may do "
          "these and what is tied to them by further limits never allow it (dry: cabinet; coat: "
          "Ada).");
    // With a day to be taken out in, there is one.
    CHECK(first_answer(drying_hall(daily(3600, 3600 + 1000), day_s).p).kind == Kind::Plan);
}

TEST_CASE("random rooms with odd hours have a plan before any search, or a cause",
          "[search][feasibility][property]") {
    int plans = 0, causes = 0;
    for (std::uint64_t seed = 1; seed <= 150; ++seed) {
        const Problem p = odd_room(seed, 1 + static_cast<int>(seed % 6), 120, false);
        REQUIRE(validate(p).empty());
        const auto first = first_answer(p);
        INFO("seed " << seed << ": " << first.words);
        if (first.kind == Kind::Plan) {
            ++plans;
            CHECK(sched::check::check(p, *first.schedule).empty());
            if (seed % 10 > 0) continue;
            // The search begins with it whatever its budget.
            const auto found = search_room(p, {.budget = {.evaluations = 1}});
            REQUIRE(found.schedule);
            CHECK(sched::check::check(p, *found.schedule).empty());
        } else {
            ++causes;
            CHECK(first.kind == Kind::Impossible);
            CHECK_FALSE(first.words.empty());
        }
    }
    CHECK(plans > 50);
    CHECK(causes > 5);
}

TEST_CASE("what has begun always goes on: the rest of a plan is a plan",
          "[search][feasibility][property]") {
    // Cut anywhere, the plan that hangs is still one; so there must be one without any search.
    int cuts = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const Problem p = odd_room(seed, 1 + static_cast<int>(seed % 6), 60, false);
        const auto first = first_answer(p);
        if (first.kind != Kind::Plan) continue;
        random_room::Draw d(seed);
        for (int cut = 0; cut < 3; ++cut) {
            const auto& some = first.schedule->placements[static_cast<std::size_t>(
                d.below(static_cast<int>(p.operations.size())))];
            Problem rest = p;
            rest.now = some.start + Seconds{1 + d.below(200)};
            rest.begun = begun_by(p, earlier_plan(*first.schedule), *rest.now);
            const auto again = first_answer(rest);
            INFO("seed " << seed << " cut " << cut << ": " << again.words);
            REQUIRE(again.kind == Kind::Plan);
            CHECK(sched::check::check(rest, *again.schedule).empty());
            ++cuts;
        }
    }
    CHECK(cuts > 100);
}

TEST_CASE("causes and failures of tiny rooms are confirmed by the exact search",
          "[search][feasibility][property]") {
    int checked = 0;
    for (std::uint64_t seed = 1000; seed < 4000 && checked < 12; ++seed) {
        Problem p = odd_room(seed, 1, 4, true);
        for (auto& o : p.operations) {
            for (auto& m : o.modes) {
                if (m.stages.empty()) continue;
                m.work = Seconds{1200};
                m.stages.clear();
            }
        }
        p.objective.clear();
        if (!exact_supports(p)) continue;
        const auto first = first_answer(p);
        if (first.kind == Kind::Plan) continue;
        const auto exact = solve_exact(p, {.budget = {.evaluations = 20'000}});
        INFO("seed " << seed << ": " << first.words);
        CHECK_FALSE(exact.schedule);
        checked += exact.status == Status::Infeasible;
    }
    CHECK(checked == 12);
}
