// How it works: a builder appends operation after operation, each with the lag to the one before;
// groups of the trade (ink off, strip, haze, coats, exposure) are small functions that call it.
// At the end the table of limits is laid over the chain, last occurrence to next occurrence.

#include "model/route/operation_graph.hpp"

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/topological_sort.hpp>
#include <iterator>

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
    explicit WayBuilder(const Room& room) : room_(room) {}

    void next(RouteOperation operation, LagProperty lag) {
        const Vertex v = boost::add_vertex(operation, graph_);
        if (last_) boost::add_edge(*last_, v, lag, graph_);
        last_ = v;
    }
    // Set aside without a limit and without a place (a washed frame leans at the wall).
    void aside(Step step) { next({step, Part::Whole, 0}, {}); }
    // Handed over: the place before is kept until this one begins.
    void handed(Step step, int round = 0) {
        LagProperty lag;
        lag.max = Seconds{0};
        next({step, Part::Whole, round}, lag);
    }

    // Adds the limits of the table between the last occurrence of their first step and the next
    // occurrence of their second.
    void add_limits() {
        const auto [first, last] = boost::vertices(graph_);
        for (const LimitRow& row : limit_rows()) {
            std::optional<Vertex> from;
            for (auto it = first; it != last; ++it) {
                const RouteOperation& operation = graph_[*it];
                // A limit that ends at Expose ends where the screen goes into the unit; one that
                // begins there begins when it comes out.
                const bool enters = operation.part == Part::Whole || operation.part == Part::Load;
                const bool leaves = operation.part == Part::Whole || operation.part == Part::Unload;
                if (from && operation.step == row.to && enters) {
                    add_limit(*from, *it, row);
                    from.reset();
                }
                if (operation.step == row.from && leaves) from = *it;
            }
        }
    }

    Route finish() {
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

    const Room& room_;
    Graph graph_;
    std::optional<Vertex> last_;
};

void add_drying(WayBuilder& way, Step step, int round, bool rack) {
    way.handed(step, round);
    if (!rack) return;
    LagProperty lag;
    lag.max = Seconds{0};
    lag.same_mode = true;  // a screen that dried on the rack is there already
    way.next({Step::TakeOut, Part::Whole, round}, lag);
}

// The paste works in its place; the next step may come any time after.
LagProperty after_standing(const Room& room, Step step) {
    LagProperty lag;
    lag.edge = From::WorkEnd;
    lag.min = time_of(room, step).stand;
    return lag;
}

void add_ink_off(WayBuilder& way) {
    way.aside(Step::InkOff);
    way.aside(Step::InkDegrease);
}

void add_strip(WayBuilder& way) {
    way.aside(Step::Strip);
    LagProperty rinse;  // stays in the sink with the remover on
    rinse.max = Seconds{0};
    rinse.same_place = true;
    way.next({Step::Rinse, Part::Whole, 0}, rinse);
}

void add_haze(WayBuilder& way, const Room& room) {
    way.aside(Step::Haze);
    way.next({Step::Degrease, Part::Whole, 0}, after_standing(room, Step::Haze));
}

void add_reclaim(WayBuilder& way, const Room& room, const RouteRequest& request) {
    if (request.frame == FrameState::Inky) add_ink_off(way);
    add_strip(way);
    if (request.haze) {
        add_haze(way, room);
    } else {
        way.aside(Step::Degrease);
    }
}

void add_exposure(WayBuilder& way, bool handed) {
    LagProperty first;
    if (handed) first.max = Seconds{0};
    way.next({Step::Expose, Part::Load, 0}, first);
    LagProperty same;
    same.max = Seconds{0};
    same.same_mode = true;
    way.next({Step::Expose, Part::Run, 0}, same);
    way.next({Step::Expose, Part::Unload, 0}, same);
}

void add_coating(WayBuilder& way, const Room& room, const RouteRequest& request) {
    switch (request.frame) {
        case FrameState::Inky:
        case FrameState::OldStencil:
            add_reclaim(way, room, request);
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
    for (int face = 0; face < request.face_coats; ++face) {
        way.handed(Step::FaceCoat, face);
        add_drying(way, Step::DryFace, face, request.rack);
    }
}

}  // namespace

Route build_route(const Room& room, const RouteRequest& request) {
    WayBuilder way(room);
    add_coating(way, room, request);
    if (request.frame != FrameState::KeptStencil) {
        add_exposure(way, request.frame != FrameState::Coated);
        way.aside(Step::WashOut);
        add_drying(way, Step::DryStencil, 0, request.rack);
        way.handed(Step::Inspect);
    } else {
        way.aside(Step::Inspect);
    }
    if (request.touch_up) way.handed(Step::DryTouchUp);
    way.add_limits();
    return way.finish();
}

Route build_ink_off(const Room& room) {
    WayBuilder way(room);
    add_ink_off(way);
    return way.finish();
}

Route build_reclaim(const Room& room, bool haze) {
    WayBuilder way(room);
    add_strip(way);
    if (haze) add_haze(way, room);
    way.aside(Step::DryMesh);
    way.add_limits();
    return way.finish();
}

Route build_mixing(const Room& room) {
    WayBuilder way(room);
    way.aside(Step::MixDissolve);
    way.next({Step::MixStir, Part::Whole, 0}, after_standing(room, Step::MixDissolve));
    way.next({Step::MixStir, Part::Whole, 1}, {});  // stands to de-bubble; then it is usable
    return way.finish();
}

}  // namespace model::route
