// The problem is copied with more lags: a job's first operations wait for the work of the job that
// is so many places before it in order of due dates. The decoder then plans the copy by that order;
// whatever it finds keeps all limits of the problem itself. Drying is booked as long as it takes in
// a full cabinet; where even one job at a time finds no way so, cabinets of the copy take one
// screen.

#include "sched/search/room/careful.hpp"

#include <algorithm>
#include <array>
#include <numeric>
#include <utility>
#include <variant>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/search/base/rng.hpp"

namespace sched::search {

namespace {

using core::OperationId;
using core::Problem;

constexpr std::array<std::size_t, 3> kAtOnce{8, 3, 1};  // jobs on their way
constexpr int kOtherWays = 24;  // draws of modes and places where the first that fits leads nowhere

struct Way {
    std::vector<OperationId> first, last;  // nothing of the job before, after
    bool begun = false;
};

std::vector<Way> ways_of(const Problem& problem) {
    std::vector<char> follows(problem.operations.size(), 0), leads(problem.operations.size(), 0);
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (!lag || lag->min.count() < 0) continue;
        const auto job = problem.operations[lag->from.index()].job;
        if (!job.valid() || job != problem.operations[lag->to.index()].job) continue;
        follows[lag->to.index()] = leads[lag->from.index()] = 1;
    }
    std::vector<Way> ways(problem.jobs.size());
    for (std::size_t i = 0; i < problem.operations.size(); ++i) {
        const auto job = problem.operations[i].job;
        if (!job.valid()) continue;
        if (!follows[i]) ways[job.index()].first.push_back(OperationId{i});
        if (!leads[i]) ways[job.index()].last.push_back(OperationId{i});
    }
    for (const auto& b : problem.begun) {
        const auto job = problem.operations[b.operation.index()].job;
        if (job.valid()) ways[job.index()].begun = true;
    }
    return ways;
}

// Jobs by due date, what has begun first and what is nobody's order last; a job that waits for
// another one after it.
std::vector<std::size_t> turn_of(const Problem& problem, const std::vector<Way>& ways) {
    const auto key = [&](std::size_t j) {
        const auto order = problem.jobs[j].order;
        const bool ordered = order.valid();
        const auto due = ordered ? problem.orders[order.index()].due.value_or(problem.horizon_end)
                                 : problem.horizon_end;
        return std::pair{ways[j].begun ? 0 : (ordered ? 1 : 2), due};
    };
    std::vector<std::size_t> wanted(problem.jobs.size()), turn;
    std::iota(wanted.begin(), wanted.end(), std::size_t{0});
    std::stable_sort(wanted.begin(), wanted.end(),
                     [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
    std::vector<std::pair<std::size_t, std::size_t>> before;
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (!lag) continue;
        const auto a = problem.operations[lag->from.index()].job;
        const auto b = problem.operations[lag->to.index()].job;
        if (a.valid() && b.valid() && a != b) before.emplace_back(a.index(), b.index());
    }
    std::vector<char> listed(problem.jobs.size(), 0);
    while (turn.size() < wanted.size()) {
        auto next = std::find_if(wanted.begin(), wanted.end(), [&](std::size_t j) {
            return !listed[j] && std::none_of(before.begin(), before.end(), [&](const auto& x) {
                return x.second == j && !listed[x.first];
            });
        });
        if (next == wanted.end())  // a circle: the problem's own, not ours to undo
            next = std::find_if(wanted.begin(), wanted.end(),
                                [&](std::size_t j) { return !listed[j]; });
        listed[*next] = 1;
        turn.push_back(*next);
    }
    return turn;
}

// The same problem in which a job begins when the one `at_once` before it is done.
Problem one_after_another(Problem problem, const std::vector<Way>& ways,
                          const std::vector<std::size_t>& turn, std::size_t at_once) {
    for (std::size_t k = at_once; k < turn.size(); ++k) {
        const Way& done = ways[turn[k - at_once]];
        const Way& next = ways[turn[k]];
        if (next.begun) continue;
        for (const OperationId from : done.last) {
            for (const OperationId to : next.first)
                problem.constraints.push_back(
                    core::TimeLag{.from = from, .edge = core::Edge::WorkEnd, .to = to});
        }
    }
    return problem;
}

// What dries, dries alone: a full cabinet is one with as much as the largest need in it.
void dry_alone(Problem& problem) {
    std::vector<int> largest(problem.resources.size(), 0);
    for (const auto& o : problem.operations) {
        for (const auto& mode : o.modes) {
            for (const auto& need : mode.needs) {
                for (const auto r : need.any_of)
                    largest[r.index()] = std::max(largest[r.index()], need.amount);
            }
        }
    }
    for (std::size_t r = 0; r < largest.size(); ++r) {
        core::Resource& place = problem.resources[r];
        if (place.shared && largest[r] > 0) place.capacity = std::min(place.capacity, largest[r]);
    }
}

engine::Sequence in_turn(const Problem& problem, const std::vector<std::size_t>& turn) {
    std::vector<std::int32_t> place(problem.jobs.size(), 0);
    for (std::size_t k = 0; k < turn.size(); ++k)
        place[turn[k]] = static_cast<std::int32_t>(k) + 1;
    engine::Sequence sequence;
    for (const auto& o : problem.operations)  // what belongs to no job (mixing) goes first
        sequence.rank.push_back(o.job.valid() ? place[o.job.index()] : 0);
    return sequence;
}

}  // namespace

namespace {

// The last shift of all has begun: it is time that lacks, and other places would not spare it.
bool in_the_last_shift(const Problem& problem, engine::Tick at) {
    std::optional<core::SimTime> last;
    for (const auto& resource : problem.resources) {
        if (resource.calendar && !resource.calendar->empty())
            last = std::max(last.value_or(core::SimTime::min()), resource.calendar->back().from);
    }
    return last && at >= last->time_since_epoch().count();
}

CarefulSchedule one_way(const Problem& problem, const std::function<bool()>& stop) {
    CarefulSchedule found;
    const auto ways = ways_of(problem);
    const auto turn = turn_of(problem, ways);
    engine::Sequence sequence = in_turn(problem, turn);
    const auto tried = [&](const Problem& few, std::size_t at_once) {
        const engine::CompiledProblem compiled(few);
        engine::Decoder decoder(compiled);
        Rng rng(1, at_once);
        for (int way = 0; way <= (at_once == 1 ? kOtherWays : 0); ++way) {
            if (way > 0) {
                sequence.choice.resize(problem.operations.size());
                sequence.mode.resize(problem.operations.size());
                for (std::size_t i = 0; i < problem.operations.size(); ++i) {
                    sequence.choice[i] = static_cast<std::uint8_t>(rng.below(8));
                    const auto modes = static_cast<int>(problem.operations[i].modes.size());
                    sequence.mode[i] =
                        static_cast<std::int16_t>(rng.below(2) == 0 ? -1 : rng.below(modes));
                }
            }
            if (decoder.decode(sequence)) {
                found.failure = {};
                found.schedule = decoder.to_schedule();
                return true;
            }
            if (way == 0) found.failure = decoder.failure();
            if (way == 0 && at_once == 1 && in_the_last_shift(few, decoder.now()))
                found.failure.why = engine::Obstacle::Horizon;
            if (found.failure.why == engine::Obstacle::Horizon || (stop && stop())) break;
        }
        return false;
    };
    for (const std::size_t at_once : kAtOnce) {
        if (stop && stop()) return found;
        if (at_once > 1 && at_once >= turn.size()) continue;
        if (tried(one_after_another(problem, ways, turn, at_once), at_once)) return found;
    }
    if (!problem.begun.empty() || (stop && stop())) return found;
    const engine::Failure failure = found.failure;
    Problem alone = one_after_another(problem, ways, turn, 1);
    dry_alone(alone);
    if (!tried(alone, 1)) found.failure = failure;
    return found;
}

}  // namespace

CarefulSchedule careful_schedule(const Problem& problem, const std::function<bool()>& stop) {
    CarefulSchedule found = one_way(problem, stop);
    const auto ties = core::tighter(problem);
    if (found.schedule || !ties || (stop && stop())) return found;
    Problem tied = problem;
    tied.ties = *ties;
    return careful_schedule(tied, stop);
}

}  // namespace sched::search
