// coatroom dose: read the room -> dose_report or wedge_report -> print. Saves only when told.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <optional>
#include <string>

#include "model/base/files.hpp"
#include "model/read/edit_room.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/report/physics/dose_report.hpp"
#include "sched/report/physics/physics_json.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

namespace {

/// @returns what went wrong, or "".
std::string save_time(const std::string& scenario, const report::WedgeReport& wedge) {
    const std::filesystem::path path = std::filesystem::path(scenario) / "room.yaml";
    std::ifstream in(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    if (!in) return path.string() + ": cannot be read";
    std::string problem;
    const model::Seconds time{std::max<std::int64_t>(1, std::llround(wedge.new_base))};
    const auto changed = model::with_exposure_time(text, wedge.line.emulsion, time, problem);
    if (!changed) return path.string() + ": " + problem;
    if (auto failed = model::write_file_atomically(path, *changed)) return *failed;
    std::fprintf(stderr, "saved: %s, emulsion %s, exposure time %lld s\n", path.string().c_str(),
                 wedge.line.emulsion.c_str(), static_cast<long long>(time.count()));
    return {};
}

}  // namespace

int run_dose(const DoseArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics, run_day({}));
    print_diagnostics(diagnostics, false);
    if (!scenario) return BadInput;
    const report::DoseQuestion question{args.unit,     args.order,     args.mesh,
                                        args.emulsion, args.coat_plan, args.tolerance / 100.0};
    const auto complain = [](const std::string& problem) {
        std::fprintf(stderr, "coatroom dose: %s.\n", problem.c_str());
        return static_cast<int>(BadInput);
    };
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
        if (!wedge) return complain(problem);
        std::fputs((args.json ? report::wedge_json(*wedge) : report::wedge_text(*wedge)).c_str(),
                   stdout);
        if (!write_page([&] { return report::wedge_page(*wedge); })) return NotPrinted;
        if (args.save) {
            problem = save_time(args.scenario, *wedge);
            if (!problem.empty()) return complain(problem);
        }
        return Done;
    }
    const auto dose = report::dose_report(scenario->room, scenario->orders, question, problem);
    if (!dose) return complain(problem);
    std::fputs((args.json ? report::dose_json(*dose) : report::dose_text(*dose)).c_str(), stdout);
    if (!write_page([&] { return report::dose_page(*dose); })) return NotPrinted;
    return Done;
}

}  // namespace sched::app
