#pragma once
// A change to the room that somebody might buy or decide: its name, its words, and what it costs.
// What it does to the room stands in the file beside it and is laid over room.yaml.

#include <string>

#include "model/base/diagnostic.hpp"

namespace model {

/// Figures of a change; everything is optional and zero if not given. Amounts in the shop's
/// currency.
struct ChangeFigures {
    double purchase = 0.0;
    double installation = 0.0;
    double life_years = 10.0;
    double left_over = 0.0;   // what it still fetches at the end of its life
    double upkeep = 0.0;      // per year
    double floor_area = 0.0;  // m2 more than today
    friend bool operator==(const ChangeFigures&, const ChangeFigures&) = default;
};

struct Change {
    std::string name;
    std::string words;
    bool invented = false;
    ChangeFigures figures;
    SourcePlace place;
    friend bool operator==(const Change&, const Change&) = default;
};

}  // namespace model
