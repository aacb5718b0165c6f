// The published check sums of two discrete-event workloads, through the kernel. The definition and
// the sums come from a specification that independent implementations (a Python and several C++
// libraries) reproduce.

#include "tests/bench/des_workloads.hpp"
#include "tests/catch.hpp"

using namespace sched::engine;

TEST_CASE("workload A, 20,000 customers: the sum of times in the system is the published one",
          "[engine][theory]") {
    workload::Draws d;
    workload::draw_a(20'000, 1, d);
    for (const HandOver h : {HandOver::AtOnce, HandOver::Deferred}) {
        LineModel m = workload::model_a();
        m.hand_over = h;
        const LineResult r = Line(m).run(d.input());
        CHECK(r.in_system_sum == 214'192'475'508);
        CHECK(r.last_departure == 22'167'471'621);
        CHECK(r.logical_events == 40'000);
    }
}

TEST_CASE("workload B, 10 replications: both disciplines give their published sums",
          "[engine][theory]") {
    const auto run = [](HandOver h) {
        Line line(workload::model_b(h));
        workload::Sums sums;
        workload::Draws d;
        for (std::uint64_t r = 0; r < 10; ++r) {
            workload::draw_b(1, r, d);
            const LineResult x = line.run(d.input());
            CHECK(x.logical_events == 1560);
            sums.first += x.departures_sum;
            sums.last += x.last_departure;
        }
        return sums;
    };
    CHECK(run(HandOver::AtOnce) == workload::Sums{54'568'162'364'105, 760'752'336'769});
    CHECK(run(HandOver::Deferred) == workload::Sums{54'498'606'263'507, 759'392'537'757});
}
