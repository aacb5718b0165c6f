// How it works: rows of arrays instead of objects, instants as seconds after the problem's start;
// one small function for each kind of constraint, so that the compiler asks for a new one.

#include "sched/report/document/problem_json.hpp"

#include "sched/core/objective.hpp"
#include "sched/report/document/problem_reader.hpp"

namespace sched::report {

namespace {

using core::Calendar;
using core::Constraint;
using core::Criterion;
using core::Edge;
using core::Problem;
using core::SimTime;

/// Writes one problem; every time becomes seconds after its start.
class ProblemWriter {
public:
    explicit ProblemWriter(const Problem& problem) : p_(problem) {}

    Json write() const {
        Json out = Json::object();
        out["name"] = p_.name;
        out["start"] = model::format_date_time(p_.horizon_start);
        out["end"] = at(p_.horizon_end);
        out["resources"] = list(p_.resources, [this](const auto& x) { return resource(x); });
        out["stores"] = list(p_.stores, [this](const auto& x) { return store(x); });
        out["orders"] = list(p_.orders, [this](const auto& x) { return order(x); });
        out["jobs"] = list(p_.jobs, [](const auto& x) {
            return Json::array({x.name, x.order.value});
        });
        out["operations"] = list(p_.operations, [](const auto& x) { return operation(x); });
        out["constraints"] = list(p_.constraints, [this](const Constraint& x) {
            return std::visit([this](const auto& c) { return constraint(c); }, x);
        });
        out["objective"] = list(p_.objective, [](Criterion c) { return Json(criterion_key(c)); });
        out["overtime"] = list(p_.overtime, [this](const core::OvertimeWindow& w) {
            return Json::array({w.resource.value, at(w.window.from), at(w.window.to)});
        });
        if (!p_.pauses.empty()) {
            out["pauses"] = list(p_.pauses, [this](const core::Pause& x) {
                return Json::array(
                    {x.resource.value, at(x.earliest), at(x.latest), x.length.count(), at(x.at)});
            });
        }
        if (!p_.now) return out;
        out["now"] = at(*p_.now);
        out["begun"] = list(p_.begun, [this](const core::Begun& b) {
            return Json::array({b.operation.value, at(b.start), b.mode, ids(b.chosen),
                                ids(b.stores), b.batch ? Json(*b.batch) : Json(nullptr),
                                at(b.work_end), at(b.end)});
        });
        return out;
    }

    std::int64_t at(SimTime t) const { return (t - p_.horizon_start).count(); }
    Json at(const std::optional<SimTime>& t) const { return t ? Json(at(*t)) : Json(nullptr); }

    template <class Items, class Writer>
    static Json list(const Items& items, Writer writer) {
        Json out = Json::array();
        for (const auto& item : items)
            out.push_back(writer(item));
        return out;
    }

    template <class Ids>
    static Json ids(const Ids& items) {
        return list(items, [](const auto& id) { return Json(id.value); });
    }

private:
    Json resource(const core::Resource& r) const {
        Json out = {{"name", r.name}, {"capacity", r.capacity}};
        if (r.calendar) {
            out["calendar"] = list(*r.calendar, [this](const core::Window& w) {
                return Json::array({at(w.from), at(w.to)});
            });
        }
        if (r.shared) {
            out["rate"] = list(r.shared->steps, [this](const core::RateStep& s) {
                Json step = Json::array(
                    {at(s.from), s.base, s.cap ? Json(*s.cap) : Json(nullptr), s.cap_shift});
                if (s.crowd) {
                    step.push_back(*s.crowd);
                    step.push_back(s.crowd_shift);
                }
                return step;
            });
        }
        if (r.batch) {
            out["batch"] = Json::array(
                {r.batch->width_mm, r.batch->height_mm, r.batch->gap_mm, r.batch->max_members});
        }
        if (r.walk.count() > 0) out["walk"] = r.walk.count();
        if (r.beside) out["beside"] = r.beside->value;
        return out;
    }

    Json store(const core::Store& s) const {
        Json out = {{"name", s.name}, {"initial", s.initial}};
        if (s.from) out["from"] = at(s.from);
        if (s.until) out["until"] = at(s.until);
        if (s.life) out["life"] = s.life->count();
        return out;
    }

    Json order(const core::Order& o) const {
        Json out = {{"name", o.name}, {"release", at(o.release)}, {"weight", o.weight}};
        if (o.due) out["due"] = at(o.due);
        if (o.deadline) out["deadline"] = at(o.deadline);
        return out;
    }

    static Json mode(const core::Mode& m) {
        Json out = {{"work", m.work.count()}};
        out["needs"] = list(m.needs, [](const core::Need& n) {
            return Json::array(
                {ids(n.any_of), n.amount, n.span == core::Span::Whole ? "whole" : "work"});
        });
        if (!m.stages.empty()) {
            out["stages"] = list(m.stages, [](const core::DryStage& s) {
                return Json::array({s.work, s.share});
            });
        }
        return out;
    }

    static Json operation(const core::Operation& o) {
        Json out = {{"name", o.name}, {"job", o.job.value}};
        out["modes"] = list(o.modes, [](const auto& m) { return mode(m); });
        out["stretch"] = o.max_stretch ? Json(o.max_stretch->count()) : Json(nullptr);
        if (o.pausable) out["pausable"] = true;
        if (o.filler) out["filler"] = true;
        if (o.dries) out["dries"] = true;
        if (o.batch) {
            out["batch"] = Json::array({o.batch->family, o.batch->width_mm, o.batch->height_mm});
        }
        return out;
    }

    Json constraint(const core::TimeLag& c) const {
        return Json::array({"lag", c.from.value, edge_key(c.edge), c.to.value, c.min.count(),
                            c.max ? Json(c.max->count()) : Json(nullptr)});
    }
    Json constraint(const core::StartWindow& c) const {
        return Json::array({"start", c.operation.value, at(c.not_before), at(c.not_after)});
    }
    Json constraint(const core::SameMode& c) const {
        return Json::array({"same-mode", c.a.value, c.b.value});
    }
    Json constraint(const core::SameResource& c) const {
        return Json::array({"same-resource", c.a.value, c.need_a, c.b.value, c.need_b});
    }
    Json constraint(const core::Take& c) const {
        return Json::array({"take", c.operation.value, ids(c.any_of), c.amount});
    }
    Json constraint(const core::Give& c) const {
        return Json::array({"give", c.operation.value, c.store.value, c.amount});
    }

    const Problem& p_;
};

}  // namespace

std::string criterion_key(Criterion criterion) {
    return std::string(core::row_of(criterion).key);
}

std::string edge_key(Edge edge) {
    switch (edge) {
        case Edge::Start:
            return "start";
        case Edge::WorkEnd:
            return "work-end";
        case Edge::End:
            return "end";
    }
    return {};
}

nlohmann::ordered_json problem_to_json(const core::Problem& problem) {
    return ProblemWriter(problem).write();
}

nlohmann::ordered_json schedule_to_json(const core::Problem& problem,
                                        const core::Schedule& schedule) {
    const ProblemWriter writer(problem);
    return ProblemWriter::list(schedule.placements, [&](const core::Placement& p) {
        return Json::array({writer.at(p.start), writer.at(p.work_end), writer.at(p.end), p.mode,
                            ProblemWriter::ids(p.chosen), ProblemWriter::ids(p.stores),
                            p.batch ? Json(*p.batch) : Json(nullptr)});
    });
}

std::optional<std::pair<core::Problem, core::Schedule>> problem_of(std::string_view json,
                                                                   model::Diagnostics& diagnostics,
                                                                   std::string_view file) {
    JsonReader reader(diagnostics, file);
    const auto document = reader.parse(json);
    if (!document) return std::nullopt;
    return problem_of(*document, reader);
}

}  // namespace sched::report
