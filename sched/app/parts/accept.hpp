#pragma once
// An accepted enquiry becomes a line of orders.csv: under a lock, in one stroke.

#include <filesystem>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"

namespace sched::app {

/// While it lives no other process holds the lock of the scenario folder (flock on a file in it).
/// Read the orders, answer, and write them within one lock: then no two enquiries are answered
/// from the same orders.
class ScenarioLock {
public:
    explicit ScenarioLock(const std::string& folder);
    ~ScenarioLock();
    ScenarioLock(const ScenarioLock&) = delete;
    ScenarioLock& operator=(const ScenarioLock&) = delete;
    bool held() const { return !files_.empty(); }
    const std::string& problem() const { return problem_; }

private:
    bool take(const std::filesystem::path& folder);
    bool complete(const std::filesystem::path& folder);
    void release();

    std::vector<int> files_;
    std::string problem_;
};

/// Adds the order, due at the recommended time, to orders.csv, and what was promised to
/// promises.csv: both or neither, after a kill or a power cut too. Each is written beside itself
/// and renamed over: whoever reads it meets the old or the new one, never half of it.
/// @pre the lock is held. @returns false with `problem`.
bool accept_order(const std::string& folder, const study::Promise& promise, std::string& problem);

}  // namespace sched::app
