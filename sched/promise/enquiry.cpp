// How it works: each word is looked for among the names of the room first, then among numbers
// with tolerances for what people round (threads per inch), then with the centimetres that they
// leave out. What is not found comes back as words with the names that there are.

#include "sched/promise/enquiry.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>

#include "model/base/units.hpp"
#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"

namespace sched::study {

namespace {

template <class List>
std::string names_in(const List& list) {
    std::string out;
    for (const auto& x : list)
        out += (out.empty() ? "" : ", ") + x.name;
    return out;
}

template <class List>
bool has_name(const List& list, const std::string& name) {
    return std::any_of(list.begin(), list.end(), [&](const auto& x) { return x.name == name; });
}

std::string unspaced(const std::string& text) {
    std::string out;
    for (const char c : text) {
        if (c != ' ') out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    }
    return out;
}

std::optional<std::string> mesh_named(const model::Scenario& s, const std::string& text,
                                      std::string& problem) {
    const auto& meshes = s.room.meshes;
    if (has_name(meshes, text)) return text;
    const auto count = model::parse_threads(text);
    if (!count.value) {
        problem = "there is no mesh " + text + " in the room. Known: " + names_in(meshes) + ".";
        return std::nullopt;
    }
    // Threads per inch and per cm are rounded when people say them: 305 /in is 120 /cm.
    std::vector<std::string> found;
    for (const auto& mesh : meshes) {
        if (std::abs(mesh.count.value - count.value->value) <= 0.01 * mesh.count.value)
            found.push_back(mesh.name);
    }
    if (found.size() == 1) return found.front();
    problem = found.empty() ? "no mesh of the room has " + text : "more than one mesh has " + text;
    problem += "; name one of: " + names_in(meshes) + ".";
    return std::nullopt;
}

std::optional<std::string> coats_named(const model::Scenario& s, const std::string& text,
                                       std::string& problem) {
    const auto& plans = s.room.coat_plans;
    if (has_name(plans, text)) return text;
    if (text.empty() && plans.size() == 1) return plans.front().name;
    const std::string wanted = unspaced(text);
    for (const auto& plan : plans) {
        if (unspaced(plan.name) == wanted) return plan.name;
    }
    for (const auto& plan : plans) {
        if (plan.face == 0 &&
            std::to_string(plan.print_side) + "+" + std::to_string(plan.squeegee_side) == wanted) {
            return plan.name;
        }
    }
    problem = text.empty() ? "the coat plan is missing" : "there is no coat plan " + text;
    problem += ". Known: " + names_in(plans) + ".";
    return std::nullopt;
}

std::optional<std::string> emulsion_named(const model::Scenario& s, const EnquiryWords& words,
                                          const std::optional<std::string>& mesh,
                                          std::string& problem) {
    const auto& emulsions = s.room.emulsions;
    if (has_name(emulsions, words.emulsion)) return words.emulsion;
    if (!words.emulsion.empty() || emulsions.empty()) {
        problem =
            "there is no emulsion " + words.emulsion + ". Known: " + names_in(emulsions) + ".";
        return std::nullopt;
    }
    std::map<std::string, int> used;
    for (const auto& order : s.orders) {
        for (const auto& line : order.lines)
            used[line.emulsion] += line.count * (mesh && line.mesh == mesh ? 1000 : 1);
    }
    std::string best = emulsions.front().name;
    for (const auto& emulsion : emulsions) {
        if (used[emulsion.name] > used[best]) best = emulsion.name;
    }
    return best;
}

}  // namespace

std::optional<model::ScreenLine> line_of(const model::Scenario& scenario, const EnquiryWords& words,
                                         std::string& problem, std::string* field) {
    model::ScreenLine line;
    const auto now_reading = [&](const char* name) {
        if (field) *field = name;
    };
    now_reading("screens");
    if (words.count < 1 || words.count > 64) {
        problem = "an enquiry is for 1 to 64 screens of a kind.";
        return std::nullopt;
    }
    line.count = words.count;
    now_reading("mesh");
    if (!words.mesh.empty()) {
        line.mesh = mesh_named(scenario, words.mesh, problem);
        if (!line.mesh) return std::nullopt;
    } else if (words.finest_line.empty() && words.ruling.empty()) {
        problem = "the mesh is missing. Known: " + names_in(scenario.room.meshes) + ".";
        return std::nullopt;
    }
    now_reading("frame");
    // People say "58 x 84" and mean centimetres; where all frames are written in inches, inches.
    const bool inches = !scenario.frames.empty() &&
                        std::all_of(scenario.frames.begin(), scenario.frames.end(),
                                    [](const model::FrameStock& f) { return f.size.in_inches; });
    const bool bare =
        !words.frame.empty() && std::isdigit(static_cast<unsigned char>(words.frame.back())) != 0;
    const auto frame =
        model::parse_size(bare ? words.frame + (inches ? " in" : " cm") : words.frame);
    if (!frame.value) {
        problem = "the frame \"" + words.frame + "\" " + frame.problem + ". Write " +
                  (inches ? "23 x 33 in." : "58 x 84 cm.");
        return std::nullopt;
    }
    line.frame = *frame.value;
    now_reading("coats");
    const auto coats = coats_named(scenario, words.coats, problem);
    if (!coats) return std::nullopt;
    line.coat_plan = *coats;
    now_reading("emulsion");
    const auto emulsion = emulsion_named(scenario, words, line.mesh, problem);
    if (!emulsion) return std::nullopt;
    line.emulsion = *emulsion;
    line.kept_stencil = words.kept_stencil;
    now_reading("film");
    if (!words.film.empty()) {
        line.film_ready = model::parse_date_time(words.film);
        if (!line.film_ready) {
            problem = "\"" + words.film + "\" is no local date and time. Write 2026-11-26T09:30.";
            return std::nullopt;
        }
    }
    const auto read = [&](const std::string& text, auto parse, auto& into, const char* what,
                          const char* name) {
        now_reading(name);
        if (text.empty()) return true;
        const auto value = parse(text);
        if (!value.value) {
            problem = std::string("the ") + what + " \"" + text + "\" " + value.problem + ".";
            return false;
        }
        into = *value.value;
        return true;
    };
    if (!read(words.image, model::parse_size, line.image, "image", "image") ||
        !read(words.finest_line, model::parse_micrometres, line.finest_line, "finest line",
              "finest-line") ||
        !read(words.ruling, model::parse_ruling, line.ruling, "ruling", "ruling")) {
        return std::nullopt;
    }
    now_reading("frame");
    if (const auto too_big = model::fits_nowhere(scenario.room, line)) {
        // Before the store is asked: a frame of that size would help nobody.
        problem = "the frame " + model::format_size(line.frame) + " fits no station that does \"" +
                  std::string(model::words_of(too_big->step)) + "\".";
        if (too_big->most)
            problem += " Ask for a frame of at most " + model::format_size(*too_big->most) + ".";
        return std::nullopt;
    }
    now_reading("");
    return line;
}

}  // namespace sched::study
