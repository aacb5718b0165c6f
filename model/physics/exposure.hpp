#pragma once
// Exposure arithmetic: the time an order's screen needs under a lamp, the lamp's least distance,
// step wedges, and which screens have the same dose. Formulas: docs/physics.md#exposure. UV hurts
// eyes and skin: whatever prints these figures prints the caution too.

#include <optional>
#include <span>
#include <vector>

#include "model/base/quantity.hpp"
#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model::physics {

/// Same dose at another distance from a point-like lamp: t (d2/d1)². @pre d1 > 0
double inverse_square(double seconds, Centimetres from, Centimetres to);
/// Same dose at another irradiance (any unit, > 0): t E1/E2.
double equal_dose(double seconds, double irradiance_from, double irradiance_to);
/// Output of a lamp after hours, 1 = new; exponential through output_at_1000_h, or a straight line
/// (at least 0.01).
double lamp_output(double hours, double output_at_1000_h);
double lamp_output_linear(double hours, double output_at_1000_h);
/// Clock time of a dose when the lamp's output climbs linearly over `ramp` seconds: half of the
/// ramp is lost.
double with_ramp(double seconds, double ramp);
/// Irradiance at `off` from below the lamp over that below it: cos^power of the angle (2: distance
/// only, 3: and inclined surface, 4: flat source).
double edge_irradiance(Centimetres distance, Centimetres off, int power);

/// Whether time follows the square of the distance: not for tubes and LED arrays close to the
/// glass.
bool point_like(LampKind kind);

/// What makes the time of one screen, factor by factor.
struct ExposureTime {
    double base = 0.0;      // the emulsion's calibrated time [s]
    double distance = 1.0;  // (d/d0)²
    double stencil = 1.0;   // thickness over calibrated thickness
    double mesh = 1.0;      // dyed mesh over the calibrated one
    double ageing = 1.0;    // 1 / output
    double seconds() const { return base * distance * stencil * mesh * ageing; }  // lamp on
    /// What is dialled: an integrator counts the dose, so ageing is not in its setting.
    double setting(bool integrator) const { return integrator ? seconds() / ageing : seconds(); }
};
ExposureTime exposure_time(const Emulsion& emulsion, const Lamp& lamp, const Mesh& mesh,
                           const CoatPlan& plan);
/// Lamp-on time rounded up: what the plan books for the exposure itself (loading and draw-down are
/// extra).
Seconds exposure_seconds(const Emulsion& emulsion, const Lamp& lamp, const Mesh& mesh,
                         const CoatPlan& plan);

/// How much longer wash-out takes than its typed time: 1 + growth (stencil/base - 1), at least 0.5.
double wash_out_factor(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion);

/// Makes wet_film and the base figures of every emulsion from what its file says. The calibrated
/// screen is the one of its coat plan and mesh, where not named the room's first coat plan and
/// first undyed mesh. A wet film left out is the one that leaves the given stencil on that screen;
/// with coat plan and mesh both named, the base stencil is what they leave.
void settle_exposure(Room& room);

/// Diagonal of an image.
Centimetres diagonal(Area image);
/// Centimetres that a lamp is too near: 1.5 x image diagonal (common practice, no source); nullopt
/// if it is far enough or fluorescent.
std::optional<Centimetres> missing_distance(const Lamp& lamp, Area image);

// ---- step wedge --------------------------------------------------------------------------------

/// One opening of the shutter.
struct WedgeStep {
    int masked = 0;        // strips covered, counted from the first
    double seconds = 0.0;  // of this opening
    double total = 0.0;    // what the strip has got that stays covered from now on
    double percent = 0.0;  // of the estimate
};
/// The usual percentages: 50 and four times 25 more.
inline constexpr double usual_wedge[] = {50.0, 75.0, 100.0, 125.0, 150.0};
/// @pre percentages rise strictly and are > 0; estimate > 0.
std::vector<WedgeStep> wedge_plan(double estimate,
                                  std::span<const double> percentages = usual_wedge);
/// "Step n was best" (from 1): the corrected calibrated time. @pre 1 <= best <= plan's size
double read_wedge(double base, const std::vector<WedgeStep>& plan, int best);
/// 21-step grey scale, density 0.15 a step: time that brings step `found` to `target`.
double read_grey_scale(double seconds, int found, int target);

// ---- shared exposures --------------------------------------------------------------------------

/// Families of screens that may share an exposure: sorted by time, a family reaches from its
/// shortest time to shortest x (1 + tolerance); numbered from 0 by rising time. One entry per given
/// time.
std::vector<int> dose_families(std::span<const double> seconds, double tolerance);

}  // namespace model::physics
