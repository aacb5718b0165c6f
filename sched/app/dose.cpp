// coatroom dose: read the room -> dose_report or wedge_report -> print. Saves nothing.

#include <cstdio>
#include <optional>

#include "model/read/scenario.hpp"
#include "sched/app/commands.hpp"
#include "sched/app/context.hpp"
#include "sched/report/dose_report.hpp"

namespace sched::app {

int run_dose(const DoseArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics);
    print_diagnostics(diagnostics, false);
    if (!scenario) return BadInput;
    const report::DoseQuestion question{args.unit,     args.order,     args.mesh,
                                        args.emulsion, args.coat_plan, args.tolerance / 100.0};
    const auto complain = [](const std::string& problem) {
        std::fprintf(stderr, "coatroom dose: %s.\n", problem.c_str());
        return static_cast<int>(BadInput);
    };
    std::string problem;
    if (args.wedge || args.best || !args.percentages.empty()) {
        const auto wedge =
            report::wedge_report(scenario->room, question, args.percentages, args.best, problem);
        if (!wedge) return complain(problem);
        std::fputs(report::wedge_text(*wedge).c_str(), stdout);
        return Done;
    }
    const auto dose = report::dose_report(scenario->room, scenario->orders, question, problem);
    if (!dose) return complain(problem);
    std::fputs(report::dose_text(*dose).c_str(), stdout);
    return Done;
}

}  // namespace sched::app
