#pragma once
// --now, --earlier and --state, and the journal where they are left out: what plan, promise and
// board have in common about a day that is under way.

#include <cstdint>
#include <limits>
#include <optional>
#include <string>

#include "model/base/diagnostic.hpp"
#include "model/room/order.hpp"
#include "sched/app/parts/journal_day.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/simulate/begun_day.hpp"

namespace sched::app {

/// As the command line has them.
struct UnderWay {
    std::string scenario;  // folder
    std::string now;       // 10:40, or a date and time
    std::string earlier;   // plan.json that hangs, or its folder; empty: the journal's posted plan
    std::string state;     // empty: what the journal says, else state.yaml of the folder
    /// Decisions for the day that were entered later do not count, but for one (day_change).
    std::int64_t last = std::numeric_limits<std::int64_t>::max(), with = 0;
};

/// The plan that hangs, and the journal, if it was asked.
struct PostedDay {
    std::optional<JournalDay> journal;
    std::optional<report::PlanDocument> earlier;  // named on the command line
    const report::PlanDocument* plan() const {
        return earlier ? &*earlier : journal && journal->posted ? &*journal->posted : nullptr;
    }
};

/// The posted plan of a file. @returns nullopt with `problem`, or `diagnostics`, filled.
std::optional<report::PlanDocument> read_posted(const std::string& earlier, std::string& problem,
                                                model::Diagnostics& diagnostics);

/// The plan of --earlier, else the one posted in the journal; the journal is not opened where
/// --earlier and --state say all. @returns nullopt with `problem`, or `diagnostics`, filled.
std::optional<PostedDay> read_posted_day(const UnderWay& words, std::string& problem,
                                         model::Diagnostics& diagnostics);

/// A time of day counts from the day of `start`; where the next day's is nearer to the start than
/// one before it, that is meant (01:20 of a run that begins at 22:00). @returns nullopt with
/// `problem` filled: no time, or before `start`.
std::optional<model::SimTime> now_of(const std::string& now, model::SimTime start,
                                     std::string& problem);

/// The posted plan without its words.
study::BegunDay::PostedPlan posted_plan(const report::PlanDocument& document);

/// What the screens are made on that had begun by then, as the posted plan says; they keep it.
std::vector<compile::FrameOfScreen> frames_under_way(const report::PlanDocument& document,
                                                     const model::RoomState& state,
                                                     model::SimTime now);

/// What is otherwise than the posted plan says: by --state, else by the marks of the journal,
/// else by state.yaml; empty where nothing says anything. Films, pots and frames, and what was
/// decided for the day (day_change), are put into the scenario.
/// @param source which of them it was, a sentence for people; empty: there was nothing to choose.
std::optional<model::RoomState> read_state_of(const UnderWay& words, const PostedDay& posted_day,
                                              model::SimTime start, model::SimTime now,
                                              model::Scenario& scenario, std::string& source,
                                              model::Diagnostics& diagnostics);

/// All of it. @param start of the day; set to that of the posted plan, if `from_plan`.
/// @returns nullopt with `problem`, or `diagnostics`, filled.
std::optional<study::BegunDay> read_under_way(const UnderWay& words, bool from_plan,
                                              model::Scenario& scenario, model::SimTime& start,
                                              std::string& source, std::string& problem,
                                              model::Diagnostics& diagnostics);

}  // namespace sched::app
