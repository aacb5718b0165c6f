// How it works: a builder appends operation after operation, each with the lag to the one before;
// groups of the trade (ink off, strip, haze, coats, exposure) are small functions that call it.
// At the end the table of limits is laid over the chain, last occurrence to next occurrence.

#include "model/route/operation_graph.hpp"

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/topological_sort.hpp>
#include <iterator>

#include "model/room/steps.hpp"

namespace model::route {

namespace {

struct LagProperty {
    From edge = From::End;
    Seconds min{0};
    std::optional<Seconds> max;
    bool same_place = false;
    bool same_mode = false;
};
using Graph =
    boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS, RouteOperation, LagProperty>;
using Vertex = boost::graph_traits<Graph>::vertex_descriptor;

// Grows the chain; each call says how the new operation follows the last one.
class WayBuilder {
public:
    WayBuilder(const Room& room, const CoatPlan* plan, const Area* size)
        : room_(room), plan_(plan), size_(size) {}

    void next(RouteOperation operation, LagProperty lag) {
        const Vertex v = boost::add_vertex(operation, graph_);
        if (last_) boost::add_edge(*last_, v, lag, graph_);
        last_ = v;
    }
    // Set aside without a limit and without a place (a washed frame leans at the wall).
    void aside(Step step) {
        stand_out();
        next({step, Part::Whole, 0}, {});
        stand_after(step, 0);
    }
    // Handed over: the place before is kept until this one begins.
    void handed(Step step, int round = 0, bool same_place = false) {
        hand_over({step, Part::Whole, round}, same_place);
        stand_after(step, round);
    }
    void hand_over(RouteOperation operation, bool same_place = false) {
        const std::optional<Vertex> before = last_;
        LagProperty lag;
        lag.max = Seconds{0};
        lag.same_place = same_place;
        next(operation, lag);
        if (before && standing_ > Seconds{0}) {
            LagProperty stands;
            stands.edge = From::WorkEnd;
            stands.min = standing_;
            boost::add_edge(*before, *last_, stands, graph_);
        }
        standing_ = Seconds{0};
    }
    void next_standing(RouteOperation operation, LagProperty lag) {
        next(operation, lag);
        standing_ = stand_of(operation.step);
    }
    // What is not handed on keeps its place as long as it stands.
    void stand_out() {
        if (!last_ || standing_ == Seconds{0}) return;
        standing_ = Seconds{0};
        hand_over({graph_[*last_].step, Part::Stand, graph_[*last_].round}, true);
    }

    // Adds the limits of the table between the last occurrence of their first step and the next
    // occurrence of their second.
    void add_limits() {
        const auto [first, last] = boost::vertices(graph_);
        for (const LimitRow& row : limit_rows()) {
            std::optional<Vertex> from;
            for (auto it = first; it != last; ++it) {
                const RouteOperation& operation = graph_[*it];
                // Of an exposure a limit means the lamp: neither the way in nor the way out.
                if (operation.part != Part::Whole && operation.part != Part::Run) continue;
                if (from && operation.step == row.to) {
                    add_limit(*from, *it, row);
                    from.reset();
                }
                if (operation.step == row.from) from = *it;
            }
        }
    }

    Route finish() {
        stand_out();
        std::vector<Vertex> order;
        boost::topological_sort(graph_, std::back_inserter(order));  // reversed; throws on a cycle
        std::reverse(order.begin(), order.end());
        std::vector<int> at(order.size());
        Route route;
        for (std::size_t i = 0; i < order.size(); ++i) {
            at[order[i]] = static_cast<int>(i);
            route.operations.push_back(graph_[order[i]]);
        }
        for (const Vertex v : order) {
            const auto [first, last] = boost::out_edges(v, graph_);
            for (auto it = first; it != last; ++it) {
                const LagProperty& lag = graph_[*it];
                route.lags.push_back({at[v], at[boost::target(*it, graph_)], lag.edge, lag.min,
                                      lag.max, lag.same_place, lag.same_mode});
            }
        }
        return route;
    }

private:
    void add_limit(Vertex from, Vertex to, const LimitRow& row) {
        LagProperty lag;
        lag.edge = row.edge;
        if (row.min) lag.min = row.min(room_).value_or(Seconds{0});
        if (row.max) lag.max = row.max(room_);
        boost::add_edge(from, to, lag, graph_);
    }

    // Drying and exposing stand by themselves; a pot stands anywhere.
    Seconds stand_of(Step step) const {
        return dries_alone(step) || step == Step::Expose
                   ? Seconds{0}
                   : time_of(room_, step, plan_, {.frame = size_}).stand;
    }

    // As long as the station or the person that was chosen makes it stand: a part of its own, whose
    // ways are those of the work, one by one.
    void stand_after(Step step, int round) {
        standing_ = stand_of(step);
        if (!stand_differs(room_, step)) return;
        standing_ = Seconds{0};
        LagProperty lag;
        lag.max = Seconds{0};
        lag.same_mode = true;
        next({step, Part::Stand, round}, lag);
    }

    const Room& room_;
    const CoatPlan* plan_;
    const Area* size_;
    Graph graph_;
    std::optional<Vertex> last_;
    Seconds standing_{0};  // of the last one, after its work
};

LagProperty same_ways() {
    LagProperty lag;
    lag.max = Seconds{0};
    lag.same_mode = true;
    return lag;
}

void add_drying(WayBuilder& way, Step step, int round, bool rack) {
    way.hand_over({step, Part::Load, round});
    way.next({step, Part::Whole, round}, same_ways());
    // A screen that dried on the rack is there already.
    if (rack) way.next_standing({Step::TakeOut, Part::Whole, round}, same_ways());
}

void add_ink_off(WayBuilder& way) {
    way.aside(Step::InkOff);
    way.aside(Step::InkDegrease);
}

void add_strip(WayBuilder& way) {
    way.aside(Step::Strip);
    way.handed(Step::Rinse, 0, true);  // stays in the sink with the remover on
}

void add_reclaim(WayBuilder& way, const RouteRequest& request) {
    if (request.frame == FrameState::Inky) add_ink_off(way);
    add_strip(way);
    if (request.haze) way.aside(Step::Haze);
    way.aside(Step::Degrease);
}

void add_exposure(WayBuilder& way) {
    way.hand_over({Step::Expose, Part::Load, 0});
    way.next({Step::Expose, Part::Run, 0}, same_ways());
    way.next({Step::Expose, Part::Unload, 0}, same_ways());
}

void add_coating(WayBuilder& way, const RouteRequest& request) {
    switch (request.frame) {
        case FrameState::Inky:
        case FrameState::OldStencil:
            add_reclaim(way, request);
            break;
        case FrameState::NewMesh:
            way.aside(Step::Abrade);
            way.aside(Step::Degrease);
            break;
        case FrameState::Ready:
            way.aside(Step::Degrease);
            break;
        case FrameState::Coated:
        case FrameState::KeptStencil:
            return;
    }
    add_drying(way, Step::DryMesh, 0, request.rack);
    way.handed(Step::Coat);
    add_drying(way, Step::DryCoat, 0, request.rack);
    const int faces = request.plan ? request.plan->face : 0;
    for (int face = 0; face < faces; ++face) {
        way.handed(Step::FaceCoat, face);
        add_drying(way, Step::DryFace, face, request.rack);
    }
}

}  // namespace

Route build_route(const Room& room, const RouteRequest& request) {
    WayBuilder way(room, request.plan, request.size);
    add_coating(way, request);
    if (request.frame != FrameState::KeptStencil) {
        add_exposure(way);
        way.aside(Step::WashOut);
        add_drying(way, Step::DryStencil, 0, request.rack);
        way.handed(Step::Inspect);
    } else {
        way.aside(Step::Inspect);
    }
    if (request.touch_up) {
        way.hand_over({Step::DryTouchUp, Part::Load, 0});
        way.handed(Step::DryTouchUp, 0, true);
    }
    way.add_limits();
    return way.finish();
}

Route build_ink_off(const Room& room, const Area* size) {
    WayBuilder way(room, nullptr, size);
    add_ink_off(way);
    return way.finish();
}

Route build_reclaim(const Room& room, bool haze, const Area* size) {
    WayBuilder way(room, nullptr, size);
    add_strip(way);
    if (haze) {
        way.aside(Step::Haze);
        way.aside(Step::Degrease);  // no paste goes into the cabinet
    }
    way.stand_out();
    way.next({Step::DryMesh, Part::Load, 0}, {});
    way.hand_over({Step::DryMesh, Part::Whole, 0}, true);
    way.add_limits();
    return way.finish();
}

Route build_mixing(const Room& room) {
    WayBuilder way(room, nullptr, nullptr);
    way.next({Step::MixDissolve, Part::Whole, 0}, {});
    LagProperty stood;  // a pot stands anywhere
    stood.edge = From::WorkEnd;
    stood.min = time_of(room, Step::MixDissolve).stand;
    way.next({Step::MixStir, Part::Whole, 0}, stood);
    way.next({Step::MixStir, Part::Whole, 1}, {});  // stands to de-bubble; then it is usable
    return way.finish();
}

Seconds usual_length(const Room& room, const RouteOperation& operation, const CoatPlan* plan) {
    const StepTime time = time_of(room, operation.step, plan);
    switch (operation.part) {
        case Part::Load:
            return time.attended;
        case Part::Run:
            return time.stand;
        case Part::Unload:
            return time_of(room, Step::TakeOut).attended;
        case Part::Stand:
            return Seconds{0};  // counted with its work
        case Part::Whole:
            break;
    }
    return dries_alone(operation.step) ? time.stand : time.attended + time.stand;
}

}  // namespace model::route
