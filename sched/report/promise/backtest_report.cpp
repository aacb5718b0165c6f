#include "sched/report/promise/backtest_report.hpp"

#include <fmt/format.h>

#include <cmath>

#include "sched/report/document/json_reader.hpp"

namespace sched::report {

namespace {

using study::Backtest;
using study::BacktestRow;

std::string coverage_line(const BacktestRow& r) {
    if (r.n == 0) return fmt::format("  {:<30} none\n", r.name);
    const double n = static_cast<double>(r.n);
    return fmt::format(
        "  {:<30} {:>6} {:>6} {:>7.1f} % ({:>5.1f} to {:>5.1f})  {:>7.1f}  {:>8.0f}\n", r.name, r.n,
        r.kept, 100.0 * static_cast<double>(r.kept) / n, 100.0 * r.coverage.low,
        100.0 * r.coverage.high, r.wait_h, r.spare_min);
}

std::string coverage_head() {
    return fmt::format("  {:<30} {:>6} {:>6} {:>9} {:>16}  {:>7}  {:>8}\n", "", "n", "kept",
                       "share", "(95 %)", "wait h", "spare min");
}

Json row_json(const BacktestRow& r, const char* group) {
    return Json{{"group", group},
                {"name", r.name},
                {"n", r.n},
                {"kept", r.kept},
                {"share", r.n > 0 ? Json(static_cast<double>(r.kept) / static_cast<double>(r.n))
                                  : Json(nullptr)},
                {"low", r.coverage.low},
                {"high", r.coverage.high},
                {"wait_hours", r.wait_h},
                {"spare_minutes", r.spare_min},
                {"bias_minutes", r.bias_n > 0 ? Json(r.bias_min) : Json(nullptr)},
                {"bias_low", r.bias.low},
                {"bias_high", r.bias.high}};
}

}  // namespace

std::string correction_words(const study::Correction& c) {
    std::string out;
    if (c.relative) {
        out = fmt::format("{:.0f} % of the wait {}", std::abs(100.0 * c.shift),
                          c.shift >= 0.0 ? "are added" : "are taken off");
    } else {
        out = fmt::format(
            "{} {}", model::format_duration(model::minutes(std::llround(std::abs(c.shift) / 60.0))),
            c.shift >= 0.0 ? "are added" : "are taken off");
    }
    out +=
        fmt::format(" at {} %; {} outcomes, {:.1f} % asked for", c.percent, c.n, 100.0 * c.asked);
    if (c.at_largest) out += "; no past error is large enough for that: the largest is used";
    return out;
}

std::string backtest_to_text(const Backtest& b) {
    std::string out = fmt::format(
        "{} promises, {} of them not due yet\n\nWere they kept? (share with its 95 % interval by "
        "Wilson)\n",
        b.entries, b.open);
    out += coverage_head() + coverage_line(b.promised);
    for (const auto& r : b.sizes)
        out += coverage_line(r);
    for (const auto& r : b.kinds)
        out += coverage_line(r);
    if (b.promised.bias_n > 0) {
        out += fmt::format(
            "\nBias: ready {:.0f} min {} than the middle of the forecast (95 %: {:+.0f} to {:+.0f} "
            "min, {} promises)\n",
            std::abs(b.promised.bias_min), b.promised.bias_min >= 0.0 ? "later" : "sooner",
            b.promised.bias.low, b.promised.bias.high, b.promised.bias_n);
    }
    if (!b.quantiles.empty()) {
        out += "\nDoes the forecast say the truth?\n" + coverage_head();
        for (const auto& r : b.quantiles)
            out += coverage_line(r);
    }
    if (b.as_was.n > 0) {
        out += fmt::format("\nThe forecast at {} %, given again with what was known at each hour\n",
                           b.options.percent);
        out += coverage_head() + coverage_line(b.as_was) + coverage_line(b.split) +
               coverage_line(b.adaptive);
        for (const auto& r : b.thirds)
            out += coverage_line(r);
        if (b.at_largest > 0) {
            out += fmt::format(
                "  ({} of the adaptive ones rest on the largest error seen: none was large "
                "enough)\n",
                b.at_largest);
        }
    }
    out += "\nFor the next promise: ";
    out += b.now ? correction_words(*b.now)
                 : fmt::format("no correction; that takes {} outcomes with a forecast at {} %",
                               b.options.least, b.options.percent);
    return out + "\n";
}

std::string backtest_to_json(const Backtest& b) {
    Json rows = Json::array();
    rows.push_back(row_json(b.promised, "promised"));
    const auto add = [&](const std::vector<BacktestRow>& list, const char* group) {
        for (const auto& r : list)
            rows.push_back(row_json(r, group));
    };
    add(b.sizes, "size");
    add(b.kinds, "kind");
    add(b.quantiles, "forecast");
    add({b.as_was, b.split, b.adaptive}, "again");
    add(b.thirds, "third");
    Json now = nullptr;
    if (b.now) {
        now = Json{{"percent", b.now->percent},
                   {"relative", b.now->relative},
                   {"shift", b.now->shift},
                   {"asked", b.now->asked},
                   {"outcomes", b.now->n},
                   {"at_largest", b.now->at_largest},
                   {"words", correction_words(*b.now)}};
    }
    return lines_of(Json{{"format", 1},
                         {"entries", b.entries},
                         {"open", b.open},
                         {"percent", b.options.percent},
                         {"rows", rows},
                         {"correction", now}});
}

}  // namespace sched::report
