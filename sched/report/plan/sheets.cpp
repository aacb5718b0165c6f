// How it works: tags for the frames first, then per person and station its rows (sheet_rows.cpp),
// its breaks and the cautions of its steps; only rows that are not over in a plan from the middle
// of the day.

#include "sched/report/plan/sheets.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "sched/report/plan/break_lines.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/report/plan/sheet_rows.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/web_assets.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

class SheetWriter {
public:
    explicit SheetWriter(const PlanDocument& document) : d_(document) {}

    std::string write() {
        out_ = page_head(fmt::format("{}: run sheets", d_.room), web_asset("sheets.css"), "");
        out_ +=
            "<body>\n<p class=\"screen-only\"><a href=\"plan.html\">Back to the plan</a>. Print "
            "this page: every sheet starts on a "
            "fresh side, A4 or Letter.</p>\n";
        tags();
        for (const PersonLine& person : d_.people)
            sheet(person.name, "Person", "Where", person_rows(d_, person.name));
        for (const StationLine& station : d_.stations)
            sheet(station.name, "Station", "Who", station_rows(d_, station.name));
        out_ += "</body>\n</html>\n";
        return std::move(out_);
    }

private:
    static bool holds(const std::vector<std::string>& list, const std::string& name) {
        return std::find(list.begin(), list.end(), name) != list.end();
    }
    std::string clock(SimTime t) const { return html(when(d_.run, t)); }

    void start(const std::string& name, const char* kind) {
        out_ += fmt::format("<section>\n<header><h1>{}</h1><p>{} sheet, {}, {}{}</p></header>\n",
                            html(name), kind, html(d_.room),
                            model::format_date(model::date_of(d_.run.first_start)),
                            d_.invented ? ". Demo data, invented" : "");
        if (!d_.again) return;
        out_ += "<p><b>" + html(again_sentence(d_)) + "</b></p>\n";
        for (const std::string& note : d_.again->notes) {
            if (note.starts_with("LIMIT MISSED")) out_ += "<p><b>" + html(note) + "</b></p>\n";
        }
    }

    /// What the short names of the coat plans stand for, once for all rows.
    void coat_plans(const std::vector<std::string>& tags) {
        std::vector<std::pair<std::string, std::string>> plans;
        for (const ScreenLine& s : d_.screens) {
            if (s.coat_words.empty() || !(tags.empty() || holds(tags, s.tag))) continue;
            const std::pair<std::string, std::string> plan{s.coat_plan, s.coat_words};
            if (std::find(plans.begin(), plans.end(), plan) == plans.end()) plans.push_back(plan);
        }
        if (plans.empty()) return;
        out_ += "<p class=\"plans\">Coat plans:";
        for (const auto& [name, words] : plans)
            out_ += fmt::format(" <b>{}</b> {};", html(name), html(words));
        out_.back() = '.';
        out_ += "</p>\n";
    }

    void tags() {
        start("Tags to write on the frames", "Tag");
        coat_plans({});
        out_ +=
            "<table><thead><tr><th>Done, tag</th><th>Frame</th><th>Mesh</th><th>Made on</th>"
            "<th>Emulsion and coat plan</th><th>Exposure</th><th>Ready</th></tr></thead><tbody>\n";
        for (const ScreenLine& s : d_.screens) {
            out_ += fmt::format(
                "<tr><td class=\"tag\"><span><i></i>{}</span></td><td>{}{}</td><td "
                "class=\"time\">{}</td><td>{}</td><td>{}, {}</td>"
                "<td class=\"time\">{}</td><td class=\"time\">{}</td></tr>\n",
                html(s.tag), html(s.frame), s.two_people ? " (two people)" : "", html(s.mesh),
                html(state_words(s.made_on)), html(s.emulsion), html(s.coat_plan),
                s.exposure > Seconds{0} ? fmt::format("{} s", s.exposure.count()) : "-",
                s.ready ? clock(*s.ready) : "-");
        }
        out_ += "</tbody></table>\n</section>\n";
    }

    /// Tick boxes, each beside the tag that it is for.
    static std::string boxes(const SheetRow& row) {
        if (row.tags.empty()) return "<span><i></i></span>";
        std::string out;
        for (const std::string& tag : row.tags)
            out += "<span><i></i>" + html(tag) + "</span>";
        return out;
    }

    static std::string list_words(const std::vector<std::string>& list, const char* between) {
        return html(fmt::format("{}", fmt::join(list, between)));
    }

    /// The lowest of the row's steps; 0: none has one.
    int turn_of(const SheetRow& row) const {
        int least = 0;
        for (const int i : row.operations) {
            const auto& turn = d_.operations[static_cast<std::size_t>(i)].turn;
            if (turn && (least == 0 || *turn < least)) least = *turn;
        }
        return least;
    }

    void sheet(const std::string& name, const char* kind, const char* other_head,
               const std::vector<SheetRow>& rows) {
        if (rows.empty()) return;
        start(name, kind);
        // First on the sheet: whoever picks it up sees what to mind before the first row. The rows
        // name the cautions by their number here.
        std::vector<std::string> numbered;
        out_ += "<aside><h2>Mind on this sheet</h2><ol>\n";
        for (const CautionLine& caution : d_.cautions) {
            if (std::none_of(rows.begin(), rows.end(),
                             [&](const SheetRow& r) { return holds(r.cautions, caution.key); }))
                continue;
            numbered.push_back(caution.key);
            out_ +=
                fmt::format("<li><b>{}.</b> {}</li>\n", html(caution.title), html(caution.words));
        }
        out_ += "</ol><p>" + html(deference()) + "</p></aside>\n";
        std::vector<std::string> coated;
        for (const SheetRow& row : rows) {
            for (int i : row.operations) {
                const OperationLine& op = d_.operations[static_cast<std::size_t>(i)];
                if (op.step == "coat" || op.step == "face-coat") coated.push_back(op.screen);
            }
        }
        if (!coated.empty()) coat_plans(coated);
        if (const std::string breaks = breaks_of(d_, name); !breaks.empty())
            out_ += "<p class=\"plans\">" + html(breaks) + "</p>\n";
        const std::string recourse = recourse_words(d_);
        if (!recourse.empty()) out_ += "<p class=\"plans\">" + html(recourse) + "</p>\n";
        const bool numbers = std::any_of(rows.begin(), rows.end(),
                                         [&](const SheetRow& r) { return turn_of(r) > 0; });
        // Where nobody is named and all rows have the same to mind, two columns fit a side.
        const bool narrow = std::all_of(rows.begin(), rows.end(), [&](const SheetRow& r) {
            return r.where.empty() && r.cautions == rows.front().cautions;
        });
        const std::string more_heads =
            narrow ? "" : fmt::format("<th>{}</th><th>Mind</th>", other_head);
        out_ += fmt::format(
            "<div{}><table><thead><tr>{}<th>From</th><th>Till</th><th>Done, tag</th><th>What</th>"
            "{}</tr></thead><tbody>\n",
            narrow ? " class=\"two\"" : "", numbers ? "<th>No.</th>" : "", more_heads);
        for (const SheetRow& row : rows) {
            std::string mind;
            for (std::size_t i = 0; i < numbered.size(); ++i) {
                if (holds(row.cautions, numbered[i]))
                    mind += fmt::format("{}{}", mind.empty() ? "" : " ", i + 1);
            }
            out_ += "<tr>";
            if (numbers)
                out_ += fmt::format("<td class=\"time\">{}</td>",
                                    turn_of(row) > 0 ? std::to_string(turn_of(row)) : "");
            out_ += fmt::format(
                "<td class=\"time\">{}</td><td class=\"time\">{}</td><td "
                "class=\"tag\">{}</td><td>{}{}</td>",
                clock(row.start), clock(row.till), boxes(row),
                row.changed ? "<b>Changed:</b> " : "", list_words(row.words, "; "));
            if (!narrow)
                out_ += fmt::format("<td class=\"where\">{}</td><td class=\"mind\">{}</td>",
                                    list_words(row.where, ", "), mind);
            out_ += "</tr>\n";
        }
        out_ += "</tbody></table></div>\n</section>\n";
    }

    const PlanDocument& d_;
    std::string out_;
};

}  // namespace

std::string to_sheets(const PlanDocument& document) {
    return SheetWriter(document).write();
}

}  // namespace sched::report
