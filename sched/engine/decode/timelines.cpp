#include "sched/engine/decode/timelines.hpp"

namespace sched::engine {

Timelines::Timelines(const CompiledProblem& p)
    : profile(p.resources.size()),
      window(p.resources.size()),
      ledger(p.stores.size()),
      clock(p.resources.size()),
      clock_next(p.resources.size(), never),
      waiting(p) {
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        if (p.resources[r].has_calendar) profile[r] = Profile(p.windows_of(p.resources[r]));
        if (!p.resources[r].coupled) continue;
        clock[r] = DryingClock(p.steps_of(p.resources[r]));
        clocks.push_back(static_cast<std::int32_t>(r));
    }
    entries.reserve(p.operations.size());
    batches.reserve(p.operations.size());
    open_operations.reserve(p.operations.size());
}

void Timelines::reset(const CompiledProblem& p) {
    const std::size_t n = p.operations.size();
    if (p.varies) {
        waiting.fit(p);
        for (std::size_t r = 0; r < p.resources.size(); ++r) {
            const auto windows = p.windows_of(p.resources[r]);
            profile[r].open_in(p.resources[r].has_calendar ? &windows : nullptr);
        }
    }
    for (std::size_t r = 0; r < p.resources.size(); ++r) {
        profile[r].reset();
        window[r] = p.resources[r].windows.begin;
    }
    window_over = -never;
    for (std::size_t s = 0; s < p.stores.size(); ++s)
        ledger[s].reset(p.stores[s].initial, p.stores[s].life);
    entries.clear();
    placed.reset(p);
    is_placed.assign(n, 0);
    early.assign(n, 0);
    open_links.assign(n, 0);
    open_end.assign(n, 0);
    batch_next.assign(n, -1);
    batches.clear();
    batches_over = 0;
    shared.assign(static_cast<std::size_t>(p.chosen_size), 0);
    missing.resize(p.blocks.size());
    for (std::size_t b = 0; b < p.blocks.size(); ++b)
        missing[b] = p.blocks[b].waits_for;
    asked.assign(p.on_demand.size(), never);
    for (const OnDemand& x : p.on_demand) {
        for (const std::int32_t b : x.blocks)
            ++missing[static_cast<std::size_t>(b)];
    }
    done.assign(p.blocks.size(), 0);
    waiting_batch.assign(p.blocks.size(), 0);
    floor.resize(n);
    open_operations.clear();
    holders.clear();
    exits_ahead.assign(p.exit_range.size(), 0);
    for (std::size_t j = 0; j < p.exit_range.size(); ++j) {
        for (std::int32_t k = p.exit_range[j].begin; k < p.exit_range[j].end; ++k)
            exits_ahead[j] |= p.exit_steps[static_cast<std::size_t>(k)].exits;
    }
    standing.clear();
    running.clear();
    vain_hurry = false;
    put_off.assign(p.blocks.size(), -never);
    kept_free.assign(p.appointments.size(), 0);
    shut_in = false;
    order_end.assign(p.order_due.size(), -never);
    order_step.resize(p.order_due.size());
    for (std::size_t k = 0; k < order_step.size(); ++k)
        order_step[k] = p.order_range[k].begin;
    blocks_left = static_cast<std::int32_t>(p.blocks.size());
    wet = 0;
    overtime = 0;
    for (const std::int32_t r : clocks) {
        clock_next[static_cast<std::size_t>(r)] = never;
    }
}

}  // namespace sched::engine
