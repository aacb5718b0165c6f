// Three parts of the budget. First the room search plans the same run with longer times and earlier
// due dates: room for what may happen, at the price of one decoding a schedule instead of many
// days. Then lists of work are searched from there and from the dispatching rules. Last the best
// lists and the plan on paper go through the same fresh days, and the cheapest is taken. What is
// posted already goes through them too, and stays unless another costs clearly less, and by some
// per cent: people have it before them.

#include "sched/simulate/chance_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numeric>
#include <string_view>

#include "sched/advise/replan.hpp"
#include "sched/core/index.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/list_search.hpp"

namespace sched::study {

namespace {

using Wall = std::chrono::steady_clock;

struct Padding {
    double longer = 1.0;  // all work takes so many times what is planned
    int minutes = 0;      // orders are due so much earlier
};
constexpr Padding paddings[] = {{1.3, 60}, {1.15, 30}, {1.3, 0}, {1.5, 60}};
constexpr double padded_share = 0.1;     // of the budget, all paddings together
constexpr double deciding_share = 0.12;  // of a budget of time
constexpr double most_after = 0.25;      // of it, for the days afterwards
constexpr std::size_t first_deciding_days = 25;
constexpr std::size_t fewest_deciding_days = 8;  // where the time is short
constexpr std::size_t searched_per_day = 5;      // of a budget in schedules: one day of each
constexpr double worth_moving = 0.05;            // less than the posted order costs, at least
constexpr double least_worth_moving = 0.1;       // the same in hours, or orders, of the first aim
constexpr std::size_t more_days = 8;             // times as many where a budget of time allows

core::Problem padded(const core::Problem& problem, const Padding& by) {
    core::Problem p = problem;
    for (auto& order : p.orders) {
        if (order.due) *order.due -= model::minutes(by.minutes);
    }
    for (auto& operation : p.operations) {
        for (auto& mode : operation.modes) {
            mode.work = core::Seconds{static_cast<std::int64_t>(
                by.longer * static_cast<double>(mode.work.count()) + 0.5)};
        }
    }
    return p;
}

// By more than the days may differ by chance: twice the standard error of the differences.
bool dearer(const std::vector<double>& cost, const std::vector<double>& than) {
    double sum = 0.0, squares = 0.0;
    const auto n = static_cast<double>(cost.size());
    for (std::size_t d = 0; d < cost.size(); ++d) {
        const double x = cost[d] - than[d];
        sum += x;
        squares += x * x;
    }
    const double mean = sum / n;
    return mean > 2.0 * std::sqrt(std::max(0.0, squares / n - mean * mean) / n);
}

class Planner {
public:
    Planner(const model::Scenario& scenario, const compile::CompileOptions& compiled,
            const compile::RoomProblem& room, const core::Problem& problem,
            const core::Schedule& paper, const ChancePlanOptions& options)
        : scenario_(scenario),
          compiled_(compiled),
          room_(room),
          problem_(problem),
          options_(options),
          paper_(paper),
          held_(search::holding(problem, search::earlier_plan(paper), options.held)),
          begin_(Wall::now()) {
        plan_.schedule = paper;
        for (const core::OperationId id : options.held)
            first_.push_back(id.index());
        if (options.posted && options.posted->schedule) plan_.schedule = *options.posted->schedule;
        if (!options.posted || options.posted->turns.empty()) return;
        auto posted = posted_entry();
        if (posted) plan_ = std::move(posted->plan);
    }

    ChancePlan run() {
        std::vector<core::Schedule> starts = padded_plans();
        starts.insert(starts.begin(), paper_);
        if (over(1.0 - deciding_share)) return std::move(plan_);
        ListSearchOptions how;
        how.seed = options_.how.seed;
        how.threads = options_.how.threads;
        how.chance = options_.chance;
        how.first = first_;
        if (options_.posted) how.posted = options_.posted->turns;
        how.days = left_of_evaluations();
        how.stop = [&] { return over(1.0 - deciding_share); };
        const double begun = seconds();
        if (options_.how.budget.seconds) {
            how.spent = [this, begun] {
                const double has = (1.0 - deciding_share) * seconds_in_all() - begun;
                return (seconds() - begun) / std::max(1e-9, has);
            };
        }
        const auto pace = [&](std::int64_t days) {
            days_a_second_ = static_cast<double>(days) / std::max(1e-9, seconds() - begun);
        };
        how.progress = [&](std::int64_t days, std::int64_t lists, double value) {
            pace(days);
            if (options_.progress)
                options_.progress(fmt::format("{} orders of work on simulated days, now about {}",
                                              lists, aim_words(value)));
        };
        const auto found = search_lists(scenario_, compiled_, room_, starts, how);
        if (!found) return std::move(plan_);
        pace(found->days);
        plan_.evaluations += found->days;
        if (options_.how.stop && options_.how.stop())
            options_.posted ? stay_as_posted() : take_what_is_known(*found, "Interrupted: the");
        else if (!options_.posted && !affords(2 * fewest_deciding_days))
            take_what_is_known(*found, "There was no time for more: the");
        else
            decide(found->best);
        return std::move(plan_);
    }

private:
    std::string aim_words(double value) const {
        return problem_.objective.front() == core::Criterion::LateOrders
                   ? fmt::format("{:.1f} late orders", value)
                   : model::format_duration(model::round_up(value));
    }

    double seconds() const { return std::chrono::duration<double>(Wall::now() - begin_).count(); }
    /// Of a budget of time: without the days afterwards, as soon as it is known what one costs.
    double seconds_in_all() const {
        const double budget = *options_.how.budget.seconds;
        if (days_a_second_ <= 0.0) return budget;
        return budget - std::min(most_after * budget,
                                 static_cast<double>(options_.days_after) / days_a_second_);
    }
    bool over(double share) const {
        return (options_.how.stop && options_.how.stop()) ||
               (options_.how.budget.seconds && seconds() >= share * seconds_in_all());
    }
    std::int64_t left_of_evaluations() const {
        constexpr std::int64_t many = std::int64_t{1} << 40;
        const auto& budget = options_.how.budget;
        return budget.evaluations
                   ? std::max<std::int64_t>(1, *budget.evaluations - plan_.evaluations)
                   : many;
    }

    std::vector<core::Schedule> padded_plans() {
        std::vector<core::Schedule> plans;
        constexpr double each = padded_share / static_cast<double>(std::size(paddings));
        double until = 0.0;
        for (const Padding& padding : paddings) {
            until += each;
            if (over(until)) continue;
            search::SearchOptions how = options_.how;
            how.progress = nullptr;
            if (how.budget.evaluations) {
                how.budget.evaluations = std::max<std::int64_t>(
                    1,
                    static_cast<std::int64_t>(each * static_cast<double>(*how.budget.evaluations)));
            }
            if (how.budget.seconds)
                how.budget.seconds = std::max(0.01, until * *how.budget.seconds - seconds());
            if (options_.progress)
                options_.progress(fmt::format("a plan with everything {:.0f} % longer",
                                              100.0 * (padding.longer - 1.0)));
            const auto found =
                search::search_room(padded(problem_, padding), how, {.bounds = false});
            plan_.evaluations += found.evaluations;
            if (found.schedule) plans.push_back(*found.schedule);
        }
        return plans;
    }

    struct Entry {
        ChancePlan plan;
        double cost = 0.0;
        std::vector<double> by_day;
        std::string words;
    };

    // Where the order that people have leads to no plan that holds what is to be held, it is
    // better kept than that.
    std::optional<Entry> posted_entry() const {
        WorkList list{.turns = options_.posted->turns};
        put_first(first_, list.turns);
        if (auto entry = entry_of(list, held_, options_.posted->schedule)) return entry;
        return entry_of(list, problem_);
    }

    // Turns count as numbers from here on, so that the plan document says all of it.
    // @param schedule that the list leads to, if it is known.
    static std::optional<Entry> entry_of(const WorkList& list, const core::Problem& problem,
                                         std::optional<core::Schedule> schedule = std::nullopt) {
        if (!schedule) schedule = schedule_of_list(problem, list.turns);
        if (!schedule) return std::nullopt;
        Entry entry{.plan = {.schedule = *std::move(schedule)}, .words = list.words};
        std::vector<std::int32_t> by(list.turns.size());
        std::iota(by.begin(), by.end(), 0);
        std::stable_sort(by.begin(), by.end(), [&](std::int32_t a, std::int32_t b) {
            return list.turns[ix(a)] < list.turns[ix(b)];
        });
        entry.plan.turns.resize(by.size());
        for (std::size_t k = 0; k < by.size(); ++k)
            entry.plan.turns[ix(by[k])] = static_cast<std::int32_t>(k) + 1;
        return entry;
    }

    /// Fresh days [entry.by_day.size(), until). @returns false if they could not all be simulated.
    bool simulate(Entry& entry, std::size_t until) {
        ReplicateOptions fresh;
        fresh.replications = until - entry.by_day.size();
        fresh.seed = options_.how.seed;
        // Beyond the days of the search.
        fresh.first = (std::uint64_t{1} << 32) + entry.by_day.size();
        fresh.threads = options_.how.threads;
        fresh.chance = options_.chance;
        fresh.stop = options_.how.stop;
        fresh.turns = turns_in_seconds(entry.plan.schedule, entry.plan.turns);
        const auto simulated = replicate(scenario_, compiled_, room_, &entry.plan.schedule, fresh);
        if (!simulated || simulated->all.size() < fresh.replications) return false;
        plan_.evaluations += static_cast<std::int64_t>(fresh.replications);
        for (const auto& day : simulated->all)
            entry.by_day.push_back(cost_of_day(problem_, day));
        entry.cost = std::accumulate(entry.by_day.begin(), entry.by_day.end(), 0.0) /
                     static_cast<double>(entry.by_day.size());
        return true;
    }

    // What is late once in a while shows on many days only: as many as the time allows.
    std::size_t most_deciding_days() const {
        const auto& budget = options_.how.budget;
        if (budget.seconds) return options_.deciding * more_days;
        if (!budget.evaluations) return options_.deciding;
        return std::min(options_.deciding,
                        std::max(first_deciding_days,
                                 static_cast<std::size_t>(*budget.evaluations) / searched_per_day));
    }

    bool affords(std::size_t days) const {
        const auto& budget = options_.how.budget;
        return !over(1.0) &&
               (!budget.seconds ||
                static_cast<double>(days) <= days_a_second_ * (seconds_in_all() - seconds()));
    }

    /// Where the time is short, fewer days; if that is not enough fewer lists, the dearest first.
    /// The plan on paper, or the posted one, and one list stay, on the fewest days, whatever they
    /// cost.
    std::size_t first_block(std::vector<Entry>& entries, std::size_t last) const {
        std::size_t days = std::min(first_deciding_days, last);
        while (days > fewest_deciding_days && !affords(entries.size() * days))
            --days;
        while (entries.size() > 2 && !affords(entries.size() * days))
            entries.pop_back();
        return days;
    }

    // All on the same days, in blocks; who clearly costs more than the cheapest goes through no
    // further ones (but the plan on paper: what is said is in comparison with it), and where the
    // time is over the days so far decide.
    void decide(const std::vector<WorkList>& lists) {
        std::vector<Entry> entries;
        if (options_.posted)
            entries.push_back({.plan = {.schedule = plan_.schedule, .turns = plan_.turns},
                               .words = posted_words()});
        if (entries.empty() || !plan_.turns.empty() || options_.posted->schedule)
            entries.push_back({.plan = {.schedule = paper_}, .words = paper_words()});
        plan_.compared.push_back(starts_in_seconds(paper_));
        for (const WorkList& list : lists) {
            plan_.compared.push_back(list.turns);
            if (auto entry = entry_of(list, held_)) entries.push_back(*std::move(entry));
        }
        const std::size_t last = most_deciding_days();
        for (std::size_t until = first_block(entries, last);; until = std::min(2 * until, last)) {
            std::vector<std::vector<double>> days;
            for (Entry& entry : entries) {
                if (!simulate(entry, until)) return;
                days.push_back(entry.by_day);
            }
            const Race race = race_of(days);
            std::vector<Entry> left;
            for (const std::size_t k : race.simulate_on)
                left.push_back(std::move(entries[k]));
            entries = std::move(left);
            if (race.decided || until == last || !affords(entries.size() * until)) break;
        }
        const auto best =
            std::min_element(entries.begin(), entries.end(),
                             [](const Entry& x, const Entry& y) { return x.cost < y.cost; });
        if (options_.posted && (best->cost > (1.0 - worth_moving) * entries.front().cost ||
                                best->cost > entries.front().cost - least_worth_moving ||
                                !dearer(entries.front().by_day, best->by_day)))
            return stay_as_posted();
        if (best->words == paper_words() && !options_.posted) {
            plan_.words = "No other order of work costs less on simulated days.";
            return;
        }
        const double with = best->cost, without = entries.front().cost;
        plan_.schedule = std::move(best->plan.schedule);
        plan_.turns = std::move(best->plan.turns);
        const double less = 100.0 * (1.0 - with / std::max(1e-9, without));
        if (options_.posted) {
            plan_.words = fmt::format(
                "The order of work changes: another than the posted one has {:.0f} % less lateness "
                "on simulated days.",
                less);
            return;
        }
        plan_.words = fmt::format(
            "The order of work was chosen on simulated days (from: {}): {} with the plan that is "
            "best on paper.",
            best->words,
            less < 0.5 ? std::string("about the same lateness as")
                       : fmt::format("{:.0f} % less lateness than", less));
    }

    void stay_as_posted() {
        plan_.words =
            "The order of work stays as posted: no other has clearly less lateness on simulated "
            "days.";
    }

    // The days of the search decide, those that the list and the plan on paper share.
    void take_what_is_known(const ListSearchResult& found, std::string_view why) {
        if (!found.saved || *found.saved <= 0.0) return;
        auto entry = entry_of(found.best.front(), held_);
        if (!entry) return;
        plan_.schedule = std::move(entry->plan.schedule);
        plan_.turns = std::move(entry->plan.turns);
        plan_.words = fmt::format(
            "{} order of work is the best so far (from: {}), by {} simulated day{}.", why,
            entry->words, found.best.front().days, found.best.front().days == 1 ? "" : "s");
    }

    static std::string paper_words() { return "the plan that is best on paper"; }
    static std::string posted_words() { return "the order of work that is posted"; }

    const model::Scenario& scenario_;
    const compile::CompileOptions& compiled_;
    const compile::RoomProblem& room_;
    const core::Problem& problem_;
    const ChancePlanOptions& options_;
    const core::Schedule& paper_;
    const core::Problem held_;        // in which what is held stays where it is
    std::vector<std::size_t> first_;  // its operations
    Wall::time_point begin_;
    double days_a_second_ = 0.0;  // that the search of lists simulated
    ChancePlan plan_;
};

}  // namespace

Race race_of(const std::vector<std::vector<double>>& cost) {
    const auto sum = [](const std::vector<double>& x) {
        return std::accumulate(x.begin(), x.end(), 0.0);
    };
    const auto& cheapest = *std::min_element(
        cost.begin(), cost.end(), [&](const auto& x, const auto& y) { return sum(x) < sum(y); });
    Race race;
    std::size_t open = 0;
    for (std::size_t k = 0; k < cost.size(); ++k) {
        const bool out = dearer(cost[k], cheapest);
        if (!out) ++open;
        if (!out || k == 0) race.simulate_on.push_back(k);
    }
    race.decided = open == 1;
    return race;
}

std::vector<double> turns_in_seconds(const core::Schedule& plan,
                                     const std::vector<std::int32_t>& turns) {
    std::vector<double> starts;
    for (std::size_t i = 0; i < turns.size(); ++i)
        starts.push_back(static_cast<double>(plan.placements[i].start.time_since_epoch().count()));
    std::sort(starts.begin(), starts.end());
    std::vector<double> out;
    // A millisecond a turn keeps those apart that start together.
    for (const std::int32_t turn : turns)
        out.push_back(starts[ix(turn - 1)] + 1e-3 * static_cast<double>(turn));
    return out;
}

ChancePlan plan_for_chance(const model::Scenario& scenario,
                           const compile::CompileOptions& compile_options,
                           const compile::RoomProblem& room, const core::Problem& problem,
                           const core::Schedule& paper, const ChancePlanOptions& options) {
    return Planner(scenario, compile_options, room, problem, paper, options).run();
}

}  // namespace sched::study
