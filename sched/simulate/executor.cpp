// How it works: a policy is a key for every operation, from the plan's starts or from a
// dispatching rule, known before the day (under review they are ranked again from what is
// left). The day is decoded by these keys; a plan is also followed by its agreements
// (baseline.hpp). Where that leads to no end, a freer sequence is tried, and limits that random
// variation has broken hurry what they concern.

#include "sched/simulate/executor.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <map>
#include <numeric>

#include "sched/core/index.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/simulate/review.hpp"
#include "sched/simulate/running_limits.hpp"

namespace sched::study {

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

/// As DayRun does it: what nobody planned stands as far behind what it is like as it is due later.
double later_due(const Reality& reality, std::size_t operation, const core::Problem& nominal) {
    const core::JobId job = reality.problem.operations[operation].job;
    const core::JobId like = nominal.operations[ix(reality.nominal[operation])].job;
    if (!job.valid() || !like.valid()) return 0.0;
    const auto& due = reality.problem.orders[reality.problem.jobs[job.index()].order.index()].due;
    const auto& planned = nominal.orders[nominal.jobs[like.index()].order.index()].due;
    return due && planned ? static_cast<double>((*due - *planned).count()) : 0.0;
}

// Who has begun a block has booked all of it: of a day under way what is left of those goes first,
// in the order in which they began.
void rests_first(const engine::CompiledProblem& compiled, engine::Sequence& sequence) {
    if (compiled.rests.empty()) return;
    std::vector<engine::Tick> begun(compiled.operations.size(), engine::never);
    for (const engine::CompiledBegun& b : compiled.begun)
        begun[ix(b.operation)] = b.start;
    std::vector<engine::Tick> key(compiled.operations.size(), engine::never);
    for (const std::int32_t b : compiled.rests) {
        const auto operations = compiled.ops_of(compiled.blocks[ix(b)]);
        engine::Tick first = engine::never;
        for (const std::int32_t op : operations)
            first = std::min(first, begun[ix(op)]);
        for (const std::int32_t op : operations)
            key[ix(op)] = first;
    }
    std::vector<std::int32_t> by(key.size());
    std::iota(by.begin(), by.end(), 0);
    std::sort(by.begin(), by.end(), [&](std::int32_t a, std::int32_t b) {
        return std::pair(key[ix(a)], sequence.rank[ix(a)]) <
               std::pair(key[ix(b)], sequence.rank[ix(b)]);
    });
    for (std::size_t r = 0; r < by.size(); ++r)
        sequence.rank[ix(by[r])] = static_cast<std::int32_t>(r);
}

std::size_t run_of(const compile::RoomProblem& nominal) {
    std::size_t run = nominal.problem.operations.size();
    for (const auto& way : nominal.spare)
        run = std::min(run, static_cast<std::size_t>(way.first));
    return run;
}

}  // namespace

std::unique_ptr<Policy> Policy::make(const std::string& name, const compile::RoomProblem& nominal,
                                     const core::Schedule* plan, const core::Schedule* turns) {
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
        policy->follow(*plan, turns);
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

std::unique_ptr<Policy> Policy::list(const compile::RoomProblem& nominal,
                                     std::vector<double> turns) {
    auto policy = std::make_unique<Policy>();
    policy->nominal_ = &nominal;
    policy->kind_ = Kind::List;
    policy->key_ = std::move(turns);
    return policy;
}

void Policy::follow(const core::Schedule& plan, const core::Schedule* turns) {
    core::Problem whole = nominal_->problem;
    whole.now.reset();
    whole.begun.clear();
    core::Schedule of_run = plan;
    if (of_run.placements.size() > run_of(*nominal_)) of_run.placements.resize(run_of(*nominal_));
    agreements_ = std::make_unique<engine::Agreements>(engine::CompiledProblem(whole), of_run);
    key_.assign(nominal_->problem.operations.size(), 0.0);
    // What starts together goes in the order of the agreements.
    const auto& turn = turns != nullptr ? turns->placements : of_run.placements;
    for (std::size_t i = 0; i < of_run.placements.size(); ++i)
        key_[i] = planned_second(turn[i].start) + 1e-5 * agreements_->rank()[i];
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
        if (kind_ == Kind::List) {
            key[i] += later_due(reality, i, nominal_->problem);
            continue;
        }
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

SimulatedDay Policy::simulate(Reality& reality) const {
    // Of work under way nobody knows how long it will be: where that is drawn the day is a list
    // from the start, its people and places those of the plan.
    const bool drawn = std::any_of(reality.factor.begin(), reality.factor.end(),
                                   [](double f) { return f != 1.0; }) ||
                       reality.remakes > 0 || reality.absences > 0 || reality.failures > 0 ||
                       reality.late_films > 0 || reality.rush() > 0;
    FollowedPlan follow;
    follow.listed = kind_ == Kind::List;
    if (agreements_) {
        follow = {.agreements = agreements_.get(),
                  .recourse = recourse(),
                  .known = reality.problem.begun.empty() || !drawn,
                  .place = std::vector<std::int32_t>(agreements_->planned(), -1)};
        for (std::size_t i = 0; i < reality.nominal.size(); ++i) {
            if (reality.attempt[i] == 0)
                follow.place[ix(reality.nominal[i])] = static_cast<std::int32_t>(i);
        }
    }
    std::vector<engine::Tick> planned;
    if (kind_ == Kind::Review) {
        for (const int nominal : reality.nominal)
            planned.push_back(length_[static_cast<std::size_t>(nominal)]);
    }
    SimulatedDay simulated = simulate_by_keys(reality, keys(reality), planned, follow);
    if (simulated.complete || follow.agreements == nullptr) return simulated;
    // The plan leads to no end on this day: a little freer, then as a list from the start.
    if (follow.recourse != engine::Recourse::Free) {
        follow.recourse = engine::Recourse::Free;
        simulated = simulate_by_keys(reality, keys(reality), planned, follow);
    }
    if (!simulated.complete) simulated = simulate_by_keys(reality, keys(reality), planned);
    simulated.improvised = true;
    return simulated;
}

namespace {

/// By priorities, lower first. False: that leads to no end.
bool simulate_one_way(const Reality& reality, const std::vector<double>& key,
                      std::span<const engine::Tick> planned, const FollowedPlan& follow,
                      SimulatedDay& simulated) {
    engine::Sequence sequence = sequence_of(key);
    const engine::RemainingProblem present(reality.problem);
    const engine::CompiledProblem compiled(present.problem());
    engine::Baseline baseline;
    if (follow.agreements != nullptr) {
        baseline.set(compiled, *follow.agreements, follow.place, follow.recourse);
        baseline.known = follow.known;
        sequence.baseline = &baseline;
    }
    engine::Decoder decoder(compiled);
    if (follow.listed) {
        if (!decode_list(decoder, compiled, sequence)) return false;
    } else if (!planned.empty()) {
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

/// Where limits of hours are missed all the same, more of what they tie is booked at once.
bool simulate_once(Reality& reality, const std::vector<double>& key,
                   std::span<const engine::Tick> planned, const FollowedPlan& follow,
                   SimulatedDay& simulated) {
    const core::Ties before = reality.problem.ties;
    bool ends = simulate_one_way(reality, key, planned, follow, simulated);
    for (auto ties = core::tighter(reality.problem); !ends && ties;
         ties = core::tighter(reality.problem)) {
        reality.problem.ties = *ties;
        ends = simulate_one_way(reality, key, planned, follow, simulated);
    }
    reality.problem.ties = before;
    return ends;
}

}  // namespace

SimulatedDay simulate_by_keys(Reality& reality, const std::vector<double>& key,
                              std::span<const engine::Tick> planned, const FollowedPlan& follow) {
    SimulatedDay simulated;
    apply_factors(reality);
    if (simulate_once(reality, key, planned, follow, simulated) || !reality.problem.now)
        return simulated;
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
    FollowedPlan hurrying = follow;
    hurrying.listed = false;
    bool ends = simulate_once(reality, hurried, planned, hurrying, simulated);
    for (int minutes = 1; !ends && minutes <= 32; minutes *= 2) {
        if (!prolong_batches(reality.problem, model::minutes(minutes))) break;
        ends = simulate_once(reality, hurried, planned, hurrying, simulated);
    }
    if (ends) simulated.misses = put_kept_limits_back(limits, simulated.schedule, reality.problem);
    return simulated;
}

std::vector<double> turns_of_room(const compile::RoomProblem& nominal,
                                  const std::vector<double>& run) {
    std::map<std::array<int, 4>, double> of_step;  // screen, step, part, round
    std::map<int, double> first;                   // screen
    const auto name = [&](std::size_t i) {
        const auto& info = nominal.operations[i];
        return std::array<int, 4>{info.screen, static_cast<int>(info.step),
                                  static_cast<int>(info.part), info.round};
    };
    for (std::size_t i = 0; i < run.size(); ++i) {
        if (nominal.operations[i].screen < 0) continue;
        of_step.emplace(name(i), run[i]);
        const auto [at, added] = first.emplace(nominal.operations[i].screen, run[i]);
        if (!added) at->second = std::min(at->second, run[i]);
    }
    std::vector<double> turns = run;
    turns.resize(nominal.problem.operations.size(), 0.0);
    for (const auto& way : nominal.spare) {
        for (int i = way.first; i < way.first + way.count; ++i) {
            const auto same = of_step.find(name(ix(i)));
            const auto any = first.find(way.screen);
            turns[ix(i)] = same != of_step.end() ? same->second
                           : any != first.end()  ? any->second
                                                 : 0.0;
        }
    }
    return turns;
}

engine::Sequence sequence_of(const std::vector<double>& turns) {
    engine::Sequence sequence = sequence_by(turns);
    sequence.lookahead = 0;  // nobody knows what comes: work is taken up as it becomes ready
    sequence.keeps_turn = true;
    return sequence;
}

bool decode_list(engine::Decoder& decoder, const engine::CompiledProblem& compiled,
                 const engine::Sequence& sequence) {
    if (!compiled.rests.empty()) {
        engine::Sequence rests = sequence;
        rests_first(compiled, rests);
        if (decoder.decode(rests)) return true;
    }
    return decoder.decode(sequence);
}

std::optional<core::Schedule> schedule_of_list(const core::Problem& problem,
                                               const std::vector<double>& turns) {
    const engine::RemainingProblem remaining(problem);
    const engine::CompiledProblem compiled(remaining.problem());
    engine::Decoder decoder(compiled);
    if (decode_list(decoder, compiled, sequence_of(turns)))
        return remaining.whole(decoder.to_schedule());
    const auto ties = core::tighter(problem);
    if (!ties) return std::nullopt;
    core::Problem tied = problem;
    tied.ties = *ties;
    return schedule_of_list(tied, turns);
}

}  // namespace sched::study
