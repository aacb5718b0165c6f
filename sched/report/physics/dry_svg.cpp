// How it works: every curve ends on the dry line at its own time, so its label stands at its end;
// labels that would touch are moved apart. Colours come from the pages' style, for a file of its
// own from the few rules below.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "sched/report/physics/dry_report.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

// Lines that stay apart in print and for colour-blind readers, by dash as well as colour.
constexpr std::array<const char*, 4> curve_classes{"", " grey", " warm", " thin"};

// For a file of its own; none blue (safelight).
constexpr const char* own_style =
    "<style>text{font:12px sans-serif;fill:#444}.own{fill:#111;font-weight:bold}.right{text-anchor:"
    "end}.middle{text-anchor:middle}.tick{stroke:#ddd}.axis{stroke:#111;stroke-width:1.5;fill:none}"
    ".curve{fill:none;stroke:#222;stroke-width:2.5}.grey{stroke:#777}.warm{stroke:#b35900}.full"
    "{stroke-dasharray:8 4}.thin{stroke-width:1.2}.dot{fill:#222}</style><rect width=\"760\" "
    "height=\"400\" fill=\"#fff\"/>";

/// 1, 2 or 5 times a power of ten: at most eight steps.
double nice_dry_step(double span) {
    double step = std::pow(10.0, std::floor(std::log10(span / 8.0)));
    for (double factor : {1.0, 2.0, 5.0, 10.0}) {
        if (span / (step * factor) <= 8.0) return step * factor;
    }
    return step * 10.0;
}

struct DryEnd {
    double x = 0.0, label = 0.0;  // where the curve is dry; height of its label
    std::string words;
};

/// Labels right of and above the ends, one below the other where they would touch.
void part_labels(std::vector<DryEnd>& ends) {
    std::stable_sort(ends.begin(), ends.end(),
                     [](const DryEnd& a, const DryEnd& b) { return a.x < b.x; });
    for (std::size_t i = 0; i < ends.size(); ++i)
        ends[i].label = 20.0 * static_cast<double>(ends.size() - i);
}

std::string drawn_curves(const DryReport& report, bool alone) {
    constexpr double width = 760.0, height = 400.0, left = 44.0, top = 30.0, right = 190.0,
                     bottom = 60.0;
    double most_minutes = 1.0, most_grams = 1.0, dry = 0.0;
    for (const DryClimate& c : report.climates) {
        for (const auto* curve : {&c.curve, &c.curve_full}) {
            if (curve->empty()) continue;
            most_minutes = std::max(most_minutes, curve->back().seconds / 60.0);
            most_grams = std::max(most_grams, curve->front().water * 1e3);
            dry = std::max(dry, curve->back().water * 1e3);
        }
    }
    const auto x = [&](double minutes) {
        return left + minutes / most_minutes * (width - left - right);
    };
    const auto y = [&](double grams) {
        return top + (1.0 - grams / most_grams) * (height - top - bottom);
    };
    std::string out = fmt::format(
        "<svg{} class=\"chart\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" aria-label=\"{}\">\n{}",
        alone ? " xmlns=\"http://www.w3.org/2000/svg\"" : "", width, height,
        html("Water left over time: " + report.what), alone ? own_style : "");
    const double step_m = nice_dry_step(most_minutes), step_g = nice_dry_step(most_grams);
    for (double m = 0.0; m <= most_minutes; m += step_m) {
        out += fmt::format(
            "<path class=\"tick\" d=\"M{0:.1f} {1:.1f}V{2:.1f}\"/><text class=\"middle\" "
            "x=\"{0:.1f}\" y=\"{3:.1f}\">{4:g}</text>\n",
            x(m), top, y(0.0), y(0.0) + 17.0, m);
    }
    for (double g = 0.0; g <= most_grams; g += step_g) {
        out += fmt::format(
            "<path class=\"tick\" d=\"M{0:.1f} {1:.1f}H{2:.1f}\"/><text class=\"right\" "
            "x=\"{3:.1f}\" y=\"{4:.1f}\">{5:g}</text>\n",
            left, y(g), width - right, left - 6.0, y(g) + 4.0, g);
    }
    out += fmt::format("<text class=\"right\" x=\"{:.1f}\" y=\"{:.1f}\">minutes</text>\n",
                       width - right, y(0.0) + 34.0);
    out += "<text x=\"6\" y=\"16\">water left, g/m²</text>\n";
    std::vector<DryEnd> ends;
    const std::size_t drawn = std::min(report.climates.size(), curve_classes.size());
    for (std::size_t i = 0; i < drawn; ++i) {
        const DryClimate& c = report.climates[i];
        for (const auto* curve : {&c.curve, &c.curve_full}) {
            const bool full = curve == &c.curve_full;
            if (curve->empty() || (full && report.places <= 1)) continue;
            std::string d;
            for (const auto& p : *curve)
                d += fmt::format("{}{:.1f} {:.1f}", d.empty() ? "M" : "L", x(p.seconds / 60.0),
                                 y(p.water * 1e3));
            out += fmt::format("<path class=\"curve{}{}\" d=\"{}\"/>\n", curve_classes[i],
                               full ? " full" : "", d);
            ends.push_back(
                {x(curve->back().seconds / 60.0), 0.0,
                 fmt::format("{}, {}: {:.0f} min", c.name,
                             full ? fmt::format("{} inside", report.places) : std::string("alone"),
                             std::ceil(curve->back().seconds / 60.0))});
        }
    }
    if (!ends.empty()) {
        out += fmt::format(
            "<path class=\"axis\" d=\"M{0:.1f} {1:.1f}H{2:.1f}\"/><text class=\"own\" "
            "x=\"{3:.1f}\" "
            "y=\"{4:.1f}\">dry: {5:.1f} g/m²</text>\n",
            left, y(dry), width - right, width - right + 6.0, y(dry) + 4.0, dry);
    }
    part_labels(ends);
    for (const DryEnd& e : ends) {
        const double at = y(dry) - 24.0 - e.label;
        out += fmt::format(
            "<circle class=\"dot\" cx=\"{0:.1f}\" cy=\"{1:.1f}\" r=\"4\"/><path class=\"tick\" "
            "d=\"M{0:.1f} {1:.1f}V{2:.1f}H{3:.1f}\" fill=\"none\"/><text class=\"own\" "
            "x=\"{4:.1f}\" "
            "y=\"{5:.1f}\">{6}</text>\n",
            e.x, y(dry), at - 4.0, width - right + 2.0, width - right + 6.0, at, html(e.words));
    }
    return out + "</svg>\n";
}

std::string minutes_up(model::Seconds t) {
    return fmt::format("{:.0f} min", std::ceil(static_cast<double>(t.count()) / 60.0));
}

}  // namespace

std::string dry_svg(const DryReport& report) {
    return drawn_curves(report, true);
}

std::string dry_page(const DryReport& report) {
    const std::string script = page_script();
    std::string out = page_head("Drying: " + report.what, script);
    out += "<body class=\"drying\">\n" +
           page_top(
               {.own = "drying.html",
                .title = "How long does it dry?",
                .under = fmt::format("<p>{} in {}</p>", html(report.what), html(report.cabinet))}) +
           "<main>\n";
    const DryClimate& first = report.climates.front();
    if (first.reachable) {
        const std::string alone = minutes_up(first.times.front());
        const std::string full = minutes_up(first.times.back());
        out += fmt::format(
            "<p class=\"lead\">In {}: {}{}.</p>\n", html(first.name), alone,
            report.places > 1 && full != alone
                ? fmt::format(" alone, {} with all {} places taken", full, report.places)
                : " whether alone or with all places taken");
    } else {
        out +=
            fmt::format("<p class=\"lead open\">In {} it never dries: the air is too damp.</p>\n",
                        html(first.name));
    }
    out += "<figure tabindex=\"0\">" + drawn_curves(report, false) + "</figure>\n";
    out +=
        "<div class=\"wide\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Room "
        "air</th>";
    for (int n : report.loads)
        out += fmt::format("<th scope=\"col\" class=\"num\">{} inside</th>", n);
    out += "<th scope=\"col\">Limit when full</th></tr></thead><tbody>\n";
    for (const DryClimate& c : report.climates) {
        out += fmt::format("<tr><th scope=\"row\">{}, {:.3g} °C {:.0f} %</th>", html(c.name),
                           c.air.temperature.value, 100.0 * c.air.humidity.value);
        for (const model::Seconds& t : c.times)
            out += "<td class=\"num\">" + (c.reachable ? minutes_up(t) : "never") + "</td>";
        out += fmt::format("<td>{}</td></tr>\n", html(model::physics::words(c.limits.back())));
    }
    out +=
        "</tbody></table></div>\n<p class=\"note\">Screens alike that went in together. The model "
        "has two figures that only your own clock can tell: give observed times with "
        "<code>coatroom dry --observed</code>.</p>\n<p class=\"note\">Nothing wet with flammable "
        "cleaner goes into a warm cabinet. Drying air above 40 °C hardens the layer. Heater and "
        "fan: licensed electrician, local codes.</p>\n";
    return with_words(out + "</main>\n<script>" + script + "</script>\n</body>\n</html>\n");
}

}  // namespace sched::report
