// A plan that is followed is the plan, second for second, as long as nothing turns out otherwise:
// every recourse, whatever the plan waits for, shared exposures, pots, large frames and breaks
// included. The plan comes from the decoder with random ranks, delays and choices; that following
// gives it back is the definition of following, so that the plan is the judge.

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "tests/catch.hpp"
#include "tests/engine/follow_rooms.hpp"

using namespace sched::engine;

TEST_CASE("with the planned lengths a followed plan is the plan", "[engine][follow]") {
    follow_rooms::Tally tally;
    for (std::uint64_t seed = 1; seed <= 100; ++seed)
        follow_rooms::compare(seed, tally);
    INFO(tally.first);
    CHECK(tally.plans > 250);
    CHECK(tally.same == tally.runs);
}

// The checker is the judge. Work takes longer than planned, drying too, and one job is not in the
// plan: it must not count on anybody's leaving when the plan says.
TEST_CASE("a day that leaves its plan keeps every rule", "[engine][follow]") {
    using namespace sched;
    int ended = 0, broken = 0;
    std::string first;
    for (std::uint64_t seed = 1; seed <= 150; ++seed) {
        const core::Problem problem = random_room::make(seed);
        const CompiledProblem compiled(problem);
        Decoder planner(compiled);
        if (!planner.decode({})) continue;
        const Agreements agreements(compiled, planner.to_schedule());
        random_room::Draw draw(seed * 1013);
        core::Problem day = problem;
        for (auto& operation : day.operations) {
            if (draw.below(4) != 0) continue;
            for (auto& mode : operation.modes) {
                mode.work += mode.work / 3;
                for (auto& stage : mode.stages)
                    stage.work *= 1.3;
            }
        }
        const CompiledProblem longer(day);
        Decoder decoder(longer);
        for (const Recourse how : {Recourse::Free, Recourse::Order, Recourse::Times}) {
            const auto stranger = draw.below(static_cast<int>(problem.jobs.size()));
            std::vector<std::int32_t> place(problem.operations.size());
            for (std::size_t i = 0; i < place.size(); ++i)
                place[i] =
                    problem.operations[i].job.value == stranger ? -1 : static_cast<std::int32_t>(i);
            Baseline baseline;
            baseline.set(longer, agreements, place, how);
            Sequence follow;
            follow.rank = agreements.rank();
            follow.lookahead = 0;
            follow.keeps_turn = true;
            follow.baseline = &baseline;
            if (!decoder.decode(follow)) continue;
            ++ended;
            for (const auto& v : check::check(day, decoder.to_schedule())) {
                ++broken;
                if (first.empty()) first = "seed " + std::to_string(seed) + ": " + v.words;
            }
        }
    }
    INFO(first);
    CHECK(ended > 200);
    CHECK(broken == 0);
}

namespace {

// One screen dries in a rack of one over [0, 600) and is then inspected for 100 s at a bench. The
// other one is washed at a sink by Ada, and then put into the rack: one block. The bench opens as
// it is said.
struct RackOfOne {
    sched::core::Problem problem;
    sched::core::Schedule plan;

    RackOfOne() {
        using namespace sched::core;
        problem.horizon_end = SimTime{Seconds{10000}};
        problem.resources = {
            {.name = "rack"}, {.name = "bench"}, {.name = "sink"}, {.name = "Ada"}};
        problem.orders.resize(2);
        problem.jobs = {{.name = "dry", .order = OrderId{0}}, {.name = "wet", .order = OrderId{1}}};
        add(0, 600, 0, std::nullopt);
        add(0, 100, 1, Seconds{0});
        add(1, 600, 2, std::nullopt);
        add(1, 100, 0, Seconds{0});
        for (const std::size_t first : {0, 2})
            problem.constraints.push_back(TimeLag{
                .from = OperationId{first}, .to = OperationId{first + 1}, .max = Seconds{0}});
        put(0, 0, 600);
        put(1, 600, 700);
    }
    void add(std::size_t job, int work, std::size_t place,
             std::optional<sched::core::Seconds> stretch) {
        using namespace sched::core;
        std::vector<Need> needs = {{.any_of = {ResourceId{place}}}};
        if (place == 2) needs.push_back({.any_of = {ResourceId{3}}, .span = Span::Work});
        problem.operations.push_back({.name = "o" + std::to_string(problem.operations.size()),
                                      .job = JobId{job},
                                      .modes = {{.work = Seconds{work}, .needs = needs}},
                                      .max_stretch = stretch});
    }
    void put(std::size_t operation, int from, int to) {
        using namespace sched::core;
        plan.placements.resize(std::max(plan.placements.size(), operation + 1));
        const Mode& mode = problem.operations[operation].modes[0];
        plan.placements[operation] = {.start = SimTime{Seconds{from}},
                                      .work_end = SimTime{Seconds{from}} + mode.work,
                                      .end = SimTime{Seconds{to}}};
        for (const Need& need : mode.needs)
            plan.placements[operation].chosen.push_back(need.any_of[0]);
    }
    /// The day on which the bench opens then. @returns starts; empty: the plan leads to no end.
    std::vector<Tick> simulate(int opens, bool stranger = false) {
        using namespace sched::core;
        const CompiledProblem planned(problem);
        const Agreements agreements(planned, plan);
        Problem day = problem;
        day.resources[1].calendar = {{SimTime{Seconds{opens}}, day.horizon_end}};
        const CompiledProblem compiled(day);
        Baseline baseline;
        baseline.set(compiled, agreements, {0, 1, stranger ? -1 : 2, stranger ? -1 : 3},
                     Recourse::Free);
        Sequence follow;
        follow.rank = {0, 1, 2, 3};
        follow.lookahead = 0;
        follow.keeps_turn = true;
        follow.baseline = &baseline;
        Decoder decoder(compiled);
        if (!decoder.decode(follow)) return {};
        const auto wrong = sched::check::check(day, decoder.to_schedule());
        CHECK(wrong.empty());
        return decoder.schedule().start;
    }
};

using Starts = std::vector<Tick>;

}  // namespace

TEST_CASE("who is off the plan does not count on anybody's leaving", "[engine][follow]") {
    RackOfOne x;
    x.put(2, 0, 700);
    x.put(3, 700, 800);
    // In the plan it may: the rack is left at 600.
    CHECK(x.simulate(0) == Starts{0, 600, 0, 700});
    // A stranger could begin at 0 and be there at 700, but then the rack is not left before 900.
    CHECK(x.simulate(900, true) == Starts{0, 900, 900, 1500});
}

TEST_CASE("a place that is outstayed when the next one comes ends the run", "[engine][follow]") {
    RackOfOne x;
    x.put(2, 200, 800);
    x.put(3, 800, 900);
    CHECK(x.simulate(600) == Starts{0, 600, 200, 800});
    // Late, but gone before the other one comes.
    CHECK(x.simulate(750) == Starts{0, 750, 200, 800});
    CHECK(x.simulate(800) == Starts{0, 800, 200, 800});
    CHECK(x.simulate(801) == Starts{});
}

TEST_CASE("a place that is outstayed by a second ends the run", "[engine][follow]") {
    RackOfOne x;
    x.put(2, 0, 600);
    x.put(3, 600, 700);
    CHECK(x.simulate(600) == Starts{0, 600, 0, 600});
    CHECK(x.simulate(601) == Starts{});
}
