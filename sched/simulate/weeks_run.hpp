#pragma once
// The room of a long run, one day after the other: what is inside, how far it has come, what it
// stands on. Seen in this folder only.

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "sched/simulate/day_run.hpp"
#include "sched/simulate/long_run.hpp"
#include "sched/simulate/pot_stock.hpp"
#include "sched/simulate/run_window.hpp"

namespace sched::study {

/// Times in s after midnight of the first Monday.
struct InsideOrder {
    std::uint64_t number = 0;
    int kind = 0;
    Tick at = 0, due = 0, ready = 0;
    int left = 0;  // screens
};

struct InsidePart : CarriedPart {
    DayPart part;
};

/// A screen on its way; order -1: a mixing of emulsion.
struct InsideScreen {
    std::int64_t order = -1;  // number of its InsideOrder
    int screen = 0;           // of the compiled room
    int number = 0;           // within its order
    int emulsion = -1, mix = -1;
    bool asked_for = false;  // a mixing that begins when a coat asks for it, or not at all
    double rank = 0.0;
    std::vector<InsidePart> parts;
};

/// One kind of day.
struct WeeksRoom {
    double weight = 1.0;
    compile::RoomProblem room;
    std::unique_ptr<Disturbances> disturbances;
    std::unique_ptr<Policy> policy;
    std::unique_ptr<DayKit> kit;
};

class WeeksRun {
public:
    /// @param rooms one per kind of day, alike but for their air.
    WeeksRun(const model::Scenario& scenario, const std::vector<std::unique_ptr<WeeksRoom>>& rooms,
             const LongRunOptions& options);

    /// One day from one cut to the next. @returns false if the run could not go on: stuck().
    bool simulate_day();
    const std::string& stuck() const { return stuck_; }

    bool working_day() const { return working_day_; }
    Tick now() const { return from_; }
    /// Orders that became ready on the last day, by the time they did.
    const std::vector<InsideOrder>& ready() const { return ready_; }
    int screens_ready() const { return screens_ready_; }
    /// Of the last day, per resource; open 0: closed.
    const std::vector<Tick>& working() const { return working_; }
    const std::vector<Tick>& allocated() const { return allocated_; }
    const std::vector<Tick>& open() const { return open_; }

    std::int64_t orders_in = 0, screens_in = 0, screens_out = 0, remakes = 0, failures = 0,
                 absences = 0;
    std::int64_t mixed = 0;      // times, of emulsion that ends within the run
    std::int64_t kept_pots = 0;  // days that lead to an end only if no pot ends on them
    std::int64_t pots_ended() const { return pots_.ended(); }
    bool pots_end() const { return pots_.end(); }
    std::int64_t area = 0;   // screen-seconds, by counting who is inside
    std::int64_t times = 0;  // the same, by adding up how long each was inside
    std::int64_t inside() const { return inside_; }
    std::size_t orders_inside() const { return orders_.size(); }
    /// `times` with those who are still inside, up to now.
    std::int64_t times_so_far() const;
    Tick began() const { return cut_; }

private:
    void take_in();
    void send_back();
    void mix();
    void mix_in_room(std::size_t emulsion);
    void add_mixing(std::size_t emulsion, int mix, std::int64_t volume, bool asked_for);
    void rank();
    void set_up(const WeeksRoom& day, bool pots_keep = false);
    bool run_day(const WeeksRoom& day);
    void close_what_fails(const WeeksRoom& day);
    void keep(const WeeksRoom& day);
    void move_out();
    void measure();
    void count();
    void tell(const WeeksRoom& day);
    const WeeksRoom& kind_of_day() const;
    Tick length_left(const InsideScreen& screen) const;
    InsideOrder& order_of(const InsideScreen& screen);

    struct Failing {
        std::size_t rule = 0;
        std::int32_t resource = 0;
        std::uint64_t number = 0;
        Tick from = 0, to = 0;
    };
    const std::vector<std::unique_ptr<WeeksRoom>>& rooms_;
    const LongRunOptions& options_;
    engine::Draws draws_;
    OpenWeek week_;
    std::vector<std::vector<int>> screens_of_;  // per kind of order
    std::vector<int> weight_of_;
    std::vector<double> day_use_;                         // ml per working day, per emulsion
    std::vector<std::int64_t> level_;                     // ml left, per emulsion that comes ready
    PotStock pots_;                                       // of the others
    std::vector<Tick> length_;                            // per nominal operation, planned
    std::vector<std::pair<std::int32_t, Tick>> warm_up_;  // lamps by resource
    std::vector<std::unique_ptr<RunWindow>> windows_;     // one per kind of day
    std::size_t today_ = 0;
    RunWindow* window_ = nullptr;  // of today

    Tick cut_ = 0;  // of the day: the hour at which days meet
    Tick from_ = 0, to_ = 0, shift_ = 0;
    bool working_day_ = false;
    std::vector<InsideOrder> orders_;
    std::vector<InsideScreen> screens_;
    std::vector<InsideScreen> old_;                            // memory to be used again
    std::vector<std::pair<const InsideScreen*, Tick>> fresh_;  // pots mixed today, and when
    std::vector<Failing> failing_;
    std::vector<Arrival> arrivals_;
    std::vector<DayPart> parts_;
    std::vector<std::size_t> by_;
    std::vector<std::pair<std::int32_t, std::int32_t>> counted_;
    std::vector<InsideOrder> ready_;
    std::vector<Tick> working_, allocated_, open_;
    std::vector<std::pair<Tick, int>> flow_;  // in +1, out -1
    std::vector<TraceEvent> trace_;
    int screens_ready_ = 0;
    std::int64_t inside_ = 0;
    std::string stuck_;
};

}  // namespace sched::study
