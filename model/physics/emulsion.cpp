#include "model/physics/emulsion.hpp"

#include <algorithm>
#include <cmath>

#include "model/physics/drying.hpp"
#include "model/physics/mesh.hpp"

namespace model::physics {

Millilitres coat_volume(const Mesh& mesh, const CoatPlan& plan, const Emulsion& emulsion,
                        Area frame, const DryingLaw& law) {
    const int coats = plan.print_side + plan.squeegee_side;
    const Micrometres film = double(coats) * emulsion.wet_film + open_volume(mesh);
    return Millilitres{mesh_area(frame, law) * film.value} +
           double(coats) * emulsion.waste_per_coat;
}

Millilitres face_coat_volume(const Emulsion& emulsion, Area frame, const DryingLaw& law) {
    return Millilitres{mesh_area(frame, law) * emulsion.wet_film.value} + emulsion.waste_per_coat;
}

std::int64_t whole_millilitres(Millilitres v) {
    return static_cast<std::int64_t>(std::ceil(v.value - 1e-9));
}

std::optional<SimTime> pot_expiry(const Emulsion& emulsion, const Pot& pot) {
    const bool from_mixing = pot.mixed && emulsion.family != EmulsionFamily::Photopolymer;
    if (!pot.opened && !from_mixing) return std::nullopt;
    const Seconds life = pot.refrigerated ? emulsion.pot_life_cold : emulsion.pot_life_room;
    if (life <= Seconds{0}) return std::nullopt;
    return (pot.opened ? *pot.opened : *pot.mixed) + life;
}

std::optional<SimTime> pot_usable_from(const Pot& pot, Seconds stand) {
    if (!pot.mixed) return std::nullopt;
    return *pot.mixed + stand;
}

std::vector<std::size_t> use_order(const Emulsion& emulsion, const std::vector<Pot>& pots) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < pots.size(); ++i) {
        if (pots[i].emulsion == emulsion.name) order.push_back(i);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        const auto ea = pot_expiry(emulsion, pots[a]);
        const auto eb = pot_expiry(emulsion, pots[b]);
        if (ea && eb) return *ea < *eb;
        return ea.has_value() && !eb.has_value();
    });
    return order;
}

}  // namespace model::physics
