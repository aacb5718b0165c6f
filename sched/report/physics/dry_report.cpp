// How it works: what the question names is found in the room; for each named day's air and each
// load of the cabinet the drying model gives the time and what limits it. Observations in words
// are parsed into air, load and time, and the two numbers of the law are fitted to them.

#include "sched/report/physics/dry_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace physics = model::physics;

namespace {

const model::Area frame_of_the_demo{model::Centimetres{58.0}, model::Centimetres{84.0}};

/// The named one, or the first when no name is given.
template <class T>
const T* pick(const std::vector<T>& list, const std::string& name) {
    for (const T& one : list) {
        if (name.empty() || one.name == name) return &one;
    }
    return nullptr;
}

// Without a name the first with air that dries such things, else the first with air.
const model::Station* pick_cabinet(const model::Room& room, const std::string& name, WetKind kind) {
    const model::Station* other = nullptr;
    for (const model::Station& s : room.stations) {
        if (name.empty() ? !s.air : s.name != name) continue;
        const bool dries = model::does_step(s, drying_step(kind));
        if (!name.empty() || dries) return &s;
        if (other == nullptr) other = &s;
    }
    return other;
}

std::string unknown(const char* kind, const std::string& name) {
    return name.empty() ? fmt::format("the room has no {}", kind)
                        : fmt::format("the room has no {} {}", kind, name);
}

/// All that a question names, found in the room.
struct Parts {
    const model::Station* cabinet = nullptr;
    const model::Mesh* mesh = nullptr;
    const model::CoatPlan* plan = nullptr;
    const model::Emulsion* emulsion = nullptr;
    model::Area frame;
};

std::optional<Parts> parts_of(const model::Room& room, const DryQuestion& q, std::string& problem) {
    Parts p;
    p.cabinet = pick_cabinet(room, q.cabinet, q.kind);
    p.frame = q.frame.value_or(frame_of_the_demo);
    if (!p.cabinet) {
        problem = unknown(q.cabinet.empty() ? "cabinet with air" : "station", q.cabinet);
    } else if (!p.cabinet->air) {
        problem =
            fmt::format("{} has no air in room.yaml: its drying times are typed, not computed",
                        p.cabinet->name);
    } else if (q.kind == WetKind::Coats || q.kind == WetKind::FaceCoat) {
        p.mesh = pick(room.meshes, q.mesh);
        p.plan = pick(room.coat_plans, q.coat_plan);
        p.emulsion = pick(room.emulsions, q.emulsion);
        if (!p.mesh) problem = unknown("mesh", q.mesh);
        if (!p.plan) problem = unknown("coat plan", q.coat_plan);
        if (!p.emulsion) problem = unknown("emulsion", q.emulsion);
    }
    if (!problem.empty()) return std::nullopt;
    return p;
}

physics::WetScreen wet_of(const Parts& p, WetKind kind, const model::DryingLaw& law) {
    switch (kind) {
        case WetKind::Coats:
            return physics::wet_coats(*p.mesh, *p.plan, *p.emulsion, p.frame, law);
        case WetKind::FaceCoat:
            return physics::wet_face_coat(*p.emulsion, p.frame, law);
        case WetKind::Mesh:
            return physics::wet_mesh(p.frame, law);
        case WetKind::Stencil:
            break;
    }
    return physics::wet_stencil(p.frame, law);
}

std::string what_words(const Parts& p, WetKind kind) {
    const std::string frame = area_words(p.frame);
    switch (kind) {
        case WetKind::Coats:
            return fmt::format("{} of {} on {}, frame {}", p.plan->name, p.emulsion->name,
                               p.mesh->name, frame);
        case WetKind::FaceCoat:
            return fmt::format("one face coat of {}, frame {}", p.emulsion->name, frame);
        case WetKind::Mesh:
            return fmt::format("rinsed mesh, frame {}", frame);
        case WetKind::Stencil:
            break;
    }
    return fmt::format("washed-out stencil, frame {}", frame);
}

std::vector<int> loads_to(int places) {
    std::vector<int> loads{1};
    for (int part : {4, 2})
        loads.push_back(std::max(1, places / part));
    loads.push_back(places);
    std::sort(loads.begin(), loads.end());
    loads.erase(std::unique(loads.begin(), loads.end()), loads.end());
    return loads;
}

/// The asked or usual air, then the named days; a room without them gets a dry and a damp day.
std::vector<std::pair<std::string, model::Air>> airs_of(const model::Room& room,
                                                        const DryQuestion& q) {
    const model::Air usual = room.climate ? room.climate->air : model::Air{};
    std::vector<std::pair<std::string, model::Air>> airs{
        {q.air ? "as asked" : "usual air", q.air.value_or(usual)}};
    if (room.climate && !room.climate->named_days.empty()) {
        for (const auto& [name, air] : room.climate->named_days) {
            if (air != airs.front().second) airs.emplace_back(name + " day", air);
        }
    } else {
        airs.emplace_back("dry day (example)",
                          model::Air{model::Celsius{20.0}, model::RelativeHumidity{0.30}});
        airs.emplace_back("damp day (example)",
                          model::Air{model::Celsius{24.0}, model::RelativeHumidity{0.70}});
    }
    return airs;
}

std::string air_words(const model::Air& air) {
    return fmt::format("{:.3g} °C {:.0f} %", air.temperature.value, 100.0 * air.humidity.value);
}

model::Pascals pressure_of(const model::Room& room) {
    return room.climate ? room.climate->pressure : model::Pascals{101325.0};
}

DryClimate climate_of(const model::Room& room, const DryReport& report, const std::string& name,
                      const model::Air& air) {
    DryClimate c;
    c.name = name;
    c.air = air;
    const physics::Cabinet cabinet =
        physics::make_cabinet(report.air, air, pressure_of(room), room.drying);
    const physics::ClockStep step = physics::clock_step(cabinet, air);
    const physics::DryingLoad load = physics::drying_load(cabinet, report.wet);
    c.reachable = load.reachable && step.base > 0.0;
    const double first = load.stages.empty() ? 0.0 : load.stages.front().share;
    for (int n : report.loads) {
        c.times.push_back(c.reachable ? model::round_up(physics::together_seconds(load, step, n))
                                      : model::Seconds{0});
        c.limits.push_back(physics::governs(cabinet, air, n * first));
    }
    c.alone = physics::state_at(cabinet, air, first);
    c.full = physics::state_at(cabinet, air, report.places * first);
    if (c.reachable) {
        c.curve = physics::drying_curve(report.wet, load, step, 1);
        c.curve_full = physics::drying_curve(report.wet, load, step, report.places);
    }
    return c;
}

}  // namespace

model::Step drying_step(WetKind kind) {
    switch (kind) {
        case WetKind::Coats:
            return model::Step::DryCoat;
        case WetKind::FaceCoat:
            return model::Step::DryFace;
        case WetKind::Mesh:
            return model::Step::DryMesh;
        case WetKind::Stencil:
            break;
    }
    return model::Step::DryStencil;
}

std::optional<DryReport> dry_report(const model::Room& room, const DryQuestion& question,
                                    std::string& problem) {
    const auto parts = parts_of(room, question, problem);
    if (!parts) return std::nullopt;
    DryReport report;
    report.cabinet = parts->cabinet->name;
    report.air = *parts->cabinet->air;
    report.what = what_words(*parts, question.kind);
    report.wet = wet_of(*parts, question.kind, room.drying);
    report.places = std::max(1, parts->cabinet->places);
    if (parts->cabinet->double_from) {  // large frames take two places
        const model::Area& from = *parts->cabinet->double_from;
        if (parts->frame.width > from.width || parts->frame.height > from.height)
            report.places = std::max(1, report.places / 2);
    }
    report.loads = loads_to(report.places);
    for (const auto& [name, air] : airs_of(room, question))
        report.climates.push_back(climate_of(room, report, name, air));
    return report;
}

std::string dry_text(const DryReport& report) {
    std::string out = fmt::format("{} in {}\n", report.what, report.cabinet);
    out += fmt::format(
        "water: print side {:.0f} g/m² ({:.0f} µm wet), squeegee side {:.0f} g/m² ({:.0f} µm wet), "
        "{:.2f} m² of mesh\n",
        report.wet.print.grams(), report.wet.print.film.value, report.wet.squeegee.grams(),
        report.wet.squeegee.film.value, report.wet.area);
    out +=
        fmt::format("air: {:.3g} °C, {:.0f} m³/h fresh, {:.2g} m/s over the screens",
                    report.air.temperature.value, report.air.supply.value, report.air.speed.value);
    if (report.air.heater)
        out += fmt::format(", heater {:.2g} kW", report.air.heater->value / 1000.0);
    out += "\n\nminutes to dry, screens alike put in together:\n";
    out += fmt::format("{:<20} {:<12}", "room air", "");
    for (int n : report.loads)
        out += fmt::format("{:>8}", n);
    out += "  humidity inside, 1 to full   limit when full\n";
    for (const DryClimate& c : report.climates) {
        out += fmt::format("{:<20} {:<12}", c.name, air_words(c.air));
        if (!c.reachable) {
            out += "  never dry: the air is too damp\n";
            continue;
        }
        for (const model::Seconds& t : c.times)
            out += fmt::format("{:>8.0f}", std::ceil(static_cast<double>(t.count()) / 60.0));
        out += fmt::format("  {:>3.0f} to {:.0f} %{:>17}   {}\n", 100.0 * c.alone.humidity.value,
                           100.0 * c.full.humidity.value, "", physics::words(c.limits.back()));
    }
    out +=
        "\nA model with two figures that only your own clock can tell: give observed times with "
        "--observed.\n"
        "Nothing wet with flammable cleaner goes into a warm cabinet. Air above 40 °C hardens the "
        "layer.\n";
    return out;
}

std::optional<physics::ObservedDrying> parse_observation(const std::string& text,
                                                         const model::Room& room,
                                                         const DryQuestion& question,
                                                         std::string& problem) {
    std::vector<std::string> parts{""};
    for (char c : text) {
        if (c == ',')
            parts.emplace_back();
        else
            parts.back() += c;
    }
    for (std::string& part : parts) {
        while (!part.empty() && part.front() == ' ')
            part.erase(0, 1);
        while (!part.empty() && part.back() == ' ')
            part.pop_back();
    }
    if (parts.size() < 5) {
        problem = fmt::format(
            "\"{}\" is no observation. Write it like \"2+2, 21 °C, 50 %, 1, 32 min\": coat plan, "
            "temperature and "
            "humidity of the room, screens inside, time to dry",
            text);
        return std::nullopt;
    }
    const std::size_t n = parts.size();
    DryQuestion q = question;
    q.coat_plan = parts[0];
    for (std::size_t i = 1; i + 4 < n; ++i)
        q.coat_plan += ", " + parts[i];
    q.kind = WetKind::Coats;
    if (q.coat_plan == "mesh" || q.coat_plan == "stencil") {
        q.kind = q.coat_plan == "mesh" ? WetKind::Mesh : WetKind::Stencil;
        q.coat_plan.clear();
    }
    const auto t = model::parse_temperature(parts[n - 4]);
    const auto rh = model::parse_percent(parts[n - 3]);
    const auto load = model::parse_count(parts[n - 2]);
    const auto time = model::parse_duration(parts[n - 1]);
    const auto wrong = [&](const std::string& part, const std::string& why) {
        problem = fmt::format("\"{}\": {} {}", text, part, why);
    };
    if (!t.value)
        wrong(parts[n - 4], t.problem);
    else if (!rh.value)
        wrong(parts[n - 3], rh.problem);
    else if (!load.value)
        wrong(parts[n - 2], load.problem);
    else if (!time.value)
        wrong(parts[n - 1], time.problem);
    else if (t.value->value < -10.0 || t.value->value > 45.0)
        wrong(parts[n - 4], "is no room temperature (-10 to 45 °C)");
    else if (rh.value->value < 0.01 || rh.value->value > 1.0)
        wrong(parts[n - 3], "is no humidity (1 to 100 %)");
    else if (*load.value < 1 || *load.value > 1000)
        wrong(parts[n - 2], "is no number of screens (1 to 1000)");
    else if (*time.value < model::minutes(1))
        wrong(parts[n - 1], "is too short (from 1 min)");
    if (!problem.empty()) return std::nullopt;
    const auto found = parts_of(room, q, problem);
    if (!found) return std::nullopt;
    physics::ObservedDrying seen;
    seen.screen = wet_of(*found, q.kind, room.drying);
    if (const auto* e = pick(room.emulsions, question.emulsion))
        seen.screen.critical_moisture = e->critical_moisture;
    seen.room = {*t.value, model::RelativeHumidity{rh.value->value}};
    seen.load = *load.value;
    seen.seconds = static_cast<double>(time.value->count());
    return seen;
}

std::optional<DryFit> dry_fit(const model::Room& room, const DryQuestion& question,
                              const std::vector<std::string>& observed, std::string& problem) {
    const model::Station* cabinet = pick_cabinet(room, question.cabinet, question.kind);
    if (!cabinet || !cabinet->air) {
        problem = unknown("cabinet with air", question.cabinet);
        return std::nullopt;
    }
    DryFit result;
    result.cabinet = cabinet->name;
    if (const auto* e = pick(room.emulsions, question.emulsion)) result.emulsion = e->name;
    for (const std::string& text : observed) {
        const auto seen = parse_observation(text, room, question, problem);
        if (!seen) return std::nullopt;
        result.observed.push_back(text);
        result.seen.push_back(*seen);
    }
    if (result.seen.empty()) {
        problem = "no observation";
        return std::nullopt;
    }
    for (const auto& seen : result.seen) {
        if (!std::isfinite(physics::predicted_seconds(*cabinet->air, pressure_of(room), room.drying,
                                                      seen, 1.0, 0.5))) {
            problem =
                "an observation has air so damp that nothing dries in it: look at its humidity "
                "again";
            return std::nullopt;
        }
    }
    result.fit = physics::calibrate(*cabinet->air, pressure_of(room), room.drying, result.seen);
    return result;
}

std::string dry_fit_text(const DryFit& f) {
    std::string out = fmt::format("{:<44}{:>9}{:>9}{:>9}\n", "observed", "min", "model", "off");
    for (std::size_t i = 0; i < f.observed.size(); ++i) {
        out += fmt::format("{:<44}{:>9.1f}{:>9.1f}{:>+8.0f} %\n", f.observed[i],
                           f.seen[i].seconds / 60.0, f.fit.predicted[i] / 60.0,
                           100.0 * f.fit.residual[i]);
    }
    out += fmt::format("root mean square {:.1f} %\n\nfor room.yaml:\n", 100.0 * f.fit.rms);
    out += fmt::format("  station {}, under air:     transfer factor: {:.2f}\n", f.cabinet,
                       f.fit.transfer_factor);
    if (f.fit.critical_fitted) {
        out += fmt::format("  emulsion {}:               critical moisture: {:.2f}\n", f.emulsion,
                           f.fit.critical_moisture);
    } else {
        out += fmt::format(
            "  critical moisture stays {:.2f}: these times cannot tell it from the transfer "
            "factor. Observe a rinsed mesh "
            "(\"mesh, ...\") and a heavy coat as well.\n",
            f.fit.critical_moisture);
    }
    if (f.fit.at_limit)
        out +=
            "A value stopped at its limit: look at the observations, the wet film and the air "
            "supply again.\n";
    return out;
}

}  // namespace sched::report
