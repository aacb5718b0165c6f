// How it works: the text is parsed once with bounds on size and depth; every access then names
// its path and either gives a checked value or notes a fault and gives a harmless one, so that
// readers run through and report all that is wrong.

#include "sched/report/document/json_reader.hpp"

#include <fmt/format.h>

namespace sched::report {

namespace {

constexpr int most_failures = 50;

std::string compact(const Json& value) {
    return value.dump(-1, ' ', false, Json::error_handler_t::replace);
}

/// Counts, and stops where there is too much.
class Bounds : public nlohmann::json_sax<Json> {
public:
    std::string what;  // why it stopped

    bool null() override { return one(); }
    bool boolean(bool) override { return one(); }
    bool number_integer(number_integer_t) override { return one(); }
    bool number_unsigned(number_unsigned_t) override { return one(); }
    bool number_float(number_float_t, const string_t&) override { return one(); }
    bool string(string_t&) override { return one(); }
    bool binary(binary_t&) override { return one(); }
    bool start_object(std::size_t) override { return open(); }
    bool start_array(std::size_t) override { return open(); }
    bool end_object() override { return close(); }
    bool end_array() override { return close(); }
    bool key(string_t&) override {
        // Look-up in an ordered object is linear: a million members would take hours.
        if (++keys_.back() > plan_max_members) return stop("an object with too many members");
        return one();
    }
    bool parse_error(std::size_t, const std::string&,
                     const nlohmann::detail::exception& e) override {
        return stop(fmt::format("not JSON: {}", e.what()));
    }

private:
    bool stop(std::string words) {
        what = std::move(words);
        return false;
    }
    bool one() { return ++values_ <= plan_max_values || stop("too many values"); }
    bool open() {
        keys_.push_back(0);
        if (keys_.size() > static_cast<std::size_t>(plan_max_depth) + 1)
            return stop("nested too deeply");
        return one();
    }
    bool close() {
        keys_.pop_back();
        return true;
    }

    std::size_t values_ = 0;
    std::vector<int> keys_;  // of each object or array that is open
};

bool holds_rows(const Json& value) {
    return value.is_array() && !value.empty() && value.front().is_structured();
}

bool holds_tables(const Json& value) {
    if (!value.is_object()) return false;
    for (const auto& member : value) {
        if (holds_rows(member)) return true;
    }
    return false;
}

void put(const Json& value, std::size_t indent, std::string& out) {
    const std::string margin(indent + 1, ' ');
    const bool rows = holds_rows(value);
    if (!rows && !holds_tables(value)) {
        out += compact(value);
        return;
    }
    out += rows ? "[\n" : "{\n";
    bool first = true;
    for (const auto& [key, member] : value.items()) {
        if (!first) out += ",\n";
        first = false;
        out += margin;
        if (rows) {
            out += compact(member);
        } else {
            out += compact(Json(key)) + ": ";
            put(member, indent + 1, out);
        }
    }
    out += "\n" + std::string(indent, ' ') + (rows ? "]" : "}");
}

}  // namespace

std::optional<Json> JsonReader::parse(std::string_view text) {
    if (text.size() > plan_max_bytes) {
        fail("", fmt::format("the file has {} bytes; at most {} are read", text.size(),
                             plan_max_bytes));
        return std::nullopt;
    }
    // Bounds first, in a pass that keeps nothing. The library's own call-back parser would look
    // through the whole array again for each object in it that ends.
    Bounds bounds;
    try {
        if (!Json::sax_parse(text.begin(), text.end(), &bounds)) {
            fail("", bounds.what);
            return std::nullopt;
        }
        return Json::parse(text.begin(), text.end());
    } catch (const Json::exception& e) {
        fail("", fmt::format("not JSON: {}", e.what()));
    }
    return std::nullopt;
}

void JsonReader::fail(const std::string& path, const std::string& what) {
    ++failures_;
    if (failures_ > most_failures) return;
    diagnostics_.error({.file = file_}, "plan-file", (path.empty() ? "" : path + ": ") + what,
                       failures_ == most_failures ? "Further errors are not listed." : "");
}

const Json* JsonReader::member(const Json& object, const char* key, const std::string& path) {
    if (object.is_object()) {
        const auto found = object.find(key);
        if (found != object.end()) return &*found;
    }
    fail(path, fmt::format("\"{}\" is missing", key));
    return nullptr;
}

const Json* JsonReader::element(const Json& array, std::size_t index, const std::string& path) {
    if (array.is_array() && index < array.size()) return &array[index];
    fail(path, fmt::format("element {} is missing", index));
    return nullptr;
}

bool JsonReader::array(const Json* value, const std::string& path) {
    if (value == nullptr) return false;
    if (value->is_array()) return true;
    fail(path, "must be an array");
    return false;
}

bool JsonReader::object(const Json* value, const std::string& path) {
    if (value == nullptr) return false;
    if (value->is_object()) return true;
    fail(path, "must be an object");
    return false;
}

std::int64_t JsonReader::integer(const Json* value, std::int64_t low, std::int64_t high,
                                 const std::string& path) {
    if (value == nullptr) return low;
    if (value->is_number_integer()) {
        // Unsigned numbers above the signed range would wrap: refuse them first.
        const bool wraps = value->is_number_unsigned() &&
                           value->get<std::uint64_t>() > static_cast<std::uint64_t>(INT64_MAX);
        const std::int64_t number = wraps ? INT64_MAX : value->get<std::int64_t>();
        if (!wraps && number >= low && number <= high) return number;
        fail(path, fmt::format("must be a whole number from {} to {}", low, high));
        return low;
    }
    fail(path, "must be a whole number");
    return low;
}

double JsonReader::number(const Json* value, double low, double high, const std::string& path) {
    if (value == nullptr) return low;
    if (value->is_number()) {
        const double number = value->get<double>();
        if (number >= low && number <= high) return number;
        fail(path, fmt::format("must be a number from {} to {}", low, high));
        return low;
    }
    fail(path, "must be a number");
    return low;
}

bool JsonReader::boolean(const Json* value, const std::string& path) {
    if (value == nullptr) return false;
    if (value->is_boolean()) return value->get<bool>();
    fail(path, "must be true or false");
    return false;
}

std::string JsonReader::text(const Json* value, const std::string& path) {
    if (value == nullptr) return {};
    if (value->is_string()) return value->get<std::string>();
    fail(path, "must be a text");
    return {};
}

std::string lines_of(const Json& document) {
    std::string out;
    put(document, 0, out);
    out += '\n';
    return out;
}

void append_member(std::string& lines, const char* key, const Json& value) {
    lines.resize(lines.size() - std::string_view("\n}\n").size());
    lines += ",\n " + compact(Json(key)) + ": ";
    put(value, 1, lines);
    lines += "\n}\n";
}

}  // namespace sched::report
