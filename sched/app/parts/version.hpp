#pragma once

namespace sched::app {

inline constexpr const char* version = "0.1.0";

}  // namespace sched::app
