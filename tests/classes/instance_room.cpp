#include <map>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "tests/classes/instance_lags.hpp"

namespace sched::compile {

namespace {

using core::JobId;
using core::OperationId;
using core::OrderId;
using core::Problem;
using core::ResourceId;
using core::SimTime;
using nlohmann::json;

/// Looks values up by path and complains with it; after the first error everything reads as empty.
class RoomFile {
public:
    RoomFile(const std::string& file, model::Diagnostics& diagnostics, const LagLimits& limits)
        : file_(file), diagnostics_(diagnostics), limits_(limits) {}

    bool failed() const { return failed_; }

    void fail(const std::string& path, std::string code, const std::string& message, int line = 0,
              int column = 0) {
        if (failed_) return;
        failed_ = true;
        diagnostics_.error({file_, line, column}, std::move(code),
                           path.empty() ? message : path + ": " + message);
    }

    const json* member(const json& object, const std::string& path, const char* key) {
        if (failed_) return nullptr;
        if (!object.is_object()) {
            fail(path, "not-an-object", "an object { } should stand here");
            return nullptr;
        }
        const auto it = object.find(key);
        if (it == object.end()) {
            fail(path, "missing-key", std::string("\"") + key + "\" is missing");
            return nullptr;
        }
        return &*it;
    }

    const json& list(const json& object, const std::string& path, const char* key) {
        static const json empty = json::array();
        const json* v = member(object, path, key);
        if (!v) return empty;
        if (!v->is_array() || v->empty() ||
            static_cast<std::int64_t>(v->size()) > limits_.activities) {
            fail(path + "/" + key, "not-a-list",
                 "a list [ ] of 1 to " + std::to_string(limits_.activities) + " should stand here");
            return empty;
        }
        return *v;
    }

    std::int64_t number(const json& object, const std::string& path, const char* key,
                        std::int64_t low) {
        const json* v = member(object, path, key);
        if (!v) return low;
        const bool integer = v->is_number_integer() &&
                             !(v->is_number_unsigned() && v->get<std::uint64_t>() > 1u << 30);
        if (!integer) {
            fail(path + "/" + key, "not-an-integer", "a whole number should stand here");
            return low;
        }
        const auto x = v->get<std::int64_t>();
        if (x < low || x > limits_.value) {
            fail(path + "/" + key, x < low ? "too-small" : "too-large",
                 std::to_string(x) + " stands here; allowed is " + std::to_string(low) + " to " +
                     std::to_string(limits_.value));
            return low;
        }
        return x;
    }

    std::string text(const json& object, const std::string& path, const char* key) {
        const json* v = member(object, path, key);
        if (!v) return {};
        if (!v->is_string()) fail(path + "/" + key, "not-a-text", "a text should stand here");
        return v->is_string() ? v->get<std::string>() : std::string{};
    }

private:
    const std::string& file_;
    model::Diagnostics& diagnostics_;
    const LagLimits& limits_;
    bool failed_ = false;
};

struct SmallStep {
    std::string name;
    std::optional<ResourceId> place;
    std::int64_t min = 0, max = 0, persons = 0;
    std::int64_t lag_min = 0;
    std::optional<std::int64_t> lag_max;
};

SimTime at_minute(std::int64_t m) {
    return SimTime{model::minutes(m)};
}

std::vector<SmallStep> read_steps(RoomFile& in, const json& root,
                                  const std::map<std::string, ResourceId>& places) {
    std::vector<SmallStep> steps;
    const json& list = in.list(root, "", "steps");
    for (std::size_t k = 0; k < list.size() && !in.failed(); ++k) {
        const std::string path = "/steps/" + std::to_string(k);
        const json& s = list[k];
        SmallStep step;
        step.name = in.text(s, path, "name");
        const json* place = in.member(s, path, "place");
        if (place && !place->is_null()) {
            const auto it =
                place->is_string() ? places.find(place->get<std::string>()) : places.end();
            if (it == places.end())
                in.fail(path + "/place", "unknown-place", "this place has no capacity");
            else
                step.place = it->second;
        }
        step.min = in.number(s, path, "min", 0);
        step.max = in.number(s, path, "max", step.min);
        step.persons = in.number(s, path, "persons", 0);
        if (k + 1 < list.size()) {
            step.lag_min = in.number(s, path, "lag_min", 0);
            const json* most = in.member(s, path, "lag_max");
            if (most && !most->is_null())
                step.lag_max = in.number(s, path, "lag_max", step.lag_min);
        }
        steps.push_back(std::move(step));
    }
    return steps;
}

}  // namespace

std::optional<Problem> read_small_room(std::string_view text, const std::string& file,
                                       model::Diagnostics& diagnostics, const LagLimits& limits) {
    RoomFile in(file, diagnostics, limits);
    if (text.size() > limits.bytes) {
        in.fail("", "too-large", "the file has " + std::to_string(text.size()) + " bytes");
        return std::nullopt;
    }
    json root;
    try {
        root = json::parse(text, [&in](int depth, json::parse_event_t, json&) {
            if (depth > 16) in.fail("", "too-deep", "nested more than 16 deep");
            return depth <= 16;
        });
    } catch (const json::parse_error& e) {
        int line = 1;
        int column = 1;
        for (std::size_t i = 0; i + 1 < e.byte && i < text.size(); ++i) {
            column = text[i] == '\n' ? 1 : column + 1;
            if (text[i] == '\n') ++line;
        }
        in.fail("", "not-json", "the JSON breaks off here", line, column);
        return std::nullopt;
    } catch (const json::exception&) {
        in.fail("", "not-json", "a number is out of range");
        return std::nullopt;
    }
    Problem p;
    const std::int64_t horizon = in.number(root, "", "horizon", 1);
    p.horizon_end = at_minute(horizon);
    std::map<std::string, ResourceId> places;
    if (const json* capacity = in.member(root, "", "capacity")) {
        if (!capacity->is_object())
            in.fail("/capacity", "not-an-object", "an object { } should stand here");
        for (auto it = capacity->begin(); it != capacity->end() && !in.failed(); ++it) {
            places[it.key()] = ResourceId{p.resources.size()};
            const auto c = in.number(*capacity, "/capacity", it.key().c_str(), 1);
            p.resources.push_back({.name = it.key(), .capacity = static_cast<int>(c)});
        }
    }
    const auto persons = places.find("person");
    const std::vector<SmallStep> steps = read_steps(in, root, places);
    for (const auto& s : steps) {
        if (s.persons == 0) continue;
        if (persons == places.end() || s.persons > p.resources[persons->second.index()].capacity) {
            in.fail("/steps", "too-few-persons",
                    "\"" + s.name + "\" takes more persons than there are");
            break;
        }
    }
    const json& orders = in.list(root, "", "orders");
    for (std::size_t o = 0; o < orders.size() && !in.failed(); ++o) {
        const std::string path = "/orders/" + std::to_string(o);
        p.orders.push_back({.name = "order " + std::to_string(o),
                            .release = at_minute(in.number(orders[o], path, "release", 0)),
                            .due = at_minute(in.number(orders[o], path, "due", 0)),
                            .weight = in.number(orders[o], path, "weight", 0)});
    }
    const json& screens = in.list(root, "", "screens");
    for (std::size_t k = 0; k < screens.size() && !in.failed(); ++k) {
        const std::string path = "/screens/" + std::to_string(k);
        const auto order = in.number(screens[k], path, "order", 0);
        const auto coats = in.number(screens[k], path, "coats", 1);
        const auto expose = in.number(screens[k], path, "expose", 0);
        if (order >= static_cast<std::int64_t>(p.orders.size()))
            in.fail(path + "/order", "unknown-order", "there is no such order");
        if (coats > 2) in.fail(path + "/coats", "too-large", "1 or 2 coats");
        if (in.failed()) break;
        const JobId job{p.jobs.size()};
        p.jobs.push_back({.name = "screen " + std::to_string(k),
                          .order = OrderId{static_cast<std::int32_t>(order)}});
        const SmallStep* before = nullptr;
        for (const SmallStep& s : steps) {
            if (coats == 1 && (s.name == "coat_2" || s.name == "dry_coat_2")) continue;
            const bool exposes = s.name == "expose";
            core::Operation o{.name = s.name + " " + std::to_string(k), .job = job};
            o.max_stretch =
                exposes ? core::Seconds{0} : core::Seconds{model::minutes(s.max - s.min)};
            core::Mode mode{.work = model::minutes(exposes ? expose : s.min)};
            if (s.place) mode.needs.push_back({.any_of = {*s.place}});
            if (s.persons > 0)
                mode.needs.push_back(
                    {.any_of = {persons->second}, .amount = static_cast<int>(s.persons)});
            o.modes.push_back(std::move(mode));
            const OperationId id{p.operations.size()};
            p.operations.push_back(std::move(o));
            if (before) {
                core::TimeLag lag{.from = OperationId{id.value - 1},
                                  .to = id,
                                  .min = model::minutes(before->lag_min)};
                if (before->lag_max) lag.max = model::minutes(*before->lag_max);
                p.constraints.push_back(lag);
            }
            before = &s;
        }
    }
    if (in.failed()) return std::nullopt;
    p.objective = {core::Criterion::WeightedTardiness, core::Criterion::Makespan};
    return p;
}

}  // namespace sched::compile
