#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "model/read/reference.hpp"
#include "model/read/room_file.hpp"
#include "model/room/steps.hpp"

namespace model::read {

namespace {

using Json = nlohmann::ordered_json;

// "9:00", "2:30 pm", "2pm"
constexpr std::string_view clock_pattern =
    "([0-9]{1,2}:[0-9]{2}( ?[AaPp][Mm])?|[0-9]{1,2} ?[AaPp][Mm])";
constexpr std::string_view number_pattern = "-?(0|[1-9][0-9]*)(\\.[0-9]+)?";

std::string unit_pattern(Measure measure) {
    std::string out;
    for (const UnitRow& unit : units_of(measure)) {
        if (!out.empty()) out += "|";
        out += unit.name;
    }
    return "(" + out + ")";
}

std::string measured_pattern(Measure measure) {
    const std::string unit = unit_pattern(measure);
    if (measure == Measure::Size) {
        return fmt::format("^{0}\\s*{1}?\\s*[xX×]\\s*{0}\\s*{1}$", number_pattern, unit);
    }
    if (measure == Measure::Duration) {
        return fmt::format("^{0}\\s*{1}(\\s*{0}\\s*{1})*$", number_pattern, unit);
    }
    return fmt::format("^{}\\s*{}$", number_pattern, unit);
}

Json text_with(std::string pattern) {
    return Json{{"type", "string"}, {"pattern", std::move(pattern)}};
}

Json object_of(const std::vector<KeySpec>& specs);

Json value_of(const KeySpec& spec) {
    switch (spec.kind) {
        // A name like 120 is a number to a YAML reader that guesses types.
        case Kind::Text:
            return Json{{"type", Json::array({"string", "number"})}};
        case Kind::YesNo:
            return Json{{"enum", Json::array({"yes", "no", true, false})}};
        case Kind::Count:
        case Kind::Number: {
            Json out{{"type", spec.kind == Kind::Count ? "integer" : "number"}};
            if (!spec.least.empty()) out["minimum"] = *parse_number(spec.least).value;
            if (!spec.most.empty()) out["maximum"] = *parse_number(spec.most).value;
            return out;
        }
        case Kind::Measured:
            return text_with(measured_pattern(*spec.measure));
        case Kind::Currency:
            return text_with("^[A-Z]{3}$");
        case Kind::Altitude:
            return text_with(measured_pattern(Measure::Altitude));
        case Kind::Date:
            return text_with("^[0-9]{4}-[0-9]{2}-[0-9]{2}$");
        case Kind::DateTime:
            return text_with("^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$");
        case Kind::TimeOfDay:
            // A YAML 1.1 reader takes 11:00 for a number to the base of sixty.
            return Json{{"type", Json::array({"string", "number"})},
                        {"pattern", fmt::format("^{}$", clock_pattern)}};
        case Kind::Shift:
            return text_with(
                fmt::format("^[A-Za-z]+([-,][ ]*[A-Za-z]+)* +{0} *- *{0}$", clock_pattern));
        case Kind::Break:
            return text_with(fmt::format("^.+ (at {0}|between {0} and {0})$", clock_pattern));
        case Kind::Window:
            return text_with("^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ].+ to .+$");
        case Kind::Choice:
            return Json{{"enum", spec.choices}};
        case Kind::StepWord: {
            std::vector<std::string> words = all_step_words();
            words.insert(words.end(), spec.choices.begin(), spec.choices.end());
            return Json{{"enum", words}};
        }
        case Kind::Group:
            return object_of(spec.inner);
        case Kind::NamedGroup:
            return Json{{"type", "object"}, {"additionalProperties", object_of(spec.inner)}};
        case Kind::StepTimes: {
            Json words = Json::object();
            for (const KeySpec& word : spec.inner)  // alike for each: said once, below
                words[word.key] = Json{{"$ref", "#/definitions/step_time"}};
            return Json{{"type", "object"}, {"properties", words}, {"additionalProperties", false}};
        }
    }
    return {};
}

Json described(const KeySpec& spec) {
    Json value = value_of(spec);
    Json out = Json::object();
    std::string help = spec.help;
    if (!spec.fallback.empty()) help += " Left out: " + spec.fallback + ".";
    out["description"] = help;
    if (!spec.list) {
        out.update(value);
    } else if (spec.kind == Kind::Group) {
        out["type"] = "array";
        out["items"] = value;
    } else {
        out["anyOf"] =
            Json::array({value, Json{{"type", "array"}, {"items", value}, {"minItems", 1}}});
    }
    return out;
}

Json object_of(const std::vector<KeySpec>& specs) {
    Json properties = Json::object();
    Json required = Json::array();
    for (const KeySpec& spec : specs) {
        properties[spec.key] = described(spec);
        if (spec.required) required.push_back(spec.key);
    }
    Json out{{"type", "object"}, {"properties", properties}};
    if (!required.empty()) out["required"] = required;
    out["additionalProperties"] = false;
    return out;
}

}  // namespace

std::string room_schema() {
    Json out{{"$schema", "http://json-schema.org/draft-07/schema#"},
             {"title", "Coatroom room.yaml"},
             {"description",
              "Written from the reader's own tables; limits with units and names across lists are "
              "checked by coatroom check."}};
    out.update(object_of(specs_of(room_table())));
    out["definitions"] = {
        {"step_time", Json{{"anyOf", Json::array({text_with(measured_pattern(Measure::Duration)),
                                                  object_of(specs_of(step_time_table()))})}}}};
    return out.dump(1) + "\n";
}

}  // namespace model::read
