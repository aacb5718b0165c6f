#include "tests/study/truth.hpp"

#include "sched/statistics/probability.hpp"
#include "tests/catch.hpp"
#include "tests/study/truth_coverage.hpp"
#include "tests/support/queue_run.hpp"

using namespace study_test;
using namespace sched::study;

namespace {

const std::string table = COATROOM_TEST_DATA "/data/study/queueing.csv";
const TruthSize some{.replications = 16, .customers = 4'000, .warm_up = 800};

}  // namespace

// 99 % intervals: about one row in a hundred lies outside with a right simulator. Such rows are run
// again with fresh random variation and four times as many replications, and must lie inside then.
// Seeds are fixed. All rows: coatroom-validate.
TEST_CASE("the engine of weeks agrees with queueing theory", "[truth]") {
    const Truth truth = run_truth(table, some, first_of_each_model());
    const auto rows = static_cast<int>(truth.rows.size());
    CHECK(rows == 122);
    for (const auto& r : truth.rows) {
        INFO(r.model << " " << r.parameters << " " << r.measure << ": exact " << r.exact
                     << ", simulated " << r.simulated.mean << " +- " << r.simulated.half_width
                     << (r.second_look ? " (second look)" : ""));
        CHECK(r.inside());
    }
    // P(more than 7 of 122 outside) < 0.001 if each has 1 %.
    CHECK(1.0 - binomial_cdf(7, rows, 0.01) < 1e-3);
    CHECK(truth.outside_at_first <= 7);
}

TEST_CASE("rows that no room and no Problem says are known by name", "[truth]") {
    std::map<std::string, int> models;
    int said = 0;
    for (const auto& row : read_table(table)) {
        if (row[4] != "exact") continue;
        const bool not_said = !why_not(row[0], json::parse(row[1]), row[2]).empty();
        said += not_said ? 0 : 1;
        if (not_said) ++models[row[0]];
    }
    CHECK(said == 441);
    CHECK(models == std::map<std::string, int>{{"M/D(a,b)/1", 8},
                                               {"M/G/1-LCFS-PR scv=4", 4},
                                               {"M/M(a,b)/1", 20},
                                               {"M/M/1-SRPT", 2},
                                               {"M/M/c preemptive 3 classes", 3},
                                               {"M/M/c/c", 6},
                                               {"M/M/c/c//N", 2},
                                               {"M/M^[b]/1 joinable", 12}});
}

TEST_CASE("a simulator that is 5 % slow would be noticed", "[truth]") {
    // The check can fail: the same rows with the service 5 % longer than the theory assumes.
    const auto slow = [](const std::string& model, const json& p, std::uint64_t seed,
                         std::uint64_t replication, std::size_t n, std::size_t warm) {
        json q = p;
        q["mu"] = q["mu"].get<double>() / 1.05;
        return simulate_system(model, q, seed, replication, n, warm);
    };
    TruthSize short_run = some;
    short_run.replications = 8;
    const Truth truth = run_truth(
        table, short_run, [](const Row& row) { return row[0] == "M/M/c" && row[2] == "P(wait>0)"; },
        slow);
    int outside = 0;
    for (const auto& r : truth.rows)
        outside += r.inside() ? 0 : 1;
    CHECK(truth.rows.size() == 6);
    CHECK(outside > 3);
}

// The same customers by the engine and by the queue's recursion, and by the engine in windows of
// other lengths: the same instants.
TEST_CASE("the engine serves a queue instant by instant as its recursion says", "[truth]") {
    const std::size_t n = 3'000;
    for (const int servers : {1, 2, 3}) {
        const Draws draws(11, static_cast<std::uint64_t>(servers));
        const auto gaps = Times(draws, 1, "interarrival").of(n, 1.25 / servers, 1.0);
        const auto lengths = Times(draws, 1, "service").of(n, 1.0, 1.0);
        std::vector<Tick> arrival(n), work(n);
        Tick at = 0;
        for (std::size_t i = 0; i < n; ++i) {
            arrival[i] = at += to_ticks(gaps[i]);
            work[i] = to_ticks(lengths[i]);
        }
        const auto leaves = recursion_departures(arrival, work, servers);
        for (const std::size_t window : {1u, 7u, 128u, 5'000u}) {
            queue_run::Ways ways;
            const int way = ways.way({queue_run::Ways::work(ways.station(servers))});
            std::uint32_t come = 0, differ = 0, gone = 0;
            queue_run::Traffic traffic;
            traffic.customers_a_window = window;
            traffic.next = [&](queue_run::Customer& c) {
                if (come == n) return false;
                c.number = come;
                c.release = arrival[come];
                c.then(way, {work[come++]});
                return true;
            };
            traffic.passed = [&](const queue_run::Customer& c, std::size_t,
                                 const queue_run::CarriedPart& p) {
                ++gone;
                differ += p.operations[0].work_end != leaves[c.number] ? 1 : 0;
            };
            queue_run::run(ways, traffic);
            CHECK(gone == n);
            CHECK(differ == 0);
        }
    }
}

TEST_CASE("90 % intervals of M/M/1 hold in 88 to 92 of 100 cases", "[truth]") {
    const Coverage c = replication_coverage({}, 0.90);
    INFO("held " << c.held << " of " << c.of);
    CHECK(c.share() >= 0.88);
    CHECK(c.share() <= 0.92);
}

TEST_CASE("order statistics and Wilson hold at least nearly as often as they say", "[truth]") {
    // Order-statistic intervals are conservative: exact coverage of ranks for n = 50 and 90 %.
    const QuantileRanks ranks = quantile_ranks(50, 0.5, 0.90);
    const Coverage median = median_coverage({}, 50, 0.90);
    CHECK(ranks.coverage >= 0.90);
    CHECK(median.interval().holds(ranks.coverage));
    // Wilson at n = 100, p = 0.1: exact coverage by summing the binomial.
    double exact = 0.0;
    for (int k = 0; k <= 100; ++k) {
        if (wilson_interval(k, 100, 0.95).holds(0.1)) {
            exact += binomial_cdf(k, 100, 0.1) - binomial_cdf(k - 1, 100, 0.1);
        }
    }
    CHECK(exact > 0.93);
    CHECK(wilson_coverage({}, 100, 0.1, 0.95).interval().holds(exact));
}
