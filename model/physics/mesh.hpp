#pragma once
// Geometry of plain square mesh and the two rules of the trade for choosing it. Coating, drying and
// exposure ask for open volume and stencil thickness; the room compiler for proposals and
// complaints.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/base/quantity.hpp"
#include "model/room/room.hpp"

namespace model::physics {

inline constexpr double cm_per_inch = 2.54;  // exact
constexpr ThreadsPerCm threads_per_inch(double n) {
    return ThreadsPerCm{n / cm_per_inch};
}
constexpr double to_per_inch(ThreadsPerCm n) {
    return n.value * cm_per_inch;
}
constexpr LinesPerCm lines_per_inch(double n) {
    return LinesPerCm{n / cm_per_inch};
}
constexpr double to_per_inch(LinesPerCm n) {
    return n.value * cm_per_inch;
}

Micrometres mesh_pitch(const Mesh& mesh);        // 10000 / count
Micrometres mesh_opening(const Mesh& mesh);      // pitch - thread, at least 0
Fraction open_area(const Mesh& mesh);            // (opening / pitch)²
Micrometres fabric_thickness(const Mesh& mesh);  // given, else 1.5 thread diameters
/// Theoretical open volume [cm³ per m²], the same number as µm of film: open area x fabric
/// thickness.
Micrometres open_volume(const Mesh& mesh);

/// Dry stencil, both sides together [µm, or ml per m²]: what the wet films over the mesh and the
/// emulsion that fills it leave when their water of 998 kg/m³ has gone. The one thickness of
/// drying, exposure and wash-out; the emulsion's base_stencil is meant in the same sense.
/// docs/physics.md#exposure.
Micrometres dry_stencil(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion);
/// Share of the wet volume that stays, 0 .. 1.
double solids_by_volume(const Emulsion& emulsion);

// ---- rules (common practice, no source) --------------------------------------------------------

enum class MeshRule { ThreadToLine, CountToRuling };
struct MeshComplaint {
    MeshRule rule;
    double asked;      // thread [µm] or count [1/cm] of the mesh
    double limit;      // largest thread or smallest count allowed
    std::string text;  // "thread 48 µm is more than half the finest line of 80 µm (at most 40 µm)"
};
/// Thread at most half the finest line; count at least 4 x the ruling. Equality keeps the rule.
std::vector<MeshComplaint> mesh_complaints(const Mesh& mesh, std::optional<Micrometres> finest_line,
                                           std::optional<LinesPerCm> ruling);

/// The coarsest mesh (smallest count, then thickest thread, then first) that breaks no rule: it
/// lays down most ink and coats most easily. Dyed mesh only if no undyed one fits.
/// @param missing frames that would have to be bought, one number per mesh: fewer are better than a
/// coarser mesh; left out: it does not matter.
/// @returns index into meshes; nullopt if none fits or neither line nor ruling is given.
std::optional<std::size_t> propose_mesh(const std::vector<Mesh>& meshes,
                                        std::optional<Micrometres> finest_line,
                                        std::optional<LinesPerCm> ruling,
                                        std::span<const int> missing = {});

}  // namespace model::physics
