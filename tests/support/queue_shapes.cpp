// How it works: each kind of system names its stations and the ways through them (Ways), then lets
// customers come by drawn times (Traffic); what the engine books is written into a Record, or into
// levels per station, from which the measures follow. Nothing here decides when anybody is served.

#include "tests/support/queue_shapes.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>
#include <utility>

#include "tests/support/queue_run.hpp"

namespace study_test {

using namespace queue_run;
using namespace sched::core;
using sched::engine::exponential_inverse;

namespace {

Record empty_record(std::vector<Tick> arrival, int servers) {
    const std::size_t n = arrival.size();
    return {std::move(arrival), std::vector<Tick>(n, -1), std::vector<Tick>(n, 0), servers};
}

/// Times at which a station is shut, sorted, apart.
using Shut = std::vector<std::pair<Tick, Tick>>;

/// Into the windows, and beyond them as far as what begins in one may last.
auto shuts(const Shut& shut, ResourceId station, Tick beyond) {
    return [&shut, station, beyond](sched::study::RunWindow& w) {
        auto x = std::partition_point(shut.begin(), shut.end(),
                                      [&](const auto& s) { return s.second <= w.from(); });
        for (; x != shut.end() && (w.to() >= sched::engine::never || x->first < w.to() + beyond);
             ++x)
            w.assembly().close(station.value, x->first, x->second);
    };
}

}  // namespace

std::vector<Tick> arrivals(const std::vector<double>& gaps) {
    std::vector<Tick> at(gaps.size());
    Tick t = 0;
    for (std::size_t i = 0; i < gaps.size(); ++i)
        at[i] = t += std::llround(gaps[i] * ticks_per_unit);
    return at;
}

Record serve(const Line& line, Levels* first) {
    Ways ways;
    std::vector<int> way;
    for (const int c : line.servers)
        way.push_back(ways.way({Ways::work(ways.station(c))}));
    Record r = empty_record(line.arrival, line.servers.front());
    std::vector<Tick> since = line.arrival;  // waits for the next station
    std::uint32_t come = 0;
    Traffic traffic;
    traffic.next = [&](Customer& c) {
        if (come == line.arrival.size()) return false;
        c.number = come;
        c.release = line.arrival[come];
        c.rank = line.rank.empty() ? 0 : line.rank[come];
        for (std::size_t s = 0; s < way.size(); ++s)
            c.then(way[s], {to_ticks(line.service[s][come])});
        ++come;
        return true;
    };
    traffic.passed = [&](const Customer& c, std::size_t visit, const CarriedPart& p) {
        r.queued[c.number] += p.operations[0].start - since[c.number];
        since[c.number] = r.departure[c.number] = p.operations[0].work_end;
        if (first != nullptr && visit == 0) first->add(c.release, p.operations[0].work_end);
    };
    run(ways, traffic);
    return r;
}

// Whoever finds all servers busy and all places to wait taken is turned away: of two ways, the one
// that needs nobody. It takes longer, so that it is taken only where the other cannot begin.
Record serve_or_lose(const std::vector<Tick>& arrival, const std::vector<double>& service,
                     int servers, int places) {
    Ways ways;
    const ResourceId server = ways.station(servers);
    Operation work = Ways::work(server);
    work.modes.push_back({.work = Seconds{2 * nominal}});
    int way = 0;
    if (places == 0) {
        way = ways.way({work});
    } else {
        Operation wait{.name = "wait", .max_stretch = std::nullopt};
        wait.modes = {Mode{.needs = {{.any_of = {ways.station(places)}}}}, Mode{}};
        const OperationId a{0}, b{1};
        way = ways.way({wait, work},
                       {TimeLag{.from = a, .to = b, .max = Seconds{0}}, SameMode{.a = a, .b = b}});
    }
    Record r = empty_record(arrival, servers);
    std::uint32_t come = 0;
    Traffic traffic;
    traffic.next = [&](Customer& c) {
        if (come == arrival.size()) return false;
        c.number = come;
        c.release = arrival[come];
        c.at_once = true;
        const Tick length = to_ticks(service[come++]);
        if (places == 0)
            c.then(way, {length});
        else
            c.then(way, {nominal, length});
        return true;
    };
    traffic.passed = [&](const Customer& c, std::size_t, const CarriedPart& p) {
        if (p.operations[0].start != c.release)
            throw std::logic_error("somebody has waited outside");
        if (p.operations[0].mode != 0) return;
        r.queued[c.number] = p.operations.back().start - c.release;
        r.departure[c.number] = p.operations.back().work_end;
    };
    run(ways, traffic);
    return r;
}

// Processor sharing by the drying clock. Windows end where nobody is inside.
Record share(const std::vector<Tick>& arrival, const std::vector<double>& service) {
    Ways ways;
    Operation o = Ways::work(ways.shared());
    o.modes[0].work = Seconds{0};
    o.modes[0].stages = {{.work = static_cast<double>(nominal), .share = 1.0}};
    const int way = ways.way({o});
    Record r = empty_record(arrival, 0);
    std::uint32_t come = 0;
    Tick busy_until = 0;
    Traffic traffic;
    traffic.only_empty = true;
    traffic.customers_a_window = 64;
    traffic.next = [&](Customer& c) {
        if (come == arrival.size()) return false;
        c.number = come;
        c.release = arrival[come];
        // Each instant is rounded up to a tick, so that a busy time may end some ticks later.
        c.finds_nobody = c.release > busy_until + 1000;
        const Tick work = to_ticks(service[come++]);
        busy_until = std::max(busy_until, c.release) + work;
        c.then(way, {work});
        return true;
    };
    traffic.passed = [&](const Customer& c, std::size_t, const CarriedPart& p) {
        if (p.operations[0].start != c.release)
            throw std::logic_error("somebody has waited outside");
        r.departure[c.number] = p.operations[0].work_end;
    };
    run(ways, traffic);
    return r;
}

// A unit that takes up to `most` at once, whoever is there; `every` > 0: only at its multiples.
Figures serve_together(const std::vector<Tick>& arrival, std::size_t most, double length,
                       bool every, std::size_t warm) {
    Ways ways;
    const ResourceId unit = ways.unit_for(static_cast<int>(most));
    Operation o = Ways::work(unit);
    o.batch = BatchShape{.width_mm = 100, .height_mm = 100};
    const int way = ways.way({o});
    const Tick cycle = to_ticks(length);
    std::uint32_t come = 0;
    std::vector<Tick> start(arrival.size());
    Traffic traffic;
    traffic.next = [&](Customer& c) {
        if (come == arrival.size()) return false;
        c.number = come;
        c.release = arrival[come++];
        c.then(way, {every ? cycle - 1 : cycle});
        return true;
    };
    traffic.passed = [&](const Customer& c, std::size_t, const CarriedPart& p) {
        start[c.number] = p.operations[0].start;
    };
    if (every) {  // shut for one tick before each multiple, so that a batch fits there alone
        traffic.closes = [&](sched::study::RunWindow& w) {
            const Tick last = std::min(w.to(), arrival.back() + 64 * cycle);
            for (Tick t = w.from() / cycle * cycle; t <= last + 2 * cycle; t += cycle)
                w.assembly().close(unit.value, t - 1, t);
        };
    }
    run(ways, traffic);
    const Tick from = arrival[warm], until = arrival.back();
    Levels waiting, serving;
    std::vector<Tick> begun = start;
    std::sort(begun.begin(), begun.end());
    double batches = 0.0, members = 0.0, waits = 0.0;
    for (std::size_t i = 0; i < begun.size(); ++i) {
        const bool opens = i == 0 || begun[i] != begun[i - 1];
        if (opens) serving.add(begun[i], begun[i] + cycle);
        if (begun[i] < from || begun[i] > until) continue;
        batches += opens ? 1.0 : 0.0;
        members += 1.0;
    }
    for (std::size_t i = 0; i < start.size(); ++i) {
        waiting.add(arrival[i], start[i]);
        if (i >= warm) waits += static_cast<double>(start[i] - arrival[i]) / ticks_per_unit;
    }
    Figures f;
    f["Lq"] = f["time-average number waiting"] = waiting.over(from, until).mean;
    f["Wq"] = waits / static_cast<double>(start.size() - warm);
    f["P(server idle)"] = 1.0 - serving.over(from, until).some;
    f["mean batch size"] = members / batches;
    if (every) {  // who has come before each multiple and has not been taken at an earlier one
        double before = 0.0, instants = 0.0;
        std::size_t come_by = 0, taken_by = 0;
        for (Tick t = cycle; t <= until; t += cycle) {
            while (come_by < arrival.size() && arrival[come_by] <= t)
                ++come_by;
            while (taken_by < begun.size() && begun[taken_by] < t)
                ++taken_by;
            if (t <= from) continue;
            before += static_cast<double>(come_by - taken_by);
            instants += 1.0;
        }
        f["mean queue just before a service instant"] = before / instants;
    }
    return f;
}

}  // namespace study_test
