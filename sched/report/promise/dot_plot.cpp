// How it works: an axis of pieces that leaves out hours without marks maps times to pixels; dots
// that would overlap are stacked at one place; ticks, marks and dots are then written as one SVG
// element.

#include "sched/report/promise/dot_plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/promise/promise.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

using model::Seconds;
using model::SimTime;

constexpr double plot_width = 480.0;
constexpr double plot_side = 26.0;  // left and right of the axis
constexpr double gap_width = 46.0;  // of an axis break
constexpr double not_ended_width = 44.0;

// Times to pixels; nights and other long pauses between the marks are cut out.
class BrokenAxis {
public:
    explicit BrokenAxis(std::vector<SimTime> marks, double width) {
        std::sort(marks.begin(), marks.end());
        constexpr Seconds pause = model::hours(5);
        constexpr Seconds margin = model::minutes(30);
        for (const SimTime t : marks) {
            if (pieces_.empty() || t - pieces_.back().to > pause) pieces_.push_back({t, t});
            pieces_.back().to = t;
        }
        Seconds shown{0};
        for (Piece& p : pieces_) {
            // Whole hours, so that ticks stand at the ends.
            p.from = floor_hour(p.from - margin);
            p.to = floor_hour(p.to + margin + model::hours(1) - Seconds{1});
            shown += p.to - p.from;
        }
        const double gaps = gap_width * static_cast<double>(pieces_.size() - 1);
        scale_ = (width - gaps) / static_cast<double>(shown.count());
        double x = plot_side;
        for (Piece& p : pieces_) {
            p.x = x;
            x += scale_ * static_cast<double>((p.to - p.from).count()) + gap_width;
        }
    }

    struct Piece {
        SimTime from{}, to{};
        double x = 0.0;
    };
    const std::vector<Piece>& pieces() const { return pieces_; }
    double scale() const { return scale_; }  // px a second

    double at(SimTime t) const {
        const Piece* in = &pieces_.front();
        for (const Piece& p : pieces_) {
            if (p.from <= t) in = &p;
        }
        const double within =
            static_cast<double>((std::clamp(t, in->from, in->to) - in->from).count());
        return in->x + scale_ * within;
    }

private:
    static SimTime floor_hour(SimTime t) {
        return SimTime{std::chrono::floor<std::chrono::hours>(t.time_since_epoch())};
    }
    std::vector<Piece> pieces_;
    double scale_ = 1.0;
};

// Dots above one another at x.
struct DotStack {
    double x = 0.0;
    int count = 0;
    bool after = false;  // after the promise
};

std::vector<DotStack> stacked(const DotPlot& plot, const BrokenAxis& axis, double radius) {
    std::vector<DotStack> stacks;
    double opened = 0.0;
    for (const auto& d : plot.dots) {
        const double x = d ? axis.at(*d) : plot_width - plot_side;
        const bool after = !d || (plot.line && *d > *plot.line);
        // No dot is moved over the promise: a stack ends there.
        if (stacks.empty() || x - opened > 2 * radius || after != stacks.back().after) {
            stacks.push_back({0.0, 0, after});
            opened = x;
        }
        DotStack& s = stacks.back();  // it stands at the middle of its dots
        s.x += (x - s.x) / ++s.count;
    }
    // Neighbours side by side; what must give way before the promise goes left, after it right.
    for (std::size_t i = stacks.size(); i-- > 1;) {
        if (!stacks[i].after) stacks[i - 1].x = std::min(stacks[i - 1].x, stacks[i].x - 2 * radius);
    }
    for (std::size_t i = 1; i < stacks.size(); ++i) {
        if (stacks[i].after) stacks[i].x = std::max(stacks[i].x, stacks[i - 1].x + 2 * radius);
    }
    return stacks;
}

std::string ticks_svg(const BrokenAxis& axis, double base) {
    std::string out;
    const BrokenAxis::Piece* before = nullptr;
    std::optional<model::LocalDate> day;
    for (const auto& p : axis.pieces()) {
        const double end = axis.at(p.to);
        out += fmt::format(
            "<line class=\"axis\" x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/>", p.x,
            end, base, base);
        if (before != nullptr) {
            out += fmt::format("<path class=\"gap\" d=\"M{0:.1f} {1:.1f}l6 -6l0 12l6 -6\"/>",
                               p.x - gap_width / 2 - 6, base);
        }
        before = &p;
        Seconds step = model::hours(1);
        for (const int h : {1, 2, 3, 4, 6, 12, 24}) {
            step = model::hours(h);
            if (axis.scale() * static_cast<double>(step.count()) >= 46.0) break;
        }
        double last = -100.0;
        for (SimTime t = p.from; t <= p.to; t += model::hours(1)) {
            const bool labelled = model::time_of_day(t) % step == Seconds{0} || t == p.from;
            const double x = axis.at(t);
            if (!labelled || x - last < 40.0) continue;
            last = x;
            out += fmt::format(
                "<line class=\"tick\" x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1:.1f}\" "
                "y2=\"{2:.1f}\"/><text x=\"{0:.1f}\" y=\"{3:.1f}\">{4}</text>",
                x, base, base + 6, base + 22, model::format_time_of_day(t));
            const auto date = model::date_of(t);
            if (day == date) continue;
            day = date;
            out += fmt::format(
                "<text class=\"day\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>",
                x < 40.0 ? 2.0 : x, base + 40, x < 40.0 ? "start" : "middle",
                study::say_time(t).substr(0, study::say_time(t).find(',')));
        }
    }
    return out;
}

std::string mark_svg(const char* css, const char* word, double x, double top, double base) {
    const bool left = x > plot_width / 2;
    return fmt::format(
        "<line class=\"{0}\" x1=\"{1:.1f}\" x2=\"{1:.1f}\" y1=\"{2:.1f}\" y2=\"{3:.1f}\"/>"
        "<text class=\"{0}\" x=\"{4:.1f}\" y=\"{5:.1f}\" text-anchor=\"{6}\">{7}</text>",
        css, x, top, base, left ? x - 5 : x + 5, top + 12, left ? "end" : "start", word);
}

}  // namespace

std::string dot_plot_svg(const DotPlot& plot) {
    std::vector<SimTime> marks;
    bool endless = false;
    for (const auto& d : plot.dots) {
        if (d) marks.push_back(*d);
        endless = endless || !d;
    }
    if (plot.line) marks.push_back(*plot.line);
    if (plot.wanted) marks.push_back(*plot.wanted);
    if (marks.empty()) return "";
    const BrokenAxis axis(marks, plot_width - 2 * plot_side - (endless ? not_ended_width : 0.0));

    double radius = 9.0;
    auto stacks = stacked(plot, axis, radius);
    const auto highest = [&] {
        return std::max_element(stacks.begin(), stacks.end(),
                                [](auto& a, auto& b) { return a.count < b.count; })
            ->count;
    };
    if (highest() > 10) stacks = stacked(plot, axis, radius = 7.0);  // a tower would hide the rest
    const double top = 40.0;
    const double base = top + 2 * radius * highest() + 4;
    const double height = base + 48;
    std::string out = fmt::format(
        "<svg class=\"dots\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" aria-label=\"Each dot is "
        "one "
        "of {} equally likely ready times\">",
        plot_width, height, plot.dots.size());
    out += ticks_svg(axis, base);
    for (const DotStack& s : stacks) {
        for (int level = 0; level < s.count; ++level) {
            out += fmt::format("<circle class=\"dot{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\"/>",
                               s.after ? " after" : "", s.x, base - radius - 2 - 2 * radius * level,
                               radius - 1);
        }
    }
    if (endless) {
        out += fmt::format(
            "<text class=\"day\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"end\">later</text>",
            plot_width - plot_side + radius, base + 22);
    }
    if (plot.line) out += mark_svg("line", "promise", axis.at(*plot.line), 2, base);
    if (plot.wanted) out += mark_svg("wanted", "wanted", axis.at(*plot.wanted), 18, base);
    return out + "</svg>\n";
}

}  // namespace sched::report
