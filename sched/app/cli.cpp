// The command line: the only file that knows it (the parser's header is heavy).

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <exception>
#include <filesystem>
#include <functional>
#include <limits>
#include <optional>
#include <string_view>

#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/version.hpp"
#include "sched/simulate/replicate.hpp"

namespace sched::app {

namespace {

using Runner = std::function<int()>;

constexpr double most_amount = 1e9;  // of money, hours or orders; sums stay numbers

// As a person writes it: no "nan", "inf" or "0x10", which the parser's own numbers may be.
std::optional<double> plain_number(std::string_view text) {
    if (text.starts_with('+')) text.remove_prefix(1);
    double number = 0.0;
    const char* const end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, number);
    if (error != std::errc{} || stop != end || !std::isfinite(number)) return std::nullopt;
    return number;
}

CLI::Validator within(double least, double most) {
    return {[least, most](const std::string& text) {
                const auto number = plain_number(text);
                if (!number) return text + " is no number.";
                if (*number >= least && *number <= most) return std::string();
                return fmt::format("{} does not lie in {} to {}.", text, least, most);
            },
            fmt::format("FLOAT in [{} - {}]", least, most)};
}

CLI::Validator amount() {
    return within(0.0, most_amount);
}

CLI::Validator seed_number() {
    return {[](const std::string& text) {
                std::uint64_t seed = 0;
                const char* const end = text.data() + text.size();
                const auto [stop, error] = std::from_chars(text.data(), end, seed);
                return error == std::errc{} && stop == end
                           ? std::string()
                           : text + " is no seed. Write a whole number from 0 on, at most " +
                                 std::to_string(std::numeric_limits<std::uint64_t>::max()) + ".";
            },
            ""};
}

void add_budget(CLI::App& command, BudgetArgs& args) {
    command.add_option("--budget", args.budget,
                       "How long to search: seconds (10s), minutes (2min) or schedules (50000sch). "
                       "Schedules give the same plan on every machine.");
    command.add_option("--seed", args.seed, "Seed of the search; same seed, same plan")
        ->check(seed_number());
    command.add_option("--threads", args.threads, "Threads; 0 = all cores")
        ->check(CLI::Range(0, 256));
}

std::vector<std::string> policy_names() {
    std::vector<std::string> names;
    for (const auto& policy : study::policies())
        names.push_back(policy.name);
    return names;
}

void add_begin(CLI::App& app, BeginArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand(
        "begin", "Write the files of a new room: ten short questions, ten minutes");
    c->add_option("folder", args.folder, "Folder of the new room; files in it are not overwritten")
        ->required();
    c->add_option("--answers", args.answers,
                  "File of answers instead of the questions, one a line: \"people: Ada, Ben\"; "
                  "what is not answered stands as usual");
    c->add_option("--date", args.date,
                  "Date on the example pots of emulsion, 2026-11-26; default: today");
    c->add_flag("--json", args.json, "Print the files' names and the next commands as JSON");
    c->footer(
        "Example: your own room, from the first question to the first sheet\n"
        "  coatroom begin my-room\n"
        "  coatroom check my-room\n"
        "  coatroom plan my-room --out my-room/plan\n"
        "Exit status: 0 written, 2 an answer is wrong or a file is there already.");
    c->callback([&] { runner = [&] { return run_begin(args); }; });
}

void add_plan(CLI::App& app, PlanArgs& args, CompareArgs& compare, Runner& runner) {
    CLI::App* c = app.add_subcommand("plan", "Plan a run: who does what where and when");
    c->add_option("scenario", args.scenario, "Folder with room.yaml, orders.csv, frames.csv");
    c->add_option(
        "--date", args.date,
        "Day of the run, 2026-11-26; default: as room.yaml says, else the next working day");
    c->add_option("--from", args.start,
                  "Nothing starts before: 2026-11-26T10:40; default: 00:00 of the day, or where a "
                  "night shift of the day before is over");
    c->add_option("--day", args.day,
                  "Air of the day by name, as room.yaml calls it: dry, usual, damp");
    c->add_option("--now", args.now, "Plan from the middle of the day: 10:40, or 2026-11-26T10:40");
    c->add_option("--earlier", args.earlier,
                  "With --now: the posted plan.json; what it begins by now has happened, and "
                  "what moves is counted and listed; default: the plan posted in the journal");
    c->add_option("--frozen", args.frozen,
                  "With --earlier: what it begins within so long after now stays where it can: "
                  "30min");
    c->add_option(
        "--state", args.state,
        "With --now: file that says what stands where; default: the marks of the journal, "
        "else state.yaml of the scenario, if there is one");
    c->add_option("--out", args.out,
                  "Write plan.json, the page, sheets, CSV and calendars to this folder");
    c->add_flag("--station-sheets", args.station_sheets,
                "With --out: also a sheet for each station, station-sheets.html");
    add_budget(*c, args.search);
    c->add_option("--replications", args.replications,
                  "Days that the plan is simulated on; default: 200; 0: none")
        ->check(CLI::Range(0, 1000000));
    c->add_flag("--on-paper", args.on_paper,
                "Plan as if everything took as long as planned, without simulated days");
    c->add_option("--precision", args.precision,
                  "Simulate until the mean ready time of every order is known to so many per cent "
                  "of its distance from the start; at most --replications days (10000)")
        ->check(within(0.1, 50.0));
    c->add_option("--robust", args.robust,
                  "Search so many good plans and take the one that costs least in simulated days")
        ->check(CLI::Range(2, 32));
    c->add_option("--policy", args.policy,
                  "What the floor does when the day turns out otherwise: follow, in-order, "
                  "timetable, review, or a rule by name")
        ->check(CLI::IsMember(policy_names()))
        ->capture_default_str();
    c->add_flag(
        "--what-if", args.what_if,
        "Plan again with one more of each thing that limits the day, and say what it saves on "
        "simulated days (with --on-paper: in the plan)");
    c->add_option("--pin", args.pins,
                  "Hold something: \"A7 by 12:30\", \"coat A7-2 with Cleo\", \"all without Ben\", "
                  "\"A9 after A3\", \"A12 counts 9\"; again for each");
    c->add_option("--pins", args.pin_file, "File with one pin a line");
    c->add_flag("--post", args.post,
                "Enter the plan in the journal as the posted one: marks and later plans go by it");
    c->add_flag("--json", args.json,
                "Print the plan document, or the differences of --compare, instead of the summary");
    c->add_flag("--quiet", args.quiet, "No progress");
    c->add_option_function<std::vector<std::string>>(
         "--compare",
         [&compare](const std::vector<std::string>& files) {
             compare.a = files[0];
             compare.b = files[1];
         },
         "Say how the second plan.json differs from the first")
        ->expected(2);
    c->footer(
        "Example: plan the demo room and hang the sheets on the wall\n"
        "  coatroom plan scenarios/tomorrow --out out/tomorrow --budget 20s\n"
        "Exit status: 0 planned, 1 no plan exists, 2 the input is wrong, 130 ended by Ctrl-C: the "
        "best plan until then, if there was one.");
    c->callback([&] {
        runner = [&] {
            compare.json = args.json;
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
    c->add_option(
        "--date", args.date,
        "Day of the run, 2026-11-26; default: as room.yaml says, else the next working day");
    c->add_option("--scenario", args.scenario,
                  "Folder that the plan was made for: it is checked against the room, too");
    c->add_flag("--json", args.json, "Print findings as JSON");
    c->footer(
        "Example: is this plan sound, whoever made it?\n"
        "  coatroom check out/tomorrow/plan.json --scenario scenarios/tomorrow\n"
        "Exit status: 0 sound, 1 the plan breaks a rule, 2 the input is wrong.");
    c->callback([&] { runner = [&] { return run_check(args); }; });
}

void add_dry(CLI::App& app, DryArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("dry", "How long a coat dries, by load and climate");
    c->add_option("scenario", args.scenario, "Folder with room.yaml")->required();
    c->add_option("--cabinet", args.cabinet, "Station; default: the first with air that dries it");
    c->add_option("--what", args.what, "What is wet")
        ->check(CLI::IsMember({"coat", "face", "mesh", "stencil"}))
        ->capture_default_str();
    c->add_option("--coat-plan", args.coat_plan, "Default: the room's first");
    c->add_option("--mesh", args.mesh, "Default: the room's first");
    c->add_option("--emulsion", args.emulsion, "Default: the room's first");
    c->add_option("--frame", args.frame,
                  "Outer size of the frame; default: what the orders ask for most");
    c->add_option("--temperature", args.temperature, "Of the room's air: \"21 °C\"");
    c->add_option("--humidity", args.humidity, "Of the room's air: \"50 %\"");
    c->add_option("--observed", args.observed,
                  "What your clock said: \"2+2, 21 °C, 50 %, 1, 32 min\" (coat plan or mesh or "
                  "stencil, room air, screens inside, time); again for each. Prints the lines for "
                  "room.yaml")
        ->allow_extra_args(false);
    c->add_option("--out", args.out, "Write the curve: .svg, or a page; in a folder, drying.html");
    c->add_flag("--json", args.json, "For machines: one JSON document on standard output");
    c->footer(
        "Example: does the cabinet manage a full load on a damp day?\n"
        "  coatroom dry scenarios/damp-day --coat-plan 2+2 --out drying.html\n"
        "Exit status: 0 done, 1 it never dries in this air, 2 the input is wrong.");
    c->callback([&] { runner = [&] { return run_dry(args); }; });
}

void add_dose(CLI::App& app, DoseArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("dose", "Exposure times, step wedges and what they say");
    c->add_option("scenario", args.scenario, "Folder with room.yaml")->required();
    c->add_option("--order", args.order, "Times of all lines of this order");
    c->add_option("--unit", args.unit, "Exposure unit; default: the first with a lamp");
    c->add_option("--mesh", args.mesh, "Default: the room's first");
    c->add_option("--emulsion", args.emulsion, "Default: the room's first");
    c->add_option("--coat-plan", args.coat_plan, "Default: the room's first");
    c->add_option("--tolerance", args.tolerance,
                  "Doses so close, in per cent, may share an exposure")
        ->check(within(0.0, 100.0))
        ->capture_default_str();
    c->add_flag("--wedge", args.wedge, "Plan a step wedge");
    c->add_option("--percentages", args.percentages,
                  "Steps of the wedge; default: 50,75,100,125,150")
        ->delimiter(',');
    auto* best = c->add_option("--best", args.best, "Read a wedge: this step was best");
    c->add_flag("--save", args.save, "Write the time that --best gives into room.yaml")
        ->needs(best);
    c->add_option("--out", args.out, "Write a page to this file; in a folder, dose.html");
    c->add_flag("--json", args.json, "For machines: one JSON document on standard output");
    c->footer(
        "Example: step 4 of the wedge was best\n"
        "  coatroom dose scenarios/tomorrow --wedge --best 4\n"
        "Saves nothing without --save. Exit status: 0 done, 2 the input is wrong, 74 a file could "
        "not be written.");
    c->callback([&] { runner = [&] { return run_dose(args); }; });
}

void add_size(CLI::App& app, SizeArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("size", "Is a change to the room worth its money?");
    c->add_option("scenario", args.scenario, "Scenario folder: today's room and a typical day");
    c->add_option("--change", args.changes,
                  "File with a change (scenarios/changes), or several joined by +; again for each")
        ->allow_extra_args(false);
    c->add_option(
        "--orders", args.orders,
        "CSV file of past orders, columns as in orders.csv: each simulated day draws one of "
        "its days; default: the scenario's orders every day");
    c->add_option("--volumes", args.volumes, "Per cent of today's volume, 80,100,120")
        ->delimiter(',')
        ->check(within(10.0, 1000.0));
    c->add_option("--days", args.days, "Simulated days of one room, at most")
        ->check(CLI::Range(2, 1000000))
        ->capture_default_str();
    c->add_option("--min-days", args.least, "Days of every room at every volume")
        ->check(CLI::Range(2, 1000000))
        ->capture_default_str();
    c->add_flag("--no-elimination", args.every_day,
                "Every room is simulated on all days at every volume; what --shard does");
    c->add_option("--effort", args.effort,
                  "Schedules and simulated days for the plan of today's room, a third of it for "
                  "each other; 0: the rule decides")
        ->check(CLI::Range(0, 1000000))
        ->capture_default_str();
    c->add_option("--rule", args.rule, "Dispatching rule, with --effort 0")->capture_default_str();
    c->add_option("--kinds", args.kinds,
                  "Named days of the climate with weights, \"dry 20, usual 60, damp 20\"; default: "
                  "by weather.csv if it covers two weeks");
    c->add_option("--indifference", args.indifference,
                  "Difference a day that does not matter; default: 5 % of today's mean")
        ->check(within(1e-9, most_amount));
    c->add_option("--precision", args.precision,
                  "Per cent, of the best room's turnaround of the slowest tenth")
        ->check(within(0.1, 1000.0))
        ->capture_default_str();
    c->add_option("--confidence", args.confidence, "Per cent")
        ->check(within(60.0, 99.9))
        ->capture_default_str();
    // As they were called before.
    c->add_option("--least", args.least)->check(CLI::Range(2, 1000000))->group("");
    c->add_flag("--every-day", args.every_day)->group("");
    c->add_option("--coping", args.coping)->check(within(0.0, 100.0))->group("");
    c->add_option("--on-time-target", args.coping,
                  "Per cent of orders on time with which a room copes; default: as today's room "
                  "with today's volume")
        ->check(within(0.0, 100.0));
    c->add_option("--seed", args.search.seed, "Seed of the random variation; all rooms share it")
        ->check(seed_number());
    c->add_option("--threads", args.search.threads, "Threads; 0 = all cores")
        ->check(CLI::Range(0, 256));
    c->add_option("--interest", args.interest, "Per cent a year")->check(within(0.0, 100.0));
    c->add_option("--inflation", args.inflation, "Per cent a year; amounts stay in today's money")
        ->check(within(0.0, 100.0));
    c->add_option("--energy-price", args.energy_price, "Per kWh")->check(amount());
    c->add_option("--floor-price", args.floor_price, "Per m² and year")->check(amount());
    c->add_option("--overtime-wage", args.overtime_wage, "Per hour")->check(amount());
    c->add_option("--late-order", args.late_order, "Cost of an order that is late")
        ->check(amount());
    c->add_option("--late-hour", args.late_hour, "Cost of an hour that an order is late")
        ->check(amount());
    c->add_option(
         "--send-out", args.send_out,
         "Price of a screen made elsewhere, where that is cheaper than being late, or if being "
         "late has no price; 0: never")
        ->check(amount());
    c->add_option("--days-a-year", args.days_a_year, "Working days")
        ->check(within(1.0, 366.0))
        ->capture_default_str();
    c->add_option("--shard", args.shard,
                  "Simulate only share i of n (2/8) and write it to the file --out names");
    c->add_option("--merge", args.merge, "Join the files of all shards; no scenario needed");
    c->add_option("--out", args.out, "Write size.json and size.html to this folder");
    c->add_option("--csv", args.csv, "Write every simulated day to this file");
    c->add_flag("--json", args.json, "Print size.json instead of the summary");
    c->add_flag("--quiet", args.quiet, "No progress");
    c->footer(
        "Example: a second cabinet, a fan rack for wet mesh, or both?\n"
        "  coatroom size scenarios/tomorrow --change scenarios/changes/second-cabinet.yaml \\\n"
        "      --change scenarios/changes/fan-rack.yaml --late-order 40 --overtime-wage 30 \\\n"
        "      --out out/size\n"
        "Ctrl-C gives the best so far. Exit status: 0 done, 2 the input is wrong, 130 ended by "
        "Ctrl-C.");
    c->callback([&] {
        runner = [&] {
            if (args.scenario.empty() && args.merge.empty()) {
                std::fprintf(stderr, "coatroom size: name a scenario folder, or --merge FILES\n");
                return static_cast<int>(BadInput);
            }
            return run_size(args);
        };
    });
}

void add_board(CLI::App& app, BoardArgs& args, Runner& runner) {
    CLI::App* c =
        app.add_subcommand("board", "The plan and the promises as a page of this machine");
    c->add_option("scenario", args.scenario, "Folder with room.yaml, orders.csv, frames.csv")
        ->required();
    c->add_option("--plan", args.plan,
                  "plan.json or its folder, read again when it changes; default: in the scenario's "
                  "folder");
    c->add_option("--port", args.port, "Of 127.0.0.1; 0: any free one")
        ->check(CLI::Range(0, 65535))
        ->capture_default_str();
    c->add_option(
        "--date", args.date,
        "Day of the promises, 2026-11-26; default: as room.yaml says, else the next working day");
    c->add_option("--from", args.from, "The time of the questions: 2026-11-26T10:40");
    c->add_option(
        "--now", args.now,
        "The time of the questions in the day that --plan is of: 10:40; what it begins by "
        "then has happened");
    c->add_option(
        "--state", args.state,
        "With --now: file that says what stands where; default: the marks of the journal, "
        "else state.yaml of the scenario, if there is one");
    c->add_flag(
        "--lan", args.lan,
        "Also for the machine's networks; a display is let in by the token that is printed");
    c->add_flag("--qr", args.qr,
                "With --lan: print the address as a QR code even if it goes to no terminal");
    c->add_option("--host", args.hosts, "Name under which a proxy serves the board by https");
    c->add_flag("--read-only", args.read_only, "Nothing can be marked");
    c->add_option("--budget", args.budget, "Search for each new plan: 20s, 2000sch")
        ->capture_default_str();
    c->add_option("--limit", args.limit,
                  "A new plan is offered when an order's chance to be late passes this, per cent")
        ->check(within(0.0, 100.0))
        ->capture_default_str();
    c->add_option(
        "--clock", args.clock,
        "The board's time begins there, to try a day out: 2026-11-26T09:10; default: this "
        "machine's");
    c->add_option("--pace", args.pace, "With --clock: so many times as fast")
        ->check(within(0.0, 1000.0))
        ->capture_default_str();
    c->add_option("--day", args.day, "Air of the day by name");
    c->add_option("--replications", args.replications, "Simulated days an answer")
        ->check(CLI::Range(19, 100000))
        ->capture_default_str();
    c->add_option("--seed", args.seed,
                  "Seed of search and random variation; same seed, same answer")
        ->check(seed_number());
    c->add_option("--threads", args.threads, "Threads; 0 = all cores")->check(CLI::Range(0, 256));
    c->footer(
        "Example: the plan of the demo room on the wall\n"
        "  coatroom plan scenarios/tomorrow --out out/tomorrow\n"
        "  coatroom board scenarios/tomorrow --plan out/tomorrow\n"
        "Only this machine sees it, but with --lan. The page opens in the safelight view; mind the "
        "screen's own "
        "light (docs/board.md).\n"
        "Exit status: 0 ended by Ctrl-C or SIGTERM, whatever was open, 2 the input is wrong or the "
        "port is taken.");
    c->callback([&] { runner = [&] { return run_board(args); }; });
}

void add_mark(CLI::App& app, MarkArgs& args, Runner& runner) {
    CLI::App* c =
        app.add_subcommand("mark", "Say what has happened: begun, done, failed, not there");
    c->add_option("scenario", args.scenario, "Folder with room.yaml, orders.csv, frames.csv")
        ->required();
    c->add_option(
        "marks", args.marks,
        "start TAG [STEP], done TAG [STEP], dry TAG, remake TAG [REASON] [from STEP], down "
        "STATION, up STATION, absent PERSON, present PERSON, film ORDER, returned FRAME, "
        "opened POT, empty POT, longer PERSON, first ORDER, another ORDER, ready ORDER, undo "
        "[NUMBER]; each in quotes, \"in STATION\", \"with "
        "PERSON\", \"at 10:12\" behind it; -: one a line from the input");
    c->add_option("--at", args.at, "When: 10:40, or 2026-11-26T10:40; default: now");
    c->add_option("--by", args.by, "Initials of whoever marks");
    c->add_option("--device", args.device, "Name of the device; undo goes by it");
    c->add_flag("--list", args.list, "Show the day's entries and what contradicts");
    c->add_option("--csv", args.csv, "Write all entries to this file; -: print them");
    c->add_option(
        "--import", args.import,
        "Enter the lines of this CSV file, all or none; what is there already is left out");
    c->add_option("--state-out", args.state_out,
                  "Write the state.yaml that the marks amount to, at --at; -: print it");
    c->add_flag("--json", args.json, "Print entries and contradictions as JSON");
    c->footer(
        "Example: a coat is on, a film has come, a cabinet has failed\n"
        "  coatroom mark my-room \"done A7-2\" \"film A9\" \"down cabinet 2 at 10:35\" --by AD\n"
        "  coatroom plan my-room --now 10:40 --post\n"
        "Without a step, done and start mean the one that is under way or next in the posted "
        "plan.\n"
        "What is printed with its number is on the disk. Exit status: 0 entered, 2 something is "
        "wrong and nothing was entered, 74 it could not be stored.");
    c->callback([&] { runner = [&] { return run_mark(args); }; });
}

void add_promise(CLI::App& app, PromiseArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("promise", "When can it be ready? A date that holds");
    c->add_option("scenario", args.scenario, "Folder with room.yaml, orders.csv, frames.csv")
        ->required();
    c->add_option("--screens", args.screens, "Screens alike that are asked for")
        ->check(CLI::Range(1, 64));
    c->add_option("--mesh", args.mesh, "Mesh by name or count: 120-34, 120/cm, 305/in");
    c->add_option("--frame", args.frame, "Outer size of the frame: 58x84 (cm), \"23 x 33 in\"");
    c->add_option("--emulsion", args.emulsion, "Default: what the orders on this mesh use most");
    c->add_option("--coats", args.coats, "Coat plan by name or numbers: 2+2");
    c->add_option("--film", args.film,
                  "When the film comes, 2026-11-26T09:30; default: it is there");
    c->add_option("--image", args.image, "Size of the image: 40x60 cm");
    c->add_option("--finest-line", args.finest_line, "\"200 µm\": a mesh is proposed");
    c->add_option("--ruling", args.ruling, "\"24 /cm\": a mesh is proposed");
    c->add_flag("--kept-stencil", args.kept_stencil, "The stencils were kept: inspect only");
    c->add_option("--wanted", args.wanted, "What is the chance to have it by then?");
    c->add_option("--order", args.order, "Name of the order; default: the first free E1, E2, ...");
    c->add_option("--job", args.customer, "Label of the order, as in the column job");
    c->add_option("--customer", args.customer)->group("");  // as it was called before
    c->add_option("--priority", args.priority, "1 to 9, once it is accepted")
        ->check(CLI::Range(1, 9));
    c->add_option("--enquiries", args.enquiries, "CSV with several enquiries, each for itself");
    c->add_option(
        "--date", args.date,
        "Day of the run, 2026-11-26; default: as room.yaml says, else the next working day");
    c->add_option("--from", args.from,
                  "The time of the question: 2026-11-26T10:40; a posted plan is left aside");
    c->add_option(
        "--now", args.now,
        "The time of the question in a day that is under way: 10:40; what has begun stays");
    c->add_option(
        "--earlier", args.earlier,
        "With --now: the posted plan.json; what it begins by now has happened; default: the "
        "plan posted in the journal");
    c->add_option(
        "--state", args.state,
        "With --now: file that says what stands where; default: the marks of the journal, "
        "else state.yaml of the scenario, if there is one");
    c->add_option("--day", args.day, "Air of the day by name");
    c->add_option("--replications", args.replications, "Simulated days an answer")
        ->check(CLI::Range(19, 100000))
        ->capture_default_str();
    c->add_option("--effort", args.effort, "Schedules for the plan of what is promised already")
        ->check(CLI::Range(10, 1000000))
        ->capture_default_str();
    c->add_option("--correction", args.correction, "Minutes to add, learnt from past promises")
        ->check(within(-10000.0, 10000.0));
    c->add_flag("--accept", args.accept,
                "Add the order to orders.csv with the promised time, and the promise to the "
                "journal; one enquiry after the other");
    c->add_flag("--backtest", args.backtest, "Were past promises kept? From the journal");
    c->add_option("--journal", args.journal,
                  "With --backtest: a file of past promises instead of the folder's journal");
    c->add_option("--import", args.import,
                  "Take the promises of this CSV file, and when they were ready, into the journal; "
                  "what is there already is left out");
    c->add_option("--export", args.export_to,
                  "Write the journal's promises to this CSV file; -: print them");
    c->add_flag("--explain", args.explain, "The chain that decides the date");
    c->add_flag("--quick", args.quick, "Do not look for what would make it sooner");
    c->add_flag("--quiet", args.quiet, "No progress");
    c->add_flag("--table", args.table,
                "Lead times by size, kind and time of entry, and a price list");
    c->add_option("--weeks", args.weeks,
                  "Weeks of the table's run; default: as many as coatroom weeks takes")
        ->check(CLI::Range(1, 10000));
    c->add_option("--load", args.load, "Orders a day in the table, per cent of those of weeks")
        ->check(within(5.0, 400.0))
        ->capture_default_str();
    c->add_option("--out", args.out, "Write page, CSV and JSON to this folder");
    c->add_option("--seed", args.seed,
                  "Seed of search and random variation; same seed, same answer")
        ->check(seed_number());
    c->add_option("--threads", args.threads, "Threads; 0 = all cores")->check(CLI::Range(0, 256));
    c->add_flag("--json", args.json, "Print JSON instead of the text");
    c->footer(
        "Example: four screens for a poster, wanted on Friday at eleven\n"
        "  coatroom promise scenarios/tomorrow --screens 4 --mesh 120/cm --frame 58x84 \\\n"
        "      --coats 2+2 --wanted \"Fri 11:00\" --explain\n"
        "Exit status: 0 answered, 1 no date can be given, 2 the input is wrong, 130 ended by "
        "Ctrl-C: "
        "nothing is promised but what was said.");
    c->callback([&] {
        runner = [&] {
            if (!sound_question(args)) return int{BadInput};
            if (args.backtest) return run_promise_backtest(args);
            if (!args.import.empty() || !args.export_to.empty()) return run_promise_files(args);
            return args.table ? run_promise_table(args) : run_promise(args);
        };
    });
}

void add_tune(CLI::App& app, TuneArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("tune", "Learn step times from what was marked on past days");
    c->add_option("scenario", args.scenario, "Folder with room.yaml and chance.yaml")->required();
    c->add_option("--marks", args.marks,
                  "CSV of marks; again for each; default: the journal of the scenario")
        ->allow_extra_args(false);
    c->add_option("--orders", args.orders,
                  "CSV of the orders of those days, columns as in orders.csv; again for each. The "
                  "scenario's own orders are known anyway")
        ->allow_extra_args(false);
    c->add_option("--since", args.since, "Only marks from this date on, 2026-11-02");
    c->add_flag("--write", args.write,
                "Write the new values into room.yaml and chance.yaml; comments stay");
    c->add_flag("--json", args.json, "Print the figures as JSON");
    c->footer(
        "Example: what did the last weeks take, and write it into the files\n"
        "  coatroom tune my-room --marks november.csv --orders november-orders.csv\n"
        "  coatroom tune my-room --marks november.csv --orders november-orders.csv --write\n"
        "Exit status: 0 done, 2 the input is wrong, 74 the files could not be written.");
    c->callback([&] { runner = [&] { return run_tune(args); }; });
}

void add_weeks(CLI::App& app, WeeksArgs& args, Runner& runner) {
    CLI::App* c = app.add_subcommand("weeks", "The room in the long run: orders day after day");
    c->add_option("scenario", args.scenario,
                  "Scenario folder; chance.yaml and arrivals.csv in it say what comes in")
        ->required();
    c->add_option(
         "--days", args.days,
         "Working days, at least: without --precision and --trace 1,000 and more, until the "
         "intervals can be trusted")
        ->check(CLI::Range(2, 100000))
        ->capture_default_str();
    c->add_option("--orders-a-day", args.orders_a_day,
                  "Mean number of orders a working day, evenly over its hours")
        ->check(within(0.01, 10000.0));
    c->add_option("--rule", args.rule,
                  "What goes first: urgency (least slack for its weight), due, arrival")
        ->check(CLI::IsMember({"urgency", "due", "arrival"}))
        ->capture_default_str();
    c->add_option("--precision", args.precision,
                  "Stop when the mean turnaround is known to so many per cent")
        ->check(within(0.1, 50.0));
    c->add_option("--seed", args.seed, "Seed of the random variation")->check(seed_number());
    c->add_option("--trace", args.trace, "Write every event to this file, one JSON object a line");
    c->add_option("--out", args.out, "Write a page to this file; in a folder, weeks.html");
    c->add_flag("--json", args.json, "Print the figures as JSON");
    c->add_flag("--quiet", args.quiet, "No progress");
    c->footer(
        "Example: a year of the demo room, 16 orders a day\n"
        "  coatroom weeks scenarios/tomorrow --days 250 --orders-a-day 16\n"
        "Exit status: 0 done, 1 the run could not go on, or the room cannot keep up at all, 2 the "
        "input is wrong, 130 ended by Ctrl-C.");
    c->callback([&] { runner = [&] { return run_weeks(args); }; });
}

// What was asked for must have been printed whole: a full disk is no success.
int printed(int status) {
    if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return status;
    if (errno == EINTR && interrupted())
        return say_interrupted("The answer was not printed whole.");
    std::fprintf(stderr, "coatroom: the answer could not be printed: %s\n", std::strerror(errno));
    return status == Done || status == No ? static_cast<int>(NotPrinted) : status;
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
    SizeArgs size;
    BeginArgs begin;
    add_begin(app, begin, runner);
    add_plan(app, plan, compare, runner);
    add_check(app, check, runner);
    add_size(app, size, runner);
    PromiseArgs promise;
    add_promise(app, promise, runner);
    WeeksArgs weeks;
    add_weeks(app, weeks, runner);
    DryArgs dry;
    DoseArgs dose;
    add_dry(app, dry, runner);
    add_dose(app, dose, runner);
    TuneArgs tune;
    add_tune(app, tune, runner);
    BoardArgs board;
    add_board(app, board, runner);
    MarkArgs mark;
    add_mark(app, mark, runner);

    try {
        app.parse(argc, argv);
    } catch (const CLI::Success& e) {  // --help, --version
        return printed(app.exit(e));
    } catch (const CLI::ParseError& e) {
        app.exit(e);
        return BadInput;
    }
    if (!runner) return BadInput;
    const InterruptWatch watch(app.get_subcommands().front()->get_name());
    try {
        return printed(runner());
    } catch (const std::filesystem::filesystem_error& e) {
        std::fprintf(stderr, "coatroom: %s: %s\n", e.path1().string().substr(0, 200).c_str(),
                     e.code().message().c_str());
        return BadInput;
    } catch (const std::exception& e) {
        std::fprintf(stderr,
                     "coatroom: a fault of the program, not of your files: %s. Nothing was "
                     "written. Please report it with the command and the folder.\n",
                     e.what());
        return Fault;
    }
}

}  // namespace sched::app
