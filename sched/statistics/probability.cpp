#include "sched/statistics/probability.hpp"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/gamma.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>

#include "sched/engine/draws.hpp"

namespace sched::study {

double normal_cdf(double z) {
    return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

double normal_quantile(double p) {
    return engine::normal_inverse(p);
}

double t_quantile(double p, double df) {
    return boost::math::quantile(boost::math::students_t(df), p);
}

double t_two_sided(double t, double df) {
    return 2.0 *
           boost::math::cdf(boost::math::complement(boost::math::students_t(df), std::abs(t)));
}

double chi_square_quantile(double p, double df) {
    return boost::math::quantile(boost::math::chi_squared(df), p);
}

double chi_square_above(double x, double df) {
    return boost::math::cdf(boost::math::complement(boost::math::chi_squared(df), x));
}

double f_quantile(double p, double df1, double df2) {
    return boost::math::quantile(boost::math::fisher_f(df1, df2), p);
}

double beta_quantile(double p, double a, double b) {
    return boost::math::quantile(boost::math::beta_distribution<>(a, b), p);
}

double binomial_cdf(int k, int n, double q) {
    if (k < 0) {
        return 0.0;
    }
    if (k >= n) {
        return 1.0;
    }
    return boost::math::cdf(boost::math::binomial(n, q), k);
}

double gamma_function(double x) {
    return boost::math::tgamma(x);
}

double gamma_quantile(double p, double shape, double scale) {
    return boost::math::quantile(boost::math::gamma_distribution<>(shape, scale), p);
}

double gamma_cdf(double x, double shape, double scale) {
    return x <= 0.0 ? 0.0 : boost::math::cdf(boost::math::gamma_distribution<>(shape, scale), x);
}

}  // namespace sched::study
