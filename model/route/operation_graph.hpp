#pragma once
// A screen's way as a directed acyclic graph of operations (Boost.Graph inside, seen only in this
// folder): nodes are operations at a place, edges are time lags between them.

#include <optional>
#include <vector>

#include "model/room/order.hpp"
#include "model/route/limits.hpp"

namespace model::route {

/// Expose has three parts, because a person is there only at its ends. Drying has a Load (somebody
/// hangs the screen up) before its Whole. Stand: nobody is there, the place is taken.
enum class Part { Whole, Load, Run, Unload, Stand };

struct RouteOperation {
    Step step = Step::Coat;
    Part part = Part::Whole;
    int round = 0;  // face coat number, from 0; of MixStir: 1 = the standing after it
    friend bool operator==(const RouteOperation&, const RouteOperation&) = default;
};

struct RouteLag {
    int from = 0;  // indices into Route::operations
    int to = 0;
    From edge = From::End;
    Seconds min{0};
    std::optional<Seconds> max;
    bool same_place = false;  // stays where it is
    bool same_mode = false;   // whichever station was chosen first is chosen again
    friend bool operator==(const RouteLag&, const RouteLag&) = default;
};

/// Operations in a topological order, lags between them.
struct Route {
    std::vector<RouteOperation> operations;
    std::vector<RouteLag> lags;
    friend bool operator==(const Route&, const Route&) = default;
};

/// What decides a screen's way.
struct RouteRequest {
    FrameState frame = FrameState::Ready;
    bool haze = false;               // of a reclaimed frame
    const CoatPlan* plan = nullptr;  // face coats, time at the stand
    bool rack = false;               // dry screens are carried to a rack (a TakeOut each)
    bool touch_up = true;            // block-out dries after inspection
    const Area* size = nullptr;      // of the frame; nullptr: not known
};

/// The way of one screen through this room.
/// Hand-overs hold: a screen keeps its place until the next one can take it (lag End 0..0). What
/// stands after its attended part moves on no sooner (lag WorkEnd); set aside afterwards, it stands
/// in a part of its own, so that its place is taken so long and no longer; so it does where
/// stations or people differ in how long it stands.
Route build_route(const Room& room, const RouteRequest& request);

/// An inky frame becomes one with an old stencil; that one becomes ready: stripped, hazed if asked,
/// its mesh dried. For the store, not for a screen: there they are degreased just before coating.
Route build_ink_off(const Room& room, const Area* size = nullptr);
Route build_reclaim(const Room& room, bool haze, const Area* size = nullptr);

/// How long the operation takes at the times of the room file, physics aside.
Seconds usual_length(const Room& room, const RouteOperation& operation, const CoatPlan* plan);

/// The two-part mixing of one pot: dissolve, stand, stir in, stand.
Route build_mixing(const Room& room);

}  // namespace model::route
