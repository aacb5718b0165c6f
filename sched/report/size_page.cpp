#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/html.hpp"
#include "sched/report/size_charts.hpp"
#include "sched/report/size_report.hpp"
#include "sched/report/web_assets.hpp"

namespace sched::report {
namespace {

using study::amount_words;
using study::SizeCell;
using study::SizeFigure;
using study::SizeResult;

class SizePageWriter {
public:
    SizePageWriter(const SizeResult& result, std::string_view program)
        : r_(result), h_(result.head), program_(program) {}

    std::string write() {
        const std::string style =
            std::string(web_asset("page.css")) + std::string(web_asset("size.css"));
        out_ = page_head(h_.room + ": what a change would bring", style, "");
        out_ += "<body>\n";
        head();
        out_ += "<main>\n";
        conclusion();
        if (h_.by_money) money();
        differences();
        if (h_.volumes.size() > 1) curves();
        limits();
        kinds();
        theory();
        figures();
        how();
        cautions();
        out_ += "</main>\n";
        foot();
        out_ += "</body>\n</html>\n";
        return std::move(out_);
    }

private:
    void section(const char* id, const std::string& title) {
        out_ += fmt::format(
            "<section id=\"{0}\" aria-labelledby=\"{0}-title\">\n<h2 id=\"{0}-title\">{1}</h2>\n",
            id, html(title));
    }
    void end_section() { out_ += "</section>\n"; }
    void table(const std::vector<std::string>& heads) {
        out_ += "<div class=\"wide\" tabindex=\"0\"><table><thead><tr>";
        for (std::size_t i = 0; i < heads.size(); ++i) {
            out_ += fmt::format("<th scope=\"col\"{}>{}</th>", i == 0 ? "" : " class=\"num\"",
                                html(heads[i]));
        }
        out_ += "</tr></thead><tbody>\n";
    }
    void row(std::size_t o, const std::vector<std::string>& cells) {  // cells are HTML already
        const bool best = static_cast<int>(o) == r_.ranking.best;
        const bool in = r_.ranking.in.empty() || r_.ranking.in[o];
        out_ += fmt::format("<tr{}><th scope=\"row\">{}</th>",
                            best  ? " class=\"best\""
                            : !in ? " class=\"gone\""
                                  : "",
                            html(h_.rooms[o].name));
        for (const auto& c : cells)
            out_ += "<td class=\"num\">" + c + "</td>";
        out_ += "</tr>\n";
    }
    void end_table() { out_ += "</tbody></table></div>\n"; }
    const SizeCell& here(std::size_t o) const { return r_.cell(o, r_.decision); }

    static std::string between(double low, double high, int digits) {
        return fmt::format("<br><small>{:.{}f} to {:.{}f}</small>", low, digits, high, digits);
    }
    static std::string between_amounts(const study::Interval& i) {
        return fmt::format("<br><small>{} to {}</small>", amount_words(i.low),
                           amount_words(i.high));
    }
    /// Today's mean, or the difference to it, with the interval.
    static std::string figure(const SizeFigure& f, std::size_t o, int digits = 1) {
        if (f.mean.n < 2) return "–";
        if (o == 0) {
            return fmt::format("{:.{}f}", f.mean.mean, digits) +
                   between(f.mean.interval().low, f.mean.interval().high, digits);
        }
        if (f.to_today.df <= 0.0) return "–";
        return fmt::format("{:+.{}f}", f.to_today.difference, digits) +
               between(f.to_today.interval.low, f.to_today.interval.high, digits);
    }

    void head() {
        out_ += fmt::format(
            "<header>\n<div><h1>{}</h1><p>Today's room and {} changes, lived through the same days "
            "with the same luck{}</p></div>\n</header>\n",
            html(h_.room), h_.rooms.size() - 1,
            h_.invented ? ". <strong>Demo data, invented.</strong>" : "");
    }

    void conclusion() {
        section("answer", "The answer");
        out_ += fmt::format("<p class=\"lead{}\">{}</p>\n",
                            r_.end == study::SizeEnd::Clear ? " clear" : "", html(r_.conclusion));
        std::string words;
        switch (r_.end) {
            case study::SizeEnd::Clear:
                words = fmt::format(
                    "Clear: one room is left. The chance that the chosen room is the best, or "
                    "within {:.1f} {} a day of it, is at least {:.0f} %.",
                    h_.indifference, unit(), 100.0 * h_.confidence);
                break;
            case study::SizeEnd::Days:
                words =
                    "Not clear yet: the days ran out. More days (--days), or a larger "
                    "difference that does not matter (--indifference), decide it.";
                break;
            case study::SizeEnd::Interrupted:
                words = "Interrupted: the best so far, nothing is decided.";
                break;
        }
        out_ += "<p class=\"note\">" + html(words) + "</p>\n";
        end_section();
    }
    std::string unit() const { return h_.by_money ? "in money" : "hours of lateness"; }

    void money() {
        section("money", "Money");
        table({"Change", "Costs now", "Brings a year", "Less its cost", "Worth over its life",
               "Paid back after", "Internal rate", "Pays from a volume of", "Days lived"});
        for (std::size_t o = 1; o < h_.rooms.size(); ++o) {
            const auto& m = r_.money[o];
            row(o,
                {amount_words(m.investment),
                 amount_words(m.yearly_benefit) + between_amounts(m.yearly_interval),
                 amount_words(m.yearly_net) + between_amounts(m.net_interval),
                 amount_words(m.net_present_value) + between_amounts(m.value_interval),
                 m.payback && m.investment > 0.0 ? fmt::format("{:.1f} years", *m.payback)
                 : m.investment > 0.0            ? "never"
                                                 : "–",
                 m.rate && m.investment > 0.0 ? fmt::format("{:.0f} %", 100.0 * *m.rate) : "–",
                 r_.break_even[o] ? fmt::format("{}{:.0f} %",
                                                *r_.break_even[o] <= h_.volumes.front() ? "≤ " : "",
                                                100.0 * *r_.break_even[o])
                                  : "–",
                 std::to_string(here(o).days)});
        }
        end_table();
        const auto& p = h_.prices;
        out_ += fmt::format(
            "<p class=\"note\">{:.0f} % intervals below the figures. Less its cost: a year's "
            "benefit less the purchase "
            "in equal yearly parts, which compares changes of unequal lives. Interest {:.1f} % a "
            "year, "
            "{:.0f} working days; an hour of overtime {:.2f}, a late order {:.2f}, an hour late "
            "{:.2f}, energy {:.2f} per kWh, floor {:.2f} per m² and year{}. What has no price "
            "given "
            "counts nothing.{}</p>\n",
            100.0 * h_.confidence, 100.0 * p.interest, p.days_a_year, p.overtime_hour, p.late_order,
            p.late_hour, p.energy, p.floor,
            p.screen_sent_out > 0.0
                ? fmt::format(", a screen made elsewhere {:.2f} where that is cheaper than late",
                              p.screen_sent_out)
                : "",
            invented() ? " <b>The costs of the changes are invented.</b>" : "");
        end_section();
    }
    bool invented() const {
        return std::any_of(h_.rooms.begin(), h_.rooms.end(),
                           [](const auto& x) { return x.invented; });
    }

    void difference(SizeFigure SizeCell::*which, const char* what, bool less) {
        out_ += fmt::format("<figure><figcaption>{}</figcaption>\n", html(what));
        out_ += difference_svg(r_, which, what, less) + "</figure>\n";
    }
    void differences() {
        section("differences", fmt::format("Differences to today at {:.0f} % of the volume",
                                           100.0 * h_.volumes[r_.decision]));
        out_ += "<div class=\"charts broad\">\n";
        difference(&SizeCell::tardiness_h, "Lateness of all orders, hours a day", true);
        difference(&SizeCell::turnaround_p90_h, "Turnaround of the slowest tenth, hours", true);
        if (h_.by_money)
            difference(&SizeCell::cost, "Cost of a day, the change itself not counted", true);
        difference(&SizeCell::energy_kwh, "Energy, kWh a day", true);
        out_ += "</div>\n";
        out_ += fmt::format(
            "<p class=\"note\">Dots: mean of the paired differences; lines: {:.0f} % interval. "
            "Full "
            "dots are surely different from today, rings may be chance.</p>\n",
            100.0 * h_.confidence);
        end_section();
    }

    void curves() {
        section("volume", "Orders on time when the volume grows");
        out_ += "<div class=\"charts\">\n";
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            const auto& c = r_.copes[o];
            const std::string copes =
                !c.to
                    ? fmt::format("below {:.0f} % on time even at the smallest", 100.0 * r_.coping)
                : c.beyond ? fmt::format("copes beyond {:.0f} %", 100.0 * *c.to)
                           : fmt::format("copes up to {:.0f} %", 100.0 * *c.to);
            out_ += fmt::format("<figure><figcaption><b>{}</b>, {}</figcaption>\n",
                                html(h_.rooms[o].name), copes);
            out_ += on_time_svg(r_, o) + "</figure>\n";
        }
        out_ += "</div>\n";
        out_ += fmt::format(
            "<p class=\"note\">Upwards: orders on time in per cent; to the right: volume in per "
            "cent of today's. Band: {:.0f} % interval over days. Dotted: today's room. Dashed: "
            "{:.0f} "
            "%, with which a room is said to cope.</p>\n",
            100.0 * h_.confidence, 100.0 * r_.coping);
        end_section();
    }

    void limits() {
        section("limits", "What limits the room, and what would limit it next");
        const std::size_t last = h_.volumes.size() - 1;
        std::vector<std::string> heads = {"Room", "Limits", "In use", "Then", "In use"};
        if (last != r_.decision)
            heads.push_back(fmt::format("Limits at {:.0f} %", 100.0 * h_.volumes[last]));
        table(heads);
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            const SizeCell& c = here(o);
            std::vector<std::string> cells = {
                html(c.bottleneck), fmt::format("{:.0f} %", 100.0 * c.busiest), html(c.next),
                fmt::format("{:.0f} %", 100.0 * c.next_busiest)};
            if (last != r_.decision) cells.push_back(html(r_.cell(o, last).bottleneck));
            row(o, cells);
        }
        end_table();
        end_section();
    }

    void kinds() {
        if (r_.kinds.empty()) return;
        section("climate", "By kind of day");
        std::vector<std::string> heads = {"Room"};
        for (const auto& k : h_.kinds) {
            heads.push_back(
                fmt::format("{} ({:.0f} % of days): on time", k.name, 100.0 * k.weight));
            heads.push_back("lateness, h a day");
        }
        table(heads);
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            std::vector<std::string> cells;
            for (const auto& k : r_.kinds) {
                if (k.option != static_cast<int>(o)) continue;
                cells.push_back(k.days > 0 ? fmt::format("{:.0f} %", 100.0 * k.on_time) : "–");
                cells.push_back(figure(k.tardiness_h, o));
            }
            row(o, cells);
        }
        end_table();
        end_section();
    }

    void theory() {
        section("theory", "Sanity: what times alone say");
        table({"Room", "Limit", "Screens a day it carries", "Raw process time h", "Critical WIP",
               "Cycle h: best", "practical worst", "worst", "Units", "Load", "Units by √ rule"});
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            const auto& t = h_.rooms[o].theory;
            row(o, {html(t.bottleneck), fmt::format("{:.0f}", t.screens_a_day),
                    fmt::format("{:.1f}", t.raw_process_time_h),
                    fmt::format("{:.0f}", t.critical_wip), fmt::format("{:.1f}", t.best_cycle_h),
                    fmt::format("{:.1f}", t.practical_worst_cycle_h),
                    fmt::format("{:.0f}", t.worst_cycle_h), std::to_string(t.units),
                    fmt::format("{:.2f}", t.load), std::to_string(t.square_root_units)});
        }
        end_table();
        std::string flags;
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            for (const auto& words : r_.disagree[o]) {
                flags += fmt::format("<li class=\"late\">{}: {}</li>\n", html(h_.rooms[o].name),
                                     html(words));
            }
        }
        out_ += flags.empty()
                    ? "<p class=\"note\">Theory and simulated days do not contradict each "
                      "other.</p>\n"
                    : "<ul class=\"plain\">\n" + flags + "</ul>\n";
        end_section();
    }

    void figures() {
        section("figures", "All figures");
        for (std::size_t v = 0; v < h_.volumes.size(); ++v) {
            out_ += fmt::format("<h3>{:.0f} % of today's volume</h3>\n", 100.0 * h_.volumes[v]);
            table({"Room", "Days", "On time", "Lateness h", "Turnaround p90 h", "Screens a day",
                   "Overtime h", "Energy kWh", "Cost of a day"});
            for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
                const SizeCell& c = r_.cell(o, v);
                row(o,
                    {std::to_string(c.days) +
                         (c.incomplete > 0
                              ? fmt::format("<br><small>{} did not end</small>", c.incomplete)
                              : ""),
                     fmt::format("{:.0f} %", 100.0 * c.on_time) +
                         between(100.0 * c.on_time_interval.low, 100.0 * c.on_time_interval.high,
                                 0),
                     figure(c.tardiness_h, o), figure(c.turnaround_p90_h, o), figure(c.screens, o),
                     figure(c.overtime_h, o), figure(c.energy_kwh, o), figure(c.cost, o, 0)});
            }
            end_table();
        }
        out_ +=
            "<p class=\"note\">Today's room: mean of a day; changes: paired difference to "
            "today. Intervals below.</p>\n";
        end_section();
    }

    void how() {
        section("how", "How this was found");
        out_ += "<ul class=\"plain\">\n";
        for (std::size_t o = 1; o < h_.rooms.size(); ++o) {
            out_ += fmt::format("<li><b>{}</b>: {}.{}</li>\n", html(h_.rooms[o].name),
                                html(h_.rooms[o].words),
                                h_.rooms[o].invented ? " Invented figures." : "");
        }
        out_ += fmt::format(
            "<li>{} Step times, drying and failures then turn out otherwise; every room meets the "
            "same luck on the same day (common random numbers).</li>\n",
            h_.plan_schedules > 0
                ? fmt::format("Each day is planned the evening before by a search of {} schedules "
                              "that aims for {} min before the due times, and worked off in the "
                              "plan's order.",
                              h_.plan_schedules, h_.plan_margin_s / 60)
                : "Each day is worked off by the rule " + html(h_.policy) + ".");
        out_ += fmt::format(
            "<li>{} days of every room at every volume, {} at the volume of the decision; rooms "
            "that "
            "are clearly worse are left out early (procedure of Kim and Nelson 2001, {:.0f} % "
            "chance "
            "of a correct selection, indifference zone {:.1f} {} a day).</li>\n",
            h_.least, h_.every_day ? "the same" : fmt::format("at most {}", h_.most),
            100.0 * h_.confidence, h_.indifference, unit());
        out_ += "<li>Formulas and their sources: docs/sizing.md.</li>\n</ul>\n";
        end_section();
    }

    void cautions() {
        section("cautions", "Before anything is bought");
        out_ += "<ul class=\"plain\">\n";
        for (const auto& words : size_cautions())
            out_ += "<li>" + html(words) + "</li>\n";
        out_ += "</ul>\n";
        end_section();
    }

    void foot() {
        out_ += fmt::format("<footer><p>{}, seed {}. Input {}</p></footer>\n", html(program_),
                            h_.seed, html(h_.fingerprint.substr(0, 16)));
    }

    const SizeResult& r_;
    const study::SizeHead& h_;
    std::string program_;
    std::string out_;
};

}  // namespace

std::string size_to_page(const SizeResult& result, std::string_view program) {
    return SizePageWriter(result, program).write();
}

}  // namespace sched::report
