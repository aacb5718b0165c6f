// The operation graph and the search along its critical paths: heads against the longest path
// computed from the definition, values against the decoder's, and problems without a model.

#include "sched/search/room/path_search.hpp"

#include <algorithm>

#include "sched/engine/decode/decoder.hpp"
#include "sched/search/room/justify.hpp"
#include "sched/search/room/room_search.hpp"
#include "tests/classes/instance_lags.hpp"
#include "tests/search/public_instances.hpp"

using namespace sched;
using namespace public_instances;

namespace {

// Jobs of steps that need a stand and, often, a person; two stands of a kind, two people; lags from
// starts and ends.
core::Problem stand_and_person(std::uint64_t seed) {
    using namespace core;
    search::Rng rng(seed);
    Problem p;
    p.horizon_end = SimTime{Seconds{1'000'000}};
    for (const char* name : {"stand 1", "stand 2", "unit", "ann", "bo"})
        p.resources.push_back({.name = name});
    p.resources.push_back({.name = "rack", .capacity = 2});
    const auto r = [](int i) { return ResourceId{i}; };
    for (int j = 0; j < 6; ++j) {
        p.orders.push_back({.name = "order",
                            .release = SimTime{Seconds{rng.below(40)}},
                            .due = SimTime{Seconds{60 + rng.below(120)}},
                            .weight = 1 + rng.below(4)});
        p.jobs.push_back({.name = "screen", .order = OrderId{j}});
        for (int step = 0; step < 4; ++step) {
            const OperationId id{p.operations.size()};
            Mode mode{.work = Seconds{rng.below(20)}, .needs = {}, .stages = {}};
            if (step == 0) mode.needs.push_back({.any_of = {r(0), r(1)}});
            if (step == 1) mode.needs.push_back({.any_of = {r(2)}});
            if (step == 2) mode.needs.push_back({.any_of = {r(5)}});
            if (step != 2) mode.needs.push_back({.any_of = {r(3), r(4)}});
            p.operations.push_back({.name = "step", .job = JobId{j}, .modes = {mode}});
            if (step == 0) continue;
            TimeLag lag{.from = OperationId{id.value - 1}, .to = id, .min = Seconds{rng.below(6)}};
            if (rng.below(4) == 0) lag.edge = Edge::Start;
            p.constraints.push_back(lag);
        }
    }
    p.objective = {Criterion::WeightedTardiness, Criterion::Makespan};
    REQUIRE(validate(p).empty());
    return p;
}

/// Ends by the definition: relaxing every arc until nothing moves. @returns empty for a circle.
std::vector<int> ends_by_relaxing(const search::GraphModel& m, const search::OperationGraph& g) {
    std::vector<int> start(m.base);
    const auto length = [&](int o) { return g.time(o); };
    for (int round = 0; round <= m.operations + 1; ++round) {
        bool moved = false;
        const auto after = [&](int o, int at) {
            if (start[ix(o)] >= at) return;
            start[ix(o)] = at;
            moved = true;
        };
        for (int o = 0; o < m.operations; ++o) {
            for (int a = m.in_begin[ix(o)]; a < m.in_begin[ix(o) + 1]; ++a) {
                const auto& arc = m.in[ix(a)];
                after(o, start[ix(arc.op)] + arc.weight + (arc.from_start ? 0 : length(arc.op)));
            }
        }
        for (int place = 0; place < m.places; ++place) {
            for (int u = g.first(place); u != g.none() && g.after(u) != g.none(); u = g.after(u))
                after(g.op_of(g.after(u)), start[ix(g.op_of(u))] + length(g.op_of(u)));
        }
        if (moved) continue;
        for (int o = 0; o < m.operations; ++o)
            start[ix(o)] += length(o);
        return start;
    }
    return {};
}

void follows_definition(const search::GraphModel& m, const search::OperationGraph& g) {
    const auto ends = ends_by_relaxing(m, g);
    REQUIRE_FALSE(ends.empty());
    for (int o = 0; o < m.operations; ++o) {
        INFO("operation " << o);
        REQUIRE(g.end(o) == ends[ix(o)]);
    }
    // Heads and tails meet: the longest way through any operation, and over all the longest at all.
    int longest = 0;
    for (int o = 0; o < m.operations; ++o)
        longest = std::max(longest, g.head(o) + g.tail(o));
    CHECK(longest == *std::max_element(ends.begin(), ends.end()));
}

}  // namespace

TEST_CASE("heads, tails and circles of the graph follow the definition", "[path]") {
    int made = 0, refused = 0;
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
        const auto p = stand_and_person(seed);
        const engine::CompiledProblem compiled(p);
        const auto m = search::GraphModel::of(compiled);
        REQUIRE(m);
        search::OperationGraph g(*m);
        std::vector<int> choice;
        for (int o = 0; o < m->operations; ++o)
            choice.push_back(m->first_choice[ix(o)]);
        g.load(m->topological, choice);
        follows_definition(*m, g);
        search::Rng rng(seed);
        std::vector<int> after, back;
        for (int k = 0; k < 300; ++k) {
            // Anything, anywhere: what closes a circle is refused and changes nothing.
            const int u = rng.below(m->operations);
            const int count = m->first_choice[ix(u) + 1] - m->first_choice[ix(u)];
            const int c = m->first_choice[ix(u)] + rng.below(count);
            g.standing(u, back);
            after.assign(ix(m->width), g.none());
            for (int need = 0; need < m->width; ++need) {
                const int place = m->place[ix((c << m->shift) + need)];
                if (place < 0) continue;
                int at = rng.below(4) == 0 ? g.none() : g.first(place);
                for (int steps = rng.below(8); steps > 0 && at != g.none(); --steps)
                    at = g.after(at);
                if (at != g.none() && g.op_of(at) == u) at = g.before(at);
                after[ix(need)] = at;
            }
            if (g.insert(u, c, after)) {
                ++made;
                follows_definition(*m, g);
            } else {
                ++refused;
                std::vector<int> now;
                g.standing(u, now);
                CHECK(now == back);
                follows_definition(*m, g);
            }
        }
    }
    CHECK(made > 300);
    CHECK(refused > 50);
}

TEST_CASE("what is found on the graph decodes to the same value", "[path]") {
    std::vector<core::Problem> problems;
    for (std::uint64_t seed = 11; seed <= 14; ++seed)
        problems.push_back(stand_and_person(seed));
    problems.push_back(load("jsp", "la01"));
    problems.push_back(load("fjsp", "mk01"));
    problems.push_back(load("jsp-twt", "abz5_f15"));
    problems.push_back(load("hfs", "pra0000_6x3_c2"));
    for (const auto& p : problems) {
        const engine::CompiledProblem compiled(p);
        const auto m = search::GraphModel::of(compiled);
        REQUIRE(m);
        search::SearchOptions options;
        options.budget.evaluations = 40'000;
        search::SharedWatch shared(options);
        search::Watch watch(shared, 0, 40'000);
        const std::vector<std::int64_t> bound(p.objective.size(), 0);
        search::PathSearch paths(*m, bound, search::Rng(1), watch);
        engine::Decoder decoder(compiled);
        int compared = 0;
        while (!watch.spent() && compared < 12) {
            paths.step();
            REQUIRE(decoder.decode(paths.sequence(compiled, paths.best())));
            CHECK(decoder.value() == paths.best().value);
            CHECK(check::check(p, decoder.to_schedule()).empty());
            // And what was decoded comes back as it was.
            const auto value = decoder.value();
            search::PathSearch other(*m, bound, search::Rng(2), watch);
            REQUIRE(other.join(compiled, decoder.schedule()));
            CHECK(other.best().value <= value);
            ++compared;
        }
        CHECK(compared > 0);
    }
}

TEST_CASE("what the graph does not time exactly has no model", "[path]") {
    const auto plain = stand_and_person(3);
    const auto modelled = [](const core::Problem& p) {
        const engine::CompiledProblem compiled(p);
        return search::GraphModel::of(compiled).has_value();
    };
    REQUIRE(modelled(plain));
    const core::OperationId one{1}, two{2};
    const auto without = [&](auto change) {
        core::Problem p = plain;
        change(p);
        REQUIRE(core::validate(p).empty());
        CHECK_FALSE(modelled(p));
    };
    without([](auto& p) { std::get<core::TimeLag>(p.constraints[0]).max = core::Seconds{900}; });
    without([](auto& p) { std::get<core::TimeLag>(p.constraints[0]).min = core::Seconds{-5}; });
    without([&](auto& p) {
        p.constraints.push_back(core::StartWindow{one, std::nullopt, p.horizon_end});
    });
    without([&](auto& p) { p.constraints.push_back(core::SameMode{one, two}); });
    without([&](auto& p) {
        p.constraints.push_back(core::SameResource{one, 1, core::OperationId{3}, 1});
    });
    without([&](auto& p) {
        p.stores.push_back({.name = "pot", .initial = 9});
        p.constraints.push_back(core::Take{one, {core::StoreId{0}}, 2});
    });
    without([](auto& p) {
        p.resources[0].calendar = core::Calendar{{p.horizon_start, p.horizon_end}};
    });
    without([](auto& p) { p.operations[0].max_stretch.reset(); });
    without([](auto& p) { p.operations[0].filler = true; });
    without([](auto& p) { p.orders[0].deadline = p.horizon_end; });
    without([](auto& p) { p.now = p.horizon_start; });
    without([](auto& p) {
        p.objective.push_back(core::Criterion::Overtime);
        p.overtime.push_back({core::ResourceId{0}, {p.horizon_start, p.horizon_end}});
    });
    without(
        [](auto& p) { p.resources[5].capacity = 3, p.operations[2].modes[0].needs[0].amount = 2; });
}

TEST_CASE("a search that knows of no way ends without one, and does not fall", "[path][max-lag]") {
    // Infeasible public instances with maximum lags, by the room search alone: nothing, no crash.
    for (const char* name : {"j10_psp12", "j20_psp140", "ubo20_psp42"}) {
        model::Diagnostics d;
        const auto p =
            compile::read_project_max(text_of(folder() + "rcpsp-max/" + name + ".sch"), name, d);
        REQUIRE(p);
        for (const std::int64_t evaluations : {1, 50, 4000}) {
            search::SearchOptions options;
            options.budget.evaluations = evaluations;
            options.threads = 2;
            const auto s = search::search_room(*p, options);
            CHECK_FALSE(s.schedule);
            CHECK(s.status == core::Status::Unknown);
        }
    }
}

TEST_CASE("the backward pass keeps lags and capacities and ends nothing late", "[justify]") {
    // Judged by the definition, second by second, on projects with amounts.
    for (const char* name : {"j30_1_2", "j30_13_4", "j60_45_6"}) {
        const auto p = load("rcpsp", name);
        const engine::CompiledProblem compiled(p);
        engine::Decoder decoder(compiled);
        engine::Sequence s;
        s.rank.resize(p.operations.size());
        search::Rng rng(5);
        search::BackwardPass back(compiled);
        for (int round = 0; round < 5; ++round) {
            for (auto& r : s.rank)
                r = rng.below(1000);
            REQUIRE(decoder.decode(s));
            const auto& flat = decoder.schedule();
            const auto last = *std::max_element(flat.work_end.begin(), flat.work_end.end());
            std::vector<double> key;
            for (const auto t : flat.work_end)
                key.push_back(static_cast<double>(t));
            const std::vector<engine::Tick> latest(p.operations.size(), last);
            const auto start = back.run(flat, key, latest);
            const auto length = [&](std::size_t i) { return flat.work_end[i] - flat.start[i]; };
            for (const auto& l : compiled.lags) {
                const auto edge =
                    start[ix(l.from)] + (l.edge == core::Edge::Start ? 0 : length(ix(l.from)));
                CHECK(start[ix(l.to)] >= edge + l.min);
            }
            const auto first = *std::min_element(start.begin(), start.end());
            for (auto t = first; t < last; ++t) {
                std::vector<int> used(p.resources.size(), 0);
                for (std::size_t i = 0; i < start.size(); ++i) {
                    if (start[i] > t || start[i] + length(i) <= t) continue;
                    for (const auto& need : p.operations[i].modes[0].needs)
                        used[need.any_of[0].index()] += need.amount;
                }
                for (std::size_t r = 0; r < used.size(); ++r)
                    CHECK(used[r] <= p.resources[r].capacity);
            }
            for (std::size_t i = 0; i < start.size(); ++i) {
                CHECK(start[i] + length(i) <= last);
                CHECK(start[i] >= first);
            }
        }
    }
}

TEST_CASE("problems without orders go through every move of the room search", "[path][max-lag]") {
    // Feasible public instances with maximum lags: moves that look for an order find none.
    for (const char* name : {"j10_psp64", "ubo10_psp34", "j10_psp3"}) {
        model::Diagnostics d;
        const auto p =
            compile::read_project_max(text_of(folder() + "rcpsp-max/" + name + ".sch"), name, d);
        REQUIRE(p);
        REQUIRE(p->orders.empty());
        search::SearchOptions options;
        options.budget.evaluations = 4000;
        const auto s = search::search_room(*p, options);
        if (!s.schedule) continue;
        CHECK(check::check(*p, *s.schedule).empty());
        CHECK(s.bound <= s.value);
    }
}
