#pragma once
// The narrow waist: what a scheduling problem is, with no word of screens. Rooms and the public
// benchmark files compile into a Problem; engine, search, bounds and checker read only this.
//
// Three-field notation of the whole: FJ | r_j, prec, temp lags, brkdwn, batch, block, recrc | lex(Σ
// w_j T_j, ...)

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "model/base/id.hpp"
#include "model/base/time.hpp"

namespace sched::core {

using model::Id;
using model::Seconds;
using model::SimTime;

struct ResourceTag;
struct OperationTag;
struct JobTag;
struct OrderTag;
struct StoreTag;
using ResourceId = Id<ResourceTag>;
using OperationId = Id<OperationTag>;
using JobId = Id<JobTag>;
using OrderId = Id<OrderTag>;
using StoreId = Id<StoreTag>;

// ---- resources -------------------------------------------------------------------------------

/// Half-open interval [from, to), from < to.
struct Window {
    SimTime from;
    SimTime to;
    friend bool operator==(const Window&, const Window&) = default;
};

/// When a resource is staffed or in service: sorted, disjoint, non-touching windows. Outside them
/// it does nothing. An empty calendar means "never"; no calendar at all means "always".
using Calendar = std::vector<Window>;

/// The drying clock of a cabinet: virtual time tau with
///   d tau / dt = min(max(base(t) / (1 + S), crowd(t) / (crowd_shift(t) + S)),
///                    cap(t) / (cap_shift(t) + S)),
/// S = sum of the shares of what is still wet inside.
/// base(t) is the driving force with nothing inside, crowd(t) what air near saturation still takes
/// up (absent: no more), cap(t) the limit that heat supply sets on the sum (absent: none). All are
/// step functions: value i holds from `steps[i].from` to the next
/// step; steps[0].from must be at or before every possible use. With base = 1, no cap and all
/// shares 0 the clock is the wall clock (typed minutes). An operation weighs from its start to the
/// instant (real, not rounded) at which its last stage is done, however long it stands there
/// afterwards. cap_shift + S = 0: the cap does not bind.
struct RateStep {
    SimTime from;
    double base = 1.0;                           // > 0 or = 0 (stands still)
    std::optional<double> cap;                   // > 0
    double cap_shift = 0.0;                      // >= 0
    std::optional<double> crowd = std::nullopt;  // > 0
    double crowd_shift = 1.0;                    // > 0
    friend bool operator==(const RateStep&, const RateStep&) = default;
};
/// d tau / dt at load S = `load`. The checker has its own.
inline double clock_rate(const RateStep& step, double load) {
    double rate = step.base / (1.0 + load);
    if (step.crowd) rate = std::max(rate, *step.crowd / (step.crowd_shift + load));
    const double over = step.cap_shift + load;
    return step.cap && over > 0.0 ? std::min(rate, *step.cap / over) : rate;
}
struct SharedRate {
    std::vector<RateStep> steps;
    friend bool operator==(const SharedRate&, const SharedRate&) = default;
};

/// A resource that takes several operations at once as one batch: members of a batch start and end
/// together, have the same family, are at most `max_members`, and their rectangles fit the area
/// with `gap` between neighbours (not to the border), each turned by 0 or 90 degrees. Two members
/// are far enough apart if their distance along x or along y is at least the gap. start and end are
/// equal for all; work_end may differ (a short member waits for the long ones by its stretch). An
/// operation on such a resource without a batch number is a batch of its own; it must fit all the
/// same. A batch number without such a resource among the chosen is an error.
struct BatchArea {
    int width_mm = 0;
    int height_mm = 0;
    int gap_mm = 0;
    int max_members = 1;
    friend bool operator==(const BatchArea&, const BatchArea&) = default;
};

/// Unary (capacity 1) or cumulative. A batch counts once, with its largest amount, against the
/// capacity of its batching resource, and once against any other resource of capacity 1 that
/// several of its members choose (one person minds the whole batch). Elsewhere each member counts.
///
/// `walk` (capacity 1 only): between two operations that choose it with span Work, one after the
/// other, at different places (what the first need chooses, if its span is Whole), it needs so long
/// to come from one place to the other; none if it is closed in between, or if the first of them
/// has begun before Problem::now. A sequence-dependent set-up time. Of a place, `beside`: one that
/// it stands next to; the two are one place to whoever walks, as are all beside the same one.
struct Resource {
    std::string name;
    int capacity = 1;
    std::optional<Calendar> calendar;
    std::optional<SharedRate> shared;
    std::optional<BatchArea> batch;
    Seconds walk{0};
    std::optional<ResourceId> beside;  // one that is beside none itself
    friend bool operator==(const Resource&, const Resource&) = default;
};

// ---- operations ------------------------------------------------------------------------------

/// Which part of an operation needs the resource.
/// Whole: [start, end), stretching included.  Work: [start, work_end). An empty interval needs
/// nothing.
enum class Span { Whole, Work };

/// `amount` units of one resource out of `any_of` (the planner chooses; size 1: no choice).
/// Two needs of one mode choose different resources where their lists overlap.
struct Need {
    std::vector<ResourceId> any_of;
    int amount = 1;
    Span span = Span::Whole;
    friend bool operator==(const Need&, const Need&) = default;
};

/// One stage of drying: `work` units of the drying clock during which the operation weighs `share`
/// in S. Stages follow each other; after the last one the operation is dry and weighs nothing.
struct DryStage {
    double work = 0.0;   // >= 0, in clock units
    double share = 0.0;  // >= 0
    friend bool operator==(const DryStage&, const DryStage&) = default;
};

/// One way to do an operation.
struct Mode {
    /// Length of the work: work_end = start + work, unless it pauses. With `stages` it is only the
    /// lower bound by handling (often 0): work_end = max(start + work, the clock's answer),
    /// pausable or not.
    Seconds work{0};
    std::vector<Need> needs;
    /// Not empty: the length follows the drying clock of the first need's resource, which has
    /// `shared` and is chosen among any_of. work_end = first whole second at which all stages are
    /// done.
    std::vector<DryStage> stages;
    friend bool operator==(const Mode&, const Mode&) = default;
};

/// What a batching resource must know of an operation.
struct BatchShape {
    int family = 0;
    int width_mm = 0;
    int height_mm = 0;
    friend bool operator==(const BatchShape&, const BatchShape&) = default;
};

/// An operation starts at `start`, works till `work_end`, and then may stretch (stand, hold its
/// place) till `end`: end - work_end in [0, max_stretch]. Work is never interrupted, except that a
/// pausable operation's work is suspended whenever the calendar of one of its chosen resources
/// (Work or Whole) is closed: it starts at a second open in all of them, work_end is the first
/// second at which `work` seconds open in all of them have passed, and it keeps all its resources
/// through the pause. Not pausable: a need of either span must lie within one window of its
/// resource's calendar.
struct Operation {
    std::string name;
    JobId job = JobId::none();  // none(): belongs to no job (mixing, maintenance)
    std::vector<Mode> modes;    // at least one
    std::optional<Seconds> max_stretch = Seconds{0};  // nullopt: no limit
    bool pausable = false;
    std::optional<BatchShape> batch;  // set if it may use a resource with `batch`
    bool filler = false;  // done in idle time for a later run: no makespan, no holding counts it
    bool dries = false;   // something wet dries: who brings it is booked together with it
    friend bool operator==(const Operation&, const Operation&) = default;
};

/// A job is one screen: a part of an order. Its operations are those that name it.
struct Job {
    std::string name;
    OrderId order = OrderId::none();
    friend bool operator==(const Job&, const Job&) = default;
};

/// The unit that is due. Completion = latest end (work_end for operations that stretch without
/// limit) of the operations of its jobs; it must be at or before the deadline. Operations of its
/// jobs start at or after `release`.
struct Order {
    std::string name;
    SimTime release{};
    std::optional<SimTime> due;       // tardiness counts from here; nullopt: never late
    std::optional<SimTime> deadline;  // must be kept
    std::int64_t weight = 1;          // >= 0
    friend bool operator==(const Order&, const Order&) = default;
};

/// A store of something that is used up (one pot of emulsion), in whole units (say millilitres).
/// Takes are allowed at times in [from, until) only; the level never drops below 0. At equal times
/// what is given counts before what is taken. A take of 0 is always allowed. With `life` there is
/// nothing at first, one Give, and takes before given + life only.
struct Store {
    std::string name;
    std::int64_t initial = 0;
    std::optional<SimTime> from;
    std::optional<SimTime> until;
    std::optional<Seconds> life;
    friend bool operator==(const Store&, const Store&) = default;
};

// ---- constraints -----------------------------------------------------------------------------

enum class Edge { Start, WorkEnd, End };

/// min <= start(to) - edge(from) <= max.  min may be negative. No max: no upper limit.
/// A blocking hand-over ("holds its place until it can move on") is a lag from End with min = max =
/// 0 after an operation that may stretch.
struct TimeLag {
    OperationId from;
    Edge edge = Edge::End;
    OperationId to;
    Seconds min{0};
    std::optional<Seconds> max;
    friend bool operator==(const TimeLag&, const TimeLag&) = default;
};

/// start(operation) in [not_before, not_after]. Both equal: fixed (work already begun, a pin).
struct StartWindow {
    OperationId operation;
    std::optional<SimTime> not_before;
    std::optional<SimTime> not_after;
    friend bool operator==(const StartWindow&, const StartWindow&) = default;
};

/// Both operations use the same mode index (the unload happens at the unit that was loaded).
struct SameMode {
    OperationId a;
    OperationId b;
    friend bool operator==(const SameMode&, const SameMode&) = default;
};

/// Need `need_a` of a's mode and need `need_b` of b's mode choose the same resource (same cabinet,
/// same person). Applies whenever both chosen modes have that need.
struct SameResource {
    OperationId a;
    int need_a = 0;
    OperationId b;
    int need_b = 0;
    friend bool operator==(const SameResource&, const SameResource&) = default;
};

/// At start(operation), `amount` leaves one of the stores `any_of` (the planner chooses).
struct Take {
    OperationId operation;
    std::vector<StoreId> any_of;
    std::int64_t amount = 0;
    friend bool operator==(const Take&, const Take&) = default;
};

/// At work_end(operation), `amount` enters the store.
struct Give {
    OperationId operation;
    StoreId store;
    std::int64_t amount = 0;
    friend bool operator==(const Give&, const Give&) = default;
};

/// All that a Problem can demand beyond operations and resources. Whoever visits this names every
/// alternative (no default branch), so that the compiler lists what a new one still needs.
using Constraint = std::variant<TimeLag, StartWindow, SameMode, SameResource, Take, Give>;

// ---- objective -------------------------------------------------------------------------------

/// Minimised lexicographically in the order given.
enum class Criterion {
    WeightedTardiness,  // sum over orders of weight * max(0, completion - due), in weight * s
    LateOrders,         // number of orders with completion > due
    Overtime,  // s of work on any resource inside Problem::overtime windows, summed over needs with
               // span Work; of a batch once, as long as its longest member works
    Makespan,  // latest completion over all operations but fillers (work_end where stretch is
               // unlimited) - horizon_start, s
    Holding,   // sum over operations but fillers of end - work_end, s
    FlowTime,  // sum over orders of completion - release, s
};

struct OvertimeWindow {
    ResourceId resource;
    Window window;
    friend bool operator==(const OvertimeWindow&, const OvertimeWindow&) = default;
};

/// Work that had begun before Problem::now: a fact, not a choice. Its placement has exactly this
/// start, mode, places, people, stores and batch; with `work_end` and `end` it has those too.
struct Begun {
    OperationId operation;
    SimTime start{};
    int mode = 0;
    std::vector<ResourceId> chosen;  // one per need of the mode, of any resource
    std::vector<StoreId> stores;     // one per Take
    std::optional<int> batch;
    /// When its work ended; after `now`: when it will, whatever its mode says (drying: not before,
    /// and not before the clock says). Absent: as its mode says. What dries weighs in its clock
    /// until the clock or, if that is sooner, this says that it is dry.
    std::optional<SimTime> work_end;
    /// When it left its place, <= now. Absent: it is still there.
    std::optional<SimTime> end;
    friend bool operator==(const Begun&, const Begun&) = default;
};

/// Time off of a person within a shift: `length` in one piece, begun in [earliest, latest]; no two
/// of a resource meet. `at` is where the plan has it (core/pauses.hpp moves it), and the resource's
/// calendar is closed there: to everyone but the search for its place it is a hole like others.
struct Pause {
    ResourceId resource;
    SimTime earliest{};
    SimTime latest{};  // earliest: fixed
    Seconds length{0};
    SimTime at{};
    friend bool operator==(const Pause&, const Pause&) = default;
};

/// What of maximum lags of hours (a dry mesh is to be coated within four) is booked at once with
/// what begins them. The more, the fewer schedules can be reached, and the fewer limits are missed.
enum class Ties {
    None,
    Inside,  // of what dries at `now`, its leaving
    All,
};

/// The whole question. Everything is checked once by `validate` and then immutable.
struct Problem {
    std::string name;
    SimTime horizon_start{};  // nothing starts before it, except operations fixed earlier
                              // (not_before == not_after)
    SimTime horizon_end{};    // every `end` is at or before it (a hard limit)
    std::vector<Resource> resources;
    std::vector<Store> stores;
    std::vector<Order> orders;
    std::vector<Job> jobs;
    std::vector<Operation> operations;
    std::vector<Constraint> constraints;
    std::vector<Criterion> objective;
    std::vector<OvertimeWindow> overtime;
    /// A plan that begins in the middle of the day: whatever is not in `begun` starts at or after
    /// `now`. What has happened is not judged: limits between two of `begun`, what resources gave
    /// before `now` or to these alone, their calendars, releases and windows. A maximum lag binds
    /// nobody that passes before `now`, or before the work that has begun lets its follower start.
    std::optional<SimTime> now;
    std::vector<Begun> begun;  // as they began, each operation once; empty without `now`
    std::vector<Pause> pauses;
    /// How it is scheduled, no part of what is asked.
    Ties ties = Ties::None;

    friend bool operator==(const Problem&, const Problem&) = default;
};

/// The ties to try next where those of the problem led to no end; nothing: all are tied.
inline std::optional<Ties> tighter(const Problem& problem) {
    if (problem.ties == Ties::All) return std::nullopt;
    return problem.ties == Ties::None && problem.now ? Ties::Inside : Ties::All;
}

/// @returns what is wrong with the problem as data (ids out of range, empty modes, unsorted
/// calendars, amounts above capacity, stages on a resource that shares nothing, ...); empty if
/// sound.
std::vector<std::string> validate(const Problem& problem);

}  // namespace sched::core
