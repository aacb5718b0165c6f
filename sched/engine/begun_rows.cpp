// What had begun by now, as rows of the compiled problem.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

void CompiledProblem::mark_begun() {
    if (!problem.now) return;
    midday = true;
    const auto tick_of = [](core::SimTime t) { return t.time_since_epoch().count(); };
    for (const core::Begun& b : problem.begun) {
        CompiledOperation& o = operations[b.operation.index()];
        o.begun = true;
        CompiledBegun c{.operation = b.operation.value,
                        .mode = static_cast<std::int16_t>(b.mode),
                        .batch = b.batch.value_or(-1),
                        .start = tick_of(b.start),
                        .over = b.end.has_value()};
        for (const core::ResourceId r : b.chosen)
            c.chosen.push_back(r.value);
        begun.push_back(std::move(c));
    }
    // Who joins an exposure later must not outlast who opened it.
    const auto work_of = [&](const CompiledBegun& x) {
        const CompiledOperation& o = operations[ix(x.operation)];
        return modes[ix(o.modes.begin + x.mode)].work;
    };
    for (std::size_t k = 0; k < begun.size(); ++k) {
        if (begun[k].batch < 0) continue;
        for (std::size_t e = k + 1; e < begun.size(); ++e) {
            if (begun[e].batch == begun[k].batch && work_of(begun[e]) > work_of(begun[k]))
                std::swap(begun[e], begun[k]);
        }
    }
}

// Blocks of which a part has begun; urgent if the rest cannot wait in its place as long as it
// likes.
void CompiledProblem::make_rests() {
    const auto shares = [&](const CompiledBegun& x) {
        return !x.over && x.batch >= 0 &&
               std::count_if(begun.begin(), begun.end(),
                             [&](const CompiledBegun& y) { return y.batch == x.batch; }) > 1;
    };
    for (const CompiledBegun& x : begun) {
        const CompiledOperation& o = operations[ix(x.operation)];
        Block& block = blocks[ix(o.block)];
        if (block.begun == block.operations.size()) continue;
        if (std::find(rests.begin(), rests.end(), o.block) == rests.end()) rests.push_back(o.block);
        for (std::int32_t k = o.lags_out.begin; k < o.lags_out.end; ++k) {
            const CompiledLag& l = lags[ix(lags_out[ix(k)])];
            // Who shares a batch cannot stay in it until the others go: all go as one.
            if (l.cross || l.max >= never || (l.hold && !shares(x))) continue;
            block.urgent = true;
            block.latest = -never;
        }
    }
}

}  // namespace sched::engine
