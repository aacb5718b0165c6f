// How it works: the tables of keys are walked group by group and each becomes a table of the
// documentation; a document is renewed between its marks.

#include "model/read/reference.hpp"

#include <fmt/format.h>

#include <utility>

#include "model/read/chance_file.hpp"
#include "model/read/enquiry_file.hpp"
#include "model/read/mark_file.hpp"
#include "model/read/order_file.hpp"
#include "model/read/promise_file.hpp"
#include "model/read/room_file.hpp"
#include "model/read/state_file.hpp"
#include "model/room/steps.hpp"

namespace model::read {

namespace {

std::string kind_words(const KeySpec& spec) {
    switch (spec.kind) {
        case Kind::Text:
            return "text";
        case Kind::YesNo:
            return "yes or no";
        case Kind::Count:
            return "whole number";
        case Kind::Number:
            return "number";
        case Kind::Date:
            return "date";
        case Kind::DateTime:
            return "date and time";
        case Kind::TimeOfDay:
            return "time of day";
        case Kind::Shift:
            return "shift";
        case Kind::Break:
            return "break";
        case Kind::Window:
            return "time to time";
        case Kind::StepWord:
            return "steps";
        case Kind::StepTimes:
            return "step: time";
        case Kind::NamedGroup:
            return "name: keys";
        case Kind::Group:
            return spec.list ? "list of keys" : "keys";
        case Kind::Currency:
            return "currency code";
        case Kind::Altitude:
            return "length";
        case Kind::Choice:
            return name_list(spec.choices, 20);
        case Kind::Measured:
            break;
    }
    switch (*spec.measure) {
        case Measure::Duration:
            return "time span";
        case Measure::Length:
            return "length";
        case Measure::Size:
            return "size";
        case Measure::PerLength:
            return "count per length";
        case Measure::Temperature:
            return "temperature";
        case Measure::Percent:
            return "percentage";
        case Measure::AirFlow:
            return "air flow";
        case Measure::Speed:
            return "speed";
        case Measure::Power:
            return "power";
        case Measure::Volume:
            return "volume";
        case Measure::Density:
            return "density";
        case Measure::Pressure:
            return "pressure";
        case Measure::Altitude:
            return "altitude";
        case Measure::Amount:
            return "amount";
    }
    return {};
}

std::string limits_words(const KeySpec& spec) {
    if (spec.least.empty() && spec.most.empty()) return "";
    if (spec.most.empty()) return "from " + spec.least;
    if (spec.least.empty()) return "to " + spec.most;
    return spec.least + " to " + spec.most;
}

std::string table_of(const std::vector<KeySpec>& specs, std::string_view what) {
    std::string out =
        fmt::format("| {} | takes | limits | if left out | example | meaning |\n", what);
    out += "|---|---|---|---|---|---|\n";
    for (const KeySpec& spec : specs) {
        std::string left_out = spec.required           ? "must be there"
                               : spec.fallback.empty() ? "–"
                                                       : spec.fallback;
        out += fmt::format("| `{}` | {} | {} | {} | {} | {} |\n", spec.key, kind_words(spec),
                           limits_words(spec), left_out,
                           spec.example.empty() ? "" : "`" + spec.example + "`", spec.help);
    }
    return out;
}

std::string steps_table() {
    std::string out = "| word | in a list of steps it means |\n|---|---|\n";
    for (const StepWord& word : step_words()) {
        std::string meaning;
        for (const Step step : word.steps) {
            if (!meaning.empty()) meaning += ", ";
            meaning += words_of(step);
        }
        out += fmt::format("| `{}` | {} |\n", word.word, meaning);
    }
    return out;
}

constexpr std::pair<Measure, std::string_view> all_measures[] = {
    {Measure::Duration, "time span"},
    {Measure::Length, "length"},
    {Measure::Size, "size"},
    {Measure::PerLength, "count per length"},
    {Measure::Temperature, "temperature"},
    {Measure::Percent, "percentage"},
    {Measure::AirFlow, "air flow"},
    {Measure::Speed, "speed"},
    {Measure::Power, "power"},
    {Measure::Volume, "volume"},
    {Measure::Density, "density"},
    {Measure::Pressure, "pressure"},
    {Measure::Altitude, "altitude"},
    {Measure::Amount, "amount"},
};

std::string units_table() {
    std::string out = "| what | units | how |\n|---|---|---|\n";
    for (const auto& [measure, name] : all_measures) {
        std::string units;
        for (const UnitRow& unit : units_of(measure)) {
            if (!units.empty()) units += ", ";
            units += fmt::format("`{}`", unit.name);
        }
        out += fmt::format("| {} | {} | {} |\n", name, units, how_to_write(measure));
    }
    return out;
}

// Every group with keys of its own, by its path from the root.
using NamedTable = std::pair<std::string, std::vector<KeySpec>>;
void collect(const std::string& path, const std::vector<KeySpec>& specs,
             std::vector<NamedTable>& out) {
    for (const KeySpec& spec : specs) {
        const std::string name = path.empty() ? spec.key : path + "/" + spec.key;
        if (spec.kind == Kind::StepTimes) {
            out.emplace_back(name, spec.inner.front().inner);
            collect(name, spec.inner.front().inner, out);
        } else if (!spec.inner.empty()) {
            out.emplace_back(name, spec.inner);
            collect(name, spec.inner, out);
        }
    }
}

std::vector<NamedTable> named_tables() {
    const std::vector<KeySpec> room = specs_of(room_table());
    std::vector<NamedTable> out{{"room", room}};
    collect("", room, out);
    return out;
}

// A law is the same wherever it stands: one table for all of them.
std::vector<NamedTable> chance_tables() {
    const std::vector<KeySpec> specs = specs_of(chance_table());
    std::vector<NamedTable> out{{"chance.yaml", specs}};
    for (const KeySpec& spec : specs) {
        if (spec.inner.empty()) continue;
        out.emplace_back("chance.yaml/" + (spec.key == "film delay" ? "law" : spec.key),
                         spec.inner);
    }
    return out;
}

std::vector<NamedTable> state_tables() {
    const std::vector<KeySpec> specs = specs_of(state_table());
    std::vector<NamedTable> out{{"state.yaml", specs}};
    for (const KeySpec& spec : specs)
        out.emplace_back("state.yaml/" + spec.key, spec.inner);
    return out;
}

}  // namespace

std::vector<std::string> reference_names() {
    std::vector<std::string> names;
    for (const NamedTable& table : named_tables())
        names.push_back(table.first);
    for (const NamedTable& table : chance_tables())
        names.push_back(table.first);
    for (const NamedTable& table : state_tables())
        names.push_back(table.first);
    for (const char* name : {"orders.csv", "frames.csv", "enquiries", "weather.csv", "promises.csv",
                             "arrivals.csv", "marks", "steps", "units"}) {
        names.emplace_back(name);
    }
    return names;
}

std::string reference_table(std::string_view name) {
    if (name == "steps") return steps_table();
    if (name == "units") return units_table();
    if (name == "orders.csv") return table_of(specs_of(order_table()), "column");
    if (name == "frames.csv") return table_of(specs_of(frame_table()), "column");
    if (name == "enquiries") return table_of(specs_of(enquiry_table()), "column");
    if (name == "weather.csv") return table_of(specs_of(weather_table()), "column");
    if (name == "promises.csv") return table_of(specs_of(past_promise_table()), "column");
    if (name == "marks") return table_of(specs_of(past_mark_table()), "column");
    if (name == "arrivals.csv") return table_of(specs_of(arrivals_table()), "column");
    for (const NamedTable& table : state_tables()) {
        if (table.first == name) return table_of(table.second, "key");
    }
    for (const NamedTable& table : chance_tables()) {
        if (table.first == name) return table_of(table.second, "key");
    }
    for (const NamedTable& table : named_tables()) {
        if (table.first == name) return table_of(table.second, "key");
    }
    return {};
}

std::string renew_tables(std::string_view markdown) {
    constexpr std::string_view begin = "<!-- table: ";
    constexpr std::string_view close = " -->\n";
    constexpr std::string_view end = "<!-- end -->";
    std::string out;
    while (true) {
        const std::size_t at = markdown.find(begin);
        const std::size_t name_end = markdown.find(close, at);
        const std::size_t stop = markdown.find(end, name_end);
        if (at == std::string_view::npos || name_end == std::string_view::npos ||
            stop == std::string_view::npos) {
            return out + std::string(markdown);
        }
        const std::string_view name =
            markdown.substr(at + begin.size(), name_end - at - begin.size());
        out += markdown.substr(0, name_end + close.size());
        out += reference_table(name);
        markdown.remove_prefix(stop);
    }
}

}  // namespace model::read
