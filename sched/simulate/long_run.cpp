#include "sched/simulate/long_run.hpp"

#include <algorithm>
#include <cassert>
#include <limits>
#include <set>

#include "sched/simulate/weeks_floor.hpp"

namespace sched::study {

namespace {

constexpr int weeks_horizon = 21;  // days; what one week takes up ends within two more

model::SimTime monday_of(model::SimTime t) {
    const model::SimTime day = model::midnight(model::date_of(t));
    const auto since = day.time_since_epoch().count() / 86'400;  // 1970-01-01 was a Thursday
    return day - std::chrono::days{(since + 3) % 7};
}

std::unique_ptr<WeeksRoom> open_weeks_room(const model::Scenario& scenario,
                                           const compile::CompileOptions& base, const DayKind& kind,
                                           const Chance& chance) {
    auto out = std::make_unique<WeeksRoom>();
    out->weight = kind.weight;
    compile::CompileOptions options = base;
    options.start = monday_of(base.start);
    options.days = weeks_horizon;
    options.day_kind = kind.name;
    options.spare_ways = true;
    model::Diagnostics diagnostics;
    auto room = compile::compile_room(on_day(scenario, kind, options.start, options.days), options,
                                      diagnostics);
    if (!room) return nullptr;
    out->room = *std::move(room);
    for (const auto& o : out->room.problem.operations) {
        for (const auto& m : o.modes) {
            if (m.needs.size() > InsideOperation::most_needs) return nullptr;
        }
    }
    out->disturbances = std::make_unique<Disturbances>(scenario, out->room, chance);
    out->policy = Policy::make("edd", out->room, nullptr);
    if (!out->policy) return nullptr;
    out->kit = DayKit::make(*out->disturbances, *out->policy, false);
    return out->kit ? std::move(out) : nullptr;
}

/// Everything that grows with the length of the run: a few numbers an order and a day.
struct WeeksSeries {
    std::vector<double> turnaround, tardiness;            // per order, as they became ready
    std::vector<std::int64_t> ready;                      // the same: s after the first Monday
    std::vector<std::int64_t> day_end;                    // per working day
    std::vector<double> screens;                          // per working day
    std::vector<std::vector<double>> working, allocated;  // per resource: share of each open day
};

MeanInterval over_batches(std::span<const double> y, std::size_t batches, double confidence) {
    if (y.size() < 2 || batches < 2) return {};
    return mean_interval(batch_means(y, std::min(batches, y.size())), confidence);
}

MeanInterval quantile_over_batches(std::span<const double> y, std::size_t batches, double q,
                                   double confidence) {
    const std::size_t size = y.size() / std::max<std::size_t>(1, batches);
    if (size == 0 || batches < 2) return {};
    Moments m;
    std::vector<double> batch;
    for (std::size_t b = 0; b < batches; ++b) {
        const std::size_t begin = y.size() - (batches - b) * size;
        batch.assign(y.begin() + static_cast<std::ptrdiff_t>(begin),
                     y.begin() + static_cast<std::ptrdiff_t>(begin + size));
        std::sort(batch.begin(), batch.end());
        m.add(sample_quantile(batch, q));
    }
    return mean_interval(m, confidence);
}

void state(const WeeksSeries& s, const core::Problem& problem, const LongRunOptions& options,
           LongRun& out) {
    const double confidence = options.confidence;
    out.resources.clear();
    if (s.turnaround.size() < 2) return;
    const WarmUp warm = mser5(s.turnaround);
    out.warm_up = warm.cut;
    out.warm_up_trusted = !warm.at_limit;
    const std::span<const double> turnaround = std::span(s.turnaround).subspan(warm.cut);
    const std::span<const double> tardiness = std::span(s.tardiness).subspan(warm.cut);
    out.batches =
        std::min<std::size_t>(static_cast<std::size_t>(options.batches), turnaround.size() / 2);
    out.turnaround = over_batches(turnaround, out.batches, confidence);
    out.turnaround_p50 = quantile_over_batches(turnaround, out.batches, 0.5, confidence);
    out.turnaround_p90 = quantile_over_batches(turnaround, out.batches, 0.9, confidence);
    out.tardiness = over_batches(tardiness, out.batches, confidence);
    std::vector<double> late;
    for (const double t : tardiness)
        late.push_back(t > 0.0 ? 1.0 : 0.0);
    out.late = over_batches(late, out.batches, confidence);
    // Days before the warm-up's last order became ready are left out too.
    const std::int64_t from = warm.cut == 0 ? 0 : s.ready[warm.cut - 1];
    std::size_t skip = 0;
    while (skip + 2 < s.day_end.size() && s.day_end[skip] <= from)
        ++skip;
    const auto days = [&](const std::vector<double>& y) {
        const std::size_t left = std::min(skip, y.size());
        const auto rest = std::span(y).subspan(left);
        return over_batches(rest, std::min<std::size_t>(out.batches, rest.size()), confidence);
    };
    out.throughput = days(s.screens);
    for (std::size_t r = 0; r < problem.resources.size(); ++r) {
        if (s.working[r].empty()) continue;
        out.resources.push_back(
            {problem.resources[r].name, days(s.working[r]), days(s.allocated[r])});
    }
}

}  // namespace

std::vector<LongRunRuleWords> long_run_rules() {
    return {{LongRunRule::Urgency, "urgency",
             "weight over work left, the more the less slack is left (apparent tardiness cost)"},
            {LongRunRule::Due, "due", "earliest due date first"},
            {LongRunRule::Arrival, "arrival", "first come, first served"}};
}

std::optional<LongRun> run_long(const model::Scenario& scenario,
                                const compile::CompileOptions& compile_options,
                                const LongRunOptions& options) {
    std::vector<DayKind> kinds = options.chance.days;
    if (kinds.empty()) kinds.push_back({compile_options.day_kind, 1.0});
    std::vector<std::unique_ptr<WeeksRoom>> rooms;
    for (const auto& kind : kinds) {
        rooms.push_back(open_weeks_room(scenario, compile_options, kind, options.chance));
        if (!rooms.back()) return std::nullopt;
    }
    LongRun out;
    const core::Problem& problem = rooms.front()->room.problem;
    WeeksFloor floor(scenario, rooms, options);
    WeeksSeries series;
    series.working.resize(problem.resources.size());
    series.allocated.resize(problem.resources.size());
    // Weekends pass too, but nobody counts them.
    while (out.days < options.days) {
        if (!floor.live_day()) {
            out.stuck = floor.stuck();
            break;
        }
        for (const auto& o : floor.ready()) {
            series.turnaround.push_back(static_cast<double>(o.ready - o.at));
            series.tardiness.push_back(
                static_cast<double>(std::max<std::int64_t>(0, o.ready - o.due)));
            series.ready.push_back(o.ready);
            ++out.orders_out;
        }
        if (floor.working_day()) {
            ++out.days;
            series.day_end.push_back(floor.now());
            series.screens.push_back(floor.screens_ready());
            for (std::size_t r = 0; r < series.working.size(); ++r) {
                if (floor.open()[r] <= 0) continue;
                const double open = static_cast<double>(floor.open()[r]);
                series.working[r].push_back(static_cast<double>(floor.working()[r]) / open);
                series.allocated[r].push_back(static_cast<double>(floor.allocated()[r]) / open);
            }
            if (options.progress) options.progress(out.days, options.days);
            if (options.precision && out.days >= 50 && out.days % 25 == 0) {
                state(series, problem, options, out);
                if (out.warm_up_trusted && precise_enough(out.turnaround, *options.precision)) {
                    out.precise = true;
                    break;
                }
            }
        }
        if (options.stop && options.stop()) break;
    }
    state(series, problem, options, out);
    out.orders_in = floor.orders_in;
    out.screens_in = floor.screens_in;
    out.screens_out = floor.screens_out;
    out.screens_inside = floor.inside();
    out.remakes = floor.remakes;
    out.failures = floor.failures;
    out.absences = floor.absences;
    out.area_inside = floor.area;
    out.times_inside = floor.times_so_far();
    // Little's law and conservation, to the second: whoever came in has left or is inside.
    assert(out.area_inside == out.times_inside);
    assert(out.screens_in == out.screens_out + out.screens_inside);
    if (out.days > 0) {
        const auto span = static_cast<double>(floor.now() - floor.began());
        out.inside_mean = static_cast<double>(out.area_inside) / span;
    }
    return out;
}

}  // namespace sched::study
