// How it works: a screen's way is its steps in order; it is in one of them or behind it. A move
// forward ends the step that it is in, or goes to the next one's end; what is wet then hangs, since
// nobody marks that. A move back goes before the step. Each move is a line of the state, as if
// somebody had said it.

#include "sched/compile/missing_marks.hpp"

#include <algorithm>
#include <tuple>

#include "model/room/steps.hpp"

namespace sched::compile {

namespace {

using core::Seconds;
using core::SimTime;

struct WayStep {
    model::Step step;
    int round = 1;
    std::vector<std::size_t> operations;
    bool dries() const { return model::dries_alone(step); }
};

/// Without carrying and without what only stands after a coat. The compiler makes the operations of
/// a screen in the order of its way.
std::vector<WayStep> way_of_screen(const RoomProblem& room, int screen) {
    std::vector<WayStep> way;
    for (std::size_t i = 0; i < room.operations.size(); ++i) {
        const OperationInfo& info = room.operations[i];
        if (info.screen != screen || info.step == model::Step::TakeOut) continue;
        const auto same = std::find_if(way.begin(), way.end(), [&](const WayStep& w) {
            return w.step == info.step && w.round == info.round + 1;
        });
        if (same != way.end())
            same->operations.push_back(i);
        else
            way.push_back({info.step, info.round + 1, {i}});
    }
    return way;
}

class Mover {
public:
    Mover(const RoomProblem& room, const std::vector<char>& begun,
          const std::vector<std::optional<SimTime>>& planned_ends, SimTime now,
          model::RoomState& state)
        : room_(room),
          begun_(begun),
          planned_ends_(planned_ends),
          now_(now),
          day_(model::midnight(model::date_of(now))),
          state_(state) {}

    bool forward(const Occupant& who, SimTime since) {
        const auto way = way_of_screen(room_, who.screen);
        const std::size_t at = last_begun(way);
        if (at == way.size()) return false;
        // In it; or behind it and still in its place, since the next step is done there at once.
        std::size_t done = at;
        const model::ScreenNow* told = line_of(who.screen);
        const bool behind = told != nullptr && !told->done.empty() &&
                            told->done.front() == way[at].step && told->round == way[at].round;
        if (behind) ++done;
        if (done >= way.size()) return false;
        // Not before it came there.
        const SimTime t = std::max(since, who.since);
        if (done + 1 < way.size() && way[done + 1].dries())
            put(who.screen, way[done + 1], true, t);
        else
            put(who.screen, way[done], false, t);
        return true;
    }

    // As far as the step that it was to be in by then.
    void onto(const Occupant& who) {
        const auto way = way_of_screen(room_, who.screen);
        const auto step = std::find_if(way.begin(), way.end(), [&](const WayStep& w) {
            return std::find(w.operations.begin(), w.operations.end(), who.operation) !=
                   w.operations.end();
        });
        const auto next = std::next(step);
        const bool hangs = who.over && next != way.end() && next->dries();
        put(who.screen, hangs ? *next : *step, hangs || !who.over, who.since);
    }

    bool back(const Occupant& who) {
        const auto way = way_of_screen(room_, who.screen);
        std::size_t at = last_begun(way);
        const model::ScreenNow* told = line_of(who.screen);
        if (at == way.size() || (told != nullptr && !told->back_to.empty())) return false;
        // What is wet has come where it dries: before that it was not wet.
        if (way[at].dries() && at > 0) --at;
        if (at == 0) {
            model::ScreenNow& line = fresh_line(who.screen);
            line.back_to = {way.front().step};
            line.round = way.front().round;
            return true;
        }
        const WayStep& before = way[at - 1];
        SimTime since = now_ - Seconds{1};
        for (const std::size_t i : before.operations) {
            if (i < planned_ends_.size() && planned_ends_[i])
                since = std::min(now_ - Seconds{1}, *planned_ends_[i]);
        }
        put(who.screen, before, false, since);
        return true;
    }

private:
    std::size_t last_begun(const std::vector<WayStep>& way) const {
        for (std::size_t k = way.size(); k > 0; --k) {
            const auto& operations = way[k - 1].operations;
            if (std::any_of(operations.begin(), operations.end(),
                            [&](std::size_t i) { return begun_[i] != 0; }))
                return k - 1;
        }
        return way.size();
    }
    const std::string& tag(int screen) const {
        return room_.screens[static_cast<std::size_t>(screen)].tag;
    }
    const model::ScreenNow* line_of(int screen) const {
        for (const auto& s : state_.screens) {
            if (s.screen == tag(screen)) return &s;
        }
        return nullptr;
    }
    model::ScreenNow& fresh_line(int screen) {
        for (auto& s : state_.screens) {
            if (s.screen != tag(screen)) continue;
            s = {.screen = s.screen, .place = s.place, .assumed = true};
            return s;
        }
        state_.screens.push_back({.screen = tag(screen), .place = state_.place, .assumed = true});
        return state_.screens.back();
    }
    void put(int screen, const WayStep& step, bool in, SimTime since) {
        model::ScreenNow& line = fresh_line(screen);
        (in ? line.in : line.done) = {step.step};
        line.round = step.round;
        line.since = std::min(since, now_) - day_;
    }

    const RoomProblem& room_;
    const std::vector<char>& begun_;
    const std::vector<std::optional<SimTime>>& planned_ends_;
    SimTime now_, day_;
    model::RoomState& state_;
};

}  // namespace

void go_on(const Occupant& who, const RoomProblem& room, const std::vector<char>& begun,
           const std::vector<std::optional<SimTime>>& planned_ends, SimTime now,
           model::RoomState& state) {
    Mover(room, begun, planned_ends, now, state).onto(who);
}

bool move_one(const Crowd& crowd, const RoomProblem& room, const std::vector<char>& begun,
              const std::vector<std::optional<SimTime>>& planned_ends, SimTime now,
              model::RoomState& state, Moved& moved) {
    Mover mover(room, begun, planned_ends, now, state);
    SimTime last_came = SimTime::min();
    for (const Occupant& o : crowd.screens)
        last_came = std::max(last_came, o.since);
    last_came = std::min(last_came, now);
    const auto marked = [&](const Occupant& o) {
        const auto& tag = room.screens[static_cast<std::size_t>(o.screen)].tag;
        return std::find(state.marked->begin(), state.marked->end(), tag) != state.marked->end();
    };
    // (rank, since) of each that could be moved; the least is.
    using Rank = std::tuple<int, std::int64_t, int>;
    std::vector<std::pair<Rank, bool>> ways;
    std::vector<const Occupant*> who;
    for (const Occupant& o : crowd.screens) {
        const auto before = moved.find(o.screen);
        const bool may_leave = before == moved.end() || before->second;
        const bool may_not_have_come = !marked(o) && (before == moved.end() || !before->second);
        const std::int64_t since = o.since.time_since_epoch().count();
        if (may_leave && (o.over || marked(o))) {
            ways.emplace_back(Rank{o.over ? 0 : 2, since, o.screen}, true);
            who.push_back(&o);
        }
        if (may_not_have_come) {
            ways.emplace_back(Rank{1, -since, o.screen}, false);
            who.push_back(&o);
        }
    }
    std::vector<std::size_t> order(ways.size());
    for (std::size_t k = 0; k < order.size(); ++k)
        order[k] = k;
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return ways[a].first < ways[b].first; });
    for (const std::size_t k : order) {
        const bool on = ways[k].second;
        // What is over has left since; what was still worked on only made room for the last.
        const SimTime left = who[k]->over ? who[k]->ended : last_came;
        if (!(on ? mover.forward(*who[k], left) : mover.back(*who[k]))) continue;
        moved[who[k]->screen] = on;
        return true;
    }
    return false;
}

}  // namespace sched::compile
