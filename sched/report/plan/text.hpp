#pragma once
// The plan for a terminal.

#include <string>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

struct TextOptions {
    bool colour = false;  // ANSI escape codes; only when asked
    int width = 80;       // columns; lines are wrapped to it
};

std::string to_text(const PlanDocument& document, const TextOptions& options = {});

}  // namespace sched::report
