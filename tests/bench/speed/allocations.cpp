#include "tests/bench/speed/allocations.hpp"

#include <atomic>
#include <cstdlib>
#include <new>

namespace {

std::atomic<std::int64_t> asked{0};

}  // namespace

std::int64_t allocations() {
    return asked.load(std::memory_order_relaxed);
}

// The default operator new[] and the nothrow forms call this one.
void* operator new(std::size_t size) {
    asked.fetch_add(1, std::memory_order_relaxed);
    if (void* p = std::malloc(size > 0 ? size : 1)) return p;
    throw std::bad_alloc();
}

void operator delete(void* p) noexcept {
    std::free(p);
}

void operator delete(void* p, std::size_t) noexcept {
    std::free(p);
}
