// How it works: one function for each pair that must agree (order and mesh, frame and station,
// lamp and image, steps and people); places of faults come from the trees and tables that were
// read.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "model/base/units.hpp"
#include "model/read/cross_check.hpp"
#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"

namespace model::read {

namespace {

template <class E>
std::vector<std::string> names_of(const std::vector<E>& elements) {
    std::vector<std::string> names;
    for (const E& e : elements)
        names.push_back(e.name);
    return names;
}

// Reports a name that is not in the list; `what` is the singular of the list.
void check_name(const std::string& name, const std::vector<std::string>& names,
                std::string_view what, const SourcePlace& place, Findings& findings) {
    // An empty list is reported where it is missing.
    if (name.empty() || names.empty()) return;
    if (std::find(names.begin(), names.end(), name) != names.end()) return;
    const std::string near = did_you_mean(name, names);
    std::string code = "unknown-" + std::string(what);
    std::replace(code.begin(), code.end(), ' ', '-');
    findings.error(place, code, fmt::format("there is no {} {}.", what, in_quotes(name)),
                   near.empty() ? fmt::format("Names known: {}.", name_list(names)) : near);
}

void check_frame_fits(const Room& room, const Order& order, const ScreenLine& line,
                      const SourcePlace& place, Findings& findings) {
    const auto too_big = fits_nowhere(room, line);
    if (!too_big) return;
    findings.error(
        place, "frame-too-big",
        fmt::format("order {}: the frame {} fits no station that does {}.", in_quotes(order.name),
                    format_size(line.frame), in_quotes(words_of(too_big->step))),
        !too_big->most ? "Choose a smaller frame."
                       : fmt::format("Choose a frame of at most {}, or mend the station's size.",
                                     format_size(*too_big->most)));
}

// Lamp at least 1.5 times the image's diagonal away (common practice), but for fluorescent sources.
// Only units that take the frame are asked.
void check_lamp_distance(const Room& room, const Order& order, const ScreenLine& line,
                         const SourcePlace& place, Findings& findings) {
    const Area& image = *line.image;
    const double wanted = 1.5 * std::hypot(image.width.value, image.height.value);
    std::vector<const Station*> near;
    const Station* enough = nullptr;
    double best = 0.0;
    for (const Station& station : room.stations) {
        if (!station.lamp || !does_step(station, Step::Expose) || !takes_frame(station, line.frame))
            continue;
        const double distance = station.lamp->distance.value;
        best = std::max(best, distance);
        if (station.lamp->kind == LampKind::Fluorescent || distance >= wanted)
            enough = &station;
        else
            near.push_back(&station);
    }
    if (near.empty()) return;
    if (enough == nullptr) {
        findings.warning(
            place, "lamp-too-near",
            fmt::format("order {}: the image {} wants the lamp {:.0f} cm away (1.5 times its "
                        "diagonal); {:.0f} cm are missing.",
                        in_quotes(order.name), format_size(image), std::ceil(wanted),
                        std::ceil(wanted - best)),
            "Its corners get less light; move the lamp back and calibrate again.");
        return;
    }
    for (const Station* station : near) {
        findings.warning(
            place, "lamp-too-near",
            fmt::format("order {}: the image {} wants the lamp {:.0f} cm away (1.5 times its "
                        "diagonal); at {} {:.0f} cm are missing, {} is far enough.",
                        in_quotes(order.name), format_size(image), std::ceil(wanted),
                        in_quotes(station->name), std::ceil(wanted - station->lamp->distance.value),
                        in_quotes(enough->name)),
            fmt::format("To keep it away there: --pin \"{} without {}\".", order.name,
                        station->name));
    }
}

using FrameKind = std::tuple<double, double, std::string>;
FrameKind kind_of(const Area& size, const std::string& mesh) {
    return {size.width.value, size.height.value, mesh};
}

// Why a step is needed, in words; absent: not needed.
std::map<Step, std::string> needed_steps(const Scenario& scenario) {
    std::map<Step, std::string> needed;
    std::map<FrameKind, int> wanted;
    for (const Order& order : scenario.orders) {
        for (const ScreenLine& line : order.lines) {
            for (const Step step : steps_of_line(scenario.room, line)) {
                needed.emplace(step, "order " + in_quotes(order.name) + " needs");
            }
            if (line.kept_stencil) continue;
            if (line.mesh) wanted[kind_of(line.frame, *line.mesh)] += line.count;
        }
    }
    std::map<FrameKind, int> clean;
    for (const FrameStock& stock : scenario.frames) {
        if (stock.state == FrameState::Ready) clean[kind_of(stock.size, stock.mesh)] += stock.count;
    }
    for (const FrameStock& stock : scenario.frames) {
        const FrameKind kind = kind_of(stock.size, stock.mesh);
        const auto want = wanted.find(kind);
        if (want == wanted.end() || want->second <= clean[kind]) continue;
        const std::string why = fmt::format("the frames {} with mesh {} need",
                                            format_size(stock.size), in_quotes(stock.mesh));
        if (stock.state == FrameState::Inky) {
            needed.emplace(Step::InkOff, why);
            needed.emplace(Step::InkDegrease, why);
        }
        if (stock.state == FrameState::Inky || stock.state == FrameState::OldStencil) {
            needed.emplace(Step::Strip, why);
            needed.emplace(Step::Rinse, why);
            if (stock.haze.value_or(scenario.room.haze_share.value > 0)) {
                needed.emplace(Step::Haze, why);
            }
        }
        if (stock.state == FrameState::NewMesh) needed.emplace(Step::Abrade, why);
    }
    return needed;
}

// Whether every element's list of steps was read whole: a misspelt word may be the step that is
// missed.
bool all_steps_known(const YamlNode& tree, std::string_view list, std::string_view key) {
    const YamlNode* elements = tree.find(list);
    if (elements == nullptr) return false;
    for (const YamlNode& element : elements->items) {
        const YamlNode* words = element.find(key);
        if (words == nullptr) return false;
        for (const YamlNode* word : values_of(*words)) {
            const bool everything =
                key == "can" && (words->kind == YamlNode::Kind::Text || words->items.size() == 1);
            if (!reads_as_steps(word->text, everything || word->text != "everything")) return false;
        }
    }
    return true;
}

SourcePlace key_place(const YamlNode& tree, std::string_view key) {
    for (const YamlNode& k : tree.keys) {
        if (k.text == key) return k.place;
    }
    return tree.place;
}

}  // namespace

void name_meshes_by_count(Scenario& scenario) {
    const auto& meshes = scenario.room.meshes;
    for (Order& order : scenario.orders) {
        for (ScreenLine& line : order.lines) {
            if (!line.mesh) continue;
            const bool named = std::any_of(meshes.begin(), meshes.end(),
                                           [&](const Mesh& m) { return m.name == *line.mesh; });
            const auto asked = parse_threads(*line.mesh);
            if (named || !asked.value) continue;
            const Mesh* only = nullptr;
            int found = 0;
            for (const Mesh& m : meshes) {
                if (std::abs(m.count.value - asked.value->value) > 0.01 * m.count.value) continue;
                only = &m;
                ++found;
            }
            if (found == 1) line.mesh = only->name;
        }
    }
}

void check_orders(const Scenario& scenario, const Sources& sources, Findings& findings) {
    const Room& room = scenario.room;
    const auto meshes = names_of(room.meshes);
    const auto emulsions = names_of(room.emulsions);
    const auto coat_plans = names_of(room.coat_plans);
    for (std::size_t o = 0; o < scenario.orders.size(); ++o) {
        const Order& order = scenario.orders[o];
        for (std::size_t l = 0; l < order.lines.size(); ++l) {
            const ScreenLine& line = order.lines[l];
            const std::size_t csv = sources.lines_of[o][l];
            const auto place = [&](std::string_view key) { return sources.orders.place(csv, key); };
            if (line.mesh) check_name(*line.mesh, meshes, "mesh", place("mesh"), findings);
            check_name(line.emulsion, emulsions, "emulsion", place("emulsion"), findings);
            check_name(line.coat_plan, coat_plans, "coat plan", place("coat plan"), findings);
            if (!sources.orders.sound[csv]) continue;  // its values are not all there
            if (!line.mesh && !line.finest_line && !line.ruling) {
                findings.error(
                    place("mesh"), "mesh-missing",
                    fmt::format("order {}: neither a mesh nor a finest line or ruling to choose "
                                "it from.",
                                in_quotes(order.name)),
                    fmt::format("Write a mesh: {}.", name_list(meshes)));
            }
            if (line.film_ready && order.due != SimTime{} && *line.film_ready > order.due) {
                findings.warning(
                    place("film ready"), "film-after-due",
                    fmt::format("order {} is due {}, its film comes {}: it will be late.",
                                in_quotes(order.name), format_date_time(order.due),
                                format_date_time(*line.film_ready)),
                    "Ask for the film sooner, or agree on a later time.");
            }
            check_frame_fits(room, order, line, place("frame"), findings);
            if (line.image && larger_frame(*line.image, line.frame)) {
                findings.error(place("image"), "image-too-big",
                               fmt::format("order {}: the image {} is larger than the frame {}.",
                                           in_quotes(order.name), format_size(*line.image),
                                           format_size(line.frame)),
                               "Choose a larger frame.");
            } else if (line.image && !line.kept_stencil) {
                check_lamp_distance(room, order, line, place("image"), findings);
            }
            if (const auto& limit = room.limits.two_people_from;
                limit && larger_frame(line.frame, *limit) && room.people.size() < 2) {
                findings.error(
                    place("frame"), "two-people",
                    fmt::format("order {}: the frame {} takes two people to lift, and one "
                                "works here.",
                                in_quotes(order.name), format_size(line.frame)),
                    "Add a person, or choose a smaller frame.");
            }
        }
    }
}

void check_frames(const Scenario& scenario, const Sources& sources, Findings& findings) {
    const auto meshes = names_of(scenario.room.meshes);
    const auto emulsions = names_of(scenario.room.emulsions);
    const auto coat_plans = names_of(scenario.room.coat_plans);
    const auto orders = names_of(scenario.orders);
    for (std::size_t i = 0; i < scenario.frames.size(); ++i) {
        const FrameStock& stock = scenario.frames[i];
        const auto place = [&](std::string_view key) { return sources.frames.place(i, key); };
        check_name(stock.mesh, meshes, "mesh", place("mesh"), findings);
        if (stock.emulsion) {
            check_name(*stock.emulsion, emulsions, "emulsion", place("emulsion"), findings);
        }
        if (stock.coat_plan) {
            check_name(*stock.coat_plan, coat_plans, "coat plan", place("coat plan"), findings);
        }
        if (stock.order && !orders.empty()) {
            check_name(*stock.order, orders, "order", place("order"), findings);
        }
        if (!sources.frames.sound[i]) continue;
        const bool coated = stock.state == FrameState::Coated;
        if (coated && (!stock.coated_dry || !stock.emulsion || !stock.coat_plan)) {
            findings.error(stock.place, "coated-incomplete",
                           "a coated frame needs the columns coated dry, emulsion and coat plan.",
                           "Fill them in this line, or give it another state.");
        }
        if (stock.state == FrameState::KeptStencil && !stock.order) {
            findings.error(stock.place, "kept-without-order",
                           "a kept stencil needs the order that it belongs to.",
                           "Fill the column order in this line.");
        }
        if (!coated && (stock.coated_dry || stock.emulsion || stock.coat_plan)) {
            findings.warning(stock.place, "coated-unused",
                             "coated dry, emulsion and coat plan count for coated frames only.",
                             "Leave them empty here, or write the state coated.");
        }
    }
}

void check_weather(const Sources& sources, Findings& findings) {
    const auto& lines = sources.weather.values;
    for (std::size_t i = 1; i < lines.size(); ++i) {
        if (!sources.weather.has(i, "time") || !sources.weather.has(i - 1, "time")) continue;
        if (!sources.weather.sound[i] || !sources.weather.sound[i - 1]) continue;
        if (lines[i].from > lines[i - 1].from) continue;
        findings.error(
            sources.weather.place(i, "time"), "weather-order",
            fmt::format("{} is not after {} of the line before.", format_date_time(lines[i].from),
                        format_date_time(lines[i - 1].from)),
            "Sort the lines by time, each time once.");
    }
}

void check_steps(const Scenario& scenario, const YamlNode& tree, Findings& findings) {
    const Room& room = scenario.room;
    auto needed = needed_steps(scenario);
    const bool stations_known = all_steps_known(tree, "stations", "does");
    const bool people_known = all_steps_known(tree, "people", "can");
    for (const auto& [step, why] : needed) {
        const Step s = step;
        if (!stations_known) break;
        if (std::none_of(room.stations.begin(), room.stations.end(),
                         [s](const Station& station) { return does_step(station, s); })) {
            findings.error(
                key_place(tree, "stations"), "no-station",
                fmt::format("no station does {}, which {}.", in_quotes(words_of(step)), why),
                "Add the step to does: of a station.");
        }
    }
    // Mixing and carrying need a person but no station of their own.
    for (const Pot& pot : room.pots) {
        if (!pot.needs_mixing) continue;
        needed.emplace(Step::MixDissolve, in_quotes(pot.name) + " needs");
        needed.emplace(Step::MixStir, in_quotes(pot.name) + " needs");
    }
    for (const auto& [step, why] : needed) {
        const Step s = step;
        if (!people_known) break;
        if (dries_alone(step)) continue;
        if (std::none_of(room.people.begin(), room.people.end(), [s](const Person& person) {
                return person.can.empty() ||
                       std::find(person.can.begin(), person.can.end(), s) != person.can.end();
            })) {
            findings.error(key_place(tree, "people"), "nobody-can",
                           fmt::format("nobody can {}, which {}.", in_quotes(words_of(step)), why),
                           "Add the step to can: of a person.");
        }
    }
}

}  // namespace model::read
