#include "sched/search/project.hpp"

#include <algorithm>
#include <limits>
#include <vector>

#include "sched/core/objective.hpp"
#include "sched/search/bounds.hpp"
#include "sched/search/project_model.hpp"
#include "sched/search/rng.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

namespace {

struct ProjectPlan {
    int makespan = -1;
    std::vector<int> start;
};

/// A steady-state genetic algorithm over left-packed schedules. A child takes the stretch of the
/// father in which he uses the resources most (the "peak" idea of Valls, Ballestín & Quintanilla
/// 2008) and the rest from the mother, is generated from the right and then from the left
/// (forward-backward improvement, Tormos & Lova 2001), and may replace the worse of its own
/// parents.
class ProjectBreeder {
public:
    ProjectBreeder(const ProjectModel& m, std::int64_t bound, Rng rng, Watch& watch)
        : m_(m),
          n_(m.activities),
          members_wanted_(members_for(m.activities)),
          bound_(bound),
          rng_(rng),
          watch_(watch),
          scheme_(m) {
        list_.resize(i(n_));
        key_.resize(i(n_));
        waiting_.resize(i(n_));
        eligible_.reserve(i(n_));
        weight_.assign(i(n_), 0.0);
        for (int a = 0; a < n_; ++a) {
            for (int r = 0; r < m.resources; ++r)
                weight_[i(a)] +=
                    static_cast<double>(m.demand[i(a * m.resources + r)]) / m.capacity[i(r)];
        }
        latest_finish();
    }

    ProjectPlan run() {
        fill();
        while (!over())
            breed();
        return best_;
    }

private:
    struct Member {
        int makespan = std::numeric_limits<int>::max();
        std::vector<int> finish;  // in the member's own direction
    };

    static constexpr double kAlone = 0.3;      // share of children with one parent ...
    static constexpr double kShuffled = 0.1;   // ... of whom this part of the makespan is shuffled
    static constexpr double kHopeless = 1.02;  // so much longer after one pass: no second pass
    static constexpr int kPeaks = 4;           // windows drawn for one crossover
    static constexpr double kMutation = 0.02;  // share of activities whose place is blurred ...
    static constexpr double kBlur = 0.2;       // ... over this part of the makespan

    /// Fewer on large projects, where a budget lasts for fewer generations.
    static int members_for(int activities) {
        return std::clamp(18'000 / std::max(1, activities), 100, 200);
    }

    static std::size_t i(int k) { return static_cast<std::size_t>(k); }
    bool over() { return best_.makespan == bound_ || watch_.spent(); }

    void latest_finish() {
        tail_.assign(i(n_), 0);
        for (auto it = m_.topological.rbegin(); it != m_.topological.rend(); ++it) {
            const int a = *it;
            for (int e = m_.first_after[i(a)]; e < m_.first_after[i(a) + 1]; ++e) {
                const int to = m_.after[i(e)];
                tail_[i(a)] = std::max(tail_[i(a)], tail_[i(to)] + m_.duration[i(to)]);
            }
        }
    }

    /// Keys of a random solution: longest remaining path first, blurred.
    void sample() {
        const int longest = std::max(1, *std::max_element(tail_.begin(), tail_.end()));
        const double blur = longest;
        for (int a = 0; a < n_; ++a)
            key_[i(a)] = -tail_[i(a)] + blur * (rng_.unit() - 0.5);
        list_of_keys(false);
    }

    /// Smallest key first among what may come next in the direction.
    void list_of_keys(bool reversed) {
        const auto& into = reversed ? m_.first_after : m_.first_before;
        const auto& first = reversed ? m_.first_before : m_.first_after;
        const auto& arcs = reversed ? m_.before : m_.after;
        eligible_.clear();
        for (int a = 0; a < n_; ++a) {
            waiting_[i(a)] = into[i(a) + 1] - into[i(a)];
            if (waiting_[i(a)] == 0) eligible_.push_back(a);
        }
        for (int k = 0; k < n_; ++k) {
            std::size_t pick = 0;
            for (std::size_t e = 1; e < eligible_.size(); ++e) {
                if (key_[i(eligible_[e])] < key_[i(eligible_[pick])]) pick = e;
            }
            const int a = eligible_[pick];
            eligible_[pick] = eligible_.back();
            eligible_.pop_back();
            list_[i(k)] = a;
            for (int e = first[i(a)]; e < first[i(a) + 1]; ++e) {
                if (--waiting_[i(arcs[i(e)])] == 0) eligible_.push_back(arcs[i(e)]);
            }
        }
    }

    void generate(bool reversed, Member& out) {
        out.finish.resize(i(n_));
        out.makespan = scheme_.run(list_.data(), reversed, out.finish.data());
        watch_.count();
        // With release dates a schedule from the right may begin too early: only the left ones
        // count then.
        if (m_.released && reversed) return;
        if (best_.makespan >= 0 && out.makespan >= best_.makespan) return;
        best_.makespan = out.makespan;
        best_.start.resize(i(n_));
        for (int a = 0; a < n_; ++a) {
            best_.start[i(a)] =
                reversed ? out.makespan - out.finish[i(a)] : out.finish[i(a)] - m_.duration[i(a)];
        }
        watch_.show(best_.makespan);
        if (best_.makespan <= bound_) watch_.proven();
    }

    /// The same order from the other side.
    void justify(const Member& from, bool reversed, Member& to) {
        for (int a = 0; a < n_; ++a)
            key_[i(a)] = -from.finish[i(a)];
        list_of_keys(reversed);
        generate(reversed, to);
    }

    /// A window of the father in which he uses the resources most, out of a few drawn ones.
    void peak(const Member& father, double& from, double& to) {
        double best = -1.0;
        for (int k = 0; k < kPeaks; ++k) {
            const double length = father.makespan * (0.1 + 0.4 * rng_.unit());
            const double begin = rng_.unit() * (father.makespan - length);
            double sum = 0.0;
            for (int a = 0; a < n_; ++a) {
                const double f = father.finish[i(a)];
                const double s = f - m_.duration[i(a)];
                const double inside = std::min(f, begin + length) - std::max(s, begin);
                if (inside > 0) sum += inside * weight_[i(a)];
            }
            sum /= length;
            if (sum > best) {
                best = sum;
                from = begin;
                to = begin + length;
            }
        }
    }

    void child_keys(const Member& mother, const Member& father) {
        double from = 0.0;
        double to = 0.0;
        peak(father, from, to);
        constexpr double kApart = 1e10;  // the father's stretch stays together
        for (int a = 0; a < n_; ++a) {
            const double f = father.finish[i(a)];
            const double m = mother.finish[i(a)];
            double key = f > from && f <= to ? f : (m <= from ? m - kApart : m + kApart);
            if (rng_.unit() < kMutation) key += mother.makespan * kBlur * (rng_.unit() - 0.5);
            key_[i(a)] = -key;
        }
    }

    /// The parent with the activities of a random stretch of time in random order.
    void shuffled_keys(const Member& parent) {
        const double length = kShuffled * parent.makespan;
        const double from = rng_.unit() * (parent.makespan + length) - length;
        for (int a = 0; a < n_; ++a) {
            double key = parent.finish[i(a)];
            const double middle = key - 0.5 * m_.duration[i(a)];
            if (middle >= from && middle < from + length) key = from + length * rng_.unit();
            key_[i(a)] = -key;
        }
    }

    static std::uint64_t fingerprint(const Member& m) {
        std::uint64_t h = 1469598103934665603u;  // FNV-1a
        for (const int f : m.finish)
            h = (h ^ static_cast<std::uint64_t>(f)) * 1099511628211u;
        return h;
    }

    void fill() {
        while (static_cast<int>(members_.size()) < members_wanted_ && !over()) {
            sample();
            generate(false, forth_);
            if (over()) return;
            justify(forth_, true, back_);
            if (over()) return;
            justify(back_, false, forth_);
            members_.push_back(forth_);
            fingerprints_.push_back(fingerprint(forth_));
        }
    }

    int tournament() {
        const int a = rng_.below(members_wanted_);
        const int b = rng_.below(members_wanted_);
        return members_[i(b)].makespan < members_[i(a)].makespan ? b : a;
    }

    void breed() {
        const int mother = tournament();
        int father = tournament();
        if (father == mother)
            father = (father + 1 + rng_.below(members_wanted_ - 1)) % members_wanted_;
        if (rng_.unit() < kAlone) {
            father = mother;
            shuffled_keys(members_[i(mother)]);
        } else {
            child_keys(members_[i(mother)], members_[i(father)]);
        }
        list_of_keys(true);
        generate(true, back_);
        if (over()) return;
        const int worse =
            members_[i(mother)].makespan >= members_[i(father)].makespan ? mother : father;
        if (back_.makespan > kHopeless * members_[i(worse)].makespan) return;
        justify(back_, false, forth_);
        const std::uint64_t print = fingerprint(forth_);
        if (std::find(fingerprints_.begin(), fingerprints_.end(), print) != fingerprints_.end())
            return;
        if (forth_.makespan > members_[i(worse)].makespan) return;
        std::swap(members_[i(worse)], forth_);
        fingerprints_[i(worse)] = print;
    }

    const ProjectModel& m_;
    int n_;
    int members_wanted_;
    std::int64_t bound_;
    Rng rng_;
    Watch& watch_;
    SerialScheme scheme_;
    ProjectPlan best_;
    Member back_, forth_;
    std::vector<Member> members_;
    std::vector<std::uint64_t> fingerprints_;
    std::vector<int> list_, waiting_, eligible_, tail_;
    std::vector<double> key_, weight_;
};

}  // namespace

core::Solution solve_project(const core::Problem& problem, const SearchOptions& options) {
    core::Solution solution;
    const auto project = project_of(problem);
    if (!project) return solution;
    SharedWatch shared(options);
    std::int64_t bound = project_makespan_bound(*project);
    if (project->activities <= 5000) bound = std::max(bound, lower_bounds(problem).parts[0]);
    const int starts = number_of_starts(options, 100'000);
    struct Start {
        ProjectPlan plan;
        std::int64_t evaluations = 0;
    };
    const auto results = run_starts<Start>(shared, starts, [&](int start, Watch& watch) {
        Start s;
        s.plan = ProjectBreeder(*project, bound,
                                Rng(options.seed, static_cast<std::uint64_t>(start)), watch)
                     .run();
        s.evaluations = watch.evaluations();
        return s;
    });
    const ProjectPlan* best = nullptr;
    for (const auto& r : results) {
        solution.evaluations += r.evaluations;
        if (r.plan.makespan >= 0 && (best == nullptr || r.plan.makespan < best->makespan))
            best = &r.plan;
    }
    solution.bound.parts = {bound};
    solution.interrupted = shared.interrupted;
    if (best == nullptr) return solution;
    core::Schedule schedule;
    for (std::size_t o = 0; o < problem.operations.size(); ++o) {
        core::Placement at;
        at.start = problem.horizon_start + core::Seconds{best->start[o]};
        at.work_end = at.end = at.start + core::Seconds{project->duration[o]};
        for (const auto& need : problem.operations[o].modes[0].needs)
            at.chosen.push_back(need.any_of[0]);
        schedule.placements.push_back(std::move(at));
    }
    solution.schedule = std::move(schedule);
    solution.value = core::evaluate(problem, *solution.schedule);
    solution.status =
        solution.value == solution.bound ? core::Status::Optimal : core::Status::Feasible;
    return solution;
}

}  // namespace sched::search
