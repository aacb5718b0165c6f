// How it works: the orders say which screens are usual (frame, mesh, coat plan, emulsion); each
// figure asks the physics or the table of times for such a screen alone, nothing is planned.

#include "sched/report/physics/room_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <map>
#include <optional>

#include "model/physics/emulsion.hpp"
#include "model/physics/exposure.hpp"
#include "model/room/breaks.hpp"
#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"
#include "sched/report/physics/dry_report.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace physics = model::physics;

namespace {

using model::Seconds;
using model::Step;

/// A kind of screen that the room makes; all point into the scenario's room.
struct UsualScreen {
    const model::Mesh* mesh = nullptr;
    const model::CoatPlan* plan = nullptr;
    const model::Emulsion* emulsion = nullptr;
    model::Area frame;
    int count = 0;
};

template <class T>
const T* named_one(const std::vector<T>& list, const std::string& name) {
    for (const T& one : list) {
        if (one.name == name) return &one;
    }
    return nullptr;
}

// What the orders ask for, most first; kept stencils are not made.
std::vector<UsualScreen> usual_screens(const model::Scenario& scenario) {
    const model::Room& room = scenario.room;
    std::vector<UsualScreen> kinds;
    for (const model::Order& order : scenario.orders) {
        for (const model::ScreenLine& line : order.lines) {
            if (line.kept_stencil || !line.mesh) continue;
            const UsualScreen kind{named_one(room.meshes, *line.mesh),
                                   named_one(room.coat_plans, line.coat_plan),
                                   named_one(room.emulsions, line.emulsion), line.frame, 0};
            if (!kind.mesh || !kind.plan || !kind.emulsion) continue;
            const auto known = std::find_if(kinds.begin(), kinds.end(), [&](const UsualScreen& k) {
                return k.mesh == kind.mesh && k.plan == kind.plan && k.emulsion == kind.emulsion &&
                       k.frame == kind.frame;
            });
            UsualScreen& here = known == kinds.end() ? kinds.emplace_back(kind) : *known;
            here.count += line.count;
        }
    }
    std::stable_sort(kinds.begin(), kinds.end(),
                     [](const UsualScreen& a, const UsualScreen& b) { return a.count > b.count; });
    return kinds;
}

// That do the step and take the frame; where none takes it, all that do it.
std::vector<const model::Station*> places_of(const model::Room& room, Step step,
                                             const model::Area& frame) {
    const auto into = [&](const std::optional<model::Area>& limit) {
        return !limit ||
               (std::max(frame.width, frame.height) <= std::max(limit->width, limit->height) &&
                std::min(frame.width, frame.height) <= std::min(limit->width, limit->height));
    };
    std::vector<const model::Station*> all, fit;
    for (const model::Station& s : room.stations) {
        if (!model::does_step(s, step)) continue;
        all.push_back(&s);
        if (into(s.largest_frame) && into(s.blanket)) fit.push_back(&s);
    }
    return fit.empty() ? all : fit;
}

// "40 min": minutes, rounded up; under two minutes the seconds.
std::string short_time(Seconds t) {
    if (t < model::minutes(2)) return fmt::format("{} s", t.count());
    const auto m = (t.count() + 59) / 60;
    return m < 120 ? fmt::format("{} min", m) : fmt::format("{} h {:02} min", m / 60, m % 60);
}

// "90 s", "3 min 4 s": a wedge is told apart by seconds.
std::string exposure_words(Seconds t) {
    return t < model::minutes(2) ? short_time(t) : model::format_duration(t);
}

struct DryTimes {
    Seconds alone{0};
    Seconds full{0};
    bool computed = false;
    bool never = false;
};

// As the compiler has it: a plan's own time, else a typed time, else the air.
DryTimes drying_at(const model::Room& room, const UsualScreen& screen, WetKind kind,
                   const model::Station* at) {
    const Step step = drying_step(kind);
    const auto typed = room.steps.find(step);
    const auto& of_plan = kind == WetKind::Coats      ? screen.plan->dry_coat
                          : kind == WetKind::FaceCoat ? screen.plan->dry_face
                                                      : std::optional<Seconds>{};
    if (of_plan) return {*of_plan, *of_plan};
    if ((typed != room.steps.end() && typed->second.stand_said) || !at || !at->air) {
        const Seconds t = model::time_of(room, step).stand;
        return {t, t};
    }
    std::string problem;
    const auto report = dry_report(room,
                                   {.cabinet = at->name,
                                    .kind = kind,
                                    .coat_plan = screen.plan->name,
                                    .mesh = screen.mesh->name,
                                    .emulsion = screen.emulsion->name,
                                    .frame = screen.frame,
                                    .air = {}},
                                   problem);
    if (!report) return {};
    const DryClimate& usual = report->climates.front();
    return {usual.times.front(), usual.times.back(), true, !usual.reachable};
}

DryTimes drying_of(const model::Room& room, const UsualScreen& screen, WetKind kind) {
    const auto at = places_of(room, drying_step(kind), screen.frame);
    return drying_at(room, screen, kind, at.empty() ? nullptr : at.front());
}

std::string drying_words(const DryTimes& dry) {
    if (dry.never) return "never in this air: it is too damp";
    if (!dry.computed) return short_time(dry.alone);
    return fmt::format("{} alone, {} in a full cabinet", short_time(dry.alone),
                       short_time(dry.full));
}

std::string drying_key(const DryTimes& dry, const char* typed, const char* computed) {
    return dry.computed ? fmt::format("air; {}; or time one: coatroom dry --observed", computed)
                        : fmt::format("{}", typed);
}

// Of each person: there, the breaks off that fall into the shift, by weekday.
using Week = std::array<Seconds, 7>;
std::vector<Week> hours_of_people(const model::Room& room) {
    const model::SimTime monday{std::chrono::days{4}};  // any: 5 January 1970
    std::vector<Week> hours;
    for (model::Person p : room.people) {
        Week& sums = hours.emplace_back();
        sums.fill(Seconds{0});
        p.absent.clear();
        const auto breaks = model::place_breaks(p, monday, monday + std::chrono::days{8});
        for (std::size_t day = 0; day < sums.size(); ++day) {
            const auto midnight = monday + std::chrono::days{day};
            for (const model::Shift& s : p.shifts) {
                if (!s.weekdays[day]) continue;
                sums[day] += s.to - s.from;
                for (const model::PlacedBreak& b : breaks.placed) {
                    const bool in = b.at >= midnight + s.from && b.at < midnight + s.to;
                    if (in) sums[day] -= b.length;
                }
            }
        }
    }
    return hours;
}

bool has_learnt(const model::Person& person, Step step) {
    return person.can.empty() || model::names_step(person.can, step);
}

// Who is short: some of the work can be done by some of the people only.
struct Hands {
    Seconds work{0};                // of one screen, that only they can do
    Seconds there{0};               // they, in a day
    std::vector<std::string> only;  // empty: it is all of the work, and everybody
    Seconds::rep screens() const { return work.count() > 0 ? there.count() / work.count() : 0; }
};

// Each set of steps asks no more of those who can do any of them than they have hours: so many
// screens can be shared out among the people, and no more (Hall's condition). Of the weekdays the
// one that makes most.
Hands hands_a_day(const model::Room& room, const std::map<Step, Seconds>& work) {
    const auto hours = hours_of_people(room);
    std::vector<std::pair<Step, Seconds>> learnt;
    Hands all;
    for (const auto& [step, time] : work) {
        all.work += time;
        if (step != Step::TakeOut && time > Seconds{0}) learnt.emplace_back(step, time);
    }
    Hands best;
    for (std::size_t day = 0; day < Week{}.size(); ++day) {
        Hands least = all;
        for (const Week& week : hours)
            least.there += week[day];
        for (std::size_t set = 1; set < std::size_t{1} << learnt.size(); ++set) {
            Hands some;
            for (std::size_t k = 0; k < learnt.size(); ++k)
                if ((set >> k) % 2 == 1) some.work += learnt[k].second;
            for (std::size_t i = 0; i < hours.size(); ++i) {
                bool can = false;
                for (std::size_t k = 0; k < learnt.size(); ++k)
                    can =
                        can || ((set >> k) % 2 == 1 && has_learnt(room.people[i], learnt[k].first));
                if (!can) continue;
                some.there += hours[i][day];
                some.only.push_back(room.people[i].name);
            }
            if (some.only.size() < hours.size() && some.screens() < least.screens()) least = some;
        }
        if (best.work == Seconds{0} || least.screens() > best.screens() ||
            (least.screens() == best.screens() && least.there > best.there))
            best = least;
    }
    return best;
}

// Hands of a screen and what a day of them makes; where not everybody can do everything, whose.
std::string hands_words(const model::Room& room, Seconds hands,
                        const std::map<Step, Seconds>& work) {
    const Hands short_of = hands_a_day(room, work);
    std::string words = short_time(hands) + " a clean screen";
    if (!short_of.only.empty())
        words +=
            fmt::format(", {} of it for {} only", short_time(short_of.work),
                        short_of.only.size() > 3 ? fmt::format("{} people", short_of.only.size())
                                                 : joined(short_of.only));
    return words +
           fmt::format("; {} a day make {}", short_time(short_of.there), short_of.screens());
}

Seconds exposure_at(const model::Station& unit, const UsualScreen& screen) {
    if (!unit.lamp) return Seconds{0};
    return physics::exposure_seconds(*screen.emulsion, *unit.lamp, *screen.mesh, *screen.plan);
}

Seconds exposure_of(const model::Room& room, const UsualScreen& screen) {
    const auto units = places_of(room, Step::Expose, screen.frame);
    return units.empty() ? Seconds{0} : exposure_at(*units.front(), screen);
}

// From the first step to the last, with nothing to wait for: whole length and hands. Of several
// places it is the first that takes the frame.
struct Way {
    const model::Room& room;
    const UsualScreen& screen;
    Seconds length{0};
    Seconds hands{0};
    std::map<Step, Seconds> by_step = {};  // of the hands; carrying, which all can: take out

    model::StepTime time(Step step) const {
        const auto at = places_of(room, step, screen.frame);
        return model::time_of(room, step, step == Step::Coat ? screen.plan : nullptr,
                              {.at = at.empty() ? nullptr : at.front(), .frame = &screen.frame});
    }
    void add(Step step, Seconds more = Seconds{0}) {
        const model::StepTime t = time(step);
        length += t.attended + t.stand + more;
        const int people = model::people_for(room, step, screen.frame);
        hands += t.attended * people;
        // Of two who lay a frame on the unit one has learnt it; setting aside is carrying.
        const int learnt = step == Step::DryTouchUp ? 0 : step == Step::Expose ? 1 : people;
        by_step[step] += t.attended * learnt;
        by_step[Step::TakeOut] += t.attended * (people - learnt);
    }
    // Hung up, dried, taken out.
    void dry(Step step, Seconds drying) {
        const Seconds hang = time(step).attended;
        const Seconds out = time(Step::TakeOut).attended;
        length += hang + drying + out;
        const Seconds carried = (hang + out) * model::people_for(room, Step::TakeOut, screen.frame);
        hands += carried;
        by_step[Step::TakeOut] += carried;
    }
};

Way way_of(const model::Room& room, const UsualScreen& s) {
    Way way{room, s};
    way.add(Step::Degrease);
    way.dry(Step::DryMesh, drying_of(room, s, WetKind::Mesh).alone);
    way.add(Step::Coat);
    way.dry(Step::DryCoat, drying_of(room, s, WetKind::Coats).alone);
    for (int k = 0; k < s.plan->face; ++k) {
        way.add(Step::FaceCoat);
        way.dry(Step::DryFace, drying_of(room, s, WetKind::FaceCoat).alone);
    }
    way.add(Step::Expose, exposure_of(room, s));
    way.add(Step::WashOut);
    way.dry(Step::DryStencil, drying_of(room, s, WetKind::Stencil).alone);
    way.add(Step::Inspect);
    way.add(Step::DryTouchUp);
    return way;
}

}  // namespace

std::optional<model::Area> usual_frame(const model::Scenario& scenario) {
    std::vector<std::pair<model::Area, int>> sizes;
    for (const UsualScreen& kind : usual_screens(scenario)) {
        const auto known = std::find_if(sizes.begin(), sizes.end(),
                                        [&](const auto& x) { return x.first == kind.frame; });
        auto& here = known == sizes.end() ? sizes.emplace_back(kind.frame, 0) : *known;
        here.second += kind.count;
    }
    const auto most =
        std::max_element(sizes.begin(), sizes.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    return most == sizes.end() ? std::nullopt : std::optional(most->first);
}

std::vector<RoomFigure> room_figures(const model::Scenario& scenario) {
    const model::Room& room = scenario.room;
    std::vector<RoomFigure> out;
    const auto kinds = usual_screens(scenario);
    if (kinds.empty()) return out;
    const UsualScreen& usual = kinds.front();
    // The second drying time is of another coat, where there is one.
    std::vector<const UsualScreen*> coated{&usual};
    for (const UsualScreen& k : kinds) {
        if (coated.size() < 2 && (k.plan != usual.plan || k.mesh != usual.mesh))
            coated.push_back(&k);
    }
    // Where another place takes another time, that stands below.
    const auto elsewhere = [&](WetKind kind, const char* typed, const char* computed) {
        const std::string first = drying_words(drying_of(room, usual, kind));
        for (const model::Station* at : places_of(room, drying_step(kind), usual.frame)) {
            const DryTimes dry = drying_at(room, usual, kind, at);
            if (drying_words(dry) != first)
                out.push_back(
                    {"  in " + at->name, drying_words(dry), drying_key(dry, typed, computed)});
        }
    };
    const DryTimes mesh = drying_of(room, usual, WetKind::Mesh);
    out.push_back({"a rinsed mesh dries", drying_words(mesh),
                   drying_key(mesh, "times: dry mesh", "drying: grams after rinsing")});
    elsewhere(WetKind::Mesh, "times: dry mesh", "drying: grams after rinsing");
    for (const UsualScreen* k : coated) {
        const DryTimes dry = drying_of(room, *k, WetKind::Coats);
        out.push_back(
            {fmt::format("{} on {} dries", k->plan->name, k->mesh->name), drying_words(dry),
             drying_key(dry, "coat plans: drying time; times: dry coat", "emulsions: wet film")});
        if (k == &usual)
            elsewhere(WetKind::Coats, "coat plans: drying time; times: dry coat",
                      "emulsions: wet film");
    }
    for (const UsualScreen* k : coated) {
        if (exposure_of(room, *k) == Seconds{0}) continue;
        out.push_back(
            {fmt::format("{} on {} exposes", k->plan->name, k->mesh->name),
             fmt::format("{}, {}", exposure_words(exposure_of(room, *k)), k->emulsion->name),
             "emulsions: exposure; make a wedge: coatroom dose --wedge"});
        for (const model::Station* unit : places_of(room, Step::Expose, k->frame)) {
            const Seconds there = exposure_at(*unit, *k);
            if (k == &usual && unit->lamp && there != exposure_of(room, *k))
                out.push_back(
                    {"  at " + unit->name, exposure_words(there), "lamp; emulsions: exposure"});
        }
    }
    const DryTimes stencil = drying_of(room, usual, WetKind::Stencil);
    out.push_back({"a washed-out stencil dries", drying_words(stencil),
                   drying_key(stencil, "times: dry stencil", "drying: grams after wash-out")});
    elsewhere(WetKind::Stencil, "times: dry stencil", "drying: grams after wash-out");
    const auto millilitres = [&](const UsualScreen& k) {
        return physics::coat_volume(*k.mesh, *k.plan, *k.emulsion, k.frame, room.drying).value;
    };
    const auto takes = [&](const UsualScreen& k, std::string name) {
        const double ml = millilitres(k);
        out.push_back({std::move(name),
                       fmt::format("{:.0f} ml of {}; a can coats {:.0f}", ml, k.emulsion->name,
                                   std::floor(k.emulsion->batch.value / ml)),
                       "emulsions: wet film, waste per coat, batch"});
    };
    takes(usual, fmt::format("{} on {} takes", usual.plan->name, usual.mesh->name));
    // A frame so large that its coat is another matter stands below.
    const auto& most = *std::max_element(kinds.begin(), kinds.end(), [&](auto& a, auto& b) {
        return millilitres(a) < millilitres(b);
    });
    if (millilitres(most) > 2.0 * millilitres(usual))
        takes(most, "  of " + model::format_size(most.frame));
    const Way way = way_of(room, usual);
    out.push_back({"clean mesh to ready",
                   fmt::format("{} with nothing to wait for", short_time(way.length)),
                   "times; coat plans: coat time"});
    Way reclaim{room, usual};
    reclaim.add(Step::InkOff);
    reclaim.add(Step::InkDegrease);
    reclaim.add(Step::Strip, room.limits.remover_min);
    reclaim.add(Step::Rinse);
    out.push_back({"an inky one before that",
                   fmt::format("{}, {} by hand; haze step for {:.0f} %", short_time(reclaim.length),
                               short_time(reclaim.hands), 100.0 * room.haze_share.value),
                   "times: ink off, strip, rinse, haze; haze share"});
    out.push_back(
        {"hands", hands_words(room, way.hands, way.by_step), "people: can, shifts, breaks; times"});
    return out;
}

std::string figures_text(const std::vector<RoomFigure>& figures) {
    std::string out;
    for (const RoomFigure& f : figures)
        out += fmt::format("  {:<27} {}\n      {}\n", f.name, f.says, f.change);
    return out;
}

}  // namespace sched::report
