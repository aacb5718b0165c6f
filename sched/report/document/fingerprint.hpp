#pragma once
// SHA-256 (FIPS 180-4) by libmd, so that `sha256sum room.yaml` gives the same digits.

#include <string>
#include <string_view>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// @returns 64 lower-case hex digits.
std::string sha256_hex(std::string_view bytes);

/// The same digest in base 64, as a Content-Security-Policy wants it: "sha256-...=".
std::string sha256_csp(std::string_view bytes);

/// One input file of a plan.
InputFile input_file(std::string name, std::string_view bytes);

/// Digest over "name digest\n" of each file, in the order given.
std::string fingerprint_of(const std::vector<InputFile>& inputs);

}  // namespace sched::report
