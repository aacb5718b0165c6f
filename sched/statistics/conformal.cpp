#include "sched/statistics/conformal.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "sched/statistics/probability.hpp"

namespace sched::study {

namespace {

constexpr double endless = std::numeric_limits<double>::infinity();

// (n + 1) level is a whole number for the levels that shops use; its last bit must not add a rank.
constexpr double rank_slack = 1e-9;

}  // namespace

std::optional<std::size_t> conformal_rank(std::size_t n, double level) {
    if (level <= 0.0) return 0;
    const double rank = std::ceil(static_cast<double>(n + 1) * level - rank_slack);
    if (!(rank <= static_cast<double>(n))) return std::nullopt;
    return static_cast<std::size_t>(rank);
}

std::optional<double> conformal_shift(std::span<const double> scores, double level) {
    const auto rank = conformal_rank(scores.size(), level);
    if (!rank) return std::nullopt;
    if (*rank == 0) return -endless;
    std::vector<double> sorted(scores.begin(), scores.end());
    const auto at = sorted.begin() + static_cast<std::ptrdiff_t>(*rank - 1);
    std::nth_element(sorted.begin(), at, sorted.end());
    if (*at == endless) return std::nullopt;
    return *at;
}

std::size_t conformal_least(double level) {
    std::size_t n = 0;
    // n / (n + 1) >= level, found by the same arithmetic that conformal_rank uses.
    while (!conformal_rank(n, level))
        ++n;
    return n;
}

double conformal_coverage_quantile(std::size_t n, double level, double p) {
    const auto rank = conformal_rank(n, level);
    assert(rank && *rank > 0);  // the precondition
    const auto l = static_cast<double>(*rank);
    return beta_quantile(p, l, static_cast<double>(n + 1) - l);
}

}  // namespace sched::study
