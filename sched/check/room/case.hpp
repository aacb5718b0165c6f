#pragma once
// One plan laid beside one room: who is who by name, the operations of each screen in order of
// time, gathered into steps. The judges of single rules (way, times, people, ...) read this.

#include <map>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/check/room/judge.hpp"
#include "sched/check/room/trade.hpp"

namespace sched::check::room {

using model::Seconds;
using model::SimTime;
using model::Step;
using report::OperationLine;
using report::PlanDocument;

/// Neighbouring operations of one screen that are the same step and round: loading, exposing and
/// taking out; hanging up and drying.
struct Stage {
    Step step = Step::Coat;
    int round = 0;
    std::vector<int> parts;  // operations in order of time
    SimTime start{};
    SimTime work_end{};  // of the last part
    SimTime end{};
};

/// A screen of an order, or a returned frame that is reclaimed.
struct ScreenCase {
    std::string tag;
    const report::ScreenLine* line = nullptr;      // of an order
    const report::ReturnLine* returned = nullptr;  // instead
    const model::Order* order = nullptr;
    const model::ScreenLine* wanted = nullptr;
    model::Area frame;
    const model::Emulsion* emulsion = nullptr;
    const model::Mesh* mesh = nullptr;
    const model::CoatPlan* plan = nullptr;
    std::vector<int> operations;  // in order of time
    std::vector<Stage> stages;
    bool known() const { return emulsion != nullptr && mesh != nullptr && plan != nullptr; }
};

struct Case {
    Case(const PlanDocument& document, const model::Scenario& scenario,
         std::vector<Finding>& findings);

    const PlanDocument& d;
    const model::Scenario& s;
    const model::Room& room;
    std::vector<Finding>& out;

    std::map<std::string, const model::Station*> stations;
    std::map<std::string, const model::Person*> people;
    std::vector<ScreenCase> screens;
    std::map<std::string, std::size_t> screen_at;  // tag -> index
    std::vector<std::optional<Step>> step;         // per operation
    std::vector<char> begun;                       // per operation: had begun before `now`

    void say(std::string rule, std::string words) const;
    const OperationLine& op(int i) const { return d.operations[static_cast<std::size_t>(i)]; }
    /// nullptr: none, or not of this room.
    const model::Station* station(const std::string& name) const;
    std::optional<Step> step_of(int i) const { return step[static_cast<std::size_t>(i)]; }
    const ScreenCase* screen_of(const OperationLine& line) const;
    bool begins_later(int i) const { return begun[static_cast<std::size_t>(i)] == 0; }
    /// How long people are taken.
    static Seconds attended(const OperationLine& line);
    /// The exposure itself, between loading and taking out; -1: the stage has none.
    int exposure_of(const Stage& stage) const;
    /// The operation in which nobody works: drying, or the exposure.
    int quiet_part(const Stage& stage) const;
};

// One function a group of rules; each says what it finds.
void judge_lists(Case& c, const RoomFiles& files);  // orders, screens, stations, people, digests
void judge_ways(Case& c);                           // steps of each screen, limits between them
void judge_times(Case& c);                          // how long people and places are taken
void judge_people(Case& c);                         // presence, breaks, skills, one place at a time
void judge_places(Case& c);                         // slots, sizes, light, closed hours, exposures
void judge_pots(Case& c);                           // emulsion by volume and life, mixing
void judge_drying(Case& c);                         // computed drying times
void judge_frames(Case& c);                         // frames.csv before, stock_after behind

}  // namespace sched::check::room
