// Kolmogorov-Smirnov: distance and its exact distribution. Declared in output_analysis.hpp.
// Source: Marsaglia, Tsang and Wang, "Evaluating Kolmogorov's distribution", J. Stat. Software 8
// (2003) no. 18: P(D_n < d) = n!/n^n times an entry of the n-th power of a matrix.

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>
#include <vector>

#include "sched/statistics/output_analysis.hpp"

namespace sched::study {
namespace {

struct ScaledMatrix {
    std::size_t size = 0;
    std::vector<double> cells;  // row by row
    int tens = 0;               // value = cells * 10^tens
};

ScaledMatrix kolmogorov_product(const ScaledMatrix& a, const ScaledMatrix& b) {
    ScaledMatrix c{a.size, std::vector<double>(a.size * a.size, 0.0), a.tens + b.tens};
    for (std::size_t i = 0; i < a.size; ++i) {
        for (std::size_t k = 0; k < a.size; ++k) {
            const double x = a.cells[i * a.size + k];
            for (std::size_t j = 0; j < a.size; ++j) {
                c.cells[i * a.size + j] += x * b.cells[k * a.size + j];
            }
        }
    }
    // Keep the middle entry in range; powers of ten are carried apart.
    if (c.cells[(c.size / 2) * c.size + c.size / 2] > 1e140) {
        for (double& x : c.cells) {
            x *= 1e-140;
        }
        c.tens += 140;
    }
    return c;
}

double kolmogorov_below(int n, double d) {
    const double dn = n;
    const int k = static_cast<int>(dn * d) + 1;
    const std::size_t m = static_cast<std::size_t>(2 * k - 1);
    const double h = k - dn * d;
    ScaledMatrix step{m, std::vector<double>(m * m, 0.0), 0};
    for (std::size_t i = 0; i < m; ++i) {
        for (std::size_t j = 0; j < m; ++j) {
            step.cells[i * m + j] = i + 1 >= j ? 1.0 : 0.0;
        }
    }
    for (std::size_t i = 0; i < m; ++i) {
        step.cells[i * m] -= std::pow(h, static_cast<double>(i + 1));
        step.cells[(m - 1) * m + i] -= std::pow(h, static_cast<double>(m - i));
    }
    if (2.0 * h - 1.0 > 0.0) {
        step.cells[(m - 1) * m] += std::pow(2.0 * h - 1.0, static_cast<double>(m));
    }
    for (std::size_t i = 0; i < m; ++i) {
        for (std::size_t j = 0; j < i + 1; ++j) {
            for (std::size_t g = 1; g <= i - j + 1; ++g) {
                step.cells[i * m + j] /= static_cast<double>(g);
            }
        }
    }
    ScaledMatrix power{m, std::vector<double>(m * m, 0.0), 0};
    for (std::size_t i = 0; i < m; ++i) {
        power.cells[i * m + i] = 1.0;
    }
    for (int left = n; left > 0; left /= 2) {
        if (left % 2 == 1) {
            power = kolmogorov_product(power, step);
        }
        step = kolmogorov_product(step, step);
    }
    const std::size_t middle = static_cast<std::size_t>(k - 1);
    double s = power.cells[middle * m + middle];
    int tens = power.tens;
    for (int i = 1; i <= n; ++i) {
        s *= i / dn;
        if (s < 1e-140) {
            s *= 1e140;
            tens -= 140;
        }
    }
    return s * std::pow(10.0, tens);
}

}  // namespace

double ks_distance(std::span<const double> sorted_cdf) {
    const double n = static_cast<double>(sorted_cdf.size());
    double distance = 0.0;
    for (std::size_t i = 0; i < sorted_cdf.size(); ++i) {
        const double rank = static_cast<double>(i);
        distance = std::max({distance, (rank + 1.0) / n - sorted_cdf[i], sorted_cdf[i] - rank / n});
    }
    return distance;
}

double ks_p_value(int n, double d) {
    assert(n >= 1 && n <= 1000);
    if (d * n <= 0.5) {
        return 1.0;
    }
    if (d >= 1.0) {
        return 0.0;
    }
    return std::clamp(1.0 - kolmogorov_below(n, d), 0.0, 1.0);
}

double ks_critical(int n, double alpha) {
    double low = 0.5 / n;
    double high = 1.0;
    for (int i = 0; i < 60; ++i) {
        const double middle = 0.5 * (low + high);
        (ks_p_value(n, middle) > alpha ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

}  // namespace sched::study
