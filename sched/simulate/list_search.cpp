// Local search over lists of work, each move raced against the list that is held on the same
// simulated days. A list is few numbers: a base (latest starts by due date, or the starts of a good
// plan), a shift of each order, a shift of each kind of step. Moves aim at the orders that lose
// most: forward with one of them, back with one that has time, two exchange their places. A move
// lives through blocks of days that double; it is given up as soon as the paired differences say
// that it costs more (successive elimination), held when it has stood all of them. When moves find
// nothing any more, the number of days doubles: what only suits the sample does not last (sample
// average approximation: Kleywegt, Shapiro and Homem-de-Mello 2002).

#include "sched/simulate/list_search.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numeric>
#include <thread>

#include "sched/core/index.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/base/rng.hpp"
#include "sched/simulate/day_rooms.hpp"

namespace sched::study {

namespace {

constexpr std::size_t first_days = 48;   // held lists are compared on; fewer in small budgets
constexpr std::size_t most_days = 1536;  // at most
constexpr std::size_t first_block = 6;   // days of a move before it is first judged
constexpr double later_aim = 0.1;        // what the next aim weighs in one number

std::vector<std::int64_t> objective_of(const core::Problem& problem, const Replication& day) {
    if (day.complete) return day.objective;
    const auto horizon = (problem.horizon_end - problem.horizon_start).count();
    std::vector<std::int64_t> objective(problem.objective.size(), 0);
    for (std::size_t k = 0; k < objective.size(); ++k) {
        const bool count = problem.objective[k] == core::Criterion::LateOrders;
        for (const auto& o : problem.orders)
            objective[k] += count ? 1 : horizon * o.weight;
    }
    return objective;
}

/// A point of the search.
struct Point {
    std::size_t base = 0;
    std::vector<double> order;  // shift per order, s
    std::vector<double> step;   // shift per kind of step, s
};

/// What a list did on the days so far.
struct Lived {
    std::vector<double> cost;               // per day, all aims in one number
    std::vector<std::vector<float>> parts;  // per day, per criterion
    std::vector<double> loss;               // per order, weighted tardiness summed over the days
};

class ListSearch {
public:
    ListSearch(const DayRooms& days, const compile::RoomProblem& room,
               const ListSearchOptions& options)
        : days_(days),
          problem_(room.problem),
          room_(room),
          options_(options),
          workers_(static_cast<std::size_t>(std::max(1, options.threads))),
          rng_(options.seed) {
        for (std::size_t i = 0; i < static_cast<std::size_t>(days.run_operations()); ++i) {
            const core::JobId job = problem_.operations[i].job;
            order_of_.push_back(job.valid() ? problem_.jobs[job.index()].order.value : -1);
            step_of_.push_back(static_cast<std::size_t>(room.operations[i].step));
            steps_ = std::max(steps_, step_of_.back() + 1);
        }
    }

    ListSearchResult run(const std::vector<core::Schedule>& plans) {
        sample_ = std::clamp<std::size_t>(static_cast<std::size_t>(options_.days / 20), first_block,
                                          first_days);
        add_bases(plans);
        start();
        while (!held_.empty() && !over())
            step();
        return result();
    }

private:
    struct Base {
        std::vector<double> turn;  // per operation of the run
        std::string words;
    };
    struct Held {
        Point point;
        Lived lived;
    };

    bool over() const {
        return result_.days >= options_.days || (options_.stop && options_.stop());
    }

    void add_bases(const std::vector<core::Schedule>& plans) {
        core::Problem whole = problem_;
        whole.now.reset();
        whole.begun.clear();
        const engine::CompiledProblem compiled(whole);
        const auto views = engine::rule_views(compiled);
        const auto add = [&](const engine::Sequence& sequence, std::string words) {
            // The rule's order, its turns as far apart as the starts that it leads to.
            const std::vector<double> rank(sequence.rank.begin(), sequence.rank.end());
            const auto starts = planned_starts(rank);
            if (starts.empty()) return;
            Base base{.turn = starts, .words = std::move(words)};
            std::vector<double> sorted = starts;
            std::sort(sorted.begin(), sorted.end());
            for (std::size_t i = 0; i < starts.size(); ++i)
                base.turn[i] = sorted[ix(sequence.rank[i])];
            bases_.push_back(std::move(base));
        };
        for (const auto& rule : engine::rules())
            add(engine::rule_sequence(compiled, views, rule), rule.words);
        Base base{.turn = {}, .words = "between due date and latest start"};
        for (std::size_t i = 0; i < order_of_.size(); ++i)
            base.turn.push_back(views[i].due - 0.5 * views[i].remaining);
        bases_.push_back(std::move(base));
        for (std::size_t k = 0; k < plans.size(); ++k)
            bases_.push_back({starts_of(plans[k]), k == 0 ? "the plan that is best on paper"
                                                          : "a plan with everything longer"});
    }

    /// What a list gives with the planned lengths; empty: no end.
    std::vector<double> planned_starts(const std::vector<double>& turn) {
        if (!paper_) {
            remaining_ = std::make_unique<engine::RemainingProblem>(problem_);
            compiled_ = std::make_unique<engine::CompiledProblem>(remaining_->problem());
            paper_ = std::make_unique<engine::Decoder>(*compiled_);
        }
        engine::Sequence sequence = sequence_of(turn);
        if (!paper_->decode(sequence)) return {};
        return starts_of(remaining_->whole(paper_->to_schedule()));
    }

    std::vector<double> starts_of(const core::Schedule& plan) const {
        std::vector<double> turn;
        for (std::size_t i = 0; i < order_of_.size(); ++i)
            turn.push_back(
                static_cast<double>(plan.placements[i].start.time_since_epoch().count()));
        return turn;
    }

    std::vector<double> turns(const Point& x) const {
        std::vector<double> turn = bases_[x.base].turn;
        const double first =
            x.order.empty() ? 0.0 : *std::min_element(x.order.begin(), x.order.end());
        for (std::size_t i = 0; i < turn.size(); ++i) {
            // What belongs to no order (mixing) is as urgent as the most urgent order.
            turn[i] += order_of_[i] >= 0 ? x.order[ix(order_of_[i])] : std::min(0.0, first);
            turn[i] += x.step[step_of_[i]];
        }
        return turn;
    }

    /// Days [lived.cost.size(), until) of a list.
    void live(const Point& x, Lived& lived, std::size_t until) {
        const std::size_t from = lived.cost.size();
        if (from >= until) return;
        const std::vector<double> list = turns_of_room(days_.room(), turns(x));
        std::vector<Replication> found(until - from);
        std::atomic<std::size_t> next{from};
        const auto work = [&](DayRooms::Worker& worker) {
            for (std::size_t d = next++; d < until; d = next++) {
                found[d - from] =
                    days_.live(engine::Draws(options_.seed, d), {.use = false}, worker, &list);
            }
        };
        {
            std::vector<std::jthread> pool;
            for (std::size_t t = 1; t < workers_.size(); ++t)
                pool.emplace_back([&, t] { work(workers_[t]); });
            work(workers_[0]);
        }
        result_.days += static_cast<std::int64_t>(until - from);
        lived.loss.resize(problem_.orders.size(), 0.0);
        for (const auto& day : found)
            add_day(day, lived);
    }

    void add_day(const Replication& day, Lived& lived) {
        lived.cost.push_back(cost_of_day(problem_, day));
        const auto objective = objective_of(problem_, day);
        lived.parts.emplace_back(objective.begin(), objective.end());
        for (std::size_t o = 0; day.complete && o < problem_.orders.size(); ++o) {
            const auto& order = problem_.orders[o];
            if (!order.due) continue;
            const auto late = day.ready[o] - (*order.due - problem_.horizon_start).count();
            if (late > 0) lived.loss[o] += static_cast<double>(order.weight * late);
        }
    }

    struct Verdict {
        double mean = 0.0;
        double error = 0.0;
    };
    static Verdict difference(const Lived& a, const Lived& b, std::size_t n) {
        double sum = 0.0, squares = 0.0;
        for (std::size_t d = 0; d < n; ++d) {
            const double x = a.cost[d] - b.cost[d];
            sum += x;
            squares += x * x;
        }
        const double m = sum / static_cast<double>(n);
        const double variance = std::max(0.0, squares / static_cast<double>(n) - m * m);
        return {m, std::sqrt(variance / static_cast<double>(n))};
    }

    /// True: it stood all days and costs less.
    bool race(const Point& x, Lived& lived, const Held& against) {
        for (std::size_t n = std::min(first_block, sample_);; n = std::min(2 * n, sample_)) {
            live(x, lived, n);
            const Verdict v = difference(lived, against.lived, n);
            const double patience = n < sample_ ? 0.5 : -0.25;
            if (v.mean > patience * v.error || (n == sample_ && v.mean >= 0.0)) return false;
            if (n == sample_) return true;
            if (over()) return false;
        }
    }

    double mean_cost(const Lived& lived) const {
        return std::accumulate(lived.cost.begin(), lived.cost.end(), 0.0) /
               static_cast<double>(std::max<std::size_t>(1, lived.cost.size()));
    }

    // Every base on the first days, the best of them on all.
    void start() {
        std::vector<Held> all;
        for (std::size_t b = 0; b < bases_.size() && (all.empty() || !over()); ++b) {
            Held one{.point = {.base = b,
                               .order = std::vector<double>(problem_.orders.size(), 0.0),
                               .step = std::vector<double>(steps_, 0.0)}};
            live(one.point, one.lived, std::min(2 * first_block, sample_));
            ++result_.lists;
            all.push_back(std::move(one));
        }
        const auto cheaper = [&](const Held& a, const Held& b) {
            return mean_cost(a.lived) < mean_cost(b.lived);
        };
        std::stable_sort(all.begin(), all.end(), cheaper);
        if (all.size() > 5) all.resize(5);
        for (auto& one : all) {
            if (&one == &all.front() || !over()) live(one.point, one.lived, sample_);
        }
        std::erase_if(all, [&](const Held& h) { return h.lived.cost.size() < sample_; });
        std::stable_sort(all.begin(), all.end(), cheaper);
        held_ = std::move(all);
        // The best lists as they came: what was searched has to beat them on days of its own.
        unsearched_.assign(
            held_.begin(),
            held_.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(2, held_.size())));
    }

    std::size_t losing_order(const Lived& lived) {
        double sum = 0.0;
        for (const double l : lived.loss)
            sum += l;
        if (sum <= 0.0 || rng_.unit() < 0.15)
            return ix(rng_.below(static_cast<int>(lived.loss.size())));
        double u = rng_.unit() * sum;
        for (std::size_t o = 0; o < lived.loss.size(); ++o) {
            if (u < lived.loss[o]) return o;
            u -= lived.loss[o];
        }
        return lived.loss.size() - 1;
    }

    double some_shift() { return 240.0 * std::exp(3.2 * rng_.unit()); }  // 4 min to 100 min

    Point moved(const Held& from) {
        Point x = from.point;
        const std::size_t orders = x.order.size();
        const double u = rng_.unit();
        if (orders == 0 || u < 0.2) {  // a kind of step
            x.step[ix(rng_.below(static_cast<int>(steps_)))] +=
                (rng_.unit() < 0.5 ? -1.0 : 1.0) * some_shift();
        } else if (u < 0.5) {  // forward
            x.order[losing_order(from.lived)] -= some_shift();
        } else if (u < 0.7) {  // back
            x.order[ix(rng_.below(static_cast<int>(orders)))] += some_shift();
        } else if (u < 0.9) {  // one forward, one back
            const double by = some_shift();
            x.order[losing_order(from.lived)] -= by;
            x.order[ix(rng_.below(static_cast<int>(orders)))] += by;
        } else if (held_.size() > 1) {  // of two lists
            const Point& other =
                held_[1 + ix(rng_.below(static_cast<int>(held_.size()) - 1))].point;
            for (std::size_t o = 0; o < orders; ++o) {
                if (rng_.unit() < 0.5) x.order[o] = other.order[o];
            }
            if (rng_.unit() < 0.5) x.step = other.step;
        } else {
            x.step.assign(steps_, 0.0);
        }
        return x;
    }

    void step() {
        // Mostly the best is moved, now and then one of the others.
        const std::size_t k =
            rng_.unit() < 0.8 ? 0 : ix(rng_.below(static_cast<int>(held_.size())));
        Held next{.point = moved(held_[k]), .lived = {}};
        ++result_.lists;
        const bool better = race(next.point, next.lived, held_[k]);
        if (better) {
            held_[k] = std::move(next);
            in_vain_ = 0;
            for (std::size_t j = k;
                 j > 0 && mean_cost(held_[j].lived) < mean_cost(held_[j - 1].lived); --j)
                std::swap(held_[j], held_[j - 1]);
        } else if (++in_vain_ >= 60 && sample_ < most_days) {
            in_vain_ = 0;
            sample_ *= 2;
            if (held_.size() > 3) held_.resize(3);
            for (auto& h : held_)
                live(h.point, h.lived, sample_);
            std::stable_sort(held_.begin(), held_.end(), [&](const Held& a, const Held& b) {
                return mean_cost(a.lived) < mean_cost(b.lived);
            });
        }
        if (options_.progress)
            options_.progress(result_.days, result_.lists, mean_part(held_.front().lived, 0));
    }

    static double mean_part(const Lived& lived, std::size_t k) {
        double sum = 0.0;
        for (const auto& p : lived.parts)
            sum += k < p.size() ? static_cast<double>(p[k]) : 0.0;
        return sum / static_cast<double>(std::max<std::size_t>(1, lived.parts.size()));
    }

    ListSearchResult result() {
        const bool alike = held_.size() > static_cast<std::size_t>(options_.lists);
        if (alike) held_.resize(static_cast<std::size_t>(options_.lists));
        for (Held& one : unsearched_) {
            if (std::none_of(held_.begin(), held_.end(), [&](const Held& h) {
                    return h.point.base == one.point.base && h.point.order == one.point.order &&
                           h.point.step == one.point.step;
                }))
                held_.push_back(std::move(one));
        }
        for (const auto& h : held_) {
            WorkList list{.turns = turns(h.point), .words = bases_[h.point.base].words};
            const bool as_it_was = std::all_of(h.point.order.begin(), h.point.order.end(),
                                               [](double s) { return s == 0.0; }) &&
                                   std::all_of(h.point.step.begin(), h.point.step.end(),
                                               [](double s) { return s == 0.0; });
            if (!as_it_was) list.words += ", then searched";
            list.days = h.lived.cost.size();
            for (std::size_t k = 0; k < problem_.objective.size(); ++k)
                list.objective.push_back(mean_part(h.lived, k));
            result_.best.push_back(std::move(list));
        }
        return std::move(result_);
    }

    const DayRooms& days_;
    const core::Problem& problem_;
    const compile::RoomProblem& room_;
    const ListSearchOptions& options_;
    std::vector<DayRooms::Worker> workers_;
    search::Rng rng_;
    std::vector<int> order_of_;         // per operation of the run; -1: none
    std::vector<std::size_t> step_of_;  // per operation of the run
    std::size_t steps_ = 1;
    std::unique_ptr<engine::RemainingProblem> remaining_;
    std::unique_ptr<engine::CompiledProblem> compiled_;
    std::unique_ptr<engine::Decoder> paper_;  // with the planned lengths
    std::vector<Base> bases_;
    std::vector<Held> held_;        // best first
    std::vector<Held> unsearched_;  // the best as they came
    std::size_t sample_ = first_days;
    int in_vain_ = 0;  // moves since one was held
    ListSearchResult result_;
};

}  // namespace

double cost_of_day(const core::Problem& problem, const Replication& day) {
    const auto objective = objective_of(problem, day);
    double cost = 0.0, weight = 1.0;
    for (std::size_t k = 0; k < objective.size(); ++k, weight *= later_aim) {
        const bool count = problem.objective[k] == core::Criterion::LateOrders;
        cost += weight * static_cast<double>(objective[k]) / (count ? 1.0 : 3600.0);
    }
    return cost;
}

std::optional<ListSearchResult> search_lists(const model::Scenario& scenario,
                                             const compile::CompileOptions& compile_options,
                                             const compile::RoomProblem& room,
                                             const std::vector<core::Schedule>& plans,
                                             const ListSearchOptions& options) {
    ReplicateOptions how;
    how.seed = options.seed;
    how.spare_days = options.spare_days;
    how.policy = "edd";
    how.chance = options.chance;
    const auto days = DayRooms::make(scenario, compile_options, room, nullptr, how);
    if (!days) return std::nullopt;
    return ListSearch(*days, room, options).run(plans);
}

}  // namespace sched::study
