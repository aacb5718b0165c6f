// How it works: open() plans what is promised already and simulates it once. ask() plans the
// enquiry in where it harms nobody if nothing varies, simulates the same days again with the same
// random variation, does so for other turns that would have it ready for an earlier pick-up, keeps
// the cheapest, and reads the ready time off at the level the shop wants. Where the horizon is too
// short, it looks further ahead and begins anew.

#include "sched/promise/promise.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>

#include <fmt/format.h>

#include "model/base/shown.hpp"
#include "sched/advise/feasibility.hpp"
#include "sched/advise/replan.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/promise/promise_inside.hpp"
#include "sched/search/solve.hpp"
#include "sched/simulate/chance_plan.hpp"
#include "sched/simulate/enough_pots.hpp"
#include "sched/simulate/executor.hpp"

namespace sched::study {

using core::Seconds;
using core::SimTime;

namespace promising {

void tell(const PromiseDesk::Inside& desk, const std::string& words) {
    if (desk.options.progress) desk.options.progress(words);
}

std::vector<SimTime> ready_times(const Replications& days, std::size_t order, SimTime start) {
    std::vector<SimTime> ready;
    for (const auto& day : days.all) {
        if (day.complete) ready.push_back(start + Seconds{day.ready[order]});
    }
    std::sort(ready.begin(), ready.end());
    return ready;
}

std::vector<EndangeredOrder> compare_days(const PromiseDesk::Inside& desk, const Replications& with,
                                          std::size_t days) {
    std::vector<EndangeredOrder> out;
    const core::Problem& p = desk.room.problem;
    const std::size_t n = std::min({days, with.all.size(), desk.days.all.size()});
    if (n == 0) return out;
    for (std::size_t o = 0; o < p.orders.size(); ++o) {
        if (!p.orders[o].due) continue;
        const std::int64_t due = (*p.orders[o].due - p.horizon_start).count();
        EndangeredOrder e{.order = p.orders[o].name,
                          .customer = desk.scenario.orders[o].customer,
                          .due = *p.orders[o].due};
        std::int64_t before = 0;
        std::int64_t after = 0;
        std::vector<double> a, b;
        double more_late = 0.0;
        for (std::size_t i = 0; i < n; ++i) {
            const auto& without_it = desk.days.all[i];
            const auto& with_it = with.all[i];
            const bool kept = without_it.complete && without_it.ready[o] <= due;
            const bool keeps = with_it.complete && with_it.ready[o] <= due;
            before += kept;
            after += keeps;
            e.lost_days += kept && !keeps;
            e.won_days += !kept && keeps;
            if (without_it.complete && with_it.complete) {
                a.push_back(static_cast<double>(with_it.ready[o]) / 60.0);
                b.push_back(static_cast<double>(without_it.ready[o]) / 60.0);
                more_late += static_cast<double>(std::max(with_it.ready[o], due) -
                                                 std::max(without_it.ready[o], due)) /
                             60.0;
            }
        }
        if (!a.empty()) e.more_late_minutes = more_late / static_cast<double>(a.size());
        e.before = odds_of(before, static_cast<std::int64_t>(n));
        e.after = odds_of(after, static_cast<std::int64_t>(n));
        if (a.size() >= 2) {
            const Difference d = paired_difference(a, b, 0.95);
            e.later_minutes = d.difference;
            e.later_interval = d.interval;
        }
        if (a == b && before == after && e.lost_days == 0) continue;
        out.push_back(std::move(e));
    }
    std::stable_sort(out.begin(), out.end(), [](const auto& x, const auto& y) {
        const auto lost = [](const EndangeredOrder& e) { return e.lost_days - e.won_days; };
        if (lost(x) != lost(y)) return lost(x) > lost(y);
        return x.later_minutes > y.later_minutes;
    });
    return out;
}

SimTime corrected(const PromiseDesk::Inside& desk, SimTime t) {
    const auto& options = desk.options;
    const auto percent = std::llround(100.0 * desk.scenario.room.promise.level.value);
    const bool learnt = options.past && options.past->percent == percent;
    return (learnt ? options.past->apply(desk.asked, t) : t) + options.correction;
}

std::int64_t net_loss(const std::vector<EndangeredOrder>& orders) {
    std::int64_t net = 0;
    for (const auto& e : orders)
        net += std::max<std::int64_t>(0, e.lost_days - e.won_days);
    return net;
}

}  // namespace promising

namespace {

using namespace promising;

constexpr std::size_t few_deciding_days = 50;
/// Other turns of an enquiry than the first: the days on which each is looked at, and how many of
/// them are looked at further.
struct Look {
    std::size_t days, go_on;
};
constexpr std::array<Look, 2> looks{{{25, 6}, {75, 3}}};

bool fits_no_horizon(const std::string& why) {
    return why.starts_with(no_plan_found);
}

std::string free_name(const model::Scenario& scenario) {
    std::set<std::string> taken;
    for (const auto& order : scenario.orders)
        taken.insert(order.name);
    for (int k = 1;; ++k) {
        std::string name = "E" + std::to_string(k);
        if (!taken.contains(name)) return name;
    }
}

/// "nine times in ten" where it is that; else "at least 95 times in 100".
std::string level_words(double level) {
    const int percent = static_cast<int>(std::lround(level * 100.0));
    if (percent == 50) return "one time in two";
    if (percent == 80) return "four times in five";
    if (percent == 90) return "nine times in ten";
    return std::to_string(percent) + " times in 100";
}

std::string sentence_of(const Promise& p) {
    if (!p.impossible.empty()) return {};
    const std::string what = p.screens == 1 ? "1 screen" : std::to_string(p.screens) + " screens";
    if (!p.recommended) {
        return "No time can be promised for " + what + ": too many simulated days do not end.";
    }
    return "We can have " + what + " ready by " + say_time(*p.recommended) +
           "; such a date holds at least " + level_words(p.level) + ".";
}

/// The plan that hangs, where it can be kept as it is.
std::optional<core::Schedule> posted_schedule(const PromiseDesk::Inside& desk,
                                              const search::EarlierPlan& earlier) {
    core::Schedule same;
    for (const auto& p : earlier) {
        if (p) same.placements.push_back(*p);
    }
    const bool right = desk.options.right &&
                       same.placements.size() == desk.room.problem.operations.size() &&
                       desk.options.right(desk.room.problem, same);
    return right ? std::optional(std::move(same)) : std::nullopt;
}

/// What is promised, with as little moved of the posted plan as it can be. Where no plan keeps
/// all limits of the screens under way, as few as it can are let go.
core::Solution plan_promised(PromiseDesk::Inside& desk, const search::EarlierPlan& earlier,
                             const search::SearchOptions& options) {
    compile::RoomProblem& room = desk.room;
    if (!room.problem.now) return search::solve(room.problem, options);
    const engine::RemainingProblem present(room.problem);
    for (const std::size_t c : present.missed())
        desk.notes.push_back(missed_words(room, c));
    // Where people work by the posted plan and it can be kept, nothing is searched for.
    const bool by_posted =
        desk.options.policy == "follow" && desk.options.begun && desk.options.begun->posted;
    auto posted = posted_schedule(desk, earlier);
    if (by_posted && posted) {
        core::Solution same;
        same.status = core::Status::Feasible;
        same.value = core::evaluate(room.problem, *posted);
        same.schedule = std::move(posted);
        return same;
    }
    search::ReplanOptions how;
    how.place = room.changes_at.value_or(search::place_of_changes(room.problem));
    how.still_right = posted.has_value();
    core::Solution found = earlier.empty()
                               ? search::solve(room.problem, options)
                               : search::replan(room.problem, earlier, how, options).solution;
    if (found.schedule) return found;
    auto loose = search::let_limits_go(room.problem, earlier, how, options);
    if (!loose.replan.solution.schedule) return found;
    for (const std::size_t c : loose.missed) {
        desk.notes.push_back(missed_words(room, c));
        desk.relaxed.push_back(limit_of(room.problem, c));
    }
    relaxed(desk.relaxed, room.problem);
    for (std::string& words : stood_words(room, loose.stood))
        desk.notes.push_back(std::move(words));
    desk.closings = loose.closings;
    search::stand_through(room.problem, desk.closings);
    return loose.replan.solution;
}

void work_by_list(PromiseDesk::Inside& desk, core::Schedule schedule,
                  const std::vector<double>& turns) {
    desk.by_list = true;
    desk.solution.value = core::evaluate(desk.room.problem, schedule);
    // No two have the same turn.
    std::vector<std::size_t> order(turns.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return turns[a] < turns[b]; });
    desk.turns = schedule;
    std::int64_t last = std::numeric_limits<std::int64_t>::min();
    for (const std::size_t i : order) {
        last = std::max(last + 1, static_cast<std::int64_t>(turns[i]));
        desk.turns.placements[i].start = SimTime{Seconds{last}};
    }
    desk.solution.schedule = std::move(schedule);
}

/// By the plan that is posted people work, as `plan --now` keeps it.
void work_as_posted(PromiseDesk::Inside& desk, const search::EarlierPlan& earlier) {
    auto same = posted_schedule(desk, earlier);
    const auto turns = posted_turns(*desk.options.begun->posted, desk.room.problem,
                                    same ? *same : *desk.solution.schedule);
    if (!turns.empty() && !same) same = schedule_of_list(desk.room.problem, turns);
    if (!same) return;
    if (!turns.empty()) return work_by_list(desk, *std::move(same), turns);
    desk.solution.value = core::evaluate(desk.room.problem, *same);
    desk.turns = *same;
    desk.solution.schedule = std::move(same);
}

/// The order of work that `plan` would choose too: what is promised is worked off by it.
void choose_order_of_work(PromiseDesk::Inside& desk, const search::EarlierPlan& earlier,
                          const search::SearchOptions& options) {
    const core::Problem& p = desk.room.problem;
    desk.turns = *desk.solution.schedule;
    desk.by_list = false;
    if (desk.options.policy != "follow") return;
    if (desk.options.begun && desk.options.begun->posted) return work_as_posted(desk, earlier);
    const auto found =
        plan_for_chance(desk.scenario, desk.options.compile, desk.room, p, *desk.solution.schedule,
                        {.how = options,
                         .chance = desk.options.chance,
                         .deciding = few_deciding_days,
                         .progress = [&](const std::string& words) {
                             tell(desk, "planning what is promised: " + words);
                         }});
    if (!found.turns.empty())
        work_by_list(desk, found.schedule, turns_in_seconds(found.schedule, found.turns));
}

/// The room of what is promised, with the pots of the plan that hangs where they are enough; else
/// with more of what does not keep, as `plan` has it.
bool room_of_promised(PromiseDesk::Inside& desk, search::EarlierPlan& earlier,
                      model::Diagnostics& diagnostics) {
    if (const auto* posted = posted_pots(desk.options);
        posted != nullptr || pots_end_in(desk.scenario.room, days_in_seconds(desk.options))) {
        PromiseOptions tried = desk.options;
        desk.options.compile = with_enough_pots(
            desk.options.compile, posted,
            [&](const compile::CompileOptions& how) {
                tried.compile = how;
                search::EarlierPlan once;
                model::Diagnostics unsaid;
                return compile_remaining(desk.scenario, tried, once, nullptr, unsaid);
            },
            desk.options.stop);
    }
    desk.notes.clear();
    auto room = compile_remaining(desk.scenario, desk.options, earlier, &desk.notes, diagnostics);
    if (!room) return false;
    desk.room = *std::move(room);
    return true;
}

/// Plans what is promised; looks further ahead when it does not fit.
bool plan_base(PromiseDesk::Inside& desk, model::Diagnostics& diagnostics, std::string& problem) {
    for (int days = desk.options.compile.days; days <= most_days_ahead; days *= 2) {
        desk.options.compile.days = days;
        search::EarlierPlan earlier;
        desk.relaxed.clear();
        desk.closings = 0;
        if (!room_of_promised(desk, earlier, diagnostics)) return false;
        if (desk.room.problem.operations.empty()) {
            desk.solution.schedule = core::Schedule{};
            desk.turns = {};
            return true;
        }
        search::SearchOptions search;
        search.budget.evaluations = desk.options.base_evaluations;
        search.seed = desk.options.seed;
        search.threads = desk.options.threads;
        search.stop = desk.options.stop;
        desk.solution = plan_promised(desk, earlier, search);
        if (desk.solution.schedule) {
            choose_order_of_work(desk, earlier, search);
            return true;
        }
    }
    problem = "no plan was found for what is promised already.";
    const auto first = search::first_answer(desk.room.problem, desk.options.stop);
    if (first.kind != search::FirstAnswer::Kind::Plan && !first.words.empty())
        problem += " " + first.words;
    return false;
}

}  // namespace

PromiseDesk::PromiseDesk() = default;
PromiseDesk::~PromiseDesk() = default;
const model::Scenario& PromiseDesk::scenario() const {
    return in_->scenario;
}
core::SimTime PromiseDesk::asked() const {
    return in_->asked;
}
const std::vector<std::string>& PromiseDesk::notes() const {
    return in_->notes;
}
const compile::RoomProblem& PromiseDesk::room() const {
    return in_->room;
}
PromiseDesk::Planned PromiseDesk::base() const {
    return {in_->scenario, in_->room,    in_->solution,
            in_->turns,    in_->by_list, in_->options.compile};
}
const Replications& PromiseDesk::days() const {
    return in_->days;
}
const core::Solution& PromiseDesk::solution() const {
    return in_->solution;
}
const PromiseOptions& PromiseDesk::options() const {
    return in_->options;
}

std::unique_ptr<PromiseDesk> PromiseDesk::open(const model::Scenario& scenario,
                                               const PromiseOptions& options,
                                               model::Diagnostics& diagnostics,
                                               std::string& problem) {
    std::unique_ptr<PromiseDesk> desk(new PromiseDesk);
    desk->in_ = std::make_unique<Inside>();
    Inside& in = *desk->in_;
    in.scenario = scenario;
    in.options = options;
    if (options.begun) {
        in.options.now = options.begun->now;
        in.options.compile.frames = options.begun->frames;
    }
    if (!plan_base(in, diagnostics, problem)) return nullptr;
    const core::Problem& p = in.room.problem;
    in.asked = std::max(p.horizon_start, in.options.now.value_or(p.horizon_start));
    if (p.operations.empty()) return desk;
    tell(in, fmt::format("simulating {} days of what is promised", options.replications));
    auto days = simulate(in, desk->base(), options.replications);
    if (!days) {
        problem = "the plan of what is promised already cannot be simulated.";
        return nullptr;
    }
    in.days = *std::move(days);
    const auto nominal = nominal_day(p, in.turns);
    for (std::size_t o = 0; o < p.orders.size(); ++o) {
        const SimTime planned = completion_of(p, nominal ? *nominal : *in.solution.schedule, o);
        const auto ready = ready_times(in.days, o, p.horizon_start);
        const auto q = quantile_of(ready, in.days.all.size(), scenario.room.promise.level.value);
        // The slack that it needs to be as sure as the shop wants it; where it has less, none goes.
        const Seconds buffer = std::max(Seconds{0}, q.ready.value_or(planned) - planned);
        const SimTime due = p.orders[o].due.value_or(planned);
        in.planned.push_back(planned);
        in.protected_by.push_back(std::max(planned, due - buffer));
    }
    return desk;
}

namespace {

/// One way to plan the enquiry in, and what it does on simulated days.
struct PlannedDays {
    PromiseDesk::Planned plan;
    Replications days;
    std::vector<EndangeredOrder> endangered;
};

/// No order loses more than one day in fifty, all together no more than three times that; one day
/// more or less is chance.
bool harmless(const std::vector<EndangeredOrder>& orders, std::size_t days) {
    const auto most = std::max<std::int64_t>(1, static_cast<std::int64_t>(days) / 50);
    for (const auto& e : orders) {
        if (e.lost_days - e.won_days > most) return false;
    }
    return net_loss(orders) <= 3 * most;
}

/// The pick-up time that it could be promised for, at the shop's level or another one.
SimTime pick_up(const PromiseDesk::Inside& desk, const PlannedDays& x, double level) {
    const core::Problem& p = x.plan.room.problem;
    const auto ready = ready_times(x.days, p.orders.size() - 1, p.horizon_start);
    const auto q = quantile_of(ready, x.days.all.size(), level).ready;
    return next_slot(desk.scenario.room, q ? corrected(desk, *q) : p.horizon_end);
}

/// What a way to plan the enquiry in costs, in hours: until the pick-up time that it is promised
/// for, so that nobody is harmed for hours in which it only stands there; an hour for each hour
/// that it makes a promised order later than due; and what the shop says for each promised order
/// that it makes late on an average day. A threshold on what is lost would let a day more or less
/// move the date by days.
double cost_of(const PromiseDesk::Inside& desk, const PlannedDays& x, double level) {
    const double hours_for_an_order =
        static_cast<double>(desk.scenario.room.promise.late_order.count()) / 3600.0;
    const auto days = static_cast<double>(x.days.all.size());
    double more_late = 0.0;
    for (const EndangeredOrder& e : x.endangered)
        more_late += std::max(0.0, e.more_late_minutes) / 60.0;
    return static_cast<double>((pick_up(desk, x, level) - desk.asked).count()) / 3600.0 +
           more_late + hours_for_an_order * static_cast<double>(net_loss(x.endangered)) / days;
}

double cost_of(const PromiseDesk::Inside& desk, const PlannedDays& x) {
    return cost_of(desk, x, desk.scenario.room.promise.level.value);
}

/// Turns that would have the enquiry ready for an earlier pick-up than `best` if nothing varied; or
/// for the same, and behind everything, where `best` harms somebody.
std::vector<std::int64_t> other_turns(const PromiseDesk::Inside& desk,
                                      const std::vector<TurnTried>& tried, const PlannedDays& best,
                                      bool harms) {
    const SimTime at = pick_up(desk, best, desk.scenario.room.promise.level.value) +
                       (harms ? Seconds{1} : Seconds{0});
    std::vector<std::int64_t> turns;
    std::set<std::int64_t> known;  // ready at the same second: as good as the same plan
    for (std::size_t k = 0; k < tried.size(); ++k) {
        const SimTime ready{Seconds{tried[k].ready}};
        const bool behind = harms && k == 0;
        if ((behind || next_slot(desk.scenario.room, ready) < at) &&
            known.insert(tried[k].ready).second)
            turns.push_back(tried[k].turn);
    }
    return turns;
}

/// On so many days in all: those that it has been simulated on stand. @returns false if it cannot.
bool simulate_up_to(const PromiseDesk::Inside& desk, PlannedDays& x, std::size_t count) {
    const std::size_t known = x.days.all.size();
    if (count > known) {
        auto more = simulate_days(x.plan, desk.options, desk.options.seed, known, count - known);
        if (!more) return false;
        std::vector<Replication> all = std::move(x.days.all);
        all.insert(all.end(), more->all.begin(), more->all.end());
        x.days = summarise(x.plan.room.problem, all, ReplicateOptions{}.confidence);
    }
    x.endangered = compare_days(desk, x.days, count);
    return true;
}

std::optional<PlannedDays> simulated(const PromiseDesk::Inside& desk, PromiseDesk::Planned plan,
                                     std::size_t count) {
    PlannedDays x{std::move(plan), {}, {}};
    if (!simulate_up_to(desk, x, count)) return std::nullopt;
    return x;
}

/// The cheapest of the other ways, if it is cheaper than `best`: all on a few days, the better ones
/// on more.
void take_cheapest(const PromiseDesk::Inside& desk, const model::Scenario& with,
                   const std::vector<InsertHow>& ways, PlannedDays& best) {
    const std::size_t all = desk.options.replications;
    const auto stopped = [&] { return desk.options.stop && desk.options.stop(); };
    std::vector<PlannedDays> left;
    std::string unsaid;
    for (const InsertHow& way : ways) {
        if (stopped()) return;
        if (auto plan = insert(desk, with, way, unsaid)) left.push_back({*std::move(plan), {}, {}});
    }
    for (const Look& look : looks) {
        if (look.days >= all) continue;
        std::vector<std::pair<double, std::size_t>> cost;  // and place in `left`
        for (std::size_t k = 0; k < left.size(); ++k) {
            // What the few days may have later than it is must not drop it.
            const double level = desk.scenario.room.promise.level.value;
            const double error =
                2.0 * std::sqrt(level * (1.0 - level) / static_cast<double>(look.days));
            tell(desk, fmt::format("trying turn {} of {} for it, on {} days", k + 1, left.size(),
                                   look.days));
            const bool known = simulate_up_to(desk, left[k], look.days);
            if (stopped()) return;  // what was cut short may look cheap
            if (known) cost.emplace_back(cost_of(desk, left[k], level - error), k);
        }
        std::sort(cost.begin(), cost.end());
        std::vector<PlannedDays> better;
        for (const auto& [hours, k] : cost) {
            if (better.size() < look.go_on && hours < cost_of(desk, best))
                better.push_back(std::move(left[k]));
        }
        left = std::move(better);
    }
    for (PlannedDays& x : left) {
        tell(desk, fmt::format("trying the best turns for it, on {} days", all));
        if (simulate_up_to(desk, x, all) && !stopped() && cost_of(desk, x) < cost_of(desk, best))
            best = std::move(x);
    }
}

/// The first plan keeps what the promised ones need if nothing varies. On simulated days it may
/// harm them all the same, or cost the enquiry a day for an order that is late once in twenty.
std::optional<PlannedDays> plan_and_simulate(const PromiseDesk::Inside& desk,
                                             const Enquiry& enquiry, std::string& why) {
    const model::Scenario with =
        scenario_with(desk.scenario, enquiry, desk.room.problem.horizon_end);
    std::vector<TurnTried> tried;
    auto plan = insert(desk, with, {.tried = &tried}, why);
    if (!plan) return std::nullopt;
    tell(desk, fmt::format("simulating {} days with it", desk.options.replications));
    auto best = simulated(desk, *std::move(plan), desk.options.replications);
    if (!best) {
        why = "the plan with it cannot be simulated.";
        return std::nullopt;
    }
    const bool harms = !harmless(best->endangered, best->days.all.size());
    std::vector<InsertHow> ways;
    for (const std::int64_t turn : other_turns(desk, tried, *best, harms))
        ways.push_back({.turn = turn});
    if (harms) ways.push_back({.care = Care::Tomorrow});
    take_cheapest(desk, with, ways, *best);
    return best;
}

Enquiry named(const PromiseDesk::Inside& desk, Enquiry enquiry) {
    if (enquiry.name.empty()) enquiry.name = free_name(desk.scenario);
    return enquiry;
}

}  // namespace

Promise PromiseDesk::ask(const Enquiry& asked, Planned* plan) const {
    const Inside& in = *in_;
    Promise out;
    out.enquiry = named(in, asked);
    out.room = in.scenario.room.name;
    out.invented = in.scenario.room.invented;
    out.asked = in.asked;
    out.present = in.notes;
    out.seed = in.options.seed;
    out.level = in.scenario.room.promise.level.value;
    out.slot_words = slot_words(in.scenario.room.promise);
    for (const auto& line : out.enquiry.lines)
        out.screens += line.count;
    for (const auto& order : in.scenario.orders) {
        if (order.name == out.enquiry.name)
            out.impossible = "an order " + order.name + " is promised already.";
    }
    if (!out.impossible.empty()) return out;
    auto days_simulated = plan_and_simulate(in, out.enquiry, out.impossible);
    if (!days_simulated && in.options.compile.days * 2 <= most_days_ahead &&
        fits_no_horizon(out.impossible)) {
        // The room is full for all the days looked at: look further ahead.
        PromiseOptions further = in.options;
        further.compile.days *= 2;
        model::Diagnostics diagnostics;
        std::string problem;
        if (const auto desk = open(in.scenario, further, diagnostics, problem))
            return desk->ask(asked, plan);
    }
    if (!days_simulated) return out;
    out.impossible.clear();

    const core::Problem& p = days_simulated->plan.room.problem;
    const std::size_t mine = p.orders.size() - 1;
    out.planned = completion_of(p, *days_simulated->plan.solution.schedule, mine);
    out.days = days_simulated->days.all.size();
    out.ready = ready_times(days_simulated->days, mine, p.horizon_start);
    out.unfinished = out.days - out.ready.size();
    for (const double level : {0.5, 0.8, 0.9, 0.95})
        out.quantiles.push_back(quantile_of(out.ready, out.days, level));
    out.at_level = quantile_of(out.ready, out.days, out.level).ready;
    if (out.at_level) {
        const SimTime simulated = *out.at_level;
        out.at_level = corrected(in, simulated);
        out.correction = *out.at_level - simulated;
        out.recommended = next_slot(in.scenario.room, *out.at_level);
        out.recommended_odds = odds_by(out.ready, out.days, *out.recommended);
    }
    if (out.enquiry.wanted) out.wanted = odds_by(out.ready, out.days, *out.enquiry.wanted);
    out.endangered = days_simulated->endangered;
    if (in.options.remedies)
        out.remedies = find_remedies(in, out, days_simulated->plan, days_simulated->days);
    out.sentence = sentence_of(out);
    if (plan != nullptr) *plan = std::move(days_simulated->plan);
    return out;
}

std::string say_time(SimTime exact) {
    const SimTime t = model::shown_minute(exact);
    static constexpr const char* days[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    static constexpr const char* months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                             "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    const auto date = model::date_of(t);
    return std::string(days[model::weekday_index(date)]) + " " +
           std::to_string(static_cast<unsigned>(date.day())) + " " +
           months[static_cast<unsigned>(date.month()) - 1] + ", " + model::format_time_of_day(t);
}

}  // namespace sched::study
