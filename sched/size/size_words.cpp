// What a study says in sentences. Amounts are rounded to whole units, hours to tenths.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sched/size/size_day.hpp"

namespace sched::study {
namespace {

std::string capital(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
        text[0] = static_cast<char>(text[0] - 32);
    return text;
}

std::string name_list(const std::vector<std::string>& names) {
    std::string out;
    for (std::size_t i = 0; i < names.size(); ++i) {
        out += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
    }
    return out;
}

std::string sure_words(const SizeResult& r) {
    const SizeHead& h = r.head;
    return fmt::format("{:.0f} % sure, differences below {} a day not counted",
                       100.0 * h.confidence,
                       h.by_money ? money_words(h.indifference, 0, h.prices.currency)
                                  : fmt::format("{:.1f} hours of lateness", h.indifference));
}

// No "-0.0".
double tenth(double x) {
    return std::round(10.0 * x) / 10.0 + 0.0;
}

std::string difference_words(const SizeFigure& f, const std::string& what) {
    return fmt::format("{:.1f} {} ({:.1f} to {:.1f})", tenth(f.to_today.difference), what,
                       tenth(f.to_today.interval.low), tenth(f.to_today.interval.high));
}

/// What the best room does for the work, beside the money.
std::string work_words(const SizeResult& r, std::size_t o) {
    const SizeCell& c = r.cell(o, r.decision);
    return fmt::format(
        "It brings {:.0f} % of the orders out on time, today's room {:.0f} %; lateness changes by "
        "{}.",
        100.0 * c.on_time, 100.0 * c.today_on_time, difference_words(c.tardiness_h, "h a day"));
}

/// Something that leaves nearly as much for half the money or less: the owner will ask for it.
std::string cheaper_words(const SizeResult& r, std::size_t best) {
    const MoneyCase& b = r.money[best];
    std::size_t found = 0;
    for (std::size_t o = 1; o < r.money.size(); ++o) {
        const MoneyCase& m = r.money[o];
        if (o != best && b.yearly_net > 0.0 && m.net_interval.low > 0.0 &&
            m.yearly_net >= 0.8 * b.yearly_net && m.investment <= 0.5 * b.investment &&
            (found == 0 || m.yearly_net > r.money[found].yearly_net)) {
            found = o;
        }
    }
    if (found == 0) return {};
    const auto amount = [&](double x) { return amount_words(x, r.head.prices.currency); };
    return fmt::format(
        " Nearly as good for less: {} leaves {} a year after its own cost, {} {}, "
        "for {} now instead of {}.",
        r.head.rooms[found].name, amount(r.money[found].yearly_net), r.head.rooms[best].name,
        amount(b.yearly_net), amount(r.money[found].investment), amount(b.investment));
}

std::string undecided_words(const SizeResult& r, std::size_t best) {
    std::vector<std::string> left;
    for (std::size_t o = 0; o < r.ranking.in.size(); ++o) {
        if (r.ranking.in[o] && o != best) left.push_back(r.head.rooms[o].name);
    }
    if (r.ranking.mean.empty() || r.ranking.best < 0) {
        return fmt::format("{} before anything could be compared.", r.end == SizeEnd::Interrupted
                                                                        ? "It was interrupted"
                                                                        : "The days ran out");
    }
    const std::string& name = r.head.rooms[best].name;
    if (r.ranking.further == 0)
        return fmt::format("Not decided yet: too few days. So far {} is best.", name);
    const std::size_t days = r.ranking.replications[best] + r.ranking.further;
    return fmt::format(
        "Not decided yet: about {} more days would (--days {}), if they go on like these. So far "
        "{} is best; still possible: {}.",
        r.ranking.further, days, name, name_list(left));
}

}  // namespace

void add_words(SizeResult& r) {
    const SizeHead& h = r.head;
    for (std::size_t o = 0; o < h.rooms.size(); ++o) {
        r.money_sentences.push_back(
            o == 0 || !h.by_money
                ? std::string{}
                : money_sentence(h.rooms[o].name, r.money[o], h.confidence, h.prices.currency));
    }
    const std::size_t best = static_cast<std::size_t>(std::max(0, r.ranking.best));
    const std::string& name = h.rooms[best].name;
    const bool invented = h.invented || std::any_of(h.rooms.begin(), h.rooms.end(),
                                                    [](const auto& x) { return x.invented; });
    std::string& text = r.conclusion;
    // Nobody pays for what does not matter.
    const bool no_gain = best != 0 && !h.by_money && !r.ranking.mean.empty() &&
                         r.ranking.mean[0] - r.ranking.mean[best] < h.indifference;
    if (r.end == SizeEnd::Clear) {
        const std::string what =
            h.by_money ? "cheapest, its own cost counted" : "least late, its cost not counted";
        if (no_gain) {
            text = fmt::format(
                "Leave the room as it is: {} is least late of {} rooms, but by less than {:.1f} "
                "hours of lateness a day, and its cost is not counted ({:.0f} % sure).",
                name, h.rooms.size(), h.indifference, 100.0 * h.confidence);
        } else if (best == 0) {
            text = fmt::format("Leave the room as it is: of {} rooms today's is {} ({}).",
                               h.rooms.size(), what, sure_words(r));
        } else {
            text = fmt::format("Take {}: of {} rooms it is {} ({}). ", name, h.rooms.size(), what,
                               sure_words(r));
            text += work_words(r, best);
            if (h.by_money) text += " " + capital(r.money_sentences[best]) + cheaper_words(r, best);
        }
    } else {
        // What the best so far would bring stands in the tables: as a sentence it would decide.
        text = undecided_words(r, best);
    }
    // One volume is no curve, and to keep nothing on time no feat.
    if (best != 0 && !no_gain && r.end == SizeEnd::Clear && h.volumes.size() > 1 &&
        r.coping >= 0.005) {
        const auto& copes = r.copes[best];
        const std::string goal = fmt::format("{:.0f} % of the orders on time", 100.0 * r.coping);
        if (copes.beyond) {
            text += fmt::format(" It keeps {} up to at least {:.0f} % of today's volume.", goal,
                                100.0 * *copes.to);
        } else if (copes.to) {
            text += fmt::format(" It keeps {} up to {:.0f} % of today's volume.", goal,
                                100.0 * *copes.to);
        }
    }
    if (!h.overdue.empty()) {
        const bool one = h.overdue.size() == 1;
        text += fmt::format(
            " {} due before the day begins: late already, whatever is bought. {} in no number or "
            "share of late orders; {} hours of lateness count from the beginning of the day.",
            (one ? "Order " : "Orders ") + name_list(h.overdue) + (one ? " was" : " were"),
            one ? "It is" : "They are", one ? "its" : "their");
    }
    if (invented) text += " The figures are invented: put in your own before you buy.";
}

}  // namespace sched::study
