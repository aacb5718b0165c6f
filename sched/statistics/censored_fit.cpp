// How it works: a law is two numbers on the log scale, (ln scale, ln shape). The sum of the log
// likelihoods is climbed by damped Newton steps with differences for slopes (Levenberg 1944,
// Marquardt 1963); what is exact goes in by its sums where the law allows. The curvature at the top
// is the observed information, its inverse the covariance. Special functions are Boost's.

#include "sched/statistics/censored_fit.hpp"

#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <vector>

#include "sched/statistics/probability.hpp"

namespace sched::study {

namespace {

/// ln scale, ln shape.
using Theta = std::array<double, 2>;

constexpr double tiny = 1e-300;
constexpr double infinite = std::numeric_limits<double>::infinity();

double log_of(double p) {
    return std::log(std::max(p, tiny));
}

/// P(X <= x) and P(X > x), each without cancellation.
double below(Family family, const Theta& t, double x) {
    if (x <= 0.0) return 0.0;
    if (x == infinite) return 1.0;
    const double shape = std::exp(t[1]);
    switch (family) {
        case Family::Lognormal:
            return normal_cdf((std::log(x) - t[0]) / shape);
        case Family::Gamma:
            return boost::math::gamma_p(shape, shape * x / std::exp(t[0]));
        case Family::Weibull:
            return -std::expm1(-std::exp(shape * (std::log(x) - t[0])));
    }
    return 0.0;
}

double above(Family family, const Theta& t, double x) {
    if (x <= 0.0) return 1.0;
    if (x == infinite) return 0.0;
    const double shape = std::exp(t[1]);
    switch (family) {
        case Family::Lognormal:
            return normal_cdf((t[0] - std::log(x)) / shape);
        case Family::Gamma:
            return boost::math::gamma_q(shape, shape * x / std::exp(t[0]));
        case Family::Weibull:
            return std::exp(-std::exp(shape * (std::log(x) - t[0])));
    }
    return 0.0;
}

double log_density(Family family, const Theta& t, double x) {
    const double y = std::log(x);
    const double shape = std::exp(t[1]);
    switch (family) {
        case Family::Lognormal: {
            const double z = (y - t[0]) / shape;
            return -0.5 * z * z - t[1] - y - 0.5 * std::log(2.0 * std::acos(-1.0));
        }
        case Family::Gamma:
            return shape * (t[1] - t[0]) + (shape - 1.0) * y - shape * x / std::exp(t[0]) -
                   boost::math::lgamma(shape);
        case Family::Weibull: {
            const double z = shape * (y - t[0]);
            return t[1] - y + z - std::exp(z);
        }
    }
    return 0.0;
}

double log_chance(Family family, const Theta& t, const Observed& o) {
    if (o.is_exact()) return log_density(family, t, o.low);
    if (o.high == infinite) return log_of(above(family, t, o.low));
    if (o.low <= 0.0) return log_of(below(family, t, o.high));
    const double low = below(family, t, o.low);
    return log_of(low > 0.5 ? above(family, t, o.low) - above(family, t, o.high)
                            : below(family, t, o.high) - low);
}

/// What the observations say, ready to be asked many times.
class Likelihood {
public:
    Likelihood(Family family, std::span<const Observed> observed) : family_(family) {
        for (const Observed& o : observed) {
            if (!o.tells()) continue;
            ++count_;
            bounded_ += o.low > 0.0 && o.high < infinite;
            const double guess = o.is_exact()         ? o.low
                                 : o.high == infinite ? 1.2 * o.low
                                 : o.low <= 0.0       ? 0.7 * o.high
                                                      : 0.5 * (o.low + o.high);
            guesses_.push_back(std::log(guess));
            if (!o.is_exact()) {
                censored_.push_back(o);
                continue;
            }
            const double y = std::log(o.low);
            logs_.push_back(y);
            sum_ += o.low;
            log_sum_ += y;
        }
        for (const double y : logs_)
            log_squares_ += (y - log_mean()) * (y - log_mean());
    }

    std::size_t count() const { return count_; }
    std::size_t exact() const { return logs_.size(); }
    std::size_t bounded() const { return bounded_; }

    Theta start() const {
        Moments m;
        for (const double y : guesses_)
            m.add(y);
        const double spread = std::max(0.02, std::sqrt(m.variance()));
        switch (family_) {
            case Family::Lognormal:
                return {m.mean(), std::log(spread)};
            case Family::Gamma:
                return {m.mean() + 0.5 * spread * spread, -2.0 * std::log(spread)};
            case Family::Weibull:  // sd of ln X is pi / (sqrt(6) shape), its mean ln scale - 0.577
                                   // / shape
                return {m.mean() + 0.45 * spread, std::log(1.2825 / spread)};
        }
        return {};
    }

    double operator()(const Theta& t) const {
        const double n = static_cast<double>(logs_.size());
        const double shape = std::exp(t[1]);
        double sum = 0.0;
        switch (family_) {
            case Family::Lognormal: {
                const double off = log_mean() - t[0];
                sum = -0.5 * (log_squares_ + n * off * off) / (shape * shape) - n * t[1] -
                      log_sum_ - 0.5 * n * std::log(2.0 * std::acos(-1.0));
                break;
            }
            case Family::Gamma:
                sum = n * (shape * (t[1] - t[0]) - boost::math::lgamma(shape)) +
                      (shape - 1.0) * log_sum_ - shape * sum_ / std::exp(t[0]);
                break;
            case Family::Weibull:
                for (const double y : logs_) {
                    const double z = shape * (y - t[0]);
                    sum += t[1] - y + z - std::exp(z);
                }
                break;
        }
        for (const Observed& o : censored_)
            sum += log_chance(family_, t, o);
        return sum;
    }

private:
    double log_mean() const {
        return logs_.empty() ? 0.0 : log_sum_ / static_cast<double>(logs_.size());
    }
    Family family_;
    std::size_t count_ = 0;
    std::size_t bounded_ = 0;
    std::vector<double> guesses_;  // ln
    std::vector<double> logs_;
    std::vector<Observed> censored_;
    double sum_ = 0.0;
    double log_sum_ = 0.0;
    double log_squares_ = 0.0;
};

struct Slopes {
    double g0, g1;         // gradient
    double h00, h01, h11;  // second derivatives
};

Slopes slopes_at(const Likelihood& f, const Theta& t, double at, double h) {
    const auto value = [&](double a, double b) { return f({t[0] + a, t[1] + b}); };
    const double up0 = value(h, 0), down0 = value(-h, 0), up1 = value(0, h), down1 = value(0, -h);
    const double cross =
        (value(h, h) - value(h, -h) - value(-h, h) + value(-h, -h)) / (4.0 * h * h);
    return {(up0 - down0) / (2.0 * h), (up1 - down1) / (2.0 * h),
            (up0 - 2.0 * at + down0) / (h * h), cross, (up1 - 2.0 * at + down1) / (h * h)};
}

/// Narrower or wider than this is no spread of working times; the fit says so (at_limit).
std::array<double, 2> shape_limits(Family family) {
    switch (family) {
        case Family::Lognormal:
            return {std::log(1e-3), std::log(10.0)};
        case Family::Gamma:
            return {std::log(0.05), std::log(1e5)};
        case Family::Weibull:
            return {std::log(0.1), std::log(1e3)};
    }
    return {0.0, 0.0};
}

Theta theta_of(const CensoredFit& fit) {
    return {std::log(fit.scale), std::log(fit.shape)};
}

CensoredFit with_theta(const CensoredFit& fit, const Theta& t) {
    CensoredFit out = fit;
    out.scale = std::exp(t[0]);
    out.shape = std::exp(t[1]);
    return out;
}

/// Interval of a positive number that the two parameters give.
template <class Of>
Interval delta_interval(const CensoredFit& fit, double confidence, Of of) {
    constexpr double h = 1e-4;
    const Theta t = theta_of(fit);
    const auto value = [&](double a, double b) {
        return std::log(of(with_theta(fit, {t[0] + a, t[1] + b})));
    };
    const double at = value(0, 0);
    const double d0 = (value(h, 0) - value(-h, 0)) / (2.0 * h);
    const double d1 = (value(0, h) - value(0, -h)) / (2.0 * h);
    const auto& c = fit.covariance;
    const double variance = d0 * d0 * c[0] + 2.0 * d0 * d1 * c[1] + d1 * d1 * c[2];
    // The likeliest spread is too small by as much as one observation tells: with exact lognormal
    // lengths this makes it Student's interval of the logarithms.
    const double n = static_cast<double>(fit.n);
    const double df = std::max(1.0, n - 1.0);
    const double half =
        t_quantile(0.5 + 0.5 * confidence, df) * std::sqrt(std::max(0.0, variance) * n / df);
    return {std::exp(at - half), std::exp(at + half)};
}

}  // namespace

Distribution CensoredFit::distribution() const {
    switch (family) {
        case Family::Lognormal:
            return Distribution::lognormal(mean(), cv());
        case Family::Gamma:
            return Distribution::gamma(mean(), cv());
        case Family::Weibull:
            return Distribution::weibull(shape, scale);
    }
    return {};
}

double CensoredFit::mean() const {
    switch (family) {
        case Family::Lognormal:
            return scale * std::exp(0.5 * shape * shape);
        case Family::Gamma:
            return scale;
        case Family::Weibull:
            return scale * gamma_function(1.0 + 1.0 / shape);
    }
    return scale;
}

double CensoredFit::cv() const {
    switch (family) {
        case Family::Lognormal:
            return std::sqrt(std::expm1(shape * shape));
        case Family::Gamma:
            return 1.0 / std::sqrt(shape);
        case Family::Weibull: {
            const double m = gamma_function(1.0 + 1.0 / shape);
            return std::sqrt(std::max(0.0, gamma_function(1.0 + 2.0 / shape) / (m * m) - 1.0));
        }
    }
    return shape;
}

Interval CensoredFit::mean_interval(double confidence) const {
    return delta_interval(*this, confidence, [](const CensoredFit& f) { return f.mean(); });
}

Interval CensoredFit::cv_interval(double confidence) const {
    return delta_interval(*this, confidence, [](const CensoredFit& f) { return f.cv(); });
}

Interval CensoredFit::quantile_interval(double p, double confidence) const {
    return delta_interval(*this, confidence, [p](const CensoredFit& f) { return f.quantile(p); });
}

double log_likelihood(const CensoredFit& fit, const Observed& observed) {
    return log_chance(fit.family, theta_of(fit), observed);
}

std::optional<CensoredFit> fit_censored(Family family, std::span<const Observed> observed) {
    const Likelihood f(family, observed);
    if (f.count() < 2 || f.bounded() == 0) return std::nullopt;
    const auto limits = shape_limits(family);
    Theta at = f.start();
    at[1] = std::clamp(at[1], limits[0], limits[1]);
    double now = f(at);
    double damping = 1e-3;
    for (int round = 0; round < 200; ++round) {
        const Slopes s = slopes_at(f, at, now, 1e-4);
        // Climbing on -H; where it is not positive the damping makes it so.
        double a = std::abs(s.h00) * (1.0 + damping) + 1e-12;
        double c = std::abs(s.h11) * (1.0 + damping) + 1e-12;
        double b = -s.h01;
        if (b * b > 0.98 * a * c) b = std::copysign(std::sqrt(0.98 * a * c), b);
        const double det = a * c - b * b;
        Theta step{(c * s.g0 - b * s.g1) / det, (a * s.g1 - b * s.g0) / det};
        for (double& x : step)
            x = std::clamp(x, -1.0, 1.0);
        const Theta next{at[0] + step[0], std::clamp(at[1] + step[1], limits[0], limits[1])};
        const double then = f(next);
        const double moved = std::abs(next[0] - at[0]) + std::abs(next[1] - at[1]);
        if (then > now) {
            at = next;
            now = then;
            damping = std::max(1e-9, 0.2 * damping);
        } else {
            damping *= 8.0;
        }
        if (moved < 1e-9 || damping > 1e10) break;
    }
    CensoredFit fit{.family = family,
                    .scale = std::exp(at[0]),
                    .shape = std::exp(at[1]),
                    .log_likelihood = now,
                    .n = f.count(),
                    .exact = f.exact()};
    fit.at_limit = at[1] <= limits[0] + 1e-9 || at[1] >= limits[1] - 1e-9;
    const Slopes s = slopes_at(f, at, now, 1e-3);
    const double det = s.h00 * s.h11 - s.h01 * s.h01;
    if (s.h00 < 0.0 && det > 0.0 && !fit.at_limit) {
        fit.covariance = {-s.h11 / det, s.h01 / det, -s.h00 / det};
    } else {
        fit.at_limit = true;
    }
    return fit;
}

std::optional<double> cross_validated_score(Family family, std::span<const Observed> observed,
                                            std::size_t folds) {
    std::vector<Observed> all;
    for (const Observed& o : observed) {
        if (o.tells()) all.push_back(o);
    }
    folds = std::min(folds, all.size());
    if (folds < 2) return std::nullopt;
    double sum = 0.0;
    for (std::size_t k = 0; k < folds; ++k) {
        std::vector<Observed> rest;
        for (std::size_t i = 0; i < all.size(); ++i) {
            if (i % folds != k) rest.push_back(all[i]);
        }
        const auto fit = fit_censored(family, rest);
        if (!fit || fit->at_limit) return std::nullopt;
        for (std::size_t i = k; i < all.size(); i += folds)
            sum += log_likelihood(*fit, all[i]);
    }
    return sum / static_cast<double>(all.size());
}

FamilyChoice choose_family(std::span<const Observed> observed, double margin) {
    FamilyChoice out;
    constexpr std::array families{Family::Lognormal, Family::Gamma, Family::Weibull};
    for (const Family f : families)
        out.score[static_cast<std::size_t>(f)] = cross_validated_score(f, observed);
    double best = out.score[0].value_or(-infinite) + margin;
    for (const Family f : {Family::Gamma, Family::Weibull}) {
        const auto score = out.score[static_cast<std::size_t>(f)];
        if (!score || *score <= best) continue;
        best = *score;
        out.family = f;
    }
    return out;
}

}  // namespace sched::study
