#pragma once
// What promise and its table share.

#include <optional>
#include <string>
#include <vector>

#include "model/read/loose_date.hpp"
#include "sched/app/parts/commands.hpp"
#include "sched/app/parts/under_way.hpp"
#include "sched/promise/promise.hpp"

namespace sched::app {

/// The local date and time of an option. @returns nullopt after saying on the error stream that it
/// is none.
std::optional<model::SimTime> time_arg(const std::string& text, const char* option,
                                       const model::read::DatesFrom& dates, bool end);

/// What may turn out otherwise, by the folder's chance.yaml or the defaults of the trade: one set
/// of chances for plans, promises, sizing and weeks.
std::optional<study::Chance> chance_of(const model::Scenario& scenario,
                                       model::Diagnostics& diagnostics);

/// @param command who says on the error stream what is wrong, before nullopt is returned.
std::optional<study::PromiseOptions> promise_options(const PromiseArgs& args,
                                                     const model::Scenario& scenario,
                                                     const char* command = "promise");

/// The time of the question.
model::SimTime question_of(const study::PromiseOptions& options);

/// Sets begun, and the start of the day, of `options`, and films in the scenario's orders. @param
/// from_plan the day is that of the plan that hangs. @param source see read_state_of.
/// @returns what is wrong, if it is not in `diagnostics`; empty: nothing.
std::string set_under_way(const UnderWay& words, bool from_plan, model::Scenario& scenario,
                          study::PromiseOptions& options, std::string& source,
                          model::Diagnostics& diagnostics);

/// Before anything has begun: what is promised is worked off by the plan that is posted for the day
/// of `options`, if there is one, so that the answer and the sheets on the wall say the same.
/// @param words without `now`. @param source that it is so, a sentence for people; else empty.
/// @returns as set_under_way.
std::string follow_posted(const UnderWay& words, study::PromiseOptions& options,
                          std::string& source, model::Diagnostics& diagnostics);

/// What the folder's past promises say about promises given at `now` for the room's level; none
/// without a journal, or while it is too short. Errors of the journal go into `diagnostics`.
std::optional<study::Correction> learnt_from(const std::string& folder, const model::Room& room,
                                             model::SimTime now, model::Diagnostics& diagnostics);

/// promise.json (and what sched/report draws of it) into a folder. @returns false after saying on
/// the error stream what went wrong.
bool write_promises(const std::vector<study::Promise>& promises, const std::string& folder);

}  // namespace sched::app
