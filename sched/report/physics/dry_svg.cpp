#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "sched/report/physics/dry_report.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

// Lines that stay apart in print and for colour-blind readers; none of them blue (safelight).
constexpr std::array<const char*, 4> curve_colours{"#222222", "#b35900", "#8a8a00", "#a00000"};

/// 1, 2 or 5 times a power of ten: at most eight steps.
double nice_step(double span) {
    double step = std::pow(10.0, std::floor(std::log10(span / 8.0)));
    for (double factor : {1.0, 2.0, 5.0, 10.0}) {
        if (span / (step * factor) <= 8.0) return step * factor;
    }
    return step * 10.0;
}

}  // namespace

std::string dry_svg(const DryReport& report) {
    constexpr double width = 760.0, height = 360.0, left = 52.0, top = 30.0, right = 16.0,
                     bottom = 44.0;
    double most_minutes = 1.0, most_grams = 1.0;
    for (const DryClimate& c : report.climates) {
        for (const auto* curve : {&c.curve, &c.curve_full}) {
            if (curve->empty()) continue;
            most_minutes = std::max(most_minutes, curve->back().seconds / 60.0);
            most_grams = std::max(most_grams, curve->front().water * 1e3);
        }
    }
    const auto x = [&](double minutes) {
        return left + minutes / most_minutes * (width - left - right);
    };
    const auto y = [&](double grams) {
        return top + (1.0 - grams / most_grams) * (height - top - bottom);
    };
    std::string out = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" "
        "font-family=\"sans-serif\" font-size=\"13\" role=\"img\" "
        "aria-label=\"{}\">\n<rect width=\"{}\" height=\"{}\" fill=\"#fff\"/>\n",
        width, height, html("Water left over time: " + report.what), width, height);
    for (double m = 0.0; m <= most_minutes; m += nice_step(most_minutes)) {
        out += fmt::format(
            "<path d=\"M{0:.1f} {1:.1f}V{2:.1f}\" stroke=\"#ddd\"/><text x=\"{0:.1f}\" "
            "y=\"{3:.1f}\" text-anchor=\"middle\">{4:g}</text>\n",
            x(m), top, y(0.0), y(0.0) + 17.0, m);
    }
    for (double g = 0.0; g <= most_grams; g += nice_step(most_grams)) {
        out += fmt::format(
            "<path d=\"M{0:.1f} {1:.1f}H{2:.1f}\" stroke=\"#ddd\"/><text x=\"{3:.1f}\" "
            "y=\"{4:.1f}\" text-anchor=\"end\">{5:g}</text>\n",
            left, y(g), width - right, left - 6.0, y(g) + 4.0, g);
    }
    out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"end\">minutes</text>\n",
                       width - right, height - 8.0);
    out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\">g/m² of water left</text>\n", 8.0, 16.0);
    double legend = top + 18.0;
    const std::size_t drawn = std::min(report.climates.size(), curve_colours.size());
    for (std::size_t i = 0; i < drawn; ++i) {
        const DryClimate& c = report.climates[i];
        const char* colour = curve_colours[i % curve_colours.size()];
        for (const auto* curve : {&c.curve, &c.curve_full}) {
            if (curve->empty()) continue;
            std::string d;
            for (const auto& p : *curve)
                d += fmt::format("{}{:.1f} {:.1f}", d.empty() ? "M" : "L", x(p.seconds / 60.0),
                                 y(p.water * 1e3));
            const bool full = curve == &c.curve_full;
            out +=
                fmt::format("<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"2\"{}/>\n",
                            d, colour, full ? " stroke-dasharray=\"7 4\"" : "");
            const std::string label = fmt::format(
                "{}, {}: {:.0f} min", c.name,
                full ? fmt::format("{} screens", report.places) : std::string("1 screen"),
                std::ceil(curve->back().seconds / 60.0));
            const double from = width - right - 250.0;
            out += fmt::format(
                "<path d=\"M{:.1f} {:.1f}h34\" stroke=\"{}\" stroke-width=\"2\"{}/><text "
                "x=\"{:.1f}\" y=\"{:.1f}\">{}</text>\n",
                from, legend - 4.0, colour, full ? " stroke-dasharray=\"7 4\"" : "", from + 42.0,
                legend, html(label));
            legend += 18.0;
        }
    }
    return out + "</svg>\n";
}

std::string dry_page(const DryReport& report) {
    const std::string style =
        "body{font:16px/1.4 sans-serif;max-width:60em;margin:1em auto;padding:0 1em}"
        "table{border-collapse:collapse}td,th{padding:.2em .7em;border-bottom:1px solid "
        "#ccc;text-align:right}"
        "td:first-child,th:first-child{text-align:left}";
    std::string out = page_head("Drying: " + report.what, style, "");
    out += fmt::format("<body>\n<h1>{}</h1>\n<p>in {}</p>\n<table>\n<tr><th>room air</th>",
                       html(report.what), html(report.cabinet));
    for (int n : report.loads)
        out += fmt::format("<th>{} inside</th>", n);
    out += "<th>limit when full</th></tr>\n";
    for (const DryClimate& c : report.climates) {
        out += fmt::format("<tr><td>{}, {:.3g} °C {:.0f} %</td>", html(c.name),
                           c.air.temperature.value, 100.0 * c.air.humidity.value);
        for (const model::Seconds& t : c.times) {
            out += c.reachable ? fmt::format("<td>{:.0f} min</td>",
                                             std::ceil(static_cast<double>(t.count()) / 60.0))
                               : "<td>never</td>";
        }
        out += fmt::format("<td>{}</td></tr>\n", html(model::physics::words(c.limits.back())));
    }
    out += "</table>\n" + dry_svg(report);
    out +=
        "<p>Nothing wet with flammable cleaner goes into a warm cabinet. Drying air above 40 °C "
        "hardens the layer. Heater and "
        "fan: licensed electrician, local codes.</p>\n</body>\n</html>\n";
    return out;
}

}  // namespace sched::report
