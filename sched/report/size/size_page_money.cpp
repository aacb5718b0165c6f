// Money on the size page: what a change costs and brings, what was put in, and one case worked
// through.

#include "sched/report/size/size_page_parts.hpp"

namespace sched::report {

/// "96 %", below it the span that the interval of the net present value leaves.
std::string SizePageParts::even(std::size_t o) const {
    const auto& e = r_.break_even[o];
    const auto words = [&](const std::optional<double>& v) -> std::string {
        if (!v) return fmt::format("&gt; {:.0f} %", 100.0 * h_.volumes.back());
        return fmt::format("{}{:.0f} %", *v <= h_.volumes.front() ? "≤ " : "", 100.0 * *v);
    };
    const std::string low = words(e.low);
    const std::string high = words(e.high);
    if (low == high) return words(e.at);
    return words(e.at) + "<br><small>" + low + " to " + high + "</small>";
}

void SizePageParts::money() {
    section("money", "Money");
    table({"Change", head_of("Costs now"), head_of("Brings a year"), head_of("Annual net benefit"),
           head_of("Net present value"), "Paid back after", "with interest", "Internal rate",
           "Pays from a volume of", "Days simulated"});
    for (std::size_t o = 1; o < h_.rooms.size(); ++o) {
        const auto& m = r_.money[o];
        row(o, {study::amount_words(m.investment),
                study::amount_words(m.yearly_benefit) + between_amounts(m.yearly_interval),
                study::amount_words(m.yearly_net) + between_amounts(m.net_interval),
                study::amount_words(m.net_present_value) + between_amounts(m.value_interval),
                m.payback && m.investment > 0.0 ? fmt::format("{:.1f} years", *m.payback)
                : m.investment > 0.0            ? "never"
                                                : "–",
                m.payback_discounted && m.investment > 0.0
                    ? fmt::format("{:.1f} years", *m.payback_discounted)
                : m.investment > 0.0 ? "never"
                                     : "–",
                m.rate && m.investment > 0.0 ? fmt::format("{:.0f} %", 100.0 * *m.rate) : "–",
                even(o), std::to_string(here(o).days)});
    }
    end_table();
    const auto& p = h_.prices;
    out_ += fmt::format(
        "<p class=\"note\">{:.0f} % intervals below the figures. Annual net benefit: a year's "
        "benefit less the purchase "
        "in equal yearly parts, which compares changes of unequal lives. Interest {:.1f} % a "
        "year{}, "
        "{:.0f} working days; an hour of overtime {}, a late order {}, an hour late "
        "{}, energy {} per kWh, floor {} per m² and year{}. What has no price "
        "given "
        "counts nothing. Rooms with fewer days were left out because these days looked bad: their "
        "figures lean to that side.{}</p>\n",
        100.0 * h_.confidence, 100.0 * p.interest,
        p.inflation != 0.0 ? fmt::format(" ({:.1f} % beyond inflation of {:.1f} %; amounts in "
                                         "today's money)",
                                         100.0 * study::real_interest(p), 100.0 * p.inflation)
                           : "",
        p.days_a_year, price(p.overtime_hour), price(p.late_order), price(p.late_hour),
        price(p.energy), price(p.floor),
        p.screen_sent_out > 0.0
            ? fmt::format(", a screen made elsewhere {} where that is cheaper than late",
                          price(p.screen_sent_out))
            : "",
        invented() ? " <b>The costs of the changes are invented.</b>" : "");
    end_section();
}

/// What goes in, and one case worked through, so that a reader can repeat the sum.
void SizePageParts::repeat() {
    section("sum", "What was put in, and the sum");
    out_ += "<details><summary>Purchases, and one case to work through</summary>\n";
    table({"Change", head_of("Purchase"), head_of("Installation"), "Life", head_of("Left over"),
           head_of("Upkeep a year"), "Floor m²"});
    for (std::size_t o = 1; o < h_.rooms.size(); ++o) {
        double purchase = 0.0, installation = 0.0, left = 0.0, upkeep = 0.0, floor = 0.0;
        std::string lives;
        for (const auto& c : h_.rooms[o].costs) {
            purchase += c.purchase;
            installation += c.installation;
            left += c.left_over;
            upkeep += c.upkeep;
            floor += c.floor_area;
            lives += (lives.empty() ? "" : " and ") + fmt::format("{:.0f}", c.life);
        }
        row(o,
            {study::amount_words(purchase), study::amount_words(installation), lives + " years",
             study::amount_words(left), study::amount_words(upkeep), fmt::format("{:.1f}", floor)});
    }
    end_table();
    const std::size_t o = r_.ranking.best > 0 ? static_cast<std::size_t>(r_.ranking.best) : 1;
    const auto& m = r_.money[o];
    const auto& p = h_.prices;
    double upkeep = 0.0, floor = 0.0;
    for (const auto& c : h_.rooms[o].costs) {
        upkeep += c.upkeep;
        floor += c.floor_area * p.floor;
    }
    const auto& saved = here(o).cost.to_today;
    const double rate = study::real_interest(p);
    const double factor = study::annuity_factor(rate, m.years);
    out_ += fmt::format(
        "<p><b>{}, worked through.</b> On the {:.0f} days simulated for both rooms, a day cost "
        "{} less than today ({} to {}). × {:.0f} days = {} a year; less upkeep {} "
        "and floor {}: <b>{} a year</b>. One a year for {:.0f} years at {:.2f} % is worth "
        "{:.4f} now; all buying{} comes to {} now. {} × {:.4f} − {} = <b>{}</b>, the net "
        "present value. Shared out over the years that is {} a year.</p>\n",
        html(h_.rooms[o].name), saved.df + 1.0, price(-saved.difference),
        price(-saved.interval.high), price(-saved.interval.low), p.days_a_year,
        amount(-saved.difference * p.days_a_year), amount(upkeep), amount(floor),
        amount(m.yearly_benefit), m.years, 100.0 * rate, factor,
        h_.rooms[o].costs.size() > 1 ? ", again where a life ends sooner," : "",
        amount(-m.purchases_value), amount(m.yearly_benefit), factor, amount(-m.purchases_value),
        amount(m.net_present_value), amount(m.yearly_net));
    out_ += "</details>\n";
    end_section();
}

}  // namespace sched::report
