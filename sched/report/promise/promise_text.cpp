#include "sched/report/promise/promise_text.hpp"

#include <fmt/format.h>

#include <cmath>

#include "model/base/shown.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

using study::EndangeredOrder;
using study::Promise;

std::string enquiry_words(const Promise& p) {
    std::string out;
    for (const auto& line : p.enquiry.lines) {
        if (!out.empty()) out += "; ";
        out += fmt::format("{} {}", line.count, line.count == 1 ? "screen" : "screens");
        if (line.mesh) out += ", mesh " + *line.mesh;
        out += fmt::format(", {}, {}, coat plan {}", area_words(line.frame), line.emulsion,
                           line.coat_plan);
        if (line.kept_stencil) out += ", kept stencil";
        if (line.film_ready) out += ", film " + weekday_time(*line.film_ready);
    }
    return out;
}

std::string minutes_words(double minutes) {
    const auto whole = std::llround(std::abs(minutes));
    return model::format_duration(model::minutes(whole));
}

std::string endangered_words(const EndangeredOrder& e) {
    std::string out = fmt::format("{}{}: {} of {} days in time without it, {} with it", e.order,
                                  e.customer.empty() ? "" : " (" + e.customer + ")", e.before.kept,
                                  e.before.of, e.after.kept);
    if (std::abs(e.later_minutes) >= 0.5) {
        out += fmt::format("; {} {} on average", minutes_words(e.later_minutes),
                           e.later_minutes > 0 ? "later" : "sooner");
    }
    return out;
}

// The worst first; the rest as a number.
std::string endangered_lines(const std::vector<EndangeredOrder>& orders, const char* indent,
                             std::size_t most) {
    std::string out;
    std::size_t said = 0;
    std::size_t more = 0;
    for (const auto& e : orders) {
        if (!worth_saying(e)) continue;
        if (said++ < most) {
            out += indent + endangered_words(e) + "\n";
        } else {
            ++more;
        }
    }
    if (more > 0) out += fmt::format("{}and {} more (--json has all)\n", indent, more);
    return out;
}

}  // namespace

bool worth_saying(const study::EndangeredOrder& e) {
    const std::int64_t lost = e.lost_days - e.won_days;
    return lost * 50 > e.before.of || (e.later_minutes >= 30.0 && e.after.kept < e.after.of);
}

bool harmed(const study::EndangeredOrder& e) {
    const std::int64_t lost = e.lost_days - e.won_days;
    return lost * 50 > e.before.of || e.more_late_minutes >= 10.0;
}

std::string weekday_time(core::SimTime t) {
    return study::say_time(t);
}

std::string odds_words(const study::Odds& odds) {
    return fmt::format("{:.0f} % ({} of {} simulated days; 95 % sure between {:.0f} and {:.0f} %)",
                       100.0 * odds.share, odds.kept, odds.of, 100.0 * odds.interval.low,
                       100.0 * odds.interval.high);
}

std::string promise_to_text(const Promise& p, bool explain) {
    std::string out = fmt::format("Enquiry {}: {}\n", p.enquiry.name, enquiry_words(p));
    if (p.invented) out += "(" + p.room + ": invented data)\n";
    for (const auto& note : p.present)
        out += "  " + note + "\n";
    if (!p.impossible.empty()) return out + "No answer: " + p.impossible + "\n";
    out += "\n  " + p.sentence + "\n\n";
    out += fmt::format("Ready, of {} simulated days:\n", p.days);
    for (const auto& q : p.quantiles) {
        out += fmt::format("  {:>3.0f} %  {}\n", 100.0 * q.level,
                           q.ready ? weekday_time(*q.ready) : "beyond the days looked ahead");
    }
    if (p.unfinished > 0)
        out += fmt::format("  ({} did not end and count{} as latest)\n",
                           counted(p.unfinished, "day"), p.unfinished == 1 ? "s" : "");
    if (p.recommended) {
        out += fmt::format("Promise: {}  ({:.0f} % at {}", weekday_time(*p.recommended),
                           100.0 * p.level, weekday_time(*p.at_level));
        if (p.correction.count() != 0) {
            out += fmt::format(", {} of it from past errors",
                               minutes_words(static_cast<double>(p.correction.count()) / 60.0));
        }
        out +=
            fmt::format(", then {})\n  kept on {}\n", p.slot_words, odds_words(p.recommended_odds));
    }
    if (p.wanted) {
        out += fmt::format("Wanted by {}: {}\n", weekday_time(*p.enquiry.wanted),
                           odds_words(*p.wanted));
    }
    out += "\nWhat it does to orders that are promised already:\n";
    const std::string harm = endangered_lines(p.endangered, "  ", 6);
    out += harm.empty() ? "  nothing that shows: no order loses one day in fifty or half an hour\n"
                        : harm;
    if (!p.remedies.empty()) {
        out += "\nTo have it sooner:\n";
        for (const auto& r : p.remedies) {
            out += "  " + r.words + ": ";
            if (r.recommended && r.recommended != p.recommended) {
                out += weekday_time(*r.recommended);
            } else {
                out += "the same promise";
            }
            // It is the time at the level that is so much sooner, not the pick-up.
            if (r.ready)
                out += fmt::format(" ({:.0f} % at {}, {} {})", 100.0 * p.level,
                                   weekday_time(*r.ready), minutes_words(r.sooner_minutes),
                                   r.sooner_minutes >= 0 ? "sooner" : "later");
            if (r.wanted) out += fmt::format("; wanted time {:.0f} %", 100.0 * r.wanted->share);
            out += "\n";
            out += endangered_lines(r.consequences, "    ", 4);
        }
    }
    if (explain && !p.chain.empty()) {
        out += "\nWhat decides the date, first to last:\n";
        for (const auto& link : p.chain)
            out += "  " + link.words + "\n";
    }
    return out;
}

}  // namespace sched::report
