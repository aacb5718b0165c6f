#include "model/room/spots.hpp"

#include <algorithm>
#include <initializer_list>

#include "model/room/steps.hpp"

namespace model {

namespace {

bool does_any(const Station& station, std::initializer_list<Step> steps) {
    return std::any_of(steps.begin(), steps.end(), [&](Step s) { return does_step(station, s); });
}

// The station that this one says or is taken to stand beside; its own number: none.
std::size_t neighbour(const Room& room, std::size_t i) {
    const Station& station = room.stations[i];
    const bool rack = does_any(station, {Step::TakeOut});
    if (station.beside.empty() && !rack) return i;
    for (std::size_t k = 0; k < room.stations.size(); ++k) {
        const Station& other = room.stations[k];
        if (k == i) continue;
        if (station.beside.empty()
                ? other.stands_in == station.stands_in &&
                      does_any(other, {Step::DryMesh, Step::DryCoat, Step::DryStencil})
                : other.name == station.beside)
            return k;
    }
    return i;
}

}  // namespace

std::vector<std::size_t> spots_of(const Room& room) {
    std::vector<std::size_t> spot(room.stations.size());
    for (std::size_t i = 0; i < spot.size(); ++i)
        spot[i] = i;
    for (std::size_t i = 0; i < spot.size(); ++i) {
        const std::size_t a = spot[i], b = spot[neighbour(room, i)];
        for (std::size_t& s : spot) {
            if (s == std::max(a, b)) s = std::min(a, b);
        }
    }
    return spot;
}

}  // namespace model
