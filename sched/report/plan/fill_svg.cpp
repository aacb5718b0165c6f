#include <fmt/format.h>

#include <algorithm>

#include "sched/report/plan/page.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr double fill_width = 1000.0;
constexpr double fill_left = 40.0;
constexpr double fill_top = 12.0;
constexpr double fill_height = 120.0;

/// Whole hours between ticks so that at most ten labels stand on the axis.
Seconds tick_step(Seconds span) {
    for (const int h : {1, 2, 3, 4, 6, 12}) {
        if (span <= model::hours(h * 10)) return model::hours(h);
    }
    return model::hours(24);
}

}  // namespace

std::string fill_svg(const FillLine& fill, const RunLine& run) {
    const SimTime from = run.first_start;
    const SimTime to = std::max(run.last_end, from + model::hours(1));
    const int top = std::max(fill.places, 1);
    const auto x = [&](SimTime t) {
        const double share =
            static_cast<double>((t - from).count()) / static_cast<double>((to - from).count());
        return fill_left + std::clamp(share, 0.0, 1.0) * (fill_width - fill_left - 10.0);
    };
    const auto y = [&](int n) {
        return fill_top + fill_height * (1.0 - static_cast<double>(n) / top);
    };

    int most = 0;
    int held = 0;
    std::string working = fmt::format("M{:.1f} {:.1f}", x(from), y(0));
    std::string both = working;
    for (const FillStep& step : fill.steps) {
        working += fmt::format("H{:.1f}V{:.1f}", x(step.from), y(step.working));
        both += fmt::format("H{:.1f}V{:.1f}", x(step.from), y(step.working + step.holding));
        most = std::max(most, step.working + step.holding);
        held = std::max(held, step.holding);
    }
    for (std::string* path : {&working, &both})
        *path += fmt::format("H{:.1f}V{:.1f}Z", x(to), y(0));

    std::string out = fmt::format(
        "<svg class=\"fill\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" aria-label=\"{}\">",
        fill_width, fill_top + fill_height + 26.0,
        html(fmt::format("{}: at most {} of {} places taken, at most {} held by finished screens",
                         fill.station, most, fill.places, held)));
    for (SimTime t = model::midnight(model::date_of(from)); t <= to; t += tick_step(to - from)) {
        if (t < from) continue;
        out += fmt::format(
            "<line class=\"tick\" x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1:.1f}\" y2=\"{2:.1f}\"/>",
            x(t), y(top), y(0));
        // The last label would run out of the picture.
        if (x(t) < fill_width - 30.0) {
            out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\">{}</text>", x(t) + 2.0, y(0) + 18.0,
                               html(when(run, t)));
        }
    }
    out += fmt::format("<path class=\"held\" d=\"{}\"/><path class=\"taken\" d=\"{}\"/>", both,
                       working);
    out += fmt::format(
        "<line class=\"full\" x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/>", x(from),
        x(to), y(top), y(top));
    out += fmt::format(
        "<text x=\"4\" y=\"{:.1f}\">{}</text><text x=\"4\" y=\"{:.1f}\">0</text></svg>\n",
        y(top) + 10.0, fill.places, y(0));
    return out;
}

}  // namespace sched::report
