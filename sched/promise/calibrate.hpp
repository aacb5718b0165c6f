#pragma once
// Do promises hold? Random enquiries on random days, promised as `coatroom promise` does it, then
// simulated once with random variation that no promise has seen.

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"

namespace sched::study {

struct CalibrateOptions {
    std::size_t enquiries = 2000;
    std::size_t a_day = 5;  // enquiries asked of one day's room, each for itself
    std::vector<double> loads{0.4, 0.7, 1.0};
    PromiseOptions promise;                // its seed: of the first day; remedies are left out
    std::uint64_t truth_seed = 900000001;  // of what happens then; no promise uses it
    double inflate = 1.0;  // real work and drying take so many times what is planned
    /// Another enquiry is accepted after the first one, planned in and simulated: does the first
    /// hold?
    bool later_order = false;
    /// Asked in the middle of a day that has been simulated till then: what has begun, and how long
    /// it took, is known.
    bool under_way = false;
    int threads = 1;
    std::function<bool()> stop;
    std::function<void(std::size_t done, std::size_t of)> progress;
};

/// One enquiry: what was promised and what happened. Times in s after the question.
struct CalibrateCase {
    std::uint64_t number = 0;
    double load = 1.0;
    int screens = 1;
    std::string kind;
    core::Seconds entry{0};               // time of the day of the question
    bool answered = false;                // false: impossible, or beyond the horizon
    std::vector<core::Seconds> promised;  // at calibrate_levels()
    core::Seconds planned{0}, slot{0};    // without random variation; the recommended time
    core::Seconds low{0};                 // the rank of 10 %: width = promised at 90 % - low
    core::Seconds median{0};
    core::Seconds happened{0};
    friend bool operator==(const CalibrateCase&, const CalibrateCase&) = default;
};
const std::vector<double>& calibrate_levels();  // 0.5, 0.8, 0.9, 0.95

/// By number; the same whatever the threads.
std::vector<CalibrateCase> calibrate(const model::Scenario& scenario,
                                     const CalibrateOptions& options);

/// Of `cases` that were answered.
struct Calibration {
    std::size_t n = 0;
    std::vector<Odds> kept;        // per level
    Odds slot_kept;                // of the recommended time
    double mean_lead_h = 0.0;      // of what happened
    double mean_promised_h = 0.0;  // at 90 %
    double mean_slot_h = 0.0;      // recommended
    double sharpness = 0.0;        // mean of (90 % - 10 %) / mean lead
    double bias_minutes = 0.0;     // mean of happened - median: below 0, promises are too careful
};
Calibration calibration_of(const std::vector<const CalibrateCase*>& cases);

}  // namespace sched::study
