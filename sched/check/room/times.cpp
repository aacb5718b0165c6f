// How long each step takes: a person for the attended time and no longer, then the place alone for
// as long as it stands; ways between parts of the premises; typed drying times; exposures by the
// unit that is used.

#include <fmt/format.h>

#include <algorithm>

#include "model/physics/emulsion.hpp"
#include "model/physics/exposure.hpp"
#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

Seconds between(const Case& c, const std::string& from, const std::string& to) {
    const model::Station* a = c.station(from);
    const model::Station* b = c.station(to);
    if (a == nullptr || b == nullptr || a->stands_in == b->stands_in) return Seconds{0};
    for (const model::Walk& walk : c.room.walks) {
        const bool there = walk.from == a->stands_in && walk.to == b->stands_in;
        const bool back = walk.from == b->stands_in && walk.to == a->stands_in && !walk.one_way;
        if (there || back) return walk.time;
    }
    return Seconds{0};
}

Seconds longest_walk(const Case& c) {
    Seconds most{0};
    for (const model::Walk& walk : c.room.walks)
        most = std::max(most, walk.time);
    return most;
}

// A coat plan that says how long it is coated takes the place of the step's time, whole; what the
// room file says of this place, frame or person, that of both.
model::StepTime step_time(const Case& c, const ScreenCase& x, const Stage& stage) {
    const Step step = stage.step;
    model::StepTime time = usual_time(c.room, step);
    if (step == Step::Coat && x.plan != nullptr && (x.plan->coat || x.plan->coat_stand)) {
        time.attended = x.plan->coat.value_or(time.attended);
        time.stand = x.plan->coat_stand.value_or(Seconds{0});
    }
    std::vector<std::string> people;
    for (const int i : stage.parts)
        people.insert(people.end(), c.op(i).people.begin(), c.op(i).people.end());
    return time_here(c.room, step, time, c.op(stage.parts.front()).place, x.frame, people);
}

// The person's time that the room file asks for, at the place of the step.
Seconds attended_time(const Case& c, const ScreenCase& x, const Stage& stage) {
    const Seconds usual = step_time(c, x, stage).attended;
    if (stage.step == Step::WashOut && x.known())
        return model::round_up(static_cast<double>(usual.count()) *
                               model::physics::wash_out_factor(*x.mesh, *x.plan, *x.emulsion));
    return usual;
}

class StageTimes {
public:
    StageTimes(const Case& c, const ScreenCase& x, std::size_t k)
        : c_(c), x_(x), stage_(x.stages[k]) {
        if (k > 0) before_ = &x.stages[k - 1];
        if (k + 1 < x.stages.size()) after_ = &x.stages[k + 1];
    }

    void judge() const {
        const bool told = std::any_of(stage_.parts.begin(), stage_.parts.end(),
                                      [&](int i) { return !c_.begins_later(i); });
        if (told) return;
        if (stage_.step == Step::Expose) return exposure();
        if (stage_.step == Step::TakeOut) return taking_out();
        if (trade(stage_.step).dries) {
            typed_drying();
            return;
        }
        Seconds person = attended_time(c_, x_, stage_);
        if (attended_stage(stage_)) person += walk_of(place());
        people(person);
        standing(person, step_time(c_, x_, stage_).stand);
    }

private:
    const std::string& place() const { return c_.op(stage_.parts.front()).place; }
    Seconds walk_of(const std::string& name) const {
        const model::Station* at = c_.station(name);
        return at == nullptr ? Seconds{0} : at->walk;
    }
    bool attended_stage(const Stage& stage) const {
        return std::any_of(stage.parts.begin(), stage.parts.end(),
                           [&](int i) { return !c_.op(i).people.empty(); });
    }
    Seconds planned_people() const {
        Seconds sum{0};
        for (const int i : stage_.parts)
            sum += Case::attended(c_.op(i));
        return sum;
    }
    // Who works at the next place has brought the screen; where nobody does, who was there before.
    Seconds carried() const {
        Seconds sum{0};
        // A returned frame stands about between ink off and the rest.
        const bool stood = x_.returned != nullptr && stage_.step == Step::Strip;
        if (before_ != nullptr && !stood && attended_stage(stage_))
            sum += between(c_, c_.op(before_->parts.back()).place, place());
        if (after_ != nullptr && attended_stage(stage_) && !attended_stage(*after_))
            sum +=
                between(c_, c_.op(stage_.parts.back()).place, c_.op(after_->parts.front()).place);
        return sum;
    }

    void people(Seconds asked, Seconds more = Seconds{0}) const {
        const Seconds planned = planned_people();
        const Seconds least = asked + carried();
        // Between several parts of the premises the longest way may count, in and out. Nothing is
        // carried by nobody, even where 0 s are written: one second.
        Seconds most = c_.room.walks.empty() ? least : asked + 2 * longest_walk(c_);
        most = std::max(most + more, Seconds{1} + walk_of(place()));
        const std::string& words = c_.op(stage_.parts.front()).words;
        if (planned < least)
            c_.say("time",
                   fmt::format("{} takes a person {}, planned are {}.", words,
                               model::format_duration(least), model::format_duration(planned)));
        if (planned > most)
            c_.say("time",
                   fmt::format("{} keeps a person {}, only {} are attended.", words,
                               model::format_duration(planned), model::format_duration(most)));
    }

    // After the person's part it stands, in its place.
    void standing(Seconds person, Seconds stand) const {
        const SimTime till = stage_.start + person + stand;
        const std::string& words = c_.op(stage_.parts.front()).words;
        if (after_ != nullptr && after_->start < till)
            c_.say("time", fmt::format("{} stands until {}, but the next step begins {}.", words,
                                       clock_words(till), clock_words(after_->start)));
        if (after_ == nullptr && stage_.end < till)
            c_.say("time", fmt::format("{} is done at {} at the earliest, planned is {}.", words,
                                       clock_words(till), clock_words(stage_.end)));
        if (stand == Seconds{0} || place().empty()) return;
        SimTime held = stage_.start;
        for (const int i : stage_.parts)
            held = std::max(held, c_.op(i).place_until.value_or(held));
        if (held < till)
            c_.say("place", fmt::format("{} stands at {} until {}, but the place is given away {}.",
                                        words, place(), clock_words(till), clock_words(held)));
    }

    void typed_drying() const {
        people(step_time(c_, x_, stage_).attended + walk_of(place()));
        const auto typed = typed_time(c_, x_, stage_);
        const int dry = c_.quiet_part(stage_);
        if (!typed || dry < 0) return;
        const Seconds planned = c_.op(dry).work_end - c_.op(dry).start;
        if (planned < *typed)
            c_.say("time",
                   fmt::format("{} takes {}, planned are {}.", c_.op(dry).words,
                               model::format_duration(*typed), model::format_duration(planned)));
    }

    void taking_out() const {
        // Dried on the rack: it is there already.
        const bool stays = before_ != nullptr && c_.op(before_->parts.back()).place == place();
        if (stays && planned_people() == Seconds{0}) return;
        // The rack is chosen last: the hand-over of the farthest may be counted.
        Seconds farthest{0};
        for (const model::Station& s : c_.room.stations) {
            if (std::find(s.does.begin(), s.does.end(), Step::TakeOut) != s.does.end())
                farthest = std::max(farthest, s.walk);
        }
        people(usual_time(c_.room, Step::TakeOut).attended + walk_of(place()),
               farthest - walk_of(place()));
    }

    void exposure() const {
        const int run = c_.exposure_of(stage_);
        if (run < 0 || !x_.known()) {
            c_.say("way", x_.tag + " is not exposed, only loaded.");
            return;
        }
        const OperationLine& line = c_.op(run);
        const model::Station* unit = c_.station(line.place);
        if (unit == nullptr) return;
        // It stands in the unit as long as the room file says before the lamp goes on.
        Seconds wanted = usual_time(c_.room, Step::Expose).stand;
        if (unit->lamp)
            wanted +=
                model::physics::exposure_seconds(*x_.emulsion, *unit->lamp, *x_.mesh, *x_.plan) +
                unit->lamp->draw_down;
        else
            wanted += x_.emulsion->base_exposure;
        const Seconds planned = line.work_end - line.start;
        if (planned != wanted)
            c_.say("exposure",
                   fmt::format("{} takes {} s at {} with standing and drawing down, planned are "
                               "{} s.",
                               line.words, wanted.count(), unit->name, planned.count()));
        // Loading is the attended part; what taking out takes the room file does not say.
        Seconds loading{0};
        for (const int i : stage_.parts) {
            if (c_.op(i).start < line.start) loading += Case::attended(c_.op(i));
        }
        Seconds least = attended_time(c_, x_, stage_) + unit->walk;
        if (before_ != nullptr)
            least += between(c_, c_.op(before_->parts.back()).place, unit->name);
        if (loading < least)
            c_.say("time",
                   fmt::format("loading {} takes {}, planned are {}.", x_.tag,
                               model::format_duration(least), model::format_duration(loading)));
    }

    static std::optional<Seconds> typed_time(const Case& c, const ScreenCase& x,
                                             const Stage& stage) {
        if (x.plan != nullptr) {
            if (stage.step == Step::DryCoat && x.plan->dry_coat) return x.plan->dry_coat;
            if (stage.step == Step::DryFace && x.plan->dry_face) return x.plan->dry_face;
        }
        const int dry = c.quiet_part(stage);
        const model::Station* at = dry < 0 ? nullptr : c.station(c.op(dry).place);
        const auto step = c.room.steps.find(stage.step);
        const bool named = step != c.room.steps.end() && step->second.stand_said;
        const bool computed = at != nullptr && at->air && c.room.climate;
        if (computed && !named) return std::nullopt;
        return usual_time(c.room, stage.step).stand;
    }

    const Case& c_;
    const ScreenCase& x_;
    const Stage& stage_;
    const Stage* before_ = nullptr;
    const Stage* after_ = nullptr;
};

// When the screen is ready: its last step done, standing included.
void judge_ready(const Case& c, const ScreenCase& x) {
    if (x.line == nullptr || x.stages.empty()) return;
    const Stage& last = x.stages.back();
    const int i = last.parts.back();
    if (!c.begins_later(i) || last.step != Step::DryTouchUp) return;
    const auto time = step_time(c, x, last);
    // Somebody sets it aside, on the way there too; from then on it stands.
    const SimTime hung =
        last.parts.size() > 1 ? c.op(last.parts.front()).work_end : last.start + time.attended;
    const SimTime done = hung + time.stand;
    if (x.line->ready != done)
        c.say("ready", fmt::format("{} is ready {}, the plan says {}.", x.tag, clock_words(done),
                                   x.line->ready ? clock_words(*x.line->ready) : "never"));
}

}  // namespace

void judge_times(Case& c) {
    for (const ScreenCase& x : c.screens) {
        for (std::size_t k = 0; k < x.stages.size(); ++k)
            StageTimes(c, x, k).judge();
        judge_ready(c, x);
    }
}

}  // namespace sched::check::room
