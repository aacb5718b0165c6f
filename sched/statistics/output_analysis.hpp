#pragma once
// What replications say and how sure they are: intervals, differences, quantiles, warm-up, batches.
// Sources: Law, Simulation Modeling and Analysis, ch. 9-10; Conover, Practical Nonparametric
// Statistics (order-statistic intervals); Wilson 1927; Hyndman and Fan 1996; White 1997 (MSER).

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace sched::study {

struct Interval {
    double low = 0.0;
    double high = 0.0;
    bool holds(double x) const { return low <= x && x <= high; }
    friend bool operator==(const Interval&, const Interval&) = default;
};

// ---- means -----------------------------------------------------------------------------------

/// Mean and variance in one pass (Welford 1962). Adding in the same order gives the same bits.
class Moments {
public:
    void add(double x);
    std::size_t count() const { return count_; }
    double mean() const { return mean_; }
    /// Divisor n - 1; 0 for fewer than two values.
    double variance() const;

private:
    std::size_t count_ = 0;
    double mean_ = 0.0;
    double squares_ = 0.0;
};

struct MeanInterval {
    std::size_t n = 0;
    double mean = 0.0;
    double variance = 0.0;    // of one value, divisor n - 1
    double half_width = 0.0;  // infinite for n < 2
    double shift = 0.0;       // the middle of the interval lies so far above the mean
    Interval interval() const { return {mean + shift - half_width, mean + shift + half_width}; }
    friend bool operator==(const MeanInterval&, const MeanInterval&) = default;
};

/// t interval; confidence in (0, 1), e.g. 0.95. @pre for the span: at least one value.
MeanInterval mean_interval(std::span<const double> values, double confidence);
MeanInterval mean_interval(const Moments& moments, double confidence);

/// Chi-square interval of the variance; values normal, at least two.
Interval variance_interval(std::span<const double> values, double confidence);

/// Difference of two means with its test.
struct Difference {
    double difference = 0.0;        // mean(a) - mean(b)
    double variance_of_mean = 0.0;  // squared standard error
    double t = 0.0;                 // 0 when difference and error are both 0
    double df = 0.0;
    double p = 1.0;  // two-sided
    Interval interval;
    friend bool operator==(const Difference&, const Difference&) = default;
};

/// a[i] and b[i] share their random variation (common random numbers). @pre equal sizes, at least
/// two. No difference anywhere gives the interval [0, 0] and p = 1.
Difference paired_difference(std::span<const double> a, std::span<const double> b,
                             double confidence);
/// Independent samples of unequal variance (Welch 1938), at least two values each.
Difference welch_difference(std::span<const double> a, std::span<const double> b,
                            double confidence);
/// t quantile of each of k two-sided intervals that hold together with the overall confidence.
double bonferroni_t(int k, double overall, double df);

// ---- how many replications ---------------------------------------------------------------------

/// ceil(t(n0-1)^2 s2 / h^2) with the pilot's degrees of freedom.
std::size_t replications_from_pilot(std::size_t pilot, double variance, double half_width,
                                    double confidence);
/// Smallest i >= pilot with t(i-1) sqrt(s2/i) <= h (Law, ch. 9, absolute error).
std::size_t replications_absolute(std::size_t pilot, double variance, double half_width,
                                  double confidence);
/// Smallest i >= pilot with t(i-1) sqrt(s2/i) / |mean| <= g/(1+g): actual relative error g.
std::size_t replications_relative(std::size_t pilot, double variance, double mean, double relative,
                                  double confidence);

/// Sequential stopping at a relative precision g: half-width <= |mean| g/(1+g), at least `least`
/// values; a mean and half-width that are both 0 are precise.
struct Precision {
    double relative = 0.05;
    double confidence = 0.95;
    std::size_t least = 10;
};
bool precise_enough(const MeanInterval& interval, const Precision& wanted);

// ---- quantiles -------------------------------------------------------------------------------

/// Numbering of Hyndman and Fan 1996. First: the ceil(n q)-th smallest. Reports use Seventh.
enum class QuantileType { First = 1, Fifth = 5, Sixth = 6, Seventh = 7, Eighth = 8 };
/// @pre sorted ascending, not empty, q in [0, 1].
double sample_quantile(std::span<const double> sorted, double q,
                       QuantileType type = QuantileType::Seventh);

/// Ranks (from 1) of the two order statistics that enclose the q-quantile; 0 = unbounded below,
/// n + 1 = unbounded above. Largest r with P(B <= r-1) <= a/2, smallest s with P(B >= s) <= a/2,
/// B ~ Bin(n, q), a = 1 - confidence.
struct QuantileRanks {
    int lower = 0;
    int upper = 0;
    double coverage = 0.0;  // P(lower <= B < upper), exact for continuous data
};
QuantileRanks quantile_ranks(int n, double q, double confidence);
/// P(r <= B <= s - 1): coverage of [r-th, s-th smallest] for the q-quantile.
double rank_coverage(int n, double q, int lower, int upper);
/// The values at those ranks, -inf / +inf where unbounded. @pre sorted ascending, not empty.
Interval quantile_interval(std::span<const double> sorted, double q, double confidence);
/// Smallest n whose largest value lies above the q-quantile with the confidence (Wilks 1941).
int smallest_sample_above(double q, double confidence);

// ---- proportions -----------------------------------------------------------------------------

/// k of n, n >= 1 (Wilson 1927, no continuity correction).
Interval wilson_interval(std::int64_t k, std::int64_t n, double confidence);
/// Exact binomial limits (Clopper and Pearson 1934).
Interval clopper_pearson(std::int64_t k, std::int64_t n, double confidence);
/// One-sided upper limit when nothing happened in n: 1 - (1 - confidence)^(1/n).
double none_seen_upper(std::int64_t n, double confidence);

// ---- long runs -------------------------------------------------------------------------------

/// Sample autocorrelation, divisor n. @pre lag < size.
double autocorrelation(std::span<const double> y, std::size_t lag);
/// Sum of squared successive differences / sum of squares about the mean: about 2 when independent.
double von_neumann_ratio(std::span<const double> y);
/// Means of `batches` equal parts; what does not divide is left out at the front. @pre 1 <= batches
/// <= size.
std::vector<double> batch_means(std::span<const double> y, std::size_t batches);

/// Mean of what comes in lots of random size (orders by the day they became ready), from `batches`
/// equal runs of lots: ratio of the sums, variance of the batches' residuals sum - ratio * count
/// (Cochran 1977, ch. 6), widened by sqrt((1 + r) / (1 - r)) where neighbouring batches still go
/// together (r: their correlation as in a first-order autoregression, bias 1/batches added back, at
/// most 0.8), and longer on the side of the longer tail (both as in Skart, Tafazzoli et al. 2011):
/// where a station fails once in months, most runs have seen too few of the long days.
struct BatchedMean {
    MeanInterval mean;
    double correlation = 0.0;  // of neighbouring batches, bias added back
};
/// @pre equal sizes. Fewer lots than two a batch, or nothing in them: n = 0.
BatchedMean batched_mean(std::span<const double> sums, std::span<const double> counts,
                         std::size_t batches, double confidence);

/// Interval of the mean of few skewed values: that of t, its ends moved by Johnson's (1978) series
/// in Willink's (2005) form, skewness being the values' own. @param wider on its standard error.
/// Symmetric for fewer than three values.
MeanInterval skewed_interval(std::span<const double> values, double confidence, double wider = 1.0);

/// Does a level go up for good? Least squares line through it.
struct Growth {
    double slope = 0.0;  // per value
    bool grows = false;  // the line rises by more than four standard deviations about it, and the
                         // last quarter lies above the first in full
};
Growth growth_of(std::span<const double> level);

/// Warm-up by the marginal standard error rule: the cut d in 0 .. n/2 with the smallest
/// sum (y - mean)^2 / (n - d)^2, over what remains after d (White 1997).
struct WarmUp {
    std::size_t cut = 0;     // values (of y) to drop
    double statistic = 0.0;  // the smallest
    double at_zero = 0.0;    // without a cut
    bool at_limit = false;   // cut at n/2: the run is too short to trust
};
WarmUp mser(std::span<const double> y);
/// The same on means of five (MSER-5); `cut` counts single values.
WarmUp mser5(std::span<const double> y);

/// Welch 1983 moving average with window w, shrinking at the start; size n - w.
std::vector<double> welch_moving_average(std::span<const double> y, std::size_t w);

/// A step function of time: value from that time on.
struct LevelStep {
    double time = 0.0;
    double level = 0.0;
};
struct TimeAverage {
    double mean = 0.0;
    double variance = 0.0;  // time-weighted, no correction
};
/// @pre steps not empty, times ascending, end > first time.
TimeAverage time_average(std::span<const LevelStep> steps, double end);

// ---- fit -------------------------------------------------------------------------------------

/// Largest distance between the empirical and the given distribution function; cdf[i] = F(x_(i))
/// of the sorted sample.
double ks_distance(std::span<const double> sorted_cdf);
/// Exact P(D_n >= d), two-sided (Marsaglia, Tsang and Wang 2003). n <= 1000.
double ks_p_value(int n, double d);
/// d with P(D_n >= d) = alpha.
double ks_critical(int n, double alpha);
/// Pearson's statistic against equal or given expectations.
double chi_square_statistic(std::span<const double> observed, std::span<const double> expected);

}  // namespace sched::study
