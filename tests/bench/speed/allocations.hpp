#pragma once
// How often the program has asked for memory: the inner loops must not.

#include <cstdint>

/// Calls of operator new since the program began, by all threads.
std::int64_t allocations();
