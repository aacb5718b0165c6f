// Why pins cannot all be kept: positive circles of longest paths, closed calendars, and the exact
// search for what only places and people together forbid. Deletion filter after Chinneck and
// Dravnieks 1991.

#include <algorithm>
#include <limits>
#include <map>
#include <set>

#include "model/base/time.hpp"
#include "sched/advise/pins.hpp"
#include "sched/search/bounds/bounds.hpp"
#include "sched/search/exact/exact.hpp"

namespace sched::search {

namespace {

using core::OperationId;
using core::Problem;

constexpr std::int64_t kFar = std::numeric_limits<std::int64_t>::max() / 4;
constexpr std::size_t kExactSize = 200;
constexpr int kMostPinSets = 600;  // of pins, tried for the smallest

// A pin or a limit.
struct Source {
    std::optional<std::size_t> pin;
    Limit limit;
    friend auto operator<=>(const Source&, const Source&) = default;
};

// x(to) >= x(from) + weight.
struct Arc {
    std::size_t from, to;
    std::int64_t weight;
    Source source;
};

std::int64_t seconds_of(core::SimTime t) {
    return t.time_since_epoch().count();
}

class PinChecker {
public:
    PinChecker(const Problem& problem, const std::vector<Pin>& pins, std::int64_t exact)
        : p_(problem), pins_(pins), exact_(exact), origin_(3 * problem.operations.size()) {}

    std::optional<Contradiction> run() {
        std::vector<std::size_t> all(pins_.size());
        for (std::size_t k = 0; k < all.size(); ++k)
            all[k] = k;
        auto found = test(all, nullptr);
        if (!found) return by_search(all);
        // Without one pin after the other: what still contradicts itself does not need it.
        for (std::size_t k = 0; k < pins_.size(); ++k) {
            if (!uses(*found, k)) continue;
            if (auto less = test(without(pins_in(*found), k), nullptr)) found = less;
        }
        const bool smallest = fewer_pins(*found);
        const auto sources = *found;
        for (const Source& s : sources) {
            if (s.pin || std::find(found->begin(), found->end(), s) == found->end()) continue;
            std::set<Source> rest(found->begin(), found->end());
            rest.erase(s);
            if (auto less = test(pins_in(*found), &rest)) found = less;
        }
        Contradiction c;
        c.smallest = smallest;
        c.pins = pins_in(*found);
        for (const Source& s : *found) {
            if (!s.pin) c.limits.push_back(s.limit);
        }
        return c;
    }

private:
    using Found = std::vector<Source>;  // sorted, each once

    // Every set of fewer pins, the smallest first; the first that contradicts itself is the answer.
    // @returns false if there were too many to try.
    bool fewer_pins(Found& found) {
        int left = kMostPinSets;
        for (std::size_t size = 0; size < pins_in(found).size(); ++size) {
            std::vector<std::size_t> chosen(size);
            for (std::size_t k = 0; k < size; ++k)
                chosen[k] = k;
            for (bool more = size <= pins_.size(); more; more = next_set(chosen)) {
                if (--left < 0) return false;
                if (auto less = test(chosen, nullptr)) {
                    found = std::move(*less);
                    return true;
                }
            }
        }
        return true;
    }

    // The next set of as many, in lexicographic order. @returns false after the last.
    bool next_set(std::vector<std::size_t>& chosen) const {
        for (std::size_t k = chosen.size(); k-- > 0;) {
            if (chosen[k] + (chosen.size() - k) >= pins_.size()) continue;
            ++chosen[k];
            for (std::size_t q = k + 1; q < chosen.size(); ++q)
                chosen[q] = chosen[q - 1] + 1;
            return true;
        }
        return false;
    }

    static bool uses(const Found& f, std::size_t pin) {
        return std::any_of(f.begin(), f.end(), [&](const Source& s) { return s.pin == pin; });
    }
    static std::vector<std::size_t> pins_in(const Found& f) {
        std::vector<std::size_t> pins;
        for (const Source& s : f) {
            if (s.pin) pins.push_back(*s.pin);
        }
        return pins;
    }
    static std::vector<std::size_t> without(std::vector<std::size_t> pins, std::size_t pin) {
        std::erase(pins, pin);
        return pins;
    }

    /// @param only if given, the limits that count.
    std::optional<Found> test(const std::vector<std::size_t>& pins, const std::set<Source>* only) {
        std::vector<Pin> chosen;
        for (const std::size_t k : pins)
            chosen.push_back(pins_[k]);
        pinned_ = apply_pins(p_, chosen);
        arcs_.clear();
        add_limits();
        if (only) std::erase_if(arcs_, [&](const Arc& a) { return !only->contains(a.source); });
        for (const std::size_t k : pins)
            add_pin(k);
        if (auto circle = positive_circle()) return circle;
        return closed(pins, only);
    }

    void arc(std::size_t from, std::size_t to, std::int64_t weight, Source source) {
        arcs_.push_back({from, to, weight, source});
    }
    void limit_arc(std::size_t from, std::size_t to, std::int64_t weight, Limit::Kind kind,
                   std::size_t index) {
        arc(from, to, weight, {std::nullopt, {kind, index}});
    }

    bool possible(const core::Mode& mode) const {
        for (const auto& need : mode.needs) {
            const auto& r = pinned_.resources[need.any_of.front().index()];
            if (need.any_of.size() == 1 && r.calendar && r.calendar->empty()) return false;
        }
        return true;
    }

    void add_limits() {
        using Kind = Limit::Kind;
        std::vector<char> begun(p_.operations.size(), 0);
        for (std::size_t c = 0; c < p_.constraints.size(); ++c) {
            if (const auto* w = std::get_if<core::StartWindow>(&p_.constraints[c])) {
                const std::size_t s = 3 * w->operation.index();
                if (w->not_before)
                    limit_arc(origin_, s, seconds_of(*w->not_before), Kind::Window, c);
                if (w->not_after)
                    limit_arc(s, origin_, -seconds_of(*w->not_after), Kind::Window, c);
                if (w->not_before && w->not_before == w->not_after) begun[w->operation.index()] = 1;
            } else if (const auto* l = std::get_if<core::TimeLag>(&p_.constraints[c])) {
                const std::size_t from = 3 * l->from.index() + edge(l->edge),
                                  to = 3 * l->to.index();
                limit_arc(from, to, l->min.count(), Kind::MinLag, c);
                if (l->max) limit_arc(to, from, -l->max->count(), Kind::MaxLag, c);
            }
        }
        for (std::size_t i = 0; i < p_.operations.size(); ++i) {
            const core::Operation& o = p_.operations[i];
            std::int64_t least = kFar, most = 0;
            bool known = !o.pausable;
            for (const auto& mode : o.modes) {
                const std::int64_t d = fastest_work(p_, mode);
                least = std::min(least, d);
                most = std::max(most, d);
                known = known && mode.stages.empty();
            }
            const std::size_t s = 3 * i, w = s + 1, e = s + 2;
            limit_arc(s, w, least, Kind::Length, i);
            if (known) limit_arc(w, s, -most, Kind::Length, i);
            limit_arc(w, e, 0, Kind::Length, i);
            if (o.max_stretch) limit_arc(e, w, -o.max_stretch->count(), Kind::Length, i);
            if (!begun[i]) limit_arc(origin_, s, seconds_of(p_.horizon_start), Kind::Begin, i);
            limit_arc(e, origin_, -seconds_of(p_.horizon_end), Kind::End, i);
            if (!o.job.valid() || !p_.jobs[o.job.index()].order.valid()) continue;
            const std::size_t k = p_.jobs[o.job.index()].order.index();
            limit_arc(origin_, s, seconds_of(p_.orders[k].release), Kind::Release, k);
            if (p_.orders[k].deadline)
                limit_arc(o.max_stretch ? e : w, origin_, -seconds_of(*p_.orders[k].deadline),
                          Kind::Deadline, k);
        }
    }

    static std::size_t edge(core::Edge e) {
        return e == core::Edge::Start ? 0 : e == core::Edge::WorkEnd ? 1 : 2;
    }

    void add_pin(std::size_t k) {
        const Source source{k, {}};
        if (const auto* start = std::get_if<PinStart>(&pins_[k])) {
            for (const OperationId op : start->operations) {
                if (start->not_before)
                    arc(origin_, 3 * op.index(), seconds_of(*start->not_before), source);
                if (start->not_after)
                    arc(3 * op.index(), origin_, -seconds_of(*start->not_after), source);
            }
        } else if (const auto* order = std::get_if<PinOrder>(&pins_[k])) {
            for (const OperationId op : operations_of(p_, order->order)) {
                const std::size_t done = p_.operations[op.index()].max_stretch ? 2 : 1;
                if (order->not_before)
                    arc(origin_, 3 * op.index(), seconds_of(*order->not_before), source);
                if (order->done_by)
                    arc(3 * op.index() + done, origin_, -seconds_of(*order->done_by), source);
            }
        } else if (const auto* after = std::get_if<PinAfter>(&pins_[k])) {
            for (const OperationId a : after->first) {
                const std::size_t done = p_.operations[a.index()].max_stretch ? 2 : 1;
                for (const OperationId b : after->later)
                    arc(3 * a.index() + done, 3 * b.index(), 0, source);
            }
        }
    }

    // Bellman and Ford from everywhere at once: what still grows after as many rounds as there are
    // nodes goes in a circle.
    std::optional<Found> positive_circle() {
        std::vector<std::int64_t> x(origin_ + 1, 0);
        std::vector<std::size_t> by(origin_ + 1, arcs_.size());
        std::size_t last = arcs_.size();
        for (std::size_t round = 0; round <= origin_ + 1; ++round) {
            last = arcs_.size();
            for (std::size_t a = 0; a < arcs_.size(); ++a) {
                const Arc& arc = arcs_[a];
                if (x[arc.from] + arc.weight <= x[arc.to]) continue;
                x[arc.to] = x[arc.from] + arc.weight;
                by[arc.to] = a;
                last = a;
            }
            if (last == arcs_.size()) return std::nullopt;
        }
        std::size_t node = arcs_[last].to;
        for (std::size_t k = 0; k <= origin_; ++k)
            node = arcs_[by[node]].from;
        std::set<Source> on;
        const std::size_t begin = node;
        do {
            on.insert(arcs_[by[node]].source);
            node = arcs_[by[node]].from;
        } while (node != begin);
        return Found(on.begin(), on.end());
    }

    // Longest ways from the origin (`forward`) or to it. @pre no positive circle.
    std::vector<std::int64_t> longest(bool forward, std::vector<std::size_t>& by) const {
        std::vector<std::int64_t> x(origin_ + 1, -kFar);
        by.assign(origin_ + 1, arcs_.size());
        x[origin_] = 0;
        for (bool grows = true; grows;) {
            grows = false;
            for (std::size_t a = 0; a < arcs_.size(); ++a) {
                const std::size_t from = forward ? arcs_[a].from : arcs_[a].to;
                const std::size_t to = forward ? arcs_[a].to : arcs_[a].from;
                if (x[from] <= -kFar || x[from] + arcs_[a].weight <= x[to]) continue;
                x[to] = x[from] + arcs_[a].weight;
                by[to] = a;
                grows = true;
            }
        }
        return x;
    }

    // An operation whose window of starts meets no open time of what it may choose.
    std::optional<Found> closed(const std::vector<std::size_t>& pins,
                                const std::set<Source>* only) const {
        std::vector<std::size_t> by_lo, by_hi;
        const auto lo = longest(true, by_lo), hi = longest(false, by_hi);
        for (std::size_t i = 0; i < p_.operations.size(); ++i) {
            const Source staff{std::nullopt, {Limit::Kind::Staff, i}};
            if (only && !only->contains(staff)) continue;
            const std::int64_t first = lo[3 * i], last = hi[3 * i] <= -kFar ? kFar : -hi[3 * i];
            if (first == last && first < seconds_of(p_.horizon_start)) continue;  // begun
            if (may_stand(i, first, last)) continue;
            std::set<Source> on{staff};
            for (std::size_t node = 3 * i; node != origin_ && by_lo[node] < arcs_.size();
                 node = arcs_[by_lo[node]].from)
                on.insert(arcs_[by_lo[node]].source);
            for (std::size_t node = 3 * i; node != origin_ && by_hi[node] < arcs_.size();
                 node = arcs_[by_hi[node]].to)
                on.insert(arcs_[by_hi[node]].source);
            for (const std::size_t k : pins) {
                if (chooses(k, OperationId{i})) on.insert({k, {}});
            }
            return Found(on.begin(), on.end());
        }
        return std::nullopt;
    }

    bool chooses(std::size_t k, OperationId op) const {
        const std::vector<OperationId>* list = nullptr;
        if (const auto* choice = std::get_if<PinChoice>(&pins_[k])) list = &choice->operations;
        if (const auto* forbid = std::get_if<PinForbid>(&pins_[k])) {
            if (forbid->operations.empty()) return true;
            list = &forbid->operations;
        }
        return list && std::find(list->begin(), list->end(), op) != list->end();
    }

    bool may_stand(std::size_t i, std::int64_t first, std::int64_t last) const {
        const core::Operation& o = pinned_.operations[i];
        for (const auto& mode : o.modes) {
            if (!possible(mode)) continue;
            const std::int64_t length = fastest_work(pinned_, mode);
            const bool fits =
                std::all_of(mode.needs.begin(), mode.needs.end(), [&](const auto& need) {
                    return std::any_of(
                        need.any_of.begin(), need.any_of.end(), [&](core::ResourceId r) {
                            const auto& calendar = pinned_.resources[r.index()].calendar;
                            if (!calendar || length == 0) return true;
                            return std::any_of(
                                calendar->begin(), calendar->end(), [&](const core::Window& w) {
                                    const std::int64_t from = std::max(first, seconds_of(w.from));
                                    return from <= last &&
                                           from + (o.pausable ? 1 : length) <= seconds_of(w.to);
                                });
                        });
                });
            if (fits) return true;
        }
        return false;
    }

    bool proved_impossible(const std::vector<std::size_t>& pins) const {
        std::vector<Pin> chosen;
        for (const std::size_t k : pins)
            chosen.push_back(pins_[k]);
        Problem p = apply_pins(p_, chosen);
        p.objective.clear();
        if (!exact_supports(p)) return false;
        SearchOptions options;
        options.budget.evaluations = exact_;
        return solve_exact(p, options).status == core::Status::Infeasible;
    }

    std::optional<Contradiction> by_search(std::vector<std::size_t> pins) const {
        if (exact_ <= 0 || p_.operations.size() > kExactSize || !proved_impossible(pins))
            return std::nullopt;
        for (std::size_t k = 0; k < pins_.size(); ++k) {
            const auto rest = without(pins, k);
            if (proved_impossible(rest)) pins = rest;
        }
        return Contradiction{.pins = pins, .by_search = true};
    }

    const Problem& p_;
    const std::vector<Pin>& pins_;
    std::int64_t exact_;
    std::size_t origin_;
    Problem pinned_;
    std::vector<Arc> arcs_;
};

std::string limit_words(const Problem& p, const Limit& limit) {
    const auto lag = [&](bool most) {
        const auto& l = std::get<core::TimeLag>(p.constraints[limit.index]);
        const core::Seconds by = most ? *l.max : l.min;
        if (!most && by.count() == 0 && l.edge != core::Edge::Start)
            return p.operations[l.to.index()].name + " comes after " +
                   p.operations[l.from.index()].name;
        return p.operations[l.to.index()].name + " starts at " + (most ? "most " : "least ") +
               model::format_duration(by) + " after the " +
               (l.edge == core::Edge::Start     ? "start"
                : l.edge == core::Edge::WorkEnd ? "work"
                                                : "end") +
               " of " + p.operations[l.from.index()].name;
    };
    switch (limit.kind) {
        case Limit::Kind::MinLag:
            return lag(false);
        case Limit::Kind::MaxLag:
            return lag(true);
        case Limit::Kind::Window: {
            const auto& w = std::get<core::StartWindow>(p.constraints[limit.index]);
            return p.operations[w.operation.index()].name + " has its own earliest or latest start";
        }
        case Limit::Kind::Release:
            return p.orders[limit.index].name + " begins no sooner than " +
                   model::format_date_time(p.orders[limit.index].release);
        case Limit::Kind::Deadline:
            return p.orders[limit.index].name + " must be done by " +
                   model::format_date_time(*p.orders[limit.index].deadline);
        case Limit::Kind::Length:
            return p.operations[limit.index].name + " takes its time";
        case Limit::Kind::Begin:
            return "the run begins at " + model::format_date_time(p.horizon_start);
        case Limit::Kind::End:
            return "the run ends at " + model::format_date_time(p.horizon_end);
        case Limit::Kind::Staff:
            return "nobody and nothing that " + p.operations[limit.index].name +
                   " may use is there then";
    }
    return {};
}

// The steps of one screen in a contradiction, and the least that they take together.
struct Way {
    std::size_t first = std::numeric_limits<std::size_t>::max(), last = 0;
    core::Seconds least{0};
};

// The job whose way the limit is a part of; nullopt: a limit to be named by itself.
std::optional<std::int32_t> job_of_way(const Problem& p, const Limit& limit) {
    if (limit.kind == Limit::Kind::Length) {
        const auto job = p.operations[limit.index].job;
        return job.valid() ? std::optional(job.value) : std::nullopt;
    }
    if (limit.kind != Limit::Kind::MinLag) return std::nullopt;
    const auto& l = std::get<core::TimeLag>(p.constraints[limit.index]);
    const auto a = p.operations[l.from.index()].job, b = p.operations[l.to.index()].job;
    return a.valid() && a == b && l.edge != core::Edge::Start ? std::optional(a.value)
                                                              : std::nullopt;
}

void add_to_way(const Problem& p, const Limit& limit, Way& way) {
    const auto step = [&](std::size_t i) {
        way.first = std::min(way.first, i);
        way.last = std::max(way.last, i);
    };
    if (limit.kind == Limit::Kind::Length) {
        std::int64_t least = kFar;
        for (const auto& mode : p.operations[limit.index].modes)
            least = std::min(least, fastest_work(p, mode));
        way.least += core::Seconds{least};
        step(limit.index);
        return;
    }
    const auto& l = std::get<core::TimeLag>(p.constraints[limit.index]);
    way.least += l.min;
    step(l.from.index());
    step(l.to.index());
}

std::string way_words(const Problem& p, const Way& way) {
    if (way.first == way.last)
        return p.operations[way.first].name + " takes at least " +
               model::format_duration(way.least);
    return p.operations[way.first].name + " to " + p.operations[way.last].name +
           " takes at least " + model::format_duration(way.least);
}

}  // namespace

std::optional<Contradiction> find_contradiction(const Problem& problem,
                                                const std::vector<Pin>& pins,
                                                std::int64_t exact_evaluations) {
    return PinChecker(problem, pins, exact_evaluations).run();
}

std::string words(const Problem& problem, const Contradiction& contradiction,
                  const std::vector<std::string>& pin_words) {
    std::string text = "These cannot all be kept: ";
    bool first = true;
    const auto add = [&](const std::string& part) {
        text += (first ? "" : "; ") + part;
        first = false;
    };
    for (const std::size_t k : contradiction.pins)
        add(pin_words[k]);
    // What only says that work takes its time, one step after the other, is one part a screen.
    std::map<std::int32_t, Way> ways;
    for (const Limit& limit : contradiction.limits) {
        if (const auto job = job_of_way(problem, limit)) add_to_way(problem, limit, ways[*job]);
    }
    std::vector<std::string> said;
    for (const Limit& limit : contradiction.limits) {
        const auto job = job_of_way(problem, limit);
        const std::string part = job ? way_words(problem, ways[*job]) : limit_words(problem, limit);
        if (std::find(said.begin(), said.end(), part) != said.end()) continue;
        said.push_back(part);
        add(part);
    }
    if (contradiction.by_search) add("the room's places and people together");
    text += ".";
    if (contradiction.smallest && contradiction.pins.size() > 1)
        text += " No fewer of the pins contradict each other.";
    return text;
}

}  // namespace sched::search
