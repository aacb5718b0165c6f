// Every diagnostic of the reader, each by one case in tests/bad_input: a small change to the good
// folder and the exact findings that it must give. A case file has these lines, the first three
// repeatable:
//   file: room.yaml      the file that the next lines change
//   find: text           first occurrence, "\n" a line break
//   put: text            what stands there instead; without a find before it, the whole file
//   expect: finding      as printed, one a line, in the order of the file; several are repeated

#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "model/read/chance_file.hpp"
#include "model/read/scenario.hpp"
#include "model/read/state_file.hpp"
#include "tests/catch.hpp"

namespace {

namespace fs = std::filesystem;

const std::string source = COATROOM_SOURCE;
const fs::path bad_input = fs::path(COATROOM_TEST_DATA) / "bad_input";
const std::vector<std::string> file_names{"room.yaml", "orders.csv", "frames.csv", "weather.csv"};

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::stringstream out;
    out << in.rdbuf();
    return out.str();
}

/// A folder that goes away with its owner.
class TemporaryFolder {
public:
    TemporaryFolder() {
        static int number = 0;
        path_ = fs::temp_directory_path() /
                ("coatroom_read_" + std::to_string(::getpid()) + "_" + std::to_string(++number));
        fs::create_directories(path_);
    }
    ~TemporaryFolder() { fs::remove_all(path_); }
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    const fs::path& path() const { return path_; }

private:
    fs::path path_;
};

using Files = std::map<std::string, std::string>;

Files good_files() {
    Files files;
    for (const std::string& name : file_names)
        files[name] = text_of(bad_input / "good" / name);
    return files;
}

struct Outcome {
    bool read = false;
    std::vector<model::Diagnostic> found;
    std::vector<std::string> lines;  // as printed, without the folder
};

Outcome read_files(const Files& files) {
    const TemporaryFolder folder;
    for (const auto& [name, text] : files) {
        std::ofstream(folder.path() / name, std::ios::binary) << text;
    }
    model::Diagnostics diagnostics;
    Outcome outcome;
    const auto scenario = model::read_scenario(folder.path().string(), diagnostics);
    outcome.read = scenario && model::read_chance(*scenario, diagnostics);
    const std::string state = (folder.path() / model::state_file_name).string();
    outcome.read = model::read_state(state, false, diagnostics) && outcome.read;
    outcome.found = diagnostics.sorted();
    const std::string prefix = folder.path().string() + "/";
    for (const model::Diagnostic& d : outcome.found) {
        std::string line = to_text(d);
        if (line.rfind(prefix, 0) == 0) line.erase(0, prefix.size());
        outcome.lines.push_back(line);
    }
    return outcome;
}

std::string unescaped(std::string text) {
    for (const auto& [from, to] : {std::pair{"\\n", "\n"}, {"\\t", "\t"}, {"\\r", "\r"}}) {
        for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; ++at) {
            text.replace(at, 2, to);
        }
    }
    return text;
}

struct Case {
    Files files;
    std::vector<std::string> expected;
    bool sound = true;  // every find was found
};

Case load_case(const fs::path& path) {
    Case out;
    out.files = good_files();
    std::istringstream in(text_of(path));
    std::string file;
    std::string find;
    for (std::string line; std::getline(in, line);) {
        const std::size_t colon = line.find(": ");
        const std::string word = line.substr(0, colon);
        const std::string rest = colon == std::string::npos ? "" : line.substr(colon + 2);
        if (word == "file") {
            file = rest;
        } else if (word == "find") {
            find = unescaped(rest);
        } else if (word == "put") {
            std::string& text = out.files[file];
            const std::size_t at = find.empty() ? 0 : text.find(find);
            out.sound = out.sound && at != std::string::npos;
            if (at == std::string::npos) continue;
            text = find.empty() ? unescaped(rest) : text.replace(at, find.size(), unescaped(rest));
            find.clear();
        } else if (word == "remove") {
            out.files.erase(rest);
        } else if (word == "expect") {
            out.expected.push_back(rest);
        } else {
            out.sound = out.sound && (line.empty() || line[0] == '#');
        }
    }
    return out;
}

std::vector<fs::path> case_files() {
    std::vector<fs::path> out;
    for (const auto& entry : fs::directory_iterator(bad_input)) {
        if (entry.path().extension() == ".case") out.push_back(entry.path());
    }
    std::sort(out.begin(), out.end());
    return out;
}

// Writes what is found now into the cases; read the difference before committing it:
//   COATROOM_RENEW_CASES=1 build/test/tests/tests_read
void renew_cases() {
    for (const fs::path& path : case_files()) {
        const Case bad = load_case(path);
        std::istringstream in(text_of(path));
        std::string out;
        for (std::string line; std::getline(in, line);) {
            if (line.rfind("expect: ", 0) != 0) out += line + "\n";
        }
        for (const std::string& line : read_files(bad.files).lines)
            out += "expect: " + line + "\n";
        std::ofstream(path, std::ios::binary) << out;
    }
}

}  // namespace

TEST_CASE("the good folder has nothing wrong", "[read][bad_input]") {
    const Outcome outcome = read_files(good_files());
    CHECK(outcome.read);
    CHECK(outcome.lines.empty());
}

TEST_CASE("each bad input gives exactly its findings, placed and worded", "[read][bad_input]") {
    if (std::getenv("COATROOM_RENEW_CASES") != nullptr) renew_cases();
    REQUIRE(case_files().size() > 60);
    for (const fs::path& path : case_files()) {
        INFO(path.filename().string());
        const Case bad = load_case(path);
        REQUIRE(bad.sound);
        REQUIRE_FALSE(bad.expected.empty());
        const Outcome outcome = read_files(bad.files);
        CHECK(outcome.lines == bad.expected);
        const bool only_warnings = std::all_of(
            outcome.found.begin(), outcome.found.end(),
            [](const model::Diagnostic& d) { return d.severity == model::Severity::Warning; });
        CHECK(outcome.read == only_warnings);
    }
}

TEST_CASE("every code that the reader can give has a case that gives it", "[read][bad_input]") {
    // Codes stand in the source as the only text in kebab-case directly after a place or a "?".
    std::set<std::string> in_source;
    const std::regex code("\"([a-z0-9]+(-[a-z0-9]+)+)\"");
    for (const auto& entry : fs::directory_iterator(source + "/model/read")) {
        const std::string text = text_of(entry.path());
        for (std::sregex_iterator it(text.begin(), text.end(), code), end; it != end; ++it) {
            in_source.insert((*it)[1]);
        }
    }
    for (const char* no_code : {"120-34", "77-55", "2026-11-26", "2026-11-27", "dual-cure",
                                "light-safe", "warm-up", "draw-down", "wash-out"}) {
        in_source.erase(no_code);
    }
    for (const char* built :
         {"unknown-mesh", "unknown-emulsion", "unknown-coat-plan", "unknown-order"}) {
        in_source.insert(built);
    }
    // Of change files: change_file_test.cpp.
    for (const char* elsewhere : {"like-nothing", "remove-nothing"})
        in_source.erase(elsewhere);
    // Of a file of enquiries: enquiry_file_test.cpp.
    in_source.erase("no-enquiries");
    // Of the journal of promises: promise_file_test.cpp.
    for (const char* elsewhere : {"before-asked", "forecast-order", "not-json"})
        in_source.erase(elsewhere);
    // Of marks of past days: mark_file_test.cpp.
    for (const char* elsewhere : {"mark-incomplete", "mark-twice", "unknown-mark"})
        in_source.erase(elsewhere);
    // What only generated files can show (hostile_test.cpp) or what needs another machine.
    for (const char* elsewhere : {"file-too-large", "nul-byte", "not-utf8", "too-many-rows",
                                  "too-many-cells", "too-many-values", "nesting-too-deep",
                                  "too-many-errors", "text-too-long", "file-unreadable"}) {
        in_source.erase(elsewhere);
    }
    std::set<std::string> in_cases;
    const std::regex expected("(error|warning): .*\\(([a-z0-9-]+)\\)$");
    for (const fs::path& path : case_files()) {
        for (const std::string& line : load_case(path).expected) {
            std::smatch match;
            if (std::regex_search(line, match, expected)) in_cases.insert(match[2]);
        }
    }
    for (const std::string& name : in_source) {
        INFO(name);
        CHECK(in_cases.count(name) == 1);
    }
}
