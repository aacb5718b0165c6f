#pragma once
// Has something changed for good? Exponentially weighted moving average chart: small lasting shifts
// show sooner than on a chart of single values. Sources: Roberts, Control chart tests based on
// geometric moving averages, Technometrics 1 (1959); Lucas and Saccucci, Exponentially weighted
// moving average control schemes, Technometrics 32 (1990): weight, width and run lengths;
// Montgomery, Introduction to Statistical Quality Control, ch. 9 (limits of the first points).

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace sched::study {

/// With the defaults one false alarm in 500 points on average; a shift of one standard deviation is
/// seen after 10.5 (Lucas and Saccucci, table 3; ewma_run_length).
struct EwmaOptions {
    double weight = 0.2;   // of the newest value, in (0, 1]
    double width = 2.962;  // of the limits, in standard deviations of the average
    bool steady = false;   // limits of a long run from the first point on
};

struct EwmaChart {
    std::vector<double> level;          // after each value
    std::vector<double> half_width;     // limits: target -+ this
    std::optional<std::size_t> signal;  // first value outside; none: in control
    /// Where the last lasting departure began: the point after the level last crossed the target
    /// before the signal.
    std::optional<std::size_t> since;
};
/// @param target of a value in control.  @param sigma its standard deviation, > 0.
EwmaChart ewma_chart(std::span<const double> values, double target, double sigma,
                     const EwmaOptions& options = {});

/// Average number of independent normal points until the alarm, that included, when the mean lies
/// `shift` standard deviations off the target from the first point on; limits as of a long run
/// (`steady`). Brook and Evans, Biometrika 59 (1972): the level as a Markov chain.
double ewma_run_length(double shift, const EwmaOptions& options);

/// Width of the limits with which, while nothing changes, an alarm comes after `run_length` points
/// on average.  @pre run_length > 10
double ewma_width(double weight, double run_length);

/// After how many of the values, at least one on each side, the mean has most likely changed, once:
/// the split that leaves the smallest sum of squares (Hinkley, Biometrika 57 (1970)).
std::size_t change_point(std::span<const double> values);

}  // namespace sched::study
