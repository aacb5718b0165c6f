#include "sched/statistics/money.hpp"

#include <cmath>

#include "tests/catch.hpp"

using namespace sched::study;

namespace {
using Flows = std::vector<double>;
}

// Gitman, Principles of Managerial Finance, Brief, 3rd ed., p. 346, as worked in the documentation
// of numpy.npv (numpy 1.16): rate 0.281, flows -100, 39, 59, 55, 20. And the documentation of
// numpy-financial: internal rate of -250000, 100000, ... 300000.
TEST_CASE("present value and internal rate reproduce a reference library", "[money]") {
    const Flows gitman = {-100, 39, 59, 55, 20};
    CHECK(net_present_value(0.281, gitman) == Approx(-0.0084785916384548798).epsilon(1e-9));
    const Flows growing = {-250000, 100000, 150000, 200000, 250000, 300000};
    REQUIRE(internal_rate(growing));
    CHECK(*internal_rate(growing) == Approx(0.5672303344358536).epsilon(1e-12));
}

// Brealey, Myers and Marcus, Fundamentals of Corporate Finance, solutions to chapter 8, problems 1
// to 7: A costs 200 and brings 80 for 4 years, B costs 200 and brings 100 for 3 years.
TEST_CASE("a textbook pair of projects", "[money]") {
    const Flows a = {-200, 80, 80, 80, 80};
    const Flows b = {-200, 100, 100, 100};
    CHECK(net_present_value(0.11, a) == Approx(48.20).margin(0.005));
    CHECK(net_present_value(0.11, b) == Approx(44.37).margin(0.005));
    CHECK(net_present_value(0.16, a) == Approx(23.85).margin(0.005));
    CHECK(net_present_value(0.16, b) == Approx(24.59).margin(0.005));
    CHECK(*internal_rate(a) == Approx(0.2186).margin(0.00005));
    CHECK(*internal_rate(b) == Approx(0.2338).margin(0.00005));
    CHECK(*payback_years(a) == Approx(2.5));
    CHECK(*payback_years(b) == Approx(2.0));
    CHECK(-200 + 80 * annuity_factor(0.11, 4) == Approx(net_present_value(0.11, a)));
}

// A published worked exercise (9 %, -175,000, then 45, 55, 65, 85 thousand): NPV 22,984.87,
// equivalent annual annuity 7,094.71, payback 3.12 years.
TEST_CASE("a textbook equivalent annuity and payback", "[money]") {
    const Flows flows = {-175000, 45000, 55000, 65000, 85000};
    CHECK(net_present_value(0.09, flows) == Approx(22984.87).margin(0.005));
    CHECK(yearly_equivalent(net_present_value(0.09, flows), 0.09, 4) ==
          Approx(7094.71).margin(0.006));
    CHECK(*payback_years(flows) == Approx(3.12).margin(0.005));
}

// Brealey and Myers, Principles of Corporate Finance, three projects at 10 % and two machines at 6
// % (from memory, recomputed): NPV 2624, -58, 50; payback 3, 2, 2 years; yearly cost 10.61
// and 11.45.
TEST_CASE("payback and present value can disagree", "[money]") {
    const Flows a = {-2000, 500, 500, 5000};
    const Flows b = {-2000, 500, 1800, 0};
    const Flows c = {-2000, 1800, 500, 0};
    CHECK(net_present_value(0.10, a) == Approx(2624).margin(0.5));
    CHECK(net_present_value(0.10, b) == Approx(-58).margin(0.5));
    CHECK(net_present_value(0.10, c) == Approx(50).margin(0.5));
    CHECK(std::ceil(*payback_years(a)) == 3);
    CHECK(std::ceil(*payback_years(b)) == 2);
    CHECK_FALSE(payback_years(b, 0.10));
    CHECK(payback_years(c, 0.10));
    CHECK(yearly_equivalent(15 + 5 * annuity_factor(0.06, 3), 0.06, 3) ==
          Approx(10.61).margin(0.005));
    CHECK(yearly_equivalent(10 + 6 * annuity_factor(0.06, 2), 0.06, 2) ==
          Approx(11.45).margin(0.005));
}

TEST_CASE("the case of a change by hand", "[money]") {
    // Saves 30 +- 10 a day on 250 days, upkeep 500, 2 m2 at 100: 7,500 - 700 = 6,800 a year (4,300
    // .. 9,300). Costs 18,000 + 2,000, lives 4 years, no interest: NPV 7,200 (-2,800 .. 17,200),
    // payback 20,000 / 6,800 = 2.94 years; NPV 0 at (5,000 + 700) / 250 = 22.80 a day.
    const Difference saving{.difference = 30, .interval = {20, 40}};
    const ChangeCost cost{
        .purchase = 18000, .installation = 2000, .life = 4, .upkeep = 500, .floor_area = 2};
    const MoneyCase m = money_case(saving, cost, {.floor = 100});
    CHECK(m.yearly_benefit == Approx(6800));
    CHECK(m.yearly_interval.low == Approx(4300));
    CHECK(m.net_present_value == Approx(7200));
    CHECK(m.value_interval.low == Approx(-2800));
    CHECK(m.value_interval.high == Approx(17200));
    CHECK(*m.payback == Approx(20000.0 / 6800));
    CHECK(m.needed_saving_a_day == Approx(22.80));
    CHECK(money_sentence("A second cabinet", m, 0.95) ==
          "A second cabinet may or may not pay: 20,000 now, about 6,800 a year, worth 7,200 over "
          "its life "
          "(95 % interval -2,800 to 17,200).");
    // The same in the shop's currency: the code of ISO 4217 before each amount.
    CHECK(money_sentence("A second cabinet", m, 0.95, "EUR") ==
          "A second cabinet may or may not pay: EUR 20,000 now, about EUR 6,800 a year, worth EUR "
          "7,200 over its life (95 % interval EUR -2,800 to EUR 17,200).");
    CHECK(amount_words(-1234.5, "SEK") == "SEK -1,234");
    CHECK(money_words(12.34, 1, "EUR") == "EUR 12.3");
    CHECK(money_words(12.34, 1, "") == "12.3 in money");
    // With interest, what is needed a day makes the net present value zero.
    const Prices dear{.interest = 0.08, .floor = 100};
    const MoneyCase n = money_case(saving, cost, dear);
    const Difference needed{.difference = n.needed_saving_a_day, .interval = {0, 0}};
    CHECK(money_case(needed, cost, dear).net_present_value == Approx(0).margin(1e-6));
}

// GNU Octave 7.3 with its package financial 0.5.3 (Debian octave-financial), which shares no code
// with ours. The figures are what these printed:
//   pkg load financial
//   npv(0.06, 1300*ones(12,1), -11200) + 500/1.06^12      -52.5181957132
//   pv(0.06, 12, 1)                                         8.3838439404
//   pmt(0.06, 12, 11200)                                 1335.9027290634
//   irr([-11200 1300*ones(1,11) 1800])                      0.059163558751
//   npv(0.11, [80 80 80 80], -200)                         48.1956551673
//   npv(0.06, 1300*1.02.^(1:12)', -11200) + 500*1.02^12/1.06^12     1371.4455834454
TEST_CASE("a case agrees with Octave, with and without inflation", "[money]") {
    CHECK(annuity_factor(0.06, 12) == Approx(8.3838439404).epsilon(1e-10));
    CHECK(yearly_equivalent(11200, 0.06, 12) == Approx(1335.9027290634).epsilon(1e-12));
    CHECK(net_present_value(0.11, Flows{-200, 80, 80, 80, 80}) ==
          Approx(48.1956551673).epsilon(1e-10));
    // 6 a day on 250 days less upkeep 200: 1,300 a year.
    const Difference saving{.difference = 6, .interval = {5, 7}};
    const ChangeCost cost{
        .purchase = 9800, .installation = 1400, .life = 12, .left_over = 500, .upkeep = 200};
    const MoneyCase m = money_case(saving, cost, {.interest = 0.06});
    CHECK(m.yearly_benefit == Approx(1300));
    CHECK(m.net_present_value == Approx(-52.5181957132).epsilon(1e-9));
    CHECK(*m.rate == Approx(0.059163558751).epsilon(1e-9));
    CHECK(m.years == 12.0);
    // What the page works through: benefit x factor + purchases.
    CHECK(m.yearly_benefit * annuity_factor(0.06, m.years) + m.purchases_value ==
          Approx(m.net_present_value));
    // Everything 2 % dearer a year, money counted at 6 %: Octave discounts the risen amounts.
    const MoneyCase n = money_case(saving, cost, {.interest = 0.06, .inflation = 0.02});
    CHECK(n.net_present_value == Approx(1371.4455834454).epsilon(1e-10));
    CHECK(real_interest({.interest = 0.06, .inflation = 0.02}) == Approx(0.039215686275));
    CHECK(n.yearly_benefit == m.yearly_benefit);
    // With interest it is paid back later, here never within its life (npv < 0 but for what is
    // left over); without, after 11,200 / 1,300 years.
    CHECK(*m.payback == Approx(11200.0 / 1300.0));
    CHECK_FALSE(m.payback_discounted);
    REQUIRE(n.payback_discounted);
    CHECK(*n.payback_discounted > *n.payback);
}

TEST_CASE("prices that are not given cost nothing", "[money]") {
    const DayCost day{.overtime_hours = 2, .late_orders = 1, .energy_kwh = 40};
    CHECK(cost_of_day(day, {}) == 0.0);
    CHECK(cost_of_day(day, {.energy = 0.3, .overtime_hour = 25, .late_order = 80}) ==
          Approx(50 + 80 + 12));
}

TEST_CASE("the break-even volume lies between the points around it", "[money]") {
    const Flows volumes = {80, 100, 120};
    CHECK(*break_even(volumes, Flows{-100, -50, 50}) == Approx(110));
    CHECK(*break_even(volumes, Flows{10, 20, 30}) == Approx(80));
    CHECK_FALSE(break_even(volumes, Flows{-3, -2, -1}));
    CHECK(*break_even(volumes, Flows{10, -50, 50}) == Approx(110));  // what dips does not pay yet
    CHECK_FALSE(break_even(volumes, Flows{10, 20, -1}));
    CHECK_FALSE(break_even(Flows{}, Flows{}));
}

// Brealey, Myers and Marcus, Fundamentals of Corporate Finance, ch. 9, projects of unequal lives:
// a machine of 2 years against one of 3 is compared over a chain of replacements; the yearly
// equivalent of a chain is that of one link. Over 12 years (4 x 3, 6 x 2) nothing is left unused.
TEST_CASE("changes of unequal lives are bought again over the longest", "[money]") {
    const Prices prices{.interest = 0.06};
    const ChangeCost building{.purchase = 0.0, .life = 12.0};
    for (const double life : {2.0, 3.0, 4.0, 6.0}) {
        const ChangeCost machine{.purchase = 15.0, .installation = 1.0, .life = life};
        const std::vector<ChangeCost> both = {machine, building};
        const auto chain = money_case(Difference{}, both, prices);
        const auto one = money_case(Difference{}, machine, prices);
        CHECK(chain.needed_saving_a_day == Approx(one.needed_saving_a_day));
        CHECK(chain.net_present_value ==
              Approx(-yearly_equivalent(16.0, 0.06, life) * annuity_factor(0.06, 12)));
        // The equal yearly amount worth what the whole is worth.
        CHECK(yearly_equivalent(chain.net_present_value, 0.06, 12) == Approx(chain.yearly_net));
        CHECK(chain.yearly_net == Approx(one.yearly_net));
        CHECK(chain.investment == 16.0);
    }
    // 5 years in 12: bought at 0, 5 and 10; of the third three fifths are unused.
    const std::vector<ChangeCost> odd = {{.purchase = 100.0, .life = 5.0}, building};
    CHECK(money_case(Difference{}, odd, Prices{}).net_present_value ==
          Approx(-300.0 + 100.0 * 3.0 / 5.0));
}
