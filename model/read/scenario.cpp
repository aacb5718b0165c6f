#include "model/read/scenario.hpp"

#include <filesystem>
#include <functional>

#include <fmt/format.h>

#include "model/base/files.hpp"
#include "model/read/bytes.hpp"
#include "model/read/cross_check.hpp"
#include "model/room/working_day.hpp"

namespace model {

namespace {

using namespace read;

std::string path_in(const std::string& folder, const char* name) {
    return (std::filesystem::path(folder) / name).string();
}

/// The bytes of a file of the scenario; see load().
using Load = std::function<std::optional<std::string>(const char* name, std::size_t limit,
                                                      Missing missing, Findings& findings)>;

// Orders on hold were checked like all others; nothing else is done with them.
void set_aside_held(Scenario& scenario, Sources& sources, Findings& findings) {
    std::vector<Order> kept;
    std::vector<std::vector<std::size_t>> lines;
    std::string held;
    std::optional<SourcePlace> first;
    for (std::size_t o = 0; o < scenario.orders.size(); ++o) {
        Order& order = scenario.orders[o];
        if (!order.hold) {
            kept.push_back(std::move(order));
            lines.push_back(std::move(sources.lines_of[o]));
            continue;
        }
        held += (held.empty() ? "" : ", ") + order.name;
        if (!first) first = order.place;
    }
    if (first && kept.empty()) {
        findings.error(findings.whole_file(), "all-on-hold", "all orders are on hold.",
                       "Take `hold` away from those that are to be made.");
        return;
    }
    scenario.orders = std::move(kept);
    sources.lines_of = std::move(lines);
    if (!first) return;
    findings.warning(*first, "on-hold",
                     fmt::format("on hold, so left out of everything: {}.", held),
                     "Take `hold` away to plan them.");
}

std::optional<Scenario> read_all(const Load& load_file, const std::string& folder,
                                 Diagnostics& diagnostics, const RunDay& run, Sources& sources) {
    const std::size_t errors_before = diagnostics.error_count();
    Scenario scenario;
    scenario.folder = folder;
    Findings room_findings(path_in(folder, "room.yaml"), diagnostics);
    Findings order_findings(path_in(folder, "orders.csv"), diagnostics);
    Findings frame_findings(path_in(folder, "frames.csv"), diagnostics);
    Findings weather_findings(path_in(folder, "weather.csv"), diagnostics);

    bool have_room = false;
    if (const auto text = load_file("room.yaml", yaml_most_bytes, Missing::Error, room_findings);
        text && check_text(*text, room_findings)) {
        have_room = read_room(*text, room_findings, scenario.room, sources.room);
        if (have_room) check_room(scenario.room, sources.room, room_findings);
    }
    DatesFrom dates{run.day, have_room ? &scenario.room : nullptr};
    if (!dates.day && scenario.room.day) dates.day = midnight(*scenario.room.day);
    if (!dates.day && run.clock) dates.day = next_working_day(scenario.room, *run.clock);
    bool have_orders = false;
    if (const auto text = load_file("orders.csv", csv_most_bytes, Missing::Error, order_findings);
        text && check_text(*text, order_findings)) {
        sources.orders = read_csv_table(*text, order_findings, order_table(), &dates);
        scenario.orders = gather_orders(sources.orders, order_findings, sources.lines_of);
        have_orders = !scenario.orders.empty();
        if (!have_orders && order_findings.count() == 0) {
            order_findings.error(order_findings.whole_file(), "no-orders",
                                 "there is no order in this file.",
                                 "Write one line of screens per line below the first.");
        }
    }
    // A file that could not be read leaves nothing to hold the others against.
    if (have_room && have_orders) name_meshes_by_count(scenario);
    if (have_room && have_orders) check_orders(scenario, sources, order_findings);
    bool have_frames = false;
    if (const auto text = load_file("frames.csv", csv_most_bytes, Missing::Error, frame_findings);
        text && check_text(*text, frame_findings)) {
        sources.frames = read_csv_table(*text, frame_findings, frame_table(), &dates);
        scenario.frames = sources.frames.values;
        have_frames = true;
        if (have_room) check_frames(scenario, sources, frame_findings);
    }
    if (const auto text =
            load_file("weather.csv", csv_most_bytes, Missing::Allowed, weather_findings);
        text && check_text(*text, weather_findings)) {
        sources.weather = read_csv_table(*text, weather_findings, weather_table());
        check_weather(sources, weather_findings);
        for (const WeatherLine& line : sources.weather.values) {
            scenario.weather.push_back({line.from, {line.temperature, line.humidity}});
        }
    }
    if (have_room && have_orders && have_frames) {
        check_steps(scenario, sources.room, room_findings);
    }
    if (have_orders) set_aside_held(scenario, sources, order_findings);
    if (diagnostics.error_count() > errors_before) return std::nullopt;
    return scenario;
}

}  // namespace

std::optional<Scenario> read::read_with_sources(const std::string& folder, Diagnostics& diagnostics,
                                                const RunDay& run, Sources& sources) {
    complete_files(folder);
    const auto from_disk = [&](const char* name, std::size_t limit, Missing missing,
                               Findings& findings) {
        return load(path_in(folder, name), limit, missing, findings);
    };
    return read_all(from_disk, folder, diagnostics, run, sources);
}

std::optional<Scenario> read_scenario(const std::string& folder, Diagnostics& diagnostics,
                                      const RunDay& run) {
    Sources sources;
    return read_with_sources(folder, diagnostics, run, sources);
}

std::optional<Scenario> read_scenario(const std::map<std::string, std::string>& texts,
                                      const std::string& folder, Diagnostics& diagnostics,
                                      const RunDay& run) {
    const auto from_texts = [&](const char* name, std::size_t, Missing,
                                Findings&) -> std::optional<std::string> {
        const auto text = texts.find(name);
        return text == texts.end() ? std::nullopt : std::optional(text->second);
    };
    Sources sources;
    return read_all(from_texts, folder, diagnostics, run, sources);
}

}  // namespace model
