// coatroom promise as a front office meets it: answers, files, and two who accept at once.

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/journal/journal.hpp"
#include "sched/report/document/fingerprint.hpp"
#include "tests/catch.hpp"
#include "tests/support/failing_disk.hpp"

namespace fs = std::filesystem;

namespace {

struct Promised {
    int status = -1;
    std::string out;
};

Promised shell(const std::string& command) {
    Promised ran;
    FILE* pipe = popen(command.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::array<char, 4096> buffer{};
    std::size_t got = 0;
    while ((got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0)
        ran.out.append(buffer.data(), got);
    const int status = pclose(pipe);
    ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return ran;
}

const std::string promise_program = COATROOM_PROGRAM;
const std::string promise_source = COATROOM_SOURCE;
const std::string little = " --effort 20 --replications 19 --threads 1 ";
const std::string posters = " --screens 3 --mesh 77/cm --frame 58x84 --coats 1+1 ";

struct PromiseRoom {
    fs::path path;
    explicit PromiseRoom(const std::string& scenario)
        : path(fs::temp_directory_path() / ("coatroom-promise-" + std::to_string(getpid()))) {
        fs::remove_all(path);
        fs::copy(promise_source + "/scenarios/" + scenario, path);
        std::ofstream(path / "frames.csv", std::ios::app) << "58 x 84 cm,77-55,ready,30\n";
    }
    ~PromiseRoom() { fs::remove_all(path); }
    std::string text() const {
        std::ifstream in(path / "orders.csv", std::ios::binary);
        return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
    }
};

using sched::journal::Journal;

/// What the journal of a folder keeps of promises.
sched::journal::Promises kept(const fs::path& folder) {
    sched::journal::Problem problem;
    const auto file = Journal::open(folder.string(), Journal::For::Reading, problem);
    INFO(problem.words);
    REQUIRE(file);
    CHECK(file->not_placed(problem)->empty());
    auto promises = file->promises(problem);
    REQUIRE(promises);
    return *std::move(promises);
}

void write(const fs::path& path, const std::string& text) {
    std::ofstream(path, std::ios::binary) << text;
}

}  // namespace

TEST_CASE("an enquiry is answered in words and in JSON, and nothing is written", "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    const std::string ask = promise_program + " promise " + room.path.string() + posters + little;
    const Promised words = shell(ask + "--explain --wanted 2026-11-26T15:00 2>&1");
    INFO(words.out);
    REQUIRE(words.status == 0);
    CHECK(words.out.find("We can have 3 screens ready by") != std::string::npos);
    CHECK(words.out.find("Wanted by Thu 26 Nov, 15:00") != std::string::npos);
    CHECK(words.out.find("What decides the date") != std::string::npos);
    const Promised json = shell(ask + "--json");
    REQUIRE(json.status == 0);
    const auto answer = nlohmann::json::parse(json.out);
    CHECK(answer["format"] == 1);
    CHECK(answer["days"] == 19);
    CHECK(answer["quantiles"].size() == 4);
    CHECK(answer["ready"].size() + answer["unfinished"].get<std::size_t>() == 19);
    CHECK(shell(ask + "--json").out == json.out);
    CHECK(room.text() == before);
}

TEST_CASE("a date behind a night in which clocks change is no date without a word",
          "[app][promise]") {
    // Summer time begins at 02:00 on the last Sunday of March (directive 2000/84/EC).
    const PromiseRoom room("first-day");
    const auto ask = [&](const char* shifts) {
        std::ifstream in(fs::path(promise_source) / "scenarios/first-day/room.yaml");
        std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
        const std::string day = "Mon-Fri 07:00-15:30, breaks: 30 min at 12:00";
        REQUIRE(text.find(day) != std::string::npos);
        write(room.path / "room.yaml", text.replace(text.find(day), day.size(), shifts));
        write(room.path / "orders.csv",
              "order,due,count,mesh,frame,emulsion,coat plan\n"
              "T1,2027-03-28 05:00,2,77-55,58 x 84 cm,photopolymer B,1+1\n");
        return shell(promise_program + " promise " + room.path.string() +
                     " --date 2027-03-27 --quick" + posters + little + "2>&1");
    };
    const Promised night = ask("daily 22:00-06:00");
    INFO(night.out);
    REQUIRE(night.status == 0);
    CHECK(night.out.find("clocks go forward in many countries") != std::string::npos);
    const Promised day = ask("daily 07:00-15:30");
    INFO(day.out);
    REQUIRE(day.status == 0);
    CHECK(day.out.find("clocks") == std::string::npos);
}

TEST_CASE("in the evening promised orders have the chances of the posted plan", "[app][promise]") {
    // What hangs says how likely each order is late, on 200 simulated days; the promise sees 199 of
    // them.
    const PromiseRoom room("tomorrow");
    fs::copy_file(promise_source + "/scenarios/tomorrow/frames.csv", room.path / "frames.csv",
                  fs::copy_options::overwrite_existing);
    const std::string here = room.path.string();
    const Promised plan = shell(promise_program + " plan " + here +
                                " --budget 60sch --threads 1 --quiet --post --json 2>/dev/null");
    REQUIRE(plan.status == 0);
    const auto posted = nlohmann::json::parse(plan.out);
    std::map<std::string, double> late;
    for (const auto& order : posted["orders"])
        late[order["name"]] = order.value("chance_late", -1.0);
    const std::string ask =
        promise_program + " promise " + here + posters + "--effort 20 --threads 1 --quick --json ";
    const Promised promise = shell(ask + "2>/dev/null");
    REQUIRE(promise.status == 0);
    const auto endangered = nlohmann::json::parse(promise.out)["endangered"];
    CHECK(endangered.size() > 5);
    for (const auto& order : endangered) {
        INFO(order["order"].get<std::string>());
        CHECK(std::abs(1.0 - order["before"]["share"].get<double>() - late[order["order"]]) <
              0.0075);  // a day and a half
    }
    CHECK(shell(ask + "2>&1 >/dev/null").out.find("by the posted plan, entry 1") !=
          std::string::npos);
    CHECK(shell(ask + "--from 2026-11-26T00:00 2>&1 >/dev/null").out.find("posted plan") ==
          std::string::npos);
}

TEST_CASE("several enquiries come from a file, each answered for itself", "[app][promise]") {
    const PromiseRoom room("first-day");
    const fs::path file = room.path / "asked.csv";
    std::ofstream(file) << "order,count,mesh,frame,coat plan,wanted\n"
                           "X1,2,77-55,58 x 84 cm,1+1,2026-11-27 11:00\n"
                           "X2,1,120/cm,58 x 84 cm,2+2,\n"
                           "X2,1,77-55,58 x 84 cm,1+1,\n";
    const std::string ask =
        promise_program + " promise " + room.path.string() + little + "--quick ";
    const Promised json = shell(ask + "--json --enquiries " + file.string());
    REQUIRE(json.status == 0);
    const auto answer = nlohmann::json::parse(json.out);
    REQUIRE(answer["promises"].size() == 2);
    CHECK(answer["promises"][0]["wanted"]["of"] == 19);
    CHECK(answer["promises"][1]["enquiry"]["lines"].size() == 2);
    std::ofstream(file) << "count,mesh,frame,coat plan\n2,90-40,58 x 84 cm,1+1\n";
    const Promised wrong = shell(ask + "--enquiries " + file.string() + " 2>&1");
    CHECK(wrong.status == 2);
    CHECK(wrong.out.find("asked.csv:2:1: error") != std::string::npos);
}

TEST_CASE("who accepts at once is promised one after the other", "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    const std::string one = " --screens 1 --mesh 77/cm --frame 58x84 --coats 1+1 ";
    const int processes = 20;  // some 5 s of processor time
    std::string all;
    for (int k = 0; k < processes; ++k) {
        all += promise_program + " promise " + room.path.string() + one + little +
               "--quick --accept --job \"shop, " + std::to_string(k) + "\" >/dev/null 2>&1 & ";
    }
    shell(all + "wait");
    const std::string after = room.text();
    // What was there is there, byte for byte; then one line for each.
    REQUIRE(after.substr(0, before.size()) == before);
    CHECK(std::count(after.begin() + static_cast<std::ptrdiff_t>(before.size()), after.end(),
                     '\n') == processes);
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(room.path.string(), diagnostics);
    REQUIRE(scenario);
    std::vector<model::SimTime> due;
    std::vector<std::string> customers;
    for (const auto& order : scenario->orders) {
        if (order.name.front() != 'E') continue;
        CHECK(order.lines.front().count == 1);
        due.push_back(order.due);
        customers.push_back(order.customer);
    }
    REQUIRE(due.size() == processes);
    std::vector<std::string> asked;
    for (int k = 0; k < processes; ++k)
        asked.push_back("shop, " + std::to_string(k));
    std::sort(asked.begin(), asked.end());
    std::sort(customers.begin(), customers.end());
    CHECK(customers == asked);
    // E1 to E20 in the order of acceptance: 20 screens more than one person makes in a day, so the
    // last was not promised what the first was.
    // By days, and two may stand the other way round: 19 simulated days leave the hour to chance,
    // and at the end of a day the day.
    int sooner = 0;
    for (std::size_t k = 1; k < due.size(); ++k)
        sooner += model::date_of(due[k]) < model::date_of(due[k - 1]);
    CHECK(sooner <= 2);
    CHECK(due.back() > due.front());
    CHECK(!fs::exists(room.path / ".orders.csv.coming"));
    // And the journal has them all, to be learnt from.
    const auto journal = kept(room.path).list;
    REQUIRE(journal.size() == processes);
    for (std::size_t k = 0; k < journal.size(); ++k)
        CHECK(journal[k].promised == due[k]);
    CHECK(!fs::exists(room.path / ".promise.pending"));
}

TEST_CASE("a name that would break the file is refused before anything is planned",
          "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    const std::string ask =
        promise_program + " promise " + room.path.string() + posters + little + "--quick --accept ";
    for (const char* bad : {"--job $'caf\\xe9'", "--order ' '", "--order $'\\xc2\\xa0'",
                            "--job '=1+1'", "--job $'a\\tb'", "--order=-1+1", "--job=@x"}) {
        INFO(bad);
        const Promised ran = shell("bash -c \"" + ask + bad + "\" 2>&1");
        CHECK(ran.status != 0);
        CHECK(ran.out.find("accepted: order") == std::string::npos);
        CHECK(room.text() == before);
    }
    // From a file they are refused with their place, and only where they are to be written.
    write(room.path / "ask.csv",
          "order,job,count,mesh,frame,coat plan\nE1,=1+1,1,77-55,58 x 84 cm,1+1\n");
    const std::string file = promise_program + " promise " + room.path.string() + " --enquiries " +
                             (room.path / "ask.csv").string() + little + "--quick ";
    const Promised refused = shell(file + "--accept 2>&1");
    CHECK(refused.status == 2);
    CHECK(refused.out.find("ask.csv:2:") != std::string::npos);
    CHECK(refused.out.find("takes for a formula") != std::string::npos);
    CHECK(room.text() == before);
    CHECK(shell(file + " 2>&1").status == 0);
}

TEST_CASE("where nothing can be stored it is said, as for marks", "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    const std::string ask = " --quick --accept 2>&1";
    fs::create_directory(room.path / ".promise.lock");  // cannot be opened for writing
    const Promised ran =
        shell(promise_program + " promise " + room.path.string() + posters + little + ask);
    INFO(ran.out);
    CHECK(ran.status == 74);  // EX_IOERR of sysexits.h
    CHECK(ran.out.find("not accepted: ") != std::string::npos);
    CHECK(room.text() == before);
    CHECK(shell(promise_program + " promise " + (room.path / "none").string() + posters + little +
                ask)
              .status == 2);
}

TEST_CASE("what was asked in lines per inch is accepted, and the same is read", "[app][promise]") {
    const PromiseRoom room("tomorrow");
    fs::copy_file(promise_source + "/scenarios/tomorrow/frames.csv", room.path / "frames.csv",
                  fs::copy_options::overwrite_existing);
    const Promised ran = shell(promise_program + " promise " + room.path.string() +
                               " --screens 1 --ruling '61 lpi' --finest-line '0.0079 in' "
                               "--image '12 x 14 in' --frame 58x84 --coats 2+2 --quick --accept" +
                               little + " 2>&1");
    CHECK(ran.status == 0);
    CHECK(ran.out.find("accepted: order E1") != std::string::npos);
    model::Diagnostics diagnostics;
    const auto scenario = model::read_scenario(room.path.string(), diagnostics);
    REQUIRE(scenario);
    const model::ScreenLine& line = scenario->orders.back().lines.front();
    // An inch has 25.4 mm.
    REQUIRE((line.ruling && line.finest_line));
    CHECK(line.ruling->value == Approx(61 / 2.54));
    CHECK(line.finest_line->value == Approx(0.0079 * 25'400));
    CHECK(line.image == model::Area{model::Centimetres{12 * 2.54}, model::Centimetres{14 * 2.54}});
}

TEST_CASE("an acceptance that cannot be written says why", "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string ask = promise_program + " promise " + room.path.string() + posters + little +
                            "--quick --accept 2>&1 ";
    const Promised longer = shell(ask + "--order " + std::string(2000, 'x'));
    CHECK(longer.status != 0);
    CHECK(longer.out.find("lacks a column") == std::string::npos);
    CHECK(longer.out.find("longer than") != std::string::npos);
    const Promised urgent = shell(ask + "--priority 9");
    CHECK(urgent.status != 0);
    CHECK(urgent.out.find("lacks a column that the order needs: \"priority\"") !=
          std::string::npos);
}

TEST_CASE("an acceptance of the program as it was is completed by the next one", "[app][promise]") {
    const PromiseRoom room("first-day");
    // As a kill between its two renames leaves it: orders.csv is in its place, promises.csv beside.
    const std::string heading = model::promise_heading();
    std::ofstream(room.path / "promises.csv.new") << heading;
    std::ofstream(room.path / ".promise.accepted") << "orders.csv\n"
                                                   << (room.path / "promises.csv").string() << "\n";
    const Promised ran = shell(promise_program + " promise " + room.path.string() + posters +
                               little + "--quick --accept >/dev/null 2>&1");
    CHECK(ran.status == 0);
    CHECK(!fs::exists(room.path / ".promise.accepted"));
    CHECK(!fs::exists(room.path / "promises.csv.new"));
    CHECK(fs::exists(room.path / "promises.csv"));
    const auto promises = kept(room.path);
    CHECK(promises.list.size() == 1);
    REQUIRE(promises.files.size() == 1);
    CHECK(promises.files[0].name == "promises.csv");
}

TEST_CASE("an acceptance that was killed behind its promise is completed, once, by whoever comes",
          "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    // The columns of this orders.csv, so that the line fits it.
    std::string heading;
    std::istringstream of_file(before);
    while (std::getline(of_file, heading) && heading.starts_with("#")) {
    }
    const auto columns = std::count(heading.begin(), heading.end(), ',') + 1;
    std::string lines;
    {
        std::istringstream names(heading);
        std::string name;
        for (std::ptrdiff_t c = 0; c < columns && std::getline(names, name, ','); ++c) {
            const std::string cell = name == "order"       ? "E1"
                                     : name == "due"       ? "2026-11-27 12:00"
                                     : name == "count"     ? "3"
                                     : name == "mesh"      ? "77-55"
                                     : name == "frame"     ? "58 x 84 cm"
                                     : name == "emulsion"  ? "photopolymer B"
                                     : name == "coat plan" ? "1+1"
                                                           : "";
            lines += (c > 0 ? "," : "") + cell;
        }
        lines += "\n";
    }
    const std::string after = before + lines;
    const model::PastPromise promise{.enquiry = "E1",
                                     .asked = *model::parse_date_time("2026-11-26T08:00"),
                                     .screens = 3,
                                     .kind = "77-55, 1+1",
                                     .p50 = {},
                                     .p80 = {},
                                     .p90 = {},
                                     .p95 = {},
                                     .promised = *model::parse_date_time("2026-11-27T12:00"),
                                     .ready = {},
                                     .place = {}};
    const auto promised = [&] {
        sched::journal::Problem problem;
        auto file = Journal::open(room.path.string(), Journal::For::Writing, problem);
        REQUIRE(file);
        REQUIRE(file->accept(promise,
                             {.enquiry = "E1",
                              .orders = "orders.csv",
                              .lines = lines,
                              .before = sched::report::sha256_hex(before),
                              .after = sched::report::sha256_hex(after)},
                             problem));
        write(room.path / ".promise.pending", ".");
    };
    const auto completed = [&] {
        sched::app::complete_acceptances(room.path.string());
        CHECK(!fs::exists(room.path / ".promise.pending"));
        CHECK(!fs::exists(room.path / ".orders.csv.coming"));
        CHECK(kept(room.path).list.size() == 1);
        const std::string text = room.text();
        sched::app::complete_acceptances(room.path.string());
        CHECK(room.text() == text);
        return text;
    };
    SECTION("before the promise: nothing has happened") {
        write(room.path / ".orders.csv.coming", after);
        write(room.path / ".promise.pending", ".");
        sched::app::complete_acceptances(room.path.string());
        CHECK(room.text() == before);
        CHECK(!fs::exists(room.path / ".promise.pending"));
    }
    SECTION("before orders.csv had it") {
        promised();
        write(room.path / ".orders.csv.coming", after);
        CHECK(completed() == after);
    }
    SECTION("the folder was copied without what was prepared") {
        promised();
        fs::remove(room.path / ".promise.pending");
        sched::app::complete_acceptances(room.path.string());  // nobody knows of it yet
        CHECK(room.text() == before);
        { const sched::app::ScenarioLock lock(room.path.string()); }
        CHECK(completed() == after);
    }
    SECTION("when orders.csv had it already") {
        promised();
        write(room.path / "orders.csv", after);
        CHECK(completed() == after);
    }
    SECTION("somebody has changed orders.csv before") {
        promised();
        write(room.path / ".orders.csv.coming", after);
        const std::string changed = before + "X9" + lines.substr(2);  // another order
        write(room.path / "orders.csv", changed);
        CHECK(completed() == changed + lines);
    }
    SECTION("somebody has taken the order out again since") {
        promised();
        write(room.path / "orders.csv", before.substr(0, before.size() - 1));
        CHECK(completed() == before.substr(0, before.size() - 1));
    }
    SECTION("plan completes it as well") {
        promised();
        write(room.path / ".orders.csv.coming", after);
        shell(promise_program + " plan " + room.path.string() +
              " --on-paper --budget 2sch --quiet --threads 1 2>&1");
        CHECK(completed() == after);
    }
    SECTION("a scenario whose orders.csv leads here") {
        const fs::path other = room.path / "other";
        fs::create_directory(other);
        for (const char* name : {"room.yaml", "frames.csv"})
            fs::copy(room.path / name, other / name);
        fs::create_symlink("../orders.csv", other / "orders.csv");
        sched::journal::Problem problem;
        {
            auto file = Journal::open(other.string(), Journal::For::Writing, problem);
            REQUIRE(file);
            const std::string full = fs::canonical(room.path / "orders.csv").string();
            REQUIRE(file->accept(promise,
                                 {.enquiry = "E1",
                                  .orders = full,
                                  .lines = lines,
                                  .before = sched::report::sha256_hex(before),
                                  .after = sched::report::sha256_hex(after)},
                                 problem));
        }
        write(room.path / ".promise.pending", fs::canonical(other).string());
        // Who accepts next, there or here, does it on top of that order.
        { const sched::app::ScenarioLock lock(room.path.string()); }
        CHECK(room.text() == after);
        CHECK(!fs::exists(room.path / ".promise.pending"));
        CHECK(kept(other).list.size() == 1);
    }
}

TEST_CASE("a disk that fails while an order is entered: what was said holds when it works again",
          "[app][promise]") {
    using sched::app::Accepted;
    failing_disk::Disk disk;
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    sched::study::Promise promise;
    promise.enquiry.name = "E1";
    promise.enquiry.lines = {{.count = 3,
                              .mesh = "77-55",
                              .frame = {model::Centimetres{58}, model::Centimetres{84}},
                              .emulsion = "photopolymer B",
                              .coat_plan = "1+1"}};
    promise.screens = 3;
    promise.asked = *model::parse_date_time("2026-11-26T08:00");
    promise.recommended = *model::parse_date_time("2026-11-27T12:00");
    std::string problem;
    const auto accept = [&](failing_disk::Fails how) {
        // Somebody else has it open: so the next flush is that of the order.
        sched::journal::Problem wrong;
        auto other = Journal::open(room.path.string(), Journal::For::Writing, wrong);
        REQUIRE(other);
        REQUIRE(other->add({{.time = promise.asked,
                             .entered = promise.asked,
                             .mark = sched::journal::Mark::Down,
                             .what = "cabinet"}},
                           wrong));
        disk.fails_at_next_flush(how);
        const sched::app::ScenarioLock lock(room.path.string());
        REQUIRE(lock.held());
        return sched::app::accept_order(room.path.string(), promise, problem);
    };
    SECTION("once: it is not accepted, and nothing of it stays") {
        CHECK(accept(failing_disk::Fails::Once) == Accepted::No);
        CHECK(problem.find("cannot be written") != std::string::npos);
        CHECK(kept(room.path).list.empty());
        CHECK(room.text() == before);
    }
    SECTION("from then on: nobody knows; the next reader completes what stands in the journal") {
        CHECK(accept(failing_disk::Fails::FromThenOn) == Accepted::Unknown);
        CHECK(problem.find("may stand there all the same") != std::string::npos);
        CHECK(room.text() == before);
        disk.works_again();
        sched::app::complete_acceptances(room.path.string());
        CHECK(kept(room.path).list.size() == 1);
        CHECK(room.text().starts_with(before));
        CHECK(room.text().find("\nE1,") != std::string::npos);
    }
    CHECK(!fs::exists(room.path / ".promise.pending"));
    CHECK(!fs::exists(room.path / ".orders.csv.coming"));
}

TEST_CASE("what was prepared for an order that came to nothing is cleared away", "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    // As a kill leaves it between the mark that an acceptance is under way and the journal.
    write(room.path / ".orders.csv.coming", before + "half");
    write(room.path / ".promise.pending", ".");
    sched::app::complete_acceptances(room.path.string());
    CHECK(room.text() == before);
    CHECK(!fs::exists(room.path / ".orders.csv.coming"));
    CHECK(!fs::exists(room.path / ".promise.pending"));
}

TEST_CASE("where orders.csv or the journal cannot be written nothing is accepted",
          "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string before = room.text();
    const std::string ask = promise_program + " promise " + room.path.string() + posters + little +
                            "--quick --accept 2>&1 >/dev/null";
    SECTION("the text of orders.csv cannot be written beside it: a folder stands there") {
        fs::create_directory(room.path / ".orders.csv.coming");
        const Promised ran = shell(ask);
        CHECK(ran.status == 1);
        CHECK(ran.out.find("not accepted") != std::string::npos);
        CHECK(kept(room.path).list.empty());
        CHECK(!fs::exists(room.path / ".promise.pending"));
    }
    SECTION("no journal can be there: a folder stands in its place") {
        fs::create_directory(room.path / "journal.sqlite");
        const Promised ran = shell(ask);
        CHECK(ran.status != 0);
        CHECK(ran.out.find("journal.sqlite is no file") != std::string::npos);
        CHECK(!fs::exists(room.path / ".orders.csv.coming"));
    }
    CHECK(room.text() == before);
}

TEST_CASE("promises are taken in once, written out on demand, and ready by a mark",
          "[app][promise]") {
    const PromiseRoom room("first-day");
    const std::string here = room.path.string();
    const std::string old =
        "enquiry,asked,screens,promised,p90,ready\n"
        "A7,2026-11-24 10:15,4,2026-11-25 16:00,2026-11-25 15:50,\n"
        "A8,2026-11-24 11:00,2,2026-11-25 16:00,2026-11-25 15:50,2026-11-25 14:00\n";
    write(room.path / "promises.csv", old);
    // Read as it is until then, without a journal.
    const Promised first = shell(promise_program + " promise " + here + " --export - 2>&1");
    CHECK(first.status == 0);
    CHECK(first.out.find("A7,2026-11-24T10:15,4,") != std::string::npos);
    CHECK(!fs::exists(room.path / "journal.sqlite"));
    const Promised accepted = shell(promise_program + " promise " + here + posters + little +
                                    "--quick --accept 2>&1 >/dev/null");
    REQUIRE(accepted.status == 0);
    CHECK(accepted.out.find("promises.csv was taken into the journal (2 promises)") !=
          std::string::npos);
    CHECK(kept(room.path).list.size() == 3);
    CHECK(kept(room.path).files.at(0).sha256 == sched::report::sha256_hex(old));
    // What is written there later does not count; whoever asks is told so, and how it would.
    write(room.path / "promises.csv",
          old + "A9,2026-11-24 12:00,1,2026-11-25 16:00,2026-11-25 15:50,2026-11-25 13:00\n");
    const Promised told = shell(promise_program + " check " + here + " 2>&1");
    CHECK(told.status == 0);
    CHECK(told.out.find("does not have 1 of its promises and 0 of its ready times") !=
          std::string::npos);
    CHECK(shell(promise_program + " promise " + here + " --import " + here + "/promises.csv 2>&1")
              .status == 0);
    CHECK(kept(room.path).list.size() == 4);
    CHECK(shell(promise_program + " check " + here + " 2>&1").out.find("ready times") ==
          std::string::npos);
    // A mark says when it was ready; taken back, it is not; a name that is asked for again is
    // the last promise of that name.
    CHECK(
        shell(promise_program + " mark " + here + " 'ready A7 at 2026-11-25T15:10' 2>&1").status ==
        0);
    auto list = kept(room.path).list;
    CHECK(list.at(0).ready == model::parse_date_time("2026-11-25T15:10"));
    CHECK_FALSE(list.at(2).ready);
    shell(promise_program + " mark " + here + " undo 2>&1");
    CHECK_FALSE(kept(room.path).list.at(0).ready);
    CHECK(shell(promise_program + " mark " + here + " 'ready Z9' 2>&1").status == 2);
    // Out and in again: nothing is there twice; a time filled in by hand is.
    CHECK(shell(promise_program + " promise " + here + " --export " + here + "/out.csv 2>&1")
              .status == 0);
    CHECK(shell(promise_program + " promise " + here + " --import " + here + "/out.csv 2>&1")
              .out.find("0 promises and 0 ready times") != std::string::npos);
    model::Diagnostics diagnostics;
    auto out = model::read_promises(here + "/out.csv", true, diagnostics);
    REQUIRE(out.size() == 4);
    out[0].ready = model::parse_date_time("2026-11-25T15:20");
    std::string text = model::promise_heading();
    for (const auto& p : out)
        text += model::promise_row(p);
    write(room.path / "out.csv", text);
    CHECK(shell(promise_program + " promise " + here + " --import " + here + "/out.csv 2>&1")
              .out.find("0 promises and 1 ready time ") != std::string::npos);
    CHECK(kept(room.path).list.at(0).ready == out[0].ready);
    CHECK(kept(room.path).list.size() == 4);
    // A file that is wrong takes nothing in; one by hand is judged as it is.
    write(room.path / "bad.csv", "enquiry,asked\nA1,soon\n");
    const Promised bad =
        shell(promise_program + " promise " + here + " --import " + here + "/bad.csv 2>&1");
    CHECK(bad.status == 2);
    CHECK(bad.out.find("bad.csv:2:4: error") != std::string::npos);
    const Promised judged = shell(promise_program + " promise " + here + " --backtest --journal " +
                                  here + "/promises.csv 2>&1");
    CHECK(judged.status == 0);
    CHECK(judged.out.find("3 promises") != std::string::npos);
    CHECK(shell(promise_program + " promise " + here + " --backtest 2>&1").out.find("4 promises") !=
          std::string::npos);
}

TEST_CASE("orders.csv with a byte-order mark and CRLF keeps both", "[app][promise]") {
    const PromiseRoom room("first-day");
    std::string text = room.text();
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2)
        text.replace(at, 1, "\r\n");
    text.insert(0, "\xEF\xBB\xBF");
    std::ofstream(room.path / "orders.csv", std::ios::binary) << text;
    const std::string ask = promise_program + " promise " + room.path.string() + posters + little +
                            "--quick --accept 2>&1";
    CHECK(shell(ask).status == 0);
    CHECK(room.text().substr(0, text.size()) == text);
    CHECK(room.text().size() > text.size());
    CHECK(shell(ask).status == 0);  // what was written is read again
}

TEST_CASE("what check accepts, an acceptance writes: separators, columns, links",
          "[app][promise]") {
    const std::string ask = posters + little + "--quick --accept 2>&1";
    const auto accept = [&](const PromiseRoom& room) {
        const Promised ran = shell(promise_program + " promise " + room.path.string() + ask);
        INFO(ran.out);
        CHECK(ran.status == 0);
        const auto told = kept(room.path).list;
        REQUIRE_FALSE(told.empty());
        CHECK(told.back().enquiry.starts_with("E"));
        CHECK(shell(promise_program + " check " + room.path.string() + " 2>&1").status == 0);
    };
    SECTION("semicolons, and columns in another order with less of them") {
        const PromiseRoom room("first-day");
        std::string text = room.text();
        std::replace(text.begin(), text.end(), ',', ';');
        std::ofstream(room.path / "orders.csv", std::ios::binary) << text;
        std::ofstream(room.path / "promises.csv", std::ios::binary)
            << "promised;screens;enquiry;asked;p90\r\n"
            << "2026-11-25 16:00;4;\"old; one\";2026-11-24 10:15;2026-11-25 15:50";
        accept(room);
        CHECK(room.text().starts_with(text));
        CHECK(room.text().substr(text.size()).find(';') != std::string::npos);
        accept(room);
        const auto told = kept(room.path).list;
        REQUIRE(told.size() == 3);
        CHECK(told[0].enquiry == "old; one");
        CHECK(told[0].p90 == model::parse_date_time("2026-11-25T15:50"));
    }
    SECTION("a journal of JSON lines") {
        const PromiseRoom room("first-day");
        std::ofstream(room.path / "promises.csv")
            << "{\"enquiry\": \"old\", \"asked\": \"2026-11-24 10:15\", \"screens\": 4, "
               "\"promised\": \"2026-11-25 16:00\"}\n";
        accept(room);
        accept(room);
        CHECK(kept(room.path).list.size() == 3);
    }
    SECTION("links, one to a file that is not there yet") {
        const PromiseRoom room("first-day");
        const fs::path kept_in = room.path / "kept";
        fs::create_directory(kept_in);
        fs::rename(room.path / "orders.csv", kept_in / "orders.csv");
        fs::create_symlink("kept/orders.csv", room.path / "orders.csv");
        fs::create_symlink("kept/told.csv", room.path / "promises.csv");
        accept(room);
        accept(room);
        CHECK(fs::is_symlink(room.path / "orders.csv"));
        CHECK(fs::is_symlink(room.path / "promises.csv"));
        CHECK(fs::is_regular_file(kept_in / "orders.csv"));
        CHECK(kept(room.path).list.size() == 2);
        CHECK(!fs::exists(kept_in / ".promise.pending"));
    }
    SECTION("a journal that lacks a column that it must have is refused, and nothing is accepted") {
        const PromiseRoom room("first-day");
        const std::string before = room.text();
        std::ofstream(room.path / "promises.csv") << "enquiry,asked,screens\n";
        const Promised ran = shell(promise_program + " promise " + room.path.string() + ask);
        CHECK(ran.status != 0);
        CHECK(room.text() == before);
    }
}

TEST_CASE("an answer that cannot be printed is no success", "[app]") {
    if (!fs::exists("/dev/full")) return;  // another system
    const Promised ran =
        shell(promise_program + " dry " COATROOM_SOURCE "/scenarios/first-day 2>&1 >/dev/full");
    CHECK(ran.status == 74);
    CHECK(ran.out.find("could not be printed") != std::string::npos);
    // The answer "no" was not printed either; nor was the version.
    const std::string room = " " COATROOM_SOURCE "/scenarios/first-day";
    CHECK(shell(promise_program + " check" + room + "/nothing 2>&1 >/dev/full").status == 2);
    CHECK(shell(promise_program + " weeks" + room +
                " --days 20 --orders-a-day 5000 2>/dev/null >/dev/null")
              .status == 1);
    CHECK(shell(promise_program + " weeks" + room +
                " --days 20 --orders-a-day 5000 2>/dev/null >/dev/full")
              .status == 74);
    CHECK(shell(promise_program + " --version 2>/dev/null >/dev/full").status == 74);
}

TEST_CASE("a file that cannot be written costs no figures, and is no fault of the input", "[app]") {
    if (!fs::exists("/dev/full")) return;  // another system
    const std::string room = " " COATROOM_SOURCE "/scenarios/first-day ";
    const Promised weeks =
        shell(promise_program + " weeks" + room + "--days 20 --trace /dev/full 2>/dev/null");
    CHECK(weeks.status == 74);
    CHECK(weeks.out.find("20 working days") != std::string::npos);
    const Promised dry = shell(promise_program + " dry" + room + "--out /dev/full 2>/dev/null");
    CHECK(dry.status == 74);
    CHECK(!dry.out.empty());
    // No folder of a new room can be made in a file.
    const PromiseRoom there("first-day");
    const Promised begun =
        shell(promise_program + " begin " + there.path.string() + "/room.yaml/new --answers " +
              COATROOM_SOURCE + "/scenarios/answers/small-shop.txt 2>&1");
    CHECK(begun.status == 74);
    CHECK(begun.out.find("Nothing was written") != std::string::npos);
}
