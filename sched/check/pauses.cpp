// Whether everyone has the whole of every break, read off the schedule itself: the calendars that
// the planner worked with are not believed.

#include <fmt/format.h>

#include <algorithm>

#include "sched/check/case.hpp"

namespace sched::check {

namespace {

std::string span_words(core::SimTime from, core::Seconds length) {
    return fmt::format("{} to {}", model::format_date_time(from),
                       model::format_date_time(from + length));
}

Violation& complain(Case& c, const core::Pause& pause, std::string words) {
    c.found.push_back({.rule = Rule::Pause,
                       .resource = pause.resource,
                       .at = pause.at,
                       .words = std::move(words)});
    return c.found.back();
}

void check_window(Case& c, const core::Pause& pause) {
    if (pause.at >= pause.earliest && pause.at <= pause.latest) return;
    complain(c, pause,
             fmt::format("{} has a break {}, which must begin between {} and {}",
                         c.resource(pause.resource).name, span_words(pause.at, pause.length),
                         model::format_date_time(pause.earliest),
                         model::format_date_time(pause.latest)));
}

// Seconds of [from, to) in which the resource's calendar is open.
core::Seconds open_seconds(const core::Resource& resource, core::SimTime from, core::SimTime to) {
    if (!resource.calendar) return to - from;
    core::Seconds open{0};
    for (const core::Window& w : *resource.calendar) {
        const auto a = std::max(from, w.from);
        const auto b = std::min(to, w.to);
        if (a < b) open += b - a;
    }
    return open;
}

void check_free(Case& c, const core::Pause& pause) {
    const core::SimTime till = pause.at + pause.length;
    const auto& resource = c.resource(pause.resource);
    if (open_seconds(resource, pause.at, till) > core::Seconds{0}) {
        complain(c, pause,
                 fmt::format("{} counts as there during the break {}", resource.name,
                             span_words(pause.at, pause.length)));
    }
    for (std::size_t i = 0; i < c.size(); ++i) {
        if (!c.sound[i] || c.operation(i).pausable) continue;  // suspended work waits
        const bool begun =
            std::any_of(c.problem.begun.begin(), c.problem.begun.end(),
                        [&](const core::Begun& b) { return b.operation.index() == i; });
        if (begun) continue;  // a fact
        const auto& placed = c.placement(i);
        const auto& needs = c.mode(i).needs;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            if (placed.chosen[n] != pause.resource) continue;
            const auto end = needs[n].span == core::Span::Whole ? placed.end : placed.work_end;
            // What takes no time needs nobody.
            if (end <= pause.at || placed.start >= till || end <= placed.start) continue;
            complain(c, pause,
                     fmt::format("{} works on {} in the break {}", resource.name,
                                 c.operation(i).name, span_words(pause.at, pause.length)))
                .operation = core::OperationId{i};
        }
    }
}

}  // namespace

void check_pauses(Case& c) {
    const auto& pauses = c.problem.pauses;
    for (std::size_t k = 0; k < pauses.size(); ++k) {
        check_window(c, pauses[k]);
        check_free(c, pauses[k]);
        for (std::size_t other = k + 1; other < pauses.size(); ++other) {
            const auto& x = pauses[other];
            if (x.resource != pauses[k].resource || x.at >= pauses[k].at + pauses[k].length ||
                pauses[k].at >= x.at + x.length)
                continue;
            complain(c, x,
                     fmt::format("two breaks of {} meet at {}", c.resource(x.resource).name,
                                 model::format_date_time(std::max(x.at, pauses[k].at))));
        }
    }
}

}  // namespace sched::check
