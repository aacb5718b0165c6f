#include "tests/oracle/brute_force.hpp"

#include <limits>
#include <variant>

#include "sched/core/objective.hpp"

namespace oracle {

namespace {

/// start(to) >= start(from) + length; from = n is time 0.
struct Arc {
    std::size_t from;
    std::size_t to;
    std::int64_t length;
};

std::int64_t work(const Problem& p, std::size_t i) {
    return p.operations[i].modes[0].work.count();
}

void read_constraints(const Problem& p, std::vector<Arc>& arcs) {
    const std::size_t zero = p.operations.size();
    for (const auto& c : p.constraints) {
        if (const auto* lag = std::get_if<TimeLag>(&c)) {
            const std::size_t a = lag->from.index();
            const std::size_t b = lag->to.index();
            const std::int64_t offset = lag->edge == Edge::Start ? 0 : work(p, a);
            arcs.push_back({a, b, offset + lag->min.count()});
            if (lag->max) arcs.push_back({b, a, -offset - lag->max->count()});
        } else if (const auto* w = std::get_if<StartWindow>(&c)) {
            if (w->not_before) arcs.push_back({zero, w->operation.index(), number(*w->not_before)});
            if (w->not_after) arcs.push_back({w->operation.index(), zero, -number(*w->not_after)});
        }
    }
    for (std::size_t i = 0; i < zero; ++i) {
        arcs.push_back({zero, i, number(p.horizon_start)});
        arcs.push_back({i, zero, work(p, i) - number(p.horizon_end)});
        if (!p.operations[i].job.valid()) continue;
        const auto& order = p.orders[p.jobs[p.operations[i].job.index()].order.index()];
        arcs.push_back({zero, i, number(order.release)});
        if (order.deadline) arcs.push_back({i, zero, work(p, i) - number(*order.deadline)});
    }
}

std::optional<std::vector<std::int64_t>> longest_paths(const std::vector<Arc>& arcs,
                                                       std::size_t n) {
    constexpr std::int64_t unreached = std::numeric_limits<std::int64_t>::min() / 4;
    std::vector<std::int64_t> start(n + 1, unreached);
    start[n] = 0;
    for (std::size_t round = 0; round <= n + 1; ++round) {
        bool changed = false;
        for (const Arc& a : arcs) {
            if (start[a.from] == unreached || start[a.from] + a.length <= start[a.to]) continue;
            start[a.to] = start[a.from] + a.length;
            changed = true;
        }
        if (start[n] > 0) return std::nullopt;  // something must begin before it can
        if (!changed) return start;
    }
    return std::nullopt;  // a circle
}

Placement placed(const Problem& p, std::size_t i, std::int64_t start,
                 std::optional<ResourceId> where) {
    Placement x{
        .start = at(start), .work_end = at(start + work(p, i)), .end = at(start + work(p, i))};
    if (where) x.chosen = {*where};
    return x;
}

std::optional<ResourceId> only_resource(const Problem& p, std::size_t i) {
    const auto& needs = p.operations[i].modes[0].needs;
    return needs.empty() ? std::nullopt : std::optional{needs[0].any_of[0]};
}

struct Predecessor {
    std::size_t operation;
    Edge edge;
    std::int64_t lag;
};

std::vector<std::vector<Predecessor>> predecessors(const Problem& p) {
    std::vector<std::vector<Predecessor>> before(p.operations.size());
    for (const auto& c : p.constraints) {
        if (const auto* lag = std::get_if<TimeLag>(&c)) {
            before[lag->to.index()].push_back({lag->from.index(), lag->edge, lag->min.count()});
        }
    }
    return before;
}

std::int64_t earliest(const Problem& p, const Schedule& s, const std::vector<Predecessor>& before,
                      std::size_t i) {
    std::int64_t t = number(p.horizon_start);
    if (p.operations[i].job.valid()) {
        t = std::max(t,
                     number(p.orders[p.jobs[p.operations[i].job.index()].order.index()].release));
    }
    for (const auto& b : before) {
        const auto& from = s.placements[b.operation];
        t = std::max(t, number(b.edge == Edge::Start ? from.start : from.end) + b.lag);
    }
    return t;
}

/// Whether one more fits into [t, t + work(i)).
bool room_for(const Problem& p, const Schedule& s, const std::vector<std::size_t>& there,
              std::size_t i, std::int64_t t) {
    const auto& need = p.operations[i].modes[0].needs[0];
    const int capacity = p.resources[need.any_of[0].index()].capacity;
    const std::int64_t end = t + work(p, i);
    // The load only rises at starts: look at t and at every start inside.
    const auto load_at = [&](std::int64_t x) {
        int load = need.amount;
        for (const std::size_t k : there) {
            const auto& o = s.placements[k];
            if (number(o.start) <= x && x < number(o.end))
                load += p.operations[k].modes[0].needs[0].amount;
        }
        return load;
    };
    if (load_at(t) > capacity) return false;
    for (const std::size_t k : there) {
        const std::int64_t x = number(s.placements[k].start);
        if (x > t && x < end && load_at(x) > capacity) return false;
    }
    return true;
}

void note(const Problem& problem, const std::optional<Schedule>& schedule, Optimum& best) {
    if (!schedule) return;
    ++best.tried;
    const Value value = evaluate(problem, *schedule);
    if (!best.schedule || value < best.value) {
        best.schedule = schedule;
        best.value = value;
        best.reached = 0;
    }
    if (value == best.value) ++best.reached;
}

}  // namespace

std::optional<Schedule> left_shifted(const Problem& problem,
                                     const std::vector<Sequence>& per_resource) {
    std::vector<Arc> arcs;
    read_constraints(problem, arcs);
    for (const auto& order : per_resource) {
        for (std::size_t k = 1; k < order.size(); ++k) {
            arcs.push_back(
                {order[k - 1].index(), order[k].index(), work(problem, order[k - 1].index())});
        }
    }
    const auto starts = longest_paths(arcs, problem.operations.size());
    if (!starts) return std::nullopt;
    Schedule s;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        s.placements.push_back(placed(problem, i, (*starts)[i], only_resource(problem, i)));
    }
    return s;
}

Schedule serial(const Problem& problem, const Sequence& list) {
    const auto before = predecessors(problem);
    Schedule s;
    s.placements.resize(problem.operations.size());
    std::vector<std::vector<std::size_t>> there(problem.resources.size());
    for (const OperationId op : list) {
        const std::size_t i = op.index();
        std::int64_t t = earliest(problem, s, before[i], i);
        const auto where = only_resource(problem, i);
        if (where) {
            auto& others = there[where->index()];
            std::vector<std::int64_t> ends;
            for (const std::size_t k : others) {
                if (number(s.placements[k].end) > t) ends.push_back(number(s.placements[k].end));
            }
            std::sort(ends.begin(), ends.end());
            for (std::size_t k = 0; !room_for(problem, s, others, i, t); ++k)
                t = ends[k];
            others.push_back(i);
        }
        s.placements[i] = placed(problem, i, t, where);
    }
    return s;
}

Schedule list_scheduled(const Problem& problem, const Sequence& list) {
    const auto before = predecessors(problem);
    Schedule s;
    s.placements.resize(problem.operations.size());
    std::vector<bool> started(problem.operations.size(), false);
    std::vector<std::int64_t> free_from(problem.resources.size(), number(problem.horizon_start));
    std::size_t left = list.size();
    for (std::int64_t t = number(problem.horizon_start); left > 0;) {
        // Every free resource, lowest number first, takes the first ready operation it may take.
        for (std::size_t r = 0; r < problem.resources.size(); ++r) {
            if (free_from[r] > t) continue;
            for (const OperationId op : list) {
                const std::size_t i = op.index();
                const auto& may = problem.operations[i].modes[0].needs[0].any_of;
                const bool ready =
                    !started[i] && std::find(may.begin(), may.end(), ResourceId{r}) != may.end() &&
                    std::all_of(before[i].begin(), before[i].end(),
                                [&](const Predecessor& b) { return started[b.operation]; }) &&
                    earliest(problem, s, before[i], i) <= t;
                if (!ready) continue;
                s.placements[i] = placed(problem, i, t, ResourceId{r});
                started[i] = true;
                free_from[r] = t + work(problem, i);
                --left;
                break;
            }
        }
        std::int64_t next = std::numeric_limits<std::int64_t>::max();
        for (const auto f : free_from) {
            if (f > t) next = std::min(next, f);
        }
        if (next == std::numeric_limits<std::int64_t>::max()) break;
        t = next;
    }
    return s;
}

Sequence operations_on(const Problem& problem, ResourceId r) {
    Sequence all;
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        if (only_resource(problem, i) == r) all.push_back(OperationId{i});
    }
    return all;
}

Sequence sequence(std::initializer_list<int> numbers_from_1) {
    Sequence s;
    for (const int k : numbers_from_1)
        s.push_back(OperationId{k - 1});
    return s;
}

Optimum by_orders(const Problem& problem) {
    std::vector<Sequence> orders;
    for (std::size_t r = 0; r < problem.resources.size(); ++r)
        orders.push_back(operations_on(problem, ResourceId{r}));
    Optimum best;
    const auto go = [&](const auto& self, std::size_t r) -> void {
        if (r == orders.size()) return note(problem, left_shifted(problem, orders), best);
        std::sort(orders[r].begin(), orders[r].end());
        do {
            self(self, r + 1);
        } while (std::next_permutation(orders[r].begin(), orders[r].end()));
    };
    go(go, 0);
    return best;
}

Optimum by_lists(const Problem& problem) {
    const auto before = predecessors(problem);
    Optimum best;
    Sequence list;
    std::vector<bool> in(problem.operations.size(), false);
    const auto go = [&](const auto& self) -> void {
        if (list.size() == in.size()) return note(problem, serial(problem, list), best);
        for (std::size_t i = 0; i < in.size(); ++i) {
            if (in[i]) continue;
            if (!std::all_of(before[i].begin(), before[i].end(),
                             [&](const auto& b) { return in[b.operation]; }))
                continue;
            in[i] = true;
            list.push_back(OperationId{i});
            self(self);
            list.pop_back();
            in[i] = false;
        }
    };
    go(go);
    return best;
}

Optimum by_permutations(
    const Problem& problem, std::size_t n,
    const std::function<std::optional<Schedule>(const std::vector<std::size_t>&)>& make) {
    std::vector<std::size_t> order(n);
    std::iota(order.begin(), order.end(), std::size_t{0});
    Optimum best;
    do {
        note(problem, make(order), best);
    } while (std::next_permutation(order.begin(), order.end()));
    return best;
}

}  // namespace oracle
