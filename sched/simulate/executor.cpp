#include "sched/simulate/executor.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

#include "sched/core/objective.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/simulate/review.hpp"
#include "sched/simulate/running_limits.hpp"

namespace sched::study {

using core::OperationId;
using core::Seconds;

namespace {

double planned_second(core::SimTime t) {
    return static_cast<double>(t.time_since_epoch().count());
}

/// Ranks by key, equal keys by number.
engine::Sequence sequence_by(const std::vector<double>& key) {
    std::vector<std::int32_t> by(key.size());
    std::iota(by.begin(), by.end(), 0);
    std::stable_sort(by.begin(), by.end(), [&](std::int32_t a, std::int32_t b) {
        return key[static_cast<std::size_t>(a)] < key[static_cast<std::size_t>(b)];
    });
    engine::Sequence sequence;
    sequence.rank.resize(key.size());
    for (std::size_t r = 0; r < by.size(); ++r) {
        sequence.rank[static_cast<std::size_t>(by[r])] = static_cast<std::int32_t>(r);
    }
    return sequence;
}

std::size_t run_of(const compile::RoomProblem& nominal) {
    std::size_t run = nominal.problem.operations.size();
    for (const auto& way : nominal.spare)
        run = std::min(run, static_cast<std::size_t>(way.first));
    return run;
}

}  // namespace

std::unique_ptr<Policy> Policy::make(const std::string& name, const compile::RoomProblem& nominal,
                                     const core::Schedule* plan) {
    auto policy = std::make_unique<Policy>();
    policy->nominal_ = &nominal;
    if (name == "follow" || name == "in-order" || name == "timetable" || name == "review") {
        if (plan == nullptr) return nullptr;
        if (name == "review")
            policy->length_ = lengths_alone(engine::CompiledProblem(nominal.problem));
        policy->kind_ = name == "review"     ? Kind::Review
                        : name == "follow"   ? Kind::Free
                        : name == "in-order" ? Kind::KeepOrder
                                             : Kind::KeepTimes;
        policy->follow(*plan);
        return policy;
    }
    for (const auto& rule : engine::rules()) {
        if (name == rule.name) {
            policy->obey(rule);
            return policy;
        }
    }
    return nullptr;
}

void Policy::follow(const core::Schedule& plan) {
    plan_ = plan;
    const auto& operations = nominal_->problem.operations;
    key_.assign(operations.size(), 0.0);
    // How long the planned drying of a screen at a step was, for its remakes and for rush orders.
    std::map<std::tuple<int, model::Step, int>, Seconds> seen;
    std::map<model::Step, Seconds> longest;
    drying_.assign(operations.size(), Seconds{0});
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const auto& info = nominal_->operations[i];
        if (i < plan.placements.size()) {
            const auto& placed = plan.placements[i];
            key_[i] = planned_second(placed.start);
            drying_[i] = placed.work_end - placed.start;
            seen[{info.screen, info.step, info.round}] = drying_[i];
            Seconds& most = longest[info.step];
            most = std::max(most, drying_[i]);
        } else if (const auto twin = seen.find({info.screen, info.step, info.round});
                   twin != seen.end()) {
            drying_[i] = twin->second;
        } else {
            drying_[i] = longest[info.step];
        }
    }
}

void Policy::obey(const engine::Rule& rule) {
    const compile::RoomProblem& nominal = *nominal_;
    // The run on its own, as whoever made a plan by this rule saw it ...
    const std::size_t run = run_of(nominal);
    core::Problem alone = nominal.problem;
    alone.operations.resize(run);
    std::erase_if(alone.constraints, [&](const core::Constraint& c) {
        return std::visit(
            [&](const auto& k) {
                using T = std::decay_t<decltype(k)>;
                if constexpr (std::is_same_v<T, core::TimeLag>) {
                    return k.from.index() >= run;
                } else if constexpr (std::is_same_v<T, core::SameMode> ||
                                     std::is_same_v<T, core::SameResource>) {
                    return k.a.index() >= run;
                } else {
                    return k.operation.index() >= run;
                }
            },
            c);
    });
    const auto add_keys = [&](const core::Problem& problem) {
        const engine::CompiledProblem compiled(problem);
        const auto views = engine::rule_views(compiled);
        for (std::size_t i = key_.size(); i < views.size(); ++i)
            key_.push_back(rule.key(views[i]));
    };
    add_keys(alone);
    // ... and each spare way as a job of its own.
    if (run == nominal.problem.operations.size()) return;
    core::Problem with_spare = nominal.problem;
    for (const auto& way : nominal.spare) {
        const core::JobId job{with_spare.jobs.size()};
        with_spare.jobs.push_back(
            with_spare.jobs[nominal.screens[static_cast<std::size_t>(way.screen)].job.index()]);
        for (int i = way.first; i < way.first + way.count; ++i) {
            with_spare.operations[static_cast<std::size_t>(i)].job = job;
        }
    }
    add_keys(with_spare);
}

std::vector<double> Policy::keys(const Reality& reality) const {
    const std::size_t n = reality.nominal.size();
    std::vector<double> key(n);
    std::vector<double> turn_of_job(reality.problem.jobs.size(), 0.0);
    for (std::size_t i = 0; i < n; ++i) {
        key[i] = key_[static_cast<std::size_t>(reality.nominal[i])];
        if (kind_ == Kind::Rule) continue;
        const core::JobId job = reality.problem.operations[i].job;
        if (reality.attempt[i] == 0) {
            if (!job.valid()) continue;
            double& turn = turn_of_job[job.index()];
            turn = std::max(turn, key[i]);
        } else if (reality.attempt[i] > 0) {
            key[i] = turn_of_job[job.index()];  // from the moment it failed
        } else if (!job.valid()) {
            key[i] = planned_second(reality.problem.horizon_start);  // mixed as soon as it shows
        } else {
            const auto order = reality.problem.jobs[job.index()].order;
            key[i] = planned_second(reality.problem.orders[order.index()].release);
        }
    }
    return key;
}

Policy::Gaps Policy::gaps_of(const Reality& reality) const {
    const core::Problem& real = reality.problem;
    Gaps gaps;
    core::Problem& p = gaps.problem;
    p.horizon_start = real.horizon_start;
    p.horizon_end = real.horizon_end;
    p.resources = real.resources;
    p.stores = real.stores;
    p.orders = real.orders;
    p.jobs = real.jobs;
    p.objective = real.objective;
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        p.resources[r].shared.reset();
        p.resources[r].batch.reset();  // what is fitted in shares no exposure
        // A station that will fail is not known to whoever fits things in.
        p.resources[r].calendar = nominal_->problem.resources[r].calendar;
    }
    const auto planned = [&](std::size_t i) {
        return reality.attempt[i] == 0 && !reality.unplanned[i];
    };
    std::vector<OperationId> at(real.operations.size(), OperationId::none());
    std::vector<OperationId> blocker(real.operations.size(), OperationId::none());  // of its work
    std::vector<std::size_t> taken(real.operations.size(), 0);  // takes seen so far
    std::set<std::pair<int, int>> batches;
    for (std::size_t i = 0; i < real.operations.size(); ++i) {
        const std::size_t nominal = static_cast<std::size_t>(reality.nominal[i]);
        if (planned(i)) {
            // One blocker for what it keeps to its end, one for what it needs while it works.
            const auto& placed = plan_.placements[nominal];
            const auto& mode = real.operations[i].modes[static_cast<std::size_t>(placed.mode)];
            for (const core::Span span : {core::Span::Whole, core::Span::Work}) {
                core::Mode use{.work = (span == core::Span::Whole ? placed.end : placed.work_end) -
                                       placed.start};
                for (std::size_t n = 0; n < mode.needs.size(); ++n) {
                    if (mode.needs[n].span != span) continue;
                    // A shared exposure takes its place, and whoever minds it, once.
                    const auto& resource = real.resources[placed.chosen[n].index()];
                    const bool counted =
                        placed.batch && (resource.batch || resource.capacity == 1) &&
                        !batches.emplace(*placed.batch, placed.chosen[n].value).second;
                    if (counted) continue;
                    use.needs.push_back({.any_of = {placed.chosen[n]},
                                         .amount = mode.needs[n].amount,
                                         .span = core::Span::Work});
                }
                if (use.needs.empty() || use.work.count() <= 0) continue;
                p.constraints.push_back(
                    core::StartWindow{.operation = OperationId{p.operations.size()},
                                      .not_before = placed.start,
                                      .not_after = placed.start});
                p.operations.push_back(
                    {.name = real.operations[i].name, .modes = {std::move(use)}});
                gaps.real.push_back(-1);
            }
            blocker[i] = OperationId{p.operations.size() - 1};
            continue;
        }
        at[i] = OperationId{p.operations.size()};
        if (real.now)
            p.constraints.push_back(core::StartWindow{.operation = at[i], .not_before = *real.now});
        core::Operation operation = real.operations[i];
        for (auto& mode : operation.modes) {
            if (mode.stages.empty()) continue;
            mode.stages.clear();
            mode.work = drying_[nominal];
        }
        p.operations.push_back(std::move(operation));
        gaps.real.push_back(static_cast<int>(i));
    }
    for (const auto& constraint : real.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&constraint)) {
            const OperationId to = at[lag->to.index()];
            if (!to.valid()) continue;
            if (at[lag->from.index()].valid()) {
                core::TimeLag moved = *lag;
                moved.from = at[lag->from.index()];
                moved.to = to;
                p.constraints.push_back(moved);
                continue;
            }
            const auto& before =
                plan_.placements[static_cast<std::size_t>(reality.nominal[lag->from.index()])];
            const auto edge = lag->edge == core::Edge::Start ? before.start : before.work_end;
            p.constraints.push_back(
                core::StartWindow{.operation = to, .not_before = edge + lag->min});
        } else if (const auto* window = std::get_if<core::StartWindow>(&constraint)) {
            if (!at[window->operation.index()].valid()) continue;
            core::StartWindow moved = *window;
            moved.operation = at[window->operation.index()];
            p.constraints.push_back(moved);
        } else if (const auto* mode = std::get_if<core::SameMode>(&constraint)) {
            if (!at[mode->a.index()].valid() || !at[mode->b.index()].valid()) continue;
            p.constraints.push_back(core::SameMode{at[mode->a.index()], at[mode->b.index()]});
        } else if (const auto* same = std::get_if<core::SameResource>(&constraint)) {
            if (!at[same->a.index()].valid() || !at[same->b.index()].valid()) continue;
            core::SameResource moved = *same;
            moved.a = at[same->a.index()];
            moved.b = at[same->b.index()];
            p.constraints.push_back(moved);
        } else if (const auto* take = std::get_if<core::Take>(&constraint)) {
            const std::size_t i = take->operation.index();
            core::Take moved = *take;
            if (at[i].valid()) {
                moved.operation = at[i];
            } else {
                const auto& placed = plan_.placements[static_cast<std::size_t>(reality.nominal[i])];
                moved.operation = blocker[i];
                moved.any_of = {placed.stores[taken[i]++]};
            }
            p.constraints.push_back(std::move(moved));
        } else if (const auto* give = std::get_if<core::Give>(&constraint)) {
            core::Give moved = *give;
            const std::size_t i = give->operation.index();
            moved.operation = at[i].valid() ? at[i] : blocker[i];
            p.constraints.push_back(moved);
        }
    }
    return gaps;
}

bool Policy::plan_of_day(const Reality& reality, const engine::RemainingProblem& present,
                         const engine::CompiledProblem& compiled, engine::FlatSchedule& out) const {
    core::Schedule whole;
    for (std::size_t i = 0; i < reality.nominal.size(); ++i) {
        const bool has_turn = reality.attempt[i] == 0 && !reality.unplanned[i];
        whole.placements.push_back(
            has_turn ? plan_.placements[static_cast<std::size_t>(reality.nominal[i])]
                     : core::Placement{});
    }
    const core::Schedule planned = present.rest(std::move(whole));
    if (reality.remakes == 0 && reality.late_films == 0 && reality.rush() == 0) {
        out = engine::to_flat(compiled, planned);
        return true;
    }
    const Gaps gaps = gaps_of(reality);
    const engine::CompiledProblem fixed(gaps.problem);
    engine::Decoder decoder(fixed);
    std::vector<double> key(gaps.real.size());
    for (std::size_t g = 0; g < key.size(); ++g) {
        key[g] = gaps.real[g] < 0 ? -1.0 : static_cast<double>(g);
    }
    if (!decoder.decode(sequence_by(key))) return false;
    out.reset(compiled);
    for (std::size_t i = 0; i < reality.nominal.size(); ++i) {
        if (reality.attempt[i] != 0 || reality.unplanned[i]) continue;
        engine::put(compiled, i, planned.placements[i], out);
    }
    const core::Schedule fitted = decoder.to_schedule();
    for (std::size_t g = 0; g < key.size(); ++g) {
        if (gaps.real[g] < 0) continue;
        const std::size_t i = static_cast<std::size_t>(gaps.real[g]);
        engine::put(compiled, i, fitted.placements[g], out);
    }
    return true;
}

bool Policy::somebody_is_missing(const Reality& reality) const {
    if (reality.absences == 0) return false;
    for (std::size_t i = 0; i < reality.nominal.size(); ++i) {
        if (reality.attempt[i] != 0) continue;
        const auto& placed = plan_.placements[static_cast<std::size_t>(reality.nominal[i])];
        for (const auto chosen : placed.chosen) {
            if (nominal_->resources[chosen.index()].kind != compile::ResourceKind::Person) continue;
            const auto& calendar = reality.problem.resources[chosen.index()].calendar;
            if (calendar && std::none_of(calendar->begin(), calendar->end(), [&](const auto& w) {
                    return w.from <= placed.start && placed.start < w.to;
                })) {
                return true;
            }
        }
    }
    return false;
}

// What has begun has its random variation in its lengths already; the rest meets it as it goes.
bool Policy::keep_plan(Reality& reality, SimulatedDay& simulated) const {
    for (const auto& b : reality.problem.begun)
        apply_factor(reality, b.operation.index());
    const engine::RemainingProblem present(reality.problem);
    const engine::CompiledProblem compiled(present.problem());
    engine::FlatSchedule plan;
    if (!plan_of_day(reality, present, compiled, plan)) return false;
    engine::Executor executor(compiled);
    executor.plan(plan);
    engine::Durations durations = engine::Durations::planned(compiled);
    for (std::size_t i = 0; i < reality.factor.size(); ++i) {
        const auto modes = compiled.operations[i].modes;
        for (std::int32_t m = modes.begin; m < modes.end; ++m) {
            const std::size_t k = static_cast<std::size_t>(m);
            if (compiled.modes[k].stages.size() > 0) {
                durations.drying[k] = reality.factor[i];
            } else {
                durations.work[k] =
                    real_work(Seconds{durations.work[k]}, reality.factor[i]).count();
            }
        }
    }
    const auto& result = executor.run(
        durations, {.recourse = kind_ == Kind::KeepTimes ? engine::Recourse::KeepTimes
                                                         : engine::Recourse::KeepOrder});
    if (!result.complete) return false;
    simulated.complete = true;
    simulated.misses = static_cast<int>(result.misses.size());
    simulated.schedule = engine::to_schedule(compiled, executor.happened());
    for (std::size_t i = 0; i < simulated.schedule.placements.size(); ++i) {
        auto& batch = simulated.schedule.placements[i].batch;  // members go together as planned
        if (plan.batch[i] >= 0) batch = plan.batch[i];
    }
    simulated.schedule = present.whole(std::move(simulated.schedule));
    apply_factors(reality);
    simulated.objective = core::evaluate(reality.problem, simulated.schedule).parts;
    return true;
}

SimulatedDay Policy::live(Reality& reality) const {
    SimulatedDay simulated;
    const bool kept = kind_ == Kind::KeepOrder || kind_ == Kind::KeepTimes;
    if (kept && !somebody_is_missing(reality) && keep_plan(reality, simulated)) return simulated;
    std::vector<engine::Tick> planned;
    if (kind_ == Kind::Review) {
        for (const int nominal : reality.nominal)
            planned.push_back(length_[static_cast<std::size_t>(nominal)]);
    }
    SimulatedDay free = live_by_keys(reality, keys(reality), planned);
    free.improvised = kept;
    return free;
}

namespace {

/// By priorities, lower first. False: that leads to no end.
bool live_once(const Reality& reality, const std::vector<double>& key,
               std::span<const engine::Tick> planned, SimulatedDay& simulated) {
    engine::Sequence sequence = sequence_by(key);
    sequence.lookahead = 0;  // nobody knows what comes: work is taken up as it becomes ready
    sequence.reserve = agreed_ahead;
    const engine::RemainingProblem present(reality.problem);
    const engine::CompiledProblem compiled(present.problem());
    engine::Decoder decoder(compiled);
    if (!planned.empty()) {
        ReviewScratch scratch;
        if (!decode_with_reviews(decoder, {}, key, planned, sequence, scratch)) return false;
    } else if (!decoder.decode(sequence)) {
        return false;
    }
    simulated.complete = true;
    simulated.schedule = present.whole(decoder.to_schedule());
    simulated.objective = reality.problem.now
                              ? core::evaluate(reality.problem, simulated.schedule).parts
                              : decoder.value();
    return true;
}

}  // namespace

SimulatedDay live_by_keys(Reality& reality, const std::vector<double>& key,
                          std::span<const engine::Tick> planned) {
    SimulatedDay simulated;
    apply_factors(reality);
    if (live_once(reality, key, planned, simulated) || !reality.problem.now) return simulated;
    // Random variation breaks limits that run already: what they hurry goes first, as soon as
    // somebody can.
    const auto limits = take_limits_out(reality.problem);
    std::vector<double> hurried = key;
    for (const auto& limit : limits)
        hurried[limit.lag.from.index()] = hurried[limit.lag.to.index()] =
            std::numeric_limits<double>::lowest();
    for (const auto& b : reality.problem.begun) {
        if (b.batch && !b.end) hurried[b.operation.index()] = std::numeric_limits<double>::lowest();
    }
    bool ends = live_once(reality, hurried, planned, simulated);
    for (int minutes = 1; !ends && minutes <= 32; minutes *= 2) {
        if (!prolong_batches(reality.problem, model::minutes(minutes))) break;
        ends = live_once(reality, hurried, planned, simulated);
    }
    if (ends) simulated.misses = put_kept_limits_back(limits, simulated.schedule, reality.problem);
    return simulated;
}

}  // namespace sched::study
