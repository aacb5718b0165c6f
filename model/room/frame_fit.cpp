#include "model/room/frame_fit.hpp"

#include <algorithm>

namespace model {

namespace {

double short_side(const Area& a) {
    return std::min(a.width.value, a.height.value);
}
double long_side(const Area& a) {
    return std::max(a.width.value, a.height.value);
}

}  // namespace

bool fits(const Area& what, const Area& into) {
    return short_side(what) <= short_side(into) && long_side(what) <= long_side(into);
}

bool does_step(const Station& station, Step step) {
    return std::find(station.does.begin(), station.does.end(), step) != station.does.end();
}

bool takes_frame(const Station& station, const Area& frame) {
    if (station.largest_frame && !fits(frame, *station.largest_frame)) return false;
    return !station.blanket || fits(frame, *station.blanket);
}

const CoatPlan* plan_of(const Room& room, const std::string& name) {
    for (const CoatPlan& plan : room.coat_plans) {
        if (plan.name == name) return &plan;
    }
    return nullptr;
}

std::vector<Step> steps_of_line(const Room& room, const ScreenLine& line) {
    if (line.kept_stencil) return {Step::Inspect};
    std::vector<Step> steps{Step::Degrease, Step::DryMesh, Step::Coat, Step::DryCoat};
    if (const CoatPlan* plan = plan_of(room, line.coat_plan); plan != nullptr && plan->face > 0) {
        steps.push_back(Step::FaceCoat);
        steps.push_back(Step::DryFace);
    }
    for (const Step step :
         {Step::Expose, Step::WashOut, Step::DryStencil, Step::Inspect, Step::DryTouchUp}) {
        steps.push_back(step);
    }
    return steps;
}

std::optional<TooBig> fits_nowhere(const Room& room, const ScreenLine& line) {
    for (const Step step : steps_of_line(room, line)) {
        TooBig found{.step = step, .most = {}};
        bool any = false;
        bool fit = false;
        for (const Station& station : room.stations) {
            if (!does_step(station, step)) continue;
            any = true;
            fit = fit || takes_frame(station, line.frame);
            for (const auto* limit : {&station.largest_frame, &station.blanket}) {
                if (*limit && !fits(line.frame, **limit)) found.most = **limit;
            }
        }
        if (any && !fit) return found;
    }
    return std::nullopt;
}

}  // namespace model
