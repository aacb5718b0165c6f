#pragma once
// Quantiles and probabilities of the textbook distributions. Boost.Math stays behind this header.

namespace sched::study {

double normal_cdf(double z);
/// p in (0, 1).
double normal_quantile(double p);
/// Student's t; p in (0, 1), df > 0 (need not be whole).
double t_quantile(double p, double df);
/// Two-sided p-value of |t|.
double t_two_sided(double t, double df);
double chi_square_quantile(double p, double df);
/// P(X > x).
double chi_square_above(double x, double df);
double f_quantile(double p, double df1, double df2);
/// Beta(a, b); a, b > 0, p in [0, 1].
double beta_quantile(double p, double a, double b);
/// P(B <= k) for B ~ Bin(n, q); 0 for k < 0, 1 for k >= n.
double binomial_cdf(int k, int n, double q);
double gamma_function(double x);
/// Gamma distribution of shape and scale, both > 0.
double gamma_quantile(double p, double shape, double scale);
double gamma_cdf(double x, double shape, double scale);

}  // namespace sched::study
