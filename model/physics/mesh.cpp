#include "model/physics/mesh.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <tuple>

#include "model/base/units.hpp"

namespace model::physics {

namespace {

constexpr double water_density = 998.0;  // kg/m³ at room temperature
constexpr double rule_slack = 1e-9;      // relative: 133/2.54 x 4 equals 532/2.54

std::string figure(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.4g", value);
    return text;
}

}  // namespace

Micrometres mesh_pitch(const Mesh& mesh) {
    return Micrometres{10000.0 / mesh.count.value};
}

Micrometres mesh_opening(const Mesh& mesh) {
    return Micrometres{std::max(0.0, mesh_pitch(mesh).value - mesh.thread.value)};
}

Fraction open_area(const Mesh& mesh) {
    const double side = mesh_opening(mesh) / mesh_pitch(mesh);
    return Fraction{side * side};
}

Micrometres fabric_thickness(const Mesh& mesh) {
    return mesh.fabric ? *mesh.fabric : 1.5 * mesh.thread;
}

Micrometres open_volume(const Mesh& mesh) {
    return open_area(mesh).value * fabric_thickness(mesh);
}

double solids_by_volume(const Emulsion& emulsion) {
    const double water = (1.0 - emulsion.solids.value) * emulsion.density / water_density;
    return std::clamp(1.0 - water, 0.01, 1.0);
}

Micrometres dry_stencil(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion) {
    const double films =
        emulsion.wet_film.value * (plan.print_side + plan.squeegee_side + plan.face);
    return Micrometres{(films + open_volume(mesh).value) * solids_by_volume(emulsion)};
}

std::vector<MeshComplaint> mesh_complaints(const Mesh& mesh, std::optional<Micrometres> finest_line,
                                           std::optional<LinesPerCm> ruling) {
    std::vector<MeshComplaint> complaints;
    if (finest_line) {
        const double limit = 0.5 * finest_line->value;
        if (mesh.thread.value > limit * (1.0 + rule_slack)) {
            complaints.push_back({MeshRule::ThreadToLine, mesh.thread.value, limit,
                                  "thread " + figure(mesh.thread.value) +
                                      " µm is more than half the finest line of " +
                                      figure(finest_line->value) + " µm (at most " + figure(limit) +
                                      " µm)"});
        }
    }
    if (ruling) {
        const double limit = 4.0 * ruling->value;
        if (mesh.count.value < limit * (1.0 - rule_slack)) {
            complaints.push_back({MeshRule::CountToRuling, mesh.count.value, limit,
                                  "mesh count " + format_per_length(mesh.count.value) +
                                      " is less than 4 times the ruling of " +
                                      format_per_length(ruling->value) + " (at least " +
                                      (is_per_inch(mesh.count.value) ? figure(limit * 2.54) + "/in"
                                                                     : figure(limit) + "/cm") +
                                      ")"});
        }
    }
    return complaints;
}

std::optional<std::size_t> propose_mesh(const std::vector<Mesh>& meshes,
                                        std::optional<Micrometres> finest_line,
                                        std::optional<LinesPerCm> ruling,
                                        std::span<const int> missing) {
    if (!finest_line && !ruling) return std::nullopt;
    std::optional<std::size_t> best;
    const auto rank = [&](std::size_t i) {
        return std::tuple(missing.empty() ? 0 : missing[i], meshes[i].dyed, meshes[i].count.value,
                          -meshes[i].thread.value, i);
    };
    for (std::size_t i = 0; i < meshes.size(); ++i) {
        if (!mesh_complaints(meshes[i], finest_line, ruling).empty()) continue;
        if (!best || rank(i) < rank(*best)) best = i;
    }
    return best;
}

}  // namespace model::physics
