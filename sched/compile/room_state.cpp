// How it works: what state.yaml says of each screen becomes facts about its operations, and all
// that must be over before them is over as well; what is not told is taken from the posted
// plan, else the first place and person that is free. Then stations out of work and people who
// have left give up what they have, by hand-over to another or by going back out. Only if
// nothing is wrong do the facts become Problem::begun.

#include "sched/compile/room_state.hpp"

#include <algorithm>
#include <map>
#include <tuple>

#include "model/room/steps.hpp"
#include "sched/compile/hands.hpp"
#include "sched/compile/missing_marks.hpp"

namespace sched::compile {

namespace {

using core::Begun;
using core::OperationId;
using core::ResourceId;
using core::Seconds;
using core::SimTime;

const std::string assumed = "ASSUMED, a mark is missing: ";

class StateApplier {
public:
    StateApplier(SimTime now, const PostedPlan& posted, std::vector<Begun> begun, RoomProblem& room,
                 std::vector<std::string>& notes, model::Diagnostics& diagnostics)
        : now_(now),
          day_(model::midnight(model::date_of(now))),
          posted_(posted),
          room_(room),
          p_(room.problem),
          notes_(notes),
          diagnostics_(diagnostics) {
        for (Begun& b : begun)
            facts_[b.operation.index()] = std::move(b);
        for (const auto& c : p_.constraints) {
            if (const auto* lag = std::get_if<core::TimeLag>(&c)) lags_.push_back(lag);
        }
    }

    bool run(const model::RoomState& state) {
        const std::size_t before = diagnostics_.error_count();
        marked_ = state.marked.has_value();
        for (const auto& s : state.screens)
            told_.push_back(s.screen);
        for (const auto& s : state.people)
            not_without(s, ResourceKind::Person, state);
        for (const auto& s : state.stations)
            not_without(s, ResourceKind::Station, state);
        for (const auto& s : state.screens)
            screen(s);
        // What lasts is known by the hours as they were.
        std::map<std::size_t, SimTime> ends;
        for (const auto& [i, b] : facts_) {
            const auto& m = p_.operations[i].modes[static_cast<std::size_t>(b.mode)];
            if (m.stages.empty() && !b.work_end) ends[i] = b.start + m.work;
        }
        for (const auto& s : state.people)
            away(s, ResourceKind::Person, "person", "has gone");
        for (model::AwayNow s : state.stations) {
            if (s.from) taken_out_first(s, ends);
            away(s, ResourceKind::Station, "station", "is out of work");
        }
        if (diagnostics_.error_count() > before) return false;
        for (const auto& s : state.stations)
            bring_out(s, ends);
        for (const auto& s : state.people)
            hand_over(s, ends);
        number_batches();
        if (state.marked) {
            crowd_ = first_crowd(state);
            if (!crowd_.screens.empty()) return false;
            if (overdue_counts) overdue_ = first_overdue(state);
            if (overdue_) return false;
        } else {
            for (const auto& s : state.screens)
                crowded(s);
        }
        if (diagnostics_.error_count() > before) return false;
        stand_on(state);
        say_things(state);
        put_aside();
        p_.now = now_;
        p_.begun.clear();
        for (auto& [i, b] : facts_)
            p_.begun.push_back(std::move(b));
        std::stable_sort(p_.begun.begin(), p_.begun.end(),
                         [](const Begun& a, const Begun& b) { return a.start < b.start; });
        wait_for_no_cold_lamp();
        loosen_hands(p_);
        return true;
    }
    /// Why run() ended without errors; no screens: it did not.
    const Crowd& crowd() const { return crowd_; }
    /// The same: a step that has to have begun by now, and has by the plan, without a mark.
    const std::optional<Occupant>& overdue() const { return overdue_; }
    bool overdue_counts = true;  // false: what is overdue by the marks has missed its limit
    std::vector<char> begun() const {
        std::vector<char> out(p_.operations.size(), 0);
        for (const auto& [i, b] : facts_)
            out[i] = 1;
        return out;
    }

private:
    void say_things(const model::RoomState& state) {
        for (const model::PotState& s : state.pots) {
            const auto store = std::find_if(p_.stores.begin(), p_.stores.end(),
                                            [&](const core::Store& x) { return x.name == s.pot; });
            if (s.empty) {
                notes_.push_back(s.pot + " is empty since " + clock(day_ + *s.empty) +
                                 ": what is still to be coated" +
                                 (s.emulsion.empty() ? "" : " with " + s.emulsion) +
                                 " needs another pot or a new mix.");
            } else if (s.opened && store != p_.stores.end()) {
                notes_.push_back(
                    s.pot + " was opened " + clock(day_ + *s.opened) +
                    (store->until ? ": it is good until " + model::format_date_time(*store->until)
                                  : "") +
                    ".");
            }
        }
        for (const model::ReturnedNow& s : state.returned) {
            const SimTime from = at_clock(s.from, now_);
            notes_.push_back(s.frame +
                             (from > now_ ? " comes back from the press at "
                                          : " is back from the press since ") +
                             clock(from) + ".");
        }
    }
    // The first station that somebody is told to be at and that has more screens than places.
    Crowd first_crowd(const model::RoomState& state) const {
        const auto told = [&](const Occupant& o) {
            const std::string& tag = room_.screens[static_cast<std::size_t>(o.screen)].tag;
            return std::any_of(state.screens.begin(), state.screens.end(),
                               [&](const model::ScreenNow& s) { return s.screen == tag; });
        };
        for (std::size_t r = 0; r < p_.resources.size(); ++r) {
            if (room_.resources[r].kind != ResourceKind::Station) continue;
            Crowd crowd{.station = p_.resources[r].name, .screens = {}};
            int used = 0;
            std::vector<int> batches;
            for (const auto& [i, b] : facts_) {
                if (b.end || b.chosen.empty() || b.chosen.front() != ResourceId{r}) continue;
                const bool shared =
                    b.batch && std::find(batches.begin(), batches.end(), *b.batch) != batches.end();
                if (b.batch) batches.push_back(*b.batch);
                const core::Mode& mode = p_.operations[i].modes[static_cast<std::size_t>(b.mode)];
                if (!shared) used += mode.needs.front().amount;
                if (room_.operations[i].screen < 0) continue;
                const SimTime over =
                    b.work_end ? *b.work_end : b.start + usual_length(i, mode.work);
                crowd.screens.push_back({.screen = room_.operations[i].screen,
                                         .operation = i,
                                         .since = b.start,
                                         .over = over <= now_,
                                         .ended = over});
            }
            if (used > p_.resources[r].capacity &&
                std::any_of(crowd.screens.begin(), crowd.screens.end(), told))
                return crowd;
        }
        return {};
    }
    // By the last mark of a screen its next step should have begun by now, or it is spoilt; by the
    // plan it has: rather a mark is missing than all that.
    std::optional<Occupant> first_overdue(const model::RoomState& state) const {
        for (const auto* lag : lags_) {
            const std::size_t from = lag->from.index(), to = lag->to.index();
            const int screen = room_.operations[to].screen;
            if (!lag->max || *lag->max == Seconds{0} || screen < 0 || facts_.count(from) == 0 ||
                facts_.count(to) > 0 || to >= posted_.size() || !posted_[to])
                continue;
            const std::string& tag = room_.screens[static_cast<std::size_t>(screen)].tag;
            if (std::find(state.marked->begin(), state.marked->end(), tag) == state.marked->end())
                continue;
            const Begun& b = facts_.at(from);
            const core::Mode& mode = p_.operations[from].modes[static_cast<std::size_t>(b.mode)];
            const SimTime done = b.work_end ? *b.work_end : b.start + usual_length(from, mode.work);
            const SimTime since = lag->edge == core::Edge::Start ? b.start : done;
            // What the plan had before the screen went back to that step is another time.
            if (since + *lag->max >= now_ || posted_[to]->start >= now_ ||
                posted_[to]->start < b.start)
                continue;
            const bool over = posted_[to]->work_end <= now_;
            return Occupant{.screen = screen,
                            .operation = to,
                            .since = over ? posted_[to]->work_end : posted_[to]->start,
                            .over = over};
        }
        return std::nullopt;
    }
    // Of what dries by the cabinet's clock as long as the plan had it.
    Seconds usual_length(std::size_t i, Seconds work) const {
        const bool planned = i < posted_.size() && posted_[i].has_value();
        return planned ? std::max(work, posted_[i]->work_end - posted_[i]->start) : work;
    }
    // After it a mesh without remover or emulsion can stand anywhere.
    static bool stands_anywhere(model::Step step) {
        return step == model::Step::InkOff || step == model::Step::InkDegrease ||
               step == model::Step::Rinse || step == model::Step::Haze ||
               step == model::Step::Abrade || step == model::Step::Degrease;
    }
    // A mesh that goes back, or was not taken on at once, stands somewhere else by now: that it was
    // to be handed on in the moment is nothing that can be missed. Remover and emulsion wait
    // nowhere.
    void put_aside() {
        for (auto& c : p_.constraints) {
            auto* lag = std::get_if<core::TimeLag>(&c);
            if (lag == nullptr || lag->edge != core::Edge::End || lag->max != Seconds{0} ||
                !stands_anywhere(room_.operations[lag->from.index()].step) ||
                facts_.count(lag->to.index()) > 0)
                continue;
            const auto from = facts_.find(lag->from.index());
            if (from != facts_.end() && from->second.end && *from->second.end < now_)
                lag->max.reset();
        }
    }
    // Whoever shares a place with what is told to last longer stands there as long, whatever the
    // plan allowed: it has happened.
    void stand_on(const model::RoomState& state) {
        const bool longer =
            std::any_of(state.screens.begin(), state.screens.end(),
                        [](const model::ScreenNow& s) { return s.until.has_value(); });
        for (const auto& [i, b] : facts_) {
            if (longer && !b.end && room_.operations[i].step == model::Step::Expose)
                p_.operations[i].max_stretch.reset();
        }
        // What is told to be in the unit comes out when somebody is there.
        for (const auto& s : state.screens) {
            if (s.in.empty() || s.in.front() != model::Step::Expose) continue;
            for (std::size_t i = 0; i < room_.operations.size(); ++i) {
                const OperationInfo& info = room_.operations[i];
                if (info.step == model::Step::Expose && info.screen >= 0 &&
                    tag_of(info) == s.screen && p_.operations[i].max_stretch)
                    p_.operations[i].max_stretch.reset();
            }
        }
    }
    // What is told to be somewhere is not where, by the plan, as many are as there is room for.
    void crowded(const model::ScreenNow& s) {
        for (const auto& [i, b] : facts_) {
            const OperationInfo& info = room_.operations[i];
            if (b.end || b.chosen.empty() || info.screen < 0 || tag_of(info) != s.screen) continue;
            const ResourceId at = b.chosen.front();
            const core::Resource& place = p_.resources[at.index()];
            if (room_.resources[at.index()].kind != ResourceKind::Station) continue;
            int used = 0;
            std::vector<int> batches;
            std::string others;
            for (const auto& [k, x] : facts_) {
                if (x.end || x.chosen.empty() || x.chosen.front() != at) continue;
                const bool shared =
                    x.batch && std::find(batches.begin(), batches.end(), *x.batch) != batches.end();
                if (x.batch) batches.push_back(*x.batch);
                if (!shared)
                    used += p_.operations[k]
                                .modes[static_cast<std::size_t>(x.mode)]
                                .needs.front()
                                .amount;
                if (k != i) others += (others.empty() ? "" : ", ") + words(k);
            }
            if (used <= place.capacity) continue;
            diagnostics_.error(s.place, "state-full",
                               s.screen + " cannot be there: " + place.name + " has " +
                                   std::to_string(place.capacity) +
                                   (place.capacity == 1 ? " place" : " places") +
                                   ", and there is by now: " + others + ".",
                               "Say of that screen, too, where it is (`in`), what it has done "
                               "(`done`) or to which step it goes back (`back to`).");
        }
    }

    // What is under way where screens share an exposure has a number, for others that join it.
    void number_batches() {
        int next = 0;
        for (const auto& [i, b] : facts_)
            next = std::max(next, b.batch.value_or(-1) + 1);
        // What went in at one moment shares, if it may.
        std::map<std::tuple<std::int32_t, SimTime, int>, int> together;
        for (auto& [i, b] : facts_) {
            const bool shares = std::any_of(b.chosen.begin(), b.chosen.end(), [&](ResourceId r) {
                return p_.resources[r.index()].batch.has_value();
            });
            if (!shares || !p_.operations[i].batch || b.end || b.batch) continue;
            const auto [at, fresh] = together.try_emplace(
                {b.chosen.front().value, b.start, p_.operations[i].batch->family}, next);
            if (fresh) ++next;
            b.batch = at->second;
        }
        // The lamp goes off for all of them at once.
        std::map<int, SimTime> off;
        for (const auto& [i, b] : facts_) {
            if (!b.batch || !b.end) continue;
            const auto [at, fresh] = off.try_emplace(*b.batch, *b.end);
            if (!fresh) at->second = std::min(at->second, *b.end);
        }
        for (auto& [i, b] : facts_) {
            if (b.batch && b.end && *b.end > off.at(*b.batch))
                b.work_end = b.end = off.at(*b.batch);
        }
    }

    const std::string& words(std::size_t i) const {
        return room_.operations[i].words.empty() ? p_.operations[i].name
                                                 : room_.operations[i].words;
    }
    std::string clock(SimTime t) const { return model::format_time_of_day(t); }
    SimTime at_clock(const std::optional<Seconds>& t, SimTime otherwise) const {
        return t ? day_ + *t : otherwise;
    }
    void wrong(const model::SourcePlace& place, const char* code, std::string what,
               const std::string& word, const std::vector<std::string>& names) {
        const std::string near = model::nearest_name(word, names);
        std::string hint = near.empty() ? "Known here:" : "Did you mean \"" + near + "\"?";
        if (near.empty()) {
            for (std::size_t k = 0; k < names.size() && k < 12; ++k)
                hint += (k == 0 ? " " : ", ") + names[k];
            hint += names.size() > 12 ? ", ..." : ".";
        }
        diagnostics_.error(place, code, std::move(what), hint);
    }

    // Operations that must be over before `i` begins, within its screen; and its lamp is warm.
    std::vector<std::size_t> before(std::size_t i) const {
        std::vector<char> seen(p_.operations.size(), 0);
        std::vector<std::size_t> todo{i}, found;
        while (!todo.empty()) {
            const std::size_t k = todo.back();
            todo.pop_back();
            for (const auto* lag : lags_) {
                const std::size_t from = lag->from.index();
                // The lamp's warming up belongs to no screen.
                const int screen = room_.operations[from].screen;
                if (lag->to.index() != k || lag->min < Seconds{0} || seen[from] ||
                    (screen >= 0 && screen != room_.operations[i].screen) ||
                    (screen < 0 && room_.operations[from].step != model::Step::Expose))
                    continue;
                seen[from] = 1;
                found.push_back(from);
                todo.push_back(from);
            }
        }
        std::sort(found.begin(), found.end());
        return found;
    }
    bool handed_on(std::size_t i) const {  // something that has not begun takes over at once
        return std::any_of(lags_.begin(), lags_.end(), [&](const core::TimeLag* lag) {
            return lag->from.index() == i && lag->edge == core::Edge::End &&
                   lag->max == Seconds{0} && facts_.count(lag->to.index()) == 0;
        });
    }

    /// Where and by whom: as told, else as it is known or planned, else the first that is free.
    Begun fact_of(std::size_t i, SimTime start, const model::ScreenNow* told) {
        Begun b{.operation = OperationId{i}, .start = start};
        const auto known = facts_.find(i);
        const bool planned = i < posted_.size() && posted_[i].has_value();
        if (known != facts_.end()) {
            b = known->second;
            b.start = start;
            b.work_end = b.end = std::nullopt;
            if (known->second.start != start) b.batch.reset();
        } else if (planned) {
            b.mode = posted_[i]->mode;
            b.chosen = posted_[i]->chosen;
            b.stores = posted_[i]->stores;
        } else {
            choose(i, b);
            for (const auto& c : p_.constraints) {
                const auto* take = std::get_if<core::Take>(&c);
                if (take && take->operation.index() == i) b.stores.push_back(take->any_of.front());
            }
        }
        if (told != nullptr) {
            if (known == facts_.end() && planned) somebody_free(i, b);
            place(i, b, told->at, ResourceKind::Station, "state-place", told->place);
            place(i, b, told->by, ResourceKind::Person, "state-person", told->place);
        }
        return b;
    }
    void choose(std::size_t i, Begun& b) const {
        b.chosen.clear();
        for (const auto& need : p_.operations[i].modes[static_cast<std::size_t>(b.mode)].needs) {
            const auto free =
                std::find_if(need.any_of.begin(), need.any_of.end(), [&](ResourceId r) {
                    const bool mine =
                        std::find(b.chosen.begin(), b.chosen.end(), r) != b.chosen.end();
                    return !mine && in_use(r) + need.amount <= p_.resources[r.index()].capacity;
                });
            b.chosen.push_back(free != need.any_of.end() ? *free : need.any_of.front());
        }
    }
    // Whoever was planned for it may be at something else; then somebody who is free.
    void somebody_free(std::size_t i, Begun& b) const {
        const auto& needs = p_.operations[i].modes[static_cast<std::size_t>(b.mode)].needs;
        for (std::size_t n = 0; n < needs.size() && n < b.chosen.size(); ++n) {
            const ResourceId mine = b.chosen[n];
            if (room_.resources[mine.index()].kind != ResourceKind::Person || in_use(mine) == 0)
                continue;
            const auto& any_of = needs[n].any_of;
            const auto free = std::find_if(any_of.begin(), any_of.end(), [&](ResourceId r) {
                return in_use(r) == 0 && there(r, now_) &&
                       std::find(b.chosen.begin(), b.chosen.end(), r) == b.chosen.end();
            });
            if (free != any_of.end()) b.chosen[n] = *free;
        }
    }
    int in_use(ResourceId r) const {
        int used = 0;
        for (const auto& [i, b] : facts_) {
            if (b.end) continue;
            const auto& needs = p_.operations[i].modes[static_cast<std::size_t>(b.mode)].needs;
            for (std::size_t n = 0; n < needs.size() && n < b.chosen.size(); ++n)
                used += b.chosen[n] == r ? needs[n].amount : 0;
        }
        return used;
    }
    void place(std::size_t i, Begun& b, const std::string& name, ResourceKind kind,
               const char* code, const model::SourcePlace& where) {
        if (name.empty()) return;
        std::vector<std::string> possible;
        const auto& modes = p_.operations[i].modes;
        for (std::size_t m = 0; m < modes.size(); ++m) {
            for (std::size_t n = 0; n < modes[m].needs.size(); ++n) {
                for (const ResourceId r : modes[m].needs[n].any_of) {
                    if (room_.resources[r.index()].kind != kind) continue;
                    possible.push_back(p_.resources[r.index()].name);
                    if (possible.back() != name) continue;
                    if (static_cast<int>(m) != b.mode) {
                        b.mode = static_cast<int>(m);
                        choose(i, b);
                    }
                    b.chosen[n] = r;
                    return;
                }
            }
        }
        // Nobody attends while it stands, or is exposed: meant is another part of the same step.
        if (kind == ResourceKind::Person && possible.empty() && attended_elsewhere(i)) return;
        std::sort(possible.begin(), possible.end());
        possible.erase(std::unique(possible.begin(), possible.end()), possible.end());
        if (marked_) {  // it has happened; the day goes on
            std::string names;
            for (const auto& one : possible)
                names += (names.empty() ? "" : ", ") + one;
            const bool person = kind == ResourceKind::Person;
            notes_.push_back("\"" + words(i) + "\" is marked " + (person ? "with " : "in ") + name +
                             ", but by room.yaml it is done " + (person ? "by " : "in ") +
                             (names.empty() ? "nobody" : names) +
                             "; it is planned by room.yaml. Mend that, or the mark.");
            return;
        }
        wrong(where, code,
              "\"" + words(i) + "\" is not done " +
                  (kind == ResourceKind::Station ? "at " : "by ") + name + ".",
              name, possible);
    }

    /// Somebody works at another part of the step that `i` is a part of.
    bool attended_elsewhere(std::size_t i) const {
        const OperationInfo& mine = room_.operations[i];
        for (std::size_t k = 0; k < room_.operations.size(); ++k) {
            const OperationInfo& info = room_.operations[k];
            if (info.screen != mine.screen || info.returned != mine.returned ||
                info.step != mine.step || info.round != mine.round)
                continue;
            const auto& needs = p_.operations[k].modes.front().needs;
            if (std::any_of(needs.begin(), needs.end(),
                            [](const core::Need& n) { return n.span == core::Span::Work; }))
                return true;
        }
        return false;
    }

    /// Everything before `i` is over by `by`.
    void over_before(std::size_t i, SimTime by) {
        for (const std::size_t k : before(i))
            over(k, by);
    }
    void over(std::size_t k, SimTime by) {
        const auto known = facts_.find(k);
        if (known != facts_.end() && known->second.end && *known->second.end <= by) return;
        const SimTime start = known != facts_.end() ? std::min(known->second.start, by) : by;
        Begun b = fact_of(k, start, nullptr);
        b.work_end = b.end = std::max(start, std::min(by, now_));
        facts_[k] = std::move(b);
    }

    void screen(const model::ScreenNow& s) {
        const auto info = std::find_if(room_.screens.begin(), room_.screens.end(),
                                       [&](const ScreenInfo& x) { return x.tag == s.screen; });
        if (info == room_.screens.end()) {
            std::vector<std::string> tags;
            for (const auto& x : room_.screens)
                tags.push_back(x.tag);
            return wrong(s.place, "unknown-screen",
                         "no screen of the run is called \"" + s.screen + "\".", s.screen, tags);
        }
        const auto number = static_cast<int>(info - room_.screens.begin());
        const model::Step step = !s.in.empty()     ? s.in.front()
                                 : !s.done.empty() ? s.done.front()
                                                   : s.back_to.front();
        std::vector<std::size_t> mine, parts;  // its operations; those of the step
        std::vector<std::string> steps;
        for (std::size_t i = 0; i < room_.operations.size(); ++i) {
            if (room_.operations[i].screen != number) continue;
            mine.push_back(i);
            steps.emplace_back(model::words_of(room_.operations[i].step));
            if (room_.operations[i].step == step && room_.operations[i].round == s.round - 1)
                parts.push_back(i);
        }
        if (parts.empty()) {
            std::sort(steps.begin(), steps.end());
            steps.erase(std::unique(steps.begin(), steps.end()), steps.end());
            const std::string word(model::words_of(step));
            if (marked_) {
                notes_.push_back(s.screen + " is marked at \"" + word +
                                 "\", which is not on its way: that mark is left aside. Undo it, "
                                 "or mark the step that was meant.");
                return;
            }
            return wrong(s.place, "step-not-on-way",
                         s.screen + " has no step \"" + word + "\"" +
                             (s.round > 1 ? " number " + std::to_string(s.round) : "") +
                             " on its way.",
                         word, steps);
        }
        std::sort(parts.begin(), parts.end(), [&](std::size_t a, std::size_t b) {
            const auto first = before(b);
            return std::binary_search(first.begin(), first.end(), a) ||
                   (a < b && !std::binary_search(first.begin(), first.end(), b));
        });
        // Of a step that comes several times (taking out), the one that is under way or comes next.
        if (step == model::Step::TakeOut && parts.size() > 1) {
            const auto one = [&](auto want) {
                const auto found = std::find_if(parts.begin(), parts.end(), want);
                if (found == parts.end()) return false;
                parts = {*found};
                return true;
            };
            // The last that the plan has by then; else the one under way, or to come.
            std::optional<std::size_t> last;
            for (const std::size_t i : parts) {
                const auto known = facts_.find(i);
                if (s.since && known != facts_.end() && known->second.start <= day_ + *s.since &&
                    (!last || facts_.at(*last).start <= known->second.start))
                    last = i;
            }
            one([&](std::size_t i) { return last == i; }) ||
                one([&](std::size_t i) { return facts_.count(i) > 0 && !facts_.at(i).end; }) ||
                one([&](std::size_t i) { return facts_.count(i) == 0; }) ||
                one([](std::size_t) { return true; });
        }
        const auto known = facts_.find(parts.front());
        const bool planned = known != facts_.end();
        const SimTime since =
            at_clock(s.since, planned && !s.in.empty() ? known->second.start : now_);
        if (since > now_) {
            diagnostics_.error(s.place, "state-future",
                               s.screen + " is said to be there since " + clock(since) +
                                   ", but it is " + clock(now_) + ".",
                               "Give the time at which it came there, or leave it out.");
            return;
        }
        if (!s.in.empty()) return in_step(s, mine, parts, since);
        const std::size_t first = parts.front();
        if (!s.done.empty()) return done_step(s, mine, parts, since);
        // Back to a step: what stood anywhere has been put aside.
        keep_only(mine, before(first));
        over_before(first, now_ - Seconds{1});
        notes_.push_back(s.assumed ? assumed + s.screen + " has not begun " + words(first) + "."
                                   : s.screen + " goes back to " + words(first) + ".");
    }
    void keep_only(const std::vector<std::size_t>& mine, const std::vector<std::size_t>& kept) {
        for (const std::size_t i : mine) {
            if (!std::binary_search(kept.begin(), kept.end(), i)) facts_.erase(i);
        }
    }
    void in_step(const model::ScreenNow& s, const std::vector<std::size_t>& mine,
                 const std::vector<std::size_t>& parts, SimTime since) {
        std::size_t k = 0;
        SimTime start = since;
        // As planned, where nothing else is told of the time: exposed when the load was complete.
        if (!s.since) {
            while (k + 1 < parts.size() && facts_.count(parts[k + 1]) > 0 &&
                   facts_.at(parts[k]).end)
                ++k;
            if (k > 0) start = facts_.at(parts[k]).start;
        }
        SimTime from = start;
        std::vector<std::pair<std::size_t, SimTime>> passed;  // parts that are over, since when
        // A step of several parts (load, expose, unload) is in the one that the time says.
        while (k + 1 < parts.size()) {
            // What is said to dry hangs there already.
            const auto& m = p_.operations[parts[k]].modes.front();
            const core::Seconds length =
                hangs_up(room_.operations[parts[k]]) ? core::Seconds{0} : m.work;
            if (!m.stages.empty() || start + length > now_) break;
            passed.emplace_back(parts[k], start + length);
            start += length;
            ++k;
        }
        std::vector<std::size_t> kept = before(parts[k]);
        std::vector<std::size_t> with = kept;
        with.push_back(parts[k]);
        std::sort(with.begin(), with.end());
        keep_only(mine, with);
        over_before(parts.front(), since);
        for (const auto& [i, till] : passed) {
            Begun b = fact_of(i, from, &s);
            b.work_end = b.end = from = till;
            facts_[i] = std::move(b);
        }
        Begun b = fact_of(parts[k], start, &s);
        if (s.until) b.work_end = std::max(start, day_ + *s.until);
        const auto over = over_by_itself(parts[k], b);
        if (over) b.work_end = b.end = over;
        facts_[parts[k]] = std::move(b);
        std::string what = words(parts[k]) + " is under way since " + clock(start) +
                           (s.until ? ", till " + clock(day_ + *s.until) : "");
        if (over) what = words(parts[k]) + " is done since " + clock(*over);
        notes_.push_back((s.assumed ? assumed : "") + what + ".");
    }
    // The last step of a screen that stands there with nobody at it, and so long by now: nobody
    // comes to mark its end, and the screen was ready then.
    std::optional<SimTime> over_by_itself(std::size_t i, const Begun& b) const {
        const core::Mode& m = p_.operations[i].modes[static_cast<std::size_t>(b.mode)];
        const bool attended =
            std::any_of(m.needs.begin(), m.needs.end(),
                        [](const core::Need& need) { return need.span == core::Span::Work; });
        const SimTime end = b.work_end.value_or(b.start + m.work);
        if (attended || !m.stages.empty() || handed_on(i) || end > now_) return std::nullopt;
        return end;
    }
    void done_step(const model::ScreenNow& s, const std::vector<std::size_t>& mine,
                   const std::vector<std::size_t>& parts, SimTime since) {
        const std::size_t last = parts.back();
        auto kept = before(last);
        kept.push_back(last);
        std::sort(kept.begin(), kept.end());
        keep_only(mine, kept);
        over_before(last, since);
        Begun b = fact_of(last, start_of_done(last, since), &s);
        b.work_end = since;
        if (!handed_on(last)) b.end = since;
        facts_[last] = std::move(b);
        notes_.push_back((s.assumed ? assumed : "") + words(last) + " is done since " +
                         clock(since) + ".");
        if (room_.operations[last].step == model::Step::Expose) others_done(parts, since);
    }
    // Somebody was at it as long as planned: what is done later than planned began later. What runs
    // alone had begun as planned.
    SimTime start_of_done(std::size_t i, SimTime since) const {
        const auto known = facts_.find(i);
        if (known == facts_.end()) return since;
        const auto& needs =
            p_.operations[i].modes[static_cast<std::size_t>(known->second.mode)].needs;
        const bool attended = std::any_of(needs.begin(), needs.end(), [](const core::Need& need) {
            return need.span == core::Span::Work;
        });
        const SimTime start = std::min(known->second.start, since);
        const auto length =
            p_.operations[i].modes[static_cast<std::size_t>(known->second.mode)].work;
        return attended ? std::max(start, since - length) : start;
    }
    // Who shares an exposure comes out with it, unless something else is told of him.
    void others_done(const std::vector<std::size_t>& parts, SimTime since) {
        std::vector<std::string> tags;
        for (const std::size_t k : parts) {
            const auto mine = facts_.find(k);
            if (mine == facts_.end() || !mine->second.batch) continue;
            for (const auto& [i, b] : facts_) {
                const OperationInfo& info = room_.operations[i];
                if (i != k && b.batch == mine->second.batch && info.screen >= 0 &&
                    info.step == model::Step::Expose)
                    tags.push_back(tag_of(info));
            }
        }
        std::sort(tags.begin(), tags.end());
        tags.erase(std::unique(tags.begin(), tags.end()), tags.end());
        for (const std::string& tag : tags) {
            if (std::find(told_.begin(), told_.end(), tag) != told_.end()) continue;
            told_.push_back(tag);
            model::ScreenNow with{.screen = tag};
            with.done = {model::Step::Expose};
            with.since = since - day_;
            screen(with);
        }
    }

    // What the plan began with somebody who had gone by then, or put into what was out of work, has
    // not happened, and nothing after it: it is still to be done. Of what is marked the marks say
    // it.
    void not_without(const model::AwayNow& a, ResourceKind kind, const model::RoomState& state) {
        if (!a.from) return;
        const SimTime from = day_ + *a.from, until = std::min(now_, at_clock(a.until, now_));
        const auto said = [&](const OperationInfo& info) {
            const auto in = [&](const std::vector<std::string>& tags) {
                return std::find(tags.begin(), tags.end(), tag_of(info)) != tags.end();
            };
            return in(told_) || (state.marked && in(*state.marked));
        };
        std::map<std::pair<int, int>, std::vector<std::size_t>>
            with;  // of each screen, each mixing
        for (const auto& [i, b] : facts_) {
            const OperationInfo& info = room_.operations[i];
            if (b.start < from || b.start >= until || (info.screen < 0 && info.mix < 0)) continue;
            if (info.screen >= 0 && said(info)) continue;
            const auto at = std::find_if(b.chosen.begin(), b.chosen.end(), [&](ResourceId r) {
                return room_.resources[r.index()].kind == kind &&
                       p_.resources[r.index()].name == a.name;
            });
            if (at == b.chosen.end()) continue;
            // Being put in is what a station out of work refuses; what stands in it stays.
            if (kind == ResourceKind::Station && (at != b.chosen.begin() || goes_on_there(i, *at)))
                continue;
            with[{info.screen, info.mix}].push_back(i);
        }
        for (auto& [whose, all] : with) {
            std::stable_sort(all.begin(), all.end(), [&](std::size_t x, std::size_t y) {
                return facts_.at(x).start < facts_.at(y).start;
            });
            for (const std::size_t i : all) {
                if (!cannot_wait(i)) {
                    take_back(i, whose, a.name, kind);
                    break;
                }
                notes_.push_back("\"" + words(i) + "\" could not wait, and " + a.name +
                                 (kind == ResourceKind::Person ? " had gone" : " was out of work") +
                                 "; it is planned as if it was done in time. If it was not, say "
                                 "so: mark it, or in state.yaml.");
            }
        }
    }
    void take_back(std::size_t i, const std::pair<int, int>& whose, const std::string& name,
                   ResourceKind kind) {
        notes_.push_back("\"" + words(i) + "\" has not begun: " + name +
                         (kind == ResourceKind::Person ? " had gone" : " was out of work") +
                         " before. If it has, say so: mark it, or in state.yaml.");
        std::vector<std::size_t> mine;
        for (std::size_t k = 0; k < room_.operations.size(); ++k) {
            const OperationInfo& info = room_.operations[k];
            if (std::pair(info.screen, info.mix) == whose) mine.push_back(k);
        }
        keep_only(mine, before(i));
        over_before(i, now_ - Seconds{1});
    }
    // A later part of a step that had begun there.
    bool goes_on_there(std::size_t i, ResourceId station) const {
        return std::any_of(lags_.begin(), lags_.end(), [&](const core::TimeLag* lag) {
            const auto known = facts_.find(lag->from.index());
            return lag->to.index() == i && known != facts_.end() && !known->second.chosen.empty() &&
                   known->second.chosen.front() == station &&
                   room_.operations[known->first].screen == room_.operations[i].screen;
        });
    }
    // Had it not begun by now, what goes before it would be spoilt.
    bool cannot_wait(std::size_t i) const {
        return std::any_of(lags_.begin(), lags_.end(), [&](const core::TimeLag* lag) {
            const auto known = facts_.find(lag->from.index());
            if (lag->to.index() != i || !lag->max || known == facts_.end()) return false;
            const Begun& b = known->second;
            const auto work =
                p_.operations[known->first].modes[static_cast<std::size_t>(b.mode)].work;
            const SimTime done = b.work_end.value_or(b.start + usual_length(known->first, work));
            // Whoever coats hangs it up, and nothing stays under the lamp.
            const OperationInfo& info = room_.operations[known->first];
            if (lag->edge == core::Edge::End)
                return *lag->max == Seconds{0} &&
                       (info.step == model::Step::Coat || info.step == model::Step::FaceCoat ||
                        info.step == model::Step::Strip || info.step == model::Step::Expose);
            return (lag->edge == core::Edge::Start ? b.start : done) + *lag->max < now_;
        });
    }

    std::optional<ResourceId> resource(const model::AwayNow& a, ResourceKind kind,
                                       const char* what) {
        std::vector<std::string> names;
        for (std::size_t r = 0; r < room_.resources.size(); ++r) {
            if (room_.resources[r].kind != kind) continue;
            names.push_back(p_.resources[r].name);
            if (names.back() == a.name) return ResourceId{r};
        }
        wrong(a.place, "unknown-name",
              std::string("there is no ") + what + " named \"" + a.name + "\".", a.name, names);
        return std::nullopt;
    }
    void away(const model::AwayNow& a, ResourceKind kind, const char* what, const char* how) {
        const auto id = resource(a, kind, what);
        if (!id) return;
        auto& calendar = p_.resources[id->index()].calendar;
        const SimTime from = std::max(now_, at_clock(a.from, now_));
        const SimTime until = at_clock(a.until, day_ + std::chrono::days{1});
        if (until <= from) return;
        core::Calendar left;
        for (const core::Window& w :
             calendar.value_or(core::Calendar{{p_.horizon_start, p_.horizon_end}})) {
            if (w.from < std::min(w.to, from)) left.push_back({w.from, std::min(w.to, from)});
            if (std::max(w.from, until) < w.to) left.push_back({std::max(w.from, until), w.to});
        }
        calendar = std::move(left);
        std::string since;
        if (a.from) since = (day_ + *a.from <= now_ ? " since " : " from ") + clock(day_ + *a.from);
        notes_.push_back(a.name + " " + how + since +
                         (a.until ? " till " + clock(until) : " for the rest of the day") + ".");
    }
    bool there(ResourceId r, SimTime from) const {
        const auto& calendar = p_.resources[r.index()].calendar;
        return !calendar ||
               std::any_of(calendar->begin(), calendar->end(),
                           [&](const core::Window& w) { return w.from <= from && from < w.to; });
    }
    void hand_over(const model::AwayNow& a, const std::map<std::size_t, SimTime>& ends) {
        const auto id = resource(a, ResourceKind::Person, "person");
        const SimTime from = std::max(now_, at_clock(a.from, now_));
        for (auto& [i, b] : facts_) {
            const auto end = ends.find(i);
            const SimTime until = b.work_end ? *b.work_end : end != ends.end() ? end->second : now_;
            if (b.end || until <= from || from > now_) continue;
            const auto& needs = p_.operations[i].modes[static_cast<std::size_t>(b.mode)].needs;
            for (std::size_t n = 0; n < b.chosen.size(); ++n) {
                if (b.chosen[n] != *id) continue;
                const auto other =
                    std::find_if(needs[n].any_of.begin(), needs[n].any_of.end(), [&](ResourceId r) {
                        return there(r, now_) && in_use(r) < p_.resources[r.index()].capacity;
                    });
                if (other != needs[n].any_of.end()) {
                    b.chosen[n] = *other;
                    notes_.push_back(p_.resources[other->index()].name +
                                     " takes over: " + words(i) + ".");
                } else if (room_.operations[i].screen >= 0 && hangs_up(room_.operations[i])) {
                    // Till the next who comes it hangs, through hours in which nothing is put in.
                    notes_.push_back("Nobody else is free for \"" + words(i) +
                                     "\"; it is planned as if " + a.name + " had finished it.");
                    hangs_now(i, b.chosen.front());
                    break;
                } else {
                    b.work_end = until;
                    notes_.push_back("Nobody else is free for \"" + words(i) +
                                     "\"; it is planned as if " + a.name + " finished it at " +
                                     clock(until) + ".");
                }
            }
        }
    }

    // What is under way in a station that is out of work stays until its step is over; but where
    // the next step needs the same station at once (out of an exposure unit), nobody can wait for
    // that.
    void bring_out(const model::AwayNow& a, const std::map<std::size_t, SimTime>& ends) {
        const auto id = resource(a, ResourceKind::Station, "station");
        const SimTime from = std::max(now_, at_clock(a.from, now_));
        std::vector<std::size_t> inside;
        for (const auto& [i, b] : facts_) {
            const auto end = ends.find(i);
            const bool over_by_then =
                b.end || (end != ends.end() && end->second <= from && !handed_on(i));
            if (!over_by_then && !b.chosen.empty() && b.chosen.front() == *id) inside.push_back(i);
        }
        with_mates(inside);
        const auto facts = facts_;
        // Who shares an exposure stays as long as the others.
        const auto by_then = [&](std::size_t i) {
            const auto& batch = facts.at(i).batch;
            return std::all_of(facts.begin(), facts.end(), [&](const auto& x) {
                const bool mine =
                    x.first == i || (batch && !x.second.end && x.second.batch == batch);
                return !mine || (ends.count(x.first) > 0 && ends.at(x.first) <= from);
            });
        };
        for (const std::size_t i : inside) {
            if (facts_.count(i) == 0) continue;
            if (from > now_ && by_then(i)) continue;
            const OperationInfo& info = room_.operations[i];
            if (info.screen >= 0 && hangs_up(info)) {
                hangs_now(i, *id);
                continue;
            }
            if (info.screen < 0 || info.step != model::Step::Expose) {
                if (info.screen < 0 && !facts_.at(i).work_end) warm_again(i, a.name);
                continue;
            }
            const auto follow = next_here(i, *id);
            if (follow.size() > 1) {
                load_again(i, a.name + " failed while it was being loaded");
                continue;
            }
            over(i, now_ - Seconds{1});
            for (const std::size_t k : follow)
                over(k, now_ - Seconds{1});
            notes_.push_back(
                "TAKE OUT BY HAND: " + tag_of(info) + " was in " + a.name +
                " when it failed. It is planned as if its exposure had been finished "
                "by hand; if it is lost, say in state.yaml which step it goes back to, "
                "and plan again.");
        }
    }
    // Who shares an exposure with one that is brought out.
    void with_mates(std::vector<std::size_t>& inside) const {
        for (std::size_t k = 0; k < inside.size(); ++k) {
            const auto& batch = facts_.at(inside[k]).batch;
            if (!batch || room_.operations[inside[k]].step != model::Step::Expose) continue;
            for (const auto& [i, b] : facts_) {
                if (b.batch == batch && !b.end &&
                    std::find(inside.begin(), inside.end(), i) == inside.end())
                    inside.push_back(i);
            }
        }
    }
    const std::string& tag_of(const OperationInfo& info) const {
        return room_.screens[static_cast<std::size_t>(info.screen)].tag;
    }
    // A station that will be out of work lets out what is exposed by then, though taking it out may
    // need a little longer; what would not be exposed by then is not loaded.
    void taken_out_first(model::AwayNow& a, const std::map<std::size_t, SimTime>& ends) {
        const auto id = resource(a, ResourceKind::Station, "station");
        if (!id) return;
        const SimTime from = day_ + *a.from;
        if (from <= now_) return;
        std::vector<std::size_t> late;
        for (const auto& [i, b] : facts_) {
            if (b.end || ends.count(i) == 0 || b.chosen.empty() || b.chosen.front() != *id ||
                room_.operations[i].screen < 0 || room_.operations[i].step != model::Step::Expose)
                continue;
            const auto follow = next_here(i, *id);
            SimTime out = ends.at(i);
            for (const std::size_t k : follow) {
                for (const core::Mode& mode : p_.operations[k].modes) {
                    if (mode.needs.empty() || mode.needs.front().any_of.front() != *id) continue;
                    out = somebody_there(mode, out) + mode.work;
                    break;
                }
                if (k != follow.back() && out > from) late.push_back(i);
            }
            if (!late.empty() && late.back() == i) continue;
            // Nobody is there to take it out for long.
            if (out > from + std::chrono::hours{1} && follow.size() > 1)
                late.push_back(i);
            else if (out > from && ends.at(i) <= from)
                a.from = std::max(*a.from, out - day_);
        }
        for (const std::size_t i : late)
            load_again(i, a.name + " will be out of work before that");
    }
    /// The first moment from t on when people for it are there as long as it takes.
    SimTime somebody_there(const core::Mode& mode, SimTime t) const {
        SimTime all = t;
        for (const core::Need& need : mode.needs) {
            std::optional<SimTime> first;
            for (const ResourceId r : need.any_of) {
                const auto& calendar = p_.resources[r.index()].calendar;
                if (room_.resources[r.index()].kind != ResourceKind::Person || !calendar) continue;
                for (const core::Window& w : *calendar) {
                    if (w.to < std::max(w.from, t) + mode.work) continue;
                    first = std::min(first.value_or(SimTime::max()), std::max(w.from, t));
                    break;
                }
            }
            all = std::max(all, first.value_or(all));
        }
        return all;
    }
    void load_again(std::size_t i, const std::string& why) {
        const OperationInfo& info = room_.operations[i];
        std::vector<std::size_t> mine;
        for (std::size_t k = 0; k < room_.operations.size(); ++k) {
            if (room_.operations[k].screen == info.screen) mine.push_back(k);
        }
        keep_only(mine, before(i));
        over_before(i, now_ - Seconds{1});
        notes_.push_back(tag_of(info) + " is not exposed: " + why + ". It is loaded again.");
    }
    // What is being put into a station that goes out of work dries there like all that hangs there.
    void hangs_now(std::size_t i, ResourceId station) {
        for (const auto* lag : lags_) {
            const std::size_t to = lag->to.index();
            if (lag->from.index() != i || lag->edge != core::Edge::End || lag->max != Seconds{0} ||
                facts_.count(to) > 0)
                continue;
            const SimTime by = now_ - Seconds{1};
            Begun b = fact_of(to, by, nullptr);
            if (b.chosen.empty() || b.chosen.front() != station) {
                const auto& modes = p_.operations[to].modes;
                for (std::size_t m = 0; m < modes.size(); ++m) {
                    if (modes[m].needs.empty()) continue;  // on the wall
                    const auto& any_of = modes[m].needs.front().any_of;
                    if (std::find(any_of.begin(), any_of.end(), station) == any_of.end()) continue;
                    b.mode = static_cast<int>(m);
                    choose(to, b);
                    b.chosen.front() = station;
                    break;
                }
            }
            over(i, by);
            facts_[to] = std::move(b);
            return;
        }
    }
    void warm_again(std::size_t i, const std::string& station) {
        notes_.push_back(words(i) + " begins again when " + station + " works again.");
        facts_.erase(i);
    }
    // A lamp that has failed cold holds back what it alone can expose, no more. @post lags_ is
    // empty.
    void wait_for_no_cold_lamp() {
        lags_.clear();
        for (std::size_t i = 0; i < p_.operations.size(); ++i) {
            const OperationInfo& info = room_.operations[i];
            if (info.screen >= 0 || info.step != model::Step::Expose || facts_.count(i) > 0)
                continue;
            const core::Mode& warming = p_.operations[i].modes.front();
            const ResourceId unit = warming.needs.front().any_of.front();
            const auto& open = p_.resources[unit.index()].calendar;
            const bool soon =
                !open || std::any_of(open->begin(), open->end(), [&](const core::Window& w) {
                    const SimTime from = std::max(w.from, now_);
                    return from <= now_ + model::hours(1) && from + warming.work <= w.to;
                });
            if (soon) continue;
            const auto elsewhere = [&](const core::Constraint& c) {
                const auto* lag = std::get_if<core::TimeLag>(&c);
                if (lag == nullptr || lag->from.index() != i) return false;
                const auto& modes = p_.operations[lag->to.index()].modes;
                return std::any_of(modes.begin(), modes.end(), [&](const core::Mode& mode) {
                    return mode.needs.front().any_of.front() != unit;
                });
            };
            p_.constraints.erase(
                std::remove_if(p_.constraints.begin(), p_.constraints.end(), elsewhere),
                p_.constraints.end());
        }
    }
    // Steps of the screen after `i` that have not begun and can be done at `station` alone, in the
    // way of doing them that has begun.
    std::vector<std::size_t> next_here(std::size_t i, ResourceId station) const {
        std::vector<std::size_t> found;
        for (std::size_t at = i; at != SIZE_MAX;) {
            const std::size_t here = at;
            at = SIZE_MAX;
            for (const auto* lag : lags_) {
                const std::size_t to = lag->to.index();
                if (lag->from.index() != here || !lag->max || facts_.count(to) > 0 ||
                    room_.operations[to].step != room_.operations[i].step)
                    continue;
                const auto& modes = p_.operations[to].modes;
                const bool only = std::any_of(modes.begin(), modes.end(), [&](const auto& mode) {
                    return !mode.needs.empty() && mode.needs.front().any_of.size() == 1 &&
                           mode.needs.front().any_of.front() == station;
                });
                if (!only || std::find(found.begin(), found.end(), to) != found.end()) continue;
                found.push_back(to);
                at = to;
                break;
            }
        }
        return found;
    }

    SimTime now_, day_;
    const PostedPlan& posted_;
    RoomProblem& room_;
    core::Problem& p_;
    std::vector<std::string>& notes_;
    model::Diagnostics& diagnostics_;
    std::map<std::size_t, Begun> facts_;  // by operation
    std::vector<std::string> told_;       // screens of which something is said
    bool marked_ = false;  // what is told are marks: what cannot be is said, and not refused
    Crowd crowd_;
    std::optional<Occupant> overdue_;
    std::vector<const core::TimeLag*> lags_;
};

}  // namespace

bool apply_state(const model::RoomState& state, core::SimTime now, const PostedPlan& posted,
                 std::vector<core::Begun> begun, RoomProblem& room, std::vector<std::string>& notes,
                 model::Diagnostics& diagnostics) {
    if (!state.marked)
        return StateApplier(now, posted, std::move(begun), room, notes, diagnostics).run(state);
    // One screen is moved a step at a time; each only one way, so that it ends.
    std::vector<std::optional<SimTime>> ends(posted.size());
    for (std::size_t i = 0; i < posted.size(); ++i) {
        if (posted[i]) ends[i] = posted[i]->work_end;
    }
    model::RoomState told = state;
    Moved moved;
    bool overdue_counts = true;
    for (;;) {
        std::vector<std::string> said = notes;
        StateApplier applier(now, posted, begun, room, said, diagnostics);
        applier.overdue_counts = overdue_counts;
        if (applier.run(told)) {
            notes = std::move(said);
            return true;
        }
        if (applier.overdue()) {
            const model::RoomState before = told;
            go_on(*applier.overdue(), room, applier.begun(), ends, now, told);
            overdue_counts = told != before;  // nothing else can be assumed: it ends
            continue;
        }
        if (applier.crowd().screens.empty()) return false;
        if (move_one(applier.crowd(), room, applier.begun(), ends, now, told, moved)) continue;
        diagnostics.error(state.place, "state-full",
                          "more screens are at " + applier.crowd().station +
                              " than it has places, by the marks and by the plan.",
                          "Take back the mark that is wrong (coatroom mark SCENARIO --list).");
        return false;
    }
}

}  // namespace sched::compile
