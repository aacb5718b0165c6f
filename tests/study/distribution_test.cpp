#include "sched/statistics/distribution.hpp"

#include <cmath>
#include <string>
#include <vector>

#include "sched/engine/draws.hpp"
#include "tests/catch.hpp"

using namespace sched::study;
using sched::engine::Draws;
using sched::engine::name_key;

namespace {

std::vector<std::pair<std::string, Distribution>> all_laws() {
    return {{"uniform", Distribution::uniform(2.0, 7.0)},
            {"triangular", Distribution::triangular(2.0, 3.0, 9.0)},
            {"lognormal", Distribution::lognormal(5.0, 0.4)},
            {"lognormal p50 p90", Distribution::lognormal_p50_p90(4.0, 9.0)},
            {"gamma", Distribution::gamma(5.0, 0.7)},
            {"weibull", Distribution::weibull(1.5, 10.0)},
            {"exponential", Distribution::exponential(5.0)},
            {"empirical", Distribution::empirical({3, 1, 4, 1, 5, 9, 2, 6})},
            {"bounded lognormal", Distribution::lognormal(5.0, 0.8).bounded(2.0, 12.0)},
            {"bounded exponential", Distribution::exponential(5.0).bounded(1.0, 8.0)},
            {"bounded empirical", Distribution::empirical({3, 1, 4, 1, 5, 9, 2, 6}).bounded(2, 6)}};
}

}  // namespace

TEST_CASE("samples have the mean and variance that the law claims", "[distribution]") {
    constexpr std::size_t n = 100'000;
    std::vector<double> u(n);
    for (const auto& [name, d] : all_laws()) {
        INFO(name);
        Draws(3, 0).fill({name_key(name), 0, 0, 0}, u);
        double sum = 0.0;
        double squares = 0.0;
        double fourth = 0.0;
        for (const double p : u) {
            const double x = d.quantile(p) - d.mean();
            sum += x;
            squares += x * x;
            fourth += x * x * x * x;
        }
        const double dn = static_cast<double>(n);
        const double error = std::sqrt(d.variance() / dn);
        CHECK(std::abs(sum / dn) < 4.0 * error);
        const double error2 = std::sqrt((fourth / dn - d.variance() * d.variance()) / dn);
        CHECK(std::abs(squares / dn - d.variance()) < 4.0 * error2);
    }
}

TEST_CASE("the quantile function inverts the distribution function", "[distribution]") {
    for (const auto& [name, d] : all_laws()) {
        INFO(name);
        if (d.law() == Law::Empirical) {
            continue;  // steps: checked below
        }
        for (const double p : {0.001, 0.1, 0.5, 0.9, 0.999}) {
            CHECK(d.cdf(d.quantile(p)) == Approx(p).epsilon(1e-9));
        }
    }
}

TEST_CASE("half and nine tenths are what the trade said", "[distribution]") {
    const auto d = Distribution::lognormal_p50_p90(4.0, 9.0);
    CHECK(d.quantile(0.5) == Approx(4.0).epsilon(1e-14));
    CHECK(d.quantile(0.9) == Approx(9.0).epsilon(1e-14));
}

TEST_CASE("an empirical law gives back its values with their frequency", "[distribution]") {
    // Eight values, sorted 1 1 2 3 4 5 6 9.
    const auto d = Distribution::empirical({3, 1, 4, 1, 5, 9, 2, 6});
    CHECK(d.quantile(0.125) == 1.0);
    CHECK(d.quantile(0.25) == 1.0);
    CHECK(d.quantile(0.26) == 2.0);
    CHECK(d.quantile(0.999) == 9.0);
    CHECK(d.mean() == Approx(31.0 / 8.0));
    CHECK(d.variance() == Approx((9 + 1 + 16 + 1 + 25 + 81 + 4 + 36) / 8.0 - 31.0 * 31.0 / 64.0));
    const auto b = d.bounded(2, 6);  // 2 3 4 5 6
    CHECK(b.quantile(0.01) == 2.0);
    CHECK(b.quantile(0.2) == 2.0);
    CHECK(b.quantile(0.99) == 6.0);
    CHECK(b.mean() == 4.0);
}

TEST_CASE("bounds hold, without a lump at the ends", "[distribution]") {
    const auto d = Distribution::exponential(5.0).bounded(1.0, 8.0);
    CHECK(d.quantile(1e-12) == Approx(1.0).margin(1e-9));
    CHECK(d.quantile(1.0 - 1e-12) == Approx(8.0).margin(1e-9));
    // Conditional mean of an exponential on [a, b], by hand:
    // mean + (a e^{-a/m} - b e^{-b/m}) / (e^{-a/m} - e^{-b/m}).
    const double ea = std::exp(-0.2);
    const double eb = std::exp(-1.6);
    CHECK(d.mean() == Approx(5.0 + (1.0 * ea - 8.0 * eb) / (ea - eb)).epsilon(1e-12));
    CHECK(Distribution::constant(3.0).bounded(4.0, 9.0).quantile(0.3) == 4.0);
    CHECK(Distribution::constant(3.0).bounded(1.0, 2.0).quantile(0.3) == 2.0);
    CHECK(Distribution::constant(3.0).bounded(3.0, 5.0).quantile(0.3) == 3.0);
    CHECK(Distribution::constant(3.0).quantile(0.3) == 3.0);
    CHECK(Distribution::lognormal(5.0, 0.0).quantile(0.9) == Approx(5.0));
}

TEST_CASE("a column of a history file becomes an empirical law", "[distribution]") {
    const auto column = csv_column("screen,minutes\n\"A,1\",4.5\nB2,6\r\nC3,5\n", "minutes");
    REQUIRE(column);
    CHECK(*column == std::vector<double>{4.5, 6, 5});
    CHECK(csv_column("a;b\n1;2\n", "b") == std::vector<double>{2});
    CHECK_FALSE(csv_column("a,b\n1,2\n", "c"));
    CHECK_FALSE(csv_column("a,b\n1,x\n", "b"));
    CHECK_FALSE(csv_column("a,b\n1,-3\n", "b"));
    CHECK_FALSE(csv_column("a,b\n1\n", "b"));
    CHECK_FALSE(csv_column("a,b\n", "b"));
}
