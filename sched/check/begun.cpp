// Work that had begun before the moment of the plan, from its definition in problem.hpp: it stays
// as it was, and nothing else starts before that moment.

#include <fmt/format.h>

#include "sched/check/case.hpp"

namespace sched::check {

namespace {

/// What of the fact the placement does not have; nullptr: nothing.
const char* difference(const core::Begun& fact, const core::Placement& p, bool dries) {
    if (p.start != fact.start) return "start";
    if (p.mode != fact.mode) return "way of doing it";
    if (p.chosen != fact.chosen) return "places and people";
    if (p.stores != fact.stores) return "stores";
    if (p.batch != fact.batch) return "batch";
    if (fact.end && p.end != *fact.end) return "end";
    if (!fact.work_end) return nullptr;
    // What is wet may need longer than was said, by its clock (check_drying).
    if (dries && !fact.end ? p.work_end < *fact.work_end : p.work_end != *fact.work_end)
        return "end of work";
    return nullptr;
}

}  // namespace

void check_begun(Case& c) {
    c.begun.assign(c.size(), nullptr);
    for (const core::Begun& fact : c.problem.begun)
        c.begun[fact.operation.index()] = &fact;
    if (!c.problem.now) return;
    for (std::size_t i = 0; i < c.size(); ++i) {
        const core::Placement& p = c.placement(i);
        if (const core::Begun* fact = c.begun[i]) {
            const auto& modes = c.operation(i).modes;
            const bool dries = !modes[static_cast<std::size_t>(fact->mode)].stages.empty() &&
                               fact->work_end && *fact->work_end > *c.problem.now;
            if (const char* what = difference(*fact, p, dries)) {
                c.say(Rule::Begun, i,
                      fmt::format("{} has begun at {}, but the plan has another {}",
                                  c.operation(i).name, model::format_date_time(fact->start), what))
                    .at = p.start;
            }
            // Gone from its place only if it was said so.
            if (!fact->end && p.end < *c.problem.now) {
                c.say(Rule::Begun, i,
                      fmt::format("{} is still in its place at {}, but the plan ends it at {}",
                                  c.operation(i).name, model::format_date_time(*c.problem.now),
                                  model::format_date_time(p.end)))
                    .at = p.end;
            }
        } else if (p.start < *c.problem.now) {
            c.say(Rule::Begun, i,
                  fmt::format("{} has not begun, but starts at {}, before {}", c.operation(i).name,
                              model::format_date_time(p.start),
                              model::format_date_time(*c.problem.now)))
                .at = p.start;
        }
    }
}

}  // namespace sched::check
