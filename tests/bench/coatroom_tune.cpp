// Does coatroom tune find the truth? coatroom-tune recover SCENARIO [--shops 400] [--days 3]:
// simulated shops whose files say less than their days take; bias and coverage of the intervals,
// with late and forgotten marks. coatroom-tune loop SCENARIO [--shops 24] [--days 40]: the same
// shops promise every morning by `sched/promise` and tune every evening: how many 90 % promises
// hold, day by day. --write FILE puts the table between the marks of a document.

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <iterator>

#include "model/read/scenario.hpp"
#include "model/room/working_day.hpp"
#include "tests/bench/tune_loop.hpp"
#include "tests/tune/recovery.hpp"

namespace {

using namespace tune_tests;

bool write_between(const std::string& path, const std::string& mark, const std::string& text) {
    std::ifstream in(path, std::ios::binary);
    std::string document{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    const std::string open = "<!-- " + mark + " -->\n";
    const std::size_t at = document.find(open);
    const std::size_t end = document.find("<!-- end -->", at);
    if (at == std::string::npos || end == std::string::npos) return false;
    document.replace(at + open.size(), end - at - open.size(), text);
    std::ofstream out(path, std::ios::binary);
    out << document;
    return static_cast<bool>(out.flush());
}

std::string coverage_row(const std::string& name, const Coverage& c) {
    if (c.n == 0) return {};
    const auto i = sched::study::wilson_interval(static_cast<std::int64_t>(c.held),
                                                 static_cast<std::int64_t>(c.n), 0.95);
    return fmt::format("| {} | {} | {:+.2f} % | {:.1f} % ({:.1f} to {:.1f}) |\n", name, c.n,
                       100.0 * c.bias(), 100.0 * c.share(), 100.0 * i.low, 100.0 * i.high);
}

std::string recovery_table(const Recovery& r) {
    std::string out =
        "| figure | intervals | bias | 90 % intervals that hold the truth (95 %) |\n"
        "|---|---|---|---|\n";
    out += coverage_row("step times, all", r.times);
    for (const auto& [step, c] : r.each)
        out += coverage_row(std::string(model::words_of(step)), c);
    out += coverage_row("work varies", r.work_cv);
    out += coverage_row("transfer factor", r.factor);
    out += coverage_row("drying varies", r.drying_cv);
    return out +
           fmt::format(
               "\n{} shops; of {} lengths {:.1f} % were known whole, {:.1f} % were "
               "touched late, {:.1f} % had no done.\n",
               r.shops, r.whole + r.late + r.lost,
               100.0 * static_cast<double>(r.whole) /
                   static_cast<double>(r.whole + r.late + r.lost),
               100.0 * static_cast<double>(r.late) / static_cast<double>(r.whole + r.late + r.lost),
               100.0 * static_cast<double>(r.lost) /
                   static_cast<double>(r.whole + r.late + r.lost));
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"What tune learns from shops whose truth is known"};
    std::string what, folder, document, svg;
    std::size_t shops = 0;
    int days = 0;
    std::uint64_t first = 1000;
    Truth truth;
    Habits habits{.bunched = 0.15, .forgotten = 0.05, .dry_seen = 0.8};
    app.add_option("what", what)->required()->check(CLI::IsMember({"recover", "loop"}));
    app.add_option("scenario", folder)->required();
    app.add_option("--shops", shops, "400 for recover, 24 for loop");
    app.add_option("--days", days, "Of marks: 3 for recover, 40 for loop");
    app.add_option("--first", first, "Seed of the first shop");
    app.add_option("--work", truth.work);
    app.add_option("--spread", truth.spread, "Of the steps about --work; 0.1 for recover");
    app.add_option("--drying", truth.drying);
    app.add_option("--work-cv", truth.work_cv);
    app.add_option("--bunched", habits.bunched);
    app.add_option("--forgotten", habits.forgotten);
    app.add_option("--write", document);
    app.add_option("--svg", svg, "loop: the curve, drawn into this file");
    CLI11_PARSE(app, argc, argv);
    if (what == "recover" && truth.spread == 0.0) truth.spread = 0.1;
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(folder, diagnostics);
    const auto start = scenario ? model::first_due_day(scenario->orders) : std::nullopt;
    if (!start) return 2;
    std::string text;
    if (what == "recover") {
        const Shop shop(*scenario, *start, truth);
        if (!shop.sound()) return 2;
        text = recovery_table(
            recover(shop, truth, first, shops > 0 ? shops : 400, days > 0 ? days : 3, habits));
    } else {
        LoopOptions options;
        options.shops = shops > 0 ? shops : 24;
        options.days = days > 0 ? days : 40;
        options.first = first;
        options.truth = truth;
        options.habits = habits;
        options.progress = [](std::size_t done, std::size_t of) {
            std::fprintf(stderr, "shop %zu of %zu\n", done, of);
        };
        const Loop loop = run_loop(*scenario, *start, options);
        text = loop_table(loop);
        if (!svg.empty()) std::ofstream(svg) << loop_svg(loop);
    }
    std::fputs(text.c_str(), stdout);
    if (document.empty() || write_between(document, "tune " + what, text)) return 0;
    std::fprintf(stderr, "%s has no mark for tune %s\n", document.c_str(), what.c_str());
    return 2;
}
