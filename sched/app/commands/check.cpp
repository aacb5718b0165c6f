// coatroom check: a scenario folder, or a finished plan.
//
// How it works: of a folder, headings that nobody knows are asked back at a terminal, then all
// files are read and the room compiled, and its figures printed; of a plan, both checkers read it.

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "model/base/files.hpp"
#include "model/read/ask_columns.hpp"
#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "model/read/state_file.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/asked_again.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/day_things.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/journal_day.hpp"
#include "sched/app/parts/kept_promises.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/app/parts/verdict.hpp"
#include "sched/chance/planned_lengths.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/physics/room_figures.hpp"

namespace sched::app {

namespace {

constexpr std::size_t most_plan_bytes = std::size_t{64} << 20;

// Headings of the office that nobody knows are asked back, once: the answers are written into the
// head of the file. @returns whether anything was written.
bool ask_headings(const std::string& folder, const char* name) {
    const auto path = std::filesystem::path(folder) / name;
    const auto text = read_text(path.string(), std::size_t{8} << 20);
    if (!text) return false;
    const auto unknown = model::read::unknown_headings(name, *text);
    std::vector<std::pair<std::string, std::string>> answers;
    for (const std::string& heading : unknown.headings) {
        std::fprintf(stderr, "%s: which column is %s? One of", path.c_str(),
                     model::read::in_quotes(heading).c_str());
        for (const std::string& known : unknown.known)
            std::fprintf(stderr, " %s,", known.c_str());
        std::fprintf(stderr, " or - for none that is needed; Enter leaves it open: ");
        std::string answer;
        for (int c = std::getchar(); c != EOF && c != '\n'; c = std::getchar())
            answer += static_cast<char>(c);
        if (interrupted()) return false;
        const bool sound = answer == "-" || std::find(unknown.known.begin(), unknown.known.end(),
                                                      answer) != unknown.known.end();
        if (sound) answers.emplace_back(heading, answer);
        if (!sound && !answer.empty())
            std::fprintf(stderr, "\"%s\" is no such column; left open.\n", answer.c_str());
    }
    if (answers.empty()) return false;
    const auto failed =
        model::write_file_atomically(path, model::read::with_columns_line(*text, answers));
    if (failed) std::fprintf(stderr, "coatroom check: %s\n", failed->c_str());
    return !failed;
}

// Whether the posted plan was made of the files as they are.
struct PostedFit {
    std::int64_t entry = 0;  // 0: none
    std::vector<std::string> changed;
    std::string words, problem;
};

PostedFit posted_fit(const std::string& folder, model::Diagnostics& diagnostics) {
    PostedFit fit;
    const auto day = read_journal_day(folder, fit.problem, diagnostics);
    if (!day) return fit;
    journal::Problem wrong;
    const auto file = journal::Journal::open(folder, journal::Journal::For::Reading, wrong);
    if (!file || !file->sound(wrong)) {
        fit.problem = wrong.words;
        return fit;
    }
    if (!day->posted) return fit;
    fit.entry = day->plan.entry;
    fit.changed = changed_files(day->posted->inputs, input_files(folder));
    const std::string which = "The posted plan (entry " + std::to_string(fit.entry) + ", " +
                              model::format_date_time(day->plan.time) + ")";
    std::string names;
    for (const auto& name : fit.changed)
        names += (names.empty() ? "" : ", ") + name;
    fit.words = fit.changed.empty() ? which + " was made of these files."
                                    : which + " no longer fits the files: " + names +
                                          (fit.changed.size() == 1 ? " has" : " have") +
                                          " changed since. Plan again, with --post.";
    return fit;
}

int check_scenario(const CheckArgs& args) {
    if (terminal_of(0).columns > 0 && terminal_of(2).columns > 0 && !args.json) {
        for (const char* name : {"orders.csv", "frames.csv"})
            ask_headings(args.what, name);
        if (interrupted()) return say_interrupted("Nothing was checked.");
    }
    complete_acceptances(args.what);
    model::Diagnostics diagnostics;
    const auto scenario =
        model::read_scenario(args.what, diagnostics, run_day({.date = args.date}));
    const auto chance = scenario ? model::read_chance(*scenario, diagnostics) : std::nullopt;
    bool sound = chance.has_value();
    if (scenario && !scenario->orders.empty()) {
        const auto start = day_of_plan({.command = "check", .date = args.date}, *scenario);
        if (!start) return BadInput;
        const auto room = compile::compile_room(*scenario, {.start = *start}, diagnostics);
        if (room && chance) study::compare_laws(chance->chance, *room, diagnostics);
        sound = room && sound;
    }
    const std::size_t errors = diagnostics.error_count();
    model::read_state((std::filesystem::path(args.what) / model::state_file_name).string(), false,
                      diagnostics);
    const PostedFit posted = posted_fit(args.what, diagnostics);
    if (posted.problem.empty()) (void)past_promises(args.what, diagnostics);
    sound = sound && diagnostics.error_count() == errors && posted.problem.empty();
    print_diagnostics(diagnostics, args.json);
    if (!posted.problem.empty())
        std::fprintf(stderr, "coatroom check: %s\n", posted.problem.c_str());
    if (!sound) return BadInput;
    const auto figures = report::room_figures(*scenario);
    if (args.json) {
        nlohmann::ordered_json json{{"sound", true}};
        json["figures"] = nlohmann::ordered_json::array();
        for (const auto& f : figures)
            json["figures"].push_back({{"name", f.name}, {"says", f.says}, {"change", f.change}});
        if (posted.entry > 0) {
            json["posted"] = {{"entry", posted.entry},
                              {"fits", posted.changed.empty()},
                              {"changed", posted.changed}};
        }
        std::printf("%s\n", json.dump(2).c_str());
        return Done;
    }
    std::printf("%s: the input is sound.\n", args.what.c_str());
    if (!posted.words.empty()) std::printf("%s\n", posted.words.c_str());
    if (figures.empty()) return Done;
    std::printf("\nDo these figures look like your room? Below each: what changes it.\n%s",
                report::figures_text(figures).c_str());
    return Done;
}

// The folder that the plan was made for: named, or where its files lie beside it.
std::string scenario_of(const CheckArgs& args, const report::PlanDocument& document) {
    if (!args.scenario.empty()) return args.scenario;
    if (document.inputs.empty()) return {};
    // Beside the plan, or around its folder: my-room/plan/plan.json.
    const auto beside = std::filesystem::path(args.what).parent_path();
    for (const auto& folder : {beside, beside / ".."}) {
        const auto& inputs = document.inputs;
        if (std::all_of(inputs.begin(), inputs.end(), [&](const auto& input) {
                return std::filesystem::is_regular_file(folder / input.name);
            }))
            return folder.empty() ? "." : folder.string();
    }
    return {};
}

// Films that had come sooner than orders.csv says, pots and frames, by the journal or else by
// state.yaml, and what was decided for the day.
void told_by_then(const std::string& folder, const report::PlanDocument& document,
                  model::Scenario& scenario, std::string& problem,
                  model::Diagnostics& diagnostics) {
    const model::SimTime now = document.again->now;
    PostedDay posted_day;
    posted_day.journal = read_journal_day(folder, problem, diagnostics);
    std::string source;
    if (!problem.empty() || diagnostics.has_errors()) return;
    const auto orders = scenario.orders;
    const auto room = scenario.room;
    UnderWay words{.scenario = folder};
    // Of the plan that is posted last it is known what it knew.
    if (posted_day.journal && posted_day.journal->posted &&
        *posted_day.journal->posted == document) {
        const auto& posted = posted_day.journal->plan;
        words.last = journal::seen_by(posted, posted_day.journal->entries);
        words.with = posted.with;
    }
    read_state_of(words, posted_day, document.run.from, now, scenario, source, diagnostics);
    // The plan may have been told otherwise (--state): what came later binds nobody here.
    as_plan_knew(document, room, scenario);
    for (std::size_t o = 0; o < orders.size(); ++o) {
        for (std::size_t k = 0; k < orders[o].lines.size(); ++k) {
            auto& film = scenario.orders[o].lines[k].film_ready;
            const auto& asked = orders[o].lines[k].film_ready;
            if (film) film = asked ? std::optional(std::min(*film, *asked)) : std::nullopt;
        }
    }
}

// Against room, orders and frames. Nullopt: the scenario cannot be read.
std::optional<bool> keeps_the_room(const CheckArgs& args, const report::PlanDocument& document) {
    const std::string folder = scenario_of(args, document);
    if (folder.empty()) {
        std::fprintf(stderr,
                     "coatroom check: not checked against the room, its orders and frames: their "
                     "folder is not known. Name it by --scenario DIR.\n");
        return true;
    }
    model::Diagnostics diagnostics;
    auto [scenario, inputs] = read_folder(
        folder, diagnostics, {.day = model::midnight(model::date_of(document.run.from))});
    std::string problem;
    if (scenario && document.again) told_by_then(folder, document, *scenario, problem, diagnostics);
    if (!problem.empty()) std::fprintf(stderr, "coatroom check: %s\n", problem.c_str());
    if (!scenario || !problem.empty() || diagnostics.has_errors()) {
        print_diagnostics(diagnostics, args.json);
        return std::nullopt;
    }
    bool sound = passes_room(document, *scenario, inputs);
    if (document.again) {
        std::fprintf(stderr,
                     "coatroom check: what had happened before %s is taken as the plan tells it.\n",
                     model::format_date_time(document.again->now).c_str());
        return sound;
    }
    for (const auto& words : otherwise_asked(document, *scenario)) {
        std::fprintf(stderr, "not what the scenario asks: %s.\n", words.c_str());
        sound = false;
    }
    return sound;
}

int check_plan(const CheckArgs& args) {
    model::complete_files(std::filesystem::path(args.what).parent_path());
    const auto text = read_text(args.what, most_plan_bytes);
    std::error_code error;
    if (!text && std::filesystem::symlink_status(args.what, error).type() ==
                     std::filesystem::file_type::not_found) {
        std::fprintf(
            stderr,
            "coatroom check: there is no %s. Name the folder of a scenario, a plan.json or "
            "a file of changes.\n",
            args.what.c_str());
        return BadInput;
    }
    if (!text) {
        std::fprintf(stderr, "coatroom check: %s cannot be read, or is larger than 64 MiB.\n",
                     args.what.c_str());
        return BadInput;
    }
    model::Diagnostics diagnostics;
    const auto document = report::plan_from_json(*text, diagnostics, args.what);
    print_diagnostics(diagnostics, args.json);
    if (!document) return BadInput;
    bool sound = passes(document->problem, document->schedule);
    for (const auto& words : report::contradictions(*document)) {
        std::fprintf(stderr, "the plan contradicts itself: %s\n", words.c_str());
        sound = false;
    }
    sound = agrees(*document) && sound;
    for (const auto& path : report::unknown_members(*text, *document)) {
        std::fprintf(stderr, "%s: no member of a plan has this name.\n", path.c_str());
        sound = false;
    }
    const auto room = keeps_the_room(args, *document);
    if (!room) return BadInput;
    if (!sound || !*room) return No;
    if (!args.json) std::printf("%s: the plan keeps every rule.\n", args.what.c_str());
    return Done;
}

}  // namespace

int run_check(const CheckArgs& args) {
    if (std::filesystem::is_directory(args.what)) return check_scenario(args);
    return check_plan(args);
}

}  // namespace sched::app
