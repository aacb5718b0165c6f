#include "model/room/frame_fit.hpp"

#include <algorithm>

#include "model/room/steps.hpp"

namespace model {

bool takes_frame(const Station& station, const Area& frame) {
    return !(station.largest_frame && larger_frame(frame, *station.largest_frame)) &&
           !(station.blanket && larger_frame(frame, *station.blanket));
}

int people_for(const Room& room, Step step, const Area& frame) {
    const auto& above = room.limits.two_people_from;
    const auto& steps = room.limits.two_people_for;
    const bool of_these =
        steps.empty() || std::find(steps.begin(), steps.end(), step) != steps.end();
    return above && larger_frame(frame, *above) && of_these ? 2 : 1;
}

namespace {

const CoatPlan* plan_of(const Room& room, const std::string& name) {
    for (const CoatPlan& plan : room.coat_plans) {
        if (plan.name == name) return &plan;
    }
    return nullptr;
}

}  // namespace

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
                if (*limit && larger_frame(line.frame, **limit)) found.most = **limit;
            }
        }
        if (any && !fit) return found;
    }
    return std::nullopt;
}

std::optional<Step> not_reclaimed_here(const Room& room, const FrameStock& stock) {
    std::vector<Step> steps;
    if (stock.state == FrameState::Inky) steps = {Step::InkOff, Step::InkDegrease};
    if (stock.state == FrameState::Inky || stock.state == FrameState::OldStencil) {
        steps.push_back(Step::Strip);
        steps.push_back(Step::Rinse);
        if (stock.haze.value_or(false)) steps.push_back(Step::Haze);
    }
    if (stock.state == FrameState::NewMesh) steps = {Step::Abrade};
    for (const Step step : steps) {
        const auto takes_it = [&](const Station& station) {
            return does_step(station, step) && takes_frame(station, stock.size);
        };
        if (std::none_of(room.stations.begin(), room.stations.end(), takes_it)) return step;
    }
    return std::nullopt;
}

std::span<const FrameStateRow> frame_state_rows() {
    static constexpr FrameStateRow rows[] = {
        {FrameState::Ready, "ready", "clean mesh"},
        {FrameState::Inky, "inky", "inky"},
        {FrameState::OldStencil, "old-stencil", "with an old stencil"},
        {FrameState::NewMesh, "new-mesh", "new mesh"},
        {FrameState::Coated, "coated", "coated and dry"},
        {FrameState::KeptStencil, "kept-stencil", "kept stencil"},
    };
    return rows;
}

const FrameStateRow& row_of(FrameState state) {
    const auto rows = frame_state_rows();
    return *std::find_if(rows.begin(), rows.end(),
                         [&](const FrameStateRow& row) { return row.state == state; });
}

}  // namespace model
