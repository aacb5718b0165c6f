// The file: what is entered is there again, in order, once; what is no journal is left alone.

#include "sched/journal/journal.hpp"

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <thread>

#include "tests/catch.hpp"
#include "tests/support/failing_disk.hpp"

namespace {

namespace fs = std::filesystem;
using namespace sched::journal;
using Kind = Problem::Kind;

struct Folder {
    fs::path path;
    Folder() {
        path = fs::temp_directory_path() /
               ("coatroom-journal-" + std::to_string(getpid()) + "-" + std::to_string(number()++));
        fs::create_directories(path);
    }
    ~Folder() { fs::remove_all(path); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    static int& number() {
        static int n = 0;
        return n;
    }
    std::string file() const { return (path / journal_name).string(); }
};

SimTime at(const std::string& clock) {
    return *model::parse_date_time("2026-11-26T" + clock);
}

Entry mark(const std::string& clock, Mark m, const std::string& what,
           const std::string& step = {}) {
    return {.time = at(clock), .entered = at(clock), .mark = m, .what = what, .step = step};
}

Journal opened(const Folder& folder, Journal::For what = Journal::For::Writing) {
    Problem problem;
    auto journal = Journal::open(folder.path.string(), what, problem);
    INFO(problem.words);
    REQUIRE(journal.has_value());
    return std::move(*journal);
}

std::vector<Entry> all(const Journal& journal, std::int64_t after = 0) {
    Problem problem;
    const auto entries = journal.entries(after, problem);
    INFO(problem.words);
    REQUIRE(entries.has_value());
    return *entries;
}

std::string bytes_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

}  // namespace

TEST_CASE("what is entered is read back as it was, by another that opens the file", "[journal]") {
    const Folder folder;
    Problem problem;
    CHECK_FALSE(Journal::exists(folder.path.string()));
    CHECK_FALSE(Journal::open(folder.path.string(), Journal::For::Reading, problem));
    CHECK(problem.kind == Kind::Missing);
    CHECK_FALSE(Journal::exists(folder.path.string()));  // reading makes no file
    Entry whole{.time = at("09:12:30"),
                .entered = at("09:13"),
                .mark = Mark::Done,
                .what = "A7-2",
                .step = "face-coat",
                .round = 2,
                .station = "coating stand",
                .person = "Ada",
                .reason = "\"quoted\", ünd 'more'",
                .by = "AD",
                .device = "tablet 1",
                .client = "t1-17"};
    {
        Journal journal = opened(folder);
        const auto ids = journal.add({whole, mark("09:20", Mark::Down, "cabinet")}, problem);
        REQUIRE(ids);
        REQUIRE(ids->size() == 2);
        CHECK((*ids)[0].id == 1);
        CHECK((*ids)[1].id == 2);
        CHECK(*journal.last_id(problem) == 2);
    }
    const Journal again = opened(folder, Journal::For::Reading);
    const auto entries = all(again);
    REQUIRE(entries.size() == 2);
    whole.id = 1;
    CHECK(entries[0] == whole);
    CHECK(entries[1].mark == Mark::Down);
    CHECK(all(again, 1).size() == 1);
    CHECK(again.sound(problem));
}

TEST_CASE("all entries of a call or none", "[journal]") {
    const Folder folder;
    Journal journal = opened(folder);
    Problem problem;
    Entry undo = mark("09:10", Mark::Undo, "");
    undo.undoes = 99;
    CHECK_FALSE(journal.add({mark("09:00", Mark::Start, "A1-1", "coat"), undo}, problem));
    CHECK(problem.kind == Kind::Refused);
    CHECK(problem.words.find("no entry 99") != std::string::npos);
    CHECK(all(journal).empty());
    Entry posted = mark("09:10", Mark::Posted, "plan");
    CHECK_FALSE(journal.add({posted}, problem));  // without its document
    Entry odd = mark("09:10", Mark::Remake, "A1-1");
    odd.reason = "two\nlines";
    CHECK_FALSE(journal.add({odd}, problem));
    CHECK(problem.kind == Kind::Refused);
    Entry endless = mark("09:10", Mark::Remake, "A1-1");
    endless.reason = std::string(longest_text + 1, 'x');
    CHECK_FALSE(journal.add({endless}, problem));
    CHECK(problem.kind == Kind::Refused);
}

TEST_CASE("a mark that a device sends again is entered once", "[journal]") {
    const Folder folder;
    Journal journal = opened(folder);
    Problem problem;
    Entry one = mark("09:00", Mark::Start, "A1-1", "coat");
    one.device = "tablet 1";
    one.client = "17";
    Entry two = one;
    two.device = "tablet 2";  // its own numbers
    const auto first = journal.add({one, two}, problem);
    REQUIRE(first);
    one.entered = at("09:40");  // sent again later
    const auto again = journal.add({one}, problem);
    REQUIRE(again);
    CHECK((*again)[0].id == (*first)[0].id);
    CHECK_FALSE((*again)[0].fresh);
    CHECK(all(journal).size() == 2);
    one.what = "A1-2";
    CHECK_FALSE(journal.add({one}, problem));
    CHECK(problem.kind == Kind::Refused);
    CHECK(problem.words.find("entry 1") != std::string::npos);
}

TEST_CASE("an undo is an entry, and can be undone", "[journal]") {
    const Folder folder;
    Journal journal = opened(folder);
    Problem problem;
    Entry undo = mark("09:10", Mark::Undo, "");
    undo.undoes = 1;
    Entry redo = mark("09:11", Mark::Undo, "");
    redo.undoes = 2;
    REQUIRE(journal.add({mark("09:00", Mark::Start, "A1-1", "coat"), undo}, problem));
    CHECK(all(journal).size() == 2);
    CHECK(in_force(all(journal)).empty());
    REQUIRE(journal.add({redo}, problem));
    CHECK(in_force(all(journal)).size() == 1);
    CHECK(all(journal).size() == 3);
}

TEST_CASE("the posted plan is the last one that was not taken back", "[journal]") {
    const Folder folder;
    Journal journal = opened(folder);
    Problem problem;
    CHECK(journal.posted(problem)->entry == 0);
    const PostedPlan morning{.fingerprint = "f1", .document = std::string(900000, 'm')};
    const PostedPlan noon{
        .fingerprint = "f2", .now = at("10:40"), .seen = 1, .document = "{\"noon\": true}"};
    REQUIRE(journal.post(mark("06:00", Mark::Posted, "plan"), morning, problem));
    REQUIRE(journal.post(mark("10:41", Mark::Posted, "plan"), noon, problem));
    auto hangs = journal.posted(problem);
    REQUIRE(hangs);
    CHECK(hangs->entry == 2);
    CHECK(hangs->document == noon.document);
    CHECK(hangs->now == at("10:40"));
    CHECK(hangs->seen == 1);
    CHECK(hangs->time == at("10:41"));
    Entry undo = mark("10:42", Mark::Undo, "");
    undo.undoes = 2;
    REQUIRE(journal.add({undo}, problem));
    hangs = journal.posted(problem);
    CHECK(hangs->entry == 1);
    CHECK(hangs->document == morning.document);
    CHECK(hangs->fingerprint == "f1");
    CHECK_FALSE(hangs->now);
}

TEST_CASE("several write at once and nothing is lost", "[journal]") {
    const Folder folder;
    constexpr int writers = 4, each = 50;
    std::vector<std::vector<std::int64_t>> ids(writers);
    std::vector<std::string> said(writers);  // what went wrong
    {
        std::vector<std::jthread> threads;
        for (int w = 0; w < writers; ++w) {
            threads.emplace_back([&, w] {
                Problem problem;
                // The file is made by all of them at once, too.
                auto journal = Journal::open(folder.path.string(), Journal::For::Writing, problem);
                for (int k = 0; journal && k < each; ++k) {
                    Entry e = mark("09:00", Mark::Start, std::to_string(w), "coat");
                    e.client = std::to_string(w) + " " + std::to_string(k);
                    if (const auto id = journal->add({e}, problem))
                        ids[static_cast<std::size_t>(w)].push_back(id->front().id);
                }
                said[static_cast<std::size_t>(w)] = problem.words;
            });
        }
    }
    const auto entries = all(opened(folder, Journal::For::Reading));
    CHECK(entries.size() == writers * each);
    for (const auto& mine : ids)
        CHECK(mine.size() == each);
    for (const auto& words : said)
        CHECK(words == "");
    for (std::size_t k = 0; k < entries.size(); ++k)
        CHECK(entries[k].id == static_cast<std::int64_t>(k + 1));
}

TEST_CASE("what is no journal, or a later one, is named and left as it is", "[journal]") {
    const Folder folder;
    Problem problem;
    const auto refused = [&](Kind kind, const std::string& words) {
        const std::string before = bytes_of(folder.file());
        for (const auto what : {Journal::For::Writing, Journal::For::Reading}) {
            CHECK_FALSE(Journal::open(folder.path.string(), what, problem));
            CHECK(problem.kind == kind);
            INFO(problem.words);
            CHECK(problem.words.find(folder.file()) != std::string::npos);
            CHECK(problem.words.find(words) != std::string::npos);
            CHECK(problem.words.find("Nothing was written") != std::string::npos);
        }
        CHECK(bytes_of(folder.file()) == before);
    };
    std::ofstream(folder.file()) << std::string(5000, 'x');
    refused(Kind::Damaged, "damaged");
    // The database header of SQLite (file format, 1.3): user version in bytes 60-63, application
    // id in 68-71, big-endian.
    fs::remove(folder.file());
    { opened(folder); }
    const std::string good = bytes_of(folder.file());
    const auto with = [&](std::size_t byte, char value) {
        std::string changed = good;
        changed[byte] = value;
        std::ofstream(folder.file(), std::ios::binary) << changed;
    };
    REQUIRE(good[63] == schema_version);
    with(63, schema_version + 1);
    refused(Kind::Newer, "later version");
    with(68, 'X');
    refused(Kind::Damaged, "another program");
    fs::remove(folder.file());
    fs::create_directories(folder.file());
    CHECK_FALSE(Journal::open(folder.path.string(), Journal::For::Writing, problem));
    CHECK(problem.kind == Kind::Damaged);
}

TEST_CASE("an empty file is a journal to be: a kill came while it was made", "[journal]") {
    const Folder folder;
    std::ofstream(folder.file()).close();
    Problem problem;
    CHECK(all(opened(folder, Journal::For::Reading)).empty());
    Journal journal = opened(folder);
    CHECK(journal.add({mark("09:00", Mark::Up, "cabinet")}, problem));
}

// What SQLite does then is in its documentation of the write-ahead log: a frame counts when it and
// all before it have the right checksum, whether the flush behind it succeeded or not.
TEST_CASE("a disk that fails at the flush: entered, or not, or said to be open", "[journal]") {
    failing_disk::Disk disk;
    const Folder folder;
    Problem problem;
    {
        Journal journal = opened(folder);
        REQUIRE(journal.add({mark("09:00", Mark::Down, "cabinet")}, problem));
        SECTION("once: nothing is entered, whoever looks") {
            disk.fails_at_next_flush(failing_disk::Fails::Once);
            CHECK(!journal.add({mark("09:10", Mark::Down, "booth")}, problem));
            CHECK(problem.kind == Kind::NotStored);
            // As a kill leaves it: the log as it is, the shared index gone.
            const Folder copy;
            fs::copy(folder.file(), copy.file());
            fs::copy(folder.file() + "-wal", copy.file() + "-wal");
            CHECK(all(opened(copy, Journal::For::Reading)).size() == 1);
            REQUIRE(journal.add({mark("09:20", Mark::Up, "cabinet")}, problem));
            CHECK(all(journal).size() == 2);
        }
        SECTION("from then on: the log keeps it, so nobody says that it is not entered") {
            disk.fails_at_next_flush(failing_disk::Fails::FromThenOn);
            CHECK(!journal.add({mark("09:10", Mark::Down, "booth")}, problem));
            CHECK(problem.kind == Kind::Unknown);
            CHECK(problem.words.find("may stand there all the same") != std::string::npos);
            disk.works_again();
            const Folder copy;
            fs::copy(folder.file(), copy.file());
            fs::copy(folder.file() + "-wal", copy.file() + "-wal");
            CHECK(all(opened(copy, Journal::For::Reading)).size() == 2);
        }
    }
}
