// How it works: for every week a scenario is made in which orders like the given ones come in
// through the hours of the counter; it is compiled and simulated once under a dispatching rule,
// with random variation. Each order that came in falls into a cell by kind, size and time of
// entry; a cell says the working days by which so many of its orders were ready.

#include "sched/promise/lead_table.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <thread>

#include "model/room/working_day.hpp"
#include "sched/core/objective.hpp"
#include "sched/promise/promise_inside.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/realise.hpp"

namespace sched::study {

using core::Seconds;
using core::SimTime;
using engine::Draws;
using engine::name_key;

namespace {

constexpr int run_days = 14;                     // of a run, weekends included
constexpr int first_counted = 3;                 // Thursday: the room has filled up
constexpr int last_counted = first_counted + 6;  // to the next Wednesday: five working days
constexpr int days_after = 14;                   // until the last order is ready

/// Orders come in while somebody is there to take them.
std::pair<Seconds, Seconds> counter_hours(const model::Room& room) {
    Seconds from = model::hours(24);
    Seconds to{0};
    for (const auto& person : room.people) {
        for (const auto& shift : person.shifts) {
            from = std::min(from, shift.from);
            to = std::max(to, std::min(shift.to, model::hours(24)));
        }
    }
    if (from >= to) return {model::hours(8), model::hours(17)};
    return {from, to};
}

int screens_of(const model::Order& order) {
    int n = 0;
    for (const auto& line : order.lines)
        n += line.count;
    return n;
}

/// A run: the scenario of all its days, and when each order came in.
struct LeadRun {
    model::Scenario scenario;
    std::vector<SimTime> entry;
};

LeadRun make_run(const model::Scenario& like, const LeadTableOptions& options, int week) {
    LeadRun run;
    run.scenario = like;
    run.scenario.orders.clear();
    run.scenario.frames.clear();
    run.scenario.room.pots.clear();
    const Draws draws(options.seed, static_cast<std::uint64_t>(week));
    const SimTime day0 = model::first_due_day(like.orders).value_or(options.start);
    int screens = 0;
    for (const auto& order : like.orders)
        screens += screens_of(order);
    const double target = options.load * screens;
    const auto [opens, closes] = counter_hours(like.room);
    double owed = 0.0;  // screens that the days so far still lack
    for (int d = 0; d < run_days; ++d) {
        const SimTime day = options.start + std::chrono::days{d};
        const auto later = [&](SimTime t) { return day + (t - day0); };
        if (!model::works_on(like.room, model::date_of(day))) continue;
        for (auto stock : like.frames) {
            if (stock.state == model::FrameState::KeptStencil) continue;
            stock.from = stock.from ? later(*stock.from) : day;
            if (stock.coated_dry) stock.coated_dry = later(*stock.coated_dry);
            run.scenario.frames.push_back(std::move(stock));
        }
        for (auto pot : like.room.pots) {
            pot.name += " " + std::to_string(d);
            if (pot.mixed) pot.mixed = later(*pot.mixed);
            run.scenario.room.pots.push_back(std::move(pot));
        }
        owed += target;
        for (std::uint64_t k = 0; owed > 0.0; ++k) {
            const auto u = [&](const char* what) {
                return draws.uniform({name_key(what), static_cast<std::uint64_t>(d), k, 0});
            };
            const auto i =
                static_cast<std::size_t>(u("order") * static_cast<double>(like.orders.size()));
            model::Order order = like.orders[std::min(i, like.orders.size() - 1)];
            owed -= screens_of(order);
            const SimTime entry = day + opens +
                                  Seconds{static_cast<std::int64_t>(
                                      u("entry") * static_cast<double>((closes - opens).count()))};
            order.name = std::to_string(d) + "." + std::to_string(k);
            for (auto& line : order.lines) {
                line.kept_stencil = false;
                // A film that came so long after the run began comes so long after the order.
                if (line.film_ready)
                    line.film_ready = entry + std::max(Seconds{0}, *line.film_ready - day0 - opens);
            }
            order.due = entry + std::chrono::days{2};  // orders: who takes a frame first
            run.scenario.orders.push_back(std::move(order));
            run.entry.push_back(entry);
        }
    }
    fill_frames(run.scenario, 0);
    return run;
}

std::size_t kind_of(const model::Order& order, const std::vector<ScreenKind>& kinds) {
    std::vector<int> screens(kinds.size(), 0);
    for (const auto& line : order.lines) {
        for (std::size_t k = 0; k < kinds.size(); ++k) {
            if (kinds[k].line.mesh == line.mesh && kinds[k].line.frame == line.frame &&
                kinds[k].line.emulsion == line.emulsion &&
                kinds[k].line.coat_plan == line.coat_plan) {
                screens[k] += line.count;
            }
        }
    }
    return static_cast<std::size_t>(std::max_element(screens.begin(), screens.end()) -
                                    screens.begin());
}

struct LeadWeek {
    std::vector<LeadOrder> orders;
    std::size_t screens = 0;
    bool complete = false;
    std::string problem;
};

LeadWeek live_week(const model::Scenario& like, const LeadTableOptions& options,
                   const std::vector<ScreenKind>& kinds, int week) {
    LeadWeek out;
    const LeadRun run = make_run(like, options, week);
    model::Diagnostics diagnostics;
    auto room = compile::compile_room(run.scenario,
                                      {.start = options.start,
                                       .days = run_days + days_after,
                                       .day_kind = options.day_kind,
                                       .spare_ways = true},
                                      diagnostics);
    if (!room) {
        out.problem = diagnostics.all().empty() ? "does not compile"
                                                : model::to_text(diagnostics.all().front());
        return out;
    }
    for (std::size_t o = 0; o < run.entry.size(); ++o)
        room->problem.orders[o].release = run.entry[o];
    const Realiser realiser(run.scenario, *room, options.chance);
    const auto policy = Policy::make(options.rule, *room, nullptr);
    if (!policy) {
        out.problem = "no rule named " + options.rule;
        return out;
    }
    Reality reality = realiser.realise(Draws(options.seed, static_cast<std::uint64_t>(week)));
    const SimulatedDay simulated = policy->live(reality);
    if (!simulated.complete) return out;
    out.complete = true;
    const auto done = core::completions(reality.problem, simulated.schedule);
    for (std::size_t o = 0; o < run.entry.size(); ++o) {
        const auto day = (run.entry[o] - options.start) / std::chrono::days{1};
        if (day < first_counted || day > last_counted || !done[o]) continue;
        const auto& order = run.scenario.orders[o];
        out.orders.push_back({.week = week,
                              .kind = kind_of(order, kinds),
                              .screens = screens_of(order),
                              .entry = run.entry[o],
                              .ready = *done[o]});
        out.screens += static_cast<std::size_t>(screens_of(order));
    }
    return out;
}

LeadCell cell_of(const model::Scenario& scenario, std::vector<const LeadOrder*> orders) {
    LeadCell cell;
    cell.n = orders.size();
    if (orders.empty()) return cell;
    std::vector<double> lead;
    std::vector<std::pair<int, Seconds>> by;  // working days, slot
    for (const auto* o : orders) {
        lead.push_back(static_cast<double>((o->ready - o->entry).count()) / 3600.0);
        const SimTime slot = next_slot(scenario.room.promise, o->ready);
        by.emplace_back(working_days_between(scenario.room, o->entry, slot),
                        model::time_of_day(slot));
    }
    std::sort(lead.begin(), lead.end());
    std::sort(by.begin(), by.end());
    cell.median_h = sample_quantile(lead, 0.5);
    const std::size_t rank = promise_rank(lead.size(), scenario.room.promise.level.value);
    if (rank == 0) return cell;
    cell.level_h = lead[rank - 1];
    cell.working_days = by[rank - 1].first;
    cell.slot = by[rank - 1].second;
    return cell;
}

}  // namespace

const std::vector<EntryClass>& entry_classes() {
    static const std::vector<EntryClass> classes = {
        {model::hours(0), model::hours(10), "before 10:00"},
        {model::hours(10), model::hours(13), "10:00 to 13:00"},
        {model::hours(13), model::hours(24), "after 13:00"}};
    return classes;
}

std::string LeadCell::words() const {
    if (!working_days) return n == 0 ? "–" : "too few";
    const std::string time = model::format_time_of_day(SimTime{} + slot);
    if (*working_days == 0) return "same day " + time;
    if (*working_days == 1) return "next working day " + time;
    return std::to_string(*working_days) + " working days, " + time;
}

int working_days_between(const model::Room& room, SimTime entry, SimTime ready) {
    int days = 0;
    SimTime day = model::midnight(model::date_of(entry));
    const SimTime last = model::midnight(model::date_of(ready));
    while (day < last) {
        day += std::chrono::days{1};
        days += model::works_on(room, model::date_of(day));
    }
    return days;
}

std::optional<LeadTable> lead_table(const model::Scenario& scenario,
                                    const LeadTableOptions& options, std::string& problem) {
    const auto kinds = screen_kinds(scenario);
    if (kinds.empty() || scenario.orders.empty()) {
        problem = "the scenario has no orders to draw from.";
        return std::nullopt;
    }
    std::vector<LeadWeek> weeks(static_cast<std::size_t>(options.weeks));
    std::atomic<std::size_t> next{0};
    const auto work = [&] {
        for (std::size_t w = next++; w < weeks.size(); w = next++) {
            if (options.stop && options.stop()) return;
            weeks[w] = live_week(scenario, options, kinds, static_cast<int>(w));
        }
    };
    {
        std::vector<std::jthread> pool;
        for (int t = 1; t < options.threads; ++t)
            pool.emplace_back(work);
        work();
    }
    LeadTable out;
    out.room = scenario.room.name;
    out.invented = scenario.room.invented;
    out.level = scenario.room.promise.level.value;
    out.load = options.load;
    out.slot_words = slot_words(scenario.room.promise);
    std::size_t screens = 0;
    for (const auto& week : weeks) {
        if (!week.problem.empty()) {
            problem = week.problem;
            return std::nullopt;
        }
        if (!week.complete) {
            ++out.unfinished;
            continue;
        }
        ++out.weeks;
        screens += week.screens;
        out.orders.insert(out.orders.end(), week.orders.begin(), week.orders.end());
    }
    if (out.weeks == 0) {
        problem = "no simulated week ends: this room cannot keep up with such a load.";
        return std::nullopt;
    }
    out.screens_a_day = static_cast<double>(screens) / (5.0 * out.weeks);
    for (const auto& kind : kinds)
        out.kinds.push_back(kind.words);
    for (std::size_t k = 0; k < kinds.size(); ++k) {
        for (std::size_t g = 0; g < size_groups().size(); ++g) {
            for (std::size_t e = 0; e < entry_classes().size(); ++e) {
                std::vector<const LeadOrder*> some;
                for (const auto& o : out.orders) {
                    const Seconds entry = model::time_of_day(o.entry);
                    if (o.kind == k && size_groups()[g].holds(o.screens) &&
                        entry_classes()[e].from <= entry && entry < entry_classes()[e].to) {
                        some.push_back(&o);
                    }
                }
                LeadCell cell = cell_of(scenario, std::move(some));
                cell.kind = k;
                cell.size = g;
                cell.entry = e;
                out.cells.push_back(cell);
            }
        }
    }
    return out;
}

}  // namespace sched::study
