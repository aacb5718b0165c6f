#pragma once
// Money of a change to the room: what it costs, what it brings in a year, and when it has paid.
// Amounts in the shop's currency, rates per year, cash flows at the end of each year; sources:
// Brealey, Myers and Marcus, Fundamentals of Corporate Finance, ch. 8; Gitman, Principles of
// Managerial Finance.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sched/statistics/output_analysis.hpp"

namespace sched::study {

/// Net present value: sum of flows[t] / (1 + rate)^t, flows[0] is today. rate > -1.
double net_present_value(double rate, std::span<const double> flows);

/// RemainingProblem value of 1 a year for n years: (1 - (1+r)^-n) / r; n when r = 0.
double annuity_factor(double rate, double years);

/// The equal yearly amount worth `present` over n years (capital recovery).
double yearly_equivalent(double present, double rate, double years);

/// The rate with net present value 0, by bisection in (-0.99, 100); nullopt: no change of sign
/// there. Flows that change sign once have one answer.
std::optional<double> internal_rate(std::span<const double> flows);

/// Years until the flows have paid back what went out, in equal parts within a year; discounted
/// with `rate` (0: plain). nullopt: never within the flows.
std::optional<double> payback_years(std::span<const double> flows, double rate = 0.0);

/// What things cost in this shop; everything is optional and zero if not given.
struct Prices {
    double interest = 0.0;         // per year, 0.06 = 6 %, as the bank says it
    double inflation = 0.0;        // per year; prices, wages and what is bought again rise with it
    double energy = 0.0;           // per kWh
    double floor = 0.0;            // per m2 and year
    double overtime_hour = 0.0;    // wage
    double late_order = 0.0;       // per order that misses its time
    double late_hour = 0.0;        // per hour that an order is late
    double screen_sent_out = 0.0;  // per screen made elsewhere
    double days_a_year = 250.0;    // working days
    std::string currency;          // of all amounts, ISO 4217; empty: not said
    friend bool operator==(const Prices&, const Prices&) = default;
};

/// What one change costs.
struct ChangeCost {
    double purchase = 0.0;
    double installation = 0.0;
    double life = 1.0;        // years, >= 1 in whole years
    double left_over = 0.0;   // what it still fetches at the end
    double upkeep = 0.0;      // per year
    double floor_area = 0.0;  // m2 more than today
    friend bool operator==(const ChangeCost&, const ChangeCost&) = default;
};

/// What one simulated day costs beyond the fixed.
struct DayCost {
    double overtime_hours = 0.0;
    double late_orders = 0.0;
    double late_hours = 0.0;
    double energy_kwh = 0.0;
    double screens_sent_out = 0.0;
};
/// Interest beyond inflation, (1 + interest) / (1 + inflation) - 1 (Fisher; Brealey, Myers and
/// Marcus, ch. 5): amounts of today's money at this rate are worth what amounts that rise with
/// inflation are worth at the bank's. Every present value, discounted payback and internal rate
/// here is in today's money.
double real_interest(const Prices& prices);

double cost_of_day(const DayCost& day, const Prices& prices);

/// The case of a change. Every interval follows from the paired interval of the saving per day:
/// yearly benefit, NPV and the rest are straight lines in it.
struct MoneyCase {
    double investment = 0.0;      // purchase + installation
    double yearly_benefit = 0.0;  // savings less upkeep and floor
    Interval yearly_interval;
    double net_present_value = 0.0;
    Interval value_interval;
    std::optional<double> payback;  // years, plain
    std::optional<double> payback_discounted;
    std::optional<double> rate;  // internal rate of return
    /// Benefit less the purchases in equal yearly parts over the life: comparable between changes
    /// of unequal lives.
    double yearly_net = 0.0;
    Interval net_interval;
    double needed_saving_a_day = 0.0;  // at which the net present value is 0
    double years = 0.0;                // over which it is counted: the longest life
    double purchases_value = 0.0;      // present value of all buying and what is left over, < 0
};
/// @param saving mean and interval of (cost of a day today - cost of a day with the change),
/// paired.
MoneyCase money_case(const Difference& saving, const ChangeCost& cost, const Prices& prices);
/// Several changes together: over the longest life among them; what ends sooner is bought and
/// installed again, and what is not used up at the end counts in equal parts of the years left
/// (Brealey, Myers and Marcus, ch. 9, on projects of unequal lives: a chain of replacements).
MoneyCase money_case(const Difference& saving, std::span<const ChangeCost> costs,
                     const Prices& prices);

/// From which volume on a curve of values is never below zero, linear between points: its last
/// upward crossing, because a curve that dips again does not pay yet. The first volume if all
/// values are at or above 0; nullopt if the last one is below. @pre volumes ascending, equal sizes.
std::optional<double> break_even(std::span<const double> volumes, std::span<const double> values);

/// "12,400", "EUR 12,400": whole units, thousands apart.
std::string amount_words(double amount, std::string_view currency = {});

/// "EUR 12.5", or "12.5 in money" where no currency is known.
std::string money_words(double amount, int digits, std::string_view currency);

/// One sentence for the owner, amounts rounded to whole units.
std::string money_sentence(const std::string& change, const MoneyCase& money, double confidence,
                           std::string_view currency = {});

}  // namespace sched::study
