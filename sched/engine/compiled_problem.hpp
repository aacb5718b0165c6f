#pragma once
// A Problem as flat arrays, made once and read by every run of decoder and simulator. Adds what
// they need beyond the definition: blocks of operations that must be booked together, and places
// that can wait for each other in a circle.

#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "sched/core/problem.hpp"
#include "sched/engine/drying_clock.hpp"

namespace sched::engine {

/// "Never" and "no limit" in flat tables; far from overflow when lags are added.
inline constexpr Tick never = std::numeric_limits<Tick>::max() / 4;

/// Rows of one table that belong to one row of another: [begin, end).
struct Range {
    std::int32_t begin = 0;
    std::int32_t end = 0;
    std::int32_t size() const { return end - begin; }
};

struct CompiledNeed {
    Range any_of;  // into CompiledProblem::candidates
    std::int32_t amount = 1;
    bool whole = true;
};

struct CompiledMode {
    Tick work = 0;
    Range needs;
    Range stages;                 // into CompiledProblem::stages
    bool coupled = false;         // drying whose length depends on what else is inside
    bool overlaps = false;        // two of its needs have a candidate in common
    std::int32_t candidates = 0;  // of all its needs together
    std::int32_t kind = -1;       // modes of one kind ask for the same
    std::int32_t ask = -1;  // modes of one number ask for the same people and places, however long
                            // it takes; -1: a number of its own
};

struct CompiledOperation {
    Range modes;
    Tick not_before = 0;  // window, release and start of the horizon
    Tick not_after = never;
    Tick stretch = 0;  // never: unlimited
    std::int32_t job = -1;
    std::int32_t order = -1;
    std::int32_t chosen = 0;  // where its choices start in FlatSchedule::chosen
    std::int32_t block = -1;
    std::int32_t place = 0;  // position within the block
    std::int32_t kind =
        -1;  // operations of one kind ask for the same, whatever their lags; -1: a kind of its own
    Range lags_in, lags_out;  // into lags_in / lags_out
    Range same_mode, same_resource, takes, gives;
    std::int32_t batch_family = -1;  // -1: no shape
    std::int32_t batch_width = 0, batch_height = 0;
    bool pausable = false;
    bool fixed = false;     // not_before == not_after
    bool happened = false;  // it has begun: asks for nobody's hours any more
    Tick known_end =
        never;  // of a fixed one: its work is over by then, or what is fixed after it fails
    bool begun = false;    // before the moment of the plan: placed before time goes forward
    bool coupled = false;  // in at least one mode
    bool open =
        false;  // its end is set by an operation of a later block: holds its place until then
    bool plain = false;  // one way to do it, and nothing but people and places for a known time
};

struct CompiledLag {
    std::int32_t from = 0, to = 0;
    core::Edge edge = core::Edge::End;
    Tick min = 0;
    Tick max = never;
    bool hold =
        false;  // from End of an operation without limit of stretch, with a maximum: sets its end
    bool cross = false;  // joins two blocks
    bool meets = false;  // a hold whose place the block of `to` may use itself
    bool loose = false;  // a limit that joins two blocks: `to` is not booked together with `from`
};

struct CompiledSameResource {
    std::int32_t need = 0, other = 0, other_need = 0;
};

struct CompiledTake {
    std::int32_t index = 0;  // into FlatSchedule::stores
    Range any_of;            // into take_stores
    std::int64_t amount = 0;
};

struct CompiledGive {
    std::int32_t store = 0;
    std::int64_t amount = 0;
};

struct CompiledWindow {
    Tick from = 0, to = 0;
};

struct CompiledResource {
    std::int32_t capacity = 1;
    bool has_calendar = false;
    bool coupled = false;
    bool has_clock = false;
    bool has_batch = false;
    Range windows, steps, overtime;
    core::BatchArea batch;
    Tick walk = 0;
    std::int32_t spot = -1;  // the same number: one place to whoever walks
    double full_load = 0.0;  // largest S that its capacity allows
};

struct CompiledStore {
    std::int64_t initial = 0;
    Tick from = -never, until = never;
    Tick life = never;  // from when something is given
};

/// What fills a store that does not keep for ever waits until somebody asks for it.
struct OnDemand {
    std::int32_t store = 0;
    std::int32_t giver = 0;            // operation
    Tick lead = 0;                     // from its beginning until it has given, at least
    std::vector<std::int32_t> blocks;  // that come first
};

/// Operations that a finite upper limit ties together: they are booked as one, in `operations`
/// order.
struct Block {
    Range operations;            // into block_operations; those that have begun first
    std::int32_t begun = 0;      // so many of them
    std::int32_t waits_for = 0;  // lags from other blocks
    std::int32_t job = -1;
    bool urgent = false;   // has a latest start
    Tick latest = -never;  // if urgent: the first of them; -never: it cannot wait
    bool meets = false;    // one of the holds it ends meets its own places
    bool bulky = false;    // needs more than one unit of something at once: two people, two slots
    bool opens = false;    // one of its operations is open
    bool limits = false;   // a loose limit runs from one of its operations
    bool limited = false;  // one runs for one of its operations
};

/// What an operation holds on its way to leave: one of the ways must find all its places.
struct Exit {
    std::vector<std::vector<CompiledNeed>> ways;
};

/// A block of a job and what its operations hold, as bits over the first 64 exits.
struct ExitStep {
    std::int32_t operation = 0;  // its first: passed if that is booked
    std::uint64_t exits = 0;
};

/// Somebody is kept free for work whose start is fixed and still to come: what is booked ahead of
/// it takes nobody away from it.
struct Appointment {
    std::int32_t operation = 0;
    std::int32_t resource = 0;
    std::int32_t spot = -1;  // where the work is; -1: anywhere
    Tick from = 0, to = 0;
};

/// A block of an order, and how long its order lasts at least once it has begun.
struct OrderStep {
    std::int32_t block = 0;
    Tick tail = 0;
};

/// Work that has begun: where it is (present.hpp).
struct CompiledBegun {
    std::int32_t operation = 0;
    std::int16_t mode = 0;
    std::int32_t batch = -1;
    Tick start = 0;
    bool over = false;                 // it has left its place
    std::vector<std::int32_t> chosen;  // one per need
};

/// The people and places that a mode asks for, as numbers: equal for modes that ask for the same.
std::vector<std::int64_t> asked_for(const CompiledMode& mode, std::span<const CompiledNeed> needs,
                                    std::span<const std::int32_t> candidates);

/// Immutable after construction; shared by threads.
class CompiledProblem {
public:
    /// @pre validate(problem) is empty; with Problem::now it is a present (present.hpp). Keeps a
    /// reference: the problem must outlive it.
    /// @param whole a larger problem with the same resources that this one is a part of: clocks
    /// that couple there couple here (assembly.hpp).
    explicit CompiledProblem(const core::Problem& problem, const CompiledProblem* whole = nullptr);

    const core::Problem& problem;
    Tick horizon_start = 0, horizon_end = 0;
    bool coupled = false;  // drying lengths depend on load: runs must go forward in time
    bool batches = false;  // some resource takes batches
    Tick walk = 0;         // the longest of any resource
    bool varies = false;   // an assembly: rows and windows are others from run to run

    std::vector<CompiledResource> resources;
    std::vector<CompiledOperation> operations;
    std::vector<CompiledMode> modes;
    std::vector<CompiledNeed> needs;
    std::vector<std::int32_t> candidates;
    std::vector<DryingClock::Stage> stages;
    std::vector<DryingClock::Step> steps;
    std::vector<CompiledWindow> windows, overtime;
    std::vector<CompiledLag> lags;                // in Problem order
    std::vector<std::int32_t> lags_in, lags_out;  // indices into lags
    std::vector<CompiledLag> in_rows, out_rows;   // the same rows, side by side
    std::vector<std::int32_t> same_mode;
    std::vector<CompiledSameResource> same_resource;
    std::vector<CompiledTake> takes;
    std::vector<std::int32_t> take_stores;
    std::vector<CompiledGive> gives;
    std::vector<CompiledStore> stores;
    std::vector<OnDemand> on_demand;
    std::vector<Tick> order_due, order_deadline, order_release;
    std::vector<std::int64_t> order_weight;
    std::vector<Block> blocks;
    std::vector<std::int32_t> block_operations;
    std::vector<char>
        circular;          // per resource: held without limit, and part of a circle of waiting
    bool circles = false;  // there is one
    std::vector<std::int32_t> largest;         // per resource: largest need
    std::vector<Range> job_range;              // per job, into job_operations
    std::vector<std::int32_t> job_operations;  // in precedence order
    std::vector<Exit> exits;                   // places that operations hold, each kind once
    std::vector<std::int32_t> exit_of;         // per operation, into exits; -1: holds none
    std::vector<ExitStep> exit_steps;          // by job
    std::vector<Range> exit_range;             // per job, into exit_steps; empty: use exit_of

    bool midday = false;               // begins at the moment of a plan
    std::vector<CompiledBegun> begun;  // as they began; of a batch the longest first
    std::vector<std::int32_t> rests;   // blocks of which some have begun and some have not

    std::vector<Tick> tail;              // per operation: its order ends no sooner after its start
    std::vector<OrderStep> order_steps;  // by order, longest tail first
    std::vector<Range> order_range;      // per order, into order_steps

    std::vector<Appointment> appointments;  // by block
    std::vector<Range> appointments_of;     // per block, into appointments; empty: there are none

    std::int32_t chosen_size = 0;
    std::int32_t take_count = 0;
    std::int32_t kinds = 0;

    std::span<const std::int32_t> ops_of(const Block& b) const {
        return {block_operations.data() + b.operations.begin,
                static_cast<std::size_t>(b.operations.size())};
    }
    std::span<const DryingClock::Stage> stages_of(const CompiledMode& m) const {
        return {stages.data() + m.stages.begin, static_cast<std::size_t>(m.stages.size())};
    }
    std::span<const CompiledWindow> windows_of(const CompiledResource& r) const {
        return {windows.data() + r.windows.begin, static_cast<std::size_t>(r.windows.size())};
    }
    std::span<const DryingClock::Step> steps_of(const CompiledResource& r) const {
        return {steps.data() + r.steps.begin, static_cast<std::size_t>(r.steps.size())};
    }

    /// Same problem with other lengths: what operations take in one replication. Needs as many
    /// numbers as `modes`. For runs of a rule without a plan (each block then meets the lengths
    /// that it will have); the schedule is right for the changed lengths, not for `problem`. @param
    /// work s; @param drying factor on every drying stage.
    void set_durations(const CompiledProblem& planned, std::span<const Tick> work,
                       std::span<const double> drying);

    /// CompiledResource::full_load from the rows that are there.
    void measure_full_loads();

    /// What `giver` gives to `store` is not begun before a take asks for it. Nothing happens where
    /// it is work of a job, or some of it has begun.
    void wait_to_be_asked(std::int32_t giver, std::int32_t store);

private:
    void add_resources();
    void add_operations();
    Range add_needs(const core::Mode& m);
    void add_constraints();
    void mark_coupling();
    void make_blocks();
    void mark_begun();
    void make_rests();
    void make_appointments();
    void find_on_demand();
    void make_circles();
    void make_kinds();
    void mark_plain();
    void number_asks();
    void make_exits();
    void make_tails();
};

}  // namespace sched::engine
