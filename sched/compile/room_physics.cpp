// The only file of this folder that asks the physics. How it works: each function puts a
// cabinet, a screen or a lamp of the room together from its parts and asks one question about
// it: how long, how much, how likely. Minutes that the room file types win over what is
// computed; the air is that of a named day, else of weather.csv, else the constant one.
// Complaints become diagnostics here.

#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "model/base/units.hpp"
#include "model/physics/cabinet.hpp"
#include "model/physics/emulsion.hpp"
#include "model/physics/exposure.hpp"
#include "model/physics/mesh.hpp"
#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"
#include "sched/compile/room_builder.hpp"

namespace sched::compile {

using core::Seconds;
using core::SimTime;
using model::Air;
using model::Step;

namespace physics = model::physics;

namespace {

template <class Named>
const Named* named(const std::vector<Named>& list, const std::string& name) {
    for (const auto& x : list) {
        if (x.name == name) return &x;
    }
    return nullptr;
}

// The room's air over the horizon: a named day all through, else weather.csv, else the constant
// air.
std::vector<std::pair<SimTime, Air>> air_steps(const Builder& b) {
    const auto& climate = *b.room().climate;
    // A screen may stand in the cabinet since before the plan begins.
    const SimTime first = b.out.problem.horizon_start - std::chrono::days{2};
    if (!b.options.day_kind.empty()) {
        const auto found = climate.named_days.find(b.options.day_kind);
        return {{first, found == climate.named_days.end() ? climate.air : found->second}};
    }
    std::vector<std::pair<SimTime, Air>> steps{{first, climate.air}};
    for (const auto& row : b.scenario.weather) {
        if (row.from <= first) {
            steps.front().second = row.air;
        } else if (row.from < b.out.problem.horizon_end) {
            steps.emplace_back(row.from, row.air);
        }
    }
    return steps;
}

const physics::Cabinet& cabinet_of(const Builder& b, const model::Station& station) {
    if (const auto known = b.cabinets.find(&station); known != b.cabinets.end())
        return known->second;
    const auto& climate = *b.room().climate;
    // Loads are computed in the day's usual air.
    const auto day = climate.named_days.find(b.options.day_kind);
    const Air& usual = day == climate.named_days.end() ? climate.air : day->second;
    return b.cabinets
        .emplace(&station,
                 physics::make_cabinet(*station.air, usual, climate.pressure, b.room().drying))
        .first->second;
}

physics::WetScreen wet_screen(const Builder& b, Step step, const ScreenInfo& screen) {
    const auto& law = b.room().drying;
    const auto* emulsion = find_emulsion(b.room(), screen.emulsion);
    const auto* mesh = find_mesh(b.room(), screen.mesh);
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);
    if (emulsion && mesh && plan && step == Step::DryCoat) {
        return physics::wet_coats(*mesh, *plan, *emulsion, screen.frame, law);
    }
    if (emulsion && step == Step::DryFace) {
        return physics::wet_face_coat(*emulsion, screen.frame, law);
    }
    if (step == Step::DryMesh) return physics::wet_mesh(screen.frame, law);
    return physics::wet_stencil(screen.frame, law);
}

// Minutes that the room file types for this step; they win over the physics.
std::optional<Seconds> typed_drying(const Builder& b, Step step, const ScreenInfo& screen) {
    if (const auto* plan = find_coat_plan(b.room(), screen.coat_plan)) {
        if (step == Step::DryCoat && plan->dry_coat) return plan->dry_coat;
        if (step == Step::DryFace && plan->dry_face) return plan->dry_face;
    }
    const auto found = b.room().steps.find(step);
    if (found != b.room().steps.end() && found->second.stand_said) return found->second.stand;
    return std::nullopt;
}

}  // namespace

const model::Emulsion* find_emulsion(const model::Room& room, const std::string& name) {
    return named(room.emulsions, name);
}
const model::Mesh* find_mesh(const model::Room& room, const std::string& name) {
    return named(room.meshes, name);
}
const model::CoatPlan* find_coat_plan(const model::Room& room, const std::string& name) {
    return named(room.coat_plans, name);
}

DryingMode drying_mode(const Builder& b, const model::Station& station, Step step,
                       const ScreenInfo& screen) {
    DryingMode mode;
    const auto typed = typed_drying(b, step, screen);
    if (typed || !b.room().climate || !station.air) {
        mode.typed = typed.value_or(model::time_of(b.room(), step).stand);
        return mode;
    }
    const auto load = physics::drying_load(cabinet_of(b, station), wet_screen(b, step, screen));
    for (const auto& stage : load.stages)
        mode.stages.push_back({stage.work, stage.share});
    mode.reachable = load.reachable;
    return mode;
}

std::optional<core::SharedRate> cabinet_rate(const Builder& b, const model::Station& station) {
    if (!b.room().climate || !station.air) return std::nullopt;
    const auto& cabinet = cabinet_of(b, station);
    core::SharedRate rate;
    for (const auto& [from, air] : air_steps(b)) {
        const auto clock = physics::known_clock_step(cabinet, air);
        rate.steps.push_back(
            {from, clock.base, clock.cap, clock.cap_shift, clock.crowd, clock.crowd_shift});
    }
    return rate;
}

Seconds exposure_time(const Builder& b, const model::Station& unit, const ScreenInfo& screen) {
    const auto* emulsion = find_emulsion(b.room(), screen.emulsion);
    const auto* mesh = find_mesh(b.room(), screen.mesh);
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);
    if (!emulsion || !mesh || !plan) return Seconds{0};  // the reader has complained
    if (!unit.lamp) return emulsion->base_exposure;      // a unit without a lamp's figures
    return physics::exposure_seconds(*emulsion, *unit.lamp, *mesh, *plan);
}

std::vector<int> dose_families_of(const Builder& b, const std::vector<double>& seconds) {
    return physics::dose_families(seconds, b.room().limits.dose_tolerance.value);
}

Seconds wash_out_time(const Builder& b, const ScreenInfo& screen, Seconds typed) {
    const auto* emulsion = find_emulsion(b.room(), screen.emulsion);
    const auto* mesh = find_mesh(b.room(), screen.mesh);
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);
    if (!emulsion || !mesh || !plan) return typed;
    return model::round_up(static_cast<double>(typed.count()) *
                           physics::wash_out_factor(*mesh, *plan, *emulsion));
}

std::int64_t coat_millilitres(const Builder& b, const ScreenInfo& screen, bool face) {
    const auto* emulsion = find_emulsion(b.room(), screen.emulsion);
    const auto* mesh = find_mesh(b.room(), screen.mesh);
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);
    if (!emulsion || !mesh || !plan) return 0;
    const auto& law = b.room().drying;
    return physics::whole_millilitres(
        face ? physics::face_coat_volume(*emulsion, screen.frame, law)
             : physics::coat_volume(*mesh, *plan, *emulsion, screen.frame, law));
}

std::optional<SimTime> pot_expiry(const model::Emulsion& emulsion, const model::Pot& pot) {
    return physics::pot_expiry(emulsion, pot);
}

namespace {

std::string mesh_words(const Builder& b, const model::ScreenLine& line, std::size_t chosen,
                       std::span<const int> missing) {
    const auto& meshes = b.room().meshes;
    std::string rules;
    if (line.finest_line) {
        rules = fmt::format("a finest line of {:.4g} µm takes threads of {:.4g} µm at most",
                            line.finest_line->value, 0.5 * line.finest_line->value);
    }
    if (line.ruling) {
        rules +=
            fmt::format("{}a ruling of {} takes a mesh of {} at least", rules.empty() ? "" : ", ",
                        model::format_per_length(line.ruling->value),
                        model::format_per_length(4.0 * line.ruling->value));
    }
    const auto coarsest = physics::propose_mesh(meshes, line.finest_line, line.ruling);
    std::string words = meshes[chosen].name + ": " + rules;
    if (coarsest && *coarsest != chosen) {
        words += fmt::format("; of {}, which would do, {} are missing in the store",
                             meshes[*coarsest].name,
                             missing[*coarsest] == line.count
                                 ? "all frames"
                                 : fmt::format("{} of {}", missing[*coarsest], line.count));
    } else {
        words += "; it is the coarsest that keeps this";
    }
    if (missing[chosen] > 0) words += fmt::format("; {} have to be bought", missing[chosen]);
    return words + ".";
}

}  // namespace

std::string mesh_of(Builder& b, const model::Order& order, const model::ScreenLine& line,
                    std::span<const int> missing, std::string& why) {
    const auto& meshes = b.room().meshes;
    if (line.mesh) {
        if (const auto* mesh = find_mesh(b.room(), *line.mesh)) {
            for (const auto& c : physics::mesh_complaints(*mesh, line.finest_line, line.ruling)) {
                b.diagnostics.warning(line.place, "mesh-rule",
                                      "order " + order.name + ": " + c.text + ".",
                                      "Ask for a finer mesh, or leave the mesh empty to have one "
                                      "proposed.");
            }
        }
        return *line.mesh;
    }
    const auto found = physics::propose_mesh(meshes, line.finest_line, line.ruling, missing);
    if (!found) {
        b.diagnostics.error(line.place, "no-mesh",
                            "order " + order.name +
                                " names no mesh, and none of the room's keeps the rules for its "
                                "finest line and ruling.",
                            "Name a mesh, or give a finest line or ruling that a mesh of the room "
                            "can hold.");
        return {};
    }
    why = mesh_words(b, line, *found, missing);
    return meshes[*found].name;
}

namespace {

// The unit whose time for this screen lies farthest from all calibrated ones; none: no time does.
struct UnlikelyExposure {
    const model::Station* unit = nullptr;
    double seconds = 0.0;
    double times = 1.0;  // the nearest calibrated time
};

UnlikelyExposure unlikely_exposure(const Builder& b, const model::ScreenLine& line,
                                   const std::string& mesh_name) {
    constexpr double most_times = 2.5;
    constexpr double least_times = 0.4;
    UnlikelyExposure worst;
    const auto* emulsion = find_emulsion(b.room(), line.emulsion);
    const auto* mesh = find_mesh(b.room(), mesh_name);
    const auto* plan = find_coat_plan(b.room(), line.coat_plan);
    if (!emulsion || !mesh || !plan || line.kept_stencil) return worst;
    double least = std::numeric_limits<double>::infinity();
    double most = 0.0;
    for (const auto& e : b.room().emulsions) {
        least = std::min(least, static_cast<double>(e.base_exposure.count()));
        most = std::max(most, static_cast<double>(e.base_exposure.count()));
    }
    double far = 0.0;
    for (const auto& station : b.room().stations) {
        if (!station.lamp || !model::does_step(station, Step::Expose) ||
            !model::takes_frame(station, line.frame))
            continue;
        const double t = physics::exposure_time(*emulsion, *station.lamp, *mesh, *plan).seconds();
        if (t <= most_times * most && t >= least_times * least) continue;
        const double times = t > most ? t / most : t / least;
        if (std::abs(std::log(times)) <= far) continue;
        far = std::abs(std::log(times));
        worst = {&station, t, times};
    }
    return worst;
}

}  // namespace

void check_exposure(Builder& b, const model::Order& order, const model::ScreenLine& line,
                    const std::string& mesh) {
    const auto found = unlikely_exposure(b, line, mesh);
    if (found.unit == nullptr) return;
    const std::string comes_out =
        fmt::format("{} at {} comes out at {}, {:.2g} times the nearest calibrated time.",
                    mesh.empty() ? line.emulsion : line.emulsion + " on " + mesh, found.unit->name,
                    model::format_duration(model::round_up(found.seconds)), found.times);
    if (!b.exposures_said.insert(comes_out).second) return;
    b.diagnostics.warning(
        line.place, "exposure-unlikely", fmt::format("order {}: {}", order.name, comes_out),
        "Look at exposure: of the emulsion (time, distance, coat plan and mesh), its wet film, and "
        "the lamp's distance and hours; or calibrate with a step wedge (coatroom dose --wedge).");
}

void check_climate(Builder& b) {
    if (b.options.day_kind.empty()) return;
    std::vector<std::string> names;
    if (b.room().climate) {
        for (const auto& [name, air] : b.room().climate->named_days)
            names.push_back(name);
    }
    for (const auto& name : names) {
        if (name == b.options.day_kind) return;
    }
    const std::string near = model::nearest_name(b.options.day_kind, names);
    b.diagnostics.error(
        b.room().place, "unknown-day",
        "the climate has no day called \"" + b.options.day_kind + "\".",
        near.empty() ? "Name it under the climate's days." : "Did you mean \"" + near + "\"?");
}

}  // namespace sched::compile
