// coatroom-events A|B: two published discrete-event workloads through the kernel, with check sums
// and speed, and the same work as a bare loop without any engine as the floor beside it.

#include <CLI/CLI.hpp>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <deque>
#include <queue>
#include <string>

#include "tests/bench/des_workloads.hpp"

namespace {

using sched::engine::HandOver;
using sched::engine::Line;
using sched::engine::Tick;

double cpu_seconds() {
    return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

// M/M/1 with nothing but the two next times.
workload::Sums bare_a(const workload::Draws& d) {
    workload::Sums sums;
    const std::size_t n = d.interarrival.size();
    std::vector<Tick> waiting(n);
    std::size_t head = 0, tail = 0, next = 1;
    Tick arrival = d.interarrival[0], departure = -1;
    while (head < n) {
        if (departure < 0 || (next <= n && arrival <= departure)) {
            waiting[tail++] = arrival;
            if (departure < 0) departure = arrival + d.duration[head];
            if (next < n)
                arrival += d.interarrival[next];
            else
                arrival = std::numeric_limits<Tick>::max();
            ++next;
        } else {
            sums.first += departure - waiting[head++];
            sums.last = departure;
            departure = head < tail ? departure + d.duration[head] : -1;
        }
    }
    return sums;
}

struct Outcome {
    workload::Sums sums;
    std::int64_t logical = 0, events = 0;
    double run_s = 0.0, total_s = 0.0;
};

Outcome run_a(std::size_t n, std::uint64_t seed, HandOver hand_over) {
    Outcome o;
    const double t0 = cpu_seconds();
    workload::Draws d;
    workload::draw_a(n, seed, d);
    const double t1 = cpu_seconds();
    auto model = workload::model_a();
    model.hand_over = hand_over;
    const auto r = Line(model).run(d.input());
    const double t2 = cpu_seconds();
    o = {{r.in_system_sum, r.last_departure}, r.logical_events, r.events, t2 - t1, t2 - t0};
    const double t3 = cpu_seconds();
    const auto bare = bare_a(d);
    const double bare_s = cpu_seconds() - t3;
    std::printf(
        "bare loop   run_s %.4f  %.1f million events/s  same sums: %s  kernel/bare time %.2f\n",
        bare_s, 2.0 * static_cast<double>(n) / bare_s / 1e6, bare == o.sums ? "yes" : "NO",
        o.run_s / bare_s);
    return o;
}

Outcome run_b(std::uint64_t reps, std::uint64_t seed, HandOver hand_over) {
    Outcome o;
    const double t0 = cpu_seconds();
    std::vector<workload::Draws> draws(reps);
    for (std::uint64_t r = 0; r < reps; ++r)
        workload::draw_b(seed, r, draws[r]);
    const double t1 = cpu_seconds();
    for (std::uint64_t r = 0; r < reps; ++r) {
        Line line(workload::model_b(hand_over));  // building and taking down belong to the run
        const auto x = line.run(draws[r].input());
        o.sums.first += x.departures_sum;
        o.sums.last += x.last_departure;
        o.logical += x.logical_events;
        o.events += x.events;
    }
    const double t2 = cpu_seconds();
    o.run_s = t2 - t1;
    o.total_s = t2 - t0;
    return o;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Two published discrete-event workloads through the engine that plans rooms"};
    std::string which;
    std::string discipline = "at-once";
    std::uint64_t n = 1'000'000, reps = 1'000, seed = 1;
    app.add_option("workload", which, "A (M/M/1) or B (re-entrant line)")
        ->required()
        ->check(CLI::IsMember({"A", "B"}));
    app.add_option("--n", n, "customers of A")->capture_default_str();
    app.add_option("--reps", reps, "replications of B")->capture_default_str();
    app.add_option("--seed", seed, "seed")->capture_default_str();
    app.add_option("--discipline", discipline,
                   "when the first of a queue is served after a unit came back")
        ->check(CLI::IsMember({"at-once", "deferred"}))
        ->capture_default_str();
    CLI11_PARSE(app, argc, argv);
    const HandOver hand_over = discipline == "at-once" ? HandOver::AtOnce : HandOver::Deferred;
    const Outcome o = which == "A" ? run_a(n, seed, hand_over) : run_b(reps, seed, hand_over);
    std::printf("workload %s  discipline %s  sum %lld  sum_last %lld\n", which.c_str(),
                discipline.c_str(), static_cast<long long>(o.sums.first),
                static_cast<long long>(o.sums.last));
    std::printf(
        "logical_events %lld  kernel_events %lld  run_s %.4f  total_s %.4f  logical_events_per_s "
        "%.0f\n",
        static_cast<long long>(o.logical), static_cast<long long>(o.events), o.run_s, o.total_s,
        static_cast<double>(o.logical) / o.run_s);
    struct Known {
        const char* which;
        std::uint64_t size;
        const char* discipline;
        workload::Sums sums;
    };
    static const Known known[] = {
        {"A", 1'000'000, "at-once", {9'872'704'604'048, 1'110'191'209'734}},
        {"A", 1'000'000, "deferred", {9'872'704'604'048, 1'110'191'209'734}},
        {"A", 20'000, "at-once", {214'192'475'508, 22'167'471'621}},
        {"A", 20'000, "deferred", {214'192'475'508, 22'167'471'621}},
        {"B", 1'000, "at-once", {5'433'312'894'628'585, 75'837'237'667'758}},
        {"B", 1'000, "deferred", {5'442'127'097'958'942, 75'902'876'776'233}},
        {"B", 10, "at-once", {54'568'162'364'105, 760'752'336'769}},
        {"B", 10, "deferred", {54'498'606'263'507, 759'392'537'757}},
    };
    for (const Known& k : known) {
        if (k.which == which && k.discipline == discipline && k.size == (which == "A" ? n : reps) &&
            seed == 1) {
            const bool same = k.sums == o.sums;
            std::printf("published check sums: %s\n", same ? "equal" : "DIFFERENT");
            return same ? 0 : 1;
        }
    }
    return 0;
}
