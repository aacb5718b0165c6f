// chance.yaml and arrivals.csv, read whole.
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

/// A copy of the good folder with files of its own; gone when the test ends.
class ChanceFolder {
public:
    ChanceFolder() {
        path_ = fs::temp_directory_path() / ("coatroom-chance-" + std::to_string(::getpid()));
        fs::create_directories(path_);
        for (const auto& e :
             fs::directory_iterator(std::string(COATROOM_TEST_DATA) + "/bad_input/good"))
            fs::copy_file(e.path(), path_ / e.path().filename());
    }
    ~ChanceFolder() { fs::remove_all(path_); }
    void put(const std::string& name, const std::string& text) const {
        std::ofstream(path_ / name) << text;
    }
    std::optional<model::ChanceFiles> read() const {
        model::Diagnostics d;
        const auto scenario = model::read_scenario(path_.string(), d);
        REQUIRE(scenario);
        auto files = model::read_chance(*scenario, d);
        for (const auto& x : d.all())
            UNSCOPED_INFO(model::to_text(x));
        CHECK(d.error_count() == 0);
        return files;
    }

private:
    fs::path path_;
};

}  // namespace

TEST_CASE("without chance.yaml everything keeps its default", "[read][chance]") {
    const ChanceFolder folder;
    const auto files = folder.read();
    REQUIRE(files);
    CHECK_FALSE(files->own);
    CHECK(files->chance == model::ChanceSettings{});
    CHECK(files->past.empty());
}

TEST_CASE("chance.yaml is read with units, laws and observed times", "[read][chance]") {
    const ChanceFolder folder;
    folder.put("observed.csv", "what,minutes\ncoat,4\ncoat,\"4 min 30 s\"\ncoat,6.5\n");
    folder.put("chance.yaml", R"(work varies: 25 %
times:
  - step: coat
    time: {law: observed, file: observed.csv, column: minutes, at most: 10 min}
  - step: [wash out, inspect]
    time: {p50: 4 min, p90: 7 min}
remakes:
  - {at: wash out, chance: 3 %, mesh: 120-34, back to: degrease}
  - {at: inspect, chance: 5 %}
failures:
  - {station: booth, between: {law: weibull, mean: 100 h, shape: 1.5}, repair: {law: gamma, mean: 1 h, cv: 0.5}}
absent: 2 %
film late: 10 %
film delay: {law: uniform, low: 10 min, high: 2 h}
rush orders: {a day: 1.5, most screens: 3, allowed: 4 h, priority: 7}
weather days: yes
arrivals:
  - {when: Mon-Fri 08:00-12:00, orders an hour: 2.5}
order kinds:
  - {order: A1, weight: 3}
promised after: 48 h
)");
    folder.put("arrivals.csv", "came in,order\n2026-11-02 08:10,A1\n2026-11-02 13:00,\n");
    const auto files = folder.read();
    REQUIRE(files);
    const auto& c = files->chance;
    CHECK(files->own);
    CHECK(c.work_cv.value == Approx(0.25));
    CHECK(c.drying_cv.value == Approx(0.1));
    REQUIRE(c.times.size() == 2);
    CHECK(c.times[0].time.observed == std::vector<double>{240.0, 270.0, 390.0});
    CHECK(c.times[0].time.at_most == model::minutes(10));
    CHECK(c.times[1].steps.size() == 2);
    CHECK(c.times[1].time.p90 == model::minutes(7));
    REQUIRE(c.remakes);
    REQUIRE(c.remakes->size() == 2);
    CHECK(c.remakes->front().mesh == "120-34");
    CHECK(c.remakes->front().back_to == std::vector{model::Step::Degrease});
    REQUIRE(c.failures.size() == 1);
    CHECK(c.failures[0].between.shape == 1.5);
    CHECK(c.weather_days);
    CHECK(c.rush.weight == 7);
    CHECK(c.film_delay->high == model::hours(2));
    REQUIRE(c.arrivals.size() == 1);
    CHECK(c.arrivals[0].orders_an_hour == 2.5);
    CHECK(c.kinds[0].order == "A1");
    CHECK(c.promised == model::hours(48));
    REQUIRE(files->past.size() == 2);
    CHECK(files->past[0].order == "A1");
    CHECK(files->past[1].order.empty());
}

// As under `times` in room.yaml, where `strip` and `rinse` are two keys.
TEST_CASE("a law is that of the step named alone", "[read][chance]") {
    const ChanceFolder folder;
    folder.put("chance.yaml", R"(times:
  - step: strip
    time: {p50: 4 min, p90: 7 min}
  - step: [rinse, ink off]
    time: {p50: 2 min, p90: 3 min}
)");
    const auto files = folder.read();
    REQUIRE(files);
    REQUIRE(files->chance.times.size() == 2);
    CHECK(files->chance.times[0].steps == std::vector{model::Step::Strip});
    CHECK(files->chance.times[1].steps == std::vector{model::Step::Rinse, model::Step::InkOff});
}

TEST_CASE("the chance.yaml of the scenarios is sound", "[read][chance]") {
    model::Diagnostics d;
    const auto scenario =
        model::read_scenario(std::string(COATROOM_SOURCE) + "/scenarios/damp-day", d);
    REQUIRE(scenario);
    const auto files = model::read_chance(*scenario, d);
    for (const auto& x : d.all())
        UNSCOPED_INFO(model::to_text(x));
    REQUIRE(files);
    CHECK(files->own);
}
