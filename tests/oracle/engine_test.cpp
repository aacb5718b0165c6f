// The textbooks' sequences executed by the engine: the same starts as by hand, and as by the brute
// force of this folder.

#include <random>

#include "sched/engine/decode/decoder.hpp"
#include "tests/oracle/answers.hpp"

using namespace oracle;

namespace {

/// The list as ranks. @param lookahead 0: never idle while something is ready (list scheduling);
/// engine::never: serial insertion.
std::optional<Schedule> decoded(const Problem& problem, const Sequence& list,
                                sched::engine::Tick lookahead) {
    const sched::engine::CompiledProblem compiled(problem);
    sched::engine::Decoder decoder(compiled);
    sched::engine::Sequence sequence;
    sequence.rank.resize(problem.operations.size());
    for (std::size_t k = 0; k < list.size(); ++k)
        sequence.rank[list[k].index()] = static_cast<std::int32_t>(k);
    sequence.lookahead = lookahead;
    if (!decoder.decode(sequence)) return std::nullopt;
    const Schedule s = decoder.to_schedule();
    CHECK(decoder.value() == evaluate(problem, s).parts);
    return s;
}

Sequence all_in_order(const Problem& p) {
    Sequence s;
    for (std::size_t k = 0; k < p.operations.size(); ++k)
        s.push_back(OperationId{k});
    return s;
}

void shuffle(Sequence& list, std::mt19937& random) {
    for (std::size_t k = list.size() - 1; k > 0; --k)
        std::swap(list[k], list[random() % (k + 1)]);
}

const std::vector<std::int64_t> nine_tasks{3, 2, 2, 2, 4, 4, 4, 4, 9};
const std::vector<std::pair<int, int>> nine_precedence{{0, 8}, {3, 4}, {3, 5}, {3, 6}, {3, 7}};

}  // namespace

TEST_CASE("the engine executes Graham's nine tasks as Graham did", "[oracle][graham][engine]") {
    // Graham 1966 and 1969, as in parallel_test.cpp.
    struct Row {
        int m;
        std::int64_t less;
        std::vector<std::pair<int, int>> before;
        Sequence list;
        std::int64_t makespan;
        std::vector<std::int64_t> starts;
    };
    const Sequence list = sequence({1, 2, 3, 4, 5, 6, 7, 8, 9});
    const std::vector<Row> rows{
        {3, 0, nine_precedence, list, 12, {0, 0, 0, 2, 4, 4, 8, 8, 3}},
        {4, 0, nine_precedence, list, 15, {0, 0, 0, 0, 2, 2, 2, 3, 6}},
        {3, 1, nine_precedence, list, 13, {0, 0, 0, 1, 2, 2, 2, 5, 5}},
        {3, 0, {{0, 8}, {3, 6}, {3, 7}}, list, 16, {0, 0, 0, 2, 2, 3, 4, 6, 7}},
        {3,
         0,
         nine_precedence,
         sequence({1, 2, 4, 5, 6, 3, 9, 7, 8}),
         14,
         {0, 0, 3, 0, 2, 2, 6, 6, 5}},
        {1, 0, nine_precedence, list, 34, {}},
        {2, 0, nine_precedence, list, 17, {}},
        {5, 0, nine_precedence, list, 12, {}},
        {3, 0, {}, list, 16, {}},
    };
    for (const Row& row : rows) {
        auto p = nine_tasks;
        for (auto& x : p)
            x -= row.less;
        const Problem problem = processors(row.m, p, row.before);
        const auto s = decoded(problem, row.list, 0);
        CAPTURE(row.m, row.less, row.makespan);
        is_worth(problem, s, {row.makespan});
        if (!row.starts.empty()) CHECK(starts(*s) == row.starts);
    }
}

TEST_CASE("without looking ahead the engine is list scheduling", "[oracle][engine]") {
    std::mt19937 random(3);
    for (const int m : {2, 3, 4}) {
        const Problem problem = processors(m, nine_tasks, nine_precedence);
        Sequence list = all_in_order(problem);
        for (int round = 0; round < 200; ++round) {
            shuffle(list, random);
            const auto s = decoded(problem, list, 0);
            REQUIRE(s);
            CHECK(starts(*s) == starts(list_scheduled(problem, list)));
        }
    }
}

TEST_CASE("looking ahead without limit the engine is serial generation", "[oracle][engine]") {
    // Lists that keep precedence: the engine takes the first that may go, as the serial scheme
    // does.
    std::mt19937 random(5);
    const auto draw = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
    for (int round = 0; round < 100; ++round) {
        Builder b({Criterion::Makespan});
        const auto pool = b.resource(3);
        for (int i = 0; i < 9; ++i) {
            const auto op = b.operation(b.job({.r = draw(4)}), 1 + draw(6), {pool});
            b.raw().operations[op.index()].modes[0].needs[0].amount = 1 + draw(3);
            if (i > 0 && draw(3) == 0) b.before(OperationId{draw(i)}, op, draw(3));
        }
        const Problem problem = b.done();
        const Sequence list = all_in_order(problem);  // predecessors have lower numbers
        const auto s = decoded(problem, list, sched::engine::never);
        REQUIRE(s);
        CHECK(starts(*s) == starts(serial(problem, list)));
    }
}

TEST_CASE("Johnson's sequences executed by the engine: 47, 43, 25.83 h, 51",
          "[oracle][johnson][engine]") {
    // Johnson 1954 and the data of flow_shop_test.cpp.
    const auto by_jobs = [](const Problem& p, std::initializer_list<std::size_t> jobs_from_1) {
        Sequence list;
        for (const auto j : jobs_from_1) {
            for (std::size_t m = 0; m < p.resources.size(); ++m)
                list.push_back(OperationId{(j - 1) * p.resources.size() + m});
        }
        return decoded(p, list, sched::engine::never);
    };
    const Problem five = flow_shop({{4, 4, 30, 6, 2}, {5, 1, 4, 30, 3}});
    is_worth(five, by_jobs(five, {5, 1, 4, 3, 2}), {47});
    const Problem six = flow_shop({{3, 12, 5, 2, 9, 11}, {8, 10, 9, 6, 3, 1}});
    is_worth(six, by_jobs(six, {4, 1, 3, 2, 5, 6}), {43});
    const Problem seven =
        flow_shop({{258, 166, 271, 552, 338, 522, 289}, {347, 584, 241, 199, 762, 173, 111}});
    is_worth(seven, by_jobs(seven, {2, 1, 5, 3, 4, 6, 7}), {2583});
    const Problem three = flow_shop({{8, 10, 6, 7, 11}, {5, 6, 2, 3, 4}, {4, 9, 8, 6, 5}});
    is_worth(three, by_jobs(three, {3, 2, 1, 4, 5}), {51});
}

TEST_CASE("the engine's sequences hold the optimum of small job shops", "[oracle][engine]") {
    // All precedence-keeping lists of a job shop decoded: the best is what trying all orders finds.
    const Problem p =
        job_shop(3, {{{0, 3}, {1, 2}, {2, 2}}, {{0, 2}, {2, 1}, {1, 4}}, {{1, 4}, {2, 3}}});
    const Optimum brute = by_orders(p);
    const sched::engine::CompiledProblem compiled(p);
    sched::engine::Decoder decoder(compiled);
    std::optional<std::vector<std::int64_t>> best;
    Sequence list = all_in_order(p);
    do {
        sched::engine::Sequence s;
        s.rank.resize(list.size());
        for (std::size_t k = 0; k < list.size(); ++k)
            s.rank[list[k].index()] = static_cast<std::int32_t>(k);
        s.lookahead = sched::engine::never;
        REQUIRE(decoder.decode(s));
        if (!best || decoder.value() < *best) best = decoder.value();
    } while (std::next_permutation(list.begin(), list.end()));
    REQUIRE(best);
    CHECK(*best == brute.value.parts);
}
