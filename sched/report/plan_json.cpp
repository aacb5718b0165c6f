#include "sched/report/plan_json.hpp"

#include <fmt/format.h>

#include <limits>

#include "sched/report/plan_fields.hpp"
#include "sched/report/problem_json.hpp"
#include "sched/report/problem_reader.hpp"

namespace sched::report {

namespace {

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
        } else if constexpr (std::is_same_v<T, SimTime>) {
            return model::format_date_time(value);
        } else if constexpr (std::is_same_v<T, Seconds>) {
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
        } else if constexpr (std::is_same_v<T, Seconds>) {
            value = Seconds{r_.integer(j, -1'000'000'000'000, 1'000'000'000'000, at)};
        } else if constexpr (std::is_same_v<T, SimTime>) {
            const auto time = model::parse_date_time(r_.text(j, at));
            if (j != nullptr && !time)
                r_.fail(at, "must be a local date and time, 2026-11-26T06:00");
            value = time.value_or(SimTime{});
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

/// What is drawn from the document indexes by these.
void check_indices(const PlanDocument& document, JsonReader& reader) {
    const auto known = [&](int i) {
        return i >= 0 && static_cast<std::size_t>(i) < document.operations.size();
    };
    for (const OrderLine& order : document.orders) {
        for (const ReasonLine& reason : order.reasons) {
            if (!known(reason.operation) || (reason.because && !known(*reason.because))) {
                reader.fail("orders", "a reason of " + order.name +
                                          " names an operation that does not exist");
            }
        }
    }
    for (const MixLine& mix : document.mixes) {
        for (const int i : mix.operations) {
            if (!known(i)) reader.fail("mixes", "an operation does not exist");
        }
    }
    if (document.operations.size() != document.problem.operations.size()) {
        reader.fail("operations", "there must be as many as in the problem");
    }
}

}  // namespace

std::string plan_to_json(const PlanDocument& document) {
    Json out = FieldWriter::json(document);
    out["problem"] = problem_to_json(document.problem);
    out["schedule"] = schedule_to_json(document.problem, document.schedule);
    return lines_of(out);
}

std::string plan_to_json_for_page(const PlanDocument& document) {
    return lines_of(FieldWriter::json(document));
}

std::optional<PlanDocument> plan_from_json(std::string_view json, model::Diagnostics& diagnostics,
                                           std::string_view file) {
    JsonReader reader(diagnostics, file);
    const auto parsed = reader.parse(json);
    if (!parsed || !reader.object(&*parsed, "the document")) return std::nullopt;
    const auto format =
        reader.integer(reader.member(*parsed, "format", ""), 1, INT32_MAX, "format");
    if (reader.ok() && format > plan_format) {
        reader.fail("format",
                    fmt::format("{} is newer than this program reads ({})", format, plan_format));
    }
    if (!reader.ok()) return std::nullopt;
    auto embedded = problem_of(*parsed, reader);
    if (!embedded) return std::nullopt;
    PlanDocument document;
    FieldReader read(reader, *parsed, "");
    fields(read, document);
    document.problem = std::move(embedded->first);
    document.schedule = std::move(embedded->second);
    if (reader.ok()) check_indices(document, reader);
    if (!reader.ok()) return std::nullopt;
    return document;
}

}  // namespace sched::report
