// Each rule of sched/core/problem.hpp: the smallest schedule that keeps it, and one that breaks it.

#include "tests/catch.hpp"
#include "tests/check/cases.hpp"

using namespace check_tests;

namespace Catch {
template <>
struct StringMaker<Rule> {
    static std::string convert(Rule rule) { return sched::check::words(rule); }
};
}  // namespace Catch

TEST_CASE("a schedule has one placement per operation", "[check]") {
    Case c;
    c.resource("stand");
    c.operation(10, {need({0})}, 0);
    CHECK(c.rules().empty());
    c.schedule.placements.push_back(c.schedule.placements[0]);
    CHECK(c.rules() == Rules{Rule::Count});
    c.schedule.placements.clear();
    CHECK(c.rules() == Rules{Rule::Count});
}

TEST_CASE("the mode exists", "[check]") {
    Case c;
    c.resource("stand");
    const auto a = c.operation(10, {need({0})}, 0);
    c.operation(a).modes.push_back({.work = Seconds{20}, .needs = {need({0})}});
    c.placed(a).mode = 1;
    c.placed(a).work_end = c.placed(a).end = at(20);
    CHECK(c.rules().empty());
    c.placed(a).mode = 2;
    CHECK(c.rules() == Rules{Rule::Mode});
    c.placed(a).mode = -1;
    CHECK(c.rules() == Rules{Rule::Mode});
}

TEST_CASE("each need chooses one of its resources", "[check]") {
    Case c;
    c.resource("stand 1");
    c.resource("stand 2");
    c.resource("booth");
    const auto a = c.operation(10, {need({0, 1})}, 0);
    c.placed(a).chosen[0] = ResourceId{1};
    CHECK(c.rules().empty());
    c.placed(a).chosen[0] = ResourceId{2};
    CHECK(c.rules() == Rules{Rule::Choice});
    c.placed(a).chosen[0] = ResourceId{99};
    CHECK(c.rules() == Rules{Rule::Choice});
    c.placed(a).chosen.clear();
    CHECK(c.rules() == Rules{Rule::Choice});
}

TEST_CASE("two needs choose different resources", "[check]") {
    Case c;
    c.resource("ann", 2);
    c.resource("ben", 2);
    const auto a = c.operation(10, {need({0, 1}), need({0, 1})}, 0);
    c.placed(a).chosen = {ResourceId{1}, ResourceId{0}};
    CHECK(c.rules().empty());
    c.placed(a).chosen = {ResourceId{1}, ResourceId{1}};
    CHECK(c.rules() == Rules{Rule::Distinct});
}

TEST_CASE("start, end of work and end stand in order", "[check]") {
    Case c;
    c.resource("stand");
    const auto a = c.operation(10, {need({0})}, 0);
    c.operation(a).max_stretch = std::nullopt;
    c.placed(a).end = at(15);
    CHECK(c.rules().empty());
    c.placed(a).end = at(9);
    CHECK(c.rules() == Rules{Rule::Times});
}

TEST_CASE("work lasts as long as the mode says", "[check]") {
    Case c;
    c.resource("stand");
    const auto a = c.operation(10, {need({0})}, 0);
    CHECK(c.rules().empty());
    for (const int length : {9, 11}) {
        c.placed(a).work_end = c.placed(a).end = at(length);
        CHECK(c.rules() == Rules{Rule::WorkLength});
    }
}

TEST_CASE("pausable work counts open time and ends at once when done", "[check][calendar]") {
    // 100 s of work from 950: 50 s to 1000, pause to 2000, 50 s to 2050.
    Case c;
    c.resource("person");
    c.last_resource().calendar = Calendar{{at(0), at(1000)}, {at(2000), at(3000)}};
    c.resource("stand");
    const auto a = c.operation(100, {need({1}), need({0}, Span::Work)}, 950);
    c.operation(a).pausable = true;
    c.placed(a).work_end = c.placed(a).end = at(2050);
    REQUIRE(c.sound());
    CHECK(c.rules().empty());

    SECTION("too short") {
        c.placed(a).work_end = c.placed(a).end = at(2049);
        CHECK(c.rules() == Rules{Rule::WorkLength});
    }
    SECTION("not pausable after all") {
        c.operation(a).pausable = false;
        CHECK(c.rules() == Rules{Rule::WorkLength, Rule::Calendar});
    }
    SECTION("done at the end of the window, not at the start of the next") {
        c.placed(a).start = at(900);
        c.placed(a).work_end = c.placed(a).end = at(1000);
        CHECK(c.rules().empty());
        c.placed(a).work_end = c.placed(a).end = at(2000);
        CHECK(c.rules() == Rules{Rule::WorkLength});
    }
    SECTION("starts inside a window") {
        c.placed(a).start = at(1500);
        c.placed(a).work_end = c.placed(a).end = at(2100);
        CHECK(c.rules() == Rules{Rule::Calendar});
    }
    SECTION("stops while the stand is out of service as well") {
        c.problem.resources[1].calendar = Calendar{{at(0), at(2010)}, {at(2100), at(5000)}};
        c.placed(a).work_end = c.placed(a).end = at(2140);
        CHECK(c.rules().empty());
        c.placed(a).work_end = c.placed(a).end = at(2050);
        CHECK(c.rules() == Rules{Rule::WorkLength});
    }
    SECTION("keeps its stand through the pause") {
        const auto b = c.operation(10, {need({1})}, 1500);
        CHECK(c.rules() == Rules{Rule::Capacity});
        c.move(b, 600);
        CHECK(c.rules().empty());
    }
    SECTION("never done") {
        c.placed(a).start = at(2950);
        c.placed(a).work_end = c.placed(a).end = at(3050);
        CHECK(c.rules() == Rules{Rule::WorkLength});
    }
}

TEST_CASE("an operation holds its place no longer than it may", "[check]") {
    Case c;
    c.resource("slot");
    const auto a = c.operation(10, {need({0})}, 0);
    c.operation(a).max_stretch = Seconds{5};
    c.placed(a).end = at(15);
    CHECK(c.rules().empty());
    c.placed(a).end = at(16);
    CHECK(c.rules() == Rules{Rule::Stretch});
    c.operation(a).max_stretch = std::nullopt;
    CHECK(c.rules().empty());
}

TEST_CASE("no resource gives more than it has", "[check][capacity]") {
    Case c;
    c.resource("cabinet", 3);
    c.operation(10, {need({0}, Span::Whole, 2)}, 0);
    const auto b = c.operation(10, {need({0}, Span::Whole, 1)}, 5);
    const auto d = c.operation(10, {need({0}, Span::Whole, 2)}, 10);
    CHECK(c.rules().empty());
    c.move(d, -1);
    CHECK(c.rules() == Rules{Rule::Capacity});
    const auto v = c.found().front();
    CHECK(v.operation == d);
    CHECK(v.resource == ResourceId{0});
    CHECK(v.at == at(9));
    // b alone does not overfill: 2 + 1.
    c.move(d, 100);
    c.move(b, -3);
    CHECK(c.rules().empty());
}

TEST_CASE("holding occupies for Whole and not for Work", "[check][capacity]") {
    Case c;
    c.resource("slot");
    c.resource("person");
    const auto a = c.operation(10, {need({0}), need({1}, Span::Work)}, 0);
    c.operation(a).max_stretch = std::nullopt;
    c.placed(a).end = at(50);
    const auto b = c.operation(10, {need({1})}, 10);  // the person is free again
    CHECK(c.rules().empty());
    c.move(b, -1);
    CHECK(c.rules() == Rules{Rule::Capacity});
    c.move(b, 1);
    c.operation(10, {need({0})}, 49);  // the slot is not
    CHECK(c.rules() == Rules{Rule::Capacity});
}

TEST_CASE("an empty interval needs nothing", "[check][capacity][calendar]") {
    Case c;
    c.resource("stand");
    c.last_resource().calendar = Calendar{{at(0), at(100)}};
    c.operation(100, {need({0})}, 0);
    c.operation(0, {need({0})}, 50);
    c.operation(0, {need({0})}, 500);
    CHECK(c.rules().empty());
}

TEST_CASE("nobody works outside the calendar", "[check][calendar]") {
    for (const Span span : {Span::Whole, Span::Work}) {
        Case c;
        c.resource("person");
        c.last_resource().calendar = Calendar{{at(100), at(200)}, {at(300), at(400)}};
        const auto a = c.operation(100, {need({0}, span)}, 100);
        CHECK(c.rules().empty());
        c.move(a, 1);
        CHECK(c.rules() == Rules{Rule::Calendar});
        c.move(a, -2);
        CHECK(c.rules() == Rules{Rule::Calendar});
        c.problem.resources[0].calendar = Calendar{};
        CHECK(c.rules() == Rules{Rule::Calendar});
    }
}

TEST_CASE("holding may leave the calendar of Work, not of Whole", "[check][calendar]") {
    for (const Span span : {Span::Whole, Span::Work}) {
        Case c;
        c.resource("person");
        c.last_resource().calendar = Calendar{{at(0), at(100)}};
        const auto a = c.operation(100, {need({0}, span)}, 0);
        c.operation(a).max_stretch = std::nullopt;
        c.placed(a).end = at(150);
        CHECK(c.rules() == (span == Span::Whole ? Rules{Rule::Calendar} : Rules{}));
    }
}

TEST_CASE("lags count from the edge they name", "[check][lag]") {
    for (const auto& [edge, earliest] :
         {std::pair{Edge::Start, 5}, {Edge::WorkEnd, 15}, {Edge::End, 25}}) {
        Case c;
        c.resource("a");
        c.resource("b");
        const auto a = c.operation(10, {need({0})}, 0);
        c.operation(a).max_stretch = std::nullopt;
        c.placed(a).end = at(20);
        const auto b = c.operation(10, {need({1})}, earliest);
        c.problem.constraints.push_back(
            TimeLag{.from = a, .edge = edge, .to = b, .min = Seconds{5}, .max = Seconds{7}});
        CHECK(c.rules().empty());
        c.move(b, 2);
        CHECK(c.rules().empty());
        c.move(b, 1);
        CHECK(c.rules() == Rules{Rule::TimeLag});
        c.move(b, -4);
        CHECK(c.rules() == Rules{Rule::TimeLag});
        CHECK(c.found().front().operation == b);
        CHECK(c.found().front().other == a);
    }
}

TEST_CASE("a negative lag lets the second begin earlier, but not by more", "[check][lag]") {
    Case c;
    c.resource("a");
    c.resource("b");
    const auto a = c.operation(10, {need({0})}, 100);
    const auto b = c.operation(10, {need({1})}, 90);
    c.problem.constraints.push_back(
        TimeLag{.from = a, .edge = Edge::Start, .to = b, .min = Seconds{-10}});
    CHECK(c.rules().empty());
    c.move(b, -1);
    CHECK(c.rules() == Rules{Rule::TimeLag});
}

TEST_CASE("starts keep their windows", "[check]") {
    Case c;
    c.resource("a");
    const auto a = c.operation(10, {need({0})}, 100);
    c.problem.constraints.push_back(
        StartWindow{.operation = a, .not_before = at(100), .not_after = at(110)});
    CHECK(c.rules().empty());
    c.move(a, 10);
    CHECK(c.rules().empty());
    c.move(a, 1);
    CHECK(c.rules() == Rules{Rule::StartWindow});
    c.move(a, -12);
    CHECK(c.rules() == Rules{Rule::StartWindow});
}

TEST_CASE("release and deadline hold for the orders of a job's operations", "[check]") {
    Case c;
    c.resource("a");
    const auto a = c.operation(10, {need({0})}, 100);
    c.problem.orders.push_back(
        {.name = "o", .release = at(100), .due = at(1), .deadline = at(110)});
    c.problem.jobs.push_back({.name = "j", .order = OrderId{0}});
    c.operation(a).job = JobId{0};
    CHECK(c.rules().empty());
    c.move(a, -1);
    CHECK(c.rules() == Rules{Rule::Release});
    c.move(a, 2);
    CHECK(c.rules() == Rules{Rule::Deadline});
    // Limited stretching counts for the completion, unlimited does not.
    c.move(a, -1);
    c.placed(a).end = at(120);
    c.operation(a).max_stretch = Seconds{100};
    CHECK(c.rules() == Rules{Rule::Deadline});
    c.operation(a).max_stretch = std::nullopt;
    CHECK(c.rules().empty());
}

TEST_CASE("both operations use the same mode", "[check]") {
    Case c;
    c.resource("unit 1");
    c.resource("unit 2");
    const auto a = c.operation(10, {need({0})}, 0);
    const auto b = c.operation(10, {need({0})}, 10);
    for (const auto id : {a, b})
        c.operation(id).modes.push_back({.work = Seconds{10}, .needs = {need({1})}});
    c.problem.constraints.push_back(SameMode{.a = a, .b = b});
    CHECK(c.rules().empty());
    c.placed(b).mode = 1;
    c.placed(b).chosen = {ResourceId{1}};
    CHECK(c.rules() == Rules{Rule::SameMode});
    c.placed(a).mode = 1;
    c.placed(a).chosen = {ResourceId{1}};
    CHECK(c.rules().empty());
}

TEST_CASE("both operations use the same resource", "[check]") {
    Case c;
    c.resource("cabinet 1");
    c.resource("cabinet 2");
    c.resource("person");
    const auto a = c.operation(10, {need({0, 1})}, 0);
    const auto b = c.operation(10, {need({2}), need({0, 1})}, 10);
    c.problem.constraints.push_back(SameResource{.a = a, .need_a = 0, .b = b, .need_b = 1});
    CHECK(c.rules().empty());
    c.placed(b).chosen[1] = ResourceId{1};
    CHECK(c.rules() == Rules{Rule::SameResource});
    c.placed(a).chosen[0] = ResourceId{1};
    CHECK(c.rules().empty());
    // Holds only where both modes have the need.
    c.problem.constraints.push_back(SameResource{.a = a, .need_a = 1, .b = b, .need_b = 1});
    CHECK(c.rules().empty());
}

TEST_CASE("stores never run below nothing", "[check][store]") {
    Case c;
    c.resource("bench", 9);
    c.problem.stores.push_back({.name = "pot", .initial = 100});
    c.problem.stores.push_back({.name = "other pot", .initial = 0});
    const auto mix = c.operation(50, {need({0})}, 0);
    const auto a = c.operation(10, {need({0})}, 10);
    const auto b = c.operation(10, {need({0})}, 50);
    c.problem.constraints.push_back(Give{.operation = mix, .store = StoreId{0}, .amount = 40});
    for (const auto id : {a, b}) {
        c.problem.constraints.push_back(
            Take{.operation = id, .any_of = {StoreId{0}, StoreId{1}}, .amount = 70});
        c.placed(id).stores = {StoreId{0}};
    }
    // 100 - 70 at 10, + 40 at 50, then - 70 at 50: 0 left.
    CHECK(c.rules().empty());
    SECTION("taken before it is given") {
        c.move(b, -1);
        CHECK(c.rules() == Rules{Rule::Store});
        CHECK(c.found().front().operation == b);
    }
    SECTION("taken from the wrong pot") {
        c.placed(b).stores = {StoreId{1}};
        CHECK(c.rules() == Rules{Rule::Store});
    }
    SECTION("a pot that is not there, none, one too many") {
        c.placed(b).stores = {StoreId{7}};
        CHECK(c.rules() == Rules{Rule::Choice});
        c.placed(b).stores = {};
        CHECK(c.rules() == Rules{Rule::Choice});
        c.placed(b).stores = {StoreId{0}, StoreId{0}};
        CHECK(c.rules() == Rules{Rule::Choice});
    }
    SECTION("used from .. until, exclusive") {
        c.problem.stores[0].from = at(10);
        c.problem.stores[0].until = at(51);
        CHECK(c.rules().empty());
        c.problem.stores[0].until = at(50);
        CHECK(c.rules() == Rules{Rule::Store});
        c.problem.stores[0].until = at(51);
        c.problem.stores[0].from = at(11);
        CHECK(c.rules() == Rules{Rule::Store});
    }
}

TEST_CASE("batches start together, are of one family, few enough and fit", "[check][batch]") {
    Case c;
    c.resource("exposure unit");
    c.last_resource().batch =
        BatchArea{.width_mm = 1000, .height_mm = 800, .gap_mm = 20, .max_members = 2};
    c.resource("person");
    std::vector<OperationId> members;
    for (int i = 0; i < 2; ++i) {
        members.push_back(c.operation(60, {need({0}), need({1}, Span::Work)}, 0));
        c.operation(members.back()).batch =
            BatchShape{.family = 3, .width_mm = 490, .height_mm = 600};
        c.placed(members.back()).batch = 1;
    }
    REQUIRE(c.sound());
    // 490 + 20 + 490 = 1000; the unit and the person who minds it count once.
    CHECK(c.rules().empty());
    const auto b = members[1];

    SECTION("not one batch: the unit is full") {
        c.placed(b).batch = std::nullopt;
        CHECK(c.rules() == Rules{Rule::Capacity});
        c.placed(b).batch = 2;
        CHECK(c.rules() == Rules{Rule::Capacity});
        c.move(b, 60);
        CHECK(c.rules().empty());
    }
    SECTION("not together") {
        c.move(b, 1);
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("a short member waits for the long one") {
        c.operation(b).modes[0].work = Seconds{40};
        c.operation(b).max_stretch = std::nullopt;
        c.placed(b).work_end = at(40);
        CHECK(c.rules().empty());
        c.placed(b).end = at(59);
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("families") {
        c.operation(b).batch->family = 4;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("too many") {
        c.problem.resources[0].batch->max_members = 1;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("one millimetre too wide") {
        c.operation(b).batch->width_mm = 491;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("one alone that does not fit") {
        c.placed(b).batch = std::nullopt;
        c.move(b, 60);
        c.operation(b).batch = BatchShape{.family = 3, .width_mm = 801, .height_mm = 1001};
        CHECK(c.rules() == Rules{Rule::Batch});
        c.operation(b).batch =
            BatchShape{.family = 3, .width_mm = 800, .height_mm = 1000};  // turned
        CHECK(c.rules().empty());
    }
    SECTION("a batch number where nothing takes batches") {
        const auto d = c.operation(10, {need({1})}, 100);
        c.placed(d).batch = 9;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("slots count for each member") {
        c.resource("slots", 2);
        for (const auto id : members) {
            c.operation(id).modes[0].needs.push_back(need({2}));
            c.placed(id).chosen.push_back(ResourceId{2});
        }
        CHECK(c.rules().empty());
        c.operation(10, {need({2})}, 30);
        CHECK(c.rules() == Rules{Rule::Capacity});
    }
}

TEST_CASE("everything happens inside the horizon", "[check]") {
    Case c;
    c.problem.horizon_start = at(100);
    c.problem.horizon_end = at(200);
    c.resource("a");
    const auto a = c.operation(100, {need({0})}, 100);
    CHECK(c.rules().empty());
    c.move(a, 1);
    CHECK(c.rules() == Rules{Rule::Horizon});
    c.move(a, -2);
    CHECK(c.rules() == Rules{Rule::Horizon});
    c.problem.constraints.push_back(
        StartWindow{.operation = a, .not_before = at(99), .not_after = at(99)});
    CHECK(c.rules().empty());  // already begun
    std::get<StartWindow>(c.problem.constraints.back()).not_after = at(100);
    CHECK(c.rules() == Rules{Rule::Horizon});  // it need not have begun then
    std::get<StartWindow>(c.problem.constraints.back()).not_after = at(99);
    c.operation(a).max_stretch = std::nullopt;
    c.placed(a).end = at(201);
    CHECK(c.rules() == Rules{Rule::Horizon});
}

TEST_CASE("an operation does not end its work before it starts", "[check]") {
    Case c;
    c.resource("stand");
    const auto a = c.operation(10, {need({0})}, 20);
    c.placed(a).work_end = c.placed(a).end = at(15);
    CHECK(c.rules() == Rules{Rule::Times, Rule::WorkLength});
}

TEST_CASE("a store that is there but not offered is not taken from", "[check][store]") {
    Case c;
    c.resource("bench");
    c.problem.stores = {{.name = "pot", .initial = 9}, {.name = "other emulsion", .initial = 9}};
    const auto a = c.operation(10, {need({0})}, 0);
    c.problem.constraints.push_back(Take{.operation = a, .any_of = {StoreId{0}}, .amount = 5});
    c.placed(a).stores = {StoreId{0}};
    CHECK(c.rules().empty());
    c.placed(a).stores = {StoreId{1}};
    CHECK(c.rules() == Rules{Rule::Choice});
}

TEST_CASE("what is mixed keeps for its life from the end of the mixing", "[check][store]") {
    // Mixed by 50, held till 80; keeps for 100 s: taken from at 149, no more at 150.
    Case c;
    c.resource("bench");
    c.resource("stand");
    c.problem.stores = {{.name = "pot", .life = Seconds{100}}};
    const auto mix = c.operation(50, {need({0})}, 0);
    c.operation(mix).max_stretch = std::nullopt;
    c.placed(mix).end = at(80);
    const auto a = c.operation(10, {need({1})}, 149);
    c.problem.constraints = {Give{.operation = mix, .store = StoreId{0}, .amount = 9},
                             Take{.operation = a, .any_of = {StoreId{0}}, .amount = 5}};
    c.placed(a).stores = {StoreId{0}};
    CHECK(c.rules().empty());
    c.move(a, 1);
    CHECK(c.rules() == Rules{Rule::Store});
}

TEST_CASE("a batch is one thing in one place from one time on", "[check][batch]") {
    Case c;
    for (const char* name : {"unit", "other unit"}) {
        c.resource(name, 2);
        c.last_resource().batch =
            BatchArea{.width_mm = 1000, .height_mm = 800, .gap_mm = 20, .max_members = 2};
    }
    std::vector<OperationId> ids;
    for (int i = 0; i < 3; ++i) {
        ids.push_back(c.operation(60, {need({0, 1})}, 0));
        c.operation(ids.back()).batch = BatchShape{.family = 3, .width_mm = 400, .height_mm = 600};
        c.placed(ids.back()).batch = i < 2 ? 1 : 2;
    }
    CHECK(c.rules().empty());  // two batches in two places of the unit
    SECTION("the most that one of them takes counts") {
        c.operation(ids[1]).modes[0].needs[0].amount = 2;
        CHECK(c.rules() == Rules{Rule::Capacity});
    }
    SECTION("in two units") {
        c.placed(ids[1]).chosen[0] = ResourceId{1};
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("begun one after the other, done together") {
        c.operation(ids[1]).modes[0].work = Seconds{50};
        c.placed(ids[1]).start = at(10);
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("without a size") {
        c.operation(ids[2]).batch = std::nullopt;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("with a size, where nothing takes batches") {
        c.resource("stand");
        const auto d = c.operation(10, {need({2})}, 0);
        c.operation(d).batch = BatchShape{.family = 3, .width_mm = 400, .height_mm = 600};
        c.placed(d).batch = 9;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
    SECTION("of which one has begun and one joins") {
        c.problem.now = at(0);
        c.problem.begun = {{.operation = ids[0], .start = at(0), .chosen = {ResourceId{0}}}};
        c.problem.begun.front().batch = 1;
        CHECK(c.rules().empty());
        c.operation(ids[1]).batch->family = 4;
        CHECK(c.rules() == Rules{Rule::Batch});
    }
}

// By hand: ann works 10 s at the stand and then at the booth, 15 s away.
TEST_CASE("whoever goes on at another place has walked there", "[check]") {
    Case c;
    const int stand = c.resource("stand"), booth = c.resource("booth"), ann = c.resource("ann");
    c.last_resource().walk = Seconds{15};
    c.operation(10, {need({stand}), need({ann}, Span::Work)}, 0);
    const auto b = c.operation(10, {need({booth}), need({ann}, Span::Work)}, 25);
    CHECK(c.sound());
    CHECK(c.rules().empty());
    c.move(b, -1);
    CHECK(c.rules() == Rules{Rule::Walk});
    SECTION("at one place nobody walks") {
        c.operation(b).modes[0].needs[0] = need({stand});
        c.placed(b).chosen[0] = ResourceId{stand};
        c.move(b, -14);
        CHECK(c.rules().empty());
    }
    SECTION("nor between places side by side") {
        c.problem.resources[booth].beside = ResourceId{stand};
        c.move(b, -14);
        CHECK(c.rules().empty());
        c.problem.resources[stand].beside = ResourceId{booth};
        CHECK_FALSE(c.sound());
    }
    SECTION("after a break nothing is counted") {
        c.last_resource().calendar = Calendar{{at(0), at(12)}, {at(20), at(100)}};
        CHECK(c.rules().empty());
        c.last_resource().calendar = Calendar{{at(0), at(100)}};
        CHECK(c.rules() == Rules{Rule::Walk});
    }
    SECTION("nor without a place") {
        c.operation(b).modes[0].needs = {need({ann}, Span::Work)};
        c.placed(b).chosen = {ResourceId{ann}};
        c.move(b, -14);
        CHECK(c.rules().empty());
    }
    SECTION("nor from what had begun") {
        c.problem.now = at(5);
        c.problem.begun.push_back({.operation = OperationId{0},
                                   .start = at(0),
                                   .mode = 0,
                                   .chosen = {ResourceId{stand}, ResourceId{ann}}});
        c.move(b, -14);
        CHECK(c.rules().empty());
    }
    SECTION("several cannot walk as one") {
        c.last_resource().capacity = 2;
        CHECK_FALSE(c.sound());
    }
}
