// coatroom tune as a user meets it: the table, the files that it writes, and what is wrong with
// marks.

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "sched/engine/draws.hpp"
#include "sched/journal/journal.hpp"
#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

struct Told {
    int status = -1;
    std::string out;  // both streams
};

Told tune(const std::string& arguments) {
    Told told;
    FILE* pipe =
        popen((std::string(COATROOM_PROGRAM) + " tune " + arguments + " 2>&1").c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::array<char, 4096> buffer{};
    std::size_t got = 0;
    while ((got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0)
        told.out.append(buffer.data(), got);
    const int status = pclose(pipe);
    told.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return told;
}

std::string whole(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

// The demo room in a folder of its own, and marks of Ben, who takes 5:00 to 5:50 for what is
// planned with 4:00.
struct TuneFolder {
    fs::path path = fs::temp_directory_path() / ("coatroom-tune-" + std::to_string(getpid()));
    TuneFolder() {
        fs::remove_all(path);
        fs::copy(std::string(COATROOM_SOURCE) + "/scenarios/tomorrow", path,
                 fs::copy_options::recursive);
        std::ofstream marks(path / "marks.csv");
        marks << "time,mark,what,step,station,person,reason,by,device,entered,id,undoes\n";
        for (int k = 0; k < 30; ++k) {
            const auto line = [&](const char* mark, int minute, int second) {
                char text[128];
                std::snprintf(
                    text, sizeof text,
                    "2026-11-%02dT10:%02d:%02d,%s,A%d-1,rinse,washout booth,Ben,,BK,t1,,,\n",
                    2 + k / 5 + (k / 5 > 4 ? 2 : 0), minute, second, mark, k + 1);
                marks << text;
            };
            line("start", 10 * (k % 5), 0);
            line("done", 10 * (k % 5) + 5, 10 * (k % 6));
        }
    }
    ~TuneFolder() { fs::remove_all(path); }
    std::string marks() const {
        return path.string() + " --marks " + (path / "marks.csv").string();
    }
};

}  // namespace

TEST_CASE("tune says what was seen and writes it, comments kept", "[app][tune]") {
    const TuneFolder folder;
    const std::string before = whole(folder.path / "room.yaml");
    const Told told = tune(folder.marks());
    INFO(told.out);
    REQUIRE(told.status == 0);
    // Mean of 5:00, 5:10, ... 5:50: 5:25.
    CHECK(told.out.find("5:25") != std::string::npos);
    CHECK(told.out.find("times: rinse: attended: 5 min 25 s   (was 4 min)") != std::string::npos);
    CHECK(whole(folder.path / "room.yaml") == before);
    const Told last = tune(folder.marks() + " --since 2026-11-09");
    CHECK(last.out.find("10 marks of 1 day, 2026-11-09 to ") != std::string::npos);
    const auto json = nlohmann::json::parse(tune(folder.marks() + " --json").out);
    CHECK(json.at("steps").at(0).at("step") == "rinse");
    CHECK(json.at("steps").at(0).at("n") == 30);
    CHECK(json.at("steps").at(0).at("mean").at("value").get<double>() ==
          Approx(325.0 / 240.0).epsilon(0.002));

    const Told written = tune(folder.marks() + " --write");
    INFO(written.out);
    REQUIRE(written.status == 0);
    std::string wanted = before;
    const std::string line = "rinse: 4 min";
    wanted.replace(wanted.find(line), line.size(), "rinse: 5 min 25 s");
    CHECK(whole(folder.path / "room.yaml") == wanted);
    CHECK(fs::exists(folder.path / "chance.yaml"));  // work varies, too
    // Once more: the files say what the marks say.
    const Told again = tune(folder.marks() + " --write");
    INFO(again.out);
    CHECK(again.out.find("nothing to change") != std::string::npos);
}

TEST_CASE("what cannot be stored is one status, of tune and of dose", "[app][tune]") {
    const TuneFolder folder;
    const std::string before = whole(folder.path / "room.yaml");
    // Where the lock should be stands a folder: nothing of the scenario may be changed.
    fs::create_directory(folder.path / ".promise.lock");
    const Told told = tune(folder.marks() + " --write");
    INFO(told.out);
    CHECK(told.status == 74);  // EX_IOERR of sysexits.h
    CHECK(told.out.find("5:25") != std::string::npos);
    CHECK(told.out.find("coatroom tune: not written: ") != std::string::npos);
    const std::string dose = std::string(COATROOM_PROGRAM) + " dose " + folder.path.string() +
                             " --emulsion 'dual-cure A' --wedge --best 4 --save >/dev/null 2>&1";
    const int status = std::system(dose.c_str());
    CHECK((WIFEXITED(status) && WEXITSTATUS(status) == 74));
    CHECK(whole(folder.path / "room.yaml") == before);
    CHECK_FALSE(fs::exists(folder.path / "chance.yaml"));
}

namespace {

// Twelve works of 5 min, each longer than the one before by `longer`, on a tablet whose clock is
// ahead of that which enters.
std::vector<sched::journal::Entry> twelve_rinses(std::chrono::seconds ahead,
                                                 std::chrono::seconds longer) {
    std::vector<sched::journal::Entry> entries;
    for (int k = 0; k < 12; ++k) {
        sched::journal::Entry e{
            .time = *model::parse_date_time("2026-11-02T07:00") + std::chrono::minutes{10 * k},
            .mark = sched::journal::Mark::Start,
            .what = "A" + std::to_string(k) + "-1",
            .step = "rinse",
            .station = "washout booth",
            .person = "Ben",
            .device = "t1"};
        e.entered = e.time - ahead;
        entries.push_back(e);
        e.mark = sched::journal::Mark::Done;
        e.time += std::chrono::minutes{5} + k * longer;
        e.entered = e.time - ahead;
        entries.push_back(e);
    }
    return entries;
}

}  // namespace

TEST_CASE("tune takes every mark that the journal took", "[app][tune]") {
    const TuneFolder folder;
    sched::journal::Problem problem;
    {
        auto journal = sched::journal::Journal::open(
            folder.path.string(), sched::journal::Journal::For::Writing, problem);
        REQUIRE(journal);
        // A tablet that is 40 s ahead; a dry without a step.
        auto entries = twelve_rinses(std::chrono::seconds{40}, std::chrono::seconds{0});
        auto dry = entries.back();
        dry.mark = sched::journal::Mark::Dry;
        dry.step.clear();
        dry.time += std::chrono::minutes{40};
        dry.entered = dry.time;
        entries.push_back(dry);
        REQUIRE(journal->add(entries, problem));
    }
    const Told told = tune(folder.path.string());
    INFO(told.out);
    REQUIRE(told.status == 0);
    CHECK(told.out.find("Entered before they happened: 24 marks. Set back, since the clock was "
                        "ahead:\n t1  1 day, by up to 0:40 min:s\n") != std::string::npos);
    const std::string from_journal = tune(folder.path.string() + " --json").out;
    const auto json = nlohmann::json::parse(from_journal);
    CHECK(json.at("entered_before") == 24);
    CHECK(json.at("steps").at(0).at("whole") == 12);  // lengths are what they were
    CHECK(json.at("clocks_ahead").at(0).at("most_seconds") == 40);
    // The same by way of CSV.
    const std::string csv = (folder.path / "out.csv").string();
    REQUIRE(std::system((std::string(COATROOM_PROGRAM) + " mark " + folder.path.string() +
                         " --csv " + csv + " > /dev/null")
                            .c_str()) == 0);
    CHECK(tune(folder.path.string() + " --marks " + csv + " --json").out == from_journal);
}

TEST_CASE("tune reads the journal of the scenario", "[app][tune]") {
    const TuneFolder folder;
    sched::journal::Problem problem;
    auto journal = sched::journal::Journal::open(folder.path.string(),
                                                 sched::journal::Journal::For::Writing, problem);
    REQUIRE(journal);
    const auto entries = twelve_rinses(std::chrono::seconds{0}, std::chrono::seconds{1});
    REQUIRE(journal->add(entries, problem));
    const Told told = tune(folder.path.string() + " --json");
    INFO(told.out);
    REQUIRE(told.status == 0);
    const auto json = nlohmann::json::parse(told.out);
    CHECK(json.at("marks") == 24);
    CHECK(json.at("steps").at(0).at("whole") == 12);
}

namespace {

// 24 working days, eight screens a day: Ben rinses, Cleo inspects, Ada degreases; lognormal,
// varying by 20 %. From the first second of `drifts` on rinsing takes 25 % longer.
void journal_of_weeks(const fs::path& folder, std::uint64_t seed,
                      std::optional<model::SimTime> drifts) {
    const sched::engine::Draws draws(seed, 0);
    sched::journal::Problem problem;
    auto journal = sched::journal::Journal::open(folder.string(),
                                                 sched::journal::Journal::For::Writing, problem);
    REQUIRE(journal);
    struct StepKind {
        const char *step, *station, *person;
        double seconds;
    };
    const StepKind kinds[] = {{"rinse", "washout booth", "Ben", 240.0},
                              {"inspect", "light table", "Cleo", 240.0},
                              {"degrease", "washout booth", "Ada", 210.0}};
    std::vector<sched::journal::Entry> entries;
    const auto monday = *model::parse_date_time("2026-09-07T00:00");
    for (std::uint64_t day = 0; day < 24; ++day) {
        const auto date = monday + std::chrono::days{day / 5 * 7 + day % 5};
        for (std::uint64_t k = 0; k < 8; ++k) {
            for (std::uint64_t j = 0; j < 3; ++j) {
                const double z = sched::engine::normal_inverse(draws.uniform({day, k, j, 0}));
                double seconds = kinds[j].seconds * std::exp(0.2 * z - 0.02);
                if (j == 0 && drifts && date >= *drifts) seconds *= 1.25;
                sched::journal::Entry e{.time = date + std::chrono::minutes{12 * 60 + 32 + 14 * k},
                                        .mark = sched::journal::Mark::Start,
                                        .what = "A" + std::to_string(100 * day + k) + "-1",
                                        .step = kinds[j].step,
                                        .station = kinds[j].station,
                                        .person = kinds[j].person,
                                        .device = kinds[j].person};
                if (j == 2) e.what += "0";
                if (j == 1) e.what += "1";
                e.entered = e.time;
                entries.push_back(e);
                e.mark = sched::journal::Mark::Done;
                e.time = e.entered = e.time + std::chrono::seconds{std::llround(seconds)};
                entries.push_back(e);
            }
        }
    }
    REQUIRE(journal->add(entries, problem));
}

struct Alarms {
    int of_rinse = 0, of_others = 0;
    std::vector<std::string> since;  // of rinse
};

Alarms alarms(std::uint64_t first, int journals, std::optional<model::SimTime> drifts) {
    Alarms out;
    for (int r = 0; r < journals; ++r) {
        const TuneFolder folder;
        journal_of_weeks(folder.path, first + static_cast<std::uint64_t>(r), drifts);
        const Told told = tune(folder.path.string() + " --json");
        INFO(told.out);
        REQUIRE(told.status == 0);
        const auto json = nlohmann::json::parse(told.out);
        REQUIRE(json.at("steps").size() == 3);
        for (const auto& step : json.at("steps")) {
            if (step.at("drift").is_null()) continue;
            if (step.at("step") != "rinse") {
                ++out.of_others;
                continue;
            }
            ++out.of_rinse;
            if (drifts) CHECK(step.at("drift").at("longer") == true);
            out.since.push_back(step.at("drift").at("since").get<std::string>().substr(0, 10));
        }
    }
    return out;
}

}  // namespace

TEST_CASE("a step that takes longer from a day on is told, and no other", "[app][tune]") {
    // Working day 18 of 24: Wednesday of the fourth week.
    const auto drifts = *model::parse_date_time("2026-09-30T00:00");
    const Alarms got = alarms(1, 20, drifts);
    CHECK(got.of_rinse == 20);
    // 25 % is 1.1 standard deviations: the change is placed within a day as a rule.
    std::size_t near = 0;
    for (const auto& day : got.since)
        near += day >= "2026-09-29" && day <= "2026-10-01" ? 1 : 0;
    CHECK(near >= 17);
    // One false alarm in twenty calls is what is promised: of 60 calls 3, and three binomial
    // standard deviations more, 5.
    const Alarms quiet = alarms(101, 40, std::nullopt);
    CHECK(got.of_others + quiet.of_rinse + quiet.of_others <= 8);
    // In words, with the day from which on to tune.
    std::uint64_t seed = 1;  // of a journal without a false alarm
    while (seed < 10 && alarms(seed, 1, drifts).of_others > 0)
        ++seed;
    const TuneFolder folder;
    journal_of_weeks(folder.path, seed, drifts);
    const Told told = tune(folder.path.string());
    const auto heading = told.out.find("Something has changed");
    REQUIRE(heading != std::string::npos);
    const std::string words = told.out.substr(heading, told.out.find("\n\n", heading) - heading);
    CHECK(words.find("rinse: takes longer since about 2026-09-") != std::string::npos);
    CHECK(words.find("--since 2026-09-") != std::string::npos);
    CHECK(words.find("inspect") == std::string::npos);
    CHECK(words.find("degrease") == std::string::npos);
}

TEST_CASE("bad marks end with every error and status 2", "[app][tune]") {
    const TuneFolder folder;
    std::ofstream(folder.path / "bad.csv")
        << "time,mark,what,step\n2026-11-02T10:00:00,don,A1-1,rinse\n10 o'clock,done,A1-1,rinze\n";
    const Told told = tune(folder.path.string() + " --marks " + (folder.path / "bad.csv").string());
    INFO(told.out);
    CHECK(told.status == 2);
    for (const char* place : {"bad.csv:2:21:", "bad.csv:3:1:", "bad.csv:3:22:"})
        CHECK(told.out.find(place) != std::string::npos);
    const Told none = tune(folder.path.string());
    CHECK(none.status == 2);
    CHECK(none.out.find("--marks") != std::string::npos);
    CHECK(tune(folder.marks() + " --since yesterday").status == 2);
}
