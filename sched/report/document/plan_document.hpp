#pragma once
// All that a plan says, as one plain value. Every text, page, sheet and file is drawn from this
// alone, so none can disagree with another. JSON form: plan_json.hpp; schema:
// docs/plan.schema.json.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/base/time.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/solution.hpp"

namespace sched::report {

using model::Seconds;
using model::SimTime;

inline constexpr int plan_format =
    1;  // raised when a reader of older plans would misread a newer one

/// One input file as it was read. `sha256`: 64 lower-case hex digits (FIPS 180-4) of its bytes.
struct InputFile {
    std::string name;  // within the scenario folder: "room.yaml"
    std::string sha256;
    std::int64_t bytes = 0;
    friend bool operator==(const InputFile&, const InputFile&) = default;
};

/// How the plan was found. `seconds` stays empty unless asked for, so that the same input gives the
/// same bytes.
struct RunLine {
    SimTime from{};         // nothing starts before
    SimTime until{};        // horizon
    SimTime first_start{};  // of any operation
    SimTime last_end{};
    std::uint64_t seed = 1;
    std::optional<double> budget_seconds;
    std::optional<std::int64_t> budget_evaluations;
    std::int64_t evaluations = 0;
    std::optional<double> seconds;
    bool interrupted = false;
    std::optional<std::int64_t> replications;  // simulated days behind the orders' chances
    std::optional<std::string>
        first_words;                 // what the days that may come make of the plan, in a sentence
    std::optional<std::string> day;  // named day of the climate that was planned for
    friend bool operator==(const RunLine&, const RunLine&) = default;
};

/// One aim of the shop, in its order. `value` and `bound` in `unit` ("s", "weight*s", "orders").
struct AimLine {
    std::string criterion;  // "weighted-tardiness", "late-orders", "overtime", "makespan",
                            // "holding", "flow-time"
    std::string words;      // "priority-weighted lateness"
    std::string unit;
    std::int64_t value = 0;
    std::optional<std::int64_t> bound;  // no schedule does better on this aim alone
    std::string value_words;            // "1 h 5 min", "2 orders", "17:40 on 2026-11-26"
    std::string gap_words;              // "proven best" or "could be up to 12 min lower"
    friend bool operator==(const AimLine&, const AimLine&) = default;
};

struct StationLine {
    std::string name;
    int places = 1;
    bool dries = false;  // a cabinet or rack: its fill over the day is drawn
    friend bool operator==(const StationLine&, const StationLine&) = default;
};

/// Half-open [from, to).
struct Period {
    SimTime from{};
    SimTime to{};
    friend bool operator==(const Period&, const Period&) = default;
};

struct PersonLine {
    std::string name;
    std::vector<Period> present;
    friend bool operator==(const PersonLine&, const PersonLine&) = default;
};

/// A break, where the plan has it.
struct BreakLine {
    std::string person;
    SimTime from{};
    SimTime to{};
    SimTime earliest{};  // may begin from then ...
    SimTime latest{};    // ... until then; the same: fixed
    friend bool operator==(const BreakLine&, const BreakLine&) = default;
};

struct ScreenLine {
    std::string tag;  // what a marker pen writes on the frame
    std::string order;
    int number = 1;  // within the order
    std::string mesh;
    std::string frame;  // "58 x 84 cm"
    std::string emulsion;
    std::string coat_plan;
    std::string coat_words;  // "2 print side, 2 squeegee side"
    std::string made_on;     // state of the frame it is made on: "old-stencil", ...
    Seconds exposure{0};
    bool two_people = false;       // the frame is to be lifted by two
    std::optional<SimTime> ready;  // end of its last step
    friend bool operator==(const ScreenLine&, const ScreenLine&) = default;
};

/// One operation in Problem order: number i is line i of the embedded schedule.
struct OperationLine {
    std::string screen;  // tag; empty: belongs to no screen
    std::string order;
    std::string step;   // key of the step: "strip", "dry-coat", ...
    int round = 0;      // coat group or face coat number, from 0
    std::string words;  // "coat B3-2 (2 print side, 2 squeegee side)"
    std::string place;  // station; empty: none
    int places = 0;     // places of it taken
    std::optional<SimTime> place_until;
    std::vector<std::string> also_at;  // further stations seized, if any
    std::vector<std::string> people;
    std::optional<SimTime> people_until;
    SimTime start{};
    SimTime work_end{};
    SimTime end{};  // from work_end till here it stands and holds its place
    std::optional<int> batch;
    std::vector<std::string> cautions;  // keys of Caution
    /// When the day differs, what can be done goes lowest first; absent: by its start.
    std::optional<int> turn;
    // Filled by simulated days of the plan: in 80 % of them it begins and is done between these.
    std::optional<SimTime> start_p10, start_p90, work_end_p10, work_end_p90;
    friend bool operator==(const OperationLine&, const OperationLine&) = default;
};

/// One reason on the chain that holds an order back, first in time first.
struct ReasonLine {
    std::string
        cause;  // "begin", "release", "predecessor", "resource", "calendar", "store", "choice"
    int operation = 0;  // index into PlanDocument::operations
    std::optional<int> because;
    std::string resource;  // name; empty: none
    Seconds waited{0};     // 0 for begin and predecessor: another's work is no waiting
    std::string words;
    friend bool operator==(const ReasonLine&, const ReasonLine&) = default;
};

struct OrderLine {
    std::string name;
    std::string customer;
    int screens = 0;
    std::int64_t weight = 1;
    SimTime release{};
    std::optional<SimTime> due;
    std::optional<SimTime> ready;     // none: the order has no operations
    std::optional<Seconds> lateness;  // ready - due; below zero: early
    std::string story;                // why it is ready no earlier, in two or three sentences
    std::vector<ReasonLine> reasons;  // the chain, link by link
    // Filled by a study of the same plan under chance; absent in a plain plan.
    std::optional<double> chance_late;  // 0 .. 1
    std::optional<SimTime> ready_p10;
    std::optional<SimTime> ready_p50;
    std::optional<SimTime> ready_p90;
    friend bool operator==(const OrderLine&, const OrderLine&) = default;
};

/// Time elements of one resource, named after ISO 22400-2:2014 where it has a name: staffed = PBT,
/// working = APT, holding = ADET (taken, but waiting). Capacity-seconds. Ratios are absent when
/// their denominator is zero.
struct LoadLine {
    std::string resource;
    std::string kind;  // "station" or "person"
    int capacity = 1;
    Seconds staffed{0};
    Seconds working{0};
    Seconds holding{0};
    Seconds waited_for{0};   // operations waited because it was taken and nothing else held them
    Seconds waited_away{0};  // ... because it was not there (after the first start of the run)
    int on_late_chains = 0;
    std::optional<double> availability;  // APT / PBT (of a person: worker efficiency APWT / APAT)
    std::optional<double> allocation_efficiency;   // (APT + ADET) / PBT
    std::optional<double> utilisation_efficiency;  // APT / (APT + ADET)
    friend bool operator==(const LoadLine&, const LoadLine&) = default;
};

/// From `from` to the next step: places with work going on, and places that a finished screen
/// holds.
struct FillStep {
    SimTime from{};
    int working = 0;
    int holding = 0;
    friend bool operator==(const FillStep&, const FillStep&) = default;
};

struct FillLine {
    std::string station;
    int places = 1;
    std::vector<FillStep> steps;
    friend bool operator==(const FillLine&, const FillLine&) = default;
};

struct MixLine {
    std::string emulsion;
    std::string pot;
    double volume_ml = 0.0;
    bool to_buy = false;
    std::optional<SimTime> buy_by;  // of what is to buy: when it is mixed, or first coated from
    std::vector<int> operations;    // indices, in time order
    std::optional<SimTime> start;
    std::optional<SimTime> usable;      // the first take from it is allowed
    std::optional<SimTime> good_until;  // end of its pot life; not of what comes ready to use
    std::vector<std::string> people;
    friend bool operator==(const MixLine&, const MixLine&) = default;
};

struct ReclaimLine {
    std::string screen;  // tag of the screen that the frame becomes
    std::string frame;
    std::string mesh;
    std::string state;
    std::optional<SimTime> start;  // of the first step on it
    std::vector<std::string> people;
    friend bool operator==(const ReclaimLine&, const ReclaimLine&) = default;
};

/// A used frame that comes back from the press during the run and that no screen of it needs.
struct ReturnLine {
    std::string tag;  // of its operations
    std::string frame;
    std::string mesh;
    std::string state;    // as it comes
    SimTime back{};       // from when on it is there
    std::string becomes;  // state at the end of the run; the same: no idle time was left for it
    std::optional<SimTime> start;
    std::optional<SimTime> done;
    std::vector<std::string> people;
    friend bool operator==(const ReturnLine&, const ReturnLine&) = default;
};

/// A line of the frame store at the end of the run, with all that frames.csv asks for.
struct StockLine {
    std::string frame;
    std::string mesh;
    std::string state;
    int count = 0;
    std::optional<bool> haze;
    std::optional<SimTime> coated_dry;
    std::optional<std::string> emulsion;
    std::optional<std::string> coat_plan;
    std::optional<std::string> order;
    std::optional<SimTime> from;  // comes back later than the run lasts
    friend bool operator==(const StockLine&, const StockLine&) = default;
};

struct WarningLine {
    std::string place;  // "orders.csv:14:9"; empty: nowhere in the input
    std::string code;
    std::string words;
    friend bool operator==(const WarningLine&, const WarningLine&) = default;
};

/// What one more of something would save, found by planning again (filled by a study, may be
/// empty).
struct WhatIfLine {
    std::string change;  // "one more place in Cabinet 1"
    std::string words;   // "saves 45 min of lateness; then the booth limits"
    friend bool operator==(const WhatIfLine&, const WhatIfLine&) = default;
};

struct Bottleneck {
    std::string resource;                // empty: nothing limits the day
    std::vector<std::string> sentences;  // the story
    std::vector<WhatIfLine> what_ifs;
    friend bool operator==(const Bottleneck&, const Bottleneck&) = default;
};

/// One operation that stands elsewhere than on the posted sheet.
struct ChangeLine {
    int operation = 0;
    SimTime old_start{};
    SimTime start{};
    std::string words;  // "B3-2 coat moves from 10:20 to 11:05, Ben instead of Ada"
    friend bool operator==(const ChangeLine&, const ChangeLine&) = default;
};

/// A plan from the middle of the day: what it began with, and what it changes.
struct AgainSection {
    SimTime now{};
    std::vector<int> over;       // operations that have left their place; sheets leave them out
    std::vector<int> under_way;  // begun and still there
    bool compared = false;       // there was an earlier plan
    int held = 0;                // planned within the frozen window and held there
    int relaxed = 0;             // ... that could not be held
    std::vector<ChangeLine> changes;  // by start
    std::vector<std::string> notes;   // what was told of the state, and taken so
    friend bool operator==(const AgainSection&, const AgainSection&) = default;
};

struct CautionLine {
    std::string key;
    std::string title;
    std::string words;
    friend bool operator==(const CautionLine&, const CautionLine&) = default;
};

/// A mesh that no order named.
struct MeshChoiceLine {
    std::string order;
    std::string mesh;
    std::string words;  // why this one
    friend bool operator==(const MeshChoiceLine&, const MeshChoiceLine&) = default;
};
struct PlanDocument {
    int format = plan_format;
    std::string program;  // "coatroom 0.1.0"
    std::string room;
    bool invented = false;    // demo data say so
    std::string fingerprint;  // SHA-256 over names and digests of `inputs`
    std::vector<InputFile> inputs;
    RunLine run;
    std::string status;  // "optimal", "feasible"
    std::vector<AimLine> aims;
    std::vector<StationLine> stations;
    std::vector<PersonLine> people;
    std::vector<BreakLine> breaks;  // of the days of the run, in order of time
    std::vector<ScreenLine> screens;
    std::vector<OrderLine> orders;
    std::vector<OperationLine> operations;
    std::vector<LoadLine> loads;
    std::vector<FillLine> fills;
    std::vector<std::string> pins;  // what was held, in the words of the lead
    std::vector<MeshChoiceLine> mesh_choices;
    std::vector<MixLine> mixes;
    std::vector<ReclaimLine> reclaims;
    std::vector<ReturnLine> returns;
    std::vector<WarningLine> warnings;
    std::vector<StockLine> stock_after;
    Bottleneck bottleneck;
    std::optional<AgainSection> again;  // only of a plan from the middle of the day
    std::vector<CautionLine> cautions;  // those that the operations name, in full words
    core::Problem problem;              // so that a judge can check the plan file by itself
    core::Schedule schedule;
    friend bool operator==(const PlanDocument&, const PlanDocument&) = default;
};

/// What make_plan_document cannot read off scenario, problem and solution.
struct PlanFacts {
    std::string version;  // "0.1.0"
    std::vector<InputFile> inputs;
    std::uint64_t seed = 1;
    std::optional<double> budget_seconds;
    std::optional<std::int64_t> budget_evaluations;
    std::optional<double> seconds;               // set only if the document shall carry it
    std::string day;                             // named day of the climate; empty: none
    std::vector<model::Diagnostic> diagnostics;  // of reading and compiling; they become warnings
    std::vector<std::string> pins;               // as they were written
};

/// @pre solution.schedule is set and passed the checker; one OperationInfo per operation.
PlanDocument make_plan_document(const model::Scenario& scenario, const compile::RoomProblem& room,
                                const core::Solution& solution, const PlanFacts& facts);

/// @returns where the document's own lines contradict its embedded schedule (times, places,
/// people); empty if they agree. A plan file that somebody edited by hand is found out here.
std::vector<std::string> contradictions(const PlanDocument& document);

}  // namespace sched::report
