// Promises and accepted orders in the journal's file: once, both or neither, and ready by the marks
// (docs/past-promises.md). What is asked of the file itself goes through SQLite's own interface.

#include <sqlite3.h>
#include <unistd.h>

#include <filesystem>

#include "sched/journal/journal.hpp"
#include "tests/catch.hpp"

namespace {

namespace fs = std::filesystem;
using namespace sched::journal;
using Kind = Problem::Kind;

struct PromiseFolder {
    fs::path path = fs::temp_directory_path() / ("coatroom-promises-" + std::to_string(getpid()));
    PromiseFolder() {
        fs::remove_all(path);
        fs::create_directories(path);
    }
    ~PromiseFolder() { fs::remove_all(path); }
    PromiseFolder(const PromiseFolder&) = delete;
    PromiseFolder& operator=(const PromiseFolder&) = delete;

    Journal open(Journal::For what = Journal::For::Writing) const {
        Problem problem;
        auto journal = Journal::open(path.string(), what, problem);
        INFO(problem.words);
        REQUIRE(journal.has_value());
        return std::move(*journal);
    }
    /// As another program would. @returns SQLite's words, empty if it went.
    std::string run(const char* sql) const {
        sqlite3* db = nullptr;
        REQUIRE(sqlite3_open((path / journal_name).c_str(), &db) == SQLITE_OK);
        char* words = nullptr;
        sqlite3_exec(db, sql, nullptr, nullptr, &words);
        const std::string out = words != nullptr ? words : "";
        sqlite3_free(words);
        sqlite3_close(db);
        return out;
    }
};

SimTime moment(const std::string& text) {
    return *model::parse_date_time(text);
}

model::PastPromise promise(const std::string& name, const std::string& asked,
                           const std::string& promised) {
    return {.enquiry = name, .asked = moment(asked), .screens = 2, .promised = moment(promised)};
}

/// Without the place, which a file of its own has.
model::PastPromise told(model::PastPromise p) {
    p.place = {};
    return p;
}

const model::PastPromise a1 = {.enquiry = "A1",
                               .asked = moment("2026-11-20T09:00"),
                               .screens = 3,
                               .kind = "shirts",
                               .p50 = moment("2026-11-21T08:00"),
                               .p90 = moment("2026-11-21T10:30"),
                               .promised = moment("2026-11-21T12:00")};

}  // namespace

TEST_CASE("a promise is kept as it was given, with the order that comes of it",
          "[journal][promise]") {
    const PromiseFolder folder;
    Problem problem;
    const Acceptance order{.orders = "orders.csv",
                           .lines = "A1,3,77-55\r\n",
                           .before = std::string(64, 'a'),
                           .after = std::string(64, 'b')};
    {
        Journal journal = folder.open();
        CHECK(journal.accept(a1, order, problem) == 1);
    }
    Journal journal = folder.open();
    const auto kept = journal.promises(problem);
    REQUIRE(kept);
    REQUIRE(kept->list.size() == 1);
    CHECK(told(kept->list[0]) == a1);
    CHECK(kept->files.empty());
    // It is on its way until somebody says that it stands there; saying so twice is no harm.
    Acceptance open = order;
    open.promise = 1;
    open.enquiry = "A1";
    CHECK(journal.not_placed(problem) == std::vector{open});
    CHECK(journal.placed(1, moment("2026-11-20T09:01"), problem));
    CHECK(journal.placed(1, moment("2026-11-20T09:02"), problem));
    CHECK(journal.not_placed(problem)->empty());
    // A promise that nobody gave cannot be placed.
    CHECK_FALSE(journal.placed(7, moment("2026-11-20T09:01"), problem));
    CHECK(problem.words.find("FOREIGN KEY") != std::string::npos);
}

TEST_CASE("promise and order are entered both or neither", "[journal][promise]") {
    const PromiseFolder folder;
    Problem problem;
    Journal journal = folder.open();
    // Somebody has taken the table of orders away: the promise must not stand alone.
    CHECK(folder.run("ALTER TABLE acceptance RENAME TO elsewhere") == "");
    CHECK_FALSE(journal.accept(a1, {.orders = "orders.csv"}, problem));
    CHECK(problem.kind == Kind::Refused);
    CHECK(journal.promises(problem)->list.empty());
    CHECK(folder.run("ALTER TABLE elsewhere RENAME TO acceptance") == "");
    CHECK(journal.accept(a1, {.orders = "orders.csv"}, problem) == 1);
}

TEST_CASE("a file of promises is taken in once, and what is new in it later",
          "[journal][promise]") {
    const PromiseFolder folder;
    Problem problem;
    Journal journal = folder.open();
    const PromiseFile file{
        .name = "promises.csv", .sha256 = "00", .entered = moment("2026-11-22T08:00")};
    auto b1 = promise("B1", "2026-11-20T10:00", "2026-11-21T16:00");
    const auto first = journal.take_in(file, {a1, b1, a1}, problem);
    REQUIRE(first);
    CHECK(first->fresh.size() == 3);  // the same line twice is two promises
    // The same again, with a time at which B1 was ready and one promise more.
    b1.ready = moment("2026-11-21T15:40");
    const auto c1 = promise("C1", "2026-11-21T10:00", "2026-11-22T16:00");
    const auto second = journal.take_in(file, {a1, a1, b1, c1}, problem);
    REQUIRE(second);
    CHECK(second->fresh == std::vector{c1});
    CHECK(second->ready == std::vector{b1});
    CHECK(journal.take_in(file, {a1, a1, b1, c1}, problem)->empty());
    const auto kept = journal.promises(problem);
    REQUIRE(kept->list.size() == 4);
    CHECK(kept->list[1].ready == b1.ready);
    CHECK_FALSE(kept->list[3].ready);
    REQUIRE(kept->files.size() == 3);
    CHECK(kept->files[0].name == "promises.csv");
    CHECK(kept->files[0].entered == file.entered);
    // A ready time is a mark like others: taken back, it is not ready any more.
    const auto marks = journal.entries(0, problem);
    REQUIRE(marks->size() == 1);
    CHECK(marks->front().mark == Mark::Ready);
    CHECK(journal.add({{.time = moment("2026-11-22T09:00"),
                        .entered = moment("2026-11-22T09:00"),
                        .mark = Mark::Undo,
                        .undoes = marks->front().id}},
                      problem));
    CHECK_FALSE(journal.promises(problem)->list[1].ready);
}

TEST_CASE("ready counts for the last promise of its name that was given by then",
          "[journal][promise]") {
    std::vector<model::PastPromise> list = {promise("A1", "2026-11-20T09:00", "2026-11-21T12:00"),
                                            promise("A1", "2026-11-22T09:00", "2026-11-23T12:00"),
                                            promise("B1", "2026-11-20T09:00", "2026-11-21T12:00")};
    const auto ready = [](const char* when, const char* what) {
        return Entry{.time = moment(when), .mark = Mark::Ready, .what = what};
    };
    set_ready(list, {ready("2026-11-21T11:00", "A1"),
                     ready("2026-11-19T11:00", "B1"),
                     ready("2026-11-21T11:00", "Z9"),
                     {.time = moment("2026-11-21T11:00"), .mark = Mark::Film, .what = "B1"}});
    CHECK(list[0].ready == moment("2026-11-21T11:00"));
    CHECK_FALSE(list[1].ready);
    CHECK_FALSE(list[2].ready);  // before it was asked for
    set_ready(list, {ready("2026-11-22T09:00", "A1")});
    CHECK(list[0].ready == moment("2026-11-21T11:00"));
    CHECK(list[1].ready == moment("2026-11-22T09:00"));
}

TEST_CASE("promises are never changed or taken out, and one that is spoilt is named",
          "[journal][promise]") {
    const PromiseFolder folder;
    Problem problem;
    Journal journal = folder.open();
    CHECK(journal.accept(a1, {.orders = "orders.csv"}, problem) == 1);
    CHECK(folder.run("DELETE FROM promise").find("never taken out") != std::string::npos);
    CHECK(folder.run("UPDATE promise SET promised = ''").find("never changed") !=
          std::string::npos);
    CHECK(journal.promises(problem)->list.size() == 1);
    CHECK(folder.run("INSERT INTO promise (enquiry, asked, screens, promised) "
                     "VALUES ('X', 'once', 1, 'never')") == "");
    CHECK_FALSE(journal.promises(problem));
    CHECK(problem.kind == Kind::Damaged);
    CHECK(problem.words.find("promise 2 cannot be read") != std::string::npos);
}

TEST_CASE("a plan is posted with the mark that it is accepted with, both or neither",
          "[journal][plan]") {
    const PromiseFolder folder;
    Problem problem;
    Journal journal = folder.open();
    const Entry post{.time = moment("2026-11-26T10:00"), .entered = moment("2026-11-26T10:00")};
    Entry longer{.time = moment("2026-11-26T09:59"),
                 .entered = moment("2026-11-26T10:00"),
                 .mark = Mark::Longer,
                 .what = "Ada"};
    const PostedPlan plan{
        .fingerprint = "f", .now = moment("2026-11-26T09:59"), .seen = 0, .document = "{}"};
    longer.reason = "two\nlines";
    CHECK_FALSE(journal.post(post, plan, problem, longer));
    CHECK(problem.kind == Kind::Refused);
    CHECK(journal.entries(0, problem)->empty());
    CHECK(journal.posted(problem)->entry == 0);
    longer.reason = "";
    CHECK(journal.post(post, plan, problem, longer)->id == 2);
    const auto posted = journal.posted(problem);
    CHECK(posted->with == 1);
    CHECK(posted->now == plan.now);
    CHECK(posted->document == "{}");
    CHECK(journal.posted_as("{}", problem)->entry == 2);
    CHECK(journal.posted_as("[]", problem)->entry == 0);
    // Only post() enters a plan.
    Entry bare = post;
    bare.mark = Mark::Posted;
    bare.what = "plan";
    CHECK_FALSE(journal.add({bare}, problem));
    CHECK(problem.kind == Kind::Refused);
}

TEST_CASE("an entry in words", "[journal]") {
    Entry e{.time = moment("2026-11-26T09:12"),
            .mark = Mark::Done,
            .what = "A7-2",
            .step = "face-coat",
            .round = 2,
            .station = "stand",
            .person = "Ada",
            .by = "AD",
            .device = "tablet 1"};
    const auto day = model::date_of(e.time);
    CHECK(words_of(e, day) ==
          "A7-2 face-coat 2 done 09:12 (in stand, with Ada, by AD, on tablet 1)");
    e = {
        .time = e.time, .mark = Mark::Remake, .what = "A7-2", .step = "degrease", .reason = "hole"};
    CHECK(words_of(e) == "A7-2 " + std::string(row_of(Mark::Remake).words) +
                             " from degrease 2026-11-26T09:12 (hole)");
    e = {.time = e.time, .mark = Mark::Undo, .undoes = 17};
    CHECK(words_of(e, day) == "entry 17 taken back 09:12");
    e = {.time = e.time, .mark = Mark::Posted, .what = "plan", .reason = "its fingerprint"};
    CHECK(words_of(e, day) == "plan posted 09:12");
}

TEST_CASE("a step with its number, there and back", "[journal]") {
    // Of a screen with two face coats these come twice, the taking out to a rack as well.
    for (const char* step : {"face-coat", "dry-face", "take-out"}) {
        for (const int round : {1, 2, 20}) {
            const Entry e{.step = step, .round = round};
            std::string read;
            int number = 0;
            CHECK(read_step_text(step_text(e), read, number));
            CHECK(read == step);
            CHECK(number == round);
        }
    }
    std::string read;
    int number = 0;
    for (const char* text : {"wash-out 2", "face-coat 1", "face-coat 21", "face-coat ",
                             "face-coat x", "face-coat 99999999999999999999"})
        CHECK_FALSE(read_step_text(text, read, number));
}
