// How it works: the same table of cells as page, CSV, JSON and text; kinds that nobody asked for
// are left out of all four.

#include "sched/report/promise/lead_page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/document/json_reader.hpp"
#include "sched/report/plan/exchange.hpp"
#include "sched/report/words/columns.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

using study::LeadCell;
using study::LeadTable;
using study::LeadTime;

std::string time_words(const std::optional<LeadTime>& by) {
    return by ? by->words() : "ask";
}

/// For a terminal: "same day 16:00", "2 days 11:00".
std::string short_words(const std::optional<LeadTime>& by, bool pooled = false) {
    if (!by) return "ask";
    return fmt::format("{} {}{}",
                       by->working_days == 0   ? std::string("same day")
                       : by->working_days == 1 ? std::string("1 day")
                                               : fmt::format("{} days", by->working_days),
                       model::format_time_of_day(core::SimTime{} + by->slot), pooled ? "*" : "");
}

std::string cell_words(const LeadCell& cell) {
    const std::string orders = fmt::format("{} order{}", cell.n, cell.n == 1 ? "" : "s");
    if (!cell.by) return fmt::format("ask<small>{}</small>", orders);
    return fmt::format("<b>{}{}</b><small>half within {:.1f} h; {}</small>", html(cell.by->words()),
                       cell.pooled ? " *" : "", cell.median_h.value_or(0.0),
                       cell.n > 0 ? orders : "as other kinds");
}

std::string level_words(double level) {
    return level == 0.5 ? std::string("half of them") : fmt::format("{:.3g} in 100", 100.0 * level);
}

std::string basis(const LeadTable& t) {
    std::string out = fmt::format(
        "From {} simulated working days with {:.1f} orders a day ({:.0f} % of those of coatroom "
        "weeks, whose run this is); the most urgent order goes first. Half of all orders were "
        "ready "
        "within {:.1f} h, {:.0f} % within {:.1f} h. An order counts by the kind of most of its "
        "screens. Each time held for at least {:.0f} % of the orders like it, then {}.",
        t.days, t.orders_a_day, 100.0 * t.load, t.median_h, 100.0 * t.level, t.level_h,
        100.0 * t.level, t.slot_words);
    if (std::any_of(t.cells.begin(), t.cells.end(), [](const auto& c) { return c.pooled; }))
        out += " * Too few orders like it: from those of all kinds.";
    if (std::any_of(t.cells.begin(), t.cells.end(), [](const auto& c) { return !c.by; }))
        out += " Ask: no such order, or too few of that size, came in.";
    if (!t.trusted) out += " The run has not settled: the times are rough. Take more --weeks.";
    return out;
}

/// Kinds that nobody asked for in any cell are left out.
bool asked_for(const LeadTable& t, std::size_t kind) {
    for (const auto& cell : t.cells) {
        if (cell.kind == kind && cell.n > 0) return true;
    }
    return false;
}

/// So are sizes, in the table of kinds and hours.
bool came_in(const LeadTable& t, std::size_t size) {
    return size < t.prices.size() && t.prices[size].n > 0;
}

std::string price_table(const LeadTable& t) {
    std::string out =
        "<div class=\"wide\" tabindex=\"0\"><table>\n<thead><tr><th scope=\"col\">Screens of the "
        "order</th>";
    for (const double level : t.levels)
        out += fmt::format("<th scope=\"col\">{}</th>", level_words(level));
    out += "</tr></thead>\n<tbody>\n";
    for (const auto& row : t.prices) {
        out += fmt::format("<tr><th scope=\"row\">{}</th>", t.sizes[row.size].words());
        for (const auto& by : row.by)
            out += fmt::format("<td><b>{}</b></td>", html(short_words(by)));
        out += "</tr>\n";
    }
    return out + "</tbody></table></div>\n";
}

}  // namespace

std::string lead_page(const LeadTable& t) {
    const auto& entries = t.entries;
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
        "<h2>For the price list</h2>\n<p>Ready so many working days after the day it comes "
        "in.</p>\n" +
        price_table(t) + "<h2>By kind and time of entry</h2>\n";
    out +=
        "<div class=\"wide\" tabindex=\"0\"><table>\n<thead><tr><th scope=\"col\">Screens of the "
        "order</th>";
    for (const auto& e : entries)
        out += fmt::format("<th scope=\"col\">Films and order here {}</th>", html(e.words));
    out += "</tr></thead>\n";
    std::size_t c = 0;
    for (std::size_t k = 0; k < t.kinds.size(); ++k) {
        if (!asked_for(t, k)) {
            c += t.sizes.size() * entries.size();
            continue;
        }
        out += fmt::format("<tbody><tr><th scope=\"rowgroup\" colspan=\"{}\">{}</th></tr>\n",
                           entries.size() + 1, html(t.kinds[k]));
        for (std::size_t g = 0; g < t.sizes.size(); ++g, c += entries.size()) {
            if (!came_in(t, g)) continue;
            out += fmt::format("<tr><th scope=\"row\">{}</th>", t.sizes[g].words());
            for (std::size_t e = 0; e < entries.size(); ++e)
                out += "<td>" + cell_words(t.cells[c + e]) + "</td>";
            out += "</tr>\n";
        }
        out += "</tbody>\n";
    }
    out += "</table></div>\n<p class=\"note\">" + html(basis(t)) + "</p>\n";
    out +=
        "<p>For quoting. A date for one order is asked with <code>coatroom promise</code>, which "
        "knows what is in the room.</p>\n</main>\n<script>" +
        script + "</script>\n</body>\n</html>\n";
    return with_words(std::move(out));
}

std::string lead_csv(const LeadTable& t) {
    std::string out =
        "kind,screens,entry,orders,median h,level h,working days,pick-up time,in words,from\n";
    for (const auto& cell : t.cells) {
        out +=
            fmt::format("{},{},{},{},{},{},{},{},{},{}\n", csv_cell(t.kinds[cell.kind]),
                        t.sizes[cell.size].words(), t.entries[cell.entry].words, cell.n,
                        cell.median_h ? fmt::format("{:.2f}", *cell.median_h) : "",
                        cell.level_h ? fmt::format("{:.2f}", *cell.level_h) : "",
                        cell.by ? std::to_string(cell.by->working_days) : "",
                        cell.by ? model::format_time_of_day(core::SimTime{} + cell.by->slot) : "",
                        csv_cell(time_words(cell.by)),
                        !cell.by      ? ""
                        : cell.pooled ? "all kinds"
                                      : "its own");
    }
    return out;
}

std::string price_csv(const LeadTable& t) {
    std::string out = "screens,orders,of 100,working days,pick-up time,in words\n";
    for (const auto& row : t.prices) {
        for (std::size_t l = 0; l < t.levels.size(); ++l) {
            const auto& by = row.by[l];
            out += fmt::format("{},{},{:.3g},{},{},{}\n", t.sizes[row.size].words(), row.n,
                               100.0 * t.levels[l], by ? std::to_string(by->working_days) : "",
                               by ? model::format_time_of_day(core::SimTime{} + by->slot) : "",
                               csv_cell(time_words(by)));
        }
    }
    return out;
}

namespace {

Json time_json(const std::optional<LeadTime>& by) {
    if (!by) return nullptr;
    return Json{{"working_days", by->working_days},
                {"slot", model::format_time_of_day(core::SimTime{} + by->slot)},
                {"words", by->words()}};
}

Json figure(const std::optional<double>& x) {
    return x ? Json(*x) : Json(nullptr);
}

}  // namespace

std::string lead_json(const LeadTable& t) {
    Json cells = Json::array(), prices = Json::array();
    for (const auto& cell : t.cells) {
        cells.push_back(Json{{"kind", t.kinds[cell.kind]},
                             {"screens", t.sizes[cell.size].words()},
                             {"entry", t.entries[cell.entry].words},
                             {"orders", cell.n},
                             {"pooled", cell.pooled},
                             {"median_h", figure(cell.median_h)},
                             {"level_h", figure(cell.level_h)},
                             {"by", time_json(cell.by)}});
    }
    for (const auto& row : t.prices) {
        Json by = Json::array();
        for (std::size_t l = 0; l < t.levels.size(); ++l)
            by.push_back(Json{{"level", t.levels[l]}, {"by", time_json(row.by[l])}});
        prices.push_back(
            Json{{"screens", t.sizes[row.size].words()}, {"orders", row.n}, {"levels", by}});
    }
    return lines_of(Json{{"format", 2},
                         {"room", t.room},
                         {"invented", t.invented},
                         {"level", t.level},
                         {"load", t.load},
                         {"days", t.days},
                         {"warm_up", t.warm_up},
                         {"trusted", t.trusted},
                         {"orders", t.orders},
                         {"orders_a_day", t.orders_a_day},
                         {"median_h", t.median_h},
                         {"level_h", t.level_h},
                         {"prices", prices},
                         {"cells", cells}});
}

std::string lead_text(const LeadTable& t) {
    std::string out =
        fmt::format("{}: when will it be ready?{}\n", t.room, t.invented ? " (invented data)" : "");
    out += "\nFor the price list: ready so many working days after the day it comes in\n";
    out += fmt::format("  {:<14}", "screens");
    for (const double level : t.levels)
        out += fmt::format(" {:<14}", level_words(level));
    for (const auto& row : t.prices) {
        out += fmt::format("\n  {:<14}", t.sizes[row.size].words());
        for (const auto& by : row.by)
            out += fmt::format(" {:<14}", short_words(by));
    }
    out += fmt::format("\n\n{:.0f} in 100, by kind and time of entry\n  {:<14}", 100.0 * t.level,
                       "screens");
    for (const auto& e : t.entries)
        out += fmt::format(" {:<16}", e.words);
    std::size_t c = 0;
    for (std::size_t k = 0; k < t.kinds.size(); ++k) {
        if (!asked_for(t, k)) {
            c += t.sizes.size() * t.entries.size();
            continue;
        }
        out += "\n" + t.kinds[k];
        for (std::size_t g = 0; g < t.sizes.size(); ++g, c += t.entries.size()) {
            if (!came_in(t, g)) continue;
            out += fmt::format("\n  {:<14}", t.sizes[g].words());
            for (std::size_t e = 0; e < t.entries.size(); ++e)
                out +=
                    fmt::format(" {:<16}", short_words(t.cells[c + e].by, t.cells[c + e].pooled));
        }
    }
    out += "\n";
    for (const auto& line : wrapped(basis(t), 80))
        out += "\n" + line;
    return out + "\n";
}

}  // namespace sched::report
