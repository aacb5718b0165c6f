// coatroom dose: read the room -> dose_report or wedge_report -> print. Saves only when told.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <string>

#include "model/base/files.hpp"
#include "model/read/edit_room.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/report/physics/dose_report.hpp"
#include "sched/report/physics/physics_json.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

namespace {

int refuse_dose(const std::string& problem) {
    std::fprintf(stderr, "coatroom dose: %s.\n", problem.c_str());
    return BadInput;
}

/// Reads and writes under the scenario's lock: another time that is saved meanwhile stays.
int save_time(const std::string& scenario, const report::WedgeReport& wedge) {
    const ScenarioLock lock(scenario);
    if (interrupted()) return say_interrupted("Nothing is saved.");
    if (!lock.held()) return not_written("dose", lock.problem());
    const Undivided saving;
    const std::filesystem::path path = std::filesystem::path(scenario) / "room.yaml";
    const auto text = read_text(path.string(), std::size_t{8} << 20);
    if (!text) return refuse_dose(path.string() + ": cannot be read");
    std::string problem;
    const model::Seconds time{std::max<std::int64_t>(1, std::llround(wedge.new_base))};
    const auto changed = model::with_exposure_time(*text, wedge.line.emulsion, time, problem);
    if (!changed) return refuse_dose(path.string() + ": " + problem);
    if (const auto failed = model::write_file_atomically(path, *changed))
        return not_written("dose", *failed);
    std::fprintf(stderr, "saved: %s, emulsion %s, exposure time %lld s\n", path.string().c_str(),
                 wedge.line.emulsion.c_str(), static_cast<long long>(time.count()));
    return Done;
}

}  // namespace

int run_dose(const DoseArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics, run_day({}));
    print_diagnostics(diagnostics, false);
    if (!scenario) return BadInput;
    const report::DoseQuestion question{args.unit,     args.order,     args.mesh,
                                        args.emulsion, args.coat_plan, args.tolerance / 100.0};
    const auto write_page = [&](const auto& page) {
        if (args.out.empty()) return true;
        const std::string out = page_file(args.out, "dose.html");
        if (const auto failed = model::write_file_atomically(out, page())) {
            (void)not_written("dose", *failed);
            return false;
        }
        report::join_pages(std::filesystem::path(out));
        std::fprintf(args.json ? stderr : stdout, "page in %s\n", out.c_str());
        return true;
    };
    std::string problem;
    if (args.wedge || args.best || !args.percentages.empty()) {
        const auto wedge =
            report::wedge_report(scenario->room, question, args.percentages, args.best, problem);
        if (!wedge) return refuse_dose(problem);
        std::fputs((args.json ? report::wedge_json(*wedge) : report::wedge_text(*wedge)).c_str(),
                   stdout);
        if (!write_page([&] { return report::wedge_page(*wedge); })) return NotPrinted;
        return args.save ? save_time(args.scenario, *wedge) : Done;
    }
    const auto dose = report::dose_report(scenario->room, scenario->orders, question, problem);
    if (!dose) return refuse_dose(problem);
    std::fputs((args.json ? report::dose_json(*dose) : report::dose_text(*dose)).c_str(), stdout);
    if (!write_page([&] { return report::dose_page(*dose); })) return NotPrinted;
    return Done;
}

}  // namespace sched::app
