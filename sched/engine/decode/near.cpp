// Decoding a sequence that is near the held one: from the last saved floor that both have in
// common, and no further than its worth is of interest.

#include <algorithm>
#include <cmath>

#include "sched/engine/decode/decoder.hpp"

namespace sched::engine {

bool Decoder::decode_near(const Sequence& sequence, const Cutoff* cutoff) {
    prepare(sequence);
    tracking_ = true;
    cutoff_ = cutoff;
    std::int32_t from = -1;
    // What is asked for on the way comes when it is tried, not by what was booked before it.
    const HeldRun::Same same = problem_.on_demand.empty()
                                   ? held_.repeats(sequence, turns_.place, from)
                                   : HeldRun::Same::Nothing;
    if (same == HeldRun::Same::All) {
        ++counters_.repeated;
        held_.begin_all();
        state_.placed = held_.schedule();
        begin_ = held_begin_;
        care_ = held_care_;
        return true;
    }
    if (same == HeldRun::Same::Beginning && held_begin_ == Begin::Stand &&
        held_care_ == Care::Little) {
        begin_ = Begin::Stand;
        ++counters_.resumed;
        held_.begin(from);
        state_ = held_.floor(from);
        state_.waiting.reorder(turns_);
        return run() || run_otherwise();
    }
    held_.begin(-1);
    return run_from_start();
}

void Decoder::hold() {
    held_.hold(*run_.sequence, state_.placed, turns_.place);
    held_begin_ = begin_;
    held_care_ = care_;
}

// What is booked, and what every order still has before it, are worth more than the cutoff allows.
bool Decoder::beyond() {
    at_least_.clear();
    const std::size_t orders = problem_.order_due.size();
    ends_.resize(orders);
    Tick last = state_.now;
    const bool likely = cutoff_ && !cutoff_->likely.empty();
    for (std::size_t k = 0; k < orders; ++k) {
        std::int32_t& step = state_.order_step[k];
        const std::int32_t end = problem_.order_range[k].end;
        while (step < end && state_.done[static_cast<std::size_t>(
                                 problem_.order_steps[static_cast<std::size_t>(step)].block)])
            ++step;
        Tick least = state_.order_end[k];
        if (step < end)
            least = std::max(
                least,
                state_.now + (likely
                                  ? cutoff_->likely[static_cast<std::size_t>(
                                        problem_.order_steps[static_cast<std::size_t>(step)].block)]
                                  : problem_.order_steps[static_cast<std::size_t>(step)].tail));
        ends_[k] = least;
        last = std::max(last, least);
    }
    for (const core::Criterion criterion : problem_.problem.objective) {
        // Of holding nothing is known before the end.
        at_least_.push_back(worth(problem_, criterion,
                                  {.orders = ends_, .last = last, .overtime = state_.overtime}));
    }
    const std::size_t compared = std::min(cutoff_->value.size(), at_least_.size());
    const auto first =
        std::mismatch(at_least_.begin(), at_least_.begin() + static_cast<std::ptrdiff_t>(compared),
                      cutoff_->value.begin());
    if (first.second == cutoff_->value.begin() + static_cast<std::ptrdiff_t>(compared) ||
        *first.first < *first.second)
        return false;
    double weight = 0.0;
    for (std::size_t k = 0; k < at_least_.size() && k < cutoff_->scale.size(); ++k)
        weight += cutoff_->scale[k] * static_cast<double>(at_least_[k]);
    // The same sum may come out a little otherwise when the run is complete.
    return cutoff_->scale.empty() ||
           weight > cutoff_->limit + 1e-9 * std::max(1.0, std::abs(cutoff_->limit));
}

}  // namespace sched::engine
