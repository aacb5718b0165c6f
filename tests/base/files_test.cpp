// Files that are written together, beside other programs and what else may stand in their folder.

#include "model/base/files.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include "tests/catch.hpp"

namespace {

namespace fs = std::filesystem;
using namespace std::chrono_literals;

struct NewFolder {
    fs::path path;
    NewFolder() {
        std::string name = (fs::temp_directory_path() / "coatroom-files-XXXXXX").string();
        path = ::mkdtemp(name.data());
    }
    ~NewFolder() { fs::remove_all(path); }
    NewFolder(const NewFolder&) = delete;
    NewFolder& operator=(const NewFolder&) = delete;

    void put(const char* name, const std::string& text) const {
        std::ofstream(path / name) << text;
    }
    std::string text(const char* name) const {
        std::ifstream in(path / name);
        return {std::istreambuf_iterator<char>(in), {}};
    }
    std::size_t entries() const {
        return static_cast<std::size_t>(
            std::distance(fs::directory_iterator(path), fs::directory_iterator()));
    }
};

std::optional<std::string> write_pair(const NewFolder& folder, const std::string& text) {
    return model::write_files_together(
        folder.path, {{"a.txt", [&] { return text; }}, {"b.txt", [&] { return text; }}}, 60ms);
}

}  // namespace

TEST_CASE("who holds the folder for good keeps nobody waiting for good", "[files]") {
    const NewFolder folder;
    REQUIRE_FALSE(write_pair(folder, "old"));
    // Another open file description: flock(2) holds against it as against another program.
    const int other = ::open(folder.path.c_str(), O_RDONLY | O_DIRECTORY);
    REQUIRE(::flock(other, LOCK_EX) == 0);
    const auto failed = write_pair(folder, "new");
    REQUIRE(failed);
    CHECK(failed->find("another program is writing there") != std::string::npos);
    CHECK(folder.text("a.txt") == "old");
    CHECK(folder.text("b.txt") == "old");
    CHECK(folder.entries() == 2);  // no part, no record

    // A reader goes on as well, and leaves to the other what is his.
    folder.put("a.txt.part-1", "half");
    folder.put(".coatroom-written", "1\na.txt\n");
    model::complete_files(folder.path, 60ms);
    CHECK(folder.text("a.txt") == "old");

    ::close(other);
    model::complete_files(folder.path, 60ms);
    CHECK(folder.text("a.txt") == "half");
    CHECK_FALSE(write_pair(folder, "new"));
    CHECK(folder.text("a.txt") == "new");
    CHECK(folder.text("b.txt") == "new");
    CHECK(folder.entries() == 2);
}

TEST_CASE("a pipe or a folder in place of the record holds nobody", "[files]") {
    const NewFolder folder;
    REQUIRE_FALSE(write_pair(folder, "old"));
    SECTION("a pipe, which would never be read to its end") {
        REQUIRE(::mkfifo((folder.path / ".coatroom-written").c_str(), 0600) == 0);
    }
    SECTION("a folder") {
        fs::create_directory(folder.path / ".coatroom-written");
    }
    SECTION("a link to what never ends") {
        fs::create_symlink("/dev/zero", folder.path / ".coatroom-written");
    }
    model::complete_files(folder.path, 60ms);
    const auto failed = write_pair(folder, "new");
    REQUIRE(failed);
    CHECK(failed->find("this is no file") != std::string::npos);
    CHECK(folder.text("a.txt") == "old");
    CHECK(folder.entries() == 3);
}

TEST_CASE("a pipe is written into if somebody reads it", "[files]") {
    const NewFolder folder;
    const fs::path pipe = folder.path / "pipe";
    REQUIRE(::mkfifo(pipe.c_str(), 0600) == 0);
    const auto alone = model::write_file_atomically(pipe, "text");
    REQUIRE(alone);
    CHECK(alone->find("nobody reads this pipe") != std::string::npos);
    CHECK(fs::is_fifo(pipe));

    // As the shell hands on >(command): a link to an open pipe that has no name.
    int ends[2] = {-1, -1};
    REQUIRE(::pipe(ends) == 0);
    const std::string link = "/proc/self/fd/" + std::to_string(ends[1]);
    CHECK(model::write_file_atomically(link, "text") == std::nullopt);
    char got[8] = {};
    CHECK(::read(ends[0], got, sizeof got) == 4);
    CHECK(std::string(got) == "text");
    ::close(ends[0]);
    ::close(ends[1]);
}

TEST_CASE("a page of a result is changed as it stands, and not while another takes its place",
          "[files]") {
    const NewFolder folder;
    REQUIRE_FALSE(write_pair(folder, "old"));
    const auto longer = [](const std::string& text) { return text + "!"; };
    model::change_file(folder.path / "a.txt", longer, 60ms);
    CHECK(folder.text("a.txt") == "old!");
    model::change_file(folder.path / "none.txt", longer, 60ms);
    CHECK_FALSE(fs::exists(folder.path / "none.txt"));
    const int other = ::open(folder.path.c_str(), O_RDONLY | O_DIRECTORY);
    REQUIRE(::flock(other, LOCK_EX) == 0);
    model::change_file(folder.path / "a.txt", longer, 60ms);
    CHECK(folder.text("a.txt") == "old!");
    ::close(other);
    CHECK(folder.entries() == 2);
}
