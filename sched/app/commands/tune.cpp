// coatroom tune: read room, orders and marks -> observe -> fit -> changes -> print, write.
// How --write works: every change becomes an edit of the file as it is written (a time alone, or
// with attended: and stands: under it); the new texts are read by the reader of the scenario, and
// only then take the places of the old ones, both together.

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <map>

#include "model/base/files.hpp"
#include "model/read/bytes.hpp"
#include "model/read/chance_file.hpp"
#include "model/read/edit_yaml.hpp"
#include "model/read/mark_file.hpp"
#include "model/read/order_history.hpp"
#include "model/read/scenario.hpp"
#include "model/read/yaml.hpp"
#include "model/room/steps.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/journal/journal.hpp"
#include "sched/report/tune/tune_report.hpp"
#include "sched/tune/changes.hpp"

namespace sched::app {

namespace {

namespace fs = std::filesystem;

int tune_complaint(const std::string& problem) {
    std::fprintf(stderr, "coatroom tune: %s.\n", problem.c_str());
    return BadInput;
}

/// Marks of the journal as a CSV of them would say it.
std::optional<std::vector<model::PastMark>> marks_of_journal(const std::string& folder,
                                                             std::string& problem) {
    journal::Problem why;
    auto file = journal::Journal::open(folder, journal::Journal::For::Reading, why);
    const auto entries = file ? file->entries(0, why) : std::nullopt;
    if (!entries) {
        problem = why.words;
        return std::nullopt;
    }
    std::vector<model::PastMark> out;
    for (const journal::Entry& e : journal::in_force(*entries)) {
        model::PastMark m{.at = e.time,
                          .mark = static_cast<model::MarkKind>(e.mark),
                          .what = e.what,
                          .step = {},
                          .round = e.round,
                          .station = e.station,
                          .person = e.person,
                          .reason = e.reason,
                          .by = e.by,
                          .device = e.device,
                          .entered = e.entered,
                          .id = std::to_string(e.id),
                          .undoes = {},
                          .place = {}};
        for (const model::StepRow& r : model::step_rows()) {
            if (r.key == e.step) m.step = r.step;
        }
        out.push_back(std::move(m));
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const auto& a, const auto& b) { return a.at < b.at; });
    return out;
}
static_assert(static_cast<int>(model::MarkKind::Posted) == static_cast<int>(journal::Mark::Posted));
static_assert(static_cast<int>(model::MarkKind::Remake) == static_cast<int>(journal::Mark::Remake));

std::vector<model::read::YamlStep> yaml_path(const std::vector<std::string>& path) {
    std::vector<model::read::YamlStep> out;
    for (const std::string& key : path) {
        if (key.front() == '#')
            out.emplace_back(static_cast<std::size_t>(std::stoul(key.substr(1))));
        else
            out.emplace_back(key);
    }
    return out;
}

/// The change as an edit of this file: a step whose time stands alone has no "attended" to change.
model::read::YamlEdit edit_of(const tune::Change& change, const std::string& text) {
    model::read::YamlEdit edit{yaml_path(change.path), change.value};
    if (change.file != "room.yaml" || change.path.front() != "times" || change.path.size() < 3)
        return edit;
    model::Diagnostics diagnostics;
    model::read::Findings findings("", diagnostics);
    const auto tree = model::read::parse_yaml(model::read::with_plain_line_ends(text), findings);
    const auto* times = tree ? tree->find("times") : nullptr;
    const auto* step = times ? times->find(change.path[1]) : nullptr;
    if (step == nullptr || step->kind != model::read::YamlNode::Kind::Text) return edit;
    edit.path.resize(2);
    if (change.path[2] == "but")
        edit.value = "{attended: " + step->text + ", but: [" + change.value + "]}";
    return edit;
}

std::optional<std::string> changed_text(const std::vector<tune::Change>& changes,
                                        const std::string& file, std::string text,
                                        std::string& problem) {
    for (const tune::Change& c : changes) {
        if (c.file != file) continue;
        auto next = model::read::with_values(text, {edit_of(c, text)}, problem);
        if (!next) return std::nullopt;
        text = *std::move(next);
    }
    return text;
}

/// Reads and writes under the scenario's lock: what is saved meanwhile stays.
/// @returns the exit status, and what was wrong is said.
int write_changes(const std::string& folder, const std::vector<tune::Change>& changes) {
    const ScenarioLock lock(folder);
    if (interrupted()) return say_interrupted("Nothing was written.");
    if (!lock.held()) return not_written("tune", lock.problem());
    const Undivided writing;
    constexpr std::size_t most = std::size_t{64} << 20;
    std::map<std::string, std::string> texts;
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv", "weather.csv"}) {
        if (auto text = read_text((fs::path(folder) / name).string(), most))
            texts[name] = *std::move(text);
    }
    std::string problem;
    const auto room = changed_text(changes, "room.yaml", texts["room.yaml"], problem);
    if (!room) return tune_complaint("room.yaml: " + problem);
    const auto old_chance = read_text((fs::path(folder) / "chance.yaml").string(), most);
    const auto chance = changed_text(changes, "chance.yaml", old_chance.value_or(""), problem);
    if (!chance) return tune_complaint("chance.yaml: " + problem);
    // What is to be written must be read without an error.
    texts["room.yaml"] = *room;
    for (auto& [name, text] : texts) {
        if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
    }
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(texts, folder, diagnostics, run_day({}));
    std::string plain_chance = *chance;
    if (plain_chance.starts_with("\xEF\xBB\xBF")) plain_chance.erase(0, 3);
    if (scenario)
        (void)model::read_chance(*scenario, diagnostics,
                                 plain_chance.empty() ? nullptr : &plain_chance);
    if (!scenario || diagnostics.has_errors())
        return tune_complaint("nothing was written, the new files would be wrong: " +
                              model::to_text(diagnostics.sorted().front()));
    std::vector<model::NamedFile> files;
    const auto changes_of_file = [&](const char* name) {
        return std::any_of(changes.begin(), changes.end(),
                           [&](const tune::Change& c) { return c.file == name; });
    };
    if (changes_of_file("room.yaml"))
        files.emplace_back("room.yaml", [text = *room] { return text; });
    if (changes_of_file("chance.yaml"))
        files.emplace_back("chance.yaml", [text = *chance] { return text; });
    if (const auto failed = model::write_files_together(folder, files))
        return not_written("tune", *failed);
    std::fprintf(stderr, "written: %zu values in %s\n", changes.size(), folder.c_str());
    return Done;
}

/// Orders of past days: of the scenario and of all files.
std::vector<std::vector<model::Order>> past_orders(const model::Scenario& scenario,
                                                   const std::vector<std::string>& files,
                                                   model::Diagnostics& diagnostics) {
    std::vector<std::vector<model::Order>> days{scenario.orders};
    for (const std::string& file : files) {
        auto more = model::read_order_history(file, scenario, diagnostics);
        if (!more) continue;
        // As one file names its screens: by their order in it, whatever the day.
        for (auto& day : *more)
            days.push_back(std::move(day));
    }
    return days;
}

}  // namespace

int run_tune(const TuneArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics, run_day({}));
    const auto files = scenario ? model::read_chance(*scenario, diagnostics) : std::nullopt;
    std::optional<std::vector<model::PastMark>> marks;
    std::string problem;
    if (!args.marks.empty())
        marks = model::read_marks(args.marks, diagnostics);
    else if (journal::Journal::exists(args.scenario))
        marks = marks_of_journal(args.scenario, problem);
    else
        problem = args.scenario + " has no journal; name a CSV of marks with --marks";
    std::vector<std::vector<model::Order>> days;
    if (scenario) days = past_orders(*scenario, args.orders, diagnostics);
    std::optional<model::LocalDate> since;
    if (!args.since.empty()) {
        since = model::parse_date(args.since);
        if (!since) problem = "--since " + args.since + " is no date; write 2026-11-02";
    }
    print_diagnostics(diagnostics, args.json);
    if (!problem.empty()) return tune_complaint(problem);
    if (!scenario || !files || !marks || diagnostics.has_errors()) return BadInput;
    if (since) std::erase_if(*marks, [&](const auto& m) { return m.at < model::midnight(*since); });

    const tune::Screens screens(scenario->room, days);
    const tune::Tuning tuning =
        tune::fit_marks(scenario->room, files->chance,
                        tune::observe(scenario->room, screens, *marks), scenario->weather);
    const auto changes = tune::changes_of(scenario->room, files->chance, tuning);
    const std::string text = args.json ? report::tune_json(tuning, changes)
                                       : report::tune_text(tuning, changes, args.scenario);
    if (!print_answer(text)) return say_interrupted("Nothing was written.");
    if (!args.write || changes.empty()) return Done;
    return write_changes(args.scenario, changes);
}

}  // namespace sched::app
