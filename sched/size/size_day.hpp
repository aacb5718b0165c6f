#pragma once
// One room of a size study on one kind of day, and one day simulated in it. Seen in this folder
// only.

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "sched/compile/room_problem.hpp"
#include "sched/simulate/day_run.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/realise.hpp"
#include "sched/size/size.hpp"

namespace sched::study {

/// Heating power of a cabinet [W], empty and with wet screens inside (load S = 0.25).
struct CabinetPower {
    int resource = 0;
    double empty = 0.0;
    double wet = 0.0;
};

/// Who simulates the days of a room: by what goes first, and the rows that it needs.
struct SizeRunner {
    std::unique_ptr<Policy> policy;
    std::unique_ptr<DayKit> kit;  // nullptr: days are realised one by one
};

struct SizeRoom {
    compile::RoomProblem room;    // with spare ways and a longer horizon
    compile::CompileOptions how;  // that it was compiled with
    bool pots_end = false;        // what is mixed may end while it is wanted
    Chance chance;
    std::unique_ptr<Realiser> realiser;
    SizeRunner ruled;                                    // by the rule of the study, or by lists
    std::map<const core::Schedule*, SizeRunner> follow;  // plans that may be followed here
    core::Window hours;                                  // opening hours of the first day
    std::vector<CabinetPower> cabinets;
    std::vector<int> lamps;  // resources that expose
};

/// @param scenario must outlive the room.
std::unique_ptr<SizeRoom> open_size_room(const model::Scenario& scenario,
                                         const SizeOptions& settings, const std::string& day_kind,
                                         std::string& problem);
/// The same from a room that is compiled already. @returns nullptr when the rule is unknown.
std::unique_ptr<SizeRoom> make_size_room(const model::Scenario& scenario, compile::RoomProblem room,
                                         const SizeOptions& settings);
/// Gets a room ready to follow a plan of its run. @returns whether it can.
bool make_followed(SizeRoom& room, const std::shared_ptr<const core::Schedule>& plan);

/// What one thread needs to simulate days. Its rooms must outlive it.
struct SizeWorker {
    SizeWorker();
    ~SizeWorker();
    SizeWorker(SizeWorker&&) noexcept;
    std::map<const SizeRunner*, std::unique_ptr<DayRun>> runs;
    DayDisturbances disturbances;
    double aims = 0.0;  // of the last day: the room's aims in one number (list_search.hpp)
};

/// @param plan that is followed, or list by which it is worked; neither: the room's rule.
SizeDay simulate_size_day(const SizeRoom& room, const SizeOptions& settings, SizeDay asked,
                          SizeWorker& worker, const std::vector<double>* list = nullptr,
                          const core::Schedule* plan = nullptr);

SizeTheory size_theory(const SizeRoom& room);
/// Where the days simulated are not what the theory allows, in words; the day is that of `cell`.
std::vector<std::string> disagreements(const SizeTheory& theory, const SizeCell& cell,
                                       std::span<const SizeDay* const> days);

/// The sentences of a result: conclusion and one per room.
void add_words(SizeResult& result);

}  // namespace sched::study
