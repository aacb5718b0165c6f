// Edits of a plan document, one a row: whoever changes one line by hand is found out, without the
// scenario where the lines then contradict each other, else with it.

#include <algorithm>
#include <functional>
#include <set>

#include "model/read/scenario.hpp"
#include "sched/app/parts/asked_again.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/check/checker.hpp"
#include "sched/check/room/judge.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "sched/report/document/plan_json.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"

using namespace sched;
using model::minutes;
using report::PlanDocument;

namespace {

using Said = std::set<std::string>;

Said without_scenario(const PlanDocument& d) {
    Said out;
    for (const auto& v : check::check(d.problem, d.schedule))
        out.insert(v.words);
    for (const auto& words : report::contradictions(d))
        out.insert(words);
    for (const auto& f : check::room::judge_document(d))
        out.insert(f.rule + ": " + f.words);
    return out;
}

Said with_scenario(const PlanDocument& d, const model::Scenario& s,
                   const std::vector<report::InputFile>& inputs) {
    Said out;
    for (const auto& f : check::room::judge_room(d, s, {.inputs = inputs}))
        out.insert(f.rule + ": " + f.words);
    for (const auto& words : app::otherwise_asked(d, s))
        out.insert(words);
    return out;
}

bool more(const Said& after, const Said& before) {
    return !std::includes(before.begin(), before.end(), after.begin(), after.end());
}

struct Untouched {
    model::Scenario scenario;
    std::vector<report::InputFile> inputs;
    PlanDocument plan;
    Said alone, beside;
};

const Untouched& base() {
    static const Untouched made = [] {
        Untouched b;
        const std::string folder = COATROOM_SOURCE "/scenarios/tomorrow";
        model::Diagnostics diagnostics;
        b.scenario = *model::read_scenario(folder, diagnostics);
        b.inputs = app::input_files(folder);
        b.plan = *planned::plan(b.scenario, random_scenario::first_day(), 12).plan;
        b.plan.inputs = b.inputs;
        b.plan.fingerprint = report::fingerprint_of(b.inputs);
        b.alone = without_scenario(b.plan);
        b.beside = with_scenario(b.plan, b.scenario, b.inputs);
        return b;
    }();
    return made;
}

struct Tamper {
    const char* name;
    bool alone;  // found out without the scenario
    std::function<void(PlanDocument&)> edit;
};

std::size_t first(const PlanDocument& d, const std::string& step) {
    for (std::size_t i = 0; i < d.operations.size(); ++i) {
        if (d.operations[i].step == step && !d.operations[i].screen.empty()) return i;
    }
    return 0;
}

report::OperationLine& tampered(PlanDocument& d, const std::string& step) {
    return d.operations[first(d, step)];
}

template <class List>
void lose_first(List& list) {
    list.erase(list.begin());
}

const std::vector<Tamper>& tampers() {
    static const std::vector<Tamper> list = {
        // operations
        {"an operation's screen", true,
         [](auto& d) { tampered(d, "coat").screen = d.screens.back().tag; }},
        {"an operation's order", true, [](auto& d) { tampered(d, "coat").order = "A0"; }},
        {"an operation's words", true, [](auto& d) { tampered(d, "coat").words += ", thick"; }},
        {"an operation's step", false, [](auto& d) { tampered(d, "degrease").step = "abrade"; }},
        {"an operation's round", false, [](auto& d) { tampered(d, "dry-mesh").round = 3; }},
        {"an operation's batch", true,
         [](auto& d) {
             auto& x = tampered(d, "expose");
             x.batch = x.batch ? std::optional<int>{} : 77;
         }},
        {"an operation's start", true, [](auto& d) { tampered(d, "coat").start += minutes(1); }},
        {"an operation's work end", true,
         [](auto& d) { tampered(d, "coat").work_end += minutes(1); }},
        {"an operation's end", true, [](auto& d) { tampered(d, "coat").end += minutes(1); }},
        {"an operation's place", true,
         [](auto& d) { tampered(d, "coat").place = d.stations[0].name; }},
        {"an operation's slots", true, [](auto& d) { tampered(d, "dry-coat").places += 1; }},
        {"how long its place is taken", true,
         [](auto& d) { *tampered(d, "dry-coat").place_until += minutes(5); }},
        {"an operation's people", true, [](auto& d) { tampered(d, "coat").people = {"Nobody"}; }},
        {"how long its people are taken", true,
         [](auto& d) { *tampered(d, "coat").people_until -= minutes(1); }},
        {"an operation's cautions", true,
         [](auto& d) { tampered(d, "strip").cautions = {"beware"}; }},
        // screens
        {"when a screen is ready", true, [](auto& d) { *d.screens[0].ready -= minutes(10); }},
        {"what a screen is made on", true,
         [](auto& d) {
             d.screens[0].made_on = d.screens[0].made_on == "ready" ? "inky" : "ready";
         }},
        {"how long a screen is exposed", false,
         [](auto& d) {
             for (auto& s : d.screens) {
                 if (s.exposure.count() > 0) s.exposure += model::Seconds{11};
             }
         }},
        {"a screen's mesh", false, [](auto& d) { d.screens[1].mesh = "12-300"; }},
        {"a screen's frame", false, [](auto& d) { d.screens[1].frame = "1 x 1 cm"; }},
        {"a screen's emulsion", false, [](auto& d) { d.screens[1].emulsion = "water"; }},
        {"a screen's coat plan", true, [](auto& d) { d.screens[1].coat_plan = "9+9"; }},
        {"a screen's coats in words", false, [](auto& d) { d.screens[1].coat_words = "none"; }},
        {"a screen's order", true, [](auto& d) { d.screens[0].order = d.orders.back().name; }},
        {"a screen's number", false, [](auto& d) { d.screens[0].number = 60; }},
        {"a screen's tag", true, [](auto& d) { d.screens[0].tag = "X9-9"; }},
        {"whether two lift it", true,
         [](auto& d) { d.screens[0].two_people = !d.screens[0].two_people; }},
        {"a screen left out", true, [](auto& d) { lose_first(d.screens); }},
        // orders
        {"an order's lateness", true, [](auto& d) { *d.orders[0].lateness -= minutes(30); }},
        {"an order's screens", true, [](auto& d) { ++d.orders[0].screens; }},
        {"when an order is ready", true, [](auto& d) { *d.orders[0].ready -= minutes(30); }},
        {"when an order is due", true, [](auto& d) { *d.orders[0].due += minutes(30); }},
        {"an order's weight", true, [](auto& d) { ++d.orders[0].weight; }},
        {"an order's customer", false, [](auto& d) { d.orders[0].customer = "somebody"; }},
        {"an order's story", false, [](auto& d) { d.orders[0].story = "All is well."; }},
        {"an order's reasons", false, [](auto& d) { d.orders[0].reasons.clear(); }},
        {"an order left out", true, [](auto& d) { lose_first(d.orders); }},
        // derived lists
        {"a load's work", true, [](auto& d) { d.loads[0].working += minutes(5); }},
        {"a load's staffed time", true, [](auto& d) { d.loads[0].staffed += minutes(5); }},
        {"what is waited for", false, [](auto& d) { d.loads[0].waited_for += minutes(5); }},
        {"a load left out", true, [](auto& d) { lose_first(d.loads); }},
        {"all loads left out", true, [](auto& d) { d.loads.clear(); }},
        {"a fill's step", true, [](auto& d) { ++d.fills.at(0).steps.at(0).working; }},
        {"a fill left out", true, [](auto& d) { lose_first(d.fills); }},
        {"all mixes left out", true, [](auto& d) { d.mixes.clear(); }},
        {"a mix's volume", true, [](auto& d) { d.mixes.at(0).volume_ml *= 2.0; }},
        {"when a pot is usable", true, [](auto& d) { *d.mixes.at(0).usable -= minutes(30); }},
        {"who mixes", true, [](auto& d) { d.mixes.at(0).people = {"Nobody"}; }},
        {"when it is to be bought", true,
         [](auto& d) { d.mixes.at(0).buy_by = d.run.from - minutes(600); }},
        {"whether it is to be bought", false,
         [](auto& d) { d.mixes.at(0).to_buy = !d.mixes.at(0).to_buy; }},
        {"a reclaim left out", true, [](auto& d) { lose_first(d.reclaims); }},
        {"a reclaim's state", true, [](auto& d) { d.reclaims.at(0).state = "ready"; }},
        {"who reclaims", true, [](auto& d) { d.reclaims.at(0).people = {"Nobody"}; }},
        {"frames left: one more", false, [](auto& d) { ++d.stock_after.at(0).count; }},
        {"frames left: none", false, [](auto& d) { d.stock_after.clear(); }},
        {"frames left: cleaner", false,
         [](auto& d) {
             auto& line = d.stock_after.at(0);
             line.state = line.state == "ready" ? "inky" : "ready";
         }},
        {"a break moved", true, [](auto& d) { d.breaks.at(0).from += minutes(7); }},
        {"a break left out", true, [](auto& d) { lose_first(d.breaks); }},
        {"somebody there longer", true,
         [](auto& d) { d.people.at(0).present.at(0).to += minutes(60); }},
        {"a station with more places", true, [](auto& d) { ++d.stations.at(0).places; }},
        {"the bottleneck", true, [](auto& d) { d.bottleneck.resource = "the weather"; }},
        {"the cautions", true, [](auto& d) { lose_first(d.cautions); }},
        {"an aim's value", true, [](auto& d) { d.aims.at(3).value -= 60; }},
        {"an aim's bound", true, [](auto& d) { d.aims.at(3).bound = d.aims.at(3).value + 60; }},
        {"an aim's gap in words", true, [](auto& d) { d.aims.at(3).gap_words = "who knows"; }},
        {"the status", true, [](auto& d) { d.status = "optimal"; }},
        {"the status in other words", true, [](auto& d) { d.status = "perfect"; }},
        {"the fingerprint", true, [](auto& d) { d.fingerprint[0] ^= 1; }},
        {"a digest", true, [](auto& d) { d.inputs.at(0).sha256[0] ^= 1; }},
        {"a digest and the fingerprint", false,
         [](auto& d) {
             d.inputs.at(0).sha256[0] ^= 1;
             d.fingerprint = report::fingerprint_of(d.inputs);
         }},
        {"an input left out", false,
         [](auto& d) {
             lose_first(d.inputs);
             d.fingerprint = report::fingerprint_of(d.inputs);
         }},
        {"the run's end", true, [](auto& d) { d.run.last_end -= minutes(60); }},
        {"the room's name", false, [](auto& d) { d.room = "Elsewhere"; }},
        {"planned in the middle of the day", true,
         [](auto& d) { d.again = report::AgainSection{.now = d.run.from + minutes(600)}; }},
        // the question made easier, with the plan left as it is
        {"a limit taken out of the problem", false,
         [](auto& d) {
             for (auto& c : d.problem.constraints) {
                 if (auto* lag = std::get_if<core::TimeLag>(&c)) lag->max.reset();
             }
         }},
        {"one lag taken out of the problem", false,
         [](auto& d) {
             std::erase_if(d.problem.constraints, [once = false](const auto& c) mutable {
                 const bool it = !once && std::holds_alternative<core::TimeLag>(c);
                 once = once || it;
                 return it;
             });
         }},
        {"a capacity raised", false,
         [](auto& d) {
             d.problem.resources[0].capacity += 2;
             d.stations[0].places += 2;
             d.loads[0].capacity += 2;
         }},
        {"a store enlarged", false, [](auto& d) { d.problem.stores.at(0).initial += 500; }},
        {"a calendar lengthened", false,
         [](auto& d) {
             for (auto& r : d.problem.resources) {
                 if (r.calendar && r.name == d.people[0].name) {
                     r.calendar->back().to += minutes(60);
                     d.people[0].present.back().to += minutes(60);
                 }
             }
         }},
        {"a step made shorter", false,
         [](auto& d) {
             for (auto& m : d.problem.operations[first(d, "inspect")].modes)
                 m.work -= minutes(1);
         }},
    };
    return list;
}

}  // namespace

TEST_CASE("whoever edits a plan document by hand is found out", "[tamper]") {
    const Untouched& b = base();
    REQUIRE(b.plan.status == "feasible");
    for (const Tamper& x : tampers()) {
        INFO(x.name);
        PlanDocument d = b.plan;
        x.edit(d);
        REQUIRE(d != b.plan);
        const bool alone = more(without_scenario(d), b.alone);
        if (x.alone) CHECK(alone);
        if (alone) continue;
        CHECK(more(with_scenario(d, b.scenario, b.inputs), b.beside));
    }
}

TEST_CASE("a member that no plan has is named with its path", "[tamper]") {
    const PlanDocument& d = base().plan;
    const std::string text = report::plan_to_json(d);
    CHECK(report::unknown_members(text, d).empty());
    std::string more = text;
    more.insert(more.find("\"room\""), "\"checked_by\": \"me\",\n ");
    CHECK(report::unknown_members(more, d) == std::vector<std::string>{"checked_by"});
    std::string deep = text;
    deep.insert(deep.find("\"tag\""), "\"thick\":true,");
    CHECK(report::unknown_members(deep, d) == std::vector<std::string>{"screens[0].thick"});
}

TEST_CASE("the plan of the demo room asks what its scenario asks", "[tamper]") {
    const Untouched& b = base();
    CHECK(app::otherwise_asked(b.plan, b.scenario) == std::vector<std::string>{});
}
