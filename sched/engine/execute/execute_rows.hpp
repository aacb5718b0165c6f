#pragma once
// Small reads of the flat tables that all parts of the executor share.

#include "sched/core/index.hpp"
#include "sched/engine/execute/execute.hpp"

namespace sched::engine::execute_rows {

inline constexpr char waits = 0, works = 1, holds = 2, ended = 3;

inline const CompiledMode& mode_of(const CompiledProblem& p, const FlatSchedule& f,
                                   std::int32_t op) {
    return p.modes[ix(p.operations[ix(op)].modes.begin + f.mode[ix(op)])];
}

// The lag sets the end of `from`: it stretches until `to` starts.
inline bool sets_end(const CompiledProblem& p, const CompiledLag& l) {
    return l.edge == core::Edge::End && l.max < never && p.operations[ix(l.from)].stretch > 0;
}

}  // namespace sched::engine::execute_rows
