#pragma once
// Emulsion that a screen takes from the pot, and how long a pot lasts.

#include <optional>
#include <vector>

#include "model/base/time.hpp"
#include "model/room/room.hpp"

namespace model::physics {

/// Volume for the wet-on-wet group: mesh area x (films + open volume of the mesh) + trough waste
/// per coat. (1 µm on 1 m² = 1 ml.)
Millilitres coat_volume(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion,
                        Area frame, const DryingLaw& law);
/// Volume for one face coat.
Millilitres face_coat_volume(const Emulsion& emulsion, Area frame, const DryingLaw& law);
/// Whole millilitres, rounded up: what a plan takes from the pot.
std::int64_t whole_millilitres(Millilitres v);

/// When a pot may no longer be used: mixing plus the life of its storage. nullopt: not mixed yet,
/// or the family needs no mixing, or the life is not given (0).
std::optional<SimTime> pot_expiry(const Emulsion& emulsion, const Pot& pot);
/// When a mixed pot has stood long enough to be free of bubbles; nullopt: at once (comes ready) or
/// not mixed yet.
std::optional<SimTime> pot_usable_from(const Pot& pot, Seconds stand);
/// Pots of that emulsion in the order of use: first expired first, those without expiry last, then
/// as listed.
std::vector<std::size_t> use_order(const Emulsion& emulsion, const std::vector<Pot>& pots);

}  // namespace model::physics
