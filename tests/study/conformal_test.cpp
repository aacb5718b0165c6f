#include "sched/statistics/conformal.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "sched/engine/draws.hpp"
#include "sched/statistics/probability.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;
using model::PastPromise;
using model::Seconds;
using model::SimTime;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

double uniform(std::uint64_t seed, std::uint64_t i, std::uint64_t purpose = 0) {
    return engine::Draws(seed, 0).uniform({i, 0, purpose, 0});
}

/// P(X <= x) of Beta(a, b) for whole a, b: P(Bin(a + b - 1, x) >= a) (a textbook identity).
double beta_cdf(double x, int a, int b) {
    return 1.0 - binomial_cdf(a - 1, a + b - 1, x);
}

// A day of an invented shop: a promise a half-hour for waits of three to nine hours, the true wait
// lognormal about the forecast's own middle. `slower` multiplies the true wait.
std::vector<PastPromise> shop(std::uint64_t seed, int n, int drift_at, double slower) {
    const SimTime start = *model::parse_date_time("2026-03-02T08:00");
    const double sigma = 0.25;
    std::vector<PastPromise> journal;
    for (int i = 0; i < n; ++i) {
        const auto id = static_cast<std::uint64_t>(i);
        PastPromise p;
        p.enquiry = "E" + std::to_string(i);
        p.asked = start + model::minutes(30 * i);
        p.screens = 1 + i % 8;
        p.kind = i % 3 == 0 ? "halftone" : "line";
        const double middle = 3600.0 * (3.0 + 6.0 * uniform(seed, id, 1));
        const auto at = [&](double z) {
            return p.asked + model::round_up(middle * std::exp(sigma * z));
        };
        p.p50 = at(0.0);
        p.p80 = at(normal_quantile(0.8));
        p.p90 = at(normal_quantile(0.9));
        p.p95 = at(normal_quantile(0.95));
        p.promised = *p.p90;
        const double wait = middle * std::exp(sigma * normal_quantile(uniform(seed, id, 2)));
        p.ready = p.asked + model::round_up(wait * (i >= drift_at ? slower : 1.0));
        journal.push_back(p);
    }
    return journal;
}

}  // namespace

TEST_CASE("the rank of the calibration score is ceil((n + 1) level)", "[conformal]") {
    // Romano, Patterson, Candes 2019, eq. 8: the ceil((n + 1)(1 - alpha))-th smallest; by hand.
    CHECK(conformal_rank(9, 0.9) == 9);
    CHECK(conformal_rank(8, 0.9) == std::nullopt);
    CHECK(conformal_rank(19, 0.95) == 19);
    CHECK(conformal_rank(18, 0.95) == std::nullopt);
    CHECK(conformal_rank(99, 0.9) == 90);
    CHECK(conformal_rank(100, 0.9) == 91);
    CHECK(conformal_rank(4, 0.8) == 4);
    CHECK(conformal_rank(5, 0.0) == 0);
    CHECK(conformal_rank(5, 1.0) == std::nullopt);
    CHECK(conformal_least(0.5) == 1);
    CHECK(conformal_least(0.9) == 9);
    CHECK(conformal_least(0.95) == 19);
    const std::vector<double> scores{40, -10, 5, 30, 0, -20, 25, 10, 15};
    CHECK(conformal_shift(scores, 0.9) == 40.0);
    CHECK(conformal_shift(scores, 0.8) == 30.0);
    CHECK(conformal_shift(scores, 0.5) == 10.0);
    CHECK(conformal_shift(scores, 0.95) == std::nullopt);
    const std::vector<double> open{1, inf, 2, 3, 4, 5, 6, 7, 8};
    CHECK(conformal_shift(open, 0.9) == std::nullopt);
    CHECK(conformal_shift(open, 0.8) == 8.0);
}

TEST_CASE("coverage of split conformal is Beta(l, n + 1 - l) over calibrations", "[conformal]") {
    // Of uniform scores the coverage of a threshold is the threshold itself, so the theorem
    // (Vovk 2012, prop. 2a) can be held against the whole distribution function.
    const int n = 60;
    const int l = 55;  // ceil(61 * 0.9)
    const int calibrations = 1000;
    std::vector<double> cdf;
    double sum = 0.0;
    for (int c = 0; c < calibrations; ++c) {
        std::vector<double> scores;
        for (int i = 0; i < n; ++i)
            scores.push_back(uniform(11, static_cast<std::uint64_t>(c * n + i)));
        const double coverage = conformal_shift(scores, 0.9).value();
        sum += coverage;
        cdf.push_back(beta_cdf(coverage, l, n + 1 - l));
    }
    std::sort(cdf.begin(), cdf.end());
    // A right implementation fails one seed in a thousand.
    CHECK(ks_p_value(calibrations, ks_distance(cdf)) > 0.001);
    CHECK(sum / calibrations == Approx(55.0 / 61.0).margin(4.0 * 0.0377 / std::sqrt(1000.0)));
    for (const double p : {0.05, 0.5, 0.95}) {
        CHECK(beta_cdf(conformal_coverage_quantile(60, 0.9, p), l, n + 1 - l) ==
              Approx(p).margin(1e-9));
    }
}

TEST_CASE("calibration sizes of the literature come out of the Beta law", "[conformal]") {
    // Angelopoulos and Bates, A Gentle Introduction to Conformal Prediction (2021), sec. 3.2: with
    // so many scores the coverage at 90 % is off by at most epsilon with chance 0.9 (value from
    // memory, confirmed by the law; the smallest sizes of that table hang on how ranks are
    // rounded).
    struct Row {
        std::size_t n;
        double epsilon;
    };
    for (const Row r : {Row{2491, 0.01}, {9812, 0.005}}) {
        const auto l = static_cast<int>(*conformal_rank(r.n, 0.9));
        const int rest = static_cast<int>(r.n) + 1 - l;
        const double inside =
            beta_cdf(std::min(1.0, 0.9 + r.epsilon), l, rest) - beta_cdf(0.9 - r.epsilon, l, rest);
        INFO(r.n << " " << inside);
        CHECK(inside == Approx(0.9).margin(0.005));
    }
}

TEST_CASE("the adaptive level keeps the long-run promise against any sequence", "[conformal]") {
    // Gibbs and Candes 2021, prop. 4.1, holds for every sequence, so hostile ones must do.
    const double target = 0.1;
    for (const double gamma : {0.005, 0.02, 0.1}) {
        for (const int kind : {0, 1, 2}) {
            AdaptiveLevel level(1.0 - target, gamma);
            int misses = 0;
            const int rounds = 5000;
            for (int t = 1; t <= rounds; ++t) {
                const double alpha = 1.0 - level.level();
                bool missed = false;
                if (kind == 0) missed = true;                // whatever can go wrong does
                if (kind == 1) missed = (t / 700) % 2 == 1;  // seasons
                if (kind == 2) missed = uniform(5, static_cast<std::uint64_t>(t)) < 0.35;
                if (alpha <= 0.0) missed = false;
                if (alpha >= 1.0) missed = true;
                level.update(missed);
                misses += missed ? 1 : 0;
                const double bound = (0.9 + gamma) / (gamma * t);
                REQUIRE(std::abs(static_cast<double>(misses) / t - target) <= bound + 1e-12);
            }
        }
    }
}

TEST_CASE("a shop whose steps take a fifth longer gets its coverage back", "[conformal]") {
    const int n = 1800;
    const auto result = backtest(shop(3, n, 900, 1.2), {});
    // Truth by hand: P(1.2 X <= q90) = Phi(z90 - ln 1.2 / 0.25) = Phi(0.552) = 0.7096.
    REQUIRE(result.thirds.size() == 9);
    const BacktestRow& before = result.thirds[6];  // as it was, last third
    const BacktestRow& split = result.thirds[7];
    const BacktestRow& after = result.thirds[8];
    INFO(before.kept << "/" << before.n << " split " << split.kept << " after " << after.kept);
    CHECK(before.name == "as it was, last third");
    CHECK(wilson_interval(static_cast<std::int64_t>(before.kept),
                          static_cast<std::int64_t>(before.n), 0.999)
              .holds(0.7096));
    CHECK(after.coverage.holds(0.9));
    CHECK(after.coverage.low > before.coverage.high);
    // Plain split conformal remembers the good days for ever: better than nothing, not enough.
    CHECK(split.kept > before.kept);
    CHECK(split.kept < after.kept);
    // Sharpness: a promise that grows by about a fifth, not by half.
    CHECK(after.wait_h / before.wait_h > 1.1);
    CHECK(after.wait_h / before.wait_h < 1.4);
    REQUIRE(result.now);
    CHECK(result.now->shift > 0.1);
    CHECK(result.now->shift < 0.35);
}

TEST_CASE("without drift the correction changes little", "[conformal]") {
    const auto result = backtest(shop(4, 1200, 1200, 1.0), {});
    CHECK(result.as_was.coverage.holds(0.9));
    CHECK(result.split.coverage.holds(0.9));
    CHECK(result.adaptive.coverage.holds(0.9));
    CHECK(std::abs(result.adaptive.wait_h / result.as_was.wait_h - 1.0) < 0.05);
    REQUIRE(result.quantiles.size() == 4);
    for (std::size_t q = 0; q < 4; ++q) {
        const double level[] = {0.5, 0.8, 0.9, 0.95};
        const auto& row = result.quantiles[q];
        CHECK(wilson_interval(static_cast<std::int64_t>(row.kept), static_cast<std::int64_t>(row.n),
                              0.999)
                  .holds(level[q]));
    }
    CHECK(result.sizes.size() == 4);
    CHECK(result.kinds.size() == 2);
}

TEST_CASE("an outcome counts from its forecast's hour on, open ones as the worst", "[conformal]") {
    const SimTime start = *model::parse_date_time("2026-03-02T08:00");
    std::vector<PastPromise> journal;
    for (int i = 0; i < 20; ++i) {
        PastPromise p;
        p.enquiry = std::to_string(i);
        p.asked = start + model::minutes(i);
        p.p90 = p.promised = start + model::hours(10 + i);
        p.ready = start + model::hours(1);  // all far too early
        journal.push_back(p);
    }
    CorrectionOptions options{
        .percent = 90, .least = 9, .window = 0, .gamma = 0, .relative = false};
    // Nine forecasts are past at 18:00 of the first day + 10 h ... = start + 18 h.
    CHECK_FALSE(correction_at(journal, start + model::hours(18) - Seconds{1}, options));
    const auto c = correction_at(journal, start + model::hours(18), options);
    REQUIRE(c);
    CHECK(c->n == 9);
    CHECK(c->shift == -9.0 * 3600.0);  // the largest of nine: 1 h ready, 10 h forecast
    journal[3].ready = std::nullopt;   // one is still open: the worst of nine is not known
    const auto open = correction_at(journal, start + model::hours(18), options);
    REQUIRE(open);
    CHECK(open->at_largest);
    CHECK(open->shift == -9.0 * 3600.0);
    // An entry whose outcome lies after `now` is not known at `now`.
    journal[3].ready = start + model::hours(30);
    CHECK(correction_at(journal, start + model::hours(18), options)->at_largest);
    CHECK_FALSE(correction_at(journal, start + model::hours(40), options)->at_largest);
}

TEST_CASE("a journal without forecasts, or empty, is no accident", "[conformal]") {
    const auto empty = backtest({}, {});
    CHECK(empty.promised.n == 0);
    CHECK_FALSE(empty.now);
    std::vector<PastPromise> journal = shop(1, 80, 80, 1.0);
    for (auto& p : journal)
        p.p50 = p.p80 = p.p90 = p.p95 = std::nullopt;
    const auto bare = backtest(journal, {});
    CHECK(bare.promised.n > 60);
    CHECK(bare.quantiles.empty());
    CHECK(bare.as_was.n == 0);
    CHECK_FALSE(bare.now);
    for (auto& p : journal)
        p.p90 = p.asked;  // no wait at all
    const auto degenerate = correction_at(journal, journal.back().asked + model::hours(99), {});
    REQUIRE(degenerate);
    CHECK(degenerate->apply(journal[0].asked, journal[0].asked) >= journal[0].asked);
}

TEST_CASE("the room's clock runs while somebody is there and keeps every order", "[conformal]") {
    model::Room room;
    model::Person ada, cleo;
    ada.shifts.push_back(
        {{true, true, true, true, true, false, false}, model::hours(6), model::hours(14)});
    ada.overtime = model::hours(1);
    cleo.shifts.push_back(
        {{true, true, true, true, true, false, false}, model::hours(8), model::hours(16)});
    cleo.shifts.push_back({{false, false, false, false, false, false, true},
                           model::hours(22),
                           model::hours(30)});  // Sunday night
    room.people = {ada, cleo};
    const WorkClock clock = WorkClock::of(room);
    const auto at = [](const char* text) { return *model::parse_date_time(text); };
    const auto between = [&](const char* a, const char* b) {
        return clock.reading(at(b)) - clock.reading(at(a));
    };
    // 2026-11-26 is a Thursday. By hand: 6:00 to 16:00 is open, 14 h at a fiftieth between days.
    CHECK(between("2026-11-26T06:00", "2026-11-26T16:00") == Approx(36000.0));
    CHECK(between("2026-11-26T15:50", "2026-11-27T06:10") == Approx(1200.0 + 14 * 3600 / 50.0));
    CHECK(between("2026-11-26T00:00", "2026-12-03T00:00") ==
          Approx(5 * 36000.0 + 8 * 3600.0 + (168 - 50 - 8) * 3600 / 50.0));
    CHECK(between("2026-11-29T22:00", "2026-11-30T06:00") == Approx(8 * 3600.0));
    for (int i = 0; i < 3000; ++i) {
        const auto t = at("2026-11-20T00:00") + Seconds{static_cast<int>(997 * i)};
        REQUIRE(clock.at(clock.reading(t)) == t);
        REQUIRE(clock.reading(t) < clock.reading(t + Seconds{1}));
        REQUIRE(WorkClock{}.at(WorkClock{}.reading(t)) == t);
    }
    CHECK(WorkClock::of(model::Room{}) == WorkClock{});
    // A fifth of a wait of five hours, asked at 10:00 for 15:00, goes to the hour that is left.
    const Correction c{.shift = 0.2, .clock = clock};
    CHECK(c.apply(at("2026-11-26T10:00"), at("2026-11-26T15:00")) == at("2026-11-26T16:00"));
    const Correction more{.shift = 0.4, .clock = clock};  // an hour more: 14 h of night give 1008 s
    CHECK(more.apply(at("2026-11-26T10:00"), at("2026-11-26T15:00")) ==
          at("2026-11-27T06:00") + Seconds{3600 - 1008});
    const Correction less{.shift = -0.2, .clock = clock};
    CHECK(less.apply(at("2026-11-26T10:00"), at("2026-11-26T15:00")) == at("2026-11-26T14:00"));
}
