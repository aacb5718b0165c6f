#pragma once
// How long something takes, when it is not certain. A Distribution is a value: a law, its
// parameters and the range of the possible; a sample is quantile(u) of a keyed draw u, so the same
// screen meets the same random variation under every option compared.

#include <optional>
#include <string_view>
#include <vector>

namespace sched::study {

enum class Law { Constant, Uniform, Triangular, Lognormal, Gamma, Weibull, Exponential, Empirical };

/// All times and parameters in one unit of the caller's choice.
class Distribution {
public:
    Distribution() = default;  // constant 0

    static Distribution constant(double value);
    /// low <= high.
    static Distribution uniform(double low, double high);
    /// low <= mode <= high.
    static Distribution triangular(double low, double mode, double high);
    /// mean > 0, cv = standard deviation / mean >= 0. sigma^2 = ln(1 + cv^2), mu = ln mean -
    /// sigma^2/2.
    static Distribution lognormal(double mean, double cv);
    /// As the trade would say it: half are done by p50, nine in ten by p90. 0 < p50 <= p90.
    static Distribution lognormal_p50_p90(double p50, double p90);
    /// mean > 0, cv > 0: shape 1/cv^2, scale mean cv^2.
    static Distribution gamma(double mean, double cv);
    /// shape > 0, scale > 0: P(X > x) = exp(-(x/scale)^shape).
    static Distribution weibull(double shape, double scale);
    /// mean > 0.
    static Distribution exponential(double mean);
    /// Observed values, at least one, in any order: the quantile is the ceil(n u)-th smallest.
    static Distribution empirical(std::vector<double> values);

    /// The same law given that the value lies in [low, high] (conditioned, not clamped: no lump at
    /// the ends). Where the law gives that range no probability, the nearer end is the value.
    Distribution bounded(double low, double high) const;

    /// Inverse distribution function; u in (0, 1).
    double quantile(double u) const;
    /// P(X <= x), bounds included.
    double cdf(double x) const;
    /// Exact where the law is unbounded; bounded laws by quadrature of the quantile function.
    double mean() const;
    double variance() const;

    Law law() const { return law_; }
    friend bool operator==(const Distribution&, const Distribution&) = default;

private:
    double raw_quantile(double u) const;
    double raw_cdf(double x) const;
    double moment(int power) const;

    Law law_ = Law::Constant;
    double a_ = 0.0;              // first parameter: value, low, mu, shape, mean
    double b_ = 0.0;              // second: high, mode, sigma, scale
    double c_ = 0.0;              // third: high of the triangle
    std::vector<double> values_;  // sorted, Empirical only
    std::optional<double> low_;
    std::optional<double> high_;
    double u_low_ = 0.0;  // raw_cdf at the bounds
    double u_high_ = 1.0;
};

/// The numbers of one named column of a CSV text (comma or semicolon; first row is the header;
/// plain or quoted cells without line breaks). @returns nullopt when there is no such column, no
/// row, or a cell that is not a finite number >= 0.
std::optional<std::vector<double>> csv_column(std::string_view text, std::string_view column);

}  // namespace sched::study
