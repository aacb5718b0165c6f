#pragma once
// Means of groups that are like each other, drawn together as far as they tell too little to stand
// alone: three observations do not rule. One way (given means with their variances) and several
// ways at once (lengths by emulsion, mesh, frame, person, on the log scale, censored ones too).
// Sources: DerSimonian and Laird, Meta-analysis in clinical trials, Controlled Clinical Trials 7
// (1986): variance between groups by the method of moments; Morris, Parametric empirical Bayes
// inference, JASA 78 (1983): shrunken means and their variance; Schmee and Hahn, A simple method
// for regression analysis with censored data, Technometrics 21 (1979), and Aitkin, Technometrics 23
// (1981): censored values replaced by their expectation, round after round.

#include <cstddef>
#include <span>
#include <vector>

#include "sched/statistics/censored_fit.hpp"

namespace sched::study {

/// Mean of one group and the variance of that mean, > 0.
struct GroupMean {
    double value = 0.0;
    double variance = 1.0;
};

struct RandomEffects {
    double mean = 0.0;                // of all groups
    double mean_variance = 0.0;       // of that mean
    double between = 0.0;             // variance between groups, >= 0
    double q = 0.0;                   // Cochran's Q, chi-square of k - 1 degrees if all are alike
    std::vector<GroupMean> shrunken;  // per group, towards the mean
};
/// @pre at least one group.
RandomEffects random_effects(std::span<const GroupMean> groups);

/// One length and the level of each factor that it belongs to; -1: not known, no effect.
struct PooledLength {
    Observed length;
    std::vector<int> level;  // one per factor
};

/// ln length = mean + one effect per factor + normal error.
struct PooledFit {
    double mean = 0.0;      // of the mix that was seen
    double variance = 0.0;  // of the mean, for that mix
    double sigma = 0.0;     // of the error
    std::size_t n = 0;      // that tell something
    struct Effect {
        double value = 0.0;     // shrunken; weighted by observations a factor's effects sum to 0
        double variance = 0.0;  // of it
        std::size_t n = 0;
    };
    std::vector<std::vector<Effect>> effects;  // per factor and level
    std::vector<double> between;               // per factor: variance between its levels
};
/// @param levels how many each factor has.  Fewer than two that tell something: n = 0.
PooledFit pool_lengths(std::span<const PooledLength> lengths, std::span<const int> levels);

/// How many times wider the variance of a mean is than for independent values, because values of
/// one cluster go together: sum over clusters of squared sums of the deviations over the sum of
/// squares (Liang and Zeger, Longitudinal data analysis using generalized linear models, Biometrika
/// 73 (1986), for a mean). 1 where each value is a cluster; at least 1.
/// @param cluster per value; any numbers.
double design_effect(std::span<const double> values, std::span<const int> cluster);

}  // namespace sched::study
