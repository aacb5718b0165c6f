// Breaks as the checker reads them off a schedule: within their time, whole, and nobody at work.

#include "tests/catch.hpp"
#include "tests/check/cases.hpp"

using namespace check_tests;

namespace {

/// A person with a break from 1000 to 1600, to begin between 900 and 1100; a stand.
struct Shift : Case {
    Shift() {
        resource("person");
        last_resource().calendar = Calendar{{at(0), at(1000)}, {at(1600), at(5000)}};
        resource("stand");
        problem.pauses = {{.resource = ResourceId{0},
                           .earliest = at(900),
                           .latest = at(1100),
                           .length = Seconds{600},
                           .at = at(1000)}};
    }
    Pause& pause() { return problem.pauses.front(); }
    /// Findings of the break that name the operation.
    long of(OperationId id) const {
        const auto all = found();
        return std::count_if(all.begin(), all.end(), [&](const Violation& v) {
            return v.rule == Rule::Pause && v.operation == id;
        });
    }
};

}  // namespace

TEST_CASE("a break begins within its time", "[check][pause]") {
    Shift s;
    CHECK(s.rules().empty());
    s.pause().earliest = s.pause().latest = at(1000);
    CHECK(s.rules().empty());
    s.pause().earliest = at(1001);
    CHECK(s.rules() == Rules{Rule::Pause});
    s.pause().earliest = at(900);
    s.pause().latest = at(999);
    CHECK(s.rules() == Rules{Rule::Pause});
}

TEST_CASE("nobody counts as there for a second of a break", "[check][pause]") {
    for (const int by : {-1, 1}) {
        Shift s;
        s.pause().at += Seconds{by};
        CHECK(s.rules() == Rules{Rule::Pause});
    }
    Shift s;
    s.problem.resources[0].calendar = std::nullopt;
    CHECK(s.rules() == Rules{Rule::Pause});
}

TEST_CASE("nobody works in a break, from either side, with either hand", "[check][pause]") {
    Shift s;
    const auto before = s.operation(100, {need({0})}, 900);
    const auto after = s.operation(100, {need({1}), need({0})}, 1600);
    CHECK(s.rules().empty());
    s.move(before, 1);
    CHECK(s.of(before) == 1);
    s.move(before, -1);
    s.move(after, -1);
    CHECK(s.of(after) == 1);
    s.move(after, 1);
    // What holds its place and the person stays to the end; work alone does not.
    s.operation(before).max_stretch = std::nullopt;
    s.placed(before).end = at(1001);
    CHECK(s.of(before) == 1);
    s.operation(before).modes[0].needs[0].span = Span::Work;
    CHECK(s.rules().empty());
}

TEST_CASE("two breaks of one person do not meet", "[check][pause]") {
    Shift s;
    s.problem.resources[0].calendar = Calendar{{at(0), at(1000)}, {at(2200), at(5000)}};
    s.problem.pauses.push_back(s.pause());
    s.problem.pauses.back().at = at(1600);
    s.problem.pauses.back().latest = at(1700);
    CHECK(s.rules().empty());
    s.problem.pauses.back().at = at(1599);
    CHECK(s.rules() == Rules{Rule::Pause});
    s.problem.pauses.back().resource = ResourceId{1};
    s.problem.resources[1].calendar = s.problem.resources[0].calendar;
    CHECK(s.rules().empty());
}
