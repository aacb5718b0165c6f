// Lines with a fixed number of jobs inside (CONWIP), as Problems: a job enters when the w-th before
// it has left. W. J. Hopp & M. L. Spearman, Factory Physics; throughput TH, cycle time CT,
// bottleneck rate r_b, raw process time T0.

#include "sched/engine/decode/decoder.hpp"
#include "tests/oracle/answers.hpp"
#include "tests/support/queue_run.hpp"

using namespace oracle;

namespace {

struct Station {
    int machines;
    std::int64_t time;
};

/// Operation j * stations + s. @param unit seconds of one unit of the stations' times.
Problem conwip(const std::vector<Station>& line, std::size_t jobs, std::size_t wip) {
    Builder b({Criterion::Makespan});
    std::vector<ResourceId> stations;
    for (const auto& s : line)
        stations.push_back(b.resource(s.machines));
    for (std::size_t j = 0; j < jobs; ++j) {
        const auto job = b.job();
        for (std::size_t s = 0; s < line.size(); ++s) {
            const auto op = b.operation(job, line[s].time, {stations[s]});
            if (s > 0) b.before(OperationId{op.index() - 1}, op);
            if (s == 0 && j >= wip) b.before(OperationId{(j - wip + 1) * line.size() - 1}, op);
        }
    }
    return b.done();
}

struct Flow {
    double throughput;  // jobs per unit, in the long run
    double cycle_time;  // entering the line to leaving it
    std::vector<std::int64_t> leaves;
};

/// @param schedule of a conwip problem; long-run figures from its second half.
Flow flow(const Problem& p, const Schedule& s, std::size_t wip) {
    const std::size_t stations = p.resources.size();
    Flow f{};
    for (std::size_t j = 0; j < p.jobs.size(); ++j)
        f.leaves.push_back(number(s.placements[(j + 1) * stations - 1].end));
    const std::size_t n = f.leaves.size();
    f.throughput =
        static_cast<double>(n / 2) / static_cast<double>(f.leaves[n - 1] - f.leaves[n - 1 - n / 2]);
    double sum = 0;
    for (std::size_t j = n / 2; j < n; ++j)
        sum += static_cast<double>(f.leaves[j] - (j < wip ? 0 : f.leaves[j - wip]));
    f.cycle_time = sum / static_cast<double>(n - n / 2);
    return f;
}

/// First come, first served at every station: all operations in order of jobs and stations.
Flow run(const std::vector<Station>& line, std::size_t jobs, std::size_t wip) {
    const Problem p = conwip(line, jobs, wip);
    Sequence list;
    for (std::size_t i = 0; i < p.operations.size(); ++i)
        list.push_back(OperationId{i});
    const Schedule s = serial(p, list);
    for (const auto& v : sched::check::check(p, s))
        FAIL_CHECK(v.words);
    // The engine, told the same order, does the same.
    const sched::engine::CompiledProblem compiled(p);
    sched::engine::Decoder decoder(compiled);
    sched::engine::Sequence order;
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        order.rank.push_back(static_cast<std::int32_t>(i));
    }
    REQUIRE(decoder.decode(order));
    CHECK(starts(decoder.to_schedule()) == starts(s));
    return flow(p, s, wip);
}

}  // namespace

TEST_CASE("Penny Fab One: the best case", "[oracle][line]") {
    // Four stations of one machine, 2 h each: r_b 0.5, T0 8, W0 4.
    const std::vector<Station> line(4, Station{1, 2});
    for (const auto& [wip, th, ct] : {std::tuple{1, 0.125, 8.0},
                                      {2, 0.25, 8.0},
                                      {3, 0.375, 8.0},
                                      {4, 0.5, 8.0},
                                      {5, 0.5, 10.0},
                                      {6, 0.5, 12.0},
                                      {8, 0.5, 16.0},
                                      {10, 0.5, 20.0},
                                      {20, 0.5, 40.0}}) {
        const Flow f = run(line, 120, static_cast<std::size_t>(wip));
        CAPTURE(wip);
        CHECK(f.throughput == Approx(th).epsilon(1e-12));
        CHECK(f.cycle_time == Approx(ct).epsilon(1e-12));
        CHECK(th == Approx(std::min(wip / 8.0, 0.5)).epsilon(1e-12));  // min(w / T0, r_b)
        CHECK(ct == Approx(std::max(8.0, wip / 0.5)).epsilon(1e-12));  // max(T0, w / r_b)
    }
}

TEST_CASE("Penny Fab Two: the best case on parallel machines", "[oracle][line]") {
    // Machines 1, 2, 6, 2; times 2, 5, 10, 3 h: r_b 0.4, T0 20, W0 8.
    const std::vector<Station> line{{1, 2}, {2, 5}, {6, 10}, {2, 3}};
    const Flow eight = run(line, 160, 8);
    CHECK(eight.throughput == Approx(0.4).epsilon(1e-12));
    const Flow ten = run(line, 200, 10);
    CHECK(ten.throughput == Approx(0.4).epsilon(1e-12));
    CHECK(ten.cycle_time == Approx(25.0).epsilon(1e-12));
    CHECK(eight.cycle_time == Approx(20.0).epsilon(1e-12));
}

TEST_CASE("a line of 1, 2, 1, 1 h", "[oracle][line]") {
    // Public lecture notes on CONWIP lines: w = 1, 2, 3, 10.
    const std::vector<Station> line{{1, 1}, {1, 2}, {1, 1}, {1, 1}};
    for (const auto& [wip, th, ct] :
         {std::tuple{1, 0.2, 5.0}, {2, 0.4, 5.0}, {3, 0.5, 6.0}, {10, 0.5, 20.0}}) {
        const Flow f = run(line, 120, static_cast<std::size_t>(wip));
        CAPTURE(wip);
        CHECK(f.throughput == Approx(th).epsilon(1e-12));
        CHECK(f.cycle_time == Approx(ct).epsilon(1e-12));
    }
    const Flow all = run(line, 10, 10);  // all ten at the first station at time 0
    CHECK(all.leaves.front() == 5);
    CHECK(all.leaves.back() == 23);
}

namespace {

/// The same stations in the long run that coatroom weeks stands on; arrivals `apart` units after
/// each other. @returns departure times.
std::vector<std::int64_t> through_weeks(const std::vector<Station>& line, std::size_t jobs,
                                        std::int64_t apart) {
    queue_run::Ways ways;
    std::vector<int> way;
    for (const auto& s : line)
        way.push_back(ways.way({queue_run::Ways::work(ways.station(s.machines))}));
    std::vector<std::int64_t> leaves(jobs);
    queue_run::Traffic traffic;
    traffic.customers_a_window = 8;
    std::uint32_t come = 0;
    traffic.next = [&](queue_run::Customer& c) {
        if (come == jobs) return false;
        c.number = come;
        c.release = apart * come++;
        for (std::size_t s = 0; s < line.size(); ++s)
            c.then(way[s], {line[s].time});
        return true;
    };
    std::size_t ends = 0;
    traffic.passed = [&](const queue_run::Customer& c, std::size_t,
                         const queue_run::CarriedPart& p) {
        leaves[c.number] = p.operations[0].work_end;
        ++ends;
    };
    queue_run::run(ways, traffic);
    CHECK(ends == jobs * line.size());
    return leaves;
}

}  // namespace

TEST_CASE("the engine of weeks gives the textbook's times", "[oracle][line]") {
    // 1, 2, 1, 1 h, ten jobs at time 0: first out at 5, last at 23 (public lecture notes).
    const auto all = through_weeks({{1, 1}, {1, 2}, {1, 1}, {1, 1}}, 10, 0);
    CHECK(all.front() == 5);
    CHECK(all.back() == 23);
    CHECK(all == run({{1, 1}, {1, 2}, {1, 1}, {1, 1}}, 10, 10).leaves);

    // Fed at the bottleneck rate both Penny Fabs keep their raw process time: 8 h and 20 h, so that
    // by Little's law W0 = r_b T0 = 4 and 8 jobs are inside. (2.5 h apart: in half hours.)
    const auto one = through_weeks(std::vector<Station>(4, Station{1, 2}), 50, 2);
    for (std::size_t j = 0; j < one.size(); ++j)
        CHECK(one[j] - 2 * static_cast<std::int64_t>(j) == 8);
    const auto two = through_weeks({{1, 4}, {2, 10}, {6, 20}, {2, 6}}, 50, 5);
    for (std::size_t j = 0; j < two.size(); ++j)
        CHECK(two[j] - 5 * static_cast<std::int64_t>(j) == 40);
    // All at once: the n-th leaves Penny Fab One at 8 + 2 (n - 1).
    const auto burst = through_weeks(std::vector<Station>(4, Station{1, 2}), 20, 0);
    for (std::size_t j = 0; j < burst.size(); ++j)
        CHECK(burst[j] == 8 + 2 * static_cast<std::int64_t>(j));
}
