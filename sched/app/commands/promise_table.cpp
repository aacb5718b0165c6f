// coatroom promise --table, and the files of promises.

#include <cstdio>
#include <filesystem>
#include <fstream>

#include "model/read/scenario.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/promise_parts.hpp"
#include "sched/promise/lead_table.hpp"
#include "sched/report/promise/lead_page.hpp"
#include "sched/report/promise/promise_json.hpp"
#include "sched/report/promise/promise_page.hpp"

namespace sched::app {

namespace {

bool write_text(const std::filesystem::path& path, const std::string& text) {
    std::ofstream file(path, std::ios::binary);
    file << text;
    if (file.flush()) return true;
    std::fprintf(stderr, "coatroom promise: %s cannot be written.\n", path.string().c_str());
    return false;
}

}  // namespace

bool write_promises(const std::vector<study::Promise>& promises, const std::string& folder) {
    std::error_code error;
    const std::filesystem::path into(folder);
    std::filesystem::create_directories(into, error);
    if (!write_text(into / "promise.json", promises.size() == 1
                                               ? report::promise_to_json(promises.front())
                                               : report::promises_to_json(promises))) {
        return false;
    }
    for (std::size_t i = 0; i < promises.size(); ++i) {
        // Names of orders are the user's: they do not become names of files.
        const std::string name =
            promises.size() == 1 ? "promise.html" : "promise-" + std::to_string(i + 1) + ".html";
        if (!write_text(into / name, report::promise_page(promises[i]))) return false;
    }
    return true;
}

int run_promise_table(const PromiseArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics);
    print_diagnostics(diagnostics, args.json);
    if (!scenario) return BadInput;
    const auto promise = promise_options(args, *scenario);
    if (!promise) return BadInput;
    study::LeadTableOptions options{.weeks = args.weeks,
                                    .load = args.load / 100.0,
                                    .day_kind = args.day,
                                    .chance = promise->chance,
                                    .seed = args.seed,
                                    .threads = promise->threads,
                                    .stop = promise->stop};
    // The weeks begin on a Monday.
    options.start = model::midnight(model::date_of(promise->compile.start));
    options.start -= std::chrono::days{model::weekday_index(model::date_of(options.start))};
    std::string problem;
    const auto table = study::lead_table(*scenario, options, problem);
    if (!table) {
        std::fprintf(stderr, "coatroom promise: %s\n", problem.c_str());
        return No;
    }
    if (!args.out.empty()) {
        std::error_code error;
        const std::filesystem::path folder(args.out);
        std::filesystem::create_directories(folder, error);
        if (!write_text(folder / "lead-times.html", report::lead_page(*table)) ||
            !write_text(folder / "lead-times.csv", report::lead_csv(*table))) {
            return BadInput;
        }
    }
    const std::string text = args.json ? report::lead_json(*table) : report::lead_text(*table);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return Done;
}

}  // namespace sched::app
