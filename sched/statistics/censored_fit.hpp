#pragma once
// Laws of lengths of which some are known only in part: still running when last looked at (right-
// censored), over by then but since when is not known (left-censored), or between two looks
// (interval-censored). Maximum likelihood; intervals from the observed information.
// Sources: Meeker and Escobar, Statistical Methods for Reliability Data (1998), ch. 7 and 8
// (likelihood of censored lengths, normal approximation on the log scale); Lawless, Statistical
// Models and Methods for Lifetime Data (2003), ch. 5; Gneiting and Raftery, Strictly Proper Scoring
// Rules, JASA 2007 (logarithmic score, cross-validated).

#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <span>

#include "sched/statistics/distribution.hpp"
#include "sched/statistics/output_analysis.hpp"

namespace sched::study {

/// A length > 0 that lies in [low, high].
struct Observed {
    double low = 0.0;
    double high = 0.0;

    static Observed exact(double x) { return {x, x}; }
    static Observed at_least(double x) { return {x, std::numeric_limits<double>::infinity()}; }
    static Observed at_most(double x) { return {0.0, x}; }
    bool is_exact() const { return low == high; }
    /// It says something: not [0, infinity], not beyond what can be.
    bool tells() const {
        return high > 0.0 && low <= high &&
               (low > 0.0 || high < std::numeric_limits<double>::infinity());
    }
    friend bool operator==(const Observed&, const Observed&) = default;
};

enum class Family { Lognormal, Gamma, Weibull };

/// scale: median of the lognormal, mean of the gamma, scale of the Weibull (63.2 % are done by
/// then). shape: standard deviation of the logarithm; shape of the gamma; shape of the Weibull.
struct CensoredFit {
    Family family = Family::Lognormal;
    double scale = 1.0;
    double shape = 1.0;
    /// Of (ln scale, ln shape): variance, covariance, variance.
    std::array<double, 3> covariance{};
    double log_likelihood = 0.0;
    std::size_t n = 0;      // observations that tell something
    std::size_t exact = 0;  // of them
    bool at_limit = false;  // all lengths alike, or too few: the shape stopped at its limit

    Distribution distribution() const;
    double mean() const;
    double cv() const;
    double quantile(double p) const { return distribution().quantile(p); }

    /// Intervals by the delta method on the log scale, with Student's t of n - 1 degrees of
    /// freedom and the variance for them.
    Interval mean_interval(double confidence) const;
    Interval cv_interval(double confidence) const;
    Interval quantile_interval(double p, double confidence) const;
};

/// @returns nullopt for fewer than two observations that tell something, or none of them exact or
/// bounded on both sides.
std::optional<CensoredFit> fit_censored(Family family, std::span<const Observed> observed);

/// ln of the density (exact) or of the probability of [low, high].
double log_likelihood(const CensoredFit& fit, const Observed& observed);

/// Mean logarithmic score of observations that the fit has not seen: every `folds`-th is left out
/// in turn. Higher is better. @returns nullopt where a part cannot be fitted.
std::optional<double> cross_validated_score(Family family, std::span<const Observed> observed,
                                            std::size_t folds = 10);

/// The family with the best cross-validated score. The lognormal stays unless another one is better
/// by more than `margin` an observation.
struct FamilyChoice {
    Family family = Family::Lognormal;
    std::array<std::optional<double>, 3> score;  // in the order of the enum
};
FamilyChoice choose_family(std::span<const Observed> observed, double margin = 0.005);

}  // namespace sched::study
