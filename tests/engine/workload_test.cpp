// The published check sums of two discrete-event workloads, through the engine that `coatroom
// weeks` runs on. The definition and the sums come from a specification that independent
// implementations (a Python and several C++ libraries) reproduce; of B those of the discipline by
// which who waits gets what comes free at that instant.

#include "tests/bench/des_workloads.hpp"
#include "tests/catch.hpp"

TEST_CASE("workload A, 20,000 customers: the sum of times in the system is the published one",
          "[engine][theory]") {
    workload::Draws d;
    workload::draw_a(20'000, 1, d);
    const workload::Outcome o = workload::run_a(d);
    CHECK(o.sums == workload::Sums{214'192'475'508, 22'167'471'621});
    CHECK(o.logical == 40'000);
}

TEST_CASE("workload B, 10 replications: the published sums", "[engine][theory]") {
    workload::Sums sums;
    workload::Draws d;
    for (std::uint64_t r = 0; r < 10; ++r) {
        workload::draw_b(1, r, d);
        const workload::Outcome o = workload::run_b(d);
        CHECK(o.logical == 1560);
        sums.first += o.sums.first;
        sums.last += o.sums.last;
    }
    CHECK(sums == workload::Sums{54'568'162'364'105, 760'752'336'769});
}
