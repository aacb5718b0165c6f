// When everything takes a fifth longer than the room's files say: are promises kept, and does the
// correction from past errors bring them back? coatroom-drift SCENARIO [--before 250] [--after 500]
// [--slower 1.2] [--journal FILE] [--reuse FILE]
// [--write docs/promise.md]: random enquiries promised as
// `coatroom promise` does it, then simulated; the journal of it judged as --backtest does it.

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <fstream>
#include <iterator>

#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/promise/calibrate.hpp"
#include "sched/statistics/conformal.hpp"

namespace {

using model::PastPromise;
using sched::study::BacktestRow;
using sched::study::CalibrateCase;

// Five a day, each with the waits that it had; a day a week, since all were simulated on one
// weekday.
void add_days(const std::vector<CalibrateCase>& cases, std::size_t a_day, model::SimTime first,
              std::vector<PastPromise>& journal) {
    for (std::size_t i = 0; i < cases.size(); ++i) {
        const CalibrateCase& c = cases[i];
        if (!c.answered || c.promised.size() < 4) continue;
        PastPromise p;
        p.enquiry = fmt::format("E{}", journal.size() + 1);
        p.asked = first + model::hours(7 * 24 * static_cast<std::int64_t>(i / a_day)) + c.entry;
        p.screens = c.screens;
        p.kind = c.kind;
        p.p50 = p.asked + c.promised[0];
        p.p80 = p.asked + c.promised[1];
        p.p90 = p.asked + c.promised[2];
        p.p95 = p.asked + c.promised[3];
        p.promised = *p.p90;
        p.ready = p.asked + c.happened;
        journal.push_back(p);
    }
}

std::string row(const BacktestRow& r, const std::string& name) {
    return fmt::format("| {} | {} | {:.1f} % ({:.1f} to {:.1f}) | {:.1f} | {:+.0f} |\n", name, r.n,
                       100.0 * static_cast<double>(r.kept) / static_cast<double>(r.n),
                       100.0 * r.coverage.low, 100.0 * r.coverage.high, r.wait_h, r.bias_min);
}

bool write_table(const std::string& path, const std::string& text) {
    std::ifstream in(path, std::ios::binary);
    std::string document{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    const std::string open = "<!-- drift -->\n";
    const std::size_t at = document.find(open);
    const std::size_t end = document.find("<!-- end -->", at);
    if (at == std::string::npos || end == std::string::npos) return false;
    document.replace(at + open.size(), end - at - open.size(), text);
    std::ofstream out(path, std::ios::binary);
    out << document;
    return static_cast<bool>(out.flush());
}

}  // namespace

namespace {

int report_drift(const model::Scenario& scenario, const std::vector<PastPromise>& journal,
                 std::size_t good, double slower, const std::string& write) {
    // What was promised before the room became slower, then the slow room in three parts.
    sched::study::CorrectionOptions how;
    how.clock = sched::study::WorkClock::of(scenario.room);
    const auto early = sched::study::backtest(std::span(journal).first(good), how);
    const auto all = sched::study::backtest(journal, how);
    std::string text =
        "| 90 % promises | n | kept (95 %) | wait h | ready after the middle, min |\n"
        "|---|---|---|---|---|\n";
    text += row(early.as_was, "usual days, as forecast");
    text += row(early.adaptive, "usual days, corrected");
    // With twice as many slow days as usual ones the first third is the usual ones and a few more.
    for (std::size_t t = 3; t < all.thirds.size(); ++t)
        text += row(all.thirds[t], all.thirds[t].name);
    text += fmt::format(
        "\n{} promises on usual days, then {} on days on which all work and drying took {:.2f} "
        "times as long as the files say; `{}` of the wait are added to the next one. Waits are "
        "shorter or longer with the mix of the third, too.\n",
        good, journal.size() - good, slower,
        all.now ? fmt::format("{:.0f} %", 100.0 * all.now->shift) : "nothing");
    std::fputs(text.c_str(), stdout);
    if (!write.empty() && !write_table(write, text)) {
        std::fprintf(stderr, "coatroom-drift: %s has no place for the table\n", write.c_str());
        return 2;
    }
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    std::string folder, journal_file, reuse, write;
    std::size_t before = 250, after = 500;
    double slower = 1.2;
    int replications = 99;
    sched::study::CalibrateOptions options;
    CLI::App app{"Promises under drift"};
    app.add_option("scenario", folder)->required();
    app.add_option("--before", before);
    app.add_option("--after", after);
    app.add_option("--slower", slower);
    app.add_option("--replications", replications);
    app.add_option("--journal", journal_file);
    app.add_option("--reuse", reuse,
                   "Judge this journal instead; its first --before are usual days");
    app.add_option("--threads", options.threads);
    app.add_option("--write", write);
    CLI11_PARSE(app, argc, argv);
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(folder, diagnostics);
    if (!scenario) {
        std::fprintf(stderr, "coatroom-drift: %s cannot be read\n", folder.c_str());
        return 2;
    }
    std::optional<model::SimTime> first;
    for (const auto& order : scenario->orders) {
        const auto day = model::midnight(model::date_of(order.due));
        first = first ? std::min(*first, day) : day;
    }
    options.promise.compile.start = first.value();
    options.promise.replications = static_cast<std::size_t>(replications);
    options.promise.remedies = false;
    options.progress = [](std::size_t done, std::size_t of) {
        std::fprintf(stderr, "\r%zu of %zu ", done, of);
    };
    std::vector<PastPromise> journal;
    std::size_t good = before;
    if (!reuse.empty()) {
        journal = model::read_promises(reuse, true, diagnostics);
        if (journal.size() <= good) {
            std::fprintf(stderr, "coatroom-drift: %s is no such journal\n", reuse.c_str());
            return 2;
        }
        return report_drift(*scenario, journal, good, slower, write);
    }
    options.enquiries = before;
    add_days(calibrate(*scenario, options), options.a_day, *first, journal);
    good = journal.size();
    options.enquiries = after;
    options.inflate = slower;
    options.promise.seed += 1000003;  // other days
    options.truth_seed += 1000003;
    add_days(calibrate(*scenario, options), options.a_day,
             *first + model::hours(7 * 24 * static_cast<std::int64_t>(before / options.a_day + 1)),
             journal);
    std::fprintf(stderr, "\n");
    if (!journal_file.empty()) {
        std::ofstream out(journal_file, std::ios::binary);
        out << model::promise_heading();
        for (const auto& p : journal)
            out << model::promise_row(p);
    }
    return report_drift(*scenario, journal, good, slower, write);
}
