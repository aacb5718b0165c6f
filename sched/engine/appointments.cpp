// Work with a fixed start that is still to come, and who does it: one person by name, in the only
// way that is left open.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/compiled_problem.hpp"

namespace sched::engine {

namespace {

// A need that nobody can ever meet rules its way out (a pin does that).
bool possible(const CompiledProblem& p, const CompiledMode& m) {
    for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
        const CompiledNeed& need = p.needs[ix(n)];
        bool any = need.any_of.size() == 0;
        for (std::int32_t c = need.any_of.begin; c < need.any_of.end; ++c) {
            const CompiledResource& r = p.resources[ix(p.candidates[ix(c)])];
            any |= r.capacity >= need.amount && (!r.has_calendar || r.windows.size() > 0);
        }
        if (!any) return false;
    }
    return true;
}

}  // namespace

void CompiledProblem::make_appointments() {
    for (std::size_t b = 0; b < blocks.size(); ++b) {
        for (const std::int32_t i : ops_of(blocks[b])) {
            const CompiledOperation& o = operations[ix(i)];
            // One person may mind a whole batch; what pauses has no known end.
            if (!o.fixed || o.happened || o.begun || o.pausable || o.batch_family >= 0) continue;
            const CompiledMode* only = nullptr;
            int ways = 0;
            for (std::int32_t m = o.modes.begin; m < o.modes.end; ++m) {
                if (!possible(*this, modes[ix(m)])) continue;
                only = &modes[ix(m)];
                ++ways;
            }
            if (ways != 1) continue;
            std::int32_t spot = -1;
            for (std::int32_t n = only->needs.begin; n < only->needs.end; ++n) {
                const CompiledNeed& need = needs[ix(n)];
                const std::int32_t r = candidates[ix(need.any_of.begin)];
                if (n == only->needs.begin && need.whole && need.any_of.size() == 1)
                    spot = resources[ix(r)].spot;
                if (need.whole || need.any_of.size() != 1 || resources[ix(r)].capacity != 1)
                    continue;
                if (appointments_of.empty()) appointments_of.resize(blocks.size());
                appointments.push_back({i, r, spot, o.not_before, o.not_before + only->work});
            }
        }
        if (appointments_of.empty()) continue;
        const auto end = static_cast<std::int32_t>(appointments.size());
        const std::int32_t begin = b == 0 ? 0 : appointments_of[b - 1].end;
        appointments_of[b] = {begin, end};
    }
}

}  // namespace sched::engine
