#include "sched/compile/same_work.hpp"

#include <map>
#include <string>
#include <tuple>
#include <utility>

namespace sched::compile {

namespace {

// Whose work, its number among pots of one emulsion, step, part, round, how many like it before.
using WorkName = std::tuple<std::string, int, int, int, int, int>;
using StoreName = std::tuple<std::string, int, int>;

// Per mix: the first, second, ... of its emulsion.
std::vector<int> mix_numbers(const RoomProblem& room) {
    std::map<std::string, int> before;
    std::vector<int> out;
    for (const MixInfo& mix : room.mixes)
        out.push_back(++before[mix.emulsion]);
    return out;
}

std::vector<WorkName> work_names(const RoomProblem& room) {
    const std::vector<int> number = mix_numbers(room);
    std::map<WorkName, int> before;
    std::vector<WorkName> out;
    for (const OperationInfo& o : room.operations) {
        WorkName name{"", 0, static_cast<int>(o.step), static_cast<int>(o.part), o.round, 0};
        if (o.screen >= 0) {
            std::get<0>(name) = room.screens[static_cast<std::size_t>(o.screen)].tag;
        } else if (o.mix >= 0) {
            const auto mix = static_cast<std::size_t>(o.mix);
            std::get<0>(name) = room.mixes[mix].emulsion;
            std::get<1>(name) = number[mix];
        } else if (o.returned >= 0) {
            std::get<0>(name) = room.returns[static_cast<std::size_t>(o.returned)].tag;
        }
        std::get<5>(name) = before[name]++;
        out.push_back(std::move(name));
    }
    return out;
}

std::vector<StoreName> store_names(const RoomProblem& room) {
    std::vector<StoreName> out;
    for (const core::Store& store : room.problem.stores)
        out.emplace_back(store.name, 0, 0);
    const std::vector<int> number = mix_numbers(room);
    for (std::size_t m = 0; m < room.mixes.size(); ++m)
        out[room.mixes[m].store.index()] = {room.mixes[m].emulsion, number[m], 0};
    std::map<StoreName, int> before;
    for (StoreName& name : out) {
        const int n = before[name]++;
        std::get<2>(name) = n;
    }
    return out;
}

template <class Name>
std::vector<int> matched(const std::vector<Name>& from, const std::vector<Name>& to) {
    std::map<Name, int> at;
    for (std::size_t i = 0; i < to.size(); ++i)
        at.emplace(to[i], static_cast<int>(i));
    std::vector<int> out;
    for (const Name& name : from) {
        const auto same = at.find(name);
        out.push_back(same == at.end() ? -1 : same->second);
    }
    return out;
}

}  // namespace

SameWork same_work(const RoomProblem& from, const RoomProblem& to) {
    return {.operation = matched(work_names(from), work_names(to)),
            .store = matched(store_names(from), store_names(to)),
            .operations = to.operations.size()};
}

std::optional<core::Schedule> carried(const core::Schedule& schedule, const SameWork& same) {
    core::Schedule out;
    out.placements.resize(same.operations);
    std::size_t found = 0;
    for (std::size_t i = 0; i < schedule.placements.size(); ++i) {
        if (same.operation[i] < 0) continue;
        core::Placement& to = out.placements[static_cast<std::size_t>(same.operation[i])];
        to = schedule.placements[i];
        for (core::StoreId& store : to.stores) {
            const int at = same.store[store.index()];
            if (at < 0) return std::nullopt;
            store = core::StoreId{static_cast<std::size_t>(at)};
        }
        ++found;
    }
    if (found != same.operations) return std::nullopt;
    return out;
}

}  // namespace sched::compile
