// How it works: each parameter of the query is one of a list of names and goes through the same
// readers as the command line; the first fault is answered in words.

#include "sched/app/parts/enquiry_query.hpp"

#include <fmt/format.h>

#include <charconv>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "model/base/name.hpp"
#include "model/read/loose_date.hpp"
#include "sched/promise/enquiry.hpp"

namespace sched::app {

namespace {

constexpr std::size_t longest_parameter = 120;  // bytes, as names in the files

const std::vector<std::string>& query_names() {
    static const std::vector<std::string> names = {
        "screens", "mesh",  "frame",       "emulsion", "coats",
        "film",    "image", "finest-line", "ruling",   "kept-stencil",
        "wanted",  "order", "job",         "priority", "explain"};
    return names;
}

// As the command line checks its numbers.
bool whole_number(const std::string& name, const std::string& text, int low, int high, int& out,
                  std::string& problem) {
    int value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size()) {
        problem = fmt::format("Could not convert: --{} = {}", name, text);
        return false;
    }
    if (value < low || value > high) {
        problem = fmt::format("--{}: Value {} not in range {} to {}", name, text, low, high);
        return false;
    }
    out = value;
    return true;
}

bool time_of(const std::string& name, const std::string& text, const model::read::DatesFrom& dates,
             std::optional<model::SimTime>& out, std::string& problem) {
    const auto read = model::read::parse_loose_date_time(text, dates, name == "wanted");
    out = read.value;
    if (out) return true;
    problem = fmt::format("--{} {} {}. Write it as 2026-11-26T10:40, Fri 16:00 or 1 Dec 9:00.",
                          name, text, read.problem);
    return false;
}

bool said_yes(const std::string& text) {
    return text.empty() || text == "1" || text == "yes" || text == "true" || text == "on";
}

}  // namespace

std::optional<QueryEnquiry> enquiry_of_query(const model::Scenario& scenario,
                                             const std::multimap<std::string, std::string>& query,
                                             model::SimTime start, std::string& problem,
                                             std::string* field) {
    const model::read::DatesFrom dates = model::read::dates_of(scenario, start);
    const auto reading = [&](const std::string& name) {
        if (field) *field = name;
    };
    std::map<std::string, std::string> given;
    for (const auto& [said, text] : query) {
        const std::string name = said == "customer" ? "job" : said;  // as it was called before
        reading(name);
        const auto& known = query_names();
        if (std::find(known.begin(), known.end(), name) == known.end()) {
            const std::string near = model::nearest_name(name, known);
            problem = fmt::format("there is no parameter {}.{}", name.substr(0, longest_parameter),
                                  near.empty() ? "" : " Did you mean " + near + "?");
            return std::nullopt;
        }
        if (text.size() > longest_parameter) {
            problem = fmt::format("--{} is longer than {} bytes.", name, longest_parameter);
            return std::nullopt;
        }
        if (!given.emplace(name, text).second) {
            problem = fmt::format("--{} stands more than once.", name);
            return std::nullopt;
        }
    }
    // A form sends its empty fields too.
    const auto text = [&](const char* name) {
        const auto found = given.find(name);
        return found == given.end() ? std::string{} : found->second;
    };
    QueryEnquiry out;
    study::EnquiryWords words{.mesh = text("mesh"),
                              .frame = text("frame"),
                              .emulsion = text("emulsion"),
                              .coats = text("coats"),
                              .film = text("film"),
                              .image = text("image"),
                              .finest_line = text("finest-line"),
                              .ruling = text("ruling")};
    reading("screens");
    if (given.count("screens") == 0) {
        problem =
            "say what is asked for (--screens, --mesh, --frame, --coats), or name a file "
            "(--enquiries).";
        return std::nullopt;
    }
    if (!whole_number("screens", text("screens"), 1, 64, words.count, problem)) return std::nullopt;
    words.kept_stencil = given.count("kept-stencil") > 0 && said_yes(text("kept-stencil"));
    out.explain = given.count("explain") > 0 && said_yes(text("explain"));
    out.enquiry.name = text("order");
    out.enquiry.customer = text("job");
    for (const char* name : {"order", "job"}) {
        reading(name);
        const std::string wrong = text(name).empty() ? "" : model::name_problem(text(name));
        if (wrong.empty()) continue;
        problem = fmt::format("--{} {}.", name, wrong);
        return std::nullopt;
    }
    reading("priority");
    if (!text("priority").empty() &&
        !whole_number("priority", text("priority"), 1, 9, out.enquiry.priority, problem))
        return std::nullopt;
    reading("wanted");
    if (!text("wanted").empty() &&
        !time_of("wanted", text("wanted"), dates, out.enquiry.wanted, problem))
        return std::nullopt;
    std::optional<model::SimTime> film;
    reading("film");
    if (!words.film.empty()) {
        if (!time_of("film", words.film, dates, film, problem)) return std::nullopt;
        words.film = model::format_date_time(*film);
    }
    auto line = study::line_of(scenario, words, problem, field);
    if (!line) return std::nullopt;
    reading("");
    out.enquiry.lines.push_back(*std::move(line));
    return out;
}

}  // namespace sched::app
