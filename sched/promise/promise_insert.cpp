// An enquiry planned into the room. What is promised keeps its turns; the enquiry gets the turn at
// which it is ready soonest without taking the slack that random variation needs from anybody.

#include <algorithm>
#include <numeric>

#include "sched/advise/replan.hpp"
#include "sched/core/objective.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/promise/promise_inside.hpp"
#include "sched/simulate/enough_pots.hpp"
#include "sched/simulate/executor.hpp"

namespace sched::study::promising {

using core::Seconds;
using core::SimTime;

namespace {

/// Moves of the promised ones by less than that are no harm: the drying of one more screen shifts
/// everybody by seconds.
constexpr Seconds ease = model::minutes(10);

constexpr std::size_t most_turns = 16;  // that are tried between first and last of all

// Turns beyond every time of a plan, exact as a double too.
constexpr std::int64_t first_of_all = -1'000'000'000'000'000;
constexpr std::int64_t last_of_all = 1'000'000'000'000'000;
constexpr std::int64_t behind_it = 2 * last_of_all;  // a displaced order

/// Per operation: when it is its turn, s. Lower goes first, equal by number.
using Turns = std::vector<std::int64_t>;

engine::Sequence sequence_by_turn(const Turns& turns) {
    std::vector<std::int32_t> order(turns.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](std::int32_t a, std::int32_t b) {
        return turns[static_cast<std::size_t>(a)] < turns[static_cast<std::size_t>(b)];
    });
    engine::Sequence s;
    s.rank.resize(turns.size());
    for (std::size_t k = 0; k < order.size(); ++k)
        s.rank[static_cast<std::size_t>(order[k])] = static_cast<std::int32_t>(k);
    s.lookahead = 0;  // as the day is simulated: nothing waits for what is to come
    s.keeps_turn = true;
    return s;
}

int order_of(const core::Problem& p, std::size_t operation) {
    const auto job = p.operations[operation].job;
    return job.valid() ? p.jobs[job.index()].order.value : -1;
}

std::vector<std::int64_t> completions_of(const core::Problem& p, const engine::FlatSchedule& f) {
    std::vector<std::int64_t> done(p.orders.size(), first_of_all);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const int order = order_of(p, i);
        if (order < 0) continue;
        auto& d = done[static_cast<std::size_t>(order)];
        d = std::max<std::int64_t>(d, p.operations[i].max_stretch ? f.end[i] : f.work_end[i]);
    }
    return done;
}

/// By the search, with as little moved of what is promised as it can be.
std::optional<core::Schedule> planned_again(const PromiseDesk::Inside& desk,
                                            const compile::RoomProblem& room,
                                            const search::EarlierPlan& earlier) {
    search::SearchOptions options;
    options.budget.evaluations = desk.options.base_evaluations;
    options.seed = desk.options.seed;
    options.threads = 1;
    options.stop = desk.options.stop;
    search::ReplanOptions how;
    how.place = room.changes_at.value_or(search::place_of_changes(room.problem));
    return search::replan(room.problem, earlier, how, options).solution.schedule;
}

}  // namespace

SimTime completion_of(const core::Problem& problem, const core::Schedule& schedule,
                      std::size_t order) {
    return core::completions(problem, schedule)[order].value_or(problem.horizon_start);
}

std::optional<core::Schedule> nominal_day(const core::Problem& problem,
                                          const core::Schedule& turns) {
    const engine::RemainingProblem present(problem);
    const engine::CompiledProblem compiled(present.problem());
    engine::Decoder decoder(compiled);
    Turns turn;
    for (const auto& p : turns.placements)
        turn.push_back(p.start.time_since_epoch().count());
    if (decoder.decode(sequence_by_turn(turn))) return present.whole(decoder.to_schedule());
    const auto ties = core::tighter(problem);
    if (!ties) return std::nullopt;
    core::Problem tied = problem;
    tied.ties = *ties;
    return nominal_day(tied, turns);
}

const std::map<std::string, int>* posted_pots(const PromiseOptions& options) {
    if (!options.begun || !options.begun->posted || !options.begun->posted->mixes) return nullptr;
    return &*options.begun->posted->mixes;
}

core::Seconds days_in_seconds(const PromiseOptions& options) {
    return model::hours(24) * options.compile.days;
}

std::optional<compile::RoomProblem> compile_remaining(const model::Scenario& scenario,
                                                      const PromiseOptions& options,
                                                      search::EarlierPlan& earlier,
                                                      std::vector<std::string>* notes,
                                                      model::Diagnostics& diagnostics) {
    auto room = compile::compile_room(scenario, options.compile, diagnostics);
    if (!room || !options.begun) return room;
    earlier = earlier_of(*options.begun, *room);
    std::vector<std::string> unsaid;
    if (!put_begun(*options.begun, earlier, *room, notes != nullptr ? *notes : unsaid, diagnostics))
        return std::nullopt;
    return room;
}

model::Scenario scenario_with(const model::Scenario& scenario, const Enquiry& enquiry,
                              SimTime far) {
    model::Scenario with = scenario;
    for (const auto& order : with.orders)
        far = std::max(far, order.due + model::minutes(1));
    with.orders.push_back({.name = enquiry.name,
                           .customer = enquiry.customer,
                           .due = far,
                           .priority = enquiry.priority,
                           .lines = enquiry.lines});
    return with;
}

std::optional<PromiseDesk::Planned> insert(const PromiseDesk::Inside& desk, model::Scenario with,
                                           const InsertHow& how, std::string& why) {
    model::Diagnostics diagnostics;
    PromiseDesk::Planned out;
    out.scenario = std::move(with);
    search::EarlierPlan posted;
    PromiseOptions options = desk.options;
    const auto compile = [&](const compile::CompileOptions& asked) {
        options.compile = asked;
        model::Diagnostics unsaid;
        return compile_remaining(out.scenario, options, posted, nullptr, unsaid);
    };
    // The coats of the enquiry may ask for more pots than those of what is promised.
    const auto* pots = posted_pots(desk.options);
    if (pots != nullptr || pots_end_in(out.scenario.room, days_in_seconds(desk.options)))
        options.compile = with_enough_pots(desk.options.compile, pots, compile, options.stop);
    out.how = options.compile;
    auto compiled = compile_remaining(out.scenario, options, posted, nullptr, diagnostics);
    if (!compiled) {
        for (const auto& d : diagnostics.all()) {
            if (d.severity != model::Severity::Error) continue;
            why = d.message + (d.hint.empty() ? "" : " " + d.hint);
            break;
        }
        return std::nullopt;
    }
    out.room = *std::move(compiled);
    core::Problem& problem = out.room.problem;
    relaxed(desk.relaxed, problem);
    search::stand_through(problem, desk.closings);
    const std::size_t enquiry = problem.orders.size() - 1;
    problem.orders[enquiry].due = std::nullopt;
    auto& release = problem.orders[enquiry].release;
    release = std::max(release, desk.asked);
    if (how.care == Care::Tomorrow)
        release = model::midnight(model::date_of(release)) + std::chrono::days{1};

    // The turns of what is promised, as the plan without the enquiry has them.
    search::EarlierPlan earlier(problem.operations.size());
    if (desk.solution.schedule)
        earlier = search::match_by_name(desk.room.problem, desk.turns, problem);
    Turns turns(problem.operations.size());
    std::vector<std::size_t> mine, mixes;  // its work; what has to be mixed for it
    std::vector<std::int64_t> starts;
    for (std::size_t i = 0; i < turns.size(); ++i) {
        const int order = order_of(problem, i);
        if (order == static_cast<int>(enquiry)) {
            mine.push_back(i);
        } else if (order >= 0 && order == how.displaced) {
            turns[i] = behind_it;
        } else if (earlier[i]) {
            turns[i] = earlier[i]->start.time_since_epoch().count();
        } else {
            mixes.push_back(i);  // in its turn: nobody who is promised waits for it
        }
        if (earlier[i] && earlier[i]->start >= desk.asked)
            starts.push_back(earlier[i]->start.time_since_epoch().count());
    }
    if (mine.empty()) {
        why = "there is nothing to do for it.";
        return std::nullopt;
    }
    std::vector<std::size_t> with_it = mine;
    with_it.insert(with_it.end(), mixes.begin(), mixes.end());
    std::sort(starts.begin(), starts.end());
    std::vector<std::int64_t> candidates = {how.turn.value_or(last_of_all)};
    if (how.care < Care::Tomorrow && !how.turn) {
        for (std::size_t k = most_turns; k > 0 && !starts.empty(); --k)
            candidates.push_back(starts[(starts.size() - 1) * k / (most_turns + 1)]);
        candidates.push_back(first_of_all);
        candidates.erase(std::unique(candidates.begin(), candidates.end()), candidates.end());
    }

    // Behind everything is what harms least; a turn in front of that must be worth it.
    const auto by_turns = [&] {
        const engine::RemainingProblem present(problem);
        const engine::CompiledProblem engine_problem(present.problem());
        engine::Decoder decoder(engine_problem);
        const auto try_turn = [&](std::int64_t turn) -> std::optional<TurnTried> {
            for (const std::size_t i : with_it)
                turns[i] = turn;
            if (!decoder.decode(sequence_by_turn(turns))) return std::nullopt;
            const auto done = completions_of(problem, decoder.schedule());
            TurnTried tried{.turn = turn, .harm = 0, .ready = done[enquiry]};
            for (std::size_t o = 0; o < enquiry; ++o) {
                if (static_cast<int>(o) == how.displaced) continue;
                const SimTime limit =
                    how.care == Care::Slack ? desk.protected_by[o] : desk.planned[o];
                const std::int64_t over = done[o] - (limit + ease).time_since_epoch().count();
                tried.harm += std::max<std::int64_t>(0, over) *
                              std::max<std::int64_t>(1, problem.orders[o].weight);
            }
            return tried;
        };
        std::optional<TurnTried> best;
        if (how.tried) how.tried->clear();
        for (const std::int64_t turn : candidates) {
            const auto tried = try_turn(turn);
            if (!tried) continue;
            if (how.tried) how.tried->push_back(*tried);
            const bool better = !best || tried->harm < best->harm ||
                                (tried->harm == best->harm && tried->ready + 60 < best->ready);
            if (better) best = tried;
        }
        if (best) {
            try_turn(best->turn);
            out.solution.schedule = present.whole(decoder.to_schedule());
        }
        return best.has_value();
    };
    bool found = by_turns();
    for (auto ties = core::tighter(problem); !found && ties; ties = core::tighter(problem)) {
        problem.ties = *ties;
        found = by_turns();
    }
    if (!found) problem.ties = core::Ties::None;
    if (!found && problem.now) {
        // Work under way that cannot wait (an exposure that two share) may be too much for a list.
        out.solution.schedule = planned_again(desk, out.room, earlier);
        for (const std::size_t i : with_it) {
            if (out.solution.schedule)
                turns[i] = out.solution.schedule->placements[i].start.time_since_epoch().count();
        }
    }
    if (!out.solution.schedule) {
        why = no_plan_found + std::to_string(desk.options.compile.days) + " days.";
        return std::nullopt;
    }
    out.solution.status = core::Status::Feasible;
    out.solution.value = core::evaluate(problem, *out.solution.schedule);
    // Who works takes what is promised in its old turns, whatever the enquiry moved.
    out.turns = *out.solution.schedule;
    out.by_list = desk.by_list;
    for (std::size_t i = 0; i < turns.size(); ++i) {
        const int order = order_of(problem, i);
        const bool moved = order == static_cast<int>(enquiry) || (order < 0 && !earlier[i]) ||
                           (order >= 0 && order == how.displaced);
        if (moved) {
            out.turns.placements[i].start = SimTime{Seconds{turns[i]}};
        } else if (earlier[i]) {
            out.turns.placements[i].start = earlier[i]->start;
        }
    }
    return out;
}

}  // namespace sched::study::promising
