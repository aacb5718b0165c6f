#pragma once
// Steps that stay in one person's hands. Seen in this folder only.

#include <cstddef>

#include "model/route/operation_graph.hpp"
#include "sched/compile/room_builder.hpp"

namespace sched::compile {

/// Whoever does the step before does a step with StepRow::same_hands as well: ties the people of
/// both, in the operations of a route, which stand from `first` on in its order. Who can do one of
/// the two only is left out of both; if that leaves nobody, two people do them, as before.
void tie_hands(Builder& builder, const model::route::Route& route, std::size_t first);

/// What has begun before the moment of a plan binds nobody: whoever began may have gone since.
void loosen_hands(core::Problem& problem);

}  // namespace sched::compile
