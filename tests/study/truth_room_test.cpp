// The engine that plans rooms held to queueing theory: systems with arrivals as Problems, worked
// off first come first served by the decoder without looking ahead. Where the open line can express
// the same system both give the same instants, so the line's 334 rows vouch for the room engine
// too; machine repair and bulk service go straight against their exact values.

#include <algorithm>
#include <cmath>

#include "sched/engine/decode/decoder.hpp"
#include "sched/statistics/output_analysis.hpp"
#include "sched/statistics/queueing_theory.hpp"
#include "tests/catch.hpp"
#include "tests/study/table.hpp"
#include "tests/study/truth_line.hpp"

using namespace study_test;
using namespace sched::core;
namespace engine = sched::engine;
namespace theory = sched::study::theory;

namespace {

constexpr double unit = 10'000.0;  // seconds per unit of time

Seconds seconds(double t) {
    return Seconds{std::llround(t * unit)};
}

Problem empty_problem(double length) {
    Problem p;
    p.name = "queue";
    p.horizon_end = SimTime{seconds(length)};
    p.objective = {Criterion::FlowTime};
    return p;
}

ResourceId add_servers(Problem& p, int servers) {
    p.resources.push_back({.name = "server", .capacity = servers});
    return ResourceId{p.resources.size() - 1};
}

JobId add_customer(Problem& p, SimTime arrival) {
    p.orders.push_back({.name = "c" + std::to_string(p.orders.size()), .release = arrival});
    p.jobs.push_back({.name = p.orders.back().name, .order = OrderId{p.orders.size() - 1}});
    return JobId{p.jobs.size() - 1};
}

OperationId add_operation(Problem& p, JobId job, Seconds work, std::vector<Need> needs) {
    p.operations.push_back(
        {.name = "service", .job = job, .modes = {{.work = work, .needs = std::move(needs)}}});
    return OperationId{p.operations.size() - 1};
}

/// First come first served: ranks in the order given, no looking ahead.
Schedule serve(const Problem& p, std::vector<std::int32_t> rank = {}) {
    const auto faults = validate(p);
    for (const auto& fault : faults)
        UNSCOPED_INFO(fault);
    REQUIRE(faults.empty());
    const engine::CompiledProblem compiled(p);
    engine::Decoder decoder(compiled);
    engine::Sequence s;
    if (rank.empty()) {
        for (std::size_t i = 0; i < p.operations.size(); ++i) {
            rank.push_back(static_cast<std::int32_t>(i));
        }
    }
    s.rank = std::move(rank);
    s.lookahead = 0;
    REQUIRE(decoder.decode(s));
    return decoder.to_schedule();
}

}  // namespace

TEST_CASE("a queue as a Problem gives the line's instants", "[truth]") {
    const std::size_t n = 1500;
    for (const int servers : {1, 2, 3}) {
        const Draws draws(11, static_cast<std::uint64_t>(servers));
        const auto gaps = Times(draws, 1, "interarrival").of(n, 1.25 / servers, 1.0);
        const auto work = Times(draws, 1, "service").of(n, 1.0, 1.0);
        // Whole seconds for both, so that the two see the same numbers.
        Problem p = empty_problem(4.0 * n);
        const ResourceId server = add_servers(p, servers);
        engine::LineModel model;
        model.pools.push_back({.capacity = servers});
        model.steps.push_back({.pool = 0});
        std::vector<Tick> gap_ticks, work_ticks;
        SimTime at{};
        for (std::size_t i = 0; i < n; ++i) {
            gap_ticks.push_back(seconds(gaps[i]).count());
            work_ticks.push_back(std::max<Tick>(1, seconds(work[i]).count()));
            at += Seconds{gap_ticks.back()};
            add_operation(p, add_customer(p, at), Seconds{work_ticks.back()},
                          {{.any_of = {server}}});
        }
        std::vector<Tick> departures(n);
        engine::Line(model).run({gap_ticks, work_ticks, {}}, departures);
        const Schedule schedule = serve(p);
        std::size_t differ = 0;
        for (std::size_t i = 0; i < n; ++i) {
            const Tick end = schedule.placements[i].end.time_since_epoch().count();
            differ += end != departures[i] ? 1 : 0;
        }
        CHECK(differ == 0);
    }
}

TEST_CASE("important customers pass those who wait, as in the line", "[truth]") {
    const std::size_t n = 1200;
    const Draws draws(12, 0);
    const auto gaps = Times(draws, 1, "interarrival").of(n, 1.25, 1.0);
    const auto work = Times(draws, 1, "service").of(n, 1.0, 1.0);
    const auto kind = Times(draws, 1, "class").uniforms(n);
    Problem p = empty_problem(4.0 * n);
    const ResourceId server = add_servers(p, 1);
    engine::LineModel model;
    model.pools.push_back({.capacity = 1, .queueing = engine::Queueing::Priority});
    model.steps.push_back({.pool = 0});
    std::vector<Tick> gap_ticks, work_ticks;
    std::vector<std::int32_t> classes, rank;
    SimTime at{};
    for (std::size_t i = 0; i < n; ++i) {
        gap_ticks.push_back(std::max<Tick>(1, seconds(gaps[i]).count()));
        work_ticks.push_back(std::max<Tick>(1, seconds(work[i]).count()));
        classes.push_back(kind[i] < 0.4 ? 0 : 1);
        rank.push_back(static_cast<std::int32_t>(i) + 1'000'000 * classes.back());
        at += Seconds{gap_ticks.back()};
        add_operation(p, add_customer(p, at), Seconds{work_ticks.back()}, {{.any_of = {server}}});
    }
    std::vector<Tick> departures(n);
    engine::Line(model).run({gap_ticks, work_ticks, classes}, departures);
    const Schedule schedule = serve(p, rank);
    std::size_t differ = 0;
    for (std::size_t i = 0; i < n; ++i) {
        differ += schedule.placements[i].end.time_since_epoch().count() != departures[i] ? 1 : 0;
    }
    CHECK(differ == 0);
}

// Machine repair M/M/1//4, lambda 0.5 per machine, mu 1 (tests/data/study/queueing.csv): each
// machine is a job that runs (no place needed) and is repaired, over and over.
TEST_CASE("machine repair as chains of operations has the exact throughput", "[truth]") {
    std::vector<double> down;
    for (std::uint64_t r = 0; r < 20; ++r) {
        const Draws draws(13, r);
        const std::size_t rounds = 150;
        Problem p = empty_problem(40.0 * rounds);
        const ResourceId repairer = add_servers(p, 1);
        std::vector<std::pair<OperationId, OperationId>> repairs;
        for (std::uint64_t m = 0; m < 4; ++m) {
            const auto up = Times(draws, m, "up").of(rounds, 2.0, 1.0);
            const auto repair = Times(draws, m, "repair").of(rounds, 1.0, 1.0);
            const JobId job = add_customer(p, p.horizon_start);
            OperationId last = OperationId::none();
            for (std::size_t k = 0; k < rounds; ++k) {
                const OperationId run = add_operation(p, job, seconds(up[k]), {});
                if (last.valid()) p.constraints.push_back(TimeLag{.from = last, .to = run});
                const OperationId fix =
                    add_operation(p, job, seconds(repair[k]), {{.any_of = {repairer}}});
                p.constraints.push_back(TimeLag{.from = run, .to = fix});
                repairs.push_back({run, fix});
                last = fix;
            }
        }
        // Who fails first is repaired first: no rank says so, hence rank by what the day shows;
        // with exponential repairs the order does not change the number down (any work-conserving
        // order).
        const Schedule s = serve(p);
        SimTime stop = p.horizon_end;  // while all four still have rounds left
        for (std::size_t m = 0; m < 4; ++m) {
            stop =
                std::min(stop, s.placements[repairs[m * rounds + rounds - 1].second.index()].end);
        }
        const SimTime from = p.horizon_start + seconds(50.0);
        double area = 0.0;
        for (const auto& [run, fix] : repairs) {
            const auto a = std::max(s.placements[run.index()].end, from);
            const auto b = std::min(s.placements[fix.index()].end, stop);
            area += static_cast<double>(std::max<std::int64_t>(0, (b - a).count()));
        }
        down.push_back(area / static_cast<double>((stop - from).count()));
    }
    const auto interval = sched::study::mean_interval(down, 0.99);
    const double exact = theory::finite_source(4, 0.5, 1.0, 1).in_system;
    INFO("exact " << exact << ", simulated " << interval.mean << " +- " << interval.half_width);
    CHECK(interval.interval().holds(exact));
}

// Bulk service M/D(1,b)/1, lambda 2.4, D 1, b 4 (rule: start at 1 or more, take up to b): Wq 0.5794
// by Lq / lambda of the table, mean batch from its row. A batching resource takes whoever is there.
TEST_CASE("a shared exposure serves like a bulk queue", "[truth]") {
    double exact_wait = 0.0;
    for (const auto& row : read_table(COATROOM_TEST_DATA "/data/study/queueing.csv")) {
        if (row[0] == "M/D(a,b)/1" && row[2] == "Wq" &&
            row[1].find("\"lam\":2.4,\"D\":1.0,\"a\":1,\"b\":4") != std::string::npos) {
            exact_wait = std::stod(row[3]);
        }
    }
    REQUIRE(exact_wait > 0.0);
    std::vector<double> waits;
    for (std::uint64_t r = 0; r < 20; ++r) {
        const std::size_t n = 800, warm = 80;
        const auto gaps = Times(Draws(14, r), 1, "interarrival").of(n, 1.0 / 2.4, 1.0);
        Problem p = empty_problem(3.0 * n);
        p.resources.push_back(
            {.name = "unit",
             .batch = BatchArea{.width_mm = 400, .height_mm = 100, .max_members = 4}});
        SimTime at{};
        for (std::size_t i = 0; i < n; ++i) {
            at += seconds(gaps[i]);
            const OperationId op =
                add_operation(p, add_customer(p, at), seconds(1.0), {{.any_of = {ResourceId{0}}}});
            p.operations[op.index()].batch = BatchShape{.width_mm = 100, .height_mm = 100};
        }
        const Schedule s = serve(p);
        double sum = 0.0;
        for (std::size_t i = warm; i < n; ++i) {
            sum +=
                static_cast<double>((s.placements[i].start - p.orders[i].release).count()) / unit;
        }
        waits.push_back(sum / static_cast<double>(n - warm));
    }
    const auto interval = sched::study::mean_interval(waits, 0.99);
    INFO("exact " << exact_wait << ", simulated " << interval.mean << " +- "
                  << interval.half_width);
    CHECK(interval.interval().holds(exact_wait));
}
