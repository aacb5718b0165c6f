// Proofs that there is no schedule, without a search.
//
// Every operation has a set of starts: the instants at which some choice of places and people is
// open for all of its work (a union of intervals, by the calendars alone, as if the room were
// empty). An empty set is a proof, and the smallest group of its needs that leaves no instant is
// the cause. Then the limits between operations are made arc consistent (AC-3, Mackworth 1977, on
// intervals): a start goes if some limit finds no partner for it. Lengths that depend on the load
// and times that something may stand only widen what a limit allows, so nothing possible is lost.

#include "sched/advise/feasibility.hpp"

#include <algorithm>
#include <array>
#include <deque>
#include <limits>
#include <map>
#include <variant>
#include <vector>

#include "model/base/time.hpp"
#include "sched/core/index.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/drying_clock.hpp"
#include "sched/engine/remaining_problem.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/room/careful.hpp"

namespace sched::search {

namespace {

using core::Need;
using core::OperationId;
using core::Problem;
using core::ResourceId;

constexpr std::int64_t kEver = std::numeric_limits<std::int64_t>::max() / 8;

std::int64_t second_of(core::SimTime t) {
    return t.time_since_epoch().count();
}

/// Starts from `first` to `last`, both among them.
struct Hours {
    std::int64_t first, last;
};
using Starts = std::vector<Hours>;  // sorted, apart

Starts joined(Starts all) {
    std::sort(all.begin(), all.end(),
              [](const Hours& a, const Hours& b) { return a.first < b.first; });
    Starts out;
    for (const Hours& h : all) {
        if (h.first > h.last) continue;
        if (!out.empty() && h.first <= out.back().last + 1)
            out.back().last = std::max(out.back().last, h.last);
        else
            out.push_back(h);
    }
    return out;
}

Starts common(const Starts& a, const Starts& b) {
    Starts out;
    for (std::size_t i = 0, k = 0; i < a.size() && k < b.size();) {
        const Hours h{std::max(a[i].first, b[k].first), std::min(a[i].last, b[k].last)};
        if (h.first <= h.last) out.push_back(h);
        if (a[i].last < b[k].last)
            ++i;
        else
            ++k;
    }
    return out;
}

Starts moved(const Starts& a, std::int64_t least, std::int64_t most) {
    Starts out;
    for (const Hours& h : a)
        out.push_back(
            {least <= -kEver ? -kEver : h.first + least, most >= kEver ? kEver : h.last + most});
    return joined(std::move(out));
}

std::string names_of(const Problem& p, const std::vector<ResourceId>& list) {
    std::string text;
    for (std::size_t k = 0; k < list.size(); ++k) {
        if (k > 0) text += k + 1 == list.size() ? " or " : ", ";
        text += p.resources[list[k].index()].name;
    }
    return text;
}

// What one operation can do by itself.
class Alone {
public:
    Alone(const Problem& p, std::size_t op) : p_(p), o_(p.operations[op]) {}

    Starts starts() const {
        Starts all;
        for (const auto& mode : o_.modes) {
            std::vector<std::size_t> needs(mode.needs.size());
            for (std::size_t n = 0; n < needs.size(); ++n)
                needs[n] = n;
            const Starts some = of(mode, needs);
            all.insert(all.end(), some.begin(), some.end());
        }
        return joined(std::move(all));
    }

    // @pre starts() is empty. The smallest group of needs that leaves no start; of the way of doing
    // it that comes furthest.
    std::string cause() const {
        std::string words;
        std::size_t largest = 0;
        for (const auto& mode : o_.modes) {
            const auto group = smallest(mode);
            if (!words.empty() && group.size() <= largest) continue;
            largest = group.size();
            words = said(mode, group);
        }
        return words;
    }

private:
    std::int64_t length(const core::Mode& mode) const {
        return o_.pausable ? 1 : fastest_work(p_, mode);
    }

    Starts open(ResourceId r, std::int64_t length) const {
        const std::int64_t begin = second_of(p_.horizon_start), end = second_of(p_.horizon_end);
        const auto& calendar = p_.resources[r.index()].calendar;
        if (!calendar || length == 0) return joined({{begin, end - length}});
        Starts out;
        for (const core::Window& w : *calendar)
            out.push_back({std::max(begin, second_of(w.from)), second_of(w.to) - length});
        return joined(std::move(out));
    }

    Starts of(const core::Mode& mode, const std::vector<std::size_t>& needs) const {
        Starts all;
        std::vector<ResourceId> taken;
        const std::int64_t work = length(mode);
        if (work >= kEver) return all;
        const Starts ever{{second_of(p_.horizon_start), second_of(p_.horizon_end) - work}};
        choose(mode, needs, 0, joined(ever), work, taken, all);
        return joined(std::move(all));
    }

    void choose(const core::Mode& mode, const std::vector<std::size_t>& needs, std::size_t at,
                const Starts& left, std::int64_t work, std::vector<ResourceId>& taken,
                Starts& all) const {
        if (left.empty()) return;
        if (at == needs.size()) {
            all.insert(all.end(), left.begin(), left.end());
            return;
        }
        for (const ResourceId r : mode.needs[needs[at]].any_of) {
            if (std::find(taken.begin(), taken.end(), r) != taken.end()) continue;
            taken.push_back(r);
            choose(mode, needs, at + 1, common(left, open(r, work)), work, taken, all);
            taken.pop_back();
        }
    }

    std::vector<std::size_t> smallest(const core::Mode& mode) const {
        std::vector<std::size_t> group(mode.needs.size());
        for (std::size_t n = 0; n < group.size(); ++n)
            group[n] = n;
        for (std::size_t k = group.size(); k-- > 0;) {
            auto less = group;
            less.erase(less.begin() + static_cast<std::ptrdiff_t>(k));
            if (!less.empty() && of(mode, less).empty()) group = less;
        }
        return group;
    }

    std::string said(const core::Mode& mode, const std::vector<std::size_t>& group) const {
        const std::int64_t work = length(mode);
        if (work >= kEver || group.empty()) return o_.name + " would never be done.";
        const std::string span = " for " + model::format_duration(core::Seconds{work}) +
                                 (o_.pausable ? "" : " in one piece");
        const Need& a = mode.needs[group.front()];
        if (a.any_of.empty()) return "Nobody and nothing may do " + o_.name + ".";
        const auto person = [](const Need& n) { return n.span == core::Span::Work; };
        if (group.size() == 1) {
            const std::string who = names_of(p_, a.any_of);
            if (!person(a)) return o_.name + ": " + who + " is never open" + span + ".";
            return o_.name + ": nobody who may do it (" + who + ") is ever there" + span + ".";
        }
        const bool alike = std::all_of(group.begin(), group.end(), [&](std::size_t n) {
            return mode.needs[n].any_of == a.any_of;
        });
        const std::string count = std::to_string(group.size());
        if (alike && a.any_of.size() < group.size())
            return o_.name + " takes " + count + (person(a) ? " people" : " places") +
                   " at once, and only " + names_of(p_, a.any_of) + " may do it: " +
                   (person(a) ? "nobody can carry and work with a second person."
                              : "there is no second one.");
        if (alike)
            return o_.name + " takes " + count + (person(a) ? " people" : " places") +
                   " at once, and " + names_of(p_, a.any_of) + " are never there together" + span +
                   ".";
        std::string text = o_.name + ": these are never there together" + span + ": ";
        for (std::size_t k = 0; k < group.size(); ++k)
            text += (k > 0 ? "; " : "") + names_of(p_, mode.needs[group[k]].any_of);
        return text + ".";
    }

    const Problem& p_;
    const core::Operation& o_;
};

// How long drying can take at most: in a full place, begun at the worst moment. Between two steps
// of the rate what begins later ends later, so no span there is longer than from the first moment
// of the one to the end of what begins with the next.
class SlowestDrying {
public:
    explicit SlowestDrying(const Problem& p) : compiled_(p) {}

    std::int64_t of(std::size_t op, std::size_t mode) {
        const auto& o = compiled_.operations[op];
        const auto& m = compiled_.modes[static_cast<std::size_t>(o.modes.begin) + mode];
        const auto& need = compiled_.needs[static_cast<std::size_t>(m.needs.begin)];
        std::int64_t most = 0;
        for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
            const std::int32_t r = compiled_.candidates[static_cast<std::size_t>(c)];
            const auto [at, fresh] = known_.try_emplace({r, m.stages.begin, m.stages.size()}, 0);
            if (fresh) at->second = worst(compiled_.resources[static_cast<std::size_t>(r)], m);
            most = std::max(most, at->second);
        }
        return most >= kEver ? kEver : std::max<std::int64_t>(most, m.work);
    }

private:
    std::int64_t worst(const engine::CompiledResource& place, const engine::CompiledMode& m) {
        const auto steps = compiled_.steps_of(place);
        const auto end = [&](engine::Tick t) -> std::int64_t {
            const auto span =
                engine::drying_span(steps, compiled_.stages_of(m), t, place.full_load);
            return span && *span < 1e15 ? t + engine::round_up_ticks(*span) + 1 : kEver;
        };
        engine::Tick from = compiled_.horizon_start;
        std::int64_t most = 0;
        for (const auto& step : steps) {
            if (step.from <= from) continue;
            const std::int64_t until = end(step.from);
            if (until >= kEver) return kEver;
            most = std::max(most, until - from);
            from = step.from;
            if (from >= compiled_.horizon_end) return most;
        }
        const std::int64_t last = end(from);
        return last >= kEver ? kEver : std::max(most, last - from);
    }

    engine::CompiledProblem compiled_;
    std::map<std::array<std::int32_t, 3>, std::int64_t> known_;
};

class Feasibility {
public:
    explicit Feasibility(const Problem& p) : p_(p), slowest_(p) {}

    std::optional<Impossible> run() {
        if (auto found = by_themselves()) return found;
        add_arcs();
        if (auto found = consistent()) return found;
        return stores();
    }

private:
    struct Arc {
        std::size_t from, to;
        std::int64_t least, most;  // start(to) - start(from)
        std::size_t constraint;
        Starts
            stays;  // windows of the place that `from` keeps until `to` starts; empty: always open
    };

    std::optional<Impossible> by_themselves() {
        // Operations that ask for the same have the same starts.
        std::map<std::vector<std::int64_t>, Starts> known;
        std::vector<char> begun(p_.operations.size(), 0);
        for (const auto& b : p_.begun)
            begun[b.operation.index()] = 1;
        for (std::size_t i = 0; i < p_.operations.size(); ++i) {
            if (begun[i]) {
                starts_.push_back({{-kEver, kEver}});
                continue;
            }
            const auto key = key_of(i);
            auto at = known.find(key);
            if (at == known.end()) at = known.emplace(key, Alone(p_, i).starts()).first;
            if (at->second.empty()) return Impossible{OperationId{i}, Alone(p_, i).cause()};
            starts_.push_back(at->second);
        }
        for (const auto& b : p_.begun)
            starts_[b.operation.index()] = {{second_of(b.start), second_of(b.start)}};
        for (const auto& c : p_.constraints) {
            const auto* w = std::get_if<core::StartWindow>(&c);
            if (!w || begun[w->operation.index()]) continue;
            const bool fixed = w->not_before && w->not_before == w->not_after;
            const Starts hours{{w->not_before ? second_of(*w->not_before) : -kEver,
                                w->not_after ? second_of(*w->not_after) : kEver}};
            Starts& mine = starts_[w->operation.index()];
            mine = fixed ? hours : common(mine, hours);  // what is fixed minds no calendar
            if (!mine.empty()) continue;
            const std::string& name = p_.operations[w->operation.index()].name;
            if (!w->not_after)
                return Impossible{w->operation,
                                  name + " cannot begin before " +
                                      model::format_date_time(*w->not_before) +
                                      ", and nobody is there for it in the days after that."};
            return Impossible{
                w->operation,
                name + " has no time left between its earliest and its latest start."};
        }
        return std::nullopt;
    }

    std::vector<std::int64_t> key_of(std::size_t i) const {
        const core::Operation& o = p_.operations[i];
        std::vector<std::int64_t> key{o.pausable};
        for (const auto& mode : o.modes) {
            key.insert(key.end(), {-1, fastest_work(p_, mode)});
            for (const auto& need : mode.needs) {
                key.push_back(-2);
                for (const ResourceId r : need.any_of)
                    key.push_back(r.value);
            }
        }
        return key;
    }

    void add_arcs() {
        for (std::size_t c = 0; c < p_.constraints.size(); ++c) {
            const auto* lag = std::get_if<core::TimeLag>(&p_.constraints[c]);
            if (!lag) continue;
            const core::Operation& from = p_.operations[lag->from.index()];
            std::int64_t least = kEver, most = 0;
            for (std::size_t m = 0; m < from.modes.size(); ++m) {
                const core::Mode& mode = from.modes[m];
                const std::int64_t work = fastest_work(p_, mode);
                least = std::min(least, work);
                most = std::max(most, from.pausable         ? kEver
                                      : mode.stages.empty() ? work
                                                            : slowest_.of(lag->from.index(), m));
            }
            if (lag->edge == core::Edge::Start) least = most = 0;
            if (lag->edge == core::Edge::End)
                most = from.max_stretch && most < kEver ? most + from.max_stretch->count() : kEver;
            if (std::any_of(p_.begun.begin(), p_.begun.end(),
                            [&](const core::Begun& b) { return b.operation == lag->from; }))
                most = kEver;
            arcs_.push_back({lag->from.index(), lag->to.index(), least + lag->min.count(),
                             lag->max && most < kEver ? most + lag->max->count() : kEver, c,
                             stays_of(*lag)});
        }
    }

    // Where an operation keeps its place until the next one takes over, and all its places close.
    Starts stays_of(const core::TimeLag& lag) const {
        const core::Operation& from = p_.operations[lag.from.index()];
        if (lag.edge != core::Edge::End || lag.max != core::Seconds{0} || from.pausable ||
            std::any_of(p_.begun.begin(), p_.begun.end(),
                        [&](const core::Begun& b) { return b.operation == lag.from; }))
            return {};
        Starts all;
        for (const auto& mode : from.modes) {
            const auto place =
                std::find_if(mode.needs.begin(), mode.needs.end(),
                             [](const Need& n) { return n.span == core::Span::Whole; });
            if (place == mode.needs.end()) return {};
            for (const ResourceId r : place->any_of) {
                const auto& calendar = p_.resources[r.index()].calendar;
                if (!calendar) return {};
                for (const core::Window& w : *calendar)
                    all.push_back({second_of(w.from), second_of(w.to)});
            }
        }
        return all;
    }

    // Starts of one end that some start of the other allows.
    Starts allowed(const Arc& arc, bool ahead) const {
        const Starts& by = starts_[ahead ? arc.from : arc.to];
        const std::int64_t back = arc.most >= kEver ? -kEver : -arc.most;
        if (arc.stays.empty())
            return ahead ? moved(by, arc.least, arc.most) : moved(by, back, -arc.least);
        Starts all;
        for (const Hours& w : arc.stays) {
            const Starts to_end{{-kEver, w.last}}, inside{{w.first, w.last - 1}};
            const Starts some = ahead
                                    ? common(moved(common(by, inside), arc.least, arc.most), to_end)
                                    : common(moved(common(by, to_end), back, -arc.least), inside);
            all.insert(all.end(), some.begin(), some.end());
        }
        return joined(std::move(all));
    }

    std::optional<Impossible> consistent() {
        std::vector<std::vector<std::size_t>> at(p_.operations.size());
        std::deque<std::size_t> open;
        std::vector<char> waits(arcs_.size(), 1);
        for (std::size_t a = 0; a < arcs_.size(); ++a) {
            at[arcs_[a].from].push_back(a);
            at[arcs_[a].to].push_back(a);
            open.push_back(a);
        }
        // Circles without a schedule shrink by one step a round: enough of them, then no answer.
        std::int64_t left = 200 * static_cast<std::int64_t>(arcs_.size()) + 1000;
        while (!open.empty() && --left > 0) {
            const std::size_t a = open.front();
            open.pop_front();
            waits[a] = 0;
            const Arc& arc = arcs_[a];
            for (const bool ahead : {true, false}) {
                const std::size_t changed = ahead ? arc.to : arc.from;
                const Starts less = common(starts_[changed], allowed(arc, ahead));
                if (less.empty()) return Impossible{OperationId{changed}, limit_words(arc)};
                if (same(less, starts_[changed])) continue;
                starts_[changed] = less;
                for (const std::size_t other : at[changed]) {
                    if (!waits[other]) open.push_back(other);
                    waits[other] = 1;
                }
            }
        }
        return std::nullopt;
    }

    // Takes that find what they need at no time at which they could be: what is there has its
    // hours, what is still to be filled and does not keep is there for its life from then on.
    std::optional<Impossible> stores() const {
        std::vector<Starts> open(p_.stores.size());
        for (std::size_t s = 0; s < p_.stores.size(); ++s) {
            const core::Store& x = p_.stores[s];
            if (x.initial > 0)
                open[s].push_back({x.from ? second_of(*x.from) : -kEver,
                                   x.until ? second_of(*x.until) - 1 : kEver});
        }
        for (const auto& c : p_.constraints) {
            const auto* give = std::get_if<core::Give>(&c);
            if (!give) continue;
            const core::Store& x = p_.stores[give->store.index()];
            const auto& o = p_.operations[give->operation.index()];
            const std::int64_t work = fastest_work(p_, o.modes.front());
            const auto some = moved(starts_[give->operation.index()], work,
                                    x.life ? work + x.life->count() - 1 : kEver);
            Starts& mine = open[give->store.index()];
            mine.insert(mine.end(), some.begin(), some.end());
        }
        for (const auto& c : p_.constraints) {
            const auto* take = std::get_if<core::Take>(&c);
            if (!take || take->amount == 0) continue;
            Starts all;
            for (const core::StoreId s : take->any_of)
                all.insert(all.end(), open[s.index()].begin(), open[s.index()].end());
            if (!common(starts_[take->operation.index()], joined(std::move(all))).empty()) continue;
            const std::string& name = p_.operations[take->operation.index()].name;
            return Impossible{
                take->operation,
                name + ": whenever somebody can do it, what it takes from is not ready or over (" +
                    p_.stores[take->any_of.front().index()].name +
                    ", and any other that could be mixed): those who mix and those who use it are "
                    "not there close enough together for the pot life."};
        }
        return std::nullopt;
    }

    static bool same(const Starts& a, const Starts& b) {
        return std::equal(
            a.begin(), a.end(), b.begin(), b.end(),
            [](const Hours& x, const Hours& y) { return x.first == y.first && x.last == y.last; });
    }

    // Who may do it, and how many at once; where nobody has to: its place.
    std::string doers(std::size_t i) const {
        const auto& needs = p_.operations[i].modes.front().needs;
        for (const bool people : {true, false}) {
            const auto wanted = [&](const Need& n) {
                return (n.span == core::Span::Work) == people;
            };
            const auto need = std::find_if(needs.begin(), needs.end(), wanted);
            if (need == needs.end()) continue;
            const auto count = static_cast<std::size_t>(std::count_if(
                needs.begin(), needs.end(),
                [&](const Need& n) { return wanted(n) && n.any_of == need->any_of; }));
            if (count < 2) return names_of(p_, need->any_of);
            return std::to_string(count) + " at once of " + names_of(p_, need->any_of);
        }
        return "by itself";
    }

    std::string limit_words(const Arc& arc) const {
        const auto& lag = std::get<core::TimeLag>(p_.constraints[arc.constraint]);
        const std::string& from = p_.operations[arc.from].name;
        const std::string& to = p_.operations[arc.to].name;
        if (!lag.max)
            return "Before the days that are planned end, " + to + " cannot follow " + from + ".";
        if (!arc.stays.empty())
            return to + " must take over from " + from +
                   " before its place closes, and the hours of "
                   "those who may do it and what is tied to it by limits never allow it (" +
                   to + ": " + doers(arc.to) + ").";
        const Starts a = Alone(p_, arc.from).starts(), b = Alone(p_, arc.to).starts();
        const bool two = common(moved(a, arc.least, arc.most), b).empty();
        const std::string edge = lag.edge == core::Edge::Start     ? "start"
                                 : lag.edge == core::Edge::WorkEnd ? "work"
                                                                   : "end";
        return to + " must begin " +
               (lag.max == core::Seconds{0}
                    ? "right at the "
                    : "at most " + model::format_duration(*lag.max) + " after the ") +
               edge + " of " + from + ", and the hours of those who may do " +
               (two ? "the two" : "these and what is tied to them by further limits") +
               " never allow it (" + from + ": " + doers(arc.from) + "; " + to + ": " +
               doers(arc.to) + ").";
    }

    const Problem& p_;
    SlowestDrying slowest_;
    std::vector<Starts> starts_;
    std::vector<Arc> arcs_;
};

}  // namespace

std::optional<Impossible> find_impossible(const Problem& problem) {
    const engine::RemainingProblem present(problem);
    return Feasibility(present.problem()).run();
}

FirstAnswer first_answer(const Problem& problem, const std::function<bool()>& stop, bool proof) {
    FirstAnswer answer;
    const engine::RemainingProblem present(problem);
    const Problem& rest = present.problem();
    {
        const engine::CompiledProblem compiled(rest);
        engine::Decoder decoder(compiled);
        if (decoder.decode(engine::rule_sequence(compiled, engine::rule_views(compiled),
                                                 engine::rules().front()))) {
            answer.kind = FirstAnswer::Kind::Plan;
            answer.schedule = present.whole(decoder.to_schedule());
            return answer;
        }
    }
    auto careful = careful_schedule(rest, stop);
    if (careful.schedule) {
        answer.kind = FirstAnswer::Kind::Plan;
        answer.schedule = present.whole(std::move(*careful.schedule));
        return answer;
    }
    const auto& failure = careful.failure;
    if (const auto impossible = proof ? find_impossible(problem) : std::nullopt) {
        answer.kind = FirstAnswer::Kind::Impossible;
        answer.words = impossible->words;
        return answer;
    }
    if (failure.why == engine::Obstacle::Horizon) answer.kind = FirstAnswer::Kind::Horizon;
    if (failure.why == engine::Obstacle::Material) answer.kind = FirstAnswer::Kind::Material;
    answer.words = "Not even one screen after the other finds its way";
    if (failure.operation.valid())
        answer.words += ": " + rest.operations[failure.operation.index()].name + ": " +
                        engine::words(failure.why);
    answer.words += ".";
    return answer;
}

}  // namespace sched::search
