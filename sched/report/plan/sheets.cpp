// How it works: first the tags to write on the frames and the cautions, then a sheet a person. The
// height of each row is reckoned from its text (paper.hpp) and the rows are dealt to pages here,
// not by the browser, so that each page can say which of how many it is and whose.

#include "sched/report/plan/sheets.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "model/base/shown.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/paper.hpp"
#include "sched/report/plan/person_rows.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/report/plan/sheet_rows.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/navigation.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

// Widths of the columns of a person's sheet [mm]; together paper::width.
constexpr double number_column = 12, time_column = 14;
constexpr double cell_sides = 2.0;   // left and right of a cell's text
constexpr double tick_box = 6.8;     // a tick box and the space around it
constexpr double first_line = 10.0;  // a page's first line

std::string weekday_date(SimTime t) {
    constexpr std::array<const char*, 7> days{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    constexpr std::array<const char*, 12> months{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                 "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    const model::LocalDate date = model::date_of(t);
    return fmt::format("{} {} {} {}", days[static_cast<std::size_t>(model::weekday_index(date))],
                       static_cast<unsigned>(date.day()),
                       months[static_cast<unsigned>(date.month()) - 1],
                       static_cast<int>(date.year()));
}

// A row of a sheet as it is printed.
struct PrintedRow {
    std::string html;
    double height = 0;
};

// "old stencil": the words of frames.csv; a ready frame is a clean one.
std::string state_of(std::string key) {
    if (key == "ready") return "clean";
    std::replace(key.begin(), key.end(), '-', ' ');
    return key;
}

class SheetWriter {
public:
    explicit SheetWriter(const PlanDocument& document) : d_(document) {}

    std::string write() {
        out_ = page_head(fmt::format("{}: run sheets", d_.room), "");
        out_ += "<body class=\"sheets\">\n<div class=\"screen-only\" role=\"banner\">" +
                navigation({}, "sheets.html") +
                "Print this page on A4: whose sheet, and which page of how many, stands on every "
                "page.</div>\n<main>\n";
        tags();
        for (const PersonLine& person : d_.people)
            person_sheet(person.name);
        out_ += "</main>\n</body>\n</html>\n";
        return std::move(out_);
    }

    std::string write_stations() {
        out_ = page_head(fmt::format("{}: station sheets", d_.room), "");
        out_ += "<body class=\"sheets\">\n<div class=\"screen-only\" role=\"banner\">" +
                navigation({}, "station-sheets.html") + "Print this page on A4.</div>\n<main>\n";
        for (const StationLine& station : d_.stations)
            station_sheet(station.name);
        out_ += "</main>\n</body>\n</html>\n";
        return std::move(out_);
    }

private:
    static bool holds(const std::vector<std::string>& list, const std::string& name) {
        return std::find(list.begin(), list.end(), name) != list.end();
    }
    static std::string clock(SimTime t) {
        return model::format_time_of_day(model::shown_minute(t));
    }

    std::string page_line(const std::string& name, std::size_t page, std::size_t pages) const {
        return fmt::format(
            "<section class=\"page\" tabindex=\"0\">\n<header><h1>{}</h1><p>{}, {}{}</p><p><b>page "
            "{} of "
            "{}</b></p></header>\n",
            html(name), weekday_date(d_.run.first_start), html(d_.room),
            d_.invented ? " (demo data, invented)" : "", page, pages);
    }

    // Lines above the first row of a sheet, and their height.
    std::string paragraph(const std::string& plain, double& height, bool bold = false) const {
        std::vector<double> pieces;
        paper::add_words(pieces, plain, bold);
        height += paper::lines_of(pieces, paper::width) * paper::line + 1.5;
        return fmt::format("<p class=\"plans\">{}{}{}</p>\n", bold ? "<b>" : "", html(plain),
                           bold ? "</b>" : "");
    }

    std::string again_lines(double& height) const {
        if (!d_.again) return {};
        std::string out = paragraph(again_sentence(d_), height, true);
        for (const std::string& note : d_.again->notes) {
            if (note.starts_with("LIMIT MISSED") || note.starts_with("STAYS IN THERE") ||
                note.starts_with("The order of work"))
                out += paragraph(note, height, true);
        }
        return out;
    }

    std::string on_hold(double& height) const {
        const std::string words = on_hold_words(d_);
        return words.empty() ? words : paragraph(words, height, true);
    }

    /// What the short names of the coat plans stand for, once.
    std::string coat_plans(double& height) const {
        std::vector<std::pair<std::string, std::string>> plans;
        for (const ScreenLine& s : d_.screens) {
            const std::pair<std::string, std::string> plan{s.coat_plan, s.coat_words};
            if (!s.coat_words.empty() && std::find(plans.begin(), plans.end(), plan) == plans.end())
                plans.push_back(plan);
        }
        if (plans.empty()) return {};
        std::string words = "Coat plans:";
        for (const auto& [name, what] : plans)
            words += fmt::format(" {} is {};", name, what);
        words.back() = '.';
        return paragraph(words, height);
    }

    // The pages of one sheet: `above` on the first, `below` after the last row.
    void print(const std::string& name, const std::string& above, double above_height,
               const std::string& table_head, const std::vector<PrintedRow>& rows,
               const std::string& below, double below_height) {
        std::vector<double> heights;
        for (const PrintedRow& row : rows)
            heights.push_back(row.height);
        const double whole = paper::height - first_line - paper::line - paper::row_gap;
        auto pages = paper::pages_of(heights, whole - above_height, whole);
        double used = 0;
        for (std::size_t i = pages.back().first; i < pages.back().second; ++i)
            used += heights[i];
        const double room = whole - (pages.size() == 1 ? above_height : 0.0);
        if (!below.empty() && used + below_height > room)
            pages.emplace_back(rows.size(), rows.size());
        for (std::size_t p = 0; p < pages.size(); ++p) {
            out_ += page_line(name, p + 1, pages.size());
            if (p == 0) out_ += above;
            if (pages[p].second > pages[p].first) {
                out_ += table_head;
                for (std::size_t i = pages[p].first; i < pages[p].second; ++i)
                    out_ += rows[i].html;
                out_ += "</tbody></table>\n";
            }
            if (p + 1 == pages.size()) out_ += below;
            out_ += "</section>\n";
        }
    }

    void tags() {
        double above_height = 0;
        const std::string above =
            on_hold(above_height) + again_lines(above_height) + coat_plans(above_height);
        // Screens alike share a row; their boxes stand in it, and when the last of them is ready.
        using Alike = std::array<std::string, 4>;
        std::vector<std::pair<Alike, std::vector<const ScreenLine*>>> groups;
        for (const ScreenLine& s : d_.screens) {
            const Alike alike{
                s.frame + (s.two_people ? ", two people" : ""), s.mesh + ", " + state_of(s.made_on),
                s.emulsion + ", " + s.coat_plan,
                s.exposure > Seconds{0} ? fmt::format("{} s", s.exposure.count()) : "-"};
            const auto known = std::find_if(groups.begin(), groups.end(), [&](const auto& g) {
                return g.first == alike && g.second.front()->order == s.order;
            });
            if (known == groups.end()) {
                groups.push_back({alike, {&s}});
            } else {
                known->second.push_back(&s);
            }
        }
        constexpr std::array<double, 4> columns{31, paper::width - 60 - 31 - 48 - 15, 48, 15};
        std::vector<PrintedRow> rows;
        for (const auto& [cells, screens] : groups) {
            std::vector<double> boxes;
            PrintedRow row;
            row.html = "<tr><td>";
            for (const ScreenLine* s : screens) {
                row.html += "<span class=\"tag\"><i></i>" + html(s->tag) + "</span> ";
                boxes.push_back(tick_box + paper::width_of(s->tag, true));
            }
            // Where the order's name is too long for a frame, a number stands for it.
            const std::string& order = screens.front()->order;
            if (screens.front()->tag.rfind(order, 0) != 0) {
                row.html += html(order);
                boxes.push_back(paper::width_of(order, false));
            }
            row.html += "</td>";
            int lines = paper::lines_of(boxes, 60 - cell_sides);
            for (std::size_t c = 0; c < cells.size(); ++c) {
                std::vector<double> pieces;
                paper::add_words(pieces, cells[c]);
                lines = std::max(lines, paper::lines_of(pieces, columns[c] - cell_sides));
                row.html += "<td>" + html(cells[c]) + "</td>";
            }
            row.html += "</tr>\n";
            row.height = lines * paper::line + paper::row_gap;
            rows.push_back(std::move(row));
        }
        double below_height = 0;
        const std::string below = cautions(below_height);
        print("Tags and cautions", above, above_height,
              "<table class=\"tags\"><colgroup><col><col><col><col><col></colgroup><thead><tr>"
              "<th>Tags to write</th><th>Frame</th><th>Mesh, state</th><th>Emulsion, coat plan</th>"
              "<th>Expose</th></tr></thead><tbody>\n",
              rows, below, below_height);
    }

    // Once for all sheets, each with the work that it is of.
    std::string cautions(double& height) const {
        std::string out = "<aside><h2>Cautions</h2><ul>\n";
        height += 12.0;  // heading, frame and the space around them
        for (const CautionLine& caution : d_.cautions) {
            std::vector<std::string> steps;
            for (const OperationLine& op : d_.operations) {
                if (op.people.empty() || !holds(op.cautions, caution.key)) continue;
                const std::string words = step_words(op.step);
                if (!holds(steps, words)) steps.push_back(words);
            }
            if (steps.empty()) continue;
            const std::string of = caution.key == "two-people"
                                       ? " (frames with \"two people\" above):"
                                       : fmt::format(" ({}):", fmt::join(steps, ", "));
            std::vector<double> pieces;
            paper::add_words(pieces, caution.title, true);
            paper::add_words(pieces, of);
            paper::add_words(pieces, caution.words);
            height += paper::lines_of(pieces, paper::width - 13) * paper::line;
            out += fmt::format("<li><b>{}</b>{} {}</li>\n", html(caution.title), html(of),
                               html(caution.words));
        }
        std::vector<double> last;
        paper::add_words(last, deference(), true);
        height += paper::lines_of(last, paper::width - 7) * paper::line + 1.0;
        return out + "</ul><p>" + html(deference()) + "</p></aside>\n";
    }

    // "rack → stand 2 → cabinet": a place of its kind alone is told by the work.
    static std::string where_words(const PersonRow& row) {
        std::vector<std::string> way;
        if (!row.from.empty()) way.push_back(fmt::format("{}", fmt::join(row.from, ", ")));
        for (const std::string& place : row.named)
            way.push_back(place);
        if (!row.to.empty()) way.push_back(fmt::format("{}", fmt::join(row.to, ", ")));
        const bool leaves = row.from.empty() && !row.to.empty() && !row.operations.empty();
        if (row.from == row.to && row.named.empty() && way.size() > 1) way.pop_back();
        return (leaves ? "→ " : "") + fmt::format("{}", fmt::join(way, " → "));
    }

    PrintedRow printed(const PersonRow& row, bool numbers) const {
        const double what_column = paper::width - (numbers ? number_column : 0) - 2 * time_column;
        std::vector<double> what;
        std::string cells = row.changed ? "<b>Changed:</b> " : "";
        if (row.changed) paper::add_words(what, "Changed:", true);
        for (const SheetPart& part : row.parts) {
            if (&part != &row.parts.front()) cells += "; ";
            cells += html(part.words);
            paper::add_words(what, part.words);
            if (part.tags.empty()) {
                cells += " <span class=\"tag\"><i></i></span>";
                what.push_back(tick_box);
            }
            for (const std::string& tag : part.tags) {
                cells += " <span class=\"tag\"><i></i>" + html(tag) + "</span>";
                what.push_back(tick_box + paper::width_of(tag + ";", true));
            }
            if (!part.by.empty()) {
                cells += " <em>" + html(part.by) + "</em>";
                paper::add_words(what, part.by, true);
            }
        }
        if (!row.partners.empty()) {
            const std::string with = "with " + joined(row.partners);
            cells += " <b>" + html(with) + "</b>";
            paper::add_words(what, with, true);
        }
        if (const std::string way = where_words(row); !way.empty()) {
            cells += " <span class=\"way\">(" + html(way) + ")</span>";
            paper::add_words(what, "(" + way + ")");
        }
        const int lines = paper::lines_of(what, what_column - cell_sides);
        PrintedRow out;
        out.height = lines * paper::line + paper::row_gap;
        out.html = fmt::format(
            "<tr>{}<td>{}</td><td>{}</td><td>{}</td></tr>\n",
            numbers ? fmt::format("<td>{}</td>", row.turn > 0 ? std::to_string(row.turn) : "") : "",
            clock(row.start), clock(row.till), cells);
        return out;
    }

    void person_sheet(const std::string& name) {
        print_rows(name, person_rows(d_, name), "What, done (from → to)");
    }

    void print_rows(const std::string& name, const std::vector<PersonRow>& rows,
                    const char* what_head) {
        if (rows.empty()) return;
        const bool numbers =
            std::any_of(rows.begin(), rows.end(), [](const PersonRow& r) { return r.turn > 0; });
        std::vector<PrintedRow> out;
        SimTime day = model::midnight(model::date_of(d_.run.first_start));
        std::optional<SimTime> end;
        for (const PersonRow& row : rows) {
            const SimTime today = model::midnight(model::date_of(row.start));
            // Who works at night comes back on the day on which he went.
            const bool comes_back = end && row.start - *end >= model::hours(6);
            end = std::max(end.value_or(row.till), row.till);
            if (today != day || comes_back) {
                day = today;
                out.push_back({fmt::format("<tr class=\"day\"><td colspan=\"{}\">{}</td></tr>\n",
                                           numbers ? 4 : 3, weekday_date(day)),
                               paper::line + paper::row_gap});
            }
            if (row.pause) {
                out.push_back(
                    {fmt::format(
                         "<tr class=\"pause\">{}<td>{}</td><td>{}</td><td><b>{}</b></td></tr>\n",
                         numbers ? "<td></td>" : "", clock(row.start), clock(row.till),
                         html(row.break_words)),
                     paper::line + paper::row_gap});
                continue;
            }
            out.push_back(printed(row, numbers));
        }
        double above_height = 0;
        std::string above = again_lines(above_height);
        if (const std::string recourse = recourse_words(d_); !recourse.empty())
            above += paragraph(recourse, above_height);
        double below_height = 2.0;
        const std::string below = paragraph("Cautions: first sheet. " + deference(), below_height);
        print(
            name, above, above_height,
            fmt::format("<table class=\"person{}\"><colgroup>{}<col><col><col></colgroup>"
                        "<thead><tr>{}<th>From</th><th>Till</th><th>{}</th></tr></thead><tbody>\n",
                        numbers ? " numbered" : "", numbers ? "<col>" : "",
                        numbers ? "<th>Turn</th>" : "", what_head),
            out, below, below_height);
    }

    // The rows of a station as rows of somebody: who is there stands where a person's row says
    // where.
    PersonRow as_row(const SheetRow& row) const {
        PersonRow out;
        out.start = row.start;
        out.till = row.till;
        out.parts.push_back({fmt::format("{}", fmt::join(row.words, ", ")), row.tags, {}, false});
        out.named = {joined(row.where)};
        out.changed = row.changed;
        for (const int i : row.operations) {
            const auto& turn = d_.operations[static_cast<std::size_t>(i)].turn;
            if (turn && (out.turn == 0 || *turn < out.turn)) out.turn = *turn;
        }
        return out;
    }

    void station_sheet(const std::string& name) {
        std::vector<PersonRow> rows;
        for (const SheetRow& row : station_rows(d_, name))
            rows.push_back(as_row(row));
        print_rows(name, rows, "What, done (who)");
    }

    const PlanDocument& d_;
    std::string out_;
};

}  // namespace

std::string to_sheets(const PlanDocument& document) {
    return SheetWriter(document).write();
}

std::string to_station_sheets(const PlanDocument& document) {
    return SheetWriter(document).write_stations();
}

}  // namespace sched::report
