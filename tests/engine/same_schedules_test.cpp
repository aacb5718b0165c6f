// Speed must not change answers: the decoder's schedules of seeded random rooms, as one number a
// group, against the numbers that the plain decoder gave before it was made faster (November 2026).
// What is right about a schedule is the checker's business (decoder_random_test.cpp); this says
// only "the same as before". A change of the decoder's rules renews them, and says so in its
// commit.

#include <cstdint>
#include <vector>

#include "sched/engine/decode/decoder.hpp"
#include "tests/catch.hpp"
#include "tests/engine/random_room.hpp"

using namespace sched::engine;

namespace {

// FNV-1a over whole numbers.
struct Print {
    std::uint64_t value = 14695981039346656037ULL;
    void add(std::int64_t x) { value = (value ^ static_cast<std::uint64_t>(x)) * 1099511628211ULL; }
    template <class T>
    void add_all(const std::vector<T>& all) {
        for (const T& x : all)
            add(x);
    }
};

void add_schedule(Print& print, const FlatSchedule& s) {
    print.add_all(s.start);
    print.add_all(s.work_end);
    print.add_all(s.end);
    print.add_all(s.mode);
    print.add_all(s.chosen);
    print.add_all(s.stores);
    print.add_all(s.batch);
}

Sequence random_sequence(const sched::core::Problem& problem, random_room::Draw& draw, int round) {
    Sequence s;
    const std::size_t n = problem.operations.size();
    s.rank.resize(n);
    for (auto& r : s.rank)
        r = draw.below(1000);
    if (round % 2 == 1) {
        s.delay.resize(n);
        for (auto& d : s.delay)
            d = draw.below(4) == 0 ? draw.below(1200) : 0;
        s.waits_inside = draw.below(2) == 0;
        s.choice.resize(n);
        for (auto& c : s.choice)
            c = static_cast<std::uint8_t>(draw.below(3));
        s.join.resize(n);
        for (auto& j : s.join)
            j = static_cast<std::uint8_t>(draw.below(2));
    }
    if (round % 4 >= 2) s.lookahead = draw.below(2) == 0 ? 600 : never;
    return s;
}

std::uint64_t fingerprint(std::uint64_t from, std::uint64_t to, random_room::Size size) {
    Print print;
    for (std::uint64_t seed = from; seed < to; ++seed) {
        const auto problem = random_room::make(seed, size);
        const CompiledProblem compiled(problem);
        Decoder decoder(compiled);
        random_room::Draw draw(seed * 1313);
        for (int round = 0; round < 8; ++round) {
            const bool complete = decoder.decode(random_sequence(problem, draw, round));
            print.add(complete ? 1 : 0);
            if (complete) add_schedule(print, decoder.schedule());
        }
    }
    return print.value;
}

}  // namespace

TEST_CASE("a faster decoder gives the same schedules as before", "[engine][decoder][same]") {
    CHECK(fingerprint(1, 101, {}) == 0xd3d0c11d23b1db63ULL);
    CHECK(fingerprint(101, 201, {}) == 0x9eee18466edce28fULL);
    CHECK(fingerprint(201, 211, {.screens = 25}) == 0xedb0af9b9da35a32ULL);
    CHECK(fingerprint(211, 217, {.screens = 40, .plain = true}) == 0x50b447982c135c34ULL);
}
