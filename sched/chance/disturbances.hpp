#pragma once
// What one replication's random variation does to a compiled room, in the room's own numbers: who
// remakes what, who is missing, what comes in. Drawn without a look at any plan; made into a
// Problem by realise.hpp, or into compiled rows by day_run.hpp.

#include <cstdint>
#include <optional>
#include <vector>

#include "model/room/order.hpp"
#include "sched/chance/chance.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/engine/draws.hpp"

namespace sched::study {

/// Operations [first, first + count) of the compiled room that happen, once.
struct DayPart {
    int first = 0;
    int count = 0;
    std::uint64_t attempt = 0;  // number of its draws
    int round = 0;   // 0 as planned, 1.. remake, -1 of a rush order or copy, -2 mixing for those
    int job = -1;    // -1: none
    int after = -1;  // index of the part that must have ended before
    std::optional<core::SimTime> release;  // its order's, or that of what made it necessary
    std::int64_t volume = 0;               // of a mixing, ml
};

/// Orders that nobody planned, numbered after those of the run.
struct DayOrder {
    int like = -1;   // order of the run that comes once more; -1: a rush order
    int number = 0;  // of the rush order, from 1
    core::SimTime release{};
    std::optional<core::SimTime> due;
    std::int64_t weight = 1;
};
/// Their screens, numbered after those of the run.
struct DayJob {
    int order = 0;
    int screen = -1;  // that it is like
    int number = 0;   // within a rush order, from 1
};

struct DayDisturbances {
    std::vector<DayPart> parts;  // of the run first, in its order
    std::vector<DayOrder> orders;
    std::vector<DayJob> jobs;
    struct Closed {
        int resource = 0;
        core::SimTime from, to;
    };
    std::vector<Closed> closed;
    struct Late {
        int operation = 0;  // of the compiled room
        core::Seconds by{0};
    };
    std::vector<Late> late;  // operations of the run whose film comes later
    struct Opened {
        core::StoreId store;
        std::int64_t volume = 0;
    };
    std::vector<Opened> opened;  // emulsion that comes ready, bought for what nobody planned
    int copies = 0;
    int remakes = 0;
    int failures = 0;
    int absences = 0;
    int late_films = 0;
    void clear();
};

/// Draws days of one room; of a day that is under way (Problem::now) what may still happen: who has
/// come is there, what runs has not failed, what is done was good. Immutable; shared by threads.
/// The references must outlive it.
class Disturbances {
public:
    /// @param room compiled with spare_ways (without: no remakes and no rush orders).
    Disturbances(const model::Scenario& scenario, const compile::RoomProblem& room,
                 const Chance& chance);

    /// @param volume share of the run's orders: below 1 some are left out, above 1 some come twice
    /// (or more often), each by its own draw, so that a larger volume holds all orders of a smaller
    /// one.
    void draw(const engine::Draws& draws, double volume, DayDisturbances& out) const;

    /// One screen like that of the run, with its remakes if it is found bad. Attempts are numbered
    /// from `attempt` on.
    void draw_screen(int screen, int job, std::uint64_t attempt, const engine::Draws& draws,
                     std::vector<DayPart>& out) const;

    /// On the work, or on the drying, of an operation of the compiled room.
    double factor(int nominal, std::uint64_t attempt, const engine::Draws& draws) const;
    /// The same given that it is greater than `least`: P(X <= x | X > a) = (F(x) - F(a)) / (1 -
    /// F(a)). That of `factor` for attempt 0 where it is; else a draw of its own, by inversion.
    /// @returns no more than `least` where the law ends there.
    double factor_beyond(int nominal, double least, const engine::Draws& draws) const;

    int run_operations() const { return run_; }
    const compile::RoomProblem& room() const { return room_; }
    /// Every (first, count) that a day may name, without doubles.
    std::vector<std::pair<int, int>> all_parts() const;
    /// Screens of each order of the compiled room, those without work left out.
    std::vector<std::vector<int>> screens_by_order() const;
    /// Of a coat, ml; and its place in RoomProblem::spare_emulsions (-1: takes none).
    std::int64_t takes(int nominal) const { return takes_[static_cast<std::size_t>(nominal)]; }
    int emulsion(int nominal) const { return emulsion_[static_cast<std::size_t>(nominal)]; }
    const Chance& chance() const { return chance_; }

private:
    struct OperationKey {
        std::uint64_t subject = 0;
        std::uint64_t item = 0;
        std::uint64_t purpose = 0;
        std::uint64_t bad = 0;  // purpose of the draw that finds it bad
    };
    struct Way {
        int first = 0;
        int count = 0;
    };
    struct Film {
        int operation = 0;
        int screen = 0;
    };
    struct Order {
        int order = 0;  // of the compiled room
        std::vector<std::size_t> screens;
    };

    void make_laws(const std::vector<std::uint64_t>& part_of_step);
    void limit_work();
    double drawn_factor(int nominal, std::uint64_t attempt, const engine::Draws& draws) const;
    bool fails(int nominal, std::uint64_t attempt, const engine::Draws& draws) const;
    bool left_out(std::size_t screen, const engine::Draws& draws, double volume) const;
    void draw_run(const engine::Draws& draws, double volume, DayDisturbances& out) const;
    void draw_copies(const engine::Draws& draws, double volume, DayDisturbances& out) const;
    void draw_rush(const engine::Draws& draws, DayDisturbances& out) const;
    void draw_failures(const engine::Draws& draws, DayDisturbances& out) const;
    void draw_absences(const engine::Draws& draws, DayDisturbances& out) const;
    void draw_films(const engine::Draws& draws, DayDisturbances& out) const;
    void mix_more(DayDisturbances& out) const;

    const model::Scenario& scenario_;
    const compile::RoomProblem& room_;
    const Chance& chance_;
    int run_ = 0;                     // operations of the run
    std::vector<OperationKey> keys_;  // per nominal operation
    std::vector<Distribution> laws_;  // of the factor, per nominal operation
    std::vector<double> most_;        // factor above which a limit could not be kept, the same
    std::vector<double> remake_;      // chance to fail there, per nominal operation
    std::vector<int> back_;           // the same: where in its screen's way again it goes back to
    std::vector<Way> run_parts_;      // of the run, in its order
    std::vector<int> part_screen_;    // their screens; -1: none
    std::vector<Way> screens_;        // the run's operations of each screen, in order
    std::vector<Way> again_, fresh_;  // spare ways per screen; count 0: none
    std::vector<Order> orders_;
    std::vector<Film> films_;
    std::vector<std::int64_t> takes_;        // ml, per nominal operation
    std::vector<int> emulsion_;              // index into spare_emulsions, per nominal operation
    std::vector<std::vector<int>> failing_;  // resources, per failure rule
    std::vector<char> past_;  // per operation of a day under way: done and found good; else empty
};

}  // namespace sched::study
