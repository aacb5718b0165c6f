// Work that had begun before the moment of the plan: what the checker lets pass, and what it does
// not.

#include "tests/catch.hpp"
#include "tests/check/cases.hpp"

using namespace check_tests;

namespace {

/// `first` has begun at 100 and works till 700 on the stand; `second` follows within 300 s. Now:
/// 400.
struct Morning : Case {
    int stand = resource("stand");
    int person = resource("person");
    OperationId first = operation(600, {need({0}), need({1}, Span::Work)}, 100);
    OperationId second = operation(200, {need({1})}, 800);

    Morning() {
        problem.constraints.push_back(
            TimeLag{.from = first, .edge = Edge::WorkEnd, .to = second, .max = Seconds{300}});
        problem.now = at(400);
        problem.begun.push_back(
            {.operation = first, .start = at(100), .chosen = {ResourceId{0}, ResourceId{1}}});
    }
    Begun& fact() { return problem.begun.front(); }
};

}  // namespace

TEST_CASE("a plan from the middle of the day with begun work is right", "[check][begun]") {
    Morning m;
    REQUIRE(m.sound());
    CHECK(m.rules().empty());
}

TEST_CASE("begun work stays where it is and the rest starts later", "[check][begun]") {
    Morning moved;
    moved.move(moved.first, 60);
    CHECK(moved.rules() == Rules{Rule::Begun});
    Morning early;
    early.problem.constraints.clear();
    early.placed(early.second) = {
        .start = at(50), .work_end = at(250), .end = at(250), .chosen = {ResourceId{1}}};
    CHECK(early.rules() == Rules{Rule::Begun});
    Morning other;
    other.problem.operations[0].modes[0].needs[1].any_of.push_back(ResourceId{0});
    other.placed(other.first).chosen[1] = ResourceId{0};
    CHECK(other.rules().back() == Rule::Begun);
    Morning left;  // it stands there, nobody said that it had gone
    left.operation(left.first).modes[0].work = Seconds{200};
    left.placed(left.first).work_end = left.placed(left.first).end = at(300);
    left.placed(left.second) = {
        .start = at(500), .work_end = at(700), .end = at(700), .chosen = {ResourceId{1}}};
    CHECK(left.rules() == Rules{Rule::Begun});
}

TEST_CASE("work that takes longer than planned takes as long as was said", "[check][begun]") {
    Morning m;
    m.fact().work_end = at(900);
    REQUIRE(m.sound());
    CHECK(m.rules() == Rules{Rule::Begun});
    m.placed(m.first).work_end = m.placed(m.first).end = at(900);
    m.placed(m.second) = {
        .start = at(900), .work_end = at(1100), .end = at(1100), .chosen = {ResourceId{1}}};
    CHECK(m.rules().empty());
}

TEST_CASE("what is planned must not meet what has begun", "[check][begun]") {
    Morning m;
    const auto third = m.operation(100, {need({1})}, 500);  // the person is at work till 700
    CHECK(m.rules() == Rules{Rule::Capacity});
    m.move(third, 600);
    CHECK(m.rules().empty());
    // Two that have both begun on one stand: it happened.
    m.operation(300, {need({0})}, 200);
    m.problem.begun.push_back(
        {.operation = OperationId{3}, .start = at(200), .chosen = {ResourceId{0}}});
    CHECK(m.rules().empty());
}

TEST_CASE("limits bind the rest of the way, unless they had passed before", "[check][begun]") {
    Morning m;
    m.move(m.second, 250);  // 350 s after the end of work
    CHECK(m.rules() == Rules{Rule::TimeLag});
    // Over since 95 s after midnight: at 400 nobody can keep 300 s any more.
    Morning late;
    late.operation(late.first).modes[0].work = Seconds{10};
    late.fact().start = at(80);
    late.fact().work_end = late.fact().end = at(90);
    late.placed(late.first) = {.start = at(80),
                               .work_end = at(90),
                               .end = at(90),
                               .chosen = {ResourceId{0}, ResourceId{1}}};
    REQUIRE(late.sound());
    CHECK(late.rules().empty());
    late.fact().work_end = late.fact().end = late.placed(late.first).work_end =
        late.placed(late.first).end = at(101);
    CHECK(late.rules() == Rules{Rule::TimeLag});  // by 401 it could still be kept
}

TEST_CASE("what has begun outside hours, before its release or window, has begun",
          "[check][begun]") {
    Morning m;
    m.problem.resources[1].calendar = Calendar{{at(300), at(600)}, {at(750), at(5000)}};
    m.problem.constraints.push_back(StartWindow{m.first, at(150), std::nullopt});
    m.problem.horizon_start = at(200);
    CHECK(m.rules().empty());
    m.problem.resources[1].calendar = Calendar{{at(300), at(600)}, {at(900), at(5000)}};
    CHECK(m.rules() == Rules{Rule::Calendar});  // of `second`
}

TEST_CASE("a limit that begun work does not let anybody keep binds nobody", "[check][begun]") {
    Morning m;
    // The follower must begin 900 s after the start of work that will last till 1200.
    m.problem.constraints.push_back(
        TimeLag{.from = m.first, .edge = Edge::Start, .to = m.second, .max = Seconds{900}});
    m.fact().work_end = m.placed(m.first).work_end = m.placed(m.first).end = at(1200);
    m.placed(m.second) = {
        .start = at(1200), .work_end = at(1400), .end = at(1400), .chosen = {ResourceId{1}}};
    CHECK(m.rules().empty());
    m.fact().work_end = m.placed(m.first).work_end = m.placed(m.first).end = at(950);
    CHECK(m.rules() == Rules{Rule::TimeLag});  // by 1000 it could be kept
}

TEST_CASE("of what has begun nothing is otherwise than it was", "[check][begun]") {
    SECTION("its way of doing it") {
        Morning m;
        m.operation(m.first).modes.push_back(m.operation(m.first).modes[0]);
        m.placed(m.first).mode = 1;
        CHECK(m.rules() == Rules{Rule::Begun});
    }
    SECTION("with whom it was") {
        Morning m;
        m.resource("somebody else");
        m.placed(m.first).chosen[1] = ResourceId{2};
        CHECK(m.rules() == Rules{Rule::Choice, Rule::Begun});
    }
    SECTION("its stores") {
        Morning m;
        m.problem.stores = {{.name = "pot", .initial = 9}, {.name = "other pot", .initial = 9}};
        m.problem.constraints.push_back(
            Take{.operation = m.first, .any_of = {StoreId{0}, StoreId{1}}, .amount = 5});
        m.fact().stores = {StoreId{0}};
        m.placed(m.first).stores = {StoreId{0}};
        CHECK(m.rules().empty());
        m.placed(m.first).stores = {StoreId{1}};
        CHECK(m.rules() == Rules{Rule::Begun});
    }
    SECTION("with whom it shares") {
        Morning m;
        m.fact().batch = 3;
        m.placed(m.first).batch = 4;
        CHECK(m.rules() == Rules{Rule::Begun});
    }
    SECTION("when it had gone") {
        Morning m;
        m.operation(m.first).max_stretch = std::nullopt;
        m.fact().work_end = at(700);
        m.fact().end = at(750);
        m.placed(m.first).end = at(750);
        CHECK(m.rules().empty());
        m.placed(m.first).end = at(760);
        CHECK(m.rules() == Rules{Rule::Begun});
    }
    SECTION("how long it takes, if nobody has said") {
        Morning m;
        m.placed(m.first).work_end = m.placed(m.first).end = at(720);
        CHECK(m.rules() == Rules{Rule::WorkLength});
    }
    SECTION("how long it may stand there") {
        Morning m;
        m.operation(m.first).max_stretch = Seconds{50};
        m.placed(m.first).end = at(750);
        CHECK(m.rules().empty());
        m.placed(m.first).end = at(751);
        CHECK(m.rules() == Rules{Rule::Stretch});
    }
    SECTION("and the rest begins at the moment of the plan or later, not a second before") {
        Morning m;
        m.problem.constraints.clear();
        m.problem.operations[1].modes[0].needs = {need({0})};
        m.placed(m.second).chosen = {ResourceId{0}};
        m.problem.operations[0].modes[0].work = Seconds{250};
        m.placed(m.first).work_end = at(350);
        m.placed(m.first).end = at(400);
        m.operation(m.first).max_stretch = std::nullopt;
        m.move(m.second, -400);
        CHECK(m.rules().empty());
        m.problem.now = at(401);
        m.placed(m.first).end = at(401);
        CHECK(m.rules().back() == Rule::Begun);
    }
}

TEST_CASE("drying under way ends as was said or later, and what is dry was dry then",
          "[check][begun][drying]") {
    Morning m;
    m.resource("cabinet", 4);
    m.last_resource().shared = SharedRate{.steps = {{.from = at(0)}}};
    const auto wet = m.operation(0, {need({2})}, 100);
    m.operation(wet).modes[0].stages = {{.work = 400.0, .share = 0.0}};
    m.operation(wet).max_stretch = std::nullopt;
    m.problem.begun.push_back({.operation = wet, .start = at(100), .chosen = {ResourceId{2}}});
    auto& p = m.placed(wet);
    p.work_end = p.end = at(500);  // by the clock
    CHECK(m.rules().empty());
    m.problem.begun.back().work_end = at(800);
    p.work_end = p.end = at(800);
    CHECK(m.rules().empty());
    p.work_end = p.end = at(799);  // a second is rounding of the clock, not of what was said
    CHECK(m.rules() == Rules{Rule::Begun});
    m.problem.begun.back().work_end = at(300);  // dry before now, whatever the clock says
    p.work_end = at(300);
    p.end = at(900);
    CHECK(m.rules().empty());
    p.work_end = at(310);
    CHECK(m.rules() == Rules{Rule::Begun});
}

TEST_CASE("a limit from begun work binds as long as anybody could keep it", "[check][begun]") {
    SECTION("from the end that was said") {
        Morning m;
        m.problem.constraints = {
            TimeLag{.from = m.first, .edge = Edge::End, .to = m.second, .max = Seconds{300}}};
        m.fact().start = m.placed(m.first).start = at(90);
        m.fact().work_end = m.fact().end = m.placed(m.first).work_end = m.placed(m.first).end =
            at(160);
        CHECK(m.rules() == Rules{Rule::TimeLag});  // by 460
        m.problem.now = at(461);
        CHECK(m.rules().empty());
    }
    SECTION("from as late as it may leave") {
        Morning m;
        m.resource("other stand");
        const auto third = m.operation(800, {need({2})}, 200);  // till 1000
        m.problem.begun.push_back(
            {.operation = third, .start = at(200), .chosen = {ResourceId{2}}});
        m.operation(m.first).max_stretch = Seconds{50};
        m.placed(m.first).end = at(750);
        m.problem.constraints = {
            TimeLag{.from = m.first, .edge = Edge::End, .to = m.second, .max = Seconds{290}},
            TimeLag{.from = third, .edge = Edge::WorkEnd, .to = m.second}};
        m.move(m.second, 240);  // 1040 = 750 + 290
        CHECK(m.rules().empty());
        m.move(m.second, 20);
        CHECK(m.rules() == Rules{Rule::TimeLag});
    }
    SECTION("what has not begun could have come sooner") {
        Morning m;
        m.fact().work_end = m.fact().end = m.placed(m.first).work_end = m.placed(m.first).end =
            at(150);
        m.resource("other stand");
        const auto third = m.operation(200, {need({2})}, 400);
        m.problem.constraints.push_back(
            TimeLag{.from = third, .edge = Edge::WorkEnd, .to = m.second});
        CHECK(m.rules() == Rules{Rule::TimeLag});  // by 450, with `third` out of the way
    }
}

TEST_CASE("modes and places are the same as those of begun work", "[check][begun]") {
    Morning m;
    m.operation(m.second).modes.push_back(m.operation(m.second).modes[0]);
    m.problem.constraints.push_back(SameMode{.a = m.first, .b = m.second});
    CHECK(m.rules().empty());
    m.placed(m.second).mode = 1;
    CHECK(m.rules() == Rules{Rule::SameMode});
    Morning other;
    other.problem.constraints.push_back(
        SameResource{.a = other.first, .need_a = 0, .b = other.second, .need_b = 0});
    CHECK(other.rules() == Rules{Rule::SameResource});
}

TEST_CASE("a deadline binds work under way unless its end was said", "[check][begun]") {
    Morning m;
    m.problem.orders.push_back({.name = "o", .deadline = at(650)});
    m.problem.jobs.push_back({.name = "j", .order = OrderId{0}});
    m.operation(m.first).job = JobId{0};
    CHECK(m.rules() == Rules{Rule::Deadline});
    m.fact().work_end = at(700);
    CHECK(m.rules().empty());
}

TEST_CASE("drying under way weighs on the others until its clock is through", "[check][begun]") {
    // Alone at speed 1/2, two at 1/3. A from 100: 150 of 600 by 400, the rest by 1750. B from 400:
    // 450 by 1750, the rest by 2050. Somebody said of A: not before 800.
    Case c;
    c.resource("cabinet", 4);
    c.last_resource().shared = SharedRate{.steps = {{.from = at(0)}}};
    const auto a = c.operation(0, {need({0})}, 100);
    const auto b = c.operation(0, {need({0})}, 400);
    for (const auto id : {a, b}) {
        c.operation(id).modes[0].stages = {{.work = 600.0, .share = 1.0}};
        c.operation(id).max_stretch = std::nullopt;
    }
    c.problem.now = at(400);
    c.problem.begun = {{.operation = a, .start = at(100), .chosen = {ResourceId{0}}}};
    c.problem.begun.front().work_end = at(800);
    c.placed(a).work_end = c.placed(a).end = at(1750);
    c.placed(b).work_end = c.placed(b).end = at(2050);
    CHECK(c.rules().empty());
    c.placed(a).work_end = at(1000);
    CHECK(c.rules() == Rules{Rule::Drying});
}
