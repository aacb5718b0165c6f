// The plan that hangs is the one named, else the journal's; what is otherwise than it says comes
// from --state, else from the day's marks, else from state.yaml. `--now` is read against the day of
// the run.

#include "sched/app/parts/under_way.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "model/base/files.hpp"
#include "model/read/state_file.hpp"
#include "sched/app/parts/day_change.hpp"
#include "sched/app/parts/day_things.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/report/document/plan_json.hpp"

namespace sched::app {

namespace {

constexpr std::size_t most_earlier_bytes = std::size_t{64} << 20;

}  // namespace

std::optional<report::PlanDocument> read_posted(const std::string& earlier, std::string& problem,
                                                model::Diagnostics& diagnostics) {
    std::string path = earlier;
    if (std::filesystem::is_directory(path)) path += "/plan.json";
    model::complete_files(std::filesystem::path(path).parent_path());
    const auto text = read_text(path, most_earlier_bytes);
    if (!text) {
        problem = path + " cannot be read, or is larger than 64 MiB.";
        return std::nullopt;
    }
    return report::plan_from_json(*text, diagnostics, path);
}

std::optional<model::SimTime> now_of(const std::string& now, model::SimTime start,
                                     std::string& problem) {
    std::optional<model::SimTime> t;
    if (const auto clock = model::parse_time_of_day(now)) {
        t = model::midnight(model::date_of(start)) + *clock;
        // After midnight of a run that began in the evening.
        const auto later = *t + std::chrono::days{1};
        if (*t < start && later - start < start - *t) t = later;
    } else {
        t = model::parse_date_time(now);
    }
    if (!t) {
        problem = "--now " + now + " is no time. Write 10:40, or 2026-11-26T10:40.";
    } else if (*t < start) {
        problem = "--now " + now + " lies before the plan begins (" +
                  model::format_date_time(start) + "). Leave it out.";
        t.reset();
    }
    return t;
}

std::optional<PostedDay> read_posted_day(const UnderWay& words, std::string& problem,
                                         model::Diagnostics& diagnostics) {
    PostedDay posted_day;
    const std::size_t errors = diagnostics.error_count();
    if (!words.earlier.empty()) {
        posted_day.earlier = read_posted(words.earlier, problem, diagnostics);
        if (!posted_day.earlier) return std::nullopt;
    }
    if (words.earlier.empty() || words.state.empty()) {
        posted_day.journal = read_journal_day(words.scenario, problem, diagnostics);
        if (!problem.empty() || diagnostics.error_count() > errors) return std::nullopt;
    }
    return posted_day;
}

study::BegunDay::PostedPlan posted_plan(const report::PlanDocument& document) {
    study::BegunDay::PostedPlan posted{document.problem, document.schedule, {}};
    posted.mixes.emplace();
    for (const report::MixLine& mix : document.mixes)
        ++(*posted.mixes)[mix.emulsion];
    for (const report::OperationLine& line : document.operations) {
        if (!line.turn) break;  // what was filled in besides comes last
        posted.turns.push_back(*line.turn);
    }
    // In a file that somebody has changed they may be anything.
    std::vector<std::int32_t> counted = posted.turns;
    std::sort(counted.begin(), counted.end());
    for (std::size_t k = 0; k < counted.size(); ++k) {
        if (counted[k] == static_cast<std::int32_t>(k) + 1) continue;
        posted.turns.clear();
        break;
    }
    return posted;
}

std::vector<compile::FrameOfScreen> frames_under_way(const report::PlanDocument& d,
                                                     const model::RoomState& state,
                                                     model::SimTime now) {
    std::vector<compile::FrameOfScreen> frames;
    for (const report::ScreenLine& screen : d.screens) {
        compile::FrameOfScreen frame{.tag = screen.tag, .mesh = screen.mesh};
        const auto& told = state.screens;
        bool begun = std::any_of(told.begin(), told.end(),
                                 [&](const auto& x) { return x.screen == screen.tag; });
        for (const report::OperationLine& line : d.operations) {
            if (line.screen != screen.tag) continue;
            if (line.start < now) {  // else it is further than planned
                begun = true;
                frame.begun = std::min(frame.begun.value_or(line.start), line.start);
                if (line.step == "expose")
                    frame.exposed = std::min(frame.exposed.value_or(line.start), line.start);
            }
            frame.haze |= line.step == "haze";
        }
        for (const auto made : {model::FrameState::Ready, model::FrameState::Inky,
                                model::FrameState::OldStencil, model::FrameState::NewMesh,
                                model::FrameState::Coated, model::FrameState::KeptStencil}) {
            if (report::state_key(made) == screen.made_on) frame.state = made;
        }
        if (begun) frames.push_back(std::move(frame));
    }
    return frames;
}

namespace {

// Marks of the day that count.
std::size_t marks_of(const JournalDay& day, model::SimTime from) {
    const auto counting = journal::in_force(day.entries);
    return static_cast<std::size_t>(
        std::count_if(counting.begin(), counting.end(), [&](const journal::Entry& e) {
            return e.mark != journal::Mark::Posted && e.time >= from;
        }));
}

}  // namespace

std::optional<model::RoomState> read_state_of(const UnderWay& words, const PostedDay& posted_day,
                                              model::SimTime start, model::SimTime now,
                                              model::Scenario& scenario, std::string& source,
                                              model::Diagnostics& diagnostics) {
    namespace fs = std::filesystem;
    const std::string own = (fs::path(words.scenario) / model::state_file_name).string();
    std::string plan;
    if (!posted_day.earlier && posted_day.plan() != nullptr) {
        plan = fmt::format("; the earlier plan is the posted one, entry {}",
                           posted_day.journal->plan.entry);
    }
    std::optional<model::RoomState> state;
    const std::size_t known = scenario.orders.size();
    const std::size_t marks =
        posted_day.journal && words.state.empty() ? marks_of(*posted_day.journal, start) : 0;
    if (marks > 0) {
        put_changes(posted_day.journal->entries, start, now, scenario, words.last, words.with);
        state = state_of(*posted_day.journal, posted_day.plan(), start, now, scenario);
        std::error_code error;
        const bool both = fs::exists(own, error);
        source = fmt::format("the state is that of the journal, {} mark{}{}{}.", marks,
                             marks == 1 ? "" : "s",
                             both ? "; state.yaml is left aside (--state takes it)" : "", plan);
    } else {
        const std::string path = words.state.empty() ? own : words.state;
        state = model::read_state(path, !words.state.empty(), diagnostics);
        if (!plan.empty())
            source = fmt::format("the state is that of {}{}.",
                                 words.state.empty() && !fs::exists(own) ? "the plan" : path, plan);
    }
    if (!state || !put_things(*state, now, posted_day.plan(), scenario, diagnostics))
        return std::nullopt;
    const auto say = [&](const std::string& order, const std::string& why) {
        diagnostics.warning({(fs::path(words.scenario) / "frames.csv").string(), 1, 1},
                            "another-no-frames",
                            fmt::format("order {}, marked, is not planned: {}.", order, why),
                            "Add them to frames.csv, or take the mark back (undo).");
    };
    for (const LeftOut& order : leave_out_frameless(known, scenario))
        say(order.order, "the store lacks " + order.missing);
    for (const LeftOut& order : leave_out_without_mesh(known, {.start = start}, scenario))
        say(order.order, "with it " + order.missing);
    return state;
}

std::optional<study::BegunDay> read_under_way(const UnderWay& words, bool from_plan,
                                              model::Scenario& scenario, model::SimTime& start,
                                              std::string& source, std::string& problem,
                                              model::Diagnostics& diagnostics) {
    study::BegunDay day;
    const auto posted_day = read_posted_day(words, problem, diagnostics);
    if (!posted_day) return std::nullopt;
    if (const auto* posted = posted_day->plan()) {
        if (from_plan) start = posted->problem.horizon_start;
        day.posted = posted_plan(*posted);
    }
    const auto now = now_of(words.now, start, problem);
    if (!now) return std::nullopt;
    day.now = *now;
    auto state = read_state_of(words, *posted_day, start, *now, scenario, source, diagnostics);
    if (!state) return std::nullopt;
    day.state = *std::move(state);
    if (const auto* posted = posted_day->plan())
        day.frames = frames_under_way(*posted, day.state, day.now);
    return day;
}

}  // namespace sched::app
