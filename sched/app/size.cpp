// coatroom size: is a change to the room worth its money?

#include <fmt/core.h>
#include <algorithm>
#include <cstdio>

#include "model/base/files.hpp"
#include "model/read/change_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/budget.hpp"
#include "sched/app/commands.hpp"
#include "sched/app/context.hpp"
#include "sched/study/size.hpp"

namespace sched::app {

namespace {

std::optional<std::vector<study::SizeOption>> size_options(const SizeArgs& args) {
    model::Diagnostics diagnostics;
    std::vector<study::SizeOption> options;
    const auto today = model::read_scenario(args.scenario, diagnostics);
    if (today) {
        model::Change nothing;
        nothing.name = "today";
        options.push_back({nothing, *today});
    }
    for (const std::string& file : args.changes) {
        const auto change = model::read_change(file, diagnostics);
        const auto scenario = model::read_changed_scenario(args.scenario, {file}, diagnostics);
        if (change && scenario) options.push_back({*change, *scenario});
    }
    print_diagnostics(diagnostics, false);
    if (diagnostics.has_errors() || !today) return std::nullopt;
    return options;
}

std::string signed_amount(double v) {
    return fmt::format("{:+.1f}", v);
}

std::string money_words(const study::MoneyCase& m) {
    std::string text = fmt::format(
        "costs {:.0f}; saves {:.0f} a year (95 %: {:.0f} to {:.0f}); net present value {:.0f} (95 "
        "%: "
        "{:.0f} to {:.0f})",
        m.investment, m.yearly_benefit, m.yearly_interval.low, m.yearly_interval.high,
        m.net_present_value, m.value_interval.low, m.value_interval.high);
    if (m.payback && m.yearly_benefit > 0.0)
        text += fmt::format("; paid back in {:.1f} years", *m.payback);
    return text;
}

std::string size_text(const study::SizeResult& r) {
    std::string out = r.conclusion + "\n";
    for (std::size_t v = 0; v < r.volumes.size(); ++v) {
        out +=
            fmt::format("\nAt {:.0f} % of today's volume (differences to today, 95 % interval)\n",
                        100.0 * r.volumes[v]);
        out += fmt::format("  {:<20} {:>5} {:>8} {:>22} {:>22}  {}\n", "room", "days", "on time",
                           "tardiness h a day", "turnaround p90 h", "busiest");
        for (const auto& c : r.cells) {
            if (c.volume != static_cast<int>(v)) continue;
            const auto figure = [&](const study::SizeFigure& f) {
                if (c.option == 0) return fmt::format("{:.2f}", f.mean.mean);
                return fmt::format("{} ({} {})", signed_amount(f.to_today.difference),
                                   signed_amount(f.to_today.interval.low),
                                   signed_amount(f.to_today.interval.high));
            };
            out += fmt::format("  {:<20} {:>5} {:>6.1f} % {:>22} {:>22}  {}\n",
                               r.options[static_cast<std::size_t>(c.option)], c.days,
                               100.0 * c.on_time, figure(c.tardiness_h), figure(c.turnaround_p90_h),
                               c.bottleneck);
        }
    }
    out += "\nMoney\n";
    for (std::size_t o = 1; o < r.options.size(); ++o) {
        out += "  " + r.options[o] + ": " + money_words(r.money[o]);
        if (r.copes_to[o]) {
            out += fmt::format("; copes to {:.0f} % of today's volume", 100.0 * *r.copes_to[o]);
        }
        out += "\n";
    }
    out +=
        "\nA further cabinet, lamp or booth needs its circuit, ventilation, drain and floor load "
        "approved by\nlicensed trades under local codes. Costs and prices are what you gave; demo "
        "figures are invented.\n";
    return out;
}

}  // namespace

int run_size(const SizeArgs& args) {
    auto search = search_options(args.search);
    if (!search) return BadInput;
    auto options = size_options(args);
    if (!options) return BadInput;
    study::SizeOptions settings;
    settings.seed = args.search.seed;
    settings.threads = search->threads;
    settings.most = static_cast<std::size_t>(args.days);
    settings.stop = search->stop;
    settings.prices.interest = args.interest / 100.0;
    settings.prices.energy = args.energy_price;
    settings.prices.overtime_hour = args.overtime_wage;
    settings.prices.late_order = args.late_order;
    settings.prices.late_hour = args.late_hour;
    settings.volumes.clear();
    for (const double percent : args.volumes)
        settings.volumes.push_back(percent / 100.0);
    std::optional<model::SimTime> start;
    for (const auto& o : options->front().scenario.orders) {
        const auto day = model::midnight(model::date_of(o.due));
        start = start ? std::min(*start, day) : day;
    }
    settings.start = start.value_or(model::SimTime{});
    ProgressLine line;
    settings.progress = [&](const std::string& words) { line.show(words); };
    std::string problem;
    const auto result = study::size_study(*options, settings, problem);
    if (!result) {
        std::fprintf(stderr, "coatroom size: %s\n", problem.c_str());
        return BadInput;
    }
    if (!args.csv.empty()) {
        if (const auto error =
                model::write_file_atomically(args.csv, study::days_to_csv(result->all))) {
            std::fprintf(stderr, "coatroom size: %s\n", error->c_str());
            return BadInput;
        }
    }
    const std::string text = size_text(*result);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return Done;
}

}  // namespace sched::app
