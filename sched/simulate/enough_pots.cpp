#include "sched/simulate/enough_pots.hpp"

#include <algorithm>

#include "sched/advise/feasibility.hpp"
#include "sched/compile/more_mixes.hpp"

namespace sched::study {

bool pots_end_in(const model::Room& room, model::Seconds time) {
    return std::any_of(room.emulsions.begin(), room.emulsions.end(), [&](const auto& e) {
        return e.family != model::EmulsionFamily::Photopolymer && e.pot_life_room < time &&
               e.pot_life_room > model::Seconds{0};
    });
}

bool mixed_on_demand(const core::Problem& problem) {
    return std::any_of(problem.stores.begin(), problem.stores.end(), [&](const core::Store& s) {
        return s.life && 2 * *s.life < problem.horizon_end - problem.horizon_start;
    });
}

compile::CompileOptions with_enough_pots(
    compile::CompileOptions asked, const std::map<std::string, int>* posted,
    const std::function<std::optional<compile::RoomProblem>(const compile::CompileOptions&)>&
        compiled,
    const std::function<bool()>& stop) {
    const auto exists = [&](const std::optional<compile::RoomProblem>& room) {
        return room && search::first_answer(room->problem, stop, false).kind ==
                           search::FirstAnswer::Kind::Plan;
    };
    if (posted != nullptr) {
        asked.mixes = *posted;
        compile::CompileOptions same = asked;
        same.no_more_mixes = *posted;
        if (exists(compiled(same))) return same;
    }
    asked.no_more_mixes.reset();
    const auto room = compiled(asked);
    if (!room) return asked;
    const compile::MoreMixes more(*room);
    if (!more.may_help() || exists(room)) return asked;
    const auto with = [&](int count) -> std::optional<compile::CompileOptions> {
        compile::CompileOptions how = asked;
        how.mixes = more.mixes(how.mixes, count);
        return exists(compiled(how)) ? std::optional(std::move(how)) : std::nullopt;
    };
    return more.fewest(with, [&] { return stop && stop(); }).value_or(asked);
}

}  // namespace sched::study
