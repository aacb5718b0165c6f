#pragma once
// What can turn out otherwise than planned, as the file chance.yaml says it. Plain values; what
// they mean for a simulated day is settled in sched/chance.

#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/base/quantity.hpp"
#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model {

enum class LawKind {
    Constant,
    Uniform,
    Triangle,
    Lognormal,
    Gamma,
    Weibull,
    Exponential,
    Observed
};

/// A time that is not certain. Which members a law needs: docs/simulation.md.
struct TimeLaw {
    LawKind law = LawKind::Lognormal;
    std::optional<Seconds> value;      // constant
    std::optional<Seconds> low, high;  // uniform, triangle
    std::optional<Seconds> likely;     // triangle
    std::optional<Seconds> mean;       // lognormal, gamma, exponential; Weibull too
    std::optional<double> cv;          // standard deviation / mean
    std::optional<Seconds> p50, p90;   // lognormal: half are done by p50, nine in ten by p90
    std::optional<double> shape;       // Weibull
    std::string file, column;          // observed: a CSV file beside this one
    std::optional<Seconds> at_least, at_most;
    std::vector<double> observed;  // s, read from the file
    SourcePlace place;
    friend bool operator==(const TimeLaw&, const TimeLaw&) = default;
};

struct StepLaw {
    std::vector<Step> steps;
    TimeLaw time;  // of the whole step, whatever is planned for it
    SourcePlace place;
    friend bool operator==(const StepLaw&, const StepLaw&) = default;
};

struct RemakeLaw {
    std::vector<Step> at;
    Fraction chance{0.0};
    std::string emulsion, mesh, coat_plan;  // empty: any
    std::vector<Step> back_to;              // empty: stripping
    SourcePlace place;
    friend bool operator==(const RemakeLaw&, const RemakeLaw&) = default;
};

struct FailureLaw {
    std::string station;
    TimeLaw between, repair;
    SourcePlace place;
    friend bool operator==(const FailureLaw&, const FailureLaw&) = default;
};

struct RushLaw {
    double a_day = 0.0;
    int most_screens = 2;
    Seconds allowed = hours(5);
    int weight = 5;
    friend bool operator==(const RushLaw&, const RushLaw&) = default;
};

struct DayLaw {
    std::string name;  // of Climate::named_days
    double weight = 1.0;
    SourcePlace place;
    friend bool operator==(const DayLaw&, const DayLaw&) = default;
};

/// Orders that come in over weeks, so many an hour while the shift line says.
struct ArrivalLaw {
    Shift when;
    double orders_an_hour = 0.0;
    SourcePlace place;
    friend bool operator==(const ArrivalLaw&, const ArrivalLaw&) = default;
};

struct KindLaw {
    std::string order;  // of orders.csv: the order that it is like
    double weight = 1.0;
    SourcePlace place;
    friend bool operator==(const KindLaw&, const KindLaw&) = default;
};

/// Everything of chance.yaml; what is left out keeps its default [M].
struct ChanceSettings {
    Fraction work_cv{0.2};
    Fraction drying_cv{0.1};
    Fraction machine_cv{0.0};
    std::vector<StepLaw> times;
    std::optional<std::vector<RemakeLaw>> remakes;
    int most_remakes = 2;
    std::vector<FailureLaw> failures;
    Fraction absent{0.0};
    Fraction film_late{0.0};
    std::optional<TimeLaw> film_delay;
    RushLaw rush;
    std::vector<DayLaw> days;
    bool weather_days = false;  // each day is one of weather.csv, drawn
    std::vector<ArrivalLaw> arrivals;
    std::vector<KindLaw> kinds;
    Seconds promised = hours(24);
    SourcePlace place;
    friend bool operator==(const ChanceSettings&, const ChanceSettings&) = default;
};

/// One line of arrivals.csv: an order as it once came in.
struct PastOrder {
    SimTime at{};
    std::string order;  // of orders.csv; empty: any kind
    SourcePlace place;
    friend bool operator==(const PastOrder&, const PastOrder&) = default;
};

}  // namespace model
