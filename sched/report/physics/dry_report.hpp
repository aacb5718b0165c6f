#pragma once
// coatroom dry: how long a coat dries in a cabinet, by load and climate, what limits it, and what
// observed times say about the cabinet. Plain results and their texts; the command prints them.

#include <optional>
#include <string>
#include <vector>

#include "model/physics/cabinet.hpp"
#include "model/physics/calibrate.hpp"
#include "model/room/room.hpp"

namespace sched::report {

enum class WetKind { Coats, FaceCoat, Mesh, Stencil };
model::Step drying_step(WetKind kind);

/// What dries where. Names are the room's own; empty: the first of the room that fits.
struct DryQuestion {
    std::string cabinet;
    WetKind kind = WetKind::Coats;
    std::string coat_plan;
    std::string mesh;
    std::string emulsion;
    std::optional<model::Area> frame;  // none: 58 x 84 cm
    std::optional<model::Air> air;     // of the room; none: the climate's
};

/// Times in one air of the room.
struct DryClimate {
    std::string name;
    model::Air air;
    bool reachable = true;                        // false: too damp ever to get dry enough
    std::vector<model::Seconds> times;            // one per load; 0 where not reachable
    std::vector<model::physics::Governs> limits;  // at the start, all in the constant-rate period
    model::physics::CabinetState alone;           // air inside with one screen
    model::physics::CabinetState full;
    std::vector<model::physics::DryingPoint> curve;       // one screen inside
    std::vector<model::physics::DryingPoint> curve_full;  // all places taken
};

struct DryReport {
    std::string cabinet;
    model::CabinetAir air;
    std::string what;  // "2+2 of photopolymer B on 120-34, 58 x 84 cm"
    model::physics::WetScreen wet;
    int places = 1;
    std::vector<int> loads;            // screens alike that went in together, from 1 to full
    std::vector<DryClimate> climates;  // the asked or usual air first
};

/// @returns nullopt and the reason (for people) in `problem` when a name is unknown or the cabinet
/// has no air.
std::optional<DryReport> dry_report(const model::Room& room, const DryQuestion& question,
                                    std::string& problem);

std::string dry_text(const DryReport& report);
/// Water left over time, a line for each air: one screen solid, full cabinet dashed. One SVG
/// element.
std::string dry_svg(const DryReport& report);
/// Table and curve on a self-contained page.
std::string dry_page(const DryReport& report);

// ---- observed times ----------------------------------------------------------------------------

/// "2+2, 21 °C, 50 %, 1, 32 min": coat plan (or "mesh", "stencil"), room air, screens inside, time
/// to dry. The plan may hold commas; the last four parts are the others.
std::optional<model::physics::ObservedDrying> parse_observation(const std::string& text,
                                                                const model::Room& room,
                                                                const DryQuestion& question,
                                                                std::string& problem);

struct DryFit {
    std::string cabinet;
    std::string emulsion;
    std::vector<std::string> observed;  // as written
    std::vector<model::physics::ObservedDrying> seen;
    model::physics::Calibration fit;
};
std::optional<DryFit> dry_fit(const model::Room& room, const DryQuestion& question,
                              const std::vector<std::string>& observed, std::string& problem);
/// Fitted values, residuals, and the lines for room.yaml.
std::string dry_fit_text(const DryFit& fit);

}  // namespace sched::report
