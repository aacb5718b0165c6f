// coatroom dry: read the room -> dry_report or dry_fit -> print, write.

#include <cstdio>
#include <filesystem>
#include <optional>

#include "model/base/files.hpp"
#include "model/base/units.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/report/physics/dry_report.hpp"
#include "sched/report/physics/physics_json.hpp"
#include "sched/report/physics/room_figures.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

namespace {

int dry_complaint(const std::string& problem) {
    std::fprintf(stderr, "coatroom dry: %s.\n", problem.c_str());
    return BadInput;
}

/// Reads the texts of the command line into a question; @returns what is wrong, or "".
std::string dry_question(const DryArgs& args, report::DryQuestion& q) {
    q.cabinet = args.cabinet;
    q.coat_plan = args.coat_plan;
    q.mesh = args.mesh;
    q.emulsion = args.emulsion;
    if (args.what == "face") q.kind = report::WetKind::FaceCoat;
    if (args.what == "mesh") q.kind = report::WetKind::Mesh;
    if (args.what == "stencil") q.kind = report::WetKind::Stencil;
    if (!args.frame.empty()) {
        const auto size = model::parse_size(args.frame);
        if (!size.value) return "--frame " + args.frame + " " + size.problem;
        q.frame = *size.value;
    }
    if (args.temperature.empty() != args.humidity.empty()) {
        return "--temperature and --humidity of the room's air belong together";
    }
    if (!args.temperature.empty()) {
        const auto t = model::parse_temperature(args.temperature);
        const auto rh = model::parse_percent(args.humidity);
        if (!t.value) return "--temperature " + args.temperature + " " + t.problem;
        if (!rh.value) return "--humidity " + args.humidity + " " + rh.problem;
        if (t.value->value < -10.0 || t.value->value > 45.0) {
            return "--temperature " + args.temperature + " is no room temperature (-10 to 45 °C)";
        }
        if (rh.value->value < 0.01 || rh.value->value > 1.0) {
            return "--humidity " + args.humidity + " is no humidity (1 to 100 %)";
        }
        q.air = model::Air{*t.value, model::RelativeHumidity{rh.value->value}};
    }
    return "";
}

}  // namespace

int run_dry(const DryArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics, run_day({}));
    print_diagnostics(diagnostics, false);
    if (!scenario) return BadInput;
    report::DryQuestion question;
    std::string problem = dry_question(args, question);
    if (!question.frame) question.frame = report::usual_frame(*scenario);
    if (!problem.empty()) return dry_complaint(problem);

    if (!args.observed.empty()) {
        const auto fit = report::dry_fit(scenario->room, question, args.observed, problem);
        if (!fit) return dry_complaint(problem);
        std::fputs((args.json ? report::dry_fit_json(*fit) : report::dry_fit_text(*fit)).c_str(),
                   stdout);
        return Done;
    }
    const auto dry = report::dry_report(scenario->room, question, problem);
    if (!dry) return dry_complaint(problem);
    std::fputs((args.json ? report::dry_json(*dry) : report::dry_text(*dry)).c_str(), stdout);
    if (!args.out.empty()) {
        const std::string out = page_file(args.out, "drying.html");
        const bool svg = out.ends_with(".svg");
        const auto failed =
            model::write_file_atomically(out, svg ? report::dry_svg(*dry) : report::dry_page(*dry));
        if (failed) return not_written("dry", *failed);
        if (!svg) report::join_pages(std::filesystem::path(out));
        std::fprintf(args.json ? stderr : stdout, "curve in %s\n", out.c_str());
    }
    return dry->climates.front().reachable ? Done : No;
}

}  // namespace sched::app
