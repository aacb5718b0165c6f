#pragma once
// The one event list of the engine: decoder, simulator and open lines all take their events from
// it. Order: time, then kind priority, then the order in which events were scheduled.

#include <cassert>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace sched::engine {

/// Time of the kernel in whole ticks. Rooms tick in seconds; a benchmark may tick in microseconds.
using Tick = std::int64_t;

struct Event {
    Tick time = 0;
    std::uint64_t order = 0;  // kind priority in the top 8 bits, then the sequence number
    std::uint32_t what = 0;   // the caller's: what happens
    std::uint32_t whom = 0;   // the caller's: to whom
    bool before(const Event& o) const {
        return time < o.time || (time == o.time && order < o.order);
    }
};

/// A four-way heap over one flat array, and beside it a first-in-first-out lane for events at the
/// present instant (a granted request continues through it), which cost no sifting. Both share one
/// sequence counter, so the lane changes speed only, never order. O(log n) each; no allocation once
/// warm.
class EventQueue {
public:
    void clear() {
        heap_.clear();
        lane_.clear();
        lane_head_ = 0;
        sequence_ = 0;
    }
    void reserve(std::size_t n) {
        heap_.reserve(n);
        lane_.reserve(n);
    }
    bool empty() const { return heap_.empty() && lane_head_ == lane_.size(); }
    std::size_t size() const { return heap_.size() + lane_.size() - lane_head_; }

    /// @param priority 0..255, lower first among events of one time.
    void push(Tick time, std::uint32_t what, std::uint32_t whom, unsigned priority = 0) {
        const Event e{time, (std::uint64_t{priority} << 56) | sequence_++, what, whom};
        std::size_t i = heap_.size();
        heap_.push_back(e);
        while (i > 0) {
            const std::size_t up = (i - 1) / 4;
            if (!e.before(heap_[up])) break;
            heap_[i] = heap_[up];
            i = up;
        }
        heap_[i] = e;
    }

    /// For an event at the present instant with priority 0. @pre `now` is the time of the last
    /// event taken.
    void push_now(Tick now, std::uint32_t what, std::uint32_t whom) {
        if (lane_head_ == lane_.size()) {
            lane_.clear();
            lane_head_ = 0;
        }
        lane_.push_back({now, sequence_++, what, whom});
    }

    /// Nothing else is due at `now`: what is scheduled for now would be taken next anyway.
    bool alone(Tick now) const {
        return lane_head_ == lane_.size() && (heap_.empty() || heap_.front().time > now);
    }

    /// @pre !empty()
    const Event& top() const {
        if (lane_head_ < lane_.size() &&
            (heap_.empty() || lane_[lane_head_].before(heap_.front()))) {
            return lane_[lane_head_];
        }
        return heap_.front();
    }

    /// @pre !empty()
    Event pop() {
        assert(!empty());
        if (lane_head_ < lane_.size() &&
            (heap_.empty() || lane_[lane_head_].before(heap_.front()))) {
            return lane_[lane_head_++];
        }
        const Event first = heap_.front();
        const Event last = heap_.back();
        heap_.pop_back();
        if (!heap_.empty()) sift_from_top(last);
        return first;
    }

private:
    void sift_from_top(const Event& e) {
        const std::size_t n = heap_.size();
        Event* h = heap_.data();
        std::size_t i = 0;
        while (true) {
            const std::size_t child = 4 * i + 1;
            if (child >= n) break;
            std::size_t best = child;
            const std::size_t stop = child + 4 < n ? child + 4 : n;
            for (std::size_t c = child + 1; c < stop; ++c) {
                if (h[c].before(h[best])) best = c;
            }
            if (!h[best].before(e)) break;
            h[i] = h[best];
            i = best;
        }
        h[i] = e;
    }

    std::vector<Event> heap_;
    std::vector<Event> lane_;
    std::size_t lane_head_ = 0;
    std::uint64_t sequence_ = 0;
};

}  // namespace sched::engine
