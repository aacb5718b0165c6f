#include "sched/report/plan/what_if_lines.hpp"

#include <fmt/format.h>

#include <optional>

#include "model/base/time.hpp"

namespace sched::report {

namespace {

// "expose A7-1 before B2-3"; loading stands for the exposure that it begins.
std::string turn_words(const compile::RoomProblem& room, const search::WhatIf& w) {
    const auto& first = room.operations[w.first.index()];
    const auto& second = room.operations[w.second.index()];
    const auto tag = [&](const compile::OperationInfo& o) {
        return o.screen >= 0 ? room.screens[static_cast<std::size_t>(o.screen)].tag : o.words;
    };
    return fmt::format("{} before {} (a decision)", first.words, tag(second));
}

// " (07:00 to 15:30)" of its first day; empty: always there.
std::string hours_of(const core::Resource& r) {
    if (!r.calendar || r.calendar->empty()) return {};
    const auto day = model::date_of(r.calendar->front().from);
    core::SimTime to = r.calendar->front().to;
    for (const auto& window : *r.calendar) {
        if (model::date_of(window.from) == day) to = window.to;
    }
    return fmt::format(" ({} to {})", model::format_time_of_day(r.calendar->front().from),
                       model::format_time_of_day(to));
}

std::string what_if_change(const compile::RoomProblem& room, const search::WhatIf& w,
                           const std::vector<std::string>& others) {
    if (w.kind == search::WhatIf::Kind::Other) return others[w.other];
    if (w.kind == search::WhatIf::Kind::Before) return turn_words(room, w);
    const std::string& name = room.problem.resources[w.resource.index()].name;
    const bool person = w.resource.index() < room.resources.size() &&
                        room.resources[w.resource.index()].kind == compile::ResourceKind::Person;
    switch (w.kind) {
        case search::WhatIf::Kind::OneMore:
            return person ? fmt::format("one more person who can do what {} does{}", name,
                                        hours_of(room.problem.resources[w.resource.index()]))
                          : fmt::format("one more place at {}", name);
        case search::WhatIf::Kind::Longer:
            return person ? fmt::format("{} stays half an hour longer", name)
                          : fmt::format("{} is open half an hour longer", name);
        case search::WhatIf::Kind::Before:
        case search::WhatIf::Kind::Other:
            break;
    }
    return {};
}

std::string what_if_saving(core::Criterion criterion, std::int64_t saved) {
    const std::string time = model::format_duration(Seconds{saved});
    switch (criterion) {
        case core::Criterion::WeightedTardiness:
            return fmt::format("saves {} of lateness (weighted)", time);
        case core::Criterion::LateOrders:
            return fmt::format("{} order{} fewer late", saved, saved == 1 ? "" : "s");
        case core::Criterion::Overtime:
            return fmt::format("saves {} of overtime", time);
        case core::Criterion::Makespan:
            return fmt::format("the run ends {} sooner", time);
        case core::Criterion::Holding:
            return fmt::format("saves {} of standing about", time);
        case core::Criterion::FlowTime:
            return fmt::format("saves {} of passage, all orders added", time);
    }
    return {};
}

}  // namespace

namespace {

// The first criterion that counts and by how much it is better; nullopt: nothing is saved.
std::optional<std::size_t> first_saving(const compile::RoomProblem& room, const search::WhatIf& w) {
    for (std::size_t k = 0; k < w.saved.size(); ++k) {
        // Less standing alone is nothing that anybody would buy a cabinet for.
        if (w.saved[k] != 0 && room.problem.objective[k] != core::Criterion::Holding)
            return w.saved[k] > 0 ? std::optional(k) : std::nullopt;
    }
    return std::nullopt;
}

// The bottleneck by planning again: what one more of it saves, where it moves, how sure that is.
void add_bottleneck(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                    PlanDocument& document) {
    for (const search::WhatIf& w : what_ifs) {  // best first
        if (w.kind != search::WhatIf::Kind::OneMore) continue;
        const auto k = first_saving(room, w);
        auto& out = document.bottleneck.sentences;
        if (!k) {
            out.push_back("Planned again with one more of each, nothing is saved.");
            return;
        }
        std::string words = fmt::format(
            "Planned again, {} {}: no other single addition that was tried saves more",
            what_if_change(room, w, {}), what_if_saving(room.problem.objective[*k], w.saved[*k]));
        if (w.next && *w.next != w.resource && w.next->index() < room.problem.resources.size())
            words += fmt::format(". The bottleneck then moves to {}",
                                 room.problem.resources[w.next->index()].name);
        out.push_back(words + ".");
        const auto& aim = document.aims;
        const std::int64_t open =
            *k < aim.size() && aim[*k].bound ? aim[*k].value - *aim[*k].bound : 0;
        if (w.certain && open == 0)
            out.push_back(
                "Every try of the search agrees, and the plan itself is proved best on "
                "that aim.");
        else if (w.certain && open < w.saved[*k])
            out.push_back(
                "Every try of the search agrees, and it is more than the plan could be "
                "improved without it.");
        else if (w.certain)
            out.push_back(
                "Every try of the search agrees; yet the plan is not proved best, and a "
                "better one might save as much without it.");
        else
            out.push_back("Not every try of the search agrees, so this is a hint, no proof.");
        return;
    }
}

// "A7 35 min and A9 10 min less late, B2 20 min later": the most first, at most three of each.
std::string orders_words(const compile::RoomProblem& room, const search::WhatIf& w) {
    std::string less, more;
    int helped = 0, harmed = 0;
    const auto add = [&](std::string& to, core::OrderId order, Seconds by) {
        to += fmt::format("{}{} {}", to.empty() ? "" : ", ",
                          room.problem.orders[order.index()].name, model::format_duration(by));
    };
    for (const auto& o : w.orders) {
        if (o.less > Seconds{0} && helped++ < 3) add(less, o.order, o.less);
    }
    for (auto o = w.orders.rbegin(); o != w.orders.rend(); ++o) {
        if (o->less < Seconds{0} && harmed++ < 3) add(more, o->order, -o->less);
    }
    if (helped > 3) less += fmt::format(" and {} more", helped - 3);
    if (harmed > 3) more += fmt::format(" and {} more", harmed - 3);
    if (!less.empty()) less += " less late";
    if (!more.empty()) more += " later";
    return less + (less.empty() || more.empty() ? "" : "; ") + more;
}

}  // namespace

void add_what_ifs(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                  PlanDocument& document, const std::vector<std::string>& others) {
    document.bottleneck.what_ifs.clear();
    for (const search::WhatIf& w : what_ifs) {
        std::string words = "saves nothing";
        if (const auto k = first_saving(room, w)) {
            words = what_if_saving(room.problem.objective[*k], w.saved[*k]);
            if (const auto who = orders_words(room, w); !who.empty()) words += ": " + who;
            if (!w.certain) words += ", though not in every try of the search";
            if (w.next && *w.next != w.resource && w.next->index() < room.problem.resources.size())
                words += fmt::format("; then most waits are for {}",
                                     room.problem.resources[w.next->index()].name);
        } else if (const auto who = orders_words(room, w); !who.empty()) {
            words = "no gain in all: " + who;
        }
        document.bottleneck.what_ifs.push_back({what_if_change(room, w, others), words});
    }
    add_bottleneck(room, what_ifs, document);
}

}  // namespace sched::report
