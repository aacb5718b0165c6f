#include "sched/report/what_if_lines.hpp"

#include <fmt/format.h>

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

void add_what_ifs(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                  PlanDocument& document) {
    document.bottleneck.what_ifs.clear();
    for (const search::WhatIf& w : what_ifs) {
        std::string words = "saves nothing";
        for (std::size_t k = 0; k < w.saved.size(); ++k) {
            // Less standing alone is nothing that anybody would buy a cabinet for.
            if (w.saved[k] <= 0 || room.problem.objective[k] == core::Criterion::Holding) continue;
            words = what_if_saving(room.problem.objective[k], w.saved[k]);
            if (!w.certain) words += ", though not in every try of the search";
            if (w.next && *w.next != w.resource && w.next->index() < room.problem.resources.size())
                words += fmt::format("; then most waits are for {}",
                                     room.problem.resources[w.next->index()].name);
            break;
        }
        document.bottleneck.what_ifs.push_back({what_if_change(room, w), words});
    }
}

}  // namespace sched::report
