#pragma once
// What the marks say of the room's figures: per step the time it really takes over the time that is
// planned, who and what differs from it, how much it varies and by which law, how often a screen is
// made again, and whether something has changed.

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "model/room/chance.hpp"
#include "sched/tune/drying.hpp"
#include "sched/tune/work.hpp"

namespace sched::tune {

inline constexpr double confidence = 0.9;  // of every interval that is shown

struct Estimate {
    double value = 0.0;
    study::Interval interval;  // 90 %
    friend bool operator==(const Estimate&, const Estimate&) = default;
};

/// How a person, emulsion, mesh or frame size differs from the step's mean, as a factor.
struct GroupEffect {
    std::string factor;  // "person", "emulsion", "mesh", "frame"
    std::string name;
    std::size_t n = 0;
    Estimate ratio;  // drawn towards 1 as far as it tells too little
    bool differs() const { return !ratio.interval.holds(1.0); }
};

struct Drift {
    model::SimTime since{};   // the first mark of the departure
    model::SimTime signal{};  // when the chart left its limits
    bool longer = false;
};

struct StepFit {
    model::Step step = model::Step::Coat;
    std::size_t n = 0, whole = 0, late = 0, lost = 0, running = 0;
    double planned = 0.0;   // s, mean over the marks, as room.yaml has it
    bool one_time = false;  // planned alike for all of them
    bool fitted = false;    // enough to say something; else the rest means nothing
    Estimate median, mean;  // as factors on the planned time
    Estimate cv;
    study::Family family = study::Family::Lognormal;
    std::array<std::optional<double>, 3> score;  // cross-validated, by family
    study::CensoredFit law;                      // of the factor, by that family
    std::vector<GroupEffect> groups;
    std::optional<Drift> drift;
    double log_spread = 0.0;  // of the error, ln, groups taken out
};

/// Remake rate of one line of chance.yaml, or of what screens of one kind have.
struct RemakeFit {
    model::Step at = model::Step::Inspect;
    std::string emulsion, mesh, coat_plan;  // empty: any
    int rule = -1;                          // index into ChanceSettings::remakes; -1: the default
    double old_rate = 0.0;
    std::int64_t bad = 0, tried = 0;
    study::Interval interval;  // Wilson, 90 %
    double rate() const {
        return tried > 0 ? static_cast<double>(bad) / static_cast<double>(tried) : 0.0;
    }
};

struct Tuning {
    Observations seen;
    std::vector<StepFit> steps;  // in the order of the trade; those with marks
    std::optional<Estimate> work_cv;
    double old_work_cv = 0.2;
    std::vector<DryingFit> drying;  // one per cabinet with air and marks
    double old_drying_cv = 0.1;
    std::vector<RemakeFit> remakes;        // one per line of chance.yaml
    std::vector<RemakeFit> remake_groups;  // by emulsion, mesh and coat plan
};

struct FitOptions {
    std::size_t least = 8;  // observations of a step, below which nothing is said of it
    bool families = true;   // choose among three laws; false: lognormal
    bool groups = true;
};

/// @param chance as chance.yaml says it.  @param weather of the days of the marks, if it is known.
Tuning fit_marks(const model::Room& room, const model::ChanceSettings& chance, Observations seen,
                 const std::vector<model::WeatherRow>& weather = {},
                 const FitOptions& options = {});

}  // namespace sched::tune
