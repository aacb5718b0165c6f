// One machine: the classical rules and the exact optimum by trying all sequences.
// M. L. Pinedo, Scheduling: Theory, Algorithms, and Systems (data from memory, every answer
// recomputed).

#include "tests/oracle/answers.hpp"

using namespace oracle;

namespace {

std::vector<Task> tasks(const std::vector<std::int64_t>& p, const std::vector<std::int64_t>& d = {},
                        const std::vector<std::int64_t>& w = {},
                        const std::vector<std::int64_t>& r = {}) {
    std::vector<Task> all;
    for (std::size_t k = 0; k < p.size(); ++k) {
        Task t{.p = p[k]};
        if (!d.empty()) t.d = d[k];
        if (!w.empty()) t.w = w[k];
        if (!r.empty()) t.r = r[k];
        all.push_back(t);
    }
    return all;
}

/// Due at 0, so that weighted tardiness is the weighted sum of completions.
Problem weighted_completion(const std::vector<std::int64_t>& p,
                            const std::vector<std::int64_t>& w) {
    return one_machine(tasks(p, std::vector<std::int64_t>(p.size(), 0), w),
                       {Criterion::WeightedTardiness});
}

std::optional<Schedule> in_order(const Problem& problem, const Sequence& order) {
    return left_shifted(problem, {order});
}

/// All sequences that reach the optimum.
std::set<Sequence> optimal_sequences(const Problem& problem) {
    Sequence order = operations_on(problem, ResourceId{0});
    std::set<Sequence> best;
    std::optional<Value> value;
    do {
        const auto s = in_order(problem, order);
        if (!s) continue;
        const Value v = evaluate(problem, *s);
        if (!value || v < *value) best.clear();
        if (!value || v <= *value) {
            value = v;
            best.insert(order);
        }
    } while (std::next_permutation(order.begin(), order.end()));
    return best;
}

template <class Key>
Sequence sorted_by(const Problem& problem, Key key) {
    Sequence order = operations_on(problem, ResourceId{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](OperationId a, OperationId b) { return key(a.index()) < key(b.index()); });
    return order;
}

}  // namespace

TEST_CASE("Moore-Hodgson: two late of five", "[oracle][one-machine]") {
    // J. M. Moore, Management Science 15 (1968) 102-109; data after Pinedo, number of tardy jobs.
    const std::vector<std::int64_t> p{7, 8, 4, 6, 6}, d{9, 17, 18, 19, 21};
    const Problem problem = one_machine(tasks(p, d), {Criterion::LateOrders});

    // The rule: by due date; whenever late, the longest so far goes to the end.
    Sequence kept, rejected;
    std::int64_t t = 0;
    for (const auto op : sorted_by(problem, [&](std::size_t k) { return d[k]; })) {
        kept.push_back(op);
        t += p[op.index()];
        if (t <= d[op.index()]) continue;
        const auto longest = std::max_element(
            kept.begin(), kept.end(),
            [&](OperationId a, OperationId b) { return p[a.index()] < p[b.index()]; });
        t -= p[longest->index()];
        rejected.push_back(*longest);
        kept.erase(longest);
    }
    CHECK(kept == sequence({3, 4, 5}));
    CHECK(rejected == sequence({2, 1}));
    Sequence whole = kept;
    whole.insert(whole.end(), rejected.begin(), rejected.end());
    is_worth(problem, in_order(problem, whole), {2});
    optimum_is(problem, by_orders(problem), {2});
}

TEST_CASE("EDD: greatest lateness 10, total tardiness 17 against 16", "[oracle][one-machine]") {
    // J. R. Jackson 1955 (earliest due date minimises the greatest lateness); data as above.
    const std::vector<std::int64_t> p{7, 8, 4, 6, 6}, d{9, 17, 18, 19, 21};
    const Problem tardiness = one_machine(tasks(p, d), {Criterion::WeightedTardiness});
    const Sequence edd = sorted_by(tardiness, [&](std::size_t k) { return d[k]; });
    CHECK(edd == sequence({1, 2, 3, 4, 5}));
    is_worth(tardiness, in_order(tardiness, edd), {17});
    CHECK(ends(*in_order(tardiness, edd)) == std::vector<std::int64_t>{7, 15, 19, 25, 31});

    optimum_is(tardiness, by_orders(tardiness), {16});
    CHECK(optimal_sequences(tardiness).count(sequence({1, 3, 4, 5, 2})) == 1);

    const Problem lateness = one_machine_lateness(tasks(p, d), 21);
    is_worth(lateness, in_order(lateness, edd), {10 + 21});
    optimum_is(lateness, by_orders(lateness), {10 + 21});
}

TEST_CASE("WSPT: 1610 by exactly two sequences", "[oracle][one-machine]") {
    // W. E. Smith, Naval Research Logistics Quarterly 3 (1956) 59-66; data after an exercise of
    // Pinedo.
    const std::vector<std::int64_t> p{3, 6, 6, 5, 4, 8, 9}, w{0, 18, 12, 8, 8, 17, 16};
    const Problem problem = weighted_completion(p, w);
    const Sequence wspt = sorted_by(problem, [&](std::size_t k) {
        return -static_cast<double>(w[k]) / static_cast<double>(p[k]);
    });
    CHECK(wspt == sequence({2, 6, 3, 5, 7, 4, 1}));
    is_worth(problem, in_order(problem, wspt), {1610});
    CHECK(optimal_sequences(problem) ==
          std::set<Sequence>{sequence({2, 6, 3, 5, 7, 4, 1}), sequence({2, 6, 5, 3, 7, 4, 1})});
}

TEST_CASE("SPT: sum of completions 57, the longest first 87", "[oracle][one-machine]") {
    // Smith 1956 with equal weights; own data.
    const std::vector<std::int64_t> p{5, 3, 8, 2, 6};
    const Problem problem = one_machine(tasks(p), {Criterion::FlowTime});
    const Sequence spt = sorted_by(problem, [&](std::size_t k) { return p[k]; });
    CHECK(spt == sequence({4, 2, 1, 5, 3}));
    is_worth(problem, in_order(problem, spt), {57});
    is_worth(problem, in_order(problem, Sequence(spt.rbegin(), spt.rend())), {87});
    optimum_is(problem, by_orders(problem), {57});
}

TEST_CASE("WSPT with chains: 1967 by one sequence", "[oracle][one-machine]") {
    // Pinedo, 1 | chains | sum w_j C_j.
    Problem problem = weighted_completion({3, 6, 6, 5, 4, 8, 10}, {6, 18, 12, 8, 8, 17, 18});
    for (const auto& [a, b] : {std::pair{1, 2}, {2, 3}, {3, 4}, {5, 6}, {6, 7}}) {
        problem.constraints.push_back(
            TimeLag{.from = OperationId{a - 1}, .to = OperationId{b - 1}});
    }
    optimum_is(problem, by_orders(problem), {1967});
    CHECK(optimal_sequences(problem) == std::set<Sequence>{sequence({1, 2, 5, 6, 3, 7, 4})});
}

TEST_CASE("Lawler: greatest cost 10 by two sequences", "[oracle][one-machine]") {
    // E. L. Lawler, Management Science 19 (1973) 544-546; data after Pinedo: h1 = 1 + C, h2 = 1.2
    // C, h3 = 10.
    const std::vector<std::int64_t> p{2, 3, 5};
    const Problem problem = one_machine(tasks(p), {Criterion::Makespan});
    const auto cost = [](const Schedule& s) {
        const auto c = ends(s);
        return std::max({1.0 + static_cast<double>(c[0]), 1.2 * static_cast<double>(c[1]), 10.0});
    };
    const std::map<Sequence, double> expected{
        {sequence({1, 2, 3}), 10.0}, {sequence({2, 1, 3}), 10.0}, {sequence({1, 3, 2}), 12.0},
        {sequence({3, 1, 2}), 12.0}, {sequence({2, 3, 1}), 11.0}, {sequence({3, 2, 1}), 11.0}};
    for (const auto& [order, value] : expected) {
        CHECK(cost(*in_order(problem, order)) == Approx(value).epsilon(1e-12));
    }
    // As a question of yes or no, h <= z is a deadline per job: 10 can be kept by just those two.
    Problem within = problem;
    within.orders[0].deadline = at(9);  // 1 + C <= 10
    within.orders[1].deadline = at(8);  // 1.2 C <= 10
    for (const auto& [order, value] : expected)
        CHECK(in_order(within, order).has_value() == (value <= 10.0));
}

TEST_CASE("Lawler with precedence: greatest lateness 1", "[oracle][one-machine]") {
    // Lawler 1973: from the end, the latest due among those without successors left; own data.
    const std::vector<std::int64_t> p{4, 3, 2, 5, 1, 3}, d{6, 5, 14, 12, 9, 18};
    const std::vector<std::pair<int, int>> before{{1, 3}, {2, 4}, {4, 6}, {5, 6}};
    Problem problem = one_machine_lateness(tasks(p, d), 18);
    for (const auto& [a, b] : before)
        problem.constraints.push_back(
            TimeLag{.from = OperationId{a - 1}, .to = OperationId{b - 1}});

    Sequence order;
    std::vector<bool> gone(p.size(), false);
    for (std::size_t left = p.size(); left > 0; --left) {
        std::optional<std::size_t> last;
        for (std::size_t k = 0; k < p.size(); ++k) {
            const bool free = std::none_of(before.begin(), before.end(), [&](const auto& b) {
                return b.first - 1 == static_cast<int>(k) &&
                       !gone[static_cast<std::size_t>(b.second - 1)];
            });
            if (!gone[k] && free && (!last || d[k] > d[*last])) last = k;
        }
        gone[*last] = true;
        order.insert(order.begin(), OperationId{*last});
    }
    CHECK(order == sequence({2, 1, 5, 4, 3, 6}));
    is_worth(problem, in_order(problem, order), {1 + 18});
    optimum_is(problem, by_orders(problem), {1 + 18});
}

TEST_CASE("1 | r | Lmax: 5 by one sequence, as the preemptive bound says",
          "[oracle][one-machine]") {
    // Pinedo, branch and bound for 1 | r_j | Lmax.
    const std::vector<std::int64_t> p{4, 2, 6, 5}, d{8, 12, 11, 10}, r{0, 1, 3, 5};
    const Problem problem = one_machine_lateness(tasks(p, d, {}, r), 12);
    optimum_is(problem, by_orders(problem), {5 + 12});
    CHECK(optimal_sequences(problem) == std::set<Sequence>{sequence({1, 3, 4, 2})});

    // Preemptive EDD, second by second: the bound of the book.
    auto left = p;
    std::int64_t greatest = -1000;
    for (std::int64_t t = 0; std::any_of(left.begin(), left.end(), [](auto x) { return x > 0; });
         ++t) {
        std::optional<std::size_t> job;
        for (std::size_t k = 0; k < p.size(); ++k) {
            if (left[k] > 0 && r[k] <= t && (!job || d[k] < d[*job])) job = k;
        }
        if (job && --left[*job] == 0) greatest = std::max(greatest, t + 1 - d[*job]);
    }
    CHECK(greatest == 5);
}

TEST_CASE("total tardiness: 370 by two sequences", "[oracle][one-machine]") {
    // Pinedo, 1 || sum T_j by dynamic programming after E. L. Lawler, Annals of Discrete
    // Mathematics 1 (1977).
    const Problem problem = one_machine(tasks({121, 79, 147, 83, 130}, {260, 266, 266, 336, 337}),
                                        {Criterion::WeightedTardiness});
    optimum_is(problem, by_orders(problem), {370});
    CHECK(optimal_sequences(problem) ==
          std::set<Sequence>{sequence({1, 2, 4, 5, 3}), sequence({2, 1, 4, 5, 3})});
}
