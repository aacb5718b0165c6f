#include "sched/study/realise.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "model/room/step_names.hpp"

namespace sched::study {

using core::OperationId;
using core::Seconds;
using core::SimTime;
using engine::Draws;
using engine::join_keys;
using engine::name_key;

namespace {

/// Calls visit(id&) for every operation that the constraint names.
template <class Constraint, class Visit>
void for_operations(Constraint& constraint, Visit visit) {
    std::visit(
        [&](auto& c) {
            using T = std::decay_t<decltype(c)>;
            if constexpr (std::is_same_v<T, core::TimeLag>) {
                visit(c.from);
                visit(c.to);
            } else if constexpr (std::is_same_v<T, core::SameMode> ||
                                 std::is_same_v<T, core::SameResource>) {
                visit(c.a);
                visit(c.b);
            } else {
                static_assert(std::is_same_v<T, core::StartWindow> ||
                              std::is_same_v<T, core::Take> || std::is_same_v<T, core::Give>);
                visit(c.operation);
            }
        },
        constraint);
}

void cut_window(core::Calendar& calendar, SimTime from, SimTime to) {
    core::Calendar rest;
    for (const auto& w : calendar) {
        if (to <= w.from || w.to <= from) {
            rest.push_back(w);
            continue;
        }
        if (w.from < from) rest.push_back({w.from, from});
        if (to < w.to) rest.push_back({to, w.to});
    }
    calendar = std::move(rest);
}

bool attended(const core::Operation& operation) {
    return std::any_of(operation.modes.begin(), operation.modes.end(), [](const core::Mode& m) {
        return std::any_of(m.needs.begin(), m.needs.end(),
                           [](const core::Need& n) { return n.span == core::Span::Work; });
    });
}

}  // namespace

core::Seconds real_work(core::Seconds planned, double factor) {
    if (planned.count() <= 0 || factor == 1.0) return planned;
    return Seconds{
        std::max<std::int64_t>(1, std::llround(factor * static_cast<double>(planned.count())))};
}

void apply_factors(Reality& reality) {
    for (std::size_t i = 0; i < reality.factor.size(); ++i) {
        for (auto& mode : reality.problem.operations[i].modes) {
            if (mode.stages.empty()) mode.work = real_work(mode.work, reality.factor[i]);
            for (auto& stage : mode.stages)
                stage.work *= reality.factor[i];
        }
    }
    std::fill(reality.factor.begin(), reality.factor.end(), 1.0);
}

Chance Chance::none() {
    Chance c;
    c.work_cv = c.drying_cv = c.machine_cv = 0.0;
    c.remakes.clear();
    return c;
}

Realiser::Realiser(const model::Scenario& scenario, const compile::RoomProblem& room,
                   const Chance& chance)
    : scenario_(scenario), room_(room), chance_(chance) {
    const auto& operations = room.problem.operations;
    run_ = static_cast<int>(operations.size());
    for (const auto& way : room.spare)
        run_ = std::min(run_, way.first);
    screens_.resize(room.screens.size());
    again_.resize(room.screens.size());
    fresh_.resize(room.screens.size());
    std::vector<int> way_of(operations.size(), -1);
    for (std::size_t w = 0; w < room.spare.size(); ++w) {
        const auto& spare = room.spare[w];
        auto& ways = spare.again ? again_ : fresh_;
        ways[static_cast<std::size_t>(spare.screen)] = {spare.first, spare.count, {}};
        for (int i = spare.first; i < spare.first + spare.count; ++i) {
            way_of[static_cast<std::size_t>(i)] = static_cast<int>(w);
        }
    }
    for (std::size_t c = 0; c < room.problem.constraints.size(); ++c) {
        int way = -1;
        for_operations(room.problem.constraints[c],
                       [&](const OperationId& id) { way = way_of[id.index()]; });
        if (way < 0) {
            run_constraints_.push_back(static_cast<int>(c));
        } else {
            const auto& spare = room.spare[static_cast<std::size_t>(way)];
            auto& ways = spare.again ? again_ : fresh_;
            ways[static_cast<std::size_t>(spare.screen)].constraints.push_back(static_cast<int>(c));
        }
    }
    // Keys are names: order, screen number, step word, round, and which of its parts.
    std::array<std::uint64_t, 3> last{};
    std::uint64_t part = 0;
    for (std::size_t i = 0; i < operations.size(); ++i) {
        const auto& info = room.operations[i];
        OperationKey key;
        if (info.screen >= 0) {
            const auto& screen = room.screens[static_cast<std::size_t>(info.screen)];
            key.subject = name_key(scenario.orders[static_cast<std::size_t>(screen.order)].name);
            key.item = static_cast<std::uint64_t>(screen.number);
            if (static_cast<int>(i) < run_) {
                Way& way = screens_[static_cast<std::size_t>(info.screen)];
                if (way.count == 0) way.first = static_cast<int>(i);
                ++way.count;
            }
        } else if (info.mix >= 0) {
            key.subject = name_key(room.mixes[static_cast<std::size_t>(info.mix)].pot);
        }
        key.purpose =
            join_keys(name_key(model::words_of(info.step)), static_cast<std::uint64_t>(info.round));
        const std::array<std::uint64_t, 3> now{key.subject, key.item, key.purpose};
        part = now == last ? part + 1 : 0;
        last = now;
        key.purpose = join_keys(key.purpose, part);
        keys_.push_back(key);

        const auto& operation = operations[i];
        const auto own = chance.factors.find(info.step);
        const auto set = scenario.room.steps.find(info.step);
        const bool drying = std::any_of(operation.modes.begin(), operation.modes.end(),
                                        [](const core::Mode& m) { return !m.stages.empty(); });
        if (own != chance.factors.end()) {
            laws_.push_back(own->second);
        } else if (set != scenario.room.steps.end() && set->second.spread &&
                   operation.modes.front().work.count() > 0) {
            const double half = static_cast<double>(set->second.spread->count()) /
                                static_cast<double>(operation.modes.front().work.count());
            laws_.push_back(Distribution::triangular(std::max(0.0, 1.0 - half), 1.0, 1.0 + half));
        } else {
            const double cv = drying                ? chance.drying_cv
                              : attended(operation) ? chance.work_cv
                                                    : chance.machine_cv;
            laws_.push_back(cv > 0.0 ? Distribution::lognormal(1.0, cv).bounded(chance.factor_low,
                                                                                chance.factor_high)
                                     : Distribution::constant(1.0));
        }
        double risk = 0.0;
        if (info.screen >= 0) {
            const auto& screen = room.screens[static_cast<std::size_t>(info.screen)];
            for (const auto& rule : chance.remakes) {
                if (rule.at == info.step && part == 0 &&
                    (rule.emulsion.empty() || rule.emulsion == screen.emulsion) &&
                    (rule.mesh.empty() || rule.mesh == screen.mesh) &&
                    (rule.coat_plan.empty() || rule.coat_plan == screen.coat_plan)) {
                    risk = rule.chance;
                    break;
                }
            }
        }
        remake_.push_back(risk);
    }
}

double Realiser::factor(int nominal, std::uint64_t attempt, const Draws& draws) const {
    const std::size_t i = static_cast<std::size_t>(nominal);
    if (laws_[i].law() == Law::Constant) return chance_.scale * laws_[i].quantile(0.5);
    if (room_.problem.operations[i].batch) {
        // Screens that share an exposure are loaded and taken out as one: their luck is the day's.
        static const std::uint64_t exposure = name_key("exposure");
        return chance_.scale *
               laws_[i].quantile(draws.uniform({exposure, 0, keys_[i].purpose, 0}));
    }
    const OperationKey& key = keys_[i];
    return chance_.scale *
           laws_[i].quantile(draws.uniform({key.subject, key.item, key.purpose, attempt}));
}

bool Realiser::fails(int nominal, std::uint64_t attempt, const Draws& draws) const {
    const double risk = remake_[static_cast<std::size_t>(nominal)];
    if (risk <= 0.0) return false;
    static const std::uint64_t purpose = name_key("found bad");
    const OperationKey& key = keys_[static_cast<std::size_t>(nominal)];
    return draws.uniform({key.subject, key.item, join_keys(key.purpose, purpose), attempt}) < risk;
}

/// Appends the first `cut` operations of the way (cut < 0: all); returns the index of the first.
int Realiser::add_way(Reality& reality, const Way& way, std::uint64_t attempt, bool rush, int cut,
                      core::JobId job, const Draws& draws) const {
    core::Problem& p = reality.problem;
    const int begin = static_cast<int>(p.operations.size());
    const int count = cut < 0 ? way.count : cut;
    for (int i = 0; i < count; ++i) {
        const int nominal = way.first + i;
        p.operations.push_back(room_.problem.operations[static_cast<std::size_t>(nominal)]);
        p.operations.back().job = job;
        reality.factor.push_back(factor(nominal, attempt, draws));
        reality.nominal.push_back(nominal);
        reality.attempt.push_back(rush ? -1 : static_cast<int>(attempt));
    }
    for (const int c : way.constraints) {
        auto constraint = room_.problem.constraints[static_cast<std::size_t>(c)];
        bool inside = true;
        for_operations(constraint, [&](OperationId& id) {
            inside = inside && id.value < way.first + count;
            id = OperationId{id.value - way.first + begin};
        });
        if (inside) p.constraints.push_back(std::move(constraint));
    }
    return begin;
}

bool Realiser::left_out(std::size_t screen, const Draws& draws, double volume) const {
    if (volume >= 1.0 || screens_[screen].count == 0) return false;
    static const std::uint64_t purpose = name_key("volume");
    const OperationKey& key = keys_[static_cast<std::size_t>(screens_[screen].first)];
    return draws.uniform({key.subject, 0, purpose, 0}) >= volume;
}

/// Orders that come again: on ready frames, or on frames that must be stripped first, one or the
/// other with an even chance. They take no emulsion from the stores.
void Realiser::add_copies(Reality& reality, const Draws& draws, double volume) const {
    if (volume <= 1.0) return;
    core::Problem& p = reality.problem;
    static const std::uint64_t purpose = name_key("volume");
    static const std::uint64_t frame = name_key("volume, frame");
    std::map<int, std::vector<std::size_t>> screens_of;  // by order of the scenario
    for (std::size_t s = 0; s < room_.screens.size(); ++s) {
        if (screens_[s].count > 0) screens_of[room_.screens[s].order].push_back(s);
    }
    for (const auto& [order, screens] : screens_of) {
        const OperationKey& key = keys_[static_cast<std::size_t>(screens_[screens.front()].first)];
        const double more = volume - 1.0;
        for (std::uint64_t copy = 1; static_cast<double>(copy) < more + 1.0; ++copy) {
            const double part = std::min(1.0, more - static_cast<double>(copy - 1));
            if (draws.uniform({key.subject, copy, purpose, 0}) >= part) continue;
            const core::OrderId again{p.orders.size()};
            p.orders.push_back(p.orders[static_cast<std::size_t>(order)]);
            p.orders.back().name += " once more";
            ++reality.copies;
            for (const std::size_t s : screens) {
                const OperationKey& own = keys_[static_cast<std::size_t>(screens_[s].first)];
                const bool strip = draws.uniform({own.subject, own.item, frame, copy}) < 0.5;
                const Way& way = strip && again_[s].count > 0 ? again_[s] : fresh_[s];
                if (way.count == 0) continue;
                const core::JobId job{p.jobs.size()};
                p.jobs.push_back({.name = room_.screens[s].tag + " once more", .order = again});
                add_way(reality, way, 100'000 + copy, true, -1, job, draws);
            }
        }
    }
}

void Realiser::add_run(Reality& reality, const Draws& draws, double volume) const {
    core::Problem& p = reality.problem;
    // Which operations of each screen happen at all: up to the step at which it is found bad.
    std::vector<int> place(static_cast<std::size_t>(run_), 0);
    std::vector<char> bad(screens_.size(), 0);
    for (std::size_t s = 0; s < screens_.size(); ++s) {
        const Way& way = screens_[s];
        const bool out = left_out(s, draws, volume);
        for (int i = way.first; i < way.first + way.count; ++i) {
            if (out || bad[s]) {
                place[static_cast<std::size_t>(i)] = -1;
            } else if (again_[s].count > 0 && chance_.most_remakes > 0 && fails(i, 0, draws)) {
                bad[s] = 1;
            }
        }
    }
    p.operations.reserve(static_cast<std::size_t>(run_) + 64);
    for (int i = 0; i < run_; ++i) {
        int& at = place[static_cast<std::size_t>(i)];
        if (at < 0) continue;
        at = static_cast<int>(p.operations.size());
        p.operations.push_back(room_.problem.operations[static_cast<std::size_t>(i)]);
        reality.factor.push_back(factor(i, 0, draws));
        reality.nominal.push_back(i);
        reality.attempt.push_back(0);
    }
    p.constraints.reserve(run_constraints_.size() + 64);
    for (const int c : run_constraints_) {
        auto constraint = room_.problem.constraints[static_cast<std::size_t>(c)];
        bool inside = true;
        for_operations(constraint, [&](OperationId& id) {
            const int at = place[id.index()];
            inside = inside && at >= 0;
            id = OperationId{at};
        });
        if (inside) p.constraints.push_back(std::move(constraint));
    }
    for (std::size_t s = 0; s < screens_.size(); ++s) {
        if (!bad[s]) continue;
        int last = -1;
        for (int i = screens_[s].first; i < screens_[s].first + screens_[s].count; ++i) {
            last = std::max(last, place[static_cast<std::size_t>(i)]);
        }
        for (int attempt = 1; last >= 0; ++attempt) {
            ++reality.remakes;
            const Way& way = again_[s];
            const auto number = static_cast<std::uint64_t>(attempt);
            int cut = -1;
            for (int i = 0; i < way.count && cut < 0 && attempt < chance_.most_remakes; ++i) {
                if (fails(way.first + i, number, draws)) cut = i + 1;
            }
            const int first =
                add_way(reality, way, number, false, cut, room_.screens[s].job, draws);
            p.constraints.push_back(
                core::TimeLag{.from = OperationId{last}, .to = OperationId{first}});
            last = cut < 0 ? -1 : static_cast<int>(p.operations.size()) - 1;
        }
    }
}

void Realiser::add_rush(Reality& reality, const Draws& draws) const {
    const RushRule& rule = chance_.rush;
    if (rule.a_day <= 0.0) return;
    core::Problem& p = reality.problem;
    static const std::uint64_t subject = name_key("rush order");
    const SimTime day = model::midnight(model::date_of(p.horizon_start));
    const double span = static_cast<double>((rule.to - rule.from).count());
    double at = 0.0;
    for (std::uint64_t n = 0;; ++n) {
        const auto u = [&](std::uint64_t purpose) {
            return draws.uniform({subject, n, purpose, 0});
        };
        at += engine::exponential_inverse(span / rule.a_day, u(1));
        if (at >= span) return;
        const SimTime comes = day + rule.from + Seconds{std::llround(at)};
        if (comes < p.horizon_start) continue;
        // The screen it is like: the one with the smallest draw of its own name, so that another
        // order in the list changes the choice only by being chosen.
        const Way* like = nullptr;
        double least = 2.0;
        for (std::size_t s = 0; s < fresh_.size(); ++s) {
            if (fresh_[s].count == 0) continue;
            const OperationKey& key = keys_[static_cast<std::size_t>(screens_[s].first)];
            const double mine = draws.uniform({key.subject, key.item, subject, n});
            if (mine < least) {
                least = mine;
                like = &fresh_[s];
            }
        }
        if (like == nullptr) return;
        const core::OrderId order{p.orders.size()};
        p.orders.push_back({.name = "rush " + std::to_string(n + 1),
                            .release = comes,
                            .due = comes + rule.allowed,
                            .weight = rule.weight});
        const int screens = 1 + static_cast<int>(u(2) * rule.most_screens);
        for (int s = 0; s < screens; ++s) {
            const core::JobId job{p.jobs.size()};
            p.jobs.push_back(
                {.name = p.orders.back().name + "-" + std::to_string(s + 1), .order = order});
            // Attempts of rush screens start far from those of remakes.
            const std::uint64_t attempt = 1000 * (n + 1) + static_cast<std::uint64_t>(s);
            add_way(reality, *like, attempt, true, -1, job, draws);
        }
    }
}

void Realiser::close_stations(Reality& reality, const Draws& draws) const {
    core::Problem& p = reality.problem;
    static const std::uint64_t between = name_key("time to failure");
    static const std::uint64_t repair = name_key("time to repair");
    for (const auto& rule : chance_.failures) {
        const std::uint64_t subject = name_key(rule.station);
        for (auto& resource : p.resources) {
            if (resource.name != rule.station) continue;
            SimTime t = p.horizon_start;
            for (std::uint64_t n = 0;; ++n) {
                t += Seconds{std::max<std::int64_t>(
                    1,
                    std::llround(rule.between.quantile(draws.uniform({subject, 0, between, n}))))};
                if (t >= p.horizon_end) break;
                const SimTime to = t + Seconds{std::max<std::int64_t>(
                                           1, std::llround(rule.repair.quantile(
                                                  draws.uniform({subject, 0, repair, n}))))};
                if (!resource.calendar) {
                    resource.calendar = core::Calendar{{p.horizon_start, p.horizon_end}};
                }
                cut_window(*resource.calendar, t, to);
                ++reality.failures;
                t = to;
            }
        }
    }
}

void Realiser::send_people_home(Reality& reality, const Draws& draws) const {
    if (chance_.absent <= 0.0) return;
    core::Problem& p = reality.problem;
    static const std::uint64_t purpose = name_key("absent");
    for (std::size_t r = 0; r < room_.resources.size(); ++r) {
        auto& resource = p.resources[r];
        if (room_.resources[r].kind != compile::ResourceKind::Person || !resource.calendar)
            continue;
        const std::uint64_t subject = name_key(resource.name);
        for (SimTime day = model::midnight(model::date_of(p.horizon_start)); day < p.horizon_end;
             day += std::chrono::days{1}) {
            const auto number = static_cast<std::uint64_t>(day.time_since_epoch().count() / 86'400);
            if (draws.uniform({subject, number, purpose, 0}) >= chance_.absent) continue;
            const std::size_t before = resource.calendar->size();
            cut_window(*resource.calendar, day, day + std::chrono::days{1});
            reality.absences += resource.calendar->size() < before ? 1 : 0;
        }
    }
    // Overtime cannot be worked by someone who is not there; the windows may stay.
}

void Realiser::delay_films(Reality& reality, const Draws& draws) const {
    if (chance_.film_late <= 0.0) return;
    static const std::uint64_t late = name_key("film late");
    static const std::uint64_t delay = name_key("film delay");
    std::map<std::pair<int, int>, Seconds> delays;  // by order and line
    for (auto& constraint : reality.problem.constraints) {
        auto* window = std::get_if<core::StartWindow>(&constraint);
        if (window == nullptr || !window->not_before) continue;
        const auto& info =
            room_.operations[static_cast<std::size_t>(reality.nominal[window->operation.index()])];
        if (info.step != model::Step::Expose || info.screen < 0) continue;
        const auto& screen = room_.screens[static_cast<std::size_t>(info.screen)];
        const auto [known, added] = delays.try_emplace({screen.order, screen.line}, Seconds{0});
        if (added) {
            const std::uint64_t subject =
                name_key(scenario_.orders[static_cast<std::size_t>(screen.order)].name);
            const auto line = static_cast<std::uint64_t>(screen.line);
            if (draws.uniform({subject, line, late, 0}) < chance_.film_late) {
                ++reality.late_films;
                known->second = Seconds{std::llround(
                    chance_.film_delay.quantile(draws.uniform({subject, line, delay, 0})))};
            }
        }
        if (known->second.count() == 0) continue;
        *window->not_before += known->second;
        // From here on the screen has lost its turn.
        const int first = reality.nominal[window->operation.index()];
        const Way& way = screens_[static_cast<std::size_t>(info.screen)];
        for (std::size_t i = 0; i < reality.nominal.size(); ++i) {
            if (reality.attempt[i] == 0 && reality.nominal[i] >= first &&
                reality.nominal[i] < way.first + way.count) {
                reality.unplanned[i] = 1;
            }
        }
    }
}

Reality Realiser::realise(const Draws& draws, double volume) const {
    Reality reality;
    core::Problem& p = reality.problem;
    const core::Problem& nominal = room_.problem;
    p.name = nominal.name;
    p.horizon_start = nominal.horizon_start;
    p.horizon_end = nominal.horizon_end;
    p.resources = nominal.resources;
    p.stores = nominal.stores;
    p.orders = nominal.orders;
    p.jobs = nominal.jobs;
    p.objective = nominal.objective;
    p.overtime = nominal.overtime;
    reality.planned_orders = static_cast<int>(p.orders.size());
    add_run(reality, draws, volume);
    add_copies(reality, draws, volume);
    add_rush(reality, draws);
    reality.unplanned.assign(p.operations.size(), 0);
    close_stations(reality, draws);
    send_people_home(reality, draws);
    delay_films(reality, draws);
    return reality;
}

}  // namespace sched::study
