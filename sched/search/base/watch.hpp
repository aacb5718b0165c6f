#pragma once
// The budget of one start, and the running of several starts in a fixed order.

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <thread>
#include <vector>

#include "sched/search/base/options.hpp"

namespace sched::search {

/// What the starts of one search share.
struct SharedWatch {
    explicit SharedWatch(const SearchOptions& o)
        : options(o), begin(std::chrono::steady_clock::now()) {}

    double seconds() const {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    }

    const SearchOptions& options;
    std::chrono::steady_clock::time_point begin;
    std::atomic<bool> halt{false};         // time is up, or stop() said so
    std::atomic<bool> interrupted{false};  // stop() said so
};

/// Counts the evaluations of one start and says when to end. `spent()` is cheap: the clock is read
/// once in 128 evaluations.
class Watch {
public:
    /// @param start index of the start; start 0 reports progress.
    Watch(SharedWatch& shared, int start, std::int64_t share)
        : shared_(shared), start_(start), share_(share) {}

    /// Counts one evaluation. @returns true when this start must end.
    bool count(std::int64_t n = 1) {
        evaluations_ += n;
        return spent();
    }

    bool spent() {
        if (done_) return true;
        if (share_ > 0 && evaluations_ >= share_) return done_ = true;
        if (evaluations_ >= next_look_) look();
        return done_;
    }

    /// The best value that start 0 shows to the outside. Any thread may call it for its own watch.
    void show(std::int64_t best) { best_ = best; }

    std::int64_t evaluations() const { return evaluations_; }
    std::int64_t share() const { return share_; }
    double seconds() const { return shared_.seconds(); }
    /// Share of the budget that is used up, as far as there is one.
    double gone() const {
        const auto& seconds = shared_.options.budget.seconds;
        const double counted =
            share_ > 0 ? static_cast<double>(evaluations_) / static_cast<double>(share_) : 0.0;
        return std::max(counted, seconds ? shared_.seconds() / *seconds : 0.0);
    }

    /// This start proved its schedule optimal. With a budget of seconds the others need not go on;
    /// with one of evaluations they do, because who is first must not reach the result.
    void proven() {
        done_ = true;
        if (share_ <= 0) shared_.halt = true;
    }

    void look() {
        next_look_ = evaluations_ + look_every_;
        const double now = shared_.seconds();
        // Between 1 and 20 ms from one look to the next, whatever an evaluation costs.
        if (now - last_look_ > 0.02) look_every_ = std::max<std::int64_t>(1, look_every_ / 2);
        if (now - last_look_ < 0.001) look_every_ = std::min<std::int64_t>(65536, look_every_ * 2);
        last_look_ = now;
        if (shared_.halt) {
            done_ = true;
            return;
        }
        const auto& o = shared_.options;
        const bool stopped = o.stop && o.stop();
        if (stopped) shared_.interrupted = true;
        if (stopped || (o.budget.seconds && now >= *o.budget.seconds)) {
            shared_.halt = true;
            done_ = true;
        }
        if (start_ == 0 && o.progress && now - last_progress_ >= 0.5) {
            last_progress_ = now;
            core::Value value{{best_}};
            o.progress({.evaluations = evaluations_,
                        .seconds = now,
                        .value = best_ >= 0 ? &value : nullptr,
                        .bound = nullptr});
        }
    }

private:
    SharedWatch& shared_;
    int start_;
    std::int64_t share_;  // 0: no limit
    std::int64_t evaluations_ = 0;
    std::int64_t next_look_ = 0;
    std::int64_t look_every_ = 1;
    double last_look_ = 0.0;
    double last_progress_ = 0.0;
    std::int64_t best_ = -1;
    bool done_ = false;
};

/// How many independent starts: as many as threads for a budget of seconds; for evaluations a
/// number that depends on the budget alone, so that the result does not depend on the threads.
inline int number_of_starts(const SearchOptions& options, std::int64_t evaluations_a_start) {
    if (!options.budget.evaluations) return std::max(1, options.threads);
    return static_cast<int>(
        std::clamp<std::int64_t>(*options.budget.evaluations / evaluations_a_start, 1, 8));
}

/// Runs `starts` calls of body(start, watch) on the threads of the options; results by start.
template <class Result, class Body>
std::vector<Result> run_starts(SharedWatch& shared, int starts, Body body) {
    std::vector<Result> results(static_cast<std::size_t>(starts));
    const auto& budget = shared.options.budget.evaluations;
    std::atomic<int> next{0};
    const auto work = [&] {
        for (int s = next++; s < starts; s = next++) {
            const std::int64_t share =
                budget
                    ? std::max<std::int64_t>(1, *budget / starts + (s < *budget % starts ? 1 : 0))
                    : 0;
            Watch watch(shared, s, share);
            results[static_cast<std::size_t>(s)] = body(s, watch);
        }
    };
    const int threads = std::min(std::max(1, shared.options.threads), starts);
    std::vector<std::jthread> pool;
    for (int t = 1; t < threads; ++t)
        pool.emplace_back(work);
    work();
    pool.clear();
    return results;
}

}  // namespace sched::search
