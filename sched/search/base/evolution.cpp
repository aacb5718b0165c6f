// How it works: points are drawn around a mean, with one standard deviation for all and one factor
// for each direction. The mean moves to the weighted better half. Two paths remember which way it
// has moved: a long one widens the step, a short one narrows it, and directions in which it moves
// again and again get a larger factor.

#include "sched/search/base/evolution.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace sched::search {

Evolution::Evolution(std::size_t dimension, double step, Rng rng, std::size_t times)
    : n_(dimension),
      rng_(rng),
      step_(step),
      mean_(n_, 0.0),
      variance_(n_, 1.0),
      step_path_(n_, 0.0),
      path_(n_, 0.0) {
    const auto n = static_cast<double>(n_);
    const auto population = times * static_cast<std::size_t>(4.0 + 3.0 * std::log(n));
    points_.assign(population, std::vector<double>(n_));
    normals_ = points_;
    double sum = 0.0, squares = 0.0;
    for (std::size_t i = 0; i < population / 2; ++i) {
        weight_.push_back(std::log((static_cast<double>(population) + 1.0) / 2.0) -
                          std::log(static_cast<double>(i) + 1.0));
        sum += weight_.back();
    }
    for (double& w : weight_) {
        w /= sum;
        squares += w * w;
    }
    effective_ = 1.0 / squares;
    expected_length_ = std::sqrt(n) * (1.0 - 1.0 / (4.0 * n) + 1.0 / (21.0 * n * n));
}

// Box and Muller (1958).
double Evolution::normal() {
    const double u = 1.0 - rng_.unit();  // (0, 1]
    return std::sqrt(-2.0 * std::log(u)) * std::cos(2.0 * std::numbers::pi * rng_.unit());
}

const std::vector<std::vector<double>>& Evolution::ask() {
    for (std::size_t k = 0; k < points_.size(); ++k) {
        for (std::size_t i = 0; i < n_; ++i) {
            normals_[k][i] = normal();
            points_[k][i] = mean_[i] + step_ * std::sqrt(variance_[i]) * normals_[k][i];
        }
    }
    return points_;
}

void Evolution::tell(const std::vector<double>& cost) {
    const auto n = static_cast<double>(n_);
    std::vector<std::size_t> by(points_.size());
    std::iota(by.begin(), by.end(), std::size_t{0});
    std::stable_sort(by.begin(), by.end(),
                     [&](std::size_t a, std::size_t b) { return cost[a] < cost[b]; });

    const double step_rate = (effective_ + 2.0) / (n + effective_ + 5.0);
    const double damping =
        1.0 + step_rate + 2.0 * std::max(0.0, std::sqrt((effective_ - 1.0) / (n + 1.0)) - 1.0);
    const double path_rate = (4.0 + effective_ / n) / (n + 4.0 + 2.0 * effective_ / n);
    const double faster = (n + 2.0) / 3.0;  // one variance a direction is learnt so much faster
    const double rate_one = std::min(1.0, faster * 2.0 / ((n + 1.3) * (n + 1.3) + effective_));
    const double rate_many =
        std::min(1.0 - rate_one, faster * 2.0 * (effective_ - 2.0 + 1.0 / effective_) /
                                     ((n + 2.0) * (n + 2.0) + effective_));

    std::vector<double> moved(n_, 0.0);  // in normal deviates
    double length = 0.0;
    for (std::size_t i = 0; i < n_; ++i) {
        for (std::size_t k = 0; k < weight_.size(); ++k)
            moved[i] += weight_[k] * normals_[by[k]][i];
        mean_[i] += step_ * std::sqrt(variance_[i]) * moved[i];
        step_path_[i] = (1.0 - step_rate) * step_path_[i] +
                        std::sqrt(step_rate * (2.0 - step_rate) * effective_) * moved[i];
        length += step_path_[i] * step_path_[i];
    }
    length = std::sqrt(length);
    ++generations_;
    // A step path that is far too long would blow up the factors, too.
    const double young = std::sqrt(1.0 - std::pow(1.0 - step_rate, 2.0 * generations_));
    const bool stalls = length / young >= (1.4 + 2.0 / (n + 1.0)) * expected_length_;
    for (std::size_t i = 0; i < n_; ++i) {
        path_[i] *= 1.0 - path_rate;
        if (!stalls)
            path_[i] += std::sqrt(path_rate * (2.0 - path_rate) * effective_) *
                        std::sqrt(variance_[i]) * moved[i];
        double many = 0.0;
        for (std::size_t k = 0; k < weight_.size(); ++k) {
            const double z = normals_[by[k]][i];
            many += weight_[k] * variance_[i] * z * z;
        }
        variance_[i] = (1.0 - rate_one - rate_many) * variance_[i] +
                       rate_one * path_[i] * path_[i] + rate_many * many;
    }
    step_ *= std::exp(step_rate / damping * (length / expected_length_ - 1.0));
}

}  // namespace sched::search
