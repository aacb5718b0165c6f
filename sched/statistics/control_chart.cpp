#include "sched/statistics/control_chart.hpp"

#include <algorithm>
#include <cmath>

#include "sched/statistics/probability.hpp"

namespace sched::study {

EwmaChart ewma_chart(std::span<const double> values, double target, double sigma,
                     const EwmaOptions& options) {
    EwmaChart out;
    double level = target;
    double left = 1.0;  // weight of the start, squared
    std::size_t crossed = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double before = level;
        level = options.weight * values[i] + (1.0 - options.weight) * level;
        left *= (1.0 - options.weight) * (1.0 - options.weight);
        const double half = options.width * sigma *
                            std::sqrt(options.weight / (2.0 - options.weight) *
                                      (options.steady ? 1.0 : 1.0 - left));
        if ((level - target) * (before - target) <= 0.0) crossed = i;
        out.level.push_back(level);
        out.half_width.push_back(half);
        if (!out.signal && std::abs(level - target) > half) {
            out.signal = i;
            out.since = crossed;
        }
    }
    return out;
}

double ewma_run_length(double shift, const EwmaOptions& options) {
    // The levels between the limits in so many bands; more change the fourth digit.
    constexpr std::size_t bands = 101;
    const double limit = options.width * std::sqrt(options.weight / (2.0 - options.weight));
    const double band = 2.0 * limit / static_cast<double>(bands);
    const auto middle = [&](std::size_t i) {
        return -limit + band * (static_cast<double>(i) + 0.5);
    };
    // (I - Q) x = 1, by elimination; the rows sum to less than one, so no pivot is needed.
    std::vector<std::vector<double>> rows(bands, std::vector<double>(bands + 1, 1.0));
    for (std::size_t i = 0; i < bands; ++i) {
        const double kept = (1.0 - options.weight) * middle(i);
        double below = normal_cdf((-limit - kept) / options.weight - shift);
        for (std::size_t j = 0; j < bands; ++j) {
            const double upper = middle(j) + 0.5 * band;
            const double above = normal_cdf((upper - kept) / options.weight - shift);
            rows[i][j] = (i == j ? 1.0 : 0.0) - (above - below);
            below = above;
        }
    }
    for (std::size_t k = 0; k < bands; ++k) {
        for (std::size_t i = k + 1; i < bands; ++i) {
            const double times = rows[i][k] / rows[k][k];
            for (std::size_t j = k; j <= bands; ++j)
                rows[i][j] -= times * rows[k][j];
        }
    }
    std::vector<double> length(bands);
    for (std::size_t k = bands; k-- > 0;) {
        double rest = rows[k][bands];
        for (std::size_t j = k + 1; j < bands; ++j)
            rest -= rows[k][j] * length[j];
        length[k] = rest / rows[k][k];
    }
    return length[bands / 2];
}

double ewma_width(double weight, double run_length) {
    double low = 0.5, high = 8.0;
    for (int round = 0; round < 30; ++round) {
        const double width = 0.5 * (low + high);
        const bool longer = ewma_run_length(0.0, {.weight = weight, .width = width}) > run_length;
        (longer ? high : low) = width;
    }
    return 0.5 * (low + high);
}

std::size_t change_point(std::span<const double> values) {
    const double n = static_cast<double>(values.size());
    double all = 0.0;
    for (const double v : values)
        all += v;
    std::size_t best = 1;
    double most = -1.0, sum = 0.0;
    for (std::size_t k = 1; k < values.size(); ++k) {
        sum += values[k - 1];
        const double before = static_cast<double>(k);
        const double apart = sum / before - (all - sum) / (n - before);
        const double gain = before * (n - before) * apart * apart;
        if (gain <= most) continue;
        most = gain;
        best = k;
    }
    return best;
}

}  // namespace sched::study
