#pragma once
// The event log of a simulated day, read from its first event to its last: which screens came into
// the room, which left it ready, which were made again. Knows nothing of the engine.

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace planned {

/// One step of one screen. In the log those of a screen stand in the order of its way.
struct LoggedStep {
    int screen = 0;
    int round = 0;                  // 0: as planned; 1, 2, ...: made again once, twice, ...
    bool last = false;              // with it the screen is ready
    bool bad = false;               // when it is done the screen is found bad
    std::int64_t from = 0, to = 0;  // s
};

struct DayFigures {
    int came = 0;
    int ready = 0;
    int inside = 0;  // have come and are not ready when the log ends
    int again = 0;   // times that a screen was begun again, that had been found bad
    /// Little's law, L T = λ T W: screens inside summed over time, and how long each that became
    /// ready was inside. The same where nobody is left.
    std::int64_t area = 0, stays = 0;      // screen-seconds
    std::map<int, std::int64_t> ready_at;  // by screen, s
    std::vector<std::string> wrong;        // what no screen can do
};

DayFigures figures_of(const std::vector<LoggedStep>& steps);

}  // namespace planned
