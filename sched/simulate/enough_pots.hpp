#pragma once
// How many pots a room needs, so that plan, promise and size speak of the same work.

#include <functional>
#include <map>
#include <optional>
#include <string>

#include "model/room/room.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::study {

/// Some emulsion that is mixed ends sooner than `time` after that.
bool pots_end_in(const model::Room& room, model::Seconds time);

/// Some of what is mixed ends within half of the run: as the engine mixes on demand
/// (CompiledProblem::find_on_demand). Days of such a run are realised in full.
bool mixed_on_demand(const core::Problem& problem);

/// The options with which there is a plan: as asked; where a plan hangs, with its pots and no
/// others, if they are enough; where pots do not keep for the run, with the fewest more.
/// @param posted pots of the plan that hangs, by emulsion; may be null.
/// @param compiled the room of the options; nullopt: an error.
/// @returns those asked, with no fewer pots than the posted ones, where no number has a plan.
compile::CompileOptions with_enough_pots(
    compile::CompileOptions asked, const std::map<std::string, int>* posted,
    const std::function<std::optional<compile::RoomProblem>(const compile::CompileOptions&)>&
        compiled,
    const std::function<bool()>& stop);

}  // namespace sched::study
