// How it works: each model of the table is one of the shapes of queue_shapes.hpp with the table's
// parameters and drawn times; its measures are named as the table names them.

#include "tests/support/queue_systems.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "tests/support/queue_shapes.hpp"

namespace study_test {

namespace {

bool begins(const std::string& model, const char* text) {
    return model.rfind(text, 0) == 0;
}

/// Customers of several classes.
struct Mixed {
    std::vector<Tick> arrival;
    std::vector<double> service;
    std::vector<std::size_t> kind;
};

Mixed mixed(const Draws& draws, std::uint64_t subject, std::size_t n,
            const std::vector<double>& rates, const std::vector<double>& means, double scv) {
    double total = 0.0;
    for (const double r : rates)
        total += r;
    Mixed m{arrivals(Times(draws, subject, "interarrival").of(n, 1.0 / total, 1.0)),
            Times(draws, subject, "service").of(n, 1.0, scv), std::vector<std::size_t>(n, 0)};
    const auto u = Times(draws, subject, "class").uniforms(n);
    for (std::size_t i = 0; i < n; ++i) {
        double x = u[i] * total;
        while (m.kind[i] + 1 < rates.size() && x >= rates[m.kind[i]])
            x -= rates[m.kind[i]++];
        m.service[i] *= means[m.kind[i]];
    }
    return m;
}

/// Mean over the customers of a class after the warm-up, in units.
template <class Value>
double mean_of(const Mixed& m, std::size_t kind, std::size_t warm, Value value) {
    double sum = 0.0, count = 0.0;
    for (std::size_t i = warm; i < m.kind.size(); ++i) {
        if (m.kind[i] != kind) continue;
        sum += static_cast<double>(value(i)) / ticks_per_unit;
        count += 1.0;
    }
    return sum / count;
}

/// Number inside `t` after an empty room of unlimited servers opens: blocks of `block` customers,
/// each in a room that the last has left.
double inside_at(const std::vector<double>& gaps, const std::vector<double>& service,
                 std::size_t block, double t) {
    std::vector<Tick> arrival, begins;
    std::vector<std::vector<double>> own(1);
    Tick open = 0, last = 0;
    for (std::size_t b = 0; b + block <= gaps.size(); b += block) {
        open = last + 1;
        begins.push_back(open);
        Tick at = open;
        for (std::size_t i = b; i < b + block; ++i) {
            arrival.push_back(at += std::llround(gaps[i] * ticks_per_unit));
            own[0].push_back(service[i]);
            last = std::max(last, at + to_ticks(service[i]));
        }
    }
    const Record r = serve({arrival, own, {without_limit}, {}});
    double inside = 0.0;
    for (std::size_t i = 0; i < arrival.size(); ++i) {
        const Tick look = begins[i / block] + to_ticks(t);
        inside += arrival[i] <= look && r.departure[i] > look ? 1.0 : 0.0;
    }
    return inside / static_cast<double>(begins.size());
}

}  // namespace

std::string why_not(const std::string& model, const json& p, const std::string& measure) {
    if (model == "M/M/c/c" && p.contains("blocking"))
        return "a formula turned round (the load at which so much is lost): nothing to simulate";
    if (begins(model, "M/M/1-SRPT") || model.find("LCFS-PR") != std::string::npos)
        return "who comes last or has least left takes the server away: in a room work that has "
               "begun is interrupted by hours and breaks alone, never by other work";
    if (begins(model, "M/M/c preemptive") && p.at("c") > 1)
        return "interrupted work that goes on at whichever server comes free: a step stays where "
               "it has begun";
    if (begins(model, "M/M^[b]/1"))
        return "a batch under way is joined: members of a batch begin together";
    if (begins(model, "M/M(a,b)/1"))
        return "a length drawn for the batch, whoever is in it: in a room a batch lasts as long as "
               "its longest member";
    if (begins(model, "M/D(a,b)/1") && p.at("a") > 1)
        return "waits until so many are there, whoever they are: a room waits for named company";
    if (model == "M/M/c/c//N") return "refused and asks again later: a way is known when it begins";
    if (measure == "r0") return "a root of the characteristic equation, no time or number";
    return "";
}

std::optional<Figures> simulate_system(const std::string& model, const json& p, std::uint64_t seed,
                                       std::uint64_t replication, std::size_t n, std::size_t warm) {
    if (!why_not(model, p, "").empty()) return std::nullopt;
    const Draws draws(seed, replication);
    const std::uint64_t subject = name_key(model + p.dump());
    const Times gap(draws, subject, "interarrival"), time(draws, subject, "service");
    const auto num = [&](const char* key) { return p.at(key).get<double>(); };
    const auto station = [&](double lambda, double arrival_scv, double mean, double scv, int c) {
        return figures_of(
            serve(
                {arrivals(gap.of(n, 1.0 / lambda, arrival_scv)), {time.of(n, mean, scv)}, {c}, {}}),
            warm);
    };
    if (model == "M/M/1" || model == "M/M/c") {
        const double mu = num("mu");
        Figures f = station(num("lam"), 1.0, 1.0 / mu, 1.0, p.value("c", 1));
        // The table's limits are in units of 1/mu; measured: beyond 1, 2 units of time.
        const auto limit = [&](double k) { return std::to_string(k / mu); };
        if (f.contains("stay beyond " + limit(2.0))) {
            f["P(sojourn>2/mu)"] = f["stay beyond " + limit(2.0)];
            f["P(wait>2/mu)"] = f["wait beyond " + limit(2.0)];
        }
        if (f.contains("wait beyond " + limit(1.0)))
            f["P(wait>1/mu)"] = f["wait beyond " + limit(1.0)];
        return f;
    }
    if (model == "M/M/c/c" || model == "M/M/c/K") {
        const int c = p.at("c");
        const double lambda = p.contains("a") ? num("a") : num("lam");
        return figures_of(
            serve_or_lose(arrivals(gap.of(n, 1.0 / lambda, 1.0)),
                          time.of(n, 1.0 / p.value("mu", 1.0), 1.0), c, p.value("K", c) - c),
            warm);
    }
    if (model == "M/D/1" || model == "M/G/1" || model == "M/E2/1") {
        Figures f = station(num("lam"), 1.0, 1.0, model == "M/E2/1" ? 0.5 : p.value("scv", 0.0), 1);
        if (p.contains("t")) f["P(wait<=t)"] = 1.0 - f["wait beyond " + std::to_string(num("t"))];
        return f;
    }
    if (model == "M/U(0.5,1.5)/1") {
        auto service = time.uniforms(n);
        for (double& s : service)
            s = num("lo") + s * (num("hi") - num("lo"));
        return figures_of(serve({arrivals(gap.of(n, 1.0 / num("lam"), 1.0)), {service}, {1}, {}}),
                          warm);
    }
    if (model == "D/M/1" || model == "E2/M/1") {
        Figures f = station(num("lam"), model == "D/M/1" ? 0.0 : 0.5, 1.0, 1.0, 1);
        f["sigma"] = f.at("P(wait>0)");  // who comes finds the server busy: Kleinrock vol. 1, 6.3
        return f;
    }
    if (model == "M/M/inf" || model == "M/D/inf") {
        const double mean = model == "M/D/inf" ? num("D") : 1.0 / num("mu");
        const double scv = model == "M/D/inf" ? 0.0 : 1.0;
        const double t = model == "M/D/inf" ? 0.5 : 1.0;
        Figures f = station(num("lam"), 1.0, mean, scv, without_limit);
        f[model == "M/D/inf" ? "E N(t=0.5) from empty" : "E N(t=1) from empty"] =
            inside_at(gap.of(n, 1.0 / num("lam"), 1.0), time.of(n, mean, scv), 40, t);
        return f;
    }
    if (begins(model, "Jackson tandem")) {
        Line line{arrivals(gap.of(n, 1.0 / num("lam"), 1.0)), {}, p["servers"], {}};
        line.service = {
            time.of(n, 1.0 / p["mu"][0].get<double>(), 1.0),
            Times(draws, subject, "service 2").of(n, 1.0 / p["mu"][1].get<double>(), 1.0)};
        Levels first;
        const Figures both = figures_of(serve(line, &first), warm);
        Figures f{{"L", both.at("L")}, {"W", both.at("W")}, {"P(N1=0,N2=0)", both.at("P(N=0)")}};
        f["L1"] = first.over(line.arrival[warm], line.arrival.back()).mean;
        f["L2"] = f["L"] - f["L1"];
        return f;
    }
    if (begins(model, "M/M/1-SJF")) {
        Line line{arrivals(gap.of(n, 1.0 / num("lam"), 1.0)), {time.of(n, 1.0, 1.0)}, {1}, {}};
        for (const double s : line.service[0])
            line.rank.push_back(to_ticks(s));
        return figures_of(serve(line), warm);
    }
    if (begins(model, "M^[X]/M/1")) {
        const auto size = p.at("X").get<std::size_t>();
        const auto batches = gap.of(n / size, 1.0 / num("lam_batches"), 1.0);
        std::vector<double> gaps(batches.size() * size, 0.0);
        for (std::size_t b = 0; b < batches.size(); ++b)
            gaps[b * size] = batches[b];
        const std::size_t all = gaps.size();
        return figures_of(serve({arrivals(gaps), {time.of(all, 1.0, 1.0)}, {1}, {}}),
                          warm / size * size);
    }
    if (model.find("-PS") != std::string::npos) {
        const auto arrival = arrivals(gap.of(n, 1.0 / num("lam"), 1.0));
        if (!p.contains("x")) {
            const double scv = begins(model, "M/M") ? 1.0 : begins(model, "M/D") ? 0.0 : 4.0;
            return figures_of(share(arrival, time.of(n, 1.0, scv)), warm);
        }
        // A law of mean 1 in which sizes 0.5, 1 and 3 occur: a fifth each, the rest exponential of
        // mean 0.25; the theory asks for no more.
        Mixed m{arrival, time.of(n, 0.25, 1.0), std::vector<std::size_t>(n, 0)};
        const auto u = Times(draws, subject, "kind").uniforms(n);
        for (std::size_t i = 0; i < n; ++i) {
            if (u[i] >= 0.6) continue;
            m.service[i] = u[i] < 0.2 ? 0.5 : u[i] < 0.4 ? 1.0 : 3.0;
            m.kind[i] = m.service[i] == num("x") ? 1 : 0;
        }
        const Record r = share(arrival, m.service);
        return Figures{{"conditional sojourn E[T|x]", mean_of(m, 1, warm, [&](std::size_t i) {
                            return r.departure[i] - r.arrival[i];
                        })}};
    }
    if (begins(model, "M/D(a,b)/1") || begins(model, "Bailey")) {
        return serve_together(arrivals(gap.of(n, 1.0 / num("lam"), 1.0)), p.at("b"), num("D"),
                              begins(model, "Bailey"), warm);
    }
    if (begins(model, "Jackson rework")) return go_back(p, draws, subject, n, warm);
    if (model == "effective process time") return fails(p, draws, subject, n);
    if (begins(model, "closed") || model == "M/M/c//N") {
        const bool machines = model == "M/M/c//N";
        Closed net{.customers = p.at("N"), .means = {}, .servers = {}};
        if (machines) {
            net.means = {1.0 / num("lam_per_machine"), 1.0 / num("mu")};
            net.servers = {-1, p.at("c")};
        } else {
            net.means = p.at("means").get<std::vector<double>>();
            net.servers.assign(net.means.size(), 1);
            if (p.contains("Z")) {
                net.means.insert(net.means.begin(), num("Z"));
                net.servers.insert(net.servers.begin(), -1);
            }
        }
        ClosedSeen seen = go_round(net, draws, subject, n);
        const auto customers = static_cast<double>(net.customers);
        Figures f{{"throughput", seen.rounds / seen.span()},
                  {"cycle time", customers * seen.span() / seen.rounds}};
        if (!machines) {
            if (seen.at.size() > 1 && !p.contains("Z"))
                f["mean number at station 2"] = seen.at[1].over(seen.from, seen.until).mean;
            return f;
        }
        const auto down = seen.at[1].over(seen.from, seen.until);
        const double busy = seen.rounds / seen.span() * net.means[1];
        f["P(N=0)"] = 1.0 - down.some;
        f["mean machines down L"] = down.mean;
        f["Lq"] = down.mean - busy;
        f["W at repair"] = seen.stays / seen.served;
        f["Wq at repair"] = seen.waits / seen.served;
        f["machine availability"] = seen.at[0].over(seen.from, seen.until).mean / customers;
        f["repairer utilisation"] = busy / num("c");
        return f;
    }
    if (model.find("classes") != std::string::npos) {
        const auto rates = p.at("lam").get<std::vector<double>>();
        std::vector<double> means(rates.size(), p.contains("mu") ? 1.0 / num("mu") : 1.0);
        if (p.contains("ES")) means = p.at("ES").get<std::vector<double>>();
        const Mixed m = mixed(draws, subject, n, rates, means, begins(model, "M/D") ? 0.0 : 1.0);
        Figures f;
        if (model.find("non-preemptive") != std::string::npos) {
            Line line{m.arrival, {m.service}, {p.value("c", 1)}, {}};
            line.rank.assign(m.kind.begin(), m.kind.end());
            const Record r = serve(line);
            for (std::size_t k = 0; k < rates.size(); ++k)
                f["Wq class " + std::to_string(k + 1)] =
                    mean_of(m, k, warm, [&](std::size_t i) { return r.queued[i]; });
            return f;
        }
        const auto departure = called_away(m.arrival, m.service, m.kind, rates.size());
        for (std::size_t k = 0; k < rates.size(); ++k) {
            const std::string name = "class " + std::to_string(k + 1);
            f["W " + name] =
                mean_of(m, k, warm, [&](std::size_t i) { return departure[i] - m.arrival[i]; });
            f["W - 1/mu " + name] = f["W " + name] - means[k];
        }
        return f;
    }
    return std::nullopt;
}

}  // namespace study_test
