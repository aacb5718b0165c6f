#include <cmath>
#include <random>
#include <vector>

#include "model/physics/drying.hpp"
#include "model/physics/emulsion.hpp"
#include "model/physics/mesh.hpp"
#include "model/physics/placement.hpp"
#include "tests/catch.hpp"

using namespace model;
using namespace model::physics;

namespace {

Mesh mesh_of(double count, double thread) {
    Mesh mesh;
    mesh.name = std::to_string(static_cast<int>(count));
    mesh.count = ThreadsPerCm{count};
    mesh.thread = Micrometres{thread};
    return mesh;
}

}  // namespace

TEST_CASE("threads per inch and per centimetre", "[mesh]") {
    const double per_cm[][2] = {{43, 109.220},  {77, 195.580},  {90, 228.600},
                                {120, 304.800}, {140, 355.600}, {150, 381.000}};
    for (const auto& [cm, inch] : per_cm)
        CHECK(to_per_inch(ThreadsPerCm{cm}) == Approx(inch).epsilon(1e-12));
    const double per_inch[][2] = {{110, 43.3071},  {195, 76.7717},  {225, 88.5827},
                                  {305, 120.0787}, {355, 139.7638}, {380, 149.6063}};
    for (const auto& [inch, cm] : per_inch)
        CHECK(threads_per_inch(inch).value == Approx(cm).epsilon(1e-6));
}

// Plain-weave geometry, computed from nominal count and thread (no maker's data): opening, open
// area, volume at 1.5 d.
TEST_CASE("geometry of plain mesh", "[mesh]") {
    const double rows[][6] = {
        {43, 80, 232.558, 152.558, 43.034, 51.640}, {54, 64, 185.185, 121.185, 42.824, 41.111},
        {77, 48, 129.870, 81.870, 39.740, 28.613},  {90, 48, 111.111, 63.111, 32.262, 23.229},
        {100, 40, 100.0, 60.0, 36.0, 21.6},         {120, 34, 83.333, 49.333, 35.046, 17.874},
        {140, 31, 71.429, 40.429, 32.036, 14.897},  {150, 31, 66.667, 35.667, 28.623, 13.309},
        {165, 27, 60.606, 33.606, 30.747, 12.453}};
    for (const auto& [n, d, pitch, opening, area, volume] : rows) {
        const Mesh mesh = mesh_of(n, d);
        CHECK(mesh_pitch(mesh).value == Approx(pitch).epsilon(1e-5));
        CHECK(mesh_opening(mesh).value == Approx(opening).epsilon(2e-5));
        CHECK(100.0 * open_area(mesh).value == Approx(area).epsilon(2e-5));
        CHECK(open_volume(mesh).value == Approx(volume).epsilon(5e-5));
    }
}

// A mesh maker's published table (225 threads/inch): opening, open area %, thickness, volume,
// printed without decimals.
TEST_CASE("a mesh maker's published table", "[mesh][published]") {
    const double rows[][5] = {{40, 73, 42, 59, 25}, {48, 65, 33, 72, 24}, {54, 59, 27, 84, 23}};
    for (const auto& [d, opening, area, thickness, volume] : rows) {
        Mesh mesh = mesh_of(1, d);
        mesh.count = threads_per_inch(225);
        mesh.fabric = Micrometres{thickness};
        CHECK(mesh_opening(mesh).value == Approx(opening).margin(0.5));
        CHECK(100.0 * open_area(mesh).value == Approx(area).margin(0.5));
        CHECK(open_volume(mesh).value == Approx(volume).margin(0.5));
    }
}

// Common practice, no source.
TEST_CASE("rules for choosing mesh", "[mesh][common-practice]") {
    const double lines[][2] = {{60, 30}, {80, 40}, {100, 50}};
    for (const auto& [line, thread] : lines) {
        CHECK(mesh_complaints(mesh_of(100, thread), Micrometres{line}, std::nullopt).empty());
        const auto complaints =
            mesh_complaints(mesh_of(100, thread + 1), Micrometres{line}, std::nullopt);
        REQUIRE(complaints.size() == 1);
        CHECK(complaints[0].rule == MeshRule::ThreadToLine);
        CHECK(complaints[0].limit == thread);
    }
    const double rulings[][2] = {
        {45, 70.866}, {55, 86.614}, {65, 102.362}, {85, 133.858}, {133, 209.449}};
    for (const auto& [lpi, cm] : rulings) {
        const auto complaints =
            mesh_complaints(mesh_of(cm - 0.01, 20), std::nullopt, lines_per_inch(lpi));
        REQUIRE(complaints.size() == 1);
        CHECK(complaints[0].limit == Approx(cm).epsilon(1e-5));
        Mesh exact = mesh_of(1, 20);
        exact.count = threads_per_inch(4 * lpi);  // equality keeps the rule
        CHECK(mesh_complaints(exact, std::nullopt, lines_per_inch(lpi)).empty());
    }
    const auto both = mesh_complaints(mesh_of(77, 48), Micrometres{80}, lines_per_inch(65));
    REQUIRE(both.size() == 2);
    CHECK(both[0].text ==
          "thread 48 µm is more than half the finest line of 80 µm (at most 40 µm)");
    CHECK(both[1].text ==
          "mesh count 77/cm is less than 4 times the ruling of 65/in (at least 102.4/cm)");
    // As a shop wrote it: 65 lines per inch ask for 260 threads per inch.
    Mesh inch = mesh_of(1, 48);
    inch.count = threads_per_inch(230);
    CHECK(mesh_complaints(inch, std::nullopt, lines_per_inch(65)).front().text ==
          "mesh count 230/in is less than 4 times the ruling of 65/in (at least 260/in)");
}

TEST_CASE("the coarsest mesh that keeps the rules is proposed", "[mesh]") {
    std::vector<Mesh> meshes{mesh_of(140, 31), mesh_of(77, 48), mesh_of(120, 34), mesh_of(100, 40)};
    CHECK(propose_mesh(meshes, Micrometres{80}, std::nullopt) == 3u);     // thread 40: 100/cm
    CHECK(propose_mesh(meshes, Micrometres{100}, std::nullopt) == 1u);    // thread 50: 77/cm
    CHECK(propose_mesh(meshes, std::nullopt, lines_per_inch(65)) == 2u);  // 102.4/cm: 120/cm
    CHECK(propose_mesh(meshes, Micrometres{62}, lines_per_inch(65)) ==
          0u);  // thread 31 and 102.4/cm
    CHECK_FALSE(propose_mesh(meshes, Micrometres{30}, std::nullopt));
    CHECK_FALSE(propose_mesh(meshes, std::nullopt, std::nullopt));
    meshes[2].dyed = true;  // an undyed one that fits is preferred
    CHECK(propose_mesh(meshes, std::nullopt, lines_per_inch(65)) == 0u);
}

TEST_CASE("frames that are there win over a coarser mesh", "[mesh]") {
    const std::vector<Mesh> meshes{mesh_of(77, 48), mesh_of(120, 34), mesh_of(100, 40)};
    const std::vector<int> none{4, 0, 0}, few{2, 1, 3};
    CHECK(propose_mesh(meshes, Micrometres{100}, std::nullopt, none) == 2u);
    CHECK(propose_mesh(meshes, Micrometres{100}, std::nullopt, few) == 1u);
    // A mesh that breaks a rule is none, whatever stands in the store.
    CHECK(propose_mesh(meshes, Micrometres{70}, std::nullopt, std::vector<int>{0, 0, 0}) == 1u);
}

TEST_CASE("dry stencil by mass balance", "[mesh]") {
    // By hand: solids by volume 1 - 0.6 x 1050/998 = 0.368737. 2+2 of 40 µm on 120-34, which holds
    // (49.333/83.333)² x 51 = 17.874 µm: 177.874 x 0.368737 = 65.589 µm.
    CHECK(solids_by_volume(Emulsion{}) == Approx(0.368737).epsilon(1e-5));
    CHECK(dry_stencil(Mesh{}, CoatPlan{}, Emulsion{}).value == Approx(65.589).epsilon(1e-4));
    CoatPlan thin;
    thin.print_side = thin.squeegee_side = 1;
    CHECK(dry_stencil(Mesh{}, thin, Emulsion{}).value == Approx(36.090).epsilon(1e-4));
    thin.face = 2;
    CHECK(dry_stencil(Mesh{}, thin, Emulsion{}).value == Approx(65.589).epsilon(1e-4));
}

// What the drying model takes for the solids of both faces is the same stencil.
TEST_CASE("the exposed stencil is the one that has dried", "[mesh]") {
    Emulsion emulsion;
    emulsion.wet_film = Micrometres{15};
    for (const Mesh& mesh : {mesh_of(43, 80), mesh_of(77, 55), mesh_of(120, 34)}) {
        const WetScreen wet =
            wet_coats(mesh, CoatPlan{}, emulsion, {Centimetres{58}, Centimetres{84}}, DryingLaw{});
        const double wet_film = wet.print.film.value + wet.squeegee.film.value;
        CHECK(dry_stencil(mesh, CoatPlan{}, emulsion).value ==
              Approx(wet_film * solids_by_volume(emulsion)).epsilon(1e-12));
    }
}

TEST_CASE("emulsion a screen takes", "[emulsion]") {
    // 0.38 m² x (4 x 40 + 17.874) µm = 67.592 ml, and 4 x 5 ml stay in the trough
    const Area frame{Centimetres{58}, Centimetres{84}};
    CHECK(coat_volume(Mesh{}, CoatPlan{}, Emulsion{}, frame, {}).value ==
          Approx(87.592).epsilon(1e-5));
    CHECK(whole_millilitres(coat_volume(Mesh{}, CoatPlan{}, Emulsion{}, frame, {})) == 88);
    CHECK(face_coat_volume(Emulsion{}, frame, {}).value == Approx(0.38 * 40 + 5).epsilon(1e-12));
    CHECK(whole_millilitres(Millilitres{20.0}) == 20);
}

// Common practice, no source: 4-6 weeks at room temperature, up to 3 months in the refrigerator; 15
// + 60 min standing.
TEST_CASE("pots expire by their storage and are used first expired first",
          "[emulsion][common-practice]") {
    Emulsion diazo;
    diazo.name = "diazo";
    diazo.family = EmulsionFamily::Diazo;
    diazo.pot_life_room = hours(24 * 7 * 4);
    diazo.pot_life_cold = hours(24 * 90);
    const SimTime mixed = *parse_date_time("2026-11-02T07:00");
    std::vector<Pot> pots(4);
    for (Pot& pot : pots)
        pot.emulsion = "diazo";
    pots[0].mixed = mixed;
    pots[0].refrigerated = true;
    pots[1].mixed = mixed;
    pots[2].needs_mixing = true;
    pots[3].emulsion = "other";
    CHECK(pot_expiry(diazo, pots[0]) == mixed + hours(24 * 90));
    // Marked as opened: its life counts from then.
    Pot opened = pots[0];
    opened.opened = mixed + hours(48);
    CHECK(pot_expiry(diazo, opened) == mixed + hours(48) + hours(24 * 90));
    CHECK(pot_expiry(diazo, pots[1]) == *parse_date_time("2026-11-30T07:00"));
    CHECK_FALSE(pot_expiry(diazo, pots[2]));
    CHECK(use_order(diazo, pots) == std::vector<std::size_t>{1, 0, 2});
    CHECK(pot_usable_from(pots[1], minutes(60)) == mixed + minutes(60));
    diazo.family = EmulsionFamily::Photopolymer;  // comes sensitized, no pot life
    CHECK_FALSE(pot_expiry(diazo, pots[1]));
}

// ---- placement
// -----------------------------------------------------------------------------------

TEST_CASE("screens on a blanket, cases worked by hand", "[placement]") {
    const Rectangle blanket{1000, 800};
    CHECK(fits(std::vector<Rectangle>{{500, 800}, {500, 800}}, blanket, 0));
    CHECK_FALSE(fits(std::vector<Rectangle>{{500, 800}, {500, 800}}, blanket, 1));
    CHECK(fits(std::vector<Rectangle>{{800, 495}, {495, 800}}, blanket, 10));  // one turned
    CHECK_FALSE(fits(std::vector<Rectangle>{{1001, 100}}, blanket, 0));
    CHECK(fits(std::vector<Rectangle>{{800, 1000}}, blanket, 50));  // no gap to the border
    // a pinwheel of four 600 x 400 around a hole of 200 x 200 fills 1000 x 1000: no cut goes
    // through
    CHECK(fits(std::vector<Rectangle>(4, {600, 400}), {1000, 1000}, 0));
    CHECK(fits(std::vector<Rectangle>{{600, 400}, {600, 400}, {600, 400}, {600, 400}, {200, 200}},
               {1000, 1000}, 0));
    CHECK_FALSE(
        fits(std::vector<Rectangle>{{600, 400}, {600, 400}, {600, 400}, {600, 400}, {201, 200}},
             {1000, 1000}, 0));
    CHECK(fits(std::vector<Rectangle>(8, {250, 400}), blanket, 0));
    CHECK_FALSE(fits(std::vector<Rectangle>(8, {251, 400}), blanket, 0));
}

TEST_CASE("placement agrees with trying every grid position", "[placement][oracle]") {
    // Brute force on a grid of unit cells, rectangles in every order of choice: 3 rectangles in at
    // most 5 x 5.
    std::mt19937 random(7);
    const auto draw = [&](int n) {
        return 1 + static_cast<int>(random() % static_cast<unsigned>(n));
    };
    int yes = 0;
    for (int round = 0; round < 300; ++round) {
        const Rectangle area{2 + draw(3), 2 + draw(3)};
        const int gap = static_cast<int>(random() % 2u);
        std::vector<Rectangle> items;
        for (int i = 0; i < 3; ++i)
            items.push_back({draw(3), draw(3)});
        struct Box {
            int x, y, w, h;
        };
        std::vector<Box> placed;
        const auto every = [&](const auto& self, std::size_t i) -> bool {
            if (i == items.size()) return true;
            for (int turn = 0; turn < 2; ++turn) {
                const int w = turn ? items[i].height : items[i].width,
                          h = turn ? items[i].width : items[i].height;
                for (int x = 0; x + w <= area.width; ++x) {
                    for (int y = 0; y + h <= area.height; ++y) {
                        bool clear = true;
                        for (const Box& b : placed) {
                            clear = clear && (x + w + gap <= b.x || b.x + b.w + gap <= x ||
                                              y + h + gap <= b.y || b.y + b.h + gap <= y);
                        }
                        if (!clear) continue;
                        placed.push_back({x, y, w, h});
                        if (self(self, i + 1)) return true;
                        placed.pop_back();
                    }
                }
            }
            return false;
        };
        const bool truth = every(every, 0);
        yes += truth;
        REQUIRE(fits(items, area, gap) == truth);
    }
    CHECK(yes > 60);
    CHECK(yes < 240);
}
