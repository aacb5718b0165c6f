#include "sched/report/plan/replan_lines.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

using core::ResourceId;

std::vector<std::string> names_of(const core::Problem& problem,
                                  const std::vector<ResourceId>& chosen,
                                  const std::vector<ResourceId>& not_in) {
    std::vector<std::string> names;
    for (const ResourceId r : chosen) {
        if (std::find(not_in.begin(), not_in.end(), r) != not_in.end()) continue;
        const std::string& name = problem.resources[r.index()].name;
        if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
    }
    return names;
}

std::string change_words(const core::Problem& problem, const search::Change& change,
                         const std::vector<std::string>& failed, const PlanDocument& d) {
    const OperationLine& line = d.operations[change.operation.index()];
    if (change.old_start < *problem.now && change.new_start >= *problem.now &&
        std::find(failed.begin(), failed.end(), line.screen) != failed.end()) {
        return fmt::format("{} is done again, at {} (first at {})", line.words,
                           when(d.run, change.new_start), when(d.run, change.old_start));
    }
    const auto gone = names_of(problem, change.old_chosen, change.new_chosen);
    const auto come = names_of(problem, change.new_chosen, change.old_chosen);
    std::vector<std::string> parts;
    const std::string then = when(d.run, change.old_start), now = when(d.run, change.new_start);
    if (then != now) {
        parts.push_back(fmt::format("moves from {} to {}", then, now));
    }
    if (!come.empty() && !gone.empty()) {
        parts.push_back(joined(come) + " instead of " + joined(gone));
    } else if (!come.empty()) {
        parts.push_back("with " + joined(come));
    } else if (!gone.empty()) {
        parts.push_back("without " + joined(gone));
    }
    if (parts.empty()) parts.emplace_back("is done another way");
    std::string words = line.words;
    if (then == now) words += fmt::format(" at {}:", now);
    for (std::size_t i = 0; i < parts.size(); ++i)
        words += (i == 0 ? " " : ", ") + parts[i];
    return words;
}

}  // namespace

void add_again(const core::Problem& problem, const AgainFacts& facts, PlanDocument& document) {
    AgainSection again{.now = *problem.now};
    for (const core::Begun& b : problem.begun)
        (b.end ? again.over : again.under_way).push_back(b.operation.value);
    std::sort(again.over.begin(), again.over.end());
    std::sort(again.under_way.begin(), again.under_way.end());
    again.notes = facts.notes;
    again.compared = facts.earlier != nullptr;
    if (facts.replan != nullptr) {
        again.held = facts.replan->frozen;
        again.relaxed = facts.replan->relaxed;
        for (const search::Change& c : facts.replan->changes) {
            again.changes.push_back({c.operation.value, c.old_start, c.new_start,
                                     change_words(problem, c, facts.failed, document)});
        }
    }
    document.again = std::move(again);
}

std::vector<char> over_of(const PlanDocument& document) {
    std::vector<char> flags(document.operations.size(), 0);
    if (!document.again) return flags;
    for (const int i : document.again->over)
        flags[static_cast<std::size_t>(i)] = 1;
    return flags;
}

std::vector<char> changed_of(const PlanDocument& document) {
    std::vector<char> flags(document.operations.size(), 0);
    if (!document.again) return flags;
    for (const ChangeLine& c : document.again->changes)
        flags[static_cast<std::size_t>(c.operation)] = 1;
    return flags;
}

std::string again_sentence(const PlanDocument& document) {
    if (!document.again) return {};
    const AgainSection& a = *document.again;
    std::string words = fmt::format("Planned from {} on: {} steps were done, {} under way.",
                                    when(document.run, a.now), a.over.size(), a.under_way.size());
    if (!a.compared) return words;
    if (a.changes.empty()) return words + " Nothing differs from the posted plan.";
    words += fmt::format(" {} {} from the posted plan.", a.changes.size(),
                         a.changes.size() == 1 ? "step differs" : "steps differ");
    if (a.relaxed > 0)
        words += fmt::format(" {} of the frozen window could not be held.", a.relaxed);
    return words;
}

}  // namespace sched::report
