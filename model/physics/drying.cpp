// How it works: films of coats become water per face; each face dries at a constant and then a
// falling rate, both closed in the clock's integral; two faces are merged into stages of work and
// share, which the engine and the closed times use.

#include "model/physics/drying.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "model/physics/mesh.hpp"

namespace model::physics {

namespace {

constexpr double micron = 1e-6;

WetFace coated_face(Micrometres film, const Emulsion& emulsion) {
    const double liquid = film.value * micron * emulsion.density;
    return {liquid * (1.0 - emulsion.solids.value), liquid * emulsion.solids.value, film};
}

WetScreen bare(Area frame, const DryingLaw& law) {
    WetScreen screen;
    screen.area = mesh_area(frame, law);
    const double longer =
        std::max(frame.width.value, frame.height.value) - 2.0 * law.frame_profile.value;
    screen.length = std::max(0.1, longer * 0.01);
    return screen;
}

WetScreen rinsed(Area frame, const DryingLaw& law, double grams) {
    WetScreen screen = bare(frame, law);
    const WetFace face{0.5e-3 * grams, 0.0, Micrometres{0.5 * grams}};  // 1 g/m² of water = 1 µm
    screen.print = screen.squeegee = face;
    return screen;
}

}  // namespace

double clock_rate(const ClockStep& clock, double sum) {
    double rate = clock.base / (1.0 + sum);
    if (clock.crowd) rate = std::max(rate, *clock.crowd / (clock.crowd_shift + sum));
    if (clock.cap && clock.cap_shift + sum > 0.0)
        rate = std::min(rate, *clock.cap / (clock.cap_shift + sum));
    return rate;
}

double mesh_area(Area frame, const DryingLaw& law) {
    const double w = frame.width.value - 2.0 * law.frame_profile.value;
    const double h = frame.height.value - 2.0 * law.frame_profile.value;
    return std::max(0.01, std::max(0.0, w) * std::max(0.0, h) * 1e-4);
}

WetScreen wet_mesh(Area frame, const DryingLaw& law) {
    return rinsed(frame, law, law.mesh_water);
}

WetScreen wet_stencil(Area frame, const DryingLaw& law) {
    return rinsed(frame, law, law.stencil_water);
}

WetScreen wet_coats(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion, Area frame,
                    const DryingLaw& law) {
    WetScreen screen = bare(frame, law);
    const Micrometres half = 0.5 * open_volume(mesh);
    screen.print = coated_face(double(plan.print_side) * emulsion.wet_film + half, emulsion);
    screen.squeegee = coated_face(double(plan.squeegee_side) * emulsion.wet_film + half, emulsion);
    screen.critical_moisture = emulsion.critical_moisture;
    return screen;
}

WetScreen wet_face_coat(const Emulsion& emulsion, Area frame, const DryingLaw& law) {
    WetScreen screen = bare(frame, law);
    screen.print = coated_face(emulsion.wet_film, emulsion);
    screen.critical_moisture = emulsion.critical_moisture;
    return screen;
}

double FaceDrying::rate(double tau) const {
    if (total <= 0.0) return 0.0;
    if (tau < constant) return 1.0;
    return scale > 0.0 ? std::exp(-(tau - constant) / scale) : 0.0;
}

double FaceDrying::removed(double a, double b) const {
    if (total <= 0.0 || b <= a) return 0.0;
    double sum = std::max(0.0, std::min(b, constant) - a);
    const double from = std::max(a, constant);
    if (scale > 0.0 && b > from) {
        sum += scale * (std::exp(-(from - constant) / scale) - std::exp(-(b - constant) / scale));
    }
    return sum;
}

FaceDrying face_drying(const WetFace& face, double critical, double equilibrium,
                       double final_moisture, double conductance) {
    assert(conductance > 0.0);
    FaceDrying result;
    if (face.water <= 0.0) return result;
    const double per_water = clock_scale / conductance;
    if (face.solids <= 0.0) {
        result.constant = result.total = face.water * per_water;
        return result;
    }
    assert(equilibrium < final_moisture);
    const double start = face.water / face.solids;
    if (start <= final_moisture) return result;
    const double knee = std::max(critical, final_moisture);
    if (start > knee) result.constant = face.solids * (start - knee) * per_water;
    result.total = result.constant;
    const double from = std::min(start, knee);
    if (from > final_moisture) {
        // A start below X_c begins at a rate under 1: constant < 0 would be the honest origin.
        result.scale = face.solids * (knee - equilibrium) * per_water;
        const double lead = result.scale * std::log((knee - equilibrium) / (from - equilibrium));
        result.constant -= lead;
        result.total = result.constant + result.scale * std::log((knee - equilibrium) /
                                                                 (final_moisture - equilibrium));
    }
    return result;
}

double DryingLoad::work() const {
    double sum = 0.0;
    for (const Stage& stage : stages)
        sum += stage.work;
    return sum;
}

DryingLoad stages_of(const FaceDrying& print, const FaceDrying& squeegee, double share_of_face,
                     int pieces) {
    assert(pieces >= 1);
    DryingLoad load;
    load.print = print;
    load.squeegee = squeegee;
    load.share_of_face = share_of_face;
    const double end = std::max(print.total, squeegee.total);
    if (end <= 0.0) return load;
    std::vector<double> marks{0.0};
    const auto mark = [&](double tau) {
        if (tau > marks.back() * (1.0 + 1e-9) + 1e-9 && tau < end * (1.0 - 1e-9))
            marks.push_back(tau);
    };
    for (double knee :
         {std::min(print.constant, squeegee.constant), std::max(print.constant, squeegee.constant)})
        mark(knee);
    if (print.scale > 0.0 || squeegee.scale > 0.0) {
        const double last_knee = marks.back();
        for (int i = 1; i < pieces; ++i)
            mark(last_knee + (end - last_knee) * i / pieces);
    }
    marks.push_back(end);
    for (std::size_t i = 0; i + 1 < marks.size(); ++i) {
        const double work = marks[i + 1] - marks[i];
        const double removed =
            print.removed(marks[i], marks[i + 1]) + squeegee.removed(marks[i], marks[i + 1]);
        load.stages.push_back({work, share_of_face * removed / work});
    }
    return load;
}

double drying_seconds(const DryingLoad& load, const ClockStep& clock, double other) {
    assert(clock.base > 0.0 && other >= 0.0);
    double seconds = 0.0;
    for (const Stage& stage : load.stages)
        seconds += stage.work / clock_rate(clock, other + stage.share);
    return seconds;
}

Seconds drying_time(const DryingLoad& load, const ClockStep& clock, double other) {
    return round_up(drying_seconds(load, clock, other));
}

double together_seconds(const DryingLoad& load, const ClockStep& clock, int count) {
    assert(clock.base > 0.0 && count >= 1);
    double seconds = 0.0;
    for (const Stage& stage : load.stages)
        seconds += stage.work / clock_rate(clock, count * stage.share);
    return seconds;
}

std::vector<DryingPoint> drying_curve(const WetScreen& screen, const DryingLoad& load,
                                      const ClockStep& clock, int count, int points) {
    const double end = std::max(load.print.total, load.squeegee.total);
    double water = screen.print.water + screen.squeegee.water;
    std::vector<DryingPoint> curve{{0.0, water}};
    double tau = 0.0, seconds = 0.0;
    for (int i = 1; i <= points && end > 0.0; ++i) {
        const double next = end * i / points;
        const double removed = load.print.removed(tau, next) + load.squeegee.removed(tau, next);
        const double share = load.share_of_face * removed / (next - tau);
        seconds += (next - tau) / clock_rate(clock, count * share);
        water -= removed * load.conductance / clock_scale;
        tau = next;
        curve.push_back({seconds, std::max(0.0, water)});
    }
    return curve;
}

}  // namespace model::physics
