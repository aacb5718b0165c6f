// coatroom-events A|B: two published discrete-event workloads through the engine that `coatroom
// weeks` runs on, with check sums and speed, and the same work as a bare loop without any engine as
// the floor beside it.

#include <CLI/CLI.hpp>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <deque>
#include <functional>
#include <limits>
#include <queue>
#include <string>

#include "tests/bench/des_workloads.hpp"

namespace {

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

/// B with nothing but what it needs: a list of ends, and a queue a place.
workload::Sums bare_b(const workload::Draws& d) {
    struct Place {
        int free;
        std::deque<int> queue;
    };
    enum { Stand, Bench, Dryer, Unit, Booth, People };
    static constexpr int at[workload::steps_b] = {Booth, Dryer, Bench, Stand, Dryer, Stand,
                                                  Dryer, Unit,  Booth, Dryer, Bench, Dryer};
    const auto attended = [](int place) { return place != Dryer && place != Unit; };
    std::vector<Place> places = {{2, {}}, {1, {}}, {12, {}}, {1, {}}, {1, {}}, {3, {}}};
    struct End {
        Tick time;
        std::uint64_t order;
        int who;
        bool operator>(const End& o) const {
            return time > o.time || (time == o.time && order > o.order);
        }
    };
    std::priority_queue<End, std::vector<End>, std::greater<>> ends;
    std::uint64_t order = 0;
    std::vector<int> step(workload::items_b, -1);
    workload::Sums sums;
    Tick now = 0, arrives = d.interarrival[0];
    std::size_t come = 0;
    const auto begin = [&](int who) {
        const auto i = static_cast<std::size_t>(who);
        ends.push({now + d.duration[i * workload::steps_b + static_cast<std::size_t>(step[i])],
                   order++, who});
    };
    const auto ask = [&](int who, int place) {
        Place& p = places[static_cast<std::size_t>(place)];
        if (p.free > 0 && p.queue.empty()) {
            --p.free;
            return true;
        }
        p.queue.push_back(who);
        return false;
    };
    const auto has_place = [&](int who) {
        if (!attended(at[step[static_cast<std::size_t>(who)]]) || ask(who, People)) begin(who);
    };
    const auto next_step = [&](int who) {
        if (ask(who, at[++step[static_cast<std::size_t>(who)]])) has_place(who);
    };
    const auto give_back = [&](int place) {
        Place& p = places[static_cast<std::size_t>(place)];
        if (p.queue.empty()) {
            ++p.free;
            return -1;
        }
        const int who = p.queue.front();
        p.queue.pop_front();
        return who;
    };
    while (come < workload::items_b || !ends.empty()) {
        if (come < workload::items_b && (ends.empty() || arrives <= ends.top().time)) {
            now = arrives;
            next_step(static_cast<int>(come++));
            if (come < workload::items_b) arrives += d.interarrival[come];
            continue;
        }
        const End e = ends.top();
        ends.pop();
        now = e.time;
        const int place = at[step[static_cast<std::size_t>(e.who)]];
        const int served = attended(place) ? give_back(People) : -1;
        if (served >= 0) begin(served);
        const int moves_up = give_back(place);
        if (moves_up >= 0) has_place(moves_up);
        if (step[static_cast<std::size_t>(e.who)] + 1 == static_cast<int>(workload::steps_b)) {
            sums.first += now;
            sums.last = std::max(sums.last, now);
        } else {
            next_step(e.who);
        }
    }
    return sums;
}

struct Measured {
    workload::Outcome outcome;
    workload::Sums bare;
    double run_s = 0.0, bare_s = 0.0;
};

void add(Measured& m, const workload::Draws& d, bool a) {
    const double t0 = cpu_seconds();
    const workload::Outcome o = a ? workload::run_a(d) : workload::run_b(d);
    const double t1 = cpu_seconds();
    const workload::Sums bare = a ? bare_a(d) : bare_b(d);
    m.bare_s += cpu_seconds() - t1;
    m.run_s += t1 - t0;
    m.outcome.sums.first += o.sums.first;
    m.outcome.sums.last += o.sums.last;
    m.outcome.logical += o.logical;
    m.bare.first += bare.first;
    m.bare.last += bare.last;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{
        "Two published discrete-event workloads through the engine that coatroom weeks runs on"};
    std::string which;
    std::uint64_t n = 1'000'000, reps = 1'000, seed = 1;
    app.add_option("workload", which, "A (M/M/1) or B (re-entrant line)")
        ->required()
        ->check(CLI::IsMember({"A", "B"}));
    app.add_option("--n", n, "customers of A")->capture_default_str();
    app.add_option("--reps", reps, "replications of B")->capture_default_str();
    app.add_option("--seed", seed, "seed")->capture_default_str();
    CLI11_PARSE(app, argc, argv);
    const bool a = which == "A";
    Measured m;
    workload::Draws d;
    for (std::uint64_t r = 0; r < (a ? 1 : reps); ++r) {
        if (a)
            workload::draw_a(n, seed, d);
        else
            workload::draw_b(seed, r, d);
        add(m, d, a);  // drawing is not counted; building and taking down is
    }
    const auto logical = static_cast<double>(m.outcome.logical);
    std::printf("workload %s  sum %lld  sum_last %lld\n", which.c_str(),
                static_cast<long long>(m.outcome.sums.first),
                static_cast<long long>(m.outcome.sums.last));
    std::printf("engine      %.4f s  %.2f million logical events/s\n", m.run_s,
                logical / m.run_s / 1e6);
    std::printf("bare loop   %.4f s  %.2f million  same sums: %s  engine/bare time %.1f\n",
                m.bare_s, logical / m.bare_s / 1e6, m.bare == m.outcome.sums ? "yes" : "NO",
                m.run_s / m.bare_s);
    struct Known {
        const char* which;
        std::uint64_t size;
        workload::Sums sums;
    };
    static const Known known[] = {
        {"A", 1'000'000, {9'872'704'604'048, 1'110'191'209'734}},
        {"A", 20'000, {214'192'475'508, 22'167'471'621}},
        {"B", 1'000, {5'433'312'894'628'585, 75'837'237'667'758}},
        {"B", 10, {54'568'162'364'105, 760'752'336'769}},
    };
    bool same = m.bare == m.outcome.sums;
    for (const Known& k : known) {
        if (k.which != which || k.size != (a ? n : reps) || seed != 1) continue;
        const bool published = k.sums == m.outcome.sums;
        std::printf("published check sums: %s\n", published ? "equal" : "DIFFERENT");
        same = same && published;
    }
    return same ? 0 : 1;
}
