#pragma once
// A room whose places stand in several parts of the premises, with walking times between them.
// Invented.

#include "model/room/order.hpp"
#include "model/room/room.hpp"

namespace walk_room {

using namespace model;

inline const SimTime begins = *parse_date_time("2026-11-26T00:00");

// Typed drying minutes, one person, one screen.
inline Scenario room_of_parts(bool second_cabinet) {
    Scenario s;
    s.room.stations = {
        {.name = "sink", .does = {Step::Strip, Step::Degrease}, .stands_in = "wet area"},
        {.name = "stand", .does = {Step::Coat}, .light_safe = true, .stands_in = "dark room"},
        {.name = "cabinet",
         .does = {Step::DryMesh, Step::DryCoat, Step::DryStencil},
         .light_safe = true,
         .stands_in = "dark room"},
        {.name = "rack",
         .does = {Step::TakeOut},
         .places = 10,
         .light_safe = true,
         .stands_in = "dark room"},
        {.name = "unit",
         .does = {Step::Expose},
         .light_safe = true,
         .lamp = Lamp{},
         .stands_in = "dark room"},
        {.name = "booth", .does = {Step::WashOut}, .light_safe = true, .stands_in = "wet area"},
        {.name = "table", .does = {Step::Inspect}, .stands_in = "office"},
    };
    if (second_cabinet)
        s.room.stations.push_back({.name = "far cabinet",
                                   .does = {Step::DryMesh, Step::DryCoat, Step::DryStencil},
                                   .light_safe = true,
                                   .stands_in = "cellar"});
    s.room.walks = {{"wet area", "dark room", Seconds{40}, false, {}},
                    {"dark room", "office", Seconds{25}, true, {}},
                    {"office", "dark room", Seconds{600}, true, {}},
                    {"wet area", "cellar", Seconds{120}, false, {}},
                    {"dark room", "cellar", Seconds{100}, false, {}}};
    Shift day{.weekdays = {true, true, true, true, true, false, false},
              .from = hours(6),
              .to = hours(16)};
    s.room.people = {{.name = "one", .shifts = {day}}};
    s.room.emulsions = {
        {.name = "blue", .family = EmulsionFamily::Photopolymer, .base_stencil = Micrometres{60}}};
    s.room.pots = {{.name = "can", .emulsion = "blue", .volume = Millilitres{900}}};
    s.room.meshes = {{.name = "90-48"}};
    s.room.coat_plans = {{.name = "1+1"}};
    s.orders = {{.name = "B1",
                 .due = begins + hours(14),
                 .lines = {{.count = 1,
                            .mesh = "90-48",
                            .frame = {Centimetres{58}, Centimetres{84}},
                            .emulsion = "blue",
                            .coat_plan = "1+1"}}}};
    s.frames = {
        {.size = {Centimetres{58}, Centimetres{84}}, .mesh = "90-48", .state = FrameState::Ready}};
    return s;
}

}  // namespace walk_room
