// How it works: entries and the posted plan are read from the file and the plan's text parsed; a
// plan's operations become ways of screens by joining the parts of a step; a state by marks is
// then what journal::present says, less what the scenario does not know.

#include "sched/app/parts/journal_day.hpp"

#include <algorithm>

#include "sched/app/parts/day_of_plan.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/report/document/plan_json.hpp"

namespace sched::app {

namespace {

bool knows(const std::vector<std::string>& names, const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

template <class T>
std::vector<std::string> names_in(const std::vector<T>& list) {
    std::vector<std::string> names;
    for (const T& one : list)
        names.push_back(one.name);
    return names;
}

}  // namespace

std::optional<JournalDay> read_journal_day(const std::string& folder, std::string& problem,
                                           model::Diagnostics& diagnostics) {
    using journal::Journal;
    if (!Journal::exists(folder)) return std::nullopt;
    journal::Problem wrong;
    const auto file = Journal::open(folder, Journal::For::Reading, wrong);
    // Later marks than the plan's reading do no harm; a later plan than the marks would.
    auto plan = file ? file->posted(wrong) : std::nullopt;
    auto entries = plan ? file->entries(0, wrong) : std::nullopt;
    const auto promises = entries ? file->promises(wrong) : std::nullopt;
    if (!promises) {
        problem = wrong.words;
        return std::nullopt;
    }
    JournalDay day{.path = file->path(), .entries = *std::move(entries), .plan = *std::move(plan)};
    for (const auto& p : promises->list) {
        if (!knows(day.promised, p.enquiry)) day.promised.push_back(p.enquiry);
    }
    if (day.plan.entry > 0) {
        const std::string where = day.path + ", entry " + std::to_string(day.plan.entry);
        day.posted = report::plan_from_json(day.plan.document, diagnostics, where);
        if (!day.posted) return std::nullopt;
        day.plan.document.clear();
    }
    return day;
}

std::vector<journal::Way> ways_of(const report::PlanDocument& document) {
    std::vector<journal::Way> ways;
    for (const report::ScreenLine& screen : document.screens)
        ways.push_back({screen.tag, {}});
    for (const report::OperationLine& op : document.operations) {
        const auto way = std::find_if(ways.begin(), ways.end(), [&](const journal::Way& w) {
            return !op.screen.empty() && w.tag == op.screen;
        });
        if (way == ways.end() || op.step == "put-in") continue;
        auto& steps = way->steps;
        if (op.step == "take-out") {
            if (steps.empty()) continue;
            steps.back().out = op.start;
            steps.back().out_by = op.work_end;
            continue;
        }
        const int round = op.round + 1;
        if (!steps.empty() && steps.back().step == op.step && steps.back().round == round) {
            steps.back().end = op.work_end;
            if (op.batch) steps.back().batch = op.batch;
            continue;
        }
        steps.push_back({.step = op.step,
                         .round = round,
                         .start = op.start,
                         .end = op.work_end,
                         .station = op.place,
                         .person = op.people.empty() ? "" : op.people.front(),
                         .places = std::max(1, op.places),
                         .batch = op.batch});
    }
    for (auto& way : ways) {
        std::stable_sort(way.steps.begin(), way.steps.end(),
                         [](const auto& a, const auto& b) { return a.start < b.start; });
    }
    return ways;
}

journal::Names names_of(const model::Scenario* scenario, const report::PlanDocument* posted) {
    journal::Names names;
    if (scenario != nullptr) {
        names.screens = compile::screen_tags(scenario->orders);
        names.orders = names_in(scenario->orders);
        names.promised = names.orders;
        names.stations = names_in(scenario->room.stations);
        names.people = names_in(scenario->room.people);
        names.pots = names_in(scenario->room.pots);
    }
    if (posted != nullptr) {
        // An order that was taken out since is still on the wall.
        const auto add = [](std::vector<std::string>& list, const std::string& name) {
            if (!name.empty() && !knows(list, name)) list.push_back(name);
        };
        names.ways = ways_of(*posted);
        for (const auto& way : names.ways)
            add(names.screens, way.tag);
        for (const auto& name : names_in(posted->orders))
            add(names.orders, name);
        for (const auto& name : names_in(posted->stations))
            add(names.stations, name);
        for (const auto& name : names_in(posted->people))
            add(names.people, name);
        for (const auto& mix : posted->mixes)
            add(names.pots, mix.pot);
        for (const auto& line : posted->returns)
            add(names.returned, line.tag);
    }
    names.returned.insert(names.returned.end(), names.screens.begin(), names.screens.end());
    return names;
}

model::RoomState state_of(const JournalDay& day, const report::PlanDocument* earlier,
                          model::SimTime from, model::SimTime now,
                          const model::Scenario& scenario) {
    journal::Moment moment{.from = from, .now = now};
    // plan.json of --out may be the one that was posted.
    const bool hangs =
        earlier != nullptr && day.posted && (earlier == &*day.posted || *earlier == *day.posted);
    if (hangs) moment.seen = journal::seen_by(day.plan, day.entries);
    if (earlier != nullptr && earlier->again) moment.seen_now = earlier->again->now;
    // Of a plan that was not posted only its time is known.
    if (!hangs && moment.seen_now) moment.seen = day.last();
    for (const auto& station : scenario.room.stations)
        moment.places[station.name] = station.places;
    const auto ways = earlier != nullptr ? ways_of(*earlier) : std::vector<journal::Way>{};
    auto state = journal::present(day.entries, ways, moment);
    const auto known = names_of(&scenario, nullptr);
    std::erase_if(state.screens, [&](const auto& x) { return !knows(known.screens, x.screen); });
    std::erase_if(state.stations, [&](const auto& x) { return !knows(known.stations, x.name); });
    std::erase_if(state.people, [&](const auto& x) { return !knows(known.people, x.name); });
    std::erase_if(state.films, [&](const auto& x) { return !knows(known.orders, x.order); });
    std::erase_if(state.pots, [&](const auto& x) {
        return !knows(known.pots, x.pot) &&
               (earlier == nullptr ||
                std::none_of(earlier->mixes.begin(), earlier->mixes.end(),
                             [&](const auto& mix) { return mix.pot == x.pot; }));
    });
    state.place.file = day.path;
    for (auto& x : state.screens)
        x.place.file = day.path;
    for (auto* list : {&state.stations, &state.people}) {
        for (auto& x : *list)
            x.place.file = day.path;
    }
    for (auto& x : state.returned)
        x.place.file = day.path;
    return state;
}

std::optional<std::int64_t> post_plan(const std::string& folder,
                                      const report::PlanDocument& document, std::int64_t seen,
                                      const std::optional<model::LocalDate>& day,
                                      std::string& problem) {
    using journal::Journal;
    journal::Problem wrong;
    auto file = Journal::open(folder, Journal::For::Writing, wrong);
    std::optional<journal::Entered> entered;
    if (file) {
        journal::PostedPlan plan{.fingerprint = document.fingerprint,
                                 .seen = seen,
                                 .document = report::plan_to_json(document)};
        if (document.again) plan.now = document.again->now;
        const model::SimTime clock = clock_of_machine();
        const auto on_day = day ? model::midnight(*day) + model::time_of_day(clock) : clock;
        const auto time = plan.now.value_or(on_day);
        entered = file->post({.time = time, .entered = clock, .mark = journal::Mark::Posted}, plan,
                             wrong);
    }
    if (!entered) {
        problem = wrong.words;
        return std::nullopt;
    }
    return entered->id;
}

std::vector<std::string> changed_files(const std::vector<report::InputFile>& of_plan,
                                       const std::vector<report::InputFile>& now) {
    std::vector<std::string> names;
    const auto differs = [](const std::vector<report::InputFile>& list,
                            const report::InputFile& f) {
        return std::find(list.begin(), list.end(), f) == list.end();
    };
    for (const auto& f : of_plan) {
        if (differs(now, f)) names.push_back(f.name);
    }
    for (const auto& f : now) {
        if (differs(of_plan, f) && !knows(names, f.name)) names.push_back(f.name);
    }
    return names;
}

}  // namespace sched::app
