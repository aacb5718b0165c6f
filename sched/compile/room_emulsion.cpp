// Pots become stores; coats take from them; what they lack is mixed.

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <set>

#include "model/room/steps.hpp"
#include "sched/compile/pot_capacity.hpp"
#include "sched/compile/room_builder.hpp"

namespace sched::compile {

using core::OperationId;
using core::StoreId;
using model::Step;

void add_mixing(Builder& b, std::size_t mix_index);  // room_screens.cpp

namespace {

struct Coat {
    OperationId operation;
    std::int64_t millilitres;
};

std::vector<Coat> coats_with(const Builder& b, const std::string& emulsion) {
    std::vector<Coat> coats;
    for (std::size_t i = 0; i < b.out.operations.size(); ++i) {
        const OperationInfo& info = b.out.operations[i];
        if (info.screen < 0 || (info.step != Step::Coat && info.step != Step::FaceCoat)) continue;
        if (info.part == model::route::Part::Stand) continue;  // coated already
        const ScreenInfo& screen = b.out.screens[static_cast<std::size_t>(info.screen)];
        if (screen.emulsion != emulsion) continue;
        coats.push_back({OperationId{i}, coat_millilitres(b, screen, info.step == Step::FaceCoat)});
    }
    return coats;
}

PotCapacity capacity_for(const std::vector<Coat>& coats) {
    std::vector<std::int64_t> sizes;
    for (const Coat& coat : coats)
        sizes.push_back(coat.millilitres);
    return PotCapacity(sizes);
}

core::SimTime end_of_run(const Builder& b) {
    return b.options.start + std::chrono::days{b.options.days};
}

// Until when the run may coat: the end of the last due day, or all of it.
core::SimTime coats_until(const Builder& b) {
    if (b.options.late_coats) return end_of_run(b);
    core::SimTime last = b.out.problem.horizon_start;
    for (const model::Order& order : b.scenario.orders)
        last = std::max(last, model::midnight(model::date_of(order.due)) + std::chrono::days{1});
    return std::min(last, end_of_run(b));
}

const model::EmptiedPot* emptied(const Builder& b, const std::string& pot) {
    for (const model::EmptiedPot& e : b.room().emptied) {
        if (e.name == pot) return &e;
    }
    return nullptr;
}

// Pots that can be used as they stand become stores, first to expire first. One that ends during
// the run is used until then, but nobody can count on what is left in it.
std::vector<StoreId> add_pots(Builder& b, const model::Emulsion& emulsion, PotCapacity& usable) {
    struct Ready {
        const model::Pot* pot;
        std::optional<core::SimTime> until;
    };
    std::vector<Ready> ready;
    const auto start = b.out.problem.horizon_start;
    for (const model::Pot& pot : b.room().pots) {
        if (pot.emulsion != emulsion.name || pot.needs_mixing) continue;
        auto until = pot_expiry(emulsion, pot);
        if (const auto* empty = emptied(b, pot.name))
            until = std::min(until.value_or(empty->at), empty->at);
        if (until && *until <= start) {
            b.diagnostics.warning(pot.place, "pot-expired",
                                  "pot " + pot.name + " expired " +
                                      model::format_date_time(*until) + " and is not used.",
                                  "Discard it as its safety data sheet and local rules say.");
            continue;
        }
        // A date of another month: it would stand there and not be used.
        if (pot.mixed && *pot.mixed >= start + std::chrono::days{1})
            b.diagnostics.warning(pot.place, "pot-mixed-later",
                                  "pot " + pot.name + " is mixed " +
                                      model::format_date_time(*pot.mixed) +
                                      ", after the day of the run: it is not used before.",
                                  "Look at its date; where its parts still stand apart, write "
                                  "needs mixing: yes instead.");
        ready.push_back({&pot, until});
    }
    std::stable_sort(ready.begin(), ready.end(), [](const Ready& x, const Ready& y) {
        return x.until.value_or(core::SimTime::max()) < y.until.value_or(core::SimTime::max());
    });
    std::vector<StoreId> stores;
    for (const Ready& r : ready) {
        core::Store store{.name = r.pot->name,
                          .initial = static_cast<std::int64_t>(r.pot->volume.value),
                          .until = r.until};
        // A pot mixed a moment ago must stand its hour out.
        if (r.pot->mixed && emulsion.family != model::EmulsionFamily::Photopolymer) {
            store.from = *r.pot->mixed + model::time_of(b.room(), Step::MixStir).stand;
        }
        stores.push_back(StoreId{b.out.problem.stores.size()});
        if (const auto* empty = emptied(b, r.pot->name)) {
            usable.add_given(static_cast<std::int64_t>(empty->taken.value));
        } else if (r.until && *r.until < coats_until(b)) {
            b.diagnostics.warning(r.pot->place, "pot-ends",
                                  "pot " + r.pot->name + " ends " +
                                      model::format_date_time(*r.until) +
                                      ", during the run: it is used until then, and what comes "
                                      "later is coated with " +
                                      emulsion.name + " from another.",
                                  "Discard what is left of it as its safety data sheet and local "
                                  "rules say.");
        } else {
            usable.add_pot(store.initial);
        }
        // A plan without spare mixes would have no end on a day on which a coat comes to its pot
        // too late, be it a minute: on simulated days of such a plan it is taken from there.
        if (b.options.spare_ways && b.options.no_more_mixes && emptied(b, r.pot->name) == nullptr)
            store.until.reset();
        b.out.problem.stores.push_back(std::move(store));
    }
    return stores;
}

// How long what is mixed in the run can be used from when it is free of bubbles; none: longer than
// the run.
std::optional<core::Seconds> life_of(const Builder& b, const model::Emulsion& emulsion) {
    const core::Seconds life = emulsion.pot_life_room;
    const auto run = end_of_run(b) - b.out.problem.horizon_start;
    if (emulsion.family == model::EmulsionFamily::Photopolymer || life <= core::Seconds{0} ||
        life >= run)
        return std::nullopt;
    return life - model::time_of(b.room(), Step::MixStir).stand;
}

bool somebody_mixes(const Builder& b) {
    const auto& people = b.room().people;
    const auto somebody = [&](Step step) {
        return std::any_of(people.begin(), people.end(),
                           [step](const model::Person& p) { return person_can(p, step); });
    };
    return somebody(Step::MixDissolve) && somebody(Step::MixStir);
}

int most_mixes(const Builder& b, const std::string& emulsion) {
    const auto& most = b.options.no_more_mixes;
    if (!most) return std::numeric_limits<int>::max();
    const auto named = most->find(emulsion);
    return named == most->end() ? 0 : named->second;
}

StoreId add_mix(Builder& b, const model::Emulsion& emulsion, const model::Pot* pot, int number) {
    const bool comes_ready = emulsion.family == model::EmulsionFamily::Photopolymer;
    const StoreId store{b.out.problem.stores.size()};
    MixInfo mix;
    mix.emulsion = emulsion.name;
    mix.pot = pot ? pot->name : emulsion.name + " (new " + std::to_string(number) + ")";
    mix.volume_ml = pot ? pot->volume.value : emulsion.batch.value;
    mix.store = store;
    mix.to_buy = pot == nullptr;
    if (!comes_ready && emulsion.pot_life_room > core::Seconds{0})
        mix.keeps = emulsion.pot_life_room - model::time_of(b.room(), Step::MixStir).stand;
    b.out.problem.stores.push_back(
        {.name = mix.pot, .initial = comes_ready ? static_cast<std::int64_t>(mix.volume_ml) : 0});
    if (!comes_ready) b.out.problem.stores.back().life = life_of(b, emulsion);
    b.out.mixes.push_back(mix);
    if (!comes_ready) add_mixing(b, b.out.mixes.size() - 1);
    return store;
}

}  // namespace

void add_emulsion(Builder& b) {
    for (const model::Emulsion& emulsion : b.room().emulsions) {
        const auto coats = coats_with(b, emulsion.name);
        if (coats.empty()) continue;
        std::int64_t wanted = 0;
        std::int64_t largest = 0;
        for (const Coat& coat : coats) {
            wanted += coat.millilitres;
            largest = std::max(largest, coat.millilitres);
        }
        PotCapacity usable = capacity_for(coats);
        std::vector<StoreId> stores = add_pots(b, emulsion, usable);
        std::vector<const model::Pot*> unmixed;
        for (const model::Pot& pot : b.room().pots) {
            if (pot.emulsion == emulsion.name && pot.needs_mixing) unmixed.push_back(&pot);
        }
        std::size_t next = 0;
        int bought = 0, mixes = 0;
        const auto life = life_of(b, emulsion);
        const auto least = b.options.mixes.find(emulsion.name);
        const int at_least = life && least != b.options.mixes.end() ? least->second : 0;
        const int at_most = most_mixes(b, emulsion.name);
        while ((usable.total() < wanted || mixes < at_least) && mixes < at_most) {
            if (life && *life <= core::Seconds{0}) {
                b.diagnostics.error(
                    emulsion.place, "pot-life-short",
                    emulsion.name + " keeps " + model::format_duration(emulsion.pot_life_room) +
                        " after mixing, and stands as long until it is free of bubbles.",
                    "Correct pot life, or the time that it stands after stirring in.");
                return;
            }
            if (emulsion.family != model::EmulsionFamily::Photopolymer && !somebody_mixes(b)) {
                b.diagnostics.error(
                    emulsion.place, "nobody-mixes",
                    fmt::format(
                        "the screens take {} ml of {}, what is mixed holds {} ml that can be "
                        "counted on, and nobody can \"mix\" more.",
                        wanted, emulsion.name, usable.total()),
                    "Add mix to can: of a person, or what is mixed elsewhere to pots.");
                return;
            }
            const model::Pot* pot = next < unmixed.size() ? unmixed[next++] : nullptr;
            const auto volume =
                static_cast<std::int64_t>((pot ? pot->volume : emulsion.batch).value);
            if (volume < largest) {
                if (pot) continue;
                b.diagnostics.error(emulsion.place, "batch-too-small",
                                    "one mixing of " + emulsion.name + " makes " +
                                        std::to_string(volume) + " ml, one screen takes " +
                                        std::to_string(largest) + " ml.",
                                    "Mix a larger batch.");
                return;
            }
            if (pot == nullptr) ++bought;
            stores.push_back(add_mix(b, emulsion, pot, bought));
            ++mixes;
            core::Store& store = b.out.problem.stores[stores.back().index()];
            if (const auto* empty = emptied(b, store.name)) {
                store.until = empty->at;
                usable.add_given(static_cast<std::int64_t>(empty->taken.value));
            } else {
                usable.add_pot(volume);
            }
        }
        for (const Coat& coat : coats) {
            b.out.problem.constraints.push_back(core::Take{
                .operation = coat.operation, .any_of = stores, .amount = coat.millilitres});
        }
        b.stores[emulsion.name] = std::move(stores);
    }
}

namespace {

SpareMix add_spare_mix(Builder& b, const model::Emulsion& emulsion, int number) {
    // Where nobody of the room mixes, somebody else brings it mixed.
    const bool comes_ready =
        emulsion.family == model::EmulsionFamily::Photopolymer || !somebody_mixes(b);
    SpareMix spare;
    spare.store = StoreId{b.out.problem.stores.size()};
    spare.first = static_cast<int>(b.out.problem.operations.size());
    spare.volume = static_cast<std::int64_t>(emulsion.batch.value);
    MixInfo mix;
    mix.emulsion = emulsion.name;
    mix.pot = emulsion.name + " (spare " + std::to_string(number) + ")";
    mix.volume_ml = emulsion.batch.value;
    mix.store = spare.store;
    mix.to_buy = true;
    b.out.problem.stores.push_back({.name = mix.pot});
    b.out.mixes.push_back(mix);
    if (!comes_ready) add_mixing(b, b.out.mixes.size() - 1);
    spare.count = static_cast<int>(b.out.problem.operations.size()) - spare.first;
    return spare;
}

}  // namespace

void add_spare_emulsion(Builder& b) {
    core::Problem& problem = b.out.problem;
    for (const model::Emulsion& emulsion : b.room().emulsions) {
        const auto coats = coats_with(b, emulsion.name);
        if (coats.empty()) continue;
        SpareEmulsion spare{.emulsion = emulsion.name};
        if (somebody_mixes(b)) spare.life = life_of(b, emulsion);
        for (const Coat& coat : coats)
            spare.largest = std::max(spare.largest, coat.millilitres);
        if (!b.stores.contains(emulsion.name)) {  // the run itself coats nothing with it
            PotCapacity unused = capacity_for(coats);
            b.stores[emulsion.name] = add_pots(b, emulsion, unused);
        }
        std::vector<StoreId> stores = b.stores[emulsion.name];
        const std::size_t of_run = stores.size();
        PotCapacity usable = capacity_for(coats);
        for (const StoreId s : stores) {
            if (emptied(b, problem.stores[s.index()].name) != nullptr) continue;
            std::int64_t volume = problem.stores[s.index()].initial;
            for (const auto& c : problem.constraints) {
                const auto* give = std::get_if<core::Give>(&c);
                if (give != nullptr && give->store == s) volume += give->amount;
            }
            usable.add_pot(volume);
        }
        spare.usable = usable.total();
        if (static_cast<std::int64_t>(emulsion.batch.value) >= spare.largest) {
            for (int i = 1; i <= b.options.spare_mixes; ++i) {
                spare.mixes.push_back(add_spare_mix(b, emulsion, i));
                stores.push_back(spare.mixes.back().store);
            }
        }
        std::vector<char> takes(problem.operations.size(), 0);
        for (auto& c : problem.constraints) {
            auto* take = std::get_if<core::Take>(&c);
            if (take == nullptr) continue;
            takes[take->operation.index()] = 1;
            const bool same = take->any_of.size() == of_run &&
                              std::equal(take->any_of.begin(), take->any_of.end(), stores.begin());
            if (same) take->any_of = stores;
        }
        for (const Coat& coat : coats) {
            if (takes[coat.operation.index()]) continue;
            problem.constraints.push_back(core::Take{
                .operation = coat.operation, .any_of = stores, .amount = coat.millilitres});
        }
        b.out.spare_emulsions.push_back(std::move(spare));
    }
}

}  // namespace sched::compile
