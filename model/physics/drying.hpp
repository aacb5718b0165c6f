#pragma once
// Drying of screens: what water a coat or a rinse leaves, and the dose of drying that removes it.
// The dose is counted by the drying clock of a cabinet (cabinet.hpp), tau = ∫ D dt with D = W_s -
// W. One clock unit = 1 g/kg of driving force for one second [g s/kg]. Model:
// docs/physics.md#drying.

#include <optional>
#include <vector>

#include "model/base/quantity.hpp"
#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model::physics {

/// Clock units per kg/kg of driving force and second.
inline constexpr double clock_scale = 1000.0;

/// Water on one face of a screen, per m² of mesh.
struct WetFace {
    double water = 0.0;   // [kg/m²]
    double solids = 0.0;  // dry matter that holds it [kg/m²]; 0: free water
    Micrometres film;     // wet thickness, its half of the filled mesh included
    double grams() const { return water * 1e3; }
};

/// A wet screen as the air sees it.
struct WetScreen {
    double area = 0.0;    // mesh of one face [m²]
    double length = 0.0;  // along the air [m]: the longer side
    WetFace print;
    WetFace squeegee;
    double critical_moisture = 0.5;  // X_c of the emulsion [kg/kg dry]
};

/// Mesh inside the frame's bars [m²], at least 0.01.
double mesh_area(Area frame, const DryingLaw& law);

WetScreen wet_mesh(Area frame, const DryingLaw& law);     // rinsed, before coating
WetScreen wet_stencil(Area frame, const DryingLaw& law);  // washed out
/// The wet-on-wet group of a plan: its films by side, the mesh's open volume halved between the
/// sides.
WetScreen wet_coats(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion, Area frame,
                    const DryingLaw& law);
/// One face coat on a dried stencil (print side only).
WetScreen wet_face_coat(const Emulsion& emulsion, Area frame, const DryingLaw& law);

/// How one face dries: a constant-rate period to X_c, then N/N_c = (X - X_e)/(X_c - X_e).
/// All in clock units; source: evaporation.md section 6 via docs/physics.md.
struct FaceDrying {
    double constant = 0.0;  // work of the constant-rate period
    double scale = 0.0;     // falling period: rate = exp(-(tau - constant)/scale); 0: none
    double total = 0.0;     // work to the final moisture
    /// Relative rate, 1 in the constant-rate period.
    double rate(double tau) const;
    /// ∫ rate over [a, b].
    double removed(double a, double b) const;
};
/// @param conductance K [kg/(m² s)].  @param equilibrium X_e < final moisture.
FaceDrying face_drying(const WetFace& face, double critical, double equilibrium,
                       double final_moisture, double conductance);

/// `work` clock units during which the screen weighs `share` in the sum of the cabinet.
struct Stage {
    double work = 0.0;
    double share = 0.0;
    friend bool operator==(const Stage&, const Stage&) = default;
};

/// A screen's way through the cabinet, ready for sched::core::DryStage.
struct DryingLoad {
    std::vector<Stage> stages;
    bool reachable = true;  // false: the air is too damp to reach the final moisture (X_e >= X_f)
    double equilibrium = 0.0;  // X_e used
    double conductance = 0.0;  // K used [kg/(m² s)]
    FaceDrying print;          // what the stages are cut from
    FaceDrying squeegee;
    double share_of_face = 0.0;  // share of one face at rate 1
    double work() const;         // sum over stages
};

/// Cuts the falling period into pieces of equal work, each with its mean rate: water and a lone
/// screen's end are exact, only the weight on the neighbours is a staircase.
inline constexpr int falling_pieces = 2;
DryingLoad stages_of(const FaceDrying& print, const FaceDrying& squeegee, double share_of_face,
                     int pieces = falling_pieces);

/// One step of sched::core::SharedRate: rate = min(max(base/(1 + S), crowd/(crowd_shift + S)),
/// cap/(cap_shift + S)) clock units per second.
struct ClockStep {
    double base = 0.0;
    std::optional<double> cap = {};  // set where the heater's power limits evaporation
    double cap_shift = 0.0;
    std::optional<double> crowd = {};  // set where crowded air takes up more than base says
    double crowd_shift = 1.0;
};

/// Clock units per second at load S = `sum`.
double clock_rate(const ClockStep& clock, double sum);

/// Time to dry while the rest of the cabinet weighs `other` throughout; rounded up.
/// rate of the clock at S = other + own share. @pre base > 0
Seconds drying_time(const DryingLoad& load, const ClockStep& clock, double other);
/// The same, not rounded [s].
double drying_seconds(const DryingLoad& load, const ClockStep& clock, double other);

/// Time for `count` screens alike that went in together, and nothing else inside [s]. @pre base > 0
double together_seconds(const DryingLoad& load, const ClockStep& clock, int count);

/// Water left on both faces [kg/m² of mesh] over time, `count` screens alike inside.
struct DryingPoint {
    double seconds = 0.0;
    double water = 0.0;
};
/// From time 0 to dry, at most `points` steps of equal work; the last one is dry. Smooth falling
/// rate.
std::vector<DryingPoint> drying_curve(const WetScreen& screen, const DryingLoad& load,
                                      const ClockStep& clock, int count, int points = 60);

}  // namespace model::physics
