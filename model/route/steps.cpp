#include "model/route/steps.hpp"

#include <algorithm>
#include <array>
#include <cassert>

namespace model::route {

namespace {

constexpr StepTime typed(std::int64_t attended_s, std::int64_t stand_s) {
    return StepTime{Seconds{attended_s}, Seconds{stand_s}, std::nullopt};
}

// Figures: common practice of the trade, typical ranges, no published source; middle of the range.
// The attended part of drying is hanging the screen up.
constexpr std::array<StepRow, step_count> rows{{
    {Step::InkOff, typed(270, 0), false, false, Hazard::Chemical},
    {Step::InkDegrease, typed(120, 60), false, false, Hazard::Chemical},
    {Step::Strip, typed(90, 0), false, false, Hazard::Chemical},
    {Step::Rinse, typed(240, 0), false, false, Hazard::PressureWater},
    {Step::Haze, typed(240, 300), false, false, Hazard::Chemical},
    {Step::Abrade, typed(300, 0), false, false, Hazard::Chemical},
    {Step::Degrease, typed(210, 90), false, false, Hazard::Chemical},
    {Step::DryMesh, typed(20, 1200), false, true, Hazard::WarmCabinet},
    {Step::Coat, typed(240, 0), true, false, Hazard::None},
    {Step::DryCoat, typed(20, 2400), true, true, Hazard::WarmCabinet},
    {Step::FaceCoat, typed(90, 0), true, false, Hazard::None},
    {Step::DryFace, typed(20, 1500), true, true, Hazard::WarmCabinet},
    {Step::Expose, typed(120, 0), true, false, Hazard::Ultraviolet},
    {Step::WashOut, typed(240, 90), true, false, Hazard::PressureWater},
    {Step::DryStencil, typed(20, 1200), false, true, Hazard::WarmCabinet},
    {Step::Inspect, typed(240, 0), false, false, Hazard::None},
    {Step::DryTouchUp, typed(20, 720), false, false, Hazard::None},
    {Step::PostHarden, typed(180, 0), false, false, Hazard::Ultraviolet},
    {Step::MixDissolve, typed(240, 900), false, false, Hazard::Chemical},
    {Step::MixStir, typed(300, 3600), true, false, Hazard::Chemical},
    {Step::TakeOut, typed(60, 0), false, false, Hazard::None},
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
// Till the lamp is on: the vacuum is drawn first.
std::optional<Seconds> coated_shelf(const Room& r) {
    Seconds before{0};
    for (const Station& s : r.stations) {
        if (s.lamp) before = std::max(before, s.lamp->draw_down);
    }
    return r.limits.coated_shelf - before - time_of(r, Step::Expose).stand;
}
std::optional<Seconds> expose_to_wash(const Room& r) {
    return r.limits.expose_to_wash;
}

// The remover's clock runs from the first touch of the brush, not from the last: the strict reading
// of "at most 5 minutes from application to rinse". The mesh's and the coat's clocks run from dry,
// the stencil's from the moment the lamp is off, however long it then stays in the unit.
constexpr std::array<LimitRow, 5> limits{{
    {Step::Strip, Step::Rinse, From::Start, remover_min, remover_max,
     "remover that dries on the mesh can make the stencil permanent"},
    {Step::DryMesh, Step::Coat, From::WorkEnd, nullptr, dry_to_coat,
     "dust settles on degreased mesh"},
    {Step::DryCoat, Step::Expose, From::WorkEnd, nullptr, coated_shelf,
     "coated screens age even in the dark"},
    {Step::DryFace, Step::Expose, From::WorkEnd, nullptr, coated_shelf,
     "coated screens age even in the dark"},
    {Step::Expose, Step::WashOut, From::WorkEnd, nullptr, expose_to_wash,
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

StepTime time_of(const Room& room, Step step, const CoatPlan* plan) {
    const auto found = room.steps.find(step);
    StepTime time = found == room.steps.end() ? row_of(step).default_time : found->second;
    if (!time.stand_said) time.stand = row_of(step).default_time.stand;
    if (step == Step::Coat && plan && (plan->coat || plan->coat_stand)) {
        if (plan->coat) time.attended = *plan->coat;
        time.stand = plan->coat_stand.value_or(Seconds{0});
    }
    return time;
}

std::span<const LimitRow> limit_rows() {
    return limits;
}

}  // namespace model::route
