#pragma once
// What a key of an input file is: one row says its name, kind, limits, default and help, and reads
// it into its member. Reader, JSON Schema and the reference in docs walk the same rows.

#include <concepts>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "model/base/units.hpp"
#include "model/read/findings.hpp"
#include "model/read/shift_words.hpp"
#include "model/read/yaml.hpp"
#include "model/room/chance.hpp"
#include "model/room/order.hpp"
#include "model/room/past_mark.hpp"
#include "model/room/room.hpp"

namespace model::read {

enum class Kind {
    Text,
    Currency,  // three letters of ISO 4217
    YesNo,
    Count,
    Number,
    Measured,  // number and unit, see KeySpec::measure
    Altitude,
    Date,
    DateTime,
    TimeOfDay,
    Shift,
    Break,
    Window,
    Choice,
    StepWord,
    Group,      // a mapping with the keys of `inner`
    StepTimes,  // step word -> time, or a mapping with the keys of `inner`
    NamedGroup  // own name -> a mapping with the keys of `inner`
};

/// The part of a row that documentation and schema need.
struct KeySpec {
    std::string key;
    std::string former;  // what the key was called before; still read, with a warning
    Kind kind = Kind::Text;
    std::optional<Measure> measure;
    bool required = false;
    bool list = false;     // one value, or a list of values; of Group: a list of mappings
    std::string fallback;  // what a missing key means, readable by the same row; "" none
    std::string least;     // smallest and largest value, as text; "" no limit
    std::string most;
    std::string example;
    std::string help;
    std::vector<std::string> choices;
    std::vector<KeySpec> inner;
};

/// The words of a row, for the tables.
struct Words {
    bool required = false;
    std::string fallback;
    std::string least;
    std::string most;
    std::string example;
    std::string help;
    std::string former;
};

template <class T>
struct Row {
    KeySpec spec;
    std::function<void(Findings&, const KeySpec&, const YamlNode&, T&)> read;
};
template <class T>
using Table = std::vector<Row<T>>;

template <class T>
std::vector<KeySpec> specs_of(const Table<T>& table) {
    std::vector<KeySpec> out;
    for (const Row<T>& row : table)
        out.push_back(row.spec);
    return out;
}

// ---- traits: how each type of value is read --------------------------------------------------

template <class M>
struct Trait;

template <class M, Kind K, Reading<M> (*Parse)(std::string_view)>
struct PlainTrait {
    using Value = M;
    static constexpr Kind kind = K;
    static std::optional<Measure> measure() { return std::nullopt; }
    static Reading<M> parse(std::string_view text) { return Parse(text); }
};
template <class M, Measure W, Reading<M> (*Parse)(std::string_view)>
struct MeasuredTrait {
    using Value = M;
    static constexpr Kind kind = Kind::Measured;
    static std::optional<Measure> measure() { return W; }
    static Reading<M> parse(std::string_view text) { return Parse(text); }
};

Reading<bool> parse_yes_no(std::string_view text);
Reading<std::string> parse_text(std::string_view text);
Reading<std::string> parse_currency(std::string_view text);  // "EUR"
Reading<LocalDate> parse_local_date(std::string_view text);
Reading<SimTime> parse_local_date_time(std::string_view text);
Reading<Seconds> parse_clock(std::string_view text);  // "11:00", seconds after midnight
Reading<RelativeHumidity> parse_humidity(std::string_view text);
Reading<double> parse_hours(std::string_view text);  // a duration, as hours
Reading<double> parse_share(std::string_view text);  // a percentage, as a fraction

// clang-format off
template <> struct Trait<bool> : PlainTrait<bool, Kind::YesNo, parse_yes_no> {};
template <> struct Trait<int> : PlainTrait<int, Kind::Count, parse_count> {};
template <> struct Trait<double> : PlainTrait<double, Kind::Number, parse_number> {};
template <> struct Trait<std::string> : PlainTrait<std::string, Kind::Text, parse_text> {};
template <> struct Trait<LocalDate> : PlainTrait<LocalDate, Kind::Date, parse_local_date> {};
template <> struct Trait<SimTime> : PlainTrait<SimTime, Kind::DateTime, parse_local_date_time> {};
template <> struct Trait<Shift> : PlainTrait<Shift, Kind::Shift, parse_shift> {};
template <> struct Trait<Break> : PlainTrait<Break, Kind::Break, parse_break> {};
template <> struct Trait<std::pair<SimTime, SimTime>>
    : PlainTrait<std::pair<SimTime, SimTime>, Kind::Window, parse_window> {};
template <> struct Trait<Seconds> : MeasuredTrait<Seconds, Measure::Duration, parse_duration> {};
template <> struct Trait<Area> : MeasuredTrait<Area, Measure::Size, parse_size> {};
template <> struct Trait<Micrometres> : MeasuredTrait<Micrometres, Measure::Length, parse_micrometres> {};
template <> struct Trait<Centimetres> : MeasuredTrait<Centimetres, Measure::Length, parse_centimetres> {};
template <> struct Trait<ThreadsPerCm> : MeasuredTrait<ThreadsPerCm, Measure::PerLength, parse_threads> {};
template <> struct Trait<LinesPerCm> : MeasuredTrait<LinesPerCm, Measure::PerLength, parse_ruling> {};
template <> struct Trait<Celsius> : MeasuredTrait<Celsius, Measure::Temperature, parse_temperature> {};
template <> struct Trait<Fraction> : MeasuredTrait<Fraction, Measure::Percent, parse_percent> {};
template <> struct Trait<RelativeHumidity> : MeasuredTrait<RelativeHumidity, Measure::Percent, parse_humidity> {};
template <> struct Trait<CubicMetresPerHour> : MeasuredTrait<CubicMetresPerHour, Measure::AirFlow, parse_air_flow> {};
template <> struct Trait<MetresPerSecond> : MeasuredTrait<MetresPerSecond, Measure::Speed, parse_speed> {};
template <> struct Trait<Watts> : MeasuredTrait<Watts, Measure::Power, parse_power> {};
template <> struct Trait<Millilitres> : MeasuredTrait<Millilitres, Measure::Volume, parse_volume> {};
template <> struct Trait<Pascals> : MeasuredTrait<Pascals, Measure::Pressure, parse_pressure> {};
struct AmountTrait : MeasuredTrait<Millilitres, Measure::Amount, parse_amount> {};
struct CurrencyTrait : PlainTrait<std::string, Kind::Currency, parse_currency> {};
struct ClockTrait : PlainTrait<Seconds, Kind::TimeOfDay, parse_clock> {};
struct DensityTrait : MeasuredTrait<double, Measure::Density, parse_density> {};
struct HoursTrait : MeasuredTrait<double, Measure::Duration, parse_hours> {};
struct ShareTrait : MeasuredTrait<double, Measure::Percent, parse_share> {};
struct AltitudeTrait : PlainTrait<Pascals, Kind::Altitude, parse_altitude> {};
// clang-format on

/// Words for the values of an enum, in the order in which documentation lists them.
template <class E>
using Choices = std::vector<std::pair<std::string, E>>;
const Choices<LampKind>& choices_of(LampKind);
const Choices<EmulsionFamily>& choices_of(EmulsionFamily);
const Choices<Aim>& choices_of(Aim);
const Choices<FrameState>& choices_of(FrameState);
const Choices<LawKind>& choices_of(LawKind);
const Choices<MarkKind>& choices_of(MarkKind);

template <class M>
struct WithoutOptional {
    using type = M;
};
template <class M>
struct WithoutOptional<std::optional<M>> {
    using type = M;
};
template <class M>
using Bare = typename WithoutOptional<M>::type;

// ---- reading one value -----------------------------------------------------------------------

/// @returns the text of a scalar; nullptr after reporting that there is none.
const std::string* scalar_text(Findings& findings, const KeySpec& spec, const YamlNode& node);
/// Reports why `text` is no value of the row, with what to write.
void report_value(Findings& findings, const KeySpec& spec, const YamlNode& node,
                  const std::string& problem);
void report_range(Findings& findings, const KeySpec& spec, const YamlNode& node, bool too_small);
void report_choice(Findings& findings, const KeySpec& spec, const YamlNode& node);

template <class TraitOf>
std::optional<typename TraitOf::Value> read_scalar(Findings& findings, const KeySpec& spec,
                                                   const YamlNode& node) {
    const std::string* text = scalar_text(findings, spec, node);
    if (text == nullptr) return std::nullopt;
    auto read = TraitOf::parse(*text);
    if (!read.value) {
        report_value(findings, spec, node, read.problem);
        return std::nullopt;
    }
    if constexpr (std::totally_ordered<typename TraitOf::Value>) {
        if (!spec.least.empty() && *read.value < *TraitOf::parse(spec.least).value) {
            report_range(findings, spec, node, true);
            return std::nullopt;
        }
        if (!spec.most.empty() && *TraitOf::parse(spec.most).value < *read.value) {
            report_range(findings, spec, node, false);
            return std::nullopt;
        }
    }
    return read.value;
}

template <class E>
std::optional<E> read_choice(Findings& findings, const KeySpec& spec, const YamlNode& node) {
    const std::string* text = scalar_text(findings, spec, node);
    if (text == nullptr) return std::nullopt;
    for (const auto& [word, value] : choices_of(E{})) {
        if (word == *text) return value;
    }
    report_choice(findings, spec, node);
    return std::nullopt;
}

template <class M>
std::optional<M> read_one(Findings& findings, const KeySpec& spec, const YamlNode& node) {
    if constexpr (std::is_enum_v<M>) {
        return read_choice<M>(findings, spec, node);
    } else {
        return read_scalar<Trait<M>>(findings, spec, node);
    }
}

/// The values of a list, or the one value that stands alone.
std::vector<const YamlNode*> values_of(const YamlNode& node);

// ---- rows ------------------------------------------------------------------------------------

KeySpec spec_of(std::string key, Kind kind, Words words);

template <class M>
KeySpec spec_for(std::string key, Words words) {
    if constexpr (std::is_enum_v<M>) {
        KeySpec spec = spec_of(std::move(key), Kind::Choice, std::move(words));
        for (const auto& choice : choices_of(M{}))
            spec.choices.push_back(choice.first);
        return spec;
    } else {
        KeySpec spec = spec_of(std::move(key), Trait<M>::kind, std::move(words));
        spec.measure = Trait<M>::measure();
        return spec;
    }
}

/// One value.
template <class T, class M>
Row<T> row(std::string key, M T::*member, Words words) {
    using Value = Bare<M>;
    return {spec_for<Value>(std::move(key), std::move(words)),
            [member](Findings& findings, const KeySpec& spec, const YamlNode& node, T& out) {
                if (auto value = read_one<Value>(findings, spec, node)) {
                    out.*member = *std::move(value);
                }
            }};
}

/// One value of a type that is written in another way than its like.
template <class TraitOf, class T, class M>
Row<T> row_as(std::string key, M T::*member, Words words) {
    Row<T> out{spec_of(std::move(key), TraitOf::kind, std::move(words)),
               [member](Findings& findings, const KeySpec& spec, const YamlNode& node, T& target) {
                   if (auto value = read_scalar<TraitOf>(findings, spec, node)) {
                       target.*member = *value;
                   }
               }};
    out.spec.measure = TraitOf::measure();
    return out;
}

/// One value or a list of them.
template <class T, class E>
Row<T> list_row(std::string key, std::vector<E> T::*member, Words words) {
    Row<T> out{spec_for<E>(std::move(key), std::move(words)),
               [member](Findings& findings, const KeySpec& spec, const YamlNode& node, T& target) {
                   (target.*member).clear();
                   for (const YamlNode* item : values_of(node)) {
                       if (auto value = read_one<E>(findings, spec, *item)) {
                           (target.*member).push_back(*std::move(value));
                       }
                   }
               }};
    out.spec.list = true;
    return out;
}

/// A list of values of a type that is written in another way than its like.
template <class TraitOf, class T, class E>
Row<T> list_row_as(std::string key, std::vector<E> T::*member, Words words) {
    Row<T> out{spec_of(std::move(key), TraitOf::kind, std::move(words)),
               [member](Findings& findings, const KeySpec& spec, const YamlNode& node, T& target) {
                   (target.*member).clear();
                   for (const YamlNode* item : values_of(node)) {
                       if (auto value = read_scalar<TraitOf>(findings, spec, *item)) {
                           (target.*member).push_back(*value);
                       }
                   }
               }};
    out.spec.measure = TraitOf::measure();
    out.spec.list = true;
    return out;
}

/// A list of step words, each adding the steps that it means. `everything`: that word empties the
/// list.
template <class T>
Row<T> steps_row(std::string key, std::vector<Step> T::*member, bool everything, Words words);

void report_unknown_key(Findings& findings, const std::vector<std::string>& known,
                        const YamlNode& key, std::string_view group);
void report_former_key(Findings& findings, const KeySpec& spec, const YamlNode& key);
void report_missing_key(Findings& findings, const KeySpec& spec, const YamlNode& node,
                        std::string_view group);
bool expect_mapping(Findings& findings, const YamlNode& node, std::string_view group);
/// Of a whole file. @returns false, reported with what to write, where all of it is comment.
bool expect_content(Findings& findings, const YamlNode& tree, std::string_view hint);

/// Reads a mapping by its table into `out`; unknown and missing keys are reported.
template <class T>
void read_mapping(Findings& findings, const Table<T>& table, const YamlNode& node,
                  std::string_view group, T& out) {
    if (!expect_mapping(findings, node, group)) return;
    std::vector<bool> seen(table.size());
    for (std::size_t i = 0; i < node.keys.size() && i < node.items.size(); ++i) {
        if (node.keys[i].kind != YamlNode::Kind::Text) continue;
        std::size_t r = 0;
        const std::string& key = node.keys[i].text;
        while (r < table.size() && table[r].spec.key != key && table[r].spec.former != key)
            ++r;
        if (r < table.size() && table[r].spec.key != key) {
            report_former_key(findings, table[r].spec, node.keys[i]);
            if (seen[r]) continue;  // by its present name
        }
        if (r == table.size()) {
            std::vector<std::string> known;
            for (const Row<T>& row : table)
                known.push_back(row.spec.key);
            report_unknown_key(findings, known, node.keys[i], group);
            continue;
        }
        seen[r] = true;
        table[r].read(findings, table[r].spec, node.items[i], out);
    }
    for (std::size_t r = 0; r < table.size(); ++r) {
        if (table[r].spec.required && !seen[r]) {
            report_missing_key(findings, table[r].spec, node, group);
        }
    }
}

/// A mapping of its own, present or absent as a whole when the member is optional.
template <class T, class M>
Row<T> group_row(std::string key, M T::*member, const Table<Bare<M>>& table, Words words) {
    Row<T> out{
        spec_of(std::move(key), Kind::Group, std::move(words)),
        [member, &table](Findings& findings, const KeySpec& spec, const YamlNode& node, T& target) {
            Bare<M> value{};
            read_mapping(findings, table, node, spec.key, value);
            target.*member = std::move(value);
        }};
    out.spec.inner = specs_of(table);
    return out;
}

/// A mapping whose keys are members of the same thing.
template <class T>
Row<T> section_row(std::string key, const Table<T>& table, Words words) {
    Row<T> out{spec_of(std::move(key), Kind::Group, std::move(words)),
               [&table](Findings& findings, const KeySpec& spec, const YamlNode& node, T& target) {
                   read_mapping(findings, table, node, spec.key, target);
               }};
    out.spec.inner = specs_of(table);
    return out;
}

void report_not_list(Findings& findings, const KeySpec& spec, const YamlNode& node);

/// A list of mappings; every item becomes an element, broken ones too, so that places stay aligned.
template <class T, class E>
Row<T> groups_row(std::string key, std::vector<E> T::*member, const Table<E>& table, Words words) {
    Row<T> out{
        spec_of(std::move(key), Kind::Group, std::move(words)),
        [member, &table](Findings& findings, const KeySpec& spec, const YamlNode& node, T& target) {
            if (node.kind == YamlNode::Kind::Broken) return;
            if (node.kind != YamlNode::Kind::List) {
                report_not_list(findings, spec, node);
                return;
            }
            for (const YamlNode& item : node.items) {
                E value{};
                value.place = item.place;
                read_mapping(findings, table, item, spec.key, value);
                (target.*member).push_back(std::move(value));
            }
        }};
    out.spec.list = true;
    out.spec.inner = specs_of(table);
    return out;
}

/// Whether a word of such a list is read: a step or its -ing form; with `everything` also that
/// word, and "everything but ...".
bool reads_as_steps(std::string_view word, bool everything);

/// Reads step words into `out`.
void read_steps(Findings& findings, const KeySpec& spec, const YamlNode& node, bool everything,
                std::vector<Step>& out);

template <class T>
Row<T> steps_row(std::string key, std::vector<Step> T::*member, bool everything, Words words) {
    Row<T> out{spec_of(std::move(key), Kind::StepWord, std::move(words)),
               [member, everything](Findings& findings, const KeySpec& spec, const YamlNode& node,
                                    T& target) {
                   read_steps(findings, spec, node, everything, target.*member);
               }};
    out.spec.list = true;
    if (everything) out.spec.choices = {"everything"};
    return out;
}

}  // namespace model::read
