// The readers of shop and project files: the worked examples of the formats, and what is refused.

#include "tests/classes/instance_shop.hpp"

#include "tests/catch.hpp"

using namespace sched;
using compile::ShopFormat;

namespace {

core::Problem read_ok(const std::string& text, ShopFormat format) {
    model::Diagnostics d;
    const auto p = compile::read_shop(text, "example", format, d);
    INFO((d.all().empty() ? std::string{} : model::to_text(d.all()[0])));
    REQUIRE(p);
    REQUIRE(core::validate(*p).empty());
    return *p;
}

model::Diagnostic read_bad(const std::string& text, ShopFormat format,
                           const compile::InstanceLimits& limits = {}) {
    model::Diagnostics d;
    REQUIRE_FALSE(compile::read_shop(text, "bad.txt", format, d, limits));
    REQUIRE(d.error_count() == 1);
    return d.all()[0];
}

}  // namespace

TEST_CASE("a job shop file becomes chains on machines of capacity 1", "[instance]") {
    // Two jobs, two machines; job 0: machine 0 for 3, machine 1 for 2; job 1: machine 1 for 4,
    // machine 0 for 1.
    const auto p = read_ok("2 2\n0 3 1 2\n1 4 0 1\n", ShopFormat::JobShop);
    CHECK(p.operations.size() == 4);
    CHECK(p.resources.size() == 2);
    CHECK(p.constraints.size() == 2);
    CHECK(p.operations[2].modes[0].work.count() == 4);
    CHECK(p.operations[2].modes[0].needs[0].any_of[0].value == 1);
    CHECK(p.horizon_end.time_since_epoch().count() == 10);
    CHECK(p.objective == std::vector{core::Criterion::Makespan});
}

TEST_CASE("a flexible file has one mode a machine and ignores the rest of its first line",
          "[instance]") {
    const auto p =
        read_ok("2 2 1.67\n2 1 1 3 2 1 4 2 2\n1 2 1 5 2 6\n", ShopFormat::FlexibleJobShop);
    REQUIRE(p.operations.size() == 3);
    CHECK(p.operations[0].modes.size() == 1);
    CHECK(p.operations[1].modes.size() == 2);
    CHECK(p.operations[2].modes[1].work.count() == 6);
    CHECK(p.operations[2].modes[1].needs[0].any_of[0].value == 1);  // machine 2 of the file
}

TEST_CASE("the stages of a hybrid flow shop are resources with several units", "[instance]") {
    const auto p = read_ok("2\n2\n1 2\n3 4\n2 5\n", ShopFormat::HybridFlowShop);
    CHECK(p.resources[1].capacity == 2);
    CHECK(p.operations[3].modes[0].work.count() == 5);
}

TEST_CASE("due dates and weights stand at the end of a line", "[instance]") {
    const auto p = read_ok("2 2\n0 3 1 2 0 5 4\n1 4 0 1 0 4 2\n", ShopFormat::TardinessJobShop);
    CHECK(p.orders[0].weight == 4);
    CHECK(p.orders[1].due->time_since_epoch().count() == 4);
    CHECK(p.objective == std::vector{core::Criterion::WeightedTardiness});
}

TEST_CASE("a project keeps its dummy activities and demands", "[instance]") {
    const auto p = read_ok("4 1\n2\n0 0 2 2 3\n3 1 1 4\n2 2 1 4\n0 0 0\n", ShopFormat::Project);
    CHECK(p.operations.size() == 4);
    CHECK(p.operations[0].modes[0].needs.empty());
    CHECK(p.operations[2].modes[0].needs[0].amount == 2);
    CHECK(p.constraints.size() == 4);
}

TEST_CASE("a malformed instance is refused with its line and column", "[instance]") {
    auto d = read_bad("2 2\n0 3 1 x2\n1 4 0 1\n", ShopFormat::JobShop);
    CHECK(d.code == "not-an-integer");
    CHECK(d.place.line == 2);
    CHECK(d.place.column == 7);
    CHECK(d.message.find("\"x2\"") != std::string::npos);
    CHECK(read_bad("2 2\n0 3 1 2\n1 4 0\n", ShopFormat::JobShop).code == "file-ends-early");
    CHECK(read_bad("2 2\n0 3 2 2\n1 4 0 1\n", ShopFormat::JobShop).code ==
          "too-large");  // machine 2 of 0..1
    CHECK(read_bad("2 2\n0 3 1 -2\n1 4 0 1\n", ShopFormat::JobShop).code ==
          "too-small");  // duration below 0
    CHECK(read_bad("2 2\n0 3 1 2\n1 4 0 1 9\n", ShopFormat::JobShop).code == "more-than-expected");
    CHECK(read_bad("2 2 1\n1 1 0 3\n1 1 1 5\n", ShopFormat::FlexibleJobShop).code ==
          "too-small");  // counts from 1
    CHECK(read_bad("", ShopFormat::Project).code == "file-ends-early");
    CHECK(read_bad("99999999999999999999 2\n", ShopFormat::JobShop).code == "not-an-integer");
    // Demand above the capacity: no schedule could hold it.
    CHECK(read_bad("3 1\n2\n0 0 1 2\n3 5 1 3\n0 0 0\n", ShopFormat::Project).code == "too-large");
    // A successor with a lower number could close a cycle.
    CHECK(read_bad("3 1\n2\n0 0 1 2\n3 1 1 1\n0 0 0\n", ShopFormat::Project).code ==
          "successor-before");
}

TEST_CASE("an instance beyond the limits is refused before it fills the memory", "[instance]") {
    compile::InstanceLimits limits;
    limits.operations = 3;
    CHECK(read_bad("2 2\n0 3 1 2\n1 4 0 1\n", ShopFormat::JobShop, limits).code == "too-large");
    limits = {};
    limits.bytes = 4;
    CHECK(read_bad("2 2\n0 3 1 2\n1 4 0 1\n", ShopFormat::JobShop, limits).code == "too-large");
    CHECK(read_bad("1000000000 1000000000\n", ShopFormat::JobShop).code == "too-large");
}
