// How it works: a law is its parameters a, b, c; a bounded one is the same law on the part of
// its probability between the bounds, found once. Quantile and distribution function are closed
// formulas or Boost's; moments of bounded laws are integrated over the quantile (tanh-sinh),
// those of samples are sums.

#include "sched/statistics/distribution.hpp"

#include <algorithm>
#include <boost/math/quadrature/tanh_sinh.hpp>
#include <cassert>
#include <charconv>
#include <cmath>
#include <string>

#include "sched/engine/draws.hpp"
#include "sched/statistics/probability.hpp"

namespace sched::study {

Distribution Distribution::constant(double value) {
    Distribution d;
    d.a_ = value;
    return d;
}

Distribution Distribution::uniform(double low, double high) {
    assert(low <= high);
    Distribution d;
    d.law_ = Law::Uniform;
    d.a_ = low;
    d.b_ = high;
    return d;
}

Distribution Distribution::triangular(double low, double mode, double high) {
    assert(low <= mode && mode <= high);
    Distribution d;
    d.law_ = Law::Triangular;
    d.a_ = low;
    d.b_ = mode;
    d.c_ = high;
    return d;
}

Distribution Distribution::lognormal(double mean, double cv) {
    assert(mean > 0.0 && cv >= 0.0);
    const double sigma2 = std::log1p(cv * cv);
    Distribution d;
    d.law_ = Law::Lognormal;
    d.a_ = std::log(mean) - 0.5 * sigma2;
    d.b_ = std::sqrt(sigma2);
    return d;
}

Distribution Distribution::lognormal_p50_p90(double p50, double p90) {
    assert(p50 > 0.0 && p90 >= p50);
    Distribution d;
    d.law_ = Law::Lognormal;
    d.a_ = std::log(p50);
    d.b_ = std::log(p90 / p50) / engine::normal_inverse(0.9);
    return d;
}

Distribution Distribution::gamma(double mean, double cv) {
    assert(mean > 0.0 && cv > 0.0);
    Distribution d;
    d.law_ = Law::Gamma;
    d.a_ = 1.0 / (cv * cv);
    d.b_ = mean * cv * cv;
    return d;
}

Distribution Distribution::weibull(double shape, double scale) {
    assert(shape > 0.0 && scale > 0.0);
    Distribution d;
    d.law_ = Law::Weibull;
    d.a_ = shape;
    d.b_ = scale;
    return d;
}

Distribution Distribution::exponential(double mean) {
    assert(mean > 0.0);
    Distribution d;
    d.law_ = Law::Exponential;
    d.a_ = mean;
    return d;
}

Distribution Distribution::empirical(std::vector<double> values) {
    assert(!values.empty());
    Distribution d;
    d.law_ = Law::Empirical;
    d.values_ = std::move(values);
    std::sort(d.values_.begin(), d.values_.end());
    return d;
}

Distribution Distribution::bounded(double low, double high) const {
    assert(low <= high);
    Distribution d = *this;
    d.low_ = low_ ? std::max(*low_, low) : low;
    d.high_ = high_ ? std::min(*high_, high) : high;
    d.u_high_ = d.raw_cdf(*d.high_);
    d.u_low_ = d.raw_cdf(*d.low_);
    if (law_ == Law::Empirical) {
        // Values equal to the lower bound belong to the range.
        const auto below = std::lower_bound(values_.begin(), values_.end(), *d.low_);
        d.u_low_ =
            static_cast<double>(below - values_.begin()) / static_cast<double>(values_.size());
    }
    return d;
}

double Distribution::quantile(double u) const {
    assert(u > 0.0 && u < 1.0);
    if (!low_) {
        return raw_quantile(u);
    }
    if (u_high_ <= u_low_) {
        return u_high_ <= 0.0 ? *high_ : *low_;  // the law lies above, or below
    }
    const double v = u_low_ + u * (u_high_ - u_low_);
    const double x = v <= 0.0 ? *low_ : v >= 1.0 ? *high_ : raw_quantile(v);
    return std::clamp(x, *low_, *high_);
}

double Distribution::cdf(double x) const {
    if (!low_) {
        return raw_cdf(x);
    }
    if (x < *low_) {
        return 0.0;
    }
    if (x >= *high_) {
        return 1.0;
    }
    if (u_high_ <= u_low_) {  // no probability inside: all at the nearer end
        return quantile(0.5) <= x ? 1.0 : 0.0;
    }
    return std::clamp((raw_cdf(x) - u_low_) / (u_high_ - u_low_), 0.0, 1.0);
}

double Distribution::raw_quantile(double u) const {
    switch (law_) {
        case Law::Constant:
            return a_;
        case Law::Uniform:
            return a_ + u * (b_ - a_);
        case Law::Triangular: {
            const double width = c_ - a_;
            if (width <= 0.0) {
                return a_;
            }
            const double left = b_ - a_;
            return u * width <= left ? a_ + std::sqrt(u * width * left)
                                     : c_ - std::sqrt((1.0 - u) * width * (c_ - b_));
        }
        case Law::Lognormal:
            return std::exp(a_ + b_ * engine::normal_inverse(u));
        case Law::Gamma:
            return gamma_quantile(u, a_, b_);
        case Law::Weibull:
            return b_ * std::pow(-std::log1p(-u), 1.0 / a_);
        case Law::Exponential:
            return engine::exponential_inverse(a_, u);
        case Law::Empirical: {
            const double n = static_cast<double>(values_.size());
            const double rank = std::clamp(std::ceil(n * u), 1.0, n);
            return values_[static_cast<std::size_t>(rank) - 1];
        }
    }
    return 0.0;
}

double Distribution::raw_cdf(double x) const {
    switch (law_) {
        case Law::Constant:
            return x >= a_ ? 1.0 : 0.0;
        case Law::Uniform:
            return x >= b_ ? 1.0 : x <= a_ ? 0.0 : (x - a_) / (b_ - a_);
        case Law::Triangular:
            if (x <= a_ && x < c_) {
                return 0.0;
            }
            if (x >= c_) {
                return 1.0;
            }
            return x <= b_ ? (x - a_) * (x - a_) / ((c_ - a_) * (b_ - a_))
                           : 1.0 - (c_ - x) * (c_ - x) / ((c_ - a_) * (c_ - b_));
        case Law::Lognormal:
            if (x <= 0.0) {
                return 0.0;
            }
            if (b_ <= 0.0) {
                return std::log(x) >= a_ ? 1.0 : 0.0;
            }
            return normal_cdf((std::log(x) - a_) / b_);
        case Law::Gamma:
            return gamma_cdf(x, a_, b_);
        case Law::Weibull:
            return x <= 0.0 ? 0.0 : -std::expm1(-std::pow(x / b_, a_));
        case Law::Exponential:
            return x <= 0.0 ? 0.0 : -std::expm1(-x / a_);
        case Law::Empirical: {
            const auto above = std::upper_bound(values_.begin(), values_.end(), x);
            return static_cast<double>(above - values_.begin()) /
                   static_cast<double>(values_.size());
        }
    }
    return 0.0;
}

double Distribution::mean() const {
    if (low_) {
        return moment(1);
    }
    switch (law_) {
        case Law::Constant:
            return a_;
        case Law::Uniform:
            return 0.5 * (a_ + b_);
        case Law::Triangular:
            return (a_ + b_ + c_) / 3.0;
        case Law::Lognormal:
            return std::exp(a_ + 0.5 * b_ * b_);
        case Law::Gamma:
            return a_ * b_;
        case Law::Weibull:
            return b_ * gamma_function(1.0 + 1.0 / a_);
        case Law::Exponential:
            return a_;
        case Law::Empirical:
            return moment(1);
    }
    return 0.0;
}

double Distribution::variance() const {
    if (low_ || law_ == Law::Empirical) {
        const double m = moment(1);
        return std::max(0.0, moment(2) - m * m);
    }
    switch (law_) {
        case Law::Constant:
            return 0.0;
        case Law::Uniform:
            return (b_ - a_) * (b_ - a_) / 12.0;
        case Law::Triangular:
            return (a_ * a_ + b_ * b_ + c_ * c_ - a_ * b_ - a_ * c_ - b_ * c_) / 18.0;
        case Law::Lognormal:
            return std::expm1(b_ * b_) * std::exp(2.0 * a_ + b_ * b_);
        case Law::Gamma:
            return a_ * b_ * b_;
        case Law::Weibull: {
            const double g = gamma_function(1.0 + 1.0 / a_);
            return b_ * b_ * (gamma_function(1.0 + 2.0 / a_) - g * g);
        }
        case Law::Exponential:
            return a_ * a_;
        case Law::Empirical:
            break;
    }
    return 0.0;
}

double Distribution::moment(int power) const {
    if (law_ == Law::Empirical) {
        double sum = 0.0;
        double count = 0.0;
        for (const double x : values_) {
            if (!low_ || (x >= *low_ && x <= *high_)) {
                sum += std::pow(x, power);
                count += 1.0;
            }
        }
        return count > 0.0 ? sum / count : std::pow(quantile(0.5), power);
    }
    if (low_ && *low_ == *high_) {
        return std::pow(*low_, power);
    }
    boost::math::quadrature::tanh_sinh<double> integrator;
    const auto value = [&](double u) {
        // The rule's outermost points round to the ends, where the quantile is not defined.
        return std::pow(quantile(std::clamp(u, 1e-300, 1.0 - 0x1p-53)), power);
    };
    return integrator.integrate(value, 0.0, 1.0);
}

namespace {

std::vector<std::string> split_row(std::string_view row, char separator) {
    std::vector<std::string> cells(1);
    bool quoted = false;
    for (std::size_t i = 0; i < row.size(); ++i) {
        const char c = row[i];
        if (c == '"') {
            if (quoted && i + 1 < row.size() && row[i + 1] == '"') {
                cells.back() += c;
                ++i;
            } else {
                quoted = !quoted;
            }
        } else if (c == separator && !quoted) {
            cells.emplace_back();
        } else if (c != '\r') {
            cells.back() += c;
        }
    }
    return cells;
}

}  // namespace

std::optional<std::vector<double>> csv_column(std::string_view text, std::string_view column) {
    std::vector<double> values;
    std::optional<std::size_t> index;
    char separator = ',';
    for (bool header = true; !text.empty(); header = false) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view row = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (header) {
            separator = row.find(';') != std::string_view::npos ? ';' : ',';
        } else if (row.empty() || row == "\r") {
            continue;
        }
        const auto cells = split_row(row, separator);
        if (header) {
            const auto found = std::find(cells.begin(), cells.end(), column);
            if (found == cells.end()) {
                return std::nullopt;
            }
            index = static_cast<std::size_t>(found - cells.begin());
            continue;
        }
        if (*index >= cells.size()) {
            return std::nullopt;
        }
        const std::string& cell = cells[*index];
        double x = 0.0;
        const auto [stop, error] = std::from_chars(cell.data(), cell.data() + cell.size(), x);
        if (error != std::errc{} || stop != cell.data() + cell.size() || !std::isfinite(x) ||
            x < 0.0) {
            return std::nullopt;
        }
        values.push_back(x);
    }
    if (values.empty()) {
        return std::nullopt;
    }
    return values;
}

}  // namespace sched::study
