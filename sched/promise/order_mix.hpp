#pragma once
// Days and enquiries like those of a scenario, drawn at random: what calibration and the promise
// table are made of. Draws are keyed; nothing here has a state.

#include <cstdint>
#include <string>
#include <vector>

#include "sched/engine/draws.hpp"
#include "sched/promise/promise.hpp"

namespace sched::study {

/// A day with `load` times the orders: below 1 each order is there with that chance, above 1 each
/// comes once and again with the chance of the rest (named "A1'"). The frame store is filled up so
/// that neither those nor `spare` screens more run out of frames (in the states that it has).
model::Scenario with_load(const model::Scenario& scenario, double load, int spare,
                          const engine::Draws& draws);

/// Adds frames of the sizes, meshes and states that the store has until no order runs out of them
/// and `spare` more of each kind are there.
void fill_frames(model::Scenario& scenario, int spare);

/// A kind of screen that the scenario's orders ask for, and how often.
struct ScreenKind {
    model::ScreenLine line;  // count 1, no film time, no kept stencil
    int screens = 0;         // of it in the scenario
    std::string words;       // "120-34, 2+2"
};
std::vector<ScreenKind> screen_kinds(const model::Scenario& scenario);

/// Groups of order size, by number of screens.
struct SizeGroup {
    int least = 1;
    int most = 2;
    std::string words() const;
    bool holds(int n) const { return least <= n && n <= most; }
};
const std::vector<SizeGroup>& size_groups();

/// A random enquiry: kind by how often it is asked for, group of size equally likely, size within
/// it too; in one of four the film is to come within five hours after `asked`.
Enquiry random_enquiry(const model::Scenario& scenario, core::SimTime asked,
                       const engine::Draws& draws);

}  // namespace sched::study
