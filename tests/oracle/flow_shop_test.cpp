// Two- and three-machine flow shops: Johnson's rule. S. M. Johnson, Optimal two- and three-stage
// production schedules with setup times included, Naval Research Logistics Quarterly 1 (1954)
// 61-68.

#include "tests/oracle/answers.hpp"

using namespace oracle;

namespace {

/// Every machine works through the jobs in this order (numbers from 0).
std::optional<Schedule> permutation_schedule(const Problem& problem,
                                             const std::vector<std::size_t>& jobs) {
    const std::size_t machines = problem.resources.size();
    std::vector<Sequence> orders(machines);
    for (std::size_t m = 0; m < machines; ++m) {
        for (const std::size_t j : jobs)
            orders[m].push_back(OperationId{j * machines + m});
    }
    return left_shifted(problem, orders);
}

Optimum best_permutation(const Problem& problem) {
    return by_permutations(problem, problem.jobs.size(),
                           [&](const auto& order) { return permutation_schedule(problem, order); });
}

/// Johnson's rule: shorter first times first, rising; then falling second times.
std::vector<std::size_t> johnson(const std::vector<std::int64_t>& a,
                                 const std::vector<std::int64_t>& b) {
    std::vector<std::size_t> jobs(a.size());
    std::iota(jobs.begin(), jobs.end(), std::size_t{0});
    std::stable_sort(jobs.begin(), jobs.end(), [&](std::size_t i, std::size_t j) {
        return std::min(a[i], b[j]) < std::min(a[j], b[i]);
    });
    return jobs;
}

std::vector<std::size_t> numbers(std::initializer_list<std::size_t> from_1) {
    std::vector<std::size_t> v;
    for (const auto k : from_1)
        v.push_back(k - 1);
    return v;
}

std::int64_t busy(const Problem& p, int machine) {
    std::int64_t sum = 0;
    for (const auto op : operations_on(p, ResourceId{machine}))
        sum += p.operations[op.index()].modes[0].work.count();
    return sum;
}

}  // namespace

TEST_CASE("Johnson 1954: five items, 47 hours", "[oracle][johnson]") {
    // Johnson 1954, example (times from memory, answer recomputed by trying all).
    const std::vector<std::int64_t> a{4, 4, 30, 6, 2}, b{5, 1, 4, 30, 3};
    const Problem p = flow_shop({a, b});
    CHECK(johnson(a, b) == numbers({5, 1, 4, 3, 2}));
    is_worth(p, permutation_schedule(p, johnson(a, b)), {47});
    is_worth(p, permutation_schedule(p, numbers({2, 3, 4, 1, 5})), {78});

    const Optimum best = best_permutation(p);
    optimum_is(p, best, {47});
    CHECK(best.tried == 120);
    CHECK(best.reached == 2);
    std::int64_t worst = 0;
    by_permutations(p, 5, [&](const auto& order) {
        const auto s = permutation_schedule(p, order);
        worst = std::max(worst, evaluate(p, *s).parts[0]);
        return s;
    });
    CHECK(worst == 78);
    // Nor do different orders on the two machines do better.
    optimum_is(p, by_orders(p), {47});
}

TEST_CASE("Johnson: six jobs, 43", "[oracle][johnson]") {
    // Data of a public lecture text whose printed answer (42) starts F on M2 before M1 has finished
    // it.
    const std::vector<std::int64_t> a{3, 12, 5, 2, 9, 11}, b{8, 10, 9, 6, 3, 1};
    const Problem p = flow_shop({a, b});
    const auto s = permutation_schedule(p, numbers({4, 1, 3, 2, 5, 6}));  // D A C B E F
    CHECK(johnson(a, b) == numbers({4, 1, 3, 2, 5, 6}));
    is_worth(p, s, {43});
    CHECK(43 - busy(p, 1) == 6);  // idle on M2
    CHECK(43 - busy(p, 0) == 1);  // idle on M1, at the end
    CHECK(number(s->placements[10].end) == 42);
    optimum_is(p, best_permutation(p), {43});
}

TEST_CASE("Johnson: seven jobs, 25.83 h", "[oracle][johnson]") {
    // Data of a public lecture text (hundredths of an hour); its printed sequence gives 31.58.
    const std::vector<std::int64_t> a{258, 166, 271, 552, 338, 522, 289},
        b{347, 584, 241, 199, 762, 173, 111};
    const Problem p = flow_shop({a, b});
    CHECK(johnson(a, b) == numbers({2, 1, 5, 3, 4, 6, 7}));  // B A E C D F G
    is_worth(p, permutation_schedule(p, johnson(a, b)), {2583});
    is_worth(p, permutation_schedule(p, numbers({2, 7, 3, 1, 4, 6, 5})), {3158});
    optimum_is(p, best_permutation(p), {2583});
}

TEST_CASE("Johnson: three machines where the middle one is dominated, 51", "[oracle][johnson]") {
    // Own data; the rule on A + B and B + C is optimal when min A >= max B or min C >= max B
    // (Johnson 1954).
    const std::vector<std::int64_t> a{8, 10, 6, 7, 11}, b{5, 6, 2, 3, 4}, c{4, 9, 8, 6, 5};
    const Problem p = flow_shop({a, b, c});
    std::vector<std::int64_t> ab, bc;
    for (std::size_t j = 0; j < a.size(); ++j) {
        ab.push_back(a[j] + b[j]);
        bc.push_back(b[j] + c[j]);
    }
    CHECK(johnson(ab, bc) == numbers({3, 2, 1, 4, 5}));
    is_worth(p, permutation_schedule(p, johnson(ab, bc)), {51});
    optimum_is(p, best_permutation(p), {51});
}
