#include "sched/search/floor_search.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>

#include "sched/core/objective.hpp"
#include "sched/engine/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/rng.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

namespace {

using engine::CompiledProblem;
using engine::Decoder;
using engine::Sequence;
using FloorValue = std::vector<std::int64_t>;

// A point of the search: a real key per operation (lower goes first), waiting per unit, lookahead.
// A unit is what moves together: a job, or the operations of no job that lags tie together.
struct FloorPoint {
    std::vector<double> key;
    std::vector<std::int32_t> delay;  // per operation
    engine::Tick lookahead = -1;
};

struct FloorUnits {
    std::vector<std::vector<std::int32_t>> operations;  // per unit
    std::vector<int> order;                             // per unit; -1: none
    std::vector<std::vector<int>> of_order;             // units per order
};

FloorUnits units_of(const core::Problem& problem) {
    FloorUnits units;
    const std::size_t n = problem.operations.size();
    std::vector<int> group(n);
    std::iota(group.begin(), group.end(), 0);
    const auto root = [&](int x) {
        while (group[static_cast<std::size_t>(x)] != x)
            x = group[static_cast<std::size_t>(x)];
        return x;
    };
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (!lag) continue;
        const auto a = problem.operations[lag->from.index()].job;
        const auto b = problem.operations[lag->to.index()].job;
        if (a.valid() || b.valid()) continue;
        const int x = root(lag->from.value);
        const int y = root(lag->to.value);
        group[static_cast<std::size_t>(std::max(x, y))] = std::min(x, y);
    }
    std::vector<int> of_job(problem.jobs.size(), -1);
    std::vector<int> of_group(n, -1);
    units.of_order.resize(problem.orders.size());
    for (std::size_t i = 0; i < n; ++i) {
        const auto job = problem.operations[i].job;
        int& unit = job.valid() ? of_job[job.index()]
                                : of_group[static_cast<std::size_t>(root(static_cast<int>(i)))];
        if (unit < 0) {
            unit = static_cast<int>(units.operations.size());
            units.operations.emplace_back();
            const auto order =
                job.valid() ? problem.jobs[job.index()].order : core::OrderId::none();
            units.order.push_back(order.value);
            if (order.valid()) units.of_order[order.index()].push_back(unit);
        }
        units.operations[static_cast<std::size_t>(unit)].push_back(static_cast<std::int32_t>(i));
    }
    return units;
}

class FloorStart {
public:
    FloorStart(const CompiledProblem& compiled, const FloorUnits& units, std::uint64_t seed,
               int start, Watch& watch)
        : compiled_(compiled),
          units_(units),
          decoder_(compiled),
          rng_(seed, static_cast<std::uint64_t>(start)),
          watch_(watch) {}

    void run() {
        begin_with_rules();
        if (!best_) {
            scatter();
            if (!best_) return;
        }
        climb();
    }

    const std::optional<core::Schedule>& schedule() const { return best_; }
    const FloorValue& value() const { return best_value_; }

private:
    bool decode(const FloorPoint& point, FloorValue& value) {
        const std::size_t n = point.key.size();
        turn_.resize(n);
        std::iota(turn_.begin(), turn_.end(), 0);
        std::sort(turn_.begin(), turn_.end(), [&](std::int32_t a, std::int32_t b) {
            const double x = point.key[static_cast<std::size_t>(a)];
            const double y = point.key[static_cast<std::size_t>(b)];
            return x != y ? x < y : a < b;
        });
        sequence_.rank.resize(n);
        for (std::size_t i = 0; i < n; ++i) {
            sequence_.rank[static_cast<std::size_t>(turn_[i])] = static_cast<std::int32_t>(i);
        }
        sequence_.delay = point.delay;
        sequence_.lookahead = point.lookahead;
        watch_.count();
        if (!decoder_.decode(sequence_)) return false;
        value = decoder_.value();
        if (!best_ || value < best_value_) {
            best_ = decoder_.to_schedule();
            best_value_ = value;
            best_point_ = point;
            watch_.show(value.empty() ? 0 : value.front());
        }
        return true;
    }

    void begin_with_rules() {
        const auto views = engine::rule_views(compiled_);
        for (const auto& rule : engine::rules()) {
            if (watch_.spent()) return;
            const Sequence s = engine::rule_sequence(compiled_, views, rule);
            FloorPoint point;
            point.key.assign(s.rank.begin(), s.rank.end());
            FloorValue value;
            decode(point, value);
        }
    }

    // No rule led to a schedule: random orders of the units, most urgent first most of the time.
    void scatter() {
        FloorPoint point;
        for (int tries = 0; tries < 2000 && !best_ && !watch_.spent(); ++tries) {
            point.key.assign(compiled_.operations.size(), 0.0);
            for (const auto& unit : units_.operations) {
                const double u = rng_.unit();
                for (const auto op : unit)
                    point.key[static_cast<std::size_t>(op)] = u;
            }
            FloorValue value;
            decode(point, value);
        }
    }

    bool done() const {
        return std::all_of(best_value_.begin(), best_value_.end(),
                           [](std::int64_t v) { return v == 0; });
    }

    void climb() {
        FloorPoint now = best_point_;
        FloorValue now_value = best_value_;
        // As long a memory as the budget lets several times round.
        const std::size_t memory = 40;
        std::vector<FloorValue> history(memory, now_value);
        std::size_t at = 0;
        int idle = 0;
        while (!watch_.spent() && !done()) {
            FloorPoint next = now;
            change(next);
            if (rng_.below(4) == 0) change(next);
            FloorValue value;
            ++idle;
            if (decode(next, value) && (value <= now_value || value <= history[at])) {
                if (value < now_value) idle = 0;
                now = std::move(next);
                now_value = std::move(value);
            }
            if (now_value < history[at]) history[at] = now_value;
            at = (at + 1) % memory;
            if (idle > 1500) {  // stuck: from the best again, shaken
                now = best_point_;
                for (int k = 0; k < 4; ++k)
                    change(now);
                if (!decode(now, now_value)) {
                    now = best_point_;
                    now_value = best_value_;
                }
                std::fill(history.begin(), history.end(), now_value);
                idle = 0;
            }
        }
    }

    double mean_key(const FloorPoint& p, int unit) const {
        const auto& ops = units_.operations[static_cast<std::size_t>(unit)];
        double sum = 0.0;
        for (const auto op : ops)
            sum += p.key[static_cast<std::size_t>(op)];
        return sum / static_cast<double>(ops.size());
    }

    void shift(FloorPoint& p, int unit, double by) const {
        for (const auto op : units_.operations[static_cast<std::size_t>(unit)]) {
            p.key[static_cast<std::size_t>(op)] += by;
        }
    }

    int any_unit() { return rng_.below(static_cast<int>(units_.operations.size())); }

    void change(FloorPoint& p) {
        const double span = static_cast<double>(p.key.size());
        switch (rng_.below(10)) {
            case 0:
            case 1:
            case 2: {  // a unit beside another
                const int u = any_unit();
                const int v = any_unit();
                shift(p, u, mean_key(p, v) - mean_key(p, u) + (rng_.unit() - 0.5));
                break;
            }
            case 3:
            case 4: {  // a unit a little earlier or later
                shift(p, any_unit(), (rng_.unit() - 0.5) * 0.2 * span);
                break;
            }
            case 5:
            case 6: {  // all of an order earlier or later: it is late as a whole
                if (units_.of_order.empty()) return;
                const int o = rng_.below(static_cast<int>(units_.of_order.size()));
                const double by = (rng_.unit() - 0.5) * 0.3 * span;
                for (const int u : units_.of_order[static_cast<std::size_t>(o)])
                    shift(p, u, by);
                break;
            }
            case 7: {  // from some operation on, a unit is more or less urgent
                const auto& ops = units_.operations[static_cast<std::size_t>(any_unit())];
                const auto from =
                    static_cast<std::size_t>(rng_.below(static_cast<int>(ops.size())));
                const double by = (rng_.unit() - 0.5) * 0.3 * span;
                for (std::size_t k = from; k < ops.size(); ++k) {
                    p.key[static_cast<std::size_t>(ops[k])] += by;
                }
                break;
            }
            case 8: {  // wait on purpose, or no longer
                if (p.delay.empty()) p.delay.assign(p.key.size(), 0);
                const auto& ops = units_.operations[static_cast<std::size_t>(any_unit())];
                const auto op = static_cast<std::size_t>(
                    ops[static_cast<std::size_t>(rng_.below(static_cast<int>(ops.size())))]);
                p.delay[op] = p.delay[op] > 0 ? 0 : 60 * (1 + rng_.below(30));
                break;
            }
            default: {  // how far ahead places may be booked
                constexpr std::array<engine::Tick, 5> steps{-1, 0, 600, 1800, 3600};
                p.lookahead = steps[static_cast<std::size_t>(rng_.below(5))];
                break;
            }
        }
    }

    const CompiledProblem& compiled_;
    const FloorUnits& units_;
    Decoder decoder_;
    Rng rng_;
    Watch& watch_;
    Sequence sequence_;
    std::vector<std::int32_t> turn_;
    std::optional<core::Schedule> best_;
    FloorValue best_value_;
    FloorPoint best_point_;
};

struct FloorResult {
    std::optional<core::Schedule> schedule;
    FloorValue value;
    std::int64_t evaluations = 0;
};

}  // namespace

core::Solution search_floor(const core::Problem& problem, const SearchOptions& options) {
    const CompiledProblem compiled(problem);
    const FloorUnits units = units_of(problem);
    SharedWatch shared(options);
    const int starts = number_of_starts(options, 2000);
    const auto results = run_starts<FloorResult>(shared, starts, [&](int s, Watch& watch) {
        FloorStart start(compiled, units, options.seed, s, watch);
        start.run();
        return FloorResult{start.schedule(), start.value(), watch.evaluations()};
    });
    core::Solution solution;
    solution.interrupted = shared.interrupted;
    const FloorResult* best = nullptr;
    for (const auto& r : results) {
        solution.evaluations += r.evaluations;
        if (r.schedule && (!best || r.value < best->value)) best = &r;
    }
    if (!best) return solution;
    solution.status = core::Status::Feasible;
    solution.schedule = best->schedule;
    solution.value = core::evaluate(problem, *best->schedule);
    return solution;
}

}  // namespace sched::search
