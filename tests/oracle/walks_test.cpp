// Plans of rooms with walking times: judged, and against trying every choice of cabinet.

#include <algorithm>
#include <optional>

#include "sched/check/checker.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/solve.hpp"
#include "tests/catch.hpp"
#include "tests/compile/walk_room.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched;
using core::Seconds;
using walk_room::begins;
using walk_room::room_of_parts;

namespace {

core::Problem problem_of(const model::Scenario& s) {
    model::Diagnostics d;
    auto room = compile::compile_room(s, {.start = begins, .days = 2}, d);
    for (const auto& x : d.all())
        UNSCOPED_INFO(model::to_text(x));
    REQUIRE(room);
    return std::move(room->problem);
}

core::Solution solved(const core::Problem& p, std::int64_t evaluations) {
    search::SearchOptions options;
    options.budget.evaluations = evaluations;
    options.seed = 5;
    return search::solve(p, options);
}

/// One way only for the operations tied to drying number `k`, in the order of the problem.
core::Problem restricted(core::Problem p, unsigned choices) {
    // Operations tied by SameMode are one group.
    std::vector<int> group(p.operations.size(), -1);
    int groups = 0;
    for (bool more = true; more;) {
        more = false;
        for (const auto& c : p.constraints) {
            const auto* same = std::get_if<core::SameMode>(&c);
            if (same == nullptr || p.operations[same->a.index()].modes.size() < 2) continue;
            int& a = group[same->a.index()];
            int& b = group[same->b.index()];
            if (a < 0 && b < 0) a = b = groups++;
            if (a < 0 || b < 0) {
                a = b = std::max(a, b);
                more = true;
            }
            if (a != b) {
                std::replace(group.begin(), group.end(), std::max(a, b), std::min(a, b));
                more = true;
            }
        }
    }
    std::vector<int> numbers;
    for (std::size_t i = 0; i < group.size(); ++i) {
        if (group[i] < 0) continue;
        auto at = std::find(numbers.begin(), numbers.end(), group[i]);
        if (at == numbers.end()) at = numbers.insert(numbers.end(), group[i]);
        auto& modes = p.operations[i].modes;
        modes = {modes[(choices >> (at - numbers.begin())) & 1u]};
    }
    return p;
}

}  // namespace

TEST_CASE("the plan chooses the cabinets that trying all choices finds", "[walks]") {
    model::Scenario s = room_of_parts(true);
    s.orders.front().due = begins + model::hours(8);
    s.orders.push_back(s.orders.front());
    s.orders.back().name = "B2";
    s.frames.front().count = 2;
    const core::Problem p = problem_of(s);
    std::optional<core::Value> best;
    unsigned best_choice = 0;
    for (unsigned choices = 0; choices < 64; ++choices) {  // two screens, three dryings each
        const core::Problem one = restricted(p, choices);
        const auto solution = solved(one, 400);
        REQUIRE(solution.schedule);
        if (!best || solution.value < *best) {
            best = solution.value;
            best_choice = choices;
        }
    }
    CAPTURE(best_choice);
    CHECK(best_choice != 0);  // the near cabinet alone is not best: both screens want it
    const auto planned = solved(p, 3000);
    REQUIRE(planned.schedule);
    CHECK(check::check(p, *planned.schedule).empty());
    CHECK(planned.value.parts[0] <= best->parts[0]);
    CHECK(planned.value <= *best);
}

TEST_CASE("one screen takes the near cabinet", "[walks]") {
    const core::Problem p = problem_of(room_of_parts(true));
    const auto planned = solved(p, 50);
    REQUIRE(planned.schedule);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        for (const auto r : planned.schedule->placements[i].chosen)
            CHECK(p.resources[r.index()].name != "far cabinet");
    }
}

TEST_CASE("plans of random premises pass the judge, and shortened ways do not", "[walks]") {
    int walked = 0, tied = 0;
    for (std::uint64_t seed = 1; seed <= 300; ++seed) {
        CAPTURE(seed);
        random_room::Draw draw(seed * 101 + 7);
        model::Scenario s = room_of_parts(draw.below(3) > 0);
        const std::array<const char*, 4> parts{"a", "b", "c", "d"};
        for (auto& station : s.room.stations) {
            if (draw.below(5) > 0)
                station.stands_in = parts[static_cast<std::size_t>(draw.below(4))];
        }
        s.room.walks.clear();
        for (std::size_t a = 0; a < 4; ++a) {
            for (std::size_t b = 0; b < 4; ++b) {
                if (a != b && draw.below(4) > 0)
                    s.room.walks.push_back(
                        {parts[a], parts[b], Seconds{1 + draw.below(300)}, true, {}});
            }
        }
        if (draw.below(4) == 0)
            std::erase_if(s.room.stations, [](const auto& x) { return x.name == "rack"; });
        s.orders.front().lines.front().count = 1 + draw.below(3);
        s.frames.front().count = 3;
        if (draw.below(2) == 0) s.frames.front().state = model::FrameState::OldStencil;
        const core::Problem p = problem_of(s);
        auto plain = s;
        plain.room.walks.clear();
        const core::Problem without = problem_of(plain);
        const auto planned = solved(p, 20);
        REQUIRE(planned.schedule);
        for (const auto& v : check::check(p, *planned.schedule))
            FAIL_CHECK(v.words);
        // Somebody who walks a second less than the way takes; another way than the drying's.
        for (std::size_t i = 0; i < p.operations.size(); ++i) {
            const auto& at = planned.schedule->placements[i];
            const auto mode = static_cast<std::size_t>(at.mode);
            const auto& known = without.operations[i].modes;
            if (p.operations[i].modes[mode].work > known[std::min(mode, known.size() - 1)].work) {
                ++walked;
                core::Schedule hurried = *planned.schedule;
                hurried.placements[i].work_end -= Seconds{1};
                CHECK_FALSE(check::check(p, hurried).empty());
            }
        }
        for (const auto& c : p.constraints) {
            const auto* same = std::get_if<core::SameMode>(&c);
            if (same == nullptr) continue;
            const auto& modes = p.operations[same->a.index()].modes;
            if (modes.size() != 2 || modes[0].work == modes[1].work) continue;
            ++tied;
            core::Schedule other = *planned.schedule;
            auto& at = other.placements[same->a.index()];
            const Seconds longer = modes[1 - static_cast<std::size_t>(at.mode)].work -
                                   modes[static_cast<std::size_t>(at.mode)].work;
            at.mode = 1 - at.mode;
            at.work_end += longer;
            at.end = std::max(at.end, at.work_end);
            CHECK_FALSE(check::check(p, other).empty());
        }
    }
    CHECK(walked > 300);
    CHECK(tied > 50);
}
