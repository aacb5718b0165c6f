// An exposure is a calibrated time and factors beside it: distance squared, stencil, dyed mesh, age
// of the lamp. The calibrated screen is settled first, so that its own factors are 1; step wedges
// and families of equal dose are arithmetic on the result.

#include "model/physics/exposure.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include "model/physics/mesh.hpp"

namespace model::physics {

double inverse_square(double seconds, Centimetres from, Centimetres to) {
    assert(from.value > 0.0);
    const double ratio = to / from;
    return seconds * ratio * ratio;
}

double equal_dose(double seconds, double irradiance_from, double irradiance_to) {
    assert(irradiance_to > 0.0);
    return seconds * irradiance_from / irradiance_to;
}

double lamp_output(double hours, double output_at_1000_h) {
    return std::pow(output_at_1000_h, hours / 1000.0);
}

double lamp_output_linear(double hours, double output_at_1000_h) {
    return std::max(0.01, 1.0 - (1.0 - output_at_1000_h) * hours / 1000.0);
}

double with_ramp(double seconds, double ramp) {
    if (seconds >= 0.5 * ramp) return seconds + 0.5 * ramp;
    return std::sqrt(2.0 * seconds * ramp);  // done before full output
}

double edge_irradiance(Centimetres distance, Centimetres off, int power) {
    const double cosine = distance.value / std::hypot(distance.value, off.value);
    return std::pow(cosine, power);
}

bool point_like(LampKind kind) {
    return kind != LampKind::Fluorescent && kind != LampKind::Led;
}

ExposureTime exposure_time(const Emulsion& emulsion, const Lamp& lamp, const Mesh& mesh,
                           const CoatPlan& plan) {
    ExposureTime t;
    t.base = static_cast<double>(emulsion.base_exposure.count());
    if (point_like(lamp.kind))
        t.distance = inverse_square(1.0, emulsion.base_distance, lamp.distance);
    t.stencil = dry_stencil(mesh, plan, emulsion) / emulsion.base_stencil;
    t.mesh = (mesh.dyed ? mesh.dyed_factor : 1.0) / emulsion.base_dyed;
    t.ageing = 1.0 / lamp_output(lamp.hours, lamp.output_at_1000_h);
    return t;
}

Seconds exposure_seconds(const Emulsion& emulsion, const Lamp& lamp, const Mesh& mesh,
                         const CoatPlan& plan) {
    return round_up(exposure_time(emulsion, lamp, mesh, plan).seconds());
}

double wash_out_factor(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion) {
    const double relative = dry_stencil(mesh, plan, emulsion) / emulsion.base_stencil;
    return std::max(0.5, 1.0 + emulsion.wash_out_growth * (relative - 1.0));
}

namespace {

template <class Named>
const Named* calibrated(const std::vector<Named>& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const Named& x) { return x.name == name; });
    if (!name.empty()) return found == list.end() ? nullptr : &*found;
    return list.empty() ? nullptr : &list.front();
}

}  // namespace

void settle_exposure(Room& room) {
    constexpr double least_film = 1.0;  // µm; a thinner one no trough lays down
    const auto undyed =
        std::find_if(room.meshes.begin(), room.meshes.end(), [](const Mesh& m) { return !m.dyed; });
    for (Emulsion& e : room.emulsions) {
        if (e.wet_film_given) e.wet_film = *e.wet_film_given;
        if (e.stencil_given) e.base_stencil = *e.stencil_given;
        const CoatPlan* plan = calibrated(room.coat_plans, e.calibrated_plan);
        const Mesh* mesh = calibrated(room.meshes, e.calibrated_mesh);
        if (e.calibrated_mesh.empty() && undyed != room.meshes.end()) mesh = &*undyed;
        if (plan == nullptr || mesh == nullptr) continue;  // the reader has complained
        if (!e.wet_film_given && e.stencil_given) {
            const double films =
                e.stencil_given->value / solids_by_volume(e) - open_volume(*mesh).value;
            const int coats = plan->print_side + plan->squeegee_side + plan->face;
            e.wet_film = Micrometres{std::max(least_film, films / coats)};
        }
        if (e.calibrated_mesh.empty()) continue;
        e.base_dyed = mesh->dyed ? mesh->dyed_factor : 1.0;
        if (!e.calibrated_plan.empty()) e.base_stencil = dry_stencil(*mesh, *plan, e);
    }
}

Centimetres diagonal(Area image) {
    return Centimetres{std::hypot(image.width.value, image.height.value)};
}

std::optional<Centimetres> missing_distance(const Lamp& lamp, Area image) {
    if (lamp.kind == LampKind::Fluorescent) return std::nullopt;
    const Centimetres missing = 1.5 * diagonal(image) - lamp.distance;
    if (missing.value <= 1e-9) return std::nullopt;
    return missing;
}

std::vector<WedgeStep> wedge_plan(double estimate, std::span<const double> percentages) {
    assert(estimate > 0.0 && !percentages.empty());
    std::vector<WedgeStep> plan;
    double before = 0.0;
    for (double percent : percentages) {
        assert(percent > before);
        plan.push_back({static_cast<int>(plan.size()), estimate * (percent - before) / 100.0,
                        estimate * percent / 100.0, percent});
        before = percent;
    }
    return plan;
}

double read_wedge(double base, const std::vector<WedgeStep>& plan, int best) {
    assert(best >= 1 && best <= static_cast<int>(plan.size()));
    return base * plan[static_cast<std::size_t>(best - 1)].percent / 100.0;
}

double read_grey_scale(double seconds, int found, int target) {
    return seconds * std::pow(10.0, 0.15 * (target - found));
}

std::vector<int> dose_families(std::span<const double> seconds, double tolerance) {
    std::vector<std::size_t> order(seconds.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return seconds[a] < seconds[b]; });
    std::vector<int> family(seconds.size(), 0);
    int current = -1;
    double reach = -1.0;
    for (std::size_t i : order) {
        if (current < 0 || seconds[i] > reach) {
            ++current;
            reach = seconds[i] * (1.0 + tolerance) + 1e-9;
        }
        family[i] = current;
    }
    return family;
}

}  // namespace model::physics
