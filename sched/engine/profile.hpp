#pragma once
// How much of one resource is taken when: a step function over the future, as one flat sorted
// array. Runs forward in time forget the past (`forget_before`), so that it stays short. The
// calendar stands in the same array: closed time counts as far too much taken.

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <memory>
#include <span>
#include <vector>

#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

/// Lengths for which a search for a gap goes the same way: more than `low`, at most `high`.
struct SameLengths {
    Tick low = 0, high = never;
    void too_short(Tick gap) { low = std::max(low, gap); }
    void fits(Tick gap) { high = std::min(high, gap); }
};
/// Nobody asks.
struct AnyLengths {
    void too_short(Tick) {}
    void fits(Tick) {}
};

class Profile {
public:
    /// Free for good.
    Profile() : start_(std::make_shared<std::vector<Point>>(1, Point{-never, 0})) {}
    /// Free within the windows (sorted, disjoint, non-touching), closed outside.
    explicit Profile(std::span<const CompiledWindow> windows) {
        auto start = std::make_shared<std::vector<Point>>(1, Point{-never, closed});
        for (const CompiledWindow& w : windows) {
            start->push_back({w.from, 0});
            start->push_back({w.to, closed});
        }
        start_ = std::move(start);
    }
    Profile(const Profile& o) { *this = o; }
    /// Copies what is still to come.
    Profile& operator=(const Profile& o) {
        if (start_ != o.start_) start_ = o.start_;
        if (this == &o) return *this;
        ++changes_;
        size_ = o.size_ - o.head_;
        head_ = 0;
        if (points_.size() < size_) points_.resize(size_ + 16);
        std::copy_n(o.points_.begin() + static_cast<std::ptrdiff_t>(o.head_), size_,
                    points_.begin());
        return *this;
    }
    ~Profile() = default;

    /// Other windows; without any it is free for good.
    void open_in(const std::span<const CompiledWindow>* windows) {
        if (!own_ || own_.use_count() > 2) own_ = std::make_shared<std::vector<Point>>();
        own_->assign(1, Point{-never, windows != nullptr ? closed : 0});
        for (std::size_t w = 0; windows != nullptr && w < windows->size(); ++w) {
            own_->push_back({(*windows)[w].from, 0});
            own_->push_back({(*windows)[w].to, closed});
        }
        start_ = own_;
    }
    void reset() {
        ++changes_;
        if (points_.size() < start_->size()) points_.resize(start_->size() + 16);
        std::copy(start_->begin(), start_->end(), points_.begin());
        size_ = start_->size();
        head_ = 0;
    }
    /// Queries and changes will only concern [t, ∞) from now on.
    void forget_before(Tick t) {
        const std::size_t n = size_;
        const Point* p = points_.data();
        while (head_ + 1 < n && p[head_ + 1].time <= t)
            ++head_;
    }
    /// The same of one who walks: where the last work was, and since when it is over, stays known.
    void forget_walked_before(Tick t) {
        std::size_t i = at(t);
        if (points_[i].used == 0 || booked_nowhere(i)) i = left_at(i);
        if (i > head_) head_ = i - 1;
    }
    /// earliest() for one of whom there is only one, and who needs `walk` from or to another place
    /// than `place`; a place < 0 is none, and work there does not stand for a way: what is before
    /// and behind it is `walk` apart, so that it may be moved. What was booked must have come by
    /// book_at().
    template <class Lengths = AnyLengths>
    Tick earliest_at(Tick from, Tick length, std::int32_t place, Tick walk,
                     Lengths&& lengths = {}) const {
        const Point* p = points_.data();
        const std::size_t n = size_;
        std::size_t i = at(from);
        Tick x = from;
        while (true) {
            while (p[i].used > 0) {
                if (++i == n) return never;
                x = p[i].time;
            }
            if (p[i].place >= 0 && place >= 0 && p[i].place != place)
                x = std::max(x, p[left_at(i)].time + walk);
            std::size_t j = i + 1;
            while (j < n && p[j].used == 0 && p[j].time < x + length)
                ++j;
            if (j == n) return x;
            if (p[j].used == 0) {
                lengths.fits(p[j].time - x);
                return x;
            }
            const Tick gap =
                std::min(p[j].time, place >= 0 ? leaves_by(j, place, walk) : never) - x;
            if (length <= gap) {
                lengths.fits(gap);
                return x;
            }
            // A shorter one might end before the last change of place.
            lengths.too_short(j > i + 1 ? std::max(gap, p[j - 1].time - x) : gap);
            i = j;
            x = p[j].time;
        }
    }
    /// Whoever starts at t at that place comes from another one.
    bool comes_from_elsewhere(Tick t, std::int32_t place) const {
        const Point& p = points_[at(t)];
        return p.used == 0 && p.place >= 0 && place >= 0 && p.place != place;
    }
    /// Books (sign 1) or gives back (-1) one whole attendant over [from, to), at a place.
    void book_at(Tick from, Tick to, std::int32_t sign, std::int32_t place) {
        if (from >= to) return;
        ++changes_;
        if (size_ + 2 > points_.size()) points_.resize(2 * points_.size() + 16);
        const std::size_t i = split(from), j = split(to);
        Point* p = points_.data();
        // Whoever is free stands where the last work was; after a closed time, anywhere.
        std::int32_t last = i == 0 || p[i - 1].used >= closed ? -1 : stands(p[i - 1]);
        for (std::size_t k = i; k < j; ++k) {
            p[k].used += sign;
            if (p[k].used >= closed) last = -1;
            p[k].place = sign < 0 ? last : place >= 0 ? place : nowhere(last);
        }
        if (sign > 0 && place >= 0) last = place;
        for (std::size_t k = j; k < size_; ++k) {
            if (p[k].used == 0)
                p[k].place = last;
            else if (booked_nowhere(k))
                p[k].place = nowhere(last);
            else
                break;
        }
        merge(j);
        if (i > 0) merge(i);
    }
    /// First x >= from with used <= spare and open all over [x, x + length).
    /// @returns never if there is none. length >= never: for good.
    template <class Lengths = AnyLengths>
    Tick earliest(Tick from, Tick length, std::int32_t spare, Lengths&& lengths = {}) const {
        return earliest_where(
            from, length, [spare](std::int32_t used) { return used <= spare; }, lengths);
    }
    /// The same, open or not.
    Tick earliest_taken(Tick from, Tick length, std::int32_t spare) const {
        return earliest_where(
            from, length, [spare](std::int32_t used) { return taken(used) <= spare; },
            AnyLengths{});
    }
    /// First instant >= from at which less than the whole [from, to) is free, open or not; `to` if
    /// none.
    Tick free_until(Tick from, Tick to, std::int32_t spare) const {
        for (std::size_t i = at(from); i < size_ && points_[i].time < to; ++i) {
            if (taken(points_[i].used) > spare) return std::max(from, points_[i].time);
        }
        return to;
    }
    /// Adds `amount` (may be negative) over [from, to).
    void add(Tick from, Tick to, std::int32_t amount) {
        if (from >= to || amount == 0) return;
        ++changes_;
        if (size_ + 2 > points_.size()) points_.resize(2 * points_.size() + 16);
        Point* p = points_.data();
        std::size_t i = at(from);
        if (p[i].time != from) {
            ++i;
            insert(i, {from, p[i - 1].used});
        }
        const std::size_t first = i;
        if (to >= never) {
            for (; i < size_; ++i)
                p[i].used += amount;
        } else {
            std::int32_t before = p[i].used;
            while (i < size_ && p[i].time < to) {
                before = p[i].used;
                p[i].used += amount;
                ++i;
            }
            if (i == size_ || p[i].time != to) {
                insert(i, {to, before});
            } else if (p[i].used == p[i - 1].used) {
                erase(i);
            }
        }
        if (first > head_ && p[first].used == p[first - 1].used) erase(first);
    }
    /// What is taken for good, after the last change.
    std::int32_t finally_used() const { return taken(points_[size_ - 1].used); }
    std::size_t size() const { return size_ - head_; }
    /// How often it has changed: answers hold as long as this is the same.
    std::uint64_t changes() const { return changes_; }

private:
    struct Point {
        Tick time;
        std::int32_t used;  // holds until the next point
        // Of what is booked, or was last (book_at); booked at no place: nowhere(of what was last).
        std::int32_t place = -1;
    };
    static constexpr std::int32_t closed = std::int32_t{1} << 28;
    static std::int32_t taken(std::int32_t used) {
        return used >= closed / 2 ? used - closed : used;
    }

    static std::int32_t nowhere(std::int32_t last) { return -2 - last; }
    static std::int32_t stands(const Point& p) {
        return p.used > 0 && p.place < 0 ? nowhere(p.place) : p.place;
    }
    bool booked_nowhere(std::size_t i) const {
        return points_[i].used > 0 && points_[i].used < closed && points_[i].place < 0;
    }
    /// From which point on nothing has been done at a place. @pre i is free or booked nowhere.
    std::size_t left_at(std::size_t i) const {
        while (i > head_ && (points_[i - 1].used == 0 || booked_nowhere(i - 1)))
            --i;
        return i;
    }
    /// Until when somebody may be at `place` to come in time to what is booked from point i on.
    Tick leaves_by(std::size_t i, std::int32_t place, Tick walk) const {
        for (; i < size_ && points_[i].used < closed; ++i) {
            if (points_[i].used == 0 || points_[i].place < 0) continue;
            return points_[i].place == place ? never : points_[i].time - walk;
        }
        return never;
    }

    template <class Free, class Lengths>
    Tick earliest_where(Tick from, Tick length, Free free, Lengths&& lengths) const {
        const Point* p = points_.data();
        const std::size_t n = size_;
        std::size_t i = at(from);
        Tick x = from;
        while (true) {
            while (!free(p[i].used)) {
                if (++i == n) return never;
                x = p[i].time;
            }
            const Tick until = length >= never ? never : x + length;
            std::size_t j = i + 1;
            while (j < n && p[j].time < until && free(p[j].used))
                ++j;
            if (j == n) return x;
            if (p[j].time >= until) {
                lengths.fits(p[j].time - x);
                return x;
            }
            lengths.too_short(p[j].time - x);
            i = j;
        }
    }
    std::size_t at(Tick t) const {
        // Short arrays: a walk from the head; long ones (serial insertion): halving.
        const Point* p = points_.data();
        const std::size_t n = size_;
        std::size_t i = head_;
        const std::size_t near = std::min(n, head_ + 12);
        while (i + 1 < near && p[i + 1].time <= t)
            ++i;
        if (i + 1 < near || near == n) return i;
        const auto after =
            std::upper_bound(p + i, p + n, t, [](Tick x, const Point& q) { return x < q.time; });
        const auto found = static_cast<std::size_t>(after - p);
        return found > head_ ? found - 1 : head_;
    }
    std::size_t split(Tick t) {
        const std::size_t i = at(t);
        if (points_[i].time == t) return i;
        insert(i + 1, {t, points_[i].used, points_[i].place});
        return i + 1;
    }
    void merge(std::size_t i) {
        const Point* p = points_.data();
        if (i > head_ && i < size_ && p[i].used == p[i - 1].used && p[i].place == p[i - 1].place)
            erase(i);
    }
    void insert(std::size_t i, Point x) {
        Point* p = points_.data() + i;
        std::memmove(p + 1, p, (size_ - i) * sizeof(Point));
        *p = x;
        ++size_;
    }
    void erase(std::size_t i) {
        Point* p = points_.data() + i;
        --size_;
        std::memmove(p, p + 1, (size_ - i) * sizeof(Point));
    }

    std::shared_ptr<const std::vector<Point>> start_;  // as it is with nothing taken
    std::shared_ptr<std::vector<Point>> own_;  // start_, where windows change from run to run
    std::vector<Point> points_;
    std::size_t size_ = 0;  // of points_; the rest is room to grow
    std::size_t head_ = 0;
    std::uint64_t changes_ = 0;
};

}  // namespace sched::engine
