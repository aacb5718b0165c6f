// How it works: one walk over arrivals and departures in order of time adds up how long each number
// of customers was inside; the sums over customers and the area under that number must agree.

#include "tests/support/queue_figures.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace study_test {

using sched::engine::exponential_inverse;

Tick to_ticks(double t) {
    return std::max<Tick>(1, std::llround(t * ticks_per_unit));
}

std::vector<double> Times::of(std::size_t n, double mean, double scv) const {
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

std::vector<double> Times::uniforms(std::size_t n) const {
    std::vector<double> u(n);
    draws_.fill({subject_, 0, purpose_, 0}, u);
    return u;
}

Figures figures_of(const Record& r, std::size_t warm) {
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
    for (const double x : {0.0, 0.25, 0.5, 1.0, 2.0, 3.0}) {
        f["wait beyond " + std::to_string(x)] = beyond(waits, x);
        f["stay beyond " + std::to_string(x)] = beyond(stays, x);
    }
    return f;
}

Levels::Shares Levels::over(Tick from, Tick to) {
    std::sort(changes_.begin(), changes_.end());
    Shares s;
    Tick at = from;
    int level = 0;
    for (const auto& [time, by] : changes_) {
        const Tick until = std::min(time, to);
        if (until > at) {
            const auto w = static_cast<double>(until - at);
            s.mean += w * level;
            s.some += level > 0 ? w : 0.0;
            at = until;
        }
        level += by;
    }
    const auto span = static_cast<double>(to - from);
    s.mean /= span;
    s.some /= span;
    return s;
}

}  // namespace study_test
