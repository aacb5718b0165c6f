// How it works: each function takes plain numbers and gives a value with its interval; squares
// are summed about the mean or kept up to date value by value (Welford), so that long rows lose
// no digits. Intervals of quantiles are pairs of ranks with their binomial coverage; the
// warm-up is the cut with the least standard error of what remains, found from the back in one
// pass.

#include "sched/statistics/output_analysis.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "sched/statistics/probability.hpp"

namespace sched::study {
namespace {

double mean_of(std::span<const double> y) {
    double sum = 0.0;
    for (const double x : y) {
        sum += x;
    }
    return sum / static_cast<double>(y.size());
}

double squares_about(std::span<const double> y, double mean) {
    double sum = 0.0;
    for (const double x : y) {
        sum += (x - mean) * (x - mean);
    }
    return sum;
}

Moments moments_of(std::span<const double> y) {
    Moments m;
    for (const double x : y) {
        m.add(x);
    }
    return m;
}

// t, p and interval from difference, squared error and degrees of freedom.
Difference finished(Difference d, double confidence) {
    const double error = std::sqrt(d.variance_of_mean);
    if (error > 0.0) {
        d.t = d.difference / error;
        d.p = t_two_sided(d.t, d.df);
        const double half = t_quantile(0.5 + 0.5 * confidence, d.df) * error;
        d.interval = {d.difference - half, d.difference + half};
    } else {
        d.p = d.difference == 0.0 ? 1.0 : 0.0;
        d.interval = {d.difference, d.difference};
    }
    return d;
}

}  // namespace

void Moments::add(double x) {
    ++count_;
    const double step = x - mean_;
    mean_ += step / static_cast<double>(count_);
    squares_ += step * (x - mean_);
}

double Moments::variance() const {
    return count_ < 2 ? 0.0 : squares_ / static_cast<double>(count_ - 1);
}

MeanInterval mean_interval(const Moments& m, double confidence) {
    MeanInterval r{m.count(), m.mean(), m.variance(), std::numeric_limits<double>::infinity()};
    if (r.n >= 2) {
        const double n = static_cast<double>(r.n);
        r.half_width = t_quantile(0.5 + 0.5 * confidence, n - 1.0) * std::sqrt(r.variance / n);
    }
    return r;
}

MeanInterval mean_interval(std::span<const double> values, double confidence) {
    assert(!values.empty());
    return mean_interval(moments_of(values), confidence);
}

Interval variance_interval(std::span<const double> values, double confidence) {
    assert(values.size() >= 2);
    const double df = static_cast<double>(values.size() - 1);
    const double squares = moments_of(values).variance() * df;
    return {squares / chi_square_quantile(0.5 + 0.5 * confidence, df),
            squares / chi_square_quantile(0.5 - 0.5 * confidence, df)};
}

Difference paired_difference(std::span<const double> a, std::span<const double> b,
                             double confidence) {
    assert(a.size() == b.size() && a.size() >= 2);
    Moments m;
    for (std::size_t i = 0; i < a.size(); ++i) {
        m.add(a[i] - b[i]);
    }
    const double n = static_cast<double>(m.count());
    return finished({.difference = m.mean(), .variance_of_mean = m.variance() / n, .df = n - 1.0},
                    confidence);
}

Difference welch_difference(std::span<const double> a, std::span<const double> b,
                            double confidence) {
    assert(a.size() >= 2 && b.size() >= 2);
    const Moments ma = moments_of(a);
    const Moments mb = moments_of(b);
    const double na = static_cast<double>(a.size());
    const double nb = static_cast<double>(b.size());
    const double va = ma.variance() / na;
    const double vb = mb.variance() / nb;
    Difference d{
        .difference = ma.mean() - mb.mean(), .variance_of_mean = va + vb, .df = na + nb - 2};
    if (va + vb > 0.0) {
        d.df = (va + vb) * (va + vb) / (va * va / (na - 1.0) + vb * vb / (nb - 1.0));
    }
    return finished(d, confidence);
}

double bonferroni_t(int k, double overall, double df) {
    return t_quantile(1.0 - (1.0 - overall) / (2.0 * k), df);
}

std::size_t replications_from_pilot(std::size_t pilot, double variance, double half_width,
                                    double confidence) {
    const double t = t_quantile(0.5 + 0.5 * confidence, static_cast<double>(pilot) - 1.0);
    return static_cast<std::size_t>(std::ceil(t * t * variance / (half_width * half_width)));
}

std::size_t replications_absolute(std::size_t pilot, double variance, double half_width,
                                  double confidence) {
    assert(half_width > 0.0);
    std::size_t i = std::max<std::size_t>(pilot, 2);
    while (t_quantile(0.5 + 0.5 * confidence, static_cast<double>(i) - 1.0) *
               std::sqrt(variance / static_cast<double>(i)) >
           half_width) {
        ++i;
    }
    return i;
}

std::size_t replications_relative(std::size_t pilot, double variance, double mean, double relative,
                                  double confidence) {
    return replications_absolute(pilot, variance, std::abs(mean) * relative / (1.0 + relative),
                                 confidence);
}

bool precise_enough(const MeanInterval& interval, const Precision& wanted) {
    return interval.n >= std::max<std::size_t>(wanted.least, 2) &&
           interval.half_width <=
               std::abs(interval.mean) * wanted.relative / (1.0 + wanted.relative);
}

double sample_quantile(std::span<const double> sorted, double q, QuantileType type) {
    assert(!sorted.empty() && q >= 0.0 && q <= 1.0);
    const double n = static_cast<double>(sorted.size());
    if (type == QuantileType::First) {
        return sorted[static_cast<std::size_t>(std::clamp(std::ceil(n * q), 1.0, n)) - 1];
    }
    double position = 0.0;  // rank counted from 1
    switch (type) {
        case QuantileType::Fifth:
            position = n * q + 0.5;
            break;
        case QuantileType::Sixth:
            position = (n + 1.0) * q;
            break;
        case QuantileType::Eighth:
            position = (n + 1.0 / 3.0) * q + 1.0 / 3.0;
            break;
        case QuantileType::First:
        case QuantileType::Seventh:
            position = (n - 1.0) * q + 1.0;
            break;
    }
    position = std::clamp(position, 1.0, n);
    const double below = std::floor(position);
    const std::size_t i = static_cast<std::size_t>(below) - 1;
    const std::size_t j = std::min(i + 1, sorted.size() - 1);
    return sorted[i] + (position - below) * (sorted[j] - sorted[i]);
}

double rank_coverage(int n, double q, int lower, int upper) {
    return binomial_cdf(upper - 1, n, q) - binomial_cdf(lower - 1, n, q);
}

QuantileRanks quantile_ranks(int n, double q, double confidence) {
    const double tail = 0.5 * (1.0 - confidence);
    QuantileRanks r;
    while (r.lower < n && binomial_cdf(r.lower, n, q) <= tail) {
        ++r.lower;
    }
    r.upper = n + 1;
    while (r.upper > 1 && 1.0 - binomial_cdf(r.upper - 2, n, q) <= tail) {
        --r.upper;
    }
    r.coverage = rank_coverage(n, q, r.lower, r.upper);
    return r;
}

Interval quantile_interval(std::span<const double> sorted, double q, double confidence) {
    assert(!sorted.empty());
    const int n = static_cast<int>(sorted.size());
    const QuantileRanks r = quantile_ranks(n, q, confidence);
    constexpr double infinity = std::numeric_limits<double>::infinity();
    return {r.lower < 1 ? -infinity : sorted[static_cast<std::size_t>(r.lower) - 1],
            r.upper > n ? infinity : sorted[static_cast<std::size_t>(r.upper) - 1]};
}

int smallest_sample_above(double q, double confidence) {
    return static_cast<int>(std::ceil(std::log1p(-confidence) / std::log(q)));
}

Interval wilson_interval(std::int64_t k, std::int64_t n, double confidence) {
    assert(n >= 1 && k >= 0 && k <= n);
    const double z = normal_quantile(0.5 + 0.5 * confidence);
    const double dn = static_cast<double>(n);
    const double p = static_cast<double>(k) / dn;
    const double scale = 1.0 / (1.0 + z * z / dn);
    const double centre = scale * (p + z * z / (2.0 * dn));
    const double half = scale * z * std::sqrt(p * (1.0 - p) / dn + z * z / (4.0 * dn * dn));
    // The ends are exactly 0 and 1 there; rounding would leave 1e-17.
    return {k == 0 ? 0.0 : centre - half, k == n ? 1.0 : centre + half};
}

Interval clopper_pearson(std::int64_t k, std::int64_t n, double confidence) {
    const double a = 0.5 * (1.0 - confidence);
    const double dk = static_cast<double>(k);
    const double dn = static_cast<double>(n);
    return {k == 0 ? 0.0 : beta_quantile(a, dk, dn - dk + 1.0),
            k == n ? 1.0 : beta_quantile(1.0 - a, dk + 1.0, dn - dk)};
}

double none_seen_upper(std::int64_t n, double confidence) {
    return -std::expm1(std::log1p(-confidence) / static_cast<double>(n));
}

double autocorrelation(std::span<const double> y, std::size_t lag) {
    assert(lag < y.size());
    const double mean = mean_of(y);
    double sum = 0.0;
    for (std::size_t i = lag; i < y.size(); ++i) {
        sum += (y[i] - mean) * (y[i - lag] - mean);
    }
    const double squares = squares_about(y, mean);
    return squares > 0.0 ? sum / squares : 0.0;
}

double von_neumann_ratio(std::span<const double> y) {
    double sum = 0.0;
    for (std::size_t i = 1; i < y.size(); ++i) {
        sum += (y[i] - y[i - 1]) * (y[i] - y[i - 1]);
    }
    const double squares = squares_about(y, mean_of(y));
    return squares > 0.0 ? sum / squares : 0.0;
}

std::vector<double> batch_means(std::span<const double> y, std::size_t batches) {
    assert(batches >= 1 && batches <= y.size());
    const std::size_t size = y.size() / batches;
    const auto kept = y.last(size * batches);
    std::vector<double> means;
    means.reserve(batches);
    for (std::size_t b = 0; b < batches; ++b) {
        means.push_back(mean_of(kept.subspan(b * size, size)));
    }
    return means;
}

BatchedMean batched_mean(std::span<const double> sums, std::span<const double> counts,
                         std::size_t batches, double confidence) {
    assert(sums.size() == counts.size());
    if (batches < 3 || sums.size() < 2 * batches) return {};
    const std::size_t size = sums.size() / batches, skip = sums.size() - size * batches;
    std::vector<double> sum(batches, 0.0), count(batches, 0.0);
    for (std::size_t i = skip; i < sums.size(); ++i) {
        sum[(i - skip) / size] += sums[i];
        count[(i - skip) / size] += counts[i];
    }
    double all = 0.0, n = 0.0;
    for (std::size_t b = 0; b < batches; ++b) {
        all += sum[b];
        n += count[b];
    }
    if (n <= 0.0) return {};
    const double ratio = all / n, mean_count = n / static_cast<double>(batches);
    std::vector<double> residual;
    for (std::size_t b = 0; b < batches; ++b)
        residual.push_back((sum[b] - ratio * count[b]) / mean_count);
    BatchedMean out;
    if (squares_about(residual, mean_of(residual)) > 0.0)
        out.correlation = autocorrelation(residual, 1) + 1.0 / static_cast<double>(batches);
    const double r = std::clamp(out.correlation, 0.0, 0.8);
    out.mean = skewed_interval(residual, confidence, std::sqrt((1.0 + r) / (1.0 - r)));
    out.mean.mean = ratio;
    return out;
}

MeanInterval skewed_interval(std::span<const double> values, double confidence, double wider) {
    MeanInterval out = mean_interval(moments_of(values), confidence);
    out.half_width *= wider;
    const double n = static_cast<double>(values.size());
    if (values.size() < 3 || out.variance <= 0.0) return out;
    double cubes = 0.0;
    for (const double x : values)
        cubes += std::pow(x - out.mean, 3.0);
    const double skewness = n / ((n - 1.0) * (n - 2.0)) * cubes / std::pow(out.variance, 1.5);
    const double beta = skewness / (6.0 * std::sqrt(n));
    if (std::abs(beta) < 1e-9) return out;
    const auto moved = [&](double t) {
        return (std::cbrt(1.0 + 6.0 * beta * (t - beta)) - 1.0) / (2.0 * beta);
    };
    const double error = wider * std::sqrt(out.variance / n);
    const double t = t_quantile(0.5 + 0.5 * confidence, n - 1.0);
    const double below = moved(t) * error, above = -moved(-t) * error;
    out.half_width = 0.5 * (above + below);
    out.shift = 0.5 * (above - below);
    return out;
}

Growth growth_of(std::span<const double> level) {
    if (level.size() < 8) return {};
    const double n = static_cast<double>(level.size());
    const double mean = mean_of(level), middle = (n - 1.0) / 2.0;
    double xy = 0.0, xx = 0.0;
    for (std::size_t i = 0; i < level.size(); ++i) {
        const double x = static_cast<double>(i) - middle;
        xy += x * (level[i] - mean);
        xx += x * x;
    }
    Growth out{.slope = xy / xx};
    double squares = 0.0;
    for (std::size_t i = 0; i < level.size(); ++i) {
        const double e = level[i] - mean - out.slope * (static_cast<double>(i) - middle);
        squares += e * e;
    }
    const auto quarter = static_cast<std::ptrdiff_t>(level.size() / 4);
    const double first = *std::max_element(level.begin(), level.begin() + quarter);
    const double last = *std::min_element(level.end() - quarter, level.end());
    out.grows = out.slope * n > 4.0 * std::sqrt(squares / n) && last > first;
    return out;
}

WarmUp mser(std::span<const double> y) {
    assert(!y.empty());
    const std::size_t n = y.size();
    // From the back: running mean and squares of the last m values (Welford), so all cuts cost
    // O(n).
    std::vector<double> statistic(n / 2 + 1, 0.0);
    double mean = 0.0;
    double squares = 0.0;
    for (std::size_t m = 1; m <= n; ++m) {
        const double step = y[n - m] - mean;
        mean += step / static_cast<double>(m);
        squares += step * (y[n - m] - mean);
        if (n - m < statistic.size()) {
            statistic[n - m] = squares / (static_cast<double>(m) * static_cast<double>(m));
        }
    }
    const auto least = std::min_element(statistic.begin(), statistic.end());
    const std::size_t cut = static_cast<std::size_t>(least - statistic.begin());
    return {.cut = cut,
            .statistic = *least,
            .at_zero = statistic[0],
            .at_limit = cut + 1 == statistic.size()};
}

WarmUp mser5(std::span<const double> y) {
    if (y.size() < 10) {
        return {};
    }
    std::vector<double> fives(y.size() / 5);
    for (std::size_t i = 0; i < fives.size(); ++i) {
        fives[i] = mean_of(y.subspan(5 * i, 5));
    }
    WarmUp w = mser(fives);
    w.cut *= 5;
    return w;
}

std::vector<double> welch_moving_average(std::span<const double> y, std::size_t w) {
    std::vector<double> smooth;
    for (std::size_t i = 0; i + w < y.size(); ++i) {
        const std::size_t half = std::min(i, w);
        smooth.push_back(mean_of(y.subspan(i - half, 2 * half + 1)));
    }
    return smooth;
}

TimeAverage time_average(std::span<const LevelStep> steps, double end) {
    assert(!steps.empty() && end > steps.front().time);
    double area = 0.0;
    double squares = 0.0;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const double until = i + 1 < steps.size() ? steps[i + 1].time : end;
        area += steps[i].level * (until - steps[i].time);
        squares += steps[i].level * steps[i].level * (until - steps[i].time);
    }
    const double span = end - steps.front().time;
    const double mean = area / span;
    return {mean, squares / span - mean * mean};
}

double chi_square_statistic(std::span<const double> observed, std::span<const double> expected) {
    assert(observed.size() == expected.size());
    double sum = 0.0;
    for (std::size_t i = 0; i < observed.size(); ++i) {
        sum += (observed[i] - expected[i]) * (observed[i] - expected[i]) / expected[i];
    }
    return sum;
}

}  // namespace sched::study
