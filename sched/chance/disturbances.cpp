// How it works: the constructor looks once at everything that can vary and gives it a key made
// of names (order, screen, step, round), so that a room with one more cabinet draws the same
// numbers. draw() then makes one day: the run with its remakes, orders that come again, rush
// orders, failures, absences, late films; last of all it mixes what the day takes beyond the
// stores.

#include "sched/chance/disturbances.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "model/room/steps.hpp"
#include "sched/chance/planned_lengths.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/remaining_problem.hpp"

namespace sched::study {

using core::Seconds;
using core::SimTime;
using engine::Draws;
using engine::join_keys;
using engine::name_key;

namespace {

bool attended(const core::Operation& operation) {
    return std::any_of(operation.modes.begin(), operation.modes.end(), [](const core::Mode& m) {
        return std::any_of(m.needs.begin(), m.needs.end(),
                           [](const core::Need& n) { return n.span == core::Span::Work; });
    });
}

/// The step of the operation has times of its own; what is said of a drying step is said of the
/// drying, not of the hanging up.
bool has_times(const Chance& chance, const compile::OperationInfo& info) {
    return !compile::hangs_up(info) && chance.times.contains(info.step);
}

/// The law of the factor on one operation's length. @param planned of its whole step, s.
Distribution law_of(const model::Scenario& scenario, const Chance& chance,
                    const core::Operation& operation, const compile::OperationInfo& info,
                    double planned) {
    if (has_times(chance, info))
        return planned > 0.0 ? factor_law(chance.times.at(info.step), planned)
                             : Distribution::constant(1.0);
    const bool said = !compile::hangs_up(info);
    const auto own = chance.factors.find(info.step);
    if (said && own != chance.factors.end()) return own->second;
    const auto set = scenario.room.steps.find(info.step);
    if (said && set != scenario.room.steps.end() && set->second.spread &&
        operation.modes.front().work.count() > 0) {
        const double half = static_cast<double>(set->second.spread->count()) /
                            static_cast<double>(operation.modes.front().work.count());
        return Distribution::triangular(std::max(0.0, 1.0 - half), 1.0, 1.0 + half);
    }
    const bool drying = std::any_of(operation.modes.begin(), operation.modes.end(),
                                    [](const core::Mode& m) { return !m.stages.empty(); });
    const double cv = drying                ? chance.drying_cv
                      : attended(operation) ? chance.work_cv
                                            : chance.machine_cv;
    if (cv <= 0.0) return Distribution::constant(1.0);
    return Distribution::lognormal(1.0, cv).bounded(chance.factor_low, chance.factor_high);
}

}  // namespace

void DayDisturbances::clear() {
    parts.clear();
    orders.clear();
    jobs.clear();
    closed.clear();
    late.clear();
    opened.clear();
    copies = remakes = failures = absences = late_films = 0;
}

Disturbances::Disturbances(const model::Scenario& scenario, const compile::RoomProblem& room,
                           const Chance& chance)
    : scenario_(scenario), room_(room), chance_(chance) {
    const auto& operations = room.problem.operations;
    run_ = static_cast<int>(operations.size());
    screens_.resize(room.screens.size());
    again_.resize(room.screens.size());
    fresh_.resize(room.screens.size());
    for (const auto& spare : room.spare) {
        run_ = std::min(run_, spare.first);
        (spare.again ? again_ : fresh_)[ix(spare.screen)] = {spare.first, spare.count};
    }
    for (const auto& emulsion : room.spare_emulsions) {
        for (const auto& mix : emulsion.mixes) {
            if (mix.count > 0) run_ = std::min(run_, mix.first);
        }
    }
    // Keys are names: order, screen number, step word, round, and which of its parts.
    static const std::uint64_t found_bad = name_key("found bad");
    std::array<std::uint64_t, 3> last{};
    std::uint64_t part = 0;
    std::vector<std::uint64_t> part_of_step;
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const auto& info = room.operations[i];
        const bool of_run = static_cast<int>(i) < run_;
        OperationKey key;
        if (info.screen >= 0) {
            const auto& screen = room.screens[ix(info.screen)];
            key.subject = name_key(scenario.orders[ix(screen.order)].name);
            key.item = static_cast<std::uint64_t>(screen.number);
            if (of_run) {
                Way& way = screens_[ix(info.screen)];
                if (way.count == 0) way.first = static_cast<int>(i);
                ++way.count;
            }
        } else if (info.mix >= 0) {
            key.subject = name_key(room.mixes[ix(info.mix)].pot);
        }
        if (of_run) {
            const bool new_part = i == 0 || part_screen_.back() != info.screen;
            if (new_part) {
                run_parts_.push_back({static_cast<int>(i), 0});
                part_screen_.push_back(info.screen);
            }
            ++run_parts_.back().count;
        }
        key.purpose =
            join_keys(name_key(model::words_of(info.step)), static_cast<std::uint64_t>(info.round));
        const std::array<std::uint64_t, 3> now{key.subject, key.item, key.purpose};
        part = now == last ? part + 1 : 0;
        last = now;
        key.purpose = join_keys(key.purpose, part);
        key.bad = join_keys(key.purpose, found_bad);
        keys_.push_back(key);
        part_of_step.push_back(part);

        double risk = 0.0;
        int back = 0;
        if (info.screen >= 0) {
            const auto& screen = room.screens[ix(info.screen)];
            for (const auto& rule : chance.remakes) {
                if (rule.at == info.step && part == 0 &&
                    (rule.emulsion.empty() || rule.emulsion == screen.emulsion) &&
                    (rule.mesh.empty() || rule.mesh == screen.mesh) &&
                    (rule.coat_plan.empty() || rule.coat_plan == screen.coat_plan)) {
                    risk = rule.chance;
                    const Way& way = again_[ix(info.screen)];
                    for (int k = way.count - 1; rule.back_to && k > 0; --k) {
                        if (room.operations[ix(way.first + k)].step == *rule.back_to) back = k;
                    }
                    break;
                }
            }
        }
        remake_.push_back(risk);
        back_.push_back(back);
    }

    make_laws(part_of_step);
    limit_work();

    std::map<int, std::vector<std::size_t>> screens_of;
    for (std::size_t s = 0; s < room.screens.size(); ++s) {
        if (screens_[s].count > 0) screens_of[room.screens[s].order].push_back(s);
    }
    for (auto& [order, screens] : screens_of)
        orders_.push_back({order, std::move(screens)});

    takes_.assign(operations.size(), 0);
    emulsion_.assign(operations.size(), -1);
    for (const auto& constraint : room.problem.constraints) {
        if (const auto* take = std::get_if<core::Take>(&constraint)) {
            const int screen = room.operations[take->operation.index()].screen;
            if (screen < 0) continue;
            takes_[take->operation.index()] += take->amount;
            for (std::size_t e = 0; e < room.spare_emulsions.size(); ++e) {
                if (room.spare_emulsions[e].emulsion == room.screens[ix(screen)].emulsion)
                    emulsion_[take->operation.index()] = static_cast<int>(e);
            }
        }
        const auto* window = std::get_if<core::StartWindow>(&constraint);
        if (window == nullptr || !window->not_before) continue;
        const int op = window->operation.value;
        const auto& info = room.operations[ix(op)];
        const bool here = room.problem.now && *window->not_before <= *room.problem.now;
        if (op < run_ && info.step == model::Step::Expose && info.screen >= 0 && !here)
            films_.push_back({op, info.screen});
    }
    if (room.problem.now) {
        past_.assign(operations.size(), 0);
        const auto ends = engine::ends_of_work(room.problem);
        for (std::size_t k = 0; k < ends.size(); ++k) {
            past_[room.problem.begun[k].operation.index()] =
                ends[k].has_value() && *ends[k] <= *room.problem.now;
        }
    }
    for (const auto& rule : chance.failures) {
        failing_.emplace_back();
        for (std::size_t r = 0; r < room.problem.resources.size(); ++r) {
            if (room.problem.resources[r].name == rule.station)
                failing_.back().push_back(static_cast<int>(r));
        }
    }
}

// Where a step has times of its own its parts share one draw, so that together they take what the
// law says.
void Disturbances::make_laws(const std::vector<std::uint64_t>& part_of_step) {
    const auto& operations = room_.problem.operations;
    const auto lengths = planned_lengths(
        room_, [&](std::size_t i) { return has_times(chance_, room_.operations[i]); });
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const std::size_t first = i - static_cast<std::size_t>(part_of_step[i]);
        double planned = 0.0;
        for (std::size_t k = first; k < operations.size() && (k == first || part_of_step[k] > 0);
             ++k)
            planned += compile::hangs_up(room_.operations[k]) ? 0.0 : lengths[k];
        laws_.push_back(law_of(scenario_, chance_, operations[i], room_.operations[i], planned));
        if (has_times(chance_, room_.operations[i])) keys_[i].purpose = keys_[first].purpose;
    }
}

// Where a limit runs from the first touch on (remover), whoever is slow breaks off in time: work
// alone never makes it impossible to keep. What stands after that work has its time.
void Disturbances::limit_work() {
    const auto& problem = room_.problem;
    most_.assign(problem.operations.size(), std::numeric_limits<double>::infinity());
    std::map<std::pair<int, int>, std::int64_t> stands;  // between the end of work and the next
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag == nullptr || lag->edge == core::Edge::Start) continue;
        auto& known = stands[{lag->from.value, lag->to.value}];
        known = std::max(known, lag->min.count());
    }
    for (const auto& c : problem.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag == nullptr || lag->edge != core::Edge::Start || !lag->max) continue;
        std::int64_t longest = 0;
        for (const auto& mode : problem.operations[lag->from.index()].modes)
            longest = std::max(longest, mode.work.count());
        const auto left = lag->max->count() - stands[{lag->from.value, lag->to.value}];
        if (longest == 0 || left < longest) continue;
        double& most = most_[lag->from.index()];
        // Work is rounded up to whole seconds.
        most = std::min(most, (static_cast<double>(left) - 0.01) / static_cast<double>(longest));
    }
}

std::vector<std::pair<int, int>> Disturbances::all_parts() const {
    std::set<std::pair<int, int>> parts;
    const auto add = [&](const Way& way, int from) {
        if (way.count <= from) return;
        parts.emplace(way.first + from, way.count - from);
        for (int k = from; k < way.count; ++k) {
            if (remake_[ix(way.first + k)] > 0.0) parts.emplace(way.first + from, k - from + 1);
        }
    };
    for (const Way& way : run_parts_)
        add(way, 0);
    for (std::size_t s = 0; s < again_.size(); ++s) {
        add(again_[s], 0);
        add(fresh_[s], 0);
        for (const Way& way : {screens_[s], again_[s]}) {
            for (int i = way.first; i < way.first + way.count; ++i)
                add(again_[s], back_[ix(i)]);
        }
    }
    for (const auto& emulsion : room_.spare_emulsions) {
        for (const auto& mix : emulsion.mixes) {
            if (mix.count > 0) parts.emplace(mix.first, mix.count);
        }
    }
    return {parts.begin(), parts.end()};
}

double Disturbances::factor(int nominal, std::uint64_t attempt, const Draws& draws) const {
    return std::min(drawn_factor(nominal, attempt, draws), most_[ix(nominal)]);
}

double Disturbances::drawn_factor(int nominal, std::uint64_t attempt, const Draws& draws) const {
    const std::size_t i = ix(nominal);
    const double scale = chance_.scale;
    if (laws_[i].law() == Law::Constant) return scale * laws_[i].quantile(0.5);
    if (room_.problem.operations[i].batch) {
        // Screens that share an exposure are loaded and taken out as one: their random variation is
        // the day's.
        static const std::uint64_t exposure = name_key("exposure");
        return scale * laws_[i].quantile(draws.uniform({exposure, 0, keys_[i].purpose, 0}));
    }
    const OperationKey& key = keys_[i];
    return scale * laws_[i].quantile(draws.uniform({key.subject, key.item, key.purpose, attempt}));
}

double Disturbances::factor_beyond(int nominal, double least, const Draws& draws) const {
    const double usual = factor(nominal, 0, draws);
    if (usual > least) return usual;
    static const std::uint64_t beyond = name_key("beyond");
    const std::size_t i = ix(nominal);
    const double below = chance_.scale > 0.0 ? laws_[i].cdf(least / chance_.scale) : 1.0;
    if (below >= 1.0 || laws_[i].law() == Law::Constant) return usual;
    const OperationKey& key = keys_[i];
    const bool shared = room_.problem.operations[i].batch.has_value();  // as in factor()
    const double u = draws.uniform(
        {shared ? beyond : key.subject, shared ? 0 : key.item, join_keys(key.purpose, beyond), 0});
    const double v = std::min(below + u * (1.0 - below), std::nextafter(1.0, 0.0));
    return chance_.scale * laws_[i].quantile(v);
}

bool Disturbances::fails(int nominal, std::uint64_t attempt, const Draws& draws) const {
    const double risk = remake_[ix(nominal)];
    if (risk <= 0.0) return false;
    if (attempt == 0 && !past_.empty() && past_[ix(nominal)]) return false;
    const OperationKey& key = keys_[ix(nominal)];
    return draws.uniform({key.subject, key.item, key.bad, attempt}) < risk;
}

bool Disturbances::left_out(std::size_t screen, const Draws& draws, double volume) const {
    if (volume >= 1.0 || screens_[screen].count == 0) return false;
    static const std::uint64_t purpose = name_key("volume");
    const OperationKey& key = keys_[ix(screens_[screen].first)];
    return draws.uniform({key.subject, 0, purpose, 0}) >= volume;
}

// Each screen up to the step at which it is found bad; then its way over again, as often as needed.
void Disturbances::draw_run(const Draws& draws, double volume, DayDisturbances& out) const {
    struct Bad {
        std::size_t screen;
        int part, back;
    };
    std::vector<Bad> bad;
    for (std::size_t p = 0; p < run_parts_.size(); ++p) {
        DayPart part{.first = run_parts_[p].first, .count = run_parts_[p].count};
        const int screen = part_screen_[p];
        if (screen >= 0) {
            if (left_out(ix(screen), draws, volume)) continue;
            part.job = room_.screens[ix(screen)].job.value;
            const bool again = again_[ix(screen)].count > 0 && chance_.most_remakes > 0;
            for (int i = part.first; again && i < part.first + part.count; ++i) {
                if (!fails(i, 0, draws)) continue;
                part.count = i - part.first + 1;
                bad.push_back({ix(screen), static_cast<int>(out.parts.size()), back_[ix(i)]});
            }
        }
        out.parts.push_back(part);
    }
    std::stable_sort(bad.begin(), bad.end(),
                     [](const Bad& a, const Bad& b) { return a.screen < b.screen; });
    for (const Bad& b : bad) {
        int after = b.part, back = b.back;
        for (std::uint64_t attempt = 1; after >= 0; ++attempt) {
            ++out.remakes;
            const Way& way = again_[b.screen];
            DayPart part{.first = way.first + back,
                         .count = way.count - back,
                         .attempt = attempt,
                         .round = static_cast<int>(attempt),
                         .job = room_.screens[b.screen].job.value,
                         .after = after};
            after = -1;
            const bool may_fail = static_cast<int>(attempt) < chance_.most_remakes;
            for (int i = part.first; may_fail && i < part.first + part.count; ++i) {
                if (!fails(i, attempt, draws)) continue;
                part.count = i - part.first + 1;
                after = static_cast<int>(out.parts.size());
                back = back_[ix(i)];
            }
            out.parts.push_back(part);
        }
    }
}

void Disturbances::draw_screen(int screen, int job, std::uint64_t attempt, const Draws& draws,
                               std::vector<DayPart>& out) const {
    const Way& again = again_[ix(screen)];
    DayPart part{.first = screens_[ix(screen)].first,
                 .count = screens_[ix(screen)].count,
                 .attempt = attempt,
                 .job = job};
    for (int round = 0;; ++round) {
        const bool may_fail = again.count > 0 && round < chance_.most_remakes;
        int back = -1;
        for (int i = part.first; may_fail && i < part.first + part.count; ++i) {
            if (!fails(i, part.attempt, draws)) continue;
            part.count = i - part.first + 1;
            back = back_[ix(i)];
        }
        out.push_back(part);
        if (back < 0) return;
        part = {.first = again.first + back,
                .count = again.count - back,
                .attempt = attempt + static_cast<std::uint64_t>(round) + 1,
                .round = round + 1,
                .job = job,
                .after = static_cast<int>(out.size()) - 1};
    }
}

std::vector<std::vector<int>> Disturbances::screens_by_order() const {
    std::vector<std::vector<int>> out(room_.problem.orders.size());
    for (const Order& order : orders_) {
        for (const std::size_t s : order.screens)
            out[ix(order.order)].push_back(static_cast<int>(s));
    }
    return out;
}

// Orders that come again: on ready frames, or on frames that must be stripped first, one or the
// other with an even chance.
void Disturbances::draw_copies(const Draws& draws, double volume, DayDisturbances& out) const {
    if (volume <= 1.0) return;
    static const std::uint64_t purpose = name_key("volume");
    static const std::uint64_t frame = name_key("volume, frame");
    const auto planned_orders = static_cast<int>(room_.problem.orders.size());
    const auto planned_jobs = static_cast<int>(room_.problem.jobs.size());
    const double more = volume - 1.0;
    for (const Order& order : orders_) {
        const OperationKey& key = keys_[ix(screens_[order.screens.front()].first)];
        const auto& planned = room_.problem.orders[ix(order.order)];
        for (std::uint64_t copy = 1; static_cast<double>(copy) < more + 1.0; ++copy) {
            const double part = std::min(1.0, more - static_cast<double>(copy - 1));
            if (draws.uniform({key.subject, copy, purpose, 0}) >= part) continue;
            const int again = planned_orders + static_cast<int>(out.orders.size());
            out.orders.push_back({.like = order.order,
                                  .release = planned.release,
                                  .due = planned.due,
                                  .weight = planned.weight});
            ++out.copies;
            for (const std::size_t s : order.screens) {
                const OperationKey& own = keys_[ix(screens_[s].first)];
                const bool strip = draws.uniform({own.subject, own.item, frame, copy}) < 0.5;
                const Way& way = strip && again_[s].count > 0 ? again_[s] : fresh_[s];
                if (way.count == 0) continue;
                out.parts.push_back({.first = way.first,
                                     .count = way.count,
                                     .attempt = 100'000 + copy,
                                     .round = -1,
                                     .job = planned_jobs + static_cast<int>(out.jobs.size())});
                out.jobs.push_back({again, static_cast<int>(s), 0});
            }
        }
    }
}

void Disturbances::draw_rush(const Draws& draws, DayDisturbances& out) const {
    const RushRule& rule = chance_.rush;
    if (rule.a_day <= 0.0) return;
    static const std::uint64_t subject = name_key("rush order");
    const SimTime day = model::midnight(model::date_of(room_.problem.horizon_start));
    const SimTime start = room_.problem.now.value_or(room_.problem.horizon_start);
    const double span = static_cast<double>((rule.to - rule.from).count());
    const auto planned_orders = static_cast<int>(room_.problem.orders.size());
    const auto planned_jobs = static_cast<int>(room_.problem.jobs.size());
    double at = 0.0;
    for (std::uint64_t n = 0;; ++n) {
        const auto u = [&](std::uint64_t purpose) {
            return draws.uniform({subject, n, purpose, 0});
        };
        at += engine::exponential_inverse(span / rule.a_day, u(1));
        if (at >= span) return;
        const SimTime comes = day + rule.from + Seconds{std::llround(at)};
        if (comes < start) continue;
        // The screen it is like: the one with the smallest draw of its own name, so that another
        // order in the list changes the choice only by being chosen.
        int like = -1;
        double least = 2.0;
        for (std::size_t s = 0; s < fresh_.size(); ++s) {
            if (fresh_[s].count == 0) continue;
            const OperationKey& key = keys_[ix(screens_[s].first)];
            const double mine = draws.uniform({key.subject, key.item, subject, n});
            if (mine < least) {
                least = mine;
                like = static_cast<int>(s);
            }
        }
        if (like < 0) return;
        const int order = planned_orders + static_cast<int>(out.orders.size());
        out.orders.push_back({.number = static_cast<int>(n) + 1,
                              .release = comes,
                              .due = comes + rule.allowed,
                              .weight = rule.weight});
        const int screens = 1 + static_cast<int>(u(2) * rule.most_screens);
        for (int s = 0; s < screens; ++s) {
            // Attempts of rush screens start far from those of remakes.
            out.parts.push_back({.first = fresh_[ix(like)].first,
                                 .count = fresh_[ix(like)].count,
                                 .attempt = 1000 * (n + 1) + static_cast<std::uint64_t>(s),
                                 .round = -1,
                                 .job = planned_jobs + static_cast<int>(out.jobs.size()),
                                 .release = comes});
            out.jobs.push_back({order, like, s + 1});
        }
    }
}

void Disturbances::draw_failures(const Draws& draws, DayDisturbances& out) const {
    static const std::uint64_t between = name_key("time to failure");
    static const std::uint64_t repair = name_key("time to repair");
    const core::Problem& p = room_.problem;
    const auto seconds = [](double s) {
        return Seconds{std::max<std::int64_t>(1, std::llround(s))};
    };
    for (std::size_t f = 0; f < chance_.failures.size(); ++f) {
        const FailureRule& rule = chance_.failures[f];
        const std::uint64_t subject = name_key(rule.station);
        for (const int resource : failing_[f]) {
            SimTime t = p.horizon_start;
            for (std::uint64_t n = 0;; ++n) {
                t += seconds(rule.between.quantile(draws.uniform({subject, 0, between, n})));
                if (t >= p.horizon_end) break;
                const SimTime to =
                    t + seconds(rule.repair.quantile(draws.uniform({subject, 0, repair, n})));
                if (p.now && t < *p.now) {  // it runs now
                    t = to;
                    continue;
                }
                out.closed.push_back({resource, t, to});
                ++out.failures;
                t = to;
            }
        }
    }
}

// Overtime cannot be worked by someone who is not there; the windows may stay.
void Disturbances::draw_absences(const Draws& draws, DayDisturbances& out) const {
    if (chance_.absent <= 0.0) return;
    static const std::uint64_t purpose = name_key("absent");
    const core::Problem& p = room_.problem;
    for (std::size_t r = 0; r < room_.resources.size(); ++r) {
        const auto& resource = p.resources[r];
        if (room_.resources[r].kind != compile::ResourceKind::Person || !resource.calendar)
            continue;
        const std::uint64_t subject = name_key(resource.name);
        for (SimTime day = model::midnight(model::date_of(p.horizon_start)); day < p.horizon_end;
             day += std::chrono::days{1}) {
            const SimTime next = day + std::chrono::days{1};
            const bool works =
                std::any_of(resource.calendar->begin(), resource.calendar->end(),
                            [&](const core::Window& w) { return w.from < next && day < w.to; });
            const bool came =
                p.now && std::any_of(resource.calendar->begin(), resource.calendar->end(),
                                     [&](const core::Window& w) {
                                         return w.from < next && day < w.to && w.from <= *p.now;
                                     });
            if (came) continue;
            const auto number = static_cast<std::uint64_t>(day.time_since_epoch().count() / 86'400);
            if (!works || draws.uniform({subject, number, purpose, 0}) >= chance_.absent) continue;
            out.closed.push_back({static_cast<int>(r), day, next});
            ++out.absences;
        }
    }
}

void Disturbances::draw_films(const Draws& draws, DayDisturbances& out) const {
    if (chance_.film_late <= 0.0) return;
    static const std::uint64_t late = name_key("film late");
    static const std::uint64_t delay = name_key("film delay");
    const auto happens = [&](int operation) {
        return std::any_of(out.parts.begin(), out.parts.end(), [&](const DayPart& part) {
            return part.round == 0 && part.first <= operation &&
                   operation < part.first + part.count;
        });
    };
    std::map<std::pair<int, int>, Seconds> delays;  // by order and line
    for (const Film& film : films_) {
        if (!happens(film.operation)) continue;
        const auto& screen = room_.screens[ix(film.screen)];
        const auto [known, added] = delays.try_emplace({screen.order, screen.line}, Seconds{0});
        if (added) {
            const std::uint64_t subject = name_key(scenario_.orders[ix(screen.order)].name);
            const auto line = static_cast<std::uint64_t>(screen.line);
            if (draws.uniform({subject, line, late, 0}) < chance_.film_late) {
                ++out.late_films;
                known->second = Seconds{std::llround(
                    chance_.film_delay.quantile(draws.uniform({subject, line, delay, 0})))};
            }
        }
        if (known->second.count() != 0) out.late.push_back({film.operation, known->second});
    }
}

// What the day takes beyond the stores of the run is mixed from the moment it shows: when a screen
// has failed whose coat is one too many, or an order has come in. Orders first, remakes after them:
// a batch that waits for a failure must not be what the screen that fails is coated with. Where the
// other remakes alone could use up what the run leaves, it waits for nobody.
void Disturbances::mix_more(DayDisturbances& out) const {
    if (room_.spare_emulsions.empty() || out.remakes + static_cast<int>(out.orders.size()) == 0)
        return;
    std::vector<std::int64_t> left;
    std::vector<std::size_t> used(room_.spare_emulsions.size(), 0);
    std::vector<int> last_part(used.size(), -1), last_opened(used.size(), -1);
    for (const auto& e : room_.spare_emulsions)
        left.push_back(e.usable);
    const std::size_t parts = out.parts.size();
    std::map<std::pair<std::size_t, int>, std::int64_t> again;  // ml, by emulsion and job
    std::vector<std::int64_t> again_all(used.size(), 0);
    std::vector<std::int64_t> spared;  // ml that nobody but remakes asks for
    const auto account = [&](std::size_t p) {
        const DayPart part = out.parts[p];
        for (int i = part.first; i < part.first + part.count; ++i) {
            if (takes_[ix(i)] == 0 || emulsion_[ix(i)] < 0) continue;
            const std::size_t e = ix(emulsion_[ix(i)]);
            const auto& spare = room_.spare_emulsions[e];
            left[e] -= takes_[ix(i)];
            if (left[e] >= 0 || part.round == 0) continue;
            if (used[e] < spare.mixes.size()) {
                const auto& mix = spare.mixes[used[e]++];
                left[e] += mix.volume - (spare.largest - 1);
                if (mix.count > 0) {
                    const bool waits =
                        part.after >= 0 && again_all[e] - again[{e, part.job}] <= spared[e];
                    last_part[e] = static_cast<int>(out.parts.size());
                    out.parts.push_back({.first = mix.first,
                                         .count = mix.count,
                                         .round = -2,
                                         .after = waits ? part.after : -1,
                                         .release = part.release,
                                         .volume = mix.volume});
                } else {
                    last_opened[e] = static_cast<int>(out.opened.size());
                    out.opened.push_back({mix.store, mix.volume});
                }
            }
            if (left[e] >= 0) continue;
            // The last one is made as large as it must be.
            std::int64_t* volume = last_part[e] >= 0     ? &out.parts[ix(last_part[e])].volume
                                   : last_opened[e] >= 0 ? &out.opened[ix(last_opened[e])].volume
                                                         : nullptr;
            if (volume == nullptr) continue;
            *volume -= left[e];
            left[e] = 0;
        }
    };
    for (std::size_t p = 0; p < parts; ++p) {
        const DayPart& part = out.parts[p];
        if (part.after < 0) {
            account(p);
            continue;
        }
        for (int i = part.first; i < part.first + part.count; ++i) {
            if (takes_[ix(i)] == 0 || emulsion_[ix(i)] < 0) continue;
            again[{ix(emulsion_[ix(i)]), part.job}] += takes_[ix(i)];
            again_all[ix(emulsion_[ix(i)])] += takes_[ix(i)];
        }
    }
    spared = left;
    for (std::size_t p = 0; p < parts; ++p) {
        if (out.parts[p].after >= 0) account(p);
    }
}

void Disturbances::draw(const Draws& draws, double volume, DayDisturbances& out) const {
    out.clear();
    draw_run(draws, volume, out);
    draw_copies(draws, volume, out);
    draw_rush(draws, out);
    draw_failures(draws, out);
    draw_absences(draws, out);
    draw_films(draws, out);
    mix_more(out);
}

}  // namespace sched::study
