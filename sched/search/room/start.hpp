#pragma once
// One start of the search over rooms: a point, its schedule, and the way from it to better ones.

#include <optional>
#include <vector>

#include "sched/engine/decode/decoder.hpp"
#include "sched/search/base/watch.hpp"
#include "sched/search/room/breeder.hpp"
#include "sched/search/room/path_search.hpp"
#include "sched/search/room/point.hpp"
#include "sched/search/room/room_search.hpp"

namespace sched::search {

using RoomValue = std::vector<std::int64_t>;

/// Begins with the dispatching rules (a few screens at a time where they find nothing,
/// careful.hpp), climbs with late acceptance (Burke and Bykov 2017), moves chosen by how often they
/// helped, and when nothing helps any more goes on from a crossing of two of the best points met
/// (path relinking, taken half of the way). Not thread-safe; one a thread.
class RoomStart {
public:
    /// @param start its number: draws of its own. @param bound value at which to stop; may be
    /// empty. @param graph of the problem, if it has one (operation_graph.hpp).
    RoomStart(const engine::CompiledProblem& problem, const RoomUnits& units,
              const RoomValue& bound, const RoomGuide& guide, const GraphModel* graph,
              std::uint64_t seed, int start, Watch& watch);

    /// @param first points to begin with, beside the rules (a plan to start from).
    void run(const std::vector<RoomPoint>& first = {});

    const std::optional<core::Schedule>& schedule() const { return best_; }
    const RoomValue& value() const { return best_value_; }

private:
    struct Elite {
        RoomPoint point;
        RoomValue value;
    };

    bool decode(RoomPoint& point, RoomValue& value, const engine::Cutoff* cutoff = nullptr);
    bool take(RoomPoint& point, RoomValue& value, const engine::Cutoff* cutoff);
    engine::Cutoff cutoff_at(const RoomValue& now_value, double most);
    void begin(const std::vector<RoomPoint>& first);
    void be_careful();
    void take_known(const core::Schedule& schedule);
    /// The budget is used up; one counted in schedules may be passed by until there is a first one.
    bool out_of_time() { return watch_.spent() && (best_ || watch_.share() == 0); }
    void blend();
    void shift();
    void scatter();
    void climb();
    bool follow_paths();
    bool breed(std::int64_t until);
    bool small() const;
    bool polish();
    bool kick(std::int64_t until);
    bool draw_pair(RoomPoint& point);
    void descend(RoomPoint& now, RoomValue& value);
    bool take_better(RoomPoint& next, RoomPoint& now, RoomValue& value);
    bool other_wait(std::size_t operation, RoomPoint& now, RoomValue& value);
    bool other_part(std::size_t unit, RoomPoint& now, RoomValue& value);
    bool other_place(std::size_t block, RoomPoint& now, RoomValue& value);
    bool begin_round(bool graph, RoomPoint& now, RoomValue& value);
    bool anneal(RoomPoint& now, RoomValue& value, bool graph, std::int64_t length, double heat);
    bool say_as_graph(RoomPoint& now, RoomValue& now_value);
    bool change(RoomPoint& point);
    void keep(const RoomPoint& point, const RoomValue& value);
    RoomPoint cross(const RoomPoint& a, const RoomPoint& b);
    void take_view();
    RoomView view() const { return {problem_, units_, schedule_, completion_}; }
    void weigh_moves();
    void weigh_criteria();
    double cost(const RoomValue& value) const;
    bool done() const { return !best_value_.empty() && best_value_ == bound_; }

    const engine::CompiledProblem& problem_;
    const RoomUnits& units_;
    const RoomValue& bound_;
    const RoomGuide& guide_;
    engine::Decoder decoder_;
    Rng rng_;
    int start_;
    Watch& watch_;
    std::uint64_t shift_seed_;
    engine::Sequence sequence_;
    std::vector<std::int32_t> turn_;
    engine::FlatSchedule schedule_;  // of the point that moves start from
    std::vector<engine::Tick> completion_;
    std::vector<std::int64_t> scratch_;
    std::vector<double> weight_, tries_, gains_;
    int last_move_ = -1;
    bool careful_ = false;  // has looked for a schedule of a few screens at a time
    std::int64_t accepted_ = 0;
    std::vector<double> scale_;  // per criterion
    std::vector<double> cut_scale_;
    std::vector<engine::Tick> likely_;  // per block: see Cutoff
    std::vector<Elite> elites_;
    std::optional<core::Schedule> best_;
    RoomValue best_value_;
    RoomPoint best_point_;
    std::optional<PathSearch> paths_;
    Breeder breeder_;
    std::int64_t bred_ = 0;  // evaluations
    RoomPoint base_;         // that kicks start from
    RoomValue base_value_;
    std::vector<std::pair<std::int32_t, std::int32_t>> pairs_;  // of units, not yet tried from it
    RoomValue polished_;  // nothing near the best of this value is better
    RoomValue joined_;    // value of the last schedule that the path search was given
    double path_work_ = 0.0, list_work_ = 0.0;
};

}  // namespace sched::search
