// What may share an exposure, and what becomes of those that do; worked out by hand. Each limit is
// met exactly and missed by one. All schedules also pass the checker.

#include "tests/engine/small_problem.hpp"

using namespace small_problem;

namespace {

/// Exposures on blankets of 100 x 60.
struct Blankets : Small {
    std::vector<ResourceId> units;
    explicit Blankets(int count = 1, int gap = 0, int members = 9) {
        for (int i = 0; i < count; ++i) {
            units.push_back(resource());
            p.resources.back().batch = BatchArea{100, 60, gap, members};
        }
    }
    /// @param stretch it may wait so long for others when its light is over
    OperationId expose(Tick light, int width, int height, std::optional<Tick> stretch = 0) {
        const auto o = operation(light, {{.any_of = units}});
        (*this)[o].batch = BatchShape{0, width, height};
        (*this)[o].max_stretch.reset();
        if (stretch) (*this)[o].max_stretch = Seconds{*stretch};
        return o;
    }
};

}  // namespace

TEST_CASE("no more screens than a blanket takes", "[engine][decoder][batch]") {
    // Sixty of 10 x 10 would fit; two may be on it.
    Blankets s(1, 0, 2);
    for (int i = 0; i < 3; ++i)
        s.expose(10, 10, 10);
    CHECK(s.decode() == Starts{0, 0, 10});
    s.p.resources[0].batch->max_members = 3;
    CHECK(s.decode() == Starts{0, 0, 0});
}

TEST_CASE("between screens on a blanket is the gap, at its border none",
          "[engine][decoder][batch]") {
    // Side by side 50 + 50 = 100 fit, but not with a gap of 1; 49 + 1 + 50 do. 60 high, so that
    // neither can be turned.
    for (const auto& [gap, width, together] :
         {std::tuple{0, 50, true}, std::tuple{1, 50, false}, std::tuple{1, 49, true}}) {
        Blankets s(1, gap);
        s.expose(10, width, 60);
        s.expose(10, 50, 60);
        CHECK(s.decode() == Starts{0, together ? 0 : 10});
    }
    // One above the other 30 + 30 = 60 fit; with a gap of 1 they do not, and 29 + 1 + 30 do.
    for (const auto& [gap, height, together] :
         {std::tuple{0, 30, true}, std::tuple{1, 30, false}, std::tuple{1, 29, true}}) {
        Blankets s(1, gap);
        s.expose(10, 100, height);
        s.expose(10, 100, 30);
        CHECK(s.decode() == Starts{0, together ? 0 : 10});
    }
}

TEST_CASE("a longer light does not join a shorter one", "[engine][decoder][batch]") {
    // 10 s on the first blanket, 30 s on the second, both from 0. 20 s that may wait joins the
    // second and waits there till 30.
    Blankets s(2);
    s.expose(10, 10, 60);
    const auto longest = s.expose(30, 10, 60);
    s[longest].modes[0].needs[0].any_of = {s.units[1]};
    s.expose(20, 10, 60, std::nullopt);
    CHECK(s.decode() == Starts{0, 0, 0});
    CHECK(s.chosen == std::vector<std::int32_t>{0, 1, 1});
    CHECK(s.end == std::vector<Tick>{10, 30, 30});
}

TEST_CASE("a screen waits on the blanket no longer than it may", "[engine][decoder][batch]") {
    // 20 s of light beside 30 s: 10 s of standing.
    Blankets s;
    s.expose(30, 50, 60);
    const auto shorter = s.expose(20, 50, 60, 9);
    CHECK(s.decode() == Starts{0, 30});
    s[shorter].max_stretch = Seconds{10};
    CHECK(s.decode() == Starts{0, 0});
    CHECK(s.end == std::vector<Tick>{30, 30});
}

TEST_CASE("nobody joins a light that is on", "[engine][decoder][batch]") {
    // The first lights 0 to 30. The second may wait, but is there from 5 on only.
    Blankets s;
    s.expose(30, 50, 60);
    s.not_before(s.expose(20, 50, 60, std::nullopt), 5);
    CHECK(s.decode() == Starts{0, 30});
}

TEST_CASE("one person minds a whole blanket, of a group each screen has its own",
          "[engine][decoder][batch]") {
    // Two screens on the blanket, and 10 s of work besides. One person who minds both is busy till
    // 10. Of a group of two each screen takes one; of three one is left for the work.
    for (const auto& [people, work] : {std::pair{1, 10}, std::pair{2, 10}, std::pair{3, 0}}) {
        Blankets s;
        const auto group = s.resource(people);
        for (int i = 0; i < 2; ++i)
            s[s.expose(10, 50, 60)].modes[0].needs.push_back({.any_of = {group}});
        s.operation(10, {{.any_of = {group}}});
        CHECK(s.decode() == Starts{0, 0, work});
    }
}

TEST_CASE("what is on one blanket leaves it together", "[engine][decoder][batch][begun]") {
    // Two screens whose light of 10 s went on at 0, together; planned at 5. Somebody who is there
    // from 50 on takes them out, both at once, 5 s. A third one gets the blanket then.
    Blankets s;
    const auto person = s.resource();
    s.p.resources[person.index()].calendar = Calendar{{at(50), at(100'000)}};
    std::vector<OperationId> lights;
    for (int i = 0; i < 2; ++i)
        lights.push_back(s.expose(10, 50, 60, std::nullopt));
    for (const auto light : lights) {
        const auto out = s.expose(5, 50, 60);
        s[out].modes[0].needs.push_back({.any_of = {person}, .span = Span::Work});
        s.before(light, out, 0, 0);
    }
    s.expose(10, 100, 60);
    s.p.now = at(5);
    for (const auto light : lights)
        s.begun(light, 0, 0);
    CHECK(s.decode() == Starts{0, 0, 50, 50, 55});
    CHECK(s.end == std::vector<Tick>{50, 50, 55, 55, 65});
}
