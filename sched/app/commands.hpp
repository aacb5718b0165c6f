#pragma once
// One plain struct of options and one function a command. cli.cpp alone knows the command line.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/base/time.hpp"

namespace sched::app {

struct BudgetArgs {
    std::string budget = "10s";  // "10s", "2 min", "50000sch"
    std::uint64_t seed = 1;
    int threads = 0;  // 0: all cores
};

struct PlanArgs {
    std::string scenario;
    std::string date;   // empty: the first due date
    std::string start;  // local date and time; empty: 00:00 of the date
    std::string day;    // named day of the climate
    std::string out;    // folder
    BudgetArgs search;
    int replications = 0;
    bool what_if = false;           // plan again with one more of what limits the day
    std::vector<std::string> pins;  // see pin_words.hpp
    std::string pin_file;
    bool json = false;
    bool quiet = false;
};
int run_plan(const PlanArgs& args);

struct CheckArgs {
    std::string what;  // a scenario folder or a plan.json
    bool json = false;
};
int run_check(const CheckArgs& args);

struct SizeArgs {
    std::string scenario;
    std::vector<std::string> changes;    // change files
    std::vector<double> volumes{100.0};  // per cent of today's
    int days = 200;                      // simulated days of one room at one volume, at most
    BudgetArgs search;                   // seed and threads
    double interest = 0.0;               // per cent a year
    double energy_price = 0.0;           // per kWh
    double overtime_wage = 0.0;          // per hour
    double late_order = 0.0;             // each
    double late_hour = 0.0;
    std::string csv;  // every simulated day
};
int run_size(const SizeArgs& args);

struct CompareArgs {
    std::string a;
    std::string b;
};
int run_compare(const CompareArgs& args);

struct DryArgs {
    std::string scenario;
    std::string cabinet;
    std::string what = "coat";  // coat, face, mesh, stencil
    std::string coat_plan;
    std::string mesh;
    std::string emulsion;
    std::string frame;
    std::string temperature;  // of the room's air
    std::string humidity;
    std::vector<std::string> observed;
    std::string out;  // .svg: the curve alone; else a page
    bool json = false;
};
int run_dry(const DryArgs& args);

struct DoseArgs {
    std::string scenario;
    std::string unit;
    std::string order;
    std::string mesh;
    std::string emulsion;
    std::string coat_plan;
    double tolerance = 10.0;  // per cent
    bool wedge = false;
    std::vector<double> percentages;
    std::optional<int> best;
    bool save = false;  // with best: into room.yaml
    bool json = false;
};
int run_dose(const DoseArgs& args);

/// Parses the command line and runs the command. @returns the exit status.
int run(int argc, const char* const* argv);

}  // namespace sched::app
