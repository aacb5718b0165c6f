// How it works: for windows that begin and end where tasks do, the energy that must lie inside
// (tasks that fit in whole, and certain parts of the others) is compared with what the capacity
// offers. Too much is a conflict; a task that would add too much has to begin later. Windows
// that have long said nothing are asked less often.

#include "sched/search/exact/lcg/lcg_energy.hpp"

#include <algorithm>

namespace sched::search::lcg {

namespace {

class WindowEnergy final : public Propagator {
public:
    WindowEnergy(std::vector<Use> uses, int capacity)
        : uses_(std::move(uses)), capacity_(capacity) {
        const std::size_t n = uses_.size();
        tasks_.resize(n);
        points_.reserve(2 * n);
        because_.reserve(3 * n + 3);
        for (int k = 0; k < static_cast<int>(n); ++k) {
            by_est_.push_back(k);
            by_lct_.push_back(k);
        }
    }

    bool propagate(Engine& e) override {
        // Where windows have long said nothing new, they are asked less often.
        if (rest_ > 0) {
            --rest_;
            return true;
        }
        found_ = false;
        const bool ok = run(e);
        idle_ = found_ || !ok ? 0 : std::min(idle_ + 1, kMostIdle);
        rest_ = idle_ / 8;
        return ok;
    }

private:
    static constexpr int kMostIdle = 256;

    bool run(Engine& e) {
        if (!load(e)) return true;
        profile();
        for (std::size_t x = by_lct_.size(); x-- > 0;) {
            const int b = tasks_[by_lct_[x]].lct;
            if (x + 1 < by_lct_.size() && tasks_[by_lct_[x + 1]].lct == b) continue;
            if (!window_ends_at(e, b, tasks_[by_lct_[x]].till_lct)) return false;
        }
        return true;
    }

    struct Task {
        int est = 0, lst = 0, ect = 0, lct = 0;
        int length = 0;
        int demand = 0;
        std::int64_t free = 0;      // energy beyond the part that surely runs at a known time
        std::int64_t till_est = 0;  // profile energy before est
        std::int64_t till_lct = 0;
    };

    /// @returns false when fewer than two are sure to be there. One that is not weighs nothing.
    bool load(const Engine& e) {
        int present = 0;
        for (std::size_t i = 0; i < uses_.size(); ++i) {
            const Use& u = uses_[i];
            Task& t = tasks_[i];
            t = {e.lb(u.start),
                 e.ub(u.start),
                 e.lb(u.end),
                 e.ub(u.end),
                 u.length,
                 u.demand,
                 0,
                 0,
                 0};
            if (u.length <= 0 || (u.present.valid() && !e.is_true(u.present))) {
                t.demand = 0;
                continue;
            }
            ++present;
            t.free = std::int64_t{t.demand} * std::max(0, t.length - std::max(0, t.ect - t.lst));
        }
        return present >= 2;
    }

    /// Sorts what was sorted a moment ago.
    template <class Before>
    static void settle(std::vector<int>& order, Before before) {
        for (std::size_t i = 1; i < order.size(); ++i) {
            const int x = order[i];
            std::size_t k = i;
            for (; k > 0 && before(x, order[k - 1]); --k)
                order[k] = order[k - 1];
            order[k] = x;
        }
    }

    void profile() {
        points_.clear();
        for (const Task& t : tasks_) {
            if (t.demand == 0 || t.lst >= t.ect) continue;
            points_.push_back({t.lst, t.demand, 0});
            points_.push_back({t.ect, -t.demand, 0});
        }
        std::sort(points_.begin(), points_.end(),
                  [](const Point& a, const Point& b) { return a.at < b.at; });
        std::int64_t sum = 0;
        int height = 0;
        for (std::size_t k = 0; k < points_.size(); ++k) {
            if (k > 0) sum += std::int64_t{height} * (points_[k].at - points_[k - 1].at);
            height += points_[k].height;
            points_[k].height = height;
            points_[k].till = sum;
        }
        settle(by_est_, [this](int a, int b) { return tasks_[a].est > tasks_[b].est; });
        settle(by_lct_, [this](int a, int b) { return tasks_[a].lct < tasks_[b].lct; });
        // Two walks along the profile.
        std::size_t at = points_.size();
        for (const int k : by_est_) {
            while (at > 0 && points_[at - 1].at > tasks_[k].est)
                --at;
            tasks_[k].till_est = till(at, tasks_[k].est);
        }
        at = 0;
        for (const int k : by_lct_) {
            while (at < points_.size() && points_[at].at <= tasks_[k].lct)
                ++at;
            tasks_[k].till_lct = till(at, tasks_[k].lct);
        }
    }

    /// Profile energy before t, `next` being the first point after t.
    std::int64_t till(std::size_t next, int t) const {
        if (next == 0) return 0;
        const Point& p = points_[next - 1];
        return p.till + std::int64_t{p.height} * (t - p.at);
    }

    bool window_ends_at(Engine& e, int b, std::int64_t till_b) {
        std::int64_t inside = 0;
        int wanted = -1;  // the task reaching over b that would need most inside
        std::int64_t wanted_energy = 0;
        for (std::size_t k = 0; k < by_est_.size(); ++k) {
            const Task& t = tasks_[by_est_[k]];
            const int a = t.est;
            if (a >= b) continue;
            if (t.lct <= b) {
                inside += t.free;
            } else {
                const std::int64_t need =
                    std::int64_t{t.demand} * (std::min(b, a + t.length) - a - sure_inside(t, a, b));
                if (need > wanted_energy) {
                    wanted = by_est_[k];
                    wanted_energy = need;
                }
            }
            if (k + 1 < by_est_.size() && tasks_[by_est_[k + 1]].est == a) continue;
            const std::int64_t reserve =
                std::int64_t{capacity_} * (b - a) - inside - (till_b - t.till_est);
            if (reserve < 0) {
                reasons(a, b, -reserve - 1, -1);
                return e.conflict(because_);
            }
            if (wanted < 0 || wanted_energy <= reserve) continue;
            const Task& w = tasks_[wanted];
            const int sure = sure_inside(w, a, b);
            const std::int64_t most = sure + reserve / w.demand;  // length it may have inside
            const int start = b - static_cast<int>(most);
            if (start <= w.est) continue;
            // The others' energy plus demand * (most + 1) is more than there is.
            const std::int64_t surplus = w.demand - 1 - reserve % w.demand;
            reasons(a, b, surplus, wanted);
            const Use& u = uses_[wanted];
            found_ = true;
            because_.push_back(at_least(u.start, a));
            if (u.present.valid()) because_.push_back(u.present);
            if (!e.imply(at_least(u.start, start), because_)) return false;
        }
        return true;
    }

    static int sure_inside(const Task& t, int a, int b) {
        return std::max(0, std::min(b, t.ect) - std::max(a, t.lst));
    }

    /// Why [a, b) holds so much, without task `but`; weakened by `surplus` units of energy.
    void reasons(int a, int b, std::int64_t surplus, int but) {
        because_.clear();
        for (int k = 0; k < static_cast<int>(tasks_.size()); ++k) {
            const Task& t = tasks_[k];
            if (k == but || t.demand == 0) continue;
            const Use& u = uses_[k];
            const int sure = sure_inside(t, a, b);
            if (t.est >= a && t.lct <= b && t.length >= sure) {
                const std::int64_t weaker = surplus / t.demand;
                if (weaker >= t.length) {
                    surplus -= std::int64_t{t.length} * t.demand;
                    continue;
                }
                surplus -= weaker * t.demand;
                because_.push_back(at_least(u.start, a - static_cast<int>(weaker)));
                because_.push_back(at_most(u.end, b));
            } else if (sure > 0) {
                const std::int64_t weaker = surplus / t.demand;
                if (weaker >= sure) {
                    surplus -= std::int64_t{sure} * t.demand;
                    continue;
                }
                surplus -= weaker * t.demand;
                because_.push_back(at_most(u.start, std::max(a, t.lst)));
                because_.push_back(at_least(u.end, std::min(b, t.ect) - static_cast<int>(weaker)));
            } else {
                continue;
            }
            if (u.present.valid()) because_.push_back(u.present);
        }
    }

    struct Point {
        int at;
        int height;  // from here on
        std::int64_t till;
    };

    std::vector<Use> uses_;
    int capacity_;
    std::vector<Task> tasks_;
    std::vector<Point> points_;
    std::vector<int> by_est_;
    std::vector<int> by_lct_;
    std::vector<Lit> because_;
    int idle_ = 0;
    int rest_ = 0;
    bool found_ = false;
};

}  // namespace

void post_energy(Engine& engine, const std::vector<Use>& uses, int capacity) {
    const std::vector<Side> sides = sides_of(uses);
    engine.add_propagator(std::make_unique<WindowEnergy>(uses, capacity), sides, 2);
    engine.add_propagator(std::make_unique<WindowEnergy>(backward(uses), capacity), sides, 2);
}

}  // namespace sched::search::lcg
