// How it works: plain values become JSON through the fields of plan_fields.hpp, member by member,
// and back.

#include "sched/report/document/plan_json.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sched/report/document/json_fields.hpp"
#include "sched/report/document/plan_fields.hpp"
#include "sched/report/document/problem_json.hpp"
#include "sched/report/document/problem_reader.hpp"

namespace sched::report {

namespace {

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
    if (document.again) {
        const auto& again = *document.again;
        const bool all = std::all_of(again.over.begin(), again.over.end(), known) &&
                         std::all_of(again.under_way.begin(), again.under_way.end(), known) &&
                         std::all_of(again.changes.begin(), again.changes.end(),
                                     [&](const ChangeLine& c) { return known(c.operation); });
        if (!all) reader.fail("again", "an operation does not exist");
    }
    if (document.operations.size() != document.problem.operations.size()) {
        reader.fail("operations", "there must be as many as in the problem");
    }
}

/// Axes and printed pages go from hour to hour: a spoilt year would make millions of them.
void check_times(const PlanDocument& document, JsonReader& reader) {
    constexpr std::chrono::days longest_run{3660}, longest_work{100};
    const RunLine& run = document.run;
    if (run.last_end - run.first_start > longest_run)
        reader.fail("run.last_end", "lies more than ten years behind the first start");
    for (std::size_t i = 0; i < document.operations.size(); ++i) {
        const OperationLine& op = document.operations[i];
        const std::string at = fmt::format("operations[{}]", i);
        for (const SimTime t : {op.start, op.work_end, op.end, op.place_until.value_or(op.end),
                                op.people_until.value_or(op.end)}) {
            if (t - run.first_start > longest_run)
                reader.fail(at, "has a time more than ten years behind the first start");
        }
        if (!op.people.empty() && op.people_until.value_or(op.end) - op.start > longest_work)
            reader.fail(at, "keeps somebody for more than a hundred days");
    }
}

// What `given` has and `own`, written by us, has not.
void compare_members(const Json& given, const Json& own, const std::string& path,
                     std::vector<std::string>& out) {
    if (given.is_object() && own.is_object()) {
        for (const auto& [key, value] : given.items()) {
            const std::string at = path.empty() ? key : path + "." + key;
            const auto known = own.find(key);
            if (known != own.end()) {
                compare_members(value, *known, at, out);
            } else if (!value.is_null()) {
                out.push_back(at);
            }
        }
    } else if (given.is_array() && own.is_array()) {
        for (std::size_t i = 0; i < given.size(); ++i) {
            const std::string at = fmt::format("{}[{}]", path, i);
            if (i < own.size()) {
                compare_members(given[i], own[i], at, out);
            } else {
                out.push_back(at);
            }
        }
    }
}

}  // namespace

std::vector<std::string> unknown_members(std::string_view json, const PlanDocument& document) {
    std::vector<std::string> out;
    model::Diagnostics none;
    JsonReader reader(none, "");
    const auto given = reader.parse(json);
    const auto own = reader.parse(plan_to_json(document));
    if (given && own) compare_members(*given, *own, "", out);
    return out;
}

std::string plan_to_json(const PlanDocument& document) {
    // One after the other, so that of a large plan only one tree stands at a time.
    std::string out = lines_of(FieldWriter::json(document));
    append_member(out, "problem", problem_to_json(document.problem));
    append_member(out, "schedule", schedule_to_json(document.problem, document.schedule));
    return out;
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
    if (reader.ok()) check_times(document, reader);
    if (!reader.ok()) return std::nullopt;
    return document;
}

}  // namespace sched::report
