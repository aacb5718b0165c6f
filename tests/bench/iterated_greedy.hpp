#pragma once
// The yardstick that a planner without ideas of its own would use: iterated greedy over the order
// of the screens (R. Ruiz and T. Stützle, EJOR 177, 2007): some are taken out at random and put
// back one by one where they do best; acceptance at a constant temperature.

#include <chrono>
#include <cmath>
#include <functional>
#include <vector>

#include "sched/engine/decode/decoder.hpp"
#include "sched/engine/rules.hpp"
#include "sched/search/base/rng.hpp"
#include "sched/search/room/point.hpp"

namespace iterated_greedy {

struct Result {
    std::vector<std::int64_t> value;
    std::vector<std::pair<double, std::int64_t>> curve;  // seconds, first criterion
    std::int64_t evaluations = 0;
};

/// @param spent asked before every schedule; true ends the run. Starts from the best rule.
inline Result run(const sched::core::Problem& problem, std::uint64_t seed,
                  const std::function<bool(std::int64_t)>& spent) {
    namespace engine = sched::engine;
    namespace search = sched::search;
    constexpr int taken_out = 4, places = 12;
    constexpr double temperature = 0.02;  // of the present first criterion
    const engine::CompiledProblem compiled(problem);
    const search::RoomUnits units(compiled);
    engine::Decoder decoder(compiled);
    search::Rng rng(seed, 77);
    Result out;
    const auto begin = std::chrono::steady_clock::now();
    std::vector<std::size_t> best, now;
    std::vector<std::int64_t> now_value, value;
    engine::Sequence sequence;
    sequence.rank.resize(compiled.operations.size());
    const auto note = [&](const std::vector<std::int64_t>& v) {
        if (!out.value.empty() && !(v < out.value)) return false;
        out.value = v;
        const double at =
            std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
        out.curve.emplace_back(at, v.empty() ? 0 : v.front());
        return true;
    };
    const auto decode = [&](const std::vector<std::size_t>& order) {
        std::int32_t rank = 0;
        for (const std::size_t u : order) {
            for (const std::int32_t b : units.blocks[u]) {
                for (const std::int32_t op :
                     compiled.ops_of(compiled.blocks[static_cast<std::size_t>(b)]))
                    sequence.rank[static_cast<std::size_t>(op)] = rank;
            }
            ++rank;
        }
        ++out.evaluations;
        if (!decoder.decode(sequence)) return false;
        value = decoder.value();
        return true;
    };
    const auto views = engine::rule_views(compiled);
    for (const auto& rule : engine::rules()) {
        const auto s = engine::rule_sequence(compiled, views, rule);
        ++out.evaluations;
        if (!decoder.decode(s) || !note(decoder.value())) continue;
        // The screens in the order in which the rule begins them.
        best.resize(units.blocks.size());
        std::vector<std::int32_t> first(units.blocks.size());
        for (std::size_t u = 0; u < best.size(); ++u) {
            best[u] = u;
            const auto& block = compiled.blocks[static_cast<std::size_t>(units.blocks[u].front())];
            first[u] = s.rank[static_cast<std::size_t>(compiled.ops_of(block).front())];
        }
        std::sort(best.begin(), best.end(),
                  [&](std::size_t a, std::size_t b) { return first[a] < first[b]; });
    }
    if (best.empty() || !decode(best)) return out;
    now = best;
    now_value = value;
    note(value);
    const int n = static_cast<int>(now.size());
    while (!spent(out.evaluations)) {
        auto rest = now;
        std::vector<std::size_t> out_of;
        for (int k = 0; k < taken_out && rest.size() > 1; ++k) {
            const auto at = rest.begin() + rng.below(static_cast<int>(rest.size()));
            out_of.push_back(*at);
            rest.erase(at);
        }
        std::vector<std::int64_t> child_value;
        for (std::size_t k = 0; k < out_of.size() && !spent(out.evaluations); ++k) {
            std::vector<std::size_t> best_order;
            child_value.clear();
            for (int tries = 0; tries < std::min(places, n) && !spent(out.evaluations); ++tries) {
                auto order = rest;
                order.insert(order.begin() + rng.below(static_cast<int>(rest.size()) + 1),
                             out_of[k]);
                auto whole = order;  // those still out go last
                whole.insert(whole.end(), out_of.begin() + static_cast<std::ptrdiff_t>(k) + 1,
                             out_of.end());
                if (!decode(whole)) continue;
                if (!child_value.empty() && !(value < child_value)) continue;
                child_value = value;
                best_order = order;
            }
            if (best_order.empty()) break;
            rest = best_order;
        }
        if (child_value.empty() || rest.size() != now.size()) continue;
        note(child_value);
        const double worse = child_value.empty() || now_value.empty()
                                 ? 0.0
                                 : static_cast<double>(child_value[0] - now_value[0]);
        const double heat = temperature * static_cast<double>(now_value[0]) + 1.0;
        if (child_value <= now_value || rng.unit() < std::exp(-worse / heat)) {
            now = rest;
            now_value = child_value;
        }
    }
    return out;
}

}  // namespace iterated_greedy
