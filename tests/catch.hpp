#pragma once
// The only place that knows which Catch2 is installed.
#if COATROOM_CATCH >= 3
#include <catch2/catch_all.hpp>
using Catch::Approx;
#else
#include <catch2/catch.hpp>  // brings Approx itself
#endif
