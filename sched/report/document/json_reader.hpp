#pragma once
// Reading JSON that somebody else may have written: nothing throws out of here, every miss is a
// message with the path to it. Include in .cpp files only (it pulls in nlohmann/json.hpp).

#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/base/diagnostic.hpp"

namespace sched::report {

using Json = nlohmann::ordered_json;

/// Limits of a plan file; beyond them it is refused before memory is spent on it.
inline constexpr std::size_t plan_max_bytes = 64u << 20;
inline constexpr std::size_t plan_max_values = 8'000'000;
inline constexpr int plan_max_depth = 24;
inline constexpr int plan_max_members = 200;  // of one object

/// Collects what is wrong, at most `limit` messages.
class JsonReader {
public:
    JsonReader(model::Diagnostics& diagnostics, std::string_view file)
        : diagnostics_(diagnostics), file_(file) {}

    /// @returns nullopt after a diagnostic when the text is not JSON or breaks a limit.
    std::optional<Json> parse(std::string_view text);

    void fail(const std::string& path, const std::string& what);
    bool ok() const { return failures_ == 0; }

    /// Member `key` of an object; null and a failure if it is not there.
    const Json* member(const Json& object, const char* key, const std::string& path);
    /// Element `index` of an array.
    const Json* element(const Json& array, std::size_t index, const std::string& path);
    bool array(const Json* value, const std::string& path);
    bool object(const Json* value, const std::string& path);
    std::int64_t integer(const Json* value, std::int64_t low, std::int64_t high,
                         const std::string& path);
    double number(const Json* value, double low, double high, const std::string& path);
    bool boolean(const Json* value, const std::string& path);
    std::string text(const Json* value, const std::string& path);

private:
    model::Diagnostics& diagnostics_;
    std::string file_;
    int failures_ = 0;
};

/// Member names on lines of their own, elements of arrays of objects one a line: a plan file can be
/// read and compared by lines. Invalid UTF-8 becomes U+FFFD.
std::string lines_of(const Json& document);
/// One more member at the end of such a text of an object with tables in it.
void append_member(std::string& lines, const char* key, const Json& value);

}  // namespace sched::report
