// The engine and its propagators against counting: all solutions of a random little system, found
// one after the other with each excluded by a clause, are exactly those that trying everything
// finds.

#include <algorithm>
#include <functional>
#include <set>
#include <vector>

#include "sched/search/base/rng.hpp"
#include "sched/search/exact/lcg/lcg_cumulative.hpp"
#include "sched/search/exact/lcg/lcg_energy.hpp"
#include "sched/search/exact/lcg/lcg_engine.hpp"
#include "sched/search/exact/lcg/lcg_linear.hpp"
#include "tests/catch.hpp"

using namespace sched::search;
using namespace sched::search::lcg;

namespace {

class LowestFirst final : public Brancher {
public:
    Lit next(const Engine& e) override {
        for (int v = 0; v < e.variables(); ++v) {
            if (e.lb(2 * v) < e.ub(2 * v)) return {2 * v + 1, -e.lb(2 * v)};
        }
        return {};
    }
};

/// Every solution, as values of all variables. @pre sealed
std::set<std::vector<int>> all_solutions(Engine& e, bool by_activity) {
    std::set<std::vector<int>> found;
    LowestFirst brancher;
    while (e.search(brancher, {}, by_activity) == Answer::Satisfied) {
        std::vector<int> values;
        std::vector<Lit> other;
        for (int v = 0; v < e.variables(); ++v) {
            const int x = e.lb(2 * v);
            values.push_back(x);
            other.push_back({2 * v, x + 1});
            other.push_back({2 * v + 1, 1 - x});
        }
        REQUIRE(found.insert(values).second);
        e.backtrack(0);
        if (!e.add_clause(other)) break;
        if (found.size() % 16 == 0 && !e.refuted() && e.tighten_root({0, e.lb(0)})) e.reduce();
    }
    return found;
}

/// Every assignment within [0, top[v]] that `holds` accepts.
std::set<std::vector<int>> everything(const std::vector<int>& top,
                                      const std::function<bool(const std::vector<int>&)>& holds) {
    std::set<std::vector<int>> all;
    std::vector<int> x(top.size(), 0);
    for (;;) {
        if (holds(x)) all.insert(x);
        std::size_t v = 0;
        while (v < x.size() && ++x[v] > top[v])
            x[v++] = 0;
        if (v == x.size()) return all;
    }
}

struct Piece {
    int length = 1;
    int demand = 1;
    bool may_miss = false;
    bool stretches = false;
};

/// Variables: starts, then an end for each that stretches, then a presence for each that may miss.
void count_cumulative(std::uint64_t seed, bool timetable, bool energy) {
    Rng rng(seed, 3);
    int solutions = 0;
    for (int k = 0; k < 120; ++k) {
        INFO("system " << k);
        const int n = 3 + rng.below(2);
        const int capacity = 1 + rng.below(3);
        const int horizon = 5;
        std::vector<Piece> pieces;
        for (int i = 0; i < n; ++i) {
            pieces.push_back({.length = 1 + rng.below(3),
                              .demand = 1 + rng.below(capacity),
                              .may_miss = i == 0 && rng.below(2) == 0,
                              .stretches = i == 1 && rng.below(2) == 0});
        }
        Engine e;
        std::vector<int> top;
        std::vector<Use> uses(pieces.size());
        for (int i = 0; i < n; ++i) {
            top.push_back(horizon - pieces[i].length);
            uses[i].start = {2 * e.new_variable(0, top.back()), 0};
            uses[i].end = shifted(uses[i].start, pieces[i].length);
            uses[i].demand = pieces[i].demand;
            uses[i].length = pieces[i].length;
        }
        std::vector<int> end_of(pieces.size(), -1);
        std::vector<int> presence_of(pieces.size(), -1);
        for (int i = 0; i < n; ++i) {
            if (pieces[i].stretches) {
                end_of[i] = e.new_variable(0, horizon);
                top.push_back(horizon);
                uses[i].end = {2 * end_of[i], 0};
                e.add_difference(uses[i].start, pieces[i].length, uses[i].end);
            }
            if (pieces[i].may_miss) {
                uses[i].present = e.new_bool();
                presence_of[i] = variable_of(uses[i].present.side);
                top.push_back(1);
            }
        }
        if (timetable) post_cumulative(e, uses, capacity);
        if (energy) post_energy(e, uses, capacity);
        e.seal();
        const auto holds = [&](const std::vector<int>& x) {
            for (int i = 0; i < n; ++i) {
                if (end_of[i] >= 0 && x[end_of[i]] < x[i] + pieces[i].length) return false;
            }
            for (int t = 0; t < horizon; ++t) {
                int used = 0;
                for (int i = 0; i < n; ++i) {
                    const int end = end_of[i] >= 0 ? x[end_of[i]] : x[i] + pieces[i].length;
                    const bool there = presence_of[i] < 0 || x[presence_of[i]] == 1;
                    if (there && x[i] <= t && t < end) used += pieces[i].demand;
                }
                if (used > capacity) return false;
            }
            return true;
        };
        const auto expected = everything(top, holds);
        CHECK(all_solutions(e, k % 2 == 0) == expected);
        solutions += static_cast<int>(expected.size());
    }
    CHECK(solutions > 1000);
}

}  // namespace

TEST_CASE("time-tables keep every solution and nothing else", "[lcg][oracle]") {
    count_cumulative(11, true, false);
}

TEST_CASE("time-tables with edge finding keep every solution and nothing else", "[lcg][oracle]") {
    count_cumulative(12, true, true);
}

TEST_CASE("differences with and without conditions keep every solution", "[lcg][oracle]") {
    Rng rng(5, 5);
    for (int k = 0; k < 150; ++k) {
        Engine e;
        const int n = 4;
        std::vector<int> top(n, 4);
        for (int i = 0; i < n; ++i)
            e.new_variable(0, 4);
        const Lit flag = e.new_bool();
        top.push_back(1);
        struct Arc {
            int from, to, weight, when;  // when: 0 always, 1 flag, 2 not flag
        };
        std::vector<Arc> arcs;
        for (int a = 0; a < 6; ++a) {
            const int from = rng.below(n);
            arcs.push_back(
                {from, (from + 1 + rng.below(n - 1)) % n, rng.below(6) - 3, rng.below(3)});
            const Arc& x = arcs.back();
            e.add_difference({2 * x.from, 0}, x.weight, {2 * x.to, 0},
                             x.when == 0   ? Lit{}
                             : x.when == 1 ? flag
                                           : negated(flag));
        }
        e.seal();
        const auto expected = everything(top, [&](const std::vector<int>& x) {
            return std::all_of(arcs.begin(), arcs.end(), [&](const Arc& a) {
                const bool on = a.when == 0 || (a.when == 1) == (x[n] == 1);
                return !on || x[a.to] >= x[a.from] + a.weight;
            });
        });
        CHECK(all_solutions(e, k % 2 == 0) == expected);
    }
}

TEST_CASE("weighted sums keep every solution", "[lcg][oracle]") {
    Rng rng(6, 5);
    for (int k = 0; k < 150; ++k) {
        Engine e;
        const int n = 3;
        std::vector<int> top(n, 4);
        std::vector<Weighted> terms;
        for (int i = 0; i < n; ++i) {
            const Side side = 2 * e.new_variable(0, 4);
            terms.push_back({1 + rng.below(4), rng.below(3) == 0 ? flipped(side) : side});
        }
        const Side total = 2 * e.new_variable(0, 9);
        top.push_back(9);
        const int limit = rng.below(5) - 2;
        post_linear(e, terms, limit, total);
        e.seal();
        const auto expected = everything(top, [&](const std::vector<int>& x) {
            std::int64_t sum = 0;
            for (const auto& t : terms)
                sum += t.weight * ((t.side & 1) ? -x[t.side / 2] : x[t.side / 2]);
            return sum <= limit + x[n];
        });
        CHECK(all_solutions(e, k % 2 == 0) == expected);
    }
}

TEST_CASE("longest paths find what lags imply, and positive cycles", "[lcg]") {
    Engine e;
    for (int i = 0; i < 3; ++i)
        e.new_variable(0, 100);
    e.add_difference({0, 0}, 4, {2, 0});
    e.add_difference({2, 0}, 3, {4, 0});
    e.add_difference({4, 0}, -9, {0, 0});  // at most 9 between the first and the third
    std::vector<int> out;
    REQUIRE(e.longest_paths(0, out));
    CHECK(out == std::vector<int>{0, 4, 7});
    REQUIRE(e.longest_paths(4, out));
    CHECK(out == std::vector<int>{-9, -5, 0});
    e.add_difference({4, 0}, -6, {0, 0});  // 7 does not fit into 6
    CHECK_FALSE(e.longest_paths(0, out));
}
