#pragma once
// What somebody decided for the day, as the journal keeps it: a person stays an hour longer, an
// order goes first, there is one more order. Each plan from then on is made as if the scenario's
// files said so; the files stay as they are.

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/journal/entry.hpp"

namespace sched::app {

/// Puts the marks `longer`, `first` and `another` that count at `now` into the scenario. Who stays
/// longer does so after the last shift of the mark's day, and on no other. One more order is like
/// the one that is named, under a name of its own ("A7-more1"), and waits for no film. What the
/// scenario does not know is left out.
/// @param entries all of the journal, ids rising. @param from marks before it belong to another
/// day.
/// @param last later entries do not count, but for `with`.
void put_changes(const std::vector<journal::Entry>& entries, model::SimTime from,
                 model::SimTime now, model::Scenario& scenario,
                 std::int64_t last = std::numeric_limits<std::int64_t>::max(),
                 std::int64_t with = 0);

struct LeftOut {
    std::string order;
    std::string missing;  // "2 frames of 58 x 84 cm with mesh 77-55", "its kept stencils"; with
                          // an open mesh somewhere the compiler's words, "order A needs ..."
};
/// The rest of the day is planned whatever is marked: takes out of the scenario each order behind
/// the first `known` for which frames.csv has too few frames beside those of the orders before it.
/// Lines that leave their mesh open are not counted.
std::vector<LeftOut> leave_out_frameless(std::size_t known, model::Scenario& scenario);

/// The same where a line leaves its mesh open: which frames are left for whom, the compiler knows.
/// Nothing is taken out where no line does, or where the first `known` cannot be compiled either.
std::vector<LeftOut> leave_out_without_mesh(std::size_t known,
                                            const compile::CompileOptions& options,
                                            model::Scenario& scenario);

/// Whether a mark of this kind may be tried and adopted.
bool can_be_tried(journal::Mark mark);
/// "Ada stays an hour longer".
std::string words_of_change(journal::Mark mark, const std::string& what);

}  // namespace sched::app
