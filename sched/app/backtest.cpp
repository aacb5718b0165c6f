// coatroom promise --backtest: were past promises kept, and what does that say about the next one?

#include "sched/app/backtest.hpp"

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <utility>

#include "model/base/files.hpp"
#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/context.hpp"
#include "sched/app/files.hpp"
#include "sched/report/backtest_report.hpp"

namespace sched::app {

namespace {

// The forecasts that a journal keeps; another level of the shop cannot be judged by them.
std::optional<int> kept_percent(double level) {
    for (const int percent : {50, 80, 90, 95}) {
        if (std::abs(100.0 * level - percent) < 1e-6) return percent;
    }
    return std::nullopt;
}

}  // namespace

int run_backtest(const std::string& folder, const std::string& journal, bool json) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(folder, diagnostics);
    const auto promises = model::read_promises(journal, true, diagnostics);
    print_diagnostics(diagnostics, json);
    if (!scenario || diagnostics.has_errors()) return BadInput;
    study::CorrectionOptions options;
    const double level = scenario->room.promise.level.value;
    if (const auto percent = kept_percent(level)) {
        options.percent = *percent;
    } else {
        std::fprintf(stderr,
                     "coatroom promise: the shop's level of %.0f %% is none of 50, 80, 90, 95; the "
                     "forecasts at 90 %% are judged.\n",
                     100.0 * level);
    }
    const auto result = study::backtest(promises, options);
    const std::string text =
        json ? report::backtest_to_json(result) : report::backtest_to_text(result);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return Done;
}

std::optional<study::Correction> past_correction(const std::string& folder, double level,
                                                 model::SimTime now,
                                                 model::Diagnostics& diagnostics) {
    const auto percent = kept_percent(level);
    if (!percent) return std::nullopt;
    const auto promises = model::read_promises(
        (std::filesystem::path(folder) / model::promise_journal_name).string(), false, diagnostics);
    study::CorrectionOptions options;
    options.percent = *percent;
    return study::correction_at(promises, now, options);
}

std::string record_promise(const std::string& folder, const study::Promise& promise) {
    const std::string path = (std::filesystem::path(folder) / model::promise_journal_name).string();
    std::string text = model::promise_heading();
    if (std::filesystem::exists(path)) {
        const auto there = read_text(path, std::size_t{8} << 20);
        if (!there) return path + " cannot be read.";
        // A table with other columns, or lines of JSON, is somebody else's to continue.
        if (!there->empty() && there->rfind(text, 0) != 0) {
            return path + " does not begin with the line " + text.substr(0, text.size() - 1) +
                   ": the promise is not recorded in it.";
        }
        if (!there->empty()) text = *there;
        if (text.back() != '\n') text += '\n';
    }
    model::PastPromise row;
    row.enquiry = promise.enquiry.name;
    row.asked = promise.asked;
    row.screens = promise.screens;
    row.kind = promise.enquiry.lines.empty() ? "" : promise.enquiry.lines.front().coat_plan;
    for (const auto& q : promise.quantiles) {
        for (auto [percent, member] : {std::pair{50, &model::PastPromise::p50},
                                       {80, &model::PastPromise::p80},
                                       {90, &model::PastPromise::p90},
                                       {95, &model::PastPromise::p95}}) {
            if (std::lround(100.0 * q.level) == percent) row.*member = q.ready;
        }
    }
    row.promised = *promise.recommended;
    text += model::promise_row(row);
    return model::write_file_atomically(path, text).value_or("");
}

}  // namespace sched::app
