// A size study of a few days that are written down: its figures worked out by hand, in JSON, text
// and page alike, and the same from two shards. Quantile of Student's t with five degrees of
// freedom: 2.5706 (printed tables: 2.571); four years at 10 %: factor 3.1699 (printed tables).

#include "sched/report/size/size_report.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "tests/catch.hpp"

using namespace sched;
using AnyJson = nlohmann::json;

namespace {

constexpr double t5 = 2.5706;

study::SizeHead head() {
    study::SizeHead h;
    h.room = "a <room>";
    h.fingerprint = "f";
    h.rooms = {{.name = "today", .words = "as it is", .resources = {"cabinet", "sink"}},
               {.name = "second cabinet",
                .words = "one more",
                .costs = {{.purchase = 9000.0, .installation = 1000.0, .life = 4.0}},
                .resources = {"cabinet", "sink", "cabinet 2"}}};
    for (auto& room : h.rooms)
        room.theory = {.bottleneck_rate = 4.0,
                       .raw_process_time_h = 2.0,
                       .critical_wip = 8.0,
                       .bottleneck = "cabinet",
                       .screens_a_day = 32.0,
                       .best_cycle_h = 2.0,
                       .practical_worst_cycle_h = 6.0,
                       .worst_cycle_h = 10.0,
                       .load = 0.8,
                       .units = 1,
                       .square_root_units = 2};
    h.volumes = {1.0, 1.2};
    h.kinds = {{}};
    h.least = h.most = 6;
    h.every_day = true;
    h.prices = {.interest = 0.1, .late_order = 10.0, .days_a_year = 250.0, .currency = "EUR"};
    h.indifference = 5.0;
    h.coping = 0.65;
    return h;
}

// Ten orders a day. Today two or four late, at 120 % five; with the change one, at 120 % two. A day
// costs 19 or 21 less with it.
std::vector<study::SizeDay> days() {
    std::vector<study::SizeDay> out;
    for (int option = 0; option < 2; ++option) {
        for (int volume = 0; volume < 2; ++volume) {
            for (std::uint64_t day = 0; day < 6; ++day) {
                const bool odd = day % 2 == 1, changed = option == 1, more = volume == 1;
                study::SizeDay d{.option = option, .volume = volume, .day = day};
                d.complete = true;
                d.orders = 10;
                d.screens = 25;
                d.late = changed ? (more ? 2 : 1) : more ? 5 : odd ? 4 : 2;
                d.tardiness_h = 0.5 * d.late;
                d.turnaround_p90_h = changed ? 6.0 : 8.0;
                d.cost = changed ? 80.0 : odd ? 101.0 : 99.0;
                d.busiest = day < 4 ? 0 : 1;
                d.busiest_share = day < 4 ? 0.9 : 0.8;
                d.next = 1 - d.busiest;
                d.next_share = 0.6;
                out.push_back(d);
            }
        }
    }
    return out;
}

const AnyJson* figure(const AnyJson& document, const std::string& room, double volume) {
    for (const auto& f : document["figures"]) {
        if (f["room"] == room && f["volume"] == volume) return &f;
    }
    return nullptr;
}

std::vector<report::SizeShard> two_shards() {
    std::vector<report::SizeShard> shards{{.head = head(), .shard = 0, .of = 2},
                                          {.head = head(), .shard = 1, .of = 2}};
    for (const auto& d : days())
        shards[d.day % 2].days.push_back(d);
    return shards;
}

std::string first_code(const model::Diagnostics& diagnostics) {
    return diagnostics.all().empty() ? "" : diagnostics.all().front().code;
}

}  // namespace

TEST_CASE("the figures of a size study by hand", "[report][size]") {
    const auto result = study::size_result(head(), days());
    const AnyJson out = AnyJson::parse(report::size_to_json(result, "test"));
    CHECK(out["decision_volume"] == 1.0);
    CHECK(out["ranking"]["best"] == "second cabinet");
    const AnyJson* today = figure(out, "today", 1.0);
    const AnyJson* changed = figure(out, "second cabinet", 1.0);
    REQUIRE(today);
    REQUIRE(changed);
    // 18 of 60 late: 70 % on time. Days differ from that by one order: a ratio of sums, half width
    // t sqrt((6 / 5) / 6) / 10.
    CHECK((*today)["on_time"].get<double>() == Approx(0.7));
    const double half = t5 * std::sqrt(1.2 / 6.0) / 10.0;
    CHECK((*today)["on_time_interval"]["low"].get<double>() == Approx(0.7 - half).epsilon(1e-4));
    CHECK((*today)["on_time_interval"]["high"].get<double>() == Approx(0.7 + half).epsilon(1e-4));
    CHECK((*changed)["on_time"].get<double>() == Approx(0.9));
    CHECK((*changed)["today_on_time"].get<double>() == Approx(0.7));
    // 20 less a day, differences of 19 and 21: half width t sqrt((6 / 5) / 6).
    const AnyJson& cost = (*changed)["cost"];
    CHECK(cost["to_today"].get<double>() == Approx(-20.0));
    CHECK(cost["to_today_interval"]["low"].get<double>() ==
          Approx(-20.0 - t5 * std::sqrt(0.2)).epsilon(1e-4));
    // The cabinet is the busiest on four days of six, at 90 %; without it the sink: four days with
    // 60 %, two with 80 %.
    CHECK((*today)["limit"] == "cabinet");
    CHECK((*today)["limit_share"].get<double>() == Approx(0.9));
    CHECK((*today)["next_limit"] == "sink");
    CHECK((*today)["next_limit_share"].get<double>() == Approx((4 * 0.6 + 2 * 0.8) / 6));
    // 250 days: 5,000 a year for 10,000 now.
    REQUIRE(out["money"].size() == 1);
    const AnyJson& money = out["money"][0];
    CHECK(money["investment"] == 10000.0);
    CHECK(money["yearly_benefit"].get<double>() == Approx(5000.0));
    CHECK(money["net_present_value"].get<double>() ==
          Approx(5000.0 * 3.1699 - 10000.0).epsilon(1e-4));
    CHECK(money["payback_years"].get<double>() == Approx(2.0));
    CHECK(money["needed_saving_a_day"].get<double>() ==
          Approx(10000.0 / 3.1699 / 250.0).epsilon(1e-4));
    CHECK(money["break_even_volume"] == 1.0);
    // 65 % on time: between 70 % at today's volume and 50 % at 120 % of it, a quarter of the way.
    REQUIRE(out["copes"].size() == 2);
    CHECK(out["copes"][0]["to_volume"].get<double>() == Approx(1.05));
    CHECK(out["copes"][0]["beyond"] == false);
    CHECK(out["copes"][1]["beyond"] == true);
}

TEST_CASE("text and page say what the figures say", "[report][size]") {
    const auto result = study::size_result(head(), days());
    const std::string text = report::size_to_text(result);
    for (const char* words :
         {"At 100 % of today's volume", "At 120 % of today's volume", " 70.0 %", " 90.0 %",
          "65 %  of the orders on time up to a volume of\n", "  today                  105 %\n",
          "  second cabinet         beyond 120 %\n", "cabinet, sink", "cost in EUR"}) {
        INFO(words);
        CHECK(text.find(words) != std::string::npos);
    }
    // One volume is no curve, and says of no goal how far it is kept.
    auto one = head();
    one.volumes = {1.0};
    const auto all = days();
    std::vector<study::SizeDay> at_one;
    std::copy_if(all.begin(), all.end(), std::back_inserter(at_one),
                 [](const study::SizeDay& d) { return d.volume == 0; });
    const std::string short_text = report::size_to_text(study::size_result(one, at_one));
    CHECK(short_text.find("of the orders on time up to") == std::string::npos);
    CHECK(short_text.find(" keeps ") == std::string::npos);
    CHECK(report::precision_words(result).find("second cabinet: 6.0 h") != std::string::npos);
    const std::string page = report::size_to_page(result, "test");
    CHECK(page.find("<room>") == std::string::npos);
    CHECK(page.find("a &lt;room&gt;") != std::string::npos);
    for (const auto& words : report::size_cautions())
        CHECK(page.find(words.substr(0, 30)) != std::string::npos);
    const std::string csv = study::days_to_csv(result.head, result.all);
    CHECK(std::count(csv.begin(), csv.end(), '\n') == 25);
    CHECK(csv.find("\"second cabinet\",120,5,\"\",,1,10,25,0,2,1,6,0,0,0,80,EUR,\"sink\",0.8,"
                   "\"cabinet\",0.6\n") != std::string::npos);
}

TEST_CASE("without prices a study is ranked by lateness, interrupted it says so",
          "[report][size]") {
    auto h = head();
    h.by_money = false;
    h.prices = {};
    h.indifference = 0.2;
    auto some = days();
    std::erase_if(some, [](const study::SizeDay& d) { return d.volume == 1 && d.option == 1; });
    const auto result = study::size_result(h, some, true);
    CHECK_FALSE(result.volumes_simulated);
    const AnyJson out = AnyJson::parse(report::size_to_json(result, "test"));
    CHECK(out["end"] == "interrupted");
    CHECK(out["money"].empty());
    CHECK(out["copes"].empty());
    CHECK(out["ranking"]["best"] == "second cabinet");  // half an hour a day instead of 1.5
    CHECK(out["ranking"]["rooms"][0]["mean"].get<double>() == Approx(1.5));
    CHECK(out["ranking"]["rooms"][1]["mean"].get<double>() == Approx(0.5));
    const std::string text = report::size_to_text(result);
    CHECK(text.find("Interrupted") != std::string::npos);
    CHECK(text.find("Not all volumes were simulated") != std::string::npos);
    CHECK(text.find("Money") == std::string::npos);
}

TEST_CASE("shards give the whole, and what does not belong together is refused", "[report][size]") {
    const auto shards = two_shards();
    std::vector<report::SizeShard> read;
    for (const auto& s : shards) {
        model::Diagnostics diagnostics;
        const auto again =
            report::shard_from_json(report::shard_to_json(s), diagnostics, "shard.json");
        REQUIRE(again);
        CHECK(again->head == s.head);
        CHECK(again->days == s.days);
        read.push_back(*again);
    }
    const std::vector<std::string> files = {"a.json", "b.json"};
    model::Diagnostics fine;
    const auto merged = report::merge_shards({read[1], read[0]}, files, fine);
    REQUIRE(merged);
    CHECK(report::size_to_json(*merged, "test") ==
          report::size_to_json(study::size_result(head(), days()), "test"));

    const auto refused = [&](std::vector<report::SizeShard> wrong) {
        model::Diagnostics diagnostics;
        CHECK_FALSE(report::merge_shards(std::move(wrong), files, diagnostics));
        return first_code(diagnostics);
    };
    CHECK(refused({read[0]}) == "shard-missing");
    CHECK(refused({read[0], read[0]}) == "shard-twice");
    auto other = read[1];
    other.head.seed = 2;
    CHECK(refused({read[0], other}) == "shard-of-other");
    auto less = read[1];
    less.days.pop_back();
    CHECK(refused({read[0], less}) == "shard-short");

    const auto spoilt = [&](auto change) {
        report::SizeShard s = shards[0];
        change(s);
        model::Diagnostics diagnostics;
        CHECK_FALSE(report::shard_from_json(report::shard_to_json(s), diagnostics, "shard.json"));
        REQUIRE(diagnostics.error_count() > 0);
        return diagnostics.all().front().message;
    };
    CHECK(spoilt([](auto& s) { s.shard = 2; }).find("below `of`") != std::string::npos);
    CHECK(spoilt([](auto& s) { s.days[0].busiest = 7; }).find("does not have") !=
          std::string::npos);
    CHECK(spoilt([](auto& s) {
              s.head.volumes = {1.2, 1.0};
          }).find("head of a study") != std::string::npos);
    CHECK(spoilt([](auto& s) { s.head.prices.currency = "<b>"; }).find("head of a study") !=
          std::string::npos);
    model::Diagnostics newer;
    CHECK_FALSE(report::shard_from_json("{\"shard_format\": 99}", newer, "shard.json"));
    CHECK(newer.all().front().message.find("newer") != std::string::npos);
}
