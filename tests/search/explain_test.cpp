// Chains of hand-made schedules: each cause alone, then the stories that put them together.

#include "sched/advise/explain.hpp"

#include <algorithm>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::core;
using sched::search::Cause;
using sched::search::chain_of;
using sched::search::ChainLink;
using sched::search::paid_time;
using sched::search::resource_use;
using sched::search::resource_waits;
using sched::search::staffed_time;

namespace {

SimTime explain_at(std::int64_t s) {
    return SimTime{Seconds{s}};
}

/// One order per job, one job per operation unless said otherwise.
struct Story {
    Problem problem;
    Schedule schedule;

    Story() {
        problem.horizon_end = explain_at(100000);
        problem.orders.push_back({.name = "ours", .due = explain_at(1)});
        problem.orders.push_back({.name = "other"});
        problem.jobs = {{.name = "ours", .order = OrderId{0}},
                        {.name = "other", .order = OrderId{1}}};
    }
    ResourceId resource(const char* name, int capacity = 1) {
        problem.resources.push_back({.name = name, .capacity = capacity});
        return ResourceId{problem.resources.size() - 1};
    }
    OperationId add(int job, ResourceId r, std::int64_t start, std::int64_t work,
                    std::int64_t hold = 0) {
        problem.operations.push_back(
            {.name = "op" + std::to_string(problem.operations.size()),
             .job = JobId{job},
             .modes = {{.work = Seconds{work}, .needs = {{.any_of = {r}}}}}});
        if (hold > 0) problem.operations.back().max_stretch = std::nullopt;
        schedule.placements.push_back({.start = explain_at(start),
                                       .work_end = explain_at(start + work),
                                       .end = explain_at(start + work + hold),
                                       .chosen = {r}});
        return OperationId{problem.operations.size() - 1};
    }
    void lag(OperationId a, OperationId b, std::int64_t min = 0,
             std::optional<Seconds> max = std::nullopt, Edge edge = Edge::End) {
        problem.constraints.push_back(
            TimeLag{.from = a, .edge = edge, .to = b, .min = Seconds{min}, .max = max});
    }
    std::vector<ChainLink> chain() const {
        REQUIRE(validate(problem).empty());
        for (const auto& v : sched::check::check(problem, schedule))
            FAIL(v.words);
        return chain_of(problem, schedule, OrderId{0});
    }
};

void is(const ChainLink& link, OperationId operation, Cause cause, std::int64_t waited,
        std::optional<OperationId> because = std::nullopt,
        std::optional<ResourceId> resource = std::nullopt) {
    CHECK(link.operation == operation);
    CHECK(link.cause == cause);
    CHECK(link.waited == Seconds{waited});
    CHECK(link.because == because);
    CHECK(link.resource == resource);
}

}  // namespace

TEST_CASE("late because of the predecessor and its lag", "[explain]") {
    Story s;
    const auto r = s.resource("stand");
    const auto q = s.resource("booth");
    const auto a = s.add(0, r, 0, 100);
    const auto b = s.add(0, q, 130, 50);
    s.lag(a, b, 30);
    const auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], b, Cause::Predecessor, 130, a);
    is(chain[1], a, Cause::Begin, 0);
}

TEST_CASE("late because the resource was taken", "[explain]") {
    Story s;
    const auto r = s.resource("stand");
    const auto q = s.resource("booth");
    const auto x = s.add(1, r, 0, 300);
    const auto a = s.add(0, q, 0, 100);
    const auto b = s.add(0, r, 300, 50);
    s.lag(a, b);
    const auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], b, Cause::Resource, 200, x, r);  // free of all else at 100
    // What the screen did before the wait is its own way, not what the other did meanwhile.
    is(chain[1], a, Cause::Begin, 0);

    SECTION("before its first step the chain is about who had it") {
        s.problem.constraints.clear();
        s.problem.jobs.push_back({.name = "first", .order = OrderId{1}});
        s.problem.operations[a.index()].job = JobId{2};
        const auto first = s.chain();
        REQUIRE(first.size() == 2);
        is(first[0], b, Cause::Resource, 300, x, r);
        is(first[1], x, Cause::Begin, 0);
    }
}

TEST_CASE("an order is not held by what others did while it dried itself", "[explain]") {
    // Ours coats to 50, dries to 1000 and waits a minute for the unit. The other that had it dried
    // till then as well, behind a coat of its own: out of the way, ours would be 60 s sooner.
    Story s;
    const auto stand = s.resource("stand");
    const auto cabinet = s.resource("cabinet", 2);
    const auto unit = s.resource("unit");
    const auto theirs = s.add(1, stand, 0, 40);
    const auto dry_theirs = s.add(1, cabinet, 40, 950);
    const auto expose_theirs = s.add(1, unit, 990, 70);
    const auto ours = s.add(0, stand, 40, 10);
    const auto dry = s.add(0, cabinet, 50, 950);
    const auto expose = s.add(0, unit, 1060, 70);
    s.lag(theirs, dry_theirs);
    s.lag(dry_theirs, expose_theirs);
    s.lag(ours, dry);
    s.lag(dry, expose);
    const auto chain = s.chain();
    REQUIRE(chain.size() == 4);
    is(chain[0], expose, Cause::Resource, 60, expose_theirs, unit);
    is(chain[1], dry, Cause::Predecessor, 50, ours);
    is(chain[2], ours, Cause::Resource, 40, theirs, stand);
    is(chain[3], theirs, Cause::Begin, 0);
}

TEST_CASE("emulsion that came later than the screen is what held it", "[explain]") {
    // Dry at 100, the screen waits for the pot till 400, then for the stand, that another coats at.
    Story s;
    const auto sink = s.resource("sink");
    const auto bench = s.resource("bench");
    const auto stand = s.resource("stand");
    s.problem.stores.push_back({.name = "pot"});
    const auto mix = s.add(1, bench, 0, 400);
    const auto a = s.add(0, sink, 0, 100);
    const auto other = s.add(1, stand, 400, 40);
    const auto b = s.add(0, stand, 440, 10);
    s.lag(a, b);
    s.problem.constraints.push_back(Give{.operation = mix, .store = StoreId{0}, .amount = 100});
    for (const auto coat : {other, b}) {
        s.problem.constraints.push_back(
            Take{.operation = coat, .any_of = {StoreId{0}}, .amount = 50});
        s.schedule.placements[coat.index()].stores = {StoreId{0}};
    }
    const auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], b, Cause::Resource, 40, other, stand);
    CHECK(chain[0].before == Cause::Store);
    CHECK(chain[0].stood == Seconds{40});
    is(chain[1], mix, Cause::Begin, 0);
}

TEST_CASE("the chain ends with who had only just come", "[explain]") {
    // Ada works from 0, Ben comes at 500, who alone can mix; until 560 he is at x of the other
    // order, which Ada had prepared from 0 on. Nothing could have been mixed before 500.
    Story s;
    const auto ada = s.resource("Ada");
    const auto ben = s.resource("Ben");
    s.problem.resources[ben.index()].calendar = Calendar{{explain_at(500), explain_at(9000)}};
    const auto prepared = s.add(1, ada, 0, 500);
    const auto x = s.add(1, ben, 500, 60);
    s.lag(prepared, x);
    const auto mix = s.add(0, ben, 560, 100);
    auto chain = s.chain();
    REQUIRE(chain.size() == 1);
    is(chain[0], mix, Cause::Resource, 60, x, ben);

    SECTION("another could have done it: the chain goes on") {
        s.problem.operations[mix.index()].modes[0].needs[0].any_of = {ada, ben};
        chain = s.chain();
        REQUIRE(chain.size() == 3);
        is(chain[1], x, Cause::Predecessor, 0, prepared);
    }
}

TEST_CASE("a screen's own step that stands there is no reason for the next one there",
          "[explain]") {
    // Exposed at 200, the screen stands in the unit till Ada is back from her break at 500.
    Story s;
    const auto unit = s.resource("unit");
    const auto ada = s.resource("Ada");
    s.problem.resources[ada.index()].calendar =
        Calendar{{explain_at(0), explain_at(150)}, {explain_at(500), explain_at(9000)}};
    const auto expose = s.add(0, unit, 0, 200, 300);
    const auto empty = s.add(0, unit, 500, 60);
    s.problem.operations[empty.index()].modes[0].needs.push_back({.any_of = {ada}});
    s.schedule.placements[empty.index()].chosen.push_back(ada);
    s.lag(expose, empty);
    const auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], empty, Cause::Calendar, 300, expose, ada);
    is(chain[1], expose, Cause::Begin, 0);
}

TEST_CASE("late because too little of a resource was left", "[explain]") {
    Story s;
    const auto r = s.resource("cabinet", 3);
    s.add(1, r, 0, 500);
    const auto x = s.add(1, r, 0, 200);
    s.add(1, r, 0, 100);
    const auto b = s.add(0, r, 200, 50);
    s.problem.operations[b.index()].modes[0].needs[0].amount = 2;
    const auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], b, Cause::Resource, 200, x, r);
}

TEST_CASE("late because of the calendar, and of who made it miss the window", "[explain]") {
    Story s;
    const auto r = s.resource("person");
    s.problem.resources[0].calendar =
        Calendar{{explain_at(0), explain_at(1000)}, {explain_at(1500), explain_at(9000)}};
    const auto q = s.resource("booth");
    const auto a = s.add(0, q, 0, 950);
    const auto b = s.add(0, r, 1500, 100);  // 950 + 100 would pass 1000
    s.lag(a, b);
    auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], b, Cause::Calendar, 550, a, r);
    is(chain[1], a, Cause::Begin, 0);

    SECTION("it would have fitted before the break: a choice") {
        s.schedule.placements[a.index()].work_end = s.schedule.placements[a.index()].end =
            explain_at(900);
        s.problem.operations[a.index()].modes[0].work = Seconds{900};
        chain = s.chain();
        REQUIRE(chain.size() == 2);
        is(chain[0], b, Cause::Choice, 600, a);
        is(chain[1], a, Cause::Begin, 0);
    }
}

TEST_CASE("late because of the release or a start window", "[explain]") {
    Story s;
    const auto r = s.resource("stand");
    s.problem.orders[0].release = explain_at(70);
    const auto a = s.add(0, r, 70, 10);
    auto chain = s.chain();
    REQUIRE(chain.size() == 1);
    is(chain[0], a, Cause::Release, 70);

    s.problem.orders[0].release = explain_at(0);
    s.problem.constraints.push_back(StartWindow{.operation = a, .not_before = explain_at(70)});
    is(s.chain()[0], a, Cause::Release, 70);
}

TEST_CASE("late because the material was not there", "[explain]") {
    Story s;
    const auto bench = s.resource("bench");
    const auto r = s.resource("stand");
    s.problem.stores.push_back({.name = "pot", .initial = 50});
    const auto mix = s.add(1, bench, 0, 400);
    const auto a = s.add(0, r, 400, 10);
    s.problem.constraints.push_back(Give{.operation = mix, .store = StoreId{0}, .amount = 100});
    s.problem.constraints.push_back(Take{.operation = a, .any_of = {StoreId{0}}, .amount = 60});
    s.schedule.placements[a.index()].stores = {StoreId{0}};
    auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], a, Cause::Store, 400, mix);
    is(chain[1], mix, Cause::Begin, 0);

    SECTION("there was enough all the time: a choice") {
        s.problem.stores[0].initial = 60;
        chain = s.chain();
        REQUIRE(chain.size() == 1);
        is(chain[0], a, Cause::Choice, 400);
    }
    SECTION("there was enough until somebody took it") {
        s.problem.stores[0].initial = 60;
        const auto thief = s.add(1, s.resource("other stand"), 10, 10);
        s.problem.constraints.push_back(
            Take{.operation = thief, .any_of = {StoreId{0}}, .amount = 20});
        s.schedule.placements[thief.index()].stores = {StoreId{0}};
        is(s.chain()[0], a, Cause::Store, 400, mix);
    }
    SECTION("not yet usable") {
        s.problem.stores[0].initial = 60;
        s.problem.stores[0].from = explain_at(400);
        chain = s.chain();
        REQUIRE(chain.size() == 1);
        is(chain[0], a, Cause::Store, 400);
    }
}

TEST_CASE("waiting on purpose for a follower that a maximum lag keeps near", "[explain]") {
    // Strip (100 s) must be rinsed within 30 s of its end; the booth is taken until 500.
    Story s;
    const auto sink = s.resource("sink");
    const auto booth = s.resource("booth");
    const auto x = s.add(1, booth, 0, 500);
    const auto strip = s.add(0, sink, 370, 100);
    const auto rinse = s.add(0, booth, 500, 40);
    s.lag(strip, rinse, 0, Seconds{30});
    const auto chain = s.chain();
    REQUIRE(chain.size() == 3);
    is(chain[0], rinse, Cause::Resource, 30, x, booth);
    is(chain[1], strip, Cause::Choice, 370, x, booth);  // its own step before, and why so late
    is(chain[2], x, Cause::Begin, 0);

    SECTION("asked about the strip alone") {
        s.problem.jobs.push_back({.name = "rinse", .order = OrderId{1}});
        s.problem.operations[rinse.index()].job = JobId{2};
        // The rinse begins after the strip and is no link of a chain that runs back in time: what
        // the rinse waits for is.
        const auto own = s.chain();
        REQUIRE(own.size() == 2);
        is(own[0], strip, Cause::Choice, 370, x, booth);
        CHECK(own[0].waits_for == rinse);
        is(own[1], x, Cause::Begin, 0);
    }
}

TEST_CASE("waiting on purpose for who is not there: the shift ends", "[explain]") {
    // The unit is loaded (100 s), exposes (500 s) and must be emptied at once by Ada, who goes at
    // 550 and is back at 1000. Begun at 0 it would be emptied at 600; begun at 400, at 1000.
    Story s;
    const auto unit = s.resource("unit"), ada = s.resource("Ada");
    s.problem.resources[ada.index()].calendar =
        Calendar{{explain_at(0), explain_at(550)}, {explain_at(1000), explain_at(90000)}};
    const auto load = s.add(0, unit, 400, 100);
    const auto expose = s.add(0, unit, 500, 500);
    const auto empty = s.add(0, ada, 1000, 50);
    s.lag(load, expose, 0, Seconds{0});
    s.lag(expose, empty, 0, Seconds{0});
    s.problem.jobs.push_back({.name = "rest", .order = OrderId{1}});
    for (const auto rest : {expose, empty})
        s.problem.operations[rest.index()].job = JobId{2};
    const auto chain = s.chain();
    REQUIRE(chain.size() == 1);
    is(chain[0], load, Cause::Choice, 400, std::nullopt, ada);
    CHECK(chain[0].away);
    CHECK(chain[0].waits_for == empty);
}

TEST_CASE("a slot that is only held: the chain goes on with what kept the screen there",
          "[explain]") {
    // x is dry at 100 and stays in the slot to 400, since the booth is busy with y until then.
    Story s;
    const auto slot = s.resource("slot");
    const auto booth = s.resource("booth");
    const auto y = s.add(1, booth, 0, 400);
    const auto x = s.add(1, slot, 0, 100, 300);
    const auto wash = s.add(1, booth, 400, 50);
    s.lag(x, wash, 0, Seconds{0});
    const auto b = s.add(0, slot, 400, 100);
    const auto chain = s.chain();
    REQUIRE(chain.size() == 3);
    is(chain[0], b, Cause::Resource, 400, x, slot);
    CHECK(chain[0].held);
    is(chain[1], wash, Cause::Resource, 300, y, booth);  // dry at 100, so 300 s are the booth's
    is(chain[2], x, Cause::Begin, 0);
}

TEST_CASE("a batch waits for its last member", "[explain]") {
    Story s;
    const auto stand = s.resource("stand");
    const auto unit = s.resource("unit");
    s.problem.resources[1].batch = BatchArea{.width_mm = 100, .height_mm = 100, .max_members = 2};
    const auto coat = s.add(1, stand, 0, 200);
    const auto mine = s.add(0, unit, 200, 60);
    const auto mate = s.add(1, unit, 200, 60);
    s.lag(coat, mate);
    for (const auto id : {mine, mate}) {
        s.problem.operations[id.index()].batch = BatchShape{.width_mm = 40, .height_mm = 40};
        s.schedule.placements[id.index()].batch = 0;
    }
    const auto chain = s.chain();
    REQUIRE(chain.size() == 3);
    is(chain[0], mine, Cause::Choice, 200, mate);
    CHECK(chain[0].waits_for == mate);
    is(chain[1], mate, Cause::Predecessor, 200, coat);
    is(chain[2], coat, Cause::Begin, 0);
    // The batch counts once.
    CHECK(resource_use(s.problem, s.schedule)[1].working == Seconds{60});
}

TEST_CASE("who let a person go before standing on in its place is no reason to look ahead",
          "[explain]") {
    // Ada works on x to 100; x stays in its slot to 400 without her. b, hers, follows at 100: the
    // chain goes on with x, not with what took x out of the slot 300 s after b had begun.
    Story s;
    const auto slot = s.resource("slot");
    const auto ada = s.resource("Ada");
    const auto booth = s.resource("booth");
    s.add(1, booth, 0, 400);
    const auto x = s.add(1, slot, 0, 100, 300);
    s.problem.operations[x.index()].modes[0].needs.push_back({.any_of = {ada}, .span = Span::Work});
    s.schedule.placements[x.index()].chosen.push_back(ada);
    const auto wash = s.add(1, booth, 400, 50);
    s.lag(x, wash, 0, Seconds{0});
    const auto b = s.add(0, ada, 100, 50);
    const auto chain = s.chain();
    REQUIRE(chain.size() == 2);
    is(chain[0], b, Cause::Resource, 100, x, ada);
    CHECK(!chain[0].held);
    is(chain[1], x, Cause::Begin, 0);
}

TEST_CASE("chains run back in time from the completion, in hundreds of random rooms",
          "[explain][random]") {
    int links = 0, choices = 0, held = 0;
    for (std::uint64_t seed = 1; seed <= 300; ++seed) {
        const Problem problem = random_room::make(seed);
        const sched::engine::CompiledProblem compiled(problem);
        const auto views = sched::engine::rule_views(compiled);
        sched::engine::Decoder decoder(compiled);
        for (const auto& rule : sched::engine::rules()) {
            if (!decoder.decode(sched::engine::rule_sequence(compiled, views, rule))) continue;
            const Schedule schedule = decoder.to_schedule();
            const auto done = completions(problem, schedule);
            for (std::size_t o = 0; o < problem.orders.size(); ++o) {
                const auto chain = chain_of(problem, schedule, OrderId{o});
                REQUIRE(chain.empty() == !done[o]);
                if (chain.empty()) continue;
                const auto first = chain.front().operation.index();
                CHECK(completion(problem.operations[first], schedule.placements[first]) ==
                      *done[o]);
                std::vector<bool> met(problem.operations.size(), false);
                SimTime at = *done[o];
                for (const ChainLink& link : chain) {
                    const auto& p = schedule.placements[link.operation.index()];
                    REQUIRE(!met[link.operation.index()]);
                    met[link.operation.index()] = true;
                    CHECK(p.start <= at);
                    at = p.start;
                    ++links;
                    choices += link.cause == Cause::Choice ? 1 : 0;
                    held += link.held ? 1 : 0;
                    if (link.because)
                        CHECK(schedule.placements[link.because->index()].start <= p.start);
                    if (link.cause != Cause::Resource) continue;
                    // The holder had the place or person that is named up to this very moment.
                    REQUIRE(link.because);
                    REQUIRE(link.resource);
                    const auto& by = schedule.placements[link.because->index()];
                    CHECK(std::count(by.chosen.begin(), by.chosen.end(), *link.resource) > 0);
                    CHECK(std::count(p.chosen.begin(), p.chosen.end(), *link.resource) > 0);
                    CHECK(by.end >= p.start);
                    if (!link.held && !by.batch) CHECK(by.work_end >= p.start);
                }
                // It ends where nothing goes before, where the next one was met before, or where
                // something was not there sooner, whoever was busy then.
                const auto& last = chain.back();
                if (last.goes_on) {
                    CHECK(met[last.goes_on->index()]);
                    continue;
                }
                if (!last.because || last.before == Cause::Release || last.before == Cause::Store)
                    continue;
                REQUIRE(last.before == Cause::Calendar);
                const auto& calendar = problem.resources[last.resource->index()].calendar;
                REQUIRE(calendar);
                const SimTime came = schedule.placements[last.operation.index()].start - last.stood;
                CHECK(std::any_of(calendar->begin(), calendar->end(),
                                  [&](const Window& w) { return w.from == came; }));
            }
        }
    }
    CHECK(links > 10000);
    CHECK(choices > 100);
    CHECK(held > 100);
}

TEST_CASE("an order without operations has no chain", "[explain]") {
    Story s;
    s.add(1, s.resource("stand"), 0, 10);
    CHECK(s.chain().empty());
}

TEST_CASE("what each resource was doing", "[explain]") {
    // The slot of capacity 2: x works 100, holds 300; b works 100. Person: 0..1000 and 2000..3000,
    // the second window begins after the last end.
    Story s;
    const auto slot = s.resource("slot", 2);
    const auto person = s.resource("person");
    s.problem.resources[1].calendar =
        Calendar{{explain_at(0), explain_at(1000)}, {explain_at(2000), explain_at(3000)}};
    s.add(1, slot, 0, 100, 300);
    s.add(1, person, 0, 250);
    const auto b = s.add(0, person, 250, 50);
    const auto c = s.add(0, slot, 300, 100);
    s.lag(b, c);
    const auto use = resource_waits(s.problem, s.schedule);
    REQUIRE(use.size() == 2);
    CHECK(use[0].staffed == Seconds{800});  // 2 x (0 .. 400)
    CHECK(use[0].working == Seconds{200});
    CHECK(use[0].holding == Seconds{300});
    CHECK(use[0].waited_for == Seconds{0});
    CHECK(use[0].on_late_chains == 0);
    CHECK(use[1].staffed == Seconds{1000});
    CHECK(use[1].working == Seconds{300});
    CHECK(use[1].holding == Seconds{0});
    CHECK(use[1].waited_for == Seconds{250});
    CHECK(use[1].on_late_chains == 1);  // order "ours", due at 1, waits for the person
}

TEST_CASE("shares are over the time that is paid and the room is staffed", "[explain]") {
    // Ada: shift 0..1000, possible overtime 1000..2000 of which she works 1100..1200; next day
    // from 90000 on, of which the run takes 100 s. The stand is there day and night.
    Story s;
    const auto ada = s.resource("Ada");
    const auto stand = s.resource("stand");
    s.problem.resources[0].calendar =
        Calendar{{explain_at(0), explain_at(2000)}, {explain_at(90000), explain_at(99000)}};
    s.problem.overtime = {{ada, {explain_at(1000), explain_at(2000)}}};
    s.add(0, ada, 0, 250);
    s.add(0, ada, 1100, 100);
    s.add(0, ada, 90000, 100);
    s.add(0, stand, 900, 400);  // 100 s of the shift, then alone, but for 100 s of overtime
    const Calendar paid = paid_time(s.problem, s.schedule, ada);
    CHECK(paid == Calendar{{explain_at(0), explain_at(1000)},
                           {explain_at(1100), explain_at(1200)},
                           {explain_at(90000), explain_at(90100)}});
    const auto room = staffed_time(s.problem, s.schedule, {ada});
    CHECK(room == paid);
    const auto use = resource_use(s.problem, s.schedule, room);
    CHECK(use[0].staffed == Seconds{1200});
    CHECK(use[0].working == Seconds{450});
    CHECK(use[1].staffed == Seconds{1200});
    CHECK(use[1].working == Seconds{200});
    // Without anybody it is from the first start to the last end.
    CHECK(resource_use(s.problem, s.schedule)[1].staffed == Seconds{90100});
    CHECK(resource_use(s.problem, s.schedule)[1].working == Seconds{400});
    // Closed from 500 to 700, it is open at night for nobody: 1200 s less 200 s.
    s.problem.resources[1].calendar =
        Calendar{{explain_at(-999), explain_at(500)}, {explain_at(700), explain_at(999'000)}};
    const auto closed = resource_use(s.problem, s.schedule, room);
    CHECK(closed[1].staffed == Seconds{1000});
    CHECK(closed[1].working == Seconds{200});
    CHECK(closed[0].staffed == Seconds{1200});
}
