#include "tests/report/fixture.hpp"

#include "sched/core/objective.hpp"
#include "sched/report/document/fingerprint.hpp"

namespace fixture {

namespace {

using model::Area;
using model::Centimetres;
using model::FrameState;
using model::minutes;
using model::SimTime;
using model::Step;
using namespace sched;

SimTime at(int hour, int minute) {
    return *model::parse_date_time("2026-11-26T00:00") + minutes(hour * 60 + minute);
}

enum Place { Sink, Stand, Cabinet, Unit, Booth, Table, Ada, Ben };

/// One operation with the place it is given: the day below reads as a timetable.
struct Row {
    Step step;
    int screen;  // -1: mixing
    SimTime start;
    int work;  // min
    int hold;  // min
    int place;
    int person;  // -1: nobody
    const char* words;
};

std::vector<Row> rows() {
    return {
        {Step::MixDissolve, -1, at(6, 0), 5, 0, Sink, Ben, "dissolve the sensitizer for Violet D"},
        {Step::MixStir, -1, at(6, 20), 5, 0, Sink, Ben, "stir the sensitizer into Violet D"},
        {Step::Degrease, 0, at(6, 0), 5, 0, Sink, Ada, "degrease A1-1"},
        {Step::DryMesh, 0, at(6, 5), 20, 0, Cabinet, -1, "dry the mesh of A1-1"},
        {Step::Degrease, 1, at(6, 6), 5, 0, Sink, Ada, "degrease A1-2"},
        {Step::DryMesh, 1, at(6, 11), 20, 0, Cabinet, -1, "dry the mesh of A1-2"},
        {Step::Strip, 2, at(6, 25), 2, 0, Booth, Ada, "remover on Bö-1"},
        {Step::Rinse, 2, at(6, 30), 4, 0, Booth, Ada, "rinse Bö-1"},
        {Step::Degrease, 2, at(6, 34), 5, 0, Sink, Ada, "degrease Bö-1"},
        {Step::DryMesh, 2, at(6, 39), 20, 6, Cabinet, -1, "dry the mesh of Bö-1"},
        {Step::Coat, 2, at(7, 5), 5, 0, Stand, Ben, "coat Bö-1 (1 print side, 1 squeegee side)"},
        {Step::DryCoat, 2, at(7, 10), 40, 5, Cabinet, -1, "dry the coat of Bö-1"},
        {Step::Coat, 0, at(7, 30), 6, 0, Stand, Ben, "coat A1-1 (2 print side, 2 squeegee side)"},
        {Step::DryCoat, 0, at(7, 36), 50, 0, Cabinet, -1, "dry the coat of A1-1"},
        {Step::Expose, 2, at(7, 55), 4, 0, Unit, Ada, "expose Bö-1 (90 s)"},
        {Step::WashOut, 2, at(7, 59), 5, 0, Booth, Ada, "wash out Bö-1"},
        {Step::DryStencil, 2, at(8, 4), 20, 6, Cabinet, -1, "dry the stencil of Bö-1"},
        {Step::Coat, 1, at(8, 0), 6, 0, Stand, Ben, "coat A1-2 (2 print side, 2 squeegee side)"},
        {Step::DryCoat, 1, at(8, 6), 50, 4, Cabinet, -1, "dry the coat of A1-2"},
        {Step::Expose, 0, at(8, 26), 4, 0, Unit, Ada, "expose A1-1 (150 s)"},
        {Step::WashOut, 0, at(8, 30), 6, 0, Booth, Ada, "wash out A1-1"},
        {Step::DryStencil, 0, at(8, 36), 20, 0, Cabinet, -1, "dry the stencil of A1-1"},
        {Step::Inspect, 2, at(8, 30), 5, 0, Table, Ben, "inspect Bö-1"},
        {Step::Inspect, 0, at(8, 56), 5, 0, Table, Ben, "inspect A1-1"},
        {Step::Expose, 1, at(9, 0), 4, 0, Unit, Ada, "expose A1-2 (150 s)"},
        {Step::WashOut, 1, at(9, 4), 6, 0, Booth, Ada, "wash out A1-2"},
        {Step::DryStencil, 1, at(9, 10), 20, 0, Cabinet, -1, "dry the stencil of A1-2"},
        {Step::Inspect, 1, at(9, 30), 5, 0, Table, Ben, "inspect A1-2"},
    };
}

core::Problem problem() {
    core::Problem p;
    p.name = "three screens";
    p.horizon_start = at(0, 0);
    p.horizon_end = at(48, 0);
    for (const char* name :
         {"Sink", "Coating stand", "Cabinet <1>", "Exposure unit", "Booth", "Light table"}) {
        p.resources.push_back({.name = name, .capacity = 1});
    }
    p.resources[Sink].capacity = 2;
    p.resources[Cabinet].capacity = 4;
    p.resources[Cabinet].shared = core::SharedRate{{{.from = at(0, 0), .base = 1.0, .cap = 0.75}}};
    p.resources[Unit].batch = core::BatchArea{1000, 1200, 20, 2};
    p.resources.push_back(
        {.name = "Ada", .calendar = core::Calendar{{at(6, 0), at(9, 15)}, {at(9, 30), at(14, 0)}}});
    p.resources.push_back({.name = "Ben & Co", .calendar = core::Calendar{{at(6, 0), at(14, 0)}}});
    p.stores = {{.name = "Violet D", .initial = 0, .until = at(40, 0)},
                {.name = "Sun P", .initial = 900}};
    p.orders = {{.name = "A1", .release = at(6, 0), .due = at(9, 0), .weight = 2},
                {.name = "Bö", .release = at(6, 0), .due = at(10, 30), .weight = 1}};
    p.jobs = {{.name = "A1-1", .order = core::OrderId{0}},
              {.name = "A1-2", .order = core::OrderId{0}},
              {.name = "Bö-1", .order = core::OrderId{1}}};
    std::vector<int> last(3, -1);
    int index = 0;
    for (const Row& row : rows()) {
        core::Mode mode;
        mode.work = minutes(row.work);
        mode.needs.push_back({.any_of = {core::ResourceId{row.place}},
                              .amount = row.screen == 1 && row.place == Cabinet ? 2 : 1});
        if (row.person >= 0) {
            mode.needs.push_back({.any_of = {core::ResourceId{Ada}, core::ResourceId{Ben}},
                                  .span = core::Span::Work});
        }
        const bool drying = row.place == Cabinet;
        if (drying) {
            mode.work = minutes(0);
            mode.stages = {{.work = row.work * 60.0, .share = 0.0}};
        }
        core::Operation operation{.name = row.words, .modes = {mode}};
        if (row.screen >= 0) operation.job = core::JobId{row.screen};
        if (drying) operation.max_stretch = std::nullopt;
        if (row.place == Unit) operation.batch = core::BatchShape{0, 580, 840};
        p.operations.push_back(operation);
        if (row.screen >= 0) {
            int& before = last[static_cast<std::size_t>(row.screen)];
            if (before >= 0) {
                core::TimeLag lag{.from = core::OperationId{before},
                                  .to = core::OperationId{index}};
                const bool strip = row.step == Step::Rinse;
                if (strip) lag.min = minutes(2);
                if (strip) lag.max = minutes(5);
                if (row.step == Step::DryCoat || row.step == Step::DryMesh ||
                    row.step == Step::DryStencil)
                    lag.max = minutes(0);
                p.constraints.emplace_back(lag);
            }
            before = index;
        }
        if (row.step == Step::Coat) {
            p.constraints.emplace_back(core::Take{
                core::OperationId{index}, {core::StoreId{row.screen == 2 ? 1 : 0}}, 120});
        }
        ++index;
    }
    p.constraints.emplace_back(core::TimeLag{
        .from = core::OperationId{0}, .to = core::OperationId{1}, .min = minutes(15)});
    p.constraints.emplace_back(core::Give{core::OperationId{1}, core::StoreId{0}, 1000});
    p.constraints.emplace_back(
        core::StartWindow{.operation = core::OperationId{14}, .not_before = at(7, 0)});
    p.constraints.emplace_back(
        core::SameResource{core::OperationId{3}, 0, core::OperationId{13}, 0});
    p.constraints.emplace_back(core::SameMode{core::OperationId{19}, core::OperationId{20}});
    p.objective = {core::Criterion::WeightedTardiness, core::Criterion::LateOrders,
                   core::Criterion::Makespan, core::Criterion::Holding};
    p.overtime = {{.resource = core::ResourceId{Ada}, .window = {at(13, 0), at(14, 0)}}};
    return p;
}

model::Station station(std::string name, std::vector<Step> does, int places) {
    return {.name = std::move(name), .does = std::move(does), .places = places};
}

}  // namespace

model::Scenario scenario() {
    model::Scenario s;
    s.room.name = "Fixture room \"East\" & <West>";
    s.room.invented = true;
    s.room.stations = {station("Sink", {Step::Degrease, Step::MixDissolve, Step::MixStir}, 2),
                       station("Coating stand", {Step::Coat}, 1),
                       station("Cabinet <1>", {Step::DryMesh, Step::DryCoat, Step::DryStencil}, 4),
                       station("Exposure unit", {Step::Expose}, 1),
                       station("Booth", {Step::Strip, Step::Rinse, Step::WashOut}, 1),
                       station("Light table", {Step::Inspect}, 1)};
    s.room.people = {{.name = "Ada"}, {.name = "Ben & Co"}};
    s.room.coat_plans = {{.name = "2+2", .print_side = 2, .squeegee_side = 2},
                         {.name = "1+1", .print_side = 1, .squeegee_side = 1}};
    s.room.limits.two_people_from = Area{Centimetres{100}, Centimetres{120}};
    s.orders = {{.name = "A1", .customer = "=1+1 <Fox>", .due = at(9, 0), .priority = 2},
                {.name = "Bö", .customer = "Kite, \"blue\"", .due = at(10, 30), .priority = 1}};
    return s;
}

compile::RoomProblem room() {
    compile::RoomProblem r;
    r.problem = problem();
    const Area small{Centimetres{58}, Centimetres{84}};
    const Area large{Centimetres{110}, Centimetres{140}};
    r.screens = {{.order = 0,
                  .line = 0,
                  .number = 1,
                  .tag = "A1-1",
                  .mesh = "120-34",
                  .frame = small,
                  .emulsion = "Violet D",
                  .coat_plan = "2+2",
                  .source = FrameState::Ready,
                  .exposures = {model::Seconds{150}},
                  .job = core::JobId{0}},
                 {.order = 0,
                  .line = 1,
                  .number = 2,
                  .tag = "A1-2",
                  .mesh = "77-48",
                  .frame = large,
                  .emulsion = "Violet D",
                  .coat_plan = "2+2",
                  .source = FrameState::NewMesh,
                  .exposures = {model::Seconds{150}},
                  .job = core::JobId{1}},
                 {.order = 1,
                  .line = 0,
                  .number = 1,
                  .tag = "Bö-1",
                  .mesh = "120-34",
                  .frame = small,
                  .emulsion = "Sun P",
                  .coat_plan = "1+1",
                  .source = FrameState::OldStencil,
                  .stock = 2,
                  .exposures = {model::Seconds{90}},
                  .job = core::JobId{2}}};
    for (const Row& row : rows()) {
        r.operations.push_back(
            {.step = row.step,
             .screen = row.screen,
             .part = row.step == Step::Expose ? model::route::Part::Run : model::route::Part::Whole,
             .mix = row.screen < 0 ? 0 : -1,
             .words = row.words});
    }
    for (int i = 0; i < 6; ++i)
        r.resources.push_back({compile::ResourceKind::Station, i});
    for (int i = 0; i < 2; ++i)
        r.resources.push_back({compile::ResourceKind::Person, i});
    r.orders = {0, 1};
    r.mixes = {{.emulsion = "Violet D",
                .pot = "pot 1",
                .volume_ml = 1000,
                .store = core::StoreId{0},
                .to_buy = true}};
    r.reclaims = {{.screen = 2, .stock = 2}};
    r.stock_after = {{.size = small, .mesh = "120-34", .state = FrameState::Ready, .count = 3},
                     {.size = large, .mesh = "77-48", .state = FrameState::Inky, .count = 1}};
    return r;
}

core::Solution solution() {
    core::Solution s;
    s.status = core::Status::Feasible;
    core::Schedule schedule;
    for (const Row& row : rows()) {
        core::Placement p;
        p.start = row.start;
        p.work_end = row.start + minutes(row.work);
        p.end = p.work_end + minutes(row.hold);
        p.chosen.push_back(core::ResourceId{row.place});
        if (row.person >= 0) p.chosen.push_back(core::ResourceId{row.person});
        if (row.step == Step::Coat) p.stores.push_back(core::StoreId{row.screen == 2 ? 1 : 0});
        schedule.placements.push_back(p);
    }
    s.value = core::evaluate(problem(), schedule);
    s.bound.parts = {3000, 1, s.value.parts[2] - 720, 0};
    s.schedule = schedule;
    s.evaluations = 1234;
    return s;
}

report::PlanDocument document() {
    report::PlanFacts facts;
    facts.version = "0.1.0";
    facts.inputs = {report::input_file("room.yaml", "room\n"),
                    report::input_file("orders.csv", "orders\n")};
    facts.seed = 7;
    facts.budget_evaluations = 2000;
    facts.diagnostics = {{.place = {.file = "orders.csv", .line = 3, .column = 9},
                          .severity = model::Severity::Warning,
                          .code = "tight",
                          .message = "order A1 leaves little time",
                          .hint = "Ask for a later due time."}};
    return report::make_plan_document(scenario(), room(), solution(), facts);
}

report::PlanDocument golden_document() {
    report::PlanDocument d = document();
    const auto load = [](const char* name, const char* kind, int capacity, int staffed, int working,
                         int holding, int waited, int chains) {
        report::LoadLine x{.resource = name, .kind = kind, .capacity = capacity};
        x.staffed = minutes(staffed);
        x.working = minutes(working);
        x.holding = minutes(holding);
        x.waited_for = minutes(waited);
        x.on_late_chains = chains;
        x.availability = 1.0 * working / staffed;
        x.allocation_efficiency = 1.0 * (working + holding) / staffed;
        if (working + holding > 0) x.utilisation_efficiency = 1.0 * working / (working + holding);
        return x;
    };
    d.loads = {load("Sink", "station", 2, 430, 25, 0, 0, 0),
               load("Cabinet <1>", "station", 4, 860, 330, 25, 85, 2),
               load("Exposure unit", "station", 1, 215, 12, 0, 4, 0),
               load("Ada", "person", 1, 465, 44, 0, 31, 1),
               load("Ben & Co", "person", 1, 480, 42, 0, 0, 0)};
    report::OrderLine& late = d.orders[0];
    late.story =
        "Ready 09:35, 35 min late (due 09:00). Longest waits: Cabinet <1> 1 h 25 min, Ada 31 min.";
    late.reasons = {
        {.cause = "begin", .operation = 4, .words = "06:06 degrease A1-2: first on the chain"},
        {.cause = "resource",
         .operation = 17,
         .because = 12,
         .resource = "Cabinet <1>",
         .waited = minutes(85),
         .words =
             "08:00 coat A1-2: waits 1 h 25 min for Cabinet <1>, taken by dry the coat of A1-1"}};
    late.chance_late = 0.9;
    late.ready_p10 = *late.ready - minutes(6);
    late.ready_p50 = *late.ready + minutes(2);
    late.ready_p90 = *late.ready + minutes(21);
    d.orders[1].story = "Ready 08:35, 1 h 55 min early (due 10:30).";
    d.orders[1].reasons.clear();
    d.bottleneck.resource = "Cabinet <1>";
    d.bottleneck.sentences = {"Cabinet <1> limits the day.",
                              "Steps wait 1 h 25 min in all because of it alone."};
    d.bottleneck.what_ifs = {
        {"one more place in Cabinet <1>", "35 min less lateness; then Ada limits"}};
    return d;
}

}  // namespace fixture
