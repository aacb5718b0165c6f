// One kept example per alternative of Constraint and per property of operations and resources; the
// hand calculation stands beside each. All schedules also pass the checker.

#include "sched/engine/rules.hpp"
#include "tests/engine/random_room.hpp"
#include "tests/engine/small_problem.hpp"

using namespace sched::core;
using namespace small_problem;

TEST_CASE("work with a fixed start keeps its person, whatever is booked before it",
          "[engine][decoder][fixed]") {
    // Ben has 10 s of work at 100, after 100 s elsewhere. 40 s of work that can begin at 80 goes
    // first in rank and asks Ben first: 80 to 120 would take him away. Ada does it.
    Small s;
    const auto machine = s.resource(), ben = s.resource(), ada = s.resource();
    const auto other = s.operation(40, {{.any_of = {ben, ada}, .span = Span::Work}});
    const auto before = s.operation(100, {{.any_of = {machine}}});
    const auto fixed = s.operation(10, {{.any_of = {ben}, .span = Span::Work}});
    s.before(before, fixed);
    s.p.constraints.push_back(StartWindow{.operation = other, .not_before = at(80)});
    s.p.constraints.push_back(
        StartWindow{.operation = fixed, .not_before = at(100), .not_after = at(100)});
    CHECK(s.decode() == Starts{80, 0, 100});
    CHECK(s.chosen[0] == ada.value);
    // With Ben alone it waits until he is back at 110.
    s.p.operations[other.index()].modes[0].needs[0].any_of = {ben};
    CHECK(s.decode() == Starts{110, 0, 100});
    // Whoever walks has to be there in time: at another place, 5 s away, until 95 at most.
    for (const auto r : {ben, ada})
        s.p.resources[r.index()].walk = Seconds{5};
    const auto sink = s.resource(), table = s.resource();
    s.p.operations[other.index()].modes[0] = {.work = Seconds{15}, .needs = {{.any_of = {sink}}}};
    s.p.operations[fixed.index()].modes[0].needs = {{.any_of = {table}}};
    for (const auto o : {other, fixed})
        s.p.operations[o.index()].modes[0].needs.push_back({.any_of = {ben}, .span = Span::Work});
    CHECK(s.decode() == Starts{80, 0, 100});  // 80 to 95
    s.p.operations[other.index()].modes[0].work = Seconds{16};
    CHECK(s.decode() == Starts{115, 0, 100});
}

TEST_CASE("what must leave before its place closes is booked with what takes it out",
          "[engine][decoder][hold]") {
    // A cabinet that is closed from 100 to 160; somebody who is there from 90 to 95 and from 200
    // on. It dries 50 s, at a clock that load slows, and stays until it is taken out (10 s of
    // work). Out by 100 there is nobody for 10 s: it enters at 160, is dry at 210, taken out then.
    Small s;
    const auto cabinet = s.resource(4), person = s.resource();
    s.p.resources[cabinet.index()].calendar = Calendar{{at(0), at(100)}, {at(160), at(100'000)}};
    s.p.resources[cabinet.index()].shared = SharedRate{{{at(0), 1.0, std::nullopt}}};
    s.p.resources[person.index()].calendar = Calendar{{at(90), at(95)}, {at(200), at(100'000)}};
    std::vector<OperationId> dry;
    for (int i = 0; i < 3; ++i) {
        s.p.jobs.push_back({.name = "j"});
        const auto d = s.operation(0, {{.any_of = {cabinet}}});
        s.p.operations[d.index()].modes[0].stages = {{50.0, i == 0 ? 0.0 : 0.1}};
        s.p.operations[d.index()].max_stretch.reset();
        const auto out = s.operation(10, {{.any_of = {person}, .span = Span::Work}});
        for (const auto o : {d, out})
            s.p.operations[o.index()].job = JobId{static_cast<std::size_t>(i)};
        s.before(d, out, 0, 0);
        dry.push_back(d);
    }
    const auto starts = s.decode();
    REQUIRE(starts.size() == 6);
    for (const auto d : dry)
        CHECK(starts[d.index()] >= 160);
    CHECK(starts[1] >= 210);
}

TEST_CASE("a minimum lag waits, a maximum lag pulls the first operation later",
          "[engine][decoder][max-lag]") {
    // Sink a, booth b; b is taken 0..50 by o0. o1 (10 s on a) must be followed on b within 5 s of
    // its end: it starts at 35, so that 45 + 5 = 50.
    Small s;
    const auto a = s.resource(), b = s.resource();
    s.operation(50, {{.any_of = {b}}});
    const auto o1 = s.operation(10, {{.any_of = {a}}}), o2 = s.operation(10, {{.any_of = {b}}});
    s.before(o1, o2, 0, 5);
    CHECK(s.decode() == Starts{0, 35, 50});
    s.before(o1, o2, 4);  // and at least 4 s after: nothing changes
    CHECK(s.decode() == Starts{0, 35, 50});
}

TEST_CASE("a maximum lag before closing time: remover is not put on when nobody could rinse it",
          "[engine][decoder][max-lag][calendar]") {
    // Person there 0..100 and 200..400. Put on 60 s, rinse 30 s, starts at most 300 s apart,
    // remover at least 50 s. Both fit from 0 (60 + 30 = 90 <= 100). With a job of 20 s first, 20 +
    // 60 + 30 = 110 > 100: put on at 20, rinse at 200 would do (180 <= 300); with at most 100 s
    // apart the remover waits for 200.
    Small s;
    const auto person = s.resource();
    s.p.resources[0].calendar = Calendar{{at(0), at(100)}, {at(200), at(400)}};
    s.operation(20, {{.any_of = {person}, .span = Span::Work}});
    const auto on = s.operation(60, {{.any_of = {person}, .span = Span::Work}});
    const auto rinse = s.operation(30, {{.any_of = {person}, .span = Span::Work}});
    s.before(on, rinse, 50, 300, Edge::Start);
    CHECK(s.decode() == Starts{0, 20, 200});
    std::get<TimeLag>(s.p.constraints[0]).max = Seconds{100};
    CHECK(s.decode() == Starts{0, 200, 260});
}

TEST_CASE("a start window is kept or named", "[engine][decoder]") {
    Small s;
    const auto a = s.resource();
    const auto o0 = s.operation(10, {{.any_of = {a}}});
    const auto o1 = s.operation(10, {{.any_of = {a}}});
    s.p.constraints.push_back(StartWindow{o1, at(3), at(3)});  // fixed: o0 has to wait
    CHECK(s.decode() == Starts{13, 3});
    s.p.constraints.push_back(StartWindow{o0, std::nullopt, at(12)});
    CHECK(s.decode().empty());
    CHECK(s.why == Obstacle::Window);
}

TEST_CASE("of two units that are free alike the faster one is loaded", "[engine][decoder]") {
    // Loading takes 20 s at either; then the first exposes for 240 s, the second for 40 s: out at
    // 60. A second screen comes at 30, when only the first is free.
    Small s;
    const auto slow = s.resource(), fast = s.resource(), ben = s.resource();
    for (int screen = 0; screen < 2; ++screen) {
        s.p.jobs.push_back({.name = "j"});
        const auto load =
            s.operation(20, {{.any_of = {slow}}, {.any_of = {ben}, .span = Span::Work}});
        s[load].modes.push_back(s[load].modes[0]);
        s[load].modes[1].needs[0].any_of = {fast};
        const auto run = s.operation(240, {{.any_of = {slow}}});
        s[run].modes.push_back({.work = Seconds{40}, .needs = {{.any_of = {fast}}}});
        s.before(load, run, 0, 0);
        s.p.constraints.push_back(SameMode{load, run});
        if (screen == 1) s.not_before(load, 30);
        for (const auto o : {load, run})
            s[o].job = JobId{static_cast<std::size_t>(screen)};
    }
    REQUIRE(s.decode() == Starts{0, 20, 30, 50});
    CHECK(s.end[1] == 60);
    CHECK(s.end[3] == 290);
}

TEST_CASE("same mode and same resource follow the first choice", "[engine][decoder]") {
    // o0 in mode 1 is shorter (5 < 9); o1 alone would take mode 0 (1 s), but must take mode 1 (7
    // s).
    Small s;
    const auto a = s.resource(), b = s.resource();
    const auto o0 = s.operation(9, {{.any_of = {a}}}), o1 = s.operation(1, {{.any_of = {a}}});
    s.p.operations[0].modes.push_back({.work = Seconds{5}, .needs = {{.any_of = {b}}}});
    s.p.operations[1].modes.push_back({.work = Seconds{7}, .needs = {{.any_of = {b}}}});
    s.before(o0, o1);
    s.p.constraints.push_back(SameMode{o0, o1});
    CHECK(s.decode() == Starts{0, 5});
    CHECK(s.end[1] == 12);
    // Two people; o0 and o1 by the same one although the other is free at 0.
    Small q;
    const auto p1 = q.resource(), p2 = q.resource();
    q.operation(10, {{.any_of = {p1, p2}}});
    q.operation(10, {{.any_of = {p1, p2}}});
    CHECK(q.decode() == Starts{0, 0});
    q.p.constraints.push_back(SameResource{OperationId{0}, 0, OperationId{1}, 0});
    CHECK(q.decode() == Starts{0, 10});
}

TEST_CASE("a store is taken from only when it holds enough, and not after it expires",
          "[engine][decoder]") {
    // 5 in stock; o0 takes 4, o1 takes 4 and waits for o2, which gives 10 at 30.
    Small s;
    const auto a = s.resource(3);
    s.p.stores.push_back({.name = "pot", .initial = 5});
    for (const Tick work : {10, 10, 30})
        s.operation(work, {{.any_of = {a}}});
    s.p.constraints.push_back(Take{OperationId{0}, {StoreId{0}}, 4});
    s.p.constraints.push_back(Take{OperationId{1}, {StoreId{0}}, 4});
    s.p.constraints.push_back(Give{OperationId{2}, StoreId{0}, 10});
    CHECK(s.decode() == Starts{0, 30, 0});
    s.p.stores[0].until = at(25);
    CHECK(s.decode().empty());
    CHECK(s.why == Obstacle::Material);
}

TEST_CASE("a screen holds its place until the next one is free", "[engine][decoder][blocking]") {
    // Two jobs: a (10 s), then b (30 s), a held until b starts (stretch without limit).
    // Job 0: a 0..10, b 10..40. Job 1: a from 10, works till 20, holds till 40; b 40..70.
    Small s;
    const auto a = s.resource(), b = s.resource();
    for (int j = 0; j < 2; ++j) {
        const auto first = s.operation(10, {{.any_of = {a}}}),
                   second = s.operation(30, {{.any_of = {b}}});
        s.p.operations[first.index()].max_stretch = std::nullopt;
        s.before(first, second, 0, 0);
    }
    CHECK(s.decode() == Starts{0, 10, 10, 40});
    CHECK(s.end[2] == 40);
    // At most 15 s of standing: job 1 starts on a at 15.
    s.p.operations[2].max_stretch = Seconds{15};
    CHECK(s.decode() == Starts{0, 10, 15, 40});
}

TEST_CASE("pausable work goes on after the break, other work waits for the whole window",
          "[engine][decoder][calendar]") {
    // Open 0..10 and 20..100. o0 (6 s) 0..6; o1 needs 8 s: does not fit 6..10, starts at 20.
    // Pausable: 6..10 and 20..24.
    Small s;
    const auto a = s.resource();
    s.p.resources[0].calendar = Calendar{{at(0), at(10)}, {at(20), at(100)}};
    s.operation(6, {{.any_of = {a}, .span = Span::Work}});
    s.operation(8, {{.any_of = {a}, .span = Span::Work}});
    CHECK(s.decode() == Starts{0, 20});
    s.p.operations[1].pausable = true;
    CHECK(s.decode() == Starts{0, 6});
    CHECK(s.end[1] == 24);
}

TEST_CASE("small screens share an exposure; those of another family do not",
          "[engine][decoder][batch]") {
    // Area 100 x 60, two 50 x 60 fit without a gap, three do not: 0, 0, 10. With family 1 for o1:
    // 0, 10, 0.
    Small s;
    const auto unit = s.resource();
    s.p.resources[0].batch = BatchArea{100, 60, 0, 3};
    for (int i = 0; i < 3; ++i) {
        s.operation(10, {{.any_of = {unit}}});
        s.p.operations.back().batch = BatchShape{0, 50, 60};
    }
    CHECK(s.decode() == Starts{0, 0, 10});
    s.p.operations[1].batch->family = 1;
    CHECK(s.decode() == Starts{0, 10, 0});
    Sequence alone;
    alone.join = {1, 1, 1};
    CHECK(s.decode(alone) == Starts{0, 10, 20});
}

TEST_CASE("one person minds a whole batch; short exposures wait for the long one",
          "[engine][decoder][batch]") {
    // Two screens with one person: load together 0..10, expose 10..40 (o1 works 30 s) with o4 (20
    // s) standing till 40, unload together at 40. A second person stays idle.
    Small s;
    const auto unit = s.resource(), person = s.resource();
    s.p.resources[0].batch = BatchArea{100, 60, 0, 2};
    for (const Tick exposure : {30, 20}) {
        const auto load =
            s.operation(10, {{.any_of = {unit}}, {.any_of = {person}, .span = Span::Work}});
        const auto run = s.operation(exposure, {{.any_of = {unit}}});
        const auto unload =
            s.operation(5, {{.any_of = {unit}}, {.any_of = {person}, .span = Span::Work}});
        for (const auto o : {load, run, unload})
            s.p.operations[o.index()].batch = BatchShape{0, 50, 60};
        s.p.operations[run.index()].max_stretch = std::nullopt;
        s.before(load, run, 0, 0);
        s.before(run, unload, 0, 0);
    }
    CHECK(s.decode() == Starts{0, 10, 40, 0, 10, 40});
    CHECK(s.end[4] == 40);
}

TEST_CASE("wet screens slow each other, and what follows starts when it is dry",
          "[engine][decoder][clock]") {
    // base 1, share 1, work 60: alone 120 s. Second enters at 60: first dry at 150, second at 210
    // (drying_clock_test).
    Small s;
    const auto cabinet = s.resource(2), person = s.resource();
    s.p.resources[0].shared = SharedRate{{{SimTime{}, 1.0, std::nullopt}}};
    for (int i = 0; i < 2; ++i) {
        const auto dry = s.operation(0, {{.any_of = {cabinet}}});
        s.p.operations[dry.index()].modes[0].stages = {{60.0, 1.0}};
        s.p.operations[dry.index()].max_stretch = std::nullopt;
        const auto out = s.operation(5, {{.any_of = {person}}});
        s.before(dry, out, 0, 0);
        if (i == 1) s.p.constraints.push_back(StartWindow{dry, at(60), std::nullopt});
    }
    CHECK(s.decode() == Starts{0, 150, 60, 210});
}

TEST_CASE("what follows a dry screen may need nothing", "[engine][decoder][clock]") {
    // The same screens stay in the cabinet until a wall, where there is always room, may be used at
    // 1000. Booked with the longest that each may dry, the wall is booked again when it is dry, for
    // 1000 as before. Sanitizers look on: what needs nothing has no place to compare.
    Small s;
    const auto cabinet = s.resource(2);
    s.p.resources[0].shared = SharedRate{{{SimTime{}, 1.0, std::nullopt}}};
    for (int i = 0; i < 2; ++i) {
        const auto dry = s.operation(0, {{.any_of = {cabinet}}});
        s.p.operations[dry.index()].modes[0].stages = {{60.0, 1.0}};
        s.p.operations[dry.index()].max_stretch = std::nullopt;
        const auto wall = s.operation(5, {});
        s.before(dry, wall, 0, 0);
        s.before(dry, wall, 0, 2000, Edge::WorkEnd);
        s.p.constraints.push_back(StartWindow{wall, at(1000), std::nullopt});
        if (i == 1) s.p.constraints.push_back(StartWindow{dry, at(60), std::nullopt});
    }
    CHECK(s.decode() == Starts{0, 1000, 60, 1000});
}

TEST_CASE("what is taken out waits for a machine without keeping it", "[engine][decoder]") {
    // Two dry screens are taken out, loaded and run. Only q loads the first, and q is there from
    // 100 on; p takes out (10 s each) and loads the second (5 s), which runs for 150 s. Booked
    // together with taking out, the first would have the machine from 100 on and the second wait
    // until 115. As it is, the machine takes what can be loaded: the second from 30 to 185.
    Small s;
    const auto rack = s.resource(2), machine = s.resource(), p = s.resource(), q = s.resource();
    s.p.resources[q.index()].calendar = Calendar{{at(100), at(100'000)}};
    std::vector<OperationId> out, load, run;
    for (const int i : {0, 1}) {
        out.push_back(s.operation(10, {{.any_of = {rack}}, {.any_of = {p}, .span = Span::Work}}));
        load.push_back(s.operation(
            5, {{.any_of = {machine}}, {.any_of = {i == 0 ? q : p}, .span = Span::Work}}));
        run.push_back(s.operation(i == 0 ? 10 : 150, {{.any_of = {machine}}}));
        s[out.back()].max_stretch = std::nullopt;
        s[run.back()].max_stretch = std::nullopt;
        const auto dry = s.drying(s.cabinet(), 5.0);
        s[dry].max_stretch = std::nullopt;
        s.before(dry, out.back(), 0, 0);
        s.before(out.back(), load.back(), 0, 0);
        s.before(load.back(), run.back(), 0, 0);
    }
    const auto starts = s.decode();
    CHECK(starts[load[1].index()] == 30);
    CHECK(starts[load[0].index()] == 185);

    // What is hung up to dry is booked with who brings it: nobody keeps it in his hands.
    for (const auto o : run)
        s[o].dries = true;
    const CompiledProblem wet(s.p);
    const auto block = [&](OperationId o) { return wet.operations[o.index()].block; };
    CHECK(block(out[0]) == block(load[0]));
    CHECK(block(load[0]) == block(run[0]));
    s[run[0]].dries = false;
    const CompiledProblem machines(s.p);
    CHECK(machines.operations[out[0].index()].block != machines.operations[load[0].index()].block);
    CHECK(machines.operations[load[0].index()].block == machines.operations[run[0].index()].block);
}

TEST_CASE("waiting on purpose is in the space", "[engine][decoder]") {
    Small s;
    const auto a = s.resource();
    s.operation(10, {{.any_of = {a}}});
    s.operation(10, {{.any_of = {a}}});
    Sequence wait;
    wait.delay = {10, 0};
    CHECK(s.decode(wait) == Starts{10, 0});
    wait.delay = {25, 0};
    CHECK(s.decode(wait) == Starts{25, 0});
}

TEST_CASE("a block waits for the start or the end of another", "[engine][decoder]") {
    // By the definition of Sequence::after. o0 10 s on a, o1 20 s on b, o2 5 s on c.
    Small s;
    const auto a = s.resource(), b = s.resource(), c = s.resource();
    s.operation(10, {{.any_of = {a}}});
    s.operation(20, {{.any_of = {b}}});
    s.operation(5, {{.any_of = {c}}});
    Sequence wait;
    for (const Tick ahead : {Tick{0}, Tick{-1}}) {
        wait.lookahead = ahead;
        wait.after = {-1, sched::engine::after_end(0), sched::engine::after_start(1)};
        CHECK(s.decode(wait) == Starts{0, 10, 10});
        // The awaited moves, and who waits with it.
        wait.delay = {7, 0, 0};
        CHECK(s.decode(wait) == Starts{7, 17, 17});
        wait.after = {-1, sched::engine::after_start(0), sched::engine::after_end(1)};
        CHECK(s.decode(wait) == Starts{7, 7, 27});
        // Each for the next, in a circle: never.
        wait.delay.clear();
        wait.after = {sched::engine::after_end(2), sched::engine::after_end(0),
                      sched::engine::after_end(1)};
        CHECK(s.decode(wait).empty());
    }
}

TEST_CASE("who cannot go all the way may still go a step", "[engine][decoder][blocking]") {
    // Job 0: slot, unit, slot, stand; job 1: stand, slot, table; each place for one, each step 10 s
    // and then until the next begins. While job 1 has the stand and job 0 the slot, neither can go
    // all the way with the other standing still; job 0 to the unit, job 1 to the slot and on to the
    // table, and all come out, nobody later than he would be alone (40 s, 30 s): no schedule is
    // better.
    Small s;
    const auto slot = s.resource(), unit = s.resource(), stand = s.resource(), table = s.resource();
    const std::vector<std::vector<ResourceId>> ways{{slot, unit, slot, stand},
                                                    {stand, slot, table}};
    for (std::size_t j = 0; j < ways.size(); ++j) {
        s.p.jobs.push_back({.name = "j"});
        OperationId last;
        for (const auto place : ways[j]) {
            const auto o = s.operation(10, {{.any_of = {place}}});
            s.p.operations[o.index()].job = JobId{j};
            s.p.operations[o.index()].max_stretch = std::nullopt;
            if (last.valid()) s.before(last, o, 0, 0);
            last = o;
        }
    }
    Sequence list;
    list.rank = {0, 1, 2, 3, 4, 5, 6};
    list.lookahead = 0;
    CHECK(s.decode(list) == Starts{0, 10, 20, 30, 0, 10, 20});
}

TEST_CASE("a full cabinet and a full rack never wait for each other",
          "[engine][decoder][blocking]") {
    // One slot, one rack place; every job goes slot -> rack -> slot. Two jobs inside would shut
    // each other in.
    Small s;
    const auto slot = s.resource(), rack = s.resource();
    for (int j = 0; j < 5; ++j) {
        s.p.jobs.push_back({.name = "j"});
        OperationId last;
        for (const auto place : {slot, rack, slot}) {
            const auto o = s.operation(10, {{.any_of = {place}}});
            s.p.operations[o.index()].job = JobId{static_cast<std::int32_t>(j)};
            s.p.operations[o.index()].max_stretch = std::nullopt;
            if (last.valid()) s.before(last, o, 0, 0);
            last = o;
        }
    }
    random_room::Draw draw(4);
    for (int round = 0; round < 50; ++round) {
        Sequence list;
        for (std::size_t i = 0; i < s.p.operations.size(); ++i)
            list.rank.push_back(draw.below(100));
        if (round % 2 == 1) list.lookahead = 0;
        CHECK_FALSE(s.decode(list).empty());
    }
}

TEST_CASE("ft06: no priority list is ever below 55, and lists come near it",
          "[engine][decoder][jsp]") {
    // Fisher and Thompson 1963, in Muth and Thompson, Industrial Scheduling: machine and time per
    // job in order. Optimal makespan 55 (Florian, Trepant and McMahon 1971).
    static constexpr int data[6][6][2] = {{{2, 1}, {0, 3}, {1, 6}, {3, 7}, {5, 3}, {4, 6}},
                                          {{1, 8}, {2, 5}, {4, 10}, {5, 10}, {0, 10}, {3, 4}},
                                          {{2, 5}, {3, 4}, {5, 8}, {0, 9}, {1, 1}, {4, 7}},
                                          {{1, 5}, {0, 5}, {2, 5}, {3, 3}, {4, 8}, {5, 9}},
                                          {{2, 9}, {1, 3}, {4, 5}, {5, 4}, {0, 3}, {3, 1}},
                                          {{1, 3}, {3, 3}, {5, 9}, {0, 10}, {4, 4}, {2, 1}}};
    Small s;
    for (int m = 0; m < 6; ++m)
        s.resource();
    for (const auto& job : data) {
        OperationId last;
        for (const auto& step : job) {
            const auto o = s.operation(
                step[1], {{.any_of = {ResourceId{static_cast<std::int32_t>(step[0])}}}});
            if (last.valid()) s.before(last, o);
            last = o;
        }
    }
    const CompiledProblem compiled(s.p);
    Decoder decoder(compiled);
    random_room::Draw draw(1);
    std::int64_t best = 1000;
    for (int round = 0; round < 20'000; ++round) {
        Sequence list;
        for (std::size_t i = 0; i < 36; ++i)
            list.rank.push_back(draw.below(10'000));
        REQUIRE(decoder.decode(list));
        const auto value = decoder.value()[0];
        REQUIRE(value >= 55);
        if (value < best) {
            best = value;
            CHECK(sched::check::check(s.p, decoder.to_schedule()).empty());
        }
    }
    CHECK(best <= 58);
}

// Two people, work of one person all day, and one frame that takes both: whoever comes free is
// taken at once by the next small work, so the large waits for the last of it, unless it keeps its
// turn. Hand calculation.
TEST_CASE("a frame for two people keeps its turn, and takes nobody else's", "[decoder]") {
    Small s;
    const ResourceId a = s.resource(), b = s.resource();
    const Need one{.any_of = {a, b}};
    const OperationId large = s.operation(300, {one, one});
    s.p.constraints.push_back(StartWindow{.operation = large, .not_before = SimTime{Seconds{60}}});
    for (const Tick work : {600, 900, 600, 600})
        s.operation(work, {one});
    Sequence list;
    list.rank = {0, 1, 2, 3, 4};
    list.lookahead = 0;
    // One has 0-600 and 600-1200, the other 0-900 and 900-1500.
    CHECK(s.decode(list) == std::vector<Tick>{1500, 0, 0, 600, 900});
    list.keeps_turn = true;
    // Not held free before 60. From then on both are known to be free at 900, and behind it nothing
    // of 600 begins at 600.
    CHECK(s.decode(list) == std::vector<Tick>{900, 0, 0, 1200, 1200});
    // Third in rank it lets the third small work pass at 600, and has its turn before the fourth.
    list.rank = {3, 0, 1, 2, 4};
    CHECK(s.decode(list) == std::vector<Tick>{1200, 0, 0, 600, 1500});
    // Last of all it waits for all.
    list.rank = {4, 0, 1, 2, 3};
    CHECK(s.decode(list) == std::vector<Tick>{1500, 0, 0, 600, 900});
}
