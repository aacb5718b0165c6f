// What must hold between the plans of two rooms, whatever the plans are (metamorphic relations): a
// room with one more of something can do what the smaller one did, so its bound is no more than
// what the smaller one reached, and where its plan is proven best it is no worse. Lines in another
// order, or an order in two parts with the same due time, are the same work.

#include <algorithm>

#include "tests/catch.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"

namespace {

using model::Scenario;

// Two orders of at most two screens, frames enough of every kind, breaks at fixed times: nothing
// that is chosen while the room is compiled depends on what is added to it.
Scenario small(std::uint64_t seed) {
    Scenario s = random_scenario::make(seed);
    if (s.orders.size() > 2) s.orders.resize(2);
    s.frames.clear();
    for (auto& order : s.orders) {
        order.lines.resize(1);
        order.due =
            random_scenario::first_day() + model::hours(8);  // late, so that bounds say much
        auto& line = order.lines[0];
        line.count = std::min(line.count, 2);
        line.kept_stencil = false;
        s.frames.push_back({.size = line.frame, .mesh = line.mesh.value_or("77-55"), .count = 9});
    }
    for (auto& person : s.room.people)
        person.breaks.clear();
    return s;
}

struct Aims {
    std::vector<std::int64_t> values;
    std::optional<std::int64_t> bound;  // of the first
    bool proven = false;                // the first: none better
    std::size_t screens = 0;
    std::int64_t taken = 0;  // ml
};

std::optional<Aims> aims_of(const Scenario& scenario) {
    const auto result = planned::plan(scenario, random_scenario::first_day(), 20);
    if (!result.plan) return std::nullopt;
    CHECK(result.broken == std::vector<std::string>{});
    Aims out{.screens = result.plan->screens.size()};
    for (const auto& aim : result.plan->aims)
        out.values.push_back(aim.value);
    out.bound = result.plan->aims.at(0).bound;
    out.proven = out.bound == out.values[0];
    for (const auto& c : result.plan->problem.constraints) {
        if (const auto* take = std::get_if<sched::core::Take>(&c)) out.taken += take->amount;
    }
    return out;
}

// `larger` can do all that `smaller` did.
void no_worse(const Aims& larger, const Aims& smaller) {
    if (larger.bound) CHECK(*larger.bound <= smaller.values[0]);
    if (larger.proven) CHECK(larger.values[0] <= smaller.values[0]);
}

constexpr std::uint64_t rooms = 60;

}  // namespace

TEST_CASE("one more place, person or hour makes no proven plan worse", "[relation]") {
    int pairs = 0, proven = 0;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        const Scenario room = small(seed);
        const auto own = aims_of(room);
        if (!own) continue;
        const auto against = [&](const char* what, const Scenario& larger) {
            INFO("room " << seed << ", one more " << what);
            const auto aims = aims_of(larger);
            REQUIRE(aims);
            no_worse(*aims, *own);
            ++pairs;
            proven += aims->proven ? 1 : 0;
        };
        Scenario places = room;
        for (auto& station : places.room.stations) {
            if (!station.lamp) ++station.places;
        }
        against("place", places);
        Scenario people = room;
        people.room.people.push_back(people.room.people[0]);
        people.room.people.back().name = "Pz";
        against("person", people);
        Scenario hours = room;
        for (auto& person : hours.room.people) {
            for (auto& shift : person.shifts)
                shift.to += model::hours(1);
        }
        against("hour", hours);
    }
    CHECK(pairs > 150);
    CHECK(proven > 8);
}

TEST_CASE("orders in another order of lines are the same work", "[relation]") {
    int pairs = 0, proven = 0;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        Scenario room = small(seed);
        const auto own = aims_of(room);
        std::reverse(room.orders.begin(), room.orders.end());
        std::reverse(room.frames.begin(), room.frames.end());
        const auto turned = aims_of(room);
        INFO("room " << seed);
        REQUIRE(own.has_value() == turned.has_value());
        if (!own) continue;
        no_worse(*own, *turned);
        no_worse(*turned, *own);
        CHECK(own->screens == turned->screens);
        CHECK(own->taken == turned->taken);
        ++pairs;
        proven += own->proven && turned->proven ? 1 : 0;
    }
    CHECK(pairs > 45);
    CHECK(proven > 0);
}

TEST_CASE("an order in two parts of the same due time is the same work", "[relation]") {
    int pairs = 0;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        Scenario room = small(seed);
        if (room.orders[0].lines[0].count < 2) continue;
        const auto whole = aims_of(room);
        room.orders.push_back(room.orders[0]);
        room.orders.back().name = "second part";
        room.orders[0].lines[0].count = 1;
        --room.orders.back().lines[0].count;
        const auto parts = aims_of(room);
        INFO("room " << seed);
        REQUIRE(whole.has_value() == parts.has_value());
        if (!whole) continue;
        CHECK(whole->screens == parts->screens);
        CHECK(whole->taken == parts->taken);
        // The order is as late as its later part: w max(a, b) <= w a + w b <= 2 w max(a, b).
        if (whole->bound) CHECK(*whole->bound <= parts->values[0]);
        if (parts->bound) CHECK(*parts->bound <= 2 * whole->values[0]);
        ++pairs;
    }
    CHECK(pairs > 20);
}
