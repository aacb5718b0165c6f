#include "sched/report/plan/break_lines.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

std::vector<BreakLine> lines_of(const core::Problem& problem, const RunLine& run) {
    std::vector<BreakLine> out;
    for (const core::Pause& x : problem.pauses) {
        if (x.at >= run.last_end) continue;
        out.push_back({.person = problem.resources[x.resource.index()].name,
                       .from = x.at,
                       .to = x.at + x.length,
                       .earliest = x.earliest,
                       .latest = x.latest});
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const auto& a, const auto& b) { return a.from < b.from; });
    return out;
}

}  // namespace

void add_breaks(const core::Problem& problem, PlanDocument& document) {
    document.breaks = lines_of(problem, document.run);
}

std::string break_words(const PlanDocument& document, const BreakLine& line) {
    const auto clock = [&](SimTime t) { return when(document.run, t); };
    std::string text = clock(line.from) + "–" + clock(line.to);
    if (line.earliest < line.latest) {
        text += fmt::format(" (between {} and {})", clock(line.earliest),
                            clock(line.latest + (line.to - line.from)));
    }
    return text;
}

bool is_over(const PlanDocument& document, const BreakLine& line) {
    return document.problem.now && line.to <= *document.problem.now;
}

std::string breaks_of(const PlanDocument& document, const std::string& person) {
    std::string text;
    for (const BreakLine& x : document.breaks) {
        if (x.person != person || is_over(document, x)) continue;
        text += (text.empty() ? "Break " : "; break ") + when(document.run, x.from) + "–" +
                when(document.run, x.to);
    }
    return text.empty() ? text : text + ".";
}

std::vector<std::string> break_contradictions(const PlanDocument& document) {
    std::vector<std::string> out;
    if (document.breaks != lines_of(document.problem, document.run))
        out.push_back("the listed breaks are not those of the problem");
    return out;
}

}  // namespace sched::report
