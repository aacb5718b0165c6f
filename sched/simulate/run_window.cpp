#include "sched/simulate/run_window.hpp"

#include <algorithm>

#include "sched/engine/drying_clock.hpp"

namespace sched::study {

RunWindow::RunWindow(const engine::PartBook& book)
    : assembly_(std::make_unique<engine::Assembly>(book)),
      decoder_(std::make_unique<engine::Decoder>(assembly_->problem())) {
    sequence_.lookahead = 0;
    sequence_.keeps_turn = true;
}

void RunWindow::open(Tick from, Tick to, Tick shift) {
    from_ = from;
    to_ = to;
    shift_ = shift;
    sequence_.mode.clear();
    assembly_->begin();
    assembly_->problem().horizon_start = from - shift;
}

void RunWindow::add(CarriedPart& part, int number, const engine::Assembly::Place& place) {
    part.begin = assembly_->add(number, place, part.factor);
    sequence_.mode.resize(sequence_.mode.size() + part.operations.size(), -1);
}

void RunWindow::fix(const CarriedPart& part) {
    for (std::size_t i = 0; i < part.operations.size(); ++i) {
        const InsideOperation& o = part.operations[i];
        if (o.start < 0) continue;
        const auto op = part.begin + static_cast<std::int32_t>(i);
        engine::Assembly::Known known{
            .start = o.start - shift_, .mode = o.mode, .chosen = o.chosen};
        known.took = o.start < from_;
        known.counted = o.counted;
        if (o.work_end >= 0) {
            known.work = o.work_end - o.start;
            known.gave = o.work_end <= from_;
            known.over = o.end >= 0 && o.end <= from_;
        } else if (o.start < from_) {
            // Still wet: as long as it takes in a full cabinet, which is what was counted on.
            const auto& p = assembly_->problem();
            const auto& mode = p.modes[ix(p.operations[ix(op)].modes.begin + o.mode)];
            const auto& r = p.resources[ix(o.chosen[0])];
            const auto span = engine::drying_span(p.steps_of(r), p.stages_of(mode),
                                                  o.start - shift_, r.full_load);
            const Tick full = span ? engine::round_up_ticks(*span) : mode.work;
            known.work = std::max({full, mode.work, from_ - o.start + 1});
        }
        assembly_->fix(op, known);
        sequence_.mode[ix(op)] = o.mode;
    }
}

bool RunWindow::run() {
    sequence_.redoes = true;
    return decoder_->decode_until(sequence_, to_ - shift_);
}

// What has begun, and what is booked together with it.
void RunWindow::look() {
    const auto& p = assembly_->problem();
    const auto& s = decoder_->schedule();
    begun_.assign(p.blocks.size(), 0);
    for (std::size_t i = 0; i < p.operations.size(); ++i) {
        if (decoder_->booked(static_cast<std::int32_t>(i)) && s.start[i] < to_ - shift_)
            begun_[ix(p.operations[i].block)] = 1;
    }
    counted_.clear();
}

void RunWindow::keep_start(InsideOperation& kept, std::size_t op) {
    const auto& p = assembly_->problem();
    const auto& s = decoder_->schedule();
    const auto& o = p.operations[op];
    kept.start = s.start[op] + shift_;
    kept.mode = s.mode[op];
    const auto ns = p.modes[ix(o.modes.begin + s.mode[op])].needs;
    for (std::int32_t n = 0; n < ns.size() && ix(n) < kept.chosen.size(); ++n)
        kept.chosen[ix(n)] = s.chosen[ix(o.chosen + n)];
    kept.counted = true;
    if (s.batch[op] < 0) return;
    // The first member answers for places that the batch shares.
    const std::pair<std::int32_t, std::int32_t> batch{s.batch[op], -1};
    kept.counted = std::find(counted_.begin(), counted_.end(), batch) == counted_.end();
    if (kept.counted) counted_.push_back(batch);
}

Tick RunWindow::over(const CarriedPart& part) const {
    const auto& p = assembly_->problem();
    Tick done = 0;
    for (std::size_t i = 0; i < part.operations.size(); ++i) {
        const InsideOperation& o = part.operations[i];
        const bool stays = p.operations[ix(part.begin) + i].stretch >= engine::never;
        const Tick end = o.start < 0 ? -1 : stays ? o.work_end : o.end;
        done = end < 0 ? engine::never : std::max(done, end);
    }
    return done;
}

}  // namespace sched::study
