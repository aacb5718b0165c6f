#include "sched/report/plan/compare.hpp"

#include <nlohmann/json.hpp>
#include <sstream>

#include "sched/report/words/columns.hpp"
#include "tests/catch.hpp"
#include "tests/report/fixture.hpp"

using namespace sched::report;

namespace {

void says(const std::string& text, const char* what) {
    INFO(text);
    INFO(what);
    CHECK(text.find(what) != std::string::npos);
}

}  // namespace

TEST_CASE("a plan compared with itself says so") {
    const PlanDocument d = fixture::golden_document();
    CHECK(compare_documents(d, d) == "The two plans say the same.\n");
}

TEST_CASE("a comparison names what differs and what it does") {
    const PlanDocument a = fixture::golden_document();
    PlanDocument b = a;
    b.inputs[1] = {"orders.csv", std::string(64, 'f'), 3};
    b.fingerprint = std::string(64, 'e');
    b.aims[0].value = 600;
    b.aims[0].value_words = "10 min";
    b.orders[0].ready = *b.orders[0].due;
    b.orders[0].lateness = model::Seconds{0};
    b.operations[4].start += model::minutes(7);
    b.operations[5].place = "Sink";
    b.operations[6].people = {"Ben & Co"};
    b.loads[1].capacity = 5;
    b.bottleneck.resource = "Ada";
    const std::string text = compare_documents(a, b);
    says(text, "Input changed: orders.csv");
    says(text, "priority-weighted lateness: 10 min, was 1 h 10 min");
    says(text, "(better)");
    says(text, "Order A1: ready 09:00, was 09:35; on time, was late");
    says(text, "1 start at another time, 1 at another place, 1 with other people");
    says(text, "degrease A1-2: 06:13, was 06:06 (7 min later)");
    says(text, "Cabinet <1>: 5 places, was 4");
    says(text, "What limits the day: Ada, was Cabinet <1>");
    CHECK(text.find("Order Bö") == std::string::npos);
    for (std::istringstream rows(text); std::getline(rows, b.room);)
        CHECK(columns_of(b.room) <= 80);
}

TEST_CASE("the differences as JSON say what the sentences say", "[json]") {
    const PlanDocument a = fixture::golden_document();
    PlanDocument b = a;
    const auto same = nlohmann::json::parse(compare_to_json(a, b));
    CHECK(same.at("same") == true);
    for (const char* list : {"inputs", "aims", "orders", "steps", "loads"})
        CHECK(same.at(list).empty());
    b.inputs[1] = {"orders.csv", std::string(64, 'f'), 3};
    b.fingerprint = std::string(64, 'e');
    b.aims[0].value = 600;
    b.orders[0].ready = *b.orders[0].due;
    b.orders[0].lateness = model::Seconds{0};
    b.orders[1].name = "C3";
    b.operations[4].start += model::minutes(7);
    b.operations[5].place = "Sink";
    b.operations[6].people = {"Ben & Co"};
    b.operations.pop_back();
    b.loads[1].capacity = 5;
    b.bottleneck.resource = "Ada";
    const auto d = nlohmann::json::parse(compare_to_json(a, b));
    CHECK(d.at("same") == false);
    CHECK(d.at("inputs") ==
          nlohmann::json::parse(R"([{"name": "orders.csv", "change": "changed"}])"));
    REQUIRE(d.at("aims").size() == 1);
    CHECK(d.at("aims")[0].at("value") == 600);
    CHECK(d.at("aims")[0].at("value_was") == 4200);  // 1 h 10 min
    // A1 changed, C3 new, Bö gone.
    REQUIRE(d.at("orders").size() == 3);
    CHECK(d.at("orders")[0].at("order") == "A1");
    CHECK(d.at("orders")[0].at("lateness_s") == 0);
    CHECK(d.at("orders")[0].at("ready").get<std::string>().substr(11, 5) == "09:00");
    CHECK(d.at("orders")[0].at("ready_was").get<std::string>().substr(11, 5) == "09:35");
    CHECK(d.at("orders")[1].at("change") == "new");
    CHECK(d.at("orders")[2].at("change") == "gone");
    REQUIRE(d.at("steps").size() == 4);
    CHECK(d.at("steps")[0].at("words") == b.operations[4].words);
    CHECK(d.at("steps")[0].at("start").get<std::string>().substr(11, 5) == "06:13");
    CHECK(d.at("steps")[0].at("start_was").get<std::string>().substr(11, 5) == "06:06");
    CHECK(d.at("steps")[1].at("place") == "Sink");
    CHECK(d.at("steps")[2].at("people") == nlohmann::json::parse(R"(["Ben & Co"])"));
    CHECK(d.at("steps")[3].at("change") == "gone");
    REQUIRE(d.at("loads").size() == 1);
    CHECK(d.at("loads")[0].at("capacity") == 5);
    CHECK(d.at("loads")[0].at("capacity_was") == 4);
    CHECK(d.at("bottleneck").at("resource") == "Ada");
}

TEST_CASE("a step that comes twice is compared with its like", "[json]") {
    // Put in again: the same words a second time. First with first, second with second.
    PlanDocument a = fixture::golden_document();
    a.operations.push_back(a.operations[4]);
    a.operations.back().start += model::hours(2);
    CHECK(differences(a, a).none());
    PlanDocument b = a;
    b.operations.back().start += model::minutes(9);
    const auto d = differences(a, b);
    REQUIRE(d.steps.size() == 1);
    CHECK(d.steps[0].was == &a.operations.back());
    CHECK(d.steps[0].now == &b.operations.back());
    b.operations.pop_back();
    REQUIRE(differences(a, b).steps.size() == 1);
    CHECK(differences(a, b).steps[0].was == &a.operations.back());
    CHECK(differences(a, b).steps[0].now == nullptr);
}

TEST_CASE("orders that come and go are named") {
    const PlanDocument a = fixture::golden_document();
    PlanDocument b = a;
    b.orders[1].name = "C3";
    b.operations.pop_back();
    const std::string text = compare_documents(a, b);
    says(text, "Order C3 is new");
    says(text, "Order Bö is gone");
    says(text, "Steps: 0 new, 1 gone");
}

TEST_CASE("less than a minute, or names in another order, is no difference") {
    PlanDocument a = fixture::golden_document();
    a.operations[6].people = {"Ada", "Ben & Co"};
    PlanDocument b = a;
    b.operations[4].start += model::Seconds{59};
    b.operations[6].people = {"Ben & Co", "Ada"};
    *b.orders[0].ready -= model::Seconds{20};
    *b.orders[0].lateness -= model::Seconds{20};
    CHECK(compare_documents(a, b) == "The two plans say the same.\n");
    b.operations[4].start += model::Seconds{1};
    says(compare_documents(a, b), "1 start at another time, 0 at another place, 0 with other");
}
