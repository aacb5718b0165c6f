// Random rooms followed with the planned lengths: how many days are the plan, second for second.
//   coatroom-follow FIRST LAST     seeds; three plans a room, three ways to follow each

#include <cstdio>
#include <cstdlib>

#include "tests/engine/follow_rooms.hpp"

int main(int argc, char** argv) {
    const auto first = argc > 1 ? std::strtoull(argv[1], nullptr, 10) : 1;
    const auto last = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1000;
    follow_rooms::Tally tally;
    for (auto seed = first; seed <= last; ++seed)
        follow_rooms::compare(seed, tally);
    if (!tally.first.empty()) std::printf("first difference: %s\n", tally.first.c_str());
    std::printf("%d plans, followed %d times: %d are the plan\n", tally.plans, tally.runs,
                tally.same);
    return tally.same == tally.runs ? 0 : 1;
}
