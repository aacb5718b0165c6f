#include "sched/search/flow.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "sched/search/rng.hpp"

namespace sched::search {

namespace {

class FlowGreedy {
public:
    FlowGreedy(const FlowModel& flow, std::int64_t bound, Rng rng, Watch& watch)
        : flow_(flow),
          n_(flow.jobs),
          stages_(flow.stages),
          bound_(bound),
          rng_(rng),
          watch_(watch) {
        times_[0].resize(i(n_ * stages_));
        times_[1].resize(i(n_ * stages_));
        double sum = 0.0;
        for (int j = 0; j < n_; ++j) {
            for (int s = 0; s < stages_; ++s) {
                const int t = flow.time[i(j * stages_ + s)];
                times_[0][i(s * n_ + j)] = t;
                times_[1][i((stages_ - 1 - s) * n_ + j)] = t;
                sum += t;
            }
        }
        mean_ = sum / (n_ * stages_);
        ready_.resize(i(n_));
        arrival_.resize(i(n_));
        list_.resize(i(n_));
        trial_.reserve(i(n_) + 1);
        free_.resize(i(*std::max_element(flow.machines.begin(), flow.machines.end())));
    }

    FlowPlan run() {
        bool mirrored = false;
        Side sides[2];
        // Something to show even when the watch ends it at once.
        std::vector<int> plain(i(n_));
        std::iota(plain.begin(), plain.end(), 0);
        keep(false, plain, decode(false, plain.data(), n_, std::numeric_limits<int>::max()));
        for (auto& side : sides) {
            if (over()) return best_;
            greedy(mirrored, side);
            mirrored = !mirrored;
        }
        // Turns of growing length on either side; the better one hands its order to the other.
        std::int64_t turn = 40 * static_cast<std::int64_t>(n_);
        while (!over()) {
            improve(mirrored, sides[mirrored ? 1 : 0], turn);
            if (over()) break;
            hand_over(mirrored, sides[mirrored ? 1 : 0], sides[mirrored ? 0 : 1]);
            mirrored = !mirrored;
        }
        return best_;
    }

private:
    struct Side {
        std::vector<int> order;  // walks
        int value = 0;
        std::vector<int> best_order;
        int best = std::numeric_limits<int>::max();
    };

    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    bool over() { return best_.value == bound_ || watch_.spent(); }

    /// List scheduling. @returns the makespan, or something >= `limit` as soon as it cannot be
    /// below. ready_[j] then is the end of job j's last stage (in the direction).
    int decode(bool mirrored, const int* order, int count, int limit) {
        if (starts_ == nullptr) watch_.count();  // reading off the starts repeats a schedule
        const int* times = times_[mirrored ? 1 : 0].data();
        int* list = list_.data();
        int* arrival = arrival_.data();
        for (int k = 0; k < count; ++k) {
            list[k] = order[k];
            arrival[k] = 0;
        }
        int makespan = 0;
        for (int s = 0; s < stages_; ++s) {
            const int* time = times + static_cast<std::ptrdiff_t>(s) * n_;
            const int machines = flow_.machines[i(mirrored ? stages_ - 1 - s : s)];
            int* free = free_.data();
            std::fill(free, free + machines, 0);
            int last = 0;
            // free[] ascending: the first is the machine that is free first.
            for (int k = 0; k < count; ++k) {
                if (time[list[k]] == 0) {  // a stage that the job skips
                    if (starts_ != nullptr) starts_[list[k] * stages_ + s] = arrival[k];
                    last = std::max(last, arrival[k]);
                    continue;
                }
                const int begin = std::max(arrival[k], free[0]);
                const int end = begin + time[list[k]];
                int m = 1;
                for (; m < machines && free[m] < end; ++m)
                    free[m - 1] = free[m];
                free[m - 1] = end;
                arrival[k] = end;
                if (starts_ != nullptr) starts_[list[k] * stages_ + s] = begin;
            }
            makespan = std::max(last, free[machines - 1]);
            if (makespan >= limit) return makespan;
            if (s + 1 == stages_) break;
            // First come, first served at the next stage; nearly in order already.
            for (int k = 1; k < count; ++k) {
                const int a = arrival[k];
                const int j = list[k];
                int h = k;
                for (; h > 0 && arrival[h - 1] > a; --h) {
                    arrival[h] = arrival[h - 1];
                    list[h] = list[h - 1];
                }
                arrival[h] = a;
                list[h] = j;
            }
        }
        for (int k = 0; k < count; ++k)
            ready_[i(list[k])] = arrival[k];
        return makespan;
    }

    void keep(bool mirrored, const std::vector<int>& order, int value) {
        if (best_.value >= 0 && value >= best_.value) return;
        best_.value = value;
        best_.start.assign(i(n_ * stages_), 0);
        starts_ = best_.start.data();
        decode(mirrored, order.data(), n_, std::numeric_limits<int>::max());
        starts_ = nullptr;
        if (mirrored) {
            for (int j = 0; j < n_; ++j) {
                std::reverse(best_.start.begin() + j * stages_,
                             best_.start.begin() + (j + 1) * stages_);
                for (int s = 0; s < stages_; ++s) {
                    int& at = best_.start[i(j * stages_ + s)];
                    at = value - at - flow_.time[i(j * stages_ + s)];
                }
            }
        }
        watch_.show(value);
        if (value <= bound_) watch_.proven();
    }

    /// Puts `job` into trial_ where the makespan is least, ties drawn evenly. @returns that
    /// makespan.
    int insert_best(bool mirrored, int job) {
        const int count = static_cast<int>(trial_.size());
        int best = std::numeric_limits<int>::max();
        int place = 0;
        int ties = 0;
        trial_.insert(trial_.begin(), job);
        for (int k = 0; k <= count; ++k) {
            if (k > 0) std::swap(trial_[i(k - 1)], trial_[i(k)]);
            // A makespan equal to the best so far still takes part in the draw.
            const int limit = best == std::numeric_limits<int>::max() ? best : best + 1;
            const int value = decode(mirrored, trial_.data(), count + 1, limit);
            if (value < best) {
                best = value;
                place = k;
                ties = 1;
            } else if (value == best && rng_.below(++ties) == 0) {
                place = k;
            }
            if (k > 0 && watch_.spent()) break;
        }
        const auto at = std::find(trial_.begin(), trial_.end(), job);
        trial_.erase(at);
        trial_.insert(trial_.begin() + place, job);
        return best;
    }

    /// Jobs by falling total work, each where it hurts least (Nawaz, Enscore & Ham 1983). On many
    /// jobs that costs more than it brings: there the order of falling work after the first stage
    /// is taken.
    void greedy(bool mirrored, Side& side) {
        std::vector<std::int64_t> work(i(n_), 0);
        for (int j = 0; j < n_; ++j) {
            for (int s = 0; s < stages_; ++s)
                work[i(j)] += flow_.time[i(j * stages_ + s)];
        }
        std::vector<int> jobs(i(n_));
        std::iota(jobs.begin(), jobs.end(), 0);
        std::stable_sort(jobs.begin(), jobs.end(),
                         [&](int a, int b) { return work[i(a)] > work[i(b)]; });
        trial_.clear();
        if (n_ <= 400) {
            for (const int j : jobs) {
                if (over()) break;
                insert_best(mirrored, j);
            }
        } else {
            trial_ = jobs;
        }
        if (over()) return;
        side.order = trial_;
        side.value = decode(mirrored, side.order.data(), n_, std::numeric_limits<int>::max());
        side.best_order = side.order;
        side.best = side.value;
        keep(mirrored, side.order, side.value);
    }

    void improve(bool mirrored, Side& side, std::int64_t evaluations) {
        const double temperature = 0.04 * mean_;
        const std::int64_t until = watch_.evaluations() + evaluations;
        std::vector<int> removed;
        while (watch_.evaluations() < until && !over()) {
            trial_ = side.order;
            removed.clear();
            const int count = std::min(n_ - 1, 2 + rng_.below(3));
            for (int k = 0; k < count; ++k) {
                const auto at = trial_.begin() + rng_.below(static_cast<int>(trial_.size()));
                removed.push_back(*at);
                trial_.erase(at);
            }
            int value = side.value;
            for (const int j : removed) {
                if (watch_.spent()) return;
                value = insert_best(mirrored, j);
            }
            if (watch_.spent()) return;  // the last insertion may be half done
            const int rise = value - side.value;
            if (rise <= 0 || rng_.unit() < std::exp(-rise / temperature)) {
                side.order = trial_;
                side.value = value;
            }
            if (value < side.best) {
                side.best = value;
                side.best_order = trial_;
                keep(mirrored, trial_, value);
            }
        }
    }

    /// The last stage's ends, read backwards, are an order for the other direction.
    void hand_over(bool mirrored, const Side& from, Side& to) {
        decode(mirrored, from.best_order.data(), n_, std::numeric_limits<int>::max());
        std::vector<int> order = from.best_order;
        std::stable_sort(order.begin(), order.end(),
                         [this](int a, int b) { return ready_[i(a)] > ready_[i(b)]; });
        if (watch_.spent()) return;
        const int value = decode(!mirrored, order.data(), n_, std::numeric_limits<int>::max());
        keep(!mirrored, order, value);
        if (value >= to.value) return;
        to.order = order;
        to.value = value;
        if (value >= to.best) return;
        to.best = value;
        to.best_order = order;
    }

    const FlowModel& flow_;
    int n_;
    int stages_;
    std::int64_t bound_;
    Rng rng_;
    Watch& watch_;
    double mean_ = 1.0;
    FlowPlan best_;
    int* starts_ = nullptr;      // jobs x stages, written by decode when set
    std::vector<int> times_[2];  // stages x jobs, forwards and mirrored
    std::vector<int> ready_, arrival_, list_, free_, trial_;
};

}  // namespace

FlowPlan search_flow(const FlowModel& flow, std::int64_t bound, std::uint64_t seed, int start,
                     Watch& watch) {
    return FlowGreedy(flow, bound, Rng(seed, static_cast<std::uint64_t>(start)), watch).run();
}

}  // namespace sched::search
