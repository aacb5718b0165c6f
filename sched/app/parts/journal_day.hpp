#pragma once
// What the journal of a folder says about a day: the posted plan, and the marks against it.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/room/order.hpp"
#include "sched/journal/journal.hpp"
#include "sched/journal/mark_words.hpp"
#include "sched/journal/present.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// Read in one go, so that all of it is of one moment.
struct JournalDay {
    std::string path;
    std::vector<journal::Entry> entries;  // all of them
    journal::PostedPlan plan;             // entry 0: none is posted; without its text
    std::optional<report::PlanDocument> posted;
    std::vector<std::string> promised;  // names of the orders that were promised

    std::int64_t last() const { return entries.empty() ? 0 : entries.back().id; }
};

/// @returns nullopt without `problem` where the folder has no journal; else with `problem` or
/// errors in `diagnostics`.
std::optional<JournalDay> read_journal_day(const std::string& folder, std::string& problem,
                                           model::Diagnostics& diagnostics);

/// Each screen's steps in the plan.
std::vector<journal::Way> ways_of(const report::PlanDocument& document);

/// What marks may name: of the scenario, and of the posted plan. Either may be missing.
journal::Names names_of(const model::Scenario* scenario, const report::PlanDocument* posted);

/// Where everything stands at `now` by the marks, as state.yaml would say it; what the scenario
/// does not know (an order that was taken out) is left away. @param from marks before it belong to
/// another day.
model::RoomState state_of(const JournalDay& day, const report::PlanDocument* earlier,
                          model::SimTime from, model::SimTime now, const model::Scenario& scenario);

/// Enters the plan as the posted one. @param seen the last entry that it took account of. @param
/// day of the room, where it has one: then it is posted on that day.
/// @returns its entry; nullopt with `problem`.
std::optional<std::int64_t> post_plan(const std::string& folder,
                                      const report::PlanDocument& document, std::int64_t seen,
                                      const std::optional<model::LocalDate>& day,
                                      std::string& problem);

/// Names of the files of the plan that have changed since, or are gone or new.
std::vector<std::string> changed_files(const std::vector<report::InputFile>& of_plan,
                                       const std::vector<report::InputFile>& now);

}  // namespace sched::app
