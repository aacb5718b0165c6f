// How it works: each screen inside is an entry in a heap, keyed by the virtual time at which
// its present stage is over. The clock runs at a speed that depends on the load and on the air
// of the hour; advance() goes from one change to the next, in real time, and takes off what
// ends there. Times within the rounding tolerance end together.

#include "sched/engine/drying_clock.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace sched::engine {

namespace {

double clock_speed(const DryingClock::Step& step, double load) {
    double shared = step.base / (1.0 + load);
    if (step.crowd >= 0.0) shared = std::max(shared, step.crowd / (step.crowd_shift + load));
    const double over = step.shift + load;
    return step.cap >= 0.0 && over > 0.0 ? std::min(shared, step.cap / over) : shared;
}

std::size_t step_at(std::span<const DryingClock::Step> steps, Tick t) {
    const auto after =
        std::upper_bound(steps.begin(), steps.end(), t,
                         [](Tick x, const DryingClock::Step& s) { return x < s.from; });
    return after == steps.begin() ? 0 : static_cast<std::size_t>(after - steps.begin()) - 1;
}

}  // namespace

Tick round_up_ticks(double span) {
    return static_cast<Tick>(std::ceil(span - 1e-6));
}

double DryingClock::speed(const Step& step) const {
    return clock_speed(step, load_);
}

void DryingClock::reset(Tick start) {
    heap_.clear();
    dry_.clear();
    tau_ = 0.0;
    load_ = 0.0;
    now_ = start;
    part_ = 0.0;
    step_ = step_at(steps_, start);
    order_ = 0;
}

void DryingClock::push(const Wet& w) {
    heap_.push_back(w);
    std::push_heap(heap_.begin(), heap_.end(),
                   [](const Wet& a, const Wet& b) { return b.before(a); });
}

DryingClock::Wet DryingClock::pop() {
    std::pop_heap(heap_.begin(), heap_.end(),
                  [](const Wet& a, const Wet& b) { return b.before(a); });
    const Wet w = heap_.back();
    heap_.pop_back();
    return w;
}

// The stage of w (no longer in the heap, its share still in the load) is over at the present real
// time.
void DryingClock::finish_stage(Wet w) {
    const double before = w.stage->share;
    while (w.left > 0) {
        ++w.stage;
        --w.left;
        if (w.stage->work > 0.0) {
            load_ += w.stage->share - before;
            w.until += w.stage->work;
            push(w);
            return;
        }
    }
    load_ -= before;
    if (heap_.empty()) load_ = 0.0;  // sheds rounding error whenever the cabinet is dry
    dry_.push_back({w.who, now_ + round_up_ticks(part_)});
}

void DryingClock::enter(std::uint32_t who, std::span<const Stage> stages) {
    std::size_t first = 0;
    while (first < stages.size() && !(stages[first].work > 0.0))
        ++first;
    if (first == stages.size()) {
        dry_.push_back({who, now_});
        return;
    }
    load_ += stages[first].share;
    push({tau_ + stages[first].work, order_++, who,
          static_cast<std::uint32_t>(stages.size() - first - 1), &stages[first]});
}

void DryingClock::advance(Tick t) {
    while (static_cast<double>(t - now_) > part_) {
        while (step_ + 1 < steps_.size() &&
               static_cast<double>(steps_[step_ + 1].from - now_) <= part_) {
            ++step_;
        }
        Tick limit = t;
        if (step_ + 1 < steps_.size()) limit = std::min(limit, steps_[step_ + 1].from);
        const double room = static_cast<double>(limit - now_) - part_;  // real ticks to the limit
        const double v = speed(steps_[step_]);
        if (!heap_.empty()) {
            const double need =
                v > 0.0
                    ? (heap_.front().until - tau_) / v
                    : (heap_.front().until <= tau_ ? 0.0 : std::numeric_limits<double>::infinity());
            // Within the rounding tolerance of the limit it counts as reached there.
            if (need <= room + 1e-6) {
                Wet w = pop();
                part_ += std::min(std::max(need, 0.0), room);
                tau_ = w.until;
                finish_stage(w);
                if (part_ >= static_cast<double>(limit - now_)) {
                    now_ = limit;
                    part_ = 0.0;
                }
                continue;
            }
        }
        if (room > 0.0) tau_ += v * room;
        now_ = limit;
        part_ = 0.0;
    }
    // Others that end within the tolerance of t.
    while (!heap_.empty() && heap_.front().until - tau_ <= 1e-6 * speed(steps_[step_])) {
        finish_stage(pop());
    }
}

std::optional<Tick> DryingClock::next_change() const {
    if (heap_.empty()) return std::nullopt;
    double missing = heap_.front().until - tau_;
    Tick at = now_;
    for (std::size_t s = step_at(steps_, now_); s < steps_.size(); ++s) {
        const double v = speed(steps_[s]);
        const bool last = s + 1 == steps_.size();
        if (v > 0.0) {
            const double need = missing / v;
            if (last || need <= static_cast<double>(steps_[s + 1].from - at)) {
                return std::max(now_ + 1, at + round_up_ticks(need));
            }
            missing -= v * static_cast<double>(steps_[s + 1].from - at);
        }
        if (last) return std::nullopt;
        at = std::max(at, steps_[s + 1].from);
    }
    return std::nullopt;
}

std::optional<double> drying_span(std::span<const DryingClock::Step> steps,
                                  std::span<const DryingClock::Stage> stages, Tick t,
                                  double others) {
    std::size_t s = step_at(steps, t);
    double at = 0.0;  // real ticks after t
    for (const auto& stage : stages) {
        double missing = stage.work;
        while (missing > 0.0) {
            const double v = clock_speed(steps[s], others + stage.share);
            const bool last = s + 1 == steps.size();
            const double room = last ? std::numeric_limits<double>::infinity()
                                     : static_cast<double>(steps[s + 1].from - t) - at;
            if (v > 0.0 && missing / v <= room) {
                at += missing / v;
                missing = 0.0;
            } else {
                if (last) return std::nullopt;
                if (v > 0.0) missing -= v * room;
                at = std::max(at, static_cast<double>(steps[s + 1].from - t));
                ++s;
            }
        }
    }
    return at;
}

}  // namespace sched::engine
