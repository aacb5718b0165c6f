#include "model/physics/calibrate.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>

namespace model::physics {

namespace {

constexpr double least_factor = 0.2;
constexpr double most_factor = 5.0;
constexpr double most_critical = 1.5;

/// ln factor and X_c.
using Point = std::array<double, 2>;

}  // namespace

double predicted_seconds(const CabinetAir& cabinet, Pascals pressure, const DryingLaw& law,
                         const ObservedDrying& seen, double transfer_factor,
                         double critical_moisture) {
    CabinetAir air = cabinet;
    air.transfer_factor = transfer_factor;
    WetScreen screen = seen.screen;
    screen.critical_moisture = critical_moisture;
    const Cabinet there = make_cabinet(air, seen.room, pressure, law);
    if (there.base <= 0.0) return std::numeric_limits<double>::infinity();
    const ClockStep step = clock_step(there, seen.room);
    return together_seconds(drying_load(there, screen), step, seen.load);
}

Calibration calibrate(const CabinetAir& cabinet, Pascals pressure, const DryingLaw& law,
                      const std::vector<ObservedDrying>& observed) {
    assert(!observed.empty());
    const double least_critical = law.final_moisture + 0.02;
    const auto bounded = [&](Point p) {
        return Point{std::clamp(p[0], std::log(least_factor), std::log(most_factor)),
                     std::clamp(p[1], least_critical, most_critical)};
    };
    const auto errors = [&](const Point& p) {
        std::vector<double> e;
        for (const ObservedDrying& seen : observed) {
            e.push_back(
                std::log(predicted_seconds(cabinet, pressure, law, seen, std::exp(p[0]), p[1]) /
                         seen.seconds));
        }
        return e;
    };
    const auto square = [](const std::vector<double>& e) {
        double sum = 0.0;
        for (double x : e)
            sum += x * x;
        return sum;
    };

    Point at =
        bounded({std::log(cabinet.transfer_factor), observed.front().screen.critical_moisture});
    std::vector<double> now = errors(at);
    bool both = observed.size() >= 2;
    double damping = 1e-3;
    for (int round = 0; round < 100; ++round) {
        constexpr Point width{1e-4, 1e-4};
        double a = 0.0, b = 0.0, c = 0.0, g0 = 0.0, g1 = 0.0;  // normal equations
        std::array<std::vector<double>, 2> slope;
        for (std::size_t k = 0; k < 2; ++k) {
            Point up = at, down = at;
            up[k] += width[k];
            down[k] -= width[k];
            const auto e_up = errors(up), e_down = errors(down);
            for (std::size_t i = 0; i < now.size(); ++i)
                slope[k].push_back((e_up[i] - e_down[i]) / (2.0 * width[k]));
        }
        for (std::size_t i = 0; i < now.size(); ++i) {
            a += slope[0][i] * slope[0][i];
            b += slope[0][i] * slope[1][i];
            c += slope[1][i] * slope[1][i];
            g0 += slope[0][i] * now[i];
            g1 += slope[1][i] * now[i];
        }
        // Both columns nearly parallel: the observations do not tell X_c from the factor.
        if (round == 0 && both) both = a > 0.0 && c > 0.0 && b * b < 0.9995 * a * c;
        Point step{};
        if (both) {
            const double aa = a * (1.0 + damping), cc = c * (1.0 + damping);
            const double det = aa * cc - b * b;
            step = {-(cc * g0 - b * g1) / det, -(aa * g1 - b * g0) / det};
        } else {
            step = {-g0 / (a * (1.0 + damping)), 0.0};
        }
        const Point next = bounded({at[0] + step[0], at[1] + step[1]});
        const auto then = errors(next);
        const double moved = std::abs(next[0] - at[0]) + std::abs(next[1] - at[1]);
        if (square(then) < square(now)) {
            at = next;
            now = then;
            damping = std::max(1e-9, damping * 0.2);
        } else {
            damping *= 5.0;
        }
        if (moved < 1e-9 || damping > 1e9) break;
    }

    Calibration result;
    result.transfer_factor = std::exp(at[0]);
    result.critical_moisture = at[1];
    result.critical_fitted = both;
    const auto near = [](double x, double limit) { return std::abs(x - limit) < 1e-6; };
    result.at_limit = near(at[0], std::log(least_factor)) || near(at[0], std::log(most_factor)) ||
                      (both && (near(at[1], least_critical) || near(at[1], most_critical)));
    double sum = 0.0;
    for (const ObservedDrying& seen : observed) {
        const double t =
            predicted_seconds(cabinet, pressure, law, seen, result.transfer_factor, at[1]);
        result.predicted.push_back(t);
        result.residual.push_back(t / seen.seconds - 1.0);
        sum += result.residual.back() * result.residual.back();
    }
    result.rms = std::sqrt(sum / static_cast<double>(observed.size()));
    return result;
}

}  // namespace model::physics
