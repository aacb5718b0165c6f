#pragma once
// What the parts of compile_room hand to each other while a RoomProblem grows. Seen in this folder
// only.

#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "model/physics/cabinet.hpp"
#include "model/route/operation_graph.hpp"
#include "sched/compile/room_problem.hpp"

namespace sched::compile {

struct Builder {
    const model::Scenario& scenario;
    const CompileOptions& options;
    model::Diagnostics& diagnostics;
    RoomProblem out;

    std::vector<core::ResourceId> station_resource;  // by Room::stations; none() if unused
    std::vector<core::ResourceId> person_resource;   // by Room::people
    bool rack = false;                               // some station takes dry screens
    std::map<std::string, std::vector<core::StoreId>> stores;  // of the run, by emulsion
    // Solving a cabinet's air costs as much as all the rest of a screen: once is enough.
    mutable std::map<const model::Station*, model::physics::Cabinet> cabinets;
    mutable std::set<std::size_t> cold_units;  // by Room::stations: left out for others
    std::set<std::string> exposures_said;  // what is said of one order is so of all made like it

    const model::Room& room() const { return scenario.room; }
};

/// Whether `can` names the step; an empty list means everything.
bool person_can(const model::Person& person, model::Step step);

/// When somebody is there for the first time; nobody: nullopt.
std::optional<core::SimTime> first_there(const Builder& b);
/// The first moment at which the station's lamp can be warm; nullopt: it needs no warming up.
std::optional<core::SimTime> warm_from(const Builder& b, std::size_t station);

// Reclaimed frames whose stock line does not say get the haze step so often that its share comes
// out.
class HazeTurn {
public:
    explicit HazeTurn(double share) : share_(share) {}
    /// @param said by the stock line. @param kept a frame under way is as it is, and counts.
    bool next(const std::optional<bool>& said, const std::optional<bool>& kept = {}) {
        if (said) return *said;
        sum_ += share_;
        const bool turn = kept.value_or(sum_ >= 1.0 - 1e-9);
        if (turn) sum_ -= 1.0;
        return turn;
    }

private:
    double share_;
    double sum_ = 0.0;
};

/// A route's lag as constraints: the lag itself, the same mode, the same place.
void add_lag(core::Problem& problem, const model::route::RouteLag& lag, core::OperationId from,
             core::OperationId to);

/// Stations and people as resources with calendars; overtime windows.
void add_resources(Builder& builder);

/// Screens of the orders, each with the frame it is made on. Errors where frames run out.
void assign_frames(Builder& builder);

/// Until when the coat of a frame that was coated before the run may be exposed (start of that
/// operation); nullopt: it is none, or for ever.
std::optional<core::SimTime> shelf_end(const Builder& builder, const model::FrameStock& stock);

/// Routes of all screens as operations and lags.
void add_screens(Builder& builder);

/// The ways that a study may call up; after everything else, so that indices of the run stay.
void add_spare_ways(Builder& builder);

/// Pots as stores, takes of the coats, mixings that the coats need.
void add_emulsion(Builder& builder);

/// Takes of the spare ways, and mixings for what they take beyond the run's stores.
void add_spare_emulsion(Builder& builder);

/// Of the left-over frames, what the store holds at `until`: back from the press by then is there.
/// Frames alike are one line; first met, first listed.
void fill_stock_after(Builder& builder, core::SimTime until);

// ---- what the physics say about this room (room_physics.cpp) -----------------------------------

/// How one screen dries in one cabinet: stages of the drying clock, or typed minutes.
struct DryingMode {
    std::vector<core::DryStage> stages;
    core::Seconds typed{0};
    bool reachable = true;  // false: this air never gets it dry
};
DryingMode drying_mode(const Builder& builder, const model::Station& station, model::Step step,
                       const ScreenInfo& screen);

/// The drying clock of a cabinet over the horizon; nullopt: typed minutes there.
std::optional<core::SharedRate> cabinet_rate(const Builder& builder, const model::Station& station);

/// Exposure of a screen at a unit, lamp on to lamp off.
core::Seconds exposure_time(const Builder& builder, const model::Station& unit,
                            const ScreenInfo& screen);

/// Families of screens that may share an exposure, one number per given time [s].
std::vector<int> dose_families_of(const Builder& builder, const std::vector<double>& seconds);

/// Attended time of the wash-out: `typed` grown with the stencil.
core::Seconds wash_out_time(const Builder& builder, const ScreenInfo& screen, core::Seconds typed);

/// Emulsion that one coat group (face: one face coat) takes [ml, rounded up].
std::int64_t coat_millilitres(const Builder& builder, const ScreenInfo& screen, bool face);

/// Mesh of a line: the one it names (complaints where that breaks the rules), or the one proposed.
/// @param missing frames that the line would have to buy, one number per mesh of the room.
/// @param why of a proposed one, in words.
std::string mesh_of(Builder& builder, const model::Order& order, const model::ScreenLine& line,
                    std::span<const int> missing, std::string& why);

/// When a pot may no longer be used; nullopt: no limit.
std::optional<core::SimTime> pot_expiry(const model::Emulsion& emulsion, const model::Pot& pot);

/// Warns where a screen's time under a lamp is far from every calibrated one: a slip in a figure.
void check_exposure(Builder& builder, const model::Order& order, const model::ScreenLine& line,
                    const std::string& mesh);

/// Refuses a named day that the climate does not know.
void check_climate(Builder& builder);

/// Looks names up in the room; nullptr: unknown (the reader has said so).
const model::Emulsion* find_emulsion(const model::Room& room, const std::string& name);
const model::Mesh* find_mesh(const model::Room& room, const std::string& name);
const model::CoatPlan* find_coat_plan(const model::Room& room, const std::string& name);

}  // namespace sched::compile
