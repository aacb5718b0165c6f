// How it works. The linear order `order_` always respects every arc of the graph, so one sweep over
// it gives all heads and one sweep back all tails. A change takes one operation out of the lists of
// its places and puts it in elsewhere; of the linear order only the stretch between its old and its
// new place is put right (Pearce and Kelly 2007), and heads are swept from there on. That stretch
// also shows whether the change closes a circle: then it is taken back.

#include "sched/search/room/operation_graph.hpp"

#include <algorithm>
#include <numeric>

namespace sched::search {

namespace {

using engine::CompiledProblem;
using engine::never;

constexpr std::int64_t kLargestTime = std::int64_t{1} << 29;
constexpr std::size_t kMostChoices = 255;  // of one operation
constexpr int kMostNeeds = 4;

// What of the constraints the graph times exactly. Every kind has its line.
struct TimedExactly {
    bool operator()(const core::TimeLag& l) const { return !l.max && l.min.count() >= 0; }
    bool operator()(const core::StartWindow& w) const { return !w.not_after; }
    bool operator()(const core::SameMode&) const { return false; }
    bool operator()(const core::SameResource&) const { return false; }
    bool operator()(const core::Take&) const { return false; }
    bool operator()(const core::Give&) const { return false; }
};

bool plain_objective(const core::Problem& p) {
    if (p.objective.empty()) return false;
    for (const core::Criterion c : p.objective) {
        // Nobody stands here: holding is 0.
        if (c == core::Criterion::Overtime && !p.overtime.empty()) return false;
    }
    return std::none_of(p.orders.begin(), p.orders.end(),
                        [](const core::Order& o) { return o.deadline.has_value(); });
}

bool plain_problem(const CompiledProblem& c) {
    const core::Problem& p = c.problem;
    if (p.operations.empty() || !p.stores.empty() || p.now || !p.begun.empty() ||
        !p.pauses.empty() || c.midday || c.coupled)
        return false;
    for (const core::Constraint& k : p.constraints) {
        if (!std::visit(TimedExactly{}, k)) return false;
    }
    for (const core::Operation& o : p.operations) {
        if (!o.max_stretch || o.max_stretch->count() != 0 || o.batch || o.filler) return false;
    }
    return plain_objective(p);
}

// All ways to do one operation: its modes, and in each every place for every need.
bool add_choices(const CompiledProblem& c, const engine::CompiledOperation& o,
                 const std::vector<int>& first_place, GraphModel& m) {
    for (std::int32_t k = o.modes.begin; k < o.modes.end; ++k) {
        const engine::CompiledMode& mode = c.modes[ix(k)];
        if (mode.stages.size() > 0 || mode.work >= kLargestTime || mode.overlaps) return false;
        std::vector<std::vector<int>> ways(1);
        std::vector<int> genes(1, 0);
        for (std::int32_t n = mode.needs.begin; n < mode.needs.end; ++n) {
            const engine::CompiledNeed& need = c.needs[ix(n)];
            if (need.amount != 1) return false;
            std::vector<std::vector<int>> longer;
            std::vector<int> longer_genes;
            for (std::size_t w = 0; w < ways.size(); ++w) {
                for (std::int32_t q = 0; q < need.any_of.size(); ++q) {
                    const std::int32_t r = c.candidates[ix(need.any_of.begin + q)];
                    const engine::CompiledResource& res = c.resources[ix(r)];
                    if (res.has_calendar || res.has_clock || res.has_batch || res.coupled ||
                        res.walk > 0)
                        return false;
                    // An empty interval needs nothing.
                    for (int u = 0; u < (mode.work == 0 ? 1 : res.capacity); ++u) {
                        longer.push_back(ways[w]);
                        longer.back().push_back(mode.work == 0 ? -1 : first_place[ix(r)] + u);
                        longer_genes.push_back(need.any_of.size() > 1 ? q : genes[w]);
                        if (longer.size() > kMostChoices) return false;
                    }
                }
            }
            ways = std::move(longer);
            genes = std::move(longer_genes);
        }
        for (std::size_t w = 0; w < ways.size(); ++w) {
            m.time.push_back(static_cast<int>(mode.work));
            m.mode.push_back(k - o.modes.begin);
            m.gene.push_back(genes[w]);
            for (int n = 0; n < m.width; ++n)
                m.place.push_back(ix(n) < ways[w].size() ? ways[w][ix(n)] : -1);
        }
        if (m.time.size() - ix(m.first_choice.back()) > kMostChoices) return false;
    }
    return true;
}

// Arcs into and out of each operation, and an order that they allow.
bool add_arcs(const CompiledProblem& c, GraphModel& m) {
    const auto n = ix(m.operations);
    m.in_begin.assign(n + 1, 0);
    m.out_begin.assign(n + 1, 0);
    for (const auto& l : c.lags) {
        if (l.min >= kLargestTime) return false;
        ++m.in_begin[ix(l.to) + 1];
        ++m.out_begin[ix(l.from) + 1];
    }
    std::partial_sum(m.in_begin.begin(), m.in_begin.end(), m.in_begin.begin());
    std::partial_sum(m.out_begin.begin(), m.out_begin.end(), m.out_begin.begin());
    m.in.resize(c.lags.size());
    m.out.resize(c.lags.size());
    auto in_at = m.in_begin, out_at = m.out_begin;
    m.group.resize(n);
    std::iota(m.group.begin(), m.group.end(), 0);
    const auto root = [&](int x) {
        while (m.group[ix(x)] != x)
            x = m.group[ix(x)] = m.group[ix(m.group[ix(x)])];
        return x;
    };
    for (const auto& l : c.lags) {
        const int mask = l.edge == core::Edge::Start ? -1 : 0;
        m.in[ix(in_at[ix(l.to)]++)] = {l.from, static_cast<int>(l.min), mask};
        m.out[ix(out_at[ix(l.from)]++)] = {l.to, static_cast<int>(l.min), mask};
        const int a = root(l.from), b = root(l.to);
        m.group[ix(std::max(a, b))] = std::min(a, b);
    }
    for (int o = 0; o < m.operations; ++o)
        m.group[ix(o)] = root(o);
    std::vector<int> waits(n);
    for (std::size_t o = 0; o < n; ++o) {
        waits[o] = m.in_begin[o + 1] - m.in_begin[o];
        if (waits[o] == 0) m.topological.push_back(static_cast<int>(o));
    }
    for (std::size_t k = 0; k < m.topological.size(); ++k) {
        const auto o = ix(m.topological[k]);
        for (int a = m.out_begin[o]; a < m.out_begin[o + 1]; ++a) {
            if (--waits[ix(m.out[ix(a)].op)] == 0) m.topological.push_back(m.out[ix(a)].op);
        }
    }
    return m.topological.size() == n;
}

void add_objective(const CompiledProblem& c, GraphModel& m) {
    m.criteria = c.problem.objective;
    for (int o = 0; o < m.operations; ++o) {
        const std::int32_t order = c.operations[ix(o)].order;
        m.order.push_back(order);
        // Whoever is followed after its end by one of the same order does not end it.
        bool ends = true;
        int least = std::numeric_limits<int>::max();
        for (int a = m.out_begin[ix(o)]; a < m.out_begin[ix(o) + 1]; ++a) {
            const GraphModel::Arc& arc = m.out[ix(a)];
            if (arc.from_start == 0 && c.operations[ix(arc.op)].order == order) ends = false;
            if (arc.from_start != 0) least = std::min(least, arc.weight);
        }
        if (ends) m.last.push_back(o);
        m.out_least.push_back(least);
    }
    for (std::size_t k = 0; k < c.order_due.size(); ++k) {
        m.due.push_back(c.order_due[k] >= never ? never : c.order_due[k] - c.horizon_start);
        m.weight.push_back(c.order_weight[k]);
        m.release.push_back(c.order_release[k] - c.horizon_start);
    }
}

}  // namespace

std::optional<GraphModel> GraphModel::of(const CompiledProblem& c) {
    if (!plain_problem(c)) return std::nullopt;
    GraphModel m;
    m.operations = static_cast<int>(c.operations.size());
    std::vector<int> first_place;
    for (const auto& r : c.resources) {
        first_place.push_back(m.places);
        m.places += r.capacity;
        if (m.places > (1 << 20)) return std::nullopt;
    }
    int needs = 1;
    for (const auto& mode : c.modes)
        needs = std::max(needs, static_cast<int>(mode.needs.size()));
    if (needs > kMostNeeds) return std::nullopt;
    while (m.width < needs) {
        m.width *= 2;
        ++m.shift;
    }
    std::int64_t total = 0, latest = 0;
    for (const auto& o : c.operations) {
        const std::int64_t base = std::max<std::int64_t>(0, o.not_before - c.horizon_start);
        if (o.fixed || o.not_after < never || base >= kLargestTime) return std::nullopt;
        m.base.push_back(static_cast<int>(base));
        latest = std::max(latest, base);
        m.first_choice.push_back(static_cast<int>(m.time.size()));
        if (!add_choices(c, o, first_place, m)) return std::nullopt;
        const auto first = m.time.begin() + m.first_choice.back();
        if (m.time.end() - first > 1) m.chooses = true;
        total += *std::max_element(first, m.time.end());
    }
    m.first_choice.push_back(static_cast<int>(m.time.size()));
    for (const auto& l : c.lags)
        total += l.min;
    // Whatever the order, all is done by then: the horizon cuts nothing off.
    if (total + latest >= kLargestTime || total + latest > c.horizon_end - c.horizon_start)
        return std::nullopt;
    if (!add_arcs(c, m)) return std::nullopt;
    add_objective(c, m);
    return m;
}

OperationGraph::OperationGraph(const GraphModel& model)
    : m_(model), n_(model.operations), shift_(model.shift), width_(model.width) {
    const std::size_t n = ix(n_) + 1;
    const std::size_t uses = n << shift_;
    before_.assign(uses, none());
    after_.assign(uses, none());
    place_.assign(uses, -1);
    p_.assign(n, 0);
    choice_.assign(n, -1);
    end_.assign(n, 0);
    tail_.assign(n, 0);
    position_.assign(n, -1);
    early_.resize(n);
    late_.resize(n);
    old_.resize(ix(width_));
    marked_.assign(n, 0);
    first_.assign(ix(m_.places), none());
    last_.assign(ix(m_.places), none());
}

void OperationGraph::load(const std::vector<int>& order, const std::vector<int>& choice) {
    order_ = order;
    std::fill(first_.begin(), first_.end(), none());
    std::fill(last_.begin(), last_.end(), none());
    for (int k = 0; k < n_; ++k) {
        const int o = order_[ix(k)];
        position_[ix(o)] = k;
        const int c = choice[ix(o)];
        choice_[ix(o)] = c;
        p_[ix(o)] = m_.time[ix(c)];
        for (int need = 0; need < width_; ++need) {
            const int use = use_of(o, need);
            const int place = m_.place[ix((c << shift_) + need)];
            place_[ix(use)] = place;
            before_[ix(use)] = after_[ix(use)] = none();
            if (place < 0) continue;
            const int previous = last_[ix(place)];
            before_[ix(use)] = previous;
            (previous == none() ? first_[ix(place)] : after_[ix(previous)]) = use;
            last_[ix(place)] = use;
        }
    }
    heads_from(0);
    if (tails_) tails_from(n_ - 1);
}

GraphOrder OperationGraph::save() const {
    GraphOrder s{.value = {}, .order = order_, .choice = choice_};
    s.choice.pop_back();
    return s;
}

void OperationGraph::heads_from(int position) {
    const GraphModel::Arc* arcs = m_.in.data();
    const int* in_begin = m_.in_begin.data();
    const int* before = before_.data();
    const int* p = p_.data();
    int* end = end_.data();
    for (int k = position; k < n_; ++k) {
        const int o = order_[ix(k)];
        int t = m_.base[ix(o)];
        for (int a = in_begin[o]; a < in_begin[o + 1]; ++a) {
            const GraphModel::Arc& arc = arcs[a];
            t = std::max(t, end[arc.op] + arc.weight - (arc.from_start & p[arc.op]));
        }
        for (int need = 0; need < width_; ++need)
            t = std::max(t, end[before[(o << shift_) + need] >> shift_]);
        end[o] = t + p[o];
    }
    int longest = 0;
    for (const int o : m_.last)
        longest = std::max(longest, end[o]);
    makespan_ = longest;
}

void OperationGraph::tails_from(int position) {
    const GraphModel::Arc* arcs = m_.out.data();
    const int* out_begin = m_.out_begin.data();
    const int* after = after_.data();
    int* tail = tail_.data();
    for (int k = position; k >= 0; --k) {
        const int o = order_[ix(k)];
        const int p = p_[ix(o)];
        int t = p;
        for (int a = out_begin[o]; a < out_begin[o + 1]; ++a)
            t = std::max(t, tail[arcs[a].op] + arcs[a].weight + (~arcs[a].from_start & p));
        for (int need = 0; need < width_; ++need)
            t = std::max(t, p + tail[after[(o << shift_) + need] >> shift_]);
        tail[o] = t;
    }
}

int OperationGraph::ready(int o, int use) const {
    int t = m_.base[ix(o)];
    for (int a = m_.in_begin[ix(o)]; a < m_.in_begin[ix(o) + 1]; ++a)
        t = std::max(t, arc_edge(m_.in[ix(a)]));
    for (int need = 0; need < width_ && width_ > 1; ++need) {
        const int other = use_of(o, need);
        if (other != use) t = std::max(t, end_[ix(op_of(before_[ix(other)]))]);
    }
    return t;
}

void OperationGraph::rest(int o, int use, int& from_end, int& from_start) const {
    from_end = from_start = 0;
    for (int a = m_.out_begin[ix(o)]; a < m_.out_begin[ix(o) + 1]; ++a) {
        const GraphModel::Arc& arc = m_.out[ix(a)];
        int& from = arc.from_start != 0 ? from_start : from_end;
        from = std::max(from, tail_[ix(arc.op)] + arc.weight);
    }
    for (int need = 0; need < width_ && width_ > 1; ++need) {
        const int other = use_of(o, need);
        if (other != use) from_end = std::max(from_end, tail_[ix(op_of(after_[ix(other)]))]);
    }
}

// A way from s to x would make tail(s) at least tail(x) and the least that one step from s takes.
bool OperationGraph::free_after(int u, int x) const {
    for (int a = m_.out_begin[ix(u)]; a < m_.out_begin[ix(u) + 1]; ++a) {
        const int s = m_.out[ix(a)].op;
        if (s == x) return false;
        const int step = std::min(p_[ix(s)], m_.out_least[ix(s)]);
        if (tail_[ix(x)] + step <= tail_[ix(s)]) return false;
    }
    return true;
}

// A way from y to b would make head(b) at least head(y) and the least that one step from y takes.
bool OperationGraph::free_before(int u, int y) const {
    const int step = std::min(p_[ix(y)], m_.out_least[ix(y)]);
    for (int a = m_.in_begin[ix(u)]; a < m_.in_begin[ix(u) + 1]; ++a) {
        const int b = m_.in[ix(a)].op;
        if (b == y || head(y) + step <= head(b)) return false;
    }
    return true;
}

void OperationGraph::standing(int u, std::vector<int>& after) const {
    after.resize(ix(width_));
    for (int need = 0; need < width_; ++need)
        after[ix(need)] = before_[ix(use_of(u, need))];
}

void OperationGraph::unlink(int u) {
    for (int need = 0; need < width_; ++need) {
        const int use = use_of(u, need);
        const int place = place_[ix(use)];
        if (place < 0) continue;
        const int b = before_[ix(use)], a = after_[ix(use)];
        (b == none() ? first_[ix(place)] : after_[ix(b)]) = a;
        (a == none() ? last_[ix(place)] : before_[ix(a)]) = b;
    }
}

void OperationGraph::link(int u, int c, const std::vector<int>& after) {
    choice_[ix(u)] = c;
    p_[ix(u)] = m_.time[ix(c)];
    for (int need = 0; need < width_; ++need) {
        const int use = use_of(u, need);
        const int place = m_.place[ix((c << shift_) + need)];
        place_[ix(use)] = place;
        before_[ix(use)] = after_[ix(use)] = none();
        if (place < 0) continue;
        const int b = after[ix(need)];
        const int a = b == none() ? first_[ix(place)] : after_[ix(b)];
        before_[ix(use)] = b;
        after_[ix(use)] = a;
        (b == none() ? first_[ix(place)] : after_[ix(b)]) = use;
        (a == none() ? last_[ix(place)] : before_[ix(a)]) = use;
    }
}

bool OperationGraph::insert(int u, int c, const std::vector<int>& after) {
    const int old_choice = choice_[ix(u)];
    standing(u, old_);
    unlink(u);
    link(u, c, after);
    int low = 0, high = 0;
    if (reorder(u, low, high)) {
        heads_from(low);
        if (tails_) tails_from(high);
        return true;
    }
    unlink(u);
    link(u, old_choice, old_);
    return false;
}

// Puts the stretch of the linear order right in which u now stands wrong.
bool OperationGraph::reorder(int u, int& low, int& high) {
    const int at = position_[ix(u)];
    low = high = at;
    for (int need = 0; need < width_; ++need) {
        const int b = op_of(before_[ix(use_of(u, need))]), a = op_of(after_[ix(use_of(u, need))]);
        if (b != n_) high = std::max(high, position_[ix(b)]);
        if (a != n_) low = std::min(low, position_[ix(a)]);
    }
    if (high == at && low == at) return true;
    if (high > at && low < at) return false;
    const bool forward = high > at;
    // What follows from u (or what it follows from) within the stretch goes with it.
    int early = 0, late = 0;
    bool circle = false;
    marked_[ix(u)] = 1;
    late_[ix(late++)] = u;
    for (int k = forward ? low + 1 : high - 1; forward ? k <= high : k >= low;
         k += forward ? 1 : -1) {
        const int o = order_[ix(k)];
        bool goes = false;
        const auto& arcs = forward ? m_.in : m_.out;
        const auto& begin = forward ? m_.in_begin : m_.out_begin;
        const auto& beside = forward ? before_ : after_;
        for (int a = begin[ix(o)]; a < begin[ix(o) + 1]; ++a)
            goes = goes || marked_[ix(arcs[ix(a)].op)] != 0;
        for (int need = 0; need < width_; ++need)
            goes = goes || marked_[ix(op_of(beside[ix(use_of(o, need))]))] != 0;
        if (goes) {
            marked_[ix(o)] = 1;
            late_[ix(late++)] = o;
        } else {
            early_[ix(early++)] = o;
        }
    }
    for (int need = 0; need < width_; ++need) {
        const auto& fixed = forward ? before_ : after_;
        circle = circle || marked_[ix(op_of(fixed[ix(use_of(u, need))]))] != 0;
    }
    for (int k = 0; k < late; ++k)
        marked_[ix(late_[ix(k)])] = 0;
    if (circle) return false;
    int write = forward ? low : high;
    const auto put = [&](int o) {
        order_[ix(write)] = o;
        position_[ix(o)] = write;
        write += forward ? 1 : -1;
    };
    for (int k = 0; k < early; ++k)
        put(early_[ix(k)]);
    for (int k = 0; k < late; ++k)
        put(late_[ix(k)]);
    return true;
}

void OperationGraph::evaluate(std::vector<int>& completion,
                              std::vector<std::int64_t>& value) const {
    const std::size_t orders = m_.due.size();
    completion.assign(orders, -1);
    for (const int o : m_.last) {
        const int k = m_.order[ix(o)];
        if (k >= 0) completion[ix(k)] = std::max(completion[ix(k)], end_[ix(o)]);
    }
    value.clear();
    for (const core::Criterion c : m_.criteria) {
        std::int64_t v = 0;
        switch (c) {
            case core::Criterion::WeightedTardiness:
                for (std::size_t k = 0; k < orders; ++k) {
                    if (completion[k] > m_.due[k]) v += m_.weight[k] * (completion[k] - m_.due[k]);
                }
                break;
            case core::Criterion::LateOrders:
                for (std::size_t k = 0; k < orders; ++k)
                    v += completion[k] > m_.due[k] ? 1 : 0;
                break;
            case core::Criterion::Makespan:
                v = makespan_;
                break;
            case core::Criterion::FlowTime:
                for (std::size_t k = 0; k < orders; ++k) {
                    if (completion[k] >= 0) v += completion[k] - m_.release[k];
                }
                break;
            case core::Criterion::Overtime:
            case core::Criterion::Holding:
                break;  // none, see GraphModel::of
        }
        value.push_back(v);
    }
}

}  // namespace sched::search
