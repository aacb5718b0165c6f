#include "sched/simulate/pot_stock.hpp"

#include <algorithm>

#include "sched/core/index.hpp"

namespace sched::study {

using engine::Tick;

PotStock::PotStock(const compile::RoomProblem& room)
    : mixed_(room.problem.stores.size(), 0), taken_(room.problem.stores.size(), 0) {
    for (const auto& spare : room.spare_emulsions) {
        Emulsion e;
        e.mixed = !spare.mixes.empty() && spare.mixes.front().count > 0;
        if (spare.life && e.mixed) e.life = spare.life->count();
        for (const auto& mix : spare.mixes) {
            e.store.push_back(mix.store.value);
            mixed_[mix.store.index()] = e.mixed ? 1 : 0;
        }
        of_.push_back(std::move(e));
    }
}

bool PotStock::end() const {
    return std::any_of(of_.begin(), of_.end(),
                       [](const Emulsion& e) { return e.life < engine::never; });
}

bool PotStock::holds(const Emulsion& e, int mix) const {
    return std::any_of(e.pots.begin(), e.pots.end(), [&](const Pot& p) { return p.mix == mix; });
}

void PotStock::add(std::size_t emulsion, int mix, std::int64_t volume, Tick until) {
    Emulsion& e = of_[emulsion];
    until = std::min(until, engine::never);
    for (int last = static_cast<int>(e.store.size()) - 1; mix < 0 && last >= 0; --last) {
        if (!holds(e, last)) mix = last;
    }
    const auto later = [&](const Pot& p) { return p.until > until; };
    e.pots.insert(std::find_if(e.pots.begin(), e.pots.end(), later),
                  {.mix = mix, .left = volume, .until = until});
}

std::int64_t PotStock::left_at(std::size_t emulsion, Tick at) const {
    std::int64_t left = 0;
    for (const Pot& p : of_[emulsion].pots)
        left += p.until > at ? p.left : 0;
    return left;
}

std::vector<int> PotStock::free_mixes(std::size_t emulsion, const std::vector<char>& busy) {
    Emulsion& e = of_[emulsion];
    const auto apart = [&](std::size_t k) { return e.pots[k].until - e.pots[k - 1].until; };
    while (e.pots.size() > 1) {
        std::size_t nearest = 1;
        for (std::size_t k = 2; k < e.pots.size(); ++k)
            nearest = apart(k) < apart(nearest) ? k : nearest;
        if (apart(nearest) > 0 && 2 * e.pots.size() <= e.store.size()) break;
        e.pots[nearest - 1].left += e.pots[nearest].left;
        e.pots.erase(e.pots.begin() + static_cast<std::ptrdiff_t>(nearest));
    }
    std::vector<int> free;
    for (int m = 0; m < static_cast<int>(e.store.size()); ++m) {
        if (busy[ix(m)] == 0 && !holds(e, m)) free.push_back(m);
    }
    return free;
}

void PotStock::put(std::vector<engine::CompiledStore>& stores, Tick shift, bool keep) {
    taken_.assign(taken_.size(), 0);
    for (const Emulsion& e : of_) {
        if (!e.mixed) continue;
        for (const std::int32_t s : e.store)
            stores[ix(s)].life = keep ? engine::never : e.life;
        for (const Pot& p : e.pots) {
            engine::CompiledStore& store = stores[ix(e.store[ix(p.mix)])];
            store.initial = p.left;
            if (!keep && p.until < engine::never) store.until = p.until - shift;
        }
    }
}

bool PotStock::take(std::int32_t store, std::int64_t amount) {
    if (mixed_[ix(store)] == 0) return false;
    taken_[ix(store)] += amount;
    return true;
}

void PotStock::close(Tick to) {
    for (Emulsion& e : of_) {
        for (Pot& p : e.pots) {
            p.left -= taken_[ix(e.store[ix(p.mix)])];
            ended_ += p.left > 0 && p.until <= to ? 1 : 0;
        }
        std::erase_if(e.pots, [&](const Pot& p) { return p.left <= 0 || p.until <= to; });
    }
}

}  // namespace sched::study
