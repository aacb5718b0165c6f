#include "sched/statistics/ranking.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>

#include "sched/engine/draws.hpp"
#include "sched/statistics/output_analysis.hpp"
#include "tests/catch.hpp"
#include "tests/study/queue_recursion.hpp"
#include "tests/support/queue_figures.hpp"

using namespace sched::study;
using sched::engine::Draws;
using sched::engine::name_key;

namespace {

/// Normal options with means 0 (best) and -gap (all others), or a staircase; `shared` of the
/// variance 1 is random variation that all options share (common random numbers).
auto normal_sampler(std::uint64_t macro, double gap, bool staircase, double shared) {
    return [=](std::span<const int> options, std::size_t from, std::size_t to) {
        std::vector<std::vector<double>> out(options.size());
        for (std::size_t i = 0; i < options.size(); ++i) {
            for (std::size_t r = from; r < to; ++r) {
                const Draws draws(77, macro * 1'000'000 + r);
                const auto normal = [&](std::uint64_t who) {
                    return sched::engine::normal_inverse(draws.uniform({who, 0, 5, 0}));
                };
                // Option 2 is the best, so that neither the first nor the last wins by order.
                const double steps = options[i] == 2 ? 0.0 : staircase ? options[i] + 1.0 : 1.0;
                out[i].push_back(-gap * steps + std::sqrt(shared) * normal(1000) +
                                 std::sqrt(1.0 - shared) *
                                     normal(static_cast<std::uint64_t>(options[i])));
            }
        }
        return out;
    };
}

struct Selection {
    std::int64_t right = 0;
    double replications = 0.0;
};

Selection macro_runs(int options, double gap, bool staircase, double shared, int macros) {
    Selection s;
    const RankingOptions settings{.indifference = 0.5, .confidence = 0.95, .first = 10};
    for (int m = 0; m < macros; ++m) {
        const Ranking r =
            select_best(options, settings,
                        normal_sampler(static_cast<std::uint64_t>(m), gap, staircase, shared));
        s.right += r.decided && r.best == 2 ? 1 : 0;
        s.replications += static_cast<double>(r.total) / macros;
    }
    return s;
}

}  // namespace

// 500 macro-replications of the hardest case: all others worse by exactly the indifference zone.
// The procedure promises 95 %; the Wilson interval must not lie below it.
TEST_CASE("the right option is selected at least as often as promised", "[ranking]") {
    for (const double shared : {0.0, 0.7}) {
        const Selection s = macro_runs(5, 0.5, false, shared, 500);
        INFO("shared " << shared << ": right in " << s.right << " of 500, " << s.replications
                       << " replications");
        CHECK(wilson_interval(s.right, 500, 0.99).high >= 0.95);
        CHECK(s.right >= 475);
    }
}

TEST_CASE("clear differences and shared luck need fewer replications", "[ranking]") {
    const Selection close = macro_runs(5, 0.5, false, 0.0, 100);
    const Selection clear = macro_runs(5, 0.5, true, 0.0, 100);
    const Selection shared = macro_runs(5, 0.5, false, 0.9, 100);
    CHECK(clear.replications < 0.8 * close.replications);
    CHECK(shared.replications < 0.5 * close.replications);
    CHECK(clear.right >= 95);
}

// Known order without normal random variation: M/M/1 stations at 80 % with one server twice as fast
// beats M/M/2 beats M/M/4 of the same total speed in mean sojourn (any textbook); each by its
// recursion.
TEST_CASE("server systems of known order are ranked", "[ranking]") {
    using namespace study_test;
    std::int64_t right = 0;
    const int macros = 100;
    for (int m = 0; m < macros; ++m) {
        const auto sample = [&](std::span<const int> options, std::size_t from, std::size_t to) {
            std::vector<std::vector<double>> out(options.size());
            for (std::size_t r = from; r < to; ++r) {
                const Draws draws(5, static_cast<std::uint64_t>(m) * 10'000 + r);
                const std::size_t n = 300;
                auto arrival = Times(draws, 1, "interarrival").of(n, 1.25, 1.0);
                std::partial_sum(arrival.begin(), arrival.end(), arrival.begin());
                const auto work = Times(draws, 1, "service").of(n, 1.0, 1.0);
                for (std::size_t i = 0; i < options.size(); ++i) {
                    const int servers = options[i] == 0 ? 4 : options[i] == 1 ? 1 : 2;
                    auto service = work;
                    for (double& s : service)
                        s *= servers;
                    const auto leaves = recursion_departures(arrival, service, servers);
                    double sum = 0.0;
                    for (std::size_t c = 0; c < n; ++c)
                        sum += (leaves[c] - arrival[c]) / static_cast<double>(n);
                    out[i].push_back(sum);
                }
            }
            return out;
        };
        const Ranking r =
            select_best(3, {.indifference = 0.2, .confidence = 0.95, .largest = false}, sample);
        right += r.decided && r.best == 1 ? 1 : 0;
    }
    CHECK(right >= 95);
}

TEST_CASE("a budget that ends leaves the question open and says so", "[ranking]") {
    const Ranking r =
        select_best(5, {.indifference = 0.001, .confidence = 0.95, .first = 10, .most = 30},
                    normal_sampler(1, 0.0, false, 0.0));
    CHECK_FALSE(r.decided);
    CHECK(*std::max_element(r.replications.begin(), r.replications.end()) == 30);
}

TEST_CASE("options that never differ are within the zone at once", "[ranking]") {
    const auto same = [](std::span<const int> options, std::size_t from, std::size_t to) {
        std::vector<std::vector<double>> out(options.size());
        for (auto& row : out) {
            for (std::size_t r = from; r < to; ++r)
                row.push_back(std::sin(static_cast<double>(r)));
        }
        return out;
    };
    const Ranking r = select_best(3, {.indifference = 0.1}, same);
    CHECK(r.decided);
    CHECK(r.best == 0);
    CHECK(r.total == 30);
}

TEST_CASE("an open question says how many replications would decide it", "[ranking]") {
    // Differences of 0.5 +- 1 in turn: mean 0.5, variance of the first ten 10/9. By hand: eta =
    // (0.1^(-2/9) - 1) / 2 = 0.3341, h2 = 18 eta = 6.013, r = h2 S2 / (delta (2 d + delta)) =
    // 6.681 / (0.3 * 1.3) = 17.1.
    const auto two = [](std::span<const int> options, std::size_t from, std::size_t to) {
        std::vector<std::vector<double>> out;
        for (const int o : options) {
            out.emplace_back();
            for (std::size_t r = from; r < to; ++r)
                out.back().push_back(o == 0 ? 0.0 : 0.5 + (r % 2 == 0 ? 1.0 : -1.0));
        }
        return out;
    };
    RankingOptions settings{.indifference = 0.3, .confidence = 0.95, .first = 10, .most = 10};
    const Ranking open = select_best(2, settings, two);
    CHECK_FALSE(open.decided);
    CHECK(open.further == 8);
    settings.most = 18;
    const Ranking closed = select_best(2, settings, two);
    CHECK(closed.decided);
    CHECK(closed.best == 1);
    CHECK(closed.further == 0);
}
