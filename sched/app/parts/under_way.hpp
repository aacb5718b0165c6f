#pragma once
// --now, --earlier and --state: what plan, promise and board have in common about a day that is
// under way.

#include <optional>
#include <string>

#include "model/base/diagnostic.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/simulate/begun_day.hpp"

namespace sched::app {

/// As the command line has them.
struct UnderWay {
    std::string scenario;  // folder
    std::string now;       // 10:40, or a date and time
    std::string earlier;   // plan.json that hangs, or its folder; empty: none
    std::string state;     // empty: state.yaml of the folder, if there is one
};

/// The posted plan. @returns nullopt with `problem`, or `diagnostics`, filled.
std::optional<report::PlanDocument> read_posted(const std::string& earlier, std::string& problem,
                                                model::Diagnostics& diagnostics);

/// A time of day counts from the day of `start`. @returns nullopt with `problem` filled: no time,
/// or before `start`.
std::optional<model::SimTime> now_of(const std::string& now, model::SimTime start,
                                     std::string& problem);

/// The file that says what stands where; empty where there need not be one.
std::optional<model::RoomState> read_state_of(const UnderWay& words,
                                              model::Diagnostics& diagnostics);

/// All of it. @param start of the day; set to that of the posted plan, if `from_plan`.
/// @returns nullopt with `problem`, or `diagnostics`, filled.
std::optional<study::BegunDay> read_under_way(const UnderWay& words, bool from_plan,
                                              model::SimTime& start, std::string& problem,
                                              model::Diagnostics& diagnostics);

}  // namespace sched::app
