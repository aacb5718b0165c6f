#include "tests/room_judge/random_scenario.hpp"

#include "tests/room_judge/dice.hpp"

namespace random_scenario {

using namespace model;

namespace {

Area size(double w, double h) {
    return {Centimetres{w}, Centimetres{h}};
}

class RoomMaker {
public:
    explicit RoomMaker(std::uint64_t seed) : dice_(seed) {}

    Scenario make() {
        s_.room.name = "random";
        s_.room.invented = true;
        large_ = dice_.chance(35);
        climate();
        stations();
        if (dice_.chance(20)) premises();
        people();
        material();
        times();
        limits();
        orders();
        frames();
        return std::move(s_);
    }

private:
    Room& room() { return s_.room; }

    void climate() {
        if (!dice_.chance(60)) return;
        room().climate = Climate{};
        room().climate->air = {Celsius{17.0 + dice_.below(10)},
                               RelativeHumidity{0.3 + 0.01 * dice_.below(40)}};
        if (!dice_.chance(30)) return;
        SimTime at = first_day();
        for (int i = 0; i < 12; ++i) {
            s_.weather.push_back({at,
                                  {Celsius{16.0 + dice_.below(12)},
                                   RelativeHumidity{0.3 + 0.01 * dice_.below(40)}}});
            at += minutes(60 * dice_.from_to(1, 5));
        }
    }

    Station cabinet(const std::string& name) {
        Station x{.name = name,
                  .does = {Step::DryMesh, Step::DryCoat, Step::DryFace, Step::DryStencil},
                  .places = dice_.from_to(2, 12),
                  .light_safe = true};
        if (room().climate && dice_.chance(80)) {
            CabinetAir air;
            air.temperature = Celsius{30.0 + dice_.below(10)};
            air.supply = CubicMetresPerHour{150.0 + 50 * dice_.below(15)};
            air.speed = MetresPerSecond{0.5 + 0.1 * dice_.below(12)};
            if (dice_.chance(30)) air.heater = Watts{900.0 + 100 * dice_.below(30)};
            if (dice_.chance(15)) air.dehumidified_to = RelativeHumidity{0.35};
            x.air = air;
        }
        if (dice_.chance(40)) x.double_from = size(70, 100);
        if (dice_.chance(12)) close(x);
        return x;
    }
    void close(Station& x) {
        const SimTime at = first_day() + minutes(dice_.from_to(6 * 60, 18 * 60));
        x.closed.emplace_back(at, at + minutes(dice_.chance(50) ? 10 : dice_.from_to(30, 180)));
    }

    Station unit(const std::string& name) {
        Lamp lamp;
        lamp.kind = dice_.chance(70) ? LampKind::MetalHalide : LampKind::Led;
        lamp.distance = Centimetres{90.0 + 5 * dice_.below(10)};
        lamp.hours = 50.0 * dice_.below(16);
        if (dice_.chance(25)) lamp.integrator = true;
        if (dice_.chance(30)) lamp.warm_up = minutes(dice_.from_to(1, 8));
        if (dice_.chance(50)) lamp.draw_down = Seconds{dice_.from_to(20, 120)};
        Station x{.name = name, .does = {Step::Expose}, .light_safe = true, .lamp = lamp};
        if (dice_.chance(40)) x.blanket = size(110, dice_.chance(50) ? 140 : 180);
        if (dice_.chance(8)) close(x);
        return x;
    }

    void stations() {
        auto& list = room().stations;
        list.push_back({.name = "sink",
                        .does = {Step::InkOff, Step::InkDegrease, Step::Strip, Step::Rinse,
                                 Step::Haze, Step::Abrade, Step::Degrease},
                        .places = dice_.from_to(1, 3)});
        list.push_back({.name = "stand",
                        .does = {Step::Coat, Step::FaceCoat},
                        .places = dice_.from_to(1, 2),
                        .light_safe = true});
        list.push_back(cabinet("cabinet"));
        if (dice_.chance(35)) list.push_back(cabinet("cabinet 2"));
        list.push_back(unit("unit"));
        if (dice_.chance(30)) list.push_back(unit("unit 2"));
        list.push_back({.name = "booth", .does = {Step::WashOut}, .light_safe = true});
        if (dice_.chance(40)) {
            list.back().does.push_back(Step::Strip);
            list.back().does.push_back(Step::Rinse);
        }
        list.push_back({.name = "table", .does = {Step::Inspect}, .places = dice_.from_to(1, 2)});
        if (dice_.chance(65))
            list.push_back({.name = "rack",
                            .does = {Step::TakeOut, Step::DryTouchUp},
                            .places = dice_.from_to(3, 20),
                            .light_safe = true});
        if (dice_.chance(25))
            list.push_back({.name = "mixing bench",
                            .does = {Step::MixDissolve, Step::MixStir},
                            .light_safe = true});
        for (Station& x : list) {
            if (dice_.chance(8)) x.walk = Seconds{dice_.from_to(10, 40)};
            if (dice_.chance(4)) close(x);
        }
        if (large_ && dice_.chance(50)) list.front().largest_frame = size(130, 170);
    }

    void premises() {
        const char* parts[] = {"wet area", "dark room", "cellar"};
        for (Station& x : room().stations) {
            if (dice_.chance(80)) x.stands_in = parts[dice_.below(3)];
        }
        room().walks = {{.from = "wet area", .to = "dark room", .time = Seconds{40}},
                        {.from = "wet area", .to = "cellar", .time = minutes(2)},
                        {.from = "dark room", .to = "cellar", .time = Seconds{75}}};
    }

    Shift shift(Seconds from, Seconds to, bool weekend) {
        const bool w = weekend;
        return {.weekdays = {true, true, true, true, true, w, w}, .from = from, .to = to};
    }

    std::vector<Break> breaks(Seconds from, Seconds to) {
        std::vector<Break> out;
        const auto middle = from + Seconds{(to - from).count() / 2 / 900 * 900};
        const auto early = from + minutes(15 * dice_.from_to(4, 10));
        switch (dice_.below(9)) {
            case 0:
                break;
            case 1:
                out = {{middle, middle, minutes(30)}};
                break;
            case 2:
                out = {{middle, middle + hours(1), minutes(30)}};
                break;
            case 3:  // a fixed one beside a floating one
                out = {{early, early, minutes(15)},
                       {early - minutes(30), early + minutes(60), minutes(30)}};
                break;
            case 4:  // two that float over each other
                out = {{early, early + minutes(75), minutes(30)},
                       {early + minutes(30), early + minutes(90), minutes(15)}};
                break;
            case 5:  // two that touch
                out = {{early, early, minutes(15)},
                       {early + minutes(15), early + minutes(15), minutes(15)}};
                break;
            case 7: {  // three of any kind
                for (int i = 0; i < 3; ++i) {
                    const Seconds at = from + minutes(15 * dice_.from_to(1, 16));
                    const Seconds float_for = minutes(15 * dice_.below(6));
                    out.push_back({at, at + float_for, minutes(5 * dice_.from_to(2, 7))});
                }
                break;
            }
            case 6:
                out = {{early, early, minutes(15)}, {middle, middle + minutes(45), minutes(30)}};
                break;
            default:  // near the end of the shift
                out = {{to - minutes(45), to - minutes(20), minutes(20)}};
                break;
        }
        if (out.size() == 2 && dice_.chance(50)) std::swap(out[0], out[1]);
        // A night's breaks are written by the clock.
        for (Break& x : out) {
            if (x.earliest < hours(24)) continue;
            x.earliest -= hours(24);
            x.latest -= hours(24);
        }
        return out;
    }

    void people() {
        const int count = dice_.from_to(large_ ? 2 : 1, 4);
        const bool weekend = dice_.chance(30);
        for (int i = 0; i < count; ++i) {
            Person p{.name = std::string("P") + static_cast<char>('a' + i)};
            Seconds from = minutes(30 * dice_.from_to(10, 18));  // 05:00 to 09:00
            if (dice_.chance(15)) from = hours(13);
            if (i > 1 && dice_.chance(25)) from = hours(22);
            // Two for a large frame have to meet.
            if (large_ && i < 2) from = hours(6 + i);
            Seconds to = from + minutes(15 * dice_.from_to(20, 36));
            p.shifts = {shift(from, to, weekend)};
            p.breaks = breaks(from, to);
            if (dice_.chance(20)) p.overtime = minutes(15 * dice_.from_to(1, 6));
            if (i > 1 && dice_.chance(10)) p.absent = {date_of(first_day())};
            if (i > 0 && dice_.chance(40)) {
                // Others do all; this one has learnt some.
                const std::vector<std::vector<Step>> skills = {
                    {Step::InkOff, Step::InkDegrease, Step::Strip, Step::Rinse, Step::Haze,
                     Step::Abrade, Step::Degrease, Step::WashOut, Step::TakeOut},
                    {Step::Coat, Step::FaceCoat, Step::Expose, Step::MixDissolve, Step::MixStir},
                    {Step::Inspect, Step::WashOut, Step::TakeOut}};
                if (!large_ || i > 1) p.can = skills[static_cast<std::size_t>(dice_.below(3))];
            }
            room().people.push_back(std::move(p));
        }
    }

    void material() {
        const EmulsionFamily families[] = {EmulsionFamily::Diazo, EmulsionFamily::DualCure,
                                           EmulsionFamily::Photopolymer};
        for (const char* name : {"blue", "red"}) {
            Emulsion e{.name = name, .family = families[dice_.below(3)]};
            e.solids = Fraction{0.3 + 0.01 * dice_.below(15)};
            e.wet_film = Micrometres{25.0 + dice_.below(25)};
            e.base_exposure = Seconds{dice_.from_to(40, 200)};
            e.base_distance = Centimetres{100};
            e.batch = Millilitres{dice_.chance(30) ? 500.0 : 1000.0};
            if (e.family != EmulsionFamily::Photopolymer) {
                e.pot_life_room = hours(24 * 28);
                e.pot_life_cold = hours(24 * 84);
            }
            room().emulsions.push_back(e);
            const bool two_parts = e.family != EmulsionFamily::Photopolymer;
            const int pots = dice_.below(3);
            for (int i = 0; i < pots; ++i) {
                Pot p{.name = std::string(name) + " " + static_cast<char>('A' + i),
                      .emulsion = name,
                      .volume = Millilitres{100.0 * dice_.from_to(1, 12)}};
                if (two_parts) {
                    if (dice_.chance(25)) {
                        p.needs_mixing = true;
                    } else if (dice_.chance(30)) {  // ends during the day
                        p.mixed = first_day() + hours(dice_.from_to(7, 15)) - e.pot_life_room;
                    } else {
                        p.mixed = first_day() - hours(dice_.from_to(2, 90));
                    }
                }
                room().pots.push_back(p);
            }
        }
        room().meshes = {{.name = "43-80", .count = ThreadsPerCm{43}, .thread = Micrometres{80}},
                         {.name = "77-55", .count = ThreadsPerCm{77}, .thread = Micrometres{55}},
                         {.name = "120-34",
                          .count = ThreadsPerCm{120},
                          .thread = Micrometres{34},
                          .dyed = dice_.chance(50)}};
        room().coat_plans = {{.name = "1+1", .print_side = 1, .squeegee_side = 1},
                             {.name = "2+2"},
                             {.name = "2+2 face", .face = dice_.from_to(1, 2)}};
        for (CoatPlan& plan : room().coat_plans) {
            if (dice_.chance(15)) plan.coat = minutes(dice_.from_to(2, 6));
            if (dice_.chance(10)) plan.coat_stand = minutes(dice_.from_to(1, 6));
            if (dice_.chance(15)) plan.dry_coat = minutes(dice_.from_to(20, 60));
            if (dice_.chance(10)) plan.dry_face = minutes(dice_.from_to(15, 40));
        }
    }

    void times() {
        const auto set = [&](Step step, int percent, StepTime time) {
            if (dice_.chance(percent)) room().steps[step] = time;
        };
        const auto m = [&](int a, int b) { return minutes(dice_.from_to(a, b)); };
        set(Step::Degrease, 30, {m(1, 4), m(0, 3), {}});
        set(Step::WashOut, 25, {m(3, 6), m(0, 2), {}});
        set(Step::Coat, 25, {m(1, 5), m(0, 6), {}});  // an automatic coater stands
        set(Step::Haze, 25, {m(3, 5), m(0, 8), {}});
        set(Step::Inspect, 25, {m(2, 6), m(0, 2), {}});
        set(Step::InkOff, 20, {m(3, 6), m(0, 3), {}});
        const Seconds load = m(1, 3);  // loading that takes long is of a unit that takes its time
        set(Step::Expose, 20, {load, load > minutes(2) ? minutes(6) : Seconds{0}, {}});
        set(Step::TakeOut, 20, {Seconds{15 * dice_.from_to(1, 8)}, Seconds{0}, {}});
        set(Step::DryMesh, 15, {Seconds{5 * dice_.from_to(2, 6)}, m(10, 25), {}});
        set(Step::DryStencil, 15, {Seconds{5 * dice_.from_to(2, 6)}, m(10, 25), {}});
        set(Step::DryTouchUp, 20, {Seconds{20}, m(5, 15), {}});
    }

    void limits() {
        Limits& l = room().limits;
        if (dice_.chance(30)) l.expose_to_wash = minutes(dice_.from_to(10, 60));
        if (dice_.chance(30)) l.dry_to_coat = minutes(dice_.from_to(60, 480));
        if (dice_.chance(10)) l.coated_shelf = hours(dice_.from_to(2, 48));
        if (dice_.chance(30)) l.remover_min = minutes(dice_.from_to(1, 3));
        if (large_) l.two_people_from = size(90, 120);
        room().haze_share = Fraction{0.1 * dice_.below(8)};
    }

    Area frame() {
        if (large_ && dice_.chance(40)) return dice_.chance(50) ? size(100, 150) : size(95, 120);
        return dice_.chance(70) ? size(58, 84) : size(84, 58);
    }

    void orders() {
        const int count = dice_.from_to(1, 4);
        for (int o = 0; o < count; ++o) {
            Order order{.name = std::string("O") + std::to_string(o + 1)};
            order.customer = "customer " + std::to_string(o + 1);
            order.due = first_day() + hours(dice_.from_to(9, 30));
            order.priority = dice_.from_to(1, 5);
            const int lines = dice_.from_to(1, 2);
            for (int l = 0; l < lines; ++l) {
                const char* meshes[] = {"43-80", "77-55", "120-34"};
                const char* plans[] = {"1+1", "2+2", "2+2", "2+2 face"};
                ScreenLine line{.count = dice_.from_to(1, 3),
                                .mesh = meshes[dice_.below(3)],
                                .frame = frame(),
                                .emulsion = dice_.chance(60) ? "blue" : "red",
                                .coat_plan = plans[dice_.below(4)]};
                if (dice_.chance(15)) {
                    line.mesh.reset();
                    line.finest_line = Micrometres{150};
                }
                if (dice_.chance(20))
                    line.film_ready = first_day() + minutes(dice_.from_to(6 * 60, 14 * 60));
                if (dice_.chance(8)) line.kept_stencil = true;
                order.lines.push_back(line);
            }
            s_.orders.push_back(std::move(order));
        }
    }

    // Enough frames for every line, in mixed states, and a few more.
    void frames() {
        for (const Order& order : s_.orders) {
            for (const ScreenLine& line : order.lines) {
                for (int k = 0; k < line.count; ++k)
                    s_.frames.push_back(frame_for(order, line));
            }
        }
        const std::size_t more = s_.frames.size() / 4 + 1;
        for (std::size_t i = 0; i < more; ++i) {
            FrameStock extra = s_.frames[static_cast<std::size_t>(
                dice_.below(static_cast<int>(s_.frames.size())))];
            if (extra.state == FrameState::KeptStencil || extra.state == FrameState::Coated)
                continue;
            extra.state = dice_.chance(60) ? FrameState::Inky : FrameState::OldStencil;
            if (dice_.chance(70)) extra.from = first_day() + minutes(dice_.from_to(300, 900));
            s_.frames.push_back(extra);
        }
    }

    FrameStock frame_for(const Order& order, const ScreenLine& line) {
        FrameStock f{.size = line.frame, .mesh = line.mesh.value_or("43-80")};
        if (!line.mesh) f.mesh = "77-55";
        if (line.kept_stencil) {
            f.state = FrameState::KeptStencil;
            f.order = order.name;
            return f;
        }
        constexpr FrameState states[] = {FrameState::OldStencil, FrameState::OldStencil,
                                         FrameState::Inky,       FrameState::Ready,
                                         FrameState::NewMesh,    FrameState::Coated};
        f.state = states[dice_.below(6)];
        if (f.state == FrameState::Coated) {
            f.emulsion = line.emulsion;
            f.coat_plan = line.coat_plan;
            if (dice_.chance(60)) f.coated_dry = first_day() - hours(dice_.from_to(1, 60));
            return f;
        }
        const bool used = f.state == FrameState::Inky || f.state == FrameState::OldStencil;
        if (used && dice_.chance(40)) f.haze = dice_.chance(50);
        if (dice_.chance(15)) f.from = first_day() + minutes(dice_.from_to(300, 700));
        return f;
    }

    Dice dice_;
    Scenario s_;
    bool large_ = false;
};

// Rooms before this one are as they were found, when nobody needed time from place to place.
constexpr std::uint64_t first_with_walks = 250001;
// And before this one stations stood beside nothing that they did not have to.
constexpr std::uint64_t first_with_neighbours = 350001;

void set_side_by_side(std::uint64_t seed, Scenario& scenario) {
    Dice dice(seed);
    auto& stations = scenario.room.stations;
    for (std::size_t i = 0; i < stations.size(); ++i) {
        const auto other = static_cast<std::size_t>(dice.below(static_cast<int>(stations.size())));
        if (dice.chance(15)) stations[i].beside = "none";
        if (dice.chance(15) && other != i) stations[i].beside = stations[other].name;
    }
}

}  // namespace

SimTime first_day() {
    return *parse_date_time("2026-11-26T00:00");
}

Scenario make(std::uint64_t seed) {
    Scenario scenario = RoomMaker(seed).make();
    scenario.room.between_stations = Seconds{seed < first_with_walks ? 0 : 5 * (seed % 5)};
    if (seed >= first_with_neighbours) set_side_by_side(seed, scenario);
    return scenario;
}

}  // namespace random_scenario
