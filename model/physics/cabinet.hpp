#pragma once
// A drying cabinet's air: how fast its drying clock runs in the room's air of an hour, and what a
// wet screen weighs in it. sched/compile turns the results into sched::core::SharedRate and
// DryStage. Well-mixed air, heater that holds the setting while its power lasts:
// docs/physics.md#cabinet.

#include <optional>

#include "model/physics/drying.hpp"

namespace model::physics {

/// Air inside at some load.
struct CabinetState {
    Celsius temperature;
    double humidity_ratio = 0.0;  // W [kg/kg]
    RelativeHumidity humidity;
    double driving = 0.0;  // D = W_s(t_s) - W [kg/kg]
    double pull = 0.0;  // N/K_0, K_0 being K in the empty cabinet: D, corrected for how K changes
    double evaporation = 0.0;      // [kg/s]
    bool heater_at_limit = false;  // the setting is not held
};

/// The air and heat balance solved in full (no drying clock): wet faces of total conductance
/// sum K_0 A φ [kg/s] in a cabinet fed with the room's air.
/// @pre setting <= 40 °C, supply > 0 (the reader refuses the rest).
CabinetState cabinet_state(const CabinetAir& cabinet, const Air& room, Pascals pressure,
                           double conductance);

/// A cabinet and the climate in which its screens' loads are computed (the room's usual air).
/// The clock's law D = base/(1 + S) is met in that climate, with a heater that holds the setting,
/// when empty and at S = 0.5; between and up to S = 1 it is within 2 % of the full balance. Damper,
/// more crowded air takes up more than that law says: D = crowd/(crowd_shift + S) is met at S = 2.5
/// and 32. The heater's power has no part in either, only in the cap: more of it never dries
/// slower.
struct Cabinet {
    CabinetAir air;
    Air reference;
    Pascals pressure{101325.0};
    DryingLaw law;
    double base = 0.0;  // of the empty cabinet, clock units per second; 0: too damp to dry anything
    double half_conductance =
        1.0;  // sum K_0 A φ [kg/s] of S = 1: S = conductance / half_conductance
    double unit_conductance = 0.0;  // K_0 of the unit plate [kg/(m² s)]
    CabinetState held;              // empty, at the setting: where K_0 is taken
    CabinetState empty;             // as it is
    CabinetState usual;             // at S = 0.25: where X_e is taken
    double usual_held = 0.0;        // pull at S = 0.25 with the setting held
};
Cabinet make_cabinet(const CabinetAir& cabinet, const Air& reference, Pascals pressure,
                     const DryingLaw& law);

/// The full balance at load S (K_0 of the reference), in any room air.
CabinetState state_at(const Cabinet& cabinet, const Air& room, double load);

/// The clock in the room's air of an hour. In the reference air: base = cabinet.base. Elsewhere the
/// law is matched at S = 0.25. The cap is matched where the heater's power begins to
/// limit (at S = 0.25 at the earliest) and at a crowded cabinet (S = 2 or more).
ClockStep clock_step(const Cabinet& cabinet, const Air& room);

/// The same, remembered: a room is compiled many times in a run of the program, for one simulated
/// day each, and the air of weather.csv comes again.
ClockStep known_clock_step(const Cabinet& cabinet, const Air& room);

/// K_0 [kg/(m² s)] of a face of that length, transfer factor included.
double face_conductance(const Cabinet& cabinet, double length);
/// The stages of a wet screen in this cabinet (reference climate).
DryingLoad drying_load(const Cabinet& cabinet, const WetScreen& screen);

/// What holds drying back most at a load.
enum class Governs { Transfer, AirExchange, Heater };
/// Heater where the cap binds or the heater cannot hold the setting; else air exchange where S > 1
/// (the air's part of the resistance is the larger one); else transfer from film to air.
Governs governs(const Cabinet& cabinet, const Air& room, double load);
const char* words(Governs g);

}  // namespace model::physics
