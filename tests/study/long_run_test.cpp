// The room over weeks: nothing gets lost, Little's law to the second, and the same for every seed
// and machine.
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <map>
#include <set>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/simulate/long_run.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

struct Weeks {
    model::Scenario scenario;
    compile::CompileOptions options;
};

const Weeks& weeks_of_tomorrow() {
    static const Weeks made = [] {
        model::Diagnostics diagnostics;
        auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/tomorrow", diagnostics);
        REQUIRE(scenario);
        return Weeks{*std::move(scenario), {.start = *model::parse_date_time("2026-11-26T00:00")}};
    }();
    return made;
}

LongRunOptions some_weeks(double orders_a_day, int days) {
    const auto& w = weeks_of_tomorrow();
    LongRunOptions o;
    o.days = days;
    const auto open = open_week(w.scenario.room);
    o.arrivals = even_arrivals(orders_a_day, open.weekdays, 7, 15,
                               std::vector<double>(w.scenario.orders.size(), 1.0));
    return o;
}

LongRun weeks_simulated(const LongRunOptions& o) {
    auto run = run_long(weeks_of_tomorrow().scenario, weeks_of_tomorrow().options, o);
    REQUIRE(run);
    CHECK(run->stuck == "");
    return *std::move(run);
}

}  // namespace

TEST_CASE("weeks of orders: conservation and Little's law to the second", "[long-run]") {
    LongRunOptions o = some_weeks(12.0, 30);
    o.chance.absent = 0.03;
    o.chance.failures = {{"exposure unit", Distribution::exponential(20 * 3600.0),
                          Distribution::uniform(600.0, 3600.0)}};
    const LongRun r = weeks_simulated(o);
    CHECK(r.days == 30);
    CHECK(r.screens_in > 500);
    CHECK(r.screens_in == r.screens_out + r.screens_inside);
    CHECK(r.area_inside == r.times_inside);
    CHECK(r.area_inside > 0);
    CHECK(r.failures > 0);
    CHECK(r.absences > 0);
    CHECK(r.remakes > 0);
    for (const auto& resource : r.resources) {
        INFO(resource.name);
        CHECK(resource.utilisation.mean >= 0.0);
        CHECK(resource.utilisation.mean <= 1.0);
        CHECK(resource.allocation.mean >= resource.utilisation.mean - 1e-9);
        CHECK(resource.allocation.mean <= 1.0);
    }
}

// Ada works two days of five, sixteen of the forty: fewer than two for each batch of days. The room
// is busy, and so is she.
TEST_CASE("who is not there every day is busy on the days that he is", "[long-run]") {
    const auto& w = weeks_of_tomorrow();
    model::Scenario s = w.scenario;
    for (auto& person : s.room.people)
        person.overtime = model::Seconds{0};
    for (auto& shift : s.room.people.front().shifts)
        shift.weekdays = {true, true, false, false, false, false, false};
    const auto run = run_long(s, w.options, some_weeks(10.0, 40));
    REQUIRE(run);
    REQUIRE(run->batches >= 10);
    const auto who = std::find_if(run->resources.begin(), run->resources.end(), [&](const auto& r) {
        return r.name == s.room.people.front().name;
    });
    REQUIRE(who != run->resources.end());
    CHECK(who->utilisation.mean > 0.3);
    CHECK(who->utilisation.mean <= 1.0);
}

TEST_CASE("weeks of orders repeat: same seed, same run; another rule meets the same orders",
          "[long-run]") {
    const LongRunOptions o = some_weeks(10.0, 12);
    const LongRun a = weeks_simulated(o), b = weeks_simulated(o);
    CHECK(a.turnaround == b.turnaround);
    CHECK(a.times_inside == b.times_inside);
    LongRunOptions other = o;
    other.rule = LongRunRule::Arrival;
    const LongRun c = weeks_simulated(other);
    CHECK(c.orders_in == a.orders_in);
    CHECK(c.remakes == a.remakes);
    CHECK(c.times_inside != a.times_inside);
}

TEST_CASE("weeks of orders: the trace tells of every screen, in order of time", "[long-run]") {
    LongRunOptions o = some_weeks(8.0, 8);
    std::int64_t last = 0;
    std::int64_t in = 0, out = 0, starts = 0, ends = 0;
    int backwards = 0;
    std::set<std::pair<std::uint64_t, int>> begun;
    o.trace = [&](const TraceEvent& e) {
        backwards += e.at < last ? 1 : 0;
        last = e.at;
        switch (e.what) {
            case TraceEvent::What::OrderIn:
                ++in;
                break;
            case TraceEvent::What::OrderOut:
                ++out;
                break;
            case TraceEvent::What::Start:
                ++starts;
                begun.insert({e.order, e.screen});
                break;
            case TraceEvent::What::WorkEnd:
                ++ends;
                break;
        }
    };
    const LongRun r = weeks_simulated(o);
    CHECK(backwards == 0);
    CHECK(in == r.orders_in);
    CHECK(out == r.orders_out);
    CHECK(static_cast<std::int64_t>(begun.size()) >= r.screens_out);
    CHECK(static_cast<std::int64_t>(begun.size()) <= r.screens_in);
    CHECK(ends <= starts);
    CHECK(starts - ends <= r.screens_inside);  // at most one step of each under way
}

TEST_CASE("arrivals: a Poisson process by weekday and hour, or days as they were", "[long-run]") {
    ArrivalProcess p;
    p.kind_weight = {1.0, 3.0};
    p.per_hour[0][8] = 2.0;
    p.per_hour[0][9] = 6.0;
    std::vector<Arrival> all;
    const int mondays = 2000;
    for (std::int64_t w = 0; w < mondays; ++w)
        p.draw(w * 7 * 86'400, engine::Draws(1, 0), all);
    int early = 0, second_kind = 0;
    for (const auto& a : all) {
        const auto hour = a.at % (7 * 86'400) / 3600;
        REQUIRE((hour == 8 || hour == 9));
        early += hour == 8 ? 1 : 0;
        second_kind += a.kind;
    }
    // Poisson: the count of 2000 hours at 2 has mean 4000, standard deviation 63; four of them.
    CHECK(std::abs(early - 4000) < 253);
    CHECK(std::abs(static_cast<int>(all.size()) - early - 12000) < 438);
    const double share = static_cast<double>(second_kind) / static_cast<double>(all.size());
    CHECK(std::abs(share - 0.75) < 4 * std::sqrt(0.75 * 0.25 / 16000.0));

    // A higher rate at nine changes nothing at eight.
    ArrivalProcess busier = p;
    busier.per_hour[0][9] = 20.0;
    std::vector<Arrival> a, b;
    p.draw(0, engine::Draws(4, 2), a);
    busier.draw(0, engine::Draws(4, 2), b);
    const auto before_nine = [](std::vector<Arrival>& v) {
        std::erase_if(v, [](const Arrival& x) { return x.at >= 9 * 3600; });
    };
    before_nine(a);
    before_nine(b);
    CHECK(a == b);

    ArrivalProcess past;
    past.kind_weight = {1.0};
    past.history[2] = {{{3600, 0}, {7200, 0}}, {{40000, 0}}};
    std::vector<Arrival> wednesday;
    past.draw(2 * 86'400, engine::Draws(1, 0), wednesday);
    const bool first = wednesday.size() == 2 && wednesday[0].at == 2 * 86'400 + 3600;
    const bool second = wednesday.size() == 1 && wednesday[0].at == 2 * 86'400 + 40000;
    CHECK((first || second));
}

TEST_CASE("weeks with a cabinet that fails go on, and nothing gets lost", "[long-run]") {
    // 20 h between failures by the clock: on most days the cabinet fails with screens inside.
    for (const std::uint64_t seed : {1, 2, 3}) {
        LongRunOptions o = some_weeks(8.0, 20);
        o.seed = seed;
        o.chance.failures = {{"cabinet", Distribution::exponential(20 * 3600.0),
                              Distribution::uniform(1200.0, 7200.0)}};
        const LongRun r = weeks_simulated(o);
        CHECK(r.days == 20);
        CHECK(r.failures > 15);
        CHECK(r.area_inside == r.times_inside);
        CHECK(r.screens_in == r.screens_out + r.screens_inside);
    }
}

// Two people, 8 h on five days: 80 h a week. An order is one step of 30 min that either can do and
// one of 15 min that the first alone can: 10 orders a day are 5 x 10 x 45 min = 37.5 h, 0.469 of
// both, and 12.5 h, 0.3125 of the first.
TEST_CASE("the work that comes in is held against the hours of who can do it", "[long-run]") {
    compile::RoomProblem room;
    core::Problem& p = room.problem;
    p.horizon_start = model::SimTime{} + std::chrono::days{4};  // 1970-01-05, a Monday
    p.horizon_end = p.horizon_start + std::chrono::days{21};
    for (const char* name : {"Ada", "Ben"}) {
        core::Calendar days;
        for (int d = 0; d < 19; ++d) {
            const auto day = p.horizon_start + std::chrono::days{d};
            if (d % 7 < 5) days.push_back({day + model::hours(6), day + model::hours(14)});
        }
        p.resources.push_back({.name = name, .calendar = days});
        room.resources.push_back({compile::ResourceKind::Person, 0});
    }
    p.orders.push_back({.name = "A"});
    p.jobs.push_back({.name = "A/1", .order = core::OrderId{0}});
    const auto step = [&](int minutes, std::vector<core::ResourceId> who) {
        core::Operation o;
        o.job = core::JobId{0};
        o.modes = {{.work = model::minutes(minutes), .needs = {{.any_of = std::move(who)}}}};
        p.operations.push_back(o);
    };
    step(30, {core::ResourceId{0}, core::ResourceId{1}});
    step(15, {core::ResourceId{0}});
    const std::array<bool, 7> weekdays{true, true, true, true, true, false, false};
    const OfferedLoad both = offered_load(room, even_arrivals(10.0, weekdays, 6, 14, {1.0}));
    CHECK(both.share == Approx(37.5 / 80.0));
    CHECK(both.who == "Ada, Ben");
    CHECK(both.orders_a_day == Approx(10.0));
    CHECK(both.most_orders_a_day() == Approx(10.0 * 80.0 / 37.5));
    step(30, {core::ResourceId{0}});  // now the first is asked most: 37.5 h of 40
    const OfferedLoad one = offered_load(room, even_arrivals(10.0, weekdays, 6, 14, {1.0}));
    CHECK(one.share == Approx(37.5 / 40.0));
    CHECK(one.who == "Ada");
}

TEST_CASE("a night shift lasts till the morning: its orders, its hours, its working days",
          "[long-run]") {
    // Eight orders from 22:00 to 06:00, five nights a week: one an hour, Friday's to Saturday
    // 06:00.
    const std::array<bool, 7> weekdays{true, true, true, true, true, false, false};
    model::Room room;
    room.people.push_back(
        {.name = "Nora", .shifts = {{weekdays, std::chrono::hours{22}, std::chrono::hours{30}}}});
    const OpenWeek open = open_week(room);
    CHECK(open.from_hour == 22);
    CHECK(open.to_hour == 30);
    const auto arrivals = even_arrivals(8.0, open.weekdays, open.from_hour, open.to_hour, {1.0});
    CHECK(arrivals.per_hour[0][22] == Approx(1.0));
    CHECK(arrivals.per_hour[1][5] == Approx(1.0));
    CHECK(arrivals.per_hour[5][5] == Approx(1.0));
    CHECK(arrivals.per_hour[0][5] == 0.0);
    CHECK(arrivals.per_hour[5][22] == 0.0);
    // Three shifts around the clock are a day, not 26 hours.
    room.people.push_back(
        {.name = "Otto", .shifts = {{weekdays, std::chrono::hours{4}, std::chrono::hours{12}}}});
    CHECK(open_week(room).to_hour == 28);

    // The same room by night and by day, with nothing but the hours different: each screen takes
    // the same share of them. (How many come in is drawn anew.)
    const auto& w = weeks_of_tomorrow();
    const auto shares = [&](int from) {
        model::Scenario s = w.scenario;
        s.weather.clear();
        for (auto& person : s.room.people) {
            person.shifts = {{weekdays, std::chrono::hours{from}, std::chrono::hours{from + 8}}};
            person.breaks.clear();
            person.absent.clear();
            person.overtime = model::Seconds{0};
        }
        LongRunOptions o;
        o.days = 200;
        const auto hours = open_week(s.room);
        o.arrivals = even_arrivals(10.0, hours.weekdays, hours.from_hour, hours.to_hour,
                                   std::vector<double>(s.orders.size(), 1.0));
        const auto run = run_long(s, w.options, o);
        REQUIRE(run);
        CHECK(run->offered.orders_a_day == Approx(10.0));
        std::map<std::string, double> out;
        for (const auto& r : run->resources)
            out[r.name] = r.utilisation.mean / run->throughput.mean;
        return out;
    };
    const auto day = shares(6), night = shares(22);
    REQUIRE(day.size() == night.size());
    for (const auto& [name, share] : day) {
        INFO(name << " by day " << share << " by night " << night.at(name));
        CHECK(night.at(name) == Approx(share).epsilon(0.1));
    }
}

namespace {

// Eight orders a day in the room of "tomorrow", all emulsion mixed in it and as long-simulated as
// said.
LongRun weeks_with_pot_life(model::Seconds life, model::EmulsionFamily family) {
    model::Scenario s = weeks_of_tomorrow().scenario;
    for (auto& emulsion : s.room.emulsions) {
        emulsion.family = family;
        emulsion.pot_life_room = life;
    }
    auto run = run_long(s, weeks_of_tomorrow().options, some_weeks(8.0, 400));
    REQUIRE(run);
    CHECK(run->stuck == "");
    CHECK(run->area_inside == run->times_inside);
    return *std::move(run);
}

}  // namespace

// No source outside: demands on the program. With 20 h from coming in to ready where nothing has to
// be mixed, mixing beforehand may cost minutes; each mixing and standing takes 1.5 h.
TEST_CASE("weeks: what ends is mixed again, what keeps is there when it is wanted",
          "[long-run][pots]") {
    using model::EmulsionFamily;
    const auto hours = [](const LongRun& r) { return r.turnaround.mean / 3600.0; };
    const LongRun ready = weeks_with_pot_life(model::hours(0), EmulsionFamily::Photopolymer);
    const LongRun keeps = weeks_with_pot_life(model::hours(28 * 24), EmulsionFamily::DualCure);
    const LongRun days = weeks_with_pot_life(model::hours(48), EmulsionFamily::DualCure);
    const LongRun day = weeks_with_pot_life(model::hours(8), EmulsionFamily::DualCure);
    const LongRun part = weeks_with_pot_life(model::hours(3), EmulsionFamily::DualCure);
    CAPTURE(hours(ready), hours(keeps), hours(days), hours(day), hours(part));
    CAPTURE(days.pots.mixed, day.pots.mixed, part.pots.mixed, day.pots.ended);
    CHECK_FALSE(keeps.pots.end);
    for (const LongRun* r : {&days, &day, &part}) {
        CHECK(r->pots.end);
        CHECK(r->pots.ended > 0);
        CHECK(r->pots.kept_days == 0);
        CHECK(r->grows == 0.0);
        CHECK(r->screens_in == keeps.screens_in);
    }
    // Two emulsions, 400 days: at least one of each every day that it is wanted, of 3 h more.
    CHECK(day.pots.mixed > days.pots.mixed);
    CHECK(part.pots.mixed > day.pots.mixed * 3 / 2);
    CHECK(std::abs(hours(keeps) - hours(ready)) < 1.0);
    CHECK(std::abs(hours(days) - hours(keeps)) < 0.5);
    CHECK(hours(day) > hours(days) + 0.75);
    CHECK(hours(part) > hours(day) + 0.25);
}

TEST_CASE("far more than the room can do is said at once", "[long-run]") {
    const LongRun hopeless = weeks_simulated(some_weeks(10'000.0, 60));
    CHECK(hopeless.days == 0);
    CHECK(hopeless.offered.share > 100.0);
    // It is a lower bound: what the room did in the end (47 screens, 3.4 an order) is less.
    CHECK(hopeless.offered.most_orders_a_day() > 47.0 / 3.4);
    // Half as much again is simulated until it is clear, not for all the days asked for.
    const LongRun over = weeks_simulated(some_weeks(25.0, 500));
    CHECK(over.days < 100);
    CHECK(over.grows > 5.0);
}

TEST_CASE("more than the room can do: the queue grows, and no turnaround is stated", "[long-run]") {
    // 47 screens a day is what the room does (docs/simulation.md), 3.4 an order; 20 orders come.
    const LongRun over = weeks_simulated(some_weeks(20.0, 60));
    CHECK(over.grows > 2.0);
    CHECK(over.grows < 12.0);
    CHECK(std::isnan(over.turnaround.mean));
    CHECK_FALSE(over.trusted);
    CHECK(over.throughput.mean > 30.0);
    const LongRun under = weeks_simulated(some_weeks(6.0, 60));
    CHECK(under.grows == 0.0);
    CHECK(under.turnaround.mean > 0.0);
    // Twelve weeks of five days: every order that became ready stands in one.
    CHECK(under.stretches.size() <= 12);
    std::size_t orders = 0;
    for (const auto& s : under.stretches) {
        orders += s.orders;
        CHECK(s.to - s.from == 5);
        CHECK(s.p10 <= s.mean + 1e-9);
        CHECK(s.p10 <= s.p90);
    }
    CHECK(orders == static_cast<std::size_t>(under.orders_out));
}
