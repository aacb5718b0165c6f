// coatroom-speed: how fast the inner loops are. The cases stand in speed/, one file an area; each
// also reports what it reached, so that faster-but-worse shows.

#include <benchmark/benchmark.h>

BENCHMARK_MAIN();
