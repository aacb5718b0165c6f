// The floor at the moment of a plan in the middle of the day: what stands where, and who waits for
// whom; worked out by hand. All schedules also pass the checker.

#include "tests/engine/small_problem.hpp"

using namespace small_problem;

TEST_CASE("what stands keeps its place until its turn has come", "[engine][decoder][begun]") {
    // On the table since 0, its work over at 10, planned at 5; from there it goes to a bench at
    // once (10 s). Somebody else comes to the bench first, for 50 s, and somebody else wants the
    // table: not before it has gone on, at 55.
    Small s;
    const auto table = s.resource(), bench = s.resource(), hand = s.resource();
    const auto stands =
        s.operation(10, {{.any_of = {table}}, {.any_of = {hand}, .span = Span::Work}});
    const auto rest = s.operation(10, {{.any_of = {bench}}});
    const auto first = s.operation(50, {{.any_of = {bench}}});
    const auto next = s.operation(10, {{.any_of = {table}}});
    s[stands].max_stretch = std::nullopt;
    s.before(stands, rest, 0, 0);
    s.p.now = at(5);
    s.begun(stands, 0);
    Sequence list;
    list.rank = {2, 2, 0, 1};
    CHECK(s.decode(list) == Starts{0, 55, 5, 55});
    CHECK(s.end[stands.index()] == 55);
    // With the bench to itself it goes on at 10, and the table is free then.
    s[first].modes[0].needs[0].any_of = {s.resource()};
    CHECK(s.decode(list) == Starts{0, 10, 5, 10});
    CHECK(s.end[next.index()] == 20);
}

TEST_CASE("what has left its place takes nothing any more", "[engine][decoder][begun]") {
    // A screen was on the table from 0 to 28, planned at 30: the table is free, and so is the
    // person, wherever they go: behind what has begun no way is counted (core/problem.hpp).
    Small s;
    const auto table = s.resource(), bench = s.resource(), person = s.resource();
    s.p.resources[person.index()].walk = Seconds{5};
    const auto gone =
        s.operation(28, {{.any_of = {table}}, {.any_of = {person}, .span = Span::Work}});
    const auto here =
        s.operation(10, {{.any_of = {table}}, {.any_of = {person}, .span = Span::Work}});
    s[gone].max_stretch = std::nullopt;
    s.p.now = at(30);
    s.begun(gone, 0);
    s.p.begun[0].work_end = s.p.begun[0].end = at(28);
    CHECK(s.decode() == Starts{0, 30});
    CHECK(s.end[here.index()] == 40);
    s[here].modes[0].needs[0].any_of = {bench};
    CHECK(s.decode() == Starts{0, 30});
    // What follows it 20 s after its end still has to wait for 18 of them.
    s.before(gone, here, 20);
    CHECK(s.decode() == Starts{0, 48});
}

TEST_CASE("who follows two waits for both, whatever his rank", "[engine][decoder]") {
    Small s;
    const auto quick = s.operation(10, {{.any_of = {s.resource()}}});
    const auto slow = s.operation(100, {{.any_of = {s.resource()}}});
    const auto both = s.operation(10, {{.any_of = {s.resource()}}});
    s.before(quick, both);
    s.before(slow, both);
    Sequence list;
    list.rank = {1, 2, 0};
    CHECK(s.decode(list) == Starts{0, 0, 100});
}

TEST_CASE("a pot that does not keep is mixed just in time", "[engine][decoder]") {
    // 100 s of mixing; a screen may be coated from 300 on. Of a pot that keeps 50 s the mixing
    // begins at 200; of one that keeps for good at once.
    Small s;
    s.p.stores.push_back({.name = "pot", .life = Seconds{50}});
    const auto mix = s.operation(100, {{.any_of = {s.resource()}}});
    const auto coat = s.operation(20, {{.any_of = {s.resource()}}});
    s.p.constraints.push_back(Give{mix, StoreId{0}, 10});
    s.p.constraints.push_back(Take{coat, {StoreId{0}}, 5});
    s.not_before(coat, 300);
    CHECK(s.decode() == Starts{200, 300});
    s.p.stores[0].life.reset();
    CHECK(s.decode() == Starts{0, 300});
    // So is what keeps for half the run; a second less and it waits to be asked for.
    s.p.stores[0].life = Seconds{50'000};
    CHECK(s.decode() == Starts{0, 300});
    s.p.stores[0].life = Seconds{49'999};
    CHECK(s.decode() == Starts{200, 300});
}

// Two pots of 10 that keep for more than a day, mixed in 100 s; a coat takes 5. The third coat
// comes in sight when the step before it begins, at 330, ten seconds before it could be done: asked
// for then, the second pot is ready at 430. But at 320 the first is empty and more is wanted: told
// then, it is ready at 420. What does not keep overnight is only mixed when it is asked for.
TEST_CASE("the next pot is mixed when little is left", "[engine][decoder]") {
    const auto third_coat = [](Tick life) {
        Small s;
        s.p.horizon_end = at(400'000);
        const auto mixer = s.resource(), stand = s.resource(), sink = s.resource();
        std::vector<StoreId> pots;
        for (std::size_t k = 0; k < 2; ++k) {
            s.p.stores.push_back({.name = "pot", .life = Seconds{life}});
            pots.push_back(StoreId{k});
            s.p.constraints.push_back(Give{s.operation(100, {{.any_of = {mixer}}}), pots[k], 10});
        }
        OperationId coat;
        for (int k = 0; k < 3; ++k) {
            coat = s.operation(20, {{.any_of = {stand}}});
            s.p.constraints.push_back(Take{coat, pots, 5});
            if (k < 2) s.not_before(coat, 300);
        }
        const auto step = s.operation(10, {{.any_of = {sink}}});
        s.not_before(step, 330);
        s.before(step, coat);
        Sequence by_time;
        by_time.lookahead = 0;
        return s.decode(by_time);
    };
    CHECK(third_coat(24 * 3600) == Starts{200, 320, 300, 320, 420, 330});
    CHECK(third_coat(24 * 3600 - 1) == Starts{200, 330, 300, 320, 430, 330});
}
