#pragma once
// How much of one resource is taken when: a step function over the future, as two flat sorted
// arrays. Runs forward in time forget the past (`forget_before`), so that it stays short.

#include <algorithm>
#include <cstdint>
#include <vector>

#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

class Profile {
public:
    void reset() {
        time_.clear();
        used_.clear();
        time_.push_back(-never);
        used_.push_back(0);
        head_ = 0;
    }
    /// Queries and changes will only concern [t, ∞) from now on.
    void forget_before(Tick t) {
        while (head_ + 1 < time_.size() && time_[head_ + 1] <= t)
            ++head_;
    }
    /// First x >= from with used <= spare all over [x, x + length). length >= never: for good.
    /// @returns never if there is none.
    Tick earliest(Tick from, Tick length, std::int32_t spare) const {
        const std::size_t n = time_.size();
        std::size_t i = at(from);
        Tick x = from;
        while (true) {
            while (used_[i] > spare) {
                if (++i == n) return never;
                x = time_[i];
            }
            const Tick until = length >= never ? never : x + length;
            std::size_t j = i + 1;
            while (j < n && time_[j] < until && used_[j] <= spare)
                ++j;
            if (j == n || time_[j] >= until) return x;
            i = j;
        }
    }
    /// First instant >= from at which less than the whole [from, to) is free; `to` if none.
    Tick free_until(Tick from, Tick to, std::int32_t spare) const {
        for (std::size_t i = at(from); i < time_.size() && time_[i] < to; ++i) {
            if (used_[i] > spare) return std::max(from, time_[i]);
        }
        return to;
    }
    /// Adds `amount` (may be negative) over [from, to).
    void add(Tick from, Tick to, std::int32_t amount) {
        if (from >= to) return;
        std::size_t i = cut(from);
        const std::size_t stop = to >= never ? time_.size() : cut(to);
        const std::size_t first = i;
        for (; i < stop; ++i)
            used_[i] += amount;
        join(stop);
        join(first);
    }
    /// What is taken for good, after the last change.
    std::int32_t finally_used() const { return used_.back(); }
    std::size_t size() const { return time_.size() - head_; }

private:
    std::size_t at(Tick t) const {
        // Short arrays: a walk from the head; long ones (serial insertion): halving.
        if (time_.size() - head_ > 24) {
            const auto after = std::upper_bound(time_.begin() + static_cast<std::ptrdiff_t>(head_),
                                                time_.end(), t);
            const auto i = static_cast<std::size_t>(after - time_.begin());
            return i > head_ ? i - 1 : head_;
        }
        std::size_t i = head_;
        while (i + 1 < time_.size() && time_[i + 1] <= t)
            ++i;
        return i;
    }
    std::size_t cut(Tick t) {
        const std::size_t i = at(t);
        if (time_[i] == t) return i;
        time_.insert(time_.begin() + static_cast<std::ptrdiff_t>(i) + 1, t);
        used_.insert(used_.begin() + static_cast<std::ptrdiff_t>(i) + 1, used_[i]);
        return i + 1;
    }
    void join(std::size_t i) {
        if (i <= head_ || i >= time_.size() || used_[i] != used_[i - 1]) return;
        time_.erase(time_.begin() + static_cast<std::ptrdiff_t>(i));
        used_.erase(used_.begin() + static_cast<std::ptrdiff_t>(i));
    }

    std::vector<Tick> time_;  // used_[i] holds on [time_[i], time_[i + 1])
    std::vector<std::int32_t> used_;
    std::size_t head_ = 0;
};

}  // namespace sched::engine
