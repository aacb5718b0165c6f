#include "sched/report/plan/order_bars.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/base/shown.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/person_rows.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

// The common axis: whole hours around the run and what is likely of it.
struct TimeAxis {
    SimTime from{};
    SimTime to{};
    double percent_of(SimTime t) const {
        const auto whole = static_cast<double>((to - from).count());
        return std::clamp(100.0 * static_cast<double>((t - from).count()) / whole, 0.0, 100.0);
    }
};

TimeAxis axis_of(const PlanDocument& d) {
    // What may be ready only on another day runs off the axis: a night would squeeze the day.
    SimTime last = d.run.last_end;
    const SimTime midnight = model::midnight(model::date_of(last)) + std::chrono::days{1};
    for (const OrderLine& o : d.orders) {
        if (o.ready_p90 && *o.ready_p90 <= midnight) last = std::max(last, *o.ready_p90);
    }
    const Seconds hour{3600};
    const SimTime from = d.run.first_start - d.run.first_start.time_since_epoch() % hour;
    const Seconds whole = std::max((last - from + hour - Seconds{1}) / hour * hour, hour);
    return {from, from + whole};
}

std::string hours_svg(const TimeAxis& axis) {
    const auto hours = (axis.to - axis.from) / Seconds{3600};
    // Six labels have room beside the names and the words of a page on a small screen.
    const auto step = hours <= 6 ? 1 : hours <= 12 ? 2 : hours <= 18 ? 3 : hours <= 36 ? 6 : 12;
    std::string out = "<svg class=\"axis\" width=\"100%\" height=\"18\" aria-hidden=\"true\">";
    for (std::int64_t h = 0; h < hours; h += step) {
        const SimTime t = axis.from + Seconds{3600 * h};
        if (axis.percent_of(t) > 89.0) break;  // it would be cut off
        out += fmt::format("<text x=\"{:.2f}%\" y=\"13\">{}</text>", axis.percent_of(t),
                           model::format_time_of_day(t));
    }
    return out + "</svg>";
}

std::string bar_svg(const OrderLine& o, const TimeAxis& axis) {
    std::string out = "<svg width=\"100%\" height=\"24\" aria-hidden=\"true\">";
    out += "<line class=\"rail\" x1=\"0\" x2=\"100%\" y1=\"12\" y2=\"12\"/>";
    if (o.ready_p10 && o.ready_p90) {
        const double a = axis.percent_of(*o.ready_p10);
        const double b = axis.percent_of(*o.ready_p90);
        out += fmt::format(
            "<rect class=\"range\" x=\"{:.2f}%\" width=\"{:.2f}%\" y=\"7\" height=\"10\"/>", a,
            std::max(b - a, 0.4));
    }
    if (const auto ready = as_expected(o).ready)
        out += fmt::format(
            "<line class=\"ready\" x1=\"{0:.2f}%\" x2=\"{0:.2f}%\" y1=\"3\" "
            "y2=\"21\"/>",
            axis.percent_of(*ready));
    if (o.due && *o.due <= axis.to && *o.due >= axis.from)
        out += fmt::format(
            "<line class=\"due\" x1=\"{0:.2f}%\" x2=\"{0:.2f}%\" y1=\"0\" "
            "y2=\"24\"/>",
            axis.percent_of(*o.due));
    return out + "</svg>";
}

std::string says(const PlanDocument& d, const OrderLine& o) {
    std::string out = o.due ? "due " + when(d.run, *o.due) : "";
    if (const auto ready = as_expected(o).ready)
        out += fmt::format("{}{}ready {}", out.empty() ? "" : ", ", o.ready_p50 ? "likely " : "",
                           when(d.run, *ready));
    if (o.chance_late) out += fmt::format(", late {}", chance_words(o.chance_late));
    return out;
}

}  // namespace

std::vector<const OrderLine*> by_risk(const PlanDocument& document) {
    std::vector<const OrderLine*> list;
    for (const OrderLine& o : document.orders) {
        if (o.ready) list.push_back(&o);
    }
    const auto key = [](const OrderLine* o) {
        const bool late = o->lateness && *o->lateness > Seconds{0};
        return std::tuple{-o->chance_late.value_or(late ? 1.0 : 0.0),
                          -(late ? o->lateness->count() : 0), o->due.value_or(SimTime::max())};
    };
    std::stable_sort(list.begin(), list.end(),
                     [&](const auto* a, const auto* b) { return key(a) < key(b); });
    return list;
}

std::string order_bars(const PlanDocument& document) {
    const auto list = by_risk(document);
    if (list.empty()) return {};
    const TimeAxis axis = axis_of(document);
    const bool chances = std::any_of(list.begin(), list.end(),
                                     [](const OrderLine* o) { return o->ready_p10.has_value(); });
    std::string out = fmt::format(
        "<div class=\"risks\"><div class=\"head\"><span></span>{}"
        "<span></span></div>\n",
        hours_svg(axis));
    for (const OrderLine* o : list) {
        out += fmt::format(
            "<details{}><summary><span class=\"who\"><b>{}</b> {}</span>{}<span "
            "class=\"says\">{}</span></summary><p data-story=\"{}\">{}</p></details>\n",
            at_risk(*o) ? " class=\"risky\"" : "", html(o->name), html(o->customer),
            bar_svg(*o, axis), html(says(document, *o)), html(o->name), html(o->story));
    }
    out += fmt::format(
        "</div>\n<p class=\"note\">Tall thin line: due. Short thick line: {}"
        "ready.{} Touch a line for why it is no earlier.</p>\n",
        chances ? "likely " : "planned ", chances ? " Bar: 80 % of the simulated days." : "");
    return out;
}

std::vector<std::string> first_things(const PlanDocument& document) {
    std::vector<std::pair<SimTime, std::string>> list;
    for (const PersonLine& person : document.people) {
        for (const PersonRow& row : person_rows(document, person.name)) {
            if (row.pause || row.parts.empty()) continue;
            const SheetPart& part = row.parts.front();
            list.emplace_back(
                row.start,
                fmt::format("{} {}: {}{}{}", when(document.run, row.start), person.name, part.words,
                            part.tags.empty() ? "" : " ", fmt::join(part.tags, ", ")));
            break;
        }
    }
    std::stable_sort(list.begin(), list.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<std::string> out;
    for (auto& [start, words] : list)
        out.push_back(std::move(words));
    return out;
}

}  // namespace sched::report
