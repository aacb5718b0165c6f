// How it works: an axis maps figures to the picture, each chart is one SVG element. Colours and
// line widths come from style.css, so paper and screen share them.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/size/size_charts.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {
namespace {

using study::SizeResult;

struct Axis {
    double low = 0.0, high = 1.0;  // in the figure's unit
    double from = 0.0, to = 1.0;   // in the picture
    double at(double v) const {
        return from + (std::clamp(v, low, high) - low) / (high - low) * (to - from);
    }
};

/// 1, 2 or 5 times a power of ten, so that at most about `most` steps fit.
double nice_step(double span, int most) {
    const double raw = span / most;
    const double power = std::pow(10.0, std::floor(std::log10(raw)));
    for (const double m : {1.0, 2.0, 5.0, 10.0}) {
        if (m * power >= raw * 0.999) return m * power;
    }
    return 10.0 * power;
}

std::string band_path(const SizeResult& r, std::size_t o, const Axis& x, const Axis& y) {
    std::string d;
    const std::size_t n = r.head.volumes.size();
    for (std::size_t v = 0; v < n; ++v) {
        d += fmt::format("{}{:.1f} {:.1f}", v == 0 ? "M" : "L", x.at(r.head.volumes[v]),
                         y.at(r.cell(o, v).curve_interval.high));
    }
    for (std::size_t v = n; v-- > 0;) {
        d += fmt::format("L{:.1f} {:.1f}", x.at(r.head.volumes[v]),
                         y.at(r.cell(o, v).curve_interval.low));
    }
    return d + "Z";
}

std::string line_path(const SizeResult& r, std::size_t o, const Axis& x, const Axis& y) {
    std::string d;
    for (std::size_t v = 0; v < r.head.volumes.size(); ++v) {
        d += fmt::format("{}{:.1f} {:.1f}", v == 0 ? "M" : "L", x.at(r.head.volumes[v]),
                         y.at(r.cell(o, v).curve));
    }
    return d;
}

/// A room's name left of its row, on two lines if it is long.
std::string label(const std::string& name, double y) {
    const auto line = [](std::string_view text, double at) {
        return fmt::format("<text class=\"right\" x=\"144\" y=\"{:.1f}\">{}</text>", at,
                           html(text));
    };
    if (name.size() <= 22) return line(name, y + 4.5);
    std::size_t best = name.size();
    for (std::size_t i = 0; i < name.size(); ++i) {
        const auto off = [&](std::size_t k) {
            return k > name.size() / 2 ? 2 * k - name.size() : name.size() - 2 * k;
        };
        if (name[i] == ' ' && (best == name.size() || off(i) < off(best))) best = i;
    }
    if (best == name.size()) return line(name, y + 4.5);
    return line(std::string_view(name).substr(0, best), y - 1.5) +
           line(std::string_view(name).substr(best + 1), y + 10.5);
}

std::string in_words(const SizeResult& r, std::size_t o) {
    std::string words = r.head.rooms[o].name + ", orders on time:";
    for (std::size_t v = 0; v < r.head.volumes.size(); ++v) {
        const auto& c = r.cell(o, v);
        words +=
            fmt::format(" {:.0f} % at {:.0f} % of the volume ({:.0f} to {:.0f} %){}",
                        100.0 * c.curve, 100.0 * r.head.volumes[v], 100.0 * c.curve_interval.low,
                        100.0 * c.curve_interval.high, v + 1 < r.head.volumes.size() ? "," : ".");
    }
    return words;
}

}  // namespace

std::string on_time_svg(const SizeResult& r, std::size_t o) {
    const Axis x{r.head.volumes.front(), r.head.volumes.back(), 34.0, 306.0};
    const Axis y{0.0, 1.0, 150.0, 10.0};
    std::string out =
        fmt::format("<svg class=\"chart\" viewBox=\"0 0 320 180\" role=\"img\" aria-label=\"{}\">",
                    html(in_words(r, o)));
    for (const double share : {0.0, 0.25, 0.5, 0.75, 1.0}) {
        out += fmt::format(
            "<line class=\"tick\" x1=\"34\" x2=\"306\" y1=\"{0:.1f}\" y2=\"{0:.1f}\"/><text "
            "class=\"right\" x=\"30\" y=\"{1:.1f}\">{2:.0f}</text>",
            y.at(share), y.at(share) + 4.0, 100.0 * share);
    }
    for (const double v : r.head.volumes) {
        out += fmt::format("<text class=\"middle\" x=\"{:.1f}\" y=\"168\">{:.0f}</text>", x.at(v),
                           100.0 * v);
    }
    out +=
        fmt::format("<line class=\"wanted\" x1=\"34\" x2=\"306\" y1=\"{0:.1f}\" y2=\"{0:.1f}\"/>",
                    y.at(r.coping));
    if (o != 0) {
        out += fmt::format("<path class=\"band today\" d=\"{}\"/>", band_path(r, 0, x, y));
        out += fmt::format("<path class=\"curve today\" d=\"{}\"/>", line_path(r, 0, x, y));
    }
    out += fmt::format("<path class=\"band\" d=\"{}\"/><path class=\"curve\" d=\"{}\"/>",
                       band_path(r, o, x, y), line_path(r, o, x, y));
    for (std::size_t v = 0; v < r.head.volumes.size(); ++v) {
        out += fmt::format("<circle class=\"dot\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"3.5\"/>",
                           x.at(r.head.volumes[v]), y.at(r.cell(o, v).curve));
    }
    return out + "</svg>\n";
}

std::string difference_svg(const SizeResult& r, study::SizeFigure study::SizeCell::*which,
                           const std::string& what, bool less_is_better) {
    const std::size_t rooms = r.head.rooms.size();
    double low = 0.0;
    double high = 0.0;
    for (std::size_t o = 1; o < rooms; ++o) {
        const auto& d = (r.cell(o, r.decision).*which).to_today;
        if (d.df <= 0.0) continue;
        low = std::min(low, d.interval.low);
        high = std::max(high, d.interval.high);
    }
    if (high - low < 1e-9) {
        low = -1.0;
        high = 1.0;
    }
    const double step = nice_step(high - low, 5);
    low = step * std::floor(low / step);
    high = step * std::ceil(high / step);
    const double row = 27.0;
    const double bottom = 8.0 + row * static_cast<double>(rooms - 1);
    const Axis x{low, high, 152.0, 388.0};
    std::string words = what + ", difference to today:";
    std::string marks;
    for (std::size_t o = 1; o < rooms; ++o) {
        const auto& d = (r.cell(o, r.decision).*which).to_today;
        const double y = 8.0 + row * (static_cast<double>(o) - 0.5);
        marks += label(r.head.rooms[o].name, y);
        if (d.df <= 0.0) continue;
        const bool better = less_is_better ? d.interval.high < 0.0 : d.interval.low > 0.0;
        const bool worse = less_is_better ? d.interval.low > 0.0 : d.interval.high < 0.0;
        marks += fmt::format(
            "<g class=\"{}\"><line class=\"span\" x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" "
            "y2=\"{:.1f}\"/>",
            better  ? "better"
            : worse ? "worse"
                    : "open",
            x.at(d.interval.low), x.at(d.interval.high), y, y);
        // Shapes besides colours: a filled dot is sure, a ring is not.
        marks += fmt::format("<circle class=\"dot\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"5\"/></g>",
                             x.at(d.difference), y);
        words +=
            fmt::format(" {} {:+.1f} ({:+.1f} to {:+.1f}){}", r.head.rooms[o].name, d.difference,
                        d.interval.low, d.interval.high, o + 1 < rooms ? "," : ".");
    }
    std::string out = fmt::format(
        "<svg class=\"chart effects\" viewBox=\"0 0 400 {:.0f}\" role=\"img\" aria-label=\"{}\">",
        bottom + 24.0, html(words));
    const int steps = static_cast<int>(std::lround((high - low) / step));
    for (int k = 0; k <= steps; ++k) {
        const double v = low + step * k;
        const bool zero = std::abs(v) < 0.01 * step;
        out += fmt::format(
            "<line class=\"{0}\" x1=\"{1:.1f}\" x2=\"{1:.1f}\" y1=\"8\" y2=\"{2:.1f}\"/><text "
            "class=\"middle\" x=\"{1:.1f}\" y=\"{3:.1f}\">{4:g}</text>",
            zero ? "zero" : "tick", x.at(v), bottom, bottom + 16.0, zero ? 0.0 : v);
    }
    return out + marks + "</svg>\n";
}

std::string cost_benefit_svg(const SizeResult& r) {
    const std::size_t rooms = r.head.rooms.size();
    if (r.money.size() < rooms) return {};
    const auto cost_of = [&](std::size_t o) {
        return r.money[o].yearly_benefit - r.money[o].yearly_net;
    };
    const std::string& currency = r.head.prices.currency;
    const auto amount = [&](double x) { return study::amount_words(x, currency); };
    const std::string in = currency.empty() ? "" : ", " + currency;
    double right = 1.0, low = 0.0, high = 1.0;
    for (std::size_t o = 1; o < rooms; ++o) {
        right = std::max(right, cost_of(o));
        low = std::min(low, r.money[o].yearly_interval.low);
        high = std::max(high, r.money[o].yearly_interval.high);
    }
    const double step_x = nice_step(right, 6);
    const double step_y = nice_step(high - low, 6);
    const Axis x{0.0, step_x * std::ceil(1.05 * right / step_x), 70.0, 700.0};
    const Axis y{step_y * std::floor(low / step_y), step_y * std::ceil(high / step_y), 330.0, 24.0};
    std::string words = "What each change costs a year and what it brings:";
    std::string out;
    for (double v = 0.0; v <= x.high + 0.01 * step_x; v += step_x) {
        out += fmt::format(
            "<line class=\"tick\" x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"24\" y2=\"330\"/><text "
            "class=\"middle\" x=\"{0:.1f}\" y=\"347\">{1}</text>",
            x.at(v), study::amount_words(v));
    }
    for (double v = y.low; v <= y.high + 0.01 * step_y; v += step_y) {
        const bool zero = std::abs(v) < 0.01 * step_y;
        out += fmt::format(
            "<line class=\"{}\" x1=\"70\" x2=\"700\" y1=\"{:.1f}\" y2=\"{:.1f}\"/><text "
            "class=\"right\" x=\"64\" y=\"{:.1f}\">{}</text>",
            zero ? "zero" : "tick", y.at(v), y.at(v), y.at(v) + 4.0,
            study::amount_words(zero ? 0.0 : v));
    }
    const double end = std::min(x.high, y.high);
    out += fmt::format(
        "<line class=\"wanted\" x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\"/><text "
        "class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\">brings what it costs</text>",
        x.at(0.0), y.at(0.0), x.at(end), y.at(end), end < x.high ? "" : "right",
        x.at(end) + (end < x.high ? 6.0 : -6.0), y.at(end) + (end < x.high ? 10.0 : -8.0));
    // Labels right of their dots, one below the other where they would touch.
    std::vector<std::size_t> order;
    for (std::size_t o = 1; o < rooms; ++o)
        order.push_back(o);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return r.money[a].yearly_benefit > r.money[b].yearly_benefit;
    });
    std::vector<std::pair<double, double>> taken;  // x from, y
    for (const std::size_t o : order) {
        const auto& m = r.money[o];
        const double px = x.at(cost_of(o));
        const double py = y.at(m.yearly_benefit);
        double at = py + 4.0;
        for (bool moved = true; moved;) {
            moved = false;
            for (const auto& [tx, ty] : taken) {
                if (std::abs(ty - at) < 14.0 && std::abs(tx - px) < 260.0) {
                    at = ty + 14.5;
                    moved = true;
                }
            }
        }
        taken.emplace_back(px, at);
        const bool better = m.net_interval.low > 0.0;
        const bool worse = m.net_interval.high < 0.0;
        out += fmt::format(
            "<g class=\"{0}\"><line class=\"span\" x1=\"{1:.1f}\" x2=\"{1:.1f}\" y1=\"{2:.1f}\" "
            "y2=\"{3:.1f}\"/><circle class=\"dot\" cx=\"{1:.1f}\" cy=\"{4:.1f}\" r=\"5.5\"/></g>"
            "<text class=\"own\" x=\"{5:.1f}\" y=\"{6:.1f}\">{7}</text>",
            better  ? "better"
            : worse ? "worse"
                    : "open",
            px, y.at(m.yearly_interval.low), y.at(m.yearly_interval.high), py, px + 10.0, at,
            html(r.head.rooms[o].name));
        words +=
            fmt::format(" {} costs {} and brings {} ({} to {}){}", r.head.rooms[o].name,
                        amount(cost_of(o)), amount(m.yearly_benefit), amount(m.yearly_interval.low),
                        amount(m.yearly_interval.high), o == order.back() ? "." : ",");
    }
    return fmt::format(
               "<svg class=\"chart\" viewBox=\"0 0 960 372\" role=\"img\" aria-label=\"{0}\">"
               "<text x=\"6\" y=\"14\">brings a year{1}</text><text class=\"right\" x=\"700\" "
               "y=\"364\">costs a year{1}</text>",
               html(words), in) +
           out + "</svg>\n";
}

}  // namespace sched::report
