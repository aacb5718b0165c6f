// Times of steps that cannot be kept: the remover, and exceptions of `times` (`but`): for whom and
// where each one is, and whether the step can differ so.

#include <fmt/format.h>

#include <algorithm>

#include "model/read/cross_check.hpp"
#include "model/room/steps.hpp"

namespace model::read {

SourcePlace place_under(const YamlNode& node, std::string_view key) {
    const YamlNode* value = node.find(key);
    return value != nullptr ? value->place : node.place;
}

SourcePlace item_place(const YamlNode& node, std::string_view key, std::size_t i) {
    const YamlNode* value = node.find(key);
    if (value == nullptr) return node.place;
    return value->kind == YamlNode::Kind::List && i < value->items.size() ? value->items[i].place
                                                                          : value->place;
}

namespace {

// Who puts it on for longer than it may work has no time left to rinse.
void check_remover(const Room& room, const YamlNode& tree, Findings& findings) {
    const auto found = room.steps.find(Step::Strip);
    const YamlNode* times = tree.find("times");
    if (found == room.steps.end() || times == nullptr) return;
    SourcePlace at = place_under(*times, "strip");
    Seconds on = found->second.attended + found->second.stand;
    for (const TimeException& e : found->second.but) {
        const Seconds here = e.attended.value_or(found->second.attended) + found->second.stand;
        if (here <= on || here <= room.limits.remover_max) continue;
        on = here;
        at = e.place;
    }
    if (on <= room.limits.remover_max) return;
    findings.error(at, "limits-cross",
                   fmt::format("strip takes {}, but the remover is rinsed off {} after it was "
                               "begun to be put on, at the latest.",
                               format_duration(on), format_duration(room.limits.remover_max)),
                   "Shorten strip (attended and stands together); the rinse is a step of its own.");
}

template <class E>
const E* named(const std::vector<E>& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const E& e) { return e.name == name; });
    return found == list.end() ? nullptr : &*found;
}

template <class E>
std::string all_names(const std::vector<E>& list) {
    std::vector<std::string> names;
    for (const E& e : list)
        names.push_back(e.name);
    return name_list(names);
}

// An exception must say for whom, and something that the step can keep.
void check_exception(const Room& room, Step step, const TimeException& e, const YamlNode& node,
                     Findings& findings) {
    const std::string word(words_of(step));
    const auto wrong = [&](const SourcePlace& place, std::string code, std::string what,
                           std::string hint) {
        findings.error(place, std::move(code), word + ": " + what, std::move(hint));
    };
    if (step == Step::TakeOut || step == Step::MixDissolve || step == Step::MixStir) {
        return wrong(node.place, "time-exception", "it takes the same time everywhere.",
                     "Leave but out here.");
    }
    const bool parts = dries_alone(step) || step == Step::Expose;
    if (parts && !e.by.empty())
        wrong(place_under(node, "by"), "time-exception", "it takes everybody the same time.",
              "Leave by out here, or name stations (at) or frames (frames above).");
    if ((parts || step == Step::Strip) && e.stand)
        wrong(place_under(node, "stands"), "time-exception", "it stands as long everywhere.",
              step == Step::Strip ? "How long the remover works is said under limits."
              : parts && step != Step::Expose
                  ? "Drying times of their own have coat plans (drying time) and cabinets (air)."
                  : "Leave stands out here.");
    if (e.at.empty() && e.by.empty() && !e.frames_from)
        wrong(node.place, "time-exception", "this exception says neither where nor who.",
              "Add at: a station, frames above: a size, or by: a person.");
    if (!e.attended && !e.stand)
        wrong(node.place, "time-exception", "this exception says no time.",
              "Add attended: or stands: with a time.");
    for (std::size_t i = 0; i < e.at.size(); ++i) {
        const Station* station = named(room.stations, e.at[i]);
        if (station == nullptr) {
            wrong(item_place(node, "at", i), "unknown-station",
                  fmt::format("there is no station {}.", in_quotes(e.at[i])),
                  fmt::format("Names known: {}.", all_names(room.stations)));
        } else if (!does_step(*station, step)) {
            wrong(item_place(node, "at", i), "time-exception",
                  fmt::format("{} does not do it.", in_quotes(e.at[i])),
                  "Name a station that does, or add the step to its does.");
        }
    }
    for (std::size_t i = 0; i < e.by.size(); ++i) {
        const Person* person = named(room.people, e.by[i]);
        if (person == nullptr) {
            wrong(item_place(node, "by", i), "unknown-person",
                  fmt::format("there is nobody named {}.", in_quotes(e.by[i])),
                  fmt::format("Names known: {}.", all_names(room.people)));
        } else if (!person->can.empty() &&
                   std::find(person->can.begin(), person->can.end(), step) == person->can.end()) {
            wrong(item_place(node, "by", i), "time-exception",
                  fmt::format("{} does not do it.", in_quotes(e.by[i])),
                  "Name a person who does, or add the step to their can.");
        }
    }
}

void check_exceptions(const Room& room, const YamlNode& tree, Findings& findings) {
    const YamlNode* times = tree.find("times");
    if (times == nullptr) return;
    for (std::size_t i = 0; i < times->keys.size() && i < times->items.size(); ++i) {
        const auto step = step_of(times->keys[i].text);
        const auto found = step ? room.steps.find(*step) : room.steps.end();
        const YamlNode* list = times->items[i].find("but");
        if (found == room.steps.end() || list == nullptr) continue;
        const auto& but = found->second.but;
        for (std::size_t k = 0; k < but.size() && k < list->items.size(); ++k)
            check_exception(room, *step, but[k], list->items[k], findings);
    }
}

}  // namespace

void check_times(const Room& room, const YamlNode& tree, Findings& findings) {
    check_remover(room, tree, findings);
    check_exceptions(room, tree, findings);
}

}  // namespace model::read
