#pragma once
// Rooms of any size for measuring: a scenario's own orders, repeated day by day, with due dates
// moved earlier to make it tight.

#include <algorithm>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "sched/compile/room_problem.hpp"

namespace room_workloads {

struct Shape {
    model::Seconds earlier{0};  // every due date comes this much sooner
    int repeat = 1;             // the orders so many times over, each copy a day later
    int days = 3;               // horizon, of the first copy
};

/// @returns nullopt, with the complaints on stderr, if the folder does not compile.
inline std::optional<sched::core::Problem> make(const std::string& folder, const Shape& shape) {
    model::Diagnostics diagnostics;
    auto scenario = model::read_scenario(folder, diagnostics);
    std::optional<sched::compile::RoomProblem> room;
    if (scenario && !scenario->orders.empty()) {
        model::SimTime first = scenario->orders.front().due;
        for (const auto& order : scenario->orders)
            first = std::min(first, order.due);
        const auto frames = scenario->frames;
        const auto orders = scenario->orders;
        for (int copy = 1; copy < shape.repeat; ++copy) {
            const model::Seconds later{copy * 86'400};
            for (auto order : orders) {
                order.name += "-" + std::to_string(copy);
                order.due += later;
                for (auto& line : order.lines) {
                    if (line.film_ready) *line.film_ready += later;
                }
                scenario->orders.push_back(order);
            }
        }
        for (auto& stock : scenario->frames)
            stock.count *= shape.repeat;
        room = sched::compile::compile_room(
            *scenario,
            {.start = model::midnight(model::date_of(first)), .days = shape.days * shape.repeat},
            diagnostics);
    }
    for (const auto& d : diagnostics.all()) {
        if (!room) std::fprintf(stderr, "%s\n", model::to_text(d).c_str());
    }
    if (!room) return std::nullopt;
    for (auto& order : room->problem.orders) {
        if (order.due) *order.due -= shape.earlier;
    }
    return std::move(room->problem);
}

}  // namespace room_workloads
