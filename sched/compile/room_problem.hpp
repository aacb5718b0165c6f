#pragma once
// A scenario becomes a Problem, with the way back: which operation is which step of which screen,
// which resource is which station or person.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/room/order.hpp"
#include "model/route/operation_graph.hpp"
#include "sched/core/problem.hpp"

namespace sched::compile {

/// One screen of the run, in the order of orders.csv.
struct ScreenInfo {
    int order = 0;    // index into Scenario::orders
    int line = 0;     // index into Order::lines
    int number = 1;   // within the order, from 1
    std::string tag;  // short, for a marker pen: "B3-2"
    std::string mesh;
    model::Area frame;
    std::string emulsion;
    std::string coat_plan;
    model::FrameState source = model::FrameState::Ready;  // the frame it is made on
    int stock = -1;                                       // index into Scenario::frames
    std::optional<bool> haze;                             // of a screen under way: as it is
    std::vector<model::Seconds> exposures;                // lamp on to off, by mode of its exposure
    core::JobId job;
};

/// The tag of a screen: `index` of its order in Scenario::orders, `number` within it from 1.
std::string screen_tag(const model::Order& order, std::size_t index, int number);
/// The tags of all screens of the orders, in their order.
std::vector<std::string> screen_tags(const std::vector<model::Order>& orders);

/// What an operation is, in the room's words.
struct OperationInfo {
    model::Step step = model::Step::Coat;
    int screen = -1;  // index into RoomProblem::screens; -1: mixing
    model::route::Part part = model::route::Part::Whole;
    int round = 0;      // coat group or face coat number, from 0
    int mix = -1;       // index into RoomProblem::mixes; -1: none
    int returned = -1;  // index into RoomProblem::returns; -1: none
    std::string words;  // "coat B3-2 (2 print side, 2 squeegee side)"
};

/// Somebody brings the screen to where it dries.
inline bool hangs_up(const OperationInfo& info) {
    return info.part == model::route::Part::Load && info.step != model::Step::Expose;
}

/// An emulsion mixing that the run needs.
struct MixInfo {
    std::string emulsion;
    std::string pot;  // the pot it makes or the pot's two parts it joins
    double volume_ml = 0.0;
    core::StoreId store;
    bool to_buy = false;                 // not in stock: buy before
    std::optional<core::Seconds> keeps;  // from when it is usable; none: it comes ready to use
};

enum class ResourceKind { Station, Person };
struct ResourceInfo {
    ResourceKind kind = ResourceKind::Station;
    int index = 0;  // into Room::stations or Room::people
};

/// A mesh that the program chose, because the line of the order names none.
struct MeshChoice {
    int order = 0;  // index into Scenario::orders
    int line = 0;   // index into Order::lines
    std::string mesh;
    std::string words;  // why this one
};

struct ReclaimInfo {  // a used frame that the run takes up
    int screen = 0;
    int stock = 0;
};

/// A used frame that comes back from the press during the run, or stands there inky, and that no
/// screen of it needs: it is reclaimed in idle time, as far as that goes.
struct ReturnInfo {
    std::string tag;  // "R1"; screens of orders have a dash
    int stock = 0;    // index into Scenario::frames
    model::SimTime from{};
    model::FrameState becomes = model::FrameState::Inky;  // with the parts below
    std::vector<std::vector<core::OperationId>> parts;    // each done whole: ink off, then the rest
};

/// A way that only chance calls up: operations [first, first + count) after those of the run, not
/// part of it. From a study's random variation they become real ones, perhaps several times.
struct SpareWay {
    int screen = -1;     // the screen whose frame size, mesh, emulsion and coat plan it has
    bool again = false;  // a remake, from the old stencil; else, and where nobody strips, from a
                         // ready frame
    int first = 0;
    int count = 0;
};

/// Emulsion that only chance asks for: what remakes and rush orders take beyond what the run has.
struct SpareMix {
    core::StoreId store;  // empty until a study calls the mixing up
    int first = 0;        // its operations; count 0: comes ready, the store is opened as it is
    int count = 0;
    std::int64_t volume = 0;  // ml
};
struct SpareEmulsion {
    std::string emulsion;
    std::int64_t usable = 0;   // ml of coats that the run's stores hold in whatever order they come
    std::int64_t largest = 0;  // ml of one coat
    std::vector<SpareMix> mixes;
    /// What is mixed of it can be used so long from when it is free of bubbles; none: longer than
    /// the run.
    std::optional<core::Seconds> life;
};

struct RoomProblem {
    core::Problem problem;
    std::vector<ScreenInfo> screens;
    std::vector<OperationInfo> operations;  // one per Problem::operations
    std::vector<ResourceInfo> resources;    // one per Problem::resources
    std::vector<int> orders;                // Problem order -> index into Scenario::orders
    std::vector<MixInfo> mixes;
    std::vector<ReclaimInfo> reclaims;
    std::vector<MeshChoice> mesh_choices;
    std::vector<int> frames_left;     // per Scenario::frames: what no screen of the run is made on
    std::vector<ReturnInfo> returns;  // only after with_returns
    std::vector<model::FrameStock> stock_after;  // what the frame store holds when the run is done
    std::optional<std::size_t> changes_at;  // changes against a hung-up plan count before this aim
    std::vector<SpareWay> spare;            // only with CompileOptions::spare_ways
    std::vector<SpareEmulsion> spare_emulsions;  // the same; what the ways take, from which stores
};

/// What a screen under way is made on, whatever has been added to the store since.
struct FrameOfScreen {
    std::string tag, mesh;
    model::FrameState state = model::FrameState::Ready;
    bool haze = false;  // its way has that step
    /// When its first step and its exposure began; absent: not yet.
    std::optional<model::SimTime> begun, exposed;
};

struct CompileOptions {
    model::SimTime
        start{};   // the run begins (plan date 00:00, or the present time when replanning)
    int days = 3;  // the run
    /// Days behind it in which what is late still ends; no pot is counted on for them, so the run's
    /// operations are the same with and without.
    int spare_days = 0;
    std::string day_kind;  // named day of the climate ("damp"); empty: the room's air / weather.csv
    std::vector<core::Pause> pauses;   // where breaks lie; those not named are staggered
    bool late_coats = false;           // nothing counts on a pot that ends before the run does
    std::map<std::string, int> mixes;  // by emulsion: at least so many, where pots do not keep
    /// By emulsion: so many at most, none of those that are not named; of a finished plan, in which
    /// no coat takes from more.
    std::optional<std::map<std::string, int>> no_more_mixes;
    std::vector<FrameOfScreen> frames;  // of screens under way
    bool spare_ways = false;  // append two ways per screen that a study may call up (remake, rush)
    int spare_mixes = 3;      // with them, of each emulsion; a study enlarges the last if it must
};

/// @returns nullopt when diagnostics got an error (unknown mesh, frames that run out, a step nobody
/// can do, ...).
std::optional<RoomProblem> compile_room(const model::Scenario& scenario,
                                        const CompileOptions& options,
                                        model::Diagnostics& diagnostics);

/// By tag: 1: the ink was off, or was being taken off, when the plan begins again; 2: it was being
/// reclaimed. What was begun is finished by hand and not planned; the stock counts it as done.
using BegunReturns = std::map<std::string, int>;

/// The room with the frames that come back by `until` and are not needed: their operations are
/// fillers behind those of the run, which keep their numbers. Stock as it is at `until` if all that
/// is done.
/// @param parts how many parts of each return; left out: all that the room has places for.
RoomProblem with_returns(const model::Scenario& scenario, const CompileOptions& options,
                         RoomProblem room, core::SimTime until,
                         const std::vector<std::size_t>* parts = nullptr,
                         const BegunReturns& begun = {});

/// The same room without fillers; @pre they are the last operations.
RoomProblem without_returns(RoomProblem room);

}  // namespace sched::compile
