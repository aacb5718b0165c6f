// How it works: marks that count are put into a copy of the files, in the order of the journal;
// what then lacks frames is taken out again, by counting, or by asking the compiler where a mesh is
// open.

#include "sched/app/parts/day_change.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include "model/base/units.hpp"

namespace sched::app {

namespace {

using journal::Mark;

constexpr model::Seconds longer_by{3600};
constexpr int highest_priority = 9;

template <class Named>
Named* with_name(std::vector<Named>& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const Named& x) { return x.name == name; });
    return found == list.end() ? nullptr : &*found;
}

// The day that a mark of `t` means: the first whose last shift has not ended, or less than that
// hour ago; tomorrow at the latest. None: it asks for nothing.
std::optional<model::LocalDate> longer_on(const model::Person& person, model::SimTime t) {
    const auto today = model::midnight(model::date_of(t));
    for (int k = -1; k <= 1; ++k) {
        const auto day = today + std::chrono::days{k};
        const auto date = model::date_of(day);
        if (std::find(person.absent.begin(), person.absent.end(), date) != person.absent.end())
            continue;
        std::optional<model::SimTime> end;
        for (const auto& shift : person.shifts) {
            if (shift.weekdays[static_cast<std::size_t>(model::weekday_index(date))])
                end = std::max(end.value_or(day + shift.to), day + shift.to);
        }
        if (!end) continue;
        for (const auto& asked : person.longer) {
            if (asked.date == date) *end += asked.by;
        }
        if (t < *end + person.overtime + longer_by) return date;
    }
    return std::nullopt;
}

using FrameKind = std::tuple<double, double, std::string>;
FrameKind kind_of(const model::Area& size, const std::string& mesh) {
    return {std::min(size.width.value, size.height.value),
            std::max(size.width.value, size.height.value), mesh};
}

}  // namespace

std::vector<LeftOut> leave_out_frameless(std::size_t known, model::Scenario& scenario) {
    std::map<FrameKind, int> left;
    for (const auto& stock : scenario.frames) {
        if (stock.state != model::FrameState::KeptStencil)
            left[kind_of(stock.size, stock.mesh)] += stock.count;
    }
    std::vector<LeftOut> out;
    auto& orders = scenario.orders;
    for (std::size_t k = 0; k < orders.size();) {
        auto rest = left;
        std::string missing;
        for (const auto& line : orders[k].lines) {
            if (line.kept_stencil && k >= known) missing = "its kept stencils";
            if (line.kept_stencil || !line.mesh) continue;
            const int have = rest[kind_of(line.frame, *line.mesh)] -= line.count;
            if (have < 0 && missing.empty())
                missing =
                    fmt::format("{} {} of {} with mesh {}", -have, have == -1 ? "frame" : "frames",
                                model::format_size(line.frame), *line.mesh);
        }
        if (k >= known && !missing.empty()) {
            out.push_back({orders[k].name, missing});
            orders.erase(orders.begin() + static_cast<std::ptrdiff_t>(k));
            continue;
        }
        left = std::move(rest);
        ++k;
    }
    return out;
}

std::vector<LeftOut> leave_out_without_mesh(std::size_t known,
                                            const compile::CompileOptions& options,
                                            model::Scenario& scenario) {
    const bool open =
        std::any_of(scenario.orders.begin(), scenario.orders.end(), [](const model::Order& order) {
            return std::any_of(order.lines.begin(), order.lines.end(),
                               [](const model::ScreenLine& line) { return !line.mesh; });
        });
    if (!open || scenario.orders.size() <= known) return {};
    const auto first_more = scenario.orders.begin() + static_cast<std::ptrdiff_t>(known);
    const std::vector<model::Order> more(first_more, scenario.orders.end());
    scenario.orders.erase(first_more, scenario.orders.end());
    model::Diagnostics of_files;
    const bool sound = compile::compile_room(scenario, options, of_files).has_value();
    std::vector<LeftOut> out;
    for (const model::Order& order : more) {
        scenario.orders.push_back(order);
        model::Diagnostics said;
        if (!sound || compile::compile_room(scenario, options, said)) continue;
        const auto& all = said.all();
        const auto error = std::find_if(all.begin(), all.end(), [](const model::Diagnostic& d) {
            return d.severity == model::Severity::Error;
        });
        std::string why = error == all.end() ? "" : error->message;
        if (!why.empty() && why.back() == '.') why.pop_back();
        out.push_back({order.name, std::move(why)});
        scenario.orders.pop_back();
    }
    return out;
}

void put_changes(const std::vector<journal::Entry>& entries, model::SimTime from,
                 model::SimTime now, model::Scenario& scenario, std::int64_t last,
                 std::int64_t with) {
    // Numbers of further orders count what was taken back, too: a name is never given twice.
    std::map<std::int64_t, std::string> name_of;
    std::map<std::string, int> numbers;
    for (const auto& e : entries) {
        if (e.mark == Mark::Another)
            name_of[e.id] = fmt::format("{}-more{}", e.what, ++numbers[e.what]);
    }
    for (const auto& e : journal::in_force(entries)) {
        if (e.time < from || e.time > now || (e.id > last && e.id != with)) continue;
        if (e.mark == Mark::Longer) {
            auto* person = with_name(scenario.room.people, e.what);
            const auto date = person ? longer_on(*person, e.time) : std::nullopt;
            if (date) {
                const auto same = [&](const auto& asked) { return asked.date == *date; };
                auto& all = person->longer;
                const auto known = std::find_if(all.begin(), all.end(), same);
                if (known == all.end())
                    all.push_back({*date, longer_by});
                else
                    known->by += longer_by;
            }
        }
        auto* order = with_name(scenario.orders, e.what);
        if (order == nullptr) continue;
        if (e.mark == Mark::First) order->priority = highest_priority;
        if (e.mark != Mark::Another || with_name(scenario.orders, name_of[e.id])) continue;
        model::Order more = *order;
        more.name = name_of[e.id];
        for (auto& line : more.lines)
            line.film_ready.reset();
        scenario.orders.push_back(std::move(more));
    }
}

bool can_be_tried(Mark mark) {
    return mark == Mark::Down || mark == Mark::Absent || mark == Mark::Longer ||
           mark == Mark::First || mark == Mark::Another;
}

std::string words_of_change(Mark mark, const std::string& what) {
    switch (mark) {
        case Mark::Down:
            return what + " is out of work from now on";
        case Mark::Absent:
            return what + " is not here from now on";
        case Mark::Longer:
            return what + " stays an hour longer";
        case Mark::First:
            return what + " goes first";
        case Mark::Another:
            return "one more order like " + what;
        default:
            return "";
    }
}

}  // namespace sched::app
