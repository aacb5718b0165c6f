#pragma once
// Do intervals hold as often as they say? Macro-replications of M/M/1 (lambda 0.5, mu 1: mean
// sojourn 2), each making its own interval of the mean sojourn.

#include <cmath>
#include <cstdint>
#include <numeric>
#include <thread>
#include <vector>

#include "sched/statistics/output_analysis.hpp"
#include "tests/study/queue_recursion.hpp"
#include "tests/support/queue_figures.hpp"

namespace study_test {

struct CoverageSize {
    std::uint64_t seed = 1;
    std::int64_t macros = 1000;
    std::size_t replications = 10;
    std::size_t customers = 1'000;  // per replication
    std::size_t warm_up = 100;
    int threads = 2;
};

struct Coverage {
    std::int64_t held = 0;
    std::int64_t of = 0;
    double mean_half_width = 0.0;
    double share() const { return static_cast<double>(held) / static_cast<double>(of); }
    sched::study::Interval interval() const {
        return sched::study::wilson_interval(held, of, 0.95);
    }
};

/// Sojourn times of one M/M/1 by its recursion, in units of the mean service.
inline std::vector<double> mm1_sojourns(std::uint64_t seed, std::uint64_t run, std::size_t n) {
    const Draws draws(seed, run);
    const auto subject = name_key("coverage of M/M/1");
    auto arrival = Times(draws, subject, "interarrival").of(n, 2.0, 1.0);
    std::partial_sum(arrival.begin(), arrival.end(), arrival.begin());
    auto stays = recursion_departures(arrival, Times(draws, subject, "service").of(n, 1.0, 1.0), 1);
    for (std::size_t i = 0; i < n; ++i)
        stays[i] -= arrival[i];
    return stays;
}

template <class MakeInterval>
Coverage count_coverage(const CoverageSize& size, double exact, MakeInterval make) {
    std::vector<sched::study::MeanInterval> all(static_cast<std::size_t>(size.macros));
    {
        std::vector<std::jthread> pool;
        for (int t = 0; t < size.threads; ++t) {
            pool.emplace_back([&, t] {
                for (std::size_t m = static_cast<std::size_t>(t); m < all.size();
                     m += static_cast<std::size_t>(size.threads)) {
                    all[m] = make(m);
                }
            });
        }
    }
    Coverage c{.of = size.macros};
    for (const auto& i : all) {
        c.held += i.interval().holds(exact) ? 1 : 0;
        c.mean_half_width += i.half_width / static_cast<double>(size.macros);
    }
    return c;
}

/// t intervals from independent replications, a fixed warm-up removed.
inline Coverage replication_coverage(const CoverageSize& size, double confidence) {
    return count_coverage(size, 2.0, [&](std::size_t macro) {
        sched::study::Moments moments;
        for (std::size_t r = 0; r < size.replications; ++r) {
            const auto stays =
                mm1_sojourns(size.seed, macro * size.replications + r, size.customers);
            double sum = 0.0;
            for (std::size_t i = size.warm_up; i < stays.size(); ++i)
                sum += stays[i];
            moments.add(sum / static_cast<double>(stays.size() - size.warm_up));
        }
        return sched::study::mean_interval(moments, confidence);
    });
}

/// Batch means of one long run, warm-up removed by MSER-5.
inline Coverage batch_coverage(const CoverageSize& size, std::size_t batches, double confidence) {
    return count_coverage(size, 2.0, [&](std::size_t macro) {
        const auto stays = mm1_sojourns(size.seed, macro, size.customers);
        const auto cut = sched::study::mser5(stays).cut;
        const std::vector<double> kept(stays.begin() + static_cast<std::ptrdiff_t>(cut),
                                       stays.end());
        return sched::study::mean_interval(sched::study::batch_means(kept, batches), confidence);
    });
}

/// Order-statistic intervals of the median of exponential draws (mean 1: ln 2), `n` draws each.
inline Coverage median_coverage(const CoverageSize& size, int n, double confidence) {
    Coverage c{.of = size.macros};
    for (std::int64_t macro = 0; macro < size.macros; ++macro) {
        auto x = Times(Draws(size.seed, static_cast<std::uint64_t>(macro)), 1, "median")
                     .of(static_cast<std::size_t>(n), 1.0, 1.0);
        std::sort(x.begin(), x.end());
        c.held += sched::study::quantile_interval(x, 0.5, confidence).holds(std::log(2.0)) ? 1 : 0;
    }
    return c;
}

/// Wilson intervals of a known chance p from `n` keyed draws.
inline Coverage wilson_coverage(const CoverageSize& size, int n, double p, double confidence) {
    Coverage c{.of = size.macros};
    for (std::int64_t macro = 0; macro < size.macros; ++macro) {
        const auto u = Times(Draws(size.seed, static_cast<std::uint64_t>(macro)), 2, "chance")
                           .uniforms(static_cast<std::size_t>(n));
        std::int64_t k = 0;
        for (const double x : u)
            k += x < p ? 1 : 0;
        c.held += sched::study::wilson_interval(k, n, confidence).holds(p) ? 1 : 0;
    }
    return c;
}

}  // namespace study_test
