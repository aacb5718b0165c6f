// From nothing to a plan by the documented commands alone: begin, check, plan.

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

struct Done {
    int status = -1;
    std::string out;  // both streams
};

Done in_shell(const std::string& command) {
    Done done;
    FILE* pipe = popen((command + " 2>&1").c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::array<char, 4096> buffer{};
    std::size_t got = 0;
    while ((got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0)
        done.out.append(buffer.data(), got);
    const int status = pclose(pipe);
    done.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return done;
}

const std::string program = COATROOM_PROGRAM;
const std::string answers = std::string(COATROOM_SOURCE) + "/scenarios/answers/";

struct Work {
    fs::path path = fs::temp_directory_path() / ("coatroom-begin-" + std::to_string(getpid()));
    Work() {
        fs::remove_all(path);
        fs::create_directories(path);
    }
    ~Work() { fs::remove_all(path); }
    std::string at(const std::string& name) const { return (path / name).string(); }
    std::size_t entries(const std::string& name = "") const {
        return static_cast<std::size_t>(
            std::distance(fs::directory_iterator(path / name), fs::directory_iterator{}));
    }
};

std::string text_at(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

// Every "coatroom ..." line that the text says to type, with the program in its place.
std::vector<std::string> commands_in(const std::string& text) {
    std::vector<std::string> out;
    for (std::size_t at = text.find("\n  coatroom "); at != std::string::npos;
         at = text.find("\n  coatroom ", at + 1)) {
        const std::size_t from = at + 11;
        out.push_back(program + text.substr(from, text.find('\n', from) - from));
    }
    return out;
}

}  // namespace

TEST_CASE("two shops as answers go from nothing to a plan by what begin says", "[app][begin]") {
    for (const char* shop : {"small-shop", "large-shop"}) {
        const Work work;
        const Done begun = in_shell(program + " begin '" + work.at("my room") + "' --answers " +
                                    answers + shop + ".txt --date 2026-11-25");
        CAPTURE(shop, begun.out);
        REQUIRE(begun.status == 0);
        const auto next = commands_in(begun.out);
        REQUIRE(next.size() == 2);
        const Done check = in_shell(next[0] + " --date 2026-11-26");
        CAPTURE(check.out);
        CHECK(check.status == 0);
        CHECK(check.out.find("the input is sound") != std::string::npos);
        CHECK(check.out.find("warning") == std::string::npos);
        const Done plan =
            in_shell(next[1] + " --date 2026-11-26 --budget 200sch --replications 20 --quiet");
        CAPTURE(plan.out);
        CHECK(plan.status == 0);
        CHECK(fs::exists(work.path / "my room" / "plan" / "plan.html"));
        CHECK(fs::exists(work.path / "my room" / "plan" / "sheets.html"));
        // The example serves any day: its times have no date.
        CHECK(in_shell(next[0] + " --date 2027-03-02").status == 0);
    }
}

TEST_CASE("the README's first screen and docs/begin.md run as they are written", "[app][begin]") {
    for (const auto& [file, name] :
         {std::pair{"README.md", "./run.sh "}, std::pair{"docs/begin.md", "coatroom "}}) {
        const Work work;
        fs::create_directory_symlink(std::string(COATROOM_SOURCE) + "/scenarios",
                                     work.path / "scenarios");
        std::istringstream lines(text_at(std::string(COATROOM_SOURCE) + "/" + file));
        int run = 0;
        for (std::string line; std::getline(lines, line);) {
            if (!line.starts_with("    " + std::string(name))) {
                if (run > 0 && std::string(file) == "README.md") break;  // the first block
                continue;
            }
            ++run;
            std::string command = line.substr(4 + std::string(name).size());
            command = command.substr(0, command.find('#'));
            // A second room of the page is another one.
            if (command.find("--answers") != std::string::npos)
                fs::remove_all(work.path / "my-room");
            if (command.starts_with("plan")) command += " --budget 100sch --replications 10";
            const Done done =
                in_shell("cd " + work.path.string() + " && yes '' | " + program + " " + command);
            CAPTURE(file, line, done.out);
            CHECK(done.status == 0);
        }
        CHECK(run >= 3);
        if (std::string(file) == "README.md")
            CHECK(fs::exists(work.path / "my-room" / "plan" / "plan.html"));
    }
}

TEST_CASE("check says ten figures of the room, each with its key", "[app][begin]") {
    const Work work;
    std::ofstream(work.at("none.txt")) << "\n";
    REQUIRE(in_shell(program + " begin " + work.at("room") + " --date 2026-11-25 --answers " +
                     work.at("none.txt"))
                .status == 0);
    const Done check =
        in_shell(program + " check " + work.at("room") + " --date 2026-11-26 --json 2>/dev/null");
    REQUIRE(check.status == 0);
    const auto json = nlohmann::json::parse(check.out.substr(check.out.find("{\n")));
    CHECK(json["sound"] == true);
    REQUIRE(json["figures"].size() == 10);
    for (const auto& figure : json["figures"]) {
        CAPTURE(figure.dump());
        CHECK_FALSE(figure["says"].get<std::string>().empty());
        CHECK_FALSE(figure["change"].get<std::string>().empty());
    }
    // Common practice, no source: a coat dries in 20 to 60 minutes, a rinsed mesh in 15 to 30.
    const auto minutes = [&](const char* name) {
        for (const auto& figure : json["figures"]) {
            if (figure["name"] == name) return std::stoi(figure["says"].get<std::string>());
        }
        return -1;
    };
    CHECK(minutes("a rinsed mesh dries") >= 15);
    CHECK(minutes("a rinsed mesh dries") <= 30);
    CHECK(minutes("2+2 on 120-34 dries") >= 20);
    CHECK(minutes("2+2 on 120-34 dries") <= 60);
    // Nothing over 80 columns.
    const Done text = in_shell(program + " check " + work.at("room") + " --date 2026-11-26");
    std::istringstream lines(text.out);
    for (std::string line; std::getline(lines, line);) {
        CAPTURE(line);
        if (line.find(work.at("room")) == std::string::npos) CHECK(line.size() <= 80);
    }
}

TEST_CASE("begin asks, takes Enter, and asks again what it does not understand", "[app][begin]") {
    const Work work;
    const Done begun = in_shell("printf 'Ada\\n\\n\\n\\nlots\\n\\n\\n\\n\\n\\n\\n' | " + program +
                                " begin " + work.at("room") + " --date 2026-11-25");
    CAPTURE(begun.out);
    REQUIRE(begun.status == 0);
    CHECK(begun.out.find("10 of 10") != std::string::npos);
    CHECK(begun.out.find("\"lots\" is not understood") != std::string::npos);
    CHECK(text_at(work.at("room/room.yaml")).find("- name: Ada\n") != std::string::npos);
    // What was asked comes out the same from the answers that it keeps.
    REQUIRE(in_shell(program + " begin " + work.at("again") + " --date 2026-11-25 --answers " +
                     work.at("room/answers.txt"))
                .status == 0);
    CHECK(text_at(work.at("room/orders.csv")) == text_at(work.at("again/orders.csv")));
    CHECK(text_at(work.at("room/frames.csv")) == text_at(work.at("again/frames.csv")));
}

TEST_CASE("begin overwrites nothing and leaves nothing half", "[app][begin]") {
    const Work work;
    std::ofstream(work.at("none.txt")) << "\n";
    const std::string begin =
        program + " begin " + work.at("room") + " --answers " + work.at("none.txt");
    fs::create_directories(work.path / "room");
    std::ofstream(work.at("room/frames.csv")) << "mine";
    const Done refused = in_shell(begin);
    CHECK(refused.status == 2);
    CHECK(refused.out.find("frames.csv is there already") != std::string::npos);
    CHECK(text_at(work.at("room/frames.csv")) == "mine");
    CHECK(work.entries("room") == 1);
    // A folder that has other things in it is no obstacle.
    fs::rename(work.path / "room" / "frames.csv", work.path / "room" / "notes.txt");
    CHECK(in_shell(begin).status == 0);
    CHECK(work.entries("room") == 5);
    // Answers that end, or that do not go together: nothing.
    const Done ended = in_shell("printf '\\n\\n' | " + program + " begin " + work.at("other"));
    CHECK(ended.status == 2);
    CHECK(ended.out.find("Nothing was written") != std::string::npos);
    std::ofstream(work.at("two.txt"))
        << "stands: 1 stand, 1 unit, blanket 20 x 20 cm\npeople: Ada (only carrying)\n";
    const Done apart =
        in_shell(program + " begin " + work.at("other") + " --answers " + work.at("two.txt"));
    CAPTURE(apart.out);
    CHECK(apart.status == 2);
    CHECK_FALSE(fs::exists(work.path / "other"));
    CHECK(work.entries() == 3);  // none.txt, two.txt, room
}

TEST_CASE("a begin that was killed after its record is completed by the next who looks",
          "[app][begin]") {
    const Work work;
    std::ofstream(work.at("none.txt")) << "\n";
    const std::string begin = program + " begin " + work.at("room") +
                              " --date 2026-11-25 --answers " + work.at("none.txt");
    REQUIRE(in_shell(begin).status == 0);
    const std::string orders = text_at(work.at("room/orders.csv"));
    // As write_files_together leaves it: all written, the record there, one in its place.
    std::ofstream record(work.at("room/.coatroom-written"));
    record << "2147483646\n";
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv", "answers.txt"}) {
        record << name << "\n";
        if (std::string(name) != "room.yaml")
            fs::rename(work.path / "room" / name,
                       work.path / "room" / (std::string(name) + ".part-2147483646"));
    }
    record.close();
    SECTION("who begins there once more") {
        const Done again = in_shell(begin);
        CHECK(again.status == 2);
        CHECK(again.out.find("is there already") != std::string::npos);
    }
    SECTION("who checks the room") {
        CHECK(in_shell(program + " check " + work.at("room") + " --date 2026-11-25").status == 0);
    }
    CHECK(text_at(work.at("room/orders.csv")) == orders);
    CHECK(work.entries("room") == 4);
}
