// Whether each placement can be read at all, and its times stand in order.

#include <fmt/format.h>

#include <algorithm>

#include "sched/check/case.hpp"

namespace sched::check {

namespace {

bool choice_is_sound(Case& c, std::size_t i) {
    const auto& o = c.operation(i);
    const auto& p = c.placement(i);
    const auto& needs = c.mode(i).needs;
    if (p.chosen.size() != needs.size()) {
        c.say(Rule::Choice, i,
              fmt::format("{} has {} needs, but {} resources are chosen", o.name, needs.size(),
                          p.chosen.size()));
        return false;
    }
    if (c.has_begun(i) && p.chosen == c.begun[i]->chosen) return true;  // whoever it was
    bool sound = true;
    for (std::size_t n = 0; n < needs.size(); ++n) {
        const auto& from = needs[n].any_of;
        if (std::find(from.begin(), from.end(), p.chosen[n]) != from.end()) continue;
        sound = false;
        const bool known = p.chosen[n].valid() && p.chosen[n].index() < c.problem.resources.size();
        auto& v =
            c.say(Rule::Choice, i,
                  fmt::format(
                      "{} may not use {} for its need {}", o.name,
                      known ? c.resource(p.chosen[n]).name : "a resource that does not exist", n));
        if (known) v.resource = p.chosen[n];
    }
    if (!sound) return false;
    for (std::size_t n = 0; n < needs.size(); ++n) {
        for (std::size_t m = 0; m < n; ++m) {
            if (p.chosen[m] != p.chosen[n]) continue;
            c.say(Rule::Distinct, i,
                  fmt::format("{} uses {} for two needs", o.name, c.resource(p.chosen[n]).name))
                .resource = p.chosen[n];
        }
    }
    return true;
}

}  // namespace

void check_shape(Case& c) {
    c.sound.assign(c.size(), false);
    for (std::size_t i = 0; i < c.size(); ++i) {
        const auto& o = c.operation(i);
        const auto& p = c.placement(i);
        if (p.start > p.work_end || p.work_end > p.end) {
            c.say(Rule::Times, i,
                  fmt::format("{} has start, end of work and end out of order", o.name))
                .at = p.start;
        }
        if (p.mode < 0 || static_cast<std::size_t>(p.mode) >= o.modes.size()) {
            c.say(
                Rule::Mode, i,
                fmt::format("{} has {} modes, none is number {}", o.name, o.modes.size(), p.mode));
            continue;
        }
        c.sound[i] = choice_is_sound(c, i);
    }
}

}  // namespace sched::check
