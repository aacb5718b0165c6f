// Time from place to place: the timeline of one who walks against one that is kept second by
// second, and schedules against what is known of set-up times.

#include <algorithm>
#include <numeric>
#include <random>

#include "sched/check/checker.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/profile.hpp"
#include "tests/catch.hpp"

using namespace sched::core;
using sched::engine::CompiledProblem;
using sched::engine::CompiledWindow;
using sched::engine::Decoder;
using sched::engine::never;
using sched::engine::Profile;
using sched::engine::Sequence;
using sched::engine::Tick;

namespace {

constexpr Tick horizon = 200;
constexpr int closed_time = -2, nobody = -1;

/// One who walks, second by second: closed, free, or at a place.
struct Seconds200 {
    std::vector<int> at = std::vector<int>(horizon, nobody);
    std::vector<int> booking = std::vector<int>(horizon, 0);  // number of the booking; 0: none

    bool goes(Tick from, Tick length, int place, Tick walk) const {
        if (from + length > horizon) return false;
        for (Tick s = from; s < from + length; ++s) {
            if (at[static_cast<std::size_t>(s)] == closed_time ||
                booking[static_cast<std::size_t>(s)] != 0)
                return false;
        }
        const auto away = [&](int other) { return other >= 0 && place >= 0 && other != place; };
        // Work at no place is no way from one to another.
        for (Tick s = from - 1; s >= std::max<Tick>(0, from - walk); --s) {
            if (at[static_cast<std::size_t>(s)] == closed_time) break;
            if (place < 0 || at[static_cast<std::size_t>(s)] == nobody) continue;
            if (away(at[static_cast<std::size_t>(s)])) return false;
            break;
        }
        for (Tick s = from + length; s < std::min(horizon, from + length + walk); ++s) {
            if (at[static_cast<std::size_t>(s)] == closed_time) break;
            if (place < 0 || at[static_cast<std::size_t>(s)] == nobody) continue;
            if (away(at[static_cast<std::size_t>(s)])) return false;
            break;
        }
        return true;
    }
    Tick earliest(Tick from, Tick length, int place, Tick walk) const {
        for (Tick x = from; x + length <= horizon; ++x) {
            if (goes(x, length, place, walk)) return x;
        }
        return never;
    }
};

}  // namespace

TEST_CASE("the timeline of one who walks is the one kept second by second", "[engine][walk]") {
    const auto seed = GENERATE(range(1, 201));
    std::mt19937 dice(static_cast<unsigned>(seed));
    const auto roll = [&](int n) { return static_cast<int>(dice() % static_cast<unsigned>(n)); };
    const Tick walk = 1 + roll(6);
    // A shift with a break in it, and nothing after it.
    const Tick pause = 60 + roll(60);
    const std::vector<CompiledWindow> windows{{0, pause}, {pause + 1 + roll(10), horizon}};
    Profile line{std::span<const CompiledWindow>(windows)};
    line.reset();
    Seconds200 seconds;
    for (Tick s = windows[0].to; s < windows[1].from; ++s)
        seconds.at[static_cast<std::size_t>(s)] = closed_time;

    struct Booked {
        Tick from, length;
        int place;
    };
    std::vector<Booked> booked;
    int number = 0;
    Tick now = 0;
    for (int turn = 0; turn < 60; ++turn) {
        INFO("seed " << seed << ", turn " << turn);
        if (roll(8) == 0) {
            now = std::min<Tick>(now + roll(15), horizon - 1);
            line.forget_walked_before(now);
            std::erase_if(booked, [&](const Booked& b) { return b.from < now; });
        }
        if (roll(3) == 0 && !booked.empty()) {
            const auto k = static_cast<std::size_t>(roll(static_cast<int>(booked.size())));
            const Booked b = booked[k];
            line.book_at(b.from, b.from + b.length, -1, b.place);
            for (Tick s = b.from; s < b.from + b.length; ++s) {
                seconds.at[static_cast<std::size_t>(s)] = nobody;
                seconds.booking[static_cast<std::size_t>(s)] = 0;
            }
            booked.erase(booked.begin() + static_cast<std::ptrdiff_t>(k));
            continue;
        }
        const Booked want{now + roll(40), 1 + roll(12), roll(4) - 1};
        const Tick x = line.earliest_at(want.from, want.length, want.place, walk);
        REQUIRE(x == seconds.earliest(want.from, want.length, want.place, walk));
        if (x >= never || roll(4) == 0) continue;
        line.book_at(x, x + want.length, 1, want.place);
        ++number;
        for (Tick s = x; s < x + want.length; ++s) {
            seconds.at[static_cast<std::size_t>(s)] = want.place;
            seconds.booking[static_cast<std::size_t>(s)] = number;
        }
        booked.push_back({x, want.length, want.place});
    }
}

// By hand: at place 1 until 10, then 5 s of work at no place, then at place 2. What lies between
// may be moved later, so it does not stand for the way: 8 s from 10 on, whichever is booked last.
TEST_CASE("work at no place is not the way from one to another", "[engine][walk]") {
    const Tick walk = 8;
    Profile line;
    line.reset();
    line.book_at(0, 10, 1, 1);
    line.book_at(10, 15, 1, -1);
    CHECK(line.earliest_at(0, 20, 1, walk) == 15);
    CHECK(line.earliest_at(0, 20, 2, walk) == 18);
    CHECK(line.comes_from_elsewhere(16, 2));
    line.forget_walked_before(16);
    CHECK(line.earliest_at(16, 20, 2, walk) == 18);
    line.book_at(18, 38, 1, 2);
    line.book_at(10, 15, -1, -1);
    CHECK(line.earliest_at(10, 8, 1, walk) == 46);  // on the way from 10 to 18
    CHECK(line.earliest_at(10, 8, -1, walk) == 10);

    line.reset();
    line.book_at(10, 15, 1, -1);
    line.book_at(18, 38, 1, 2);
    CHECK(line.earliest_at(0, 10, 1, walk) == 0);
    CHECK(line.earliest_at(0, 11, 1, walk) == 46);  // after it: until 11 would be 1 s too long
    CHECK(line.earliest_at(0, 11, 2, walk) == 38);
}

// 1 | s_jk | C_max with s_jk = 0 within a family and w between families is solved by one family
// after the other: sum of the work + (families - 1) w (Pinedo, Scheduling, section on set-up times;
// here by hand as well: every family but the first is reached once at least).
TEST_CASE("one person who takes place after place walks least", "[engine][walk]") {
    Problem p;
    p.name = "families";
    p.horizon_end = SimTime{Seconds{100'000}};
    p.objective = {Criterion::Makespan};
    for (const char* place : {"sink", "stand", "table"})
        p.resources.push_back({.name = place, .capacity = 4});
    p.resources.push_back({.name = "ann", .walk = Seconds{10}});
    const std::vector<int> places{0, 1, 2, 0, 1, 2, 0, 1, 2};
    const auto person = [&](int place) {
        Mode mode{.work = Seconds{20}};
        mode.needs.push_back({.any_of = {ResourceId{place}}});
        mode.needs.push_back({.any_of = {ResourceId{3}}, .span = Span::Work});
        return mode;
    };
    for (std::size_t i = 0; i < places.size(); ++i)
        p.operations.push_back({.name = "o" + std::to_string(i), .modes = {person(places[i])}});
    REQUIRE(validate(p).empty());
    const CompiledProblem compiled(p);
    Decoder decoder(compiled);
    const auto makespan = [&](std::vector<int> ranks) {
        Sequence sequence;
        sequence.rank = std::move(ranks);
        sequence.lookahead = 0;
        REQUIRE(decoder.decode(sequence));
        const auto wrong = sched::check::check(p, decoder.to_schedule());
        INFO((wrong.empty() ? std::string{} : wrong.front().words));
        REQUIRE(wrong.empty());
        return decoder.value().front();
    };
    std::vector<int> by_place, in_turn(9);
    std::iota(in_turn.begin(), in_turn.end(), 0);
    for (const int place : places)
        by_place.push_back(place);
    CHECK(makespan(by_place) == 9 * 20 + 2 * 10);
    CHECK(makespan(in_turn) == 9 * 20 + 8 * 10);
    // No other order is better: all 9! / (3! 3! 3!) of them.
    std::vector<int> order{0, 0, 0, 1, 1, 1, 2, 2, 2};
    std::int64_t best = 1'000'000;
    do {
        std::vector<int> ranks(9);
        std::vector<int> next(3, 0);
        for (std::size_t k = 0; k < order.size(); ++k) {
            const int place = order[k];
            ranks[static_cast<std::size_t>(place + 3 * next[static_cast<std::size_t>(place)]++)] =
                static_cast<int>(k);
        }
        best = std::min(best, makespan(ranks));
    } while (std::next_permutation(order.begin(), order.end()));
    CHECK(best == 200);
}

// By hand: two people; ann puts on (10 s) and has a break from 15 to 100; what she began must be
// taken off by her within 20 s of its end, 5 s of work. Ben is free from 12 on. So ben does both,
// from 12 on, and not ann from 100 on.
TEST_CASE("who cannot finish what is tied leaves it to somebody else", "[engine][hands]") {
    Problem p;
    p.name = "hands";
    p.horizon_end = SimTime{Seconds{1'000}};
    p.objective = {Criterion::Makespan};
    const auto at = [](Tick t) { return SimTime{Seconds{t}}; };
    p.resources.push_back(
        {.name = "ann", .calendar = Calendar{{at(0), at(15)}, {at(100), at(999)}}});
    p.resources.push_back({.name = "ben", .calendar = Calendar{{at(12), at(999)}}});
    const Need somebody{.any_of = {ResourceId{0}, ResourceId{1}}, .span = Span::Work};
    p.operations.push_back({.name = "on", .modes = {{.work = Seconds{10}, .needs = {somebody}}}});
    p.operations.push_back({.name = "off", .modes = {{.work = Seconds{5}, .needs = {somebody}}}});
    p.constraints.push_back(TimeLag{
        .from = OperationId{0}, .to = OperationId{1}, .min = Seconds{10}, .max = Seconds{20}});
    const auto starts = [&] {
        REQUIRE(validate(p).empty());
        const CompiledProblem compiled(p);
        Decoder decoder(compiled);
        REQUIRE(decoder.decode(Sequence{}));
        const auto wrong = sched::check::check(p, decoder.to_schedule());
        INFO((wrong.empty() ? std::string{} : wrong.front().words));
        REQUIRE(wrong.empty());
        return decoder.schedule().start;
    };
    CHECK(starts() == std::vector<Tick>{0, 20});  // ann, then ben
    p.constraints.push_back(
        SameResource{.a = OperationId{0}, .need_a = 0, .b = OperationId{1}, .need_b = 0});
    CHECK(starts() == std::vector<Tick>{12, 32});
    // With nobody else there it waits until she is back.
    for (Operation& o : p.operations)
        o.modes[0].needs[0].any_of = {ResourceId{0}};
    CHECK(starts() == std::vector<Tick>{100, 120});
}
