#pragma once
// An enquiry as people write it ("120/cm", "58x84", "2+2") turned into the room's own meshes,
// frames and coat plans. The command line, CSV and the board's JSON all come through here.

#include <optional>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"

namespace sched::study {

/// One kind of screens; empty texts are left out.
struct EnquiryWords {
    int count = 1;            // 1 .. 64
    std::string mesh;         // a name of the room's meshes, or a count: "120/cm", "305 /in"
    std::string frame;        // "58 x 84 cm", "58x84" (cm)
    std::string emulsion;     // a name; left out: what the orders on that mesh use most
    std::string coats;        // a name of the coat plans, or their numbers: "2+2", "2+2 face"
    std::string film;         // local date and time; left out: the film is there
    std::string image;        // "40 x 60 cm"
    std::string finest_line;  // "200 µm": with `ruling`, instead of the mesh
    std::string ruling;       // "24 /cm"
    bool kept_stencil = false;
};

/// @returns nullopt with `problem` in words: what is wrong, what to write instead.
/// @param field gets which of the words it is, as the option is called ("mesh", "finest-line").
std::optional<model::ScreenLine> line_of(const model::Scenario& scenario, const EnquiryWords& words,
                                         std::string& problem, std::string* field = nullptr);

}  // namespace sched::study
