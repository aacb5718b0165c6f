// Frames that come back from the press while the run goes on, and inky ones that stand there:
// reclaimed for the store, in idle time.

#include <algorithm>
#include <tuple>

#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"
#include "sched/compile/hands.hpp"
#include "sched/compile/operation_maker.hpp"
#include "sched/compile/walking.hpp"

namespace sched::compile {

using core::Operation;
using core::OperationId;
using core::Seconds;
using model::FrameState;
using model::Step;

namespace {

bool is_used(FrameState state) {
    return state == FrameState::Inky || state == FrameState::OldStencil;
}

// In the order in which they come; of one line one after the other.
std::vector<ReturnInfo> frames_that_come(const Builder& b, core::SimTime until) {
    std::vector<ReturnInfo> out;
    for (std::size_t f = 0; f < b.scenario.frames.size(); ++f) {
        const model::FrameStock& stock = b.scenario.frames[f];
        // Ink that stands dries on; an old stencil that stands in the store can wait.
        if (!stock.from && stock.state != FrameState::Inky) continue;
        const core::SimTime from = stock.from.value_or(b.out.problem.horizon_start);
        if (from >= until || !is_used(stock.state)) continue;
        // Whose first step no station does waits for no idle time: it is reclaimed elsewhere.
        const auto lacks = model::not_reclaimed_here(b.room(), stock);
        const bool ink_at_least =
            stock.state == FrameState::Inky && lacks != Step::InkOff && lacks != Step::InkDegrease;
        if (lacks && !ink_at_least) continue;
        for (int k = 0; k < b.out.frames_left[f]; ++k) {
            out.push_back({.tag = {},
                           .stock = static_cast<int>(f),
                           .from = std::max(from, b.out.problem.horizon_start),
                           .becomes = stock.state,
                           .parts = {}});
        }
    }
    // They keep their numbers when marks say that they came otherwise.
    const auto due = [&](const ReturnInfo& x) {
        return b.scenario.frames[static_cast<std::size_t>(x.stock)].due_back.value_or(x.from);
    };
    std::stable_sort(out.begin(), out.end(),
                     [&](const auto& x, const auto& y) { return due(x) < due(y); });
    for (std::size_t i = 0; i < out.size(); ++i)
        out[i].tag = "R" + std::to_string(i + 1);
    return out;
}

// Warm air is for the orders: one more wet screen in a cabinet slows those in it. So it dries on a
// rack that types its minutes, or leaning at the wall.
std::vector<core::Mode> drying_in_the_room(const Builder& b, const OperationMaker& maker,
                                           const model::route::RouteOperation& step) {
    std::vector<core::Mode> out;
    const auto add = [&](const model::Station* at) {
        out.push_back({.work = model::time_of(b.room(), Step::DryMesh).stand});
        if (hangs_up(step)) out.back().work = maker.attended(step, at);
    };
    for (const core::ResourceId id : maker.stations(Step::DryMesh)) {
        if (maker.station(id).air) continue;
        add(&maker.station(id));
        out.back().needs = {maker.place(id)};
    }
    if (out.empty()) add(nullptr);
    for (core::Mode& mode : out) {
        if (hangs_up(step)) maker.add_people(mode, Step::TakeOut);
    }
    return out;
}

// What all people together are there for by then, s.
std::int64_t hands_until(const Builder& b, core::SimTime until) {
    std::int64_t sum = 0;
    for (const core::ResourceId r : b.person_resource) {
        if (!r.valid()) continue;
        for (const core::Window& w :
             b.out.problem.resources[r.index()].calendar.value_or(core::Calendar{}))
            sum += std::max<std::int64_t>(0, (std::min(w.to, until) - w.from).count());
    }
    return sum;
}

class ReturnMaker {
public:
    explicit ReturnMaker(Builder& b) : b_(b), haze_(b.room().haze_share.value) {}

    void add(std::size_t index, std::size_t most_parts, int begun) {
        ReturnInfo& info = b_.out.returns[index];
        const auto& stock = b_.scenario.frames[static_cast<std::size_t>(info.stock)];
        screen_ = ScreenInfo{};
        screen_.tag = info.tag;
        screen_.mesh = stock.mesh;
        screen_.frame = stock.size;
        screen_.source = stock.state;
        screen_.job = core::JobId{b_.out.problem.jobs.size()};
        const bool haze = haze_.next(stock.haze);
        if (begun >= 1 && stock.state == FrameState::Inky) info.becomes = FrameState::OldStencil;
        if (begun >= 2) info.becomes = FrameState::Ready;
        if (most_parts == 0 || begun >= 2) return;
        if (info.becomes == FrameState::Inky) {
            if (!add_part(index, model::route::build_ink_off(b_.room(), &screen_.frame))) return;
            info.becomes = FrameState::OldStencil;
        }
        if (info.parts.size() == most_parts) return;
        if (add_part(index, model::route::build_reclaim(b_.room(), haze, &screen_.frame)))
            info.becomes = FrameState::Ready;
    }

    /// What has been added takes somebody so long, s.
    std::int64_t attended() const { return attended_; }

private:
    // False, and nothing added, where the room has no place for one of its steps.
    bool add_part(std::size_t index, const model::route::Route& route) {
        core::Problem& problem = b_.out.problem;
        ReturnInfo& info = b_.out.returns[index];
        OperationMaker maker(b_, &screen_);
        std::vector<Operation> made;
        for (const auto& step : route.operations) {
            Operation operation;
            if (step.step == Step::DryMesh) {
                operation = {.name = maker.words(step),
                             .job = screen_.job,
                             .modes = drying_in_the_room(b_, maker, step),
                             .max_stretch = Seconds{0}};
            } else {
                operation = maker.make(step);
            }
            operation.filler = true;
            if (operation.modes.empty()) return false;
            made.push_back(std::move(operation));
        }
        if (info.parts.empty())
            problem.jobs.push_back({.name = info.tag, .order = core::OrderId::none()});
        const std::size_t first = problem.operations.size();
        std::vector<OperationId> part;
        for (std::size_t i = 0; i < made.size(); ++i) {
            part.push_back(OperationId{first + i});
            b_.out.operations.push_back({.step = route.operations[i].step,
                                         .part = route.operations[i].part,
                                         .returned = static_cast<int>(index),
                                         .words = made[i].name});
            if (!is_attended(problem.operations.emplace_back(std::move(made[i])))) continue;
            attended_ += problem.operations.back().modes.front().work.count();
        }
        for (const auto& lag : route.lags) {
            add_lag(problem, lag, part[static_cast<std::size_t>(lag.from)],
                    part[static_cast<std::size_t>(lag.to)]);
        }
        add_walks(b_, route, first);
        tie_hands(b_, route, first);
        if (info.parts.empty()) {
            problem.constraints.push_back(
                core::StartWindow{.operation = part.front(), .not_before = info.from});
        } else {
            problem.constraints.push_back(
                core::TimeLag{.from = info.parts.back().back(), .to = part.front()});
        }
        info.parts.push_back(std::move(part));
        return true;
    }

    // Somebody is there.
    static bool is_attended(const Operation& o) {
        const auto& needs = o.modes.front().needs;
        return std::any_of(needs.begin(), needs.end(),
                           [](const core::Need& n) { return n.span == core::Span::Work; });
    }

    Builder& b_;
    HazeTurn haze_;
    ScreenInfo screen_;
    std::int64_t attended_ = 0;
};

}  // namespace

RoomProblem with_returns(const model::Scenario& scenario, const CompileOptions& options,
                         RoomProblem room, core::SimTime until,
                         const std::vector<std::size_t>* parts, const BegunReturns& begun) {
    model::Diagnostics none;  // what can be complained about has been
    Builder b{scenario, options, none, std::move(room), {}, {}, false, {}};
    b.station_resource.assign(scenario.room.stations.size(), core::ResourceId::none());
    b.person_resource.assign(scenario.room.people.size(), core::ResourceId::none());
    for (std::size_t r = 0; r < b.out.resources.size(); ++r) {
        const ResourceInfo& info = b.out.resources[r];
        auto& list = info.kind == ResourceKind::Person ? b.person_resource : b.station_resource;
        list[static_cast<std::size_t>(info.index)] = core::ResourceId{r};
    }
    b.out.returns = frames_that_come(b, until);
    ReturnMaker maker(b);
    // More than all could do if they did nothing else is not asked for: a stack of a hundred
    // thousand frames costs no more than what a day holds of them.
    const std::int64_t hands = hands_until(b, until);
    for (std::size_t i = 0; i < b.out.returns.size(); ++i) {
        const auto& stock = scenario.frames[static_cast<std::size_t>(b.out.returns[i].stock)];
        // One that is late has not been begun, whatever the earlier plan says.
        const bool late = stock.due_back && stock.from && *stock.from > *stock.due_back;
        const auto known = late ? begun.end() : begun.find(b.out.returns[i].tag);
        const std::size_t most = parts ? (*parts)[i] : maker.attended() <= hands ? SIZE_MAX : 0;
        maker.add(i, most, known == begun.end() ? 0 : known->second);
    }
    fill_stock_after(b, until);
    return std::move(b.out);
}

RoomProblem without_returns(RoomProblem room) {
    auto& operations = room.problem.operations;
    const auto first =
        static_cast<std::size_t>(std::find_if(operations.begin(), operations.end(),
                                              [](const Operation& o) { return o.filler; }) -
                                 operations.begin());
    if (first == operations.size()) return room;
    const std::size_t jobs = operations[first].job.index();
    operations.resize(first);
    room.operations.resize(first);
    room.problem.jobs.resize(jobs);
    std::erase_if(room.problem.constraints, [&](const core::Constraint& c) {
        if (const auto* lag = std::get_if<core::TimeLag>(&c)) return lag->to.index() >= first;
        if (const auto* window = std::get_if<core::StartWindow>(&c))
            return window->operation.index() >= first;
        if (const auto* same = std::get_if<core::SameResource>(&c)) return same->b.index() >= first;
        if (const auto* same = std::get_if<core::SameMode>(&c)) return same->b.index() >= first;
        return false;
    });
    return room;
}

}  // namespace sched::compile
