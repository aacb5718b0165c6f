#include "sched/report/sheets.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/html.hpp"
#include "sched/report/steps.hpp"
#include "sched/report/web_assets.hpp"
#include "sched/report/wording.hpp"

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
        for (const PersonLine& person : d_.people) {
            sheet(
                person.name, "Person", "Where",
                [&](const OperationLine& op) { return holds(op.people, person.name); },
                [](const OperationLine& op) { return op.place; }, true);
        }
        for (const StationLine& station : d_.stations) {
            sheet(
                station.name, "Station", "Who",
                [&](const OperationLine& op) {
                    // Carrying is on the carrier's sheet.
                    return op.step != "take-out" &&
                           (op.place == station.name || holds(op.also_at, station.name));
                },
                [](const OperationLine& op) { return joined(op.people); }, false);
        }
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
    }

    void tags() {
        start("Tags to write on the frames", "Tag");
        out_ +=
            "<table><thead><tr><th>Done</th><th>Tag</th><th>Frame</th><th>Mesh</th><th>Made "
            "on</th><th>Emulsion and coat plan</th>"
            "<th>Exposure</th><th>Ready</th></tr></thead><tbody>\n";
        for (const ScreenLine& s : d_.screens) {
            out_ += fmt::format(
                "<tr><td class=\"box\"><i></i></td><td "
                "class=\"tag\">{}</td><td>{}{}</td><td class=\"time\">{}</td><td>{}</td><td>{}, "
                "{}{}</td>"
                "<td class=\"time\">{}</td><td class=\"time\">{}</td></tr>\n",
                html(s.tag), html(s.frame), s.two_people ? " (two people)" : "", html(s.mesh),
                html(state_words(s.made_on)), html(s.emulsion), html(s.coat_plan),
                s.coat_words.empty() ? "" : ": " + html(s.coat_words),
                s.exposure > Seconds{0} ? fmt::format("{} s", s.exposure.count()) : "-",
                s.ready ? clock(*s.ready) : "-");
        }
        out_ += "</tbody></table>\n</section>\n";
    }

    /// What the person at the stand or the lamp must know of the screen besides the words of the
    /// step.
    std::string extra(const OperationLine& op) const {
        const auto screen = std::find_if(d_.screens.begin(), d_.screens.end(),
                                         [&](const ScreenLine& s) { return s.tag == op.screen; });
        if (op.screen.empty() || screen == d_.screens.end()) return {};
        if (op.step == "coat" || op.step == "face-coat") {
            return fmt::format("{}, mesh {}, {}, {}", screen->frame, screen->mesh, screen->emulsion,
                               screen->coat_plan) +
                   (screen->coat_words.empty() ? "" : ": " + screen->coat_words);
        }
        if (op.step == "expose")
            return fmt::format("{} s, mesh {}", screen->exposure.count(), screen->mesh);
        return {};
    }

    template <class Filter, class Other>
    void sheet(const std::string& name, const char* kind, const char* other_head, Filter mine,
               Other other, bool person) {
        std::vector<const OperationLine*> list;
        for (const OperationLine& op : d_.operations) {
            if (mine(op)) list.push_back(&op);
        }
        if (list.empty()) return;
        std::stable_sort(list.begin(), list.end(),
                         [](auto* a, auto* b) { return a->start < b->start; });
        start(name, kind);
        // First on the sheet: whoever picks it up sees what to mind before the first row.
        out_ += "<aside><h2>Mind on this sheet</h2><ul>\n";
        for (const CautionLine& caution : d_.cautions) {
            const bool here = std::any_of(list.begin(), list.end(), [&](auto* op) {
                return holds(op->cautions, caution.key);
            });
            if (here)
                out_ += fmt::format("<li><b>{}.</b> {}</li>\n", html(caution.title),
                                    html(caution.words));
        }
        out_ += "</ul><p>" + html(deference()) + "</p></aside>\n";
        out_ += fmt::format(
            "<table><thead><tr><th>Done</th><th>From</th><th>Till</th><th>Tag</th><th>What</"
            "th><th>{}</th><th>Mind</th></tr>"
            "</thead><tbody>\n",
            other_head);
        for (const OperationLine* op : list) {
            const SimTime till = person ? op->people_until.value_or(op->end) : op->work_end;
            std::string mind;
            for (const CautionLine& caution : d_.cautions) {
                if (holds(op->cautions, caution.key))
                    mind += (mind.empty() ? "" : ", ") + caution.title;
            }
            const std::string more = extra(*op);
            out_ += fmt::format(
                "<tr><td class=\"box\"><i></i></td><td class=\"time\">{}</td><td "
                "class=\"time\">{}</td><td class=\"tag\">{}</td><td>{}{}"
                "</td><td class=\"where\">{}</td><td class=\"mind\">{}</td></tr>\n",
                clock(op->start), clock(till), html(op->screen), html(op->words),
                more.empty() ? "" : " <small>" + html(more) + "</small>", html(other(*op)),
                html(mind));
        }
        out_ += "</tbody></table>\n</section>\n";
    }

    const PlanDocument& d_;
    std::string out_;
};

}  // namespace

std::string to_sheets(const PlanDocument& document) {
    return SheetWriter(document).write();
}

}  // namespace sched::report
