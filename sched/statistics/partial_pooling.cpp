// How it works: factors take turns. Each explains what mean and the other factors leave over: means
// of its levels, drawn together by random_effects. What is censored counts as its expected value
// under the present fit, and for less than one observation, by as much as its variance says.

#include "sched/statistics/partial_pooling.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "sched/core/index.hpp"
#include "sched/statistics/probability.hpp"

namespace sched::study {

RandomEffects random_effects(std::span<const GroupMean> groups) {
    RandomEffects out;
    double sum = 0.0, squares = 0.0, weighted = 0.0;
    for (const GroupMean& g : groups) {
        const double w = 1.0 / g.variance;
        sum += w;
        squares += w * w;
        weighted += w * g.value;
    }
    out.mean = weighted / sum;
    for (const GroupMean& g : groups)
        out.q += (g.value - out.mean) * (g.value - out.mean) / g.variance;
    const double k = static_cast<double>(groups.size());
    const double divisor = sum - squares / sum;
    if (divisor > 0.0) out.between = std::max(0.0, (out.q - (k - 1.0)) / divisor);
    sum = weighted = 0.0;
    for (const GroupMean& g : groups) {
        const double w = 1.0 / (g.variance + out.between);
        sum += w;
        weighted += w * g.value;
    }
    out.mean = weighted / sum;
    out.mean_variance = 1.0 / sum;
    for (const GroupMean& g : groups) {
        const double b = g.variance / (g.variance + out.between);
        out.shrunken.push_back({out.mean + (1.0 - b) * (g.value - out.mean),
                                g.variance * (1.0 - b) + b * b * out.mean_variance});
    }
    return out;
}

double design_effect(std::span<const double> values, std::span<const int> cluster) {
    if (values.size() < 2) return 1.0;
    double mean = 0.0;
    for (const double v : values)
        mean += v / static_cast<double>(values.size());
    std::map<int, double> sums;
    double squares = 0.0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        sums[cluster[i]] += values[i] - mean;
        squares += (values[i] - mean) * (values[i] - mean);
    }
    if (squares <= 0.0) return 1.0;
    double together = 0.0;
    for (const auto& [key, sum] : sums)
        together += sum * sum;
    return std::max(1.0, together / squares);
}

namespace {

/// Expectation and variance of a normal value known to lie in [low, high].
struct Expected {
    double value = 0.0;
    double variance = 0.0;
};

Expected within(double low, double high, double mean, double sigma) {
    const double a = (low - mean) / sigma;
    const double b = (high - mean) / sigma;
    const auto density = [](double z) {
        return std::isinf(z) ? 0.0 : std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::acos(-1.0));
    };
    const double chance = a > 0.0 ? normal_cdf(-a) - normal_cdf(-b) : normal_cdf(b) - normal_cdf(a);
    // Far out in a tail it lies at the near end.
    if (!(chance > 1e-12)) return {a > 0.0 ? low : high, 0.0};
    const double shift = (density(a) - density(b)) / chance;
    const double ends =
        ((std::isinf(a) ? 0.0 : a * density(a)) - (std::isinf(b) ? 0.0 : b * density(b))) / chance;
    return {mean + sigma * shift, sigma * sigma * std::clamp(1.0 + ends - shift * shift, 0.0, 1.0)};
}

struct Row {
    double low, high;  // ln
    const std::vector<int>* level;
    Expected now;
    double fitted = 0.0;
};

struct Sums {
    double weight = 0.0, value = 0.0;
    std::size_t n = 0;
};

}  // namespace

PooledFit pool_lengths(std::span<const PooledLength> lengths, std::span<const int> levels) {
    PooledFit fit;
    fit.between.assign(levels.size(), 0.0);
    for (const int k : levels)
        fit.effects.emplace_back(ix(k));
    std::vector<Row> rows;
    for (const PooledLength& l : lengths) {
        if (l.length.tells())
            rows.push_back({std::log(l.length.low), std::log(l.length.high), &l.level, {}, 0.0});
    }
    std::vector<Observed> plain;
    for (const PooledLength& l : lengths)
        plain.push_back(l.length);
    const auto start = fit_censored(Family::Lognormal, plain);
    if (!start) return fit;
    fit.n = rows.size();
    fit.mean = std::log(start->scale);
    fit.sigma = std::max(1e-3, start->shape);
    const double n = static_cast<double>(rows.size());

    for (int round = 0; round < 200; ++round) {
        const double mean_before = fit.mean, sigma_before = fit.sigma;
        double told = 0.0;  // in whole observations
        for (Row& r : rows) {
            r.fitted = fit.mean;
            for (std::size_t f = 0; f < levels.size(); ++f) {
                const int l = (*r.level)[f];
                if (l >= 0) r.fitted += fit.effects[f][ix(l)].value;
            }
            r.now =
                r.low == r.high ? Expected{r.low, 0.0} : within(r.low, r.high, r.fitted, fit.sigma);
            told += 1.0 - r.now.variance / (fit.sigma * fit.sigma);
        }
        double freedom = 1.0;
        for (std::size_t f = 0; f < levels.size(); ++f) {
            auto& effects = fit.effects[f];
            std::vector<Sums> of(effects.size());
            for (const Row& r : rows) {
                const int l = (*r.level)[f];
                if (l < 0) continue;
                Sums& s = of[ix(l)];
                // The level's own mean, the other factors taken out.
                s.value += r.now.value - r.fitted + effects[ix(l)].value;
                s.weight += 1.0 - r.now.variance / (fit.sigma * fit.sigma);
                ++s.n;
            }
            std::vector<GroupMean> means;
            std::vector<std::size_t> which;
            for (std::size_t l = 0; l < of.size(); ++l) {
                effects[l].n = of[l].n;
                if (of[l].n == 0) continue;
                which.push_back(l);
                means.push_back({of[l].value / static_cast<double>(of[l].n),
                                 fit.sigma * fit.sigma / std::max(0.05, of[l].weight)});
            }
            if (means.size() < 2) continue;
            const RandomEffects drawn = random_effects(means);
            fit.between[f] = drawn.between;
            double centre = 0.0, count = 0.0;
            for (std::size_t k = 0; k < which.size(); ++k) {
                centre += static_cast<double>(of[which[k]].n) * drawn.shrunken[k].value;
                count += static_cast<double>(of[which[k]].n);
            }
            centre /= count;
            for (std::size_t k = 0; k < which.size(); ++k) {
                auto& e = effects[which[k]];
                const double value = drawn.shrunken[k].value - centre;
                for (Row& r : rows) {
                    if ((*r.level)[f] == static_cast<int>(which[k])) r.fitted += value - e.value;
                }
                e.value = value;
                e.variance = drawn.shrunken[k].variance;
                freedom += drawn.between / (drawn.between + means[k].variance);
            }
        }
        double off = 0.0;
        for (const Row& r : rows)
            off += r.now.value - r.fitted;
        off /= n;
        fit.mean += off;
        double squares = 0.0;
        for (const Row& r : rows)
            squares +=
                (r.now.value - r.fitted - off) * (r.now.value - r.fitted - off) + r.now.variance;
        fit.sigma = std::sqrt(std::max(1e-6, squares / std::max(1.0, n - freedom)));
        fit.variance = fit.sigma * fit.sigma / std::max(1.0, told);
        if (std::abs(fit.mean - mean_before) + std::abs(fit.sigma - sigma_before) < 1e-7) break;
    }
    return fit;
}

}  // namespace sched::study
