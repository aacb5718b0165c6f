#include "sched/chance/planned_lengths.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "model/base/units.hpp"
#include "model/room/steps.hpp"
#include "sched/chance/chance.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::study {

std::vector<double> planned_lengths(const compile::RoomProblem& room,
                                    const std::function<bool(std::size_t)>& wanted) {
    const auto& operations = room.problem.operations;
    std::vector<double> lengths(operations.size(), 0.0);
    core::Problem whole;
    std::optional<engine::CompiledProblem> compiled;
    for (std::size_t i = 0; i < operations.size(); ++i) {
        if (!wanted(i)) continue;
        const core::Mode& mode = operations[i].modes.front();
        lengths[i] = static_cast<double>(mode.work.count());
        if (mode.stages.empty()) continue;
        if (!compiled) {
            whole = room.problem;
            whole.now.reset();
            whole.begun.clear();
            compiled.emplace(whole);
        }
        const engine::CompiledProblem& p = *compiled;
        const auto& m = p.modes[ix(p.operations[i].modes.begin)];
        const auto& need = p.needs[ix(m.needs.begin)];
        const auto& place = p.resources[ix(p.candidates[ix(need.any_of.begin)])];
        const auto span =
            engine::drying_span(p.steps_of(place), p.stages_of(m), p.horizon_start, 0.0);
        if (span) lengths[i] = std::max(lengths[i], *span);
    }
    return lengths;
}

void compare_laws(const model::ChanceSettings& settings, const compile::RoomProblem& room,
                  model::Diagnostics& diagnostics) {
    constexpr double ease = 0.05;  // beyond that somebody would notice
    const auto words = [](double seconds) {
        return model::format_duration(model::Seconds{std::llround(seconds)});
    };
    for (const auto& law : settings.times) {
        const double median = time_law(law.time).quantile(0.5);
        for (const model::Step step : law.steps) {
            const auto lengths = planned_lengths(room, [&](std::size_t i) {
                return room.operations[i].step == step && !compile::hangs_up(room.operations[i]);
            });
            double least = 0.0, most = 0.0;
            for (const double s : lengths) {
                if (s <= 0.0) continue;
                least = least > 0.0 ? std::min(least, s) : s;
                most = std::max(most, s);
            }
            if (most <= 0.0 || (median >= least * (1.0 - ease) && median <= most * (1.0 + ease)))
                continue;
            const std::string name(model::words_of(step));
            const std::string planned =
                most > least * (1.0 + ease) ? words(least) + " to " + words(most) : words(least);
            diagnostics.warning(law.place, "law-and-plan",
                                name + " takes " + words(median) +
                                    " on half of the days by this law, but is planned with " +
                                    planned + ".",
                                "Plan with what it takes: write " + name + ": " + words(median) +
                                    " under \"times\" in room.yaml, or mend the law.");
        }
    }
}

}  // namespace sched::study
