// coatroom size: is a change to the room worth its money? Scenario, changes and past orders are
// read and checked together; then all rooms are studied, or one shard of their days, or shards that
// are there are joined; every way ends in one result, which is printed and written.

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <set>

#include "model/base/files.hpp"
#include "model/read/chance_file.hpp"
#include "model/read/change_file.hpp"
#include "model/read/order_history.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/budget.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/interrupt.hpp"
#include "sched/app/parts/version.hpp"
#include "sched/app/parts/weeks_question.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "sched/report/document/json_reader.hpp"
#include "sched/report/size/size_report.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

namespace {

int say_wrong(const std::string& words) {
    std::fprintf(stderr, "coatroom size: %s\n", words.c_str());
    return BadInput;
}

/// "A.yaml+B.yaml": both together. A file whose own name holds a + is one change.
std::vector<std::string> change_files(const std::string& text) {
    std::error_code error;
    if (std::filesystem::exists(text, error)) return {text};
    std::vector<std::string> files;
    std::size_t at = 0;
    while (true) {
        const std::size_t plus = text.find('+', at);
        files.push_back(text.substr(at, plus - at));
        if (plus == std::string::npos) return files;
        at = plus + 1;
    }
}

/// Today's room and one per --change. `inputs` gets the name and digest of every file.
std::optional<std::vector<study::SizeOption>> size_options(const SizeArgs& args,
                                                           std::vector<report::InputFile>& inputs) {
    model::Diagnostics diagnostics;
    std::vector<study::SizeOption> options;
    const model::RunDay run = run_day({});
    auto today = read_folder(args.scenario, diagnostics, run);
    inputs = std::move(today.inputs);
    if (today.scenario) options.push_back({.scenario = *std::move(today.scenario)});
    for (const std::string& text : args.changes) {
        study::SizeOption option{.name = {}};
        const auto files = change_files(text);
        for (const auto& file : files) {
            if (auto change = model::read_change(file, diagnostics)) {
                option.name += (option.name.empty() ? "" : " + ") + change->name;
                option.changes.push_back(*std::move(change));
            }
            if (const auto bytes = read_text(file, std::size_t{1} << 20))
                inputs.push_back(report::input_file(file, *bytes));
        }
        if (options.empty()) continue;  // today's room is wrong already
        // The rest of a change with a wrong head is read too: all errors in one pass, each once.
        model::Diagnostics found;
        auto scenario = model::read_changed_scenario(args.scenario, files, found, run);
        for (const auto& d : found.all()) {
            const auto& known = diagnostics.all();
            if (std::find(known.begin(), known.end(), d) != known.end()) continue;
            if (d.severity == model::Severity::Error) {
                diagnostics.error(d.place, d.code, d.message, d.hint);
            } else {
                diagnostics.warning(d.place, d.code, d.message, d.hint);
            }
        }
        if (!scenario || option.changes.size() != files.size()) continue;
        option.scenario = *std::move(scenario);
        for (const auto& other : options) {
            if (other.name == option.name) {
                diagnostics.error({.file = text, .line = 1, .column = 1}, "change-twice",
                                  "two changes are named \"" + option.name + "\".",
                                  "Give each a name of its own (change: ...).");
            }
        }
        options.push_back(std::move(option));
    }
    print_diagnostics(diagnostics, false);
    if (diagnostics.has_errors() || options.empty()) return std::nullopt;
    return options;
}

/// chance.yaml and the past orders, held against today's room; their files join `inputs`.
bool read_disturbances(const SizeArgs& args, const model::Scenario& today,
                       std::vector<report::InputFile>& inputs, study::SizeOptions& settings) {
    model::Diagnostics diagnostics;
    const auto add_input = [&](const std::string& path) {
        if (const auto bytes = read_text(path, std::size_t{16} << 20))
            inputs.push_back(report::input_file(path, *bytes));
    };
    const auto chance = model::read_chance(today, diagnostics);
    if (chance && chance->own) {
        const std::filesystem::path folder(today.folder);
        add_input((folder / "chance.yaml").string());
        std::set<std::string> measured;  // files of observed times
        for (const auto& t : chance->chance.times)
            measured.insert(t.time.file);
        for (const auto& f : chance->chance.failures) {
            measured.insert(f.between.file);
            measured.insert(f.repair.file);
        }
        for (const auto& file : measured) {
            if (!file.empty()) add_input((folder / file).string());
        }
        settings.chance = study::Chance::of(chance->chance, today);
    }
    if (!args.orders.empty()) {
        if (auto past = model::read_order_history(args.orders, today, diagnostics))
            settings.history = *std::move(past);
        add_input(args.orders);
    }
    print_diagnostics(diagnostics, false);
    return !diagnostics.has_errors();
}

/// "dry 20, usual 60, damp 20" as weights of the climate's named days.
std::optional<std::vector<study::DayKind>> parse_kinds(const std::string& text,
                                                       const model::Room& room) {
    std::vector<study::DayKind> kinds;
    std::size_t at = 0;
    while (at <= text.size()) {
        const std::size_t end = std::min(text.find(',', at), text.size());
        std::string part = text.substr(at, end - at);
        at = end + 1;
        const auto first = part.find_first_not_of(' ');
        const auto space = part.find_last_of(' ');
        if (first == std::string::npos || space == std::string::npos || space <= first)
            return std::nullopt;
        study::DayKind kind{part.substr(first, part.find_last_not_of(' ', space) + 1 - first), 0.0};
        const auto [stop, error] =
            std::from_chars(part.data() + space + 1, part.data() + part.size(), kind.weight);
        if (error != std::errc{} || stop != part.data() + part.size() || !(kind.weight > 0.0) ||
            !room.climate || !room.climate->named_days.contains(kind.name)) {
            return std::nullopt;
        }
        kinds.push_back(std::move(kind));
    }
    double total = 0.0;
    for (const auto& k : kinds)
        total += k.weight;
    for (auto& k : kinds)
        k.weight /= total;
    return kinds;
}

/// "2/8": the second of eight; from 0 inside.
struct ShardOf {
    std::size_t shard = 0;
    std::size_t of = 0;  // 0: no shard
};
ShardOf parse_shard(const std::string& text) {
    std::size_t i = 0;
    std::size_t n = 0;
    const char* const last = text.data() + text.size();
    const auto [slash, error] = std::from_chars(text.data(), last, i);
    if (error != std::errc{} || slash == last || *slash != '/') return {};
    const auto [stop, error2] = std::from_chars(slash + 1, last, n);
    if (error2 != std::errc{} || stop != last || i < 1 || i > n || n > 100'000) return {};
    return {i - 1, n};
}

int give(const SizeArgs& args, const study::SizeResult& result) {
    // From here on it is written and printed, whole, with the days that there are.
    const Undivided writing;
    const bool short_of_days = result.end == study::SizeEnd::Interrupted;
    if (short_of_days)
        say_interrupted("What follows rests on the days until then: too few to be sure.");
    const std::string program = std::string("coatroom ") + version;
    const std::string json = report::size_to_json(result, program);
    std::optional<std::string> error;
    if (!args.out.empty()) {
        error = model::write_files_together(
            args.out, {{"size.json", [&] { return json; }},
                       {"size.html", [&] { return report::size_to_page(result, program); }}});
        if (!error) report::join_pages(args.out);
    }
    if (!args.csv.empty() && !error)
        error = model::write_file_atomically(args.csv, study::days_to_csv(result.head, result.all));
    // What took long is printed all the same.
    const std::string text = args.json ? json : report::size_to_text(result);
    const bool whole = print_answer(text);
    if (error) return not_written("size", *error);
    if (!whole) return say_interrupted("The study was not printed whole.");
    return short_of_days && interrupted() ? Interrupted : Done;
}

int merge(const SizeArgs& args) {
    model::Diagnostics diagnostics;
    std::vector<report::SizeShard> shards;
    for (const auto& file : args.merge) {
        const auto text = read_text(file, report::plan_max_bytes);
        if (!text) {
            diagnostics.error({.file = file, .line = 1, .column = 1}, "file-missing",
                              "this file cannot be read.", "Check its name.");
            continue;
        }
        if (auto shard = report::shard_from_json(*text, diagnostics, file))
            shards.push_back(*std::move(shard));
    }
    std::optional<study::SizeResult> result;
    if (!diagnostics.has_errors())
        result = report::merge_shards(std::move(shards), args.merge, diagnostics);
    print_diagnostics(diagnostics, false);
    return result ? give(args, *result) : BadInput;
}

study::SizeOptions size_settings(const SizeArgs& args, const search::SearchOptions& search,
                                 const model::Scenario& today) {
    study::SizeOptions s;
    s.seed = args.search.seed;
    s.threads = search.threads;
    s.stop = search.stop;
    s.most = static_cast<std::size_t>(args.days);
    s.least = static_cast<std::size_t>(std::min(args.least, args.days));
    s.every_day = args.every_day || !args.shard.empty();
    s.confidence = args.confidence / 100.0;
    s.effort = args.effort;
    s.policy = args.rule;
    s.indifference = args.indifference;
    s.precision = args.precision / 100.0;
    s.coping = args.coping / 100.0;
    s.prices = {.interest = args.interest / 100.0,
                .inflation = args.inflation / 100.0,
                .energy = args.energy_price,
                .floor = args.floor_price,
                .overtime_hour = args.overtime_wage,
                .late_order = args.late_order,
                .late_hour = args.late_hour,
                .screen_sent_out = args.send_out,
                .days_a_year = args.days_a_year};
    s.volumes.clear();
    for (const double percent : args.volumes)
        s.volumes.push_back(percent / 100.0);
    std::sort(s.volumes.begin(), s.volumes.end());
    s.volumes.erase(std::unique(s.volumes.begin(), s.volumes.end()), s.volumes.end());
    s.start = day_of_plan({.command = "size", .typical_day = true}, today).value_or(s.start);
    return s;
}

}  // namespace

int run_size(const SizeArgs& args) {
    if (!args.merge.empty()) return merge(args);
    const auto search = search_options(args.search);
    if (!search) return BadInput;
    if (args.changes.empty()) return say_wrong("name at least one --change FILE");
    const ShardOf shard = parse_shard(args.shard);
    if (!args.shard.empty() && shard.of == 0) {
        return say_wrong("'" + args.shard + "' is no shard. Write 2/8: the second of eight.");
    }
    if (shard.of > 0 && args.out.empty()) return say_wrong("name the shard's file with --out FILE");
    std::vector<report::InputFile> inputs;
    const auto options = size_options(args, inputs);
    if (!options) return BadInput;
    const model::Scenario& today = options->front().scenario;
    study::SizeOptions settings = size_settings(args, *search, today);
    if (!read_disturbances(args, today, inputs, settings)) return BadInput;
    settings.fingerprint = report::fingerprint_of(inputs);
    if (args.kinds.empty()) {
        // Kinds by name only: a past day of weather.csv is not one that a reader can name.
        auto& days = settings.chance.days;
        if (days.empty() || std::any_of(days.begin(), days.end(),
                                        [](const auto& d) { return d.past.has_value(); })) {
            days = study::climate_kinds(today);
        }
        double total = 0.0;
        for (const auto& d : days)
            total += d.weight;
        for (auto& d : days)
            d.weight /= total;
    } else if (auto kinds = parse_kinds(args.kinds, today.room)) {
        settings.chance.days = *std::move(kinds);
    } else {
        return say_wrong("'" + args.kinds +
                         "' are no kinds of day. Write named days of the climate and weights: "
                         "\"dry 20, usual 60, damp 20\".");
    }
    if (const auto never = never_done(today, {.start = settings.start})) {
        std::fprintf(stderr, "coatroom size: no day of today's room ends. %s\n", never->c_str());
    }
    ProgressLine line;
    settings.progress = [&](const std::string& words) {
        known_so_far("So far: " + words + ". Nothing is written.");
        if (!args.quiet) line.show(words);
    };
    std::string problem;
    const auto study = study::SizeStudy::open(*options, settings, problem);
    if (interrupted()) return say_interrupted("No day had been simulated.");
    if (!study) return say_wrong(problem);
    if (shard.of == 0) return give(args, study->run());
    report::SizeShard part{study->head(), static_cast<int>(shard.shard), static_cast<int>(shard.of),
                           study->shard(shard.shard, shard.of)};
    const Undivided writing;
    if (interrupted()) return say_interrupted("This shard is not written.");
    if (const auto error = model::write_file_atomically(args.out, report::shard_to_json(part)))
        return not_written("size", *error);
    return Done;
}

}  // namespace sched::app
