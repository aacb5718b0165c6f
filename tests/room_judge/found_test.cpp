// Each rule of the judges of document and room alone: an edit of a right plan, and words that stand
// in the finding of just that rule. tamper_test.cpp asks only that some judge says something.

#include <algorithm>
#include <functional>

#include "model/read/scenario.hpp"
#include "sched/check/room/judge.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "tests/catch.hpp"
#include "tests/room_judge/odd_days.hpp"
#include "tests/room_judge/planned.hpp"
#include "tests/room_judge/random_scenario.hpp"

using namespace sched;
using model::minutes;
using model::Scenario;
using model::Seconds;
using report::PlanDocument;

namespace {

struct Base {
    Scenario scenario;
    PlanDocument plan;
};

const Base& tomorrow() {
    static const Base made = [] {
        Base b;
        model::Diagnostics diagnostics;
        b.scenario = *model::read_scenario(COATROOM_SOURCE "/scenarios/tomorrow", diagnostics);
        b.plan = *planned::plan(b.scenario, random_scenario::first_day(), 12).plan;
        b.plan.fingerprint = report::fingerprint_of(b.plan.inputs);
        return b;
    }();
    return made;
}

// The same from the middle of its day on, compared with the plan that hangs.
const Base& midday() {
    static const Base made = [] {
        app::Question question{.scenario = tomorrow().scenario,
                               .start = random_scenario::first_day()};
        question.how.threads = 1;
        question.how.budget.evaluations = 12;
        const auto whole = planned::plan(question);
        question.midday = app::Question::Midday{.now = random_scenario::first_day() + minutes(600),
                                                .posted = *whole.plan};
        return Base{question.scenario, *planned::plan(question).plan};
    }();
    return made;
}

int how_many_say(const std::vector<check::room::Finding>& findings, const std::string& words) {
    return static_cast<int>(std::count_if(findings.begin(), findings.end(), [&](const auto& f) {
        return f.words.find(words) != std::string::npos;
    }));
}

std::size_t position_of(const PlanDocument& d, const std::string& step) {
    for (std::size_t i = 0; i < d.operations.size(); ++i) {
        if (d.operations[i].step == step && !d.operations[i].screen.empty()) return i;
    }
    FAIL("no " + step);
    return 0;
}
report::OperationLine& op(PlanDocument& d, const std::string& step) {
    return d.operations[position_of(d, step)];
}
// Of that step, the part of it that nobody attends.
report::OperationLine& quiet(PlanDocument& d, const std::string& step) {
    for (auto& line : d.operations) {
        if (line.step == step && line.people.empty() && !line.screen.empty()) return line;
    }
    FAIL("no quiet " + step);
    return d.operations[0];
}
report::LoadLine& load(PlanDocument& d, const std::string& kind) {
    return *std::find_if(d.loads.begin(), d.loads.end(),
                         [&](const auto& l) { return l.kind == kind && l.working > Seconds{0}; });
}
template <class List>
void drop_first(List& list) {
    REQUIRE(!list.empty());
    list.erase(list.begin());
}

struct Edit {
    const char* words;  // of the finding
    std::function<void(PlanDocument&)> edit;
};

const std::vector<Edit>& edits() {
    static const std::vector<Edit> list = {
        {"not as many operations",
         [](auto& d) { d.schedule.placements.push_back(d.schedule.placements[0]); }},
        {"the fingerprint is not", [](auto& d) { d.fingerprint[0] ^= 1; }},
        {"beginning or end", [](auto& d) { d.run.until += minutes(1); }},
        {"first start or the last end", [](auto& d) { d.run.last_end += minutes(1); }},
        {"first start or the last end", [](auto& d) { d.run.first_start += minutes(1); }},
        {"the problem says \"", [](auto& d) { op(d, "coat").words += ", thick"; }},
        {"shares its exposure otherwise", [](auto& d) { op(d, "coat").batch = 99; }},
        {"the problem says ", [](auto& d) { op(d, "coat").order = "X"; }},
        {"is said of", [](auto& d) { op(d, "coat").screen = "Z9-9"; }},
        {"place, slots or how long", [](auto& d) { ++op(d, "dry-coat").places; }},
        {"people or how long", [](auto& d) { op(d, "coat").people = {"Nobody"}; }},
        {"is listed twice", [](auto& d) { d.screens.push_back(d.screens[0]); }},
        {"is of another order", [](auto& d) { op(d, "coat").order = "X"; }},
        {"said two ways", [](auto& d) { d.screens[0].two_people = !d.screens[0].two_people; }},
        {"has another coat plan in its operations",
         [](auto& d) {
             for (auto& s : d.screens)
                 s.coat_plan = "9+9";
         }},
        {"is not ready when its last step is done",
         [](auto& d) { *d.screens[0].ready -= minutes(1); }},
        {"its steps begin with", [](auto& d) { d.screens[0].made_on = "mud"; }},
        {"of an order that is not listed", [](auto& d) { d.screens[0].order = "X"; }},
        {"on a screen that is not listed", [](auto& d) { drop_first(d.screens); }},
        {"is said to have", [](auto& d) { ++d.orders[0].screens; }},
        {"is not ready with its last screen", [](auto& d) { *d.orders[0].ready += minutes(1); }},
        {"the lateness of order", [](auto& d) { *d.orders[0].lateness += minutes(1); }},
        {"is another in the problem", [](auto& d) { ++d.orders[0].weight; }},
        {"not as many orders", [](auto& d) { d.orders.pop_back(); }},
        {"is no aim", [](auto& d) { d.aims[0].criterion = "beauty"; }},
        {", the plan says", [](auto& d) { ++d.aims[0].value; }},
        {"is better than its bound", [](auto& d) { d.aims[3].bound = d.aims[3].value + 60; }},
        {"is not what bound and value say", [](auto& d) { d.aims[3].gap_words = "who knows"; }},
        {"not as many aims", [](auto& d) { d.aims.pop_back(); }},
        {"is no status", [](auto& d) { d.status = "perfect"; }},
        {"calls itself optimal", [](auto& d) { d.status = "optimal"; }},
        {"is another in the problem", [](auto& d) { ++d.stations[0].places; }},
        {"at other times in the problem", [](auto& d) { d.people[0].present[0].to += minutes(1); }},
        {"of the problem is listed not once", [](auto& d) { d.stations.pop_back(); }},
        {"is not in the problem", [](auto& d) { d.breaks.at(0).from += minutes(1); }},
        {"stands twice", [](auto& d) { d.loads.push_back(d.loads[0]); }},
        {"is another in the problem", [](auto& d) { ++d.loads[0].capacity; }},
        {"and holds", [](auto& d) { load(d, "person").working -= minutes(1); }},
        {"and holds", [](auto& d) { load(d, "station").working += minutes(60000); }},
        {"has no line", [](auto& d) { drop_first(d.loads); }},
        {"is nothing of this room", [](auto& d) { d.bottleneck.resource = "the weather"; }},
        {"a ratio of", [](auto& d) { *load(d, "person").availability += 0.01; }},
        {"the fill of", [](auto& d) { ++d.fills.at(0).steps.at(0).working; }},
        {"its fill is missing", [](auto& d) { drop_first(d.fills); }},
        {"alone.",
         [](auto& d) {
             d.mixes.at(0).operations.push_back(static_cast<int>(position_of(d, "coat")));
         }},
        {"alone.",
         [](auto& d) {
             auto& steps = d.mixes.at(0).operations;
             steps.push_back(steps.back());
         }},
        {"steps are out of order",
         [](auto& d) {
             auto& steps = d.mixes.at(0).operations;
             std::reverse(steps.begin(), steps.end());
         }},
        {"begin or people of", [](auto& d) { d.mixes.at(0).people = {"Nobody"}; }},
        {"is not usable when", [](auto& d) { *d.mixes.at(0).usable -= minutes(1); }},
        {"when it is to be bought",
         [](auto& d) {
             d.mixes.at(0).to_buy = true;
             d.mixes.at(0).buy_by = d.run.from;
         }},
        {"is no pot of the problem", [](auto& d) { d.mixes.at(0).volume_ml = -1.0; }},
        {"another volume in the problem", [](auto& d) { d.mixes.at(0).volume_ml += 5.0; }},
        {"belongs to no pot", [](auto& d) { d.mixes.clear(); }},
        {"same turn as another", [](auto& d) { d.operations[0].turn = d.operations[1].turn = 1; }},
        {"do not count from 1",
         [](auto& d) {
             for (auto& line : d.operations)
                 line.turn.reset();
             d.operations[0].turn = 2;
         }},
        {"is another in its line", [](auto& d) { d.reclaims.at(0).state = "ready"; }},
        {"are not the operation's", [](auto& d) { d.reclaims.at(0).people = {"Nobody"}; }},
        {"reclaimed not once", [](auto& d) { drop_first(d.reclaims); }},
        {"begins in the middle of the day is said two ways",
         [](auto& d) { d.again = report::AgainSection{.now = d.run.from}; }},
        {"the cautions are not those", [](auto& d) { drop_first(d.cautions); }},
        {"are not the operations'",
         [](auto& d) {
             d.returns.push_back({.tag = "R77",
                                  .frame = "58 x 84 cm",
                                  .mesh = "77-55",
                                  .state = "inky",
                                  .becomes = "inky",
                                  .start = d.run.from});
         }},
        {"more came back than stock_after has",
         [](auto& d) {
             d.returns.push_back({.tag = "R77",
                                  .frame = "1 x 1 cm",
                                  .mesh = "77-55",
                                  .state = "inky",
                                  .becomes = "inky"});
         }},
        {"has a line without frames", [](auto& d) { d.stock_after.at(0).count = 0; }},
    };
    return list;
}

}  // namespace

TEST_CASE("each contradiction within a plan is said in its own words", "[found]") {
    const PlanDocument& right = tomorrow().plan;
    const auto own = check::room::judge_document(right);
    for (const Edit& x : edits()) {
        INFO(x.words);
        PlanDocument d = right;
        x.edit(d);
        REQUIRE(d != right);
        CHECK(how_many_say(check::room::judge_document(d), x.words) > how_many_say(own, x.words));
    }
}

TEST_CASE("what a plan says of the middle of the day is the problem's", "[found]") {
    const PlanDocument& right = midday().plan;
    REQUIRE(check::room::judge_document(right) == std::vector<check::room::Finding>{});
    REQUIRE(right.again);
    REQUIRE(!right.again->over.empty());
    const auto said = [&](const std::function<void(report::AgainSection&)>& edit,
                          const std::string& words) {
        PlanDocument d = right;
        edit(*d.again);
        return how_many_say(check::room::judge_document(d), words) == 1;
    };
    CHECK(said([](auto& a) { ++a.over.back(); }, "what is over or under way"));
    CHECK(said([](auto& a) { a.now += Seconds{1}; }, "what is over or under way"));
    CHECK(said([](auto& a) { a.held = -1; }, "fewer than none"));
    CHECK(said(
        [&](auto& a) {
            a.compared = true;
            a.changes = {{.operation = 0,
                          .old_start = right.operations[0].start,
                          .start = right.operations[0].start + minutes(1),
                          .words = right.operations[0].words + " moves"}};
        },
        "is not that of the operation"));
    CHECK(said(
        [](auto& a) {
            a.compared = false;
            a.changes.clear();
            a.held = 1;
        },
        "nothing was compared"));
}

TEST_CASE("an hour longer on one day is none on another", "[found]") {
    // Whoever works last on the first day goes half an hour before that by room.yaml.
    const auto& d = tomorrow().plan;
    const auto day = model::midnight(model::date_of(d.run.from));
    const report::OperationLine* latest = nullptr;
    for (const auto& line : d.operations) {
        if (line.people.empty() || !line.people_until || *line.people_until <= line.start ||
            *line.people_until > day + std::chrono::days{1})
            continue;
        if (latest == nullptr || *line.people_until > *latest->people_until) latest = &line;
    }
    REQUIRE(latest != nullptr);
    Scenario s = tomorrow().scenario;
    const auto person =
        std::find_if(s.room.people.begin(), s.room.people.end(),
                     [&](const auto& p) { return p.name == latest->people.front(); });
    REQUIRE(person != s.room.people.end());
    person->overtime = Seconds{0};
    for (auto& shift : person->shifts)
        shift.to = *latest->people_until - day - minutes(30);
    const auto gone = [&](const Scenario& with) {
        return how_many_say(check::room::judge_room(d, with),
                            latest->words + ": " + person->name + " is not there from ");
    };
    CHECK(gone(s) > 0);
    person->longer = {{model::date_of(day), minutes(60)}};
    CHECK(gone(s) == 0);
    person->longer = {{model::date_of(day), minutes(29)}};
    CHECK(gone(s) > 0);
    person->longer = {{model::date_of(day + std::chrono::days{1}), minutes(60)}};
    CHECK(gone(s) > 0);
}

TEST_CASE("overtime of one person at two screens counts once", "[found]") {
    PlanDocument d = tomorrow().plan;
    auto& a = op(d, "coat");
    const std::string name = a.people.at(0);
    const auto person = std::find_if(d.problem.resources.begin(), d.problem.resources.end(),
                                     [&](const auto& r) { return r.name == name; });
    d.problem.overtime = {{.resource = core::ResourceId{static_cast<std::size_t>(
                               person - d.problem.resources.begin())},
                           .window = {a.start, *a.people_until}}};
    for (auto& line : d.operations) {
        if (&line != &a) line.people.clear();
    }
    auto& b = op(d, "degrease");
    b.people = {name};
    b.start = a.start;
    b.people_until = a.people_until;
    d.aims.resize(1);
    auto& aim = d.aims.at(0);
    aim = {.criterion = "overtime", .words = "overtime", .unit = "s"};
    aim.value = (*a.people_until - a.start).count();
    CHECK(how_many_say(check::room::judge_document(d), "overtime is ") == 0);
    ++aim.value;
    CHECK(how_many_say(check::room::judge_document(d), "overtime is ") == 1);
}

namespace {

struct RoomEdit {
    const char* words;
    std::function<void(PlanDocument&, Scenario&)> edit;
};

const std::vector<RoomEdit>& room_edits() {
    const auto screen = [](PlanDocument& d) -> report::ScreenLine& { return d.screens[0]; };
    static const std::vector<RoomEdit> list = {
        // ways
        {"which is no state of a frame", [screen](auto& d, auto&) { screen(d).made_on = "mud"; }},
        {"but not after drying", [](auto& d, auto&) { op(d, "degrease").step = "take-out"; }},
        {"ends before it begins", [](auto& d, auto&) { op(d, "coat").end -= minutes(600); }},
        {"begins before the run", [](auto& d, auto&) { d.run.from += minutes(600); }},
        {"while it is in the step before until",
         [](auto& d, auto&) { op(d, "degrease").end += minutes(600); }},
        {"with its coat on", [](auto& d, auto&) { op(d, "coat").end -= Seconds{30}; }},
        {"with remover on it", [](auto& d, auto&) { op(d, "strip").end -= Seconds{5}; }},
        {"is carried about with remover", [](auto& d, auto&) { op(d, "strip").place = "press"; }},
        // people
        {"does not get a break", [](auto& d, auto&) { drop_first(d.breaks); }},
        {"does not get a break", [](auto& d, auto&) { d.breaks.at(0).to -= minutes(5); }},
        {"are one.", [](auto& d, auto&) {
             d.breaks.push_back(d.breaks.at(0));
             d.breaks.back().from += minutes(5);
         }},
        {"is alone",
         [](auto& d, auto& s) {
             s.room.limits.two_people_from =
                 model::Area{model::Centimetres{20}, model::Centimetres{20}};
             s.room.limits.two_people_for = {model::Step::Coat};
             op(d, "coat").people.resize(1);
         }},
        {"is nobody of room.yaml", [](auto& d, auto&) { op(d, "coat").people = {"Zoe"}; }},
        {"is not there from", [](auto& d, auto&) {
             auto& o = op(d, "degrease");
             o.people_until = *o.people_until + minutes(900);
         }},
        {"is not there from", [](auto& d, auto&) {
             auto& o = op(d, "degrease");
             o.start -= minutes(600);
         }},
        {", as the plan says",
         [](auto& d, auto&) { d.people.at(0).present.at(0).from -= minutes(120); }},
        {", as the plan says",
         [](auto& d, auto&) { d.people.at(0).present.back().to += minutes(300); }},
        {"has a break then", [](auto& d, auto&) {
             auto& o = op(d, "coat");
             d.breaks.at(0).person = o.people.at(0);
             d.breaks.at(0).from = o.start;
             d.breaks.at(0).to = o.start + minutes(1);
         }},
        {"is in two places", [](auto& d, auto&) {
             auto& o = op(d, "coat");
             for (auto& other : d.operations) {
                 if (&other == &o || other.people != o.people || other.start < o.start) continue;
                 o.people_until = std::max(*o.people_until, other.start + Seconds{1});
                 break;
             }
         }},
        {"is done by nobody", [](auto& d, auto&) { op(d, "degrease").people.clear(); }},
        // places
        {"no station of room.yaml", [](auto& d, auto&) { op(d, "coat").place = "nowhere"; }},
        {"is done nowhere", [](auto& d, auto&) { op(d, "coat").place.clear(); }},
        {"takes 1 places", [](auto& d, auto&) { op(d, "coat").places = 2; }},
        {"places, from",
         [](auto& d, auto& s) {
             // One more at a time than the stand has places.
             const std::string place = op(d, "coat").place;
             int most = 1;
             for (auto& x : s.room.stations) {
                 if (x.name == place) most = x.places;
             }
             int moved = 0;
             for (auto& line : d.operations) {
                 if (line.step != "coat" || line.place != place || moved > most) continue;
                 line.start = op(d, "coat").start;
                 line.place_until = line.start + minutes(1);
                 ++moved;
             }
         }},
        {"is not warm at", [](auto& d, auto&) {
             for (auto& line : d.operations) {
                 if (line.screen.empty() && line.step == "expose") line.work_end -= Seconds{30};
             }
         }},
        {"is not warm at", [](auto& d, auto&) {
             for (auto& line : d.operations) {
                 if (!line.screen.empty() || line.step != "expose") continue;
                 line.start += minutes(900);
                 line.work_end += minutes(900);
             }
         }},
        // times
        {"takes a person", [](auto& d, auto&) { *op(d, "degrease").people_until -= Seconds{15}; }},
        {"keeps a person", [](auto& d, auto&) { *op(d, "degrease").people_until += Seconds{15}; }},
        {"but the place is given away",
         [](auto& d, auto&) { *op(d, "degrease").place_until -= minutes(3); }},
        {"drawing down, planned are", [](auto& d, auto&) { quiet(d, "expose").work_end += Seconds{1}; }},
        {"is not exposed, only loaded",
         [](auto& d, auto&) { quiet(d, "expose").people = {"Zoe"}; }},
        {"is ready ", [screen](auto& d, auto&) { *screen(d).ready += minutes(1); }},
        {"stands until",
         [](auto&, auto& s) {
             s.room.steps[model::Step::Inspect] = {minutes(4), minutes(90), {}};
         }},
        {"loading ",
         [](auto&, auto& s) { s.room.steps[model::Step::Expose] = {minutes(30), Seconds{0}, {}}; }},
        // pots
        {"leaves a step of it out", [](auto& d, auto&) { d.mixes.at(0).operations.clear(); }},
        {"no emulsion is called", [](auto& d, auto&) { d.mixes.at(0).emulsion = "water"; }},
        {"the plan says",
         [](auto& d, auto&) { d.mixes.at(0).volume_ml += 100000.0; }},
        {"whether it is to be bought",
         [](auto& d, auto&) { d.mixes.at(0).to_buy = !d.mixes.at(0).to_buy; }},
        {"takes from no pot",
         [](auto& d, auto&) { d.schedule.placements[position_of(d, "coat")].stores.clear(); }},
        {"neither there nor mixed",
         [](auto& d, auto&) {
             d.problem.stores[d.schedule.placements[position_of(d, "coat")].stores[0].index()].name = "X";
         }},
        {"is free of bubbles at",
         [](auto& d, auto&) { *d.mixes.at(0).usable -= minutes(1); }},
        {"it is stirred in",
         [](auto&, auto& s) {
             s.room.steps[model::Step::MixDissolve] = {minutes(4), minutes(600), {}};
         }},
        {"mixing ",
         [](auto&, auto& s) {
             s.room.steps[model::Step::MixDissolve] = {minutes(9), minutes(1), {}};
         }},
        // frames
        {"is back at",
         [](auto& d, auto&) { d.stock_after.at(0).from = d.run.from; }},
        {"frames.csv has none", [](auto& d, auto&) {
             d.stock_after.push_back(d.stock_after.at(0));
             d.stock_after.back().mesh = "1-1";
         }},
        {"are left, stock_after says", [](auto& d, auto&) { ++d.stock_after.at(0).count; }},
        {"than there are of",
         [](auto& d, auto&) { d.stock_after.at(0).state = "mud"; }},
        {"of a kind that frames.csv has not",
         [](auto& d, auto&) { d.stock_after.at(0).emulsion = "water"; }},
        {"has a line without frames", [](auto& d, auto&) { d.stock_after.at(0).count = 0; }},
        {"that is left",
         [](auto&, auto& s) {
             for (auto& f : s.frames)
                 f.state = model::FrameState::NewMesh;
         }},
        {"that is left",
         [](auto&, auto& s) {
             for (auto& f : s.frames)
                 f.size = {model::Centimetres{1}, model::Centimetres{1}};
         }},
        {"that is left",
         [](auto&, auto& s) {
             for (auto& f : s.frames)
                 f.mesh = "1-1";
         }},
        {"that is left",
         [](auto&, auto& s) {
             for (auto& f : s.frames) {
                 if (f.haze) f.haze = !*f.haze;
             }
         }},
        // lists
        {"has priority", [](auto&, auto& s) { ++s.orders[0].priority; }},
        {"is for", [](auto&, auto& s) { s.orders[0].customer = "somebody"; }},
        {"is due", [](auto&, auto& s) { s.orders[0].due += minutes(1); }},
        {"is in orders.csv, not in the plan", [](auto& d, auto&) { drop_first(d.orders); }},
        {"is not in orders.csv", [](auto& d, auto&) { d.orders[0].name = "X"; }},
        {"screens, the plan has", [](auto& d, auto&) { ++d.orders[0].screens; }},
        {"screens, the plan has", [](auto& d, auto&) { drop_first(d.screens); }},
        {"belongs to no line of orders.csv", [screen](auto& d, auto&) { screen(d).number = 99; }},
        {"the mesh of", [screen](auto& d, auto&) { screen(d).mesh = "1-1"; }},
        {"the emulsion of", [screen](auto& d, auto&) { screen(d).emulsion = "water"; }},
        {"the coat plan of", [screen](auto& d, auto&) { screen(d).coat_plan = "9+9"; }},
        {"the frame size of", [screen](auto& d, auto&) { screen(d).frame = "1 x 1 cm"; }},
        {"two people, the plan says",
         [screen](auto& d, auto&) { screen(d).two_people = !screen(d).two_people; }},
        {"the wording of the coats", [screen](auto& d, auto&) { screen(d).coat_words = "none"; }},
        {"is to be exposed for",
         [](auto& d, auto&) {
             for (auto& s : d.screens)
                 s.exposure += Seconds{1};
         }},
        {"is for another room", [](auto& d, auto&) { d.room = "X"; }},
        {"whether the room is invented", [](auto& d, auto&) { d.invented = !d.invented; }},
        {"is no station of room.yaml", [](auto& d, auto&) { d.stations[0].name = "X"; }},
        {"places, the plan says", [](auto& d, auto&) { ++d.stations[0].places; }},
        {"lists other stations or people", [](auto& d, auto&) { d.people.pop_back(); }},
        {"is nobody of room.yaml", [](auto& d, auto&) { d.people[0].name = "X"; }},
        {"the embedded problem", [](auto& d, auto&) {
             for (auto& r : d.problem.resources) {
                 if (r.name == d.stations[0].name) ++r.capacity;
             }
         }},
        {"is no step of the trade", [](auto& d, auto&) { op(d, "coat").step = "paint"; }},
        {"is on no screen of the plan", [](auto& d, auto&) { op(d, "coat").screen = "Z9-9"; }},
    };
    return list;
}

}  // namespace

TEST_CASE("each rule of the room is said in its own words", "[found]") {
    const Base& b = tomorrow();
    const auto own = check::room::judge_room(b.plan, b.scenario);
    for (const RoomEdit& x : room_edits()) {
        INFO(x.words);
        PlanDocument d = b.plan;
        Scenario s = b.scenario;
        x.edit(d, s);
        REQUIRE((d != b.plan || s != b.scenario));
        CHECK(how_many_say(check::room::judge_room(d, s), x.words) > how_many_say(own, x.words));
    }
}

TEST_CASE("limits count from the instant that their sentence names", "[found]") {
    const Base& b = tomorrow();
    // From the first touch of the remover to the first of the rinse, of each screen.
    Seconds most{0}, least = Seconds::max();
    for (const auto& strip : b.plan.operations) {
        if (strip.step != "strip" || strip.screen.empty()) continue;
        for (const auto& rinse : b.plan.operations) {
            if (rinse.step != "rinse" || rinse.screen != strip.screen) continue;
            most = std::max(most, rinse.start - strip.start);
            least = std::min(least, rinse.start - strip.start);
        }
    }
    REQUIRE(most > Seconds{0});
    Scenario s = b.scenario;
    s.room.limits.remover_max = most;
    s.room.limits.remover_min = least;
    CHECK(how_many_say(check::room::judge_room(b.plan, s), "rinsed") == 0);
    s.room.limits.remover_max = most - Seconds{1};
    CHECK(how_many_say(check::room::judge_room(b.plan, s), "rinsed") > 0);
    s.room.limits.remover_max = most;
    s.room.limits.remover_min = least + Seconds{1};
    CHECK(how_many_say(check::room::judge_room(b.plan, s), "rinsed") > 0);
}

TEST_CASE("a limit is missed in the middle of the day only if the plan says so", "[found]") {
    const Base& b = midday();
    Scenario s = b.scenario;
    s.room.limits.dry_to_coat = Seconds{-1};
    const auto found = check::room::judge_room(b.plan, s);
    REQUIRE(how_many_say(found, "coated") >
            how_many_say(check::room::judge_room(b.plan, b.scenario), "coated"));
    PlanDocument d = b.plan;
    for (const auto& line : d.operations) {
        if (line.step == "coat") d.again->notes.push_back("LIMIT MISSED: " + line.words);
    }
    CHECK(how_many_say(check::room::judge_room(d, s), "coated") == 0);
}
