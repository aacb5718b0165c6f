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

struct BeginArgs {
    std::string folder;
    std::string answers;  // file; empty: asked
    std::string date;     // on the example pots; empty: today
    bool json = false;
};
int run_begin(const BeginArgs& args);

struct PlanArgs {
    std::string scenario;
    std::string date;     // empty: see day_of_plan.hpp
    std::string start;    // local date and time; empty: 00:00 of the date
    std::string day;      // named day of the climate
    std::string out;      // folder
    std::string now;      // time, or date and time; empty: the whole day
    std::string earlier;  // plan.json, or its folder
    std::string frozen;   // "30min"
    std::string state;    // empty: state.yaml of the scenario
    BudgetArgs search;
    std::optional<int> replications;  // simulated days; absent: 200 of a whole day
    bool on_paper = false;            // the aims as if all took what is planned
    std::optional<double> precision;  // per cent; replications end when it is reached
    int robust = 0;  // plans to choose from by simulated cost; 0: the best on paper
    std::string policy = "follow";
    bool what_if = false;           // plan again with one more of what limits the day
    std::vector<std::string> pins;  // see pin_words.hpp
    std::string pin_file;
    bool station_sheets = false;  // with `out`
    bool post = false;            // into the journal
    bool json = false;
    bool quiet = false;
};
int run_plan(const PlanArgs& args);

struct CheckArgs {
    std::string what;      // a scenario folder or a plan.json
    std::string scenario;  // that the plan was made for; empty: where its files lie beside it
    std::string date;      // of the scenario, as for plan
    bool json = false;
};
int run_check(const CheckArgs& args);

struct SizeArgs {
    std::string scenario;
    std::vector<std::string> changes;    // change files; "A+B": both together
    std::string orders;                  // past orders; empty: the scenario's
    std::vector<double> volumes{100.0};  // per cent of today's
    int days = 400;                      // simulated days of one room, at most
    int least = 20;                      // ... of every room at every volume
    bool every_day = false;              // no room is left out early
    BudgetArgs search;                   // seed and threads
    int effort = 400;                    // schedules and days for each plan; 0: a rule
    std::string rule = "atc";
    std::string kinds;                   // "dry 20, usual 60, damp 20"
    std::optional<double> indifference;  // money (or hours late) a day
    double precision = 5.0;              // per cent
    double confidence = 95.0;            // per cent
    double coping = 0.0;                 // per cent on time; 0: as today
    double interest = 0.0;               // per cent a year
    double inflation = 0.0;              // per cent a year
    double energy_price = 0.0;           // per kWh
    double floor_price = 0.0;            // per m2 and year
    double overtime_wage = 0.0;          // per hour
    double late_order = 0.0;             // each
    double late_hour = 0.0;
    double send_out = 0.0;  // per screen made elsewhere instead of late; 0: none is
    double days_a_year = 250.0;
    std::string shard;               // "2/8"
    std::vector<std::string> merge;  // partial results
    std::string out;                 // folder, or the file of a shard
    std::string csv;                 // every simulated day
    bool json = false;
    bool quiet = false;
};
int run_size(const SizeArgs& args);

struct WeeksArgs {
    std::string scenario;
    int days = 250;             // working days, at most
    double orders_a_day = 0.0;  // 0: as chance.yaml or arrivals.csv says
    std::string rule = "urgency";
    double precision = 0.0;  // per cent of the mean turnaround; 0: all days
    std::uint64_t seed = 1;
    std::string trace;  // file for every event, NDJSON
    std::string out;    // a page
    bool json = false;
    bool quiet = false;
};
int run_weeks(const WeeksArgs& args);

struct CompareArgs {
    std::string a;
    std::string b;
    bool json = false;
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
    std::string out;    // a page
    bool json = false;
};
int run_dose(const DoseArgs& args);

struct TuneArgs {
    std::string scenario;
    std::vector<std::string> marks;   // CSV; empty: the scenario's journal
    std::vector<std::string> orders;  // CSV of past orders, besides those of the scenario
    std::string since;                // date: marks from then on
    bool write = false;
    bool json = false;
};
int run_tune(const TuneArgs& args);

struct MarkArgs {
    std::string scenario;
    std::vector<std::string> marks;  // see sched/journal/mark_words.hpp; "-": one a line from input
    std::string at;                  // 10:40, or a date and time; empty: now
    std::string by, device;
    bool list = false;
    std::string csv;        // file to write; "-": printed
    std::string import;     // CSV file to read
    std::string state_out;  // file to write
    bool json = false;
};
int run_mark(const MarkArgs& args);

struct BoardArgs {
    std::string scenario;
    std::string plan;                // plan.json or its folder; empty: of the scenario's folder
    int port = 8377;                 // 0: any free one
    std::string date, from, day;     // of the promises, as for plan
    std::string now, state;          // of the promises: the rest of the day that `plan` is of
    bool lan = false;                // on all networks of this machine, with a token
    bool qr = false;                 // the address as a QR code, also where no terminal is
    std::vector<std::string> hosts;  // names under which a proxy serves it
    bool read_only = false;          // nothing is marked
    std::string budget = "20s";      // of the search for a new plan
    double limit = 20.0;             // per cent late, from which a new plan is offered
    std::string clock;               // the board's time begins there; empty: this machine's
    double pace = 1.0;               // ... and goes so many times as fast
    int replications = 199;
    std::uint64_t seed = 1;
    int threads = 0;
};
int run_board(const BoardArgs& args);

struct PromiseArgs {
    std::string scenario;
    int screens = 0;  // 0: no enquiry on the command line
    std::string mesh, frame, emulsion, coats, film, image, finest_line, ruling;
    bool kept_stencil = false;
    std::string order, customer, wanted;
    int priority = 1;
    std::string enquiries;            // CSV
    std::string date, from;           // as for plan
    std::string now, earlier, state;  // as for plan
    std::string day;
    int replications = 199;
    int effort = 400;         // schedules for the plan of what is promised
    double correction = 0.0;  // minutes, from past errors
    bool backtest = false;
    std::string journal;            // a file; empty: what the scenario keeps
    std::string import, export_to;  // files of past promises; export: "-" prints
    bool accept = false;
    bool explain = false;
    bool quick = false;  // no remedies
    bool table = false;
    int weeks = 0;  // of the table; 0: until the figures have settled
    double load = 100.0;
    std::string out;  // folder for the page
    bool json = false;
    bool quiet = false;
    std::uint64_t seed = 1;
    int threads = 0;
};
/// Says on the error stream what makes no sense together.
bool sound_question(const PromiseArgs& args);
int run_promise(const PromiseArgs& args);
int run_promise_table(const PromiseArgs& args);
int run_promise_backtest(const PromiseArgs& args);
int run_promise_files(const PromiseArgs& args);

/// Parses the command line and runs the command. @returns the exit status.
int run(int argc, const char* const* argv);

}  // namespace sched::app
