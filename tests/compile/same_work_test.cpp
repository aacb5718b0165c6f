// The words of an operation are what a reader of the plan goes by ("coat B3-2 (2 print side)"):
// they must be the same of what is said to be the same work, wherever it stands in the two rooms.

#include "sched/compile/same_work.hpp"

#include <algorithm>
#include <numeric>
#include <set>

#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

using namespace sched;

namespace {

model::Scenario tomorrow_of_two_emulsions() {
    model::Diagnostics d;
    auto s = model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", d);
    REQUIRE(s);
    s->room.pots.clear();  // so that both are mixed, and once more: they do not keep
    for (auto& emulsion : s->room.emulsions)
        emulsion.pot_life_room = std::chrono::hours{6};
    for (auto& frame : s->frames)  // enough for each screen whichever comes first
        frame.count = 100;
    return *std::move(s);
}

compile::RoomProblem room_with(const model::Scenario& s, std::map<std::string, int> mixes) {
    model::Diagnostics d;
    compile::CompileOptions how{.start = *model::parse_date_time("2026-11-26T00:00")};
    how.mixes = std::move(mixes);
    auto room = compile::compile_room(s, how, d);
    REQUIRE(room);
    return *std::move(room);
}

// The n-th operation begins at second n, and takes from any store that it may.
core::Schedule numbered(const compile::RoomProblem& room) {
    core::Schedule out;
    out.placements.resize(room.operations.size());
    for (std::size_t i = 0; i < room.operations.size(); ++i)
        out.placements[i].start = core::SimTime{core::Seconds{static_cast<std::int64_t>(i)}};
    for (const auto& c : room.problem.constraints) {
        if (const auto* take = std::get_if<core::Take>(&c))
            out.placements[take->operation.index()].stores.push_back(take->any_of.front());
    }
    return out;
}

}  // namespace

TEST_CASE("work is the same by what it is, not by where it stands", "[compile][same_work]") {
    auto s = tomorrow_of_two_emulsions();
    const auto room = room_with(s, {});
    std::reverse(s.orders.begin(), s.orders.end());
    const auto other = room_with(s, {});
    const auto same = compile::same_work(room, other);
    REQUIRE(same.operation.size() == room.operations.size());
    std::set<int> all;
    std::size_t moved = 0;
    for (std::size_t i = 0; i < same.operation.size(); ++i) {
        REQUIRE(same.operation[i] >= 0);
        const auto to = static_cast<std::size_t>(same.operation[i]);
        CHECK(other.operations[to].words == room.operations[i].words);
        all.insert(same.operation[i]);
        moved += to != i ? 1 : 0;
    }
    CHECK(all.size() == other.operations.size());
    CHECK(moved > room.operations.size() / 2);
    const auto schedule = numbered(room);
    const auto there = compile::carried(schedule, same);
    REQUIRE(there);
    CHECK(compile::carried(*there, compile::same_work(other, room)) == schedule);
}

TEST_CASE("what is not mixed in the other room is not there", "[compile][same_work]") {
    const auto s = tomorrow_of_two_emulsions();
    const auto fewer = room_with(s, {});
    REQUIRE_FALSE(fewer.mixes.empty());
    const std::string emulsion = fewer.mixes[0].emulsion;
    const auto count = [&](const compile::RoomProblem& room) {
        return static_cast<int>(
            std::count_if(room.mixes.begin(), room.mixes.end(),
                          [&](const auto& mix) { return mix.emulsion == emulsion; }));
    };
    const auto more = room_with(s, {{emulsion, count(fewer) + 2}});
    REQUIRE(more.operations.size() > fewer.operations.size());
    const auto same = compile::same_work(more, fewer);
    for (std::size_t i = 0; i < same.operation.size(); ++i) {
        INFO(more.operations[i].words);
        const int mix = more.operations[i].mix;
        const bool stays = mix < 0 ||
                           more.mixes[static_cast<std::size_t>(mix)].emulsion != emulsion ||
                           mix < count(fewer);  // the first emulsion's pots stand first
        CHECK((same.operation[i] >= 0) == stays);
    }
    // A coat that takes from a pot that stays comes over, one from another does not; and the larger
    // room wants work that the smaller one has not.
    auto schedule = numbered(more);
    REQUIRE(compile::carried(schedule, same));
    std::vector<int> numbers(more.operations.size());
    std::iota(numbers.begin(), numbers.end(), 0);
    const auto left = compile::carried(numbers, same);
    REQUIRE(left.size() == fewer.operations.size());
    for (std::size_t i = 0; i < left.size(); ++i)
        CHECK(more.operations[static_cast<std::size_t>(left[i])].words ==
              fewer.operations[i].words);
    for (auto& placement : schedule.placements) {
        for (core::StoreId& store : placement.stores)
            store = more.mixes[static_cast<std::size_t>(count(more) - 1)].store;
    }
    CHECK_FALSE(compile::carried(schedule, same));
    CHECK_FALSE(compile::carried(numbered(fewer), compile::same_work(fewer, more)));
}
