// How it works: each change gets its words, its first saving that counts and the orders that it
// helps or harms. What limits the day is the best single addition whose saving every try found;
// under a minute is none. Where simulated days have judged a change, what shows on them counts
// instead, and what is so on paper only is said to be that.

#include "sched/report/plan/what_if_lines.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "model/base/shown.hpp"
#include "model/base/time.hpp"
#include "sched/core/calendar.hpp"
#include "sched/core/objective.hpp"
#include "sched/report/words/wording.hpp"

namespace sched::report {

namespace {

// "expose A7-1 before B2-3"; loading stands for the exposure that it begins.
std::string turn_words(const compile::RoomProblem& room, const search::WhatIf& w) {
    const auto& first = room.operations[w.first.index()];
    const auto& second = room.operations[w.second.index()];
    const auto tag = [&](const compile::OperationInfo& o) {
        return o.screen >= 0 ? room.screens[static_cast<std::size_t>(o.screen)].tag : o.words;
    };
    return fmt::format("{} before {} (a decision)", first.words, tag(second));
}

// " (07:00 to 15:30)" of its first day, or night, " (06:00 to 10:00 and 15:00 to 19:00)" of one in
// parts; breaks and overtime are not said. Empty: always there.
std::string hours_of(const core::Problem& problem, core::ResourceId id) {
    const auto& always = problem.resources[id.index()].calendar;
    if (!always) return {};
    core::Calendar shifts = *always;
    for (const core::OvertimeWindow& o : problem.overtime) {
        if (o.resource == id) core::close_window(shifts, o.window);
    }
    if (shifts.empty()) return {};
    constexpr auto longest_break = model::minutes(90);
    const auto day = model::date_of(shifts.front().from);
    std::vector<core::Window> parts{shifts.front()};
    for (const auto& window : shifts) {
        if (window.from - parts.back().to <= longest_break)
            parts.back().to = window.to;
        else if (model::date_of(window.from) == day)
            parts.push_back(window);
        else
            break;
    }
    std::vector<std::string> words;
    for (const auto& part : parts)
        words.push_back(fmt::format("{} to {}", model::format_time_of_day(part.from),
                                    model::format_time_of_day(part.to)));
    return " (" + joined(words) + ")";
}

// "booth works again at once", "booth is not closed (12:00 to 13:30)": its first closing, and how
// many more.
std::string open_words(const core::Problem& problem, core::ResourceId id) {
    const std::string& name = problem.resources[id.index()].name;
    const auto gaps = search::closings(problem, id);
    if (gaps.empty()) return name + " is not closed";
    if (gaps.front().from <= problem.now.value_or(problem.horizon_start))
        return name + " works again at once" + (gaps.size() > 1 ? " and is not closed later" : "");
    const auto words = [&](SimTime t) {
        const bool today = model::date_of(t) == model::date_of(problem.horizon_start);
        return today ? model::format_time_of_day(t) : model::format_date_time(t);
    };
    const std::string more = gaps.size() > 1 ? fmt::format(", {} more", gaps.size() - 1) : "";
    return fmt::format("{} is not closed ({} to {}{})", name, words(gaps.front().from),
                       model::format_time_of_day(gaps.front().to), more);
}

std::string what_if_change(const compile::RoomProblem& room, const search::WhatIf& w,
                           const std::vector<std::string>& others) {
    if (w.kind == search::WhatIf::Kind::Other) return others[w.other];
    if (w.kind == search::WhatIf::Kind::Before) return turn_words(room, w);
    const std::string& name = room.problem.resources[w.resource.index()].name;
    const bool person = w.resource.index() < room.resources.size() &&
                        room.resources[w.resource.index()].kind == compile::ResourceKind::Person;
    switch (w.kind) {
        case search::WhatIf::Kind::OneMore:
            return person ? fmt::format("one more person who can do what {} does{}", name,
                                        hours_of(room.problem, w.resource))
                          : fmt::format("one more place at {}", name);
        case search::WhatIf::Kind::Longer:
            return person ? fmt::format("{} stays half an hour longer", name)
                          : open_words(room.problem, w.resource);
        case search::WhatIf::Kind::Before:
        case search::WhatIf::Kind::Other:
            break;
    }
    return {};
}

std::string what_if_saving(core::Criterion criterion, std::int64_t saved) {
    return fmt::format(fmt::runtime(core::row_of(criterion).saving),
                       core::amount_words(criterion, saved));
}

}  // namespace

namespace {

// With fewer the search hardly leaves the plan that it begins with, and a change seems to save
// nothing: two more people in a room of three, of 89 screens, in 6 schedules.
constexpr std::int64_t enough_schedules = 40;

// The first criterion that counts and by how much it is better; nullopt: nothing is saved.
std::optional<std::size_t> first_saving(const compile::RoomProblem& room, const search::WhatIf& w) {
    for (std::size_t k = 0; k < w.saved.size(); ++k) {
        // Less standing alone is nothing that anybody would buy a cabinet for.
        if (w.saved[k] != 0 && room.problem.objective[k] != core::Criterion::Holding)
            return w.saved[k] > 0 ? std::optional(k) : std::nullopt;
    }
    return std::nullopt;
}

// Of what shows on simulated days: the first aim that something is bought for.
std::optional<std::size_t> saved_on_days(const compile::RoomProblem& room,
                                         const search::WhatIf::OnDays& days) {
    for (std::size_t k = 0; k < days.saved.size(); ++k) {
        const core::CriterionRow& aim = core::row_of(room.problem.objective[k]);
        if (!aim.sold || !days.saved_shows[k]) continue;
        if (std::abs(days.saved[k]) >= (aim.in_orders ? 0.05 : 60.0)) return k;
    }
    return std::nullopt;
}

bool better_on_days(const compile::RoomProblem& room, const search::WhatIf::OnDays& days) {
    const auto k = saved_on_days(room, days);
    return days.shows && days.cost < 0.0 && k && days.saved[*k] > 0.0;
}

// "M4 97 % -> 23 %, M2 5 % -> 0 %": the most relieved, or the most harmed, first; three at most.
std::string chances_words(const compile::RoomProblem& room, const search::WhatIf::OnDays& days,
                          bool relieved) {
    std::vector<search::WhatIf::OnDays::Order> orders;
    for (const auto& o : days.orders) {
        if ((o.late_with < o.late_without) == relieved) orders.push_back(o);
    }
    if (!relieved) std::reverse(orders.begin(), orders.end());
    std::string words;
    for (std::size_t k = 0; k < orders.size() && k < 3; ++k)
        words += fmt::format("{}{} {:.0f} % -> {:.0f} %", k == 0 ? "" : ", ",
                             room.problem.orders[orders[k].order.index()].name,
                             100.0 * orders[k].late_without, 100.0 * orders[k].late_with);
    if (orders.size() > 3) words += fmt::format(" and {} more", orders.size() - 3);
    return words;
}

// "about 1.2 fewer late orders (late: M4 97 % -> 23 %), saves 2 h 10 min of lateness (weighted)".
std::string on_days_words(const compile::RoomProblem& room, const search::WhatIf::OnDays& days) {
    std::string words;
    const auto add = [&](const std::string& more) { words += (words.empty() ? "" : ", ") + more; };
    const std::string relieved = chances_words(room, days, true);
    const std::string harmed = chances_words(room, days, false);
    const std::string who =
        relieved.empty() || harmed.empty() ? relieved + harmed : relieved + "; " + harmed;
    if (days.fewer_show && std::abs(days.fewer_late) >= 0.05) {
        add(fmt::format("about {:.1f} {} late orders", std::abs(days.fewer_late),
                        days.fewer_late > 0.0 ? "fewer" : "more"));
        if (!who.empty()) words += " (late: " + who + ")";
    } else if (!who.empty()) {
        add("late: " + who);
    }
    for (std::size_t k = 0; k < days.saved.size(); ++k) {
        const core::Criterion criterion = room.problem.objective[k];
        const core::CriterionRow& aim = core::row_of(criterion);
        if (!aim.sold || aim.in_orders || !days.saved_shows[k] || std::abs(days.saved[k]) < 60.0)
            continue;
        const auto amount = static_cast<std::int64_t>(60.0 * std::round(days.saved[k] / 60.0));
        const std::string more = core::amount_words(criterion, -amount);
        if (amount > 0)
            add(what_if_saving(criterion, amount));
        else if (criterion == core::Criterion::Makespan)
            add("the run ends " + more + " later");
        else
            add(fmt::format("{} more {}", more, core::words(criterion)));
        break;
    }
    return words;
}

// What one more of something, or longer hours, save of lateness, late orders, overtime or time to
// the finish. Less than a minute is nothing, nor is what not every try of the search found.
std::optional<std::size_t> limits_by(const compile::RoomProblem& room, const search::WhatIf& w) {
    if (!w.certain) return std::nullopt;
    for (std::size_t k = 0; k < w.saved.size(); ++k) {
        const core::CriterionRow& aim = core::row_of(room.problem.objective[k]);
        if (!aim.sold) continue;
        if (w.saved[k] >= (aim.in_orders ? 1 : 60)) return k;
        if (w.saved[k] < 0) return std::nullopt;  // paid for elsewhere
    }
    return std::nullopt;
}

// How sure it is that the saving is the addition's own and not a better plan of the same room.
std::string surety(const PlanDocument& document, std::size_t aim, std::int64_t saved) {
    const AimLine& line = document.aims[aim];
    const std::int64_t open = line.bound ? line.value - *line.bound : line.value;
    if (open == 0) return "The plan itself is proved best on that aim.";
    if (open < saved) return "It is more than the plan could be improved without it.";
    return "The plan is not proved best; a better one might save as much without it.";
}

// "A7 35 min and A9 10 min less late, B2 20 min later": the most first, at most three of each.
std::string orders_words(const compile::RoomProblem& room, const search::WhatIf& w) {
    std::string less, more;
    int helped = 0, harmed = 0;
    const auto add = [&](std::string& to, core::OrderId order, Seconds by) {
        to += fmt::format("{}{} {}", to.empty() ? "" : ", ",
                          room.problem.orders[order.index()].name, model::format_duration(by));
    };
    for (const auto& o : w.orders) {
        if (o.less > Seconds{0} && helped++ < 3) add(less, o.order, o.less);
    }
    for (auto o = w.orders.rbegin(); o != w.orders.rend(); ++o) {
        if (o->less < Seconds{0} && harmed++ < 3) add(more, o->order, -o->less);
    }
    if (helped > 3) less += fmt::format(" and {} more", helped - 3);
    if (harmed > 3) more += fmt::format(" and {} more", harmed - 3);
    if (!less.empty()) less += " less late";
    if (!more.empty()) more += " later";
    return less + (less.empty() || more.empty() ? "" : "; ") + more;
}

}  // namespace

namespace {

// What a change that simulated days have judged does.
std::string judged_words(const compile::RoomProblem& room, const search::WhatIf& w) {
    const search::WhatIf::OnDays& days = *w.on_days;
    const std::string words = on_days_words(room, days);
    if (better_on_days(room, days)) return words;
    if (days.shows && days.cost > 0.0)
        return "makes it worse: " + (words.empty() ? "a little" : words);
    std::string nothing = "nothing that is more than chance";
    if (!words.empty()) nothing = words + "; in all no more than chance";
    if (const auto k = limits_by(room, w))
        nothing += fmt::format(" (if nothing takes longer: {})",
                               what_if_saving(room.problem.objective[*k], w.saved[*k]));
    return nothing;
}

// "the same 100 simulated days": those of the changes that were judged.
std::string days_words(const std::vector<search::WhatIf>& what_ifs) {
    for (const search::WhatIf& w : what_ifs) {
        if (w.on_days) return fmt::format("the same {} simulated days", w.on_days->days);
    }
    return {};
}

}  // namespace

void add_what_ifs(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
                  PlanDocument& document, const std::vector<std::string>& others) {
    document.bottleneck.what_ifs.clear();
    const std::string judged = days_words(what_ifs);
    if (!judged.empty())
        document.bottleneck.sentences.push_back("What would help, on " + judged +
                                                " with and without it:");
    for (const search::WhatIf& w : what_ifs) {
        if (w.on_days) {
            document.bottleneck.what_ifs.push_back(
                {what_if_change(room, w, others), judged_words(room, w)});
            continue;
        }
        std::string words = "saves nothing";
        if (const auto k = first_saving(room, w)) {
            words = what_if_saving(room.problem.objective[*k], w.saved[*k]);
            if (const auto who = orders_words(room, w); !who.empty()) words += ": " + who;
            if (!w.certain) words += ", though not in every try of the search";
            if (w.next && *w.next != w.resource && w.next->index() < room.problem.resources.size())
                words += fmt::format("; then most waits are for {}",
                                     room.problem.resources[w.next->index()].name);
        } else if (const auto who = orders_words(room, w); !who.empty()) {
            words = "no gain in all: " + who;
        }
        if (!judged.empty()) words += " (on paper: no time was left to simulate it)";
        document.bottleneck.what_ifs.push_back({what_if_change(room, w, others), words});
    }
}

std::vector<WhatIfLine> merged(const std::vector<WhatIfLine>& what_ifs) {
    std::vector<WhatIfLine> alone, shared;
    for (const WhatIfLine& line : what_ifs) {
        const auto same = [&](const WhatIfLine& other) { return other.words == line.words; };
        if (std::count_if(what_ifs.begin(), what_ifs.end(), same) == 1) {
            alone.push_back(line);
        } else if (const auto at = std::find_if(shared.begin(), shared.end(), same);
                   at != shared.end()) {
            at->change += "; " + line.change;
        } else {
            shared.push_back(line);
        }
    }
    alone.insert(alone.end(), shared.begin(), shared.end());
    return alone;
}

namespace {

// A sentence may begin with it.
std::string capital(std::string name) {
    if (!name.empty() && name.front() >= 'a' && name.front() <= 'z')
        name.front() = static_cast<char>(name.front() - 'a' + 'A');
    return name;
}

}  // namespace

void add_limit(const compile::RoomProblem& room, const std::vector<search::WhatIf>& what_ifs,
               PlanDocument& document) {
    std::vector<std::string> tried, says;
    const search::WhatIf* found = nullptr;
    const search::WhatIf* longer = nullptr;  // of hours that limit, the best
    const search::WhatIf* shut = nullptr;    // a place that is closed, better than all of those
    std::string one;                         // what was tried last
    const std::string judged = days_words(what_ifs);
    const auto limits = [&](const search::WhatIf& w) {
        // Beside what was simulated, what is so on paper only limits nothing.
        if (!judged.empty()) return w.on_days && better_on_days(room, *w.on_days);
        return limits_by(room, w).has_value();
    };
    const auto saves = [&](const search::WhatIf& w) {
        if (w.on_days) return on_days_words(room, *w.on_days);
        const std::size_t k = *limits_by(room, w);
        return what_if_saving(room.problem.objective[k], w.saved[k]);
    };
    const auto sure = [&](const search::WhatIf& w) {
        if (w.on_days) return "So it is on " + judged + " with and without.";
        const std::size_t k = *limits_by(room, w);
        return surety(document, k, w.saved[k]);
    };
    bool hardly_tried = !what_ifs.empty();
    for (const search::WhatIf& w : what_ifs) {  // best first
        hardly_tried = hardly_tried && w.schedules && *w.schedules < enough_schedules;
        if (w.kind == search::WhatIf::Kind::Longer && !longer && limits(w)) {
            longer = &w;
            if (!found && !search::closings(room.problem, w.resource).empty()) shut = &w;
        }
        if (w.kind != search::WhatIf::Kind::OneMore) continue;
        tried.push_back(room.problem.resources[w.resource.index()].name);
        one = what_if_change(room, w, {});
        if (!found && limits(w)) found = &w;
    }
    Bottleneck& out = document.bottleneck;
    out.resource.clear();
    if (shut) {
        out.resource = room.problem.resources[shut->resource.index()].name;
        const auto gaps = search::closings(room.problem, shut->resource);
        const bool broken =
            gaps.front().from <= room.problem.now.value_or(room.problem.horizon_start);
        says.push_back(fmt::format("That {} is {} limits the day.", out.resource,
                                   broken ? "out of work" : "closed"));
        says.push_back(
            fmt::format("Planned again so that {}: {}, more than anything else that was "
                        "tried.",
                        what_if_change(room, *shut, {}), saves(*shut)));
        says.push_back(sure(*shut));
    } else if (found) {
        out.resource = room.problem.resources[found->resource.index()].name;
        says.push_back(capital(out.resource) + " limits the day.");
        std::string words = fmt::format("Planned again with {}: {}",
                                        what_if_change(room, *found, {}), saves(*found));
        if (tried.size() > 1) words += ", more than one more of anything else that was tried";
        const auto& next = found->next;
        if (next && *next != found->resource && next->index() < room.problem.resources.size())
            words += fmt::format("; then most waits are for {}",
                                 room.problem.resources[next->index()].name);
        says.push_back(words + ".");
        says.push_back(sure(*found));
    } else if (longer) {
        out.resource = room.problem.resources[longer->resource.index()].name;
        says.push_back(fmt::format("The hours of {} limit the day.", out.resource));
        says.push_back(fmt::format("Planned again so that {}: {}.",
                                   what_if_change(room, *longer, {}), saves(*longer)));
        says.push_back(sure(*longer));
    } else if (tried.empty()) {
        says.emplace_back(
            "Nothing limits the day: no step waits because a place or a person is taken.");
    } else if (const std::string more =
                   tried.size() == 1 ? one : "one more of each of " + joined(tried);
               !judged.empty()) {
        says.push_back(
            fmt::format("Nothing limits the day: with {} nothing is better on {} than chance "
                        "makes it.",
                        more, judged));
    } else if (hardly_tried) {
        says.push_back(fmt::format(
            "It is not known what limits the day: with {} nothing better was found in the few "
            "schedules that there was time for. A longer --budget says more.",
            more));
    } else {
        says.push_back(fmt::format(
            "Nothing limits the day: planned again with {}, {} sooner.", more,
            std::any_of(document.orders.begin(), document.orders.end(),
                        [](const OrderLine& o) { return o.lateness && *o.lateness > Seconds{0}; })
                ? "no late order is in time and the run does not end"
                : "the run does not end"));
    }
    out.sentences.insert(out.sentences.begin(), says.begin(), says.end());
}

void add_in_time_on_paper(const std::vector<std::optional<SimTime>>& done, PlanDocument& document) {
    std::vector<std::string> names;
    std::string pins;
    for (std::size_t o = 0; o < document.orders.size() && o < done.size(); ++o) {
        const OrderLine& order = document.orders[o];
        if (!order.due || !order.lateness || *order.lateness <= Seconds{0} || !done[o] ||
            *done[o] > *order.due)
            continue;
        names.push_back(
            fmt::format("{} ({})", order.name, when(document.run, model::shown_minute(*done[o]))));
        const bool today = model::date_of(*order.due) == model::date_of(document.run.first_start);
        pins += fmt::format(
            " --pin \"{} by {}\"", order.name,
            today ? model::format_time_of_day(*order.due) : model::format_date_time(*order.due));
    }
    if (names.empty()) return;
    auto& says = document.bottleneck.sentences;
    if (!says.empty() && (says.front().starts_with("Nothing limits the day") ||
                          says.front().starts_with("It is not known what limits")))
        says.erase(says.begin());
    says.insert(
        says.begin(),
        fmt::format("With what the room has {} can be in time if nothing takes longer, but "
                    "over the simulated days the plan that was found for it is later in all. To "
                    "have it all the same, plan with{}.",
                    joined(names), pins));
}

}  // namespace sched::report
