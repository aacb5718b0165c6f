// Limits of hours are not booked ahead: what sets one may begin before what it is for has a place.
// By hand; every schedule also passes the checker.

#include "tests/engine/random_room.hpp"
#include "tests/engine/small_problem.hpp"

using namespace sched::core;
using namespace small_problem;

namespace {

constexpr Tick h = 3600;

// Odo degreases (10 min) until 4 h; the mesh dries 30 min on a shelf. Nia is there from 4 h on: she
// coats (5 min), the coat dries an hour in the only slot, where it stays until she exposes (10
// min).
struct Shop {
    Small s;
    std::vector<OperationId> degrease, mesh, coat, dry, expose;
    Sequence forward;  // nothing is booked ahead, as where drying depends on load

    /// @param cabinet meshes dry in the slots too, of which there are two; Nia is there all day.
    explicit Shop(Tick limit, int screens = 2, Tick odo_until = 4 * h, bool cabinet = false) {
        forward.lookahead = 0;
        const auto sink = s.resource(), slot = s.resource(cabinet ? 2 : 1), table = s.resource();
        const auto shelf = cabinet ? slot : s.resource(9);
        const auto odo = s.resource(), nia = s.resource();
        s.p.resources[odo.index()].calendar = Calendar{{at(0), at(odo_until)}};
        s.p.resources[nia.index()].calendar = Calendar{{at(cabinet ? 0 : 4 * h), at(20 * h)}};
        const auto work = [](ResourceId who) { return Need{.any_of = {who}, .span = Span::Work}; };
        for (int i = 0; i < screens; ++i) {
            s.p.jobs.push_back({.name = "screen " + std::to_string(i)});
            degrease.push_back(s.operation(600, {{.any_of = {sink}}, work(odo)}));
            mesh.push_back(s.operation(1800, {{.any_of = {shelf}}}));
            coat.push_back(s.operation(300, {{.any_of = {table}}, work(nia)}));
            dry.push_back(s.operation(3600, {{.any_of = {slot}}}));
            expose.push_back(s.operation(600, {work(nia)}));
            for (const auto o :
                 {degrease.back(), mesh.back(), coat.back(), dry.back(), expose.back()})
                s[o].job = JobId{static_cast<std::size_t>(i)};
            for (const auto o : {degrease.back(), mesh.back(), coat.back(), dry.back()})
                s[o].max_stretch = std::nullopt;
            s[mesh.back()].dries = s[dry.back()].dries = true;
            s.before(degrease.back(), mesh.back(), 0, 0);
            s.before(mesh.back(), coat.back(), 0, 0);
            s.before(mesh.back(), coat.back(), 0, limit, Edge::WorkEnd);
            s.before(coat.back(), dry.back(), 0, 0);
            s.before(dry.back(), expose.back(), 0, 0);
        }
    }
};

}  // namespace

TEST_CASE("a mesh is degreased before its coat has a slot", "[engine][loose]") {
    // Odo degreases both, 0 to 600 and to 1200. At 4 h Nia coats the first until 14,700; it is dry
    // at 18,300, and the slot is free as she exposes it, until 18,900. The second is coated by then
    // + 300, dry at 22,800 and exposed at once.
    Shop shop(6 * h);
    const auto starts = shop.s.decode(shop.forward);
    REQUIRE_FALSE(starts.empty());
    CHECK(starts[shop.degrease[1].index()] == 600);
    CHECK(starts[shop.coat[0].index()] == 14'400);
    CHECK(starts[shop.coat[1].index()] == 18'900);
    CHECK(starts[shop.expose[1].index()] == 22'800);
    // Booked at once with its coat the second would wait for a slot that is free for good, until
    // Odo has gone.
    shop.s.p.ties = Ties::All;
    CHECK(shop.s.decode(shop.forward).empty());
}

TEST_CASE("nothing is degreased so early that its limit is over", "[engine][loose]") {
    // Within 2 h of dry, and Nia comes at 4 h: dry at 2 h at the earliest, so begun at 80 min.
    Shop shop(2 * h, 1);
    const auto starts = shop.s.decode(shop.forward);
    REQUIRE_FALSE(starts.empty());
    CHECK(starts[shop.degrease[0].index()] >= 2 * h - 1800 - 600);
    CHECK(starts[shop.coat[0].index()] == 4 * h);
    // Three of them, one slot, 75 min from coat to coat: the third can come in time only if it is
    // begun when the first hangs there, and by then Odo, who is there all day, waits for that.
    Shop three(2 * h, 3, 20 * h);
    const auto in_turn = three.s.decode(three.forward);
    REQUIRE_FALSE(in_turn.empty());
    CHECK(in_turn[three.degrease[2].index()] > in_turn[three.coat[0].index()]);
}

TEST_CASE("a mesh leaves the slot that its coat needs", "[engine][loose]") {
    // Two slots, two meshes in them, dry at 2,400 and 3,000 and coated at once: each coat has the
    // slot that its mesh leaves. Counted as lost for good they would leave none, the second would
    // wait for the first coat to dry, an hour, and that is all its limit.
    Shop shop(h, 2, 4 * h, true);
    const auto starts = shop.s.decode(shop.forward);
    REQUIRE_FALSE(starts.empty());
    CHECK(starts[shop.degrease[1].index()] == 600);
    CHECK(starts[shop.coat[0].index()] == 2'400);
    CHECK(starts[shop.coat[1].index()] == 3'000);
}

TEST_CASE("whose limit is near goes first", "[engine][loose]") {
    // Nia has eight pieces of work of 45 min that stand before the coat in rank, from 4 h on. Its
    // limit is over at 4 h after the mesh is dry: she coats in time and does the rest after it.
    Shop shop(4 * h, 1);
    shop.s.p.constraints.push_back(
        StartWindow{.operation = shop.degrease[0], .not_before = at(3 * h)});
    const auto nia = shop.s.p.operations[shop.coat[0].index()].modes[0].needs[1].any_of[0];
    Sequence last;
    last.rank.assign(shop.s.p.operations.size(), 100);
    for (int i = 0; i < 8; ++i) {
        shop.s.operation(2700, {{.any_of = {nia}, .span = Span::Work}});
        last.rank.push_back(i);
    }
    last.lookahead = 0;
    const auto starts = shop.s.decode(last);
    REQUIRE_FALSE(starts.empty());
    const Tick dry = starts[shop.mesh[0].index()] + 1800;
    CHECK(starts[shop.coat[0].index()] > 4 * h);
    CHECK(starts[shop.coat[0].index()] <= dry + 4 * h);
}

TEST_CASE("what has waited for too long is done again where that is allowed", "[engine][loose]") {
    // Degreased at 0 and hung up at 600, as a matter of fact; dry at 2,400, and the limit of 2 h is
    // over at 9,600. Nia comes at 4 h: 2,400 s after 9,600 it is degreased and dry again.
    Shop shop(2 * h, 1);
    shop.s.starts_at(shop.degrease[0], 0);
    shop.s.starts_at(shop.mesh[0], 600);
    CHECK(shop.s.decode(shop.forward).empty());
    const CompiledProblem compiled(shop.s.p);
    Decoder d(compiled);
    Sequence s = shop.forward;
    s.redoes = true;
    REQUIRE(d.decode(s));
    CHECK(d.schedule().start[shop.coat[0].index()] == 4 * h);
    // Had she been there at 10,000, it would not have been dry again before 12,000.
    auto& nia = shop.s.p.resources[5];
    nia.calendar = Calendar{{at(10'000), at(20 * h)}};
    const CompiledProblem sooner(shop.s.p);
    Decoder again(sooner);
    REQUIRE(again.decode(s));
    CHECK(again.schedule().start[shop.coat[0].index()] == 12'000);
}

TEST_CASE("tied or not, schedules of random rooms keep every rule", "[engine][loose][property]") {
    int both = 0, sooner = 0, later = 0;
    for (std::uint64_t seed = 1; seed <= 200; ++seed) {
        auto p = random_room::make(seed);
        Tick end[2] = {0, 0};
        for (const bool tied : {false, true}) {
            p.ties = tied ? Ties::All : Ties::None;
            const CompiledProblem compiled(p);
            Decoder d(compiled);
            Sequence forward;
            forward.lookahead = 0;
            if (!d.decode(forward)) continue;
            const auto schedule = d.to_schedule();
            const auto wrong = sched::check::check(p, schedule);
            INFO("seed " << seed << (wrong.empty() ? std::string{} : wrong.front().words));
            REQUIRE(wrong.empty());
            for (const auto& x : schedule.placements)
                end[tied] = std::max(end[tied], x.end.time_since_epoch().count());
        }
        if (end[0] == 0 || end[1] == 0) continue;
        ++both;
        sooner += end[0] < end[1];
        later += end[0] > end[1];
    }
    INFO(both << " with both, " << sooner << " sooner, " << later << " later");
    CHECK(both > 150);
    CHECK(sooner > later);
}
