#pragma once
// One start of the search over rooms: a point, its schedule, and the way from it to better ones.

#include <optional>
#include <vector>

#include "sched/engine/decoder.hpp"
#include "sched/search/floor_point.hpp"
#include "sched/search/floor_search.hpp"
#include "sched/search/watch.hpp"

namespace sched::search {

using FloorValue = std::vector<std::int64_t>;

/// Begins with the dispatching rules, climbs with late acceptance (Burke and Bykov 2017), moves
/// chosen by how often they helped, and when nothing helps any more goes on from a crossing of two
/// of the best points met (path relinking, taken half of the way). Not thread-safe; one a thread.
class FloorStart {
public:
    /// @param start its number: draws of its own. @param bound value at which to stop; may be
    /// empty.
    FloorStart(const engine::CompiledProblem& problem, const FloorUnits& units,
               const FloorValue& bound, const FloorGuide& guide, std::uint64_t seed, int start,
               Watch& watch);

    /// @param first points to begin with, beside the rules (a plan to start from).
    void run(const std::vector<FloorPoint>& first = {});

    const std::optional<core::Schedule>& schedule() const { return best_; }
    const FloorValue& value() const { return best_value_; }

private:
    struct Elite {
        FloorPoint point;
        FloorValue value;
    };

    bool decode(FloorPoint& point, FloorValue& value, const engine::Cutoff* cutoff = nullptr);
    engine::Cutoff cutoff_at(const FloorValue& now_value, double most);
    void begin(const std::vector<FloorPoint>& first);
    void blend();
    void scatter();
    void climb();
    bool begin_round(bool graph, FloorPoint& now, FloorValue& value);
    bool anneal(FloorPoint& now, FloorValue& value, bool graph, std::int64_t length, double heat);
    bool say_as_graph(FloorPoint& now, FloorValue& now_value);
    bool change(FloorPoint& point);
    void keep(const FloorPoint& point, const FloorValue& value);
    FloorPoint cross(const FloorPoint& a, const FloorPoint& b);
    void take_view();
    FloorView view() const { return {problem_, units_, schedule_, completion_}; }
    void weigh_moves();
    void weigh_criteria();
    double cost(const FloorValue& value) const;
    bool done() const { return !best_value_.empty() && best_value_ == bound_; }

    const engine::CompiledProblem& problem_;
    const FloorUnits& units_;
    const FloorValue& bound_;
    const FloorGuide& guide_;
    engine::Decoder decoder_;
    Rng rng_;
    int start_;
    Watch& watch_;
    engine::Sequence sequence_;
    std::vector<std::int32_t> turn_;
    engine::FlatSchedule schedule_;  // of the point that moves start from
    std::vector<engine::Tick> completion_;
    std::vector<std::int64_t> scratch_;
    std::vector<double> weight_, tries_, gains_;
    int last_move_ = -1;
    std::int64_t accepted_ = 0;
    std::vector<double> scale_;  // per criterion
    std::vector<double> cut_scale_;
    std::vector<engine::Tick> likely_;  // per block: see Cutoff
    std::vector<Elite> elites_;
    std::optional<core::Schedule> best_;
    FloorValue best_value_;
    FloorPoint best_point_;
};

}  // namespace sched::search
