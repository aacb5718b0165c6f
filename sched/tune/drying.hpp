#pragma once
// From marks of "dry": the transfer factor of each cabinet with air and the critical moisture of
// the emulsions that dried in it. The days are played again with the drying clock: every screen
// enters when it was hung up, and weighs on all that hang with it.

#include <optional>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/tune/work.hpp"

namespace sched::tune {

struct CriticalFit {
    std::string emulsion;
    double old_value = 0.5;
    double value = 0.5;
    study::Interval interval;  // 90 %
};

struct DryingFit {
    std::string station;
    std::size_t n = 0;     // screens whose dryness was seen
    std::size_t most = 0;  // screens known to have been dry by then at the latest
    bool fitted = false;   // enough of them, and they tell the figures
    double old_factor = 1.0;
    double factor = 1.0;
    study::Interval interval;           // 90 %
    std::vector<CriticalFit> critical;  // of emulsions that the marks tell from the factor
    double old_ratio = 1.0;             // seen over predicted with the old figures, middle of all
    double cv = 0.0;                    // of a screen's drying about what is predicted
    study::Interval cv_interval;
};

/// Least squares on the logarithm of the times (Levenberg 1944, Marquardt 1963), as
/// model/physics/calibrate does it for screens that hang alone. What is known to have been dry at
/// the latest by then weighs on the others and is counted, no more (see fits()). Steps whose
/// minutes are typed are no matter of air: not here.
/// @param weather of the days of the marks; where there is none, the room's air.
std::vector<DryingFit> fit_drying(const model::Room& room,
                                  const std::vector<model::WeatherRow>& weather,
                                  const std::vector<Hung>& hung, std::size_t least = 12);

}  // namespace sched::tune
