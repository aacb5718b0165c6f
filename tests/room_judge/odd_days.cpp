// Each oddity is drawn by itself on top of the plain random room, so that the plain rooms of a seed
// stay what they are. A moment is the middle or an edge of some operation of the plan, since that
// is where things go wrong.

#include "tests/room_judge/odd_days.hpp"

#include <algorithm>

#include "model/room/steps.hpp"
#include "sched/report/words/steps.hpp"
#include "tests/room_judge/dice.hpp"
#include "tests/room_judge/random_scenario.hpp"

namespace random_scenario {

using namespace model;

namespace {

bool does(const Station& x, Step step) {
    return std::find(x.does.begin(), x.does.end(), step) != x.does.end();
}

class Oddities {
public:
    Oddities(Scenario& s, Dice& dice) : room_(s.room), dice_(dice) {}

    void run() {
        if (dice_.chance(30)) short_lives();
        if (dice_.chance(20)) coating_machine();
        if (dice_.chance(25)) typed_beside_computed();
        if (dice_.chance(30)) no_time();
        if (dice_.chance(30)) closings();
        if (dice_.chance(20)) second_lamp();
        if (dice_.chance(15)) night();
        if (dice_.chance(20)) missing();
        if (dice_.chance(20)) coats_only();
    }

private:
    void short_lives() {
        for (Emulsion& e : room_.emulsions) {
            if (e.family == EmulsionFamily::Photopolymer || dice_.chance(30)) continue;
            e.pot_life_room = minutes(30 * dice_.from_to(6, 40));
            e.pot_life_cold = 3 * e.pot_life_room;
            for (Pot& pot : room_.pots) {
                if (pot.emulsion != e.name || !pot.mixed) continue;
                pot.mixed = first_day() + minutes(dice_.from_to(-300, 420));
                pot.refrigerated = dice_.chance(20);
            }
        }
    }
    void coating_machine() {  // one loads it, then it coats alone
        room_.steps[Step::Coat] = {
            Seconds{15 * dice_.from_to(2, 8)}, minutes(dice_.from_to(3, 9)), {}};
        if (dice_.chance(50))
            room_.steps[Step::FaceCoat] = {Seconds{30}, minutes(dice_.from_to(2, 5)), {}};
    }
    void typed_beside_computed() {
        Station* first = nullptr;
        for (Station& x : room_.stations) {
            if (does(x, Step::DryCoat) && first == nullptr) first = &x;
        }
        if (first == nullptr) return;
        Station typed = *first;
        typed.name = "typed cabinet";
        typed.air.reset();
        typed.closed.clear();
        typed.places = dice_.from_to(1, 6);
        room_.stations.push_back(typed);
    }
    void no_time() {
        const auto set = [&](Step step, StepTime time) {
            if (dice_.chance(50)) room_.steps[step] = time;
        };
        set(Step::TakeOut, {Seconds{0}, Seconds{0}, {}});
        set(Step::DryTouchUp, {Seconds{0}, minutes(dice_.below(2) * 10), {}});
        set(Step::DryMesh, {Seconds{0}, minutes(15), {}});
        set(Step::Inspect, {minutes(2), Seconds{0}, {}});
        set(Step::Degrease, {minutes(3), Seconds{0}, {}});
    }
    void closings() {
        for (Station& x : room_.stations) {
            if (!dice_.chance(25)) continue;
            const SimTime at = first_day() + minutes(dice_.from_to(5 * 60, 17 * 60));
            const int length = dice_.chance(40) ? dice_.from_to(1, 15) : dice_.from_to(20, 600);
            x.closed.emplace_back(at, at + minutes(length));
            if (dice_.chance(30))
                x.closed.emplace_back(at + hours(12), at + hours(12) + minutes(length));
        }
    }
    void second_lamp() {
        const auto unit = std::find_if(room_.stations.begin(), room_.stations.end(),
                                       [](const Station& x) { return x.lamp.has_value(); });
        if (unit == room_.stations.end()) return;
        Station other = *unit;
        other.name = "other unit";
        other.lamp->hours = 50.0 * dice_.below(16);
        other.lamp->distance = Centimetres{80.0 + 10 * dice_.below(7)};
        other.lamp->warm_up = minutes(dice_.below(6));
        if (dice_.chance(50)) other.blanket.reset();
        if (dice_.chance(30)) other.largest_frame = Area{Centimetres{90}, Centimetres{90}};
        room_.stations.push_back(other);
    }
    void night() {
        Person& p = room_.people.back();
        p.shifts = {{.weekdays = {true, true, true, true, true, false, false},
                     .from = hours(22),
                     .to = hours(30)}};
        p.breaks = {{hours(2), hours(2) + minutes(30), minutes(30)}};
    }
    void missing() {
        Person& p = room_.people[static_cast<std::size_t>(
            dice_.below(static_cast<int>(room_.people.size())))];
        p.absent = {date_of(first_day() + std::chrono::days{dice_.below(2)})};
    }

    void coats_only() {  // who has learnt to coat has not learnt to face coat
        for (Person& p : room_.people)
            std::erase(p.can, Step::FaceCoat);
    }

    Room& room_;
    Dice& dice_;
};

class Happening {
public:
    Happening(const sched::app::Question& planned, const sched::report::PlanDocument& plan,
              std::uint64_t seed, Told what)
        : q_(planned), plan_(plan), dice_(seed * 31 + 5), what_(what) {}

    sched::app::Question run() {
        auto& midday = q_.midday.emplace();
        midday.posted = plan_;
        midday.now = moment();
        midday.frozen = minutes(15 * dice_.below(3));
        if (dice_.chance(30)) station_fails();
        if (dice_.chance(25)) somebody_goes();
        if (dice_.chance(40)) a_screen();
        if (dice_.chance(15)) another_frame();
        return q_;
    }

private:
    SimTime now() const { return q_.midday->now; }
    Seconds clock(SimTime t) const { return t - midnight(date_of(now())); }
    const sched::report::OperationLine& any_operation() {
        return plan_.operations[static_cast<std::size_t>(
            dice_.below(static_cast<int>(plan_.operations.size())))];
    }

    SimTime moment() {
        const auto& op = any_operation();
        switch (dice_.below(4)) {
            case 0:
                return op.start;
            case 1:
                return op.work_end;
            case 2:
                return op.start + Seconds{1};
            default:
                return op.start + (op.end - op.start) / 2;
        }
    }

    // A lamp mostly, with a screen in it if there is one at some such moment.
    void station_fails() {
        std::string name = plan_
                               .stations[static_cast<std::size_t>(
                                   dice_.below(static_cast<int>(plan_.stations.size())))]
                               .name;
        if (dice_.chance(60)) {
            std::vector<const sched::report::OperationLine*> lit;
            for (const auto& op : plan_.operations) {
                if (op.step == "expose" && !op.place.empty()) lit.push_back(&op);
            }
            if (!lit.empty()) {
                const auto& op =
                    *lit[static_cast<std::size_t>(dice_.below(static_cast<int>(lit.size())))];
                name = op.place;
                q_.midday->now = op.start + (op.work_end - op.start) / 2;
            }
        }
        AwayNow away{.name = name};
        if (dice_.chance(30)) away.from = clock(now()) + minutes(dice_.from_to(5, 90));
        const Seconds until = away.from.value_or(clock(now())) + minutes(dice_.from_to(5, 240));
        if (dice_.chance(80) && until < hours(24)) away.until = until;
        if (away.from && *away.from >= hours(24)) return;
        q_.midday->state.stations.push_back(away);
    }

    void somebody_goes() {
        AwayNow away{.name = plan_
                                 .people[static_cast<std::size_t>(
                                     dice_.below(static_cast<int>(plan_.people.size())))]
                                 .name};
        if (dice_.chance(40)) away.from = clock(now()) + minutes(dice_.from_to(5, 120));
        const Seconds until = away.from.value_or(clock(now())) + minutes(dice_.from_to(10, 200));
        if (dice_.chance(50) && until < hours(24)) away.until = until;
        if (away.from && *away.from >= hours(24)) return;
        q_.midday->state.people.push_back(away);
    }

    void a_screen() {
        // Of the run, in a step that a file can name.
        std::vector<const sched::report::OperationLine*> under_way, later;
        for (const auto& op : plan_.operations) {
            const bool of_run = std::any_of(plan_.screens.begin(), plan_.screens.end(),
                                            [&](const auto& x) { return x.tag == op.screen; });
            if (!of_run || !parse_step(op.step)) continue;
            if (op.start < now() && now() < op.work_end) under_way.push_back(&op);
            if (op.start >= now()) later.push_back(&op);
        }
        ScreenNow told;
        const int what = dice_.below(4);
        if (what < 3 && !under_way.empty()) {
            const auto& op = *under_way[static_cast<std::size_t>(
                dice_.below(static_cast<int>(under_way.size())))];
            told.screen = op.screen;
            told.round = op.round + 1;
            const Step step = *parse_step(op.step);
            if (what == 0) {  // takes longer
                told.in = {step};
                told.until = clock(now()) + minutes(dice_.from_to(1, 40));
                if (*told.until >= hours(24)) return;
            } else if (what == 1) {  // is done sooner
                told.done = {step};
            } else {
                told.back_to = {step};
            }
        } else if (!later.empty()) {  // further than planned
            const auto& op = *later.front();
            if (what_ == Told::Possible && is_taken(op)) return;
            told.screen = op.screen;
            told.round = op.round + 1;
            told.in = {*parse_step(op.step)};
        } else {
            return;
        }
        q_.midday->state.screens.push_back(told);
    }

    // By what the plan has there now.
    bool is_taken(const sched::report::OperationLine& op) const {
        const auto& stations = q_.scenario.room.stations;
        const auto at = std::find_if(stations.begin(), stations.end(),
                                     [&](const Station& x) { return x.name == op.place; });
        if (at == stations.end()) return false;
        int taken = 0;
        for (const auto& other : plan_.operations) {
            if (other.place == op.place && other.start <= now() && now() < other.end)
                taken += other.places;
        }
        return taken + op.places > at->places;
    }

    void another_frame() {
        if (q_.scenario.frames.empty()) return;
        FrameStock extra = q_.scenario.frames.front();
        if (extra.state == FrameState::KeptStencil || extra.state == FrameState::Coated) return;
        extra.state = FrameState::Ready;
        extra.from.reset();
        extra.haze.reset();
        q_.scenario.frames.insert(q_.scenario.frames.begin(), extra);
    }

    static std::optional<Step> parse_step(const std::string& key) {
        for (int k = 0; k < step_count; ++k) {
            const Step step = static_cast<Step>(k);
            if (sched::report::step_key(step) == key && !words_of(step).empty()) return step;
        }
        return std::nullopt;
    }

    sched::app::Question q_;
    const sched::report::PlanDocument& plan_;
    Dice dice_;
    Told what_;
};

}  // namespace

Scenario make_odd(std::uint64_t seed) {
    Scenario s = make(seed);
    Dice dice(seed + 1'000'003);
    Oddities(s, dice).run();
    return s;
}

sched::app::Question happened(const sched::app::Question& planned,
                              const sched::report::PlanDocument& plan, std::uint64_t seed,
                              Told what) {
    return Happening(planned, plan, seed, what).run();
}

}  // namespace random_scenario
