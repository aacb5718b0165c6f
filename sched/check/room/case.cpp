// Names are looked up once, in the document and in the room. The operations of a screen stand in
// order of time, whatever the document's order; neighbours that are the same step and round are one
// stage, so that it does not matter into how many operations a planner cuts a step.

#include "sched/check/room/case.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace sched::check::room {

namespace {

template <class Named>
const Named* by_name(const std::vector<Named>& list, const std::string& name) {
    const auto found =
        std::find_if(list.begin(), list.end(), [&](const Named& x) { return x.name == name; });
    return found == list.end() ? nullptr : &*found;
}

// Screens of an order are numbered line by line.
const model::ScreenLine* line_of(const model::Order& order, int number) {
    for (const model::ScreenLine& line : order.lines) {
        if (number <= line.count) return number >= 1 ? &line : nullptr;
        number -= line.count;
    }
    return nullptr;
}

std::vector<Stage> stages_of(const Case& c, const std::vector<int>& operations) {
    std::vector<Stage> out;
    for (const int i : operations) {
        const OperationLine& line = c.op(i);
        const auto step = c.step[static_cast<std::size_t>(i)];
        if (!step) continue;
        const bool new_stage = out.empty() || out.back().step != *step ||
                               out.back().round != line.round || line.step == put_in;
        if (new_stage) {
            out.push_back({*step, line.round, {}, line.start, line.work_end, line.end});
        }
        Stage& stage = out.back();
        stage.parts.push_back(i);
        stage.work_end = line.work_end;
        stage.end = line.end;
    }
    return out;
}

}  // namespace

Case::Case(const PlanDocument& document, const model::Scenario& scenario,
           std::vector<Finding>& findings)
    : d(document), s(scenario), room(scenario.room), out(findings) {
    for (const model::Station& x : room.stations)
        stations[x.name] = &x;
    for (const model::Person& x : room.people)
        people[x.name] = &x;
    for (const OperationLine& line : d.operations) {
        step.push_back(step_of_key(line.step));
        begun.push_back(d.again && line.start < d.again->now ? 1 : 0);
    }
    if (d.again) {
        for (const auto& list : {d.again->over, d.again->under_way}) {
            for (const int i : list)
                begun[static_cast<std::size_t>(i)] = 1;
        }
    }
    for (const report::ScreenLine& line : d.screens) {
        ScreenCase x{.tag = line.tag, .line = &line};
        x.order = by_name(s.orders, line.order);
        if (x.order != nullptr) x.wanted = line_of(*x.order, line.number);
        if (x.wanted != nullptr) x.frame = x.wanted->frame;
        x.emulsion = by_name(room.emulsions, line.emulsion);
        x.mesh = by_name(room.meshes, line.mesh);
        x.plan = by_name(room.coat_plans, line.coat_plan);
        screen_at[x.tag] = screens.size();
        screens.push_back(std::move(x));
    }
    std::map<std::string, model::Area> sizes;  // of frames.csv
    for (const model::FrameStock& stock : s.frames)
        sizes[frame_words(stock.size.width.value, stock.size.height.value)] = stock.size;
    for (const report::ReturnLine& line : d.returns) {
        ScreenCase x{.tag = line.tag, .returned = &line};
        if (const auto size = sizes.find(frame_words(line.frame)); size != sizes.end())
            x.frame = size->second;
        x.mesh = by_name(room.meshes, line.mesh);
        screen_at[x.tag] = screens.size();
        screens.push_back(std::move(x));
    }
    for (std::size_t i = 0; i < d.operations.size(); ++i) {
        const auto found = screen_at.find(d.operations[i].screen);
        if (found != screen_at.end())
            screens[found->second].operations.push_back(static_cast<int>(i));
    }
    for (ScreenCase& x : screens) {
        std::stable_sort(x.operations.begin(), x.operations.end(),
                         [&](int a, int b) { return op(a).start < op(b).start; });
        for (std::size_t k = x.operations.size(); k-- > 1;) {
            const int i = x.operations[k - 1];
            if (op(i).step != put_in) continue;
            step[static_cast<std::size_t>(i)] = step[static_cast<std::size_t>(x.operations[k])];
        }
        x.stages = stages_of(*this, x.operations);
    }
}

void Case::say(std::string rule, std::string words) const {
    out.push_back({std::move(rule), std::move(words)});
}

const model::Station* Case::station(const std::string& name) const {
    const auto found = stations.find(name);
    return found == stations.end() ? nullptr : found->second;
}

const ScreenCase* Case::screen_of(const OperationLine& line) const {
    const auto found = screen_at.find(line.screen);
    return found == screen_at.end() ? nullptr : &screens[found->second];
}

Seconds Case::attended(const OperationLine& line) {
    if (line.people.empty() || !line.people_until) return Seconds{0};
    return *line.people_until - line.start;
}

int Case::quiet_part(const Stage& stage) const {
    // Of several without people the longest: the others are carries that take no time.
    int found = -1;
    for (const int i : stage.parts) {
        if (!op(i).people.empty()) continue;
        const auto length = [&](int k) { return op(k).end - op(k).start; };
        if (found < 0 || length(i) > length(found)) found = i;
    }
    return found;
}

int Case::exposure_of(const Stage& stage) const {
    return stage.step == Step::Expose ? quiet_part(stage) : -1;
}

std::vector<Finding> judge_room(const PlanDocument& document, const model::Scenario& scenario,
                                const RoomFiles& files) {
    std::vector<Finding> findings;
    Case c(document, scenario, findings);
    judge_lists(c, files);
    judge_ways(c);
    judge_times(c);
    judge_people(c);
    judge_places(c);
    judge_pots(c);
    judge_drying(c);
    judge_frames(c);
    return findings;
}

}  // namespace sched::check::room
