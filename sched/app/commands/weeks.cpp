// coatroom weeks: the room in the long run, orders coming in day after day.

#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <fstream>

#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "model/room/step_names.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/context.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/simulate/long_run.hpp"

namespace sched::app {

namespace {

std::string hours_text(double seconds) {
    return model::format_duration(model::round_up(std::max(0.0, seconds)));
}

std::string mean_time(const study::MeanInterval& m) {
    return fmt::format("{} (± {})", hours_text(m.mean), hours_text(m.half_width));
}

std::string weeks_text(const study::LongRun& r, const WeeksArgs& args) {
    std::string out = fmt::format(
        "{} working days of {}, {} orders in, {} ready; {} screens in, {} ready, {} inside at the "
        "end\n",
        r.days, args.scenario, r.orders_in, r.orders_out, r.screens_in, r.screens_out,
        r.screens_inside);
    out += fmt::format("{} screens made again, {} failures of stations, {} days of people absent\n",
                       r.remakes, r.failures, r.absences);
    out += fmt::format(
        "One run of {} days, first {} orders left out (MSER-5){}, {} batches; intervals 95 %{}\n\n",
        r.days, r.warm_up,
        r.warm_up_trusted ? "" : ": half of the run, it has not settled; take more days", r.batches,
        r.precise ? "; stopped as precise as asked" : "");
    out += fmt::format("Order from coming in to ready  mean {}\n", mean_time(r.turnaround));
    out += fmt::format("                               half by {}, nine in ten by {}\n",
                       mean_time(r.turnaround_p50), mean_time(r.turnaround_p90));
    out +=
        fmt::format("Late                           {:.1f} % (± {:.1f}) of orders, {} on average\n",
                    100.0 * r.late.mean, 100.0 * r.late.half_width, hours_text(r.tardiness.mean));
    out += fmt::format("Ready a working day            {:.1f} screens (± {:.1f})\n",
                       r.throughput.mean, r.throughput.half_width);
    out +=
        fmt::format("Inside the room                {:.1f} screens on average\n\n", r.inside_mean);
    out += "Share of the opening hours         working       taken (held places too)\n";
    for (const auto& resource : r.resources) {
        out +=
            fmt::format("  {:<28} {:>6.1f} % ± {:<4.1f} {:>6.1f} % ± {:.1f}\n", resource.name,
                        100.0 * resource.utilisation.mean, 100.0 * resource.utilisation.half_width,
                        100.0 * resource.allocation.mean, 100.0 * resource.allocation.half_width);
    }
    return out;
}

std::string interval_json(const study::MeanInterval& m) {
    const auto number = [](double x) {
        return std::isfinite(x) ? fmt::format("{:.6g}", x) : std::string("null");
    };
    return fmt::format("{{\"mean\":{},\"half_width\":{},\"n\":{}}}", number(m.mean),
                       number(m.half_width), m.n);
}

std::string quoted(const std::string& text) {
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') {
            out += '\\';
            out += c;
        } else if (static_cast<unsigned char>(c) < 0x20) {
            out += fmt::format("\\u{:04x}", static_cast<int>(c));
        } else {
            out += c;
        }
    }
    return out + "\"";
}

std::string weeks_json(const study::LongRun& r) {
    std::string out = fmt::format(
        "{{\"days\":{},\"precise\":{},\"orders_in\":{},\"orders_ready\":{},\"screens_in\":{},"
        "\"screens_ready\":{},\"screens_inside\":{},\"remakes\":{},\"failures\":{},\"absences\":{},"
        "\"warm_up_orders\":{},\"warm_up_trusted\":{},\"batches\":{},",
        r.days, r.precise, r.orders_in, r.orders_out, r.screens_in, r.screens_out, r.screens_inside,
        r.remakes, r.failures, r.absences, r.warm_up, r.warm_up_trusted, r.batches);
    out += fmt::format(
        "\"turnaround_s\":{},\"turnaround_p50_s\":{},\"turnaround_p90_s\":{},\"late\":{},"
        "\"tardiness_s\":{},\"screens_a_day\":{},\"inside_mean\":{:.6g},\"resources\":[",
        interval_json(r.turnaround), interval_json(r.turnaround_p50),
        interval_json(r.turnaround_p90), interval_json(r.late), interval_json(r.tardiness),
        interval_json(r.throughput), r.inside_mean);
    for (std::size_t k = 0; k < r.resources.size(); ++k) {
        out += fmt::format("{}{{\"name\":{},\"utilisation\":{},\"allocation\":{}}}", k ? "," : "",
                           quoted(r.resources[k].name), interval_json(r.resources[k].utilisation),
                           interval_json(r.resources[k].allocation));
    }
    return out + "]}\n";
}

/// One line of the trace; docs/simulation.md has the schema.
std::string trace_line(const study::TraceEvent& e, const model::Scenario& scenario,
                       const compile::RoomProblem& room) {
    const char* what = "order in";
    switch (e.what) {
        case study::TraceEvent::What::OrderIn:
            break;
        case study::TraceEvent::What::Start:
            what = "start";
            break;
        case study::TraceEvent::What::WorkEnd:
            what = "done";
            break;
        case study::TraceEvent::What::OrderOut:
            what = "order ready";
            break;
    }
    std::string line = fmt::format(
        "{{\"t\":{},\"day\":{},\"event\":\"{}\",\"order\":{},\"like\":{}", e.at, e.at / 86'400 + 1,
        what, e.order, quoted(scenario.orders[static_cast<std::size_t>(e.kind)].name));
    if (e.operation >= 0) {
        const auto& info = room.operations[static_cast<std::size_t>(e.operation)];
        line += fmt::format(",\"screen\":{},\"step\":{},\"round\":{},\"with\":[", e.screen,
                            quoted(std::string(model::words_of(info.step))), e.round);
        for (std::size_t k = 0; k < e.resources.size(); ++k) {
            line += (k ? "," : "") +
                    quoted(room.problem.resources[static_cast<std::size_t>(e.resources[k])].name);
        }
        line += "]";
    }
    return line + "}\n";
}

}  // namespace

int run_weeks(const WeeksArgs& args) {
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(args.scenario, diagnostics);
    const auto files = scenario ? model::read_chance(*scenario, diagnostics) : std::nullopt;
    print_diagnostics(diagnostics, args.json);
    if (!scenario || !files) return BadInput;

    study::LongRunOptions options;
    options.days = args.days;
    options.seed = args.seed;
    options.chance = study::Chance::of(files->chance, *scenario);
    options.allowed = files->chance.promised;
    options.arrivals = study::arrivals_of(files->chance, files->past, *scenario);
    if (args.orders_a_day > 0.0) {
        const auto open = study::open_week(scenario->room);
        options.arrivals =
            study::even_arrivals(args.orders_a_day, open.weekdays, open.from_hour, open.to_hour,
                                 std::move(options.arrivals.kind_weight));
    }
    for (const auto& rule : study::long_run_rules()) {
        if (rule.name == args.rule) options.rule = rule.rule;
    }
    if (args.precision > 0.0)
        options.precision = study::Precision{.relative = args.precision / 100.0};
    options.stop = [] { return interrupted(); };
    ProgressLine line;
    options.progress = [&](int day, int of) {
        if (day % 10 == 0)
            line.show("living through day " + std::to_string(day) + " of " + std::to_string(of));
    };
    compile::CompileOptions compile_options;
    compile_options.start = day_of_plan({.command = "weeks", .typical_day = true}, *scenario)
                                .value_or(model::SimTime{});
    std::ofstream trace;
    std::optional<compile::RoomProblem> names;
    if (!args.trace.empty()) {
        trace.open(args.trace);
        compile::CompileOptions longer = compile_options;
        longer.spare_ways = true;
        model::Diagnostics said_before;
        names = compile::compile_room(*scenario, longer, said_before);
        if (!trace || !names) {
            std::fprintf(stderr, "coatroom weeks: cannot write %s\n", args.trace.c_str());
            return BadInput;
        }
        options.trace = [&](const study::TraceEvent& e) {
            trace << trace_line(e, *scenario, *names);
        };
    }
    const auto run = study::run_long(*scenario, compile_options, options);
    if (!run) {
        std::fprintf(stderr,
                     "coatroom weeks: this room cannot be run for weeks. Does coatroom plan find a "
                     "plan for it?\n");
        return BadInput;
    }
    if (!run->stuck.empty()) {
        std::fprintf(stderr, "coatroom weeks: the floor could not go on, %s\n", run->stuck.c_str());
    }
    const std::string text = args.json ? weeks_json(*run) : weeks_text(*run, args);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return run->stuck.empty() ? Done : No;
}

}  // namespace sched::app
