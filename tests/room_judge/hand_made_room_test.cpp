// Rules of places, exposures, frames and pots that no plan of the demo room touches, on plans that
// are written down here step by step.

#include "tests/catch.hpp"
#include "tests/room_judge/hand_made.hpp"

using namespace sched;
using namespace hand_made;

// ---- places ------------------------------------------------------------------------------------

// Common practice, no source: warm air is for what is wanted today.
TEST_CASE("a returned frame dries in the room's air", "[found]") {
    Screens x(0);
    x.plan.returns = {
        {.tag = "R1", .frame = "58 x 84 cm", .mesh = "77-55", .state = "old-stencil"}};
    add(x.plan, "R1",
        {{.step = "dry-mesh", .from = at(10, 0), .to = at(10, 30), .place = "cabinet"}});
    CHECK(x.saying("warm air for the store") == 1);
    x.station("cabinet").air.reset();
    CHECK(x.saying("warm air for the store") == 0);
}

TEST_CASE("a coated screen waits on a rack in yellow light", "[found]") {
    Screens x(1);
    x.step(1, "dry-coat", "cabinet", 600, 640);
    x.step(1, "take-out", "rack", 640, 641);
    CHECK(x.saying("waits with its coat on") == 0);
    x.station("rack").light_safe = false;
    CHECK(x.saying("waits with its coat on") == 1);
    x.plan.operations[0].step = "dry-stencil";
    CHECK(x.saying("waits with its coat on") == 0);
}

TEST_CASE("a load takes the place of its largest frame, and only under a blanket", "[found]") {
    Screens x(2);
    const auto two = [&](std::optional<int> a, std::optional<int> b) {
        x.plan.operations.clear();
        x.plan.schedule.placements.clear();
        x.step(1, "expose", "exposure unit", 600, 610, a);
        x.step(2, "expose", "exposure unit", 600, 610, b);
        return x.saying("exposure unit has 1 places, from");
    };
    CHECK(two(1, 1) == 0);
    CHECK(two(1, 2) == 1);
    CHECK(two({}, {}) == 1);
    x.station("exposure unit").blanket.reset();
    CHECK(two(1, 1) == 1);
    x.station("exposure unit").blanket = area(200, 200);
    x.station("exposure unit").double_from = area(50, 80);
    CHECK(two(1, 1) == 1);
    x.station("exposure unit").places = 2;
    CHECK(hand_made::saying(x.plan, x.room, "exposure unit has 2 places, from") == 0);
}

TEST_CASE("a load goes in and out together, on the blanket, with one dose", "[found]") {
    // Two frames of 58 x 84 cm side by side: 116 x 84 cm, and a gap of 2 cm between.
    Screens x(2);
    x.step(1, "expose", "exposure unit", 600, 610, 1);
    x.step(2, "expose", "exposure unit", 600, 610, 1);
    x.station("exposure unit").blanket = area(118, 84);
    CHECK(x.saying("do not lie on the blanket") == 0);
    CHECK(x.saying("but not place and time") == 0);
    CHECK(x.saying("not the same dose") == 0);
    x.station("exposure unit").blanket = area(117, 84);
    CHECK(x.saying("do not lie on the blanket") == 1);
    x.room.room.limits.blanket_gap = model::Centimetres{1};
    CHECK(x.saying("do not lie on the blanket") == 0);
    x.plan.operations[1].end += Seconds{1};
    CHECK(x.saying("but not place and time") == 1);
    x.plan.operations[1].end = x.plan.operations[0].end;
    x.plan.operations[1].place = "washout booth";
    CHECK(x.saying("but not place and time") == 1);
    x.plan.operations[1].place = "exposure unit";
    // Photopolymer is calibrated with 25 s, dual-cure with 90 s.
    x.plan.screens[1].emulsion = "photopolymer B";
    CHECK(x.saying("not the same dose") == 1);
    x.room.room.limits.dose_tolerance = model::Fraction{9.0};
    CHECK(x.saying("not the same dose") == 0);
}

TEST_CASE("the vacuum is drawn before the light, and the screen stands as long as typed",
          "[found]") {
    Screens x(1);
    x.step(1, "expose", "exposure unit", 600, 601);
    const auto off_by = [&](int seconds) {
        auto& line = x.plan.operations[0];
        line.work_end = line.end = line.start + Seconds{seconds};
        return x.saying("drawing down, planned are");
    };
    int wanted = 0;
    while (wanted < 600 && off_by(wanted) > 0)
        ++wanted;
    REQUIRE(wanted < 600);
    x.station("exposure unit").lamp->draw_down = Seconds{40};
    CHECK(off_by(wanted) == 1);
    CHECK(off_by(wanted + 40) == 0);
    // docs/input.md: of expose, stands is waited in the unit before the lamp goes on.
    x.room.room.steps[model::Step::Expose] = {minutes(1), minutes(3), {}};
    CHECK(off_by(wanted + 40) == 1);
    CHECK(off_by(wanted + 220) == 0);
    // A unit without a lamp in the room file exposes by the emulsion's own time.
    x.station("exposure unit").lamp.reset();
    CHECK(off_by(wanted + 220) == 1);
    CHECK(off_by(180 + 90) == 0);
}

TEST_CASE("whoever works at the next place carries the screen there", "[found]") {
    Screens x(1);
    x.step(1, "wash-out", "washout booth", 600, 606);
    auto& inspect = x.step(1, "inspect", "light table", 606, 610);  // 4 min
    inspect.people = {"Ada"};
    inspect.people_until = inspect.end;
    const auto too_short = [&] { return x.saying("inspect S1 takes a person"); };
    CHECK(too_short() == 0);
    x.station("washout booth").stands_in = "cellar";
    x.station("light table").stands_in = "hall";
    x.room.room.walks = {{.from = "cellar", .to = "hall", .time = Seconds{30}}};
    CHECK(too_short() == 1);
    *x.plan.operations[1].people_until += Seconds{29};
    CHECK(too_short() == 1);
    *x.plan.operations[1].people_until += Seconds{1};
    CHECK(too_short() == 0);
    // The other way round; where it is one way only, nobody walks back.
    x.plan.operations[1].people_until = x.plan.operations[1].end;
    x.room.room.walks = {{.from = "hall", .to = "cellar", .time = Seconds{30}}};
    CHECK(too_short() == 1);
    x.room.room.walks[0].one_way = true;
    CHECK(too_short() == 0);
}

// ---- frames ------------------------------------------------------------------------------------

TEST_CASE("a kept stencil is its order's, a coated frame is coated with what is wanted",
          "[found]") {
    const auto lacks = [](const char* made_on, const model::FrameStock& frame, Seconds shelf) {
        Screens x(1, usual, made_on);
        x.room.frames = {frame};
        x.room.room.limits.coated_shelf = shelf;
        x.step(1, "expose", "exposure unit", 600, 610);
        return x.saying("that is left and there in time") == 1;
    };
    const Seconds day = model::hours(24);
    model::FrameStock kept{
        .size = usual, .mesh = "77-55", .state = FrameState::KeptStencil, .order = "S"};
    CHECK_FALSE(lacks("kept-stencil", kept, day));
    kept.order = "T";
    CHECK(lacks("kept-stencil", kept, day));
    const model::FrameStock coated{.size = area(84, 58),
                                   .mesh = "77-55",
                                   .state = FrameState::Coated,
                                   .coated_dry = at(0, 600),
                                   .emulsion = "dual-cure A",
                                   .coat_plan = "2+2"};
    CHECK_FALSE(lacks("coated", coated, day));
    CHECK(lacks("ready", coated, day));
    auto other = coated;
    other.emulsion = "photopolymer B";
    CHECK(lacks("coated", other, day));
    other = coated;
    other.coat_plan = "1+1";
    CHECK(lacks("coated", other, day));
    other = coated;
    other.coated_dry = at(0, 601);  // not dry when it is exposed
    CHECK(lacks("coated", other, day));
    other.coated_dry = at(0, 600) - day;
    CHECK_FALSE(lacks("coated", other, day));
    CHECK(lacks("coated", other, day - Seconds{1}));
    other.coated_dry.reset();
    CHECK_FALSE(lacks("coated", other, day));
}

TEST_CASE("each frame is used once, by a screen that it fits", "[found]") {
    Screens x(2);
    for (int i = 1; i <= 2; ++i)
        x.step(i, "degrease", "reclaim sink", 600 + 30 * i, 606 + 30 * i);
    const auto without = [&](std::vector<model::FrameStock> frames) {
        x.room.frames = std::move(frames);
        return x.saying("that is left and there in time");
    };
    const model::FrameStock ready{.size = usual, .mesh = "77-55", .count = 2};
    auto one = ready;
    one.count = 1;
    auto later = one;
    later.from = at(0, 640);  // there for the second screen only
    CHECK(without({ready}) == 0);
    CHECK(without({one}) == 1);
    CHECK(without({}) == 2);
    CHECK(without({later, one}) == 0);
    CHECK(without({one, later}) == 0);
    CHECK(without({later, later}) == 1);
}

TEST_CASE("the room's share of used frames gets the haze step", "[found]") {
    // Ten frames of which frames.csv does not say it, a share of 30 %: three, one either way.
    const auto wrong = [](int hazed) {
        Screens x(10, usual, "old-stencil");
        x.room.frames = {
            {.size = usual, .mesh = "77-55", .state = FrameState::OldStencil, .count = 10}};
        for (int i = 1; i <= 10; ++i)
            x.step(i, i <= hazed ? "haze" : "strip", "reclaim sink", 600, 610);
        return x.saying("used frames get the haze step") == 1;
    };
    CHECK(wrong(1));
    CHECK_FALSE(wrong(2));
    CHECK_FALSE(wrong(4));
    CHECK(wrong(5));
}

TEST_CASE("stock_after has what is left, in the state in which it is left", "[found]") {
    Screens x(1);
    x.step(1, "degrease", "reclaim sink", 600, 606);
    x.room.frames = {{.size = usual, .mesh = "77-55", .count = 2},
                     {.size = usual, .mesh = "77-55", .state = FrameState::Inky, .count = 1}};
    x.plan.returns = {{.tag = "R1",
                       .frame = "84 x 58 cm",
                       .mesh = "77-55",
                       .state = "inky",
                       .becomes = "old-stencil"}};
    const report::StockLine ready{
        .frame = "58 x 84 cm", .mesh = "77-55", .state = "ready", .count = 1};
    auto old = ready;
    old.state = "old-stencil";
    const auto states = [&](std::vector<report::StockLine> after) {
        x.plan.stock_after = std::move(after);
        return x.saying("than there are of");
    };
    CHECK(states({ready, old}) == 0);
    CHECK(x.saying("are left, stock_after says") == 0);
    auto inky = ready;
    inky.state = "inky";
    CHECK(states({ready, inky}) == 2);
    CHECK(x.saying("are left, stock_after says") == 0);
    CHECK(states({ready}) == 1);
    CHECK(x.saying("2 frames 58 x 84 cm 77-55 are left, stock_after says 1") == 1);
    // Whoever is back by the end of the run is there.
    auto late = old;
    late.from = x.plan.run.last_end + Seconds{1};
    CHECK(states({ready, late}) == 0);
    CHECK(x.saying("stock_after says it is not yet") == 0);
    late.from = x.plan.run.last_end;
    states({ready, late});
    CHECK(x.saying("stock_after says it is not yet") == 1);
}

// ---- pots --------------------------------------------------------------------------------------

namespace {

// A screen of 58 x 84 cm is coated at 10:00 from the pot "P", which is in the room or mixed.
struct Coated : Screens {
    Coated() : Screens(1) {
        room.room.pots.clear();
        core::Store store;
        store.name = "P";
        plan.problem.stores = {store};
        coat("coat", 600);
    }
    void coat(const char* name, int from) {
        auto& line = step(1, name, "coating stand", from, from + 4);
        line.people = {"Ada"};
        line.people_until = line.end;
        plan.schedule.placements[plan.operations.size() - 1].stores = {core::StoreId{0}};
    }
    model::Pot& there(const char* emulsion, SimTime mixed) {
        room.room.pots = {
            {.name = "P", .emulsion = emulsion, .volume = model::Millilitres{500}, .mixed = mixed}};
        return room.room.pots[0];
    }
    model::Emulsion& emulsion() { return room.room.emulsions[0]; }
    report::MixLine& mixed() {
        plan.mixes = {{.emulsion = "dual-cure A",
                       .pot = "P",
                       .volume_ml = 500,
                       .to_buy = true,
                       .operations = {}}};
        const auto first = static_cast<int>(plan.operations.size());
        // Dissolve 4 min, stand 15; stir 5 min, stand 60: usable at 7:24.
        add(plan, "",
            {{.step = "mix-dissolve", .from = at(6, 0), .to = at(6, 4), .people = {"Ada"}},
             {.step = "mix-stir", .from = at(6, 19), .to = at(6, 24), .people = {"Ada"}}});
        plan.mixes[0].operations = {first, first + 1};
        plan.mixes[0].start = at(6, 0);
        plan.mixes[0].usable = at(7, 24);
        plan.mixes[0].good_until = at(6, 24) + emulsion().pot_life_room;
        return plan.mixes[0];
    }
};

}  // namespace

TEST_CASE("a pot that is there has stood, is good, and holds what is taken", "[found]") {
    Coated x;
    const auto says = [&](const char* words) { return x.saying(words); };
    auto* pot = &x.there("dual-cure A", at(8, 0));
    CHECK(says("stands until") == 0);
    CHECK(says("is good until") == 0);
    CHECK(says("neither there nor mixed") == 0);
    CHECK(says("another emulsion") == 0);
    CHECK(says(" ml are taken") == 0);
    // It stands for an hour after the stirring.
    pot->mixed = at(9, 0);
    CHECK(says("P stands until") == 0);
    pot->mixed = at(9, 0, 1);
    CHECK(says("P stands until") == 1);
    // Its life counts from the mixing.
    x.emulsion().pot_life_room = model::hours(2);
    pot->mixed = at(8, 0, 1);
    CHECK(says("P is good until") == 0);
    pot->mixed = at(8, 0);
    CHECK(says("P is good until") == 1);
    pot->mixed = at(8, 30);
    pot->volume = model::Millilitres{1};
    CHECK(says(" ml are taken") == 1);
    pot = &x.there("photopolymer B", at(8, 30));
    CHECK(says("another emulsion") == 1);
    x.room.room.pots.clear();
    CHECK(says("neither there nor mixed") == 1);
}

TEST_CASE("a pot that is mixed in the run has stood, is good, and is no larger than it can be",
          "[found]") {
    Coated x;
    x.mixed();
    for (const char* words : {"leaves a step of it out", "mixing P takes", "sensitizer of P",
                              "P is free of bubbles", "P stands until", "P is good until",
                              "P makes", "P is mixed, and there already", "whether it is to be"}) {
        INFO(words);
        CHECK(x.saying(words) == 0);
    }
    x.emulsion().pot_life_room = minutes(600 - 384);  // stirred in at 6:24
    CHECK(x.saying("P is good until") == 1);
    x.emulsion().pot_life_room += Seconds{1};
    CHECK(x.saying("P is good until") == 0);
    x.mixed();
    x.plan.mixes[0].volume_ml = 1001;  // a batch is a litre
    CHECK(x.saying("P makes 1000 ml, the plan says 1001 ml") == 1);
    x.there("dual-cure A", at(5, 0));
    CHECK(x.saying("P is mixed, and there already") == 1);
    CHECK(x.saying("P makes 500 ml, the plan says 1001 ml") == 1);
    CHECK(x.saying("whether it is to be bought") == 1);
}

TEST_CASE("face coats take from the pot as well", "[found]") {
    Coated x;
    x.there("dual-cure A", at(8, 0));
    x.plan.schedule.placements[0].stores.clear();
    CHECK(x.saying("coat S1 takes from no pot") == 1);
    CHECK(x.saying("face-coat S1 takes from no pot") == 0);
    x.coat("face-coat", 660);
    CHECK(x.saying("face-coat S1 takes from no pot") == 0);
    x.plan.schedule.placements[1].stores.clear();
    CHECK(x.saying("face-coat S1 takes from no pot") == 1);
}
