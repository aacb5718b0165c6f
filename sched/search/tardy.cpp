#include "sched/search/tardy.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "sched/search/rng.hpp"
#include "sched/search/shop_mixer.hpp"

namespace sched::search {

namespace {

class TardyAnnealer {
public:
    TardyAnnealer(const ShopModel& shop, std::int64_t bound, Rng rng, Watch& watch)
        : shop_(shop),
          n_(shop.operations),
          bound_(bound),
          rng_(rng),
          watch_(watch),
          state_(shop),
          mixer_(shop) {
        state_.keep_tails(shop.choice);
        done_.resize(shop.due.size());
        late_.reserve(shop.lasts.size());
        double time = 0.0;
        for (int o = 0; o < n_; ++o)
            time += shop.alternatives[i(shop.first_alternative[i(o)])].time;
        double weight = 0.0;
        for (const auto w : shop.weight)
            weight += static_cast<double>(w);
        scale_ =
            std::max(1.0, time / n_ * weight /
                              static_cast<double>(std::max<std::size_t>(1, shop.weight.size())));
    }

    ShopPlan run() {
        const std::int64_t length = annealing_length();
        const int size = kMembers;
        do {
            population_.clear();
            while (static_cast<int>(population_.size()) < size &&
                   (population_.empty() || !over())) {
                start();
                population_.push_back(anneal(length, kHot * scale_));
            }
            int idle = 0;
            while (!over() && idle < 8 * size) {
                const int a = rng_.below(size);
                int b = rng_.below(size - 1);
                if (b >= a) ++b;
                const ShopSequence mixed =
                    mixer_.between(population_[i(a)], population_[i(b)], rng_);
                state_.load(mixed.order, mixed.alternative);
                ShopSequence child = anneal(length, kWarm * scale_);
                ++idle;
                ShopSequence& worse =
                    population_[i(population_[i(a)].value >= population_[i(b)].value ? a : b)];
                const bool known =
                    std::any_of(population_.begin(), population_.end(),
                                [&](const auto& x) { return x.value == child.value; });
                if (child.value >= worse.value || known) continue;
                worse = std::move(child);
                idle = 0;
            }
        } while (!over());
        state_.load(best_.order, best_.alternative);
        ShopPlan plan{.value = best_.value, .start = {}, .alternative = best_.alternative};
        for (int o = 0; o < n_; ++o)
            plan.start.push_back(state_.head(o));
        return plan;
    }

private:
    struct Move {
        int u, x, alternative;
    };

    static constexpr int kMembers = 12;
    // Temperatures in units of mean duration x mean weight: of a new start, of a child, at the end.
    static constexpr double kHot = 8.0;
    static constexpr double kWarm = 1.0;
    static constexpr double kCold = 0.05;

    /// Trial moves of one annealing; a small budget still sees the population bred.
    std::int64_t annealing_length() const {
        const std::int64_t wanted = 3000 * static_cast<std::int64_t>(n_);
        if (watch_.share() == 0) return wanted;
        return std::clamp<std::int64_t>(watch_.share() / (4 * kMembers),
                                        std::min<std::int64_t>(1000, wanted), wanted);
    }

    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    bool over() { return best_.value == bound_ || watch_.spent(); }

    /// Objective of the present graph; leaves the tardy chains in late_.
    std::int64_t value() {
        std::fill(done_.begin(), done_.end(), 0);
        const int chains = shop_.chains();
        for (int c = 0; c < chains; ++c) {
            const int order = shop_.order_of[i(c)];
            if (order >= 0)
                done_[i(order)] = std::max(done_[i(order)], state_.end(shop_.lasts[i(c)]));
        }
        std::int64_t sum = 0;
        for (std::size_t k = 0; k < done_.size(); ++k) {
            if (shop_.due[k] >= 0 && done_[k] > shop_.due[k])
                sum += shop_.weight[k] * (done_[k] - shop_.due[k]);
        }
        return sum;
    }

    void list_late() {
        late_.clear();
        for (int c = 0; c < shop_.chains(); ++c) {
            const int order = shop_.order_of[i(c)];
            if (order < 0 || shop_.due[i(order)] < 0 || shop_.weight[i(order)] == 0) continue;
            if (state_.end(shop_.lasts[i(c)]) > shop_.due[i(order)])
                late_.push_back(shop_.lasts[i(c)]);
        }
    }

    void keep(const ShopSequence& s) {
        if (best_.value >= 0 && s.value >= best_.value) return;
        best_ = s;
        watch_.show(s.value);
        if (s.value <= bound_) watch_.proven();
    }

    /// A list by due dates, blurred; every operation on the machine where it ends first.
    void start() {
        std::vector<int> order, alternative(i(n_), -1), next, free(i(shop_.machines), 0);
        std::vector<double> key(i(shop_.chains()), 0.0);
        for (int c = 0; c < shop_.chains(); ++c) {
            const int k = shop_.order_of[i(c)];
            const double due =
                k >= 0 && shop_.due[i(k)] >= 0 ? static_cast<double>(shop_.due[i(k)]) : 1e12;
            key[i(c)] = due * (0.5 + rng_.unit());
        }
        std::vector<int> ready(i(n_) + 1, 0);
        for (int o = 0; o < n_; ++o) {
            if (shop_.before[i(o)] == n_) next.push_back(o);
        }
        while (!next.empty()) {
            // Among what could begin soonest, the most urgent chain.
            std::size_t pick = 0;
            double best = std::numeric_limits<double>::infinity();
            for (std::size_t k = 0; k < next.size(); ++k) {
                const int o = next[k];
                const auto& way = shop_.alternatives[i(shop_.first_alternative[i(o)])];
                const double begin =
                    std::max({ready[i(o)], shop_.base[i(o)], free[i(way.machine)]});
                const double rank = 4.0 * begin + key[i(shop_.chain_of[i(o)])];
                if (rank < best) {
                    best = rank;
                    pick = k;
                }
            }
            const int o = next[pick];
            int end = std::numeric_limits<int>::max();
            for (int a = shop_.first_alternative[i(o)]; a < shop_.first_alternative[i(o) + 1];
                 ++a) {
                const auto& way = shop_.alternatives[i(a)];
                const int e =
                    std::max({ready[i(o)], shop_.base[i(o)], free[i(way.machine)]}) + way.time;
                if (e < end) {
                    end = e;
                    alternative[i(o)] = a;
                }
            }
            free[i(shop_.alternatives[i(alternative[i(o)])].machine)] = end;
            order.push_back(o);
            ready[i(shop_.after[i(o)])] = end;
            if (shop_.after[i(o)] == n_) {
                next[pick] = next.back();
                next.pop_back();
            } else {
                next[pick] = shop_.after[i(o)];
            }
        }
        state_.load(order, alternative);
    }

    /// A move on a random critical path of a random tardy chain. @returns false when there is none.
    bool draw(Move& move) {
        int o = late_[i(rng_.below(static_cast<int>(late_.size())))];
        int ties = 0;
        int elsewhere = n_;
        int steps = 0;
        while (o != n_) {
            const int head = state_.head(o);
            const int b = state_.before(o);
            const int m = state_.machine_before(o);
            if (shop_.choice && rng_.below(++steps) == 0) elsewhere = o;
            const bool via_chain = b != n_ && state_.end(b) == head;
            const bool via_machine = m != n_ && state_.end(m) == head;
            if (via_machine && m != b && state_.may_swap(m, o) && rng_.below(++ties) == 0) {
                move = {m, o, state_.alternative(m)};
            }
            if (via_chain && via_machine) {
                o = (rng_.next() >> 63) ? b : m;
            } else {
                o = via_chain ? b : (via_machine ? m : n_);
            }
        }
        if (elsewhere != n_ && (ties == 0 || rng_.below(3) == 0))
            return draw_elsewhere(elsewhere, move) || ties > 0;
        return ties > 0;
    }

    /// u to a random free place on a random other machine.
    bool draw_elsewhere(int u, Move& move) {
        const int first = shop_.first_alternative[i(u)];
        const int count = shop_.first_alternative[i(u) + 1] - first;
        if (count < 2) return false;
        const int a = first + rng_.below(count);
        const int machine = shop_.alternatives[i(a)].machine;
        if (machine == state_.machine(u)) return false;
        int x = n_;
        int y = state_.first(machine);
        int ties = 0;
        for (;;) {
            if (x != n_ && !state_.free_after(u, x)) break;
            if ((y == n_ || state_.free_before(u, y)) && rng_.below(++ties) == 0) move = {u, x, a};
            if (y == n_) break;
            x = y;
            y = state_.machine_after(y);
        }
        return ties > 0;
    }

    /// From the present graph. @returns the best met on the way.
    ShopSequence anneal(std::int64_t length, double hot) {
        const double cold = kCold * scale_;
        std::int64_t now = value();
        list_late();
        ShopSequence best = state_.save();
        best.value = now;
        keep(best);
        double temperature = hot;
        const int step = 256;
        const double factor =
            std::pow(cold / hot, static_cast<double>(step) / static_cast<double>(length));
        int misses = 0;
        for (std::int64_t t = 1; t <= length && !late_.empty() && misses < 1000 && !watch_.count();
             ++t) {
            if (t % step == 0) temperature *= factor;
            Move move{};
            if (!draw(move)) {
                ++misses;
                continue;
            }
            misses = 0;
            const Move back{move.u, state_.machine_before(move.u), state_.alternative(move.u)};
            state_.insert(move.u, move.x, move.alternative);
            const std::int64_t after = value();
            if (after <= now ||
                rng_.unit() < std::exp(static_cast<double>(now - after) / temperature)) {
                now = after;
                list_late();
                if (now < best.value && (now < best_.value || temperature < 0.3 * hot)) {
                    best = state_.save();
                    best.value = now;
                    keep(best);
                }
            } else {
                state_.insert(back.u, back.x, back.alternative);
            }
        }
        return best;
    }

    const ShopModel& shop_;
    int n_;
    std::int64_t bound_;
    Rng rng_;
    Watch& watch_;
    ShopState state_;
    ShopMixer mixer_;
    ShopSequence best_;
    std::vector<ShopSequence> population_;
    double scale_ = 1.0;
    std::vector<int> done_, late_;
};

}  // namespace

ShopPlan search_shop_tardiness(const ShopModel& shop, std::int64_t bound, std::uint64_t seed,
                               int start, Watch& watch) {
    return TardyAnnealer(shop, bound, Rng(seed, static_cast<std::uint64_t>(start)), watch).run();
}

}  // namespace sched::search
