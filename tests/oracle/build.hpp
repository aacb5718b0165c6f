#pragma once
// Textbook problems as core::Problems. One unit of the books is one second.

#include <algorithm>
#include <numeric>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sched/core/problem.hpp"
#include "sched/core/schedule.hpp"

namespace oracle {

using namespace sched::core;

inline SimTime at(std::int64_t t) {
    return SimTime{Seconds{t}};
}
inline std::int64_t number(SimTime t) {
    return t.time_since_epoch().count();
}

/// A job of one operation, as the books list them.
struct Task {
    std::int64_t p = 0;
    std::optional<std::int64_t> d = std::nullopt;  // due
    std::int64_t w = 1;
    std::int64_t r = 0;
};

class Builder {
public:
    explicit Builder(std::vector<Criterion> objective) { p_.objective = std::move(objective); }

    ResourceId resource(int capacity = 1) {
        p_.resources.push_back(
            {.name = "M" + std::to_string(p_.resources.size() + 1), .capacity = capacity});
        return ResourceId{p_.resources.size() - 1};
    }
    JobId job(const Task& t = {}) {
        sched::core::Order o{
            .name = "J" + std::to_string(p_.orders.size() + 1), .release = at(t.r), .weight = t.w};
        if (t.d) o.due = at(*t.d);
        p_.orders.push_back(o);
        p_.jobs.push_back({.name = o.name, .order = OrderId{p_.orders.size() - 1}});
        latest_ = std::max(latest_, t.r);
        return JobId{p_.jobs.size() - 1};
    }
    /// @param where any one of these; none: needs nothing.
    OperationId operation(JobId job, std::int64_t p, std::vector<ResourceId> where = {}) {
        Mode mode{.work = Seconds{p}};
        if (!where.empty()) mode.needs.push_back({.any_of = std::move(where)});
        p_.operations.push_back({.name = "T" + std::to_string(p_.operations.size() + 1),
                                 .job = job,
                                 .modes = {std::move(mode)}});
        work_ += p;
        return OperationId{p_.operations.size() - 1};
    }
    void before(OperationId a, OperationId b, std::int64_t lag = 0) {
        p_.constraints.push_back(
            TimeLag{.from = a, .edge = Edge::End, .to = b, .min = Seconds{lag}});
    }
    Problem& raw() { return p_; }
    Problem done() {
        p_.horizon_end = at(latest_ + work_ + 1);
        return p_;
    }

private:
    Problem p_;
    std::int64_t latest_ = 0;
    std::int64_t work_ = 0;
};

/// 1 | r_j | objective; operation k is task k.
inline Problem one_machine(const std::vector<Task>& tasks, std::vector<Criterion> objective) {
    Builder b(std::move(objective));
    const auto m = b.resource();
    for (const auto& t : tasks)
        b.operation(b.job(t), t.p, {m});
    return b.done();
}

/// The same with the greatest lateness as makespan: each task is followed by a tail of `longest` -
/// d that needs nothing, so that makespan = Lmax + longest. Tasks are operations 0 .. n-1.
inline Problem one_machine_lateness(const std::vector<Task>& tasks, std::int64_t longest) {
    Builder b({Criterion::Makespan});
    const auto m = b.resource();
    std::vector<OperationId> bodies;
    for (const auto& t : tasks)
        bodies.push_back(b.operation(b.job(t), t.p, {m}));
    for (std::size_t k = 0; k < tasks.size(); ++k) {
        const auto tail = b.operation(b.raw().operations[k].job, longest - *tasks[k].d);
        b.before(bodies[k], tail);
    }
    return b.done();
}

/// Fm || Cmax; times[machine][job]; operation job * machines + machine.
inline Problem flow_shop(const std::vector<std::vector<std::int64_t>>& times) {
    Builder b({Criterion::Makespan});
    for (std::size_t m = 0; m < times.size(); ++m)
        b.resource();
    for (std::size_t j = 0; j < times[0].size(); ++j) {
        const auto job = b.job();
        for (std::size_t m = 0; m < times.size(); ++m) {
            const auto op = b.operation(job, times[m][j], {ResourceId{m}});
            if (m > 0) b.before(OperationId{op.index() - 1}, op);
        }
    }
    return b.done();
}

/// J || Cmax; per job (machine, time) in order of processing.
inline Problem job_shop(int machines,
                        const std::vector<std::vector<std::pair<int, std::int64_t>>>& jobs) {
    Builder b({Criterion::Makespan});
    for (int m = 0; m < machines; ++m)
        b.resource();
    for (const auto& steps : jobs) {
        const auto job = b.job();
        std::optional<OperationId> last;
        for (const auto& [machine, p] : steps) {
            const auto op = b.operation(job, p, {ResourceId{machine}});
            if (last) b.before(*last, op);
            last = op;
        }
    }
    return b.done();
}

/// P | prec | objective as one resource of m units.
inline Problem identical_machines(int m, const std::vector<Task>& tasks,
                                  std::vector<Criterion> objective) {
    Builder b(std::move(objective));
    const auto pool = b.resource(m);
    for (const auto& t : tasks)
        b.operation(b.job(t), t.p, {pool});
    return b.done();
}

/// P | prec | Cmax with m machines that are told apart; before: pairs of operations.
inline Problem processors(int m, const std::vector<std::int64_t>& p,
                          const std::vector<std::pair<int, int>>& before) {
    Builder b({Criterion::Makespan});
    std::vector<ResourceId> all;
    for (int k = 0; k < m; ++k)
        all.push_back(b.resource());
    for (const auto t : p)
        b.operation(b.job(), t, all);
    for (const auto& [from, to] : before)
        b.before(OperationId{from}, OperationId{to});
    return b.done();
}

}  // namespace oracle
