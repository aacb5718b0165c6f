#include "sched/app/replanned.hpp"

#include <cstdio>

#include "model/base/units.hpp"
#include "sched/app/context.hpp"
#include "sched/app/files.hpp"
#include "sched/report/problem_json.hpp"

namespace sched::app {

std::optional<Earlier> read_earlier(const PlanArgs& args) {
    if (args.earlier.empty()) return std::nullopt;
    constexpr std::size_t most_bytes = std::size_t{64} << 20;
    const auto text = read_text(args.earlier, most_bytes);
    if (!text) {
        std::fprintf(stderr, "coatroom plan: %s cannot be read, or is larger than 64 MiB.\n",
                     args.earlier.c_str());
        return std::nullopt;
    }
    model::Diagnostics diagnostics;
    auto found = report::problem_of(*text, diagnostics, args.earlier);
    print_diagnostics(diagnostics, false);
    if (!found) return std::nullopt;
    const auto now = model::parse_date_time(args.now);
    if (!now) {
        std::fprintf(stderr,
                     "coatroom plan: --earlier needs --now, the present time: 2026-11-26T10:40.\n");
        return std::nullopt;
    }
    const auto frozen = model::parse_duration(args.frozen);
    if (!frozen.value) {
        std::fprintf(stderr, "coatroom plan: --frozen %s: %s\n", args.frozen.c_str(),
                     frozen.problem.c_str());
        return std::nullopt;
    }
    return Earlier{
        std::move(found->first), std::move(found->second), {.now = *now, .frozen = *frozen.value}};
}

search::Replan plan_again(const Earlier& earlier, const core::Problem& problem,
                          const search::SearchOptions& options) {
    return search::replan(problem,
                          search::match_by_name(earlier.problem, earlier.schedule, problem),
                          earlier.how, options);
}

void print_changes(const core::Problem& problem, const std::vector<search::Change>& changes) {
    std::printf("\nChanges against the plan on the wall: %zu\n", changes.size());
    for (const auto& change : changes) {
        std::string line = "  " + problem.operations[change.operation.index()].name;
        if (change.old_start != change.new_start) {
            line += " moves from " + model::format_time_of_day(change.old_start) + " to " +
                    model::format_time_of_day(change.new_start);
        }
        const auto known = [&](core::ResourceId id) {
            return id.index() < problem.resources.size();
        };
        for (std::size_t i = 0; i < change.new_chosen.size() && i < change.old_chosen.size(); ++i) {
            const auto was = change.old_chosen[i];
            const auto is = change.new_chosen[i];
            if (was == is || !known(was) || !known(is)) continue;
            line += ", " + problem.resources[is.index()].name + " instead of " +
                    problem.resources[was.index()].name;
        }
        std::printf("%s\n", line.c_str());
    }
}

}  // namespace sched::app
