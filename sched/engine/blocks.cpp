// Which operations must be booked together, and which places can wait for each other in a circle.

#include <algorithm>
#include <functional>
#include <map>
#include <numeric>

#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

namespace {

struct Union {
    std::vector<std::int32_t> parent;
    explicit Union(std::size_t n) : parent(n) { std::iota(parent.begin(), parent.end(), 0); }
    std::int32_t find(std::int32_t x) {
        while (parent[static_cast<std::size_t>(x)] != x) {
            auto& up = parent[static_cast<std::size_t>(x)];
            up = parent[static_cast<std::size_t>(up)];
            x = up;
        }
        return x;
    }
    void join(std::int32_t a, std::int32_t b) {
        a = find(a);
        b = find(b);
        if (a != b) parent[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
    }
};

using Graph = std::vector<std::vector<std::int32_t>>;

// Strongly connected components (Tarjan 1972), written without recursion: chains may be long.
std::vector<std::int32_t> components(const Graph& graph) {
    const std::size_t n = graph.size();
    std::vector<std::int32_t> index(n, -1), low(n, 0), component(n, -1), stack;
    std::vector<std::pair<std::int32_t, std::size_t>> call;
    std::int32_t next = 0, found = 0;
    for (std::size_t root = 0; root < n; ++root) {
        if (index[root] >= 0) continue;
        call.emplace_back(static_cast<std::int32_t>(root), 0);
        while (!call.empty()) {
            const auto v = static_cast<std::size_t>(call.back().first);
            if (call.back().second == 0) {
                index[v] = low[v] = next++;
                stack.push_back(static_cast<std::int32_t>(v));
            }
            bool down = false;
            while (call.back().second < graph[v].size()) {
                const auto w = static_cast<std::size_t>(graph[v][call.back().second++]);
                if (index[w] < 0) {
                    call.emplace_back(static_cast<std::int32_t>(w), 0);
                    down = true;
                    break;
                }
                if (component[w] < 0) low[v] = std::min(low[v], index[w]);
            }
            if (down) continue;
            if (low[v] == index[v]) {
                while (true) {
                    const std::int32_t w = stack.back();
                    stack.pop_back();
                    component[static_cast<std::size_t>(w)] = found;
                    if (static_cast<std::size_t>(w) == v) break;
                }
                ++found;
            }
            call.pop_back();
            if (!call.empty()) {
                const auto u = static_cast<std::size_t>(call.back().first);
                low[u] = std::min(low[u], low[v]);
            }
        }
    }
    return component;
}

bool attended(const CompiledProblem& p, const CompiledOperation& o) {
    for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
        const Range n = p.modes[static_cast<std::size_t>(m)].needs;
        for (std::int32_t i = n.begin; i < n.end; ++i) {
            if (!p.needs[static_cast<std::size_t>(i)].whole) return true;
        }
    }
    return false;
}

std::vector<std::int32_t> places_of(const CompiledProblem& p, const CompiledOperation& o) {
    std::vector<std::int32_t> out;
    for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
        const Range n = p.modes[static_cast<std::size_t>(m)].needs;
        for (std::int32_t i = n.begin; i < n.end; ++i) {
            const CompiledNeed& need = p.needs[static_cast<std::size_t>(i)];
            if (!need.whole) continue;
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
                out.push_back(p.candidates[static_cast<std::size_t>(c)]);
            }
        }
    }
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    return out;
}

bool meet(const std::vector<std::int32_t>& a, const std::vector<std::int32_t>& b) {
    for (const std::int32_t x : a) {
        if (std::binary_search(b.begin(), b.end(), x)) return true;
    }
    return false;
}

}  // namespace

void CompiledProblem::make_blocks() {
    const std::size_t n = operations.size();
    const auto op = [&](std::int32_t i) -> CompiledOperation& {
        return operations[static_cast<std::size_t>(i)];
    };

    // Operations in precedence order (Kahn), by number where free; those on circles of lags follow.
    std::vector<std::int32_t> order, missing(n, 0);
    for (const auto& l : lags) {
        if (l.min >= 0 && l.from != l.to) ++missing[static_cast<std::size_t>(l.to)];
    }
    std::vector<char> listed(n, 0);
    std::vector<std::int32_t> heap;
    for (std::size_t i = 0; i < n; ++i) {
        if (missing[i] == 0) heap.push_back(static_cast<std::int32_t>(i));
    }
    std::make_heap(heap.begin(), heap.end(), std::greater<>{});
    while (!heap.empty()) {
        std::pop_heap(heap.begin(), heap.end(), std::greater<>{});
        const std::int32_t i = heap.back();
        heap.pop_back();
        order.push_back(i);
        listed[static_cast<std::size_t>(i)] = 1;
        for (std::int32_t k = op(i).lags_out.begin; k < op(i).lags_out.end; ++k) {
            const CompiledLag& l =
                lags[static_cast<std::size_t>(lags_out[static_cast<std::size_t>(k)])];
            if (l.min < 0 || l.from == l.to) continue;
            if (--missing[static_cast<std::size_t>(l.to)] == 0) {
                heap.push_back(l.to);
                std::push_heap(heap.begin(), heap.end(), std::greater<>{});
            }
        }
    }
    for (std::size_t i = 0; i < n; ++i) {
        if (!listed[i]) order.push_back(static_cast<std::int32_t>(i));
    }

    // Where a hold may stay open: after drying (or whatever runs unattended and moves on to another
    // place), and then on until something wet or machine-bound has to follow at once.
    std::vector<char> split_in(n, 0);
    std::vector<char> split_lag(lags.size(), 0);
    std::vector<std::vector<std::int32_t>> places(n);
    for (std::size_t i = 0; i < n; ++i)
        places[i] = places_of(*this, operations[i]);
    const auto runs_alone = [&](std::int32_t i) {
        return op(i).coupled || (op(i).stretch >= never && !attended(*this, op(i)));
    };
    const auto closes = [&](const std::vector<std::int32_t>& at) {
        const Tick present = problem.now ? problem.now->time_since_epoch().count() : horizon_start;
        return std::any_of(at.begin(), at.end(), [&](std::int32_t r) {
            const auto open = windows_of(resources[static_cast<std::size_t>(r)]);
            return std::any_of(open.begin(), open.end(), [&](const CompiledWindow& w) {
                return w.to > present && w.to < horizon_end;
            });
        });
    };
    // Or it is hung up to dry, and dries from that moment. What is loaded into a machine that runs
    // by itself can wait for it: booked with who takes it out, it would keep the machine for hours.
    const auto goes_drying = [&](std::int32_t i) {
        if (runs_alone(i)) return true;
        if (op(i).stretch != 0) return false;
        for (std::int32_t k = op(i).lags_out.begin; k < op(i).lags_out.end; ++k) {
            const CompiledLag& l =
                lags[static_cast<std::size_t>(lags_out[static_cast<std::size_t>(k)])];
            if (l.edge == core::Edge::End && l.max == 0 &&
                problem.operations[static_cast<std::size_t>(l.to)].dries)
                return true;
        }
        return false;
    };
    // Somebody else counts from its end: that must be known when he is booked.
    const auto end_counts = [&](const CompiledOperation& o) {
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l =
                lags[static_cast<std::size_t>(lags_out[static_cast<std::size_t>(k)])];
            if (l.edge == core::Edge::End && !l.hold) return true;
        }
        return false;
    };
    // What has dried waits for somebody for hours: when he comes shows on the way
    // (loose_limits.cpp).
    constexpr Tick hours = 3600;
    // At the moment of a plan: how it dried is no part of the question any more, whether it still
    // stands there or not.
    const auto is_over = [&](std::int32_t i) {
        const CompiledMode& m = modes[static_cast<std::size_t>(op(i).modes.begin)];
        return op(i).begun && m.work == 0 && m.stages.size() == 0 && !attended(*this, op(i));
    };
    std::vector<char> limits(n, 0);
    for (CompiledLag& l : lags) {
        const bool dried = l.edge == core::Edge::WorkEnd && runs_alone(l.from);
        l.loose = (dried || is_over(l.from)) && l.max >= hours && l.max < never &&
                  attended(*this, op(l.to)) && problem.ties != core::Ties::All;
        if (l.loose) limits[static_cast<std::size_t>(l.from)] = 1;
    }
    // What it was taken out of is over and no part of the question any more.
    for (std::size_t i = 0; i < n; ++i) {
        const CompiledOperation& o = operations[i];
        split_in[i] = o.begun && o.stretch >= never && o.lags_in.size() == 0 &&
                      !runs_alone(static_cast<std::int32_t>(i));
    }
    for (const std::int32_t i : order) {
        if (end_counts(op(i))) continue;
        for (std::int32_t k = op(i).lags_out.begin; k < op(i).lags_out.end; ++k) {
            const auto at = static_cast<std::size_t>(lags_out[static_cast<std::size_t>(k)]);
            const CompiledLag& l = lags[at];
            if (!l.hold) continue;
            const bool elsewhere = !meet(places[static_cast<std::size_t>(l.from)],
                                         places[static_cast<std::size_t>(l.to)]);
            // Where somebody hangs up what stood at its place, that is at once, as where nothing
            // stood; what goes to dry by itself may wait for its slot.
            const bool hung_up = goes_drying(l.to) && !runs_alone(l.to);
            const bool split =
                op(i).coupled || (runs_alone(i) && !hung_up && elsewhere) ||
                (split_in[static_cast<std::size_t>(i)] && !goes_drying(l.to) && elsewhere);
            // A place that closes must be left by then: who follows is booked together with it.
            if (split && !closes(places[static_cast<std::size_t>(i)])) {
                // Who cannot wait may want the slot of what is in there at the moment of a plan.
                const bool stays = problem.ties == core::Ties::Inside && op(i).begun &&
                                   limits[static_cast<std::size_t>(i)];
                split_lag[at] = stays ? 0 : 1;
                split_in[static_cast<std::size_t>(l.to)] = 1;
            }
        }
    }

    Union together(n);
    for (std::size_t k = 0; k < lags.size(); ++k) {
        const CompiledLag& l = lags[k];
        const bool bounded = l.max < never && !split_lag[k] && !l.loose;
        // What is over began before anything that is left.
        if (bounded || (l.min < 0 && !l.loose)) together.join(l.from, l.to);
    }
    // What stands between two operations of one block belongs to it: circles of blocks merge.
    std::vector<std::int32_t> number(n, -1);
    std::int32_t groups = 0;
    for (const std::int32_t i : order) {
        auto& g = number[static_cast<std::size_t>(together.find(i))];
        if (g < 0) g = groups++;
    }
    Graph graph(static_cast<std::size_t>(groups));
    const auto group_of = [&](std::int32_t i) {
        return number[static_cast<std::size_t>(together.find(i))];
    };
    for (const auto& l : lags) {
        if (group_of(l.from) != group_of(l.to))
            graph[static_cast<std::size_t>(group_of(l.from))].push_back(group_of(l.to));
    }
    const auto component = components(graph);
    std::vector<std::int32_t> block_number(static_cast<std::size_t>(groups), -1);
    std::vector<std::vector<std::int32_t>> members;
    for (const std::int32_t i : order) {
        auto& b = block_number[static_cast<std::size_t>(
            component[static_cast<std::size_t>(group_of(i))])];
        if (b < 0) {
            b = static_cast<std::int32_t>(members.size());
            members.emplace_back();
        }
        members[static_cast<std::size_t>(b)].push_back(i);
        op(i).block = b;
    }
    for (auto& l : lags) {
        l.cross = op(l.from).block != op(l.to).block;
        l.loose = l.loose && l.cross;
    }
    for (auto& m : members) {
        Block b;
        if (midday) {
            const auto rest = std::stable_partition(m.begin(), m.end(),
                                                    [&](std::int32_t i) { return op(i).begun; });
            b.begun = static_cast<std::int32_t>(rest - m.begin());
        }
        b.operations.begin = static_cast<std::int32_t>(block_operations.size());
        b.job = op(m.front()).job;
        for (std::size_t k = 0; k < m.size(); ++k) {
            op(m[k]).place = static_cast<std::int32_t>(k);
            block_operations.push_back(m[k]);
            if (!op(m[k]).begun && op(m[k]).not_after < never) {
                b.latest = b.urgent ? std::min(b.latest, op(m[k]).not_after) : op(m[k]).not_after;
                b.urgent = true;
            }
            for (std::int32_t j = op(m[k]).modes.begin; j < op(m[k]).modes.end; ++j) {
                const CompiledMode& mode = modes[static_cast<std::size_t>(j)];
                b.bulky |= mode.overlaps;
                for (std::int32_t need = mode.needs.begin; need < mode.needs.end; ++need)
                    b.bulky |= needs[static_cast<std::size_t>(need)].amount > 1;
            }
        }
        b.operations.end = static_cast<std::int32_t>(block_operations.size());
        blocks.push_back(b);
    }
    for (auto& l : lags) {
        if (!l.cross) continue;
        blocks[static_cast<std::size_t>(op(l.from).block)].limits |= l.loose;
        blocks[static_cast<std::size_t>(op(l.to).block)].limited |= l.loose;
        ++blocks[static_cast<std::size_t>(op(l.to).block)].waits_for;
        if (!l.hold) continue;
        op(l.from).open = true;
        Block& to = blocks[static_cast<std::size_t>(op(l.to).block)];
        for (const std::int32_t o : ops_of(to)) {
            l.meets |=
                meet(places[static_cast<std::size_t>(l.from)], places[static_cast<std::size_t>(o)]);
        }
        to.meets |= l.meets;
    }
}

void CompiledProblem::make_circles() {
    const std::size_t n = resources.size();
    std::vector<char> held(n, 0);
    std::vector<std::vector<std::int32_t>> places(operations.size());
    for (std::size_t i = 0; i < operations.size(); ++i) {
        if (!operations[i].open) continue;
        places[i] = places_of(*this, operations[i]);
        for (const std::int32_t r : places[i])
            held[static_cast<std::size_t>(r)] = 1;
    }
    Graph graph(n);
    for (const auto& l : lags) {
        if (!l.cross || !l.hold) continue;
        for (const std::int32_t o : ops_of(blocks[static_cast<std::size_t>(
                 operations[static_cast<std::size_t>(l.to)].block)])) {
            for (const std::int32_t to :
                 places_of(*this, operations[static_cast<std::size_t>(o)])) {
                if (!held[static_cast<std::size_t>(to)]) continue;
                for (const std::int32_t from : places[static_cast<std::size_t>(l.from)])
                    graph[static_cast<std::size_t>(from)].push_back(to);
            }
        }
    }
    const auto component = components(graph);
    circular.assign(n, 0);
    for (std::size_t r = 0; r < n; ++r) {
        if (!held[r]) continue;
        for (const std::int32_t to : graph[r]) {
            if (component[static_cast<std::size_t>(to)] == component[r]) circular[r] = 1;
        }
        circles |= circular[r] != 0;
    }
    largest.assign(n, 1);
    for (const auto& m : modes) {
        for (std::int32_t k = m.needs.begin; k < m.needs.end; ++k) {
            const CompiledNeed& need = needs[static_cast<std::size_t>(k)];
            for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
                auto& most =
                    largest[static_cast<std::size_t>(candidates[static_cast<std::size_t>(c)])];
                most = std::max(most, need.amount);
            }
        }
    }
    std::vector<std::vector<std::int32_t>> of_job(problem.jobs.size());
    for (const std::int32_t i : block_operations) {
        const std::int32_t job = operations[static_cast<std::size_t>(i)].job;
        if (job >= 0) of_job[static_cast<std::size_t>(job)].push_back(i);
    }
    for (const auto& ops : of_job) {
        const auto begin = static_cast<std::int32_t>(job_operations.size());
        job_operations.insert(job_operations.end(), ops.begin(), ops.end());
        job_range.push_back({begin, static_cast<std::int32_t>(job_operations.size())});
    }
}

void CompiledProblem::make_exits() {
    std::map<std::vector<std::int64_t>, std::int32_t> known;
    exit_of.assign(operations.size(), -1);
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const CompiledOperation& o = operations[i];
        Exit exit;
        std::vector<std::int64_t> key;
        bool free_way = false;  // a way that holds nothing
        for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
            const Range ns = modes[static_cast<std::size_t>(m)].needs;
            std::vector<CompiledNeed> way;
            key.push_back(-2);
            for (std::int32_t n = ns.begin; n < ns.end; ++n) {
                const CompiledNeed& need = needs[static_cast<std::size_t>(n)];
                if (!need.whole) continue;
                way.push_back(need);
                key.insert(key.end(), {-1, need.amount});
                for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c)
                    key.push_back(candidates[static_cast<std::size_t>(c)]);
            }
            free_way |= way.empty();
            exit.ways.push_back(std::move(way));
        }
        if (free_way) continue;
        const auto [row, fresh] = known.try_emplace(key, static_cast<std::int32_t>(exits.size()));
        if (fresh) exits.push_back(std::move(exit));
        exit_of[i] = row->second;
    }
    for (const Range& ops : job_range) {
        const auto begin = static_cast<std::int32_t>(exit_steps.size());
        bool fits = true;
        for (std::int32_t k = ops.begin; k < ops.end; ++k) {
            const std::int32_t op = job_operations[static_cast<std::size_t>(k)];
            const auto block = operations[static_cast<std::size_t>(op)].block;
            const Block& of = blocks[static_cast<std::size_t>(block)];
            // Of what has begun in part, the rest is still to come.
            const std::int32_t passed = of.begun < of.operations.size() ? of.begun : 0;
            const std::int32_t first = ops_of(of)[static_cast<std::size_t>(passed)];
            const std::int32_t e = exit_of[static_cast<std::size_t>(op)];
            if (exit_steps.size() == static_cast<std::size_t>(begin) ||
                exit_steps.back().operation != first)
                exit_steps.push_back({first, 0});
            if (e >= 64) fits = false;
            if (e >= 0 && e < 64) exit_steps.back().exits |= std::uint64_t{1} << e;
        }
        if (!fits) exit_steps.resize(static_cast<std::size_t>(begin));
        exit_range.push_back({begin, static_cast<std::int32_t>(exit_steps.size())});
    }
}

}  // namespace sched::engine
