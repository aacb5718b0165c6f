#include "sched/statistics/ranking.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

namespace sched::study {

Ranking select_best(int options, const RankingOptions& settings,
                    const std::function<std::vector<std::vector<double>>(
                        std::span<const int>, std::size_t, std::size_t)>& sample,
                    const std::function<bool(const Ranking&)>& look) {
    assert(options >= 1 && settings.first >= 2 && settings.indifference > 0.0);
    const std::size_t k = static_cast<std::size_t>(options);
    Ranking state{.in = std::vector<bool>(k, true),
                  .replications = std::vector<std::size_t>(k, 0),
                  .mean = std::vector<double>(k, 0.0)};
    std::vector<int> in(k);
    std::iota(in.begin(), in.end(), 0);
    std::vector<double> sum(k, 0.0);
    std::vector<std::vector<double>> first_values(k);
    std::vector<double> variance(k * k, 0.0);  // of differences, from the first replications
    double h2 = 0.0;
    if (k > 1) {
        const double df = static_cast<double>(settings.first) - 1.0;
        const double eta =
            0.5 * (std::pow(2.0 * (1.0 - settings.confidence) / (static_cast<double>(k) - 1.0),
                            -2.0 / df) -
                   1.0);
        h2 = 2.0 * eta * df;
    }
    const double sign = settings.largest ? 1.0 : -1.0;

    std::size_t done = 0;
    while (true) {
        const std::size_t upto =
            done == 0 ? settings.first
                      : std::min(settings.most, done + std::max<std::size_t>(1, settings.step));
        const auto values = sample(in, done, upto);
        for (std::size_t i = 0; i < in.size(); ++i) {
            const std::size_t o = static_cast<std::size_t>(in[i]);
            for (const double x : values[i]) {
                sum[o] += sign * x;
            }
            if (done == 0) {
                first_values[o] = values[i];
            }
            state.total += upto - done;
            state.replications[o] = upto;
            state.mean[o] = sign * sum[o] / static_cast<double>(upto);
        }
        if (done == 0) {
            const double n = static_cast<double>(settings.first);
            for (std::size_t a = 0; a < k; ++a) {
                for (std::size_t b = 0; b < k; ++b) {
                    const double mean = sign * (sum[a] - sum[b]) / n;
                    for (std::size_t r = 0; r < settings.first; ++r) {
                        const double d = first_values[a][r] - first_values[b][r] - mean;
                        variance[a * k + b] += d * d / (n - 1.0);
                    }
                }
            }
        }
        done = upto;
        // Option i stays if its mean is not below any other's by more than W(r), which shrinks to
        // 0.
        const double r = static_cast<double>(done);
        const double delta = settings.indifference;
        std::vector<int> stay;
        for (const int i : in) {
            const std::size_t a = static_cast<std::size_t>(i);
            const bool keeps = std::all_of(in.begin(), in.end(), [&](int l) {
                const std::size_t b = static_cast<std::size_t>(l);
                const double slack = std::max(
                    0.0, delta / (2.0 * r) * (h2 * variance[a * k + b] / (delta * delta) - r));
                return a == b || sum[a] / r >= sum[b] / r - slack;
            });
            if (keeps) {
                stay.push_back(i);
            }
        }
        // Exact ties with no slack left: within the indifference zone, the first one will do.
        const auto best = *std::max_element(stay.begin(), stay.end(), [&](int a, int b) {
            return sum[static_cast<std::size_t>(a)] < sum[static_cast<std::size_t>(b)];
        });
        state.best = best;
        const bool all_slack_gone = std::all_of(in.begin(), in.end(), [&](int i) {
            return std::all_of(in.begin(), in.end(), [&](int l) {
                return h2 *
                           variance[static_cast<std::size_t>(i) * k + static_cast<std::size_t>(l)] /
                           (delta * delta) <=
                       r;
            });
        });
        if (all_slack_gone) {
            stay = {best};
        }
        // The best leaves l behind after r replications when d >= h2 S2 / (2 delta r) - delta / 2.
        double needed = 0.0;
        for (const int l : stay) {
            if (l == best) continue;
            const std::size_t a = static_cast<std::size_t>(best), b = static_cast<std::size_t>(l);
            const double d = std::max(0.0, (sum[a] - sum[b]) / r);
            needed = std::max(needed, h2 * variance[a * k + b] / (delta * (2.0 * d + delta)));
        }
        state.further =
            stay.size() == 1
                ? 0
                : std::max<std::size_t>(
                      1, static_cast<std::size_t>(std::ceil(std::max(0.0, needed - r))));
        in = std::move(stay);
        std::fill(state.in.begin(), state.in.end(), false);
        for (const int i : in) {
            state.in[static_cast<std::size_t>(i)] = true;
        }
        state.decided = in.size() == 1;
        const bool go_on = !look || look(state);
        if (state.decided || done >= settings.most || !go_on) {
            return state;
        }
    }
}

}  // namespace sched::study
