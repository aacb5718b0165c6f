// How it works: the long run is made as `weeks` makes it, and its orders are kept. Each falls into
// a cell by kind, size and time of entry; a cell says the working days by which so many of its
// orders were ready. Cells that say too little borrow, and sizes are put in order.

#include "sched/promise/lead_table.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/room/working_day.hpp"
#include "sched/core/index.hpp"
#include "sched/promise/promise_inside.hpp"

namespace sched::study {

using core::Seconds;
using core::SimTime;

namespace {

int screens_of(const model::Order& order) {
    int n = 0;
    for (const auto& line : order.lines)
        n += line.count;
    return n;
}

/// The kind of most of its screens.
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

struct LeadOrder {
    std::size_t kind = 0, size = 0, entry = 0;
    double hours = 0.0;
    LeadTime by;
};

template <class Value>
using Samples = std::vector<std::vector<Value>>;  // per class of size

/// The level's quantile of each class (see promise_rank), never falling from one class to the next;
/// none where a class has too few.
template <class Value>
std::vector<std::optional<Value>> rising(Samples<Value> samples, double level) {
    struct Pool {
        std::vector<Value> sample;
        Value value;
        std::vector<std::size_t> classes;
    };
    const auto quantile = [&](std::vector<Value>& x) {
        std::sort(x.begin(), x.end());
        return x[promise_rank(x.size(), level) - 1];
    };
    std::vector<Pool> pools;
    for (std::size_t g = 0; g < samples.size(); ++g) {
        if (promise_rank(samples[g].size(), level) == 0) continue;
        Pool next{std::move(samples[g]), {}, {g}};
        next.value = quantile(next.sample);
        while (!pools.empty() && next.value < pools.back().value) {
            Pool& last = pools.back();
            next.sample.insert(next.sample.end(), last.sample.begin(), last.sample.end());
            next.classes.insert(next.classes.end(), last.classes.begin(), last.classes.end());
            next.value = quantile(next.sample);
            pools.pop_back();
        }
        pools.push_back(std::move(next));
    }
    std::vector<std::optional<Value>> out(samples.size());
    for (const Pool& pool : pools) {
        for (const std::size_t g : pool.classes)
            out[g] = pool.value;
    }
    return out;
}

LeadOrder lead_order(const model::Scenario& scenario, const std::vector<ScreenKind>& kinds,
                     const LeadTable& table, const LongRunOrder& o) {
    const std::vector<SizeClass>& sizes = table.sizes;
    const model::Order& order = scenario.orders[ix(o.kind)];
    LeadOrder out;
    out.kind = kind_of(order, kinds);
    const int screens = screens_of(order);
    while (out.size + 1 < sizes.size() && screens > sizes[out.size].most.value_or(screens))
        ++out.size;
    const Seconds at = model::time_of_day(o.entry);
    while (out.entry + 1 < table.entries.size() && at >= table.entries[out.entry].to)
        ++out.entry;
    out.hours = static_cast<double>((o.ready - o.entry).count()) / 3600.0;
    const SimTime slot = next_slot(scenario.room, o.ready);
    out.by = {working_days_between(scenario.room, o.entry, slot), model::time_of_day(slot)};
    return out;
}

/// Per class of size what `take` finds in the orders that `holds` holds.
template <class Value, class Take, class Holds>
Samples<Value> samples_of(const std::vector<LeadOrder>& orders, std::size_t sizes, Take&& take,
                          Holds&& holds) {
    Samples<Value> out(sizes);
    for (const LeadOrder& o : orders) {
        if (holds(o)) out[o.size].push_back(take(o));
    }
    return out;
}

class Cells {
public:
    Cells(const std::vector<LeadOrder>& orders, LeadTable& table) : orders_(orders), t_(table) {}

    void fill() {
        for (std::size_t k = 0; k < t_.kinds.size(); ++k) {
            std::vector<LeadCell> cells(t_.sizes.size() * t_.entries.size());
            for (std::size_t e = 0; e < t_.entries.size(); ++e)
                fill(k, e, cells);
            t_.cells.insert(t_.cells.end(), cells.begin(), cells.end());
        }
    }

private:
    // Too few of a class: those of all kinds, then of all hours, at the level of the shop.
    template <class Take>
    auto statistic(std::size_t kind, std::size_t entry, double level, Take take) {
        using Value = decltype(take(orders_.front()));
        const std::size_t n = t_.sizes.size();
        auto own = samples_of<Value>(orders_, n, take, [&](const LeadOrder& o) {
            return o.kind == kind && o.entry == entry;
        });
        const auto of_entry = samples_of<Value>(
            orders_, n, take, [&](const LeadOrder& o) { return o.entry == entry; });
        const auto all = samples_of<Value>(orders_, n, take, [](const LeadOrder&) { return true; });
        for (std::size_t g = 0; g < n; ++g) {
            for (const auto* wider : {&of_entry, &all}) {
                if (promise_rank(own[g].size(), t_.level) == 0) own[g] = (*wider)[g];
            }
            if (promise_rank(own[g].size(), t_.level) == 0) own[g].clear();
        }
        return rising(std::move(own), level);
    }

    // One kind and time of entry, all sizes.
    void fill(std::size_t kind, std::size_t entry, std::vector<LeadCell>& cells) {
        const auto level = [&](auto take) { return statistic(kind, entry, t_.level, take); };
        const auto by = level([](const LeadOrder& o) { return o.by; });
        const auto hours = [](const LeadOrder& o) { return o.hours; };
        const auto level_h = level(hours);
        const auto median = statistic(kind, entry, 0.5, hours);
        for (std::size_t g = 0; g < t_.sizes.size(); ++g) {
            LeadCell& cell = cells[g * t_.entries.size() + entry];
            cell.kind = kind;
            cell.size = g;
            cell.entry = entry;
            cell.n = ix(std::count_if(orders_.begin(), orders_.end(), [&](const LeadOrder& o) {
                return o.kind == kind && o.size == g && o.entry == entry;
            }));
            cell.by = by[g];
            cell.level_h = level_h[g];
            if (cell.by) cell.median_h = median[g];
            cell.pooled = cell.by && promise_rank(cell.n, t_.level) == 0;
        }
    }

    const std::vector<LeadOrder>& orders_;
    LeadTable& t_;
};

void fill_prices(const std::vector<LeadOrder>& orders, LeadTable& t) {
    const auto samples = samples_of<LeadTime>(
        orders, t.sizes.size(), [](const LeadOrder& o) { return o.by; },
        [](const LeadOrder&) { return true; });
    t.prices.resize(t.sizes.size());
    for (std::size_t g = 0; g < t.sizes.size(); ++g) {
        t.prices[g].size = g;
        t.prices[g].n = samples[g].size();
    }
    for (const double level : t.levels) {
        const auto by = rising(samples, level);
        for (std::size_t g = 0; g < t.sizes.size(); ++g)
            t.prices[g].by.push_back(by[g]);
    }
}

}  // namespace

std::vector<EntryClass> entry_classes(std::vector<Seconds> times) {
    const Seconds day = model::hours(24);
    std::vector<Seconds> cuts = {model::hours(10), model::hours(13)};
    std::sort(times.begin(), times.end());
    const auto before = [&](Seconds t) {
        return static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), t) -
                                        times.begin());
    };
    const std::size_t least = times.size() / 20;
    const auto first = before(cuts[0]), second = before(cuts[1]);
    if (first < least || second - first < least || times.size() - second < least) {
        for (std::size_t k = 0; k < cuts.size(); ++k)
            cuts[k] = std::chrono::round<std::chrono::hours>(times[(k + 1) * times.size() / 3]);
        std::erase_if(cuts, [&](Seconds t) { return before(t) == 0 || before(t) == times.size(); });
        cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
    }
    const auto words = [](Seconds t) { return model::format_time_of_day(SimTime{} + t); };
    if (cuts.empty()) return {{Seconds{0}, day, "at any time"}};
    std::vector<EntryClass> out = {{Seconds{0}, cuts.front(), "before " + words(cuts.front())}};
    for (std::size_t k = 1; k < cuts.size(); ++k)
        out.push_back({cuts[k - 1], cuts[k], words(cuts[k - 1]) + " to " + words(cuts[k])});
    out.push_back({cuts.back(), day, "after " + words(cuts.back())});
    return out;
}

std::string SizeClass::words() const {
    if (!most) return fmt::format("{} and more", least);
    return least == *most ? std::to_string(least) : fmt::format("{} to {}", least, *most);
}

std::vector<SizeClass> size_classes(const model::Scenario& scenario) {
    std::vector<int> most = scenario.room.promise.sizes;
    if (most.empty()) most = {4, 8, 16};
    std::vector<SizeClass> out;
    int least = 1;
    for (const int m : most) {
        out.push_back({least, m});
        least = m + 1;
    }
    if (std::any_of(scenario.orders.begin(), scenario.orders.end(),
                    [&](const auto& o) { return screens_of(o) >= least; }))
        out.push_back({least, std::nullopt});
    return out;
}

std::string LeadTime::words() const {
    const std::string time = model::format_time_of_day(SimTime{} + slot);
    if (working_days == 0) return "same day " + time;
    if (working_days == 1) return "next working day " + time;
    return std::to_string(working_days) + " working days, " + time;
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

void fill_lead_table(const model::Scenario& scenario, const std::vector<LongRunOrder>& orders,
                     LeadTable& table) {
    const auto kinds = screen_kinds(scenario);
    table.room = scenario.room.name;
    table.invented = scenario.room.invented;
    table.level = scenario.room.promise.level.value;
    table.levels = {0.5, 0.8, 0.9, 0.95};
    if (std::find(table.levels.begin(), table.levels.end(), table.level) == table.levels.end())
        table.levels.push_back(table.level);
    std::sort(table.levels.begin(), table.levels.end());
    table.slot_words = slot_words(scenario.room.promise);
    table.sizes = size_classes(scenario);
    for (const auto& kind : kinds)
        table.kinds.push_back(kind.words);
    std::vector<Seconds> times;
    for (const LongRunOrder& o : orders)
        times.push_back(model::time_of_day(o.entry));
    table.entries = entry_classes(std::move(times));
    std::vector<LeadOrder> rows;
    std::vector<double> hours;
    for (const LongRunOrder& o : orders) {
        rows.push_back(lead_order(scenario, kinds, table, o));
        hours.push_back(rows.back().hours);
    }
    std::sort(hours.begin(), hours.end());
    table.orders = rows.size();
    if (!hours.empty()) {
        table.median_h = sample_quantile(hours, 0.5);
        table.level_h = sample_quantile(hours, table.level);
    }
    Cells(rows, table).fill();
    fill_prices(rows, table);
}

std::optional<LeadTable> lead_table(const model::Scenario& scenario,
                                    const compile::CompileOptions& compile_options,
                                    LongRunOptions options, double load, std::string& problem) {
    if (screen_kinds(scenario).empty() || scenario.orders.empty()) {
        problem = "the scenario has no orders to draw from.";
        return std::nullopt;
    }
    options.keep_orders = true;
    options.arrivals = times_as_many(std::move(options.arrivals), load);
    const auto run = run_long(scenario, compile_options, options);
    if (!run) {
        problem = "this room cannot be run for weeks. Does coatroom plan find a plan for it?";
        return std::nullopt;
    }
    if (run->days == 0 && run->offered.share > 1.0) {
        problem = fmt::format(
            "this room cannot keep up with {:.1f} orders a working day: more than {:.1f} cannot be "
            "done. No lead time can be stated.",
            run->offered.orders_a_day, run->offered.most_orders_a_day());
        return std::nullopt;
    }
    if (run->grows > 0.0) {
        problem = fmt::format(
            "the queue grows by {:.1f} orders a working day: no lead time can be stated. With "
            "fewer "
            "orders, --load says how many per cent, it can.",
            run->grows);
        return std::nullopt;
    }
    if (!run->stuck.empty()) {
        problem = "the run could not go on, " + run->stuck;
        return std::nullopt;
    }
    LeadTable out;
    out.load = load;
    out.days = run->days;
    out.warm_up = std::min(run->warm_up, run->orders.size());
    out.trusted = run->trusted;
    out.interrupted = run->interrupted;
    out.orders_a_day =
        static_cast<double>(run->orders_in) / static_cast<double>(std::max(1, run->days));
    fill_lead_table(
        scenario,
        {run->orders.begin() + static_cast<std::ptrdiff_t>(out.warm_up), run->orders.end()}, out);
    return out;
}

}  // namespace sched::study
