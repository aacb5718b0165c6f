// How it works: the mirror of problem_json.cpp. Every number is read within bounds that no later
// sum can leave, every id within its list; faults carry the path to the member. What comes out
// may be indexed without looking.

#include "sched/report/document/problem_reader.hpp"

#include <fmt/format.h>

#include "sched/core/objective.hpp"

namespace sched::report {

namespace {

using core::Seconds;
using core::SimTime;

// Wide enough for any room, narrow enough that no sum of them leaves 64 bits.
constexpr std::int64_t most_seconds = 1'000'000'000'000;
constexpr std::int64_t most_amount = 1'000'000'000'000;
constexpr std::int64_t most_int = 1'000'000'000;
constexpr double most_rate = 1e15;

class ProblemReader {
public:
    explicit ProblemReader(JsonReader& reader) : r_(reader) {}

    core::Problem problem(const Json& j) {
        core::Problem p;
        const std::string at = "problem";
        p.name = r_.text(r_.member(j, "name", at), at + ".name");
        const auto start =
            model::parse_date_time(r_.text(r_.member(j, "start", at), at + ".start"));
        if (!start) r_.fail(at + ".start", "must be a local date and time, 2026-11-26T06:00");
        p.horizon_start = start_ = start.value_or(SimTime{});
        p.horizon_end = time(r_.member(j, "end", at), at + ".end");
        each(j, "resources", at,
             [&](const Json& x, auto& w) { p.resources.push_back(resource(x, w)); });
        each(j, "stores", at, [&](const Json& x, auto& w) { p.stores.push_back(store(x, w)); });
        each(j, "orders", at, [&](const Json& x, auto& w) { p.orders.push_back(order(x, w)); });
        each(j, "jobs", at, [&](const Json& x, auto& w) {
            p.jobs.push_back({.name = r_.text(r_.element(x, 0, w), w),
                              .order = id<core::OrderId>(r_.element(x, 1, w), w, -1)});
        });
        each(j, "operations", at,
             [&](const Json& x, auto& w) { p.operations.push_back(operation(x, w)); });
        each(j, "constraints", at,
             [&](const Json& x, auto& w) { constraint(x, w, p.constraints); });
        each(j, "objective", at, [&](const Json& x, auto& w) { criterion(x, w, p.objective); });
        each(j, "overtime", at, [&](const Json& x, auto& w) {
            p.overtime.push_back(
                {.resource = id<core::ResourceId>(r_.element(x, 0, w), w),
                 .window = {time(r_.element(x, 1, w), w), time(r_.element(x, 2, w), w)}});
        });
        if (const Json* now = find(j, "now")) {
            p.now = time(now, at + ".now");
            each(j, "begun", at, [&](const Json& x, auto& w) { p.begun.push_back(begun(x, w)); });
        }
        if (find(j, "pauses") != nullptr) {
            each(j, "pauses", at, [&](const Json& x, auto& w) {
                p.pauses.push_back(
                    {.resource = id<core::ResourceId>(r_.element(x, 0, w), w),
                     .earliest = time(r_.element(x, 1, w), w),
                     .latest = time(r_.element(x, 2, w), w),
                     .length = Seconds{r_.integer(r_.element(x, 3, w), 0, most_seconds, w)},
                     .at = time(r_.element(x, 4, w), w)});
            });
        }
        return p;
    }

    core::Schedule schedule(const Json& document) {
        core::Schedule s;
        each(document, "schedule", "", [&](const Json& x, auto& w) {
            core::Placement p;
            p.start = time(r_.element(x, 0, w), w);
            p.work_end = time(r_.element(x, 1, w), w);
            p.end = time(r_.element(x, 2, w), w);
            p.mode = small(r_.element(x, 3, w), w);
            p.chosen = ids<core::ResourceId>(r_.element(x, 4, w), w);
            p.stores = ids<core::StoreId>(r_.element(x, 5, w), w);
            const Json* batch = r_.element(x, 6, w);
            if (batch != nullptr && !batch->is_null()) p.batch = small(batch, w);
            s.placements.push_back(std::move(p));
        });
        return s;
    }

private:
    template <class Each>
    void each(const Json& object, const char* key, const std::string& path, Each read) {
        const std::string where = (path.empty() ? "" : path + ".") + key;
        const Json* list = r_.member(object, key, path);
        if (!r_.array(list, where)) return;
        for (std::size_t i = 0; i < list->size(); ++i) {
            const std::string w = fmt::format("{}[{}]", where, i);
            read((*list)[i], w);
            if (!r_.ok()) return;  // one broken row is enough: its neighbours would repeat it
        }
    }

    Seconds seconds(const Json* j, const std::string& w) {
        return Seconds{r_.integer(j, -most_seconds, most_seconds, w)};
    }
    SimTime time(const Json* j, const std::string& w) { return start_ + seconds(j, w); }
    int small(const Json* j, const std::string& w, std::int64_t low = 0) {
        return static_cast<int>(r_.integer(j, low, most_int, w));
    }
    template <class IdType>
    IdType id(const Json* j, const std::string& w, std::int64_t low = 0) {
        return IdType{static_cast<std::int32_t>(r_.integer(j, low, most_int, w))};
    }
    template <class IdType>
    std::vector<IdType> ids(const Json* j, const std::string& w) {
        std::vector<IdType> out;
        if (!r_.array(j, w)) return out;
        for (const Json& x : *j)
            out.push_back(id<IdType>(&x, w));
        return out;
    }
    std::optional<SimTime> maybe_time(const Json* j, const std::string& w) {
        if (j == nullptr || j->is_null()) return std::nullopt;
        return time(j, w);
    }
    static const Json* find(const Json& object, const char* key) {
        if (!object.is_object()) return nullptr;
        const auto it = object.find(key);
        return it == object.end() ? nullptr : &*it;
    }

    core::Begun begun(const Json& x, const std::string& w) {
        core::Begun b;
        b.operation = id<core::OperationId>(r_.element(x, 0, w), w);
        b.start = time(r_.element(x, 1, w), w);
        b.mode = small(r_.element(x, 2, w), w);
        b.chosen = ids<core::ResourceId>(r_.element(x, 3, w), w);
        b.stores = ids<core::StoreId>(r_.element(x, 4, w), w);
        const Json* batch = r_.element(x, 5, w);
        if (batch != nullptr && !batch->is_null()) b.batch = small(batch, w);
        b.work_end = maybe_time(r_.element(x, 6, w), w);
        b.end = maybe_time(r_.element(x, 7, w), w);
        return b;
    }

    core::Resource resource(const Json& j, const std::string& w) {
        core::Resource out;
        out.name = r_.text(r_.member(j, "name", w), w);
        out.capacity = small(r_.member(j, "capacity", w), w + ".capacity", 1);
        if (find(j, "calendar") != nullptr) {
            core::Calendar calendar;
            each(j, "calendar", w, [&](const Json& x, auto& at) {
                calendar.push_back(
                    {time(r_.element(x, 0, at), at), time(r_.element(x, 1, at), at)});
            });
            out.calendar = std::move(calendar);
        }
        if (find(j, "rate") != nullptr) {
            core::SharedRate rate;
            each(j, "rate", w, [&](const Json& x, auto& at) {
                core::RateStep step;
                step.from = time(r_.element(x, 0, at), at);
                step.base = r_.number(r_.element(x, 1, at), 0, most_rate, at);
                const Json* cap = r_.element(x, 2, at);
                if (cap != nullptr && !cap->is_null()) step.cap = r_.number(cap, 0, most_rate, at);
                step.cap_shift = r_.number(r_.element(x, 3, at), 0, most_rate, at);
                if (x.size() > 4) {
                    step.crowd = r_.number(r_.element(x, 4, at), 0, most_rate, at);
                    step.crowd_shift = r_.number(r_.element(x, 5, at), 0, most_rate, at);
                }
                rate.steps.push_back(step);
            });
            out.shared = std::move(rate);
        }
        if (const Json* batch = find(j, "batch")) {
            const std::string at = w + ".batch";
            out.batch = core::BatchArea{
                small(r_.element(*batch, 0, at), at), small(r_.element(*batch, 1, at), at),
                small(r_.element(*batch, 2, at), at), small(r_.element(*batch, 3, at), at)};
        }
        if (const Json* walk = find(j, "walk"))
            out.walk = Seconds{r_.integer(walk, 0, most_seconds, w + ".walk")};
        if (const Json* beside = find(j, "beside"))
            out.beside = id<core::ResourceId>(beside, w + ".beside");
        return out;
    }

    core::Store store(const Json& j, const std::string& w) {
        std::optional<Seconds> life;
        if (const Json* x = find(j, "life")) life = Seconds{r_.integer(x, 1, most_seconds, w)};
        return {.name = r_.text(r_.member(j, "name", w), w),
                .initial = r_.integer(r_.member(j, "initial", w), 0, most_amount, w + ".initial"),
                .from = maybe_time(find(j, "from"), w + ".from"),
                .until = maybe_time(find(j, "until"), w + ".until"),
                .life = life};
    }

    core::Order order(const Json& j, const std::string& w) {
        return {.name = r_.text(r_.member(j, "name", w), w),
                .release = time(r_.member(j, "release", w), w + ".release"),
                .due = maybe_time(find(j, "due"), w + ".due"),
                .deadline = maybe_time(find(j, "deadline"), w + ".deadline"),
                .weight = r_.integer(r_.member(j, "weight", w), 0, most_int, w + ".weight")};
    }

    core::Mode mode(const Json& j, const std::string& w) {
        core::Mode m;
        m.work = Seconds{r_.integer(r_.member(j, "work", w), 0, most_seconds, w + ".work")};
        each(j, "needs", w, [&](const Json& x, auto& at) {
            core::Need need;
            need.any_of = ids<core::ResourceId>(r_.element(x, 0, at), at);
            need.amount = small(r_.element(x, 1, at), at, 1);
            const std::string span = r_.text(r_.element(x, 2, at), at);
            if (span != "whole" && span != "work")
                r_.fail(at, "the span must be \"whole\" or \"work\"");
            need.span = span == "work" ? core::Span::Work : core::Span::Whole;
            m.needs.push_back(std::move(need));
        });
        if (find(j, "stages") != nullptr) {
            each(j, "stages", w, [&](const Json& x, auto& at) {
                m.stages.push_back({r_.number(r_.element(x, 0, at), 0, most_rate, at),
                                    r_.number(r_.element(x, 1, at), 0, most_rate, at)});
            });
        }
        return m;
    }

    core::Operation operation(const Json& j, const std::string& w) {
        core::Operation o;
        o.name = r_.text(r_.member(j, "name", w), w);
        o.job = id<core::JobId>(r_.member(j, "job", w), w + ".job", -1);
        each(j, "modes", w, [&](const Json& x, auto& at) { o.modes.push_back(mode(x, at)); });
        const Json* stretch = r_.member(j, "stretch", w);
        o.max_stretch = std::nullopt;
        if (stretch != nullptr && !stretch->is_null()) {
            o.max_stretch = Seconds{r_.integer(stretch, 0, most_seconds, w + ".stretch")};
        }
        if (const Json* pausable = find(j, "pausable"))
            o.pausable = r_.boolean(pausable, w + ".pausable");
        if (const Json* filler = find(j, "filler")) o.filler = r_.boolean(filler, w + ".filler");
        if (const Json* dries = find(j, "dries")) o.dries = r_.boolean(dries, w + ".dries");
        if (const Json* batch = find(j, "batch")) {
            const std::string at = w + ".batch";
            o.batch = core::BatchShape{small(r_.element(*batch, 0, at), at),
                                       small(r_.element(*batch, 1, at), at),
                                       small(r_.element(*batch, 2, at), at)};
        }
        return o;
    }

    void constraint(const Json& x, const std::string& w, std::vector<core::Constraint>& out) {
        const std::string kind = r_.text(r_.element(x, 0, w), w);
        const auto op = [&](std::size_t i) {
            return id<core::OperationId>(r_.element(x, i, w), w);
        };
        if (kind == "lag") {
            core::TimeLag c{.from = op(1), .to = op(3), .min = seconds(r_.element(x, 4, w), w)};
            const std::string edge = r_.text(r_.element(x, 2, w), w);
            bool known = false;
            for (const core::Edge e : {core::Edge::Start, core::Edge::WorkEnd, core::Edge::End}) {
                if (edge == edge_key(e)) {
                    c.edge = e;
                    known = true;
                }
            }
            if (!known) r_.fail(w, "the edge must be \"start\", \"work-end\" or \"end\"");
            const Json* max = r_.element(x, 5, w);
            if (max != nullptr && !max->is_null()) c.max = seconds(max, w);
            out.emplace_back(c);
        } else if (kind == "start") {
            out.emplace_back(core::StartWindow{op(1), maybe_time(r_.element(x, 2, w), w),
                                               maybe_time(r_.element(x, 3, w), w)});
        } else if (kind == "same-mode") {
            out.emplace_back(core::SameMode{op(1), op(2)});
        } else if (kind == "same-resource") {
            out.emplace_back(core::SameResource{op(1), small(r_.element(x, 2, w), w), op(3),
                                                small(r_.element(x, 4, w), w)});
        } else if (kind == "take") {
            out.emplace_back(
                core::Take{op(1), ids<core::StoreId>(r_.element(x, 2, w), w), amount(x, 3, w)});
        } else if (kind == "give") {
            out.emplace_back(
                core::Give{op(1), id<core::StoreId>(r_.element(x, 2, w), w), amount(x, 3, w)});
        } else {
            r_.fail(w, "unknown kind of constraint");
        }
    }

    std::int64_t amount(const Json& x, std::size_t i, const std::string& w) {
        return r_.integer(r_.element(x, i, w), 0, most_amount, w);
    }

    void criterion(const Json& x, const std::string& w, std::vector<core::Criterion>& out) {
        const std::string key = r_.text(&x, w);
        for (const core::CriterionRow& row : core::criteria()) {
            if (key == row.key) return out.push_back(row.criterion);
        }
        r_.fail(w, "unknown criterion");
    }

    JsonReader& r_;
    SimTime start_{};
};

/// A schedule whose ids fit its problem: what may follow can index without looking.
void check_shape(const core::Problem& p, const core::Schedule& s, JsonReader& reader) {
    if (s.placements.size() != p.operations.size()) {
        return reader.fail("schedule", fmt::format("has {} rows for {} operations",
                                                   s.placements.size(), p.operations.size()));
    }
    std::vector<std::size_t> takes(p.operations.size(), 0);
    for (const auto& c : p.constraints) {
        if (const auto* take = std::get_if<core::Take>(&c)) ++takes[take->operation.index()];
    }
    for (std::size_t i = 0; i < s.placements.size(); ++i) {
        const core::Placement& x = s.placements[i];
        const std::string w = fmt::format("schedule[{}]", i);
        const auto mode = static_cast<std::size_t>(x.mode);
        if (mode >= p.operations[i].modes.size()) {
            reader.fail(w, "the mode does not exist");
        } else if (x.chosen.size() != p.operations[i].modes[mode].needs.size()) {
            reader.fail(w, "one resource per need of the mode is to be chosen");
        }
        if (x.stores.size() != takes[i]) reader.fail(w, "one store per take is to be chosen");
        for (const auto r : x.chosen) {
            if (r.index() >= p.resources.size()) reader.fail(w, "a chosen resource does not exist");
        }
        for (const auto st : x.stores) {
            if (st.index() >= p.stores.size()) reader.fail(w, "a chosen store does not exist");
        }
        if (x.work_end < x.start || x.end < x.work_end)
            reader.fail(w, "start, work end and end are out of order");
    }
}

}  // namespace

std::optional<std::pair<core::Problem, core::Schedule>> problem_of(const Json& document,
                                                                   JsonReader& reader) {
    if (!reader.object(&document, "the document")) return std::nullopt;
    const Json* problem_json = reader.member(document, "problem", "");
    if (!reader.object(problem_json, "problem")) return std::nullopt;
    ProblemReader read(reader);
    core::Problem problem = read.problem(*problem_json);
    if (!reader.ok()) return std::nullopt;
    for (const std::string& wrong : core::validate(problem))
        reader.fail("problem", wrong);
    if (!reader.ok()) return std::nullopt;
    core::Schedule schedule = read.schedule(document);
    if (!reader.ok()) return std::nullopt;
    check_shape(problem, schedule, reader);
    if (!reader.ok()) return std::nullopt;
    return std::pair{std::move(problem), std::move(schedule)};
}

}  // namespace sched::report
