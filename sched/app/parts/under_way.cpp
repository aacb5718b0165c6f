#include "sched/app/parts/under_way.hpp"

#include <filesystem>

#include "model/base/files.hpp"
#include "model/read/state_file.hpp"
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
    if (const auto clock = model::parse_time_of_day(now))
        t = model::midnight(model::date_of(start)) + *clock;
    else
        t = model::parse_date_time(now);
    if (!t) {
        problem = "--now " + now + " is no time. Write 10:40, or 2026-11-26T10:40.";
    } else if (*t < start) {
        problem = "--now " + now + " lies before the plan begins (" +
                  model::format_date_time(start) + "). Leave it out.";
        t.reset();
    }
    return t;
}

std::optional<model::RoomState> read_state_of(const UnderWay& words,
                                              model::Diagnostics& diagnostics) {
    const bool own = words.state.empty();
    const std::string path =
        own ? (std::filesystem::path(words.scenario) / model::state_file_name).string()
            : words.state;
    return model::read_state(path, !own, diagnostics);
}

std::optional<study::BegunDay> read_under_way(const UnderWay& words, bool from_plan,
                                              model::SimTime& start, std::string& problem,
                                              model::Diagnostics& diagnostics) {
    study::BegunDay day;
    if (!words.earlier.empty()) {
        auto posted = read_posted(words.earlier, problem, diagnostics);
        if (!posted) return std::nullopt;
        if (from_plan) start = posted->problem.horizon_start;
        day.posted = {std::move(posted->problem), std::move(posted->schedule)};
    }
    const auto now = now_of(words.now, start, problem);
    if (!now) return std::nullopt;
    day.now = *now;
    auto state = read_state_of(words, diagnostics);
    if (!state) return std::nullopt;
    day.state = *std::move(state);
    return day;
}

}  // namespace sched::app
