// How it works: one stage for each criterion, those before it held at their optimum. A stage
// branches, learns and restarts in Luby's rhythm; each schedule found tightens the bound to
// "better than the best", and now and then a value near the lower bound is tried, whose
// refutation lifts the bound. A stage that ends proves its criterion.

#include "sched/search/exact/exact.hpp"

#include <algorithm>
#include <chrono>
#include <limits>
#include <memory>

#include "sched/core/objective.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/exact/exact_model.hpp"

namespace sched::search {

using core::Problem;
using core::Status;

namespace {

/// Restart lengths 1 1 2 1 1 2 4 ... (Luby, Sinclair, Zuckerman 1993).
std::int64_t luby(std::int64_t i) {
    std::int64_t size = 1;
    while (size < i + 1)
        size = 2 * size + 1;
    while (size - 1 != i) {
        size = (size - 1) / 2;
        i %= size;
    }
    return (size + 1) / 2;
}

class ExactSearch {
public:
    ExactSearch(const Problem& problem, const SearchOptions& options)
        : p_(problem), options_(options), begun_(std::chrono::steady_clock::now()) {}

    core::Solution run(const core::Schedule* incumbent) {
        if (incumbent) take(*incumbent);
        proved_ = lower_bounds(p_).parts;
        bool complete = true;
        const std::size_t stages = std::max<std::size_t>(1, p_.objective.size());
        for (std::size_t k = 0; k < stages && complete; ++k) {
            complete = stage(k);
            if (complete && !best_) {
                solution_.status = Status::Infeasible;
                solution_.evaluations = spent_;
                return std::move(solution_);
            }
        }
        solution_.evaluations = spent_;
        solution_.interrupted = !complete;
        if (best_) {
            solution_.status = complete ? Status::Optimal : Status::Feasible;
            solution_.schedule = std::move(best_);
            solution_.value = value_;
        }
        solution_.bound.parts = proved_;
        return std::move(solution_);
    }

private:
    void take(const core::Schedule& s) {
        core::Value v = core::evaluate(p_, s);
        if (best_ && !(v < value_)) return;
        best_ = s;
        value_ = std::move(v);
    }

    bool out() {
        if (options_.stop && options_.stop()) return stopped_ = true;
        const double now = seconds();
        if (options_.progress && now >= next_progress_) {
            next_progress_ = now + 0.5;
            core::Value bound{proved_};
            options_.progress({spent_, now, best_ ? &value_ : nullptr, &bound});
        }
        if (options_.budget.seconds && now >= *options_.budget.seconds) stopped_ = true;
        return stopped_;
    }

    double seconds() const {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun_).count();
    }

    /// Minimises criterion k. @returns true when that is done: proved, or proved infeasible.
    bool stage(std::size_t k) {
        const bool has_objective = k < p_.objective.size();
        if (!has_objective && best_) return true;
        const std::vector<std::int64_t> fixed(
            value_.parts.begin(),
            value_.parts.begin() + static_cast<std::ptrdiff_t>(best_ ? k : 0));
        ExactModel model(p_, fixed);
        lcg::Engine& e = model.engine();
        ExactBrancher brancher(model);
        if (best_) {
            model.follow(*best_);
            if (!e.refuted()) improve(model, k);
        }
        if (has_objective && !e.refuted()) {
            e.tighten_root({model.objective(),
                            static_cast<int>(model.scaled(proved_[k] + model.unscaled(1) - 1))});
        }
        const std::int64_t base = e.conflicts();
        std::int64_t next_reduce = 8000;
        int probe_step = 1;
        std::int64_t next_probe = 3;
        std::int64_t probe_gap = 4;
        for (std::int64_t run = 0; !e.refuted(); ++run) {
            if (k == 0 && model.objective() >= 0) note_bound(model);
            lcg::Limits limits;
            limits.conflicts = luby(run) * 250;
            std::int64_t left = std::numeric_limits<std::int64_t>::max();
            if (options_.budget.evaluations)
                left = std::max<std::int64_t>(*options_.budget.evaluations - spent_, 0);
            if (left == 0) stopped_ = true;
            limits.conflicts = std::min(limits.conflicts, left);
            if (out()) return false;
            limits.stop = [this] { return out(); };
            const bool by_activity = run >= 2 && (best_ || run % 2 == 0);
            const std::int64_t before = e.conflicts();
            // Now and then: would something close to the bound do? A refutation lifts the bound.
            lcg::Lit first;
            int target = 0;
            if (model.objective() >= 0 && run >= next_probe) {
                const int low = e.lb(model.objective());
                const int high = best_ ? e.ub(model.objective()) : std::numeric_limits<int>::max();
                target = high - low < probe_step ? low + (high - low) / 2 : low + probe_step - 1;
                first = {lcg::flipped(model.objective()), -target};
                limits.conflicts = std::min(std::max<std::int64_t>(limits.conflicts, 250), left);
            }
            const lcg::Answer answer = e.search(brancher, limits, by_activity, first);
            spent_ += e.conflicts() - before;
            if (first.valid()) {
                if (!e.refuted() && e.lb(model.objective()) > target) {
                    probe_step = std::min(probe_step * 2, 1 << 20);
                    probe_gap = 4;
                } else {
                    if (probe_step == 1) probe_gap = std::min<std::int64_t>(probe_gap * 2, 96);
                    probe_step = std::max(probe_step / 2, 1);
                }
                next_probe = run + probe_gap;
            }
            if (answer == lcg::Answer::Satisfied) {
                ++spent_;
                take(model.schedule());
                model.follow_current();
                e.backtrack(0);
                if (!has_objective) return true;
                if (!improve(model, k)) break;
            }
            if (!e.refuted() && e.conflicts() - base >= next_reduce) {
                e.reduce();
                next_reduce = e.conflicts() - base + 8000 + 300 * ++reductions_;
            }
        }
        if (k == 0 && best_ && has_objective) proved_[0] = value_.parts[0];
        return true;
    }

    void note_bound(const ExactModel& model) {
        const std::int64_t b =
            model.unscaled(const_cast<ExactModel&>(model).engine().lb(model.objective()));
        proved_[0] = std::max(proved_[0], best_ ? std::min(b, value_.parts[0]) : b);
    }

    /// From now on only what is better than the best counts.
    bool improve(ExactModel& model, std::size_t k) {
        const std::int64_t below = model.scaled(value_.parts[k]) - 1;
        if (below < model.engine().lb(model.objective())) {
            return model.engine().tighten_root({model.objective(), static_cast<int>(below) + 1}) &&
                   model.engine().tighten_root(
                       {lcg::flipped(model.objective()), static_cast<int>(-below)});
        }
        return model.engine().tighten_root(
            {lcg::flipped(model.objective()), static_cast<int>(-below)});
    }

    const Problem& p_;
    const SearchOptions& options_;
    std::chrono::steady_clock::time_point begun_;
    double next_progress_ = 0.5;
    core::Solution solution_;
    std::optional<core::Schedule> best_;
    core::Value value_;
    std::vector<std::int64_t> proved_;
    std::int64_t spent_ = 0;
    std::int64_t reductions_ = 0;
    bool stopped_ = false;
};

}  // namespace

core::Solution solve_exact(const Problem& problem, const SearchOptions& options,
                           const core::Schedule* incumbent) {
    if (!exact_supports(problem)) {
        core::Solution unknown;
        unknown.bound = lower_bounds(problem);
        if (incumbent) {
            unknown.status = Status::Feasible;
            unknown.schedule = *incumbent;
            unknown.value = core::evaluate(problem, *incumbent);
        }
        return unknown;
    }
    return ExactSearch(problem, options).run(incumbent);
}

}  // namespace sched::search
