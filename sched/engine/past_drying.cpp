// The drying clocks run over what has begun, up to the moment of the plan.

#include "sched/engine/past_drying.hpp"

#include <algorithm>
#include <limits>

#include "sched/engine/drying_clock.hpp"

namespace sched::engine {

namespace {

constexpr double past_never = std::numeric_limits<double>::infinity();

struct InCabinet {
    std::size_t entry;  // into Problem::begun
    const std::vector<core::DryStage>* stages;
    std::size_t stage;
    double left;      // of that stage
    double said_dry;  // real time after which it weighs nothing, whatever the clock says
};

// One cabinet from its first entry to `now`; times in s after `origin`.
class PastCabinet {
public:
    PastCabinet(const core::SharedRate& rate, core::SimTime origin, double end)
        : rate_(rate), origin_(origin), end_(end) {}

    void enter(double at, InCabinet wet, std::vector<PastDrying>& out) {
        run(at, out);
        inside_.push_back(wet);
        settle(out);
    }
    void finish(std::vector<PastDrying>& out) {
        run(end_, out);
        for (const InCabinet& w : inside_) {
            auto& left = out[w.entry].left;
            left.assign(w.stages->begin() + static_cast<std::ptrdiff_t>(w.stage), w.stages->end());
            left.front().work = w.left;
        }
    }

private:
    void settle(std::vector<PastDrying>& out) {
        for (InCabinet& w : inside_) {
            while (w.stage < w.stages->size() && w.left <= 0.0) {
                ++w.stage;
                if (w.stage < w.stages->size()) w.left = (*w.stages)[w.stage].work;
            }
            if (w.stage == w.stages->size())
                out[w.entry].dry_since = origin_ + core::Seconds{round_up_ticks(now_)};
        }
        std::erase_if(inside_, [&](const InCabinet& w) {
            return w.stage == w.stages->size() || w.said_dry <= now_;
        });
    }
    void run(double until, std::vector<PastDrying>& out) {
        if (inside_.empty()) now_ = std::max(now_, until);
        while (now_ < until && !inside_.empty()) {
            std::size_t step = 0;
            const auto from = [&](std::size_t s) {
                return static_cast<double>((rate_.steps[s].from - origin_).count());
            };
            while (step + 1 < rate_.steps.size() && from(step + 1) <= now_)
                ++step;
            double limit = until;
            if (step + 1 < rate_.steps.size()) limit = std::min(limit, from(step + 1));
            double load = 0.0, least = past_never;
            for (const InCabinet& w : inside_) {
                load += (*w.stages)[w.stage].share;
                least = std::min(least, w.left);
                limit = std::min(limit, w.said_dry);
            }
            const double speed = core::clock_rate(rate_.steps[step], load);
            const bool ends = speed > 0.0 && now_ + least / speed <= limit;
            const double passed = ends ? least : speed * std::max(0.0, limit - now_);
            now_ = ends ? now_ + least / speed : std::max(now_, limit);
            for (InCabinet& w : inside_)
                w.left = ends && w.left <= least ? 0.0 : w.left - passed;
            settle(out);
        }
        now_ = std::max(now_, until);
    }

    const core::SharedRate& rate_;
    core::SimTime origin_;
    double end_;
    double now_ = 0.0;
    std::vector<InCabinet> inside_;
};

}  // namespace

std::vector<PastDrying> past_drying(const core::Problem& problem) {
    std::vector<PastDrying> out(problem.begun.size());
    std::vector<std::vector<std::size_t>> cabinets(problem.resources.size());
    const auto mode_of = [&](std::size_t k) -> const core::Mode& {
        const core::Begun& b = problem.begun[k];
        return problem.operations[b.operation.index()].modes[static_cast<std::size_t>(b.mode)];
    };
    for (std::size_t k = 0; k < problem.begun.size(); ++k) {
        if (!mode_of(k).stages.empty() && !problem.begun[k].chosen.empty())
            cabinets[problem.begun[k].chosen.front().index()].push_back(k);
    }
    for (std::size_t r = 0; r < cabinets.size(); ++r) {
        auto& entries = cabinets[r];
        if (entries.empty() || !problem.resources[r].shared) continue;
        std::stable_sort(entries.begin(), entries.end(), [&](std::size_t a, std::size_t b) {
            return problem.begun[a].start < problem.begun[b].start;
        });
        const core::SimTime origin = problem.begun[entries.front()].start;
        const auto since = [&](core::SimTime t) {
            return static_cast<double>((t - origin).count());
        };
        PastCabinet cabinet(*problem.resources[r].shared, origin, since(*problem.now));
        for (const std::size_t k : entries) {
            const core::Begun& b = problem.begun[k];
            const bool said = b.work_end && *b.work_end <= *problem.now;
            const auto& stages = mode_of(k).stages;
            cabinet.enter(
                since(b.start),
                {k, &stages, 0, stages.front().work, said ? since(*b.work_end) : past_never}, out);
        }
        cabinet.finish(out);
    }
    return out;
}

}  // namespace sched::engine
