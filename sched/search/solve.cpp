// Looks at the structure and shares out the budget. Small problems without drying clocks: the room
// search first, then the exact search for a proof, then whichever found more goes on. Small ones
// with clocks: most of the budget with screens that may stand where they are. All others: the room
// search.

#include "sched/search/solve.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "sched/core/objective.hpp"
#include "sched/search/exact/exact.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/search/room/stands.hpp"

namespace sched::search {

namespace {

// Beyond this the exact search proves nothing in a plan's time, and the room search needs it all.
constexpr std::size_t kExactOperations = 500;
// Beyond this there is too much to look at for two searches.
constexpr std::size_t kStandOperations = 60;
constexpr double kFirstShare = 0.1, kProofShare = 0.2, kSecondShare = 0.3;  // of the budget
constexpr double kPlainShare = 0.2;  // without standing: the smaller space, searched sooner
constexpr std::int64_t kProofEvaluations = 20'000;  // without a budget

/// What is left of a budget, and parts of it.
class Purse {
public:
    explicit Purse(const SearchOptions& options)
        : options_(options), begin_(std::chrono::steady_clock::now()) {}

    void spend(std::int64_t evaluations) { evaluations_ += evaluations; }

    /// `share` of the whole budget, at most what is left. Without any budget: `evaluations`.
    SearchOptions part(double share, std::int64_t evaluations) const {
        SearchOptions o = options_;
        if (options_.budget.evaluations) {
            const auto all = static_cast<double>(*options_.budget.evaluations);
            const std::int64_t left = *options_.budget.evaluations - evaluations_;
            o.budget.evaluations = std::clamp<std::int64_t>(
                left, 1, std::max<std::int64_t>(1, std::llround(share * all)));
        } else if (!options_.budget.seconds) {
            o.budget.evaluations = evaluations;
        }
        if (options_.budget.seconds) {
            const std::chrono::duration<double> used = std::chrono::steady_clock::now() - begin_;
            o.budget.seconds = std::clamp(*options_.budget.seconds - used.count(), 0.01,
                                          std::max(0.01, share * *options_.budget.seconds));
        }
        return o;
    }
    bool empty() const {
        return options_.budget.evaluations && evaluations_ + 1 >= *options_.budget.evaluations;
    }

private:
    const SearchOptions& options_;
    std::chrono::steady_clock::time_point begin_;
    std::int64_t evaluations_ = 0;
};

void raise_bound(core::Solution& solution, const core::Value& bound) {
    auto& parts = solution.bound.parts;
    for (std::size_t k = 0; k < std::min(parts.size(), bound.parts.size()); ++k)
        parts[k] = std::max(parts[k], bound.parts[k]);
    if (solution.schedule && solution.bound == solution.value)
        solution.status = core::Status::Optimal;
}

// What the exact search knows: a good plan first, then its proof or a better one. Where that finds
// nothing better in its share of the time, or the room search then finds more, that has the rest.
core::Solution solve_small(const core::Problem& problem, const SearchOptions& options) {
    Purse purse(options);
    core::Solution best = search_room(problem, purse.part(kFirstShare, 2000));
    purse.spend(best.evaluations);
    const auto ended = [&] {
        return best.status == core::Status::Optimal || best.status == core::Status::Infeasible ||
               best.interrupted || purse.empty();
    };
    if (ended()) return best;
    const auto prove = [&](double share) {
        SearchOptions part = purse.part(share, kProofEvaluations);
        // A last schedule counts beyond the budget.
        if (part.budget.evaluations && *part.budget.evaluations > 1) --*part.budget.evaluations;
        core::Solution exact =
            solve_exact(problem, part, best.schedule ? &*best.schedule : nullptr);
        purse.spend(exact.evaluations);
        raise_bound(exact, best.bound);
        const bool better = exact.schedule && (!best.schedule || exact.value < best.value);
        exact.evaluations += best.evaluations;
        exact.elites = std::move(best.elites);
        exact.interrupted = options.stop && options.stop();
        best = std::move(exact);
        return better;
    };
    // The room search goes on from the best. @returns true if it found something better.
    const auto go_on = [&](double share, std::uint64_t seed) {
        const engine::CompiledProblem compiled(problem);
        RoomGuide guide;
        guide.first.push_back(sequence_of(compiled, *best.schedule, true));
        SearchOptions part = purse.part(share, 2000);
        part.seed = seed;  // other draws than the first time
        core::Solution room = search_room(problem, part, guide);
        purse.spend(room.evaluations);
        raise_bound(room, best.bound);
        raise_bound(best, room.bound);
        const std::int64_t evaluations = best.evaluations + room.evaluations;
        const bool better = room.schedule && room.value < best.value;
        if (better) best = std::move(room);
        best.evaluations = evaluations;
        return better;
    };
    const bool alone = !best.schedule;  // nothing to go on from elsewhere
    const bool proof_found = prove(alone ? 1.0 : kProofShare);
    if (alone || ended()) return best;
    if (proof_found && !go_on(kSecondShare, options.seed + 1) && !ended()) {
        prove(1.0);  // who finds what the other does not has the rest
        return best;
    }
    if (!ended()) go_on(1.0, options.seed + 2);
    return best;
}

// A small room with drying clocks: most of the budget with screens that may stand where they were
// worked on until the next place is free. That is the larger space, and has all that the other has;
// where cabinets have slots to spare it only costs time, so large rooms do without.
core::Solution solve_small_clocks(const core::Problem& problem, const SearchOptions& options) {
    const bool clock = std::any_of(problem.resources.begin(), problem.resources.end(),
                                   [](const core::Resource& r) { return r.shared.has_value(); });
    if (!clock || problem.now || problem.operations.size() > kStandOperations)
        return search_room(problem, options);
    const auto stands = with_stands(problem);
    if (!stands) return search_room(problem, options);
    Purse purse(options);
    core::Solution best = search_room(problem, purse.part(kPlainShare, 1000));
    purse.spend(best.evaluations);
    if (best.status == core::Status::Optimal || best.interrupted || purse.empty()) return best;
    core::Solution other = search_room(stands->problem, purse.part(1.0, 1000));
    best.evaluations += other.evaluations;
    best.interrupted = other.interrupted;
    if (!other.schedule || (best.schedule && !(other.value < best.value))) return best;
    if (best.schedule) best.elites.insert(best.elites.begin(), std::move(*best.schedule));
    best.schedule = without_stands(*stands, *other.schedule);
    best.value = core::evaluate(problem, *best.schedule);
    best.status = best.value == best.bound ? core::Status::Optimal : core::Status::Feasible;
    return best;
}

core::Solution by_structure(const core::Problem& problem, const SearchOptions& options) {
    if (problem.now || !exact_supports(problem)) return solve_small_clocks(problem, options);
    if (problem.operations.size() > kExactOperations) return search_room(problem, options);
    return solve_small(problem, options);
}

}  // namespace

core::Solution solve(const core::Problem& problem, const SearchOptions& options) {
    core::Solution solution = by_structure(problem, options);
    solution.interrupted = options.stop && options.stop();
    return solution;
}

}  // namespace sched::search
