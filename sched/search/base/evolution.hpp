#pragma once
// Minimising a noisy function of many numbers: an evolution strategy that adapts its step in every
// direction by itself. Separable CMA-ES: R. Ros and N. Hansen, "A simple modification in CMA-ES
// achieving linear time and space complexity", PPSN X (2008); constants as in N. Hansen, "The CMA
// evolution strategy: a tutorial" (arXiv 1604.00772), equations 49 to 58, learning rates of the
// matrix times (n + 2) / 3 as the former says.

#include <cstddef>
#include <vector>

#include "sched/search/base/rng.hpp"

namespace sched::search {

/// ask() for points, tell() what they cost, again and again; only the order of the costs counts.
class Evolution {
public:
    /// Begins at 0 in every direction. @param step standard deviation of the first points, > 0.
    /// @param times so many times the usual population: slower and less easily lost on the way.
    /// @pre dimension > 0, times > 0.
    Evolution(std::size_t dimension, double step, Rng rng, std::size_t times = 1);

    /// The points of the next generation, each `dimension` long.
    const std::vector<std::vector<double>>& ask();
    /// @param cost of the points of the last ask(), one each.
    void tell(const std::vector<double>& cost);

    /// Where the points lie around: the answer so far.
    const std::vector<double>& mean() const { return mean_; }
    /// Overall standard deviation of the points.
    double step() const { return step_; }
    std::size_t population() const { return points_.size(); }

private:
    double normal();

    std::size_t n_;
    Rng rng_;
    double step_;
    std::vector<double> weight_;  // of the better half, best first
    double effective_ = 0.0;      // how many points these weights are worth
    double expected_length_ = 0.0;
    int generations_ = 0;
    std::vector<double> mean_, variance_, step_path_, path_;
    std::vector<std::vector<double>> normals_, points_;
};

}  // namespace sched::search
