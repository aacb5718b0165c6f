// How it works: one function a struct, units in the keys, numbers to twelve digits so that the
// text is the same on every machine.

#include "sched/report/physics/physics_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>
#include <utility>

namespace sched::report {

namespace physics = model::physics;
using Json = nlohmann::ordered_json;

namespace {

/// Twelve digits: the same text on every machine.
double steady(double x) {
    if (!std::isfinite(x) || x == 0.0) return x;
    const double scale = std::pow(10.0, 11.0 - std::floor(std::log10(std::fabs(x))));
    return std::round(x * scale) / scale;
}

std::string written(const Json& j) {
    return j.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Json air_of(const model::Air& air) {
    return {{"temperature_c", steady(air.temperature.value)},
            {"relative_humidity", steady(air.humidity.value)}};
}

Json state_of(const physics::CabinetState& s) {
    return {{"temperature_c", steady(s.temperature.value)},
            {"relative_humidity", steady(s.humidity.value)},
            {"humidity_ratio_kg_per_kg", steady(s.humidity_ratio)},
            {"evaporation_kg_per_h", steady(s.evaporation * 3600.0)},
            {"heater_at_limit", s.heater_at_limit}};
}

Json curve_of(const std::vector<physics::DryingPoint>& curve) {
    Json list = Json::array();
    for (const auto& p : curve)
        list.push_back({steady(p.seconds), steady(p.water * 1000.0)});
    return list;
}

Json line_of(const DoseLine& line) {
    Json j;
    if (!line.order.empty()) {
        j["order"] = line.order;
        j["line"] = line.line;
    }
    j["mesh"] = line.mesh;
    j["emulsion"] = line.emulsion;
    j["coat_plan"] = line.coat_plan;
    j["stencil_um"] = steady(line.stencil.value);
    j["lamp_on_s"] = steady(line.time.seconds());
    j["setting_s"] = steady(line.time.setting(line.integrator));
    j["factors"] = {{"calibrated_s", steady(line.time.base)},
                    {"distance", steady(line.time.distance)},
                    {"stencil", steady(line.time.stencil)},
                    {"mesh", steady(line.time.mesh)},
                    {"ageing", steady(line.time.ageing)}};
    j["integrator"] = line.integrator;
    j["warm_up_s"] = steady(line.warm_up_seconds);
    j["wash_out_factor"] = steady(line.wash_out_factor);
    j["missing_distance_cm"] =
        line.missing_distance ? Json(steady(line.missing_distance->value)) : Json(nullptr);
    j["mesh_complaints"] = Json::array();
    for (const auto& c : line.mesh_complaints)
        j["mesh_complaints"].push_back(c.text);
    return j;
}

}  // namespace

std::string dry_json(const DryReport& report) {
    Json j;
    j["cabinet"] = report.cabinet;
    j["setting_c"] = steady(report.air.temperature.value);
    j["what"] = report.what;
    j["places"] = report.places;
    for (const auto& [side, face] :
         {std::pair{"print", &report.wet.print}, std::pair{"squeegee", &report.wet.squeegee}}) {
        j["wet"][side] = {{"water_g_per_m2", steady(face->water * 1000.0)},
                          {"solids_g_per_m2", steady(face->solids * 1000.0)},
                          {"film_um", steady(face->film.value)}};
    }
    j["climates"] = Json::array();
    for (const DryClimate& c : report.climates) {
        Json climate;
        climate["name"] = c.name;
        climate["room_air"] = air_of(c.air);
        climate["dries"] = c.reachable;
        climate["loads"] = Json::array();
        for (std::size_t i = 0; i < report.loads.size(); ++i) {
            climate["loads"].push_back(
                {{"screens", report.loads[i]},
                 {"time_s", c.reachable ? Json(c.times[i].count()) : Json(nullptr)},
                 {"limited_by", physics::words(c.limits[i])}});
        }
        climate["air_inside_alone"] = state_of(c.alone);
        climate["air_inside_full"] = state_of(c.full);
        climate["water_alone_s_g_per_m2"] = curve_of(c.curve);
        climate["water_full_s_g_per_m2"] = curve_of(c.curve_full);
        j["climates"].push_back(std::move(climate));
    }
    return written(j);
}

std::string dry_fit_json(const DryFit& fit) {
    Json j;
    j["cabinet"] = fit.cabinet;
    j["emulsion"] = fit.emulsion;
    j["transfer_factor"] = steady(fit.fit.transfer_factor);
    j["critical_moisture_kg_per_kg"] =
        fit.fit.critical_fitted ? Json(steady(fit.fit.critical_moisture)) : Json(nullptr);
    j["at_limit"] = fit.fit.at_limit;
    j["rms_residual"] = steady(fit.fit.rms);
    j["observations"] = Json::array();
    for (std::size_t i = 0; i < fit.observed.size(); ++i) {
        j["observations"].push_back({{"written", fit.observed[i]},
                                     {"observed_s", steady(fit.seen[i].seconds)},
                                     {"predicted_s", steady(fit.fit.predicted[i])},
                                     {"residual", steady(fit.fit.residual[i])}});
    }
    return written(j);
}

std::string dose_json(const DoseReport& report) {
    Json j;
    j["unit"] = report.unit;
    j["tolerance"] = steady(report.tolerance);
    j["lines"] = Json::array();
    for (std::size_t i = 0; i < report.lines.size(); ++i) {
        Json line = line_of(report.lines[i]);
        line["shares_exposure_with"] = report.families[i];
        j["lines"].push_back(std::move(line));
    }
    return written(j);
}

std::string wedge_json(const WedgeReport& report) {
    Json j;
    j["line"] = line_of(report.line);
    j["steps"] = Json::array();
    for (const auto& s : report.steps) {
        j["steps"].push_back({{"strips_covered", s.masked},
                              {"opening_s", steady(s.seconds)},
                              {"total_s", steady(s.total)},
                              {"percent", steady(s.percent)}});
    }
    j["best"] = report.best ? Json(*report.best) : Json(nullptr);
    j["calibrated_s"] = steady(report.base);
    j["new_calibrated_s"] = report.best ? Json(steady(report.new_base)) : Json(nullptr);
    return written(j);
}

}  // namespace sched::report
