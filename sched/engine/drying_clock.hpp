#pragma once
// The drying clock of a cabinet: one virtual time for all that is inside, as in processor sharing.
// Only the clock's speed changes when something enters, dries or leaves, so an event costs O(log
// n).

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "sched/core/problem.hpp"
#include "sched/engine/event_queue.hpp"

namespace sched::engine {

/// dτ/dt = core::clock_rate at S = sum of the shares of what is still wet inside. Entries come at
/// whole ticks; stage changes and the moment of drying happen in continuous time, so stages with
/// constant shares are exact. Virtual time as in Parekh and Gallager 1993 (generalised processor
/// sharing).
class DryingClock {
public:
    /// One segment of the driving force. cap < 0: no cap; crowd < 0: none.
    struct Step {
        Tick from = 0;
        double base = 1.0;
        double cap = -1.0;
        double shift = 0.0;
        double crowd = -1.0;
        double crowd_shift = 1.0;
    };
    struct Stage {
        double work = 0.0;
        double share = 0.0;
    };
    struct Dry {
        std::uint32_t who = 0;
        Tick at = 0;  // first whole tick at which all stages are done
    };

    DryingClock() = default;
    /// @param steps sorted by `from`; both spans must outlive the clock.
    explicit DryingClock(std::span<const Step> steps) : steps_(steps) {}

    void reset(Tick start);
    /// Time up to which the clock has run.
    Tick now() const { return now_; }
    double tau() const { return tau_; }
    double load() const { return load_; }
    std::size_t wet() const { return heap_.size(); }

    /// Runs to t >= now(); those that dry in between are appended to `dry()`, in the order in which
    /// they dry.
    void advance(Tick t);
    /// Enters at now(). `stages` must outlive the entry.
    void enter(std::uint32_t who, std::span<const Stage> stages);
    /// What has dried since the last clear_dry().
    std::span<const Dry> dry() const { return dry_; }
    void clear_dry() { dry_.clear(); }
    /// First whole tick by which a stage of something inside ends if nothing else enters; nullopt:
    /// never.
    std::optional<Tick> next_change() const;

private:
    struct Wet {
        double until = 0.0;  // τ at which its stage ends
        std::uint64_t order = 0;
        std::uint32_t who = 0;
        std::uint32_t left = 0;  // stages after this one
        const Stage* stage = nullptr;
        bool before(const Wet& o) const {
            return until < o.until || (until == o.until && order < o.order);
        }
    };
    double speed(const Step& step) const;
    void push(const Wet& w);
    Wet pop();
    void finish_stage(Wet w);

    std::span<const Step> steps_;
    std::vector<Wet> heap_;
    std::vector<Dry> dry_;
    double tau_ = 0.0;
    double load_ = 0.0;
    Tick now_ = 0;       // whole ticks passed
    double part_ = 0.0;  // real time is now_ + part_ while advancing
    std::size_t step_ = 0;
    std::uint64_t order_ = 0;
};

/// Time that `stages` take alone in an otherwise constant load of `others`, from tick t on; in real
/// ticks. nullopt: never. The bound that bookings use (others = full cabinet) and the exact length
/// where nothing is shared.
std::optional<double> drying_span(std::span<const DryingClock::Step> steps,
                                  std::span<const DryingClock::Stage> stages, Tick t,
                                  double others);

/// Whole ticks for a real span: up, a value within 1e-6 of a whole tick counts as that tick.
Tick round_up_ticks(double span);

}  // namespace sched::engine
