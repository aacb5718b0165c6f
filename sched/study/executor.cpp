#include "sched/study/executor.hpp"

#include <algorithm>
#include <map>
#include <numeric>

namespace sched::study {

namespace {

double planned_second(core::SimTime t) {
    return static_cast<double>(t.time_since_epoch().count());
}

}  // namespace

std::unique_ptr<Policy> Policy::make(const std::string& name, const compile::RoomProblem& nominal,
                                     const core::Schedule* plan) {
    auto policy = std::make_unique<Policy>();
    if (name == "follow") {
        if (plan == nullptr) return nullptr;
        policy->follow(nominal.problem, *plan);
        return policy;
    }
    for (const auto& rule : engine::rules()) {
        if (name == rule.name) {
            policy->obey(nominal, rule);
            return policy;
        }
    }
    return nullptr;
}

void Policy::follow(const core::Problem& nominal, const core::Schedule& plan) {
    follows_ = true;
    const std::size_t run = plan.placements.size();
    key_.assign(nominal.operations.size(), 0.0);
    mode_.assign(run, -1);
    choice_.assign(run, 0);
    join_.assign(run, 0);
    std::map<int, std::size_t> first_of_batch;
    for (std::size_t i = 0; i < run; ++i) {
        const auto& placed = plan.placements[i];
        key_[i] = planned_second(placed.start);
        mode_[i] = static_cast<std::int16_t>(placed.mode);
        const auto& mode = nominal.operations[i].modes[static_cast<std::size_t>(placed.mode)];
        for (std::size_t n = 0; n < mode.needs.size(); ++n) {
            const auto& any_of = mode.needs[n].any_of;
            if (any_of.size() < 2) continue;
            const auto at = std::find(any_of.begin(), any_of.end(), placed.chosen[n]);
            choice_[i] = static_cast<std::uint8_t>(at - any_of.begin());
            break;
        }
        if (placed.batch && first_of_batch.try_emplace(*placed.batch, i).second) {
            join_[i] = 1;  // whoever was first in a batch opens one here too
        }
    }
}

void Policy::obey(const compile::RoomProblem& nominal, const engine::Rule& rule) {
    // The run on its own, as whoever made a plan by this rule saw it ...
    std::size_t run = nominal.problem.operations.size();
    for (const auto& way : nominal.spare)
        run = std::min(run, static_cast<std::size_t>(way.first));
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

engine::Sequence Policy::sequence(const Reality& reality) const {
    const std::size_t n = reality.nominal.size();
    std::vector<double> key(n);
    std::vector<double> turn_of_job(reality.problem.jobs.size(), 0.0);
    for (std::size_t i = 0; i < n; ++i) {
        const std::size_t nominal = static_cast<std::size_t>(reality.nominal[i]);
        const int attempt = reality.attempt[i];
        if (!follows_) {
            key[i] = key_[nominal];
            continue;
        }
        const core::JobId job = reality.problem.operations[i].job;
        if (attempt == 0) {
            key[i] = key_[nominal];
            if (job.valid()) {
                double& turn = turn_of_job[job.index()];
                turn = std::max(turn, key[i]);
            }
        } else if (attempt > 0) {
            key[i] = turn_of_job[job.index()];  // from the moment it failed
        } else {
            const auto& order =
                reality.problem.orders[reality.problem.jobs[job.index()].order.index()];
            key[i] = planned_second(order.release);
        }
    }
    std::vector<std::int32_t> by(n);
    std::iota(by.begin(), by.end(), 0);
    std::stable_sort(by.begin(), by.end(), [&](std::int32_t a, std::int32_t b) {
        return key[static_cast<std::size_t>(a)] < key[static_cast<std::size_t>(b)];
    });
    engine::Sequence sequence;
    sequence.rank.resize(n);
    for (std::size_t r = 0; r < n; ++r) {
        sequence.rank[static_cast<std::size_t>(by[r])] = static_cast<std::int32_t>(r);
    }
    if (follows_) {
        sequence.mode.assign(n, -1);
        sequence.choice.assign(n, 0);
        sequence.join.assign(n, 0);
        for (std::size_t i = 0; i < n; ++i) {
            if (reality.attempt[i] != 0) continue;
            const std::size_t nominal = static_cast<std::size_t>(reality.nominal[i]);
            sequence.mode[i] = mode_[nominal];
            sequence.choice[i] = choice_[nominal];
            sequence.join[i] = join_[nominal];
        }
    }
    sequence.lookahead = 0;  // nobody knows what comes: work is taken up as it becomes ready
    return sequence;
}

}  // namespace sched::study
