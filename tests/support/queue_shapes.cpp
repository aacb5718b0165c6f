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

ClosedSeen go_round(const Closed& net, const Draws& draws, std::uint64_t subject, std::size_t n) {
    Ways ways;
    std::vector<int> way;
    double cycle = 0.0;
    for (std::size_t s = 0; s < net.means.size(); ++s) {
        const ResourceId at =
            net.servers[s] < 0 ? ResourceId::none() : ways.station(net.servers[s]);
        way.push_back(ways.way({Ways::work(at)}));
        cycle += net.means[s];
    }
    ClosedSeen seen;
    seen.at.resize(net.means.size());
    seen.until = to_ticks(cycle * static_cast<double>(n) / static_cast<double>(2 * net.customers));
    seen.from = seen.until / 5;
    std::vector<Tick> asked(net.customers, 0);
    std::vector<std::size_t> planned(net.customers, 0);  // visits given so far
    std::vector<std::uint64_t> names;
    for (std::size_t i = 0; i < net.customers; ++i)
        names.push_back(name_key("visit " + std::to_string(i)));
    std::uint32_t come = 0;
    const auto give = [&](Customer& c) {
        const std::size_t visit = planned[c.number]++;
        const std::size_t s = visit % net.means.size();
        const Tick work = to_ticks(
            exponential_inverse(net.means[s], draws.uniform({subject, 0, names[c.number], visit})));
        c.then(way[s], {work});
        return work;
    };
    Traffic traffic;
    traffic.length =
        to_ticks(std::max(2.0 * cycle, 64.0 * cycle / static_cast<double>(2 * net.customers)));
    traffic.until = seen.until + to_ticks(30.0 * cycle);  // so that visits under way are seen too
    traffic.next = [&](Customer& c) {
        if (come == net.customers) return false;
        c.number = come++;
        c.release = 0;
        give(c);
        return true;
    };
    traffic.inside = [&](Customer& c, Tick from, Tick to) {
        Tick ahead = 0;  // nobody is through with so much before the window ends
        for (const auto& v : c.visits) {
            if (v.part.operations[0].start < 0)
                ahead += std::llround(v.part.factor[0] * static_cast<double>(nominal));
        }
        while (ahead <= to - from)
            ahead += give(c);
    };
    traffic.passed = [&](const Customer& c, std::size_t visit, const CarriedPart& p) {
        const std::size_t s = visit % net.means.size();
        const Tick start = p.operations[0].start, end = p.operations[0].work_end;
        seen.at[s].add(asked[c.number], end);
        if (end > seen.from && end <= seen.until) {
            seen.rounds += s + 1 == net.means.size() ? 1.0 : 0.0;
            if (s == 1) {
                seen.waits += static_cast<double>(start - asked[c.number]) / ticks_per_unit;
                seen.stays += static_cast<double>(end - asked[c.number]) / ticks_per_unit;
                seen.served += 1.0;
            }
        }
        asked[c.number] = end;
    };
    run(ways, traffic);
    return seen;
}

// One server; a customer of a lower class is called away whenever one of a higher is there, and
// goes on where he was: the server is shut to him at these times, his work pauses. A class after
// the other, the highest first; the higher ones know nothing of the lower.
std::vector<Tick> called_away(const std::vector<Tick>& arrival, const std::vector<double>& service,
                              const std::vector<std::size_t>& kind, std::size_t classes) {
    std::vector<Tick> departure(arrival.size(), -1);
    Shut shut;
    for (std::size_t k = 0; k < classes; ++k) {
        Ways ways;
        const ResourceId server = ways.station(1);
        const int way = ways.way({Ways::work(server, true)});
        std::size_t come = 0;
        Shut mine = shut;
        Traffic traffic;
        traffic.next = [&](Customer& c) {
            while (come < arrival.size() && kind[come] != k)
                ++come;
            if (come == arrival.size()) return false;
            c.number = static_cast<std::uint32_t>(come);
            c.release = arrival[come];
            c.then(way, {to_ticks(service[come++])});
            return true;
        };
        traffic.passed = [&](const Customer& c, std::size_t, const CarriedPart& p) {
            departure[c.number] = p.operations[0].work_end;
            mine.emplace_back(p.operations[0].start, p.operations[0].work_end);
        };
        if (k > 0) traffic.closes = shuts(shut, server, to_ticks(400.0));
        run(ways, traffic);
        std::sort(mine.begin(), mine.end());
        shut.clear();
        for (const auto& [from, to] : mine) {
            if (!shut.empty() && from <= shut.back().second)
                shut.back().second = std::max(shut.back().second, to);
            else
                shut.emplace_back(from, to);
        }
    }
    return departure;
}

// A machine that always has work, and fails by the clock: times from one end to the next.
Figures fails(const json& p, const Draws& draws, std::uint64_t subject, std::size_t n) {
    const double length = p.at("t0");
    const auto work = Times(draws, subject, "service").of(n, length, p.at("c02"));
    const double up = p.at("mf"), down = p.at("mr");
    const auto failures = static_cast<std::size_t>(3.0 * length * static_cast<double>(n) / up) + 50;
    const auto ups = Times(draws, subject, "up").of(failures, up, 1.0);
    const auto downs = Times(draws, subject, "down").of(failures, down, p.at("cr2"));
    Shut shut;
    Tick at = 0;
    for (std::size_t i = 0; i < failures; ++i) {
        const Tick from = at + to_ticks(ups[i]);
        shut.emplace_back(from, at = from + to_ticks(downs[i]));
    }
    Ways ways;
    const ResourceId machine = ways.station(1);
    const int way = ways.way({Ways::work(machine, true)});
    std::size_t given = 0;
    Tick last = 0;
    double sum = 0.0, squares = 0.0, count = 0.0;
    Traffic traffic;
    traffic.length = to_ticks(64.0 * length);
    bool come = false;
    const auto give = [&](Customer& c) {
        const Tick w = to_ticks(work[given++]);
        c.then(way, {w});
        return w;
    };
    traffic.next = [&](Customer& c) {
        if (come) return false;
        come = true;
        c.release = 0;
        give(c);
        return true;
    };
    traffic.inside = [&](Customer& c, Tick from, Tick to) {
        Tick ahead = 0;
        for (const auto& v : c.visits) {
            if (v.part.operations[0].start < 0)
                ahead += std::llround(v.part.factor[0] * static_cast<double>(nominal));
        }
        while (ahead <= to - from && given < n)
            ahead += give(c);
    };
    traffic.passed = [&](const Customer&, std::size_t visit, const CarriedPart& part) {
        const Tick end = part.operations[0].work_end;
        if (visit > 0) {
            const double t = static_cast<double>(end - last) / ticks_per_unit;
            sum += t;
            squares += t * t;
            count += 1.0;
        }
        last = end;
    };
    traffic.closes = shuts(shut, machine, to_ticks(100.0 * down));
    run(ways, traffic);
    if (shut.back().second < last) throw std::logic_error("too few failures were drawn");
    const double mean = sum / count;
    return {{"te", mean}, {"ce2", (squares / count - mean * mean) / (mean * mean)}};
}

// Three stations; after the last some go back to the first.
Figures go_back(const json& p, const Draws& draws, std::uint64_t subject, std::size_t n,
                std::size_t warm) {
    const auto mu = p.at("mu").get<std::vector<double>>();
    const double back = p.at("rework_prob");
    const auto arrival = arrivals(
        Times(draws, subject, "interarrival").of(n, 1.0 / p.at("gamma").get<double>(), 1.0));
    const Tick from = arrival[warm], until = arrival.back();
    Ways ways;
    std::vector<int> way;
    for (std::size_t s = 0; s < mu.size(); ++s)
        way.push_back(ways.way({Ways::work(ways.station(1))}));
    std::vector<Levels> at(mu.size());
    std::vector<Tick> asked = arrival;
    double visits = 0.0, stays = 0.0, out = 0.0, own = 0.0;
    std::uint32_t come = 0;
    Traffic traffic;
    traffic.next = [&](Customer& c) {
        if (come == n) return false;
        c.number = come++;
        c.release = arrival[c.number];
        const std::string name = "order " + std::to_string(c.number);
        std::size_t visit = 0;
        do {
            for (std::size_t s = 0; s < mu.size(); ++s, ++visit)
                c.then(way[s],
                       {to_ticks(exponential_inverse(
                           1.0 / mu[s], draws.uniform({subject, 0, name_key(name), visit})))});
        } while (draws.uniform({subject, c.number, name_key("rework"), visit}) < back);
        if (c.number >= warm) own += static_cast<double>(visit) / static_cast<double>(mu.size());
        return true;
    };
    traffic.passed = [&](const Customer& c, std::size_t visit, const CarriedPart& part) {
        const Tick end = part.operations[0].work_end;
        at[visit % mu.size()].add(asked[c.number], end);
        visits += visit % mu.size() == 0 && asked[c.number] > from && asked[c.number] <= until;
        if (c.number >= warm) stays += static_cast<double>(end - asked[c.number]) / ticks_per_unit;
        asked[c.number] = end;
    };
    run(ways, traffic);
    out = static_cast<double>(n - warm);
    const double span = static_cast<double>(until - from) / ticks_per_unit;
    return {{"visit rate of each station", visits / span}, {"L1", at[0].over(from, until).mean},
            {"L2", at[1].over(from, until).mean},          {"L3", at[2].over(from, until).mean},
            {"mean sojourn of an order", stays / out},     {"visits per order", own / out}};
}

}  // namespace study_test
