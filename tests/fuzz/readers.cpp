// Every reader of files under libFuzzer, one at a time: COATROOM_FUZZ_TARGET=room.yaml
// coatroom-fuzz CORPUS. campaign.py runs all of them from a corpus of the scenarios
// (docs/reliability.md).
//
// How it works: the other files of the scenario stay those of scenarios/damp-day
// (COATROOM_FUZZ_BASE). Whatever is read goes on: a room is compiled and its problem validated,
// answers become files that are read, a plan goes to the judges and through its own writer. A
// sanitizer or an assertion ends the program; so does what was refused without a place.

#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <string>

#include "model/begin/answers_file.hpp"
#include "model/begin/files.hpp"
#include "model/read/chance_file.hpp"
#include "model/read/change_file.hpp"
#include "model/read/enquiry_file.hpp"
#include "model/read/order_history.hpp"
#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "model/read/state_file.hpp"
#include "sched/check/checker.hpp"
#include "sched/check/room/judge.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/report/document/plan_json.hpp"

namespace {

namespace fs = std::filesystem;
using Texts = std::map<std::string, std::string>;

[[noreturn]] void wrong(const std::string& what) {
    std::fprintf(stderr, "wrong: %s\n", what.c_str());
    std::abort();
}

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

const Texts& base() {
    static const Texts texts = [] {
        const char* folder = std::getenv("COATROOM_FUZZ_BASE");
        Texts out;
        const fs::path own = folder != nullptr ? folder : COATROOM_SOURCE "/scenarios/first-day";
        for (const char* name : {"room.yaml", "orders.csv", "frames.csv"})
            out[name] = text_of(own / name);
        out["weather.csv"] =
            text_of((folder != nullptr ? own : fs::path(COATROOM_SOURCE "/scenarios/damp-day")) /
                    "weather.csv");
        return out;
    }();
    return texts;
}

const model::Scenario& base_scenario() {
    static const model::Scenario scenario = [] {
        model::Diagnostics diagnostics;
        auto read = model::read_scenario(base(), "base", diagnostics);
        if (!read) wrong("the base is no scenario");
        return *std::move(read);
    }();
    return scenario;
}

// Refused: with a place in a file, and what is wrong.
void look_at(const model::Diagnostics& diagnostics, bool read) {
    if (!read && diagnostics.error_count() == 0) wrong("refused without a word");
    for (const auto& d : diagnostics.all()) {
        if (d.place.file.empty() || d.message.empty()) wrong("a finding without file or words");
        if (d.place.line < 0 || d.place.column < 0) wrong("a place before the file");
    }
}

void compile(const model::Scenario& scenario) {
    std::size_t screens = 0;
    for (const auto& order : scenario.orders) {
        for (const auto& line : order.lines)
            screens += static_cast<std::size_t>(line.count);
    }
    if (screens > 12) return;  // for the sake of speed
    model::Diagnostics diagnostics;
    const auto room = sched::compile::compile_room(
        scenario, {.start = *model::parse_date_time("2026-11-26T00:00"), .days = 2}, diagnostics);
    look_at(diagnostics, room.has_value());
    if (!room) return;
    if (const auto found = sched::core::validate(room->problem); !found.empty())
        wrong("the compiled problem: " + found.front());
}

void scenario_file(const std::string& name, const std::string& text) {
    Texts texts = base();
    texts[name] = text;
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(texts, "fuzz", diagnostics);
    look_at(diagnostics, scenario.has_value());
    if (scenario) compile(*scenario);
}

// A folder in memory, for readers that take a path.
const fs::path& folder() {
    static const fs::path path = [] {
        const fs::path made = fs::path("/dev/shm") / ("coatroom-fuzz-" + std::to_string(getpid()));
        fs::create_directories(made);
        for (const auto& [name, text] : base())
            std::ofstream(made / name, std::ios::binary) << text;
        return made;
    }();
    return path;
}

std::string written(const std::string& name, const std::string& text) {
    std::ofstream(folder() / name, std::ios::binary) << text;
    return (folder() / name).string();
}

void beside_scenario(const std::string& name, const std::string& text) {
    model::Diagnostics diagnostics;
    const std::string path = written(name, text);
    bool read = true;
    if (name == "state.yaml") {
        read = model::read_state(path, true, diagnostics).has_value();
    } else if (name == "promises.csv") {
        (void)model::read_promises(path, true, diagnostics);
    } else if (name == "enquiries.csv") {
        read = model::read::read_enquiries(path, diagnostics).has_value();
    } else if (name == "history.csv") {
        read = model::read_order_history(path, base_scenario(), diagnostics).has_value();
    } else if (name == "change.yaml") {
        read = model::read_change(path, diagnostics).has_value();
        look_at(diagnostics, read);
        if (!read) return;
        model::Diagnostics laid;
        const auto changed = model::read_changed_scenario(folder().string(), {path}, laid);
        look_at(laid, changed.has_value());
        if (changed) compile(*changed);
        return;
    } else {  // chance.yaml, arrivals.csv
        model::Scenario scenario = base_scenario();
        scenario.folder = folder().string();
        read = model::read_chance(scenario, diagnostics).has_value();
        fs::remove(path);
    }
    look_at(diagnostics, read);
}

void answers(const std::string& text) {
    model::Diagnostics diagnostics;
    const auto read = model::begin::read_answers(text, "answers.txt", diagnostics);
    if (!read) return look_at(diagnostics, false);
    const auto shop = model::begin::shop_of(*read, "answers.txt", diagnostics);
    look_at(diagnostics, shop.has_value());
    if (!shop) return;
    Texts texts;
    for (const auto& file :
         model::begin::files_of(*shop, "fuzz", *model::parse_date("2026-11-25"), *read))
        texts[file.name] = file.text;
    model::Diagnostics of_files;
    const auto scenario = model::read_scenario(
        texts, "fuzz", of_files, {.day = *model::parse_date_time("2026-11-25T00:00")});
    look_at(of_files, scenario.has_value());
    if (scenario) compile(*scenario);
}

void plan(const std::string& text) {
    model::Diagnostics diagnostics;
    const auto document = sched::report::plan_from_json(text, diagnostics, "plan.json");
    look_at(diagnostics, document.has_value());
    if (!document) return;
    (void)sched::check::check(document->problem, document->schedule);
    if (sched::check::room::judge_document(*document).empty())
        (void)sched::check::room::judge_room(*document, base_scenario());
    const std::string again = sched::report::plan_to_json(*document);
    model::Diagnostics of_own;
    const auto reread = sched::report::plan_from_json(again, of_own, "plan.json");
    if (!reread) wrong("what was written is not read");
    if (sched::report::plan_to_json(*reread) != again) wrong("written otherwise when read again");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::string target = [] {
        const char* name = std::getenv("COATROOM_FUZZ_TARGET");
        return std::string(name != nullptr ? name : "room.yaml");
    }();
    const std::string text(reinterpret_cast<const char*>(data), size);
    if (base().contains(target))
        scenario_file(target, text);
    else if (target == "answers.txt")
        answers(text);
    else if (target == "plan.json")
        plan(text);
    else
        beside_scenario(target, text);
    return 0;
}
