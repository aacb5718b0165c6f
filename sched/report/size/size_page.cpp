// How it works: one private function a section, from the conclusion down to the method; every
// figure comes with its interval, comparisons with today on the same days.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/report/size/size_charts.hpp"
#include "sched/report/size/size_page_parts.hpp"
#include "sched/report/words/glossary.hpp"

namespace sched::report {
namespace {

class SizePageWriter : private SizePageParts {
public:
    SizePageWriter(const SizeResult& result, std::string_view program)
        : SizePageParts(result), program_(program) {}

    std::string write() {
        const std::string script = page_script();
        out_ = page_head(h_.room + ": what a change would bring", script);
        out_ += "<body class=\"size\">\n";
        head();
        out_ += "<main>\n";
        conclusion();
        three_facts();
        against();
        if (h_.by_money) money();
        differences();
        if (h_.volumes.size() > 1) curves();
        limits();
        kinds();
        if (h_.by_money) repeat();
        theory();
        figures();
        how();
        cautions();
        out_ += "</main>\n";
        foot();
        out_ += "<script>" + script + "</script>\n</body>\n</html>\n";
        return with_words(std::move(out_));
    }

private:
    void head() {
        const std::size_t changes = h_.rooms.size() - 1;
        out_ += page_top({.own = "size.html",
                          .title = h_.room + ": is a change worth its money?",
                          .under = fmt::format(
                              "<p>Today's room and {} {}, simulated on the same days with the same "
                              "random variation{}</p>",
                              changes, changes == 1 ? "change" : "changes",
                              h_.invented ? ". <strong>Demo data, invented.</strong>" : "")});
    }

    void conclusion() {
        section("answer", "The answer");
        // The first sentence large, what it rests on under it.
        const std::size_t end = r_.conclusion.find(". ");
        const std::string first = r_.conclusion.substr(0, end == std::string::npos ? end : end + 1);
        out_ += fmt::format("<p class=\"lead{}\">{}</p>\n",
                            r_.end == study::SizeEnd::Clear ? "" : " open", html(first));
        if (end != std::string::npos)
            out_ += "<p>" + html(r_.conclusion.substr(end + 2)) + "</p>\n";
    }

    /// What was looked at most closely: the best change, today's room being no change.
    std::size_t shown() const {
        if (r_.ranking.best > 0) return static_cast<std::size_t>(r_.ranking.best);
        std::size_t best = 0;
        for (std::size_t o = 1; o < h_.rooms.size(); ++o) {
            const double value =
                h_.by_money ? r_.money[o].yearly_net : -here(o).tardiness_h.to_today.difference;
            const double of_best = best == 0     ? -INFINITY
                                   : h_.by_money ? r_.money[best].yearly_net
                                                 : -here(best).tardiness_h.to_today.difference;
            if (value > of_best) best = o;
        }
        return best;
    }

    void fact(const char* kind, const std::string& title, const std::string& value,
              const std::string& under) {
        out_ += fmt::format("<div class=\"{}\"><dt>{}</dt><dd><b>{}</b>{}</dd></div>\n", kind,
                            html(title), html(value), html(under));
    }

    static std::string percents(const study::Interval& i) {
        return fmt::format("{:.0f} to {:.0f} %", 100.0 * std::max(0.0, i.low),
                           100.0 * std::min(1.0, i.high));
    }

    void three_facts() {
        const std::size_t o = shown();
        if (o == 0) return;
        const std::string& name = h_.rooms[o].name;
        out_ += "<dl class=\"facts\">\n";
        const bool clear = r_.end == study::SizeEnd::Clear;
        if (!clear) {
            fact("", "Buy?", "Not decided yet",
                 r_.ranking.further > 0
                     ? fmt::format("about {} more days would decide", r_.ranking.further)
                     : std::string("too few days"));
        } else if (r_.ranking.best == 0) {
            fact("no", "Buy?", "No", "today's room is best; nearest: " + name);
        } else if (h_.by_money && r_.money[o].value_interval.low <= 0.0) {
            fact("", "Buy?", "Perhaps: " + name,
                 fmt::format("{:.0f} % sure that none is better; it may not pay for itself",
                             100.0 * h_.confidence));
        } else {
            fact("yes", "Buy?", "Yes: " + name,
                 fmt::format("{:.0f} % sure", 100.0 * h_.confidence));
        }
        if (h_.by_money) pays_back(o);
        const SizeCell& c = here(o);
        fact(c.on_time > c.today_on_time ? "yes" : "no", "Orders on time with " + name,
             fmt::format("{:.0f} % → {:.0f} %", 100.0 * c.today_on_time, 100.0 * c.on_time),
             fmt::format("today {}, then {}", percents(r_.cell(0, r_.decision).on_time_interval),
                         percents(c.on_time_interval)));
        if (!h_.by_money) {
            const auto& f = c.tardiness_h.to_today;
            fact(f.interval.high < 0.0 ? "yes" : "", "Lateness of all orders with " + name,
                 f.df > 0.0 ? fmt::format("{:+.1f} h a day", f.difference) : std::string("–"),
                 f.df > 0.0 ? fmt::format("{:+.1f} to {:+.1f}", f.interval.low, f.interval.high)
                            : std::string());
        }
        out_ += "</dl>\n";
        how_sure();
    }

    void pays_back(std::size_t o) {
        const auto& m = r_.money[o];
        const std::string title = "Pays back, " + h_.rooms[o].name;
        const std::string under = fmt::format(
            "brings {} a year ({} to {}), costs {} now", amount(m.yearly_benefit),
            amount(m.yearly_interval.low), amount(m.yearly_interval.high), amount(m.investment));
        // The interval of the benefit gives that of the time: investment over benefit.
        const auto years = [&](double benefit) -> std::string {
            const double t = m.investment / benefit;
            return benefit > 0.0 && t < 100.0 ? fmt::format("{:.1f} years", t) : "never";
        };
        if (m.investment <= 0.0) {
            fact(m.yearly_benefit > 0.0 ? "yes" : "no", title,
                 m.yearly_benefit > 0.0 ? "At once" : "Never", under);
            return;
        }
        if (!m.payback) {
            fact("no", title, "Never", under);
            return;
        }
        fact(m.value_interval.low > 0.0 ? "yes" : "", title,
             fmt::format("After {:.1f} years", *m.payback),
             fmt::format("{} to {}; {}", years(m.yearly_interval.high),
                         years(m.yearly_interval.low), under));
    }

    void against() {
        if (!h_.by_money || h_.rooms.size() < 2) return;
        section("against", "What each change costs a year, and what it brings");
        out_ += "<figure tabindex=\"0\">" + cost_benefit_svg(r_) + "</figure>\n";
        out_ += fmt::format(
            "<p class=\"note\">To the right: purchase and installation in equal yearly parts. "
            "Upwards: what it brings a year, upkeep and floor taken off, with its {:.0f} % "
            "interval. Above the line it pays: full dots surely, rings perhaps.</p>\n",
            100.0 * h_.confidence);
        end_section();
    }

    void how_sure() {
        std::string words;
        switch (r_.end) {
            case study::SizeEnd::Clear:
                words = fmt::format(
                    "Clear: one room is left. The chance that the chosen room is the best, or "
                    "within {} a day of it, is at least {:.0f} %.",
                    indifference(), 100.0 * h_.confidence);
                break;
            case study::SizeEnd::Days:
                words =
                    "A larger difference that does not matter (--indifference) decides it sooner "
                    "too.";
                break;
            case study::SizeEnd::Interrupted:
                words = "Interrupted: the best so far, nothing is decided.";
                break;
        }
        out_ += "<p class=\"note\">" + html(words + " " + precision_words(r_)) + "</p>\n";
        end_section();
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
            difference(&SizeCell::cost,
                       head_of("Cost of a day").append("; the change itself not counted").c_str(),
                       true);
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
        if (!r_.volumes_simulated) {
            out_ +=
                "<p>Not all volumes were simulated before the end: nothing is said about "
                "them.</p>\n";
            return;
        }
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
            "cent of today's. Band: {:.0f} % interval over the days on which all were simulated. "
            "Dotted: "
            "today's room. Dashed: "
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
            heads.push_back("bottleneck, next");
        }
        table(heads);
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            std::vector<std::string> cells;
            for (const auto& k : r_.kinds) {
                if (k.option != static_cast<int>(o)) continue;
                cells.push_back(
                    k.days > 0 ? fmt::format("{:.0f} %", 100.0 * k.on_time) +
                                     beside(o, k.days, r_.kinds[kind_of(k)].days, k.today_on_time)
                               : "–");
                cells.push_back(figure(k.tardiness_h, o));
                cells.push_back(html(k.bottleneck) + "<br><small>" + html(k.next) + "</small>");
            }
            row(o, cells);
        }
        end_table();
        end_section();
    }

    /// Index of today's room on the same kind of day.
    static std::size_t kind_of(const study::SizeKindCell& k) {
        return static_cast<std::size_t>(k.kind);
    }
    /// A room that simulated fewer days than today's is held against today's on the same days.
    static std::string beside(std::size_t o, std::size_t days, std::size_t days_of_today,
                              double today) {
        if (o == 0 || days == days_of_today) return {};
        return fmt::format("<br><small>today {:.0f} % on its {} days</small>", 100.0 * today, days);
    }

    void theory() {
        section("theory", "Cross-check with theory");
        const bool differs = std::any_of(r_.disagree.begin(), r_.disagree.end(),
                                         [](const auto& list) { return !list.empty(); });
        out_ +=
            fmt::format("<details><summary>{}</summary>\n",
                        differs ? "What times alone say contradicts the simulated days in places"
                                : "What times alone say, and the simulated days, agree");
        table({"Room", "Limit", "Screens a day it carries", "Raw process time h", "Critical WIP",
               "Cycle h: best case", "practical worst case", "worst case", "Units", "Load",
               "Units by √ rule"});
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
        out_ += "</details>\n";
        end_section();
    }

    void figures() {
        section("figures", "All figures");
        out_ += "<details><summary>Every room at every volume</summary>\n";
        for (std::size_t v = 0; v < h_.volumes.size(); ++v) {
            out_ += fmt::format("<h3>{:.0f} % of today's volume</h3>\n", 100.0 * h_.volumes[v]);
            table({"Room", "Days", "On time", "Lateness h", "Turnaround p90 h", "Screens a day",
                   "Overtime h", "Energy kWh", head_of("Cost of a day")});
            for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
                const SizeCell& c = r_.cell(o, v);
                row(o,
                    {std::to_string(c.days) +
                         (c.incomplete > 0
                              ? fmt::format("<br><small>{} did not end</small>", c.incomplete)
                              : ""),
                     fmt::format("{:.0f} %", 100.0 * c.on_time) +
                         between(100.0 * c.on_time_interval.low, 100.0 * c.on_time_interval.high,
                                 0) +
                         beside(o, c.days, r_.cell(0, v).days, c.today_on_time),
                     figure(c.tardiness_h, o), figure(c.turnaround_p90_h, o), figure(c.screens, o),
                     figure(c.overtime_h, o), figure(c.energy_kwh, o), figure(c.cost, o, 0)});
            }
            end_table();
        }
        out_ +=
            "<p class=\"note\">Today's room: mean of a day; changes: paired difference to "
            "today. Intervals below.</p>\n</details>\n";
        end_section();
    }

    void how() {
        section("how", "How this was found");
        out_ += "<details><summary>Days, rules, sources</summary>\n<ul class=\"plain\">\n";
        for (std::size_t o = 0; o < h_.rooms.size(); ++o) {
            const auto& room = h_.rooms[o];
            const std::string first =
                room.order_of_work.empty() ? "" : " What goes first: " + room.order_of_work + ".";
            if (o > 0 || !first.empty())
                out_ += fmt::format("<li><b>{}</b>{}{}{}</li>\n", html(room.name),
                                    o > 0 ? ": " + html(room.words) + "." : ":", html(first),
                                    room.invented ? " Invented figures." : "");
        }
        out_ += fmt::format(
            "<li>{} Step times, drying and failures then turn out otherwise; every room meets the "
            "same variation on the same day (common random numbers).</li>\n",
            h_.effort > 0
                ? fmt::format("Each room works by its own plan, made with {} schedules and "
                              "simulated days, or by that of another room where it suits better.",
                              h_.effort)
                : "Each day is worked off by the rule " + html(h_.policy) + ".");
        out_ += fmt::format(
            "<li>{} days of every room at every volume, {} at the volume of the decision; rooms "
            "that "
            "are clearly worse are left out early (procedure of Kim and Nelson 2001, {:.0f} % "
            "chance "
            "of a correct selection, indifference zone {} a day).</li>\n",
            h_.least, h_.every_day ? "the same" : fmt::format("at most {}", h_.most),
            100.0 * h_.confidence, indifference());
        if (h_.past_days > 0) {
            out_ += fmt::format(
                "<li>Each day takes the orders of one of {} past days, drawn with "
                "equal chances.</li>\n",
                h_.past_days);
        }
        out_ += "<li>Formulas and their sources: docs/sizing.md.</li>\n</ul>\n</details>\n";
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
        out_ += fmt::format("<footer class=\"foot\"><p>{}, seed {}. Input {}</p></footer>\n",
                            html(program_), h_.seed, html(h_.fingerprint.substr(0, 16)));
    }

    std::string program_;
};

}  // namespace

std::string size_to_page(const SizeResult& result, std::string_view program) {
    return SizePageWriter(result, program).write();
}

}  // namespace sched::report
