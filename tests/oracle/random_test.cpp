// Small random problems: trying everything against the exact search. Job shops with releases, due
// dates, weights, minimum and maximum lags, start windows and deadlines; many have no answer at
// all, which must be found out as well.

#include <random>

#include "tests/oracle/answers.hpp"

using namespace oracle;

namespace {

class RandomShop {
public:
    explicit RandomShop(unsigned seed) : engine_(seed) {}

    Problem make() {
        const std::vector<std::vector<Criterion>> objectives{
            {Criterion::Makespan},
            {Criterion::WeightedTardiness, Criterion::Makespan},
            {Criterion::LateOrders, Criterion::WeightedTardiness},
            {Criterion::FlowTime},
        };
        Builder b(objectives[below(static_cast<int>(objectives.size()))]);
        const int machines = 2;
        for (int m = 0; m < machines; ++m)
            b.resource();
        std::vector<OperationId> all;
        for (int j = 0; j < 4; ++j) {
            Task t{.d = 5 + draw(20), .w = draw(4), .r = draw(6)};
            const auto job = b.job(t);
            std::optional<OperationId> last;
            for (int k = 0; k < 2; ++k) {
                // Not 0: an empty interval needs nothing and may lie inside another's, which orders
                // miss.
                const auto op = b.operation(job, 1 + draw(6), {ResourceId{draw(machines)}});
                if (last) lag(b, *last, op);
                last = op;
                all.push_back(op);
            }
        }
        if (chance(4))
            lag(b, all[static_cast<std::size_t>(draw(8))], all[static_cast<std::size_t>(draw(8))]);
        if (chance(4)) {
            b.raw().constraints.push_back(
                StartWindow{.operation = all[static_cast<std::size_t>(draw(8))],
                            .not_before = at(draw(8)),
                            .not_after = at(8 + draw(8))});
        }
        if (chance(3))
            b.raw().orders[static_cast<std::size_t>(draw(4))].deadline = at(8 + draw(16));
        Problem p = b.done();
        if (chance(4)) p.horizon_end = at(14 + draw(10));
        return p;
    }

private:
    int draw(int n) { return static_cast<int>(engine_() % static_cast<unsigned>(n)); }
    std::size_t below(int n) { return static_cast<std::size_t>(draw(n)); }
    bool chance(int of) { return draw(of) == 0; }
    void lag(Builder& b, OperationId from, OperationId to) {
        if (from == to) return;
        const Edge edge = draw(3) == 0 ? Edge::Start : Edge::End;
        TimeLag l{.from = from, .edge = edge, .to = to, .min = Seconds{draw(4)}};
        if (chance(2)) l.max = l.min + Seconds{draw(5)};
        b.raw().constraints.push_back(l);
    }
    std::mt19937 engine_;
};

}  // namespace

TEST_CASE("the exact search agrees with trying everything", "[oracle][random]") {
    int infeasible = 0;
    for (unsigned seed = 1; seed <= 150; ++seed) {
        const Problem p = RandomShop(seed).make();
        CAPTURE(seed);
        REQUIRE(validate(p).empty());
        const Optimum best = by_orders(p);
        if (best.schedule) {
            optimum_is(p, best, best.value.parts);
            continue;
        }
        ++infeasible;
        sched::search::SearchOptions options;
        options.budget.evaluations = 200'000;
        const Solution s = sched::search::solve_exact(p, options);
        CHECK(s.status == Status::Infeasible);
        CHECK_FALSE(s.schedule);
    }
    CHECK(infeasible > 15);
    CHECK(infeasible < 100);
}

TEST_CASE("the exact search agrees with all lists on cumulative resources", "[oracle][random]") {
    for (unsigned seed = 1; seed <= 60; ++seed) {
        std::mt19937 engine(seed);
        const auto draw = [&](int n) {
            return static_cast<int>(engine() % static_cast<unsigned>(n));
        };
        Builder b(draw(2) ? std::vector{Criterion::Makespan}
                          : std::vector{Criterion::WeightedTardiness});
        const int capacity = 2 + draw(3);
        const auto pool = b.resource(capacity);
        const auto other = b.resource(2);
        for (int i = 0; i < 7; ++i) {
            const bool first = draw(3) > 0;
            const auto op = b.operation(b.job({.d = 2 + draw(12), .w = draw(4), .r = draw(4)}),
                                        1 + draw(6), {first ? pool : other});
            b.raw().operations[op.index()].modes[0].needs[0].amount =
                1 + draw(first ? capacity : 2);
            if (i > 0 && draw(3) == 0) b.before(OperationId{draw(i)}, op, draw(3));
        }
        const Problem p = b.done();
        CAPTURE(seed);
        const Optimum best = by_lists(p);
        optimum_is(p, best, best.value.parts);
    }
}
