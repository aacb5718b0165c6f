// A step is a list of ways (modes): where it can be done, each with the people it takes there. The
// person is needed while the work lasts (Span::Work), the place until the screen leaves it
// (Span::Whole). What stands after its work is no work: the route says that the next step comes no
// sooner. Drying comes in two parts, because somebody hangs the screen up and then nobody is there;
// exposing in three. Parts with one way per place list them in the same order (SameMode ties them).

#include "sched/compile/operation_maker.hpp"

#include <algorithm>
#include <limits>
#include <numeric>
#include <optional>
#include <utility>
#include <vector>

#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"

namespace sched::compile {

using core::Mode;
using core::Need;
using core::Operation;
using core::OperationId;
using core::ResourceId;
using core::Seconds;
using core::Span;
using model::Step;
using model::route::Part;
using model::route::RouteOperation;

namespace {

// Who can do least is asked first, so that who can do more stays free for what only they can do
// ("least flexible job first" on parallel machines, seen from the machine; from memory). Equal
// skills by name: the order of lines in a file decides nothing.
std::vector<std::size_t> people_by_skills(const model::Room& room) {
    const auto skills = [](const model::Person& p) {
        return p.can.empty() ? std::numeric_limits<std::size_t>::max() : p.can.size();
    };
    std::vector<std::size_t> by(room.people.size());
    std::iota(by.begin(), by.end(), std::size_t{0});
    std::sort(by.begin(), by.end(), [&](std::size_t a, std::size_t b) {
        const auto& x = room.people[a];
        const auto& y = room.people[b];
        return std::pair(skills(x), x.name) < std::pair(skills(y), y.name);
    });
    return by;
}

}  // namespace

bool hangs_up(const RouteOperation& step) {
    return step.part == Part::Load && step.step != Step::Expose;
}

Operation OperationMaker::make(const RouteOperation& step) {
    Operation operation;
    operation.name = words(step);
    if (screen_) operation.job = screen_->job;
    operation.modes = modes(step);
    operation.dries = model::dries_alone(step.step) && !hangs_up(step);
    // Whoever has finished its work here may be kept until the next place is free.
    operation.max_stretch = std::nullopt;
    const bool ends = step.part == Part::Load || step.part == Part::Unload ||
                      (step.part == Part::Stand && !model::stand_differs(b_.room(), step.step));
    if (ends || step.step == Step::DryTouchUp || step.step == Step::MixStir ||
        step.step == Step::MixDissolve) {
        operation.max_stretch = Seconds{0};
    }
    return operation;
}

std::vector<ResourceId> OperationMaker::stations(Step step) const {
    std::vector<ResourceId> found;
    for (std::size_t i = 0; i < b_.room().stations.size(); ++i) {
        const model::Station& s = b_.room().stations[i];
        if (!model::does_step(s, step)) continue;
        if (screen_ && s.largest_frame && model::larger_frame(screen_->frame, *s.largest_frame))
            continue;
        const bool on_blanket = step == Step::Expose && screen_ && s.blanket;
        if (on_blanket && model::larger_frame(screen_->frame, *s.blanket)) continue;
        if (amount(s) > s.places) continue;
        found.push_back(b_.station_resource[i]);
    }
    if (step == Step::Expose && found.size() > 1) leave_cold_units(found);
    return found;
}

// Every exposure waits for the lamps under which it might be made, so a unit that is closed for
// the first hours would hold back those of the others: it is left out where there is another.
void OperationMaker::leave_cold_units(std::vector<ResourceId>& units) const {
    constexpr core::Seconds patience = model::hours(1);  // before, hardly anything is dry
    const core::SimTime begin = first_there(b_).value_or(b_.out.problem.horizon_start);
    const auto index = [&](ResourceId id) {
        return static_cast<std::size_t>(b_.out.resources[id.index()].index);
    };
    const auto warm = [&](ResourceId id) { return warm_from(b_, index(id)).value_or(begin); };
    core::SimTime first = warm(units.front());
    for (const ResourceId id : units)
        first = std::min(first, warm(id));
    const auto cold = [&](ResourceId id) {
        if (warm(id) <= first + patience) return false;
        b_.cold_units.insert(index(id));
        return true;
    };
    units.erase(std::remove_if(units.begin(), units.end(), cold), units.end());
}

const model::Station& OperationMaker::station(ResourceId id) const {
    const auto& info = b_.out.resources[id.index()];
    return b_.room().stations[static_cast<std::size_t>(info.index)];
}

int OperationMaker::amount(const model::Station& s) const {
    return screen_ && s.double_from && model::larger_frame(screen_->frame, *s.double_from) ? 2 : 1;
}

Need OperationMaker::place(ResourceId id) const {
    return {.any_of = {id}, .amount = amount(station(id)), .span = Span::Whole};
}

bool OperationMaker::takes_two(Step step) const {
    return screen_ && model::people_for(b_.room(), step, screen_->frame) > 1;
}

void OperationMaker::add_people(Mode& mode, Step step) const {
    Need need{.any_of = {}, .amount = 1, .span = Span::Work};
    for (const std::size_t i : people_by_skills(b_.room())) {
        if (person_can(b_.room().people[i], step)) need.any_of.push_back(b_.person_resource[i]);
    }
    mode.needs.push_back(need);
    if (!takes_two(step)) return;
    // Whoever lays it on the unit with somebody who exposes lifts it: carrying is no skill.
    if (step != Step::Expose) return mode.needs.push_back(need);
    Need lifts{.any_of = {}, .amount = 1, .span = Span::Work};
    for (const std::size_t i : people_by_skills(b_.room()))
        lifts.any_of.push_back(b_.person_resource[i]);
    mode.needs.push_back(std::move(lifts));
}

std::vector<OperationMaker::Crew> OperationMaker::crews(const RouteOperation& step,
                                                        const model::Station* at) const {
    // Whoever takes as long is one choice; of two the slower one tells the time.
    struct Like {
        Seconds work, stand;
        std::vector<ResourceId> who;
    };
    std::vector<Like> likes;
    for (const std::size_t i : people_by_skills(b_.room())) {
        const model::Person& person = b_.room().people[i];
        if (!person_can(person, step.step)) continue;
        const Seconds work = attended(step, at, &person);
        const Seconds stand = time(step.step, at, &person).stand;
        auto like = std::find_if(likes.begin(), likes.end(),
                                 [&](const Like& l) { return l.work == work && l.stand == stand; });
        if (like == likes.end()) like = likes.insert(like, {work, stand, {}});
        like->who.push_back(b_.person_resource[i]);
    }
    std::stable_sort(likes.begin(), likes.end(),
                     [](const Like& a, const Like& b) { return a.work < b.work; });
    std::vector<Crew> out;
    std::vector<ResourceId> as_fast;
    for (const Like& like : likes) {
        as_fast.insert(as_fast.end(), like.who.begin(), like.who.end());
        // The fastest alone is no pair; if there is nobody else it is said that none can be found.
        if (takes_two(step.step) && as_fast.size() < 2 && &like != &likes.back()) continue;
        Crew crew{.mode = {.work = like.work}, .stand = like.stand};
        crew.mode.needs.push_back({.any_of = like.who, .amount = 1, .span = Span::Work});
        if (takes_two(step.step))
            crew.mode.needs.push_back({.any_of = as_fast, .amount = 1, .span = Span::Work});
        out.push_back(std::move(crew));
    }
    return out;
}

std::string OperationMaker::words(const RouteOperation& step) const {
    const std::string tag = screen_ ? " " + screen_->tag : "";
    const std::string round =
        step.round > 0 || step.step == Step::FaceCoat || step.step == Step::DryFace
            ? " " + std::to_string(step.round + 1)
            : "";
    if (step.part == Part::Stand) return "let stand" + tag;
    if (hangs_up(step)) return (step.step == Step::DryTouchUp ? "set aside" : "put in") + tag;
    if (step.part == Part::Run || step.part == Part::Whole) {
        if (step.step == Step::MixStir && step.round == 1) return "let the pot stand";
        const std::string plan =
            screen_ && step.step == Step::Coat ? " (" + screen_->coat_plan + ")" : "";
        return std::string(model::row_of(step.step).action) + round + tag + plan;
    }
    return (step.part == Part::Load ? "load the unit with" : "take from the unit") + tag;
}

model::StepTime OperationMaker::time(Step step, const model::Station* at,
                                     const model::Person* by) const {
    const auto* plan = screen_ ? find_coat_plan(b_.room(), screen_->coat_plan) : nullptr;
    return model::time_of(b_.room(), step, plan,
                          {.at = at, .frame = screen_ ? &screen_->frame : nullptr, .by = by});
}

Seconds OperationMaker::attended(const RouteOperation& step, const model::Station* at,
                                 const model::Person* by) const {
    Seconds t = time(step.part == Part::Unload ? Step::TakeOut : step.step, at, by).attended;
    if (step.step == Step::WashOut) t = wash_out_time(b_, *screen_, t);
    t = std::max(t, model::least_hands);
    if (at) t += at->walk;
    return t;
}

std::vector<Mode> OperationMaker::drying_modes(Step step) const {
    std::vector<Mode> out;
    for (const ResourceId id : stations(step)) {
        DryingMode drying = drying_mode(b_, station(id), step, *screen_);
        if (!drying.reachable) {
            const auto& order = b_.scenario.orders[static_cast<std::size_t>(screen_->order)];
            b_.diagnostics.error(station(id).place, "never-dry",
                                 "the usual air is too damp for " + station(id).name + " to dry " +
                                     screen_->tag + " of order " + order.name + " at all.",
                                 "Warm the cabinet, dry its supply air, or type the minutes.");
        }
        out.push_back({.work = drying.typed, .needs = {place(id)}, .stages = drying.stages});
    }
    return out;
}

// One mode per place, in the order of drying_modes.
std::vector<Mode> OperationMaker::hanging_modes(const RouteOperation& step) const {
    std::vector<Mode> out;
    for (const ResourceId id : stations(step.step)) {
        out.push_back({.work = attended(step, &station(id)), .needs = {place(id)}});
        add_people(out.back(), Step::TakeOut);
    }
    return out;
}

// One mode per place where it may have dried, in the order of drying_modes.
std::vector<Mode> OperationMaker::take_out_modes(Step dried) const {
    const std::vector<ResourceId> racks = stations(Step::TakeOut);
    // Which rack is chosen later: the longest hand-over counts.
    const model::Station* farthest = nullptr;
    for (const ResourceId id : racks) {
        if (farthest == nullptr || station(id).walk > farthest->walk) farthest = &station(id);
    }
    std::vector<Mode> out;
    for (const ResourceId id : stations(dried)) {
        Mode mode;
        if (model::does_step(station(id), Step::TakeOut)) {
            mode.needs = {place(id)};  // it dried on this rack and stays
        } else {
            mode.work = attended({Step::TakeOut, Part::Whole, 0}, farthest);
            Need rack = place(racks.front());
            rack.any_of = racks;
            mode.needs = {rack};
            add_people(mode, Step::TakeOut);
        }
        out.push_back(std::move(mode));
    }
    return out;
}

std::vector<Mode> OperationMaker::modes(const RouteOperation& step) const {
    if (model::row_of(step.step).dries == model::Dries::ByAir)
        return hangs_up(step) ? hanging_modes(step) : drying_modes(step.step);
    if (step.step == Step::TakeOut) return take_out_modes(dried_before);

    const std::vector<ResourceId> places = stations(step.step);
    std::vector<Mode> out;
    if (step.step == Step::Expose) {  // a mode per unit: lamps differ
        for (const ResourceId id : places) {
            Mode mode;
            mode.needs = {place(id)};
            if (step.part == Part::Run) {
                mode.work = time(step.step).stand + exposure_time(b_, station(id), *screen_);
                if (station(id).lamp) mode.work += station(id).lamp->draw_down;
            } else {
                mode.work = attended(step, &station(id));
                add_people(mode, step.step);
            }
            out.push_back(std::move(mode));
        }
        return out;
    }
    const bool mixing = step.step == Step::MixDissolve || step.step == Step::MixStir;
    if (model::stand_differs(b_.room(), step.step)) {  // a mode per place and crew, tied
        for (const ResourceId id : places) {
            for (Crew& crew : crews(step, &station(id))) {
                Mode& mode = crew.mode;
                if (step.part == Part::Stand) mode = {.work = crew.stand, .needs = {}};
                mode.needs.insert(mode.needs.begin(), place(id));
                out.push_back(std::move(mode));
            }
        }
        return out;
    }
    const bool alone = step.part == Part::Stand ||
                       (model::dries_alone(step.step) && !hangs_up(step)) ||
                       (step.step == Step::MixStir && step.round == 1);
    const auto way = [&](const model::Station* at) {
        Mode mode;
        mode.work = alone ? time(step.step).stand : attended(step, at);
        return mode;
    };
    const auto people = [&](Mode& mode) {
        if (!alone) add_people(mode, hangs_up(step) ? Step::TakeOut : step.step);
    };
    // Emulsion is mixed wherever there is room for a pot, and stands anywhere.
    if ((mixing && (alone || places.empty())) ||
        (step.step == Step::DryTouchUp && places.empty())) {
        if (!alone && model::differs_by_person(b_.room(), step.step)) {
            for (Crew& crew : crews(step, nullptr))
                out.push_back(std::move(crew.mode));
            return out;
        }
        out.push_back(way(nullptr));
        people(out.back());
        return out;
    }
    // Places that take the same time and room, by the same people, are one mode with a choice.
    const auto add = [&](ResourceId id, Mode mode) {
        mode.needs.insert(mode.needs.begin(), place(id));
        for (Mode& known : out) {
            if (known.work == mode.work && known.needs[0].amount == mode.needs[0].amount &&
                std::equal(known.needs.begin() + 1, known.needs.end(), mode.needs.begin() + 1,
                           mode.needs.end())) {
                known.needs[0].any_of.push_back(id);
                return;
            }
        }
        out.push_back(std::move(mode));
    };
    for (const ResourceId id : places) {
        if (!alone && model::differs_by_person(b_.room(), step.step)) {
            for (Crew& crew : crews(step, &station(id)))
                add(id, std::move(crew.mode));
            continue;
        }
        Mode mode = way(&station(id));
        people(mode);
        add(id, std::move(mode));
    }
    return out;
}

}  // namespace sched::compile
