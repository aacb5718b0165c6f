// What the templates of spec.hpp share: parsers of kinds that only files know, the words of
// choices, and the reports for a value that is wrong, out of range, unknown, missing or of the
// wrong shape.

#include "model/read/spec.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/base/name.hpp"
#include "model/read/shift_words.hpp"
#include "model/room/steps.hpp"

namespace model::read {

namespace {

// What to write for a value of the row.
std::string writing_hint(const KeySpec& spec) {
    switch (spec.kind) {
        case Kind::Measured:
            return std::string(how_to_write(*spec.measure));
        case Kind::Altitude:
            return std::string(how_to_write(Measure::Altitude));
        case Kind::Currency:
            return "Write the three capital letters of ISO 4217, like EUR.";
        case Kind::YesNo:
            return "Write yes or no.";
        case Kind::Count:
            return "Write a whole number.";
        case Kind::Number:
            return "Write a number like 1.2.";
        case Kind::Date:
            return "Write a date like 2026-11-26.";
        case Kind::DateTime:
            return "Write date and time like 2026-11-26 14:30.";
        case Kind::TimeOfDay:
            return "Write a time of day like 11:00.";
        case Kind::Shift:
            return "Write it like Mon-Fri 06:00-14:30.";
        case Kind::Break:
            return "Write it like 30 min at 12:00 or 15 min between 09:00 and 10:00.";
        case Kind::Window:
            return "Write it like 2026-11-26 12:00 to 13:30.";
        case Kind::Choice:
            return "Write one of: " + name_list(spec.choices, 20) + ".";
        case Kind::StepWord:
            return "Write one of: " + name_list(all_step_words(), 30) +
                   (spec.choices.empty() ? "." : ", everything, or everything but expose.");
        default:
            return spec.example.empty() ? "" : "Write it like " + spec.example + ".";
    }
}

}  // namespace

Reading<bool> parse_yes_no(std::string_view text) {
    if (text == "yes" || text == "true" || text == "Yes" || text == "YES" || text == "TRUE") {
        return {true, {}};
    }
    if (text == "no" || text == "false" || text == "No" || text == "NO" || text == "FALSE") {
        return {false, {}};
    }
    return {std::nullopt, "is neither yes nor no"};
}

Reading<std::string> parse_text(std::string_view text) {
    std::string problem = name_problem(text);
    if (!problem.empty()) return {std::nullopt, std::move(problem)};
    return {std::string(text), {}};
}

Reading<std::string> parse_currency(std::string_view text) {
    if (text.size() != 3 ||
        !std::all_of(text.begin(), text.end(), [](char c) { return c >= 'A' && c <= 'Z'; })) {
        return {std::nullopt, "is no currency code"};
    }
    return {std::string(text), {}};
}

Reading<LocalDate> parse_local_date(std::string_view text) {
    const auto date = parse_date(text);
    if (!date) return {std::nullopt, "is not a date of the calendar (year-month-day)"};
    return {*date, {}};
}

Reading<Seconds> parse_clock(std::string_view text) {
    const auto t = parse_clock_words(text);
    if (!t) return {std::nullopt, "is no time of day"};
    return {t, {}};
}

Reading<SimTime> parse_local_date_time(std::string_view text) {
    const auto time = parse_date_time(text);
    if (!time) return {std::nullopt, "is not a date and time (year-month-day hour:minute)"};
    return {*time, {}};
}

Reading<RelativeHumidity> parse_humidity(std::string_view text) {
    auto read = parse_percent(text);
    if (!read.value) return {std::nullopt, std::move(read.problem)};
    return {RelativeHumidity{read.value->value}, {}};
}

Reading<double> parse_hours(std::string_view text) {
    auto read = parse_duration(text);
    if (!read.value) return {std::nullopt, std::move(read.problem)};
    return {static_cast<double>(read.value->count()) / 3600.0, {}};
}

Reading<double> parse_share(std::string_view text) {
    auto read = parse_percent(text);
    if (!read.value) return {std::nullopt, std::move(read.problem)};
    return {read.value->value, {}};
}

const Choices<LampKind>& choices_of(LampKind) {
    static const Choices<LampKind> table{{"metal halide", LampKind::MetalHalide},
                                         {"mercury", LampKind::Mercury},
                                         {"xenon", LampKind::Xenon},
                                         {"fluorescent", LampKind::Fluorescent},
                                         {"led", LampKind::Led}};
    return table;
}
const Choices<EmulsionFamily>& choices_of(EmulsionFamily) {
    static const Choices<EmulsionFamily> table{{"diazo", EmulsionFamily::Diazo},
                                               {"dual-cure", EmulsionFamily::DualCure},
                                               {"photopolymer", EmulsionFamily::Photopolymer}};
    return table;
}
const Choices<Aim>& choices_of(Aim) {
    static const Choices<Aim> table{{"tardiness", Aim::Tardiness}, {"late orders", Aim::LateOrders},
                                    {"overtime", Aim::Overtime},   {"finish", Aim::Finish},
                                    {"holding", Aim::Holding},     {"changes", Aim::Changes}};
    return table;
}
const Choices<FrameState>& choices_of(FrameState) {
    static const Choices<FrameState> table{{"ready", FrameState::Ready},
                                           {"inky", FrameState::Inky},
                                           {"old stencil", FrameState::OldStencil},
                                           {"new mesh", FrameState::NewMesh},
                                           {"coated", FrameState::Coated},
                                           {"kept stencil", FrameState::KeptStencil}};
    return table;
}

const std::string* scalar_text(Findings& findings, const KeySpec& spec, const YamlNode& node) {
    switch (node.kind) {
        case YamlNode::Kind::Text:
            return &node.text;
        case YamlNode::Kind::Broken:
            return nullptr;
        case YamlNode::Kind::Empty:
            findings.error(node.place, "value-missing",
                           fmt::format("{} has no value.", in_quotes(spec.key)),
                           writing_hint(spec));
            return nullptr;
        case YamlNode::Kind::List:
        case YamlNode::Kind::Mapping:
            findings.error(
                node.place, "wrong-kind",
                fmt::format("{} takes a single value here, not {}.", in_quotes(spec.key),
                            node.kind == YamlNode::Kind::List ? "a list" : "a group of keys"),
                writing_hint(spec));
            return nullptr;
    }
    return nullptr;
}

void report_value(Findings& findings, const KeySpec& spec, const YamlNode& node,
                  const std::string& problem) {
    const bool measured = spec.kind == Kind::Measured || spec.kind == Kind::Altitude;
    const bool bare = measured && parse_number(node.text).value.has_value();
    findings.error(node.place, bare ? "unit-missing" : "bad-value",
                   fmt::format("{}: {} {}.", spec.key, in_quotes(node.text), problem),
                   writing_hint(spec));
}

void report_range(Findings& findings, const KeySpec& spec, const YamlNode& node, bool too_small) {
    const std::string limits =
        spec.most.empty()    ? fmt::format("Write {} or more.", spec.least)
        : spec.least.empty() ? fmt::format("Write {} or less.", spec.most)
                             : fmt::format("Write a value from {} to {}.", spec.least, spec.most);
    findings.error(node.place, "out-of-range",
                   fmt::format("{}: {} is {} than {}.", spec.key, in_quotes(node.text),
                               too_small ? "less" : "more", too_small ? spec.least : spec.most),
                   limits);
}

void report_choice(Findings& findings, const KeySpec& spec, const YamlNode& node) {
    const std::string near = did_you_mean(node.text, spec.choices);
    findings.error(node.place, "unknown-word",
                   fmt::format("{}: {} is not known here.", spec.key, in_quotes(node.text)),
                   near.empty() ? writing_hint(spec) : near);
}

std::vector<const YamlNode*> values_of(const YamlNode& node) {
    std::vector<const YamlNode*> out;
    if (node.kind == YamlNode::Kind::List) {
        for (const YamlNode& item : node.items)
            out.push_back(&item);
    } else {
        out.push_back(&node);
    }
    return out;
}

KeySpec spec_of(std::string key, Kind kind, Words words) {
    KeySpec spec;
    spec.key = std::move(key);
    spec.kind = kind;
    spec.required = words.required;
    spec.fallback = std::move(words.fallback);
    spec.least = std::move(words.least);
    spec.most = std::move(words.most);
    spec.example = std::move(words.example);
    spec.help = std::move(words.help);
    spec.former = std::move(words.former);
    return spec;
}

void report_unknown_key(Findings& findings, const std::vector<std::string>& known,
                        const YamlNode& key, std::string_view group) {
    std::string near = did_you_mean(key.text, known);
    if (near.empty() && !key.text.empty() && key.text.front() >= '0' && key.text.front() <= '9')
        near = "A comma begins the next key. If it stands in a number, write a point: 36.5.";
    findings.error(key.place, "unknown-key",
                   group.empty() ? fmt::format("the key {} is not known.", in_quotes(key.text))
                                 : fmt::format("the key {} is not known in {}.",
                                               in_quotes(key.text), in_quotes(group)),
                   near.empty() ? "Known keys: " + name_list(known, 30) + "." : near);
}

void report_former_key(Findings& findings, const KeySpec& spec, const YamlNode& key) {
    findings.warning(
        key.place, "former-key",
        fmt::format("the key {} is called {} now.", in_quotes(key.text), in_quotes(spec.key)),
        "It is read as that; write the new name.");
}

void report_missing_key(Findings& findings, const KeySpec& spec, const YamlNode& node,
                        std::string_view group) {
    findings.error(
        node.place, "key-missing",
        group.empty()
            ? fmt::format("the key {} is missing.", in_quotes(spec.key))
            : fmt::format("the key {} is missing in {}.", in_quotes(spec.key), in_quotes(group)),
        spec.example.empty() ? "Add it."
                             : fmt::format("Add it, e.g. {}: {}", spec.key, spec.example));
}

bool expect_mapping(Findings& findings, const YamlNode& node, std::string_view group) {
    if (node.kind == YamlNode::Kind::Mapping) return true;
    if (node.kind == YamlNode::Kind::Broken) return false;
    findings.error(node.place, "wrong-kind",
                   group.empty() ? "the file does not begin with keys."
                                 : fmt::format("{} takes a group of keys here.", in_quotes(group)),
                   "Write key: value, one key a line, each indented alike.");
    return false;
}

bool expect_content(Findings& findings, const YamlNode& tree, std::string_view hint) {
    if (tree.kind != YamlNode::Kind::Empty) return true;
    findings.error(findings.whole_file(), "file-empty", "there is nothing in this file.",
                   std::string(hint));
    return false;
}

void report_not_list(Findings& findings, const KeySpec& spec, const YamlNode& node) {
    findings.error(
        node.place, "wrong-kind",
        fmt::format("{} takes a list: each entry begins with a dash.", in_quotes(spec.key)),
        "Write it like \"- name: …\" on the next line, with the other keys below the name.");
}

namespace {

// The word of a step, or its -ing form: "exposing", "washing out", "drying mesh".
std::vector<Step> steps_said(std::string_view word) {
    if (auto steps = steps_of(word); !steps.empty()) return steps;
    constexpr std::pair<std::string_view, std::string_view> forms[] = {
        {"exposing", "expose"},      {"coating", "coat"},           {"stripping", "strip"},
        {"rinsing", "rinse"},        {"degreasing", "degrease"},    {"abrading", "abrade"},
        {"washing out", "wash out"}, {"inspecting", "inspect"},     {"mixing", "mix"},
        {"taking out", "take out"},  {"face coating", "face coat"},
    };
    for (const auto& [said, meant] : forms) {
        if (word == said) return steps_of(meant);
    }
    return {};
}

constexpr std::string_view all_but = "everything but ";

// "exposing", "coat and expose", "coat, expose": every step but these, in the order of the trade.
std::optional<std::vector<Step>> steps_but(std::string_view text, std::string& unknown) {
    std::vector<Step> left_out;
    while (!text.empty()) {
        const std::size_t at = std::min(text.find(", "), text.find(" and "));
        const std::string_view word = text.substr(0, at);
        const auto steps = steps_said(word);
        if (steps.empty()) {
            unknown = word;
            return std::nullopt;
        }
        left_out.insert(left_out.end(), steps.begin(), steps.end());
        // A face coat is coating, too.
        if (steps.front() == Step::Coat) left_out.push_back(Step::FaceCoat);
        text.remove_prefix(at == std::string_view::npos ? text.size()
                                                        : at + (text[at] == ',' ? 2 : 5));
    }
    std::vector<Step> out;
    for (const StepRow& row : step_rows()) {
        if (std::find(left_out.begin(), left_out.end(), row.step) == left_out.end())
            out.push_back(row.step);
    }
    return out;
}

}  // namespace

bool reads_as_steps(std::string_view word, bool everything) {
    if (everything && word == "everything") return true;
    std::string unknown;
    if (everything && word.starts_with(all_but))
        return steps_but(word.substr(all_but.size()), unknown).has_value();
    return !steps_said(word).empty();
}

void read_steps(Findings& findings, const KeySpec& spec, const YamlNode& node, bool everything,
                std::vector<Step>& out) {
    out.clear();
    if (node.kind == YamlNode::Kind::List && node.items.empty()) {
        findings.error(node.place, "value-missing",
                       fmt::format("{} is an empty list.", in_quotes(spec.key)),
                       writing_hint(spec));
    }
    for (const YamlNode* item : values_of(node)) {
        const std::string* word = scalar_text(findings, spec, *item);
        if (word == nullptr) continue;
        if (everything && *word == "everything") {
            if (node.kind == YamlNode::Kind::List && node.items.size() > 1) {
                findings.error(
                    item->place, "bad-value",
                    fmt::format("{}: \"everything\" stands beside other words.", spec.key),
                    "Write it alone, or list the steps.");
            }
            continue;
        }
        std::string unknown;
        if (everything && word->starts_with(all_but)) {
            if (auto most = steps_but(std::string_view(*word).substr(all_but.size()), unknown)) {
                for (const Step step : *most) {
                    if (std::find(out.begin(), out.end(), step) == out.end()) out.push_back(step);
                }
                continue;
            }
            word = &unknown;
        }
        const std::vector<Step> steps = steps_said(*word);
        if (steps.empty()) {
            std::vector<std::string> known = all_step_words();
            if (everything) known.emplace_back("everything");
            const std::string near = did_you_mean(*word, known);
            findings.error(
                item->place, "unknown-step",
                fmt::format("{}: {} is no step of a screen room.", spec.key, in_quotes(*word)),
                near.empty() ? writing_hint(spec) : near);
            continue;
        }
        for (const Step step : steps) {
            if (std::find(out.begin(), out.end(), step) == out.end()) out.push_back(step);
        }
    }
}

}  // namespace model::read
