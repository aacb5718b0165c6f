// Data flows one way: who may include whom, read from the include lines of the tree. The table is
// the whole truth; CMakeLists.txt links accordingly.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "tests/catch.hpp"

namespace {

namespace fs = std::filesystem;

/// Folder -> folders whose headers it may name, besides its own.
const std::map<std::string, std::set<std::string>>& may_see() {
    static const std::map<std::string, std::set<std::string>> table = {
        {"model/base", {}},
        {"model/room", {"model/base"}},
        {"model/physics", {"model/base", "model/room"}},
        {"model/read", {"model/base", "model/room", "model/physics"}},
        {"model/begin", {"model/base", "model/room", "model/read"}},
        {"model/route", {"model/room"}},
        {"sched/core", {"model/base"}},
        {"sched/journal", {"model/base", "model/room"}},
        {"sched/compile",
         {"model/base", "model/room", "model/physics", "model/route", "sched/core"}},
        {"sched/engine", {"sched/core"}},
        {"sched/engine/decode", {"sched/core", "sched/engine"}},
        {"sched/search/base", {"sched/core"}},
        {"sched/search/bounds", {"sched/core", "sched/search/base"}},
        {"sched/search/exact/lcg", {}},
        {"sched/search/exact",
         {"sched/core", "sched/search/base", "sched/search/bounds", "sched/search/exact/lcg"}},
        {"sched/search/room",
         {"sched/core", "sched/engine", "sched/engine/decode", "sched/search/base",
          "sched/search/bounds"}},
        {"sched/search",
         {"sched/core", "sched/search/base", "sched/search/exact", "sched/search/room"}},
        {"sched/advise",
         {"model/base", "sched/core", "sched/engine", "sched/engine/decode", "sched/search/base",
          "sched/search/bounds", "sched/search/exact", "sched/search/room", "sched/search"}},
        {"sched/check", {"sched/core"}},
        // Reads the scenario and the document; what the compiler made of them it must not see.
        {"sched/check/room",
         {"model/base", "model/room", "model/physics", "sched/core", "sched/report/document"}},
        {"sched/statistics", {"model/room", "sched/core", "sched/engine"}},
        {"sched/chance",
         {"model/base", "model/room", "sched/core", "sched/compile", "sched/engine",
          "sched/statistics"}},
        {"sched/simulate",
         {"model/base", "model/room", "sched/core", "sched/compile", "sched/engine",
          "sched/engine/decode", "sched/search/base", "sched/search/room", "sched/advise",
          "sched/statistics", "sched/chance"}},
        {"sched/promise",
         {"model/base", "model/room", "sched/core", "sched/compile", "sched/engine",
          "sched/engine/decode", "sched/search", "sched/advise", "sched/statistics", "sched/chance",
          "sched/simulate"}},
        {"sched/size",
         {"model/room", "model/physics", "sched/core", "sched/compile", "sched/engine",
          "sched/search", "sched/statistics", "sched/chance", "sched/simulate", "sched/promise"}},
        {"sched/tune",
         {"model/base", "model/room", "model/physics", "sched/core", "sched/engine",
          "sched/statistics", "sched/chance"}},
        {"sched/report/document", {"model/base", "sched/core", "sched/compile"}},
        {"sched/report/words", {"model/base", "model/room", "sched/report/document"}},
        {"sched/report/physics",
         {"model/base", "model/room", "model/physics", "sched/report/words"}},
        {"sched/report/plan",
         {"model/base", "sched/core", "sched/advise", "sched/report/document",
          "sched/report/words"}},
        {"sched/report/promise",
         {"model/base", "model/room", "sched/statistics", "sched/promise", "sched/report/document",
          "sched/report/words", "sched/report/plan"}},
        {"sched/report/weeks",
         {"model/room", "sched/compile", "sched/simulate", "sched/report/words"}},
        {"sched/report/tune",
         {"model/base", "model/room", "sched/tune", "sched/report/document", "sched/report/words"}},
        {"sched/report/size",
         {"model/base", "sched/size", "sched/report/document", "sched/report/words"}},
        {"sched/board",
         {"sched/core", "sched/report/document", "sched/report/words", "sched/report/plan"}},
        {"sched/app/parts", {"model/base",           "model/room",
                             "model/read",           "sched/core",
                             "sched/compile",        "sched/engine",
                             "sched/search/base",    "sched/search",
                             "sched/search/bounds",  "sched/advise",
                             "sched/check",          "sched/check/room",
                             "sched/chance",         "sched/simulate",
                             "sched/promise",        "sched/report/document",
                             "sched/report/words",   "sched/report/plan",
                             "sched/report/promise", "sched/board",
                             "sched/journal"}},
        {"sched/app/commands",
         {"model/base",           "model/room",           "model/read",
          "model/begin",          "sched/core",           "sched/compile",
          "sched/advise",         "sched/chance",         "sched/check",
          "sched/simulate",       "sched/promise",        "sched/report/document",
          "sched/report/words",   "sched/report/physics", "sched/report/plan",
          "sched/report/promise", "sched/report/size",    "sched/report/weeks",
          "sched/report/tune",    "sched/tune",           "sched/board",
          "sched/journal",        "sched/app/parts"}},
        {"sched/app", {"sched/simulate", "sched/app/parts"}},
    };
    return table;
}

/// Heavy or far-reaching headers and the folders that alone may name them (design: each met once).
const std::map<std::string, std::set<std::string>>& libraries() {
    static const std::map<std::string, std::set<std::string>> table = {
        {"<yaml-cpp/", {"model/read"}},
        {"<csv.h>", {"model/read"}},
        {"<boost/graph/", {"model/route"}},
        {"<CLI/", {"sched/app"}},
        {"<httplib.h>", {"sched/board"}},
        {"<sqlite3.h>", {"sched/journal"}},
        {"<iostream>", {}},
    };
    return table;
}

/// What no library does: print, leave, read the environment or the clock of the machine, or draw
/// from distributions that differ between standard libraries.
const std::vector<std::string>& forbidden() {
    static const std::vector<std::string> words = {"std::cout",
                                                   "std::cerr",
                                                   "std::exit",
                                                   "std::abort",
                                                   "std::quick_exit",
                                                   "getenv(",
                                                   "std::printf",
                                                   "fmt::print(",
                                                   "std::random_device",
                                                   "uniform_int_distribution",
                                                   "uniform_real_distribution",
                                                   "system_clock::now",
                                                   "std::default_random_engine"};
    return words;
}

struct Line {
    std::string folder;  // model/base, ...
    std::string file;
    int number = 0;
    std::string text;
};

std::string folder_of(const std::string& path) {
    return path.substr(0, path.rfind('/'));
}

const std::vector<Line>& tree() {
    static const std::vector<Line> lines = [] {
        std::vector<Line> all;
        const fs::path root = COATROOM_SOURCE;
        std::vector<fs::path> files;
        for (const char* top : {"model", "sched"}) {
            for (const auto& entry : fs::recursive_directory_iterator(root / top)) {
                const auto extension = entry.path().extension();
                if (extension == ".hpp" || extension == ".cpp") files.push_back(entry.path());
            }
        }
        std::sort(files.begin(), files.end());
        for (const auto& path : files) {
            const std::string name = fs::relative(path, root).generic_string();
            std::ifstream in(path);
            std::string text;
            for (int number = 1; std::getline(in, text); ++number)
                all.push_back({folder_of(name), name, number, text});
        }
        return all;
    }();
    return lines;
}

/// The name between the quotes of an #include "..." line, or empty.
std::string quoted_include(const std::string& text) {
    std::istringstream in(text);
    std::string hash;
    in >> hash;
    if (hash == "#") {
        std::string word;
        in >> word;
        hash += word;
    }
    const auto open = text.find('"');
    if (hash.rfind("#include", 0) != 0 || open == std::string::npos) return {};
    return text.substr(open + 1, text.find('"', open + 1) - open - 1);
}

}  // namespace

TEST_CASE("no folder includes what the table does not allow", "[layers]") {
    int includes = 0;
    for (const Line& line : tree()) {
        const std::string name = quoted_include(line.text);
        if (name.empty()) continue;
        ++includes;
        CAPTURE(line.file, line.number, line.text);
        const auto allowed = may_see().find(line.folder);
        REQUIRE(allowed != may_see().end());  // a new folder gets its line in the table
        const std::string target = folder_of(name);
        CHECK((target == line.folder || allowed->second.count(target) == 1));
        CHECK(fs::exists(fs::path(COATROOM_SOURCE) / name));  // named from the root
    }
    CHECK(includes > 100);
}

TEST_CASE("the table itself goes one way", "[layers]") {
    // Repeatedly take out folders that see nothing left; a circle would remain.
    auto left = may_see();
    for (bool taken = true; taken;) {
        taken = false;
        for (auto it = left.begin(); it != left.end();) {
            const bool free = std::none_of(it->second.begin(), it->second.end(),
                                           [&](const std::string& f) { return left.count(f); });
            if (free) {
                it = left.erase(it);
                taken = true;
            } else {
                ++it;
            }
        }
    }
    CHECK(left.empty());
    for (const auto& [folder, seen] : may_see()) {
        for (const auto& f : seen)
            CHECK(may_see().count(f) == 1);
    }
    // The judge sees the contract alone, and nobody but the program and the tests sees the checker.
    CHECK(may_see().at("sched/check") == std::set<std::string>{"sched/core"});
    for (const auto& [folder, seen] : may_see())
        CHECK((folder.rfind("sched/app", 0) == 0 || seen.count("sched/check") == 0));
}

TEST_CASE("each heavy library is met in its folder only", "[layers]") {
    for (const Line& line : tree()) {
        if (line.text.rfind("#include <", 0) != 0) continue;
        for (const auto& [header, folders] : libraries()) {
            if (line.text.find(header) == std::string::npos) continue;
            CAPTURE(line.file, line.number, line.text);
            CHECK(folders.count(line.folder) == 1);
        }
    }
}

TEST_CASE("libraries do not print, exit, read the environment or the machine's clock", "[layers]") {
    for (const Line& line : tree()) {
        if (line.folder.rfind("sched/app", 0) == 0) continue;
        for (const auto& word : forbidden()) {
            const auto at = line.text.find(word);
            if (at == std::string::npos || line.text.find("//") < at) continue;
            CAPTURE(line.file, line.number, line.text, word);
            CHECK(line.text.find(word) == std::string::npos);
        }
    }
}
