#pragma once
// What held an order up in the present schedule: the steps on its way that had to wait, and who had
// the place or the person until then.

#include <cstdint>

#include "sched/search/room/point.hpp"

namespace sched::search {

/// `op` could have begun at `ready` but for `blocker`, which then had something that it needs.
struct Waiting {
    std::int32_t op = -1, blocker = -1;
    std::int32_t resource = -1;  // that the blocker had
    engine::Tick ready = 0;
    bool found() const { return blocker >= 0; }
};

/// When lags and release alone let the operation begin. @param by the operation that set it; -1:
/// none.
engine::Tick ready_of(const RoomView& view, std::int32_t op, std::int32_t& by);

/// Walks back from the end of an order that costs (weighted tardiness; if none is late, the one
/// that ends last or any) to one of its operations that waited for one of another unit.
Waiting waiting_step(const RoomView& view, Rng& rng);

/// An order that costs, or -1.
std::int32_t costly_order(const RoomView& view, Rng& rng);
/// An order that has operations, or -1.
std::int32_t any_order(const RoomView& view, Rng& rng);

/// `op` waits until `until` is through, as things stand in the present schedule. @returns false if
/// it does so anyway, or would wait too long.
bool wait_for(RoomPoint& point, const RoomView& view, std::int32_t op, std::int32_t until);
/// Whether moves let it wait by Sequence::after.
bool awaits(const RoomView& view, std::int32_t op);
/// When what Sequence::after names happens in the present schedule.
engine::Tick event_of(const RoomView& view, std::int32_t after);
/// Waits follow what they wait for into the present schedule; those that are over are dropped.
void renew_waits(RoomPoint& point, const RoomView& view);

// Moves (room_moves.cpp has the table).
/// The blocker waits on purpose until the other is through.
bool blocker_waits(RoomPoint& point, const RoomView& view, Rng& rng);
/// One of the two asks somebody else first.
bool another_hand(RoomPoint& point, const RoomView& view, Rng& rng);
/// A step waits on purpose, or no longer.
bool wait_on_purpose(RoomPoint& point, const RoomView& view, Rng& rng);
/// Some or all waits are given up or shortened.
bool fewer_waits(RoomPoint& point, const RoomView& view, Rng& rng);

}  // namespace sched::search
