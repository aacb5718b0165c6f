// How it works: what stands fixed is booked into one timeline per resource; each part is then put
// in depth first, operation by operation at the first instant that its lags, windows, people and
// places allow, going back a step where the next one finds no room. A part that does not fit is
// left out.

#include "sched/advise/fill_in.hpp"

#include <algorithm>
#include <optional>

#include "sched/engine/profile.hpp"

namespace sched::search {

namespace {

using core::OperationId;
using core::Placement;
using core::ResourceId;
using core::Seconds;
using core::SimTime;
using engine::Profile;
using engine::Tick;

constexpr Tick kTryAgain = 60;    // s; where one fit leads nowhere, the next one is tried
constexpr int kMostTries = 4000;  // a part; a day has 1440 minutes

Tick tick(SimTime t) {
    return t.time_since_epoch().count();
}
SimTime time_at(Tick t) {
    return SimTime{Seconds{t}};
}

class FillerPlacer {
public:
    FillerPlacer(const core::Problem& problem, const core::Schedule& held, SimTime until)
        : p_(problem), first_(held.placements.size()), until_(tick(until)) {
        placed_.resize(p_.operations.size());
        for (std::size_t i = 0; i < first_; ++i)
            placed_[i] = held.placements[i];
        open_profiles();
        for (std::size_t i = 0; i < first_; ++i)
            book(i, 1);
        read_constraints();
    }

    bool place(const FillerPart& part) {
        tries_ = 0;
        for (const OperationId id : part) {
            if (id.index() < first_ || bound_.at(id.index() - first_)) return false;
        }
        return place_from(part, 0);
    }

    const std::optional<Placement>& placement(OperationId id) const { return placed_[id.index()]; }

private:
    void open_profiles() {
        for (std::size_t r = 0; r < p_.resources.size(); ++r) {
            if (!p_.resources[r].calendar) {
                profiles_.emplace_back();
            } else {
                std::vector<engine::CompiledWindow> windows;
                for (const core::Window& w : *p_.resources[r].calendar)
                    windows.push_back({tick(w.from), tick(w.to)});
                profiles_.emplace_back(windows);
            }
            profiles_.back().reset();
        }
        for (const core::OvertimeWindow& o : p_.overtime) {
            profiles_[o.resource.index()].add(tick(o.window.from), tick(o.window.to),
                                              p_.resources[o.resource.index()].capacity);
        }
    }

    void read_constraints() {
        const std::size_t fillers = p_.operations.size() - first_;
        bound_.assign(fillers, false);
        lags_.resize(fillers);
        windows_.resize(fillers);
        same_.resize(fillers);
        for (const core::Constraint& c : p_.constraints) {
            if (const auto* lag = std::get_if<core::TimeLag>(&c)) {
                if (lag->to.index() >= first_) lags_[lag->to.index() - first_].push_back(*lag);
                if (lag->from.index() >= first_ && lag->to.index() < first_)
                    bound_[lag->from.index() - first_] = true;
            } else if (const auto* window = std::get_if<core::StartWindow>(&c)) {
                if (window->operation.index() >= first_)
                    windows_[window->operation.index() - first_].push_back(*window);
            } else if (const auto* same = std::get_if<core::SameResource>(&c)) {
                if (same->b.index() >= first_) same_[same->b.index() - first_].push_back(*same);
            } else if (const auto* mode = std::get_if<core::SameMode>(&c)) {
                if (mode->b.index() >= first_) bound_[mode->b.index() - first_] = true;
            } else if (const auto* take = std::get_if<core::Take>(&c)) {
                if (take->operation.index() >= first_)
                    bound_[take->operation.index() - first_] = true;
            } else if (const auto* give = std::get_if<core::Give>(&c)) {
                if (give->operation.index() >= first_)
                    bound_[give->operation.index() - first_] = true;
            }
        }
    }

    void book(std::size_t i, int sign) {
        const Placement& p = *placed_[i];
        const auto& needs = p_.operations[i].modes[static_cast<std::size_t>(p.mode)].needs;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            if (walk_of(p.chosen[n], needs[n]) > 0) {
                profiles_[p.chosen[n].index()].book_at(
                    tick(p.start), tick(p.work_end), sign,
                    needs.front().span == core::Span::Whole ? spot_of(p.chosen.front()) : -1);
                continue;
            }
            const SimTime to = needs[n].span == core::Span::Whole ? p.end : p.work_end;
            profiles_[p.chosen[n].index()].add(tick(p.start), tick(to), sign * needs[n].amount);
        }
    }

    struct Range {
        Tick from;
        Tick to;
        std::optional<std::size_t> holder;  // it keeps its places until this one starts
    };

    // When the operation may start, by lags and windows; nullopt: never.
    std::optional<Range> range_of(std::size_t i) const {
        Range range{tick(p_.now.value_or(p_.horizon_start)), until_, {}};
        for (const core::TimeLag& lag : lags_[i - first_]) {
            const auto& from = placed_[lag.from.index()];
            if (!from) return std::nullopt;
            const core::Operation& before = p_.operations[lag.from.index()];
            const bool holds = lag.edge == core::Edge::End && lag.from.index() >= first_ &&
                               !before.max_stretch && lag.max && lag.max->count() == 0;
            if (holds) {
                range.from = std::max(range.from, tick(from->work_end));
                range.holder = lag.from.index();
                continue;
            }
            const SimTime edge = lag.edge == core::Edge::Start     ? from->start
                                 : lag.edge == core::Edge::WorkEnd ? from->work_end
                                                                   : from->end;
            range.from = std::max(range.from, tick(edge + lag.min));
            if (lag.max) range.to = std::min(range.to, tick(edge + *lag.max));
        }
        for (const core::StartWindow& window : windows_[i - first_]) {
            if (window.not_before) range.from = std::max(range.from, tick(*window.not_before));
            if (window.not_after) range.to = std::min(range.to, tick(*window.not_after));
        }
        if (range.from > range.to) return std::nullopt;
        return range;
    }

    std::vector<ResourceId> candidates(std::size_t i, const core::Mode& mode, std::size_t n) const {
        std::vector<ResourceId> list = mode.needs[n].any_of;
        for (const core::SameResource& same : same_[i - first_]) {
            if (same.need_b != static_cast<int>(n)) continue;
            const auto& a = placed_[same.a.index()];
            if (!a || static_cast<std::size_t>(same.need_a) >= a->chosen.size()) continue;
            const ResourceId only = a->chosen[static_cast<std::size_t>(same.need_a)];
            std::erase_if(list, [&](ResourceId r) { return r != only; });
        }
        // Whoever has the frame in hands goes on with it.
        if (i > first_ && placed_[i - 1]) {
            std::stable_partition(list.begin(), list.end(), [&](ResourceId r) {
                const auto& hands = placed_[i - 1]->chosen;
                return std::find(hands.begin(), hands.end(), r) != hands.end();
            });
        }
        return list;
    }

    std::int32_t spot_of(ResourceId r) const {
        return p_.resources[r.index()].beside.value_or(r).value;
    }
    Tick walk_of(ResourceId r, const core::Need& need) const {
        return need.span == core::Span::Work ? p_.resources[r.index()].walk.count() : 0;
    }

    Tick free_from(ResourceId r, Tick from, Tick length, int amount) const {
        return profiles_[r.index()].earliest(from, length,
                                             p_.resources[r.index()].capacity - amount);
    }

    // The earliest start in [range] with all needs met; fills in `at`.
    bool fit(std::size_t i, const core::Mode& mode, const Range& range, Placement& at) const {
        const Tick length = mode.work.count();
        Tick t = range.from;
        while (t <= range.to && t + length <= until_) {
            Tick joint = t;
            at.chosen.clear();
            for (std::size_t n = 0; n < mode.needs.size(); ++n) {
                Tick best = engine::never;
                std::optional<ResourceId> pick;
                for (const ResourceId r : candidates(i, mode, n)) {
                    if (std::find(at.chosen.begin(), at.chosen.end(), r) != at.chosen.end())
                        continue;
                    const Tick walk = walk_of(r, mode.needs[n]);
                    const bool at_place = n > 0 && mode.needs.front().span == core::Span::Whole;
                    const Tick x =
                        walk > 0 && length > 0
                            ? profiles_[r.index()].earliest_at(
                                  t, length, at_place ? spot_of(at.chosen.front()) : -1, walk)
                            : free_from(r, t, length, mode.needs[n].amount);
                    if (x < best) {
                        best = x;
                        pick = r;
                    }
                }
                if (!pick) return false;
                at.chosen.push_back(*pick);
                joint = std::max(joint, best);
            }
            if (joint == t) {
                at.start = time_at(t);
                at.work_end = at.end = time_at(t + length);
                return true;
            }
            if (joint >= engine::never) return false;
            t = joint;
        }
        return false;
    }

    // What the holder kept its places for must be free, too.
    bool can_hold(std::size_t holder, SimTime until) const {
        const Placement& p = *placed_[holder];
        const auto& needs = p_.operations[holder].modes[static_cast<std::size_t>(p.mode)].needs;
        for (std::size_t n = 0; n < needs.size(); ++n) {
            if (needs[n].span != core::Span::Whole || until <= p.end) continue;
            const Tick length = (until - p.end).count();
            if (free_from(p.chosen[n], tick(p.end), length, needs[n].amount) != tick(p.end))
                return false;
        }
        return true;
    }

    void stretch(std::size_t holder, SimTime end) {
        book(holder, -1);
        placed_[holder]->end = end;
        book(holder, 1);
    }

    bool place_from(const FillerPart& part, std::size_t k) {
        if (k == part.size()) return true;
        const std::size_t i = part[k].index();
        auto range = range_of(i);
        while (range && range->from <= range->to) {
            if (++tries_ > kMostTries) return false;
            std::optional<Placement> best;
            const auto& modes = p_.operations[i].modes;
            for (std::size_t m = 0; m < modes.size(); ++m) {
                if (!modes[m].stages.empty()) continue;
                Placement at;
                at.mode = static_cast<int>(m);
                if (fit(i, modes[m], *range, at) && (!best || at.start < best->start))
                    best = std::move(at);
            }
            if (!best) return false;
            const SimTime start = best->start;
            const auto holder = range->holder;
            if (holder && !can_hold(*holder, start)) return false;
            const SimTime held_before = holder ? placed_[*holder]->end : start;
            if (holder) stretch(*holder, start);
            placed_[i] = std::move(best);
            book(i, 1);
            if (place_from(part, k + 1)) return true;
            book(i, -1);
            placed_[i].reset();
            if (holder) stretch(*holder, held_before);
            range->from = (tick(start) / kTryAgain + 1) * kTryAgain;
        }
        return false;
    }

    const core::Problem& p_;
    std::size_t first_;
    Tick until_;
    std::vector<Profile> profiles_;
    std::vector<std::optional<Placement>> placed_;
    // Per filler operation, those that end at it.
    std::vector<std::vector<core::TimeLag>> lags_;
    std::vector<std::vector<core::StartWindow>> windows_;
    std::vector<std::vector<core::SameResource>> same_;
    std::vector<bool> bound_;  // per filler operation: by what is not read here
    int tries_ = 0;
};

}  // namespace

FillIn fill_in(const core::Problem& problem, const core::Schedule& held,
               const std::vector<Filler>& fillers, core::SimTime until) {
    FillerPlacer placer(problem, held, until);
    FillIn out{held, {}};
    for (const Filler& filler : fillers) {
        std::size_t done = 0;
        while (done < filler.size() && placer.place(filler[done]))
            ++done;
        out.parts.push_back(done);
        for (std::size_t k = 0; k < done; ++k) {
            for (const OperationId id : filler[k])
                out.schedule.placements.push_back(*placer.placement(id));
        }
    }
    return out;
}

}  // namespace sched::search
