// How it works: the budget is shared out. The sequence is searched with the pauses where they
// are; then single pauses are moved by quarters of an hour, or two exchanged, judged by decoding
// the same sequence; the most promising are searched on; then the search proper, and the pauses
// once more.

#include "sched/advise/pause_search.hpp"

#include <algorithm>
#include <chrono>
#include <thread>

#include "sched/core/objective.hpp"
#include "sched/core/pauses.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/exact/exact.hpp"
#include "sched/search/room/room_search.hpp"
#include "sched/search/solve.hpp"

namespace sched::search {

namespace {

using core::SimTime;
using Clock = std::chrono::steady_clock;

constexpr core::Seconds kPauseStep = model::minutes(15);
// Shares of the budget at whose end each part is over: a look with the pauses where they are,
// moving them, the search proper, moving them once more.
constexpr double kPauseFirst = 0.15;
constexpr double kPauseMoved = 0.25;
constexpr double kPauseMain = 0.95;
constexpr std::size_t kPausePolish = 3;  // candidates of a round that are searched on
constexpr int kPauseRounds = 6;
constexpr int kPauseShifts = 4;
constexpr std::int64_t kPauseDefault = 2000;  // schedules, where no budget is given

struct PauseMove {
    std::size_t pause;
    SimTime at;
    std::size_t other = SIZE_MAX;  // exchanged with this one, which goes to `other_at`
    SimTime other_at{};
};

struct Candidate {
    PauseMove move;
    core::Value value;  // empty: no schedule
};

class PauseSearch {
public:
    PauseSearch(const core::Problem& problem, const SearchOptions& options)
        : best_{problem, {}}, options_(options), begin_(Clock::now()) {
        if (!options_.budget.evaluations && !options_.budget.seconds)
            options_.budget.evaluations = kPauseDefault;
        bound_ = lower_bounds(core::without_movable_pauses(problem));
    }

    PausedSolution run() {
        best_.solution = solve(best_.problem, part(kPauseFirst));
        used_ = best_.solution.evaluations;
        for (int step = 0; !best_.solution.schedule && step <= kPauseShifts && !done(); ++step)
            start_elsewhere(step);
        if (best_.solution.schedule) {
            improve_until(kPauseMoved);
            if (!done()) search_on(kPauseMain - spent());
            improve_until(1.0);
        }
        core::Solution& s = best_.solution;
        s.evaluations = used_;
        s.bound = bound_;
        if (s.schedule) {
            s.value = core::evaluate(best_.problem, *s.schedule);
            s.status = s.value == s.bound ? core::Status::Optimal : core::Status::Feasible;
        } else if (s.status == core::Status::Infeasible) {
            s.status = core::Status::Unknown;  // with the pauses elsewhere there may be one
        }
        s.interrupted = stopped();
        return std::move(best_);
    }

private:
    void improve_until(double share) {
        limit_ = share;
        for (int round = 0; round < kPauseRounds && !done() && spent() < limit_; ++round) {
            if (!improve()) return;
        }
    }

    bool stopped() const { return options_.stop && options_.stop(); }
    bool done() const { return stopped() || best_.solution.value == bound_ || spent() >= 1.0; }
    // Share of the budget that is used; without a budget the first part decides.
    double spent() const {
        double share = 0.0;
        if (options_.budget.evaluations) {
            share = static_cast<double>(used_) /
                    static_cast<double>(std::max<std::int64_t>(1, *options_.budget.evaluations));
        }
        if (options_.budget.seconds) {
            const std::chrono::duration<double> time = Clock::now() - begin_;
            share = std::max(share, time.count() / std::max(1e-9, *options_.budget.seconds));
        }
        return share;
    }
    SearchOptions part(double share) const {
        SearchOptions out = options_;
        if (out.budget.evaluations) {
            out.budget.evaluations = std::max<std::int64_t>(
                1, static_cast<std::int64_t>(share * static_cast<double>(*out.budget.evaluations)));
        }
        if (out.budget.seconds) out.budget.seconds = std::max(0.01, share * *out.budget.seconds);
        if (options_.progress) {
            out.progress = [this](const Progress& p) {
                Progress whole = p;
                whole.evaluations += used_;
                options_.progress(whole);
            };
        }
        return out;
    }

    // Where the given places allow no schedule (a pin in somebody's break): all pauses at the same
    // part of their windows, at the beginning first.
    void start_elsewhere(int step) {
        core::Problem problem = best_.problem;
        core::shift_pauses(problem, step, kPauseShifts);
        core::Solution found = solve(problem, part(kPauseFirst / (2 * kPauseShifts)));
        used_ += found.evaluations;
        if (found.schedule) best_ = {std::move(problem), std::move(found)};
    }

    std::vector<std::size_t> movable() const {
        SimTime last = best_.problem.horizon_start;
        for (const core::Placement& p : best_.solution.schedule->placements)
            last = std::max(last, p.work_end);
        std::vector<std::size_t> out;
        for (std::size_t k = 0; k < best_.problem.pauses.size(); ++k) {
            const core::Pause& p = best_.problem.pauses[k];
            if (p.earliest < p.latest && p.earliest < last) out.push_back(k);
        }
        return out;
    }

    // Whole quarters of an hour of the day, and both ends of the window.
    static std::vector<SimTime> places_of(const core::Pause& pause) {
        std::vector<SimTime> out{pause.earliest};
        const SimTime day = model::midnight(model::date_of(pause.earliest));
        for (SimTime t = day + (pause.earliest - day) / kPauseStep * kPauseStep + kPauseStep;
             t < pause.latest; t += kPauseStep)
            out.push_back(t);
        out.push_back(pause.latest);
        return out;
    }

    std::vector<PauseMove> moves() const {
        std::vector<PauseMove> out;
        const auto list = movable();
        const auto& pauses = best_.problem.pauses;
        for (const std::size_t k : list) {
            for (const SimTime at : places_of(pauses[k])) {
                if (at != pauses[k].at && core::pause_fits(best_.problem, k, at))
                    out.push_back({k, at});
            }
        }
        for (std::size_t a = 0; a < list.size(); ++a) {
            for (std::size_t b = a + 1; b < list.size(); ++b) {
                const core::Pause& x = pauses[list[a]];
                const core::Pause& y = pauses[list[b]];
                if (x.resource == y.resource || x.at == y.at) continue;
                if (core::pause_fits(best_.problem, list[a], y.at) &&
                    core::pause_fits(best_.problem, list[b], x.at))
                    out.push_back({list[a], y.at, list[b], x.at});
            }
        }
        return out;
    }

    static core::Problem moved(const core::Problem& problem, const PauseMove& move) {
        core::Problem out = problem;
        core::move_pause(out, move.pause, move.at);
        if (move.other != SIZE_MAX) core::move_pause(out, move.other, move.other_at);
        return out;
    }

    // Both readings of the found schedule: pushed together, and as it stands.
    std::vector<engine::Sequence> sequences(const core::Problem& problem) const {
        const engine::CompiledProblem compiled(problem);
        return {sequence_of(compiled, *best_.solution.schedule, false),
                sequence_of(compiled, *best_.solution.schedule, true)};
    }

    // Every candidate by decoding the found sequence under it; side by side, each by itself.
    std::vector<Candidate> looked_at(std::vector<PauseMove> list,
                                     const engine::Sequence& sequence) {
        std::vector<Candidate> out(list.size());
        const auto threads = static_cast<std::size_t>(std::max(1, std::min(options_.threads, 64)));
        const auto work = [&](std::size_t first) {
            for (std::size_t i = first; i < list.size(); i += threads) {
                out[i].move = list[i];
                if (stopped() || (options_.budget.seconds && spent() >= limit_)) continue;
                const core::Problem problem = moved(best_.problem, list[i]);
                const engine::CompiledProblem compiled(problem);
                engine::Decoder decoder(compiled);
                if (decoder.decode(sequence))
                    out[i].value = core::evaluate(problem, decoder.to_schedule());
            }
        };
        std::vector<std::jthread> pool;
        for (std::size_t t = 1; t < threads && t < list.size(); ++t)
            pool.emplace_back(work, t);
        work(0);
        pool.clear();
        used_ += static_cast<std::int64_t>(list.size());
        std::erase_if(out, [](const Candidate& c) { return c.value.parts.empty(); });
        std::stable_sort(out.begin(), out.end(),
                         [](const auto& a, const auto& b) { return a.value < b.value; });
        return out;
    }

    // A start that a pin fixes is kept whatever the calendar says, so a break must not move there.
    static bool worked_through(const PausedSolution& trial) {
        for (std::size_t i = 0; i < trial.problem.operations.size(); ++i) {
            const core::Operation& o = trial.problem.operations[i];
            const core::Placement& p = trial.solution.schedule->placements[i];
            for (const core::Pause& x : trial.problem.pauses) {
                const bool hers =
                    std::find(p.chosen.begin(), p.chosen.end(), x.resource) != p.chosen.end();
                if (hers && !o.pausable && p.start < x.at + x.length && x.at < p.work_end)
                    return true;
            }
        }
        return false;
    }

    bool improve() {
        auto list = moves();
        if (options_.budget.evaluations) {
            const double left = limit_ - spent();
            const auto most = static_cast<std::size_t>(
                std::max(0.0, left * 0.6 * static_cast<double>(*options_.budget.evaluations)));
            thin_out(list, most);
        }
        if (list.empty()) return false;
        const auto first = sequences(best_.problem);
        const auto found = looked_at(std::move(list), first.front());
        PausedSolution best = best_;
        for (std::size_t k = 0; k < std::min(kPausePolish, found.size()); ++k) {
            const double left = limit_ - spent();
            if (left <= 0.0 || stopped()) break;
            PausedSolution trial{moved(best_.problem, found[k].move), {}};
            trial.solution =
                search_room(trial.problem, part(left / static_cast<double>(2 * (kPausePolish - k))),
                            {.first = first, .rules = false, .count = {}, .place = 0});
            used_ += trial.solution.evaluations;
            if (trial.solution.schedule && trial.solution.value < best.solution.value &&
                !worked_through(trial))
                best = std::move(trial);
        }
        if (!(best.solution.value < best_.solution.value)) return false;
        best_ = std::move(best);
        return true;
    }

    // Evenly over the list, so that every pause keeps some of its places.
    static void thin_out(std::vector<PauseMove>& list, std::size_t most) {
        if (list.size() <= most) return;
        std::vector<PauseMove> kept;
        for (std::size_t k = 0; k < most; ++k)
            kept.push_back(list[k * list.size() / most]);
        list = std::move(kept);
    }

    // What the search would do without pauses, with what is found by then besides.
    void search_on(double share) {
        const auto& problem = best_.problem;
        auto on = exact_supports(problem)
                      ? solve(problem, part(share))
                      : search_room(problem, part(share),
                                    {.first = sequences(problem), .count = {}, .place = 0});
        used_ += on.evaluations;
        if (on.schedule && on.value < best_.solution.value) best_.solution = std::move(on);
    }

    PausedSolution best_;
    SearchOptions options_;
    core::Value bound_;
    std::int64_t used_ = 0;
    double limit_ = 1.0;  // of the budget: when moving pauses is over
    Clock::time_point begin_;
};

}  // namespace

PausedSolution solve_with_pauses(const core::Problem& problem, const SearchOptions& options) {
    const bool any = std::any_of(problem.pauses.begin(), problem.pauses.end(),
                                 [](const core::Pause& p) { return p.earliest < p.latest; });
    // In the middle of the day everyone knows when the break is.
    if (!any || problem.now) return {problem, solve(problem, options)};
    return PauseSearch(problem, options).run();
}

}  // namespace sched::search
