#pragma once
// Structs as JSON objects by their `fields` (plan_fields.hpp, size_fields.hpp), in both directions.
// Include in .cpp files only, before the fields.

#include <fmt/format.h>

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "model/base/time.hpp"
#include "sched/report/document/json_reader.hpp"

namespace sched::report {

class FieldWriter {
public:
    template <class T>
    void operator()(const char* key, const T& value) {
        out[key] = json(value);
    }
    template <class T>
    void operator()(const char* key, const std::optional<T>& value) {
        if (value) out[key] = json(*value);
    }

    template <class T>
    static Json json(const T& value) {
        if constexpr (std::is_arithmetic_v<T> || std::is_same_v<T, std::string>) {
            return value;
        } else if constexpr (std::is_same_v<T, model::SimTime>) {
            return model::format_date_time(value);
        } else if constexpr (std::is_same_v<T, model::Seconds>) {
            return value.count();
        } else {
            FieldWriter inner;
            fields(inner, value);
            return std::move(inner.out);
        }
    }
    template <class T>
    static Json json(const std::vector<T>& values) {
        Json list = Json::array();
        for (const T& value : values)
            list.push_back(json(value));
        return list;
    }

    Json out = Json::object();
};

class FieldReader {
public:
    FieldReader(JsonReader& reader, const Json& object, std::string path)
        : r_(reader), object_(object), path_(std::move(path)) {}

    template <class T>
    void operator()(const char* key, T& value) {
        read(r_.member(object_, key, path_), value, where(key));
    }
    template <class T>
    void operator()(const char* key, std::optional<T>& value) {
        value = std::nullopt;
        if (!object_.is_object() || !object_.contains(key)) return;
        value.emplace();
        read(r_.member(object_, key, path_), *value, where(key));
    }

private:
    std::string where(const char* key) const { return path_.empty() ? key : path_ + "." + key; }

    template <class T>
    void read(const Json* j, T& value, const std::string& at) {
        if constexpr (std::is_same_v<T, bool>) {
            value = r_.boolean(j, at);
        } else if constexpr (std::is_same_v<T, std::uint64_t>) {
            // A seed may use all 64 bits.
            if (j != nullptr && j->is_number_unsigned()) {
                value = j->get<std::uint64_t>();
            } else if (j != nullptr) {
                r_.fail(at, "must be a whole number from 0");
            }
        } else if constexpr (std::is_integral_v<T>) {
            value = static_cast<T>(
                r_.integer(j, std::numeric_limits<T>::min(), std::numeric_limits<T>::max(), at));
        } else if constexpr (std::is_same_v<T, double>) {
            value = r_.number(j, -1e15, 1e15, at);
        } else if constexpr (std::is_same_v<T, std::string>) {
            value = r_.text(j, at);
        } else if constexpr (std::is_same_v<T, model::Seconds>) {
            value = model::Seconds{r_.integer(j, -1'000'000'000'000, 1'000'000'000'000, at)};
        } else if constexpr (std::is_same_v<T, model::SimTime>) {
            const auto time = model::parse_date_time(r_.text(j, at));
            if (j != nullptr && !time)
                r_.fail(at, "must be a local date and time, 2026-11-26T06:00");
            value = time.value_or(model::SimTime{});
        } else if (r_.object(j, at)) {
            FieldReader inner(r_, *j, at);
            fields(inner, value);
        }
    }
    template <class T>
    void read(const Json* j, std::vector<T>& values, const std::string& at) {
        values.clear();
        if (!r_.array(j, at)) return;
        for (std::size_t i = 0; i < j->size() && r_.ok(); ++i) {
            read(&(*j)[i], values.emplace_back(), fmt::format("{}[{}]", at, i));
        }
    }

    JsonReader& r_;
    const Json& object_;
    std::string path_;
};

}  // namespace sched::report
