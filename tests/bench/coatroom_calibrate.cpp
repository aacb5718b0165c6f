// Do promises hold? coatroom-calibrate SCENARIO [--enquiries 2000] [--write docs/promise.md]:
// random enquiries, promised as `coatroom promise` does it, simulated with random variation that no
// promise has seen. Prints the reliability table; with --write puts it between the marks of a
// document.

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <iterator>

#include "model/read/scenario.hpp"
#include "sched/promise/calibrate.hpp"
#include "sched/promise/order_mix.hpp"

namespace {

using sched::study::CalibrateCase;
using sched::study::Calibration;

std::string share(const sched::study::Odds& o) {
    return fmt::format("{:.1f} % ({:.1f} to {:.1f})", 100.0 * o.share, 100.0 * o.interval.low,
                       100.0 * o.interval.high);
}

std::string row(const std::string& name, const Calibration& c) {
    if (c.n == 0) return {};
    return fmt::format("| {} | {} | {} | {} | {} | {} | {:.2f} | {:.2f} |\n", name, c.n,
                       share(c.kept[0]), share(c.kept[1]), share(c.kept[2]), share(c.kept[3]),
                       c.mean_lead_h, c.sharpness);
}

template <class Keep>
Calibration of(const std::vector<CalibrateCase>& all, Keep keep) {
    std::vector<const CalibrateCase*> some;
    for (const auto& c : all) {
        if (keep(c)) some.push_back(&c);
    }
    return calibration_of(some);
}

std::string table(const std::vector<CalibrateCase>& all, const std::vector<double>& loads) {
    const Calibration whole = of(all, [](const CalibrateCase&) { return true; });
    std::string out =
        "| enquiries | n | 50 % hold | 80 % hold | 90 % hold | 95 % hold | mean lead h | width / "
        "lead |\n|---|---|---|---|---|---|---|---|\n";
    out += row("all", whole);
    for (const double load : loads) {
        out += row(fmt::format("load {:.0f} %", 100.0 * load),
                   of(all, [&](const CalibrateCase& c) { return c.load == load; }));
    }
    for (const auto& group : sched::study::size_groups()) {
        out += row(group.words() + " screens",
                   of(all, [&](const CalibrateCase& c) { return group.holds(c.screens); }));
    }
    std::vector<std::string> kinds;
    for (const auto& c : all) {
        if (!c.kind.empty() && std::find(kinds.begin(), kinds.end(), c.kind) == kinds.end())
            kinds.push_back(c.kind);
    }
    std::sort(kinds.begin(), kinds.end());
    for (const auto& kind : kinds)
        out += row(kind, of(all, [&](const CalibrateCase& c) { return c.kind == kind; }));
    out += fmt::format(
        "\nRounded up to the pick-up times, {} of the promises hold; the pick-up time is {:.2f} h "
        "after the "
        "question on average, the 90 % time {:.2f} h. What happened is {:+.1f} minutes from the "
        "50 % time on average. {} of {} enquiries got no answer.\n",
        share(whole.slot_kept), whole.mean_slot_h, whole.mean_promised_h, whole.bias_minutes,
        all.size() - whole.n, all.size());
    return out;
}

bool write_between(const std::string& path, const std::string& mark, const std::string& text) {
    std::ifstream in(path, std::ios::binary);
    std::string document{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    const std::string open = "<!-- calibration: " + mark + " -->\n";
    const std::size_t at = document.find(open);
    const std::size_t end = document.find("<!-- end -->", at);
    if (at == std::string::npos || end == std::string::npos) return false;
    document.replace(at + open.size(), end - at - open.size(), text);
    std::ofstream(path, std::ios::binary) << document;
    return true;
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"How often promises hold"};
    std::string folder, document, mark = "main", cases;
    sched::study::CalibrateOptions options;
    options.promise.replications = 99;
    options.promise.base_evaluations = 120;
    options.threads = 2;
    app.add_option("scenario", folder)->required();
    app.add_option("--enquiries", options.enquiries);
    app.add_option("--a-day", options.a_day, "Enquiries asked of one day's room")
        ->check(CLI::PositiveNumber);
    app.add_option("--replications", options.promise.replications);
    app.add_option("--loads", options.loads)->delimiter(',');
    app.add_option("--inflate", options.inflate, "Real times, in times the planned");
    app.add_flag("--later-order", options.later_order, "Another order is accepted afterwards");
    app.add_flag("--under-way", options.under_way, "Asked in the middle of a day that goes on");
    app.add_option("--threads", options.threads);
    app.add_option("--write", document, "Document with <!-- calibration: MARK -->");
    app.add_option("--mark", mark);
    app.add_option("--cases", cases, "CSV of every enquiry");
    CLI11_PARSE(app, argc, argv);
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(folder, diagnostics);
    for (const auto& d : diagnostics.all())
        std::fprintf(stderr, "%s\n", model::to_text(d).c_str());
    if (!scenario) return 2;
    auto first = scenario->orders.front().due;
    for (const auto& o : scenario->orders)
        first = std::min(first, o.due);
    options.promise.compile.start = model::midnight(model::date_of(first));
    options.progress = [](std::size_t done, std::size_t all) {
        if (done % 200 == 0) std::fprintf(stderr, "%zu of %zu\n", done, all);
    };
    const auto begun = std::chrono::steady_clock::now();
    const auto all = calibrate(*scenario, options);
    const double seconds =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
    const std::string text = table(all, options.loads);
    std::printf("%s\n%.0f s\n", text.c_str(), seconds);
    if (!cases.empty()) {
        std::ofstream out(cases);
        out << "number,load,screens,kind,entry_s,planned_s,p50_s,p80_s,p90_s,p95_s,slot_s,"
               "happened_s\n";
        for (const auto& c : all) {
            if (!c.answered) continue;
            out << c.number << ',' << c.load << ',' << c.screens << ",\"" << c.kind << "\","
                << c.entry.count() << ',' << c.planned.count();
            for (const auto p : c.promised)
                out << ',' << p.count();
            out << ',' << c.slot.count() << ',' << c.happened.count() << '\n';
        }
    }
    if (!document.empty() && !write_between(document, mark, text)) {
        std::fprintf(stderr, "%s has no mark for %s\n", document.c_str(), mark.c_str());
        return 2;
    }
    return 0;
}
