// Fits of censored lengths, pooled groups, control chart and late marks against published examples.

#include "sched/statistics/censored_fit.hpp"

#include <cmath>

#include "sched/engine/draws.hpp"
#include "sched/statistics/control_chart.hpp"
#include "sched/statistics/late_marks.hpp"
#include "sched/statistics/partial_pooling.hpp"
#include "tests/catch.hpp"

using namespace sched::study;

namespace {

std::vector<Observed> exact(const std::vector<double>& values) {
    std::vector<Observed> out;
    for (const double x : values)
        out.push_back(Observed::exact(x));
    return out;
}

}  // namespace

// Lawless, Statistical Models and Methods for Lifetime Data (2003), ch. 5, data of Nelson (1982,
// p. 33): thousands of miles to failure of 37 of 96 locomotive controls, the others still at work
// at 135. Published lognormal fit: mu 5.117, sigma 0.705.
TEST_CASE("a lognormal fit with right-censored lengths is the published one", "[tune][censored]") {
    auto all = exact({22.5,  37.5,  46.0,  48.5,  51.5,  53.0,  54.5,  57.5,  66.5,  68.0,
                      69.5,  76.5,  77.0,  78.5,  80.0,  81.5,  82.0,  83.0,  84.0,  91.5,
                      93.5,  102.5, 107.0, 108.5, 112.5, 113.5, 116.0, 117.0, 118.5, 119.0,
                      120.0, 122.5, 123.0, 127.5, 131.0, 132.5, 134.0});
    for (int i = 0; i < 59; ++i)
        all.push_back(Observed::at_least(135.0));
    const auto fit = fit_censored(Family::Lognormal, all);
    REQUIRE(fit);
    CHECK(std::log(fit->scale) == Approx(5.117).margin(0.0005));
    CHECK(fit->shape == Approx(0.705).margin(0.0006));
    // An independent simplex search in Python gives the same top: -237.0935453.
    CHECK(fit->log_likelihood == Approx(-237.0935453407).epsilon(1e-9));
    CHECK(fit->n == 96);
    CHECK(fit->exact == 37);
    CHECK_FALSE(fit->at_limit);
}

// Nelson, Applied Life Data Analysis (1982), p. 415: turbine parts looked at after so many months,
// how many had cracked since the look before; 73 of 167 never. Weibull fit in the literature on
// these data: scale 71.6904, shape 1.4854.
TEST_CASE("a Weibull fit of what was looked at now and then is the published one",
          "[tune][censored]") {
    const std::vector<double> look = {0.0, 6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48};
    const std::vector<int> cracked = {5, 16, 12, 18, 18, 2, 6, 17};
    std::vector<Observed> all;
    for (std::size_t i = 0; i < cracked.size(); ++i)
        all.insert(all.end(), static_cast<std::size_t>(cracked[i]), Observed{look[i], look[i + 1]});
    all.insert(all.end(), 73, Observed::at_least(63.48));
    const auto fit = fit_censored(Family::Weibull, all);
    REQUIRE(fit);
    CHECK(fit->scale == Approx(71.6904).margin(0.0005));
    CHECK(fit->shape == Approx(1.4854).margin(0.0001));
    // Published standard errors of ln scale and 1 / shape: 0.0744 and 0.0664.
    CHECK(std::sqrt(fit->covariance[0]) == Approx(0.0744).margin(0.0002));
    CHECK(std::sqrt(fit->covariance[2]) / fit->shape == Approx(0.0664).margin(0.0002));
}

// Weeks in remission of 21 patients, twelve of them still in it (Freireich et al., Blood 21, 1963;
// in every textbook of survival). Weibull in the textbooks: scale 33.77, shape 1.354, log
// likelihood -41.66. Gamma and lognormal: simplex search in Python with a series for the incomplete
// gamma function, apart from this code.
TEST_CASE("three laws of one censored data set", "[tune][censored]") {
    auto all = exact({6, 6, 6, 7, 10, 13, 16, 22, 23});
    for (const double x : {6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35})
        all.push_back(Observed::at_least(x));
    const auto weibull = fit_censored(Family::Weibull, all);
    REQUIRE(weibull);
    CHECK(weibull->scale == Approx(33.76515).epsilon(1e-5));
    CHECK(weibull->shape == Approx(1.3537345).epsilon(1e-5));
    CHECK(weibull->log_likelihood == Approx(-41.658678).epsilon(1e-7));
    const auto gamma = fit_censored(Family::Gamma, all);
    REQUIRE(gamma);
    CHECK(gamma->mean() == Approx(31.094068).epsilon(1e-5));
    CHECK(gamma->shape == Approx(1.6770088).epsilon(1e-5));
    CHECK(gamma->log_likelihood == Approx(-41.439416).epsilon(1e-7));
    const auto lognormal = fit_censored(Family::Lognormal, all);
    REQUIRE(lognormal);
    CHECK(std::log(lognormal->scale) == Approx(3.2030676).epsilon(1e-6));
    CHECK(lognormal->shape == Approx(0.9787248).epsilon(1e-5));
    CHECK(lognormal->log_likelihood == Approx(-40.680156).epsilon(1e-7));
}

TEST_CASE("what is exact needs no search: the lognormal has its mean and deviation",
          "[tune][censored]") {
    const std::vector<double> logs = {0.1, 0.4, -0.2, 0.3, 0.0, 0.6};  // mean 0.2
    std::vector<double> values;
    double squares = 0.0;
    for (const double y : logs) {
        values.push_back(std::exp(y));
        squares += (y - 0.2) * (y - 0.2);
    }
    const auto fit = fit_censored(Family::Lognormal, exact(values));
    REQUIRE(fit);
    CHECK(std::log(fit->scale) == Approx(0.2).margin(1e-7));
    CHECK(fit->shape == Approx(std::sqrt(squares / 6.0)).epsilon(1e-6));
    // Information of the mean: n / sigma^2.
    CHECK(fit->covariance[0] == Approx(squares / 36.0).epsilon(1e-3));
    CHECK_FALSE(fit_censored(Family::Gamma, exact({4.0})));
    CHECK_FALSE(fit_censored(
        Family::Weibull, std::vector<Observed>{Observed::at_least(3.0), Observed::at_least(4.0)}));
    // All alike: no spread can be told, and the fit says so.
    const auto alike = fit_censored(Family::Lognormal, exact({5, 5, 5, 5}));
    REQUIRE(alike);
    CHECK(alike->at_limit);
}

// A proper score finds the law that the lengths have: 800 draws of each (Gneiting and Raftery
// 2007).
TEST_CASE("the score finds the family", "[tune][censored]") {
    const std::vector<std::pair<Family, Distribution>> laws = {
        {Family::Lognormal, Distribution::lognormal(5.0, 0.8)},
        {Family::Gamma, Distribution::gamma(5.0, 0.5)},
        {Family::Weibull, Distribution::weibull(2.5, 5.0)}};
    for (std::size_t k = 0; k < laws.size(); ++k) {
        const sched::engine::Draws draws(4711, k);
        std::vector<Observed> all;
        for (std::uint64_t i = 0; i < 2000; ++i) {
            const double x = laws[k].second.quantile(draws.uniform({i, 0, 0, 0}));
            const double cut = 4.0 / draws.uniform({i, 1, 0, 0});
            all.push_back(x > cut ? Observed::at_least(cut) : Observed::exact(x));
        }
        const FamilyChoice choice = choose_family(all);
        CAPTURE(k);
        CHECK(choice.family == laws[k].first);
        REQUIRE(choice.score[k]);
    }
}

// Berkey et al., Statistics in Medicine 14 (1995), and every text on meta-analysis: thirteen trials
// of a vaccine (Colditz et al. 1994). Published with the estimator of DerSimonian and Laird:
// variance between trials 0.3088, mean log risk ratio -0.7141, standard error 0.1787, Q 152.23.
TEST_CASE("means of groups are drawn together as published", "[tune][pooling]") {
    struct Trial {
        double sick, well, sick_without, well_without;
    };
    const std::vector<Trial> trials = {
        {4, 119, 11, 128},       {6, 300, 29, 274},        {3, 228, 11, 209},
        {62, 13536, 248, 12619}, {33, 5036, 47, 5761},     {180, 1361, 372, 1079},
        {8, 2537, 10, 619},      {505, 87886, 499, 87892}, {29, 7470, 45, 7232},
        {17, 1699, 65, 1600},    {186, 50448, 141, 27197}, {5, 2493, 3, 2338},
        {27, 16886, 29, 17825}};
    std::vector<GroupMean> groups;
    for (const Trial& t : trials) {
        const double n = t.sick + t.well, m = t.sick_without + t.well_without;
        groups.push_back({std::log(t.sick / n / (t.sick_without / m)),
                          1.0 / t.sick - 1.0 / n + 1.0 / t.sick_without - 1.0 / m});
    }
    const RandomEffects drawn = random_effects(groups);
    CHECK(drawn.q == Approx(152.23).margin(0.005));
    CHECK(drawn.between == Approx(0.3088).margin(0.00005));
    CHECK(drawn.mean == Approx(-0.7141).margin(0.00005));
    CHECK(std::sqrt(drawn.mean_variance) == Approx(0.1787).margin(0.00005));
    // Towards the mean, the less certain the more: the smallest trial gives up more than the
    // largest.
    const auto given_up = [&](std::size_t i) {
        return std::abs(drawn.shrunken[i].value - groups[i].value) /
               std::abs(drawn.mean - groups[i].value);
    };
    CHECK(given_up(0) == Approx(groups[0].variance / (groups[0].variance + drawn.between)));
    CHECK(given_up(7) < 0.02);
}

TEST_CASE("three observations do not rule", "[tune][pooling]") {
    // Two mesh counts: 60 lengths about 4 min and 3 about 6 min, by luck; a third group like the
    // first.
    const sched::engine::Draws draws(7, 1);
    std::vector<PooledLength> all;
    const auto add = [&](int level, int n, double mean) {
        for (int i = 0; i < n; ++i) {
            const double z = sched::engine::normal_inverse(
                draws.uniform({static_cast<std::uint64_t>(all.size()), 0, 0, 0}));
            all.push_back({Observed::exact(mean * std::exp(0.3 * z)), {level}});
        }
    };
    add(0, 60, 240.0);
    add(1, 3, 300.0);
    add(2, 60, 240.0);
    const std::vector<int> levels{3};
    const PooledFit few = pool_lengths(all, levels);
    REQUIRE(few.n == 123);
    CHECK(few.sigma == Approx(0.3).margin(0.05));
    CHECK(std::abs(few.effects[0][1].value) < 0.5 * std::log(300.0 / 240.0));
    // With sixty of them it does.
    add(1, 57, 300.0);
    const PooledFit many = pool_lengths(all, levels);
    CHECK(many.effects[0][1].value - many.effects[0][0].value ==
          Approx(std::log(300.0 / 240.0)).margin(0.1));
    // By observations the effects of a factor sum to nothing.
    double sum = 0.0;
    for (const auto& e : many.effects[0])
        sum += static_cast<double>(e.n) * e.value;
    CHECK(sum == Approx(0.0).margin(1e-6));
}

TEST_CASE("pooling tells two factors apart, with lengths cut off", "[tune][pooling]") {
    // People and meshes by a plan that is not balanced; what takes longer than a time of its own is
    // known only to do so.
    const sched::engine::Draws draws(11, 2);
    std::vector<PooledLength> all;
    const std::vector<double> person = {0.0, 0.25, -0.25};
    const std::vector<double> mesh = {0.15, -0.15};
    for (std::uint64_t i = 0; i < 900; ++i) {
        const auto u = [&](std::uint64_t k) { return draws.uniform({i, k, 0, 0}); };
        const int p = static_cast<int>(3.0 * u(0));
        const int m = u(1) < (p == 0 ? 0.7 : 0.3) ? 0 : 1;
        const double x =
            std::exp(1.0 + person[static_cast<std::size_t>(p)] + mesh[static_cast<std::size_t>(m)] +
                     0.2 * sched::engine::normal_inverse(u(2)));
        const double cut = std::exp(1.1 + 0.3 * sched::engine::normal_inverse(u(3)));
        all.push_back({x > cut ? Observed::at_least(cut) : Observed::exact(x), {p, m}});
    }
    const std::vector<int> levels{3, 2};
    const PooledFit fit = pool_lengths(all, levels);
    const auto& who = fit.effects[0];
    CHECK(who[1].value - who[0].value == Approx(0.25).margin(0.05));
    CHECK(who[2].value - who[0].value == Approx(-0.25).margin(0.05));
    CHECK(fit.effects[1][0].value - fit.effects[1][1].value == Approx(0.3).margin(0.05));
    CHECK(fit.sigma == Approx(0.2).margin(0.02));
}

TEST_CASE("few lengths have the interval of Student", "[tune][censored]") {
    // By hand: logarithms 0.1, 0.3, 0.2, 0.5, 0.4: mean 0.3, deviation sqrt(0.1 / 4) = 0.158114; t
    // of four degrees of freedom for 90 % 2.131847: 0.3 -+ 2.131847 * 0.158114 / sqrt(5) =
    // 0.150743.
    std::vector<Observed> lengths;
    for (const double x : {0.1, 0.3, 0.2, 0.5, 0.4})
        lengths.push_back(Observed::exact(std::exp(x)));
    const auto fit = fit_censored(Family::Lognormal, lengths);
    REQUIRE(fit);
    const Interval median = fit->quantile_interval(0.5, 0.9);
    CHECK(std::log(median.low) == Approx(0.3 - 0.150743).margin(1e-4));
    CHECK(std::log(median.high) == Approx(0.3 + 0.150743).margin(1e-4));
}

TEST_CASE("values that go together tell less", "[tune][pooling]") {
    // Three alike in each of two clusters: three times the variance of the mean. By hand:
    // deviations 1, 1, 1, -1, -1, -1; (9 + 9) / 6.
    const std::vector<double> values = {3, 3, 3, 1, 1, 1};
    CHECK(design_effect(values, std::vector<int>{1, 1, 1, 2, 2, 2}) == Approx(3.0));
    CHECK(design_effect(values, std::vector<int>{1, 2, 3, 4, 5, 6}) == Approx(1.0));
    CHECK(design_effect(values, std::vector<int>{1, 2, 3, 1, 2, 3}) == 1.0);  // they cancel
}

// Montgomery, Introduction to Statistical Quality Control, example of ch. 9: target 10, deviation
// 1, weight 0.1, width 2.7; the first twenty points are in control, the mean of the others is 11.
// Levels by hand for the first two, all by a spreadsheet of the formula apart from this code.
TEST_CASE("the chart of a textbook", "[tune][chart]") {
    const std::vector<double> values = {9.45,  7.99,  9.29,  11.66, 12.16, 10.18, 8.04,  11.46,
                                        9.20,  10.34, 9.03,  11.47, 10.51, 9.40,  10.08, 9.37,
                                        10.62, 10.31, 8.52,  10.84, 10.90, 9.33,  12.29, 11.50,
                                        10.60, 11.08, 10.38, 11.62, 11.31, 10.52};
    const EwmaChart chart = ewma_chart(values, 10.0, 1.0, {.weight = 0.1, .width = 2.7});
    CHECK(chart.level[0] == Approx(9.945).margin(1e-9));
    CHECK(chart.level[1] == Approx(9.7495).margin(1e-9));
    CHECK(chart.half_width[0] == Approx(0.27).margin(1e-9));
    CHECK(chart.half_width[29] == Approx(0.6189).margin(0.0001));
    CHECK(chart.level[28] == Approx(10.6468).margin(0.0001));
    REQUIRE(chart.signal);
    CHECK(*chart.signal == 28);
    REQUIRE(chart.since);
    CHECK(*chart.since == 19);  // from the 20th value on the level stays above the target
}

// Lucas and Saccucci (1990), table 3: weight 0.2, width 2.962: after a shift of one standard
// deviation the alarm comes after 10.5 points on average.
TEST_CASE("a shift of one deviation is seen as soon as published", "[tune][chart]") {
    double sum = 0.0, squares = 0.0;
    constexpr int runs = 3000;
    for (int r = 0; r < runs; ++r) {
        const sched::engine::Draws draws(99, static_cast<std::uint64_t>(r));
        std::vector<double> values;
        for (std::uint64_t i = 0; i < 200; ++i)
            values.push_back(1.0 + sched::engine::normal_inverse(draws.uniform({i, 0, 0, 0})));
        const auto chart = ewma_chart(values, 0.0, 1.0, {.steady = true});
        REQUIRE(chart.signal);
        const double length = static_cast<double>(*chart.signal + 1);
        sum += length;
        squares += length * length;
    }
    const double mean = sum / runs;
    const double error = std::sqrt((squares / runs - mean * mean) / runs);
    CHECK(std::abs(mean - 10.5) < 3.0 * error + 0.05);  // 0.05: the table is rounded
}

// The same table, as Montgomery, Introduction to Statistical Quality Control, ch. 9, has it:
// designs that give a false alarm in 500 points; average number of points until the alarm.
TEST_CASE("run lengths of the chart are the published ones", "[tune][chart]") {
    struct Design {
        double weight, width, half_a_deviation, one_deviation, two_deviations;
    };
    for (const Design& d :
         {Design{0.40, 3.054, 71.2, 14.3, 3.5}, Design{0.25, 2.998, 48.2, 11.1, 3.6},
          Design{0.20, 2.962, 41.8, 10.5, 3.7}, Design{0.10, 2.814, 31.3, 10.3, 4.4},
          Design{0.05, 2.615, 28.8, 11.4, 5.2}}) {
        INFO("weight " << d.weight);
        const EwmaOptions options{.weight = d.weight, .width = d.width, .steady = true};
        // The table is rounded, and a unit in the last digit of the width is 1.5 points of 500.
        CHECK(ewma_run_length(0.0, options) == Approx(500.0).epsilon(0.01));
        CHECK(ewma_run_length(0.5, options) == Approx(d.half_a_deviation).margin(0.1));
        CHECK(ewma_run_length(1.0, options) == Approx(d.one_deviation).margin(0.06));
        CHECK(ewma_run_length(2.0, options) == Approx(d.two_deviations).margin(0.06));
        CHECK(ewma_width(d.weight, 500.0) == Approx(d.width).margin(0.005));
    }
}

TEST_CASE("without a change the chart is quiet for as long as published", "[tune][chart]") {
    double sum = 0.0, squares = 0.0;
    constexpr int runs = 800;
    for (int r = 0; r < runs; ++r) {
        const sched::engine::Draws draws(77, static_cast<std::uint64_t>(r));
        std::vector<double> values;
        std::optional<std::size_t> signal;
        for (std::uint64_t more = 500; !signal; more *= 2) {
            for (std::uint64_t i = values.size(); i < more; ++i)
                values.push_back(sched::engine::normal_inverse(draws.uniform({i, 0, 0, 0})));
            signal = ewma_chart(values, 0.0, 1.0, {.steady = true}).signal;
        }
        const double length = static_cast<double>(*signal + 1);
        sum += length;
        squares += length * length;
    }
    const double mean = sum / runs;
    const double error = std::sqrt((squares / runs - mean * mean) / runs);
    INFO("mean " << mean << " +- " << error);
    CHECK(std::abs(mean - 500.0) < 3.0 * error);
}

TEST_CASE("the place of a change is found", "[tune][chart]") {
    // By hand: sums of squares about the two means are 0 behind the third value.
    CHECK(change_point(std::vector<double>{1, 1, 1, 4, 4}) == 3);
    CHECK(change_point(std::vector<double>{5, 2, 2, 2, 2, 2}) == 1);
}

TEST_CASE("touches in a bunch are told from work done at once", "[tune][late]") {
    std::vector<NotedEnd> pieces;
    for (int i = 0; i < 4; ++i)  // four screens, ten minutes apart, touched within 30 s
        pieces.push_back({600.0 * i, 3000.0 + 10.0 * i, 1});
    for (int i = 0; i < 4; ++i)  // four that began together and ended together
        pieces.push_back({5000.0 + 10.0 * i, 6000.0 + 10.0 * i, 1});
    pieces.push_back({2900.0, 3005.0, 2});  // another device
    pieces.push_back({0.0, 3005.0, -1});    // nobody knows where
    const auto late = in_bunches(pieces);
    CHECK(late == std::vector<char>{1, 1, 1, 1, 0, 0, 0, 0, 0, 0});
}
