#include "sched/statistics/control_chart.hpp"

#include <cmath>

namespace sched::study {

EwmaChart ewma_chart(std::span<const double> values, double target, double sigma,
                     const EwmaOptions& options) {
    EwmaChart out;
    double level = target;
    double left = 1.0;  // weight of the start, squared
    std::size_t crossed = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double before = level;
        level = options.weight * values[i] + (1.0 - options.weight) * level;
        left *= (1.0 - options.weight) * (1.0 - options.weight);
        const double half = options.width * sigma *
                            std::sqrt(options.weight / (2.0 - options.weight) *
                                      (options.steady ? 1.0 : 1.0 - left));
        if ((level - target) * (before - target) <= 0.0) crossed = i;
        out.level.push_back(level);
        out.half_width.push_back(half);
        if (!out.signal && std::abs(level - target) > half) {
            out.signal = i;
            out.since = crossed;
        }
    }
    return out;
}

}  // namespace sched::study
