// Emulsion: which pot each coat takes from stands in the schedule; here the pots are emptied once
// more, coat by coat, against what room.yaml says is in them, when they were mixed and how long
// they live. What is mixed in the run stands its time before the first take.

#include <fmt/format.h>

#include <algorithm>

#include "model/physics/emulsion.hpp"
#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

struct Supply {
    std::string name;
    const model::Emulsion* emulsion = nullptr;
    double volume = 0.0;
    std::optional<SimTime> from, until;
    double taken = 0.0;
};

const model::Emulsion* emulsion_of(const Case& c, const std::string& name) {
    for (const model::Emulsion& e : c.room.emulsions) {
        if (e.name == name) return &e;
    }
    return nullptr;
}

// Dissolve, stand, stir in, stand; somebody who can, for as long as it takes.
std::optional<SimTime> judge_mixing(const Case& c, const report::MixLine& mix) {
    std::vector<const OperationLine*> steps;
    for (const int i : mix.operations)
        steps.push_back(&c.op(i));
    const auto dissolve = usual_time(c.room, Step::MixDissolve);
    const auto stir = usual_time(c.room, Step::MixStir);
    const OperationLine* first = nullptr;
    const OperationLine* second = nullptr;
    for (const OperationLine* line : steps) {
        if (line->step == "mix-dissolve" && first == nullptr) first = line;
        // Then the pot stands, with nobody there.
        const bool stirs = line->step == "mix-stir" && !line->people.empty();
        if (stirs && (second == nullptr || line->start < second->start)) second = line;
    }
    if (first == nullptr || second == nullptr) {
        c.say("pot", mix.pot + " is mixed from two parts; the plan leaves a step of it out.");
        return std::nullopt;
    }
    const auto walk = [&](const OperationLine& line) {
        const model::Station* at = c.station(line.place);
        return at == nullptr ? Seconds{0} : at->walk;
    };
    const bool told = c.d.again && first->start < c.d.again->now;
    if (!told && (Case::attended(*first) != dissolve.attended + walk(*first) ||
                  Case::attended(*second) != stir.attended + walk(*second)))
        c.say("time", fmt::format("mixing {} takes a person {} and {}, planned are {} and {}.",
                                  mix.pot, model::format_duration(dissolve.attended),
                                  model::format_duration(stir.attended),
                                  model::format_duration(Case::attended(*first)),
                                  model::format_duration(Case::attended(*second))));
    const SimTime ready_to_stir = first->start + dissolve.attended + dissolve.stand;
    if (!told && second->start < ready_to_stir)
        c.say("pot", fmt::format("the sensitizer of {} stands until {}, it is stirred in {}.",
                                 mix.pot, clock_words(ready_to_stir), clock_words(second->start)));
    return second->start + Case::attended(*second) + stir.stand;
}

// From when it is marked empty on nothing is taken from it.
void put_empty(const Case& c, Supply& x) {
    for (const model::EmptiedPot& e : c.room.emptied) {
        if (e.name == x.name) x.until = std::min(x.until.value_or(e.at), e.at);
    }
}

std::map<std::string, Supply> supplies_of(const Case& c) {
    std::map<std::string, Supply> out;
    const Seconds stand = usual_time(c.room, Step::MixStir).stand;
    for (const model::Pot& pot : c.room.pots) {
        Supply x{
            .name = pot.name, .emulsion = emulsion_of(c, pot.emulsion), .volume = pot.volume.value};
        if (x.emulsion == nullptr || pot.needs_mixing) continue;
        x.until = model::physics::pot_expiry(*x.emulsion, pot);
        put_empty(c, x);
        if (pot.mixed && x.emulsion->family != model::EmulsionFamily::Photopolymer)
            x.from = *pot.mixed + stand;
        out[pot.name] = x;
    }
    for (const report::MixLine& mix : c.d.mixes) {
        Supply x{
            .name = mix.pot, .emulsion = emulsion_of(c, mix.emulsion), .volume = mix.volume_ml};
        if (x.emulsion == nullptr) {
            c.say("pot", mix.pot + ": no emulsion is called " + mix.emulsion + ".");
            continue;
        }
        const auto pot = std::find_if(c.room.pots.begin(), c.room.pots.end(),
                                      [&](const model::Pot& p) { return p.name == mix.pot; });
        const double there = pot != c.room.pots.end() ? pot->volume.value : x.emulsion->batch.value;
        if (mix.volume_ml > there)
            c.say("pot", fmt::format("{} makes {:g} ml, the plan says {:g} ml.", mix.pot, there,
                                     mix.volume_ml));
        if (mix.to_buy != (pot == c.room.pots.end()))
            c.say("pot", mix.pot + ": whether it is to be bought is said otherwise in room.yaml.");
        if (out.count(mix.pot) != 0) c.say("pot", mix.pot + " is mixed, and there already.");
        if (x.emulsion->family != model::EmulsionFamily::Photopolymer) {
            x.from = judge_mixing(c, mix);
            if (x.from && mix.usable && *mix.usable < *x.from)
                c.say("pot", fmt::format("{} is free of bubbles at {}, the plan uses it from {}.",
                                         mix.pot, clock_words(*x.from), clock_words(*mix.usable)));
            if (mix.start && x.emulsion->pot_life_room > Seconds{0} && x.from)
                x.until = *x.from - stand + x.emulsion->pot_life_room;
            const auto said = mix.usable
                                  ? std::optional{*mix.usable - stand + x.emulsion->pot_life_room}
                                  : std::nullopt;
            if (x.until && mix.good_until != said)
                c.say("pot", mix.pot + ": until when it is good is another time.");
        }
        if (mix.good_until && (!mix.usable || *mix.good_until <= *mix.usable)) {
            c.say("pot", mix.pot + " is good until a time at which it is not usable.");
        }
        put_empty(c, x);
        out[mix.pot] = x;
    }
    return out;
}

}  // namespace

void judge_pots(Case& c) {
    auto supplies = supplies_of(c);
    const auto& problem = c.d.problem;
    for (std::size_t i = 0; i < c.d.operations.size(); ++i) {
        const OperationLine& line = c.d.operations[i];
        const auto step = c.step[i];
        const ScreenCase* x = c.screen_of(line);
        if (!step || (*step != Step::Coat && *step != Step::FaceCoat)) continue;
        if (line.people.empty()) continue;  // it stands after its coat
        if (x == nullptr || !x->known() || line.work_end <= line.start) continue;
        const bool face = *step == Step::FaceCoat;
        const auto ml = model::physics::whole_millilitres(
            face ? model::physics::face_coat_volume(*x->emulsion, x->frame, c.room.drying)
                 : model::physics::coat_volume(*x->mesh, *x->plan, *x->emulsion, x->frame,
                                               c.room.drying));
        const auto& stores = c.d.schedule.placements[i].stores;
        if (stores.size() != 1 || stores.front().index() >= problem.stores.size()) {
            c.say("pot", line.words + " takes from no pot.");
            continue;
        }
        const auto found = supplies.find(problem.stores[stores.front().index()].name);
        if (found == supplies.end()) {
            c.say("pot", fmt::format("{} takes from {}, which is neither there nor mixed.",
                                     line.words, problem.stores[stores.front().index()].name));
            continue;
        }
        Supply& pot = found->second;
        pot.taken += static_cast<double>(ml);
        if (pot.emulsion != x->emulsion)
            c.say("pot", fmt::format("{} takes from {}, another emulsion.", line.words, pot.name));
        if (!c.begins_later(static_cast<int>(i))) continue;
        if (pot.from && line.start < *pot.from)
            c.say("pot", fmt::format("{}: {} stands until {}.", line.words, pot.name,
                                     clock_words(*pot.from)));
        if (pot.until && line.start >= *pot.until)
            c.say("pot", fmt::format("{} at {}: {} is good until {}.", line.words,
                                     clock_words(line.start), pot.name, clock_words(*pot.until)));
    }
    for (const auto& [name, pot] : supplies) {
        if (pot.taken > pot.volume + 1e-6)
            c.say("pot",
                  fmt::format("{} holds {:g} ml, {:g} ml are taken.", name, pot.volume, pot.taken));
    }
}

}  // namespace sched::check::room
