#pragma once
// Queueing systems of tests/data/study/queueing.csv as open lines and drying clocks of
// sched/engine. One call simulates one replication and gives every measure it can by the name that
// the table uses. Time unit: 1e6 ticks.

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "sched/engine/draws.hpp"
#include "sched/engine/drying_clock.hpp"
#include "tests/support/line.hpp"

namespace study_test {

using nlohmann::json;
using sched::engine::Draws;
using sched::engine::exponential_inverse;
using sched::engine::name_key;
using sched::engine::Tick;
using Figures = std::map<std::string, double>;

inline constexpr double ticks_per_unit = 1e6;

/// A sequence of positive times drawn from a law with given mean and squared coefficient of
/// variation; 0 constant, 1/k Erlang-k, 1 exponential, > 1 two exponentials with balanced means.
class Times {
public:
    Times(Draws draws, std::uint64_t subject, const char* purpose)
        : draws_(draws), subject_(subject), purpose_(name_key(purpose)) {}

    std::vector<double> of(std::size_t n, double mean, double scv) const {
        std::vector<double> t(n, mean);
        if (scv == 0.0) {
            return t;
        }
        if (scv <= 1.0) {
            const auto k = static_cast<std::size_t>(std::lround(1.0 / scv));
            std::vector<double> u(n * k);
            draws_.fill({subject_, 0, purpose_, 0}, u);
            for (std::size_t i = 0; i < n; ++i) {
                t[i] = 0.0;
                for (std::size_t j = 0; j < k; ++j) {
                    t[i] += exponential_inverse(mean / static_cast<double>(k), u[i * k + j]);
                }
            }
            return t;
        }
        std::vector<double> u(2 * n);
        draws_.fill({subject_, 0, purpose_, 0}, u);
        const double p = 0.5 * (1.0 + std::sqrt((scv - 1.0) / (scv + 1.0)));
        for (std::size_t i = 0; i < n; ++i) {
            const double share = u[2 * i] < p ? p : 1.0 - p;
            t[i] = exponential_inverse(0.5 * mean / share, u[2 * i + 1]);
        }
        return t;
    }

    std::vector<double> uniforms(std::size_t n) const {
        std::vector<double> u(n);
        draws_.fill({subject_, 0, purpose_, 0}, u);
        return u;
    }

private:
    Draws draws_;
    std::uint64_t subject_;
    std::uint64_t purpose_;
};

inline std::vector<Tick> to_ticks(const std::vector<double>& t) {
    std::vector<Tick> out(t.size());
    for (std::size_t i = 0; i < t.size(); ++i) {
        out[i] = std::llround(t[i] * ticks_per_unit);
    }
    return out;
}

/// What happened to each customer; departure -1: lost.
struct Record {
    std::vector<Tick> arrival;
    std::vector<Tick> departure;
    std::vector<Tick> queued;
    int servers = 1;  // for Lq; 0: no such thing
};

/// Measures over the customers after `warm` and the time from their first arrival to the last one.
/// Throws when Little's law or conservation fails on the whole run, exactly, in whole ticks.
inline Figures figures_of(const Record& r, std::size_t warm) {
    std::vector<Tick> in;
    std::vector<Tick> out;
    std::int64_t sojourns = 0;
    for (std::size_t i = 0; i < r.arrival.size(); ++i) {
        if (r.departure[i] >= 0) {
            in.push_back(r.arrival[i]);
            out.push_back(r.departure[i]);
            sojourns += r.departure[i] - r.arrival[i];
        }
    }
    std::sort(out.begin(), out.end());
    const Tick from = r.arrival[warm];
    const Tick to = r.arrival.back();
    std::vector<double> share(40, 0.0);   // time with exactly n inside, the last: n or more
    double moments[3] = {0.0, 0.0, 0.0};  // n, n^2, busy servers
    std::int64_t area = 0;
    std::size_t a = 0;
    std::size_t d = 0;
    Tick now = 0;
    std::int64_t n = 0;
    double busy_periods = 0.0;
    while (d < out.size()) {
        const bool enters = a < in.size() && in[a] <= out[d];
        const Tick next = enters ? in[a] : out[d];
        area += n * (next - now);
        const Tick window = std::min(next, to) - std::max(now, from);
        if (window > 0) {
            const double w = static_cast<double>(window);
            const double dn = static_cast<double>(n);
            share[std::min<std::size_t>(static_cast<std::size_t>(n), share.size() - 1)] += w;
            moments[0] += dn * w;
            moments[1] += dn * dn * w;
            moments[2] += std::min(dn, static_cast<double>(r.servers)) * w;
        }
        now = next;
        if (enters) {
            busy_periods += n == 0 && now >= from && now < to ? 1.0 : 0.0;
            ++n;
            ++a;
        } else {
            --n;
            ++d;
        }
    }
    if (n != 0 || a != in.size()) {
        throw std::logic_error("a customer is nowhere: conservation is broken");
    }
    if (area != sojourns) {
        throw std::logic_error("Little's law does not hold to the tick");
    }
    const double span = static_cast<double>(to - from);
    Figures f;
    const double L = moments[0] / span;
    f["L"] = L;
    f["Var(N)"] = moments[1] / span - L * L;
    f["Lq"] = (moments[0] - moments[2]) / span;
    f["rho"] = moments[2] / span / std::max(r.servers, 1);
    f["utilisation per server"] = f["rho"];
    double above = span;
    for (std::size_t k = 0; k < 6; ++k) {
        f["P(N=" + std::to_string(k) + ")"] = share[k] / span;
        f["P(N>=" + std::to_string(k) + ")"] = above / span;
        above -= share[k];
    }
    if (busy_periods > 0.0) {
        f["mean busy period"] = (span - share[0]) / busy_periods / ticks_per_unit;
    }
    std::vector<double> waits;
    std::vector<double> stays;
    double lost = 0.0;
    for (std::size_t i = warm; i < r.arrival.size(); ++i) {
        if (r.departure[i] < 0) {
            lost += 1.0;
            continue;
        }
        waits.push_back(static_cast<double>(r.queued[i]) / ticks_per_unit);
        stays.push_back(static_cast<double>(r.departure[i] - r.arrival[i]) / ticks_per_unit);
    }
    const double served = static_cast<double>(waits.size());
    f["P(block)"] = f["blocking (Erlang B)"] = lost / (lost + served);
    f["accepted rate"] = served / span * ticks_per_unit;
    if (busy_periods > 0.0) {
        f["mean number served in a busy period"] = served / busy_periods;
    }
    double sum = 0.0;
    double squares = 0.0;
    double waited = 0.0;
    for (const double w : waits) {
        sum += w;
        squares += w * w;
        waited += w > 0.0 ? 1.0 : 0.0;
    }
    f["Wq"] = f["Wq accepted"] = sum / served;
    f["Var(wait)"] = squares / served - (sum / served) * (sum / served);
    f["P(wait>0)"] = waited / served;
    f["mean wait of those who wait"] = waited > 0.0 ? sum / waited : 0.0;
    double stay = 0.0;
    for (const double s : stays) {
        stay += s;
    }
    f["W"] = f["W accepted"] = stay / served;
    std::sort(waits.begin(), waits.end());
    std::sort(stays.begin(), stays.end());
    const auto beyond = [&](const std::vector<double>& v, double x) {
        return static_cast<double>(v.end() - std::upper_bound(v.begin(), v.end(), x)) / served;
    };
    const auto rank = static_cast<std::size_t>(std::ceil(0.95 * served)) - 1;
    f["wait 95th percentile"] = waits[rank];
    f["sojourn 95th percentile"] = stays[rank];
    for (const double x : {0.0, 0.5, 1.0, 2.0, 3.0}) {
        f["wait beyond " + std::to_string(x)] = beyond(waits, x);
        f["stay beyond " + std::to_string(x)] = beyond(stays, x);
    }
    return f;
}

/// One station or a tandem of them, first come first served or by class.
struct LineCase {
    std::vector<double> interarrival;
    std::vector<std::vector<double>> service;  // per station
    std::vector<int> servers;                  // per station; 0: without limit
    int places = -1;
    std::vector<std::int32_t> priority;  // empty: first come first served
};

inline Record run_line(const LineCase& c) {
    using namespace sched::engine;
    LineModel model;
    for (std::size_t s = 0; s < c.service.size(); ++s) {
        model.pools.push_back({.capacity = c.servers[s] > 0 ? c.servers[s] : -1,
                               .queueing = c.priority.empty() ? Queueing::Fifo : Queueing::Priority,
                               .places = s == 0 ? c.places : -1});
        model.steps.push_back({.pool = static_cast<std::int32_t>(s)});
    }
    const std::size_t n = c.interarrival.size();
    const auto gaps = to_ticks(c.interarrival);
    std::vector<Tick> durations(n * c.service.size());
    for (std::size_t s = 0; s < c.service.size(); ++s) {
        for (std::size_t i = 0; i < n; ++i) {
            durations[i * c.service.size() + s] = std::llround(c.service[s][i] * ticks_per_unit);
        }
    }
    Record r{std::vector<Tick>(n), std::vector<Tick>(n), std::vector<Tick>(n), c.servers[0]};
    Tick at = 0;
    for (std::size_t i = 0; i < n; ++i) {
        r.arrival[i] = at += gaps[i];
    }
    const LineResult result = Line(model).run({gaps, durations, c.priority}, r.departure, r.queued);
    std::int64_t in_system = 0;
    std::int64_t served = 0;
    for (std::size_t i = 0; i < n; ++i) {
        if (r.departure[i] >= 0) {
            in_system += r.departure[i] - r.arrival[i];
            ++served;
        }
    }
    if (result.in_system_sum != in_system || result.served != served ||
        result.served + result.lost != static_cast<std::int64_t>(n)) {
        throw std::logic_error("the line's own sums disagree with its customers");
    }
    return r;
}

/// Processor sharing: the drying clock with base 2 and a cap of one runs at
/// min(2/(1+n), 1/n) = 1/n with n >= 1 inside.
inline Record run_sharing(const std::vector<double>& interarrival,
                          const std::vector<double>& service) {
    using sched::engine::DryingClock;
    static const std::vector<DryingClock::Step> steps = {{.from = 0, .base = 2.0, .cap = 1.0}};
    const std::size_t n = interarrival.size();
    Record r{std::vector<Tick>(n), std::vector<Tick>(n), std::vector<Tick>(n, 0), 0};
    std::vector<DryingClock::Stage> stages(n);
    DryingClock clock{steps};
    clock.reset(0);
    const auto collect = [&] {
        for (const auto& dry : clock.dry()) {
            r.departure[dry.who] = dry.at;
        }
        clock.clear_dry();
    };
    Tick at = 0;
    for (std::size_t i = 0; i < n; ++i) {
        r.arrival[i] = at += std::llround(interarrival[i] * ticks_per_unit);
        stages[i] = {.work = service[i] * ticks_per_unit, .share = 1.0};
        clock.advance(at);
        collect();
        clock.enter(static_cast<std::uint32_t>(i), {&stages[i], 1});
    }
    while (const auto change = clock.next_change()) {
        clock.advance(*change);
        collect();
    }
    return r;
}

/// Measures of one replication; nullopt: the model cannot be expressed as a line or a clock.
inline std::optional<Figures> simulate_line(const std::string& model, const json& p,
                                            std::uint64_t seed, std::uint64_t replication,
                                            std::size_t n, std::size_t warm) {
    const Draws draws(seed, replication);
    const std::uint64_t subject = name_key(model + p.dump());
    const Times gap(draws, subject, "interarrival");
    const Times serve(draws, subject, "service");
    const auto num = [&](const char* key) { return p.at(key).get<double>(); };
    const auto begins = [&](const char* text) { return model.rfind(text, 0) == 0; };
    const auto station = [&](double lambda, double mean, double scv, int c, int places) {
        return figures_of(
            run_line({gap.of(n, 1.0 / lambda, 1.0), {serve.of(n, mean, scv)}, {c}, places, {}}),
            warm);
    };
    const auto by_class = [&](const std::vector<double>& lambda, const std::vector<double>& means,
                              double scv, int c) {
        double total = 0.0;
        for (const double l : lambda)
            total += l;
        const auto u = Times(draws, subject, "class").uniforms(n);
        std::vector<std::int32_t> classes(n);
        auto service = serve.of(n, 1.0, scv);
        for (std::size_t i = 0; i < n; ++i) {
            double x = u[i] * total;
            while (x >= lambda[static_cast<std::size_t>(classes[i])] &&
                   static_cast<std::size_t>(classes[i]) + 1 < lambda.size()) {
                x -= lambda[static_cast<std::size_t>(classes[i]++)];
            }
            service[i] *= means[static_cast<std::size_t>(classes[i])];
        }
        const Record r = run_line({gap.of(n, 1.0 / total, 1.0), {service}, {c}, -1, classes});
        Figures f = figures_of(r, warm);
        for (std::size_t k = 0; k < lambda.size(); ++k) {
            double sum = 0.0;
            double count = 0.0;
            for (std::size_t i = warm; i < n; ++i) {
                if (static_cast<std::size_t>(classes[i]) == k) {
                    sum += static_cast<double>(r.queued[i]) / ticks_per_unit;
                    count += 1.0;
                }
            }
            f["Wq class " + std::to_string(k + 1)] = sum / count;
        }
        return f;
    };

    if (model == "M/M/1" || model == "M/M/c") {
        const double mu = num("mu");
        Figures f = station(num("lam"), 1.0 / mu, 1.0, p.value("c", 1), -1);
        if (mu == 1.0) {  // the table's limits are in units of 1/mu
            f["P(sojourn>2/mu)"] = f["stay beyond " + std::to_string(2.0)];
            f["P(wait>2/mu)"] = f["wait beyond " + std::to_string(2.0)];
            f["P(wait>1/mu)"] = f["wait beyond " + std::to_string(1.0)];
        }
        return f;
    }
    if (model == "M/M/c/c" && p.contains("a")) {
        return station(num("a"), 1.0, 1.0, p.at("c"), 0);
    }
    if (model == "M/M/c/K") {
        const int c = p.at("c");
        return station(num("lam"), 1.0 / num("mu"), 1.0, c, p.at("K").get<int>() - c);
    }
    if (model == "M/D/1" || model == "M/G/1" || model == "M/E2/1") {
        const double scv = model == "M/E2/1" ? 0.5 : p.value("scv", 0.0);
        Figures f = station(num("lam"), 1.0, scv, 1, -1);
        if (p.contains("t")) {
            f["P(wait<=t)"] = 1.0 - f["wait beyond " + std::to_string(num("t"))];
        }
        return f;
    }
    if (model == "M/U(0.5,1.5)/1") {
        auto service = serve.uniforms(n);
        for (double& s : service)
            s = num("lo") + s * (num("hi") - num("lo"));
        return figures_of(run_line({gap.of(n, 1.0 / num("lam"), 1.0), {service}, {1}, -1, {}}),
                          warm);
    }
    if (model == "M/M/inf") {
        Figures f = station(num("lam"), 1.0 / num("mu"), 1.0, 0, -1);
        // N(1) from empty, by blocks of 100 customers that each begin an empty room anew.
        const auto gaps = gap.of(n, 1.0 / num("lam"), 1.0);
        const auto service = serve.of(n, 1.0 / num("mu"), 1.0);
        double inside = 0.0;
        double blocks = 0.0;
        for (std::size_t b = 0; b + 100 <= n; b += 100, blocks += 1.0) {
            const auto cut = [&](const std::vector<double>& v) {
                const auto first = v.begin() + static_cast<std::ptrdiff_t>(b);
                return std::vector<double>(first, first + 100);
            };
            const Record r = run_line({cut(gaps), {cut(service)}, {0}, -1, {}});
            for (std::size_t i = 0; i < 100; ++i) {
                inside += r.arrival[i] <= 1'000'000 && r.departure[i] > 1'000'000 ? 1.0 : 0.0;
            }
        }
        f["E N(t=1) from empty"] = inside / blocks;
        return f;
    }
    if (begins("Jackson tandem")) {
        const auto gaps = gap.of(n, 1.0 / num("lam"), 1.0);
        const auto first = serve.of(n, 1.0 / p["mu"][0].get<double>(), 1.0);
        const auto second =
            Times(draws, subject, "service 2").of(n, 1.0 / p["mu"][1].get<double>(), 1.0);
        const int c1 = p["servers"][0];
        const Figures alone = figures_of(run_line({gaps, {first}, {c1}, -1, {}}), warm);
        const Figures both = figures_of(
            run_line({gaps, {first, second}, {c1, p["servers"][1].get<int>()}, -1, {}}), warm);
        Figures f{{"L", both.at("L")}, {"W", both.at("W")}};
        f["L1"] = alone.at("L");  // the second station does not act back on the first
        f["L2"] = f["L"] - f["L1"];
        f["P(N1=0,N2=0)"] = both.at("P(N=0)");
        return f;
    }
    if (begins("M/M/c non-preemptive")) {
        const auto lambda = p.at("lam").get<std::vector<double>>();
        return by_class(lambda, std::vector<double>(lambda.size(), 1.0 / num("mu")), 1.0,
                        p.at("c"));
    }
    if (model.find("classes") != std::string::npos &&
        model.find("non-preemptive") != std::string::npos) {
        return by_class(p.at("lam"), p.at("ES"), begins("M/D") ? 0.0 : 1.0, 1);
    }
    if (begins("M/M/1-SJF")) {
        const auto service = serve.of(n, 1.0, 1.0);
        std::vector<std::int32_t> shortest(n);
        for (std::size_t i = 0; i < n; ++i) {
            shortest[i] = static_cast<std::int32_t>(service[i] * ticks_per_unit);
        }
        return figures_of(
            run_line({gap.of(n, 1.0 / num("lam"), 1.0), {service}, {1}, -1, shortest}), warm);
    }
    if (model == "D/M/1" || model == "E2/M/1") {
        const double scv = model == "D/M/1" ? 0.0 : 0.5;
        return figures_of(
            run_line({gap.of(n, 1.0 / num("lam"), scv), {serve.of(n, 1.0, 1.0)}, {1}, -1, {}}),
            warm);
    }
    if (begins("M^[X]/M/1")) {
        const auto size = p.at("X").get<std::size_t>();
        const auto batches = gap.of(n / size, 1.0 / num("lam_batches"), 1.0);
        std::vector<double> gaps(n, 0.0);
        for (std::size_t b = 0; b < batches.size(); ++b)
            gaps[b * size] = batches[b];
        gaps.resize(batches.size() * size);
        auto service = serve.of(gaps.size(), 1.0, 1.0);
        return figures_of(run_line({gaps, {service}, {1}, -1, {}}), warm / size * size);
    }
    if (begins("M/M/1-PS") || begins("M/D/1-PS") || begins("M/G/1-PS")) {
        const auto gaps = gap.of(n, 1.0 / num("lam"), 1.0);
        if (!p.contains("x")) {
            const double scv = begins("M/M") ? 1.0 : begins("M/D") ? 0.0 : 4.0;
            return figures_of(run_sharing(gaps, serve.of(n, 1.0, scv)), warm);
        }
        // A law of mean 1 in which sizes 0.5, 1 and 3 occur: a fifth each, the rest exponential of
        // mean 0.25; the theory asks for no more.
        const auto kind = Times(draws, subject, "kind").uniforms(n);
        auto service = serve.of(n, 0.25, 1.0);
        for (std::size_t i = 0; i < n; ++i) {
            if (kind[i] < 0.6) service[i] = kind[i] < 0.2 ? 0.5 : kind[i] < 0.4 ? 1.0 : 3.0;
        }
        const Record r = run_sharing(gaps, service);
        double sum = 0.0;
        double count = 0.0;
        for (std::size_t i = warm; i < n; ++i) {
            if (kind[i] < 0.6 && service[i] == num("x")) {
                sum += static_cast<double>(r.departure[i] - r.arrival[i]) / ticks_per_unit;
                count += 1.0;
            }
        }
        return Figures{{"conditional sojourn E[T|x]", sum / count}};
    }
    return std::nullopt;
}

}  // namespace study_test
