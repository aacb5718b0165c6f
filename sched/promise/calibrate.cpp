// How it works: each case has a day of its own: orders drawn like the scenario's, planned, and,
// for questions in the middle of the day, simulated until the question; the desk sees only what
// has begun by then. One enquiry is promised, then the day happens with draws that no promise
// has seen; the share of promises kept is counted for every level.

#include "sched/promise/calibrate.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <memory>
#include <thread>

#include "sched/engine/draws.hpp"
#include "sched/promise/order_mix.hpp"
#include "sched/promise/promise_inside.hpp"

namespace sched::study {

using core::Seconds;
using core::SimTime;

namespace {

/// Random variation whose work and drying take `factor` times the planned.
Chance inflated(Chance chance, double factor) {
    chance.scale *= factor;
    return chance;
}

/// A day as it was simulated, till the question and beyond. The desk sees what has begun of it, and
/// when that ended if it has.
struct Morning {
    std::shared_ptr<const BegunDay> told;
    core::Schedule simulated;  // of the posted problem
    std::uint64_t seed = 0;
    std::uint64_t day = 0;
};

constexpr Seconds nearly_done = model::minutes(1);  // said of what takes longer than planned

/// Whether it is under way at `now`, and longer than anybody planned.
bool overruns(const core::Operation& operation, const core::Placement& p, SimTime now) {
    const auto& mode = operation.modes[static_cast<std::size_t>(p.mode)];
    return mode.stages.empty() && p.start < now && p.start + mode.work <= now && p.work_end > now;
}

/// The true ends of what was only said to be nearly done.
void tell_all(const Morning& morning, core::Problem& problem) {
    if (!morning.told->posted) return;
    const auto simulated =
        search::match_by_name(morning.told->posted->problem, morning.simulated, problem);
    for (auto& b : problem.begun) {
        const auto& p = simulated[b.operation.index()];
        if (p && b.work_end && *b.work_end > *problem.now) b.work_end = p->work_end;
    }
}

/// One day of the truth. Out of a morning it is that morning's own day: what was under way goes on
/// with the random variation that it had, which the promise could not know.
std::optional<SimTime> happens(PromiseDesk::Planned& plan, const PromiseOptions& options,
                               std::uint64_t seed, std::uint64_t day, const Morning* morning,
                               std::size_t order) {
    if (morning != nullptr) {
        tell_all(*morning, plan.room.problem);
        seed = morning->seed;
        day = morning->day;
    }
    const auto days = promising::simulate_days(plan, options, seed, day, 1);
    if (!days || days->all.empty() || !days->all.front().complete) return std::nullopt;
    return plan.room.problem.horizon_start + Seconds{days->all.front().ready[order]};
}

constexpr std::uint64_t cases_seed = 700001;  // which days, which enquiries

/// What is promised, planned and simulated with random variation of its own; told until `now`.
std::optional<Morning> simulated_till(const model::Scenario& scenario, PromiseOptions how,
                                      const CalibrateOptions& options, SimTime now,
                                      std::uint64_t day) {
    how.now = std::nullopt;
    how.replications = 1;
    model::Diagnostics diagnostics;
    std::string problem;
    const auto desk = PromiseDesk::open(scenario, how, diagnostics, problem);
    if (!desk || !desk->solution().schedule) return std::nullopt;
    const core::Schedule& plan = *desk->solution().schedule;
    Morning out{.seed = options.truth_seed + 1, .day = day};
    auto told = std::make_shared<BegunDay>();
    told->now = now;
    if (!plan.placements.empty()) {
        how.chance = inflated(how.chance, options.inflate);
        how.compile = desk->options().compile;
        auto simulated = promising::simulated_day(desk->base(), how, out.seed, out.day);
        if (!simulated) return std::nullopt;
        out.simulated = *std::move(simulated);
        core::Schedule seen = out.simulated;
        for (std::size_t i = 0; i < seen.placements.size(); ++i) {
            auto& p = seen.placements[i];
            if (!overruns(desk->room().problem.operations[i], p, now)) continue;
            p.work_end = now + nearly_done;
            p.end = std::max(p.end, p.work_end);
        }
        told->posted = {desk->room().problem, std::move(seen)};
    }
    out.told = std::move(told);
    return out;
}

CalibrateCase one_case(const PromiseDesk& desk, const CalibrateOptions& options,
                       const Morning* morning, std::uint64_t number, double load) {
    const engine::Draws draws(cases_seed, number);
    CalibrateCase out{.number = number, .load = load};
    Enquiry enquiry = random_enquiry(desk.scenario(), desk.asked(), draws);
    if (enquiry.lines.empty()) return out;
    enquiry.name = "asked " + std::to_string(number);  // random variation of its own
    out.screens = enquiry.lines.front().count;
    out.kind = enquiry.lines.front().mesh.value_or("") + ", " + enquiry.lines.front().coat_plan;
    out.entry = model::time_of_day(desk.asked());
    PromiseDesk::Planned plan;
    const Promise p = desk.ask(enquiry, &plan);
    if (!p.recommended || p.quantiles.empty()) return out;
    const SimTime asked = p.asked;
    for (const double level : calibrate_levels()) {
        const auto q = promising::quantile_of(p.ready, p.days, level);
        if (!q.ready) return out;
        out.promised.push_back(*q.ready + p.correction - asked);
    }
    const auto low_rank = static_cast<std::size_t>(0.1 * static_cast<double>(p.days + 1) + 1e-9);
    out.low = p.ready[std::max<std::size_t>(low_rank, 1) - 1] - asked;
    out.median = out.promised.front();
    out.planned = p.planned - asked;
    out.slot = *p.recommended - asked;

    PromiseOptions truth = desk.options();
    truth.chance = inflated(truth.chance, options.inflate);
    std::size_t mine = plan.scenario.orders.size() - 1;
    if (options.later_order) {
        // It is an order now, due when it was promised, and somebody else asks.
        model::Scenario more = plan.scenario;
        more.orders.back().due = *p.at_level;
        PromiseOptions again = desk.options();
        again.threads = 1;
        again.remedies = false;
        model::Diagnostics diagnostics;
        std::string problem;
        const auto second = PromiseDesk::open(more, again, diagnostics, problem);
        if (!second) return out;
        Enquiry next =
            random_enquiry(desk.scenario(), desk.asked(), engine::Draws(cases_seed + 1, number));
        next.name = "asked later";
        PromiseDesk::Planned with_next;
        if (!second->ask(next, &with_next).recommended) return out;
        plan = std::move(with_next);
    }
    const auto ready = happens(plan, truth, options.truth_seed, number, morning, mine);
    out.answered = true;
    out.happened = ready ? *ready - asked : Seconds{std::chrono::hours{24 * 365}};
    return out;
}

}  // namespace

const std::vector<double>& calibrate_levels() {
    static const std::vector<double> levels = {0.5, 0.8, 0.9, 0.95};
    return levels;
}

std::vector<CalibrateCase> calibrate(const model::Scenario& scenario,
                                     const CalibrateOptions& options) {
    std::vector<CalibrateCase> all(options.enquiries);
    const std::size_t days = (options.enquiries + options.a_day - 1) / options.a_day;
    std::atomic<std::size_t> next{0};
    std::atomic<std::size_t> done{0};
    const auto work = [&] {
        for (std::size_t d = next++; d < days; d = next++) {
            if (options.stop && options.stop()) return;
            const double load = options.loads[d % options.loads.size()];
            const engine::Draws draws(cases_seed + 2, d);
            const model::Scenario day = with_load(scenario, load, 16, draws);
            PromiseOptions how = options.promise;
            how.threads = 1;
            how.remedies = false;
            // Each day's promises are made from other random variation, or all of them would err
            // together.
            how.seed = options.promise.seed + 1000 * d;
            // Asked before work begins, or while it goes on (the question changes nothing of what
            // was planned; it only cannot be begun sooner).
            const double u = draws.uniform({0, 0, engine::name_key("asked"), 0});
            how.now = how.compile.start +
                      model::hours(u < 0.5 ? 0 : 6 + static_cast<int>(16 * (u - 0.5)));
            model::Diagnostics diagnostics;
            std::string problem;
            std::optional<Morning> morning;
            if (options.under_way) {
                morning = simulated_till(
                    day, how, options,
                    how.compile.start + model::hours(6) + Seconds{std::llround(8 * 3600 * u)}, d);
                if (morning) how.begun = morning->told;
            }
            const auto desk = morning || !options.under_way
                                  ? PromiseDesk::open(day, how, diagnostics, problem)
                                  : nullptr;
            const std::size_t from = d * options.a_day;
            const std::size_t to = std::min(options.enquiries, from + options.a_day);
            for (std::size_t i = from; i < to; ++i) {
                all[i].number = i;
                all[i].load = load;
                if (desk) all[i] = one_case(*desk, options, morning ? &*morning : nullptr, i, load);
            }
            done += to - from;
            if (options.progress) options.progress(done, options.enquiries);
        }
    };
    std::vector<std::jthread> pool;
    for (int t = 1; t < options.threads; ++t)
        pool.emplace_back(work);
    work();
    pool.clear();
    return all;
}

Calibration calibration_of(const std::vector<const CalibrateCase*>& cases) {
    Calibration out;
    const std::size_t levels = calibrate_levels().size();
    std::vector<std::int64_t> kept(levels, 0);
    std::int64_t slots = 0;
    double width = 0.0;
    for (const auto* c : cases) {
        if (!c->answered) continue;
        ++out.n;
        for (std::size_t l = 0; l < levels; ++l)
            kept[l] += c->happened <= c->promised[l];
        slots += c->happened <= c->slot;
        const auto hours = [](Seconds s) { return static_cast<double>(s.count()) / 3600.0; };
        out.mean_lead_h += hours(c->happened);
        out.mean_promised_h += hours(c->promised[2]);
        out.mean_slot_h += hours(c->slot);
        width += hours(c->promised[2] - c->low);
        out.bias_minutes += 60.0 * hours(c->happened - c->median);
    }
    const auto n = static_cast<std::int64_t>(out.n);
    for (std::size_t l = 0; l < levels; ++l)
        out.kept.push_back(odds_of(kept[l], n));
    out.slot_kept = odds_of(slots, n);
    if (out.n == 0) return out;
    const double m = static_cast<double>(out.n);
    out.sharpness = out.mean_lead_h > 0.0 ? width / out.mean_lead_h : 0.0;
    out.mean_lead_h /= m;
    out.mean_promised_h /= m;
    out.mean_slot_h /= m;
    out.bias_minutes /= m;
    return out;
}

}  // namespace sched::study
