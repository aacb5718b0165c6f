// How it works: one sentence, three facts, the chart of stretches, a table of who is busy; what
// cannot be stated of a queue that grows is left out.

#include "sched/report/weeks/weeks_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/weeks/weeks_report.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

std::string hours_words(double seconds) {
    return model::format_duration(model::round_up(std::max(0.0, seconds)));
}

std::string range_words(const study::MeanInterval& m) {
    if (m.n < 2 || !std::isfinite(m.half_width)) return "no interval";
    return fmt::format("95 %: {} to {}", hours_words(m.interval().low),
                       hours_words(m.interval().high));
}

std::string share_words(const study::MeanInterval& m) {
    if (m.n < 2 || !std::isfinite(m.half_width)) return "no interval";
    return fmt::format("95 %: {:.1f} to {:.1f} %", 100.0 * std::clamp(m.interval().low, 0.0, 1.0),
                       100.0 * std::clamp(m.interval().high, 0.0, 1.0));
}

std::string fact(const char* kind, const std::string& title, const std::string& value,
                 const std::string& under) {
    return fmt::format("<div class=\"{}\"><dt>{}</dt><dd><b>{}</b>{}</dd></div>\n", kind,
                       html(title), html(value), html(under));
}

std::string answer(const study::LongRun& r) {
    if (r.days == 0)
        return fmt::format(
            "This room cannot keep up with {:.1f} orders a working day: their work alone would "
            "take {:.0f} % of the hours of {}.",
            r.offered.orders_a_day, 100.0 * r.offered.share, r.offered.who);
    if (r.grows > 0.0)
        return fmt::format(
            "The queue grows by {:.1f} orders a working day: more comes in than the room can do.",
            r.grows);
    if (too_short(r)) return too_short_words(r);
    std::string out =
        fmt::format("An order is ready {} after it came in, on average; nine in ten within {}.",
                    hours_words(r.turnaround.mean), hours_words(r.turnaround_p90.mean));
    if (!r.trusted)
        out += fmt::format(" Rough figures: the run has not settled. Take more days, --days {}.",
                           4 * r.days);
    return out;
}

std::string load_row(const study::LongRunResource& resource) {
    const double low = std::clamp(resource.utilisation.interval().low, 0.0, 1.0);
    const double high = std::clamp(resource.utilisation.interval().high, 0.0, 1.0);
    const double mean = std::clamp(resource.utilisation.mean, 0.0, 1.0);
    return fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"num\">{:.0f} %<br><small>{:.0f} to {:.0f} "
        "%</small></td><td class=\"num\">{:.0f} %</td><td><svg class=\"share\" viewBox=\"0 0 100 "
        "10\" preserveAspectRatio=\"none\" aria-hidden=\"true\"><rect class=\"all\" width=\"100\" "
        "height=\"10\"/><rect class=\"taken\" width=\"{:.1f}\" height=\"10\"/></svg></td></tr>\n",
        html(resource.name), 100.0 * mean, 100.0 * low, 100.0 * high,
        100.0 * std::clamp(resource.allocation.mean, 0.0, 1.0), 100.0 * mean);
}

}  // namespace

std::string weeks_svg(const study::LongRun& r) {
    if (r.stretches.empty()) return {};
    constexpr double left = 52.0, right = 850.0, top = 24.0, bottom = 280.0;
    double most = 1.0;
    for (const auto& s : r.stretches)
        most = std::max(most, s.p90 / 3600.0);
    const bool settled = r.grows <= 0.0 && !too_short(r) && std::isfinite(r.turnaround.half_width);
    if (settled) most = std::max(most, r.turnaround.interval().high / 3600.0);
    double step = std::pow(10.0, std::floor(std::log10(most / 6.0)));
    for (const double factor : {1.0, 2.0, 5.0, 10.0}) {
        if (most / (step * factor) <= 6.0) {
            step *= factor;
            break;
        }
    }
    most = step * std::ceil(most / step);
    const int days = r.stretches.back().to;
    const auto x = [&](double day) { return left + day / days * (right - left); };
    const auto y = [&](double hours) { return bottom - hours / most * (bottom - top); };
    std::string out = fmt::format(
        "<svg class=\"chart\" viewBox=\"0 0 1000 320\" role=\"img\" aria-label=\"Turnaround over "
        "{} working days: {}\">",
        days, html(answer(r)));
    out += "<text x=\"6\" y=\"15\">hours from coming in to ready</text>";
    for (double h = 0.0; h <= most + 0.001 * step; h += step) {
        out += fmt::format(
            "<line class=\"tick\" x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/><text "
            "class=\"right\" x=\"{:.1f}\" y=\"{:.1f}\">{:g}</text>",
            left, right, y(h), y(h), left - 6.0, y(h) + 4.0, h);
    }
    if (r.settled_from > 0) {
        out += fmt::format(
            "<line class=\"wanted\" x1=\"{0:.1f}\" x2=\"{0:.1f}\" y1=\"{1:.1f}\" y2=\"{2:.1f}\"/>"
            "<text x=\"{3:.1f}\" y=\"{4:.1f}\">counted from here</text>",
            x(r.settled_from), top, bottom, x(r.settled_from) + 4.0, top + 12.0);
    }
    if (settled) {
        const double low = std::max(0.0, r.turnaround.interval().low) / 3600.0;
        const double high = r.turnaround.interval().high / 3600.0;
        out += fmt::format(
            "<rect class=\"band\" x=\"{:.1f}\" width=\"{:.1f}\" y=\"{:.1f}\" height=\"{:.1f}\"/>"
            "<line class=\"zero\" x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/>"
            "<text class=\"own\" x=\"{:.1f}\" y=\"{:.1f}\">mean {:.1f} h</text><text "
            "class=\"own\" x=\"{:.1f}\" y=\"{:.1f}\">({:.1f} to {:.1f})</text>",
            x(r.settled_from), right - x(r.settled_from), y(high), y(low) - y(high),
            x(r.settled_from), right, y(r.turnaround.mean / 3600.0), y(r.turnaround.mean / 3600.0),
            right + 8.0, y(r.turnaround.mean / 3600.0) + 1.0, r.turnaround.mean / 3600.0,
            right + 8.0, y(r.turnaround.mean / 3600.0) + 16.0, low, high);
    }
    const double wide =
        std::min(10.0, 0.6 * (right - left) / static_cast<double>(r.stretches.size()));
    for (const auto& s : r.stretches) {
        const double middle = x(0.5 * (s.from + s.to));
        out += fmt::format(
            "<g class=\"{}\"><line class=\"span\" x1=\"{:.1f}\" x2=\"{:.1f}\" y1=\"{:.1f}\" "
            "y2=\"{:.1f}\"/><circle class=\"dot\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\"/></g>",
            s.from < r.settled_from ? "open" : "better", middle, middle, y(s.p10 / 3600.0),
            y(s.p90 / 3600.0), middle, y(s.mean / 3600.0), std::max(1.5, 0.35 * wide));
    }
    for (int k = 0; k <= 5; ++k) {
        const int day = days * k / 5;
        out += fmt::format("<text class=\"middle\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>", x(day),
                           bottom + 16.0, day);
    }
    return out +
           fmt::format("<text class=\"right\" x=\"{:.1f}\" y=\"{:.1f}\">working day</text>", right,
                       bottom + 32.0) +
           "</svg>\n";
}

std::string weeks_page(const study::LongRun& r, const std::string& room, bool invented) {
    const std::string script = page_script();
    std::string out = page_head(room + ": the long run", script);
    out += "<body class=\"weeks\">\n" +
           page_top(
               {.own = "weeks.html",
                .title = room + ": the long run",
                .under = fmt::format("<p>{} working days simulated, {} orders in, {} ready{}"
                                     "</p>",
                                     r.days, r.orders_in, r.orders_out,
                                     invented ? ". <strong>Demo data, invented.</strong>" : "")}) +
           "<main>\n";
    const bool stated = r.days > 0 && r.grows <= 0.0 && !too_short(r);
    out += fmt::format("<p class=\"lead{}\">{}</p>\n", stated && r.trusted ? "" : " open",
                       html(answer(r)));
    if (stated) {
        out += "<dl class=\"facts\">\n";
        out += fact("yes", "From coming in to ready, mean", hours_words(r.turnaround.mean),
                    range_words(r.turnaround));
        out += fact("yes", "Nine orders in ten within", hours_words(r.turnaround_p90.mean),
                    range_words(r.turnaround_p90));
        out += fact(r.late.mean > 0.0 ? "no" : "yes", "Late",
                    fmt::format("{:.1f} % of orders", 100.0 * r.late.mean), share_words(r.late));
        out += "</dl>\n";
    }
    if (const std::string chart = weeks_svg(r); !chart.empty()) {
        const int size = r.stretches.front().to - r.stretches.front().from;
        out += section_head("turnaround", "Turnaround over the weeks") + "<figure tabindex=\"0\">" +
               chart + "</figure>\n" +
               fmt::format(
                   "<p class=\"note\">Each line: the orders of {} working days without the "
                   "fastest and the slowest tenth; dot: the mean of all.{} One run, {} batches of "
                   "days.</p>\n",
                   size,
                   stated ? " Across: the mean of the run, in its band the 95 % interval. What "
                            "came before the run had settled is grey and not counted."
                          : "",
                   r.batches) +
               "</section>\n";
    }
    if (!r.resources.empty() && !too_short(r)) {
        out += section_head("busy", "Who and what is busy") +
               "<div class=\"wide\" tabindex=\"0\"><table><thead><tr><th scope=\"col\">Station or "
               "person</th><th scope=\"col\" class=\"num\">Working</th><th scope=\"col\" "
               "class=\"num\">Taken</th><th scope=\"col\">Share of the opening hours</th></tr>"
               "</thead><tbody>\n";
        for (const auto& resource : r.resources)
            out += load_row(resource);
        out += fmt::format(
            "</tbody></table></div>\n<p class=\"note\">Taken: held places too. Intervals 95 %. "
            "Ready a working day: {:.1f} screens; inside the room: {:.1f} on average; made again: "
            "{}; failures: {}; days of people absent: {}.</p>\n</section>\n",
            r.throughput.mean, r.inside_mean, r.remakes, r.failures, r.absences);
    }
    return with_words(out + "</main>\n<script>" + script + "</script>\n</body>\n</html>\n");
}

}  // namespace sched::report
