#pragma once
// Small reads of the flat tables that all parts of the executor share.

#include "sched/engine/execute.hpp"

namespace sched::engine::execute_rows {

inline std::size_t u(std::int32_t i) {
    return static_cast<std::size_t>(i);
}
inline constexpr char waits = 0, works = 1, holds = 2, ended = 3;

inline const CompiledMode& mode_of(const CompiledProblem& p, const FlatSchedule& f,
                                   std::int32_t op) {
    return p.modes[u(p.operations[u(op)].modes.begin + f.mode[u(op)])];
}

// The lag sets the end of `from`: it stretches until `to` starts.
inline bool sets_end(const CompiledProblem& p, const CompiledLag& l) {
    return l.edge == core::Edge::End && l.max < never && p.operations[u(l.from)].stretch > 0;
}

}  // namespace sched::engine::execute_rows
