// Files that want to exhaust memory, stack or time, or that hold no text: each ends at once with a
// finding. Made here, so that no 10 MB file stands in the repository.

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>

#include "model/read/scenario.hpp"
#include "tests/catch.hpp"

namespace {

namespace fs = std::filesystem;

/// A copy of the good folder in which files are replaced.
class HostileFolder {
public:
    HostileFolder() {
        static int number = 0;
        path_ = fs::temp_directory_path() /
                ("coatroom_hostile_" + std::to_string(::getpid()) + "_" + std::to_string(++number));
        fs::copy(fs::path(COATROOM_TEST_DATA) / "bad_input" / "good", path_);
    }
    ~HostileFolder() { fs::remove_all(path_); }
    HostileFolder(const HostileFolder&) = delete;
    HostileFolder& operator=(const HostileFolder&) = delete;

    fs::path file(const std::string& name) const { return path_ / name; }
    void put(const std::string& name, const std::string& text) const {
        std::ofstream(path_ / name, std::ios::binary) << text;
    }
    /// "file:line:column code" of the first error that is not a missing key; "" when the folder is
    /// read.
    std::string first_error() const {
        model::Diagnostics diagnostics;
        if (model::read_scenario(path_.string(), diagnostics)) return "";
        CHECK(diagnostics.all().size() <= 404);  // 100 a file, and one more that says so
        for (const model::Diagnostic& d : diagnostics.sorted()) {
            // Keys that a hostile file lacks are beside the point.
            if (d.severity != model::Severity::Error || d.code == "key-missing") continue;
            return fs::path(d.place.file).filename().string() + ":" + std::to_string(d.place.line) +
                   ":" + std::to_string(d.place.column) + " " + d.code;
        }
        return diagnostics.has_errors() ? "key-missing alone" : "no error, yet nothing read";
    }

private:
    fs::path path_;
};

std::string repeated(const std::string& text, int times) {
    std::string out;
    for (int i = 0; i < times; ++i)
        out += text;
    return out;
}

}  // namespace

TEST_CASE("hostile YAML ends at once with a finding", "[read][hostile]") {
    const HostileFolder folder;
    const auto room = [&](const std::string& text) {
        folder.put("room.yaml", text);
        return folder.first_error();
    };
    CHECK(room(",") == "room.yaml:1:1 second-document");
    CHECK(room("") == "room.yaml:1:1 file-empty");
    CHECK(room("\xEF\xBB\xBF") == "room.yaml:1:1 file-empty");
    CHECK(room(repeated("[", 1000)) == "room.yaml:1:9 nesting-too-deep");
    CHECK(room(repeated("{a: ", 1000)) == "room.yaml:1:61 nesting-too-deep");
    CHECK(room(repeated("- ", 1000)) == "room.yaml:1:33 nesting-too-deep");
    CHECK(room("room: &a [x]\nb: &b [*a,*a,*a,*a,*a,*a]\nc: [*b,*b,*b,*b,*b,*b]\n") ==
          "room.yaml:1:7 yaml-anchor");
    CHECK(room("room: &x [1, *x]\n") == "room.yaml:1:7 yaml-anchor");
    CHECK(room("room: *nowhere\n").find("room.yaml:1:") == 0);
    CHECK(room("room: " + std::string(1001, 'x') + "\n") == "room.yaml:1:7 text-too-long");
    CHECK(room("room: " + std::string(1000000, 'x') + "\n") == "room.yaml:1:7 text-too-long");
    CHECK(room("aims: [" + repeated("a,", 30000) + "]") == "room.yaml:1:40002 too-many-values");
    CHECK(room(std::string(1048577, ' ')) == "room.yaml:0:0 file-too-large");
    CHECK(room(std::string(10000000, 'x')) == "room.yaml:0:0 file-too-large");
    CHECK(room(std::string("room: a\0b\n", 10)) == "room.yaml:1:8 nul-byte");
    CHECK(room("room: Gr\xFC\xDF"
               "e\n") == "room.yaml:1:9 not-utf8");
    CHECK(room("room: ä\xED\xA0\x80\n") == "room.yaml:1:8 not-utf8");           // lone surrogate
    CHECK(room("room: x\nb: \xC0\xAF\n") == "room.yaml:2:4 not-utf8");          // overlong
    CHECK(room("room: \xF4\x90\x80\x80\n") == "room.yaml:1:7 not-utf8");        // above U+10FFFF
    CHECK(room(std::string("\xFF\xFEr\0o\0", 6)) == "room.yaml:1:1 not-utf8");  // UTF-16
    CHECK(room("%YAML 9.9\n---\nroom: x\n").find("room.yaml:1:") == 0);
    CHECK(room("? [a]\n: b\n").find("room.yaml:1:") == 0);
    CHECK(room("\"\\ud800\": x\n").find("room.yaml:1:") == 0);
    CHECK(room(repeated("k: 1\n", 20001)).find("too-many-values") != std::string::npos);
    CHECK(room(repeated("k: 1\n", 5000)).find("room.yaml:") == 0);
}

TEST_CASE("a thousand wrong keys give a hundred findings and one that says so", "[read][hostile]") {
    const HostileFolder folder;
    std::string text = "room: x\n";
    for (int i = 0; i < 1000; ++i)
        text += "k" + std::to_string(i) + ": 1\n";
    folder.put("room.yaml", text);
    model::Diagnostics diagnostics;
    CHECK_FALSE(model::read_scenario(folder.file("").string(), diagnostics));
    int in_room = 0;
    for (const model::Diagnostic& d : diagnostics.all()) {
        if (d.place.file.find("room.yaml") != std::string::npos) ++in_room;
    }
    CHECK(in_room == 101);
    CHECK(diagnostics.all().at(100).code == "too-many-errors");
}

TEST_CASE("hostile CSV ends at once with a finding", "[read][hostile]") {
    const HostileFolder folder;
    const std::string header = "size,mesh,state,count\n";
    const std::string line = "58 x 84 cm,77-55,ready,1\n";
    const auto frames = [&](const std::string& text) {
        folder.put("frames.csv", text);
        return folder.first_error();
    };
    CHECK(frames(",") == "frames.csv:1:1 unknown-column");
    CHECK(frames("\"") == "frames.csv:1:1 csv-quote");
    CHECK(frames("# only a comment") == "frames.csv:1:1 file-empty");
    CHECK(frames(header + line) == "");
    CHECK(frames(header + "\"58 x 84 cm\",77-55,ready,1") == "");  // no line end at the end
    CHECK(frames("\xEF\xBB\xBFsize\tmesh\tstate\tcount\r\n58 x 84 cm\t77-55\tready\t1\r\n") == "");
    CHECK(frames("size;mesh;state;count\r58 x 84 cm;77-55;ready;1\r") == "");  // lone CR
    CHECK(frames(header + repeated("\n", 10000) + line) == "");
    CHECK(frames(header + repeated(line, 20001)) == "frames.csv:20001:25 too-many-rows");
    CHECK(frames(header + repeated(",", 70) + "\n") == "frames.csv:2:65 too-many-cells");
    CHECK(frames(header + "\"" + std::string(1000000, 'x') + "\",77-55,ready,1\n") ==
          "frames.csv:2:1 text-too-long");
    CHECK(frames(std::string(std::size_t{8} * 1024 * 1024 + 1, 'x')) ==
          "frames.csv:0:0 file-too-large");
    CHECK(frames(std::string(10000000, ',')) == "frames.csv:0:0 file-too-large");
    CHECK(frames(header + std::string("58 x 84 cm,77\0,ready,1\n", 23)) ==
          "frames.csv:2:14 nul-byte");
    CHECK(frames(header + "58 x 84 cm,\x80,ready,1\n") == "frames.csv:2:12 not-utf8");
    for (const char* number : {"1e999", "010", "nan", "-1", "0x10", "99999999999999", "1.5", "٣"}) {
        INFO(number);
        CHECK(frames(header + "58 x 84 cm,77-55,ready," + number + "\n").find("frames.csv:2:24 ") ==
              0);
    }
    CHECK(frames(header + repeated("\"\"\"\"\"\"\n", 5000)).find("frames.csv:2:") == 0);
}

TEST_CASE("what is no file is named", "[read][hostile]") {
    const HostileFolder folder;
    fs::remove(folder.file("frames.csv"));
    fs::create_directory(folder.file("frames.csv"));
    CHECK(folder.first_error() == "frames.csv:0:0 file-unreadable");
    model::Diagnostics diagnostics;
    CHECK_FALSE(model::read_scenario("/nonexistent/folder", diagnostics));
    CHECK(diagnostics.error_count() == 3);
}

TEST_CASE("random damage to the good files never does worse than a finding", "[read][hostile]") {
    const HostileFolder folder;
    std::mt19937 random(20261126);
    for (const std::string name : {"room.yaml", "orders.csv", "frames.csv", "weather.csv"}) {
        std::stringstream original;
        original << std::ifstream(folder.file(name), std::ios::binary).rdbuf();
        const std::string good = original.str();
        for (int round = 0; round < 300; ++round) {
            std::string bad = good;
            const auto changes = 1 + random() % 4;
            for (unsigned long c = 0; c < changes && !bad.empty(); ++c) {
                const std::size_t at = random() % bad.size();
                switch (random() % 4) {
                    case 0:
                        bad.erase(at, 1 + random() % 20);
                        break;
                    case 1:
                        bad.insert(at, 1, static_cast<char>(random() % 256));
                        break;
                    case 2:
                        bad[at] = "\"'[]{}:,;#&*!|>-\n\t %?"[random() % 21];
                        break;
                    default:
                        bad.insert(at, good.substr(random() % good.size(), random() % 40));
                }
            }
            folder.put(name, bad);
            const std::string outcome = folder.first_error();
            CHECK(outcome != "no error, yet nothing read");
        }
        folder.put(name, good);
    }
}
