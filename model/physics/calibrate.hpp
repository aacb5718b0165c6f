#pragma once
// From observed drying times to the two numbers that no source gives: the cabinet's transfer factor
// and the emulsion's critical moisture. Least squares on the logarithm of the times.

#include <vector>

#include "model/physics/cabinet.hpp"

namespace model::physics {

/// One look at the clock: screens alike went in together, the room's air was such, they were dry
/// after.
struct ObservedDrying {
    WetScreen screen;      // its critical moisture is the start value
    Air room;              // of the room, not of the cabinet
    int load = 1;          // screens of this kind inside, itself included, >= 1
    double seconds = 0.0;  // > 0
};

struct Calibration {
    double transfer_factor = 1.0;    // for CabinetAir, 0.2 .. 5
    double critical_moisture = 0.5;  // for Emulsion, final moisture + 0.02 .. 1.5
    bool critical_fitted =
        false;  // false: the observations cannot tell it from the factor; start value kept
    bool at_limit = false;          // a value stopped at its limit: look at the observations again
    std::vector<double> predicted;  // [s], one per observation, with the fitted values
    std::vector<double> residual;   // predicted / observed - 1
    double rms = 0.0;               // root mean square of the residuals
};

/// Time that the model gives for an observation [s]; infinity where the air dries nothing.
double predicted_seconds(const CabinetAir& cabinet, Pascals pressure, const DryingLaw& law,
                         const ObservedDrying& seen, double transfer_factor,
                         double critical_moisture);

/// Gauss-Newton with damping (Levenberg 1944, Marquardt 1963) over (ln factor, X_c). One
/// observation, or observations that differ too little, fit the factor alone. @pre at least one
/// observation.
Calibration calibrate(const CabinetAir& cabinet, Pascals pressure, const DryingLaw& law,
                      const std::vector<ObservedDrying>& observed);

}  // namespace model::physics
