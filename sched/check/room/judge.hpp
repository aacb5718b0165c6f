#pragma once
// The second judge. The first one (sched/check) reads the compiled problem and cannot see what the
// compiler got wrong; this one reads the room as its lead wrote it, the orders, the frame store and
// the plan document, and knows the rules of the trade and of docs/input.md: by tag and clock time.
// What it judges, and what it cannot: docs/checking.md.

#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::check::room {

struct Finding {
    std::string rule;   // "limit", "people", ...: one word for the heading
    std::string words;  // one sentence with tags, times and amounts
    friend bool operator==(const Finding&, const Finding&) = default;
};

/// What the lines of a plan say against each other, without the scenario: every list is derived
/// anew from the operations. Empty if they agree.
std::vector<Finding> judge_document(const report::PlanDocument& document);

/// The files that the plan was made from, as they are now.
struct RoomFiles {
    std::vector<report::InputFile> inputs;  // empty: digests are not compared
};

/// What the plan breaks in this room, rule by rule. Of a plan from the middle of the day what has
/// happened is taken as told. @pre the document passed judge_document: indices are not looked at
/// again, all else may be wrong.
std::vector<Finding> judge_room(const report::PlanDocument& document,
                                const model::Scenario& scenario, const RoomFiles& files = {});

}  // namespace sched::check::room
