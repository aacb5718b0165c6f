// coatroom weeks in words and for programs.

#include "sched/report/weeks/weeks_report.hpp"

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "sched/report/weeks/weeks_page.hpp"
#include "tests/catch.hpp"

using namespace sched;

namespace {

study::LongRun a_run() {
    study::LongRun r;
    r.days = 250;
    r.batches = 20;
    r.orders_in = 12;
    r.orders_out = 11;
    r.turnaround = {.n = 20, .mean = 5400.0, .half_width = 123.456789};
    r.late = {.n = 1, .mean = 0.25, .half_width = std::numeric_limits<double>::infinity()};
    r.resources.resize(1);
    r.resources[0].name = "sink \"A\" \\ \x01 \xff";
    r.resources[0].utilisation.mean = 1.0 / 3.0;
    return r;
}

}  // namespace

TEST_CASE("weeks as JSON: every name, figures to six digits, no end is null", "[weeks]") {
    const std::string text = report::weeks_json(a_run());
    CHECK(text.back() == '\n');
    const auto j = nlohmann::json::parse(text);
    CHECK(j["days"] == 250);
    CHECK(j["orders_ready"] == 11);
    CHECK(j["turnaround_s"]["mean"] == 5400.0);
    CHECK(j["turnaround_s"]["half_width"] == 123.457);
    CHECK(j["turnaround_s"]["n"] == 20);
    CHECK(j["late"]["half_width"].is_null());
    CHECK(j["resources"][0]["utilisation"]["mean"] == 0.333333);
    CHECK(j["resources"][0]["name"].get<std::string>().rfind("sink \"A\" \\ \x01 ", 0) == 0);
}

TEST_CASE("weeks in words say what came in and how long it took", "[weeks]") {
    const std::string text = report::weeks_text(a_run(), "scenarios/tomorrow");
    CHECK(text.find("250 working days of scenarios/tomorrow, 12 orders in, 11 ready") == 0);
    CHECK(text.find("mean 1 h 30 min (1 h 27 min to 1 h 32 min)") != std::string::npos);
}

TEST_CASE("a run of three days has no figures", "[weeks]") {
    study::LongRun r = a_run();
    r.days = 3;
    r.batches = 1;
    r.turnaround = r.turnaround_p50 = r.turnaround_p90 = {};
    const std::string text = report::weeks_text(r, "scenarios/tomorrow");
    CHECK(text.find("So few days say nothing. Take more, --days 40.") != std::string::npos);
    CHECK(text.find("mean") == std::string::npos);
    const std::string page = report::weeks_page(r, "Room", false);
    CHECK(page.find("So few days say nothing.") != std::string::npos);
    CHECK(page.find("on average; nine in ten") == std::string::npos);
}

TEST_CASE("a line of the trace is one JSON object", "[weeks]") {
    model::Scenario s;
    s.orders.push_back({.name = "A \"1\""});
    study::TraceEvent e;
    e.what = study::TraceEvent::What::OrderIn;
    e.kind = 0;
    e.at = 86'400 + 60;
    const std::string line = report::trace_line(e, s, {});
    CHECK(line.back() == '\n');
    const auto j = nlohmann::json::parse(line);
    CHECK(j["event"] == "order in");
    CHECK(j["day"] == 2);
    CHECK(j["like"] == "A \"1\"");
}

TEST_CASE("weeks as a page: the answer, and the turnaround of each week in the picture",
          "[weeks]") {
    study::LongRun r = a_run();
    r.turnaround_p90 = {.n = 20, .mean = 7200.0, .half_width = 600.0};
    r.settled_from = 5;
    r.stretches = {
        {.from = 0, .to = 5, .orders = 4, .mean = 9000.0, .p10 = 3600.0, .p90 = 10800.0},
        {.from = 5, .to = 10, .orders = 5, .mean = 5400.0, .p10 = 3600.0, .p90 = 7200.0}};
    const std::string page = report::weeks_page(r, "A <b> room", true);
    CHECK(page.find("An order is ready 1 h 30 min after it came in, on average; nine in ten within "
                    "2 h.") != std::string::npos);
    CHECK(page.find("95 %: 1 h 50 min to 2 h 10 min") != std::string::npos);
    CHECK(page.find("no <a class=\"word\" href=\"#word-interval\"") !=
          std::string::npos);  // one batch says nothing of lateness
    CHECK(page.find("A &lt;b&gt; room") != std::string::npos);
    CHECK(page.find("Demo data, invented.") != std::string::npos);
    const std::string chart = report::weeks_svg(r);
    std::size_t dots = 0;
    for (auto at = chart.find("<circle"); at != std::string::npos;
         at = chart.find("<circle", at + 1))
        ++dots;
    CHECK(dots == 2);
    CHECK(chart.find("<g class=\"open\">") != std::string::npos);  // not settled: not counted
    CHECK(chart.find("mean 1.5 h") != std::string::npos);
    CHECK(chart.find("nan") == std::string::npos);
    CHECK(report::weeks_svg({}).empty());
    r.grows = 2.0;
    r.turnaround.mean = r.turnaround.half_width = std::nan("");
    const std::string growing = report::weeks_page(r, "R", false);
    CHECK(growing.find("The queue grows by 2.0 orders a working day") != std::string::npos);
    CHECK(growing.find("nan") == std::string::npos);
    CHECK(growing.find("class=\"facts\"") == std::string::npos);
}
