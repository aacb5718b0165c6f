// How it works: the same table of cells as page, CSV, JSON and text; kinds that nobody asked for
// are left out of all four.

#include "sched/report/promise/lead_page.hpp"

#include <fmt/format.h>

#include "sched/report/document/json_reader.hpp"
#include "sched/report/plan/exchange.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

using study::LeadCell;
using study::LeadTable;

std::string cell_words(const LeadCell& cell) {
    if (!cell.level_h) return fmt::format("{}<small>{} orders</small>", html(cell.words()), cell.n);
    return fmt::format("<b>{}</b><small>half within {:.1f} h; {} orders</small>",
                       html(cell.words()), cell.median_h, cell.n);
}

std::string basis(const LeadTable& t) {
    return fmt::format(
        "From {} simulated weeks with {:.0f} screens a day on average ({:.0f} % of the scenario's "
        "load), first come, first served; an order counts by the kind of most of its screens. Each "
        "time held for at least {:.0f} % of the orders like it, then {}.",
        t.weeks, t.screens_a_day, 100.0 * t.load, 100.0 * t.level, t.slot_words);
}

/// Kinds that nobody asked for in any cell are left out.
bool asked_for(const LeadTable& t, std::size_t kind) {
    for (const auto& cell : t.cells) {
        if (cell.kind == kind && cell.n > 0) return true;
    }
    return false;
}

}  // namespace

std::string lead_page(const LeadTable& t) {
    const auto& entries = study::entry_classes();
    const auto& sizes = study::size_groups();
    const std::string script = page_script();
    std::string out = page_head(t.room + ": lead times", script);
    out += "<body class=\"times-page\">\n" +
           page_top({.own = "lead-times.html",
                     .title = "When will it be ready?",
                     .under = fmt::format(
                         "<p>{}{}</p>", html(t.room),
                         t.invented ? ". <strong>Demo data, invented.</strong>" : "")}) +
           "<main>\n";
    out +=
        "<div class=\"wide\" tabindex=\"0\"><table>\n<thead><tr><th scope=\"col\">Screens of the "
        "order</th>";
    for (const auto& e : entries)
        out += fmt::format("<th scope=\"col\">Films and order here {}</th>", html(e.words));
    out += "</tr></thead>\n";
    std::size_t c = 0;
    for (std::size_t k = 0; k < t.kinds.size(); ++k) {
        if (!asked_for(t, k)) {
            c += sizes.size() * entries.size();
            continue;
        }
        out += fmt::format("<tbody><tr><th scope=\"rowgroup\" colspan=\"{}\">{}</th></tr>\n",
                           entries.size() + 1, html(t.kinds[k]));
        for (const auto& size : sizes) {
            out += fmt::format("<tr><th scope=\"row\">{}</th>", size.words());
            for (std::size_t e = 0; e < entries.size(); ++e)
                out += "<td>" + cell_words(t.cells[c++]) + "</td>";
            out += "</tr>\n";
        }
        out += "</tbody>\n";
    }
    out += "</table></div>\n<p class=\"note\">" + html(basis(t)) + "</p>\n";
    if (t.unfinished > 0)
        out += fmt::format(
            "<p>{} more weeks did not end and are left out: the room cannot keep up "
            "with this load.</p>\n",
            t.unfinished);
    out +=
        "<p>For quoting. A date for one order is asked with <code>coatroom promise</code>, which "
        "knows what is in the room.</p>\n</main>\n<script>" +
        script + "</script>\n</body>\n</html>\n";
    return with_words(std::move(out));
}

std::string lead_csv(const LeadTable& t) {
    std::string out =
        "kind,screens,entry,orders,median h,level h,working days,pick-up time,in words\n";
    for (const auto& cell : t.cells) {
        out += fmt::format(
            "{},{},{},{},{:.2f},{},{},{},{}\n", csv_cell(t.kinds[cell.kind]),
            study::size_groups()[cell.size].words(), study::entry_classes()[cell.entry].words,
            cell.n, cell.median_h, cell.level_h ? fmt::format("{:.2f}", *cell.level_h) : "",
            cell.working_days ? std::to_string(*cell.working_days) : "",
            cell.working_days ? model::format_time_of_day(core::SimTime{} + cell.slot) : "",
            csv_cell(cell.words()));
    }
    return out;
}

std::string lead_json(const LeadTable& t) {
    Json cells = Json::array();
    for (const auto& cell : t.cells) {
        cells.push_back(
            Json{{"kind", t.kinds[cell.kind]},
                 {"screens", study::size_groups()[cell.size].words()},
                 {"entry", study::entry_classes()[cell.entry].words},
                 {"orders", cell.n},
                 {"median_h", cell.median_h},
                 {"level_h", cell.level_h ? Json(*cell.level_h) : Json(nullptr)},
                 {"working_days", cell.working_days ? Json(*cell.working_days) : Json(nullptr)},
                 {"slot", cell.working_days
                              ? Json(model::format_time_of_day(core::SimTime{} + cell.slot))
                              : Json(nullptr)},
                 {"words", cell.words()}});
    }
    return lines_of(Json{{"format", 1},
                         {"room", t.room},
                         {"invented", t.invented},
                         {"level", t.level},
                         {"load", t.load},
                         {"screens_a_day", t.screens_a_day},
                         {"weeks", t.weeks},
                         {"unfinished", t.unfinished},
                         {"cells", cells}});
}

std::string lead_text(const LeadTable& t) {
    std::string out =
        fmt::format("{}: when will it be ready?{}\n", t.room, t.invented ? " (invented data)" : "");
    out += fmt::format("\n{:<22} {:<8}", "kind", "screens");
    for (const auto& e : study::entry_classes())
        out += fmt::format(" {:<24}", e.words);
    std::size_t c = 0;
    for (std::size_t k = 0; k < t.kinds.size(); ++k) {
        for (const auto& size : study::size_groups()) {
            if (!asked_for(t, k)) {
                c += study::entry_classes().size();
                continue;
            }
            out += fmt::format("\n{:<22} {:<8}", t.kinds[k], size.words());
            for (std::size_t e = 0; e < study::entry_classes().size(); ++e)
                out += fmt::format(" {:<24}", t.cells[c++].words());
        }
    }
    return out + "\n\n" + basis(t) + "\n";
}

}  // namespace sched::report
