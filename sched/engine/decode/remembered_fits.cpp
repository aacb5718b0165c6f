#include "sched/engine/decode/earliest_fit.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::engine {

namespace {

constexpr std::uint64_t no_way = ~std::uint64_t{0};

}  // namespace

// In which order the candidates of each need are looked at, and who it must be, in one number; 0:
// as they stand, anybody. no_way: the number does not say it.
std::uint64_t EarliestFits::way_of(std::int32_t op, const CompiledOperation& o,
                                   const CompiledMode& m) const {
    const std::uint32_t turn = run_.sequence->choice.empty() ? 0 : run_.sequence->choice[ix(op)];
    const bool followed = plan_.baseline != nullptr && plan_.baseline->start[ix(op)] > -never;
    const bool tied = o.same_resource.size() > 0;
    if (turn == 0 && !followed && !tied) return 0;
    std::uint64_t way = 0;
    for (std::int32_t n = 0; n < m.needs.size(); ++n) {
        const Range any_of = problem_.needs[ix(m.needs.begin + n)].any_of;
        const std::int32_t* const any = problem_.candidates.data() + any_of.begin;
        const std::int32_t size = any_of.size();
        std::int32_t must = tied ? forced(op, n) : -1, first = 0;
        if (size > 1) {
            first = static_cast<std::int32_t>(turn % static_cast<std::uint32_t>(size));
            if (followed) first = planned_first(op, n, any, size, must);
        }
        if (must >= 0) {
            first = static_cast<std::int32_t>(std::find(any, any + size, must) - any);
            if (first == size) return no_way;
        }
        if (first >= 64) return no_way;
        way = way << 8 | static_cast<std::uint64_t>(first);
        if (must >= 0) way |= RememberedFit::named & 0xff;
    }
    return way;
}

RememberedFit& EarliestFits::find_plain(std::int32_t op, const CompiledOperation& o,
                                        const CompiledMode& m, Tick from, const StartLimits& limits,
                                        Tick by) {
    trial_.batch = -1;
    blocking = waits_for_nothing;
    low = limits.low;
    const auto look = [&] {
        once_ = {};
        once_.found = fit_plain(op, o, m, from, limits.high, once_.lengths, once_.last);
        choice.resources.swap(trial_.resources);
    };
    if (m.ask < 0 || m.needs.size() > RememberedFit::most_needs) {
        look();
        return once_;
    }
    RememberedFits::Ask& ask = remembered_.of(problem_, m);
    std::uint64_t changes = 0;
    for (const std::int32_t r : ask.resources)
        changes += state_.profile[ix(r)].changes();
    // Who sets out when is that of whoever was looked at first, as long as nobody does so by then.
    const bool one_place = problem_.walk == 0 || m.needs.size() == 0 ||
                           problem_.needs[ix(m.needs.begin)].any_of.size() == 1;
    if (one_place && o.same_resource.size() == 0 && !plan_.as_planned) {
        RememberedFit* const fit = ask.find_any(changes, from, m.work, limits.high);
        if (fit != nullptr && fit->found - problem_.walk > by) {
            blocking = fit->blocking;
            std::copy_n(fit->pick.begin(), m.needs.size(), choice.resources.begin());
            return *fit;
        }
    }
    const std::uint64_t way = way_of(op, o, m);
    if (way == no_way) {
        look();
        return once_;
    }
    if (RememberedFit* const fit = ask.find(changes, from, way, m.work, limits.high)) {
        blocking = fit->blocking;
        std::copy_n(fit->pick.begin(), m.needs.size(), choice.resources.begin());
        return *fit;
    }
    look();
    // Beyond its latest start nobody has looked on.
    if (once_.found > limits.high && once_.found < never) return once_;
    once_.changes = changes;
    once_.from = from;
    once_.way = way;
    once_.blocking = blocking;
    std::copy_n(choice.resources.begin(), m.needs.size(), once_.pick.begin());
    return ask.add(once_);
}

bool EarliestFits::stores_hold(const CompiledOperation& o, Tick t) const {
    for (std::int32_t k = o.takes.begin; k < o.takes.end; ++k) {
        const CompiledTake& take = problem_.takes[ix(k)];
        bool there = false;
        for (std::int32_t s = take.any_of.begin; s < take.any_of.end && !there; ++s) {
            const std::int32_t store = problem_.take_stores[ix(s)];
            const Ledger& ledger = state_.ledger[ix(store)];
            const CompiledStore& c = problem_.stores[ix(store)];
            there = c.from <= t && t < c.until && t < ledger.over() &&
                    ledger.earliest(t, take.amount) <= t;
        }
        if (!there) return false;
    }
    return true;
}

}  // namespace sched::engine
