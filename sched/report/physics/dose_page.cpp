// How it works: two pages with one head and one end, dose.html: the times of lines with what they
// are made of, and the wedge as strips as long as their seconds.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/physics/dose_report.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

const char* const lamp_caution =
    "<p class=\"note\">UV light: shield it, never look into the lamp. Lamp, transformer and fan: "
    "licensed electrician, local codes.</p>\n";

std::string dose_top(const std::string& title, const std::string& under,
                     const std::string& script) {
    return page_head(title, script) + "<body class=\"dose\">\n" +
           page_top({.own = "dose.html", .title = title, .under = under}) + "<main>\n";
}

std::string dose_end(const std::string& script) {
    return lamp_caution + ("</main>\n<script>" + script + "</script>\n</body>\n</html>\n");
}

std::string screen_words(const DoseLine& l) {
    return fmt::format("{} of {} on {}", l.coat_plan, l.emulsion, l.mesh);
}

/// "4 min 5 s" beside the seconds where a clock counts minutes.
std::string dialled(double seconds) {
    const double whole = std::ceil(seconds - 1e-6);
    std::string out = fmt::format("{:.0f} s", whole);
    if (whole >= 90.0)
        out += fmt::format(
            " ({})", model::format_duration(model::Seconds{static_cast<std::int64_t>(whole)}));
    return out;
}

std::string sum_of(const DoseLine& l) {
    std::string out = fmt::format(
        "{:.4g} s calibrated × {:.3g} distance × {:.3g} stencil ({:.0f} µm) × {:.3g} mesh × {:.3g} "
        "lamp age",
        l.time.base, l.time.distance, l.time.stencil, l.stencil.value, l.time.mesh, l.time.ageing);
    if (l.integrator) out += fmt::format("; integrator set to {:.4g}", l.time.setting(true));
    if (std::abs(l.wash_out_factor - 1.0) > 0.005)
        out += fmt::format("; wash-out takes {:.2f} times the usual", l.wash_out_factor);
    if (l.missing_distance)
        out += fmt::format("; the lamp is {:.1f} cm too near for this image",
                           l.missing_distance->value);
    for (const auto& c : l.mesh_complaints)
        out += "; " + c.text;
    return out;
}

}  // namespace

std::string dose_page(const DoseReport& report) {
    const std::string script = page_script();
    const std::string order = report.lines.empty() || report.lines.front().order.empty()
                                  ? std::string()
                                  : " of order " + report.lines.front().order;
    std::string out =
        dose_top("Exposure times" + order,
                 fmt::format("<p>{}: lamp at {:.4g} cm, {:.4g} h old</p>", html(report.unit),
                             report.lamp.distance.value, report.lamp.hours),
                 script);
    double most = 1.0;
    for (const DoseLine& l : report.lines)
        most = std::max(most, l.time.seconds());
    if (report.lines.size() == 1) {
        const DoseLine& l = report.lines.front();
        out += fmt::format("<p class=\"lead\">{}: <b>{}</b>.</p>\n", html(screen_words(l)),
                           dialled(l.time.seconds()));
    }
    out +=
        "<div class=\"wide\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Screen</th><th "
        "scope=\"col\" class=\"num\">Expose</th><th scope=\"col\">May share an exposure</th>"
        "<th scope=\"col\">From</th></tr></thead><tbody>\n";
    for (std::size_t i = 0; i < report.lines.size(); ++i) {
        const DoseLine& l = report.lines[i];
        out += fmt::format(
            "<tr><th scope=\"row\">{}{}</th><td class=\"num\">{}</td><td>{}</td><td>{}</td></tr>\n",
            l.order.empty() ? "" : fmt::format("line {}: ", l.line), html(screen_words(l)),
            dialled(l.time.seconds()),
            report.lines.size() > 1 ? fmt::format("family {}", report.families[i] + 1) : "–",
            html(sum_of(l)));
    }
    out += fmt::format(
        "</tbody></table></div>\n<p class=\"note\">Screens of one family need doses within {:.0f} "
        "%: they may share an exposure.{}</p>\n",
        100.0 * report.tolerance,
        report.lamp.warm_up.count() > 0
            ? fmt::format(" The lamp warms up {} s before the first exposure of a run.",
                          report.lamp.warm_up.count())
            : "");
    return with_words(out + dose_end(script));
}

std::string wedge_page(const WedgeReport& report) {
    const std::string script = page_script();
    const std::size_t n = report.steps.size();
    std::string out =
        dose_top("Step wedge",
                 fmt::format("<p>{}, estimate {:.4g} s</p>", html(screen_words(report.line)),
                             report.line.time.seconds()),
                 script);
    if (report.best) {
        out += fmt::format(
            "<p class=\"lead\">Strip {} was best: the exposure time of {} is <b>{:.0f} s</b>, was "
            "{:.4g} s.{}</p>\n",
            *report.best, html(report.line.emulsion), std::round(report.new_base), report.base,
            *report.best == 1 || *report.best == static_cast<int>(n)
                ? " It lies at the edge of the wedge: expose another one around the new time."
                : "");
    } else {
        out += fmt::format(
            "<p class=\"lead\">Expose {} strips, wash out, dry, and look: the best is the longest "
            "that still holds the detail you need. Slimy inside means under-exposed.</p>\n",
            n);
    }
    double most = 1.0;
    for (const auto& s : report.steps)
        most = std::max(most, s.total);
    out += section_head("strips", "The strips, as they lie") + "<ol class=\"strips\">\n";
    for (std::size_t i = 0; i < n; ++i) {
        const auto& s = report.steps[i];
        const bool best = report.best && *report.best == static_cast<int>(i) + 1;
        out += fmt::format(
            "<li{}><span>{}</span><span class=\"num\">{:.0f} s</span><span><svg class=\"strip\" "
            "viewBox=\"0 0 100 10\" preserveAspectRatio=\"none\" aria-hidden=\"true\"><rect "
            "width=\"{:.1f}\" height=\"10\"/></svg>{:.4g} %{}</span></li>\n",
            best ? " class=\"read\"" : "", i + 1, s.total, 100.0 * s.total / most, s.percent,
            best ? ", the best" : "");
    }
    out += "</ol>\n</section>\n" + section_head("openings", "How to expose them") +
           "<p>Strip 1 is covered first and stays covered.</p>\n<div class=\"wide\" tabindex=\"0\">"
           "<table class=\"narrow\"><thead><tr><th scope=\"col\">Opening</th><th "
           "scope=\"col\">Covered</th><th scope=\"col\" class=\"num\">Light on</th></tr></thead>"
           "<tbody>\n";
    for (std::size_t i = 0; i < n; ++i) {
        const auto& s = report.steps[i];
        out += fmt::format(
            "<tr><th scope=\"row\">{}</th><td>{}</td><td class=\"num\">{:.1f} s</td></tr>\n", i + 1,
            s.masked == 0   ? "nothing"
            : s.masked == 1 ? "strip 1"
                            : fmt::format("strips 1 to {}", s.masked),
            s.seconds);
    }
    out += "</tbody></table></div>\n</section>\n";
    if (!report.best)
        out +=
            "<p>Then read it: <code>coatroom dose ... --wedge --best STRIP</code> gives the new "
            "time, with <code>--save</code> it goes into room.yaml.</p>\n";
    return with_words(out + dose_end(script));
}

}  // namespace sched::report
