// Ten thousand invented rooms: whatever the room, no plan breaks a rule, and remover is never left
// on a screen for more than five minutes (common practice, no source).

#include <cstdint>
#include <string>

#include "sched/check/checker.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "tests/catch.hpp"

using namespace model;

namespace {

class Dice {
public:
    explicit Dice(std::uint64_t seed) : state_(seed * 0x9E3779B97F4A7C15u + 1) {}
    int below(int n) {  // SplitMix64; the bias of % is below n / 2^64
        std::uint64_t z = (state_ += 0x9E3779B97F4A7C15u);
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
        return static_cast<int>((z ^ (z >> 31)) % static_cast<std::uint64_t>(n));
    }
    bool chance(int percent) { return below(100) < percent; }

private:
    std::uint64_t state_;
};

Scenario random_room(Dice& dice) {
    Scenario s;
    s.room.name = "random";
    const SimTime day = *parse_date_time("2026-11-26T00:00");
    const bool climate = dice.chance(60);
    CabinetAir air;
    air.temperature = Celsius{30.0 + dice.below(10)};
    air.supply = CubicMetresPerHour{100.0 + dice.below(500)};
    air.speed = MetresPerSecond{0.5 + 0.1 * dice.below(10)};
    if (dice.chance(30)) air.heater = Watts{500.0 + dice.below(3000)};
    s.room.stations = {
        {.name = "sink",
         .does = {Step::InkOff, Step::Strip, Step::Haze, Step::Abrade, Step::Degrease},
         .places = 1 + dice.below(2)},
        {.name = "stand", .does = {Step::Coat, Step::FaceCoat}, .places = 1 + dice.below(2)},
        {.name = "cabinet",
         .does = {Step::DryMesh, Step::DryCoat, Step::DryFace, Step::DryStencil},
         .places = 2 + dice.below(8)},
        {.name = "unit", .does = {Step::Expose}, .lamp = Lamp{}},
        {.name = "booth", .does = {Step::WashOut}},
        {.name = "table", .does = {Step::Inspect}},
    };
    if (climate) {
        s.room.climate = Climate{};
        s.room.climate->air.humidity = RelativeHumidity{0.3 + 0.01 * dice.below(40)};
        s.room.stations[2].air = air;
    }
    if (dice.chance(40)) s.room.stations[4].does.push_back(Step::Strip);
    if (dice.chance(70)) {
        s.room.stations.push_back({.name = "rack",
                                   .does = {Step::TakeOut, Step::DryTouchUp},
                                   .places = 2 + dice.below(10)});
    }
    if (dice.chance(30)) {
        s.room.stations[3].blanket = Area{Centimetres{120}, Centimetres{150}};
    }
    const int people = 1 + dice.below(3);
    for (int i = 0; i < people; ++i) {
        Person person{.name = "p" + std::to_string(i)};
        // Short shifts with odd ends, so that work meets the end of the day.
        const Seconds from = minutes(300 + 10 * dice.below(30));
        const Seconds to = from + minutes(120 + 7 * dice.below(60));
        person.shifts = {
            {.weekdays = {true, true, true, true, true, true, true}, .from = from, .to = to}};
        if (dice.chance(50)) {
            const Seconds at = from + minutes(30 + dice.below(60));
            person.breaks = {{at, at, minutes(15)}};
        }
        if (dice.chance(20)) person.overtime = minutes(30);
        s.room.people.push_back(person);
    }
    s.room.emulsions = {{.name = "blue", .batch = Millilitres{1000}}};
    if (dice.chance(50)) {
        s.room.pots = {{.name = "pot", .emulsion = "blue", .volume = Millilitres{5000}}};
    }
    s.room.meshes = {{.name = "77-55", .count = ThreadsPerCm{77}, .thread = Micrometres{55}}};
    s.room.coat_plans = {{.name = "2+2"}, {.name = "face", .face = 1}};
    const Area frame{Centimetres{58}, Centimetres{84}};
    const int orders = 1 + dice.below(3);
    int screens = 0;
    for (int o = 0; o < orders; ++o) {
        const int count = 1 + dice.below(3);
        screens += count;
        s.orders.push_back({.name = "O" + std::to_string(o),
                            .due = day + hours(8 + dice.below(20)),
                            .priority = 1 + dice.below(5),
                            .lines = {{.count = count,
                                       .mesh = "77-55",
                                       .frame = frame,
                                       .emulsion = "blue",
                                       .coat_plan = dice.chance(70) ? "2+2" : "face"}}});
    }
    for (int f = 0; f < screens; ++f) {
        constexpr FrameState states[] = {FrameState::OldStencil, FrameState::OldStencil,
                                         FrameState::Inky, FrameState::Ready, FrameState::NewMesh};
        s.frames.push_back({.size = frame, .mesh = "77-55", .state = states[dice.below(5)]});
    }
    return s;
}

}  // namespace

TEST_CASE("in ten thousand random rooms no plan breaks a rule, nor the remover's five minutes",
          "[property][max-lag]") {
    int planned = 0;
    int stripped = 0;
    for (std::uint64_t seed = 1; seed <= 10000; ++seed) {
        Dice dice(seed);
        const Scenario s = random_room(dice);
        Diagnostics d;
        const auto room = sched::compile::compile_room(
            s, {.start = *parse_date_time("2026-11-26T00:00"), .days = 4}, d);
        if (!room) continue;  // air too damp for this cabinet
        const sched::engine::CompiledProblem compiled(room->problem);
        sched::engine::Decoder decoder(compiled);
        const auto views = sched::engine::rule_views(compiled);
        const auto rules = sched::engine::rules();
        const auto& rule =
            rules[static_cast<std::size_t>(dice.below(static_cast<int>(rules.size())))];
        if (!decoder.decode(sched::engine::rule_sequence(compiled, views, rule))) continue;
        ++planned;
        const auto schedule = decoder.to_schedule();
        const auto violations = sched::check::check(room->problem, schedule);
        if (!violations.empty()) {
            FAIL("room " << seed << ", rule " << rule.name << ": " << violations.front().words);
        }
        // Said once more without the checker: remover on and rinse are neighbours on the route.
        for (std::size_t i = 0; i + 1 < room->operations.size(); ++i) {
            if (room->operations[i].step != Step::Strip) continue;
            REQUIRE(room->operations[i + 1].step == Step::Rinse);
            ++stripped;
            const auto stands = schedule.placements[i + 1].start - schedule.placements[i].start;
            if (stands > minutes(5) || stands < minutes(2)) {
                FAIL("room " << seed << ": remover stands " << stands.count() << " s");
            }
        }
    }
    // Most rooms can be planned; the rest has no shift long enough or no air dry enough.
    CHECK(planned > 8000);
    CHECK(stripped > 10000);
}
