#pragma once
// The form of an enquiry and the page that says why there is no answer: what the board shows around
// an answer (promise_page.hpp).

#include <string>
#include <string_view>

#include "model/room/order.hpp"

namespace sched::report {

/// Choices are the room's own meshes, frames, coat plans and emulsions; asks /promise.html.
std::string ask_page(const model::Scenario& scenario);

/// @param words plain text.
std::string refusal_page(std::string_view words);

}  // namespace sched::report
