#include "sched/study/size.hpp"

#include <algorithm>
#include <filesystem>

#include "model/read/change_file.hpp"
#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

using namespace sched;
using namespace sched::study;

namespace {

const std::string tomorrow_folder = COATROOM_SOURCE "/scenarios/tomorrow";
const std::string changes_folder = COATROOM_SOURCE "/scenarios/changes";

SizeOption option_of(const std::vector<std::string>& changes) {
    model::Diagnostics diagnostics;
    SizeOption option;
    std::vector<std::string> paths;
    for (const auto& name : changes) {
        paths.push_back(changes_folder + "/" + name + ".yaml");
        const auto change = model::read_change(paths.back(), diagnostics);
        for (const auto& d : diagnostics.all())
            UNSCOPED_INFO(model::to_text(d));
        REQUIRE(change);
        option.change = *change;
    }
    if (changes.empty()) option.change.name = "today";
    auto scenario = model::read_changed_scenario(tomorrow_folder, paths, diagnostics);
    for (const auto& d : diagnostics.all())
        UNSCOPED_INFO(model::to_text(d));
    REQUIRE(scenario);
    option.scenario = *std::move(scenario);
    return option;
}

SizeOptions settings() {
    SizeOptions s;
    s.start = *model::parse_date_time("2026-11-26T00:00");
    s.policy = "odd";
    s.least = 6;
    s.most = 12;
    s.prices = {
        .interest = 0.06, .energy = 0.3, .overtime_hour = 30, .late_order = 60, .late_hour = 15};
    return s;
}

const model::Station* station(const model::Scenario& s, const std::string& name) {
    for (const auto& x : s.room.stations) {
        if (x.name == name) return &x;
    }
    return nullptr;
}

}  // namespace

TEST_CASE("every ready change is read, is invented or free, and makes a room that lives",
          "[size]") {
    std::vector<SizeOption> options = {option_of({})};
    for (const auto& entry : std::filesystem::directory_iterator(changes_folder)) {
        if (entry.path().extension() != ".yaml") continue;
        options.push_back(option_of({entry.path().stem().string()}));
        const auto& change = options.back().change;
        INFO(change.name);
        CHECK_FALSE(change.words.empty());
        const bool free = change.figures.purchase == 0 && change.figures.upkeep == 0;
        CHECK((change.invented || free));
        CHECK(!(options.back().scenario.room == options.front().scenario.room));
    }
    REQUIRE(options.size() == 11);
    auto s = settings();
    s.least = s.most = 2;
    std::string problem;
    const auto r = size_study(options, s, problem);
    INFO(problem);
    REQUIRE(r);
    for (const auto& c : r->cells) {
        INFO(r->options[static_cast<std::size_t>(c.option)]);
        CHECK(c.days == 2);
        CHECK(c.energy_kwh.mean.mean > 0);
        CHECK(c.busiest <= 1.0);
    }
}

TEST_CASE("a change is laid over the room by names", "[size]") {
    const auto today = option_of({});
    const auto second = option_of({"second-cabinet"});
    REQUIRE(station(second.scenario, "cabinet 2"));
    auto copy = *station(second.scenario, "cabinet 2");
    auto original = *station(today.scenario, "cabinet");
    copy.name = original.name;
    copy.place = original.place;
    CHECK(copy == original);
    CHECK(second.scenario.room.stations.size() == today.scenario.room.stations.size() + 1);
    const auto dry = option_of({"dehumidifier"});
    auto with = *station(dry.scenario, "cabinet");
    CHECK(with.air->dehumidified_to->value == Approx(0.35));
    with.air->dehumidified_to = original.air->dehumidified_to;
    CHECK(with.air == original.air);
    const auto both = option_of({"second-cabinet", "dehumidifier"});
    CHECK(station(both.scenario, "cabinet 2"));
    CHECK(station(both.scenario, "cabinet")->air->dehumidified_to);
    CHECK_FALSE(station(both.scenario, "cabinet 2")->air->dehumidified_to);
}

TEST_CASE("a change that does nothing differs by exactly nothing", "[size]") {
    auto nothing = option_of({});
    nothing.change.name = "new curtains";
    nothing.scenario.room.stations[0].walk = model::Seconds{0};
    std::string problem;
    auto s = settings();
    s.volumes = {0.8, 1.0, 1.4};
    const auto r = size_study({option_of({}), nothing}, s, problem);
    REQUIRE(r);
    for (std::size_t v = 0; v < 3; ++v) {
        const SizeCell& c = r->cells[3 + v];
        for (const auto* f : {&c.late, &c.tardiness_h, &c.turnaround_p90_h, &c.screens,
                              &c.overtime_h, &c.energy_kwh, &c.cost}) {
            CHECK(f->to_today.difference == 0.0);
            CHECK(f->to_today.interval == Interval{0.0, 0.0});
        }
        CHECK(c.days > 0);
    }
    CHECK(r->money[1].yearly_benefit == 0.0);
}

TEST_CASE("more volume holds the smaller one and is not easier", "[size]") {
    auto s = settings();
    s.volumes = {0.6, 1.0, 1.6};
    s.chance = Chance::none();
    std::string problem;
    const auto r = size_study({option_of({})}, s, problem);
    REQUIRE(r);
    CHECK(r->cells[0].screens.mean.mean < r->cells[1].screens.mean.mean);
    CHECK(r->cells[1].screens.mean.mean < r->cells[2].screens.mean.mean);
    CHECK(r->cells[0].on_time >= r->cells[2].on_time);
    CHECK(r->cells[1].screens.mean.variance == 0.0);
    // 0.6 and 1.6 of the orders, each by its own draw.
    const double all = r->cells[1].screens.mean.mean;
    CHECK(r->cells[0].screens.mean.mean == Approx(0.6 * all).margin(0.25 * all));
    CHECK(r->cells[2].screens.mean.mean == Approx(1.6 * all).margin(0.25 * all));
}

TEST_CASE("shards, threads and one run give the same bytes", "[size]") {
    const std::vector<SizeOption> options = {option_of({}), option_of({"fan-rack"})};
    auto s = settings();
    s.volumes = {1.0, 1.3};
    s.least = s.most = 7;
    std::string problem;
    const auto whole = size_shard(options, s, 0, 1, problem);
    REQUIRE(whole);
    std::vector<SizeDay> joined;
    for (std::size_t i = 0; i < 3; ++i) {
        s.threads = static_cast<int>(i) + 1;
        const auto part = size_shard(options, s, i, 3, problem);
        REQUIRE(part);
        // Through the file that a shard writes.
        const auto back = days_from_csv(days_to_csv(*part));
        REQUIRE(back);
        CHECK(*back == *part);
        joined.insert(joined.begin(), back->begin(), back->end());
    }
    const SizeResult a = size_from_days(options, s, *whole);
    const SizeResult b = size_from_days(options, s, joined);
    CHECK(days_to_csv(a.all) == days_to_csv(b.all));
    CHECK(a.conclusion == b.conclusion);
    CHECK(a.cells.size() == b.cells.size());
    for (std::size_t c = 0; c < a.cells.size(); ++c) {
        CHECK(a.cells[c].cost.to_today == b.cells[c].cost.to_today);
        CHECK(a.cells[c].on_time == b.cells[c].on_time);
    }
    const auto study = size_study(options, s, problem);
    REQUIRE(study);
    CHECK(days_to_csv(study->all) == days_to_csv(a.all));
    CHECK_FALSE(days_from_csv("option,volume\n1,2\n"));
    CHECK_FALSE(days_from_csv(days_to_csv(a.all) + "x\n"));
}
