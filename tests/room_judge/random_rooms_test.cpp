// Some hundreds of invented rooms, planned as the command line plans them and read by both judges.
// Ten thousand: coatroom-judge (docs/checking.md).

#include <algorithm>
#include <set>

#include "model/room/steps.hpp"
#include "sched/report/plan/exchange.hpp"
#include "sched/report/plan/person_rows.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/odd_days.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"
#include "tests/room_judge/shrink.hpp"
#include "tests/room_judge/simulated_days.hpp"

namespace {

long occurrences(const std::string& text, const std::string& what) {
    long n = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
        ++n;
    return n;
}

/// Everyone's sheet and calendar: each of the person's operations once.
void check_sheets(const sched::report::PlanDocument& plan) {
    for (const auto& person : plan.people) {
        std::multiset<int> rows, own;
        for (const auto& row : sched::report::person_rows(plan, person.name))
            rows.insert(row.operations.begin(), row.operations.end());
        for (std::size_t i = 0; i < plan.operations.size(); ++i) {
            const auto& names = plan.operations[i].people;
            const auto times = std::count(names.begin(), names.end(), person.name);
            if (times > 0) own.insert(static_cast<int>(i));
        }
        CHECK(rows == own);
        const std::string calendar = sched::report::to_calendar(plan, person.name);
        CHECK(occurrences(calendar, "BEGIN:VEVENT") == static_cast<long>(own.size()));
    }
    const std::string table = sched::report::to_csv(plan);
    CHECK(occurrences(table, "\r\n") == static_cast<long>(plan.operations.size()) + 1);
}

void judge(std::uint64_t seed, const model::Scenario& scenario, const planned::Planned& result) {
    INFO("room " << seed);
    for (const auto& words : result.broken)
        FAIL_CHECK(words);
    for (const auto& words : planned::verdict(*result.plan, scenario))
        FAIL_CHECK(words);
}

}  // namespace

TEST_CASE("in random rooms no plan breaks a rule that either judge knows", "[property]") {
    int planned_rooms = 0, unsound = 0;
    constexpr std::uint64_t rooms = 300;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        const auto scenario = random_scenario::make(seed);
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        if (!result.sound) ++unsound;
        if (!result.plan) continue;
        ++planned_rooms;
        judge(seed, scenario, result);
        if (seed % 10 == 0) check_sheets(*result.plan);
    }
    CHECK(planned_rooms > static_cast<int>(rooms) / 2);
    CHECK(unsound < static_cast<int>(rooms) / 10);
}

// Times by station, frame and person laid over random rooms: each step that may differ does, for
// one of its stations, one person who does it, or large frames.
TEST_CASE("with times by station, frame and person no plan breaks a rule", "[property][times]") {
    using model::Step;
    int planned_rooms = 0;
    constexpr std::uint64_t rooms = 60;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        auto scenario = random_scenario::make(seed);
        model::Room& room = scenario.room;
        const Step steps[] = {Step::InkOff, Step::Haze,    Step::Degrease, Step::Coat,
                              Step::Expose, Step::WashOut, Step::Inspect,  Step::DryMesh};
        std::uint64_t turn = seed;
        for (const Step step : steps) {
            const auto station =
                std::find_if(room.stations.begin(), room.stations.end(), [&](const auto& s) {
                    return std::find(s.does.begin(), s.does.end(), step) != s.does.end();
                });
            if (station == room.stations.end()) continue;
            const bool parts = model::dries_alone(step) || step == Step::Expose;
            auto& time = room.steps.emplace(step, model::row_of(step).usual).first->second;
            if (model::dries_alone(step)) time.stand_said = false;
            model::TimeException e{.attended = model::Seconds{30 + 37 * (turn % 7)}};
            if (!parts && turn % 2 == 0) e.stand = model::minutes(1 + static_cast<int>(turn % 4));
            if (!parts && turn % 3 == 0) e.by = {room.people[turn % room.people.size()].name};
            if (turn % 3 != 0) e.at = {station->name};
            if (turn % 5 == 0)
                e.frames_from = model::Area{model::Centimetres{60}, model::Centimetres{90}};
            if (e.at.empty() && e.by.empty() && !e.frames_from) e.at = {station->name};
            time.but.push_back(e);
            turn += 1 + seed % 5;
        }
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        if (!result.plan) continue;
        ++planned_rooms;
        judge(seed, scenario, result);
    }
    CHECK(planned_rooms > static_cast<int>(rooms) / 2);
}

// Half of what coatroom-judge does: odd rooms, and each plan once more from a moment of its day on.
TEST_CASE("in odd rooms and at midday no plan breaks a rule that either judge knows",
          "[property]") {
    int planned_rooms = 0, again = 0, none = 0;
    constexpr std::uint64_t rooms = 120;
    for (std::uint64_t seed = 1; seed <= rooms; ++seed) {
        sched::app::Question question{.scenario = random_scenario::make_odd(seed),
                                      .start = random_scenario::first_day()};
        question.how.threads = 1;
        question.how.budget.evaluations = 8;
        const auto result = planned::plan(question);
        if (!result.plan) continue;
        ++planned_rooms;
        judge(seed, question.scenario, result);
        const auto midday = random_scenario::happened(question, *result.plan, seed);
        const auto later = planned::plan(midday);
        if (!later.plan) {
            ++none;
            continue;
        }
        ++again;
        judge(seed, midday.scenario, later);
    }
    CHECK(planned_rooms > static_cast<int>(rooms) * 9 / 10);
    CHECK(again > planned_rooms * 9 / 10);
    INFO(none << " without a plan at midday");
}

// Places with typed minutes beside a cabinet with a clock: the decoder lost screens that it booked
// again from one to the other.
TEST_CASE("a cabinet that types its minutes stands beside one that computes them", "[property]") {
    for (const std::uint64_t seed : {185, 221, 278, 1282, 1336}) {
        const auto scenario = random_scenario::make(seed);
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        REQUIRE(result.plan);
        judge(seed, scenario, result);
    }
}

// Moments at which a plan once broke a rule or none was found, by the numbers of coatroom-judge.
// What goes wrong in them: one of several screens under a lamp is told alone; a lamp that will fail
// has one inside or loaded; who puts a screen in has gone; a frozen start whose place closes; a
// place promised to somebody else; frames and haze of screens under way; pots and days too few for
// a plan that misses limits. Told things that cannot be are refused with the place of the line.
TEST_CASE("moments of odd days that were planned wrongly are planned right", "[property]") {
    const std::uint64_t planned_now[] = {
        20003, 20232, 20448, 20654,  20846,  853,    1090,   1230,  1285,  1636,  1689,  2180,
        2563,  2895,  3183,  27,     213,    307,    40346,  40445, 40448, 40453, 40492, 40528,
        40576, 40966, 41612, 41688,  41784,  42079,  42319,  42388, 42541, 43704, 43804, 43987,
        44654, 46543, 66011, 70829,  71480,  71700,  81015,  83081, 83082, 70109, 80041, 80768,
        81462, 86349, 88758, 100741, 100889, 102148, 102664, 20188, 503,   20054, 810082};
    const std::uint64_t cannot_be[] = {20150, 20954, 2371, 529, 40288, 44679, 117468};
    using random_scenario::Told;
    const auto replanned = [](std::uint64_t seed, Told what) {
        const bool odd = seed % 2 == 0;
        sched::app::Question question{.scenario = odd ? random_scenario::make_odd(seed / 2)
                                                      : random_scenario::make(seed / 2 + 1),
                                      .start = random_scenario::first_day()};
        question.how.threads = 1;
        question.how.budget.evaluations = 8;
        const auto whole = planned::plan(question);
        REQUIRE(whole.plan);
        const auto later = random_scenario::happened(question, *whole.plan, seed, what);
        return std::pair{planned::plan(later), later.scenario};
    };
    for (const std::uint64_t seed : planned_now) {
        INFO("seed " << seed);
        const auto [result, scenario] = replanned(seed, Told::Anything);
        INFO(result.why_none);
        CHECK(result.plan);
        if (result.plan) judge(seed, scenario, result);
    }
    for (const std::uint64_t seed : cannot_be) {
        INFO("seed " << seed);
        const auto [result, scenario] = replanned(seed, Told::Anything);
        CHECK_FALSE(result.sound);
        CHECK(result.why_none.find("cannot be there") != std::string::npos);
        // In 2371 the other one leaves in that instant, by the plan, from a stand that fails in it.
        if (seed != 2371) CHECK(replanned(seed, Told::Possible).first.plan);
    }
}

// The two who carry this frame meet for an hour a day; from the cleaned mesh to the lamp it takes
// longer, since each drying ends when it ends: a proof, not a search that found nothing.
TEST_CASE("of an odd room without a plan it is proved that there is none", "[property]") {
    constexpr std::uint64_t seed = 117666;
    const auto result =
        planned::plan(random_scenario::make_odd(seed / 2), random_scenario::first_day(), 8);
    CHECK_FALSE(result.plan);
    CHECK(result.why_none.find("no plan exists") != std::string::npos);
    CHECK(result.why_none.find("2 at once of Pa or Pb") != std::string::npos);
}

// A little of what coatroom-judge --days does.
TEST_CASE("simulated days of random rooms keep what every day has to keep", "[property]") {
    int days = 0, unfinished = 0;
    std::int64_t screens = 0, inside = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const auto scenario = seed % 2 == 0 ? random_scenario::make_odd(seed / 2)
                                            : random_scenario::make(seed / 2 + 1);
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        if (!result.plan) continue;
        const auto simulated = planned::simulated_days(scenario, result, 3, seed);
        INFO("room " << seed);
        CHECK(simulated.broken == std::vector<std::string>{});
        days += simulated.days;
        unfinished += simulated.unfinished;
        screens += simulated.screens;
        inside += simulated.stays;
    }
    CHECK(days > 150);
    CHECK(screens > 5 * days);
    CHECK(inside > 3600 * screens);  // drying alone takes so long
    // Who is away, pots that end, orders that come in: some rooms then need more than their days.
    CHECK(unfinished < days / 5);
}

// Numbers of coatroom-judge --days 3. What went wrong: a followed plan noticed too late that work,
// drying or a mixing took longer; somebody was counted on who was away; a mesh was dry sooner than
// planned and its limit went by (469, 949); a place was given back twice (1043); a lamp that warms
// up while its block runs was booked when it began, too late for the block (1124); a drying that
// came to begin a day late was counted on to leave when planned (1564); a day assembled from parts
// knew the full load of all parts (2175, 2176, 2598); a place was outstayed once the day had left
// the plan (3202); others had been booked into a place that was left later than planned: a remake
// (500810), a screen that had begun on time (2199); work at no place between two stations was taken
// for the way and then moved (533057, 710728, 711525, 714318); a day under review that led to no
// end was tried again by the last ranks of the try before (713606, 713919); who shares an exposure
// kept a take from a pot that was mixed late (533281); nobody looked whether a pot was ready when
// planned once all was booked (721915); a coat that could begin sooner than planned took from a pot
// that was not ready yet (740538).
TEST_CASE("simulated days that once broke a rule break none", "[property]") {
    for (const std::uint64_t seed :
         {18,   22,     25,     60,     127,    133,    137,    230,    250,    308,    376,   385,
          469,  514,    949,    1043,   1071,   1095,   1124,   1564,   2175,   2176,   2199,  2598,
          3202, 500810, 533057, 533281, 710728, 711525, 713606, 713919, 714318, 721915, 740538}) {
        const auto scenario = seed % 2 == 0 ? random_scenario::make_odd(seed / 2)
                                            : random_scenario::make(seed / 2 + 1);
        const auto result = planned::plan(scenario, random_scenario::first_day(), 8);
        INFO("room " << seed);
        REQUIRE(result.plan);
        CHECK(planned::simulated_days(scenario, result, 3, seed).broken ==
              std::vector<std::string>{});
    }
}

TEST_CASE("a room in which something goes wrong is made small, and the same again from its cuts",
          "[property]") {
    const auto wrong = [](const model::Scenario& s) {
        return std::any_of(s.orders.begin(), s.orders.end(), [](const model::Order& o) {
            return std::any_of(o.lines.begin(), o.lines.end(), [](const model::ScreenLine& l) {
                return l.emulsion == "red" && l.count > 1;
            });
        });
    };
    int shrunk = 0;
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        const auto room = random_scenario::make(seed);
        if (!wrong(room)) continue;
        const auto small = random_scenario::shrink(room, wrong);
        CHECK(wrong(small.scenario));
        CHECK(small.scenario.orders.size() == 1);
        REQUIRE(small.scenario.orders[0].lines.size() == 1);
        CHECK(small.scenario.orders[0].lines[0].count == 2);
        CHECK(small.scenario.frames.empty());
        CHECK(random_scenario::cut(room, small.cuts) == small.scenario);
        ++shrunk;
    }
    CHECK(shrunk > 5);
}
