#pragma once
// The plan that the board shows: one plan.json, read again when it changes on the disk. A broken
// file leaves the last good plan standing and says so.

#include <atomic>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::board {

struct ShelfFile {
    std::string type;  // media type
    std::string body;
};

/// One state of the shelf; immutable, shared by requests.
struct Shelf {
    std::string version;  // changes whenever anything below does
    std::string message;  // what is wrong with the file now; empty: nothing
    bool planned = false;
    std::map<std::string, ShelfFile> files;  // by exact name: "plan.html", "board.json", ...
};

/// @returns what a judge finds wrong with the plan, in words; empty: nothing.
using PlanChecker = std::function<std::vector<std::string>(const report::PlanDocument&)>;

class PlanShelf {
public:
    /// @param path of plan.json. It need not exist yet.
    PlanShelf(std::filesystem::path path, PlanChecker checker);
    /// Looks at the file's time and size first; safe from any thread.
    std::shared_ptr<const Shelf> current();

private:
    std::shared_ptr<const Shelf> load(std::shared_ptr<const Shelf> old) const;

    std::filesystem::path path_;
    PlanChecker checker_;
    std::mutex mutex_;
    std::string seen_;  // time and size of the file that `shelf_` was made from
    std::shared_ptr<const Shelf> shelf_;
};

/// plan.html as the board serves it: it opens in the safelight view.
std::string in_safelight(std::string page);

}  // namespace sched::board
