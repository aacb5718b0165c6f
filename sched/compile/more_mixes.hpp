#pragma once
// Where pots do not keep for the run, as many as their volume asks for may be too few: then so many
// more of each, at most one for each coat.

#include <algorithm>
#include <map>
#include <string>
#include <variant>

#include "sched/compile/room_problem.hpp"

namespace sched::compile {

class MoreMixes {
public:
    explicit MoreMixes(const RoomProblem& room) {
        for (const MixInfo& mix : room.mixes) {
            if (room.problem.stores[mix.store.index()].life) ++least_[mix.emulsion];
        }
        for (const auto& c : room.problem.constraints)
            most_ += std::holds_alternative<core::Take>(c) ? 1 : 0;
    }
    bool may_help() const { return !least_.empty(); }

    /// CompileOptions::mixes with so many more of each emulsion that does not keep.
    std::map<std::string, int> mixes(std::map<std::string, int> all, int more) const {
        for (const auto& [emulsion, count] : least_)
            all[emulsion] = count + more;
        return all;
    }

    /// The fewest more that lead to something: doubled until they do, then halved.
    /// @param with what so many more lead to, an optional. @param stop gives up.
    template <class With, class Stop>
    auto fewest(With&& with, Stop&& stop) const -> decltype(with(1)) {
        decltype(with(1)) best;
        int none = 0, some = 1;
        for (;; some = std::min(2 * some, most_)) {
            if (stop()) return {};
            best = with(some);
            if (best || some >= most_) break;
            none = some;
        }
        while (best && some - none > 1) {
            const int half = (none + some) / 2;
            auto fewer = with(half);
            const bool does = fewer.has_value();
            if (does) best = std::move(fewer);
            (does ? some : none) = half;
        }
        return best;
    }

private:
    std::map<std::string, int> least_;  // by emulsion that does not keep
    int most_ = 1;
};

}  // namespace sched::compile
