// Which stores are filled on demand, by what, and how long before they are wanted it has to begin.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

void CompiledProblem::find_on_demand() {
    for (std::size_t i = 0; i < operations.size(); ++i) {
        for (std::int32_t g = operations[i].gives.begin; g < operations[i].gives.end; ++g) {
            // What keeps for most of the run may come as soon as somebody has the time: asked for,
            // it comes when a coat waits for it already.
            if (2 * stores[ix(gives[ix(g)].store)].life < horizon_end - horizon_start)
                wait_to_be_asked(static_cast<std::int32_t>(i), gives[ix(g)].store);
        }
    }
}

void CompiledProblem::wait_to_be_asked(std::int32_t giver, std::int32_t store) {
    OnDemand x{.store = store, .giver = giver, .lead = 0, .blocks = {}};
    std::vector<std::int32_t> chain{giver};  // it and all that goes before it
    for (std::size_t k = 0; k < chain.size(); ++k) {
        const CompiledOperation& o = operations[ix(chain[k])];
        if (o.job >= 0 || o.begun || o.fixed) return;  // of a job, or something of it has begun
        x.lead += modes[ix(o.modes.begin)].work;
        for (std::int32_t l = o.lags_in.begin; l < o.lags_in.end; ++l) {
            const CompiledLag& lag = lags[ix(lags_in[ix(l)])];
            if (lag.min < 0) continue;
            x.lead += lag.min;
            if (std::find(chain.begin(), chain.end(), lag.from) == chain.end())
                chain.push_back(lag.from);
        }
    }
    for (const std::int32_t op : chain) {
        const std::int32_t b = operations[ix(op)].block;
        if (blocks[ix(b)].waits_for == 0 &&
            std::find(x.blocks.begin(), x.blocks.end(), b) == x.blocks.end())
            x.blocks.push_back(b);
    }
    on_demand.push_back(std::move(x));
}

}  // namespace sched::engine
