#include "sched/report/plan/chance_lines.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

constexpr std::size_t most_named = 4;

// In the middle of the day: nothing can be done for it any more.
bool is_over(const PlanDocument& document, const OrderLine& order) {
    return document.again && order.ready && *order.ready <= document.again->now;
}

std::string watched(const PlanDocument& document) {
    std::vector<const OrderLine*> watch;
    for (const OrderLine& order : document.orders) {
        if (is_over(document, order)) continue;
        if (order.chance_late && *order.chance_late > marked_chance) watch.push_back(&order);
    }
    std::stable_sort(watch.begin(), watch.end(),
                     [](auto* a, auto* b) { return *a->chance_late > *b->chance_late; });
    std::string words;
    const std::size_t named = std::min(watch.size(), most_named);
    for (std::size_t k = 0; k < named; ++k) {
        words += k == 0                                         ? "; watch "
                 : k + 1 == named && watch.size() <= most_named ? " and "
                                                                : ", ";
        words += fmt::format("{} ({})", watch[k]->name, chance_words(watch[k]->chance_late));
    }
    if (watch.size() > most_named) words += fmt::format(" and {} more", watch.size() - most_named);
    return words;
}

}  // namespace

bool at_risk(const OrderLine& order) {
    return (order.lateness && *order.lateness > Seconds{0}) ||
           (order.chance_late && *order.chance_late > marked_chance);
}

OrderLine as_expected(const OrderLine& order) {
    OrderLine out = order;
    if (!order.ready_p50) return out;
    out.ready = order.ready_p50;
    if (order.due) out.lateness = *order.ready_p50 - *order.due;
    return out;
}

void add_turns(const std::vector<std::int32_t>& turns, PlanDocument& document) {
    for (std::size_t i = 0; i < turns.size() && i < document.operations.size(); ++i)
        document.operations[i].turn = turns[i];
}

void add_first_words(PlanDocument& document) {
    double expected = 0.0;
    std::size_t due = 0, over = 0;
    std::vector<std::string> were_late;
    const OrderLine* worst = nullptr;
    for (const OrderLine& order : document.orders) {
        if (!order.chance_late) continue;
        if (is_over(document, order)) {
            ++over;
            if (order.lateness && *order.lateness > Seconds{0}) were_late.push_back(order.name);
            continue;
        }
        expected += *order.chance_late;
        ++due;
        if (worst == nullptr || *worst->chance_late < *order.chance_late) worst = &order;
    }
    if (due + over == 0) return;
    const auto late = static_cast<std::size_t>(std::lround(expected));
    std::string watch = watched(document);
    if (late > 0 && due > 1 && watch.empty())  // many small chances: who is meant?
        watch = fmt::format("; the likeliest is {} ({})", worst->name,
                            chance_words(worst->chance_late));
    const char* other = over > 0 ? "other " : "";
    std::string words = due == 0    ? std::string("All orders are ready")
                        : late == 0 ? (due == 1 ? fmt::format("The {}order is", other)
                                                : fmt::format("All {} {}orders are", due, other)) +
                                          std::string(" likely to be on time")
                        : due == 1
                            ? fmt::format("The {}order will probably be late", other)
                            : fmt::format("About {} of {} {}orders will be late", late, due, other);
    if (!were_late.empty())
        words = fmt::format("{} {} ready late. ", joined(were_late),
                            were_late.size() == 1 ? "was" : "were") +
                words;
    document.run.first_words = words + watch + ".";
}

std::string recourse_words(const PlanDocument& document) {
    const bool turns = std::any_of(document.operations.begin(), document.operations.end(),
                                   [](const OperationLine& o) { return o.turn.has_value(); });
    if (turns)
        return "Steps stand at the time at which they begin if nothing takes longer than planned; "
               "there is no slack in them. If the day differs: whoever is free takes, of what can "
               "be done now, the step with the lowest number (Turn on the sheets). Turns do not "
               "rise with the time: they say what goes first, not what begins first, and a step "
               "may have to wait for a dry screen or a free place.";
    if (!document.run.replications) return {};
    return "Steps stand at the time at which they begin if nothing takes longer than planned; "
           "there is no slack in them. If the day differs: whoever is free takes, of what can be "
           "done now, the step that is planned first.";
}

std::string on_hold_words(const PlanDocument& document) {
    for (const WarningLine& warning : document.warnings) {
        if (warning.code != "on-hold") continue;
        std::string words = warning.words.substr(0, warning.words.rfind(". ") + 1);
        if (words.empty()) words = warning.words;
        words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
        return words;
    }
    return {};
}

}  // namespace sched::report
