#include "sched/study/money.hpp"

#include <fmt/format.h>

#include <cassert>
#include <cmath>

namespace sched::study {
namespace {

std::vector<double> flows_of(double investment, double yearly, const ChangeCost& cost) {
    const auto years = static_cast<std::size_t>(std::max(1.0, std::round(cost.life)));
    std::vector<double> flows(years + 1, yearly);
    flows.front() = -investment;
    flows.back() += cost.left_over;
    return flows;
}

/// "12,400"; whole units, thousands apart.
std::string amount(double x) {
    const std::string digits = fmt::format("{:.0f}", std::abs(x));
    std::string text;
    for (std::size_t i = 0; i < digits.size(); ++i) {
        if (i > 0 && (digits.size() - i) % 3 == 0) {
            text += ',';
        }
        text += digits[i];
    }
    return (x < -0.5 ? "-" : "") + text;
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

double cost_of_day(const DayCost& day, const Prices& prices) {
    return day.overtime_hours * prices.overtime_hour + day.late_orders * prices.late_order +
           day.late_hours * prices.late_hour + day.energy_kwh * prices.energy +
           day.screens_sent_out * prices.screen_sent_out;
}

MoneyCase money_case(const Difference& saving, const ChangeCost& cost, const Prices& prices) {
    MoneyCase money;
    money.investment = cost.purchase + cost.installation;
    const double fixed = cost.upkeep + cost.floor_area * prices.floor;
    const auto yearly = [&](double a_day) { return a_day * prices.days_a_year - fixed; };
    const auto value = [&](double a_year) {
        return net_present_value(prices.interest, flows_of(money.investment, a_year, cost));
    };
    money.yearly_benefit = yearly(saving.difference);
    money.yearly_interval = {yearly(saving.interval.low), yearly(saving.interval.high)};
    money.net_present_value = value(money.yearly_benefit);
    money.value_interval = {value(money.yearly_interval.low), value(money.yearly_interval.high)};
    const auto flows = flows_of(money.investment, money.yearly_benefit, cost);
    money.payback = payback_years(flows);
    money.payback_discounted = payback_years(flows, prices.interest);
    money.rate = internal_rate(flows);
    const double years = static_cast<double>(flows.size() - 1);
    const double left_now = cost.left_over * std::pow(1.0 + prices.interest, -years);
    money.needed_saving_a_day =
        (yearly_equivalent(money.investment - left_now, prices.interest, years) + fixed) /
        prices.days_a_year;
    return money;
}

std::optional<double> break_even(std::span<const double> volumes, std::span<const double> values) {
    assert(volumes.size() == values.size());
    if (values.empty()) {
        return std::nullopt;
    }
    if (values.front() >= 0.0) {
        return volumes.front();
    }
    for (std::size_t i = 1; i < values.size(); ++i) {
        if (values[i] >= 0.0) {
            const double part = -values[i - 1] / (values[i] - values[i - 1]);
            return volumes[i - 1] + part * (volumes[i] - volumes[i - 1]);
        }
    }
    return std::nullopt;
}

std::string money_sentence(const std::string& change, const MoneyCase& m, double confidence) {
    const std::string sure =
        fmt::format("{:.0f} % interval {} to {}", 100.0 * confidence, amount(m.value_interval.low),
                    amount(m.value_interval.high));
    if (m.value_interval.low > 0.0) {
        return fmt::format(
            "{} pays: it brings about {} a year for {} now{}, worth {} over its life ({}).", change,
            amount(m.yearly_benefit), amount(m.investment),
            m.payback && m.investment > 0.0 ? fmt::format(", back after {:.1f} years", *m.payback)
                                            : "",
            amount(m.net_present_value), sure);
    }
    if (m.value_interval.high < 0.0) {
        return fmt::format(
            "{} does not pay: {} now, about {} a year, a loss of {} over its life ({}).", change,
            amount(m.investment), amount(m.yearly_benefit), amount(-m.net_present_value), sure);
    }
    return fmt::format("{} is undecided: {} now, about {} a year, worth {} over its life ({}).",
                       change, amount(m.investment), amount(m.yearly_benefit),
                       amount(m.net_present_value), sure);
}

}  // namespace sched::study
