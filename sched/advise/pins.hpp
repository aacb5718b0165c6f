#pragma once
// What the lead wants held, as changes to a Problem; and, where it cannot be held, the few pins and
// limits that contradict each other.

#include <functional>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "sched/core/schedule.hpp"

namespace sched::search {

/// The operations start in [not_before, not_after]; both equal: exactly then.
struct PinStart {
    std::vector<core::OperationId> operations;
    std::optional<core::SimTime> not_before;
    std::optional<core::SimTime> not_after;
};
/// The order begins no sooner than, and is done by.
struct PinOrder {
    core::OrderId order;
    std::optional<core::SimTime> not_before;
    std::optional<core::SimTime> done_by;
};
/// Wherever the operations may choose among resources of which some are listed, only those listed
/// are left (this person, this place).
struct PinChoice {
    std::vector<core::OperationId> operations;
    std::vector<core::ResourceId> only;
};
/// The operations do not use the resource (empty list: none of the problem does).
struct PinForbid {
    core::ResourceId resource;
    std::vector<core::OperationId> operations;
};
/// All of `later` start after all of `first` have ended ("that one after this one").
struct PinAfter {
    std::vector<core::OperationId> first;
    std::vector<core::OperationId> later;
};
/// The order counts so much.
struct PinWeight {
    core::OrderId order;
    std::int64_t weight = 1;
};
using Pin = std::variant<PinStart, PinOrder, PinChoice, PinForbid, PinAfter, PinWeight>;

std::vector<core::OperationId> operations_of(const core::Problem& problem, core::JobId job);
std::vector<core::OperationId> operations_of(const core::Problem& problem, core::OrderId order);

/// The problem with the pins. Operations, orders and resources keep their numbers (one resource,
/// "nobody", may come behind them), so a schedule of it is one of `problem`.
/// @pre ids within range; pins on the order of operations form no circle of their own.
core::Problem apply_pins(const core::Problem& problem, const std::vector<Pin>& pins);

/// A limit of the problem that takes part in a contradiction.
struct Limit {
    enum class Kind {
        MinLag,    // constraint `index`: at least so long after
        MaxLag,    // constraint `index`: at most so long after
        Window,    // constraint `index`: start window
        Release,   // of order `index`
        Deadline,  // of order `index`
        Length,    // operation `index` takes at least / at most so long
        Begin,     // operation `index` within the horizon
        End,
        Staff,  // operation `index`: all that it may choose is closed or gone at that time
    };
    Kind kind = Kind::MinLag;
    std::size_t index = 0;
    friend auto operator<=>(const Limit&, const Limit&) = default;
};

/// Dropping any one of these pins ends the contradiction; each of the limits is needed too.
struct Contradiction {
    std::vector<std::size_t> pins;  // indices, ascending; empty: the problem is impossible without
    std::vector<Limit> limits;      // empty with `by_search`: places and people together
    bool by_search = false;         // found by proving it with the exact search
    bool smallest = false;          // proved: no fewer pins contradict each other
};

/// @returns nullopt if none is found: by longest paths over lags, windows and lengths, by the
/// calendars of what each operation may choose, and, for problems that the exact search models, by
/// it within `exact_evaluations` a try. Not found is no proof that a schedule exists. Sets of pins
/// are tried from the smallest on, up to kMostPinSets of them; what is found without the exact
/// search is then the smallest if Contradiction::smallest says so.
std::optional<Contradiction> find_contradiction(const core::Problem& problem,
                                                const std::vector<Pin>& pins,
                                                std::int64_t exact_evaluations = 2000);

/// "These cannot all be kept: ..." with the names of the problem. @param pin_words one per pin, as
/// the lead wrote it.
std::string words(const core::Problem& problem, const Contradiction& contradiction,
                  const std::vector<std::string>& pin_words);

}  // namespace sched::search
