#pragma once
// Customers of a queueing system through the engine that `coatroom weeks` runs on: parts of a
// Problem, put together window by window (sched/simulate/run_window.hpp), booked by the decoder
// without looking ahead. Every instant comes from its schedules.

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "sched/core/problem.hpp"
#include "sched/simulate/run_window.hpp"

namespace queue_run {

using sched::engine::Tick;
using sched::study::CarriedPart;

/// Planned length of every operation that takes time; factors make others of it. A power of two, so
/// that a factor gives the length asked for to the tick.
inline constexpr Tick nominal = Tick{1} << 20;

/// Stations and ways to be served, one after another into one Problem.
class Ways {
public:
    Ways();
    sched::core::ResourceId station(int servers);
    /// Takes `most` at once, no matter which.
    sched::core::ResourceId unit_for(int most);
    /// All that is inside shares its speed equally, as much work as one alone does.
    sched::core::ResourceId shared();
    /// The next operations are one way through: a part of the book.
    int way(std::vector<sched::core::Operation> operations,
            std::vector<sched::core::Constraint> among = {});
    /// Work at a station, at nobody's if none(). @param pausable stops while it is closed.
    static sched::core::Operation work(sched::core::ResourceId at, bool pausable = false);

    const sched::core::Problem& problem() const { return problem_; }
    const std::vector<std::pair<int, int>>& parts() const { return parts_; }

private:
    sched::core::Problem problem_;
    std::vector<std::pair<int, int>> parts_;  // first operation, count
};

struct Customer {
    std::uint32_t number = 0;
    Tick release = 0;
    std::int64_t rank = 0;      // lower goes first, equal by number
    bool finds_nobody = false;  // all who came before have left
    bool at_once = false;  // begins when it comes or goes the way of its mode that needs nobody
    struct Visit {
        int way = 0;
        CarriedPart part;
    };
    std::vector<Visit> visits;  // those that are not over
    std::size_t passed = 0;     // so many are

    /// One more visit. @param work per operation of the way, ticks; > 0.
    void then(int way, std::initializer_list<Tick> work);
};

/// Who comes, and what is looked at. Customers come in order of release.
struct Traffic {
    std::function<bool(Customer&)>
        next;  // fills in an empty customer; false: nobody comes any more
    /// A visit is over: number of the visit, its operations.
    std::function<void(const Customer&, std::size_t, const CarriedPart&)> passed;
    /// Who is inside at the beginning of a window: may be given more visits (closed systems).
    std::function<void(Customer&, Tick from, Tick to)> inside;
    /// What is closed in a window.
    std::function<void(sched::study::RunWindow&)> closes;
    bool first_come =
        false;  // who comes to a station first goes first, whatever the ranks; one window
    std::size_t customers_a_window = 128;
    Tick length = 0;  // of a window; 0: as long as so many customers come
    Tick until = 0;   // the run ends with the first window that ends after; 0: when all have left
    bool only_empty = false;  // a window ends where the next one finds nobody (what still dries
                              // then is taken, as in weeks, to need as long as in a full cabinet)
};

struct Count {
    std::int64_t customers = 0, operations = 0, windows = 0;
};

/// Throws std::logic_error when the engine finds no way on.
Count run(const Ways& ways, const Traffic& traffic);

}  // namespace queue_run
