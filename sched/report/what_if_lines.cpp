#include "sched/report/what_if_lines.hpp"

#include <fmt/format.h>

#include <optional>

#include "model/base/time.hpp"

namespace sched::report {

namespace {

std::string what_if_change(const compile::RoomProblem& room, const search::WhatIf& w) {
    const std::string& name = room.problem.resources[w.resource.index()].name;
    const bool person = w.resource.index() < room.resources.size() &&
                        room.resources[w.resource.index()].kind == compile::ResourceKind::Person;
    switch (w.kind) {
        case search::WhatIf::Kind::OneMore:
            return person ? fmt::format("one more person who can do what {} does", name)
                          : fmt::format("one more place at {}", name);
        case search::WhatIf::Kind::Longer:
            return person ? fmt::format("{} stays an hour longer", name)
                          : fmt::format("{} is open an hour longer", name);
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
            what_if_change(room, w), what_if_saving(room.problem.objective[*k], w.saved[*k]));
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

}  // namespace

void add_what_ifs(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                  PlanDocument& document) {
    document.bottleneck.what_ifs.clear();
    for (const search::WhatIf& w : what_ifs) {
        std::string words = "saves nothing";
        if (const auto k = first_saving(room, w)) {
            words = what_if_saving(room.problem.objective[*k], w.saved[*k]);
            if (!w.certain) words += ", though not in every try of the search";
            if (w.next && *w.next != w.resource && w.next->index() < room.problem.resources.size())
                words += fmt::format("; then most waits are for {}",
                                     room.problem.resources[w.next->index()].name);
        }
        document.bottleneck.what_ifs.push_back({what_if_change(room, w), words});
    }
    add_bottleneck(room, what_ifs, document);
}

}  // namespace sched::report
