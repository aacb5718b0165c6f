#pragma once
// The drying clock's referee: random load histories of a cabinet, run through the engine's clock
// and through an ODE integration (Boost.Odeint) of the equations that the clock stands for. The ODE
// is written from the water balances of every face and of the air, not from the clock's stages.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/physics/cabinet.hpp"

namespace physics_test {

/// How much of the physics the referee integrates; each adds to the one before.
enum class Equations {
    FilmHeld,     // D = base/(1 + S) at once, smooth falling rate: what the clock stands for
    AirStored,    // the air's humidity has its own balance (time constant V/V̇)
    FilmCoupled,  // film temperature follows the air; K with it
    Sorption,     // equilibrium moisture follows the air's humidity
};

struct Screen {
    std::int64_t at = 0;  // enters [s]
    model::physics::WetScreen wet;
    model::physics::DryingLoad load;
};

struct History {
    model::physics::Cabinet cabinet;
    std::vector<model::Air> hours;  // room air by the hour; one: constant
    double volume = 1.5;            // of the cabinet [m³]
    std::vector<Screen> screens;
    std::vector<double> clock;  // s from entering to dry, by the engine's clock (whole seconds)
};

struct HistoryKind {
    bool free_water_only = false;   // φ = 1: rinsed mesh and washed-out stencils
    bool weak_heater = false;       // heater power between half and twice the need of the fresh air
    bool changing_climate = false;  // a new room air every hour
};

/// History number `seed`: same on every machine.
History random_history(std::uint64_t seed, const HistoryKind& kind);

/// Screens alike that go in together, in usual air; the clock's time is not rounded.
History crowd(int screens, model::CubicMetresPerHour supply);

/// s from entering to dry, per screen, by the ODE. Not dry after 20 h: infinity.
std::vector<double> integrate(const History& history, Equations equations);

struct Differences {
    std::vector<double> relative;  // (clock - ODE) / ODE, sorted
    std::vector<double> seconds;   // clock - ODE, sorted
    double quantile(double q) const;
    double within(double limit) const;  // share of |relative| <= limit
};
Differences compare(int histories, const HistoryKind& kind, Equations equations);

}  // namespace physics_test
