#pragma once
// Promises as JSON for other programs and the board, and back from an enquiry's JSON. Format and
// schema: docs/promise.schema.json.

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "model/base/diagnostic.hpp"
#include "sched/promise/promise.hpp"

namespace sched::report {

inline constexpr int promise_format = 1;

/// One promise; UTF-8, a line feed at the end; equal promises give equal bytes. Times are local
/// ("2026-11-26T14:05"), spans in minutes, shares 0 .. 1.
std::string promise_to_json(const study::Promise& promise);
/// {"format", "promises": [...]}.
std::string promises_to_json(std::span<const study::Promise> promises);

/// {"screens": 4, "mesh": "120-34", "frame": "58 x 84 cm", "emulsion": ..., "coat plan": ...,
/// "film": "2026-11-26T09:30", "wanted": ..., "customer": ..., "order": ...,
/// "kept stencil": true} with names as in room.yaml; or "lines": a list of such for several kinds
/// of screens. Any input is safe. @returns nullopt with `diagnostics` filled.
std::optional<study::Enquiry> enquiry_from_json(std::string_view json,
                                                const model::Scenario& scenario,
                                                model::Diagnostics& diagnostics);

}  // namespace sched::report
