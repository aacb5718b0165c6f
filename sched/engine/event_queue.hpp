#pragma once
// The one event list of the engine: decoder and simulator take their events from it. Order: time,
// then kind priority, then the order in which events were scheduled.

#include <cassert>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace sched::engine {

/// Time in whole ticks. Rooms tick in seconds; a benchmark may tick in microseconds.
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

/// A four-way heap over one flat array. O(log n) each; no allocation once warm.
class EventQueue {
public:
    void clear() {
        heap_.clear();
        sequence_ = 0;
    }
    void reserve(std::size_t n) { heap_.reserve(n); }
    bool empty() const { return heap_.empty(); }
    std::size_t size() const { return heap_.size(); }

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

    /// @pre !empty()
    const Event& top() const { return heap_.front(); }

    /// @pre !empty()
    Event pop() {
        assert(!empty());
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
    std::uint64_t sequence_ = 0;
};

}  // namespace sched::engine
