#pragma once
// What a plain line cannot say: work that is interrupted, customers that come back, batches. On the
// engine's event list and draws, as the rows of queueing.csv need them; same time unit as
// truth_line.hpp.

#include <algorithm>
#include <cmath>
#include <functional>
#include <stdexcept>
#include <vector>

#include "sched/engine/event_queue.hpp"
#include "tests/study/truth_line.hpp"

namespace study_test {

using sched::engine::Event;
using sched::engine::EventQueue;

/// How many are inside over time, in whole ticks; a warm-up is left out.
class LevelOverTime {
public:
    explicit LevelOverTime(Tick from) : from_(from) {}
    void change(Tick now, int by) {
        add(now);
        level_ += by;
    }
    void add(Tick now) {
        if (now > from_) {
            const double w = static_cast<double>(now - std::max(last_, from_));
            area_ += w * level_;
            busy_ += w * (level_ > 0 ? 1.0 : 0.0);
        }
        last_ = now;
    }
    int level() const { return level_; }
    double mean(Tick until) const { return area_ / static_cast<double>(until - from_); }
    double some(Tick until) const { return busy_ / static_cast<double>(until - from_); }

private:
    Tick from_, last_ = 0;
    int level_ = 0;
    double area_ = 0.0, busy_ = 0.0;
};

/// One station at which whoever matters more takes the server at once; work is resumed where it was
/// left. @param before(a, b): a is served rather than b.
/// @returns departure per customer. Ends of work are events; one that was interrupted is stale.
inline std::vector<Tick> run_interrupted(
    const std::vector<Tick>& arrival, const std::vector<Tick>& work, std::size_t servers,
    const std::function<bool(std::size_t, std::size_t, const std::vector<Tick>&)>& before) {
    const std::size_t n = arrival.size();
    std::vector<Tick> left = work, departure(n, -1), since(n, -1);
    std::vector<std::uint32_t> version(n, 0);
    std::vector<std::size_t> inside;
    EventQueue queue;
    queue.push(arrival[0], 0, 0);
    while (!queue.empty()) {
        const Event e = queue.pop();
        const auto who = static_cast<std::size_t>(e.whom);
        if (e.what != 0 && e.what != version[who]) continue;
        for (const std::size_t i : inside) {  // what has been done up to now
            if (since[i] >= 0) left[i] -= e.time - since[i];
            if (since[i] >= 0) since[i] = e.time;
        }
        if (e.what == 0) {
            inside.push_back(who);
            if (who + 1 < n) queue.push(arrival[who + 1], 0, e.whom + 1);
        } else {
            departure[who] = e.time;
            inside.erase(std::find(inside.begin(), inside.end(), who));
        }
        std::stable_sort(inside.begin(), inside.end(),
                         [&](std::size_t a, std::size_t b) { return before(a, b, left); });
        for (std::size_t k = 0; k < inside.size(); ++k) {
            const std::size_t i = inside[k];
            const bool served = k < servers;
            if (served == (since[i] >= 0)) continue;
            ++version[i];
            since[i] = served ? e.time : -1;
            if (served) queue.push(e.time + left[i], version[i], static_cast<std::uint32_t>(i));
        }
    }
    return departure;
}

/// First come, first served stations; customers go where `next` says. @param next(customer, visit)
/// station and work of a visit; station < 0: out of the network.
struct Network {
    struct Visit {
        int station = -1;
        Tick work = 0;
    };
    std::vector<int> servers;  // per station; < 0: without limit
    std::function<Visit(std::size_t customer, std::size_t visit)> next;

    /// Called when a customer asks for a station, and when it is done there.
    std::function<void(std::size_t customer, int station, Tick now, bool asks)> see;

    /// @param come when customers come in, in order of time. Stops at `until`.
    void run(const std::vector<Tick>& come, Tick until) const {
        struct Station {
            int free = 0;
            std::vector<std::size_t> queue;
            std::size_t head = 0;
        };
        std::vector<Station> stations;
        for (const int c : servers)
            stations.push_back({c < 0 ? 1 << 30 : c, {}, 0});
        std::vector<std::size_t> visit(come.size(), 0);
        std::vector<Visit> now_at(come.size());
        EventQueue queue;
        const auto begin = [&](std::size_t who, Tick now) {
            --stations[static_cast<std::size_t>(now_at[who].station)].free;
            queue.push(now + now_at[who].work, 1, static_cast<std::uint32_t>(who));
        };
        const auto ask = [&](std::size_t who, Tick now) {
            now_at[who] = next(who, visit[who]++);
            if (now_at[who].station < 0) {
                see(who, -1, now, true);
                return;
            }
            see(who, now_at[who].station, now, true);
            Station& s = stations[static_cast<std::size_t>(now_at[who].station)];
            if (s.free > 0)
                begin(who, now);
            else
                s.queue.push_back(who);
        };
        queue.push(come[0], 0, 0);
        while (!queue.empty()) {
            const Event e = queue.pop();
            if (e.time > until) return;
            const auto who = static_cast<std::size_t>(e.whom);
            if (e.what == 0) {
                if (who + 1 < come.size()) queue.push(come[who + 1], 0, e.whom + 1);
            } else {
                const int at = now_at[who].station;
                Station& s = stations[static_cast<std::size_t>(at)];
                ++s.free;
                see(who, at, e.time, false);
                if (s.head < s.queue.size()) {
                    begin(s.queue[s.head++], e.time);
                    if (s.head > 1024) {
                        s.queue.erase(s.queue.begin(),
                                      s.queue.begin() + static_cast<std::ptrdiff_t>(s.head));
                        s.head = 0;
                    }
                }
            }
            ask(who, e.time);
        }
    }
};

/// Batches of at least `least` and at most `most`; a batch under way is joined or not. Work of the
/// k-th batch: work[k]. @param every > 0: batches leave at its multiples instead.
struct Bulk {
    std::size_t least = 1, most = 1;
    bool joinable = false;
    Tick every = 0;
};

inline Figures run_bulk(const Bulk& b, const std::vector<Tick>& gaps, const std::vector<Tick>& work,
                        std::size_t warm) {
    const std::size_t n = gaps.size();
    std::vector<Tick> arrival(n);
    Tick at = 0;
    for (std::size_t i = 0; i < n; ++i)
        arrival[i] = at += gaps[i];
    const Tick from = arrival[warm], until = arrival[n - 1];
    LevelOverTime inside(from), waiting(from), serving(from);
    EventQueue queue;
    queue.push(arrival[0], 0, 0);
    if (b.every > 0) queue.push(b.every, 1, 0);
    std::size_t first = 0, in_service = 0, batches = 0, counted = 0;
    double sizes = 0.0, waits = 0.0, stays = 0.0, before = 0.0, left = 0.0;
    std::vector<std::size_t> members;  // under way
    bool busy = false;
    std::size_t come = 0;
    const auto take = [&](Tick now, std::size_t count) {
        for (std::size_t k = 0; k < count; ++k) {
            if (first >= warm) waits += static_cast<double>(now - arrival[first]);
            members.push_back(first++);
        }
        in_service += count;
        waiting.change(now, -static_cast<int>(count));
    };
    const auto start = [&](Tick now) {
        const std::size_t ready = come - first;
        if (busy || b.every > 0 || ready < b.least) return;
        busy = true;
        take(now, std::min(ready, b.most));
        serving.change(now, 1);
        if (now >= from) {
            sizes += static_cast<double>(in_service);
            ++counted;
        }
        queue.push(now + work[batches++ % work.size()], 1, 0);
    };
    while (!queue.empty()) {
        const Event e = queue.pop();
        if (e.time > until) break;
        if (e.what == 0) {
            ++come;
            inside.change(e.time, 1);
            waiting.change(e.time, 1);
            if (come < n) queue.push(arrival[come], 0, static_cast<std::uint32_t>(come));
            if (busy && b.joinable && in_service < b.most) take(e.time, 1);
        } else if (b.every > 0) {
            const std::size_t ready = come - first;
            if (e.time > from) {
                before += static_cast<double>(ready);
                ++counted;
            }
            const std::size_t count = std::min(ready, b.most);
            take(e.time, count);
            inside.change(e.time, -static_cast<int>(count));
            members.clear();
            in_service = 0;
            queue.push(e.time + b.every, 1, 0);
        } else {
            for (const std::size_t m : members) {
                if (m >= warm) {
                    stays += static_cast<double>(e.time - arrival[m]);
                    left += 1.0;
                }
            }
            inside.change(e.time, -static_cast<int>(in_service));
            members.clear();
            in_service = 0;
            busy = false;
            serving.change(e.time, -1);
        }
        start(e.time);
    }
    inside.add(until);
    waiting.add(until);
    serving.add(until);
    const double served = static_cast<double>(first - std::min(first, warm));
    Figures f;
    f["L"] = inside.mean(until);
    f["P(N=0)"] = 1.0 - inside.some(until);
    f["Lq"] = f["time-average number waiting"] = waiting.mean(until);
    f["Wq"] = waits / served / ticks_per_unit;
    f["W"] = left > 0.0 ? stays / left / ticks_per_unit : 0.0;
    f["P(server idle)"] = 1.0 - serving.some(until);
    f["mean batch size"] = counted > 0 ? sizes / static_cast<double>(counted) : 0.0;
    f["mean queue just before a service instant"] =
        counted > 0 ? before / static_cast<double>(counted) : 0.0;
    return f;
}

/// Measures of one replication; nullopt: simulate_line may know it, or nobody.
inline std::optional<Figures> simulate_network(const std::string& model, const json& p,
                                               std::uint64_t seed, std::uint64_t replication,
                                               std::size_t n, std::size_t warm) {
    const Draws draws(seed, replication);
    const std::uint64_t subject = name_key(model + p.dump());
    const Times gap(draws, subject, "interarrival"), serve(draws, subject, "service");
    const auto num = [&](const char* key) { return p.at(key).get<double>(); };
    const auto begins = [&](const char* text) { return model.rfind(text, 0) == 0; };
    const auto times_of = [](const std::vector<Tick>& gaps) {
        std::vector<Tick> at(gaps.size());
        Tick t = 0;
        for (std::size_t i = 0; i < gaps.size(); ++i)
            at[i] = t += gaps[i];
        return at;
    };
    const auto exponential = [&](const char* purpose, std::size_t number, double mean) {
        return static_cast<Tick>(std::llround(
            ticks_per_unit *
            exponential_inverse(mean, draws.uniform({subject, 0, name_key(purpose), number}))));
    };

    const bool classes = model.find("preemptive") != std::string::npos &&
                         model.find("non-preemptive") == std::string::npos;
    if (classes || begins("M/M/1-SRPT") || model.find("LCFS-PR") != std::string::npos) {
        std::vector<double> rates =
            classes ? p.at("lam").get<std::vector<double>>() : std::vector{num("lam")};
        std::vector<double> means(rates.size(), 1.0);
        if (p.contains("ES") && p["ES"].is_array()) means = p["ES"].get<std::vector<double>>();
        if (classes && p.contains("mu")) means.assign(rates.size(), 1.0 / num("mu"));
        double total = 0.0;
        for (const double r : rates)
            total += r;
        const double scv = begins("M/D")                              ? 0.0
                           : model.find("scv=4") != std::string::npos ? 4.0
                                                                      : 1.0;
        auto service = serve.of(n, 1.0, scv);
        const auto u = Times(draws, subject, "class").uniforms(n);
        std::vector<std::size_t> kind(n, 0);
        for (std::size_t i = 0; i < n; ++i) {
            double x = u[i] * total;
            while (kind[i] + 1 < rates.size() && x >= rates[kind[i]])
                x -= rates[kind[i]++];
            service[i] *= means[kind[i]];
        }
        const auto arrival = times_of(to_ticks(gap.of(n, 1.0 / total, 1.0)));
        const bool last = model.find("LCFS") != std::string::npos, shortest = begins("M/M/1-SRPT");
        const auto departure =
            run_interrupted(arrival, to_ticks(service), p.value("c", std::size_t{1}),
                            [&](std::size_t a, std::size_t b, const std::vector<Tick>& left) {
                                if (last) return a > b;
                                if (shortest)
                                    return left[a] < left[b] || (left[a] == left[b] && a < b);
                                return kind[a] < kind[b] || (kind[a] == kind[b] && a < b);
                            });
        Record r{arrival, departure, std::vector<Tick>(n, 0), 0};
        Figures all = figures_of(r, warm);
        Figures f{{"L", all.at("L")}, {"W", all.at("W")}};
        for (std::size_t k = 0; classes && k < rates.size(); ++k) {
            double sum = 0.0, count = 0.0;
            for (std::size_t i = warm; i < n; ++i) {
                if (kind[i] != k) continue;
                sum += static_cast<double>(departure[i] - arrival[i]) / ticks_per_unit;
                count += 1.0;
            }
            const std::string name = "class " + std::to_string(k + 1);
            f["W " + name] = sum / count;
            f["W - 1/mu " + name] = sum / count - means[k];
        }
        return f;
    }

    if (begins("M/M^[b]/1") || begins("M/M(a,b)/1") || begins("M/D(a,b)/1") || begins("Bailey")) {
        Bulk bulk{.least = p.value("a", std::size_t{1}), .most = p.at("b")};
        bulk.joinable = begins("M/M^[b]");
        const double mean = p.contains("mu") ? 1.0 / num("mu") : num("D");
        if (begins("Bailey")) bulk.every = std::llround(mean * ticks_per_unit);
        const double scv = p.contains("mu") ? 1.0 : 0.0;
        return run_bulk(bulk, to_ticks(gap.of(n, 1.0 / num("lam"), 1.0)),
                        to_ticks(serve.of(n, mean, scv)), warm);
    }

    if (model == "M/D/inf") {
        // N(0.5) from empty, by blocks of 20 customers that each begin an empty room anew.
        const auto gaps = gap.of(n, 1.0 / num("lam"), 1.0);
        double inside = 0.0, blocks = 0.0;
        for (std::size_t b = 0; b + 20 <= n; b += 20, blocks += 1.0) {
            const std::vector<double> own(gaps.begin() + static_cast<std::ptrdiff_t>(b),
                                          gaps.begin() + static_cast<std::ptrdiff_t>(b + 20));
            const Record r = run_line({own, {std::vector<double>(20, num("D"))}, {0}, -1, {}});
            for (std::size_t i = 0; i < 20; ++i)
                inside += r.arrival[i] <= 500'000 && r.departure[i] > 500'000 ? 1.0 : 0.0;
        }
        return Figures{{"E N(t=0.5) from empty", inside / blocks}};
    }

    // Closed networks: station 0 is where they are at home (thinking, running), if there is one.
    if (begins("closed") || model == "M/M/c//N" || model == "M/M/c/c//N") {
        const std::size_t customers = p.at("N");
        const bool machines = !begins("closed");
        const bool lost = model == "M/M/c/c//N";
        std::vector<double> means;
        std::vector<int> servers;
        if (machines) {
            means = {1.0 / num(lost ? "lam_per_source" : "lam_per_machine"), 1.0 / num("mu")};
            servers = {-1, lost ? -1 : p.at("c").get<int>()};
        } else {
            means = p.at("means").get<std::vector<double>>();
            servers.assign(means.size(), 1);
            if (p.contains("Z")) {
                means.insert(means.begin(), num("Z"));
                servers.insert(servers.begin(), -1);
            }
        }
        double cycle = 0.0;
        for (const double m : means)
            cycle += m;
        const auto until = static_cast<Tick>(ticks_per_unit * cycle * static_cast<double>(n) /
                                             static_cast<double>(2 * customers));
        const Tick from = until / 5;
        std::vector<LevelOverTime> at(means.size(), LevelOverTime(from));
        double done = 0.0, asked = 0.0, refused = 0.0;
        LevelOverTime full(from);
        std::vector<std::size_t> turn(customers, 0);
        std::vector<Tick> asked_at(customers, 0);
        double waits = 0.0, repaired = 0.0;
        Network net;
        net.servers = servers;
        std::vector<char> blocked(customers, 0);
        net.next = [&](std::size_t who, std::size_t visit) -> Network::Visit {
            auto station = visit % means.size();
            if (lost && station == 1 && at[1].level() >= p.at("c").get<int>()) {
                // Refused: it goes home again. Asked for a visit of no length.
                blocked[who] = 1;
                return {1, 0};
            }
            blocked[who] = 0;
            return {static_cast<int>(station),
                    exponential(("visit " + std::to_string(who)).c_str(), visit, means[station])};
        };
        net.see = [&](std::size_t who, int station, Tick now, bool asks) {
            const auto s = static_cast<std::size_t>(station);
            if (asks) {
                asked_at[who] = now;
                if (lost && s == 1 && now > from) {
                    asked += 1.0;
                    refused += blocked[who];
                }
                if (!blocked[who]) at[s].change(now, 1);
                if (lost && s == 1 && !blocked[who] && at[1].level() == p.at("c").get<int>())
                    full.change(now, 1);
                return;
            }
            if (lost && s == 1 && !blocked[who] && at[1].level() == p.at("c").get<int>())
                full.change(now, -1);
            if (!(s == 1 && blocked[who])) at[s].change(now, -1);
            if (now <= from) return;
            if (s + 1 == means.size()) done += 1.0;
            if (machines && s == 1) {
                waits += static_cast<double>(now - asked_at[who]) / ticks_per_unit;
                repaired += 1.0;
            }
        };
        net.run(std::vector<Tick>(customers, 0), until);
        for (auto& a : at)
            a.add(until);
        full.add(until);
        const double span = static_cast<double>(until - from) / ticks_per_unit;
        Figures f;
        if (lost) {
            f["time blocking"] = full.some(until);
            f["call blocking"] = refused / asked;
            return f;
        }
        f["throughput"] = done / span;
        f["cycle time"] = static_cast<double>(customers) * span / done;
        if (machines) {
            const double down = at[1].mean(until);
            const double busy = done / span * means[1];
            f["P(N=0)"] = 1.0 - at[1].some(until);
            f["mean machines down L"] = down;
            f["Lq"] = down - busy;
            f["W at repair"] = waits / repaired;
            f["Wq at repair"] = waits / repaired - means[1];
            f["machine availability"] = at[0].mean(until) / static_cast<double>(customers);
            f["repairer utilisation"] = busy / p.at("c").get<double>();
        } else if (at.size() > 1) {
            f["mean number at station 2"] = at[p.contains("Z") ? 2 : 1].mean(until);
        }
        return f;
    }

    if (begins("Jackson rework")) {
        const auto mu = p.at("mu").get<std::vector<double>>();
        const double back = num("rework_prob");
        const auto arrival = times_of(to_ticks(gap.of(n, 1.0 / num("gamma"), 1.0)));
        const Tick from = arrival[warm], until = arrival[n - 1];
        std::vector<LevelOverTime> at(3, LevelOverTime(from));
        double visits = 0.0, out = 0.0, stays = 0.0;
        std::vector<double> own(n, 0.0);
        double own_visits = 0.0;
        Network net;
        net.servers = {1, 1, 1};
        net.next = [&](std::size_t who, std::size_t visit) -> Network::Visit {
            const std::size_t station = visit % 3;
            const std::string name = "order " + std::to_string(who);
            if (station == 0 && visit > 0 &&
                draws.uniform({subject, who, name_key("rework"), visit}) >= back)
                return {};
            if (station == 0) own[who] += 1.0;
            return {static_cast<int>(station), exponential(name.c_str(), visit, 1.0 / mu[station])};
        };
        net.see = [&](std::size_t who, int station, Tick now, bool asks) {
            if (station < 0) {
                if (who >= warm) {
                    out += 1.0;
                    own_visits += own[who];
                    stays += static_cast<double>(now - arrival[who]) / ticks_per_unit;
                }
                return;
            }
            at[static_cast<std::size_t>(station)].change(now, asks ? 1 : -1);
            if (asks && station == 0 && now > from) visits += 1.0;
        };
        net.run(arrival, until);
        for (auto& a : at)
            a.add(until);
        const double span = static_cast<double>(until - from) / ticks_per_unit;
        return Figures{{"visit rate of each station", visits / span},
                       {"L1", at[0].mean(until)},
                       {"L2", at[1].mean(until)},
                       {"L3", at[2].mean(until)},
                       {"mean sojourn of an order", stays / out},
                       {"visits per order", own_visits / out}};
    }
    return std::nullopt;
}

/// Lines, clocks and networks: whoever knows the model.
inline std::optional<Figures> simulate_any(const std::string& model, const json& p,
                                           std::uint64_t seed, std::uint64_t replication,
                                           std::size_t n, std::size_t warm) {
    auto figures = simulate_network(model, p, seed, replication, n, warm);
    return figures ? figures : simulate_line(model, p, seed, replication, n, warm);
}

}  // namespace study_test
