#pragma once
// Screens are carried from one part of the premises to another. Seen in this folder only.

#include <cstddef>

#include "model/route/operation_graph.hpp"
#include "sched/compile/room_builder.hpp"

namespace sched::compile {

/// Adds the time of carrying to the operations of a route, which stand from `first` on in its
/// order, with their lags. It belongs to the attended work at the place where the screen goes;
/// where nobody attends there (drying), to the attended work before. A step whose stations stand in
/// several parts of the premises gets a way of doing it for each, tied to where the screen comes
/// from, or goes to, by SameMode; where a step between two such steps would need a way for each
/// pair, the longer time counts (warned of once). Rooms without `walks` stay as they are.
void add_walks(Builder& builder, const model::route::Route& route, std::size_t first);

}  // namespace sched::compile
