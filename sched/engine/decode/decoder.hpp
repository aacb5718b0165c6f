#pragma once
// The planner's innermost loop: a Sequence becomes a schedule that keeps everything that Problem
// demands, by construction. The space: sequence.hpp; blocks: compiled_problem.hpp.

#include <algorithm>
#include <cstdint>
#include <utility>
#include <vector>

#include "sched/engine/decode/appointments.hpp"
#include "sched/engine/decode/bookings.hpp"
#include "sched/engine/decode/earliest_fit.hpp"
#include "sched/engine/decode/held_places.hpp"
#include "sched/engine/decode/held_run.hpp"
#include "sched/engine/decode/plans_way.hpp"
#include "sched/engine/decode/run.hpp"
#include "sched/engine/decode/running_limits.hpp"
#include "sched/engine/decode/standing_places.hpp"
#include "sched/engine/decode/waiting_batches.hpp"

namespace sched::engine {

/// When a run may be given up: what it will be worth at least is worse, in lexicographic order,
/// than the parts of `value` (as many as there are), and weighs more than `limit`, each part times
/// its `scale`. Both spans must outlive the call.
struct Cutoff {
    std::span<const std::int64_t> value;
    std::span<const double> scale;
    double limit = 0.0;
    /// Per block, if not empty: how long its order is likely to last from its start on, instead of
    /// the least that it can. A guess: runs that would have been worth it may be given up.
    std::span<const Tick> likely;
};

/// How it works. Time goes forward from event to event (something is dry, a shift begins, a place
/// frees). At each instant the blocks that may go are tried in rank order: all operations of a
/// block are booked into the timelines of places, people and stores at once, each as early as its
/// lags allow; an operation that would come too late for a maximum lag pushes the operation that
/// set the limit, and the block is booked again from there (unscheduling as in Franck, Neumann and
/// Schwindt 2001). A block is committed if it starts by now + lookahead, else tried again when it
/// could. Drying inside a block is booked with its length in a full cabinet, so that no later entry
/// can break a booking; when it is really dry, what follows is booked again, earlier if that is
/// possible, else where it stands. Drying that ends a block holds its place until the next block
/// takes it away. A limit of hours after drying ties no blocks (loose_limits.cpp). Places held
/// without limit can wait for each other in a circle (full cabinet, full rack). A job enters such a
/// region only if the weight inside stays at or below Region::limit: then one resource always has
/// room for the largest need, and someone inside who waits for it moves on, or someone moves out;
/// so all come out.
///
/// Not thread-safe; one Decoder a thread, all on one CompiledProblem.
class Decoder {
public:
    explicit Decoder(const CompiledProblem& problem);
    Decoder(const Decoder&) = delete;
    Decoder& operator=(const Decoder&) = delete;

    /// @returns false if the sequence leads to no complete schedule; see failure().
    bool decode(const Sequence& sequence);

    /// The same up to a moment: everything that happens before `pause`, with what is booked by
    /// then; not an instant of what comes later. @returns false on failure, true when paused or
    /// done.
    bool decode_until(const Sequence& sequence, Tick pause);
    /// On from where it paused. @param sequence of the same problem; its ranks hold for what is not
    /// booked yet. It must outlive the run.
    bool go_on(const Sequence& sequence, Tick pause);
    bool done() const {
        return state_.blocks_left == 0 && state_.wet == 0 &&
               !(plan_.baseline && plan_.slips_at < never);
    }
    /// Booked by now; its start may still lie ahead.
    bool booked(std::int32_t operation) const {
        return state_.is_placed[static_cast<std::size_t>(operation)] != 0;
    }

    /// The same schedule as decode(), sooner: begins where `sequence` first differs from the held
    /// run, and stops when the cutoff says that it is not worth the rest (false, given_up()).
    bool decode_near(const Sequence& sequence, const Cutoff* cutoff = nullptr);
    /// The last run of decode_near becomes the held one. @pre it returned true.
    void hold();
    /// The last decode_near was ended by its cutoff.
    bool given_up() const { return given_up_; }

    /// The last schedule. @pre decode() returned true.
    const FlatSchedule& schedule() const { return state_.placed; }
    core::Schedule to_schedule() const { return engine::to_schedule(problem_, state_.placed); }
    const Failure& failure() const { return failure_; }
    /// How far the last run came.
    Tick now() const { return state_.now; }
    /// Objective of the last schedule, one number per criterion. Valid until the next call.
    const std::vector<std::int64_t>& value();

    const CompiledProblem& problem() const { return problem_; }
    /// Blocks tried and booked since construction; what decoding costs.
    struct Counters {
        std::int64_t tried = 0, booked = 0, placed = 0, instants = 0;
        std::int64_t whole = 0, resumed = 0, repeated = 0, given_up = 0;  // runs
    };
    Counters counters() const {
        Counters c = counters_;
        c.placed = bookings_.placed();
        return c;
    }

private:
    struct Saved {  // an operation taken out to be booked again
        std::int32_t operation;
        Tick start, work_end, end, early;
        std::int16_t mode;
        std::int32_t choices;  // into saved_choices_: resources, then stores
    };

    void prepare(const Sequence& sequence);
    void start();
    bool run_from_start();
    bool run_otherwise();
    void begin();
    void put_begun();
    void put_one(const CompiledBegun& x);
    bool book_rest(std::int32_t block, int before);
    bool stuck_before(std::int32_t b);
    Tick awaited_at(std::int32_t b) const;
    void tell_awaiting(std::int32_t op);
    void reset();
    bool beyond();
    bool run();
    bool pass();
    bool go_by_turns();
    bool try_block(std::int32_t b);
    bool no_place_for_good(const Block& block);
    bool crowds(const Block& block);
    bool reaches_limits(std::int32_t b, Tick& found);
    bool begins_in_time(std::int32_t b, Tick limit, Tick& found);
    bool go_first(std::int32_t block, bool& gone);
    bool hurry();
    void give_back_hurried();
    bool run_carefully();
    bool take_up(std::int32_t b);
    bool presses(const Block& block) const;
    void rank_blocks();
    void take_again();
    void leave_known_way();
    bool somebody_overstays() const;
    void look_for_crowds(Tick by);
    void release_followers(std::int32_t op);
    bool book_now(std::int32_t b, std::size_t first, Tick limit, Tick& found);
    void take_back(std::int32_t b);
    void keep_turn(std::int32_t b);
    void give_back(std::int32_t from_place);
    bool book(std::int32_t b, std::size_t first, Tick limit, bool joins, Tick& found);
    bool book_all(std::int32_t b, std::size_t first, Tick limit, bool joins, Tick& found);
    void commit(std::int32_t b);
    void commit_operation(std::int32_t op, bool& stays);
    bool cannot_begin(std::int32_t b, std::int32_t op, Tick limit, Tick& found);
    void book_again(std::int32_t dried_op);
    void give_up_day(std::int32_t op);
    void book_tail(std::int32_t dried_op, std::size_t first, bool later);
    void set_end(std::int32_t op, Tick end);
    void close(std::int32_t op);
    void arrived(std::int32_t block, bool one_of);
    void enter(std::int32_t block);
    Tick comes_at(std::int32_t block) const;
    void lift(std::int32_t b, std::int32_t sign) {
        if (problem_.blocks[static_cast<std::size_t>(b)].meets) lift_meeting(b, sign);
    }
    void lift_meeting(std::int32_t b, std::int32_t sign);
    bool meets_waiting_batch(std::int32_t block);
    bool goes_together(std::int32_t block) const;
    bool try_waiting_batch(std::span<const std::int32_t> members);
    bool book_waiting_batch(std::span<const std::int32_t> members);
    void alone(std::span<const std::int32_t> members);
    bool leave_waiting_batch();
    void leave_waiting_batches();
    std::int32_t kind_of(const Block& block) const;
    void know_end(std::int32_t op);
    void dried(std::int32_t op, Tick at);
    bool advance();
    void pass_windows();
    void refresh_clock(std::int32_t r);
    void freed(std::int32_t r);
    void ask_for(std::int32_t take, Tick at);
    void ask_ahead(std::int32_t op);
    void tell(std::size_t on_demand);
    bool tell_all();
    Tick next_asked() const;

    Run run_;
    const CompiledProblem& problem_;  // of the run, as the next two
    Timelines& state_;
    Following& plan_;
    WaitingBatches groups_;
    EarliestFits fits_;
    HeldPlaces held_places_;
    StandingPlaces standing_;
    Bookings bookings_;
    PlansWay way_;
    Appointments appointments_;
    RunningLimits limits_;
    HeldRun held_;
    Turns turns_;
    bool tracking_ = false;  // this run may be held
    const Cutoff* cutoff_ = nullptr;
    bool given_up_ = false;
    std::vector<Tick> ends_;                          // scratch: of each order at least
    std::vector<std::int64_t> at_least_;              // of the run under way, one per criterion
    std::vector<std::int32_t> key_;                   // per block: rank
    std::int32_t next_turn_ = 0, next_pressing_ = 0;  // of those who come (first_come)
    Tick lookahead_ = 0;
    Tick pause_ = never;
    bool paused_ = false;
    Failure failure_;
    EarliestFit first_fit_;  // of the first operation of the block under work, if it is known
    bool knows_first_ = false;
    std::vector<Saved> saved_;
    std::vector<std::int32_t> saved_choices_;
    std::vector<Tick> completion_;
    std::vector<std::int64_t> parts_;
    Counters counters_;
    enum class Begin { Stand, Ahead, Loose };  // what becomes of rests (begin.cpp)
    Begin begin_ = Begin::Stand;
    Begin held_begin_ = Begin::Stand;  // of the held run
    std::vector<std::pair<std::int32_t, std::int32_t>>
        awaiting_;                     // awaited operation, block that waits for it
    std::vector<std::int32_t> rests_;  // in the order to book them
    std::vector<std::pair<std::int32_t, std::int32_t>> mates_;  // batch number, open batch
    std::int32_t restart_ = 0;     // first place in rank order whose chances have changed
    std::int32_t waits_for_ = -1;  // resource that the last block that did not go waits for
    bool stuck_ = false;
    bool told_ = false;  // somebody was told to begin since the pass looked last

    enum class Care {
        Little,
        More,
        Most
    };  // about loose limits (loose_limits.cpp): More counts
        // on no place that is taken, Most always hurries
    Care care_ = Care::Little;
    Care held_care_ = Care::Little;      // of the held run
    Tick put_off_ = -never;              // the block under work begins no sooner
    std::vector<std::int32_t> hurried_;  // blocks booked for the time of a pass
    bool patient_ = false;               // a latest start that is far off does not press
    std::vector<std::int32_t> keeping_;  // blocks that keep their turn
    std::vector<std::int32_t> kept_;     // those of them that are booked for the time of a pass
    std::vector<Tick> kept_start_;       // per block: where it was booked so last
};

}  // namespace sched::engine
