// How it works: open() compiles today's room and each changed one for every kind of day and finds
// for each what goes first in it. run()
// simulates days in batches, the same draws in all rooms, pairs the differences, leaves out
// rooms that are clearly not among the best, and gives further days to those between which it
// is not decided; it stops when the ranking holds and is precise enough. A shard does the same
// for its share of days alone.

#include "sched/size/size.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <numeric>
#include <optional>
#include <string>
#include <thread>
#include <tuple>
#include <utility>
#include <variant>

#include "model/physics/air.hpp"
#include "model/room/working_day.hpp"
#include "sched/engine/rules.hpp"
#include "sched/promise/order_mix.hpp"
#include "sched/size/size_day.hpp"
#include "sched/size/size_orders.hpp"

namespace sched::study {
namespace {

/// Days of today's room that set the indifference zone; their random variation is no day's of the
/// study, so that the zone does not depend on what is compared.
constexpr std::uint64_t kPilotDay = std::uint64_t{1} << 40;
constexpr std::uint64_t kPilotDays = 10;
/// Of the choice what goes first and what is left idle: days at the volume of the decision, and at
/// each other.
constexpr std::uint64_t kChoiceDay = kPilotDay + 1'000;
constexpr std::size_t kChoiceDays = 48, kChoiceDaysElsewhere = 12;

std::size_t decision_of(const std::vector<double>& volumes) {
    std::size_t best = 0;
    for (std::size_t v = 1; v < volumes.size(); ++v) {
        if (std::abs(volumes[v] - 1.0) < std::abs(volumes[best] - 1.0)) best = v;
    }
    return best;
}

bool covers(const std::optional<core::Calendar>& more, const std::optional<core::Calendar>& less) {
    if (!more) return true;
    if (!less) return false;
    return std::all_of(less->begin(), less->end(), [&](const core::Window& x) {
        return std::any_of(more->begin(), more->end(),
                           [&](const core::Window& w) { return w.from <= x.from && x.to <= w.to; });
    });
}

/// Every person or place that `m` may choose, `x` may, too, and `x` asks for no more of them.
bool serves(const core::Problem& today, const core::Mode& m, const core::Problem& changed,
            const core::Mode& x) {
    if (x.needs.size() > m.needs.size() || x.work > m.work || x.stages != m.stages) return false;
    for (std::size_t n = 0; n < x.needs.size(); ++n) {
        const core::Need &more = x.needs[n], &less = m.needs[n];
        if (more.span != less.span || more.amount > less.amount) return false;
        for (const core::ResourceId r : less.any_of) {
            const std::string& name = today.resources[r.index()].name;
            if (std::none_of(more.any_of.begin(), more.any_of.end(), [&](core::ResourceId c) {
                    return changed.resources[c.index()].name == name;
                }))
                return false;
        }
    }
    return true;
}

/// Between the steps of today's problem no limit is tighter.
bool no_tighter(const core::Problem& today, const core::Problem& changed) {
    std::map<std::tuple<int, int, int>, const core::TimeLag*> known;
    for (const core::Constraint& c : today.constraints) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c))
            known[{lag->from.value, lag->to.value, static_cast<int>(lag->edge)}] = lag;
    }
    const auto n = static_cast<int>(today.operations.size());
    for (const core::Constraint& c : changed.constraints) {
        const auto* lag = std::get_if<core::TimeLag>(&c);
        if (lag == nullptr || lag->from.value >= n || lag->to.value >= n) continue;
        const auto at = known.find({lag->from.value, lag->to.value, static_cast<int>(lag->edge)});
        if (at == known.end() || lag->min > at->second->min) return false;
        if (lag->max && (!at->second->max || *lag->max < *at->second->max)) return false;
    }
    return true;
}

/// Every pot of today's stands there, with as much in it and for as long.
bool as_much_emulsion(const core::Problem& today, const core::Problem& changed) {
    return std::all_of(today.stores.begin(), today.stores.end(), [&](const core::Store& s) {
        return std::any_of(changed.stores.begin(), changed.stores.end(), [&](const auto& x) {
            return x.name == s.name && x.initial >= s.initial && x.from == s.from &&
                   x.until == s.until && x.life == s.life;
        });
    });
}

/// Whatever is done today can be done in the changed room in the same way, as fast and at the same
/// times: what is new may be left idle.
bool adds_only(const core::Problem& today, const core::Problem& changed) {
    std::map<std::string, std::size_t> at;
    for (std::size_t r = 0; r < changed.resources.size(); ++r)
        at.emplace(changed.resources[r].name, r);
    for (const core::Resource& r : today.resources) {
        const auto found = at.find(r.name);
        if (found == at.end()) return false;
        const core::Resource& c = changed.resources[found->second];
        if (c.capacity < r.capacity || !covers(c.calendar, r.calendar) || c.shared != r.shared ||
            c.batch != r.batch || c.walk > r.walk)
            return false;
    }
    if (today.operations.size() > changed.operations.size()) return false;
    if (!as_much_emulsion(today, changed) || !no_tighter(today, changed)) return false;
    for (std::size_t i = 0; i < today.operations.size(); ++i) {
        const core::Operation& a = today.operations[i];
        const core::Operation& b = changed.operations[i];
        if (a.name != b.name) return false;
        for (const core::Mode& m : a.modes) {
            const bool kept = std::any_of(b.modes.begin(), b.modes.end(), [&](const core::Mode& x) {
                return serves(today, m, changed, x);
            });
            if (!kept) return false;
        }
    }
    return true;
}

/// Rows by their sums, the least first; of equal ones the first.
std::vector<std::size_t> by_sum(const std::vector<std::vector<double>>& rows) {
    std::vector<double> sum;
    for (const auto& row : rows)
        sum.push_back(std::accumulate(row.begin(), row.end(), 0.0));
    std::vector<std::size_t> by(rows.size());
    std::iota(by.begin(), by.end(), std::size_t{0});
    std::stable_sort(by.begin(), by.end(),
                     [&](std::size_t a, std::size_t b) { return sum[a] < sum[b]; });
    return by;
}

/// By more than the standard error of the paired differences.
bool dearer(const std::vector<double>& days, const std::vector<double>& than) {
    Moments m;
    for (std::size_t d = 0; d < days.size(); ++d)
        m.add(days[d] - than[d]);
    return m.mean() > std::sqrt(m.variance() / static_cast<double>(days.size()));
}

std::string joined_words(const SizeOption& option) {
    std::string words;
    for (const auto& c : option.changes)
        words += (words.empty() ? "" : "; ") + (c.words.empty() ? c.name : c.words);
    return words;
}

/// A past day with equal chances, the same in every room and at every volume.
int past_of_day(std::size_t days, const engine::Draws& draws) {
    const double u = draws.uniform({engine::name_key("past day"), 0, 0, 0});
    return static_cast<int>(
        std::min(days - 1, static_cast<std::size_t>(u * static_cast<double>(days))));
}

/// The scenario with a past day's orders moved to `start`, and frames for all of them.
model::Scenario with_orders(const model::Scenario& scenario, const std::vector<model::Order>& past,
                            model::SimTime start) {
    model::Scenario out = scenario;
    out.orders = past;
    const auto later = start - *model::first_due_day(past);
    for (auto& order : out.orders) {
        order.due += later;
        for (auto& line : order.lines) {
            if (line.film_ready) *line.film_ready += later;
        }
    }
    std::erase_if(out.frames, [](const model::FrameStock& f) {
        return f.state == model::FrameState::KeptStencil;
    });
    fill_frames(out, 0);
    return out;
}

int kind_of_day(const std::vector<DayKind>& kinds, const engine::Draws& draws) {
    double total = 0.0;
    for (const auto& k : kinds)
        total += k.weight;
    double u = total * draws.uniform({engine::name_key("weather"), 0, 0, 0});
    for (std::size_t k = 0; k + 1 < kinds.size(); ++k) {
        if (u < kinds[k].weight) return static_cast<int>(k);
        u -= kinds[k].weight;
    }
    return static_cast<int>(kinds.size()) - 1;
}

}  // namespace

struct SizeStudy::Rooms {
    std::vector<std::shared_ptr<SizeRoom>> rooms;   // by option, then kind
    std::vector<const model::Scenario*> scenarios;  // by option
    std::vector<SizeOrder> orders;                  // by option, then volume
};

SizeStudy::SizeStudy() = default;
SizeStudy::~SizeStudy() = default;

std::unique_ptr<SizeStudy> SizeStudy::open(const std::vector<SizeOption>& options,
                                           const SizeOptions& settings, std::string& problem) {
    auto study = std::unique_ptr<SizeStudy>(new SizeStudy);
    study->settings_ = settings;
    study->rooms_ = std::make_unique<Rooms>();
    SizeHead& head = study->head_;
    head.kinds = settings.chance.days;
    if (head.kinds.empty()) head.kinds.push_back({"", 1.0});
    for (const auto& o : options) {
        SizeRoomHead room{.name = o.name, .words = joined_words(o)};
        for (const auto& c : o.changes) {
            const auto& f = c.figures;
            room.costs.push_back(
                {f.purchase, f.installation, f.life_years, f.left_over, f.upkeep, f.floor_area});
            room.invented = room.invented || c.invented;
        }
        for (const auto& kind : head.kinds) {
            auto opened = open_size_room(o.scenario, settings, kind.name, problem);
            if (!opened) {
                problem = o.name + ": " + problem;
                return nullptr;
            }
            study->rooms_->rooms.push_back(std::move(opened));
        }
        const SizeRoom& usual =
            *study->rooms_->rooms[study->rooms_->rooms.size() - head.kinds.size()];
        room.theory = size_theory(usual);
        for (const auto& r : usual.room.problem.resources)
            room.resources.push_back(r.name);
        head.rooms.push_back(std::move(room));
        study->rooms_->scenarios.push_back(&o.scenario);
    }
    if (!study->open_past_days(problem)) return nullptr;
    head.room = options.front().scenario.room.name;
    head.invented = options.front().scenario.room.invented;
    for (const model::Order& order : options.front().scenario.orders) {
        if (settings.history.empty() && order.due < settings.start)
            head.overdue.push_back(order.name);
    }
    head.fingerprint = settings.fingerprint;
    head.volumes = settings.volumes;
    head.seed = settings.seed;
    head.most = settings.most;
    head.least = std::min<std::uint64_t>(settings.most, std::max<std::size_t>(2, settings.least));
    head.every_day = settings.every_day;
    head.confidence = settings.confidence;
    head.effort = settings.effort;
    head.policy = settings.effort > 0 ? "" : settings.policy;
    head.prices = settings.prices;
    head.prices.currency = options.front().scenario.room.currency;
    const Prices& p = settings.prices;
    head.by_money = p.late_order > 0.0 || p.late_hour > 0.0 || p.overtime_hour > 0.0 ||
                    p.energy > 0.0 || p.screen_sent_out > 0.0;
    head.precision = settings.precision;
    head.coping = settings.coping;
    study->choose_orders();
    if (settings.indifference) {
        head.indifference = *settings.indifference;
    } else {
        std::vector<SizeDay> pilot;
        for (std::uint64_t d = 0; d < kPilotDays; ++d) {
            pilot.push_back(
                {.volume = static_cast<int>(decision_of(head.volumes)), .day = kPilotDay + d});
        }
        Moments m;
        for (const auto& d : study->simulate(std::move(pilot))) {
            if (d.counts()) m.add(head.by_money ? d.cost : d.tardiness_h);
        }
        head.indifference = std::max(head.by_money ? 1.0 : 0.1, 0.05 * m.mean());
    }
    return study;
}

/// Every past day must compile in today's room; theory speaks of the one of middling size.
bool SizeStudy::open_past_days(std::string& problem) {
    const auto& history = settings_.history;
    head_.past_days = history.size();
    if (history.empty()) return true;
    std::vector<std::pair<int, std::size_t>> by_size;
    for (std::size_t d = 0; d < history.size(); ++d) {
        int screens = 0;
        for (const auto& order : history[d]) {
            for (const auto& line : order.lines)
                screens += line.count;
        }
        by_size.emplace_back(screens, d);
        const auto day = with_orders(*rooms_->scenarios.front(), history[d], settings_.start);
        if (!open_size_room(day, settings_, head_.kinds.front().name, problem)) {
            problem = "the orders due on " +
                      model::format_date_time(history[d].front().due).substr(0, 10) + ": " +
                      problem;
            return false;
        }
    }
    const auto middle = by_size.begin() + static_cast<std::ptrdiff_t>(by_size.size() / 2);
    std::nth_element(by_size.begin(), middle, by_size.end());
    for (std::size_t o = 0; o < head_.rooms.size(); ++o) {
        const auto day =
            with_orders(*rooms_->scenarios[o], history[middle->second], settings_.start);
        const auto room = open_size_room(day, settings_, head_.kinds.front().name, problem);
        if (!room) {
            problem = head_.rooms[o].name + ": " + problem;
            return false;
        }
        head_.rooms[o].theory = size_theory(*room);
    }
    return true;
}

/// What may go first in a room: the plan that would be made of it; with past days, which differ in
/// their orders, the dispatching rules.
std::vector<SizeOrder> SizeStudy::orders_of(std::size_t option) const {
    std::vector<SizeOrder> orders;
    const auto rule = [&](const std::string& name, const std::string& words) {
        orders.emplace_back();
        orders.back().rule = name;
        orders.back().words = words;
    };
    if (settings_.effort > 0 && !settings_.history.empty()) {
        for (const auto& r : engine::rules())
            rule(r.name, r.words);
    } else if (settings_.effort > 0) {
        const std::size_t kinds = head_.kinds.size();
        const auto found = search_order(
            *rooms_->scenarios[option], *rooms_->rooms[option * kinds], settings_,
            head_.kinds[0].name,
            std::max<std::int64_t>(1, option == 0 ? settings_.effort : settings_.effort / 3));
        bool ready = found.has_value();
        for (std::size_t k = 0; k < kinds && ready && found->plan; ++k)
            ready = make_followed(*rooms_->rooms[option * kinds + k], found->plan);
        if (ready) orders.push_back(*found);
    }
    if (orders.empty()) rule(settings_.policy, {});
    return orders;
}

/// What each order of work does on the days of the choice: a room is opened once for all of them.
/// Empty when stopped.
SizeStudy::Tried SizeStudy::tried(std::size_t option, std::size_t volume,
                                  const std::vector<SizeOrder>& orders, std::size_t days) const {
    const std::vector<std::vector<double>> rows(orders.size(), std::vector<double>(days, 0.0));
    Tried out{.aims = rows, .cost = rows, .tardiness = rows};
    std::atomic<std::size_t> next{0};
    std::atomic<bool> whole{true};
    const auto work = [&] {
        SizeWorker worker;
        for (std::size_t d = next++; d < days; d = next++) {
            if (settings_.stop && settings_.stop()) {
                whole = false;
                return;
            }
            SizeDay asked{.option = static_cast<int>(option),
                          .volume = static_cast<int>(volume),
                          .day = kChoiceDay + d};
            std::unique_ptr<SizeRoom> own;
            const SizeRoom* room = room_of(asked, settings_.policy, own);
            for (std::size_t k = 0; room != nullptr && k < orders.size(); ++k) {
                std::vector<double> keys;
                const std::vector<double>* list = orders[k].list.get();
                if (!orders[k].searched() && orders[k].rule != settings_.policy) {
                    keys = Policy::make(orders[k].rule, room->room, nullptr)->nominal_keys();
                    list = &keys;
                }
                const SizeDay day =
                    simulate_size_day(*room, settings_, asked, worker, list, orders[k].plan.get());
                out.aims[k][d] = worker.aims;
                out.cost[k][d] = head_.by_money ? day.cost : day.tardiness_h;
                out.tardiness[k][d] = day.tardiness_h;
            }
            if (own) worker.runs.clear();
        }
    };
    {
        std::vector<std::jthread> pool;
        for (int t = 1; t < settings_.threads; ++t)
            pool.emplace_back(work);
        work();
    }
    if (!whole) return {};
    return out;
}

// Each room works in the order that suits its aims best, as a plan of it would be chosen. What was
// found for a changed room is tried in today's too, and today's in the changed ones, so that a
// difference between rooms is not one between searches. Where something is added an order has to
// cost no more than today's, in money and in hours; if none does, what is added is left idle and
// the days are today's. Decided on days of its own: those of the study stay what they are.
void SizeStudy::choose_orders() {
    const std::size_t kinds = head_.kinds.size(), at = decision_of(head_.volumes);
    const std::size_t volumes = head_.volumes.size(), rooms = head_.rooms.size();
    const auto room = [&](std::size_t o) -> const SizeRoom& { return *rooms_->rooms[o * kinds]; };
    rooms_->orders.resize(rooms * volumes);
    std::vector<char> adds(rooms, 0), same(rooms, 0);
    std::vector<std::vector<SizeOrder>> found(rooms);
    for (std::size_t o = 0; o < rooms; ++o) {
        same[o] = o > 0;
        for (std::size_t k = 0; k < kinds && same[o]; ++k)
            same[o] = rooms_->rooms[k]->room.problem == rooms_->rooms[o * kinds + k]->room.problem;
        if (same[o]) continue;
        if (settings_.progress && settings_.effort > 0)
            settings_.progress(fmt::format("looking for the order of work: {} ({} of {} rooms)",
                                           head_.rooms[o].name, o + 1, rooms));
        found[o] = orders_of(o);
        adds[o] = o > 0 && adds_only(room(0).room.problem, room(o).room.problem);
    }
    const bool asked = std::find(adds.begin(), adds.end(), 1) != adds.end();
    for (std::size_t o = 1; o < rooms && found[0].front().searched(); ++o) {
        if (!same[o] && found[o].front().searched())
            found[0].push_back(carried_over(found[o].front(), room(o).room, room(0).room));
    }
    Tried today;  // its one row: the order that was chosen
    for (std::size_t o = 0; o < rooms; ++o) {
        if (same[o]) {  // nothing that a plan could be about is changed
            for (std::size_t v = 0; v < volumes; ++v) {
                const SizeOrder& order = rooms_->orders[v];
                rooms_->orders[o * volumes + v] = order;
                for (std::size_t k = 0; k < kinds && order.plan; ++k)
                    make_followed(*rooms_->rooms[o * kinds + k], order.plan);
            }
            head_.rooms[o].order_of_work = head_.rooms[0].order_of_work;
            continue;
        }
        auto& orders = found[o];
        if (o > 0 && rooms_->orders[at].searched() && orders.front().searched())
            orders.push_back(carried_over(rooms_->orders[at], room(0).room, room(o).room));
        for (std::size_t v = 0; v < volumes; ++v) {
            SizeOrder& chosen = rooms_->orders[o * volumes + v];
            chosen = orders.front();
            if (orders.size() == 1 && (v != at || !(adds[o] || (o == 0 && asked)))) continue;
            std::vector<SizeOrder> in = orders;
            if (in.size() > 4) {  // the best few of a few days
                const Tried few = tried(o, v, in, kChoiceDaysElsewhere);
                if (few.aims.empty()) return;  // stopped
                const auto by = by_sum(few.aims);
                for (std::size_t k = 0; k < 4; ++k)
                    in[k] = orders[by[k]];
                in.resize(v == at ? 4 : 1);
            }
            Tried all;
            if (v == at || in.size() > 1) {
                all = tried(o, v, in, v == at ? kChoiceDays : kChoiceDaysElsewhere);
                if (all.aims.empty()) return;  // stopped
            }
            if (o == 0 && v == at) {
                today.cost = {all.cost[by_sum(all.aims).front()]};
                today.tardiness = {all.tardiness[by_sum(all.aims).front()]};
            }
            std::size_t best = 0;
            if (!all.aims.empty()) {
                const auto by = by_sum(all.aims);
                const auto good = std::find_if(by.begin(), by.end(), [&](std::size_t k) {
                    return !adds[o] || v != at ||
                           (!dearer(all.cost[k], today.cost[0]) &&
                            !dearer(all.tardiness[k], today.tardiness[0]));
                });
                if (good == by.end()) {
                    leave_idle(o);
                    break;
                }
                best = *good;
            }
            chosen = in[best];
            if (v == at) head_.rooms[o].order_of_work = chosen.words;
        }
        // Other volumes too, whatever was chosen before the volume of the decision was asked.
        for (std::size_t v = 0; v < volumes && rooms_->scenarios[o] == rooms_->scenarios[0]; ++v)
            rooms_->orders[o * volumes + v] = rooms_->orders[v];
    }
}

void SizeStudy::leave_idle(std::size_t o) {
    const std::size_t kinds = head_.kinds.size();
    for (std::size_t q = 0; q < kinds; ++q)
        rooms_->rooms[o * kinds + q] = rooms_->rooms[q];
    rooms_->scenarios[o] = rooms_->scenarios[0];
    head_.rooms[o].order_of_work = head_.rooms[0].order_of_work;
    head_.rooms[o].resources = head_.rooms[0].resources;
    head_.rooms[o].words += "; left idle: using it makes the days worse";
}

/// The room of a day. @param own holds it where it is compiled on the spot: rooms for every past
/// day would not fit into memory. @returns nullptr if it does not compile.
const SizeRoom* SizeStudy::room_of(SizeDay& d, const std::string& rule,
                                   std::unique_ptr<SizeRoom>& own) const {
    const engine::Draws draws(settings_.seed, d.day);
    d.kind = kind_of_day(head_.kinds, draws);
    const std::size_t option = static_cast<std::size_t>(d.option);
    const std::size_t kind = static_cast<std::size_t>(d.kind);
    if (settings_.history.empty()) return rooms_->rooms[option * head_.kinds.size() + kind].get();
    d.past = past_of_day(settings_.history.size(), draws);
    const auto scenario =
        with_orders(*rooms_->scenarios[option], settings_.history[static_cast<std::size_t>(d.past)],
                    settings_.start);
    SizeOptions settings = settings_;
    settings.policy = rule;
    std::string problem;
    own = open_size_room(scenario, settings, head_.kinds[kind].name, problem);
    return own.get();
}

SizeDay SizeStudy::simulate_day(SizeDay d, SizeWorker& worker) const {
    const SizeOrder& order =
        rooms_->orders[static_cast<std::size_t>(d.option) * head_.volumes.size() +
                       static_cast<std::size_t>(d.volume)];
    std::unique_ptr<SizeRoom> own;
    const SizeRoom* room = room_of(d, order.rule, own);
    if (room == nullptr) return d;
    d = simulate_size_day(*room, settings_, d, worker, order.list.get(), order.plan.get());
    if (own) worker.runs.clear();
    return d;
}

/// In parallel; the order is kept, and what was not simulated when the user stops is left out.
std::vector<SizeDay> SizeStudy::simulate(std::vector<SizeDay> days) const {
    std::atomic<std::size_t> next{0};
    std::vector<char> simulated(days.size(), 0);
    const auto work = [&] {
        SizeWorker worker;
        for (std::size_t i = next++; i < days.size(); i = next++) {
            if (settings_.stop && settings_.stop()) return;
            days[i] = simulate_day(days[i], worker);
            simulated[i] = 1;
        }
    };
    {
        std::vector<std::jthread> pool;
        for (int t = 1; t < settings_.threads; ++t)
            pool.emplace_back(work);
        work();
    }
    std::vector<SizeDay> out;
    for (std::size_t i = 0; i < days.size(); ++i) {
        if (simulated[i] != 0) out.push_back(days[i]);
    }
    return out;
}

/// What is done, and the three rooms that look best by now.
void SizeStudy::say(const SizeResult& r, const std::string& done) const {
    if (!settings_.progress) return;
    const auto in = std::count(r.ranking.in.begin(), r.ranking.in.end(), true);
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t o = 0; o < head_.rooms.size(); ++o) {
        if (!r.ranking.in[o] || r.cell(o, r.decision).days == 0) continue;
        const SizeCell& c = r.cell(o, r.decision);
        order.emplace_back(head_.by_money ? c.cost.mean.mean + r.money[o].needed_saving_a_day
                                          : c.tardiness_h.mean.mean,
                           o);
    }
    std::sort(order.begin(), order.end());
    std::string names;
    for (std::size_t k = 0; k < std::min<std::size_t>(3, order.size()); ++k) {
        names += (k == 0 ? "" : ", ") +
                 fmt::format("{} {:.1f}", head_.rooms[order[k].second].name, order[k].first);
    }
    settings_.progress(fmt::format("{}; {} of {} rooms in; {} a day: {}", done, in,
                                   head_.rooms.size(), head_.by_money ? "cost" : "hours late",
                                   names));
}

std::vector<SizeDay> SizeStudy::shard(std::size_t i, std::size_t n) const {
    const auto stopped = [&] { return settings_.stop && settings_.stop(); };
    const std::size_t at_once = std::max<std::size_t>(1, (head_.most + 20 * n - 1) / (20 * n));
    std::vector<SizeDay> all;
    for (std::size_t day = i; day < head_.most && !stopped();) {
        std::vector<SizeDay> days;
        for (std::size_t k = 0; k < at_once && day < head_.most; ++k, day += n) {
            for (std::size_t v = 0; v < head_.volumes.size(); ++v) {
                for (std::size_t o = 0; o < head_.rooms.size(); ++o) {
                    days.push_back(
                        {.option = static_cast<int>(o), .volume = static_cast<int>(v), .day = day});
                }
            }
        }
        const auto simulated = simulate(std::move(days));
        all.insert(all.end(), simulated.begin(), simulated.end());
        if (settings_.progress) {
            say(size_result(head_, all),
                fmt::format("{} of {} days of every room",
                            std::min<std::size_t>(day, head_.most) / n, head_.most / n));
        }
    }
    return all;
}

SizeResult SizeStudy::run() const {
    const auto stopped = [&] { return settings_.stop && settings_.stop(); };
    if (head_.every_day) {
        auto days = shard(0, 1);
        return size_result(head_, std::move(days), stopped());
    }
    const std::size_t at = decision_of(head_.volumes);
    std::vector<SizeDay> all;
    // Day by day, so that an interrupted batch leaves pairs behind.
    const auto simulate_all = [&](const std::vector<bool>& who, bool elsewhere, std::size_t from,
                                  std::size_t to) {
        std::vector<SizeDay> batch;
        for (std::size_t day = from; day < to; ++day) {
            for (std::size_t v = 0; v < head_.volumes.size(); ++v) {
                if ((v != at) != elsewhere) continue;
                for (std::size_t o = 0; o < who.size(); ++o) {
                    if (who[o]) {
                        batch.push_back({.option = static_cast<int>(o),
                                         .volume = static_cast<int>(v),
                                         .day = day});
                    }
                }
            }
        }
        const auto simulated = simulate(std::move(batch));
        all.insert(all.end(), simulated.begin(), simulated.end());
    };
    constexpr std::size_t at_once = 5;  // days between two looks, at first
    const std::vector<bool> everybody(head_.rooms.size(), true);
    SizeResult r;
    std::size_t done = 0;
    while (done < head_.least && !stopped()) {
        const std::size_t to = std::min<std::size_t>(head_.least, done + at_once);
        simulate_all(everybody, false, done, to);
        done = to;
        r = size_result(head_, all, stopped());
        say(r, fmt::format("{} days", done));
    }
    while (!(r.ranking.decided && r.precise) && done < head_.most && !stopped()) {
        // Today's goes on: all differences are to it. A room that is out keeps what it has.
        std::vector<bool> who = r.ranking.in;
        who.front() = true;
        who[static_cast<std::size_t>(std::max(0, r.ranking.best))] = true;
        const std::size_t to =
            std::min<std::size_t>(head_.most, done + std::max<std::size_t>(10, done / 4));
        simulate_all(who, false, done, to);
        done = to;
        r = size_result(head_, all, stopped());
        say(r, fmt::format("{} days", done));
    }
    if (head_.volumes.size() > 1) {
        for (std::size_t day = 0; day < head_.least && !stopped(); day += at_once) {
            say(r, fmt::format("other volumes: {} of {} days", day, head_.least));
            simulate_all(everybody, true, day, std::min<std::size_t>(head_.least, day + at_once));
        }
    }
    return size_result(head_, std::move(all), stopped());
}

std::vector<DayKind> climate_kinds(const model::Scenario& scenario, int least_days) {
    using model::physics::humidity_ratio;
    std::vector<DayKind> kinds;
    const auto& rows = scenario.weather;
    if (!scenario.room.climate || scenario.room.climate->named_days.empty() || rows.size() < 2 ||
        rows.back().from - rows.front().from < model::hours(24) * least_days) {
        return kinds;
    }
    const auto& climate = *scenario.room.climate;
    std::vector<double> wet;
    for (const auto& [name, air] : climate.named_days) {
        kinds.push_back({name, 0.0});
        wet.push_back(humidity_ratio(air.temperature, air.humidity, climate.pressure));
    }
    for (std::size_t i = 0; i < rows.size(); ++i) {
        // The last row holds as long as the one before it.
        const auto held =
            i + 1 < rows.size() ? rows[i + 1].from - rows[i].from : rows[i].from - rows[i - 1].from;
        const double w =
            humidity_ratio(rows[i].air.temperature, rows[i].air.humidity, climate.pressure);
        std::size_t nearest = 0;
        for (std::size_t k = 1; k < wet.size(); ++k) {
            if (std::abs(wet[k] - w) < std::abs(wet[nearest] - w)) nearest = k;
        }
        kinds[nearest].weight += static_cast<double>(held.count());
    }
    double total = 0.0;
    for (const auto& k : kinds)
        total += k.weight;
    for (auto& k : kinds)
        k.weight /= total;
    std::erase_if(kinds, [](const DayKind& k) { return k.weight <= 0.0; });
    return kinds;
}

}  // namespace sched::study
