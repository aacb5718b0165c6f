#pragma once
// What `coatroom plan` is asked, as plain values: made once from the command line and its files;
// everything after it reads this and no option.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/read/scenario.hpp"
#include "model/room/state.hpp"
#include "sched/chance/chance.hpp"
#include "sched/report/document/plan_document.hpp"
#include "sched/search/base/options.hpp"

namespace sched::app {

struct Question {
    std::string folder;  // of the scenario
    model::Scenario scenario;
    std::vector<report::InputFile> inputs;  // the files it was read from
    std::string day_kind;                   // named day of the climate
    model::SimTime start{};                 // where the run begins
    search::SearchOptions how;              // the whole budget, seed, threads, stop
    std::vector<std::string> pins;
    std::string pin_file;             // where the last of them come from; empty: nowhere
    std::size_t pins_of_options = 0;  // those before

    struct Midday {
        model::SimTime now{};
        model::Seconds frozen{0};
        model::RoomState state;
        std::optional<report::PlanDocument> posted;  // the plan that hangs
    };
    std::optional<Midday> midday;  // absent: a plan of the whole day

    struct Days {                         // simulated ones
        int number = 0;                   // 0: none, or until `precision` is reached
        bool usual = false;               // as many as are simulated where nobody says
        std::optional<double> precision;  // per cent
        std::string policy = "follow";
        study::Chance chance;
        bool asked() const { return number > 0 || precision.has_value(); }
    } days;
    bool on_paper = false;  // no simulated days choose the plan
    int robust = 0;         // plans to choose from by simulated cost
    bool what_if = false;   // plan again with one more of what limits the day

    std::string out;  // folder; empty: none
    bool station_sheets = false;
    bool post = false;      // into the journal
    std::int64_t seen = 0;  // its last entry that the question took account of
    bool json = false;
    bool quiet = false;
};

}  // namespace sched::app
