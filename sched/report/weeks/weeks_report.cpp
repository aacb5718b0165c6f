// How it works: text, JSON and trace lines each read the LongRun and nothing else; figures of the
// JSON have six digits, so that it is the same on every machine.

#include "sched/report/weeks/weeks_report.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "model/room/steps.hpp"

namespace sched::report {

namespace {

using Json = nlohmann::ordered_json;

std::string hours_text(double seconds) {
    return model::format_duration(model::round_up(std::max(0.0, seconds)));
}

std::string mean_time(const study::MeanInterval& m) {
    const auto i = m.interval();
    return fmt::format("{} ({} to {})", hours_text(m.mean), hours_text(i.low), hours_text(i.high));
}

/// Six digits: more is noise, and the same text on every machine.
Json figure(double x) {
    if (!std::isfinite(x)) return nullptr;
    return std::strtod(fmt::format("{:.6g}", x).c_str(), nullptr);
}

Json interval_of(const study::MeanInterval& m) {
    return {{"mean", figure(m.mean)},
            {"half_width", figure(m.half_width)},
            {"low", figure(m.interval().low)},
            {"high", figure(m.interval().high)},
            {"n", m.n}};
}

std::string written(const Json& j) {
    return j.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace

namespace {

std::string turnaround_text(const study::LongRun& r) {
    std::string out;
    if (!r.trusted)
        out += fmt::format(
            "The run has not settled: these figures are rough. Take more days, --days {}.\n",
            4 * r.days);
    out += fmt::format("\nOrder from coming in to ready  mean {}\n", mean_time(r.turnaround));
    out += fmt::format("                               half by {}, nine in ten by {}\n",
                       mean_time(r.turnaround_p50), mean_time(r.turnaround_p90));
    return out + fmt::format(
                     "Late                           {:.1f} % ({:.1f} to {:.1f}) of orders, {} on "
                     "average\n",
                     100.0 * r.late.mean, 100.0 * std::max(0.0, r.late.interval().low),
                     100.0 * std::min(1.0, r.late.interval().high), hours_text(r.tardiness.mean));
}

}  // namespace

bool too_short(const study::LongRun& r) {
    constexpr std::size_t fewest_batches = 3;  // of which an interval can be made
    return r.batches < fewest_batches;
}

std::string too_short_words(const study::LongRun& r) {
    return fmt::format("So few days say nothing. Take more, --days {}.", std::max(40, 4 * r.days));
}

std::string weeks_text(const study::LongRun& r, const std::string& scenario) {
    if (r.days == 0 && r.offered.share > 1.0) {
        return fmt::format(
            "This room cannot keep up with {:.1f} orders a working day: their work would take at "
            "least {:.0f} % of the hours of {}. The queue grows without end; nothing was "
            "simulated.\nMore than {:.1f} orders a working day cannot be done by them, waiting, "
            "drying and walking not counted.\n",
            r.offered.orders_a_day, 100.0 * r.offered.share, r.offered.who,
            r.offered.most_orders_a_day());
    }
    std::string out = fmt::format(
        "{} working days of {}, {} orders in, {} ready; {} screens in, {} ready, {} inside at the "
        "end\n",
        r.days, scenario, r.orders_in, r.orders_out, r.screens_in, r.screens_out, r.screens_inside);
    out += fmt::format("{} screens made again, {} failures of stations, {} days of people absent\n",
                       r.remakes, r.failures, r.absences);
    if (r.pots.end) {
        out += fmt::format(
            "Emulsion that does not keep: mixed {} times, {} pots ended with some "
            "left in them",
            r.pots.mixed, r.pots.ended);
        if (r.pots.kept_days > 0)
            out += fmt::format("; on {} days without any other end it was taken to keep",
                               r.pots.kept_days);
        out += '\n';
    }
    out += fmt::format(
        "One run of {} days, first {} orders left out (MSER-5), {} batches of days; intervals 95 "
        "%{}\n",
        r.days, r.warm_up, r.batches,
        r.precise       ? "; stopped as precise as asked"
        : r.interrupted ? "; interrupted before they were enough"
                        : "");
    if (r.grows > 0.0)
        out += fmt::format(
            "\nThe queue grows by {:.1f} orders a working day: more comes in than the room can do. "
            "No turnaround can be stated.\n\n",
            r.grows);
    else if (too_short(r))
        return out + fmt::format("\n{}\n", too_short_words(r));
    else
        out += turnaround_text(r);
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

std::string weeks_json(const study::LongRun& r) {
    Json out = {{"days", r.days},
                {"precise", r.precise},
                {"interrupted", r.interrupted},
                {"orders_a_day", figure(r.offered.orders_a_day)},
                {"least_load", figure(r.offered.share)},
                {"least_load_of", r.offered.who},
                {"orders_in", r.orders_in},
                {"orders_ready", r.orders_out},
                {"screens_in", r.screens_in},
                {"screens_ready", r.screens_out},
                {"screens_inside", r.screens_inside},
                {"remakes", r.remakes},
                {"failures", r.failures},
                {"absences", r.absences},
                {"mixed", r.pots.mixed},
                {"pots_ended", r.pots.ended},
                {"days_pots_kept", r.pots.kept_days},
                {"warm_up_orders", r.warm_up},
                {"warm_up_trusted", r.warm_up_trusted},
                {"batches", r.batches},
                {"trusted", r.trusted},
                {"queue_grows_by", r.grows},
                {"turnaround_s", interval_of(r.turnaround)},
                {"turnaround_p50_s", interval_of(r.turnaround_p50)},
                {"turnaround_p90_s", interval_of(r.turnaround_p90)},
                {"late", interval_of(r.late)},
                {"tardiness_s", interval_of(r.tardiness)},
                {"screens_a_day", interval_of(r.throughput)},
                {"inside_mean", figure(r.inside_mean)},
                {"settled_from_day", r.settled_from},
                {"stretches", Json::array()},
                {"resources", Json::array()}};
    for (const auto& x : r.stretches) {
        out["stretches"].push_back({{"from_day", x.from},
                                    {"to_day", x.to},
                                    {"orders", x.orders},
                                    {"mean_s", figure(x.mean)},
                                    {"p10_s", figure(x.p10)},
                                    {"p90_s", figure(x.p90)}});
    }
    for (const auto& resource : r.resources) {
        out["resources"].push_back({{"name", resource.name},
                                    {"utilisation", interval_of(resource.utilisation)},
                                    {"allocation", interval_of(resource.allocation)}});
    }
    return written(out) + "\n";
}

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
        what, e.order, written(scenario.orders[static_cast<std::size_t>(e.kind)].name));
    if (e.operation >= 0) {
        const auto& info = room.operations[static_cast<std::size_t>(e.operation)];
        line += fmt::format(",\"screen\":{},\"step\":{},\"round\":{},\"with\":[", e.screen,
                            written(std::string(model::words_of(info.step))), e.round);
        for (std::size_t k = 0; k < e.resources.size(); ++k) {
            line += (k ? "," : "") +
                    written(room.problem.resources[static_cast<std::size_t>(e.resources[k])].name);
        }
        line += "]";
    }
    return line + "}\n";
}

}  // namespace sched::report
