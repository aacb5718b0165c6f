#pragma once
// The closed loop: a shop promises by its files, works by its truth, marks what it does, and tunes
// its files every evening.

#include <fmt/format.h>

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"
#include "sched/promise/promise_inside.hpp"
#include "tests/tune/recovery.hpp"

namespace tune_tests {

struct LoopOptions {
    std::size_t shops = 8;
    int days = 40;
    int untuned = 10;  // days of each shop that are promised without tuning, too
    std::uint64_t first = 1;
    Truth truth;
    Habits habits;
    std::size_t replications = 99;  // (n + 1) 0.9 is whole
    std::function<void(std::size_t, std::size_t)> progress;
};

struct LoopDay {
    std::size_t kept = 0, of = 0;
    double work = 0.0;    // what the file says of a step over the truth, mean of shops
    double factor = 0.0;  // transfer factor over the truth
};

struct Loop {
    std::vector<LoopDay> days;
    LoopDay untuned;  // the first days promised by the files as they were
    std::size_t shops = 0;
};

/// Promises of one morning, and whether the day keeps them.
struct MorningAndEvening {
    std::size_t kept = 0, of = 0;
    std::vector<model::PastMark> marks;
};

inline std::optional<MorningAndEvening> one_day(const model::Scenario& believed,
                                                const model::Scenario& real,
                                                const sched::study::Chance& believed_chance,
                                                const sched::study::Chance& real_chance,
                                                model::SimTime start, int day, std::uint64_t seed,
                                                const LoopOptions& options) {
    using namespace sched::study;
    PromiseOptions how;
    how.compile.start = start;
    how.compile.days = 3;
    how.replications = options.replications;
    how.base_evaluations = 20;
    how.remedies = false;
    how.chance = believed_chance;
    how.seed = 7 + 1000 * seed + static_cast<std::uint64_t>(day);
    model::Diagnostics diagnostics;
    std::string problem;
    const auto desk = PromiseDesk::open(believed, how, diagnostics, problem);
    if (!desk) return std::nullopt;
    PromiseDesk::Planned plan = desk->base();
    PromiseOptions truth = desk->options();
    truth.chance = real_chance;
    plan.scenario = real;
    // The room that is real, as the plan's: what is held against it is how long things take.
    auto room = sched::compile::compile_room(real, truth.compile, diagnostics);
    if (!room) return std::nullopt;
    plan.room = *std::move(room);
    const std::uint64_t truth_seed = 900'000'001 + seed;
    const auto simulated =
        promising::simulate_days(plan, truth, truth_seed, static_cast<std::uint64_t>(day), 1);
    if (!simulated || simulated->all.empty() || !simulated->all.front().complete)
        return std::nullopt;
    MorningAndEvening out;
    const auto& days = desk->days().all;
    for (std::size_t o = 0; o < simulated->all.front().ready.size(); ++o) {
        std::vector<std::int64_t> ready;
        for (const auto& d : days)
            ready.push_back(d.complete ? d.ready[o] : std::int64_t{1} << 40);
        std::sort(ready.begin(), ready.end());
        const std::size_t rank = promise_rank(ready.size(), 0.9);
        if (rank == 0) continue;
        ++out.of;
        out.kept += simulated->all.front().ready[o] <= ready[rank - 1];
    }
    const auto schedule =
        promising::simulated_day(plan, truth, truth_seed, static_cast<std::uint64_t>(day));
    if (schedule) out.marks = marks_of_day(plan.room, *schedule, day, options.habits, truth_seed);
    return out;
}

inline Loop run_loop(const model::Scenario& scenario, model::SimTime start,
                     const LoopOptions& options) {
    Loop out;
    out.days.resize(static_cast<std::size_t>(options.days));
    model::Scenario real = scenario;
    real.room = true_room(real.room, options.truth);
    const auto real_chance = true_chance(options.truth);
    const sched::tune::Screens screens(scenario.room, {scenario.orders});
    for (std::size_t s = 0; s < options.shops; ++s) {
        model::Scenario believed = scenario;
        model::ChanceSettings settings;
        settings.remakes = std::vector<model::RemakeLaw>{};  // nothing is made again here
        std::vector<model::PastMark> marks;
        for (int d = 0; d < options.days; ++d) {
            const auto believed_chance = sched::study::Chance::of(settings, believed);
            const auto day = one_day(believed, real, believed_chance, real_chance, start, d,
                                     options.first + s, options);
            LoopDay& sum = out.days[static_cast<std::size_t>(d)];
            const auto coat = [](const model::Room& r) {
                return static_cast<double>(
                    model::time_of(r, model::Step::WashOut).attended.count());
            };
            sum.work += coat(believed.room) / coat(real.room);
            for (std::size_t i = 0; i < real.room.stations.size(); ++i) {
                if (real.room.stations[i].air)
                    sum.factor += believed.room.stations[i].air->transfer_factor /
                                  real.room.stations[i].air->transfer_factor;
            }
            if (d < options.untuned) {
                model::ChanceSettings as_filed;
                as_filed.remakes = std::vector<model::RemakeLaw>{};
                const auto plain =
                    one_day(scenario, real, sched::study::Chance::of(as_filed, scenario),
                            real_chance, start, d, options.first + s, options);
                out.untuned.kept += plain ? plain->kept : 0;
                out.untuned.of += plain ? plain->of : 0;
            }
            if (!day) continue;
            sum.kept += day->kept;
            sum.of += day->of;
            marks.insert(marks.end(), day->marks.begin(), day->marks.end());
            // In the evening: what the files say is held against all marks so far.
            const auto tuning = sched::tune::fit_marks(
                believed.room, settings, sched::tune::observe(believed.room, screens, marks),
                believed.weather, {.families = false, .groups = false});
            for (const auto& change : sched::tune::changes_of(believed.room, settings, tuning))
                change.make(believed.room, settings);
        }
        ++out.shops;
        if (options.progress) options.progress(s + 1, options.shops);
    }
    return out;
}

inline std::string loop_table(const Loop& loop) {
    std::string out =
        "| day | promises | 90 % promises that hold (95 %) | wash out, file / truth | transfer "
        "factor, file / truth |\n|---|---|---|---|---|\n";
    const auto row = [&](const std::string& name, std::size_t from, std::size_t to) {
        LoopDay sum;
        for (std::size_t d = from; d < to && d < loop.days.size(); ++d) {
            sum.kept += loop.days[d].kept;
            sum.of += loop.days[d].of;
            sum.work += loop.days[d].work;
            sum.factor += loop.days[d].factor;
        }
        if (sum.of == 0) return;
        const double n = static_cast<double>((std::min(to, loop.days.size()) - from) * loop.shops);
        const auto i = sched::study::wilson_interval(static_cast<std::int64_t>(sum.kept),
                                                     static_cast<std::int64_t>(sum.of), 0.95);
        out +=
            fmt::format("| {} | {} | {:.1f} % ({:.1f} to {:.1f}) | {:.3f} | {:.3f} |\n", name,
                        sum.of, 100.0 * static_cast<double>(sum.kept) / static_cast<double>(sum.of),
                        100.0 * i.low, 100.0 * i.high, sum.work / n, sum.factor / n);
    };
    for (std::size_t d = 0; d < std::min<std::size_t>(5, loop.days.size()); ++d)
        row(std::to_string(d + 1), d, d + 1);
    for (std::size_t d = 5; d < loop.days.size(); d += 5)
        row(fmt::format("{} to {}", d + 1, std::min(d + 5, loop.days.size())), d, d + 5);
    if (loop.untuned.of > 0) {
        const auto i =
            sched::study::wilson_interval(static_cast<std::int64_t>(loop.untuned.kept),
                                          static_cast<std::int64_t>(loop.untuned.of), 0.95);
        out += fmt::format(
            "| never tuned | {} | {:.1f} % ({:.1f} to {:.1f}) | | |\n", loop.untuned.of,
            100.0 * static_cast<double>(loop.untuned.kept) / static_cast<double>(loop.untuned.of),
            100.0 * i.low, 100.0 * i.high);
    }
    if (loop.days.size() > 14) row("15 to the last", 14, loop.days.size());
    return out;
}

/// Share of 90 % promises that hold, day by day, with Wilson intervals of 95 %.
inline std::string loop_svg(const Loop& loop) {
    constexpr int width = 640, height = 300, left = 56, right = 20, top = 20, bottom = 40;
    const double n = static_cast<double>(loop.days.size());
    const auto x = [&](double day) { return left + (day - 0.5) / n * (width - left - right); };
    const auto y = [&](double share) { return height - bottom - share * (height - top - bottom); };
    std::string out = fmt::format(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {} {}' font-family='sans-serif' "
        "font-size='12' role='img'>\n<title>Promises of 90 % that hold, by day</title>\n"
        "<rect width='100%' height='100%' fill='white'/>\n",
        width, height);
    for (const int percent : {0, 25, 50, 75, 90, 100}) {
        const double at = y(percent / 100.0);
        out += fmt::format(
            "<line x1='{}' x2='{}' y1='{:.1f}' y2='{:.1f}' stroke='{}'/>\n"
            "<text x='{}' y='{:.1f}' text-anchor='end'>{} %</text>\n",
            left, width - right, at, at, percent == 90 ? "#080" : "#ddd", left - 6, at + 4,
            percent);
    }
    for (std::size_t d = 0; d < loop.days.size(); ++d) {
        const LoopDay& day = loop.days[d];
        if (day.of == 0) continue;
        const auto i = sched::study::wilson_interval(static_cast<std::int64_t>(day.kept),
                                                     static_cast<std::int64_t>(day.of), 0.95);
        const double at = x(static_cast<double>(d + 1));
        out += fmt::format(
            "<line x1='{0:.1f}' x2='{0:.1f}' y1='{1:.1f}' y2='{2:.1f}' stroke='#9bd'/>\n"
            "<circle cx='{0:.1f}' cy='{3:.1f}' r='3' fill='#036'/>\n",
            at, y(i.low), y(i.high),
            y(static_cast<double>(day.kept) / static_cast<double>(day.of)));
        if (d == 0 || (d + 1) % 5 == 0)
            out += fmt::format("<text x='{:.1f}' y='{}' text-anchor='middle'>{}</text>\n", at,
                               height - bottom + 16, d + 1);
    }
    return out + fmt::format("<text x='{}' y='{}' text-anchor='middle'>day</text>\n</svg>\n",
                             (left + width - right) / 2, height - 8);
}

}  // namespace tune_tests
