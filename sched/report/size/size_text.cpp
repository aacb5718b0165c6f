#include <fmt/format.h>

#include "sched/report/size/size_report.hpp"

namespace sched::report {
namespace {

using study::SizeResult;

/// Broken at spaces so that no line is longer than 78.
std::string broken(const std::string& text) {
    std::string out;
    std::size_t at = 0;
    std::size_t column = 0;
    while (at < text.size()) {
        std::size_t end = text.find(' ', at);
        if (end == std::string::npos) end = text.size();
        if (column > 0 && column + 1 + end - at > 78) {
            out += '\n';
            column = 0;
        } else if (column > 0) {
            out += ' ';
            ++column;
        }
        out.append(text, at, end - at);
        column += end - at;
        at = end + 1;
    }
    return out;
}

std::string difference(const study::SizeFigure& f, bool today) {
    if (today) return fmt::format("{:.2f}", f.mean.mean);
    if (f.to_today.df <= 0.0) return "-";
    const auto tenth = [](double x) { return std::round(10.0 * x) / 10.0 + 0.0; };  // no "-0.0"
    return fmt::format("{:+.1f} ({:+.1f} {:+.1f})", tenth(f.to_today.difference),
                       tenth(f.to_today.interval.low), tenth(f.to_today.interval.high));
}

std::string copes_words(const SizeResult& r, std::size_t o) {
    const auto& c = r.copes[o];
    if (!c.to) return fmt::format("below {:.0f} %", 100.0 * r.head.volumes.front());
    return fmt::format("{}{:.0f} %", c.beyond ? "beyond " : "", 100.0 * *c.to);
}

}  // namespace

const std::vector<std::string>& size_cautions() {
    static const std::vector<std::string> all = {
        "Circuit, residual-current protection and connection of heaters, lamps and fans: a "
        "licensed "
        "electrician, under local codes.",
        "Ventilation and make-up air of a further cabinet, dehumidifier or exposure unit: a "
        "licensed trade; moist and warm air must leave the room.",
        "Floor load of cabinets, sinks and racks full of wet frames: the building's engineer or "
        "owner.",
        "Water, drain and waste of a further booth or sink: local rules, licensed plumber.",
        "Ultraviolet light of a further exposure unit: shield it before anyone works beside it."};
    return all;
}

std::string precision_words(const SizeResult& r) {
    const std::size_t best = static_cast<std::size_t>(std::max(0, r.ranking.best));
    const auto& f = r.cell(best, r.decision).turnaround_p90_h.mean;
    if (f.n < 2 || f.mean <= 0.0) return "Too few days for a precision.";
    return fmt::format(
        "Turnaround of the slowest tenth in {}: {:.1f} h, known to {:.1f} % ({}, "
        "{:.0f} % wanted).",
        best == 0 ? "today's room" : r.head.rooms[best].name, f.mean, 100.0 * f.half_width / f.mean,
        r.precise ? "enough" : "not enough yet", 100.0 * r.head.precision);
}

std::string size_to_text(const SizeResult& r) {
    const study::SizeHead& h = r.head;
    std::string out = broken(r.conclusion) + "\n";
    out += fmt::format(
        "\n{} ({} days of today's room; a day counts as {}",
        r.end == study::SizeEnd::Clear  ? "The answer is clear"
        : r.end == study::SizeEnd::Days ? "The days ran out before it was clear"
                                        : "Interrupted",
        r.cell(0, r.decision).days,
        h.by_money ? "its cost in " + (h.prices.currency.empty() ? "money" : h.prices.currency)
                   : "its hours of lateness");
    out += fmt::format(", differences below {:.1f} do not matter)\n", h.indifference);
    out += precision_words(r) + "\n";
    out += "today's: orders on time in today's room on the same days; -: left out early\n";
    for (std::size_t v = 0; v < h.volumes.size(); ++v) {
        out += fmt::format(
            "\nAt {:.0f} % of today's volume (differences to today, {:.0f} % "
            "interval)\n",
            100.0 * h.volumes[v], 100.0 * h.confidence);
        out +=
            fmt::format("  {:<22} {:>4} {:>7} {:>7} {:>21} {:>21}  {}\n", "room", "days", "on time",
                        "today's", "tardiness h a day", "turnaround p90 h", "bottleneck, next");
        for (std::size_t o = 0; o < h.rooms.size(); ++o) {
            const auto& c = r.cell(o, v);
            const bool out_of_race = v == r.decision && !r.ranking.in.empty() && !r.ranking.in[o];
            out += fmt::format(
                "{} {:<22} {:>4} {:>5.1f} % {:>5.1f} % {:>21} {:>21}  {}, {}{}\n",
                out_of_race ? "-" : " ", h.rooms[o].name, c.days, 100.0 * c.on_time,
                100.0 * c.today_on_time, difference(c.tardiness_h, o == 0),
                difference(c.turnaround_p90_h, o == 0), c.bottleneck, c.next,
                c.incomplete > 0 ? fmt::format(" ({} days did not end)", c.incomplete) : "");
        }
    }
    if (r.volumes_simulated && (h.volumes.size() < 2 || r.coping < 0.005)) {
        // One volume is no curve, and to keep nothing on time no feat.
    } else if (r.volumes_simulated) {
        out +=
            fmt::format("\n{:.0f} %  of the orders on time up to a volume of\n", 100.0 * r.coping);
        for (std::size_t o = 0; o < h.rooms.size(); ++o)
            out += fmt::format("  {:<22} {}\n", h.rooms[o].name, copes_words(r, o));
    } else {
        out += "\nNot all volumes were simulated before the end: nothing is said about them.\n";
    }
    if (!r.kinds.empty()) {
        out += "\nBy kind of day: orders on time\n";
        for (std::size_t o = 0; o < h.rooms.size(); ++o) {
            out += fmt::format("  {:<22}", h.rooms[o].name);
            for (const auto& k : r.kinds) {
                if (k.option != static_cast<int>(o)) continue;
                out +=
                    fmt::format("  {} {:.0f} % ({} days, today {:.0f} %; {}, then {})",
                                h.kinds[static_cast<std::size_t>(k.kind)].name, 100.0 * k.on_time,
                                k.days, 100.0 * k.today_on_time, k.bottleneck, k.next);
            }
            out += '\n';
        }
    }
    if (h.by_money) {
        out += "\nMoney\n";
        for (std::size_t o = 1; o < h.rooms.size(); ++o)
            out += broken("  " + r.money_sentences[o]) + "\n";
    }
    for (std::size_t o = 0; o < h.rooms.size(); ++o) {
        for (const auto& words : r.disagree[o])
            out += broken("\nTheory disagrees, " + h.rooms[o].name + ": " + words) + "\n";
    }
    out += "\n" +
           broken(
               "A further cabinet, lamp or booth needs its circuit, ventilation, drain "
               "and floor load approved by licensed trades under local codes.") +
           "\n";
    return out;
}

}  // namespace sched::report
