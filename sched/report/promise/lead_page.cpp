// How it works: the same table of cells as page, CSV, JSON and text; kinds that nobody asked for
// are left out of all four.

#include "sched/report/promise/lead_page.hpp"

#include <fmt/format.h>

#include "sched/report/document/json_reader.hpp"
#include "sched/report/plan/exchange.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

using study::LeadCell;
using study::LeadTable;

constexpr const char* lead_style = R"(
body { font: 11pt/1.35 sans-serif; margin: 1.5rem auto; max-width: 60rem; padding: 0 1rem; color: #111; background: #fff; }
h1 { font-size: 1.6rem; margin: 0 0 .2rem; }
p { margin: .3rem 0; max-width: 46rem; }
table { border-collapse: collapse; width: 100%; margin: 1rem 0; }
th, td { border: 1px solid #777; padding: .35rem .5rem; text-align: left; vertical-align: top; }
thead th, th[scope=rowgroup] { background: #eee; }
td b { font-size: 1.1em; white-space: nowrap; }
td small { color: #444; display: block; }
@page { margin: 14mm; }
@media print { body { margin: 0; max-width: none; } tr { break-inside: avoid; } }
)";

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
    std::string out = page_head(t.room + ": lead times", lead_style, "");
    out += fmt::format("<body>\n<h1>When will it be ready?</h1>\n<p>{}{}</p>\n", html(t.room),
                       t.invented ? ". Demo data, invented" : "");
    out += "<table>\n<thead><tr><th scope=\"col\">Screens of the order</th>";
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
    out += "</table>\n<p>" + html(basis(t)) + "</p>\n";
    if (t.unfinished > 0)
        out += fmt::format(
            "<p>{} more weeks did not end and are left out: the room cannot keep up "
            "with this load.</p>\n",
            t.unfinished);
    out +=
        "<p>For quoting. A date for one order is asked with <code>coatroom promise</code>, which "
        "knows what is in the room.</p>\n</body>\n</html>\n";
    return out;
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
