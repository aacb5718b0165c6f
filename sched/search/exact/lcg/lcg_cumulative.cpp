// How it works: the parts of uses that are certain make a profile over time. A use that does
// not fit beside the profile at some instant of its way moves behind it, instant by instant,
// each move the reason of the next; the reason names as few of the covering uses as are needed.
// Ends are moved by the same code on mirrored time.

#include "sched/search/exact/lcg/lcg_cumulative.hpp"

#include <algorithm>

namespace sched::search::lcg {

namespace {

/// Moves starts forward. The backward direction is the same on mirrored uses.
class TimeTable final : public Propagator {
public:
    TimeTable(std::vector<Use> uses, int capacity) : uses_(std::move(uses)), capacity_(capacity) {
        const std::size_t n = uses_.size();
        events_.reserve(2 * n);
        from_.reserve(2 * n);
        height_.reserve(2 * n);
        because_.reserve(3 * n + 3);
    }

    bool propagate(Engine& e) override {
        build(e);
        if (from_.empty()) return true;
        if (highest_ > capacity_) {
            for (std::size_t r = 0; r + 1 < from_.size(); ++r) {
                if (height_[r] > capacity_) {
                    because_.clear();
                    collect(e, (from_[r] + from_[r + 1] - 1) / 2, capacity_, -1);
                    return e.conflict(because_);
                }
            }
        }
        for (int j = 0; j < static_cast<int>(uses_.size()); ++j) {
            const Use& u = uses_[j];
            if (highest_ + u.demand <= capacity_) continue;
            if (u.present.valid() && e.is_false(u.present)) continue;
            const bool sure = !u.present.valid() || e.is_true(u.present);
            if (sure ? !push(e, j) : !exclude(e, j)) return false;
        }
        return true;
    }

private:
    struct Event {
        int at;
        int change;
    };

    void build(const Engine& e) {
        events_.clear();
        highest_ = 0;
        for (const Use& u : uses_) {
            const int a = e.ub(u.start);
            const int b = e.lb(u.end);
            if (a >= b || (u.present.valid() && !e.is_true(u.present))) continue;
            events_.push_back({a, u.demand});
            events_.push_back({b, -u.demand});
        }
        std::sort(events_.begin(), events_.end(), [](Event x, Event y) { return x.at < y.at; });
        from_.clear();
        height_.clear();
        int h = 0;
        for (std::size_t i = 0; i < events_.size();) {
            const int at = events_[i].at;
            for (; i < events_.size() && events_[i].at == at; ++i)
                h += events_[i].change;
            from_.push_back(at);
            height_.push_back(h);
            highest_ = std::max(highest_, h);
        }
    }

    /// Uses that surely cover t, other than `but`, until their demands exceed `enough`; to
    /// because_.
    void collect(const Engine& e, int t, int enough, int but) {
        int sum = 0;
        int free_sum = 0;
        picked_.clear();
        for (int i = 0; i < static_cast<int>(uses_.size()); ++i) {
            if (i == but) continue;
            const Use& u = uses_[i];
            if (e.ub(u.start) > t || e.lb(u.end) <= t) continue;
            if (u.present.valid() && !e.is_true(u.present)) continue;
            const bool root = e.is_root_true(at_most(u.start, t)) &&
                              e.is_root_true(at_least(u.end, t + 1)) &&
                              (!u.present.valid() || e.is_root_true(u.present));
            if (root) {
                free_sum += u.demand;
            } else {
                picked_.push_back(i);
                sum += u.demand;
            }
        }
        // Leave out what is not needed, small demands first.
        int surplus = free_sum + sum - enough - 1;
        if (surplus > 0) {
            std::stable_sort(picked_.begin(), picked_.end(),
                             [this](int a, int b) { return uses_[a].demand < uses_[b].demand; });
            std::size_t keep = 0;
            for (const int i : picked_) {
                if (uses_[i].demand <= surplus) {
                    surplus -= uses_[i].demand;
                } else {
                    picked_[keep++] = i;
                }
            }
            picked_.resize(keep);
        }
        for (const int i : picked_) {
            const Use& u = uses_[i];
            because_.push_back(at_most(u.start, t));
            because_.push_back(at_least(u.end, t + 1));
            if (u.present.valid()) because_.push_back(u.present);
        }
    }

    bool push(Engine& e, int j) {
        const Use& u = uses_[j];
        const int latest = e.ub(u.start);
        int begin = e.lb(u.start);
        if (begin == latest) return true;  // its own part is in the profile: overload tells
        const bool part = latest < e.lb(u.end);
        int end = e.lb(u.end);
        std::size_t r = static_cast<std::size_t>(
            std::upper_bound(from_.begin(), from_.end(), begin) - from_.begin());
        if (r > 0) --r;
        for (; r + 1 < from_.size() && from_[r] < end; ++r) {
            if (part && from_[r] >= latest) break;
            if (from_[r + 1] <= begin || height_[r] + u.demand <= capacity_) continue;
            // Not at any time of [from_[r], from_[r+1]); in steps, each the reason of the next.
            while (begin < from_[r + 1]) {
                const int t = std::min(from_[r + 1], end) - 1;
                if (t < from_[r]) break;
                because_.clear();
                collect(e, t, capacity_ - u.demand, j);
                because_.push_back(at_least(u.end, t + 1));
                if (u.present.valid()) because_.push_back(u.present);
                if (!e.imply(at_least(u.start, t + 1), because_)) return false;
                begin = t + 1;
                if (e.lb(u.end) <= end) {
                    if (begin < from_[r + 1])
                        return true;  // its end moves with the next propagation
                    break;
                }
                end = e.lb(u.end);
            }
        }
        return true;
    }

    /// A use not yet sure to be there, that would cover a full instant if it were.
    bool exclude(Engine& e, int j) {
        const Use& u = uses_[j];
        const int a = e.ub(u.start);
        const int b = e.lb(u.end);
        if (a >= b) return true;
        std::size_t r = static_cast<std::size_t>(std::upper_bound(from_.begin(), from_.end(), a) -
                                                 from_.begin());
        if (r > 0) --r;
        for (; r + 1 < from_.size() && from_[r] < b; ++r) {
            if (from_[r + 1] <= a || height_[r] + u.demand <= capacity_) continue;
            const int t = (std::max(a, from_[r]) + std::min(b, from_[r + 1]) - 1) / 2;
            because_.clear();
            collect(e, t, capacity_ - u.demand, j);
            because_.push_back(at_most(u.start, t));
            because_.push_back(at_least(u.end, t + 1));
            return e.imply(negated(u.present), because_);
        }
        return true;
    }

    std::vector<Use> uses_;
    int capacity_;
    std::vector<Event> events_;
    std::vector<int> from_;  // start of each stretch of constant height
    std::vector<int> height_;
    std::vector<int> picked_;
    std::vector<Lit> because_;
    int highest_ = 0;
};

}  // namespace

std::vector<Side> sides_of(const std::vector<Use>& uses) {
    std::vector<Side> sides;
    for (const Use& u : uses) {
        for (const Term t : {u.start, u.end}) {
            sides.push_back(t.side);
            sides.push_back(flipped(t.side));
        }
        if (u.present.valid()) sides.push_back(u.present.side);
    }
    std::sort(sides.begin(), sides.end());
    sides.erase(std::unique(sides.begin(), sides.end()), sides.end());
    return sides;
}

std::vector<Use> backward(std::vector<Use> uses) {
    for (Use& u : uses) {
        const Term s = u.start;
        u.start = mirrored(u.end);
        u.end = mirrored(s);
    }
    return uses;
}

void post_cumulative(Engine& engine, const std::vector<Use>& uses, int capacity) {
    const std::vector<Side> sides = sides_of(uses);
    engine.add_propagator(std::make_unique<TimeTable>(uses, capacity), sides, 1);
    engine.add_propagator(std::make_unique<TimeTable>(backward(uses), capacity), sides, 1);
}

}  // namespace sched::search::lcg
