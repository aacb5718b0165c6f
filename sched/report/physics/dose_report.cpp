// How it works: what the question names is found in the room (or its first), the exposure model
// gives time and least distance per line of an order, lines of equal dose are grouped; a wedge is
// the same arithmetic with the steps' shares. Text follows the values.

#include "sched/report/physics/dose_report.hpp"

#include <fmt/format.h>

#include <cmath>

namespace sched::report {

namespace physics = model::physics;

namespace {

template <class T>
const T* dose_pick(const std::vector<T>& list, const std::string& name, const char* kind,
                   std::string& problem) {
    for (const T& one : list) {
        if (name.empty() || one.name == name) return &one;
    }
    if (problem.empty())
        problem = fmt::format("the room has no {}{}{}", kind, name.empty() ? "" : " ", name);
    return nullptr;
}

const model::Station* dose_unit(const model::Room& room, const std::string& name,
                                std::string& problem) {
    for (const model::Station& s : room.stations) {
        if (s.lamp && (name.empty() || s.name == name)) return &s;
    }
    problem = name.empty() ? "no station of the room has a lamp"
                           : fmt::format("{} is no station with a lamp", name);
    return nullptr;
}

std::optional<DoseLine> dose_line(const model::Room& room, const model::Lamp& lamp,
                                  const model::ScreenLine& asked, std::string& problem) {
    std::string mesh_name = asked.mesh.value_or("");
    if (!asked.mesh && (asked.finest_line || asked.ruling)) {
        const auto proposed = physics::propose_mesh(room.meshes, asked.finest_line, asked.ruling);
        if (!proposed) {
            problem = "no mesh of the room is fine enough";
            return std::nullopt;
        }
        mesh_name = room.meshes[*proposed].name;
    }
    const auto* mesh = dose_pick(room.meshes, mesh_name, "mesh", problem);
    const auto* emulsion = dose_pick(room.emulsions, asked.emulsion, "emulsion", problem);
    const auto* plan = dose_pick(room.coat_plans, asked.coat_plan, "coat plan", problem);
    if (!mesh || !emulsion || !plan) return std::nullopt;
    DoseLine line;
    line.mesh = mesh->name;
    line.emulsion = emulsion->name;
    line.coat_plan = plan->name;
    line.stencil = physics::dry_stencil(*mesh, *plan, *emulsion);
    line.time = physics::exposure_time(*emulsion, lamp, *mesh, *plan);
    line.integrator = lamp.integrator;
    line.warm_up_seconds = static_cast<double>(lamp.warm_up.count());
    line.wash_out_factor = physics::wash_out_factor(*mesh, *plan, *emulsion);
    if (asked.image) line.missing_distance = physics::missing_distance(lamp, *asked.image);
    line.mesh_complaints = physics::mesh_complaints(*mesh, asked.finest_line, asked.ruling);
    return line;
}

const char* const uv_caution =
    "UV light: shield it, never look into the lamp. Lamp, transformer and fan: licensed "
    "electrician, local codes.\n";

}  // namespace

std::optional<DoseReport> dose_report(const model::Room& room,
                                      const std::vector<model::Order>& orders,
                                      const DoseQuestion& question, std::string& problem) {
    const auto* unit = dose_unit(room, question.unit, problem);
    if (!unit) return std::nullopt;
    DoseReport report;
    report.unit = unit->name;
    report.lamp = *unit->lamp;
    report.tolerance = question.tolerance;
    std::vector<model::ScreenLine> asked;
    if (question.order.empty()) {
        model::ScreenLine one;
        if (!question.mesh.empty()) one.mesh = question.mesh;
        one.emulsion = question.emulsion;
        one.coat_plan = question.coat_plan;
        asked.push_back(one);
    } else {
        for (const model::Order& order : orders) {
            if (order.name == question.order)
                asked.insert(asked.end(), order.lines.begin(), order.lines.end());
        }
        if (asked.empty()) {
            problem = fmt::format("there is no order {}", question.order);
            return std::nullopt;
        }
    }
    std::vector<double> seconds;
    for (const model::ScreenLine& screen : asked) {
        auto line = dose_line(room, report.lamp, screen, problem);
        if (!line) return std::nullopt;
        line->order = question.order;
        line->line = static_cast<int>(report.lines.size()) + 1;
        seconds.push_back(line->time.seconds());
        report.lines.push_back(*line);
    }
    report.families = physics::dose_families(seconds, report.tolerance);
    return report;
}

std::string dose_text(const DoseReport& report) {
    std::string out = fmt::format("{}: lamp at {:.4g} cm, {:.4g} h old\n", report.unit,
                                  report.lamp.distance.value, report.lamp.hours);
    for (std::size_t i = 0; i < report.lines.size(); ++i) {
        const DoseLine& l = report.lines[i];
        out += fmt::format("\n{}{} of {} on {}: {:.0f} s\n",
                           l.order.empty() ? "" : fmt::format("{} line {}: ", l.order, l.line),
                           l.coat_plan, l.emulsion, l.mesh, std::ceil(l.time.seconds() - 1e-6));
        out += fmt::format(
            "  = {:.4g} s calibrated x {:.3g} distance x {:.3g} stencil ({:.0f} µm) x {:.3g} mesh "
            "x {:.3g} lamp age\n",
            l.time.base, l.time.distance, l.time.stencil, l.stencil.value, l.time.mesh,
            l.time.ageing);
        if (l.integrator)
            out += fmt::format("  integrator set to {:.4g} (lamp age is its own affair)\n",
                               l.time.setting(true));
        if (l.warm_up_seconds > 0.0)
            out += fmt::format("  lamp warms up {:.0f} s before the first exposure of a run\n",
                               l.warm_up_seconds);
        if (std::abs(l.wash_out_factor - 1.0) > 0.005)
            out += fmt::format("  wash-out takes {:.2f} times the usual\n", l.wash_out_factor);
        if (l.missing_distance)
            out += fmt::format("  lamp is {:.1f} cm too near for this image (1.5 x its diagonal)\n",
                               l.missing_distance->value);
        for (const auto& c : l.mesh_complaints)
            out += "  " + c.text + "\n";
        if (report.lines.size() > 1)
            out += fmt::format("  dose family {} (within {:.0f} % they may share an exposure)\n",
                               report.families[i] + 1, 100.0 * report.tolerance);
    }
    return out + "\n" + uv_caution;
}

std::optional<WedgeReport> wedge_report(const model::Room& room, const DoseQuestion& question,
                                        const std::vector<double>& percentages,
                                        std::optional<int> best, std::string& problem) {
    DoseQuestion one = question;
    one.order.clear();
    const auto dose = dose_report(room, {}, one, problem);
    if (!dose) return std::nullopt;
    double before = 0.0;
    for (double p : percentages) {
        if (!(p > before) || p > 1000.0) {
            problem = "percentages must rise, from above 0 to at most 1000";
            return std::nullopt;
        }
        before = p;
    }
    WedgeReport report;
    report.line = dose->lines.front();
    report.base = report.line.time.base;
    report.steps = percentages.empty()
                       ? physics::wedge_plan(report.line.time.seconds())
                       : physics::wedge_plan(report.line.time.seconds(), percentages);
    if (best) {
        if (*best < 1 || *best > static_cast<int>(report.steps.size())) {
            problem =
                fmt::format("the wedge has steps 1 to {}, not {}", report.steps.size(), *best);
            return std::nullopt;
        }
        report.best = best;
        report.new_base = physics::read_wedge(report.base, report.steps, *best);
    }
    return report;
}

std::string wedge_text(const WedgeReport& report) {
    const std::size_t n = report.steps.size();
    std::string out =
        fmt::format("step wedge for {} of {} on {}, estimate {:.4g} s\n", report.line.coat_plan,
                    report.line.emulsion, report.line.mesh, report.line.time.seconds());
    out += fmt::format("{} strips side by side; strip 1 is covered first and stays covered\n\n", n);
    out += fmt::format("{:>8}  {:<22}{:>9}{:>14}\n", "opening", "covered", "seconds", "strip gets");
    for (std::size_t i = 0; i < n; ++i) {
        const physics::WedgeStep& s = report.steps[i];
        const std::string covered = s.masked == 0   ? "nothing"
                                    : s.masked == 1 ? "strip 1"
                                                    : fmt::format("strips 1 to {}", s.masked);
        out += fmt::format("{:>8}  {:<22}{:>9.1f}{:>9.1f} s = {:.4g} %\n", i + 1, covered,
                           s.seconds, s.total, s.percent);
    }
    if (report.best) {
        out += fmt::format(
            "\nstep {} was best: for room.yaml, emulsion {}\n  exposure: {{time: {:.0f} s, ...}}   "
            "(was {:.4g} s; --save writes it)\n",
            *report.best, report.line.emulsion, std::round(report.new_base), report.base);
        if (*report.best == 1 || *report.best == static_cast<int>(n))
            out +=
                "The best step is at the edge of the wedge: expose another one around the new "
                "time.\n";
    } else {
        out +=
            "\nWash out, dry, and look: the best step is the longest that still holds the detail "
            "you need.\nSlimy inside means under-exposed. "
            "Then: --best STEP\n";
    }
    return out + "\n" + uv_caution;
}

}  // namespace sched::report
