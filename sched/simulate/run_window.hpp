#pragma once
// A run over weeks is cut into windows (its days). In each, what is inside is put together from
// compiled parts, decoded up to the window's end, and what has begun by then is kept for the next
// one. No word of screens: coatroom weeks stands on it, and so do the queues whose theory is known.

#include <array>
#include <cstdint>
#include <memory>
#include <utility>
#include <vector>

#include "sched/core/index.hpp"
#include "sched/engine/assembly.hpp"
#include "sched/engine/decode/decoder.hpp"

namespace sched::study {

using engine::Tick;

/// What happened to one operation so far; start -1: not begun, end -1: still there.
struct InsideOperation {
    static constexpr std::size_t most_needs = 6;
    Tick start = -1, work_end = -1, end = -1;
    std::int16_t mode = 0;
    bool counted = true;
    std::array<std::int32_t, most_needs> chosen{};
};

/// A part of the book on its way.
struct CarriedPart {
    std::vector<double> factor;  // per operation: on its work, or on its drying
    std::vector<InsideOperation> operations;
    std::int32_t begin = 0;  // in the window's problem
};

/// One after another on the same memory. Times that it is told and tells are those of the run;
/// those of its problem are `shift` earlier, so that a calendar of one week serves every week.
class RunWindow {
public:
    /// @param book must outlive it.
    explicit RunWindow(const engine::PartBook& book);

    /// An empty window [from, to).
    void open(Tick from, Tick to, Tick shift = 0);
    /// @param number of the part in the book. @param place release and order's times of the
    /// problem.
    void add(CarriedPart& part, int number, const engine::Assembly::Place& place);
    /// What is known of its operations. @pre everything is added.
    void fix(const CarriedPart& part);
    /// Up to its end. @pre assembly().finish(), sequence().rank. @returns as
    /// Decoder::decode_until().
    bool run();
    /// Which blocks have begun by its end: before keep().
    void look();
    /// @param took told operation of the part, amount and store for everything that left a store.
    template <class Took>
    void keep(CarriedPart& part, Took&& took);
    void keep(CarriedPart& part) {
        keep(part, [](std::size_t, std::int64_t, std::int32_t) {});
    }
    /// When all of it is over; never: not yet. After keep(), or as kept when the window was opened.
    Tick over(const CarriedPart& part) const;

    engine::Assembly& assembly() { return *assembly_; }
    engine::Decoder& decoder() { return *decoder_; }
    engine::Sequence& sequence() { return sequence_; }
    Tick from() const { return from_; }
    Tick to() const { return to_; }
    Tick shift() const { return shift_; }

private:
    void keep_start(InsideOperation& kept, std::size_t op);

    std::unique_ptr<engine::Assembly> assembly_;
    std::unique_ptr<engine::Decoder> decoder_;
    engine::Sequence sequence_;
    Tick from_ = 0, to_ = 0, shift_ = 0;
    std::vector<char> begun_;                                     // per block
    std::vector<std::pair<std::int32_t, std::int32_t>> counted_;  // batches
};

template <class Took>
void RunWindow::keep(CarriedPart& part, Took&& took) {
    const auto& p = assembly_->problem();
    const auto& s = decoder_->schedule();
    for (std::size_t i = 0; i < part.operations.size(); ++i) {
        const auto op = ix(part.begin) + i;
        const auto& o = p.operations[op];
        if (!begun_[ix(o.block)] || !decoder_->booked(static_cast<std::int32_t>(op))) continue;
        InsideOperation& kept = part.operations[i];
        const bool before = kept.start >= 0 && kept.start < from_;
        if (kept.start < 0) keep_start(kept, op);
        if (!before && s.start[op] < to_ - shift_) {
            for (std::int32_t t = o.takes.begin; t < o.takes.end; ++t)
                took(i, p.takes[ix(t)].amount, s.stores[ix(p.takes[ix(t)].index)]);
        }
        // What is wet at the end of the window is not known to be dry at any moment yet.
        kept.work_end = s.work_end[op] >= 0 ? s.work_end[op] + shift_ : -1;
        kept.end = s.end[op] >= 0 ? s.end[op] + shift_ : -1;
    }
}

}  // namespace sched::study
