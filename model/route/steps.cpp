#include "model/route/steps.hpp"

#include <array>
#include <cassert>

namespace model::route {

namespace {

constexpr StepTime typed(std::int64_t attended_s, std::int64_t stand_s) {
    return StepTime{Seconds{attended_s}, Seconds{stand_s}, std::nullopt};
}

// Figures: common practice of the trade, typical ranges, no published source; middle of the range.
constexpr std::array<StepRow, step_count> rows{{
    {Step::InkOff, Attend::Throughout, typed(270, 0), false, false, Hazard::Chemical},
    {Step::InkDegrease, Attend::Throughout, typed(120, 60), false, false, Hazard::Chemical},
    {Step::Strip, Attend::ThenStands, typed(90, 0), false, false, Hazard::Chemical},
    {Step::Rinse, Attend::Throughout, typed(240, 0), false, false, Hazard::PressureWater},
    {Step::Haze, Attend::ThenStands, typed(240, 300), false, false, Hazard::Chemical},
    {Step::Abrade, Attend::Throughout, typed(300, 0), false, false, Hazard::Chemical},
    {Step::Degrease, Attend::Throughout, typed(210, 90), false, false, Hazard::Chemical},
    {Step::DryMesh, Attend::Nobody, typed(0, 1200), false, true, Hazard::WarmCabinet},
    {Step::Coat, Attend::Throughout, typed(240, 0), true, false, Hazard::None},
    {Step::DryCoat, Attend::Nobody, typed(0, 2400), true, true, Hazard::WarmCabinet},
    {Step::FaceCoat, Attend::Throughout, typed(90, 0), true, false, Hazard::None},
    {Step::DryFace, Attend::Nobody, typed(0, 1500), true, true, Hazard::WarmCabinet},
    {Step::Expose, Attend::ThenStands, typed(120, 0), true, false, Hazard::Ultraviolet},
    {Step::WashOut, Attend::Throughout, typed(240, 90), true, false, Hazard::PressureWater},
    {Step::DryStencil, Attend::Nobody, typed(0, 1200), false, true, Hazard::WarmCabinet},
    {Step::Inspect, Attend::Throughout, typed(240, 0), false, false, Hazard::None},
    {Step::DryTouchUp, Attend::Nobody, typed(0, 720), false, false, Hazard::None},
    {Step::PostHarden, Attend::Throughout, typed(180, 0), false, false, Hazard::Ultraviolet},
    {Step::MixDissolve, Attend::ThenStands, typed(240, 900), false, false, Hazard::Chemical},
    {Step::MixStir, Attend::ThenStands, typed(300, 3600), true, false, Hazard::Chemical},
    {Step::TakeOut, Attend::Throughout, typed(60, 0), false, false, Hazard::None},
}};

std::optional<Seconds> remover_min(const Room& r) {
    return r.limits.remover_min;
}
std::optional<Seconds> remover_max(const Room& r) {
    return r.limits.remover_max;
}
std::optional<Seconds> dry_to_coat(const Room& r) {
    return r.limits.dry_to_coat;
}
std::optional<Seconds> coated_shelf(const Room& r) {
    return r.limits.coated_shelf;
}
std::optional<Seconds> expose_to_wash(const Room& r) {
    return r.limits.expose_to_wash;
}

// The remover's clock runs from the first touch of the brush, not from the last: the strict reading
// of "at most 5 minutes from application to rinse". The mesh's and the coat's clocks run from dry.
constexpr std::array<LimitRow, 5> limits{{
    {Step::Strip, Step::Rinse, From::Start, remover_min, remover_max,
     "remover that dries on the mesh can make the stencil permanent"},
    {Step::DryMesh, Step::Coat, From::WorkEnd, nullptr, dry_to_coat,
     "dust settles on degreased mesh"},
    {Step::DryCoat, Step::Expose, From::WorkEnd, nullptr, coated_shelf,
     "coated screens age even in the dark"},
    {Step::DryFace, Step::Expose, From::WorkEnd, nullptr, coated_shelf,
     "coated screens age even in the dark"},
    {Step::Expose, Step::WashOut, From::End, nullptr, expose_to_wash,
     "an exposed stencil goes on hardening"},
}};

}  // namespace

std::span<const StepRow> step_rows() {
    return rows;
}

const StepRow& row_of(Step step) {
    const StepRow& row = rows[static_cast<std::size_t>(step)];
    assert(row.step == step);
    return row;
}

StepTime time_of(const Room& room, Step step) {
    const auto found = room.steps.find(step);
    return found == room.steps.end() ? row_of(step).default_time : found->second;
}

std::span<const LimitRow> limit_rows() {
    return limits;
}

}  // namespace model::route
