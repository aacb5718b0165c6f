// How it works: a rule is a function of a few figures of an operation; the figures are longest
// paths over the precedence order, forwards for the head and backwards for what remains.
// Mixing, which belongs to no order, is as urgent as the most urgent taker.

#include "sched/engine/rules.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

namespace sched::engine {

namespace {

double slack(const RuleView& v) {
    return v.due - v.release - v.head - v.remaining;
}

// Look-ahead k = 2, seen at the operation's earliest start.
double apparent_tardiness_cost(const RuleView& v) {
    return -tardiness_cost_index(v.weight, std::max(v.remaining, 1.0), slack(v),
                                 2.0 * std::max(v.mean_work, 1.0) * 12.0);
}

constexpr std::array<Rule, 9> table{{
    {"atc", "apparent tardiness cost", apparent_tardiness_cost},
    {"edd", "earliest due date first", [](const RuleView& v) { return v.due; }},
    {"odd", "earliest due date of the operation first",
     [](const RuleView& v) { return v.due - v.remaining; }},
    {"slack", "least slack first", slack},
    {"cr", "smallest critical ratio first",
     [](const RuleView& v) { return (v.due - v.release - v.head) / std::max(v.remaining, 1.0); }},
    {"wspt", "shortest weighted job first",
     [](const RuleView& v) { return v.job_work / std::max(v.weight, 1e-9); }},
    {"spt", "shortest operation first", [](const RuleView& v) { return v.work; }},
    {"mwr", "most work remaining first", [](const RuleView& v) { return -v.remaining; }},
    {"fifo", "first released first", [](const RuleView& v) { return v.release; }},
}};

double shortest(const CompiledProblem& p, const CompiledOperation& o) {
    double best = static_cast<double>(never);
    for (std::int32_t i = o.modes.begin; i < o.modes.end; ++i) {
        const CompiledMode& m = p.modes[static_cast<std::size_t>(i)];
        double work = static_cast<double>(m.work);
        if (m.stages.size() > 0) {
            const CompiledNeed& need = p.needs[static_cast<std::size_t>(m.needs.begin)];
            const auto r =
                static_cast<std::size_t>(p.candidates[static_cast<std::size_t>(need.any_of.begin)]);
            const auto span =
                drying_span(p.steps_of(p.resources[r]), p.stages_of(m), p.horizon_start, 0.0);
            if (span) work = std::max(work, *span);
        }
        best = std::min(best, work);
    }
    return best;
}

}  // namespace

std::span<const Rule> rules() {
    return table;
}

std::vector<RuleView> rule_views(const CompiledProblem& p) {
    const std::size_t n = p.operations.size();
    std::vector<RuleView> views(n);
    std::vector<double> job_work(p.problem.jobs.size(), 0.0);
    double sum = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
        RuleView& v = views[i];
        const CompiledOperation& o = p.operations[i];
        v.work = shortest(p, o);
        v.remaining = v.work;
        sum += v.work;
        v.release = static_cast<double>(o.not_before);
        v.due = static_cast<double>(p.horizon_end);
        if (o.order >= 0) {
            const auto k = static_cast<std::size_t>(o.order);
            v.release = static_cast<double>(p.order_release[k]);
            if (p.order_due[k] < never) v.due = static_cast<double>(p.order_due[k]);
            v.weight = static_cast<double>(p.order_weight[k]);
        }
        if (o.job >= 0) job_work[static_cast<std::size_t>(o.job)] += v.work;
    }
    // Longest ways along the precedence order that the blocks were numbered in.
    const auto reach = [&](const CompiledLag& l) {
        const double wait = static_cast<double>(std::max<Tick>(0, l.min));
        return (l.edge == core::Edge::Start ? 0.0 : views[static_cast<std::size_t>(l.from)].work) +
               wait;
    };
    for (const std::int32_t i : p.block_operations) {
        const CompiledOperation& o = p.operations[static_cast<std::size_t>(i)];
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l =
                p.lags[static_cast<std::size_t>(p.lags_out[static_cast<std::size_t>(k)])];
            RuleView& to = views[static_cast<std::size_t>(l.to)];
            to.head = std::max(to.head, views[static_cast<std::size_t>(i)].head + reach(l));
        }
    }
    for (auto at = p.block_operations.rbegin(); at != p.block_operations.rend(); ++at) {
        const CompiledOperation& o = p.operations[static_cast<std::size_t>(*at)];
        RuleView& v = views[static_cast<std::size_t>(*at)];
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l =
                p.lags[static_cast<std::size_t>(p.lags_out[static_cast<std::size_t>(k)])];
            v.remaining =
                std::max(v.remaining, reach(l) + views[static_cast<std::size_t>(l.to)].remaining);
        }
    }
    // What belongs to no job (mixing) is as urgent as the most urgent job that takes from it.
    for (std::size_t i = 0; i < n; ++i) {
        const CompiledOperation& o = p.operations[i];
        views[i].job_work = o.job >= 0 ? job_work[static_cast<std::size_t>(o.job)] : views[i].work;
        views[i].mean_work = n > 0 ? sum / static_cast<double>(n) : 1.0;
    }
    for (std::size_t i = 0; i < n; ++i) {
        const CompiledOperation& giver = p.operations[i];
        for (std::int32_t g = giver.gives.begin; g < giver.gives.end; ++g) {
            for (std::size_t j = 0; j < n; ++j) {
                const CompiledOperation& taker = p.operations[j];
                for (std::int32_t t = taker.takes.begin; t < taker.takes.end; ++t) {
                    const CompiledTake& take = p.takes[static_cast<std::size_t>(t)];
                    for (std::int32_t s = take.any_of.begin; s < take.any_of.end; ++s) {
                        if (p.take_stores[static_cast<std::size_t>(s)] !=
                            p.gives[static_cast<std::size_t>(g)].store)
                            continue;
                        views[i].due = std::min(views[i].due, views[j].due - views[j].remaining);
                        views[i].weight = std::max(views[i].weight, views[j].weight);
                    }
                }
            }
        }
    }
    for (auto at = p.block_operations.rbegin(); at != p.block_operations.rend(); ++at) {
        const CompiledOperation& o = p.operations[static_cast<std::size_t>(*at)];
        if (o.job >= 0) continue;
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l =
                p.lags[static_cast<std::size_t>(p.lags_out[static_cast<std::size_t>(k)])];
            RuleView& v = views[static_cast<std::size_t>(*at)];
            v.due = std::min(v.due, views[static_cast<std::size_t>(l.to)].due);
            v.weight = std::max(v.weight, views[static_cast<std::size_t>(l.to)].weight);
        }
    }
    return views;
}

Sequence rule_sequence(const CompiledProblem& p, const std::vector<RuleView>& views,
                       const Rule& rule) {
    std::vector<std::int32_t> order(p.operations.size());
    std::iota(order.begin(), order.end(), 0);
    std::vector<double> key(views.size());
    for (std::size_t i = 0; i < views.size(); ++i)
        key[i] = rule.key(views[i]);
    std::stable_sort(order.begin(), order.end(), [&](std::int32_t a, std::int32_t b) {
        return key[static_cast<std::size_t>(a)] < key[static_cast<std::size_t>(b)];
    });
    Sequence s;
    s.rank.resize(order.size());
    for (std::size_t k = 0; k < order.size(); ++k)
        s.rank[static_cast<std::size_t>(order[k])] = static_cast<std::int32_t>(k);
    return s;
}

}  // namespace sched::engine
