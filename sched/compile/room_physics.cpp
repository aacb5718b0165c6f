// The only file of this folder that asks the physics.

#include <cmath>

#include "sched/compile/room_builder.hpp"

namespace sched::compile {

using core::Seconds;
using model::Step;

const model::Emulsion* find_emulsion(const model::Room& room, const std::string& name) {
    for (const auto& e : room.emulsions) {
        if (e.name == name) return &e;
    }
    return nullptr;
}

const model::Mesh* find_mesh(const model::Room& room, const std::string& name) {
    for (const auto& m : room.meshes) {
        if (m.name == name) return &m;
    }
    return nullptr;
}

const model::CoatPlan* find_coat_plan(const model::Room& room, const std::string& name) {
    for (const auto& p : room.coat_plans) {
        if (p.name == name) return &p;
    }
    return nullptr;
}

DryingMode drying_mode(const Builder& b, const model::Station&, Step step,
                       const ScreenInfo& screen) {
    DryingMode mode;
    mode.typed = model::route::time_of(b.room(), step).stand;
    if (const auto* plan = find_coat_plan(b.room(), screen.coat_plan)) {
        if (step == Step::DryCoat && plan->dry_coat) mode.typed = *plan->dry_coat;
        if (step == Step::DryFace && plan->dry_face) mode.typed = *plan->dry_face;
    }
    return mode;
}

std::optional<core::SharedRate> cabinet_rate(const Builder&, const model::Station&) {
    return std::nullopt;
}

Seconds exposure_time(const Builder& b, const model::Station& unit, const ScreenInfo& screen) {
    const auto* emulsion = find_emulsion(b.room(), screen.emulsion);
    if (!emulsion || !unit.lamp) return Seconds{60};
    const double ratio = unit.lamp->distance / emulsion->base_distance;
    return model::round_up(static_cast<double>(emulsion->base_exposure.count()) * ratio * ratio);
}

Seconds wash_out_time(const Builder& b, const ScreenInfo&) {
    return model::route::time_of(b.room(), Step::WashOut).attended;
}

std::int64_t coat_millilitres(const Builder& b, const ScreenInfo& screen, bool face) {
    const auto* emulsion = find_emulsion(b.room(), screen.emulsion);
    const auto* plan = find_coat_plan(b.room(), screen.coat_plan);
    if (!emulsion || !plan) return 0;
    const int coats = face ? 1 : plan->print_side + plan->squeegee_side;
    // µm x m² = ml
    const double area = screen.frame.width.value * screen.frame.height.value * 1e-4;
    const double each = area * emulsion->wet_film.value + emulsion->waste_per_coat.value;
    return static_cast<std::int64_t>(std::ceil(each * coats - 1e-9));
}

std::string mesh_of(Builder&, const model::ScreenLine& line) {
    return line.mesh.value_or("");
}

}  // namespace sched::compile
