#pragma once
// An accepted enquiry becomes a promise of the journal and a line of orders.csv: under a lock, in
// one stroke.

#include <filesystem>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"

namespace sched::app {

/// While it lives no other process holds the lock of the scenario folder (flock on a file in it).
/// Read the orders, answer, and write them within one lock: then no two enquiries are answered
/// from the same orders. Who writes into room.yaml or chance.yaml reads it within the lock as well:
/// then nobody's value is lost. Whoever gets it completes first what others left undone.
class ScenarioLock {
public:
    enum class Wait { Yes, No };
    explicit ScenarioLock(const std::string& folder, Wait wait = Wait::Yes);
    ~ScenarioLock();
    ScenarioLock(const ScenarioLock&) = delete;
    ScenarioLock& operator=(const ScenarioLock&) = delete;
    bool held() const { return !files_.empty(); }
    const std::string& problem() const { return problem_; }

private:
    bool take(const std::filesystem::path& folder, Wait wait);
    void release();

    std::vector<int> files_;
    std::string problem_;
};

enum class Accepted { Yes, No, Unknown };  // Unknown: the disk fails; it shows when it works again

/// Adds the order, due at the recommended time, to orders.csv, and what was promised to the
/// journal: both or neither, after a kill or a power cut too. Whoever reads orders.csv meets the
/// old or the new one, never half of it. promises.csv is taken into the journal before, once.
/// @pre the lock is held. @returns with `problem` unless it is accepted.
Accepted accept_order(const std::string& folder, const study::Promise& promise,
                      std::string& problem);

/// An acceptance that was broken off behind its promise is completed, before the folder is read.
/// Does nothing where there is none, or somebody is at it.
void complete_acceptances(const std::string& folder);

}  // namespace sched::app
