#pragma once
// The room as its lead would describe it: places, people, air, emulsions, meshes, coat plans, times
// and limits. Plain values read from room.yaml; no clock runs here and nothing is searched.
// Names are the user's own and unique within their list. Every [M] default is a setting.

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/base/quantity.hpp"
#include "model/base/time.hpp"

namespace model {

// ---- steps -----------------------------------------------------------------------------------

/// The steps of the trade in the order a screen meets them. One row each in model/room/steps.cpp.
enum class Step {
    InkOff,
    InkDegrease,
    Strip,
    Rinse,
    Haze,
    Abrade,
    Degrease,
    DryMesh,
    Coat,
    DryCoat,
    FaceCoat,
    DryFace,
    Expose,
    WashOut,
    DryStencil,
    Inspect,
    DryTouchUp,
    PostHarden,
    MixDissolve,
    MixStir,  // emulsion: sensitizer into water, sensitizer into emulsion
    TakeOut,  // carrying a dry screen from the cabinet to the rack
};
inline constexpr int step_count = static_cast<int>(Step::TakeOut) + 1;

/// Times of a step that hold at some stations, for large frames or for some people only. All that
/// is said must hold; of several that do the last one counts.
struct TimeException {
    std::vector<std::string> at;      // stations; empty: anywhere
    std::optional<Area> frames_from;  // frames larger than this in either side; none: all
    std::vector<std::string> by;      // people; empty: anybody
    std::optional<Seconds> attended;
    std::optional<Seconds> stand;
    SourcePlace place;
    friend bool operator==(const TimeException&, const TimeException&) = default;
};

/// Times of one step in this room. Attended = a person is there; stand = only the place is taken.
/// Of a drying step attended is the hanging up.
struct StepTime {
    Seconds attended{0};
    Seconds stand{
        0};  // after the attended part: paste works, soak, paint dries (typed drying minutes too)
    std::optional<Seconds>
        spread;              // half-width for the chance of a study; none: the study's default
    bool stand_said = true;  // false, of a drying step: computed from the air, or the usual time
    std::vector<TimeException> but{};
    friend bool operator==(const StepTime&, const StepTime&) = default;
};

// ---- places ----------------------------------------------------------------------------------

/// Air side of a drying cabinet (see docs/physics.md). All values of the cabinet as it stands.
struct CabinetAir {
    Celsius temperature{38.0};       // setting of the air, at most 40 °C
    CubicMetresPerHour supply{0.0};  // fresh (not recirculated) air
    Fraction recirculated{0.0};      // share of the moved air that goes round
    MetresPerSecond speed{
        0.7};  // along the screens; usual coats then dry in the usual minutes (docs/physics.md)
    std::optional<Watts> heater;                      // power limit; none: always enough
    std::optional<RelativeHumidity> dehumidified_to;  // supply air leaves the dehumidifier at most
                                                      // this damp (at supply temperature)
    double transfer_factor = 1.0;  // calibration of the transfer coefficient, 0.2 .. 5
    friend bool operator==(const CabinetAir&, const CabinetAir&) = default;
};

enum class LampKind { MetalHalide, Mercury, Xenon, Fluorescent, Led };

struct Lamp {
    LampKind kind = LampKind::MetalHalide;
    Centimetres distance{100.0};    // lamp to glass
    double hours = 0.0;             // since the lamp was changed
    double output_at_1000_h = 0.7;  // of new, exponential between
    bool integrator = false;        // doses are counted, ageing corrected by the unit itself
    Seconds warm_up{0};             // once before the first exposure of a run
    Seconds draw_down{0};           // vacuum drawn before each exposure, nobody needed
    friend bool operator==(const Lamp&, const Lamp&) = default;
};

/// A place where steps happen: sink, booth, stand, cabinet, rack, exposure unit, table.
struct Station {
    std::string name;
    std::vector<Step> does;  // steps that can be done here
    int places = 1;          // screens at once; slots of a cabinet or rack
    bool light_safe = false;
    std::optional<Area> largest_frame;  // none: any
    std::optional<Area> double_from;    // frames larger than this in either side take two places
    std::optional<CabinetAir> air;      // a cabinet with climate: drying is computed
    std::optional<Lamp> lamp;           // an exposure unit
    std::optional<Area> blanket;  // of an exposure unit: several screens may share one exposure
    std::vector<std::pair<SimTime, SimTime>> closed;  // downtime windows
    Seconds walk{0};        // hand-over time added to the attended part of steps done here
    std::string stands_in;  // part of the premises, a name of Room::walks; empty: none
    std::string beside;     // a station next to it: no way between them (spots.hpp)
    SourcePlace place;
    friend bool operator==(const Station&, const Station&) = default;
};

/// How long a screen is carried from one part of the premises to another, there and back alike
/// unless `one_way`. Pairs that are not named take no time.
struct Walk {
    std::string from, to;  // Station::stands_in
    Seconds time{0};
    bool one_way = false;
    SourcePlace place;
    friend bool operator==(const Walk&, const Walk&) = default;
};

// ---- people ----------------------------------------------------------------------------------

struct Shift {
    std::array<bool, 7> weekdays{};  // Monday first
    Seconds from{0};                 // of the day
    Seconds to{0};                   // of the day; beyond 24 h: ends next day
    friend bool operator==(const Shift&, const Shift&) = default;
};

/// A break of fixed time (earliest = latest) or one that may float between earliest and latest
/// start.
struct Break {
    Seconds earliest{0};
    Seconds latest{0};
    Seconds length{0};
    friend bool operator==(const Break&, const Break&) = default;
};

struct LongerDay {
    LocalDate date{};
    Seconds by{0};
    friend bool operator==(const LongerDay&, const LongerDay&) = default;
};

struct Person {
    std::string name;
    std::vector<Step> can;  // skills; empty in the file means every step
    std::vector<Shift> shifts;
    std::vector<Break> breaks;
    std::vector<LocalDate> absent;
    Seconds overtime{0};  // may stay this long after the shift when asked; counts as overtime
    /// Decided for a date: after the last shift that begins on it, beyond `overtime`.
    std::vector<LongerDay> longer = {};
    SourcePlace place;
    friend bool operator==(const Person&, const Person&) = default;
};

// ---- material --------------------------------------------------------------------------------

enum class EmulsionFamily { Diazo, DualCure, Photopolymer };

struct Emulsion {
    std::string name;
    EmulsionFamily family = EmulsionFamily::DualCure;
    Fraction solids{0.4};        // by mass of the liquid
    Micrometres wet_film{40.0};  // one coat, over the mesh, one face; see settle_exposure
    double density = 1050.0;     // kg/m³ of the liquid
    Seconds pot_life_room{0};    // after mixing
    Seconds pot_life_cold{0};
    Millilitres batch{1000.0};         // volume that one mixing makes
    bool batch_weighed = false;        // while it is read: a weight, still as ml of water
    Millilitres waste_per_coat{5.0};   // stays in the trough
    double critical_moisture = 0.5;    // X_c [kg/kg dry], calibration
    Seconds base_exposure{60};         // calibrated time ...
    Centimetres base_distance{100.0};  // ... at this lamp distance,
    Micrometres base_stencil{20.0};    // this dry stencil, what fills the mesh included, new lamp
    double base_dyed = 1.0;            // and a mesh with this factor
    // What the file says of it; settle_exposure makes wet_film and the base_ figures of that.
    std::optional<Micrometres> wet_film_given;
    std::optional<Micrometres> stencil_given;
    std::string calibrated_plan;  // names; empty: not said
    std::string calibrated_mesh;
    double wash_out_growth =
        0.5;  // wash-out time grows by this share of the relative growth in stencil thickness [M]
    SourcePlace place;
    friend bool operator==(const Emulsion&, const Emulsion&) = default;
};

/// A pot that stands in the room (or the refrigerator) at the start.
struct Pot {
    std::string name;
    std::string emulsion;
    Millilitres volume{0.0};
    bool weighed = false;          // while it is read: a weight, still as ml of water
    std::optional<SimTime> mixed;  // none: comes ready (photopolymer) or is still unmixed
    bool needs_mixing = false;     // the two parts still stand apart
    bool refrigerated = false;
    std::optional<SimTime> opened;  // by a mark of the day: its life counts from then
    SourcePlace place;
    friend bool operator==(const Pot&, const Pot&) = default;
};

/// A pot, of room.yaml or mixed in the run, that is marked empty: from then on nothing is taken.
struct EmptiedPot {
    std::string name;
    SimTime at{};
    Millilitres taken{0.0};  // of it by then, as far as it is sure
    friend bool operator==(const EmptiedPot&, const EmptiedPot&) = default;
};

struct Mesh {
    std::string name;  // "120-34"
    ThreadsPerCm count{120.0};
    Micrometres thread{34.0};
    std::optional<Micrometres> fabric;  // thickness; none: 1.5 thread diameters
    bool dyed = false;
    double dyed_factor = 1.75;  // exposure factor of dyed mesh [M] 1.5 .. 2
    SourcePlace place;
    friend bool operator==(const Mesh&, const Mesh&) = default;
};

/// "2+2" or "1+1" or "2+3, 2 face": print side coats, squeegee side coats, dried face coats.
struct CoatPlan {
    std::string name;
    int print_side = 2;                 // 1 .. 2
    int squeegee_side = 2;              // 1 .. 5
    int face = 0;                       // 0 .. 6 further print-side coats, each dried
    std::optional<Seconds> coat;        // attended time of the wet group; none: step time "coat"
    std::optional<Seconds> coat_stand;  // then it stands there alone (a coating machine)
    std::optional<Seconds> dry_coat;    // typed drying minutes; none: computed, or step time
    std::optional<Seconds> dry_face;
    SourcePlace place;
    friend bool operator==(const CoatPlan&, const CoatPlan&) = default;
};

// ---- climate, limits, aims --------------------------------------------------------------------

struct Air {
    Celsius temperature{21.0};
    RelativeHumidity humidity{0.5};
    friend bool operator==(const Air&, const Air&) = default;
};

/// Air of the room: constant, or by the hour from weather.csv (which wins where it has rows).
struct Climate {
    Air air;
    Pascals pressure{101325.0};
    std::map<std::string, Air> named_days;  // "dry", "usual", "damp"
    friend bool operator==(const Climate&, const Climate&) = default;
};

/// Figures of drying that no source gives (see docs/physics.md); all [M], calibrate what matters.
struct DryingLaw {
    double final_moisture = 0.08;  // X_f [kg water/kg dry]: dry enough to expose
    double sorption = 0.10;  // equilibrium moisture X_e per unit of relative humidity [kg/kg dry]
    double mesh_water = 100.0;       // g per m² of mesh after rinsing, both faces together
    double stencil_water = 110.0;    // g per m² after wash-out, both faces together
    Centimetres frame_profile{4.0};  // width of the frame's bar: the mesh inside is what is wet
    friend bool operator==(const DryingLaw&, const DryingLaw&) = default;
};

struct Limits {
    Seconds remover_max = minutes(5);       // remover on -> rinse begins [P]
    Seconds remover_min = minutes(2);       // it must work this long [M]
    Seconds dry_to_coat = hours(4);         // degreased and dry -> coated [M]
    Seconds coat_to_dry = minutes(20);      // coated and stood -> drying begins [M]
    Seconds expose_to_wash = minutes(30);   // [M]
    Seconds coated_shelf = hours(24 * 28);  // coated and dry -> exposed, in the dark [M]
    Fraction dose_tolerance{0.05};  // screens whose exposures differ by no more may share one [M]
    Centimetres blanket_gap{2.0};   // between frames on one blanket [M]
    Celsius dry_at_most{40.0};      // [P]
    std::optional<Area> two_people_from;  // frames larger than this in either side need two people
    std::vector<Step> two_people_for{Step::TakeOut, Step::Expose};  // ... for these steps; carrying
                                                                    // is TakeOut; empty: for all
    friend bool operator==(const Limits&, const Limits&) = default;
};

/// When finished screens may be promised for, and how surely.
struct PromiseRule {
    Fraction level{0.9};         // chance to keep a promise
    std::vector<Seconds> slots;  // times of the day to promise for; none: every quarter of an hour
    std::vector<Shift> press;    // when the press takes screens; none: always
    /// What a promised order weighs that a new one makes late, in time of the new one.
    Seconds late_order = hours(48);
    /// Largest number of screens of each class of the lead-time table; none: 4, 8, 16.
    std::vector<int> sizes;
    friend bool operator==(const PromiseRule&, const PromiseRule&) = default;
};

/// Changes: against the posted plan, when the day is planned again.
enum class Aim { Tardiness, LateOrders, Overtime, Finish, Holding, Changes };

/// Everything of room.yaml.
struct Room {
    std::string name;
    bool invented = false;         // demo data say so
    std::string currency;          // of all amounts, ISO 4217: EUR; empty: not said
    std::optional<LocalDate> day;  // of the run; none: the next working day by the clock
    std::vector<Station> stations;
    std::vector<Walk> walks;
    Seconds between_stations{10};  // somebody needs from one to another
    std::vector<Person> people;
    std::vector<Emulsion> emulsions;
    std::vector<Pot> pots;
    std::vector<EmptiedPot> emptied;  // in the day that is under way; not of room.yaml
    std::vector<Mesh> meshes;
    std::vector<CoatPlan> coat_plans;
    std::map<Step, StepTime> steps;  // steps not named have the usual times of model/room/steps
    Fraction haze_share{
        0.3};  // of reclaimed screens that need the haze step when the stock file does not say
    std::optional<Climate> climate;  // none: typed drying minutes everywhere
    DryingLaw drying;
    Limits limits;
    PromiseRule promise;
    std::vector<Aim> aims{Aim::Tardiness, Aim::LateOrders, Aim::Overtime, Aim::Finish,
                          Aim::Holding};
    SourcePlace place;
    friend bool operator==(const Room&, const Room&) = default;
};

}  // namespace model
