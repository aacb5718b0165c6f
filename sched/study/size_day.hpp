#pragma once
// One room of a size study and one day lived in it. Seen in this folder only.

#include <memory>
#include <string>
#include <vector>

#include "sched/compile/room_problem.hpp"
#include "sched/study/executor.hpp"
#include "sched/study/realise.hpp"
#include "sched/study/size.hpp"

namespace sched::study {

/// Heating power of a cabinet [W], empty and with wet screens inside (load S = 0.25).
struct CabinetPower {
    int resource = 0;
    double empty = 0.0;
    double wet = 0.0;
};

struct SizeRoom {
    const model::Scenario* scenario = nullptr;
    compile::RoomProblem room;  // with spare ways and a longer horizon
    std::unique_ptr<Realiser> realiser;
    std::unique_ptr<Policy> policy;
    core::Window hours;  // opening hours of the first day
    std::vector<CabinetPower> cabinets;
    std::vector<int> lamps;  // resources that expose
};

std::unique_ptr<SizeRoom> open_size_room(const model::Scenario& scenario,
                                         const SizeOptions& settings, std::string& problem);
SizeDay live_size_day(const SizeRoom& room, const SizeOptions& settings, int option, int volume,
                      std::uint64_t day);
std::string size_resource_name(const SizeRoom& room, int resource);
SizeTheory size_theory(const SizeRoom& room, int option);

}  // namespace sched::study
