#pragma once
// A population of schedules: children take a stretch of time from one parent and the rest from the
// other, and are built from the right and then decoded from the left.

#include <cstdint>
#include <functional>
#include <vector>

#include "sched/search/room/justify.hpp"
#include "sched/search/room/point.hpp"

namespace sched::search {

/// A steady-state genetic algorithm over any Problem. A child takes the stretch in which its father
/// uses the resources most (the "peaks" of Valls, Ballestín and Quintanilla 2008), goes through a
/// backward pass (justify.hpp) and may replace the worse of its own parents. Not thread-safe.
class Breeder {
public:
    /// Decodes a point; @returns its schedule, or null if it leads to none or time is up.
    using Decode = std::function<const engine::FlatSchedule*(RoomPoint& point,
                                                             std::vector<std::int64_t>& value)>;
    /// Counts so many backward passes. @returns true when time is up.
    using Count = std::function<bool(std::int64_t passes)>;

    Breeder(const engine::CompiledProblem& problem, const RoomUnits& units, Rng rng, Decode decode,
            Count count);

    /// One more member, or a child. @returns false when time is up.
    bool step();
    /// A schedule that was found elsewhere.
    void join(const RoomPoint& point, const std::vector<std::int64_t>& value,
              const engine::FlatSchedule& schedule);

private:
    struct Member {
        RoomPoint point;  // genes without waits
        std::vector<std::int64_t> value;
        engine::FlatSchedule schedule;
        std::uint64_t print = 0;
    };

    bool fill();
    bool breed();
    bool over_and_back(const Member& like, double hopeless, Member& child);
    bool forward(const std::vector<engine::Tick>& start, RoomPoint point, Member& out);
    void set_latest(const Member& like);
    void child_keys(const Member& mother, const Member& father, RoomPoint& point);
    void shuffled_keys(const Member& parent);
    void peak(const Member& father, double& from, double& to);
    std::size_t tournament();
    double span_of(const Member& m, double* begin = nullptr) const;

    const engine::CompiledProblem& p_;
    const RoomUnits& units_;
    Rng rng_;
    Decode decode_;
    Count count_;
    BackwardPass back_;
    std::size_t wanted_;
    bool makespan_first_;
    bool plain_;  // no dates, no calendars: the length from the right says what to expect
    std::vector<Member> members_;
    std::vector<double> key_, tail_, weight_;
    std::vector<engine::Tick> latest_, by_order_;
    Member scratch_;
};

}  // namespace sched::search
