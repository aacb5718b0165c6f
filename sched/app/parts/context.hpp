#pragma once
// What every command shares: exit status, diagnostics, progress on the terminal. Only this folder
// prints, exits or looks at the clock.

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "model/base/diagnostic.hpp"

namespace sched::app {

/// 0 done, 1 the answer is no (a plan that breaks a rule), 2 the input is wrong; 70 a fault of the
/// program, 74 what was asked for could not be printed (sysexits.h); 130 Ctrl-C came before the
/// answer was sure.
enum ExitStatus { Done = 0, No = 1, BadInput = 2, Fault = 70, NotPrinted = 74, Interrupted = 130 };

/// Prints diagnostics to the error stream, one a line, sorted; as a JSON array with `json`.
void print_diagnostics(const model::Diagnostics& diagnostics, bool json);

/// How a stream is looked at: columns (0: no terminal), and whether in colour (a terminal, and
/// NO_COLOR is not set).
struct Terminal {
    int columns = 0;
    bool colour = false;
};
Terminal terminal_of(int file);

/// A line on the error stream that rewrites itself, shown after two seconds, if it is a terminal;
/// without a terminal a line every ten seconds. What is longer than the terminal is cut.
class ProgressLine {
public:
    ProgressLine();
    ~ProgressLine();
    ProgressLine(const ProgressLine&) = delete;
    ProgressLine& operator=(const ProgressLine&) = delete;
    void show(const std::string& text);

private:
    std::chrono::steady_clock::time_point begun_;
    std::chrono::steady_clock::time_point last_;
    bool terminal_;
    bool shown_ = false;
};

}  // namespace sched::app
