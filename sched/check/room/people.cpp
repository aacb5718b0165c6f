// Who is where: attended work has somebody who can do it, who is there, who has no break and is
// nowhere else; two for large frames; remover is rinsed off by whoever put it on; and nothing goes
// into or out of a cabinet by itself. Breaks are laid beside the room file: everyone gets each of
// them, in one piece, within its time.

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <set>

#include "model/room/steps.hpp"
#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

using Windows = std::vector<report::Period>;

void join(Windows& windows) {
    std::sort(windows.begin(), windows.end(),
              [](const auto& a, const auto& b) { return a.from < b.from; });
    Windows out;
    for (const auto& w : windows) {
        if (w.from >= w.to) continue;
        if (!out.empty() && w.from <= out.back().to) {
            out.back().to = std::max(out.back().to, w.to);
        } else {
            out.push_back(w);
        }
    }
    windows = std::move(out);
}

bool inside(const Windows& windows, SimTime from, SimTime to) {
    return std::any_of(windows.begin(), windows.end(),
                       [&](const auto& w) { return w.from <= from && to <= w.to; });
}

struct Presence {
    Windows shifts;  // without overtime, breaks not taken out
    Windows there;   // with overtime
    Windows breaks;  // of the plan
};

Presence presence_of(const Case& c, const model::Person& person) {
    Presence out;
    const SimTime first = model::midnight(model::date_of(c.d.run.from)) - std::chrono::days{2};
    for (SimTime day = first; day <= c.d.run.until; day += std::chrono::days{1}) {
        const auto date = model::date_of(day);
        if (std::find(person.absent.begin(), person.absent.end(), date) != person.absent.end())
            continue;
        const auto before = static_cast<std::ptrdiff_t>(out.there.size());
        for (const model::Shift& shift : person.shifts) {
            if (!shift.weekdays.at(static_cast<std::size_t>(model::weekday_index(date)))) continue;
            out.shifts.push_back({day + shift.from, day + shift.to});
            out.there.push_back(out.shifts.back());
        }
        // Overtime is what follows the last shift of a date.
        const auto last =
            std::max_element(out.there.begin() + before, out.there.end(),
                             [](const auto& a, const auto& b) { return a.to < b.to; });
        if (last != out.there.end()) last->to += person.overtime;
        // Who was asked to stay longer does so after what is his last shift of that date.
        for (const model::LongerDay& asked : person.longer) {
            if (asked.date != date || out.there.empty()) continue;
            const auto end =
                std::max_element(out.there.begin(), out.there.end(),
                                 [](const auto& a, const auto& b) { return a.to < b.to; });
            if (model::date_of(end->from) == date) end->to += asked.by;
        }
    }
    join(out.shifts);
    join(out.there);
    for (const report::BreakLine& line : c.d.breaks) {
        if (line.person == person.name) out.breaks.push_back({line.from, line.to});
    }
    return out;
}

bool on_break(const Presence& p, SimTime from, SimTime to) {
    return std::any_of(p.breaks.begin(), p.breaks.end(),
                       [&](const auto& w) { return w.from < to && from < w.to; });
}

// ---- breaks ------------------------------------------------------------------------------------

// A break that somebody is owed: begun in [earliest, latest].
struct Owed {
    SimTime earliest{}, latest{};
    Seconds length{0};
    bool asked = true;  // within the run, from the moment of the plan on
};

constexpr std::size_t most_judged = 7;  // at once: 5,040 orders

// How many of these can be had one after the other, at most; few, so every order is tried.
std::size_t most_in_turn(std::vector<Owed> owed) {
    std::size_t best = 0;
    std::vector<std::size_t> turn(owed.size());
    std::iota(turn.begin(), turn.end(), std::size_t{0});
    do {
        std::size_t had = 0;
        SimTime free = SimTime::min();
        for (const std::size_t i : turn) {
            const SimTime at = std::max(free, owed[i].earliest);
            if (at > owed[i].latest) continue;
            free = at + owed[i].length;
            ++had;
        }
        best = std::max(best, had);
    } while (best < owed.size() && std::next_permutation(turn.begin(), turn.end()));
    return best;
}

bool give(const std::vector<std::vector<std::size_t>>& fits, std::size_t i,
          std::vector<std::size_t>& taken, std::vector<char>& tried) {
    for (const std::size_t j : fits[i]) {
        if (tried[j]) continue;
        tried[j] = 1;
        if (taken[j] == SIZE_MAX || give(fits, taken[j], taken, tried)) {
            taken[j] = i;
            return true;
        }
    }
    return false;
}

// What a stretch of attendance owes the person, by day: breaks that stand in each other's way may
// be of two days. One that could lie in either of two stretches is not asked for: the file does not
// say in which.
std::vector<std::vector<Owed>> owed_in(const Case& c, const model::Person& person,
                                       const Presence& p, const report::Period& stretch) {
    std::vector<std::vector<Owed>> out;
    const SimTime since = c.d.again ? c.d.again->now : c.d.run.from;
    for (SimTime day = model::midnight(model::date_of(stretch.from)); day < stretch.to;
         day += std::chrono::days{1}) {
        out.emplace_back();
        for (const model::Break& pause : person.breaks) {
            std::vector<Owed> places;
            bool here = false;
            for (const auto& shift : p.shifts) {
                const Owed one{std::max(day + pause.earliest, shift.from),
                               std::min(day + pause.latest, shift.to - pause.length), pause.length};
                if (one.earliest > one.latest) continue;
                places.push_back(one);
                here |= shift.from == stretch.from;
            }
            if (places.size() != 1 || !here) continue;
            // What the plan says nothing of may have taken the time of one that is asked for.
            places[0].asked = places[0].earliest >= since && places[0].latest < c.d.run.last_end;
            out.back().push_back(places[0]);
        }
    }
    return out;
}

void judge_owed(const Case& c, const model::Person& person, const Presence& p,
                const std::vector<Owed>& owed) {
    if (owed.empty() || owed.size() > most_judged) return;
    std::vector<std::vector<std::size_t>> fits(owed.size());
    for (std::size_t i = 0; i < owed.size(); ++i) {
        for (std::size_t j = 0; owed[i].asked && j < p.breaks.size(); ++j) {
            const auto& w = p.breaks[j];
            // Two that touch stand as one, whose first half may be over.
            const SimTime from = std::max(w.from, owed[i].earliest);
            if (from <= owed[i].latest && w.to - from >= owed[i].length) fits[i].push_back(j);
        }
    }
    std::size_t had = 0, not_asked = 0;
    std::vector<std::size_t> taken(p.breaks.size(), SIZE_MAX);
    std::string missing;
    for (std::size_t i = 0; i < owed.size(); ++i) {
        if (!owed[i].asked) {
            ++not_asked;
            continue;
        }
        std::vector<char> tried(p.breaks.size(), 0);
        if (give(fits, i, taken, tried)) {
            ++had;
            continue;
        }
        missing +=
            fmt::format("{}{} from {}", missing.empty() ? "" : ", ",
                        model::format_duration(owed[i].length), clock_words(owed[i].earliest));
    }
    if (had + not_asked < most_in_turn(owed))
        c.say("break", fmt::format("{} does not get a break: {}.", person.name, missing));
}

void judge_breaks_of(const Case& c, const model::Person& person, const Presence& p) {
    for (const auto& stretch : p.shifts) {
        const auto by_day = owed_in(c, person, p, stretch);
        std::vector<Owed> all;
        for (const auto& day : by_day)
            all.insert(all.end(), day.begin(), day.end());
        if (all.size() <= most_judged) {
            judge_owed(c, person, p, all);
            continue;
        }
        for (const auto& day : by_day)
            judge_owed(c, person, p, day);
    }
    Windows sorted = p.breaks;
    std::sort(sorted.begin(), sorted.end(),
              [](const auto& a, const auto& b) { return a.from < b.from; });
    for (std::size_t i = 0; i + 1 < sorted.size(); ++i) {
        if (sorted[i + 1].from < sorted[i].to)
            c.say("break", fmt::format("two breaks of {} at {} are one.", person.name,
                                       clock_words(sorted[i + 1].from)));
    }
}

// ---- work --------------------------------------------------------------------------------------

struct Crew {
    const Case& c;
    std::map<std::string, Presence> presence;
    std::map<std::string, std::vector<int>> work;  // by person, in order of start

    explicit Crew(const Case& kase) : c(kase) {
        for (const auto& [name, person] : c.people)
            presence[name] = presence_of(c, *person);
        for (std::size_t i = 0; i < c.d.operations.size(); ++i) {
            for (const std::string& name : c.d.operations[i].people)
                work[name].push_back(static_cast<int>(i));
        }
        for (auto& [name, list] : work) {
            std::stable_sort(list.begin(), list.end(),
                             [&](int a, int b) { return c.op(a).start < c.op(b).start; });
        }
    }

    bool one_has_learnt(const std::set<std::string>& hands, Step step) const {
        return std::any_of(hands.begin(), hands.end(), [&](const std::string& name) {
            const auto person = c.people.find(name);
            if (person == c.people.end()) return false;
            const auto& can = person->second->can;
            return can.empty() || std::find(can.begin(), can.end(), step) != can.end();
        });
    }

    void judge_operation(int i) const {
        const OperationLine& line = c.op(i);
        if (!c.begins_later(i)) return;
        const ScreenCase* x = c.screen_of(line);
        const auto step = c.step_of(i);
        if (!step) return;
        const std::set<std::string> hands(line.people.begin(), line.people.end());
        const auto& two = c.room.limits.two_people_from;
        // Hanging up is carrying, whatever dries afterwards; so is taking out.
        const auto& lifted = c.room.limits.two_people_for;
        const Step lift = line.step == put_in ? Step::TakeOut : *step;
        const bool pair =
            x != nullptr && two && larger(x->frame, *two) &&
            (lifted.empty() || std::find(lifted.begin(), lifted.end(), lift) != lifted.end());
        if (!hands.empty() && hands.size() < (pair ? 2U : 1U))
            c.say("people", fmt::format("{}: the frame is for two people, {} is alone.", line.words,
                                        line.people.front()));
        const SimTime until = line.people_until.value_or(line.start);
        for (const std::string& name : hands) {
            const auto person = c.people.find(name);
            if (person == c.people.end()) {
                c.say("people", line.words + ": " + name + " is nobody of room.yaml.");
                continue;
            }
            const auto& can = person->second->can;
            // No skill; nor has the second of two who lay a frame on the unit to expose it.
            const bool carry = *step == Step::TakeOut || line.step == put_in ||
                               (*step == Step::Expose && pair && one_has_learnt(hands, *step));
            if (!carry && !can.empty() && std::find(can.begin(), can.end(), *step) == can.end())
                c.say("skill", fmt::format("{}: {} has not learnt it ({}).", line.words, name,
                                           model::words_of(*step)));
            if (until <= line.start) continue;
            const Presence& p = presence.at(name);
            if (!inside(p.there, line.start, until))
                c.say("people", fmt::format("{}: {} is not there from {} to {}.", line.words, name,
                                            clock_words(line.start), clock_words(until)));
            if (x != nullptr && x->returned != nullptr && !inside(p.shifts, line.start, until))
                c.say("people", fmt::format("{}: nobody stays longer for the store, {} does.",
                                            line.words, name));
            if (on_break(p, line.start, until))
                c.say("break", fmt::format("{}: {} has a break then ({} to {}).", line.words, name,
                                           clock_words(line.start), clock_words(until)));
        }
    }

    // Several screens under one lamp are minded by the same person at the same time.
    static bool one_load(const OperationLine& a, const OperationLine& b) {
        return a.batch && a.batch == b.batch && a.place == b.place && a.start == b.start;
    }

    // What joins a load that was told is as true as that.
    bool begins_alone(int i) const {
        if (!c.begins_later(i)) return false;
        const auto& all = c.d.operations;
        return std::none_of(all.begin(), all.end(), [&](const OperationLine& other) {
            return !c.begins_later(static_cast<int>(&other - all.data())) &&
                   one_load(other, c.op(i));
        });
    }

    void judge_one_place_at_a_time() const {
        for (const auto& [name, list] : work) {
            int last = -1;  // whose work reaches furthest
            for (const int i : list) {
                const OperationLine& line = c.op(i);
                const SimTime until = line.people_until.value_or(line.start);
                if (until <= line.start) continue;
                if (last >= 0) {
                    const OperationLine& before = c.op(last);
                    if (line.start < *before.people_until && !one_load(before, line) &&
                        (begins_alone(i) || begins_alone(last)))
                        c.say("people",
                              fmt::format("{} is in two places at {}: {}, {}.", name,
                                          clock_words(line.start), before.words, line.words));
                }
                if (last < 0 || *c.op(last).people_until < until) last = i;
            }
        }
    }

    // Whether b is reached from a over stations that stand beside each other. A rack says it of the
    // first station of its part of the premises where mesh, coats or stencils dry, unless it says
    // something else.
    bool side_by_side(const std::string& a, const std::string& b) const {
        std::vector<std::string> reached{a};
        for (std::size_t k = 0; k < reached.size(); ++k) {
            for (const model::Station& x : c.room.stations) {
                for (const model::Station& y : c.room.stations) {
                    if (!says_beside(x, y)) continue;
                    for (const auto& [from, to] : {std::pair{x.name, y.name}, {y.name, x.name}}) {
                        if (from == reached[k] &&
                            std::find(reached.begin(), reached.end(), to) == reached.end())
                            reached.push_back(to);
                    }
                }
            }
        }
        return std::find(reached.begin(), reached.end(), b) != reached.end();
    }

    bool says_beside(const model::Station& x, const model::Station& y) const {
        if (x.name == y.name) return false;
        if (!x.beside.empty()) return x.beside == y.name;
        const auto has = [](const model::Station& s, std::initializer_list<Step> steps) {
            return std::any_of(s.does.begin(), s.does.end(), [&](Step step) {
                return std::count(steps.begin(), steps.end(), step) > 0;
            });
        };
        if (!has(x, {Step::TakeOut})) return false;
        const auto cabinet = std::find_if(
            c.room.stations.begin(), c.room.stations.end(), [&](const model::Station& s) {
                return s.name != x.name && s.stands_in == x.stands_in &&
                       has(s, {Step::DryMesh, Step::DryCoat, Step::DryStencil});
            });
        return cabinet != c.room.stations.end() && cabinet->name == y.name;
    }

    // From one station to another somebody walks, but where a time not there or a break lies
    // between.
    void judge_walks() const {
        if (c.room.between_stations.count() == 0) return;
        for (const auto& [name, list] : work) {
            const OperationLine* before = nullptr;
            for (const int i : list) {
                const OperationLine& line = c.op(i);
                const SimTime until = line.people_until.value_or(line.start);
                if (until <= line.start || line.place.empty()) {
                    if (until > line.start) before = nullptr;
                    continue;
                }
                if (before != nullptr && before->place != line.place && c.begins_later(i) &&
                    !side_by_side(before->place, line.place)) {
                    const SimTime left = *before->people_until;
                    const Presence& p = presence.at(name);
                    const bool stays =
                        inside(p.there, left, line.start) &&
                        std::none_of(p.breaks.begin(), p.breaks.end(), [&](const auto& w) {
                            return w.from < line.start && left < w.to;
                        });
                    if (stays && left <= line.start && line.start - left < c.room.between_stations)
                        c.say("walk", fmt::format("{} is at {} until {} and at {} at {}.", name,
                                                  before->place, clock_words(left), line.place,
                                                  clock_words(line.start)));
                }
                before = c.begins_later(i) ? &line : nullptr;
            }
        }
    }

    // Remover is not left on for somebody else to find: who puts it on takes it off again.
    void judge_remover(const ScreenCase& x) const {
        const bool one_can = std::any_of(c.people.begin(), c.people.end(), [](const auto& entry) {
            const auto& can = entry.second->can;
            const auto in = [&](Step s) {
                return can.empty() || std::find(can.begin(), can.end(), s) != can.end();
            };
            return in(Step::Strip) && in(Step::Rinse);
        });
        if (!one_can) return;
        const OperationLine* on = nullptr;
        for (const int i : x.operations) {
            const OperationLine& line = c.op(i);
            if (line.people.empty()) continue;
            if (c.step_of(i) == Step::Strip) on = c.begins_later(i) ? &line : nullptr;
            if (c.step_of(i) != Step::Rinse || on == nullptr) continue;
            const auto& first = on->people;
            if (std::none_of(line.people.begin(), line.people.end(), [&](const std::string& who) {
                    return std::find(first.begin(), first.end(), who) != first.end();
                }))
                c.say("hands", fmt::format("{}: {} put the remover on, {} rinses it off.",
                                           line.words, first.front(), line.people.front()));
        }
    }

    // Somebody with hands free at t: there, no break, not in the middle of other work.
    std::size_t hands_at(SimTime t) const {
        std::size_t hands = 0;
        for (const auto& [name, p] : presence) {
            if (!inside(p.there, t, t)) continue;
            const bool pausing = std::any_of(p.breaks.begin(), p.breaks.end(),
                                             [&](const auto& w) { return w.from < t && t < w.to; });
            const auto mine = work.find(name);
            const bool busy =
                mine != work.end() &&
                std::any_of(mine->second.begin(), mine->second.end(), [&](int i) {
                    return c.op(i).start < t && t < c.op(i).people_until.value_or(c.op(i).start);
                });
            if (!pausing && !busy) ++hands;
        }
        return hands;
    }

    // Between two places a screen is carried; a cabinet's door does not open by itself.
    void judge_carries(const ScreenCase& x) const {
        const auto& two = c.room.limits.two_people_from;
        const std::size_t needed = two && larger(x.frame, *two) ? 2 : 1;
        for (std::size_t k = 0; k + 1 < x.operations.size(); ++k) {
            const OperationLine& from = c.op(x.operations[k]);
            const OperationLine& to = c.op(x.operations[k + 1]);
            if (from.place == to.place || !c.begins_later(x.operations[k + 1])) continue;
            if (to.place.empty() && !trade(*c.step_of(x.operations[k])).dries) continue;
            const bool handed = (!from.people.empty() && from.people_until == to.start) ||
                                (!to.people.empty() && to.people_until > to.start);
            if (handed || hands_at(to.start) >= needed) continue;
            c.say("people",
                  fmt::format("{} is carried from {} to {} at {} and nobody is there.", x.tag,
                              from.place.empty() ? "its stand" : from.place,
                              to.place.empty() ? "the wall" : to.place, clock_words(to.start)));
        }
    }
};

// What stands after its attended part, without a pause between: nobody has to be there.
bool stands_after_work(const Case& c, int i) {
    const OperationLine& line = c.op(i);
    return std::any_of(c.d.operations.begin(), c.d.operations.end(), [&](const OperationLine& o) {
        return o.screen == line.screen && o.step == line.step && o.round == line.round &&
               !o.people.empty() && (o.work_end == line.start || o.end == line.start);
    });
}

// Work that the trade gives to a person must have one.
void judge_attended(const Case& c) {
    for (std::size_t i = 0; i < c.d.operations.size(); ++i) {
        const OperationLine& line = c.d.operations[i];
        const auto step = c.step[i];
        if (!step || !line.people.empty() || !c.begins_later(static_cast<int>(i))) continue;
        if (trade(*step).dries || *step == Step::DryTouchUp || *step == Step::Expose ||
            *step == Step::TakeOut || *step == Step::MixStir)
            continue;  // their people are judged by time, in times.cpp and pots.cpp
        if (stands_after_work(c, static_cast<int>(i))) continue;
        if (usual_time(c.room, *step).attended > Seconds{0} && line.work_end > line.start)
            c.say("people", line.words + " is done by nobody.");
    }
}

}  // namespace

void judge_people(Case& c) {
    const Crew crew(c);
    for (const auto& [name, person] : c.people)
        judge_breaks_of(c, *person, crew.presence.at(name));
    for (const report::PersonLine& line : c.d.people) {
        const auto p = crew.presence.find(line.name);
        if (p == crew.presence.end()) continue;
        for (const report::Period& w : line.present) {
            if (!inside(p->second.there, w.from, w.to))
                c.say("people", fmt::format("{} is not there from {} to {}, as the plan says.",
                                            line.name, clock_words(w.from), clock_words(w.to)));
        }
    }
    for (std::size_t i = 0; i < c.d.operations.size(); ++i)
        crew.judge_operation(static_cast<int>(i));
    crew.judge_one_place_at_a_time();
    crew.judge_walks();
    for (const ScreenCase& x : c.screens) {
        crew.judge_carries(x);
        crew.judge_remover(x);
    }
    judge_attended(c);
}

}  // namespace sched::check::room
