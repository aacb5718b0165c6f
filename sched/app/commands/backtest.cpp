// coatroom promise --backtest: were past promises kept, and what does that say about the next one?

#include "sched/app/commands/backtest.hpp"

#include <cmath>
#include <cstdio>
#include <optional>

#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/kept_promises.hpp"
#include "sched/report/promise/backtest_report.hpp"

namespace sched::app {

namespace {

// The forecasts that are kept; another level of the shop cannot be judged by them.
std::optional<int> kept_percent(double level) {
    for (const int percent : {50, 80, 90, 95}) {
        if (std::abs(100.0 * level - percent) < 1e-6) return percent;
    }
    return std::nullopt;
}

}  // namespace

int run_backtest(const std::string& folder, const std::string& file, bool json) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(folder, diagnostics, run_day({}));
    const auto promises = file.empty()
                              ? past_promises(folder, diagnostics)
                              : std::optional(model::read_promises(file, true, diagnostics));
    print_diagnostics(diagnostics, json);
    if (!scenario || !promises || diagnostics.has_errors()) return BadInput;
    if (promises->empty()) {
        std::fprintf(stderr,
                     "coatroom promise: nothing has been promised: neither the journal nor "
                     "promises.csv has a line. --journal names another file.\n");
        return BadInput;
    }
    study::CorrectionOptions options;
    options.clock = study::WorkClock::of(scenario->room);
    const double level = scenario->room.promise.level.value;
    if (const auto percent = kept_percent(level)) {
        options.percent = *percent;
    } else {
        std::fprintf(stderr,
                     "coatroom promise: the shop's level of %.0f %% is none of 50, 80, 90, 95; the "
                     "forecasts at 90 %% are judged.\n",
                     100.0 * level);
    }
    const auto result = study::backtest(*promises, options);
    const std::string text =
        json ? report::backtest_to_json(result) : report::backtest_to_text(result);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return Done;
}

}  // namespace sched::app
