// The exact solver and the bounds against trying everything: random problems so small that every
// combination of modes, resources, starts and stretches can be judged by the checker.

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "sched/check/checker.hpp"
#include "sched/core/objective.hpp"
#include "sched/search/base/rng.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/exact/exact.hpp"
#include "tests/catch.hpp"

using namespace sched;
using core::OperationId;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

namespace {

SimTime second(std::int64_t s) {
    return SimTime{Seconds{s}};
}

/// Every placement of one operation inside the horizon.
std::vector<core::Placement> placements(const core::Problem& p, const core::Operation& o) {
    std::vector<core::Placement> all;
    for (std::size_t m = 0; m < o.modes.size(); ++m) {
        std::vector<std::vector<ResourceId>> ways{{}};
        for (const auto& need : o.modes[m].needs) {
            std::vector<std::vector<ResourceId>> longer;
            for (const auto& way : ways) {
                for (const auto r : need.any_of) {
                    longer.push_back(way);
                    longer.back().push_back(r);
                }
            }
            ways = std::move(longer);
        }
        for (SimTime s = p.horizon_start; s <= p.horizon_end; s += Seconds{1}) {
            const SimTime work_end = s + o.modes[m].work;
            const SimTime last =
                o.max_stretch ? std::min(p.horizon_end, work_end + *o.max_stretch) : p.horizon_end;
            for (SimTime end = work_end; end <= last; end += Seconds{1}) {
                for (const auto& way : ways) {
                    all.push_back({.start = s,
                                   .work_end = work_end,
                                   .end = end,
                                   .mode = static_cast<int>(m),
                                   .chosen = way});
                }
            }
        }
    }
    return all;
}

class Everything {
public:
    explicit Everything(const core::Problem& p) : p_(p) {
        for (const auto& o : p.operations)
            choices_.push_back(placements(p, o));
        schedule_.placements.resize(p.operations.size());
    }
    std::optional<core::Value> best() {
        place(0);
        return best_;
    }
    std::int64_t leaves = 0;

private:
    bool lags_hold(std::size_t placed) const {
        for (const auto& c : p_.constraints) {
            const auto* lag = std::get_if<core::TimeLag>(&c);
            if (!lag || lag->from.index() > placed || lag->to.index() > placed) continue;
            const auto& a = schedule_.placements[lag->from.index()];
            const SimTime from = lag->edge == core::Edge::Start     ? a.start
                                 : lag->edge == core::Edge::WorkEnd ? a.work_end
                                                                    : a.end;
            const Seconds d = schedule_.placements[lag->to.index()].start - from;
            if (d < lag->min || (lag->max && d > *lag->max)) return false;
        }
        return true;
    }

    void place(std::size_t i) {
        if (i == choices_.size()) {
            ++leaves;
            // The value first: it is cheaper to tell than whether the schedule is right.
            core::Value v = core::evaluate(p_, schedule_);
            if (best_ && !(v < *best_)) return;
            if (check::check(p_, schedule_).empty()) best_ = std::move(v);
            return;
        }
        for (const auto& c : choices_[i]) {
            schedule_.placements[i] = c;
            if (lags_hold(i)) place(i + 1);
        }
    }

    const core::Problem& p_;
    std::vector<std::vector<core::Placement>> choices_;
    core::Schedule schedule_;
    std::optional<core::Value> best_;
};

core::Problem small_problem(search::Rng& rng) {
    core::Problem p;
    p.horizon_end = second(7 + rng.below(3));
    const int resources = 1 + rng.below(2);
    for (int r = 0; r < resources; ++r) {
        core::Resource resource{.name = "r" + std::to_string(r), .capacity = 1 + rng.below(2)};
        if (rng.below(4) == 0) {
            const int from = rng.below(2);
            const int pause = from + 2 + rng.below(2);
            resource.calendar = core::Calendar{{second(from), second(pause)},
                                               {second(pause + 1 + rng.below(2)), second(9)}};
        }
        p.resources.push_back(resource);
    }
    if (rng.below(3) == 0) p.resources.push_back(p.resources[0]);  // alike
    for (int o = 0; o < 2; ++o) {
        core::Order order{.name = "o" + std::to_string(o),
                          .release = second(rng.below(2)),
                          .due = second(2 + rng.below(4)),
                          .weight = 1 + rng.below(3)};
        if (rng.below(6) == 0) order.deadline = second(6 + rng.below(3));
        p.orders.push_back(order);
        p.jobs.push_back({.name = "j" + std::to_string(o), .order = core::OrderId{o}});
    }
    const int n = 3;
    for (int i = 0; i < n; ++i) {
        core::Operation o{.name = "op" + std::to_string(i)};
        if (rng.below(5) != 0) o.job = core::JobId{rng.below(2)};
        const int modes = rng.below(5) == 0 ? 2 : 1;
        for (int m = 0; m < modes; ++m) {
            core::Mode mode{.work = Seconds{1 + rng.below(3)}};
            const int r = rng.below(static_cast<int>(p.resources.size()));
            core::Need need{.any_of = {ResourceId{r}}};
            if (rng.below(3) == 0) {
                for (int q = 0; q < static_cast<int>(p.resources.size()); ++q) {
                    if (q != r) need.any_of.push_back(ResourceId{q});
                }
            }
            int least = 9;
            for (const auto id : need.any_of)
                least = std::min(least, p.resources[id.index()].capacity);
            need.amount = 1 + rng.below(least);
            if (rng.below(3) == 0) need.span = core::Span::Work;
            mode.needs.push_back(need);
            o.modes.push_back(mode);
        }
        if (rng.below(4) == 0) o.max_stretch = Seconds{1 + rng.below(2)};
        if (rng.below(12) == 0) o.max_stretch = std::nullopt;
        p.operations.push_back(o);
    }
    const int lags = 1 + rng.below(2);
    for (int k = 0; k < lags; ++k) {
        const int a = rng.below(n);
        const int b = (a + 1 + rng.below(n - 1)) % n;
        core::TimeLag lag{.from = OperationId{a},
                          .edge = static_cast<core::Edge>(rng.below(3)),
                          .to = OperationId{b},
                          .min = Seconds{rng.below(3) - 1}};
        if (rng.below(2) == 0) lag.max = lag.min + Seconds{rng.below(3)};
        p.constraints.push_back(lag);
    }
    if (rng.below(4) == 0) {
        p.constraints.push_back(core::StartWindow{.operation = OperationId{rng.below(n)},
                                                  .not_before = second(1),
                                                  .not_after = second(4)});
    }
    if (rng.below(4) == 0 && p.operations[0].modes.size() == p.operations[1].modes.size()) {
        p.constraints.push_back(core::SameMode{OperationId{0}, OperationId{1}});
    }
    if (rng.below(4) == 0)
        p.constraints.push_back(core::SameResource{OperationId{0}, 0, OperationId{2}, 0});
    const std::vector<core::Criterion> criteria{
        core::Criterion::WeightedTardiness, core::Criterion::LateOrders, core::Criterion::Makespan,
        core::Criterion::Holding, core::Criterion::FlowTime};
    const int first = rng.below(5);
    p.objective = {criteria[first], criteria[(first + 1 + rng.below(4)) % 5]};
    return p;
}

}  // namespace

TEST_CASE("the exact solver and the bounds agree with trying everything",
          "[exact][bounds][oracle]") {
    search::Rng rng(20260, 4);
    int solved = 0;
    int infeasible = 0;
    for (int k = 0; k < 1000; ++k) {
        const core::Problem p = small_problem(rng);
        INFO("problem " << k);
        REQUIRE(core::validate(p).empty());
        REQUIRE(search::exact_supports(p));
        Everything all(p);
        const auto best = all.best();
        search::SearchOptions options;
        options.budget.evaluations = 5000;
        const auto s = search::solve_exact(p, options);
        if (!best) {
            CHECK(s.status == core::Status::Infeasible);
            ++infeasible;
            continue;
        }
        ++solved;
        REQUIRE(s.status == core::Status::Optimal);
        CHECK(s.value == *best);
        REQUIRE(s.schedule);
        const auto wrong = check::check(p, *s.schedule);
        INFO((wrong.empty() ? std::string{} : wrong[0].words));
        CHECK(wrong.empty());
        CHECK(core::evaluate(p, *s.schedule) == s.value);
        // Each bound on its own: against the best of that criterion alone.
        core::Problem alone = p;
        for (std::size_t c = 0; c < p.objective.size(); ++c) {
            alone.objective = {p.objective[c]};
            const auto least = Everything(alone).best();
            REQUIRE(least);
            CHECK(search::lower_bounds(alone).parts[0] <= least->parts[0]);
            CHECK(s.bound.parts[c] <= least->parts[0]);
        }
    }
    CHECK(solved > 500);
    CHECK(infeasible > 50);
}

TEST_CASE("alike screens in order keep the optimum", "[exact][oracle]") {
    // Two and three jobs of the same two steps with a maximum lag; the solver orders them, the
    // enumeration does not.
    search::Rng rng(7, 1);
    for (int k = 0; k < 30; ++k) {
        core::Problem p;
        p.horizon_end = second(9);
        p.resources = {{.name = "a", .capacity = 1 + rng.below(2)}, {.name = "b"}};
        p.orders = {{.name = "o", .due = second(3), .weight = 2}};
        const int d1 = 1 + rng.below(2);
        const int d2 = 1 + rng.below(2);
        const int stretch = rng.below(2);
        const int lag = rng.below(2);
        for (int j = 0; j < 2; ++j) {
            p.jobs.push_back({.name = "j", .order = core::OrderId{0}});
            p.operations.push_back(
                {.name = "x",
                 .job = core::JobId{j},
                 .modes = {{.work = Seconds{d1}, .needs = {{.any_of = {ResourceId{0}}}}}},
                 .max_stretch = Seconds{stretch}});
            p.operations.push_back(
                {.name = "y",
                 .job = core::JobId{j},
                 .modes = {{.work = Seconds{d2}, .needs = {{.any_of = {ResourceId{1}}}}}}});
            p.constraints.push_back(core::TimeLag{.from = OperationId{2 * j},
                                                  .to = OperationId{2 * j + 1},
                                                  .min = Seconds{0},
                                                  .max = Seconds{lag}});
        }
        p.objective = {core::Criterion::WeightedTardiness, core::Criterion::Holding};
        const auto best = Everything(p).best();
        search::SearchOptions options;
        options.budget.evaluations = 5000;
        const auto s = search::solve_exact(p, options);
        REQUIRE(best);
        REQUIRE(s.status == core::Status::Optimal);
        CHECK(s.value == *best);
        CHECK(check::check(p, *s.schedule).empty());
    }
}
