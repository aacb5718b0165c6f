// The way of each screen: every step that its frame and coat plan ask for, in order, none left out,
// none at the same time, and the limits between them as docs/input.md words them. A limit counts
// from the instant that its sentence names: from the first touch of the remover, from dry mesh and
// dry coat, from the end of the exposure.

#include <fmt/format.h>

#include <algorithm>

#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

using StepRound = std::pair<Step, int>;

std::optional<model::FrameState> state_of(const std::string& key) {
    using model::FrameState;
    static const std::map<std::string, FrameState> states = {
        {"ready", FrameState::Ready},
        {"inky", FrameState::Inky},
        {"old-stencil", FrameState::OldStencil},
        {"new-mesh", FrameState::NewMesh},
        {"coated", FrameState::Coated},
        {"kept-stencil", FrameState::KeptStencil}};
    const auto found = states.find(key);
    if (found == states.end()) return std::nullopt;
    return found->second;
}

// What the trade does with a frame in this state, until it is ready for the press.
std::vector<StepRound> wanted_way(model::FrameState state, bool haze, int faces) {
    using model::FrameState;
    std::vector<StepRound> way;
    if (state == FrameState::Inky) way = {{Step::InkOff, 0}, {Step::InkDegrease, 0}};
    if (state == FrameState::Inky || state == FrameState::OldStencil) {
        way.insert(way.end(), {{Step::Strip, 0}, {Step::Rinse, 0}});
        if (haze) way.emplace_back(Step::Haze, 0);
    }
    if (state == FrameState::NewMesh) way.emplace_back(Step::Abrade, 0);
    if (state != FrameState::Coated && state != FrameState::KeptStencil) {
        way.insert(way.end(),
                   {{Step::Degrease, 0}, {Step::DryMesh, 0}, {Step::Coat, 0}, {Step::DryCoat, 0}});
        for (int i = 0; i < faces; ++i)
            way.insert(way.end(), {{Step::FaceCoat, i}, {Step::DryFace, i}});
    }
    if (state != FrameState::KeptStencil)
        way.insert(way.end(), {{Step::Expose, 0}, {Step::WashOut, 0}, {Step::DryStencil, 0}});
    way.insert(way.end(), {{Step::Inspect, 0}, {Step::DryTouchUp, 0}});
    return way;
}

std::string words_of(const std::vector<StepRound>& way) {
    std::string out;
    for (const auto& [step, round] : way) {
        out += (out.empty() ? "" : ", ") + std::string(trade(step).key);
        if (round > 0) out += " " + std::to_string(round + 1);
    }
    return out.empty() ? "nothing" : out;
}

// Carries to the rack lie between steps and belong to the drying before them.
std::vector<StepRound> planned_way(const Case& c, const ScreenCase& x) {
    std::vector<StepRound> way;
    for (std::size_t i = 0; i < x.stages.size(); ++i) {
        const Stage& stage = x.stages[i];
        if (stage.step != Step::TakeOut) {
            way.emplace_back(stage.step, stage.round);
        } else if (i == 0 || !trade(x.stages[i - 1].step).dries) {
            c.say("way", x.tag + " is taken out, but not after drying.");
        }
    }
    return way;
}

bool has(const std::vector<StepRound>& way, Step step) {
    return std::any_of(way.begin(), way.end(), [&](const StepRound& s) { return s.first == step; });
}

void judge_steps(const Case& c, const ScreenCase& x) {
    const auto planned = planned_way(c, x);
    if (x.returned != nullptr) {
        // A returned frame: ink off, then the rest, each part whole. For the store it is not
        // degreased, that comes just before coating; haze paste is.
        const std::vector<StepRound> ink = {{Step::InkOff, 0}, {Step::InkDegrease, 0}};
        std::vector<StepRound> rest = {{Step::Strip, 0}, {Step::Rinse, 0}};
        if (has(planned, Step::Haze))
            rest.insert(rest.end(), {{Step::Haze, 0}, {Step::Degrease, 0}});
        rest.emplace_back(Step::DryMesh, 0);
        std::vector<StepRound> both = ink;
        both.insert(both.end(), rest.begin(), rest.end());
        const std::vector<std::vector<StepRound>> right =
            x.returned->state == "inky" ? std::vector{std::vector<StepRound>{}, ink, both}
                                        : std::vector{std::vector<StepRound>{}, rest};
        // In the middle of the day the ink may have come off before.
        const bool later = c.d.again && planned == rest;
        if (!later && std::find(right.begin(), right.end(), planned) == right.end())
            c.say("way", x.tag + " (returned) goes " + words_of(planned) + ".");
        const std::string becomes = planned.empty()                         ? x.returned->state
                                    : planned.back().first == Step::DryMesh ? "ready"
                                                                            : "old-stencil";
        if (!c.d.again && becomes != x.returned->becomes)
            c.say("frames", fmt::format("{} is {} when its steps are done, the plan says {}.",
                                        x.tag, becomes, x.returned->becomes));
        return;
    }
    const auto state = state_of(x.line->made_on);
    if (!state) {
        c.say("way", fmt::format("{} is made on \"{}\", which is no state of a frame.", x.tag,
                                 x.line->made_on));
        return;
    }
    const auto wanted =
        wanted_way(*state, has(planned, Step::Haze), x.plan != nullptr ? x.plan->face : 0);
    if (planned != wanted)
        c.say("way", fmt::format("{}, made on {}: wanted {}; planned {}.", x.tag, x.line->made_on,
                                 words_of(wanted), words_of(planned)));
}

void judge_order_of_time(const Case& c, const ScreenCase& x) {
    for (std::size_t k = 0; k < x.operations.size(); ++k) {
        const int i = x.operations[k];
        const OperationLine& line = c.op(i);
        if (line.work_end < line.start || line.end < line.work_end)
            c.say("time", line.words + " ends before it begins.");
        if (c.begins_later(i) && line.start < c.d.run.from)
            c.say("time", line.words + " begins before the run.");
        if (k + 1 == x.operations.size()) continue;
        const int j = x.operations[k + 1];
        if (c.begins_later(j) && c.op(j).start < line.end)
            c.say("time",
                  fmt::format("{}: {} begins {}, while it is in the step before until {}.", x.tag,
                              c.op(j).step, clock_words(c.op(j).start), clock_words(line.end)));
    }
}

// A limit that a plan from the middle of the day cannot keep any more, and says so.
bool missed_and_said(const Case& c, int to) {
    if (!c.d.again) return false;
    return std::any_of(c.d.again->notes.begin(), c.d.again->notes.end(), [&](const auto& n) {
        return n.starts_with("LIMIT MISSED") && n.find(c.op(to).words) != std::string::npos;
    });
}

struct Limits {
    const Case& c;
    const ScreenCase& x;

    void at_most(SimTime since, const Stage& to, Seconds limit, const char* words) const {
        at_most(since, to.start, to.parts.front(), limit, words);
    }
    void at_most(SimTime since, SimTime at, int operation, Seconds limit, const char* words) const {
        if (at - since <= limit || !c.begins_later(operation) || missed_and_said(c, operation))
            return;
        c.say("limit", fmt::format("{}: {} {} after {}, at most {} are allowed.", x.tag, words,
                                   model::format_duration(at - since), clock_words(since),
                                   model::format_duration(limit)));
    }
    void at_least(SimTime since, const Stage& to, Seconds limit, const char* words) const {
        const Seconds took = to.start - since;
        if (took >= limit || !c.begins_later(to.parts.front())) return;
        c.say("limit", fmt::format("{}: {} {} after {}, at least {} are needed.", x.tag, words,
                                   model::format_duration(took), clock_words(since),
                                   model::format_duration(limit)));
    }
};

// The lamp burns for all that share the exposure until the last of them has enough.
SimTime light_off(const Case& c, int run) {
    SimTime off = c.op(run).work_end;
    if (!c.op(run).batch) return off;
    for (const OperationLine& line : c.d.operations) {
        if (line.batch == c.op(run).batch && line.start == c.op(run).start && line.people.empty())
            off = std::max(off, line.work_end);
    }
    return off;
}

// First the vacuum is drawn, and the screen waits in the unit as long as the room file says.
SimTime lamp_on(const Case& c, int run) {
    const model::Station* unit = c.station(c.op(run).place);
    const Seconds drawn = unit != nullptr && unit->lamp ? unit->lamp->draw_down : Seconds{0};
    return c.op(run).start + usual_time(c.room, Step::Expose).stand + drawn;
}

// The longest that any coat of this room stands on the coater, by what the room file says of it.
Seconds longest_on_coater(const model::Room& room, Step coat) {
    const model::StepTime usual = usual_time(room, coat);
    Seconds longest = usual.stand;
    for (const auto& exception : usual.but)
        if (exception.stand) longest = std::max(longest, *exception.stand);
    for (const auto& plan : room.coat_plans)
        if (coat == Step::Coat && plan.coat_stand) longest = std::max(longest, *plan.coat_stand);
    return longest;
}

void judge_limits(const Case& c, const ScreenCase& x) {
    const model::Limits& limits = c.room.limits;
    const Limits judge{c, x};
    std::optional<SimTime> remover, dry_mesh, wet_coat, dry_coat, exposed;
    for (const Stage& stage : x.stages) {
        const int quiet = c.quiet_part(stage);
        const SimTime quiet_end = quiet < 0 ? stage.work_end : c.op(quiet).work_end;
        switch (stage.step) {
            case Step::Strip:
                remover = stage.start;
                break;
            case Step::Rinse:
                if (!remover) break;
                judge.at_most(*remover, stage, limits.remover_max, "rinsed");
                judge.at_least(*remover, stage, limits.remover_min, "rinsed");
                break;
            case Step::DryMesh:
                dry_mesh = quiet_end;
                break;
            case Step::Coat:
                if (dry_mesh) judge.at_most(*dry_mesh, stage, limits.dry_to_coat, "coated");
                wet_coat = c.op(stage.parts.front()).work_end;
                break;
            case Step::FaceCoat:
                wet_coat = c.op(stage.parts.front()).work_end;
                break;
            case Step::DryCoat:
            case Step::DryFace:
                dry_coat = quiet_end;
                if (wet_coat && quiet >= 0)
                    judge.at_most(
                        *wet_coat, c.op(quiet).start, quiet,
                        limits.coat_to_dry + longest_on_coater(c.room, stage.step == Step::DryFace
                                                                           ? Step::FaceCoat
                                                                           : Step::Coat),
                        "drying begins");
                wet_coat.reset();
                break;
            case Step::Expose:
                if (dry_coat && quiet >= 0)
                    judge.at_most(*dry_coat, lamp_on(c, quiet), quiet, limits.coated_shelf,
                                  "exposed");
                if (x.wanted != nullptr && x.wanted->film_ready)
                    judge.at_least(*x.wanted->film_ready, stage, Seconds{0}, "film: exposed");
                if (quiet >= 0) exposed = light_off(c, quiet);
                break;
            case Step::WashOut:
                if (exposed) judge.at_most(*exposed, stage, limits.expose_to_wash, "washed out");
                break;
            default:
                break;
        }
    }
}

// A wet coat is hung up at once, and a coated screen is not left in the light.
void judge_gaps(const Case& c, const ScreenCase& x) {
    for (std::size_t k = 0; k + 1 < x.operations.size(); ++k) {
        const OperationLine& line = c.op(x.operations[k]);
        const OperationLine& next = c.op(x.operations[k + 1]);
        const auto step = c.step_of(x.operations[k]);
        const auto then = c.step_of(x.operations[k + 1]);
        if (!step || !then || !c.begins_later(x.operations[k + 1])) continue;
        const bool with_remover = *step == Step::Strip && *then == Step::Rinse;
        const bool coated = trade(*step).dark && *step != Step::Expose && *step != Step::WashOut;
        const bool carried_coated =
            *step == Step::TakeOut && (*then == Step::FaceCoat || *then == Step::Expose);
        if ((coated || carried_coated || with_remover) && next.start > line.end &&
            !missed_and_said(c, x.operations[k + 1]))
            c.say("place", fmt::format("{} is nowhere from {} to {}, {}.", x.tag,
                                       clock_words(line.end), clock_words(next.start),
                                       with_remover ? "with remover on it" : "with its coat on"));
        if (with_remover && line.place != next.place)
            c.say("place", x.tag + " is carried about with remover on it.");
    }
}

}  // namespace

void judge_ways(Case& c) {
    for (const ScreenCase& x : c.screens) {
        judge_steps(c, x);
        judge_order_of_time(c, x);
        judge_limits(c, x);
        judge_gaps(c, x);
        if (x.returned != nullptr && !x.operations.empty() &&
            c.op(x.operations.front()).start < x.returned->back)
            c.say("frames", x.tag + " is worked on before it is back.");
    }
}

}  // namespace sched::check::room
