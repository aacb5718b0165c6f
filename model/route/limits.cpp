#include "model/route/limits.hpp"

#include <algorithm>
#include <array>

#include "model/room/steps.hpp"

namespace model::route {

namespace {

std::optional<Seconds> remover_min(const Room& r) {
    return r.limits.remover_min;
}
std::optional<Seconds> remover_max(const Room& r) {
    return r.limits.remover_max;
}
std::optional<Seconds> dry_to_coat(const Room& r) {
    return r.limits.dry_to_coat;
}
// What a coat stands on the coater, whoever does it wherever, is no waiting: the longest is added.
Seconds longest_stand(const Room& r, Step coat) {
    Seconds longest = time_of(r, coat).stand;
    for (const CoatPlan& plan : r.coat_plans)
        longest = std::max(longest, time_of(r, coat, &plan).stand);
    if (const auto found = r.steps.find(coat); found != r.steps.end()) {
        for (const TimeException& e : found->second.but)
            longest = std::max(longest, e.stand.value_or(Seconds{0}));
    }
    return longest;
}
std::optional<Seconds> coat_to_dry(const Room& r) {
    return r.limits.coat_to_dry + longest_stand(r, Step::Coat);
}
std::optional<Seconds> face_to_dry(const Room& r) {
    return r.limits.coat_to_dry + longest_stand(r, Step::FaceCoat);
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
constexpr std::array<LimitRow, 7> limits{{
    {Step::Strip, Step::Rinse, From::Start, remover_min, remover_max,
     "remover that dries on the mesh can make the stencil permanent"},
    {Step::DryMesh, Step::Coat, From::WorkEnd, nullptr, dry_to_coat,
     "dust settles on degreased mesh"},
    {Step::Coat, Step::DryCoat, From::WorkEnd, nullptr, coat_to_dry,
     "wet emulsion sags and takes dust"},
    {Step::FaceCoat, Step::DryFace, From::WorkEnd, nullptr, face_to_dry,
     "wet emulsion sags and takes dust"},
    {Step::DryCoat, Step::Expose, From::WorkEnd, nullptr, coated_shelf,
     "coated screens age even in the dark"},
    {Step::DryFace, Step::Expose, From::WorkEnd, nullptr, coated_shelf,
     "coated screens age even in the dark"},
    {Step::Expose, Step::WashOut, From::WorkEnd, nullptr, expose_to_wash,
     "an exposed stencil goes on hardening"},
}};

}  // namespace

std::span<const LimitRow> limit_rows() {
    return limits;
}

}  // namespace model::route
