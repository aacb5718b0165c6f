#pragma once
// Open queueing lines on the kernel: items arrive over time and go through steps, each holding a
// unit of a pool and perhaps of a second one. Nothing is looked up and nothing allocated while it
// runs.

#include <cstdint>
#include <span>
#include <vector>

#include "sched/engine/event_queue.hpp"

namespace sched::engine {

/// Which of the waiting items gets a free unit.
enum class Queueing {
    Fifo,
    Priority,  // lower class number first, FIFO within; never interrupts
};

/// When the first of a queue is served after a unit was given back.
enum class HandOver {
    AtOnce,    // in the same instant, before the item that gave it back goes on
    Deferred,  // by an event of its own, after that item has asked for its next pool
};

struct LinePool {
    std::int32_t capacity = 1;  // < 0: without limit
    Queueing queueing = Queueing::Fifo;
    /// Most items in the queue; who finds it full is lost (leaves the line). < 0: no limit.
    std::int32_t places = -1;
};

struct LineStep {
    std::int32_t pool = 0;
    std::int32_t also = -1;  // a second pool, asked for once the first is held; -1: none
};

struct LineModel {
    std::vector<LinePool> pools;
    std::vector<LineStep> steps;  // every item goes through all, in order
    HandOver hand_over = HandOver::AtOnce;
};

/// Draws of one replication, made before it runs.
struct LineInput {
    std::span<const Tick> interarrival;      // one per item; item 0 arrives after its own
    std::span<const Tick> duration;          // steps.size() per item, item by item
    std::span<const std::int32_t> priority;  // one per item, or empty: all 0
};

struct LineResult {
    std::int64_t departures_sum = 0;  // sum of departure times of those served, ticks
    std::int64_t in_system_sum = 0;   // sum of departure - arrival of those served, ticks
    Tick last_departure = 0;
    std::int64_t served = 0;
    std::int64_t lost = 0;
    std::int64_t logical_events = 0;  // arrivals and ends of steps
    std::int64_t events = 0;          // taken from the event list, zero-delay ones included
};

/// Runs lines; holds the memory that runs share.
class Line {
public:
    explicit Line(const LineModel& model);
    /// Empty at tick 0; ends when the last item has left.
    /// @param departures,queued one per item, or empty: departure time (-1: lost), time spent
    /// waiting for `pool`s of all steps.
    LineResult run(const LineInput& input, std::span<Tick> departures = {},
                   std::span<Tick> queued = {});

private:
    struct Pool {
        std::int32_t free = 0;
        std::int32_t first = -1;  // waiting items, linked through Item::next
        std::int32_t last = -1;
        std::int32_t waiting = 0;
        std::int32_t places = -1;
        Queueing queueing = Queueing::Fifo;
    };
    struct Item {
        std::int32_t next = -1;
        std::int32_t step = 0;
        Tick since = 0;  // when it asked for the pool it waits for
    };
    enum What : std::uint32_t { Arrive, Finish, Granted, GrantedAlso, Serve };

    bool ask(std::int32_t pool, std::uint32_t item, What then);
    void give_back(std::int32_t pool);
    void serve(std::int32_t pool);
    std::uint32_t take_first(Pool& pool);
    void append(Pool& pool, std::uint32_t item);
    void enter_step(std::uint32_t item);
    void have_pool(std::uint32_t item);
    void begin(std::uint32_t item);
    void arrive(std::uint32_t item);
    void finish(std::uint32_t item);
    void leave(std::uint32_t item);

    LineModel model_;
    EventQueue queue_;
    std::vector<Pool> pools_;
    std::vector<Item> items_;
    LineInput input_;
    LineResult result_;
    std::span<Tick> departures_;
    std::span<Tick> queued_;
    std::vector<Tick> arrived_;
    Tick now_ = 0;
};

}  // namespace sched::engine
