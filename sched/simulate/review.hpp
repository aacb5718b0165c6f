#pragma once
// Planning again at fixed times, as a shop does it that looks at the board every two hours: what
// has begun or is booked stays, what is left is ranked anew by urgency. Seen in this folder only.

#include <span>
#include <vector>

#include "sched/engine/decode/decoder.hpp"

namespace sched::study {

struct ReviewRule {
    engine::Tick every = 2 * 3600;  // s
    double look_ahead = 2.0;        // times the mean work left of a job (k of the ATC index)
};

/// Memory of reviews, reused from day to day.
struct ReviewScratch {
    std::vector<double> left, index;  // per job
    std::vector<std::int32_t> by;
};

/// Runs the sequence to its end with a review every so often, from the horizon's start on. The
/// index of a job is the apparent tardiness cost of its order (Vepsalainen and Morton 1987):
///   w / p * exp(-max(0, due - now - p) / (k p_mean)), p = planned work of its steps not booked
///   yet.
/// Ties, and jobs without a due time, keep the order of `key`.
/// @param key per operation: the plan's order. @param planned per operation: planned length, s.
/// @param sequence its ranks are written. @returns as Decoder::decode.
bool decode_with_reviews(engine::Decoder& decoder, const ReviewRule& rule,
                         std::span<const double> key, std::span<const engine::Tick> planned,
                         engine::Sequence& sequence, ReviewScratch& scratch);

/// Planned length of every operation alone in its place, s: the shortest mode.
std::vector<engine::Tick> lengths_alone(const engine::CompiledProblem& problem);

}  // namespace sched::study
