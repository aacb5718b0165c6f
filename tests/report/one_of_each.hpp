#pragma once
// A room to change for what a test is about.

#include "sched/compile/room_problem.hpp"

// One of each place, one person, typed drying minutes, an emulsion that comes ready. Invented.
inline model::Scenario one_of_each(model::SimTime day) {
    using namespace model;
    Scenario s;
    s.room.name = "small";
    s.room.stations = {
        {.name = "sink",
         .does = {Step::InkOff, Step::InkDegrease, Step::Strip, Step::Rinse, Step::Haze,
                  Step::Degrease}},
        {.name = "stand", .does = {Step::Coat}, .light_safe = true},
        {.name = "cabinet",
         .does = {Step::DryMesh, Step::DryCoat, Step::DryStencil},
         .places = 2,
         .light_safe = true},
        {.name = "unit", .does = {Step::Expose}, .light_safe = true, .lamp = Lamp{}},
        {.name = "booth", .does = {Step::WashOut}, .light_safe = true},
        {.name = "table", .does = {Step::Inspect}},
        {.name = "rack",
         .does = {Step::TakeOut, Step::DryTouchUp},
         .places = 6,
         .light_safe = true},
    };
    Shift shift{
        .weekdays = {true, true, true, true, true, true, true}, .from = hours(7), .to = hours(15)};
    s.room.people = {{.name = "Ada", .shifts = {shift}}};
    s.room.emulsions = {{.name = "quick", .family = EmulsionFamily::Photopolymer}};
    s.room.pots = {{.name = "can", .emulsion = "quick", .volume = Millilitres{5000}}};
    s.room.meshes = {{.name = "90-48"}};
    s.room.coat_plans = {{.name = "2+2"}};
    const Area frame{Centimetres{58}, Centimetres{84}};
    s.orders = {{.name = "A1",
                 .due = day + hours(14),
                 .lines = {{.count = 3,
                            .mesh = "90-48",
                            .frame = frame,
                            .emulsion = "quick",
                            .coat_plan = "2+2"}}}};
    s.frames = {{.size = frame, .mesh = "90-48", .state = FrameState::OldStencil, .count = 2},
                {.size = frame, .mesh = "90-48", .state = FrameState::Inky, .count = 1}};
    return s;
}
