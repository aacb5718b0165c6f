#include "sched/report/promise/backtest_report.hpp"

#include <nlohmann/json.hpp>

#include "tests/catch.hpp"

using namespace sched;

TEST_CASE("a journal is judged in words and as JSON", "[backtest]") {
    const auto start = *model::parse_date_time("2026-03-02T08:00");
    std::vector<model::PastPromise> journal;
    for (int i = 0; i < 10; ++i) {
        model::PastPromise p;
        p.enquiry = "E" + std::to_string(i);
        p.asked = start + model::hours(24 * i);
        p.screens = i < 5 ? 1 : 8;
        p.p50 = p.asked + model::hours(4);
        p.p90 = p.promised = p.asked + model::hours(8);
        // Three of ten are an hour late, the others an hour after the middle.
        p.ready = p.asked + model::hours(i % 4 == 1 ? 9 : 5);
        journal.push_back(p);
    }
    study::CorrectionOptions options;
    options.least = 9;
    const auto result = study::backtest(journal, options);
    CHECK(result.promised.n == 10);
    CHECK(result.promised.kept == 7);
    // By hand: (7 x 1 h + 3 x 5 h) / 10 = 132 min.
    CHECK(result.promised.bias_min == Approx(132.0));
    CHECK(result.promised.wait_h == Approx(8.0));
    CHECK(result.promised.spare_min == Approx(180.0));
    const std::string text = report::backtest_to_text(result);
    INFO(text);
    // Wilson for 7 of 10 at 95 %: 39.7 to 89.2 % (Newcombe 1998 gives the formula; by hand).
    CHECK(text.find("70.0 % ( 39.7 to  89.2)") != std::string::npos);
    CHECK(text.find("Bias: ready 132 min later") != std::string::npos);
    CHECK(text.find("1 screen ") != std::string::npos);
    CHECK(text.find("7 or more screens") != std::string::npos);
    // All ten are late by at most an hour of eight: 12.5 %, the largest of the last outcomes.
    CHECK(text.find("12 % of the wait are added at 90 %") != std::string::npos);
    const auto json = nlohmann::json::parse(report::backtest_to_json(result));
    CHECK(json["rows"][0]["kept"] == 7);
    CHECK(json["correction"]["shift"] == Approx(0.125));
    const auto none = study::backtest({}, {});
    CHECK(report::backtest_to_text(none).find("no correction; that takes 40") != std::string::npos);
    CHECK(nlohmann::json::parse(report::backtest_to_json(none))["correction"].is_null());
}
