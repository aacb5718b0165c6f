// How it works: WeeksRun simulates one working day after the other; here its figures are kept, a
// few numbers an order and a day. From time to time they are asked whether they are precise
// enough: warm-up by the cut with the least error, intervals from batches of days, checked by
// Little's law and by counting who came, left and is inside.

#include "sched/simulate/long_run.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <set>

#include "sched/simulate/enough_pots.hpp"
#include "sched/simulate/weeks_run.hpp"

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
    // Mixed again and again, a day needs many pots of what ends.
    const bool end = pots_end_in(scenario.room, model::hours(24 * weeks_horizon));
    options.spare_mixes = end ? 24 : 8;
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

/// So many times what the room can do is not simulated: each day would take longer than the last.
constexpr double hopeless_load = 2.0;
/// Orders of so many days inside, and more every day: it is known by then.
constexpr double hopeless_days = 20.0;

OfferedLoad load_of(const model::Scenario& scenario, const compile::CompileOptions& base,
                    const DayKind& kind, const ArrivalProcess& arrivals) {
    compile::CompileOptions options = base;
    options.start = monday_of(base.start);
    options.days = weeks_horizon;
    options.day_kind = kind.name;
    model::Diagnostics said_before;
    const auto room = compile::compile_room(on_day(scenario, kind, options.start, options.days),
                                            options, said_before);
    const auto open = open_week(scenario.room).weekdays;
    const auto working = static_cast<int>(std::count(open.begin(), open.end(), true));
    return room ? offered_load(*room, arrivals, working) : OfferedLoad{};
}

/// Everything that grows with the length of the run: a few numbers an order and a day. An order
/// belongs to the working day in the course of which it became ready.
struct WeeksSeries {
    std::vector<double> turnaround;         // per order, as they became ready
    std::vector<double> tardiness;          // the same
    std::vector<std::size_t> first_of_day;  // per working day: its first order in these
    std::vector<double> screens, inside;    // per working day: ready, and orders inside at its end
    // Per resource and working day: 1 if it is open, and which share of its hours.
    std::vector<std::vector<double>> open, working, allocated;

    std::size_t days() const { return screens.size(); }
    std::size_t end_of(std::size_t day) const {
        return day + 1 < first_of_day.size() ? first_of_day[day + 1] : turnaround.size();
    }
};

/// Orders of the days from `skip` on, batched by days.
class OrderBatches {
public:
    OrderBatches(const WeeksSeries& series, std::size_t skip, std::size_t batches,
                 double confidence)
        : series_(series), skip_(skip), batches_(batches), confidence_(confidence) {}

    template <class Value>
    BatchedMean mean(Value&& value) const {
        std::vector<double> sums, counts;
        for (std::size_t d = skip_; d < series_.days(); ++d) {
            double sum = 0.0;
            for (std::size_t i = series_.first_of_day[d]; i < series_.end_of(d); ++i)
                sum += value(i);
            sums.push_back(sum);
            counts.push_back(static_cast<double>(series_.end_of(d) - series_.first_of_day[d]));
        }
        return batched_mean(sums, counts, batches_, confidence_);
    }

    /// Quantile of all orders; its interval from how far those of the batches lie from it
    /// (sectioning, Asmussen and Glynn 2007, from memory), widened as the mean's is. The mean of
    /// the batches' quantiles is another number: where weeks are unlike, the slowest tenth of all
    /// lies in the slowest weeks.
    MeanInterval quantile(double q, double correlation) const {
        const std::size_t days = series_.days() - skip_;
        if (batches_ < 3 || days < 2 * batches_) return {};
        const std::size_t size = days / batches_, first = series_.days() - size * batches_;
        const auto all = quantile_of_days(q, skip_, series_.days());
        if (!all) return {};
        Moments m;
        for (std::size_t b = 0; b < batches_; ++b) {
            const std::size_t from = first + b * size;
            if (const auto one = quantile_of_days(q, from, from + size)) m.add(*one - *all);
        }
        MeanInterval out = mean_interval(m, confidence_);
        if (out.n >= 2) {  // squares about the quantile of all instead of their own mean
            const auto n = static_cast<double>(out.n);
            const double about = out.variance + out.mean * out.mean * n / (n - 1.0);
            const double r = std::clamp(correlation, 0.0, 0.8);
            if (out.variance > 0.0) out.half_width *= std::sqrt(about / out.variance);
            out.half_width *= std::sqrt((1.0 + r) / (1.0 - r));
            out.variance = about;
        }
        out.mean = *all;
        return out;
    }

private:
    /// Of the orders of days [from, to).
    std::optional<double> quantile_of_days(double q, std::size_t from, std::size_t to) const {
        const auto at = [&](std::size_t i) {
            return series_.turnaround.begin() + static_cast<std::ptrdiff_t>(i);
        };
        std::vector<double> some(at(series_.first_of_day[from]), at(series_.end_of(to - 1)));
        if (some.empty()) return std::nullopt;
        std::sort(some.begin(), some.end());
        return sample_quantile(some, q);
    }

    const WeeksSeries& series_;
    std::size_t skip_, batches_;
    double confidence_;
};

/// Of neighbouring batches, with its bias added back: above this they are too short.
constexpr double most_correlation = 0.0;
/// Fewer days are never looked at when a run may grow longer: of a queue at 90 % with ten orders a
/// day, 95 % intervals of runs that begin to ask at 250 days hold the mean in 89 % of cases, of
/// those that begin at 1,000 in 94 %.
constexpr int least_days = 1000;

std::vector<LongRunStretch> stretches_of(const WeeksSeries& s) {
    constexpr std::size_t week = 5, most = 80;
    const std::size_t weeks = (s.days() + week - 1) / week;
    const std::size_t size = week * std::max<std::size_t>(1, (weeks + most - 1) / most);
    std::vector<LongRunStretch> out;
    for (std::size_t day = 0; day < s.days(); day += size) {
        const std::size_t last = std::min(day + size, s.days());
        std::vector<double> some(
            s.turnaround.begin() + static_cast<std::ptrdiff_t>(s.first_of_day[day]),
            s.turnaround.begin() + static_cast<std::ptrdiff_t>(s.end_of(last - 1)));
        if (some.empty()) continue;
        std::sort(some.begin(), some.end());
        double sum = 0.0;
        for (const double x : some)
            sum += x;
        out.push_back({static_cast<int>(day), static_cast<int>(last), some.size(),
                       sum / static_cast<double>(some.size()), sample_quantile(some, 0.1),
                       sample_quantile(some, 0.9)});
    }
    return out;
}

void state(const WeeksSeries& s, const core::Problem& problem, const LongRunOptions& options,
           LongRun& out) {
    const double confidence = options.confidence;
    out.resources.clear();
    if (s.turnaround.size() < 2) return;
    const WarmUp warm = mser5(s.turnaround);
    out.warm_up = warm.cut;
    out.warm_up_trusted = !warm.at_limit;
    // Days before the warm-up's last order became ready are left out.
    std::size_t skip = 0;
    while (skip + 4 < s.days() && s.first_of_day[skip] < warm.cut)
        ++skip;
    out.settled_from = static_cast<int>(skip);
    out.stretches = stretches_of(s);
    const std::size_t days = s.days() - skip;
    out.batches = std::min<std::size_t>(static_cast<std::size_t>(options.batches), days / 2);
    const OrderBatches orders(s, skip, out.batches, confidence);
    const BatchedMean turnaround = orders.mean([&](std::size_t i) { return s.turnaround[i]; });
    out.turnaround = turnaround.mean;
    out.correlation = turnaround.correlation;
    out.trusted = out.warm_up_trusted && turnaround.correlation <= most_correlation;
    out.turnaround_p50 = orders.quantile(0.5, turnaround.correlation);
    out.turnaround_p90 = orders.quantile(0.9, turnaround.correlation);
    out.tardiness = orders.mean([&](std::size_t i) { return s.tardiness[i]; }).mean;
    out.late = orders.mean([&](std::size_t i) { return s.tardiness[i] > 0.0 ? 1.0 : 0.0; }).mean;
    const auto over_days = [&](const std::vector<double>& y, const std::vector<double>& counted) {
        return batched_mean(std::span(y).subspan(skip), std::span(counted).subspan(skip),
                            out.batches, confidence)
            .mean;
    };
    out.throughput = over_days(s.screens, std::vector<double>(s.days(), 1.0));
    for (std::size_t r = 0; r < problem.resources.size(); ++r) {
        if (std::find(s.open[r].begin(), s.open[r].end(), 1.0) == s.open[r].end()) continue;
        out.resources.push_back({problem.resources[r].name, over_days(s.working[r], s.open[r]),
                                 over_days(s.allocated[r], s.open[r])});
    }
    // Whether it settles at all is asked of the last three quarters.
    const Growth growth = growth_of(std::span(s.inside).subspan(s.inside.size() / 4));
    out.grows = s.days() >= 40 && growth.grows ? growth.slope : 0.0;
    if (out.grows > 0.0) {
        const double unknown = std::numeric_limits<double>::quiet_NaN();
        for (MeanInterval* m :
             {&out.turnaround, &out.turnaround_p50, &out.turnaround_p90, &out.tardiness, &out.late})
            m->mean = m->half_width = unknown;
        out.trusted = false;
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
    out.offered = load_of(scenario, compile_options, kinds.front(), options.arrivals);
    if (out.offered.share > hopeless_load) return out;
    const core::Problem& problem = rooms.front()->room.problem;
    WeeksRun weeks(scenario, rooms, options);
    WeeksSeries series;
    series.open.resize(problem.resources.size());
    series.working.resize(problem.resources.size());
    series.allocated.resize(problem.resources.size());
    const model::SimTime monday = monday_of(compile_options.start);
    // Weekends pass too, but nobody counts them: what becomes ready then counts with the next day.
    int wanted = options.longer > 1 ? std::max(options.days, least_days) : options.days;
    const int most = options.longer * options.days;
    std::size_t first = 0;
    while (out.days < wanted) {
        if (!weeks.simulate_day()) {
            out.stuck = weeks.stuck();
            break;
        }
        for (const auto& o : weeks.ready()) {
            series.turnaround.push_back(static_cast<double>(o.ready - o.at));
            series.tardiness.push_back(
                static_cast<double>(std::max<std::int64_t>(0, o.ready - o.due)));
            ++out.orders_out;
            if (options.keep_orders) {
                out.orders.push_back(
                    {o.kind, monday + core::Seconds{o.at}, monday + core::Seconds{o.ready}});
            }
        }
        if (weeks.working_day()) {
            ++out.days;
            series.first_of_day.push_back(first);
            first = series.turnaround.size();
            series.screens.push_back(weeks.screens_ready());
            series.inside.push_back(static_cast<double>(weeks.orders_inside()));
            for (std::size_t r = 0; r < series.working.size(); ++r) {
                const bool is_open = weeks.open()[r] > 0;
                const double open = is_open ? static_cast<double>(weeks.open()[r]) : 1.0;
                series.open[r].push_back(is_open ? 1.0 : 0.0);
                series.working[r].push_back(is_open ? static_cast<double>(weeks.working()[r]) / open
                                                    : 0.0);
                series.allocated[r].push_back(
                    is_open ? static_cast<double>(weeks.allocated()[r]) / open : 0.0);
            }
            if (options.progress) options.progress(out.days, wanted);
            // A queue that grows without end takes more time and memory every day, and says no
            // more.
            const auto inside = static_cast<double>(weeks.orders_inside());
            if (out.days % 20 == 0 && inside > hopeless_days * out.offered.orders_a_day) {
                state(series, problem, options, out);
                if (out.grows > 0.0) break;
            }
            if (options.precision && out.days >= 50 && out.days % 25 == 0) {
                state(series, problem, options, out);
                if (out.trusted && precise_enough(out.turnaround, *options.precision)) {
                    out.precise = true;
                    break;
                }
            }
            if (out.days == wanted && 2 * wanted <= most) {
                state(series, problem, options, out);
                if (out.grows <= 0.0 && !out.trusted) wanted *= 2;
            }
        }
        out.interrupted = options.stop && options.stop();
        if (out.interrupted) break;
    }
    state(series, problem, options, out);
    out.orders_in = weeks.orders_in;
    out.screens_in = weeks.screens_in;
    out.screens_out = weeks.screens_out;
    out.screens_inside = weeks.inside();
    out.remakes = weeks.remakes;
    out.failures = weeks.failures;
    out.absences = weeks.absences;
    if (weeks.pots_end()) out.pots = {true, weeks.mixed, weeks.pots_ended(), weeks.kept_pots};
    out.area_inside = weeks.area;
    out.times_inside = weeks.times_so_far();
    // Little's law and conservation, to the second: whoever came in has left or is inside.
    assert(out.area_inside == out.times_inside);
    assert(out.screens_in == out.screens_out + out.screens_inside);
    if (out.days > 0) {
        const auto span = static_cast<double>(weeks.now() - weeks.began());
        out.inside_mean = static_cast<double>(out.area_inside) / span;
    }
    return out;
}

}  // namespace sched::study
