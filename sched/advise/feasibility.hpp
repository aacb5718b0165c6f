#pragma once
// Is there a plan at all? Asked before any search: a schedule, or the cause in words.

#include <functional>
#include <optional>
#include <string>

#include "sched/core/schedule.hpp"

namespace sched::search {

/// A cause that no schedule gets around, whatever the order of work.
struct Impossible {
    core::OperationId operation;
    std::string words;  // whole sentences
};

/// Looks at each operation by itself (who and what it needs, and when all of that is there at once)
/// and at the operations that limits tie together (hours that every limit leaves, made consistent
/// arc by arc). Exact as far as it goes: what is found is proved; nothing found proves nothing.
/// Complexity: operations x choices x windows.
std::optional<Impossible> find_impossible(const core::Problem& problem);

/// What is known before any search.
struct FirstAnswer {
    enum class Kind {
        Plan,        // `schedule`
        Horizon,     // the days end before the work does: ask again with more of them
        Material,    // no store ever holds what is taken
        Impossible,  // proved; `words` say why
        None,        // neither a schedule nor a proof; `words` say what stood in the way
    };
    Kind kind = Kind::None;
    std::optional<core::Schedule> schedule;
    std::string words;
};

/// The first dispatching rule, then a few screens at a time (search/room/careful.hpp). @param
/// problem valid, in the middle of the day too. @param stop may be empty. @param proof where there
/// is none, look for what makes it impossible; false: never `Impossible`, for who only asks
/// whether.
FirstAnswer first_answer(const core::Problem& problem, const std::function<bool()>& stop = {},
                         bool proof = true);

}  // namespace sched::search
