// The command line: the only file that knows it (the parser's header is heavy).

#include <CLI/CLI.hpp>
#include <cstdio>
#include <functional>

#include "sched/app/commands.hpp"
#include "sched/app/context.hpp"
#include "sched/app/version.hpp"

namespace sched::app {

namespace {

using Runner = std::function<int()>;

void add_budget(CLI::App& command, BudgetArgs& args) {
    command.add_option("--budget", args.budget,
                       "How long to search: seconds (10s), minutes (2min) or schedules (50000sch). "
                       "Schedules give the same plan on every machine.");
    command.add_option("--seed", args.seed, "Seed of the search; same seed, same plan");
    command.add_option("--threads", args.threads, "Threads; 0 = all cores")
        ->check(CLI::Range(0, 256));
}

void add_plan(CLI::App& app, PlanArgs& args, CompareArgs& compare, Runner& runner) {
    CLI::App* c = app.add_subcommand("plan", "Plan a run: who does what where and when");
    c->add_option("scenario", args.scenario, "Folder with room.yaml, orders.csv, frames.csv");
    c->add_option("--date", args.date, "Day of the run, 2026-11-26; default: the first due date");
    c->add_option("--from", args.start,
                  "Nothing starts before: 2026-11-26T10:40; default: 00:00 of the day");
    c->add_option("--day", args.day,
                  "Air of the day by name, as room.yaml calls it: dry, usual, damp");
    c->add_option("--out", args.out,
                  "Write plan.json, the page, sheets, CSV and calendars to this folder");
    add_budget(*c, args.search);
    c->add_option("--replications", args.replications,
                  "Simulate the plan so often with chance in it")
        ->check(CLI::Range(0, 1000000));
    c->add_flag("--json", args.json, "Print the plan document instead of the summary");
    c->add_flag("--quiet", args.quiet, "No progress");
    c->add_option_function<std::vector<std::string>>(
         "--compare",
         [&compare](const std::vector<std::string>& files) {
             compare = {files[0], files[1]};
         },
         "Say how the second plan.json differs from the first")
        ->expected(2);
    c->footer(
        "Example: plan the demo room and hang the sheets on the wall\n"
        "  coatroom plan scenarios/tomorrow --out out/tomorrow --budget 20s\n"
        "Exit status: 0 planned, 1 no plan exists, 2 the input is wrong.");
    c->callback([&] {
        runner = [&] {
            if (!compare.a.empty()) return run_compare(compare);
            if (args.scenario.empty()) {
                std::fprintf(stderr, "coatroom plan: name a scenario folder, or --compare A B\n");
                return static_cast<int>(BadInput);
            }
            return run_plan(args);
        };
    });
}

void add_check(CLI::App& app, CheckArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("check", "Check the input of a scenario, or a finished plan");
    c->add_option("what", args.what, "Scenario folder, or a plan.json")->required();
    c->add_flag("--json", args.json, "Print findings as JSON");
    c->footer(
        "Example: is this plan sound, whoever made it?\n"
        "  coatroom check out/tomorrow/plan.json\n"
        "Exit status: 0 sound, 1 the plan breaks a rule, 2 the input is wrong.");
    c->callback([&] { runner = [&] { return run_check(args); }; });
}

}  // namespace

int run(int argc, const char* const* argv) {
    CLI::App app{"Coatroom plans a screen room: tomorrow's run, its size, its promises.",
                 "coatroom"};
    app.set_version_flag("--version", std::string("coatroom ") + version);
    app.require_subcommand(1);
    app.footer("coatroom COMMAND --help shows a worked example of each command.");

    Runner runner;
    PlanArgs plan;
    CompareArgs compare;
    CheckArgs check;
    add_plan(app, plan, compare, runner);
    add_check(app, check, runner);

    try {
        app.parse(argc, argv);
    } catch (const CLI::Success& e) {  // --help, --version
        return app.exit(e);
    } catch (const CLI::ParseError& e) {
        app.exit(e);
        return BadInput;
    }
    catch_interrupt();
    return runner ? runner() : static_cast<int>(BadInput);
}

}  // namespace sched::app
