// How it works: one private function a section, written one after the other into one text; user
// text passes html(). Script, style and the document itself are put into the page, so it works
// alone; the timeline is drawn by the script.

#include "sched/report/plan/page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "sched/report/document/timeline_json.hpp"
#include "sched/report/plan/break_lines.hpp"
#include "sched/report/plan/chance_lines.hpp"
#include "sched/report/plan/order_bars.hpp"
#include "sched/report/plan/replan_lines.hpp"
#include "sched/report/plan/store_lines.hpp"
#include "sched/report/plan/what_if_lines.hpp"
#include "sched/report/words/glossary.hpp"
#include "sched/report/words/html.hpp"
#include "sched/report/words/steps.hpp"
#include "sched/report/words/web_assets.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

class PageWriter {
public:
    explicit PageWriter(const PlanDocument& document) : d_(document) {}

    std::string write() {
        const std::string script = page_script(web_asset("page.js"));
        out_ = page_head(fmt::format("{}: plan for {}", d_.room, day()), script);
        out_ += "<body class=\"plan\">\n";
        head();
        out_ += "<main>\n";
        verdict();
        again();
        risks();
        timeline();
        story();
        orders();
        fills();
        pins();
        mesh_choices();
        mixes();
        reclaims();
        returns();
        breaks();
        screens();
        warnings();
        stock();
        quality();
        cautions();
        out_ += "</main>\n";
        foot();
        out_ += "<script type=\"application/json\" id=\"plan\">" +
                json_for_script(timeline_json(d_)) + "</script>\n";
        out_ += "<script>" + script + "</script>\n</body>\n</html>\n";
        return with_words(std::move(out_));
    }

private:
    std::string day() const { return model::format_date(model::date_of(d_.run.first_start)); }
    std::string clock(const std::optional<SimTime>& t) const {
        if (!t) return "-";
        return fmt::format("<time datetime=\"{}\">{}</time>", model::format_date_time(*t),
                           html(when(d_.run, *t)));
    }
    void section(const char* id, const std::string& title) { out_ += section_head(id, title); }
    void end_section() { out_ += "</section>\n"; }
    void table(const std::vector<const char*>& heads) {
        out_ += "<div class=\"wide\" tabindex=\"0\"><table><thead><tr>";
        for (const char* head : heads)
            out_ += fmt::format("<th scope=\"col\">{}</th>", html(head));
        out_ += "</tr></thead><tbody>\n";
    }
    void row(const std::vector<std::string>& cells) {  // cells are HTML already
        out_ += "<tr>";
        for (std::size_t i = 0; i < cells.size(); ++i) {
            out_ +=
                i == 0 ? "<th scope=\"row\">" + cells[i] + "</th>" : "<td>" + cells[i] + "</td>";
        }
        out_ += "</tr>\n";
    }
    void end_table() { out_ += "</tbody></table></div>\n"; }

    void head() {
        out_ +=
            page_top({.own = "plan.html",
                      .title = d_.room,
                      .under = fmt::format(
                          "<p>Screen room plan for <time datetime=\"{}\">{}</time>, {} to {}{}</p>",
                          day(), day(), clock(d_.run.first_start), clock(d_.run.last_end),
                          d_.invented ? ". <strong>Demo data, invented.</strong>" : ""),
                      .acts = "<a href=\"plan.csv\">Table</a> <a href=\"plan.ics\">Calendar</a> "});
    }

    void again() {
        if (!d_.again) return;
        section("again", "From the middle of the day");
        out_ += "<p>" + html(again_sentence(d_)) + "</p>\n";
        const auto list = [&](const char* title, const auto& rows, auto words) {
            if (rows.empty()) return;
            const bool folded = rows.size() > 12;  // the day is below it
            out_ += folded ? fmt::format("<details><summary>{}: {}</summary>\n<ul>\n", title,
                                         rows.size())
                           : fmt::format("<h3>{}</h3>\n<ul>\n", title);
            for (const auto& row : rows)
                out_ += "<li>" + html(words(row)) + "</li>\n";
            out_ += folded ? "</ul></details>\n" : "</ul>\n";
        };
        list("What was told, and what stays", d_.again->notes, [](const auto& x) { return x; });
        list("Changes against the posted plan", d_.again->changes,
             [](const ChangeLine& c) { return c.words; });
        end_section();
    }

    void verdict() {
        const auto late = std::count_if(d_.orders.begin(), d_.orders.end(), [](const OrderLine& o) {
            return o.lateness && *o.lateness > Seconds{0};
        });
        out_ += "<section id=\"verdict\" aria-label=\"In short\">\n";
        if (d_.run.first_words)
            out_ += "<p class=\"first\">" + html(*d_.run.first_words) + "</p>\n";
        if (const auto held = on_hold_words(d_); !held.empty())
            out_ += "<p class=\"left-out\">" + html(held) + "</p>\n";
        const auto first = first_things(d_);
        if (!first.empty()) {
            out_ += "<ul class=\"firsts\" aria-label=\"What to do first\">\n";
            for (const std::string& words : first)
                out_ += "<li>" + html(words) + "</li>\n";
            out_ += "</ul>\n";
        }
        out_ += fmt::format("<p class=\"big{}\"><b>{}</b> of {} late{}</p>\n",
                            late > 0 ? " bad" : "", late, counted(d_.orders.size(), "order"),
                            d_.run.first_words ? " if all takes what is planned" : "");
        out_ +=
            fmt::format("<p class=\"big\"><b>{}</b> last screen done</p>\n", clock(last_ready()));
        out_ += fmt::format("<p class=\"big\"><b>{}</b> {}</p>\n", d_.screens.size(),
                            d_.screens.size() == 1 ? "screen" : "screens");
        if (!d_.bottleneck.resource.empty()) {
            out_ += fmt::format("<p class=\"big\"><b>{}</b> limits the day</p>\n",
                                html(d_.bottleneck.resource));
        }
        end_section();
    }

    void risks() {
        const std::string bars = order_bars(d_);
        if (bars.empty()) return;
        section("risks", "Orders, the riskiest first");
        out_ += bars;
        end_section();
    }

    // What is proved, and how busy everything is: for those who ask, at the end.
    void quality() {
        section("quality", "How good is this plan?");
        out_ +=
            "<details><summary>Aims, how much better could be possible, and who and what is busy"
            "</summary>\n";
        out_ += "<dl>\n";
        for (const AimLine& aim : d_.aims) {
            out_ += fmt::format("<div><dt>{}</dt><dd>{}: {}</dd></div>\n", html(aim.words),
                                html(aim.value_words), html(aim.gap_words));
        }
        out_ += "</dl>\n";
        loads();
        out_ += "</details>\n";
        end_section();
    }

    std::optional<SimTime> last_ready() const {
        std::optional<SimTime> out;
        for (const ScreenLine& screen : d_.screens)
            out = std::max(out, screen.ready);
        return out;
    }

    void timeline() {
        section("day", "The day");
        out_ +=
            "<div class=\"tools\" role=\"toolbar\" aria-label=\"Timeline\">"
            "<button type=\"button\" data-view=\"place\" aria-pressed=\"true\">By station</button>"
            "<button type=\"button\" data-view=\"person\" aria-pressed=\"false\">By person</button>"
            "<button type=\"button\" data-zoom=\"out\" aria-label=\"Show more "
            "time\">&minus;</button>"
            "<button type=\"button\" data-zoom=\"in\" aria-label=\"Show less time, "
            "larger\">+</button>"
            "<button type=\"button\" data-zoom=\"fit\">Whole plan</button>"
            "<label for=\"find\">Find <input type=\"search\" id=\"find\" placeholder=\"tag or "
            "job\" autocomplete=\"off\"></label>"
            "<span id=\"found\" role=\"status\"></span>"
            "<button type=\"button\" id=\"all-orders\" hidden>All orders</button></div>\n";
        out_ +=
            "<div id=\"lanes\"><div id=\"corner\"></div><div id=\"hours\"></div><div "
            "id=\"names\"></div><div id=\"scroll\"></div></div>\n"
            "<p id=\"detail\" aria-live=\"polite\">Point at a bar, tap it, or use the arrow keys: "
            "it is "
            "explained here. Plus and minus zoom, 0 shows all.</p>\n"
            "<ul id=\"legend\"></ul>\n"
            "<noscript><p>The timeline needs the page's script; the run sheets show the same plan "
            "without it.</p></noscript>\n";
        end_section();
    }

    void story() {
        if (d_.bottleneck.sentences.empty()) return;
        section("limit", "What limits the day");
        out_ += "<p>";
        for (const std::string& sentence : d_.bottleneck.sentences)
            out_ += html(sentence) + " ";
        out_ += "</p>\n";
        if (!d_.bottleneck.what_ifs.empty()) {
            table({"One change", "Planned again"});
            for (const WhatIfLine& x : merged(d_.bottleneck.what_ifs))
                row({html(x.change), html(x.words)});
            end_table();
        }
        end_section();
    }

    void orders() {
        section("orders", "Orders");
        const bool chance = std::any_of(d_.orders.begin(), d_.orders.end(),
                                        [](const auto& o) { return o.chance_late.has_value(); });
        std::vector<const char*> heads = {"Order", "Job",           "Screens",       "Due",
                                          "Ready", "Early or late", "Why no earlier"};
        if (chance) {
            heads[4] = "Likely ready";
            heads.insert(heads.begin() + 6, "If nothing takes longer");
            heads.insert(heads.begin() + 6, "80 % range");
            heads.insert(heads.begin() + 6, "Chance to be late");
        }
        table(heads);
        std::vector<const OrderLine*> list;
        for (const OrderLine& order : d_.orders)
            list.push_back(&order);
        std::stable_sort(list.begin(), list.end(),
                         [](auto* a, auto* b) { return a->due < b->due; });
        for (const OrderLine* o : list) {
            const OrderLine expected = as_expected(*o);
            const bool late = expected.lateness && *expected.lateness > Seconds{0};
            std::vector<std::string> cells = {
                fmt::format("<button type=\"button\" class=\"pick\" data-order=\"{0}\" "
                            "title=\"Show on the timeline\">{0}</button>",
                            html(o->name)),
                html(o->customer),
                std::to_string(o->screens),
                clock(o->due),
                clock(expected.ready),
                fmt::format("<span class=\"{}\">{}</span>", late ? "late" : "early",
                            html(lateness_words(expected))),
                reasons(*o)};
            if (chance) {
                cells.insert(cells.begin() + 6, clock(o->ready));
                cells.insert(cells.begin() + 6, clock(o->ready_p10) + " – " + clock(o->ready_p90));
                cells.insert(cells.begin() + 6, chance_words(o->chance_late));
            }
            row(cells);
        }
        end_table();
        end_section();
    }

    std::string reasons(const OrderLine& order) const {
        // A long chain is told by its longest waits; plan.json has every link.
        constexpr std::size_t long_chain = 12, waits_told = 8;
        Seconds least{0};
        if (order.reasons.size() > long_chain) {
            std::vector<Seconds> waits;
            for (const ReasonLine& reason : order.reasons)
                waits.push_back(reason.waited);
            std::nth_element(waits.begin(), waits.begin() + waits_told - 1, waits.end(),
                             std::greater<>());
            least = std::max(waits[waits_told - 1], Seconds{1});
        }
        std::string list;
        std::size_t left_out = 0;
        for (const ReasonLine& reason : order.reasons) {
            if (reason.waited < least) {
                ++left_out;
                continue;
            }
            list +=
                fmt::format("<li{}>{}</li>", reason.waited > Seconds{0} ? " class=\"wait\"" : "",
                            html(reason.words));
        }
        if (left_out > 0)
            list += fmt::format(
                "<li>and {} more steps that wait less, or not at all (plan.json)</li>", left_out);
        if (list.empty()) return html(order.story);
        return fmt::format("<details><summary>{}</summary><ol>{}</ol></details>", html(order.story),
                           list);
    }

    void fills() {
        if (d_.fills.empty()) return;
        section("fills", "Places taken where screens dry");
        for (const FillLine& fill : d_.fills) {
            out_ += fmt::format(
                "<figure tabindex=\"0\"><figcaption>{}, {} places: dark = drying, light = dry and "
                "waiting to "
                "be taken on, line = "
                "all there are</figcaption>\n",
                html(fill.station), fill.places);
            out_ += fill_svg(fill, d_.run) + "</figure>\n";
        }
        end_section();
    }

    void pins() {
        if (d_.pins.empty()) return;
        section("pins", "Held as you asked");
        table({"Pin"});
        for (const std::string& pin : d_.pins)
            row({html(pin)});
        end_table();
        end_section();
    }

    void mesh_choices() {
        if (d_.mesh_choices.empty()) return;
        section("mesh-choices", "Mesh chosen for orders that name none");
        table({"Order", "Why this mesh"});
        for (const MeshChoiceLine& x : d_.mesh_choices)
            row({html(x.order), html(x.words)});
        end_table();
        end_section();
    }

    void mixes() {
        if (d_.mixes.empty()) return;
        section("mixes", "Emulsion to mix");
        table({"Emulsion", "How much", "Pot", "Start", "Usable from", "Good until", "Who", "Buy"});
        for (const MixLine& mix : d_.mixes) {
            row({html(mix.emulsion), volume_words(mix.volume_ml), html(mix.pot), clock(mix.start),
                 clock(mix.usable), clock(mix.good_until), html(joined(mix.people)),
                 is_to_buy(d_, mix)
                     ? "<strong>not in stock: buy by " + html(buy_words(mix)) + "</strong>"
                 : mix.to_buy ? "bought"
                              : "in stock"});
        }
        end_table();
        end_section();
    }

    void reclaims() {
        if (d_.reclaims.empty()) return;
        section("reclaims", "Frames to reclaim");
        table({"Becomes", "Frame", "Mesh", "Now", "Start", "Who"});
        for (const ReclaimLine& x : d_.reclaims) {
            row({html(x.screen), html(x.frame), html(x.mesh), html(state_words(x.state)),
                 clock(x.start), html(joined(x.people))});
        }
        end_table();
        end_section();
    }

    void returns() {
        if (d_.returns.empty()) return;
        section("returns", "For the store, reclaimed in idle time");
        table({"Tag", "Frame", "Start", "Who"});
        for (const ReturnLine& x : d_.returns)
            row({html(x.tag), html(return_words(d_, x)), clock(x.start), html(joined(x.people))});
        end_table();
        end_section();
    }

    void breaks() {
        if (d_.breaks.empty()) return;
        section("breaks", "Breaks");
        table({"Who", "When"});
        for (const BreakLine& x : d_.breaks)
            row({html(x.person), html(break_words(d_, x))});
        end_table();
        end_section();
    }

    void loads() {
        if (d_.loads.empty()) return;
        out_ += "<h3 id=\"loads\">Utilisation</h3>\n";
        table({"Station or person", "Available", "Working", "Holding", "Free", "Steps wait for it",
               "Share of its time"});
        for (const LoadLine& load : d_.loads) {
            const auto share = [&](Seconds part) {
                return load.staffed > Seconds{0} ? static_cast<double>(part.count()) /
                                                       static_cast<double>(load.staffed.count())
                                                 : 0.0;
            };
            const double working = std::clamp(share(load.working), 0.0, 1.0) * 100.0;
            const double holding =
                std::clamp(share(load.holding), 0.0, 1.0 - working / 100.0) * 100.0;
            const Seconds free = std::max(load.staffed - load.working - load.holding, Seconds{0});
            row({html(load.resource), model::format_duration(load.staffed),
                 fmt::format("{} ({})", model::format_duration(load.working),
                             percent(load.availability)),
                 model::format_duration(load.holding), model::format_duration(free),
                 model::format_duration(load.waited_for),
                 fmt::format(
                     "<svg class=\"share\" viewBox=\"0 0 100 10\" preserveAspectRatio=\"none\" "
                     "aria-hidden=\"true\"><rect class=\"all\" "
                     "width=\"100\" height=\"10\"/><rect class=\"taken\" width=\"{0:.1f}\" "
                     "height=\"10\"/><rect class=\"held\" "
                     "x=\"{0:.1f}\" width=\"{1:.1f}\" height=\"10\"/></svg>",
                     working, holding)});
        }
        end_table();
        out_ +=
            "<p class=\"note\">Times are summed over places. Working, holding and available are "
            "APT, "
            "ADET and PBT of ISO 22400-2; the share "
            "in brackets is its availability, of a person worker efficiency.</p>\n";
    }

    void screens() {
        section("screens", "Screens");
        table({"Tag", "Order", "Frame", "Mesh", "Frame at start", "Emulsion", "Coat plan",
               "Exposure", "Ready"});
        for (const ScreenLine& s : d_.screens) {
            row({html(s.tag), html(s.order), html(s.frame) + (s.two_people ? ", two people" : ""),
                 html(s.mesh), html(state_words(s.made_on)), html(s.emulsion),
                 html(s.coat_plan) + (s.coat_words.empty() ? "" : ": " + html(s.coat_words)),
                 s.exposure > Seconds{0} ? fmt::format("{} s", s.exposure.count()) : "-",
                 clock(s.ready)});
        }
        end_table();
        end_section();
    }

    void warnings() {
        if (d_.warnings.empty()) return;
        section("warnings", "Warnings");
        out_ += "<ul>\n";
        for (const WarningLine& x : d_.warnings) {
            out_ += "<li>" + (x.place.empty() ? "" : "<code>" + html(x.place) + "</code>: ") +
                    html(x.words) + "</li>\n";
        }
        out_ += "</ul>\n";
        end_section();
    }

    void stock() {
        if (d_.stock_after.empty()) return;
        section("stock", "Frames in the store afterwards");
        table({"Frame", "How many"});
        for (const StockLine& x : d_.stock_after)
            row({html(stock_words(d_, x)), std::to_string(x.count)});
        end_table();
        out_ +=
            "<p class=\"note\">Without the screens that were made: they are at the press. "
            "frames-after.csv is this table as tomorrow's frames.csv.</p>\n";
        end_section();
    }

    void cautions() {
        section("cautions", "Cautions");
        out_ += "<ul>\n";
        for (const CautionLine& x : d_.cautions)
            out_ += fmt::format("<li><b>{}.</b> {}</li>\n", html(x.title), html(x.words));
        out_ += "</ul>\n<p><b>" + html(deference()) + "</b></p>\n";
        end_section();
    }

    void foot() {
        out_ +=
            fmt::format("<footer class=\"foot\"><p>{}, seed {}, {}{}. Input {}</p><p>",
                        html(d_.program), d_.run.seed, tried_words(d_.run),
                        d_.run.interrupted ? ", interrupted" : "", d_.fingerprint.substr(0, 16));
        for (const InputFile& input : d_.inputs) {
            out_ += fmt::format("{} <code>{}</code> ", html(input.name),
                                html(input.sha256.substr(0, 16)));
        }
        out_ += "</p></footer>\n";
    }

    const PlanDocument& d_;
    std::string out_;
};

}  // namespace

std::string to_page(const PlanDocument& document) {
    return PageWriter(document).write();
}

}  // namespace sched::report
