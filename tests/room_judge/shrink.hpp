#pragma once
// A room in which something goes wrong, made as small as it goes while it still goes wrong.

#include <functional>
#include <string>
#include <vector>

#include "model/room/order.hpp"

namespace random_scenario {

struct Shrunk {
    model::Scenario scenario;
    std::vector<std::string> cuts;  // what was taken out, in order; cut() takes the same out
    int tried = 0;
};

/// @param wrong whether it still goes wrong in that room. @pre wrong(scenario).
Shrunk shrink(model::Scenario scenario, const std::function<bool(const model::Scenario&)>& wrong);

/// The room without these: a test names a seed and the cuts that shrink() printed.
model::Scenario cut(model::Scenario scenario, const std::vector<std::string>& cuts);

}  // namespace random_scenario
