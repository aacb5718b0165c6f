// How it works: queues with states are solved as birth and death processes by their ratios, all
// others by their formula; waiting figures then come from Little's law. Each formula has its
// source beside its declaration.

#include "sched/statistics/queueing_theory.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "sched/statistics/probability.hpp"

namespace sched::study::theory {
namespace {

constexpr double endless = std::numeric_limits<double>::infinity();

/// Figures from state probabilities p[n], arrival rate in state n given, c servers.
template <class Arrival>
Steady from_birth_death(const std::vector<double>& weights, int servers, Arrival arrival) {
    double total = 0.0;
    for (const double w : weights) {
        total += w;
    }
    Steady s;
    double busy = 0.0;
    for (std::size_t n = 0; n < weights.size(); ++n) {
        const double p = weights[n] / total;
        const double count = static_cast<double>(n);
        s.in_system += count * p;
        s.in_queue += std::max(0.0, count - servers) * p;
        busy += std::min(count, static_cast<double>(servers)) * p;
        s.accepted += arrival(n) * p;
    }
    s.empty = weights[0] / total;
    s.utilisation = busy / servers;
    s.sojourn = s.in_system / s.accepted;
    s.wait = s.in_queue / s.accepted;
    return s;
}

}  // namespace

double erlang_b(int servers, double load) {
    double b = 1.0;
    for (int n = 1; n <= servers; ++n) {
        b = load * b / (n + load * b);
    }
    return b;
}

double erlang_c(int servers, double load) {
    const double rho = load / servers;
    if (rho >= 1.0) {
        return 1.0;
    }
    const double b = erlang_b(servers, load);
    return b / (1.0 - rho * (1.0 - b));
}

double load_at_blocking(int servers, double blocking) {
    double low = 0.0;
    double high = 1.0;
    while (erlang_b(servers, high) < blocking) {
        high *= 2.0;
    }
    for (int i = 0; i < 200 && high - low > 1e-15 * high; ++i) {
        const double middle = 0.5 * (low + high);
        (erlang_b(servers, middle) < blocking ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

Steady mmc(double lambda, double mu, int servers) {
    const double load = lambda / mu;
    const double rho = load / servers;
    Steady s{.utilisation = std::min(rho, 1.0), .accepted = lambda};
    s.waits = erlang_c(servers, load);
    if (rho >= 1.0) {
        s.in_system = s.in_queue = s.sojourn = s.wait = endless;
        return s;
    }
    double sum = 0.0;
    double term = 1.0;
    for (int n = 0; n < servers; ++n) {
        sum += term;
        term *= load / (n + 1);
    }
    s.empty = 1.0 / (sum + term / (1.0 - rho));
    s.in_queue = s.waits * rho / (1.0 - rho);
    s.in_system = s.in_queue + load;
    s.wait = s.waits / (servers * mu - lambda);
    s.sojourn = s.wait + 1.0 / mu;
    return s;
}

double mmc_wait_exceeds(double lambda, double mu, int servers, double t) {
    return erlang_c(servers, lambda / mu) * std::exp(-(servers * mu - lambda) * t);
}

Steady mmck(double lambda, double mu, int servers, int room) {
    assert(servers <= room);
    std::vector<double> weights = {1.0};
    for (int n = 1; n <= room; ++n) {
        weights.push_back(weights.back() * lambda / (std::min(n, servers) * mu));
    }
    const std::size_t full = static_cast<std::size_t>(room);
    Steady s =
        from_birth_death(weights, servers, [&](std::size_t n) { return n < full ? lambda : 0.0; });
    s.blocked = 1.0 - s.accepted / lambda;
    double queueing = 0.0;
    double total = 0.0;
    for (std::size_t n = 0; n < weights.size(); ++n) {
        total += weights[n];
        queueing += n >= static_cast<std::size_t>(servers) && n < full ? weights[n] : 0.0;
    }
    s.waits = queueing * lambda / total / s.accepted;
    return s;
}

Steady finite_source(int machines, double lambda, double mu, int repairers) {
    std::vector<double> weights = {1.0};
    for (int n = 1; n <= machines; ++n) {
        weights.push_back(weights.back() * (machines - n + 1) * lambda /
                          (std::min(n, repairers) * mu));
    }
    return from_birth_death(weights, repairers, [&](std::size_t n) {
        return lambda * (machines - static_cast<double>(n));
    });
}

Steady mg1(double lambda, double mean_service, double scv) {
    const double rho = lambda * mean_service;
    Steady s{.utilisation = std::min(rho, 1.0), .accepted = lambda};
    if (rho >= 1.0) {
        s.waits = 1.0;
        s.in_system = s.in_queue = s.sojourn = s.wait = endless;
        return s;
    }
    s.empty = 1.0 - rho;
    s.waits = rho;
    s.wait = rho * mean_service * (1.0 + scv) / 2.0 / (1.0 - rho);
    s.sojourn = s.wait + mean_service;
    s.in_queue = lambda * s.wait;
    s.in_system = s.in_queue + rho;
    return s;
}

double mg1_wait_variance(double lambda, double m1, double m2, double m3) {
    const double idle = 1.0 - lambda * m1;
    const double wait = lambda * m2 / 2.0 / idle;
    return wait * wait + lambda * m3 / (3.0 * idle);
}

double ps_sojourn(double lambda, double mean_service, double size) {
    return size / (1.0 - lambda * mean_service);
}

std::vector<double> priority_waits(std::span<const PriorityClass> classes) {
    double residual = 0.0;
    for (const auto& c : classes) {
        residual += c.lambda * c.m2 / 2.0;
    }
    std::vector<double> waits;
    double sigma = 0.0;
    for (const auto& c : classes) {
        const double before = sigma;
        sigma += c.lambda * c.m1;
        waits.push_back(residual / ((1.0 - before) * (1.0 - sigma)));
    }
    return waits;
}

std::vector<double> preemptive_sojourns(std::span<const PriorityClass> classes) {
    std::vector<double> sojourns;
    double sigma = 0.0;
    double residual = 0.0;
    for (const auto& c : classes) {
        const double before = sigma;
        sigma += c.lambda * c.m1;
        residual += c.lambda * c.m2 / 2.0;
        sojourns.push_back(c.m1 / (1.0 - before) + residual / ((1.0 - before) * (1.0 - sigma)));
    }
    return sojourns;
}

std::vector<double> priority_waits(std::span<const double> lambda, double mu, int servers) {
    double total = 0.0;
    for (const double l : lambda) {
        total += l;
    }
    const double scale = erlang_c(servers, total / mu) / (servers * mu);
    std::vector<double> waits;
    double sigma = 0.0;
    for (const double l : lambda) {
        const double before = sigma;
        sigma += l / (servers * mu);
        waits.push_back(scale / ((1.0 - before) * (1.0 - sigma)));
    }
    return waits;
}

std::vector<double> preemptive_sojourns(std::span<const double> lambda, double mu, int servers) {
    // The classes up to k see nothing of those below: together they are an M/M/c of their own.
    std::vector<double> sojourns;
    double total = 0.0;
    double known = 0.0;
    for (const double l : lambda) {
        total += l;
        const double all = mmc(total, mu, servers).sojourn * total;
        sojourns.push_back((all - known) / l);
        known = all;
    }
    return sojourns;
}

ClosedLine closed_line(int jobs, std::span<const double> means, double think) {
    ClosedLine line;
    line.in_station.assign(means.size(), 0.0);
    for (int n = 1; n <= jobs; ++n) {
        line.cycle_time = 0.0;
        for (std::size_t k = 0; k < means.size(); ++k) {
            line.cycle_time += means[k] * (1.0 + line.in_station[k]);
        }
        line.throughput = n / (think + line.cycle_time);
        for (std::size_t k = 0; k < means.size(); ++k) {
            line.in_station[k] = line.throughput * means[k] * (1.0 + line.in_station[k]);
        }
    }
    return line;
}

LineLimits line_limits(std::span<const LineStation> stations) {
    LineLimits limits{.bottleneck_rate = endless};
    for (std::size_t i = 0; i < stations.size(); ++i) {
        const double work = stations[i].time * stations[i].visits;
        limits.raw_process_time += work;
        if (work > 0.0 && stations[i].servers / work < limits.bottleneck_rate) {
            limits.bottleneck_rate = stations[i].servers / work;
            limits.bottleneck = static_cast<int>(i);
        }
    }
    limits.critical_wip = limits.bottleneck_rate * limits.raw_process_time;
    return limits;
}

Flow best_case(const LineLimits& line, double wip) {
    return {std::min(wip / line.raw_process_time, line.bottleneck_rate),
            std::max(line.raw_process_time, wip / line.bottleneck_rate)};
}

Flow worst_case(const LineLimits& line, double wip) {
    return {1.0 / line.raw_process_time, wip * line.raw_process_time};
}

Flow practical_worst_case(const LineLimits& line, double wip) {
    return {line.bottleneck_rate * wip / (line.critical_wip + wip - 1.0),
            line.raw_process_time + (wip - 1.0) / line.bottleneck_rate};
}

double wait_allen_cunneen(int servers, double rho, double ca2, double cs2, double mean_service) {
    const double lambda = rho * servers / mean_service;
    return mmc(lambda, 1.0 / mean_service, servers).wait * (ca2 + cs2) / 2.0;
}

double wait_sakasegawa(int servers, double rho, double ca2, double cs2, double mean_service) {
    return (ca2 + cs2) / 2.0 * std::pow(rho, std::sqrt(2.0 * (servers + 1.0)) - 1.0) /
           (servers * (1.0 - rho)) * mean_service;
}

double wait_kingman_bound(double rho, double ca2, double cs2, double mean_service) {
    const double lambda = rho / mean_service;
    return lambda * (ca2 / (lambda * lambda) + cs2 * mean_service * mean_service) / 2.0 /
           (1.0 - rho);
}

double departure_scv(int machines, double rho, double ca2, double ce2) {
    return 1.0 + (1.0 - rho * rho) * (ca2 - 1.0) +
           rho * rho / std::sqrt(static_cast<double>(machines)) * (ce2 - 1.0);
}

ProcessTime effective_process_time(double natural, double scv, double up, double repair,
                                   double repair_scv) {
    const double available = up / (up + repair);
    return {natural / available,
            scv + (1.0 + repair_scv) * available * (1.0 - available) * repair / natural};
}

int square_root_servers(double load, double beta) {
    return static_cast<int>(std::ceil(load + beta * std::sqrt(load) - 1e-9));
}

double halfin_whitt_wait(double beta) {
    const double density = std::exp(-0.5 * beta * beta) / std::sqrt(2.0 * std::acos(-1.0));
    return 1.0 / (1.0 + beta * normal_cdf(beta) / density);
}

int servers_for_wait(double load, double p) {
    int servers = std::max(1, static_cast<int>(std::floor(load)) + 1);
    while (erlang_c(servers, load) > p) {
        ++servers;
    }
    return servers;
}

}  // namespace sched::study::theory
