#pragma once
// A shop as its lead has told it in ten answers: plain values, from which the files are written.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/base/quantity.hpp"
#include "model/begin/questions.hpp"
#include "model/room/room.hpp"

namespace model::begin {

struct Worker {
    std::string name;
    std::string can = "everything";  // as room.yaml writes it
    std::vector<std::string> shifts;
    std::vector<std::string> breaks;
};

struct FrameKind {
    int count = 0;
    std::string size;  // "58 x 84 cm"
    std::string mesh;  // "77-55"
};

struct MeshKind {
    std::string name;   // "77-55"
    double count = 0;   // threads/cm
    double thread = 0;  // µm
};

struct EmulsionKind {
    std::string name;
    EmulsionFamily family = EmulsionFamily::Photopolymer;
    std::string time, distance;  // of the exposure; empty: usual
    std::string plan, mesh;      // of the screen that it is of; empty: the first
};

struct CoatKind {
    std::string name;  // "2+2"
    int print_side = 2, squeegee_side = 2, face = 0;
    std::string time;  // empty: a minute a coat
};

struct Shop {
    std::vector<Worker> people;
    int sinks = 1;
    int booths = 1;  // 0: washed out at the sink
    int stands = 1;
    int units = 1;
    LampKind lamp = LampKind::Led;
    std::string blanket;         // empty: one screen at a time
    std::optional<int> cabinet;  // screens; none: a rack
    int rack = 20;
    std::string warm = "36 °C";
    std::string fresh_air;  // empty: by the number of screens
    std::vector<FrameKind> frames;
    std::vector<MeshKind> meshes;
    std::vector<EmulsionKind> emulsions;
    std::vector<CoatKind> coats;
};

/// Reads one answer into the shop. @returns "" or what is wrong and what to write instead.
/// @pre the questions before it have been answered.
std::string answer(std::string_view key, const std::string& text, Shop& shop);

}  // namespace model::begin
