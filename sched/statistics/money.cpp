// How it works: a change becomes a row of yearly flows (purchases at the start of each life,
// what is left at its end), discounted at the real rate. The internal rate is found by
// bisection and exists only where the value changes its sign; the interval of a value is that
// of the saving, carried through.

#include "sched/statistics/money.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>

namespace sched::study {
namespace {

std::size_t whole_years(const ChangeCost& cost) {
    return static_cast<std::size_t>(std::max(1.0, std::round(cost.life)));
}

/// Flows of the purchases alone over `years`: out at the start of each life, left over at its end;
/// of the last one what is not used up.
std::vector<double> purchases(std::span<const ChangeCost> costs, std::size_t years) {
    std::vector<double> flows(years + 1, 0.0);
    for (const auto& c : costs) {
        const std::size_t life = whole_years(c);
        const double out = c.purchase + c.installation;
        for (std::size_t t = 0; t < years; t += life) {
            flows[t] -= out;
            const std::size_t end = t + life;
            if (end <= years) {
                flows[end] += c.left_over;
            } else {
                const double unused = static_cast<double>(end - years) / static_cast<double>(life);
                flows[years] += c.left_over + (out - c.left_over) * unused;
            }
        }
    }
    return flows;
}

}  // namespace

double net_present_value(double rate, std::span<const double> flows) {
    assert(rate > -1.0);
    double value = 0.0;
    for (std::size_t t = flows.size(); t-- > 0;) {
        value = value / (1.0 + rate) + flows[t];
    }
    return value;
}

double annuity_factor(double rate, double years) {
    return rate == 0.0 ? years : -std::expm1(-years * std::log1p(rate)) / rate;
}

double yearly_equivalent(double present, double rate, double years) {
    return present / annuity_factor(rate, years);
}

std::optional<double> internal_rate(std::span<const double> flows) {
    double low = -0.99;
    double high = 100.0;
    const bool rises = net_present_value(low, flows) < 0.0;
    if ((net_present_value(high, flows) < 0.0) == rises) {
        return std::nullopt;
    }
    for (int i = 0; i < 200 && high - low > 1e-15; ++i) {
        const double middle = 0.5 * (low + high);
        ((net_present_value(middle, flows) < 0.0) == rises ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

std::optional<double> payback_years(std::span<const double> flows, double rate) {
    double balance = 0.0;
    double weight = 1.0;
    for (std::size_t t = 0; t < flows.size(); ++t, weight /= 1.0 + rate) {
        const double flow = flows[t] * weight;
        if (balance < 0.0 && balance + flow >= 0.0) {
            return static_cast<double>(t) - 1.0 - balance / flow;
        }
        balance += flow;
        if (t == 0 && balance >= 0.0) {
            return 0.0;
        }
    }
    return std::nullopt;
}

double real_interest(const Prices& prices) {
    if (prices.inflation == 0.0) return prices.interest;  // exactly
    return (1.0 + prices.interest) / (1.0 + prices.inflation) - 1.0;
}

double cost_of_day(const DayCost& day, const Prices& prices) {
    return day.overtime_hours * prices.overtime_hour + day.late_orders * prices.late_order +
           day.late_hours * prices.late_hour + day.energy_kwh * prices.energy +
           day.screens_sent_out * prices.screen_sent_out;
}

MoneyCase money_case(const Difference& saving, const ChangeCost& cost, const Prices& prices) {
    return money_case(saving, std::span(&cost, 1), prices);
}

MoneyCase money_case(const Difference& saving, std::span<const ChangeCost> costs,
                     const Prices& prices) {
    MoneyCase money;
    std::size_t years = 1;
    double fixed = 0.0;
    for (const auto& c : costs) {
        years = std::max(years, whole_years(c));
        fixed += c.upkeep + c.floor_area * prices.floor;
        money.investment += c.purchase + c.installation;
    }
    const auto bought = purchases(costs, years);
    const double interest = real_interest(prices);
    money.years = static_cast<double>(years);
    money.purchases_value = net_present_value(interest, bought);
    const auto yearly = [&](double a_day) { return a_day * prices.days_a_year - fixed; };
    const auto flows_of = [&](double a_year) {
        std::vector<double> flows = bought;
        for (std::size_t t = 1; t < flows.size(); ++t)
            flows[t] += a_year;
        return flows;
    };
    const auto value = [&](double a_year) { return net_present_value(interest, flows_of(a_year)); };
    money.yearly_benefit = yearly(saving.difference);
    money.yearly_interval = {yearly(saving.interval.low), yearly(saving.interval.high)};
    money.net_present_value = value(money.yearly_benefit);
    money.value_interval = {value(money.yearly_interval.low), value(money.yearly_interval.high)};
    const auto flows = flows_of(money.yearly_benefit);
    money.payback = payback_years(flows);
    money.payback_discounted = payback_years(flows, interest);
    money.rate = internal_rate(flows);
    money.needed_saving_a_day =
        (yearly_equivalent(-money.purchases_value, interest, money.years) + fixed) /
        prices.days_a_year;
    const auto net = [&](double a_day) {
        return (a_day - money.needed_saving_a_day) * prices.days_a_year;
    };
    money.yearly_net = net(saving.difference);
    money.net_interval = {net(saving.interval.low), net(saving.interval.high)};
    return money;
}

std::optional<double> break_even(std::span<const double> volumes, std::span<const double> values) {
    assert(volumes.size() == values.size());
    if (values.empty()) {
        return std::nullopt;
    }
    std::size_t from = values.size();  // no value below zero from here on
    while (from > 0 && values[from - 1] >= 0.0)
        --from;
    if (from == values.size()) {
        return std::nullopt;
    }
    if (from == 0) {
        return volumes.front();
    }
    const double part = -values[from - 1] / (values[from] - values[from - 1]);
    return volumes[from - 1] + part * (volumes[from] - volumes[from - 1]);
}

std::string amount_words(double x, std::string_view currency) {
    const std::string digits = fmt::format("{:.0f}", std::abs(x));
    std::string text;
    for (std::size_t i = 0; i < digits.size(); ++i) {
        if (i > 0 && (digits.size() - i) % 3 == 0) {
            text += ',';
        }
        text += digits[i];
    }
    return fmt::format("{}{}{}{}", currency, currency.empty() ? "" : " ", x < -0.5 ? "-" : "",
                       text);
}

std::string money_words(double amount, int digits, std::string_view currency) {
    return currency.empty() ? fmt::format("{:.{}f} in money", amount, digits)
                            : fmt::format("{} {:.{}f}", currency, amount, digits);
}

std::string money_sentence(const std::string& change, const MoneyCase& m, double confidence,
                           std::string_view currency) {
    const auto amount = [&](double x) { return amount_words(x, currency); };
    const std::string sure =
        fmt::format("{:.0f} % interval {} to {}", 100.0 * confidence, amount(m.value_interval.low),
                    amount(m.value_interval.high));
    if (m.value_interval.low > 0.0) {
        return fmt::format(
            "{} pays: it brings about {} a year for {} now{}, worth {} over its life ({}).", change,
            amount(m.yearly_benefit), amount(m.investment),
            m.payback && m.investment > 0.0
                ? fmt::format(", back after {:.1f} years{}", *m.payback,
                              m.payback_discounted && *m.payback_discounted > *m.payback + 0.05
                                  ? fmt::format(" ({:.1f} with interest)", *m.payback_discounted)
                                  : "")
                : "",
            amount(m.net_present_value), sure);
    }
    if (m.value_interval.high < 0.0) {
        return fmt::format(
            "{} does not pay: {} now, about {} a year, a loss of {} over its life ({}).", change,
            amount(m.investment), amount(m.yearly_benefit), amount(-m.net_present_value), sure);
    }
    return fmt::format(
        "{} may or may not pay: {} now, about {} a year, worth {} over its life ({}).", change,
        amount(m.investment), amount(m.yearly_benefit), amount(m.net_present_value), sure);
}

}  // namespace sched::study
