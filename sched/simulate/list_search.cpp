// How it works: a list is few numbers: a base (the turns of a dispatching rule, the starts of a
// good plan, the mean of several), a shift of each order, a shift of each kind of step. All bases
// are simulated on a few days; from the cheapest, the mean of all and the mean of the better half
// an evolution strategy each (search/base/evolution.hpp) moves all shifts together. One by one
// those that cost more are given up. The lists of one generation, of all strategies, are simulated
// on the same few days (common random numbers), each generation on days of its own: what only suits
// some days does not last.

#include "sched/simulate/list_search.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numeric>
#include <span>
#include <thread>

#include "sched/core/index.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/base/evolution.hpp"
#include "sched/simulate/day_rooms.hpp"

namespace sched::study {

namespace {

// Days on which the bases are compared: one of so many of the search, within bounds.
constexpr double days_for_a_look = 250.0;
constexpr std::size_t fewest_looked_at = 6, most_looked_at = 400;
constexpr double later_aim = 0.1;   // what the next aim weighs in one number
constexpr double late_order = 1.0;  // as a later aim: as much as an hour of the first
// Other days than those whose chances are said of the plan.
constexpr std::uint64_t searched_days = std::uint64_t{1} << 34;
constexpr double first_step = 1800.0;   // standard deviation of the first shifts, s
constexpr double most_for_rules = 0.2;  // of the time: what the rules lead to with planned lengths
// Days of a generation: generations and their days grow alike with the days of the whole search.
constexpr double days_and_lists = 1.8;  // days x lists of a generation, over the root of all days
constexpr std::size_t fewest_days = 2, most_days = 24;
// One strategy is given up after each of these shares of the search.
constexpr double given_up[] = {0.25, 0.45};
constexpr double memory = 0.7;  // of what a strategy's generations cost

/// A point of the search.
struct Point {
    std::size_t base = 0;
    std::vector<double> order;  // shift per order, s
    std::vector<double> step;   // shift per kind of step, s
};

/// What a list did on the days so far.
struct SimulatedDays {
    std::vector<double> cost;               // per day, all aims in one number
    std::vector<std::vector<float>> parts;  // per day, per criterion
};

class ListSearch {
public:
    ListSearch(const DayRooms& days, const compile::RoomProblem& room,
               const ListSearchOptions& options)
        : days_(days),
          problem_(room.problem),
          room_(room),
          options_(options),
          workers_(static_cast<std::size_t>(std::max(1, options.threads))) {
        for (std::size_t i = 0; i < static_cast<std::size_t>(days.run_operations()); ++i) {
            const core::JobId job = problem_.operations[i].job;
            order_of_.push_back(job.valid() ? problem_.jobs[job.index()].order.value : -1);
            // Only kinds of steps that the run has: a direction without effect slows the search.
            const auto step = room.operations[i].step;
            const auto known = std::find(kinds_.begin(), kinds_.end(), step);
            step_of_.push_back(static_cast<std::size_t>(known - kinds_.begin()));
            if (known == kinds_.end()) kinds_.push_back(step);
        }
    }

    ListSearchResult run(const std::vector<core::Schedule>& plans) {
        add_bases(plans);
        start();
        if (!held_.empty()) evolve();
        return result();
    }

private:
    struct Base {
        std::vector<double> turn;  // per operation of the run
        std::string words;
    };
    struct Held {
        Point point;
        SimulatedDays simulated;
    };

    bool stopped() const { return options_.stop && options_.stop(); }
    bool over() const { return result_.days >= options_.days || stopped(); }

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
        for (const auto& rule : engine::rules()) {
            // In a large room each takes long, and one that comes to no end longer.
            if (!bases_.empty() && options_.spent && options_.spent() > most_for_rules) break;
            add(engine::rule_sequence(compiled, views, rule), rule.words);
        }
        Base base{.turn = {}, .words = "between due date and latest start"};
        for (std::size_t i = 0; i < order_of_.size(); ++i)
            base.turn.push_back(views[i].due - 0.5 * views[i].remaining);
        bases_.push_back(std::move(base));
        if (!options_.posted.empty())
            bases_.push_back({options_.posted, "the order of work that is posted"});
        if (!plans.empty()) plan_ = bases_.size();
        for (std::size_t k = 0; k < plans.size(); ++k)
            bases_.push_back({starts_of(plans[k]), k == 0 ? "the plan that is best on paper"
                                                          : "a plan with everything longer"});
    }

    // What all of some bases put early goes early.
    Base mean_of(const std::vector<Held>& some, std::size_t count, std::string words) const {
        Base mean{.turn = std::vector<double>(order_of_.size(), 0.0), .words = std::move(words)};
        for (std::size_t k = 0; k < count; ++k) {
            const Base& base = bases_[some[k].point.base];
            for (std::size_t i = 0; i < mean.turn.size(); ++i)
                mean.turn[i] += base.turn[i] / static_cast<double>(count);
        }
        return mean;
    }

    /// What a list gives with the planned lengths; empty: no end.
    std::vector<double> planned_starts(const std::vector<double>& turn) {
        if (!paper_) {
            remaining_ = std::make_unique<engine::RemainingProblem>(problem_);
            compiled_ = std::make_unique<engine::CompiledProblem>(remaining_->problem());
            paper_ = std::make_unique<engine::Decoder>(*compiled_);
        }
        if (!decode_list(*paper_, *compiled_, sequence_of(turn))) return {};
        return starts_of(remaining_->whole(paper_->to_schedule()));
    }

    std::vector<double> starts_of(const core::Schedule& plan) const {
        std::vector<double> turn = starts_in_seconds(plan);
        turn.resize(order_of_.size());  // of the run
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
        put_first(options_.first, turn);
        return turn;
    }

    /// Days [from, until) of several lists, by list and day; the threads share them out. If it is
    /// stopped, which is not asked `to_the_end`, of the first lists only, as many as are complete.
    std::vector<std::vector<Replication>> days_of(const std::vector<Point>& lists, std::size_t from,
                                                  std::size_t until, bool to_the_end) {
        std::vector<std::vector<double>> turns_of;
        for (const Point& x : lists)
            turns_of.push_back(turns_of_room(days_.room(), turns(x)));
        const std::size_t days = until - from, all = lists.size() * days;
        std::vector<std::vector<Replication>> found(lists.size(), std::vector<Replication>(days));
        std::atomic<std::size_t> next{0}, missing{all};  // the first day that was not simulated
        const auto work = [&](DayRooms::Worker& worker) {
            for (std::size_t k = next++; k < all; k = next++) {
                if (!to_the_end && stopped()) {
                    for (std::size_t first = missing; k < first;)
                        if (missing.compare_exchange_weak(first, k)) break;
                    return;
                }
                const std::size_t day = from + k % days;
                found[k / days][k % days] =
                    days_.simulate(engine::Draws(options_.seed, searched_days + day),
                                   {.use = false}, worker, &turns_of[k / days]);
            }
        };
        {
            std::vector<std::jthread> pool;
            for (std::size_t t = 1; t < std::min(workers_.size(), all); ++t)
                pool.emplace_back([&, t] { work(workers_[t]); });
            work(workers_[0]);
        }
        found.resize(missing / days);
        result_.days += static_cast<std::int64_t>(found.size() * days);
        return found;
    }

    /// Lists that have simulated the same days go on up to day `until`; of a budget in days as many
    /// of them, from the first on, as it has days for.
    void simulate(std::span<Held> some, std::size_t until, bool to_the_end = false) {
        if (some.empty() || some.front().simulated.cost.size() >= until) return;
        const std::size_t from = some.front().simulated.cost.size();
        if (!to_the_end) some = some.first(std::min(some.size(), lists_left(until - from)));
        std::vector<Point> points;
        for (const Held& one : some)
            points.push_back(one.point);
        const auto found = days_of(points, from, until, to_the_end);
        for (std::size_t k = 0; k < found.size(); ++k) {
            for (const Replication& day : found[k])
                add_day(day, some[k].simulated);
        }
    }

    /// How many lists the budget in days still has for so many days each; the last may exceed it.
    std::size_t lists_left(std::size_t days_each) const {
        const std::int64_t left = std::max<std::int64_t>(0, options_.days - result_.days);
        const auto each = static_cast<std::int64_t>(days_each);
        return static_cast<std::size_t>((left + each - 1) / each);
    }

    void add_day(const Replication& day, SimulatedDays& simulated) {
        simulated.cost.push_back(cost_of_day(problem_, day));
        const auto objective = objective_of_day(problem_, day);
        simulated.parts.emplace_back(objective.begin(), objective.end());
    }

    double mean_cost(const SimulatedDays& simulated) const {
        return std::accumulate(simulated.cost.begin(), simulated.cost.end(), 0.0) /
               static_cast<double>(std::max<std::size_t>(1, simulated.cost.size()));
    }

    /// A base as it is.
    Held held_of(std::size_t base) {
        ++result_.lists;
        return {.point = {.base = base,
                          .order = std::vector<double>(problem_.orders.size(), 0.0),
                          .step = std::vector<double>(kinds_.size(), 0.0)},
                .simulated = {}};
    }

    // Every base on few days, the better half of them on more, then their means.
    void start() {
        std::vector<Held> all;
        for (std::size_t b = 0; b < bases_.size(); ++b)
            all.push_back(held_of(b));
        const std::span<Held> first(all.data(), std::min<std::size_t>(1, all.size()));
        simulate(first, fewest_looked_at / 3, true);
        // The first one tells what a day costs, and so how many there will be.
        looked_at_ =
            std::clamp(static_cast<std::size_t>(std::min(1e6, all_days() / days_for_a_look)),
                       fewest_looked_at, most_looked_at);
        simulate(first, looked_at_ / 3, true);
        if (!over()) simulate(std::span(all).subspan(first.size()), looked_at_ / 3);
        std::erase_if(all, [](const Held& held) { return held.simulated.cost.empty(); });
        by_cost(all, 0);
        const std::size_t half = (all.size() + 1) / 2;
        simulate(std::span(all).first(half), looked_at_);
        for (Held& held : all)  // what the search led to is compared with it
            if (held.point.base == plan_ && !over()) simulate({&held, 1}, looked_at_, true);
        by_cost(all, half);
        if (const std::size_t n = all.size(); n > 2 && !over()) {
            bases_.push_back(mean_of(all, n, "the mean of all rules and plans"));
            bases_.push_back(mean_of(all, n / 2, "the mean of the better rules and plans"));
            begin_ = {bases_.size() - 2, bases_.size() - 1, all.front().point.base};
            std::vector<Held> both{held_of(begin_[0]), held_of(begin_[1])};
            simulate(both, looked_at_);
            std::erase_if(both, [](const Held& held) { return held.simulated.cost.empty(); });
            all.insert(all.begin(), both.begin(), both.end());
            by_cost(all, half + both.size());
        } else if (n > 0) {
            begin_ = {all.front().point.base};
        }
        for (const Held& held : all)
            if (held.point.base == plan_) plan_simulated_ = held.simulated;
        held_ = std::move(all);
    }

    /// @param first so many of them; 0: all.
    void by_cost(std::vector<Held>& all, std::size_t first) const {
        const auto end = first == 0 ? all.end() : all.begin() + static_cast<std::ptrdiff_t>(first);
        std::stable_sort(all.begin(), end, [&](const Held& a, const Held& b) {
            return mean_cost(a.simulated) < mean_cost(b.simulated);
        });
    }

    /// Share of the search that is over.
    double gone() const {
        return options_.spent ? options_.spent()
                              : static_cast<double>(result_.days) /
                                    static_cast<double>(std::max<std::int64_t>(1, options_.days));
    }

    /// Days that the whole search will have simulated, as far as is known.
    double all_days() const {
        const double share = gone();
        return std::min(1e9, share > 0.0 ? static_cast<double>(result_.days) / share
                                         : static_cast<double>(options_.days));
    }

    /// Days of one generation of so many lists: more where the whole search has more.
    std::size_t block(std::size_t lists) const {
        const double days = days_and_lists * std::sqrt(all_days()) / static_cast<double>(lists);
        return std::clamp(static_cast<std::size_t>(days), fewest_days, most_days);
    }

    Point shifted(const Point& from, const std::vector<double>& by) const {
        Point x = from;
        for (std::size_t i = 0; i < by.size(); ++i)
            (i < x.order.size() ? x.order[i] : x.step[i - x.order.size()]) += by[i];
        return x;
    }

    /// An evolution from one base.
    struct Strategy {
        Point from;
        search::Evolution evolution;
        double cost = 0.0;  // of its lists so far, a day; later generations count more
    };

    // What the last strategy leads to is held first.
    void evolve() {
        std::vector<Strategy> all;
        for (std::size_t k = 0; k < begin_.size(); ++k) {
            Point from = held_.front().point;
            from.base = begin_[k];
            all.push_back({from, search::Evolution(from.order.size() + from.step.size(), first_step,
                                                   search::Rng(options_.seed + k))});
        }
        std::size_t fresh = looked_at_;  // the first day that nobody has seen
        bool learnt = false;
        while (!over()) {
            const std::size_t until = fresh + block(all.front().evolution.population());
            double first_aim = 0.0;
            std::size_t days = 0;
            if (!std::all_of(all.begin(), all.end(), [&](Strategy& one) {
                    return next_generation(one, fresh, until, first_aim, days);
                }))
                break;
            learnt = true;
            fresh = until;
            if (options_.progress)
                options_.progress(result_.days, result_.lists,
                                  first_aim / static_cast<double>(days));
            while (all.size() > 1 && gone() >= given_up[std::size(given_up) + 1 - all.size()]) {
                all.erase(std::max_element(
                    all.begin(), all.end(),
                    [](const Strategy& a, const Strategy& b) { return a.cost < b.cost; }));
            }
        }
        if (!learnt) return;
        const auto best =
            std::min_element(all.begin(), all.end(),
                             [](const Strategy& a, const Strategy& b) { return a.cost < b.cost; });
        Held one{.point = shifted(best->from, best->evolution.mean()), .simulated = {}};
        simulate({&one, 1}, looked_at_, true);
        held_.insert(held_.begin(), std::move(one));
    }

    /// One generation on days [fresh, until). @returns false: it has no end within the search.
    bool next_generation(Strategy& one, std::size_t fresh, std::size_t until, double& first_aim,
                         std::size_t& days) {
        std::vector<Point> lists;
        for (const auto& by : one.evolution.ask())
            lists.push_back(shifted(one.from, by));
        if (lists_left(until - fresh) < lists.size()) return false;
        const auto simulated = days_of(lists, fresh, until, false);
        if (simulated.size() < lists.size()) return false;
        result_.lists += static_cast<std::int64_t>(lists.size());
        std::vector<double> cost;
        for (const auto& list : simulated) {
            cost.push_back(0.0);
            for (const Replication& day : list) {
                cost.back() += cost_of_day(problem_, day);
                const auto objective = objective_of_day(problem_, day);
                if (!objective.empty()) first_aim += static_cast<double>(objective.front());
                ++days;
            }
        }
        one.evolution.tell(cost);
        const double mean = std::accumulate(cost.begin(), cost.end(), 0.0) /
                            static_cast<double>(cost.size() * (until - fresh));
        one.cost = one.cost == 0.0 ? mean : memory * one.cost + (1.0 - memory) * mean;
        return true;
    }

    static double mean_part(const SimulatedDays& simulated, std::size_t k) {
        double sum = 0.0;
        for (const auto& p : simulated.parts)
            sum += k < p.size() ? static_cast<double>(p[k]) : 0.0;
        return sum / static_cast<double>(std::max<std::size_t>(1, simulated.parts.size()));
    }

    ListSearchResult result() {
        if (!held_.empty()) {
            const auto &first = held_.front().simulated.cost, &plan = plan_simulated_.cost;
            const std::size_t shared = std::min(first.size(), plan.size());
            double saved = 0.0;
            for (std::size_t d = 0; d < shared; ++d)
                saved += (plan[d] - first[d]) / static_cast<double>(shared);
            if (shared > 0) result_.saved = saved;
        }
        if (held_.size() > static_cast<std::size_t>(options_.lists))
            held_.resize(static_cast<std::size_t>(options_.lists));
        for (const auto& h : held_) {
            WorkList list{.turns = turns(h.point), .words = bases_[h.point.base].words};
            const bool as_it_was = std::all_of(h.point.order.begin(), h.point.order.end(),
                                               [](double s) { return s == 0.0; }) &&
                                   std::all_of(h.point.step.begin(), h.point.step.end(),
                                               [](double s) { return s == 0.0; });
            if (!as_it_was) list.words += ", then searched";
            list.days = h.simulated.cost.size();
            list.cost = mean_cost(h.simulated);
            for (std::size_t k = 0; k < problem_.objective.size(); ++k)
                list.objective.push_back(mean_part(h.simulated, k));
            result_.best.push_back(std::move(list));
        }
        return std::move(result_);
    }

    const DayRooms& days_;
    const core::Problem& problem_;
    const compile::RoomProblem& room_;
    const ListSearchOptions& options_;
    std::vector<DayRooms::Worker> workers_;
    std::vector<int> order_of_;         // per operation of the run; -1: none
    std::vector<std::size_t> step_of_;  // per operation of the run: its kind
    std::vector<model::Step> kinds_;    // of steps, as they come up in the run
    std::unique_ptr<engine::RemainingProblem> remaining_;
    std::unique_ptr<engine::CompiledProblem> compiled_;
    std::unique_ptr<engine::Decoder> paper_;  // with the planned lengths
    std::vector<Base> bases_;
    std::vector<Held> held_;           // what the search led to, then the best bases
    std::optional<std::size_t> plan_;  // the base that is the first of the plans
    SimulatedDays plan_simulated_;     // by it
    std::vector<std::size_t> begin_;   // bases from which the strategies begin
    std::size_t looked_at_ = fewest_looked_at;
    ListSearchResult result_;
};

}  // namespace

void put_first(const std::vector<std::size_t>& first, std::vector<double>& turns) {
    if (first.empty()) return;
    const double lowest = *std::min_element(turns.begin(), turns.end());
    for (std::size_t k = 0; k < first.size(); ++k)
        turns[first[k]] = lowest - static_cast<double>(first.size() - k);
}

std::vector<double> starts_in_seconds(const core::Schedule& plan) {
    std::vector<double> turns;
    for (const core::Placement& p : plan.placements)
        turns.push_back(static_cast<double>(p.start.time_since_epoch().count()));
    return turns;
}

std::vector<std::int64_t> objective_of_day(const core::Problem& problem, const Replication& day) {
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

double cost_of_day(const core::Problem& problem, const Replication& day) {
    const auto objective = objective_of_day(problem, day);
    double cost = 0.0, weight = 1.0;
    for (std::size_t k = 0; k < objective.size(); ++k, weight *= later_aim) {
        const bool count = problem.objective[k] == core::Criterion::LateOrders;
        cost += (count && k > 0 ? late_order : weight) * static_cast<double>(objective[k]) /
                (count ? 1.0 : 3600.0);
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
