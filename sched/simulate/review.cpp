#include "sched/simulate/review.hpp"

#include "sched/core/index.hpp"

#include <algorithm>
#include <numeric>

#include "sched/engine/rules.hpp"

namespace sched::study {

using engine::Tick;

namespace {

void rank_anew(const engine::Decoder& decoder, const ReviewRule& rule, Tick now,
               std::span<const double> key, std::span<const Tick> planned,
               engine::Sequence& sequence, ReviewScratch& s) {
    const engine::CompiledProblem& p = decoder.problem();
    s.left.assign(p.job_range.size(), 0.0);
    s.index.assign(p.job_range.size(), 0.0);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const std::int32_t job = p.operations[i].job;
        if (job >= 0 && !decoder.booked(static_cast<std::int32_t>(i)))
            s.left[ix(job)] += static_cast<double>(planned[i]);
    }
    double sum = 0.0;
    int waiting = 0;
    for (const double left : s.left) {
        if (left <= 0.0) continue;
        sum += left;
        ++waiting;
    }
    const double mean = waiting > 0 ? sum / waiting : 1.0;
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        const auto& o = p.operations[i];
        if (o.job < 0 || o.order < 0 || s.left[ix(o.job)] <= 0.0) continue;
        const Tick due = p.order_due[ix(o.order)];
        if (due >= engine::never) continue;
        const double left = std::max(60.0, s.left[ix(o.job)]);
        const double slack = static_cast<double>(due - now) - s.left[ix(o.job)];
        s.index[ix(o.job)] = engine::tardiness_cost_index(
            static_cast<double>(p.order_weight[ix(o.order)]), left, slack, rule.look_ahead * mean);
    }
    const auto index = [&](std::int32_t op) {
        const std::int32_t job = p.operations[ix(op)].job;
        // What is in hand is not put down for what is more urgent.
        const bool in_hand = p.blocks[ix(p.operations[ix(op)].block)].begun > 0;
        return job < 0 || in_hand ? 1e30
                                  : s.index[ix(job)];  // mixing goes first: others wait for it
    };
    s.by.resize(p.operations.size());
    std::iota(s.by.begin(), s.by.end(), 0);
    std::sort(s.by.begin(), s.by.end(), [&](std::int32_t a, std::int32_t b) {
        const double x = index(a), y = index(b);
        if (x != y) return x > y;
        const double ka = key[ix(a)], kb = key[ix(b)];
        return ka < kb || (ka == kb && a < b);
    });
    for (std::size_t r = 0; r < s.by.size(); ++r)
        sequence.rank[ix(s.by[r])] = static_cast<std::int32_t>(r);
}

}  // namespace

bool decode_with_reviews(engine::Decoder& decoder, const ReviewRule& rule,
                         std::span<const double> key, std::span<const Tick> planned,
                         engine::Sequence& sequence, ReviewScratch& scratch) {
    const engine::CompiledProblem& p = decoder.problem();
    const Tick begin = p.problem.now ? p.problem.now->time_since_epoch().count() : p.horizon_start;
    Tick next = begin + rule.every;
    if (!decoder.decode_until(sequence, next)) return false;
    while (!decoder.done()) {
        if (next > p.horizon_end) return decoder.go_on(sequence, engine::never);
        rank_anew(decoder, rule, next, key, planned, sequence, scratch);
        next += rule.every;
        if (!decoder.go_on(sequence, next)) return false;
    }
    return true;
}

std::vector<Tick> lengths_alone(const engine::CompiledProblem& p) {
    std::vector<Tick> lengths;
    for (const auto& o : p.operations) {
        Tick least = engine::never;
        for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
            const auto& mode = p.modes[ix(m)];
            Tick length = mode.work;
            if (mode.stages.size() > 0) {
                const auto& need = p.needs[ix(mode.needs.begin)];
                const auto& r = p.resources[ix(p.candidates[ix(need.any_of.begin)])];
                const auto span =
                    engine::drying_span(p.steps_of(r), p.stages_of(mode), p.horizon_start, 0.0);
                if (span) length = std::max(length, engine::round_up_ticks(*span));
            }
            least = std::min(least, length);
        }
        lengths.push_back(least);
    }
    return lengths;
}

}  // namespace sched::study
