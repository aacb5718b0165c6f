#include "sched/report/plan/compare.hpp"

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
