#pragma once
// What reports know of a step: its key in files, the group it is coloured by, and what can hurt
// there.

#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::report {

std::string step_key(model::Step step);             // "dry-coat"
std::string step_words(const std::string& key);     // "dry coat"; of what hangs up, "put in"
bool drying_step(const std::string& key);           // it dries, nobody works
bool dries_by_air(model::Step step);                // a station that does it is a cabinet
std::string state_key(model::FrameState state);     // "old-stencil"
std::string state_words(const std::string& state);  // "with an old stencil"

/// Keys of the cautions of one operation (common practice of the
/// trade, no source).
std::vector<std::string> cautions_of(model::Step step, bool two_people);

/// Every caution in full words. Each defers to product safety data sheets, local codes and licensed
/// trades.
const std::vector<CautionLine>& all_cautions();

/// The sentence that stands under every sheet.
const std::string& deference();

}  // namespace sched::report
