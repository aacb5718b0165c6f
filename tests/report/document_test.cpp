#include <algorithm>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "model/room/steps.hpp"
#include "sched/core/objective.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/document/problem_json.hpp"
#include "sched/report/words/steps.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched;
using report::PlanDocument;

TEST_CASE("SHA-256 of the standard's one-block message") {
    // FIPS 180-4 example (NIST "SHA256.pdf"): message "abc".
    CHECK(report::sha256_hex("abc") ==
          "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    // The same digest in base 64 (RFC 4648), by `printf abc | openssl dgst -sha256 -binary |
    // base64`.
    CHECK(report::sha256_csp("abc") == "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

TEST_CASE("the fixture is a sound problem") {
    CHECK(core::validate(fixture::room().problem).empty());
}

TEST_CASE("a document says what its schedule says") {
    const PlanDocument d = fixture::document();
    CHECK(report::contradictions(d).empty());
    REQUIRE(d.orders.size() == 2);
    CHECK(model::format_date_time(*d.orders[0].ready) == "2026-11-26T09:35");
    CHECK(d.orders[0].lateness == model::minutes(35));
    CHECK(d.orders[1].lateness == model::minutes(-115));
    CHECK(d.orders[0].screens == 2);
    REQUIRE(d.aims.size() == 4);
    CHECK(d.aims[0].value == 2 * 35 * 60);  // weight 2, 35 min late
    CHECK(d.aims[0].gap_words == "could be up to 20 min lower");
    CHECK(d.aims[1].gap_words == "proven best");
    CHECK(d.aims[2].value_words == "09:35");
    REQUIRE(d.mixes.size() == 1);
    CHECK(model::format_date_time(*d.mixes[0].usable) == "2026-11-26T06:25");
    CHECK(d.mixes[0].people == std::vector<std::string>{"Ben & Co"});
    // What is to be bought is named with the date: the sensitizer goes in at six.
    REQUIRE(d.mixes[0].buy_by);
    CHECK(model::format_date_time(*d.mixes[0].buy_by) == "2026-11-26T06:00");
    CHECK(std::any_of(d.warnings.begin(), d.warnings.end(), [](const auto& w) {
        return w.code == "to-buy" &&
               w.words.find("buy it by 2026-11-26 06:00.") != std::string::npos;
    }));
    REQUIRE(d.reclaims.size() == 1);
    CHECK(model::format_date_time(*d.reclaims[0].start) == "2026-11-26T06:25");
    CHECK(d.screens[1].two_people);
    CHECK_FALSE(d.screens[0].two_people);
    CHECK(d.screens[2].coat_words == "1 print side, 1 squeegee side");
}

TEST_CASE("contradictions are found") {
    PlanDocument d = fixture::document();
    d.operations[4].start += model::minutes(1);
    d.operations[6].people = {"Ben & Co"};
    d.orders[0].ready = *d.orders[0].due;
    d.aims[0].value -= 1;
    CHECK(report::contradictions(d).size() == 4);
}

TEST_CASE("the fill of a cabinet adds up to its places taken") {
    const PlanDocument d = fixture::document();
    REQUIRE(d.fills.size() == 1);
    const report::FillLine& fill = d.fills[0];
    std::int64_t area = 0;
    for (std::size_t i = 0; i + 1 < fill.steps.size(); ++i) {
        CHECK(fill.steps[i].working + fill.steps[i].holding <= fill.places);
        area += (fill.steps[i].working + fill.steps[i].holding) *
                (fill.steps[i + 1].from - fill.steps[i].from).count();
    }
    CHECK(fill.steps.back().working == 0);
    CHECK(fill.steps.back().holding == 0);
    std::int64_t taken = 0;
    for (const auto& op : d.operations) {
        if (op.place == fill.station) taken += op.places * (op.end - op.start).count();
    }
    CHECK(area == taken);
}

TEST_CASE("cautions stand where the step is done") {
    const PlanDocument d = fixture::document();
    const auto has = [&](const char* step, const char* key) {
        for (const auto& op : d.operations) {
            if (op.step == step)
                return std::find(op.cautions.begin(), op.cautions.end(), key) != op.cautions.end();
        }
        return false;
    };
    CHECK(has("expose", "uv"));
    CHECK(has("strip", "remover"));
    CHECK(has("rinse", "jet"));
    CHECK(has("wash-out", "water-power"));
    CHECK(has("dry-mesh", "warm-cabinet"));
    CHECK(has("mix-stir", "sensitizer"));
    CHECK_FALSE(has("inspect", "uv"));
}

TEST_CASE("files and page know every step of the table and every caution") {
    const auto text = [](const std::string& name) {
        std::ifstream in(std::string(COATROOM_SOURCE) + name);
        return std::string(std::istreambuf_iterator<char>(in), {});
    };
    const auto schema = nlohmann::json::parse(text("/docs/plan.schema.json"))["$defs"];
    std::vector<std::string> keys{"put-in"};  // the beginning of any drying
    const std::string page = text("/sched/report/words/web/page.js");
    for (const auto& row : model::step_rows()) {
        keys.emplace_back(row.key);
        INFO("the page has no colour for " << row.key);
        CHECK(page.find('"' + std::string(row.key) + '"') != std::string::npos);
    }
    auto in_schema = schema["step"]["enum"].get<std::vector<std::string>>();
    std::sort(keys.begin(), keys.end());
    std::sort(in_schema.begin(), in_schema.end());
    CHECK(keys == in_schema);
    std::vector<std::string> cautions;
    for (const auto& c : report::all_cautions())
        cautions.push_back(c.key);
    CHECK(cautions == schema["caution_key"]["enum"].get<std::vector<std::string>>());
}

TEST_CASE("a document comes back from its JSON unchanged") {
    PlanDocument d = fixture::document();
    d.orders[0].chance_late = 0.25;
    d.orders[0].ready_p90 = *d.orders[0].ready + model::minutes(12);
    d.bottleneck.what_ifs.push_back({"one more place", "saves 5 min"});
    d.run.seed = UINT64_MAX;
    const std::string text = report::plan_to_json(d);
    model::Diagnostics diagnostics;
    const auto back = report::plan_from_json(text, diagnostics);
    for (const auto& x : diagnostics.all())
        UNSCOPED_INFO(model::to_text(x));
    REQUIRE(back);
    CHECK(*back == d);
    CHECK(report::plan_to_json(*back) == text);
    const auto embedded = report::problem_of(text, diagnostics);
    REQUIRE(embedded);
    CHECK(embedded->first == fixture::room().problem);
    CHECK(embedded->second == *fixture::solution().schedule);
}

TEST_CASE("the same input gives the same bytes") {
    CHECK(report::plan_to_json(fixture::document()) == report::plan_to_json(fixture::document()));
}
