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
