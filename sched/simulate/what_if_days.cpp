// How it works: every change has its own rooms of the days (day_rooms.hpp), in which the change is
// made once. First each way to work in it (the plan's turns as they are, the starts of the plan
// found with the change, the orders of work that the plan was chosen from) goes through some days
// that nothing is said of, and the cheapest is kept. Then the plan and all changes go through the
// same days, in blocks: where the time is over in the middle of a block, what all have simulated so
// far counts. Differences are paired, day by day.

#include "sched/simulate/what_if_days.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <numeric>
#include <optional>
#include <thread>

#include "sched/core/index.hpp"
#include "sched/core/objective.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/day_rooms.hpp"
#include "sched/simulate/list_search.hpp"

namespace sched::study {

namespace {

using search::WhatIf;

// All ways, then the better half on as many more, and so on (successive halving).
constexpr std::size_t choosing_days = 12;
constexpr std::size_t most_ways = 12;
constexpr std::uint64_t first_choosing_day = std::uint64_t{1} << 33;
constexpr std::size_t blocks[] = {fewest_judging_days, 60, 100, 200};
constexpr double surely = 0.95;

/// The rooms of the days with a change, or without, and how work goes in them.
class Judged {
public:
    /// @param how with which the days were made: they refer to it.
    Judged(const WhatIfDayOptions& options, std::unique_ptr<ReplicateOptions> how,
           std::unique_ptr<DayRooms> days)
        : options_(options),
          how_(std::move(how)),
          days_(std::move(days)),
          workers_(static_cast<std::size_t>(std::max(1, options.threads))) {}

    /// A way to work: a list of turns per operation of the run, empty: the policy of the rooms.
    void add_way(std::vector<double> turns, std::size_t most = most_ways) {
        if (ways_.size() >= most) return;
        if (turns.empty())
            ways_.emplace_back();
        else if (turns.size() == ix(days_->run_operations()))
            ways_.push_back({turns_of_room(days_->room(), turns), {}});
    }

    /// Keeps the cheapest way on days that are not counted. @returns false: stopped, or no way.
    bool choose(const core::Problem& problem) {
        while (ways_.size() > 1) {
            const std::size_t until = ways_.front().cost.size() + choosing_days;
            for (Way& way : ways_) {
                if (!try_out(problem, way, until)) return false;
            }
            std::stable_sort(ways_.begin(), ways_.end(),
                             [](const Way& x, const Way& y) { return x.sum() < y.sum(); });
            ways_.resize((ways_.size() + 1) / 2);
        }
        return !ways_.empty();
    }

    /// `other` does the days on which this way was chosen cheaper. @returns nullopt: stopped.
    std::optional<bool> dearer_than(Judged& other, const core::Problem& problem) {
        Way &mine = ways_.front(), &theirs = other.ways_.front();
        const std::size_t days = std::max(choosing_days, mine.cost.size());
        if (!try_out(problem, mine, days) || !other.try_out(problem, theirs, days))
            return std::nullopt;
        double sum = 0.0;
        for (std::size_t d = 0; d < days; ++d)
            sum += theirs.cost[d];
        return sum < mine.sum();
    }

    /// Days up to `until` by the way that is kept. @returns false if it was stopped.
    bool simulate_until(std::size_t until) {
        auto more = simulate(ways_.front().list, simulated.size(), until - simulated.size());
        if (!more) return false;
        simulated.insert(simulated.end(), more->begin(), more->end());
        return true;
    }

    std::vector<Replication> simulated;  // from day 0 on
    bool unused = false;                 // the change only costs: nobody uses it

private:
    struct Way {
        std::vector<double> list;  // empty: the policy
        std::vector<double> cost;  // of the days on which it is tried out
        double sum() const { return std::accumulate(cost.begin(), cost.end(), 0.0); }
    };

    bool try_out(const core::Problem& problem, Way& way, std::size_t until) {
        const std::size_t has = way.cost.size();
        if (has >= until) return true;
        const auto days = simulate(way.list, first_choosing_day + has, until - has);
        if (!days) return false;
        for (const Replication& day : *days)
            way.cost.push_back(cost_of_day(problem, day));
        return true;
    }

    std::optional<std::vector<Replication>> simulate(const std::vector<double>& list,
                                                     std::uint64_t first, std::size_t count) {
        std::vector<Replication> found(count);
        std::atomic<std::size_t> next{0};
        std::atomic<bool> stopped{false};
        const auto work = [&](DayRooms::Worker& worker) {
            for (std::size_t d = next++; d < count && !stopped; d = next++) {
                if (options_.stop && options_.stop()) stopped = true;
                if (stopped) return;
                found[d] = days_->simulate(engine::Draws(options_.seed, first + d), {.use = false},
                                           worker, list.empty() ? nullptr : &list);
            }
        };
        {
            std::vector<std::jthread> pool;
            for (std::size_t t = 1; t < workers_.size(); ++t)
                pool.emplace_back([&, t] { work(workers_[t]); });
            work(workers_[0]);
        }
        if (stopped) return std::nullopt;
        return found;
    }

    const WhatIfDayOptions& options_;
    std::unique_ptr<ReplicateOptions> how_;
    std::unique_ptr<DayRooms> days_;
    std::vector<DayRooms::Worker> workers_;
    std::vector<Way> ways_;
};

// Whoever was second goes just before the first, with what has to be done to its screen before.
std::vector<double> exchanged(const core::Problem& problem, const core::Schedule& plan,
                              const WhatIf& w, std::vector<double> turns) {
    const double before = turns[w.second.index()] - 1e-3;
    const core::JobId job = problem.operations[w.first.index()].job;
    for (std::size_t i = 0; i < turns.size() && i < plan.placements.size(); ++i) {
        const bool earlier = plan.placements[i].start <= plan.placements[w.first.index()].start;
        if (problem.operations[i].job == job && earlier) turns[i] = std::min(turns[i], before);
    }
    return turns;
}

class Judge {
public:
    Judge(const JudgedPlan& plan, const std::vector<OtherRoom>& others,
          const WhatIfDayOptions& options)
        : plan_(plan), others_(others), options_(options) {
        options_.stop = [this, stop = options.stop] {
            return (stop && stop()) || (options_.seconds && used() > *options_.seconds);
        };
    }

    void run(std::vector<WhatIf>& what_ifs) {
        auto base = opened(nullptr);
        if (!base) return;
        base->add_way({});
        const double before = used();
        if (!base->choose(plan_.room.problem) || !base->simulate_until(first_block())) return;
        ways_ = affordable_ways(used() - before, what_ifs.size());
        std::vector<std::optional<Judged>> with;
        for (const WhatIf& w : what_ifs) {
            with.push_back(stopped() ? std::nullopt : opened(&w));
            if (!with.back()) continue;
            add_ways(w, *with.back());
            if (!begin(w, *base, *with.back())) with.back().reset();
        }
        std::size_t days = first_block();
        for (const std::size_t until : blocks) {
            const std::size_t to = std::min(until, options_.most);
            if (to <= days) continue;
            bool all = base->simulate_until(to);
            for (auto& one : with)
                all = all && (!one || one->unused || one->simulate_until(to));
            if (!all) break;
            days = to;
        }
        const auto judged =
            std::count_if(with.begin(), with.end(), [](const auto& x) { return x.has_value(); });
        const double confidence =
            1.0 - (1.0 - surely) / static_cast<double>(std::max<std::ptrdiff_t>(1, judged));
        for (std::size_t k = 0; k < what_ifs.size(); ++k) {
            if (!with[k]) continue;
            auto& on_days = what_ifs[k].on_days;
            if (!with[k]->unused)
                on_days = compared(base->simulated, with[k]->simulated, days, confidence);
            // The few days of the choice may have misled: still nobody has to use it.
            if (!on_days ||
                (may_be_left(what_ifs[k]) && only_harm_shows(plan_.room.problem, *on_days)))
                on_days = compared(base->simulated, base->simulated, days, confidence);
        }
        std::stable_sort(what_ifs.begin(), what_ifs.end(), [](const WhatIf& a, const WhatIf& b) {
            if (a.on_days.has_value() != b.on_days.has_value()) return a.on_days.has_value();
            return a.on_days && a.on_days->cost < b.on_days->cost;
        });
    }

private:
    static bool may_be_left(const WhatIf& w) {
        return w.kind == WhatIf::Kind::OneMore || w.kind == WhatIf::Kind::Longer;
    }
    // Nobody has to use what is added: where that makes days dearer the plan stays as it is.
    bool begin(const WhatIf& w, Judged& base, Judged& with) const {
        const core::Problem& problem = plan_.room.problem;
        if (!with.choose(problem)) return false;
        if (may_be_left(w)) {
            const auto dearer = with.dearer_than(base, problem);
            if (!dearer) return false;
            with.unused = *dearer;
        }
        return with.unused || with.simulate_until(first_block());
    }

    bool stopped() const { return options_.stop(); }
    double used() const {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin_).count();
    }
    // Trying out takes about as many days as are counted, and each way about twice those of the
    // first round; where the time is short fewer are tried out, the plan's own turns first.
    std::size_t affordable_ways(double seconds_of_block, std::size_t changes) const {
        const std::size_t ways =
            std::clamp<std::size_t>(options_.most / choosing_days, 2, most_ways);
        if (!options_.seconds) return ways;
        const double a_day = seconds_of_block / static_cast<double>(first_block());
        const double days = (*options_.seconds - used()) / std::max(1e-9, a_day) /
                            static_cast<double>(std::max<std::size_t>(1, changes));
        const double left =
            (days - static_cast<double>(first_block())) / static_cast<double>(2 * choosing_days);
        return static_cast<std::size_t>(std::clamp(left, 1.0, static_cast<double>(ways)));
    }
    std::size_t first_block() const { return std::min(blocks[0], options_.most); }

    /// @param w the change; nullptr: none.
    std::optional<Judged> opened(const WhatIf* w) const {
        auto how = std::make_unique<ReplicateOptions>();
        how->policy = options_.policy;
        how->chance = options_.chance;
        const model::Scenario* scenario = &plan_.scenario;
        compile::RoomProblem room = plan_.room;
        const core::Schedule* schedule = &plan_.schedule;
        if (w == nullptr) {
            how->turns = turns_in_seconds(plan_.schedule, plan_.turns);
        } else {
            schedule = &w->schedule;
            if (w->kind == WhatIf::Kind::Other) {
                scenario = &others_[w->other].scenario;
                room.problem = others_[w->other].problem;
            }
            how->change = [w, hour = options_.hour](compile::RoomProblem& day) {
                day.problem = search::with_change(day.problem, *w, hour);
                while (day.resources.size() < day.problem.resources.size())
                    day.resources.push_back(day.resources[w->resource.index()]);
            };
        }
        auto days = DayRooms::make(*scenario, plan_.compiled, room, schedule, *how);
        if (!days) return std::nullopt;
        return Judged(options_, std::move(how), std::move(days));
    }

    void add_ways(const WhatIf& w, Judged& judged) const {
        // A rule, or another way to follow a plan, is asked for: nothing else is.
        const bool free = options_.policy == "follow";
        if (free) {
            auto turns = plan_.turns.empty() ? starts_in_seconds(plan_.schedule)
                                             : turns_in_seconds(plan_.schedule, plan_.turns);
            if (w.kind == WhatIf::Kind::Before)
                turns = exchanged(plan_.room.problem, plan_.schedule, w, std::move(turns));
            // Where people follow the plan, they follow the one with the change.
            if (plan_.turns.empty()) judged.add_way({}, ways_);
            judged.add_way(turns, ways_);
            judged.add_way(starts_in_seconds(w.schedule), ways_);
            for (const auto& list : plan_.compared)
                judged.add_way(list, ways_);
        } else {
            judged.add_way({});
        }
    }

    WhatIf::OnDays compared(const std::vector<Replication>& without,
                            const std::vector<Replication>& with, std::size_t days,
                            double confidence) const {
        const core::Problem& p = plan_.room.problem;
        WhatIf::OnDays out{.days = days};
        std::vector<double> a, b;
        bool shows = false;
        // Mean of value(with) - value(without), and whether that is more than chance.
        const auto difference = [&](auto value) {
            a.clear();
            b.clear();
            for (std::size_t d = 0; d < days; ++d) {
                a.push_back(static_cast<double>(value(with[d])));
                b.push_back(static_cast<double>(value(without[d])));
            }
            const Difference found = paired_difference(a, b, confidence);
            shows = found.interval.low > 0.0 || found.interval.high < 0.0;
            return found.difference;
        };
        out.cost = difference([&](const Replication& day) { return cost_of_day(p, day); });
        out.shows = shows;
        const auto late = [&](const Replication& day, std::size_t o) {
            const auto& due = p.orders[o].due;
            return due && (!day.complete || day.ready[o] > (*due - p.horizon_start).count());
        };
        out.fewer_late = -difference([&](const Replication& day) {
            int count = 0;
            for (std::size_t o = 0; o < p.orders.size(); ++o)
                count += late(day, o) ? 1 : 0;
            return count;
        });
        out.fewer_show = shows;
        for (std::size_t k = 0; k < p.objective.size(); ++k) {
            out.saved.push_back(
                -difference([&](const Replication& day) { return objective_of_day(p, day)[k]; }));
            out.saved_shows.push_back(shows ? 1 : 0);
        }
        for (std::size_t o = 0; o < p.orders.size(); ++o) {
            difference([&](const Replication& day) { return late(day, o) ? 1 : 0; });
            if (!shows) continue;
            const auto share = [&](const std::vector<double>& x) {
                return std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(days);
            };
            out.orders.push_back({core::OrderId{o}, share(b), share(a)});
        }
        std::stable_sort(out.orders.begin(), out.orders.end(), [](const auto& x, const auto& y) {
            return x.late_with - x.late_without < y.late_with - y.late_without;
        });
        return out;
    }

    const JudgedPlan& plan_;
    const std::vector<OtherRoom>& others_;
    WhatIfDayOptions options_;
    std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
    std::size_t ways_ = most_ways;  // that the time allows to try out, of each change
};

}  // namespace

bool only_harm_shows(const core::Problem& problem, const WhatIf::OnDays& days) {
    if (days.shows && days.cost < 0.0) return false;
    bool harm = days.shows || (days.fewer_show && days.fewer_late < 0.0);
    for (const auto& order : days.orders)
        harm = harm || order.late_with > order.late_without;
    for (std::size_t k = 0; k < days.saved.size(); ++k) {
        const bool sold = core::row_of(problem.objective[k]).sold;
        harm = harm || (sold && days.saved_shows[k] && days.saved[k] < 0.0);
    }
    return harm;
}

void judge_on_days(const JudgedPlan& plan, const std::vector<OtherRoom>& others,
                   const WhatIfDayOptions& options, std::vector<WhatIf>& what_ifs) {
    if (options.most < fewest_judging_days || what_ifs.empty()) return;
    Judge(plan, others, options).run(what_ifs);
}

}  // namespace sched::study
