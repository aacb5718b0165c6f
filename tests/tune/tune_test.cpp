// Marks by hand, and marks of simulated shops whose truth is known.

#include <cmath>

#include "model/read/scenario.hpp"
#include "sched/tune/changes.hpp"
#include "sched/tune/time_off.hpp"
#include "tests/catch.hpp"
#include "tests/tune/recovery.hpp"

using namespace sched;
using namespace tune_tests;
using model::MarkKind;
using model::PastMark;
using model::SimTime;
using model::Step;

namespace {

SimTime at(const std::string& clock, const std::string& date = "2026-11-26") {
    return *model::parse_date_time(date + "T" + clock);
}

const model::Scenario& scenario_of(const std::string& name) {
    static std::map<std::string, model::Scenario> read;
    const auto found = read.find(name);
    if (found != read.end()) return found->second;
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(COATROOM_SOURCE "/scenarios/" + name, diagnostics);
    REQUIRE(scenario);
    return read.emplace(name, *std::move(scenario)).first->second;
}

PastMark mark(MarkKind kind, const std::string& clock, const std::string& what, Step step,
              const std::string& person = "Ben", const std::string& device = "tablet 1") {
    PastMark m;
    m.at = at(clock);
    m.mark = kind;
    m.what = what;
    m.step = step;
    m.person = person;
    m.device = device;
    return m;
}

tune::Observations observed(const std::vector<PastMark>& marks) {
    const model::Scenario& s = scenario_of("tomorrow");
    return tune::observe(s.room, tune::Screens(s.room, {s.orders}), marks);
}

}  // namespace

TEST_CASE("marks become lengths of work", "[tune][work]") {
    const std::string a = scenario_of("tomorrow").orders.front().name + "-1";
    const std::string b = scenario_of("tomorrow").orders.front().name + "-2";
    SECTION("from start to done") {
        const auto seen = observed({mark(MarkKind::Start, "07:00", a, Step::Degrease),
                                    mark(MarkKind::Done, "07:04", a, Step::Degrease)});
        REQUIRE(seen.work.size() == 1);
        CHECK(seen.work[0].length == study::Observed::exact(240.0));
        CHECK(seen.work[0].planned == 210.0);  // 3 min 30 s in room.yaml
        CHECK(seen.work[0].screen.known);
    }
    SECTION("a fixed break in between is taken out, one that may lie elsewhere leaves a range") {
        // Ben: 15 min between 08:45 and 09:45, 30 min at 11:30.
        const auto fixed = observed({mark(MarkKind::Start, "11:28", a, Step::Degrease),
                                     mark(MarkKind::Done, "12:02", a, Step::Degrease)});
        REQUIRE(fixed.work.size() == 1);
        CHECK(fixed.work[0].length == study::Observed::exact(240.0));
        const auto floats = observed({mark(MarkKind::Start, "09:00", a, Step::Degrease),
                                      mark(MarkKind::Done, "09:19", a, Step::Degrease)});
        REQUIRE(floats.work.size() == 1);
        CHECK(floats.work[0].length == study::Observed{240.0, 1140.0});
    }
    SECTION("the night is taken out, overtime is not") {
        auto marks = std::vector<PastMark>{mark(MarkKind::Start, "14:28", a, Step::Degrease),
                                           mark(MarkKind::Done, "06:02", a, Step::Degrease)};
        marks[1].at = at("06:02", "2026-11-27");
        CHECK(observed(marks).work.at(0).length == study::Observed::exact(240.0));
        CHECK(observed({mark(MarkKind::Start, "14:28", a, Step::Degrease),
                        mark(MarkKind::Done, "14:33", a, Step::Degrease)})
                  .work.at(0)
                  .length == study::Observed::exact(300.0));
    }
    SECTION("a done that reaches into the person's next work was touched late") {
        const auto seen = observed({mark(MarkKind::Start, "07:00", a, Step::Degrease),
                                    mark(MarkKind::Start, "07:05", b, Step::Degrease),
                                    mark(MarkKind::Done, "07:09", a, Step::Degrease),
                                    mark(MarkKind::Done, "07:10", b, Step::Degrease)});
        REQUIRE(seen.work.size() == 2);
        CHECK(seen.work[0].known == tune::Known::Late);
        CHECK(seen.work[0].length == study::Observed::at_most(300.0));
        CHECK(seen.work[1].length == study::Observed::exact(300.0));
    }
    SECTION("a forgotten done is a limit too; what is under way at the end has lasted so long") {
        const auto seen = observed({mark(MarkKind::Start, "07:00", a, Step::Degrease),
                                    mark(MarkKind::Start, "07:05", b, Step::Degrease),
                                    mark(MarkKind::Done, "07:07", "x", Step::Coat, "Ada")});
        REQUIRE(seen.work.size() == 2);
        CHECK(seen.work[0].known == tune::Known::Lost);
        CHECK(seen.work[0].length == study::Observed::at_most(300.0));
        CHECK(seen.work[1].known == tune::Known::Running);
        CHECK(seen.work[1].length == study::Observed::at_least(120.0));
    }
    SECTION("two at one screen are both at work, and a film to come is no end of the marks") {
        PastMark film = mark(MarkKind::Film, "15:00", "A9", Step::Coat);
        film.step = std::nullopt;
        const auto seen =
            observed({mark(MarkKind::Start, "07:00", a, Step::Degrease, "Ada + Ben"),
                      mark(MarkKind::Start, "07:05", b, Step::Degrease, "Ben"),
                      mark(MarkKind::Done, "07:08", a, Step::Degrease, "Ada + Ben"), film});
        REQUIRE(seen.work.size() == 2);
        CHECK(seen.work[0].length == study::Observed::at_most(300.0));
        CHECK(seen.work[1].length == study::Observed::at_least(180.0));
    }
    SECTION("what tells nothing is counted") {
        const auto seen = observed({mark(MarkKind::Done, "07:00", a, Step::Degrease),
                                    mark(MarkKind::Start, "08:00", a, Step::Inspect),
                                    mark(MarkKind::Done, "08:00", a, Step::Inspect),
                                    mark(MarkKind::Start, "08:10", "Z9-1", Step::Coat),
                                    mark(MarkKind::Done, "08:14", "Z9-1", Step::Coat)});
        CHECK(seen.work.empty());
        CHECK(seen.without_start == 1);
        CHECK(seen.at_once == 1);
        CHECK(seen.unknown_screen == 1);
    }
    SECTION("typed drying minutes are learned from hung up to dry, not to taken out") {
        // Setting aside takes 20 s, 12 min are typed; it was dry after 14, and lay there till noon.
        const auto seen = observed({mark(MarkKind::Start, "08:00", a, Step::DryTouchUp),
                                    mark(MarkKind::Start, "08:01", b, Step::DryTouchUp),
                                    mark(MarkKind::Dry, "08:14:20", a, Step::DryTouchUp),
                                    mark(MarkKind::Done, "11:58", a, Step::DryTouchUp),
                                    mark(MarkKind::Done, "11:59", b, Step::DryTouchUp)});
        REQUIRE(seen.work.size() == 1);
        CHECK(seen.work[0].length == study::Observed::exact(840.0));
        CHECK(seen.work[0].planned == 720.0);
        CHECK(seen.hung.size() == 2);
        // In the cabinet the air says how long.
        CHECK(observed({mark(MarkKind::Start, "08:00", a, Step::DryCoat),
                        mark(MarkKind::Dry, "08:40", a, Step::DryCoat)})
                  .work.empty());
    }
    SECTION("what is wet hangs from its last done on, where nobody marks that it was hung up") {
        // As the journal's marks go: a coat is done, felt dry, and the next step begins.
        const auto seen = observed({mark(MarkKind::Start, "08:00", a, Step::Coat),
                                    mark(MarkKind::Done, "08:04", a, Step::Coat),
                                    mark(MarkKind::Dry, "08:40", a, Step::DryCoat),
                                    mark(MarkKind::Start, "09:10", a, Step::Expose),
                                    mark(MarkKind::Done, "09:14", a, Step::Expose),
                                    mark(MarkKind::Start, "09:20", a, Step::WashOut),
                                    mark(MarkKind::Done, "09:24", a, Step::WashOut),
                                    mark(MarkKind::Start, "09:50", a, Step::Inspect)});
        REQUIRE(seen.hung.size() == 2);
        CHECK(seen.hung[0].step == Step::DryCoat);
        CHECK(seen.hung[0].station == "cabinet");
        CHECK(seen.hung[0].start == at("08:04"));
        CHECK(seen.hung[0].dry == at("08:40"));
        CHECK(seen.hung[0].out == at("09:10"));
        CHECK(seen.hung[1].step == Step::DryStencil);
        CHECK_FALSE(seen.hung[1].dry);
        CHECK(seen.hung[1].out == at("09:50"));
        // Hung up later, and said so.
        const auto said = observed({mark(MarkKind::Done, "08:04", a, Step::Coat),
                                    mark(MarkKind::Start, "08:10", a, Step::DryCoat),
                                    mark(MarkKind::Dry, "08:40", a, Step::DryCoat)});
        REQUIRE(said.hung.size() == 1);
        CHECK(said.hung[0].start == at("08:10"));
        // The done of the coat was touched when it hung already.
        const auto late = observed({mark(MarkKind::Start, "08:00", a, Step::Coat),
                                    mark(MarkKind::Start, "08:04", a, Step::DryCoat),
                                    mark(MarkKind::Done, "08:12", a, Step::Coat),
                                    mark(MarkKind::Dry, "08:40", a, Step::DryCoat)});
        REQUIRE(late.hung.size() == 1);
        CHECK(late.hung[0].start == at("08:04"));
    }
    SECTION("a remake counts once, whether the inspection was done before or not") {
        const auto seen = observed({mark(MarkKind::Start, "08:00", a, Step::Inspect),
                                    mark(MarkKind::Done, "08:04", a, Step::Inspect),
                                    mark(MarkKind::Remake, "08:05", a, Step::Strip),
                                    mark(MarkKind::Start, "09:00", b, Step::Inspect),
                                    mark(MarkKind::Remake, "09:03", b, Step::Degrease),
                                    mark(MarkKind::Start, "10:00", a, Step::Inspect),
                                    mark(MarkKind::Done, "10:04", a, Step::Inspect)});
        REQUIRE(seen.tried.size() == 3);
        CHECK(seen.tried[0].bad);
        CHECK(seen.tried[1].bad);
        CHECK_FALSE(seen.tried[2].bad);
        CHECK(seen.tried[1].step == Step::Inspect);
    }
}

TEST_CASE("a device whose clock is ahead is set back, what was told beforehand is not",
          "[tune][clocks]") {
    const std::string a = scenario_of("tomorrow").orders.front().name + "-1";
    const auto entered = [](PastMark m, const std::string& clock) {
        m.entered = at(clock);
        return m;
    };
    // Tablet 2 is 3 min ahead, which the board's clock shows but for a second or two on the way; on
    // tablet 1 somebody marks the done at 07:08 by the right clock. By tablet 2 the work began at
    // 07:05, so it would have lasted 3 min; it has lasted 6.
    const std::vector<PastMark> marks = {
        entered(mark(MarkKind::Start, "06:30", "x", Step::Strip, "Ada", "tablet 2"), "06:27:02"),
        entered(mark(MarkKind::Done, "06:34", "x", Step::Strip, "Ada", "tablet 2"), "06:31:01"),
        // Queued without network: it says nothing of clocks, and is set back with the others.
        entered(mark(MarkKind::Start, "06:40", "x", Step::Rinse, "Ada", "tablet 2"), "06:50"),
        entered(mark(MarkKind::Start, "07:05", a, Step::Degrease, "Ben", "tablet 2"), "07:02:01"),
        entered(mark(MarkKind::Done, "07:08", a, Step::Degrease, "Ben", "tablet 1"), "07:08:01")};
    const auto seen = observed(marks);
    CHECK(seen.clocks.ahead == 3);
    CHECK(seen.clocks.devices ==
          std::vector<tune::ClockAhead>{{"tablet 2", 1, model::Seconds{179}}});
    const auto found = std::find_if(seen.work.begin(), seen.work.end(),
                                    [](const auto& w) { return w.step == Step::Degrease; });
    REQUIRE(found != seen.work.end());
    CHECK(found->start == at("07:02:01"));
    CHECK(found->length == study::Observed::exact(359.0));
    const auto strip = std::find_if(seen.work.begin(), seen.work.end(),
                                    [](const auto& w) { return w.step == Step::Strip; });
    REQUIRE(strip != seen.work.end());
    CHECK(strip->length == study::Observed::exact(240.0));  // both ends of one device

    // One of four is ahead: told a minute beforehand. It stands.
    auto once = marks;
    for (auto& m : once)
        m.entered = m.at + model::Seconds{1};
    once[3].entered = once[3].at - model::minutes(1);
    const auto stands = observed(once);
    CHECK(stands.clocks.ahead == 1);
    CHECK(stands.clocks.devices.empty());
    CHECK(stands.work.back().length == study::Observed::exact(180.0));
    // Days that are invented lie days ahead: no clock.
    for (auto& m : once)
        m.entered = m.at - std::chrono::days{3};
    const auto invented = observed(once);
    CHECK(invented.clocks.ahead == 5);
    CHECK(invented.clocks.devices.empty());
    CHECK(invented.work.size() == stands.work.size());
}

TEST_CASE("dry without a step is said of what the screen dries in", "[tune][work]") {
    const std::string a = scenario_of("tomorrow").orders.front().name + "-1";
    PastMark dry = mark(MarkKind::Dry, "07:45", a, Step::Coat);
    dry.step = std::nullopt;
    const std::vector<PastMark> marks = {mark(MarkKind::Start, "07:00", a, Step::Coat),
                                         mark(MarkKind::Done, "07:04", a, Step::Coat), dry};
    const auto seen = observed(marks);
    REQUIRE(seen.hung.size() == 1);
    CHECK(seen.hung[0].step == Step::DryCoat);
    CHECK(seen.hung[0].dry == at("07:45"));
    // Of a screen that dries nowhere it tells nothing.
    CHECK(observed({dry}).hung.empty());
}

TEST_CASE("remake rates have the interval of the textbook", "[tune][remake]") {
    // Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17
    // (1998), table I: 15 of 148, 95 %, Wilson: 0.0624 to 0.1605.
    const auto i = study::wilson_interval(15, 148, 0.95);
    CHECK(i.low == Approx(0.0624).margin(0.00005));
    CHECK(i.high == Approx(0.1605).margin(0.00005));
    std::vector<PastMark> marks;
    for (int k = 0; k < 148; ++k) {
        PastMark m = mark(MarkKind::Done, "08:00", "A1-" + std::to_string(k + 1), Step::Inspect);
        m.at += std::chrono::minutes{5 * k};
        PastMark s = m;
        s.mark = MarkKind::Start;
        s.at -= std::chrono::minutes{4};
        marks.push_back(s);
        marks.push_back(m);
        if (k % 10 != 0) continue;
        m.mark = MarkKind::Remake;
        m.at += std::chrono::seconds{20};
        marks.push_back(m);
    }
    const auto tuning = tune::fit_marks(scenario_of("tomorrow").room, {}, observed(marks));
    REQUIRE(tuning.remakes.size() == 1);
    CHECK(tuning.remakes[0].bad == 15);
    CHECK(tuning.remakes[0].tried == 148);
    CHECK(tuning.remakes[0].interval == study::wilson_interval(15, 148, tune::confidence));
    // 4 % is what is planned where chance.yaml says nothing: 10 % contradicts it.
    const auto changes = tune::changes_of(scenario_of("tomorrow").room, {}, tuning);
    const auto rate = std::find_if(changes.begin(), changes.end(), [](const tune::Change& c) {
        return c.path.front() == "remakes";
    });
    REQUIRE(rate != changes.end());
    // By hand: (15 + 20 * 0.04) / (148 + 20).
    CHECK(rate->value == "{at: inspect, chance: 9.4 %}");
}

TEST_CASE("a shop's true times come back from its marks", "[tune][recovery]") {
    const Truth truth{.spread = 0.1};
    const Shop shop(scenario_of("tomorrow"), at("00:00"), truth);
    REQUIRE(shop.sound());
    const Habits habits{.bunched = 0.15, .forgotten = 0.05, .dry_seen = 0.8};
    const Recovery got = recover(shop, truth, 1, 16, 3, habits);
    INFO("times " << got.times.held << " of " << got.times.n << ", bias " << got.times.bias()
                  << "; cv " << got.work_cv.held << " of " << got.work_cv.n << ", bias "
                  << got.work_cv.bias() << "; factor " << got.factor.held << " of " << got.factor.n
                  << ", bias " << got.factor.bias() << "; drying cv " << got.drying_cv.held
                  << " of " << got.drying_cv.n << ", bias " << got.drying_cv.bias());
    CHECK(got.late > 0);
    CHECK(got.lost > 0);
    // Binomial with 90 %: of n intervals four standard deviations are 4 sqrt(0.09 / n).
    REQUIRE(got.times.n > 150);
    CHECK(std::abs(got.times.share() - 0.9) < 4.0 * std::sqrt(0.09 / 150.0));
    CHECK(std::abs(got.times.bias()) < 0.01);
    CHECK(std::abs(got.work_cv.bias()) < 0.05);
    CHECK(std::abs(got.factor.bias()) < 0.03);
    CHECK(std::abs(got.drying_cv.bias()) < 0.1);
}

TEST_CASE("what the marks contradict is changed, and nothing else", "[tune][changes]") {
    const Habits habits{.dry_seen = 1.0};
    const model::Scenario& files = scenario_of("tomorrow");
    SECTION("a shop as its files say has few values to change") {
        const Shop shop(files, at("00:00"), {.work = 1.0, .drying = 1.0, .work_cv = 0.2});
        const auto tuning = shop.tune(shop.marks(5, 4, habits));
        const auto changes = tune::changes_of(files.room, {}, tuning);
        // Each old value lies outside its 90 % interval once in ten: of some 14 values, 5 or more
        // do so in 1 of 100 shops.
        CHECK(changes.size() <= 5);
    }
    SECTION("one where all takes longer gets longer times, in the room as in its file") {
        const Truth truth;
        const Shop shop(files, at("00:00"), truth);
        const auto tuning = shop.tune(shop.marks(5, 6, habits));
        const auto changes = tune::changes_of(files.room, {}, tuning);
        model::Room room = files.room;
        model::ChanceSettings chance;
        for (const auto& c : changes)
            c.make(room, chance);
        const auto attended = [](const model::Room& r, Step step) {
            return static_cast<double>(model::time_of(r, step).attended.count());
        };
        for (const Step step : {Step::WashOut, Step::Degrease, Step::Inspect})
            CHECK(attended(room, step) / attended(files.room, step) == Approx(1.15).margin(0.06));
        CHECK(static_cast<double>(room.coat_plans[1].coat->count()) /
                  static_cast<double>(files.room.coat_plans[1].coat->count()) ==
              Approx(1.15).margin(0.06));
        CHECK(chance.work_cv.value == Approx(0.25).margin(0.03));
        CHECK(room.stations[4].air->transfer_factor == Approx(1.0 / 1.15).margin(0.05));
    }
    SECTION("somebody who takes half as long again gets times of their own") {
        const Truth truth{
            .work = 1.0, .drying = 1.0, .work_cv = 0.2, .slow = "Ben", .slow_by = 1.5};
        const Shop shop(files, at("00:00"), truth);
        REQUIRE(shop.sound());
        const auto tuning = shop.tune(shop.marks(5, 6, habits));
        const auto changes = tune::changes_of(files.room, {}, tuning);
        model::Room room = files.room;
        model::ChanceSettings chance;
        for (const auto& c : changes)
            c.make(room, chance);
        const auto found = std::find_if(changes.begin(), changes.end(), [](const tune::Change& c) {
            return c.path.size() == 4 && c.path[1] == "degrease" && c.path[2] == "but";
        });
        REQUIRE(found != changes.end());
        CHECK(found->value.starts_with("{by: "));
        // Each gets what their marks say (the simulated room prefers whoever is quick that day, so
        // Ben's marks are no 1.5 times the planned here).
        const auto attended = [&](const char* name) {
            const auto person =
                std::find_if(room.people.begin(), room.people.end(),
                             [&](const model::Person& p) { return p.name == name; });
            return static_cast<double>(
                model::time_of(room, Step::Degrease, nullptr, {.by = &*person}).attended.count());
        };
        const auto marked = [&](const std::string& name, const std::string& or_name) {
            study::Moments m;
            for (const auto& w : tuning.seen.work) {
                if (w.step == Step::Degrease && (w.person == name || w.person == or_name))
                    m.add(w.length.high);
            }
            return m.mean();
        };
        CHECK(marked("Ben", "Ben") > 1.25 * marked("Ada", "Cleo"));
        CHECK(attended("Ben") == Approx(marked("Ben", "Ben")).epsilon(0.04));
        CHECK(attended("Ada") == Approx(marked("Ada", "Cleo")).epsilon(0.04));
    }
}
