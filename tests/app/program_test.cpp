// The program as a user meets it: exit status, messages, files.

#include <sys/wait.h>
#include <unistd.h>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

#include "tests/catch.hpp"

namespace fs = std::filesystem;

namespace {

struct Ran {
    int status = -1;
    std::string out;  // both streams
};

Ran coatroom(const std::string& arguments) {
    Ran ran;
    FILE* pipe = popen((std::string(COATROOM_PROGRAM) + " " + arguments + " 2>&1").c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::array<char, 4096> buffer{};
    std::size_t got = 0;
    while ((got = fread(buffer.data(), 1, buffer.size(), pipe)) > 0)
        ran.out.append(buffer.data(), got);
    const int status = pclose(pipe);
    ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return ran;
}

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

const std::string scenarios = std::string(COATROOM_SOURCE) + "/scenarios/";

// A folder that is gone when the test ends.
struct Scratch {
    fs::path path;
    explicit Scratch(const std::string& name)
        : path(fs::temp_directory_path() / ("coatroom-" + name + "-" + std::to_string(getpid()))) {
        fs::remove_all(path);
        fs::create_directories(path);
    }
    ~Scratch() { fs::remove_all(path); }
};

}  // namespace

TEST_CASE("the demo day prints on eight pages for three people", "[app]") {
    const Scratch out("paper");
    REQUIRE(coatroom("plan " + scenarios +
                     "tomorrow --budget 100sch --on-paper --quiet "
                     "--replications 0 --out " +
                     out.path.string())
                .status == 0);
    const std::string sheets = text_of(out.path / "sheets.html");
    int pages = 0;
    for (std::size_t at = sheets.find("<section class=\"page\""); at != std::string::npos;
         at = sheets.find("<section class=\"page\"", at + 1))
        ++pages;
    CHECK(pages <= 8);
    CHECK_FALSE(fs::exists(out.path / "station-sheets.html"));
}

TEST_CASE("a lamp that fails when it is switched on holds back no other unit", "[app]") {
    // The tutorial room with an old unit beside its own. All is ready on the day without the old
    // one; on paper and on simulated days nobody waits for it until tomorrow.
    const Scratch room("two-units");
    fs::copy(scenarios + "first-day", room.path, fs::copy_options::recursive);
    std::string text = text_of(room.path / "room.yaml");
    const std::string own = "  - name: exposure unit\n";
    REQUIRE(text.find(own) != std::string::npos);
    text.insert(text.find(own),
                "  - {name: old unit, does: [expose], light-safe: yes,\n"
                "     lamp: {kind: led, distance: 110 cm, warm-up: 5 min}}\n");
    std::ofstream(room.path / "room.yaml") << text;
    std::ofstream(room.path / "state.yaml")
        << "stations:\n  - {name: old unit, down from: 07:00}\n";
    const Ran again = coatroom("plan " + room.path.string() +
                               " --now 07:01 --budget 60sch --threads 1 --replications 20 --quiet "
                               "--out " +
                               (room.path / "out").string());
    INFO(again.out);
    REQUIRE(again.status == 0);
    const auto plan = nlohmann::json::parse(text_of(room.path / "out" / "plan.json"));
    REQUIRE(plan["orders"].size() == 3);
    for (const auto& order : plan["orders"]) {
        CHECK(order["ready"].get<std::string>().starts_with("2026-11-26"));
        CHECK(order["ready_p50"].get<std::string>().starts_with("2026-11-26"));
    }
}

TEST_CASE("the tutorial room is planned, written, and its plan passes the judge", "[app]") {
    const Scratch out("first-day");
    const Ran plan =
        coatroom("plan " + scenarios + "first-day --budget 50sch --out " + out.path.string());
    INFO(plan.out);
    REQUIRE(plan.status == 0);
    for (const char* name : {"plan.json", "plan.html", "sheets.html", "plan.csv", "plan.ics"}) {
        CHECK(fs::file_size(out.path / name) > 500);
    }
    const Ran check = coatroom("check " + (out.path / "plan.json").string());
    CHECK(check.status == 0);
    // Held against its room too, with the turns that simulated days chose.
    CHECK(coatroom("check " + (out.path / "plan.json").string() + " --scenario " + scenarios +
                   "first-day")
              .status == 0);
    CHECK(text_of(out.path / "plan.json").find("\"turn\"") != std::string::npos);
    const Ran compare = coatroom("plan --compare " + (out.path / "plan.json").string() + " " +
                                 (out.path / "plan.json").string());
    CHECK(compare.status == 0);
    CHECK(compare.out == "The two plans say the same.\n");
    const Ran json = coatroom("plan --json --compare " + (out.path / "plan.json").string() + " " +
                              (out.path / "plan.json").string());
    CHECK(json.status == 0);
    CHECK(json.out.find("\"same\":true") != std::string::npos);
}

TEST_CASE("a plan in a folder of its room is checked against the room", "[app]") {
    const Scratch room("own-room");
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv"})
        fs::copy_file(fs::path(scenarios) / "first-day" / name, room.path / name);
    const std::string plan = (room.path / "plan").string();
    REQUIRE(
        coatroom("plan " + room.path.string() + " --budget 20sch --replications 0 --out " + plan)
            .status == 0);
    const Ran sound = coatroom("check " + plan + "/plan.json");
    INFO(sound.out);
    CHECK(sound.status == 0);
    CHECK(sound.out.find("not checked against") == std::string::npos);
    // It is that room: with another one in its place the plan does not fit.
    std::ofstream(room.path / "orders.csv", std::ios::app)
        << "Z9,,2026-11-27 09:00,1,77-55,58 x 84 cm,photopolymer B,1+1\n";
    CHECK(coatroom("check " + plan + "/plan.json").status != 0);
}

TEST_CASE("pins are held, and contradictions named", "[app]") {
    const Scratch out("pins");
    const std::string folder = out.path.string();
    REQUIRE(coatroom("plan " + scenarios +
                     "tomorrow --budget 60sch --quiet --pin 'all without Ben' " + "--out " + folder)
                .status == 0);
    CHECK(coatroom("check " + folder + "/plan.json").status == 0);
    const std::string table = text_of(out.path / "plan.csv");
    CHECK(table.find("Ada") != std::string::npos);
    CHECK(table.find("Ben") == std::string::npos);
    const Ran wrong = coatroom("plan " + scenarios + "tomorrow --pin 'A7 by 6:30'");
    CHECK(wrong.status == 1);
    CHECK(wrong.out.find("A7 by 6:30") != std::string::npos);
    std::ofstream(out.path / "pins.txt") << "A7 by 23:00\n\n# later\nA99 first\n";
    const Ran lines = coatroom("plan " + scenarios + "tomorrow --pin 'all without Ben' --pins " +
                               (out.path / "pins.txt").string());
    CHECK(lines.status == 2);
    CHECK(lines.out.find("pins.txt:4:1: error: pin \"A99 first\"") != std::string::npos);
    const Ran typo = coatroom("plan " + scenarios + "tomorrow --pin 'A7 with Cleoo'");
    CHECK(typo.status == 2);
    CHECK(typo.out.find("Cleo\"") != std::string::npos);
}

TEST_CASE("the same seed gives the same bytes whatever the threads", "[app]") {
    const std::string base =
        "plan " + scenarios + "first-day --budget 300sch --seed 7 --json --quiet --threads ";
    const Ran one = coatroom(base + "1");
    const Ran three = coatroom(base + "3");
    REQUIRE(one.status == 0);
    CHECK(one.out == three.out);
}

TEST_CASE("days are simulated until the ready times are known well enough", "[app][chance]") {
    const auto days = [](const std::string& options) {
        const Ran ran =
            coatroom("plan " + scenarios + "first-day --budget 30sch --quiet " + options);
        INFO(ran.out);
        REQUIRE(ran.status == 0);
        const std::string before = "chances from ";
        const auto at = ran.out.find(before);
        REQUIRE(at != std::string::npos);
        return std::stol(ran.out.substr(at + before.size()));
    };
    const long rough = days("--precision 5"), fine = days("--precision 0.5");
    CHECK(rough >= 50);  // one batch
    CHECK(fine > rough);
    CHECK(fine < 10'000);
    CHECK(days("--precision 0.5 --replications 100") == 100);
    CHECK(coatroom("plan " + scenarios + "first-day --precision 0").status == 2);
}

TEST_CASE("a plan that somebody edited by hand is refused", "[app]") {
    const Scratch out("edited");
    REQUIRE(coatroom("plan " + scenarios + "first-day --budget 20sch --out " + out.path.string())
                .status == 0);
    std::string text = text_of(out.path / "plan.json");
    const auto at = text.find("\"start\": \"20", text.find("\"operations\""));
    REQUIRE(at != std::string::npos);
    text[at + 24] = text[at + 24] == '9' ? '8' : '9';  // the minutes of the first start
    std::ofstream(out.path / "plan.json", std::ios::binary) << text;
    const Ran check = coatroom("check " + (out.path / "plan.json").string());
    INFO(check.out);
    CHECK(check.status != 0);
}

TEST_CASE("bad input ends with status 2, a place and no plan", "[app]") {
    const Scratch room("bad");
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv"}) {
        fs::copy(scenarios + "first-day/" + name, room.path / name);
    }
    std::ofstream(room.path / "room.yaml", std::ios::app) << "\nstatoins: []\n";
    const Ran plan =
        coatroom("plan " + room.path.string() + " --out " + (room.path / "out").string());
    INFO(plan.out);
    CHECK(plan.status == 2);
    CHECK(plan.out.find("room.yaml:") != std::string::npos);
    CHECK(plan.out.find("stations") != std::string::npos);  // the nearest key
    CHECK_FALSE(fs::exists(room.path / "out"));
    CHECK(coatroom("plan " + scenarios + "first-day --budget soon").status == 2);
    CHECK(coatroom("plan " + scenarios + "no-such-folder").status == 2);
    const auto nowhere = coatroom("check nowhere");
    CHECK(nowhere.status == 2);
    CHECK(nowhere.out.find("there is no nowhere. Name the folder") != std::string::npos);
    CHECK(coatroom("plna").status == 2);
    CHECK(coatroom("plan " + scenarios + "first-day --day foggy").status == 2);
}

TEST_CASE("Ctrl-C ends a size study with the best so far", "[app][size]") {
    // Days without end; the signal comes after so many seconds, wherever it is by then. `timeout`
    // signals the program and its group: two signals, one press. A slow machine may not have
    // simulated a day by then, says so, and gets longer.
    const Scratch out("size-stop");
    const fs::path said = out.path.parent_path() / (out.path.filename().string() + ".said");
    bool early = true;
    for (int seconds = 3; early && seconds < 100; seconds *= 2) {
        const std::string command =
            "timeout --preserve-status -s INT " + std::to_string(seconds) + " " +
            std::string(COATROOM_PROGRAM) + " size " + scenarios + "tomorrow --change " +
            scenarios + "changes/second-lamp.yaml --days 1000000 --indifference 0.0001 " +
            "--effort 6 --quiet --late-order 60 --out " + out.path.string() + " > " +
            said.string() + " 2>&1";
        CHECK(WEXITSTATUS(std::system(command.c_str())) == 130);
        INFO(text_of(said));
        CHECK(text_of(said).find("nterrupted") != std::string::npos);
        early = !fs::exists(out.path / "size.json");
        if (!early) break;
        const std::string words = text_of(said);
        CHECK((words.find("No day had been simulated") != std::string::npos ||
               words.find("othing is written") != std::string::npos));
    }
    fs::remove(said);
    CHECK_FALSE(early);
    CHECK(text_of(out.path / "size.json").find("\"end\": \"interrupted\"") != std::string::npos);
    CHECK(text_of(out.path / "size.html").find("</html>") != std::string::npos);
}

TEST_CASE("size names what is wrong in its files, each with its place, all in one pass",
          "[app][size]") {
    const Scratch out("size-bad");
    const auto write = [&](const char* name, const std::string& text) {
        std::ofstream(out.path / name) << text;
        return (out.path / name).string();
    };
    const std::string change = write("change.yaml",
                                     "change: cheap cabinet\n"
                                     "costs: {purchase: -5, lief years: 12}\n"
                                     "room:\n"
                                     "  stations:\n"
                                     "    - {like: cabinet, name: cabinet 2, slots: many}\n");
    const std::string other = write("other.yaml",
                                    "change: other\n"
                                    "room:\n"
                                    "  stations:\n"
                                    "    - {name: attic, remove: yes}\n");
    const Ran ran = coatroom("size " + scenarios + "tomorrow --change " + change + " --change " +
                             other + " --out " + (out.path / "result").string());
    INFO(ran.out);
    CHECK(ran.status == 2);
    for (const char* words :
         {"change.yaml:2:", "change.yaml:5:", "other.yaml:4:", "\"lief years\"", "life years"}) {
        INFO(words);
        CHECK(ran.out.find(words) != std::string::npos);
    }
    CHECK_FALSE(fs::exists(out.path / "result"));

    const std::string past = write("past.csv",
                                   "order,due,count,mesh,frame,emulsion,coat plan\n"
                                   "P1,2026-11-02 10:00,2,120-34,58 x 84 cm,dual-cure A,2+2\n"
                                   "P2,2026-11-03 10:00,2,120-35,58 x 84 cm,dual-cure A,2+2\n"
                                   "P3,tomorrow,2,120-34,58 x 84 cm,dual-cure A,3+3\n");
    const Ran history = coatroom("size " + scenarios + "tomorrow --change " + scenarios +
                                 "changes/second-lamp.yaml --orders " + past);
    INFO(history.out);
    CHECK(history.status == 2);
    for (const char* words : {"past.csv:3:23", "past.csv:4:4", "past.csv:4:45"})
        CHECK(history.out.find(words) != std::string::npos);
}

TEST_CASE("size repeats past days and the luck of chance.yaml", "[app][size]") {
    const Scratch out("size-past");
    const fs::path room = out.path / "room";
    fs::copy(scenarios + "tomorrow", room);
    std::ofstream(out.path / "past.csv")
        << "order,due,count,mesh,frame,emulsion,coat plan\n"
           "P1,2026-11-02 14:00,2,120-34,58 x 84 cm,dual-cure A,2+2\n"
           "P2,2026-11-03 14:00,3,120-34,58 x 84 cm,dual-cure A,2+2\n"
           "P3,2026-11-03 15:00,1,77-55,58 x 84 cm,dual-cure A,2+2\n";
    const std::string study =
        "size " + room.string() + " --change " + scenarios + "changes/second-lamp.yaml --orders " +
        (out.path / "past.csv").string() + " --days 4 --min-days 4 --effort 6 --quiet --json";
    const auto screens = [](const std::string& json) {  // of today's room
        const auto at = json.find("\"screens\":");
        return at == std::string::npos ? std::string("none") : json.substr(at, 26);
    };
    const Ran plain = coatroom(study);
    INFO(plain.out);
    CHECK(plain.status == 0);
    CHECK(plain.out.find("\"past_days\": 2") != std::string::npos);
    // No random variation but what the file says: none.
    std::ofstream(room / "chance.yaml") << "work varies: 0 %\ndrying varies: 0 %\nremakes: []\n";
    const Ran calm = coatroom(study);
    CHECK(calm.status == 0);
    CHECK(calm.out != plain.out);
    CHECK(screens(calm.out) == screens(plain.out));
    CHECK(screens(calm.out).find("mean") != std::string::npos);
    std::ofstream(room / "chance.yaml") << "work varies: lots\n";
    const Ran bad = coatroom(study);
    CHECK(bad.status == 2);
    CHECK(bad.out.find("chance.yaml:1:14") != std::string::npos);
}

TEST_CASE("size names what is wrong with its options", "[app][size]") {
    const std::string room = scenarios + "tomorrow ";
    const std::string change = "--change " + scenarios + "changes/second-lamp.yaml ";
    const auto refused = [](const std::string& arguments, const std::string& words) {
        const Ran ran = coatroom("size " + arguments);
        INFO(arguments << ": " << ran.out);
        CHECK(ran.status == 2);
        CHECK(ran.out.find(words) != std::string::npos);
    };
    refused("", "--merge FILES");
    refused(room, "--change FILE");
    refused(room + change + change, "two changes are named \"second exposure unit\"");
    refused(room + change + "--shard 3/2 --out x", "is no shard");
    refused(room + change + "--shard 1/2", "--out FILE");
    refused(room + change + "--kinds 'foggy 3'", "are no kinds of day");
    refused(room + change + "--kinds 'dry'", "are no kinds of day");
    refused(room + "--change nowhere.yaml", "nowhere.yaml");
    refused("--merge nowhere.json", "nowhere.json");
    refused("--merge " + scenarios + "tomorrow/orders.csv", "orders.csv");
    refused(room + change + "--orders nowhere.csv", "nowhere.csv");
    refused(room + change + "--effort 0 --rule dice --days 2", "no rule named dice");
}

namespace {

// A copy of a demo room, to be changed.
void copy_scenario(const std::string& name, const fs::path& to) {
    for (const auto& entry : fs::directory_iterator(scenarios + name))
        fs::copy(entry.path(), to / entry.path().filename());
}

void put_text(const fs::path& path, const std::string& text) {
    std::ofstream(path, std::ios::binary) << text;
}

const std::string order_header =
    "order,customer,due,count,mesh,frame,emulsion,coat plan,film ready\n";

}  // namespace

TEST_CASE("options by their former names are read as before", "[app][size]") {
    const std::string asked =
        "promise " + scenarios + "tomorrow --screens 2 --mesh 120/cm --frame 58x84 --coats 2+2 ";
    const Ran now = coatroom(asked + "--job shirts --json");
    const Ran before = coatroom(asked + "--customer shirts --json");
    CHECK(now.out.find("shirts") != std::string::npos);
    CHECK(before.out == now.out);
    const std::string sized = "size " + scenarios + "first-day --change " + scenarios +
                              "changes/second-lamp.yaml --effort 0 --days 4 --csv ";
    CHECK(coatroom(sized + "--least 3 --every-day --coping 80").out ==
          coatroom(sized + "--min-days 3 --no-elimination --on-time-target 80").out);
}

TEST_CASE("a film after the due time makes one late order, not a wrong input", "[app]") {
    const Scratch room("late-film");
    copy_scenario("first-day", room.path);
    put_text(
        room.path / "orders.csv",
        order_header +
            "T1,shirts,2026-11-26 11:30,1,77-55,58 x 84 cm,photopolymer B,1+1,\n"
            "T2,shirts,2026-11-26 11:30,1,77-55,58 x 84 cm,photopolymer B,1+1,2026-11-26 12:45\n");
    const Ran plan = coatroom("plan " + room.path.string() + " --budget 20sch --quiet");
    INFO(plan.out);
    CHECK(plan.status == 0);
    CHECK(plan.out.find("(film-after-due)") != std::string::npos);
    CHECK(plan.out.find("! T2") != std::string::npos);
    CHECK(plan.out.find("! T1") == std::string::npos);
}

TEST_CASE("due dates years off are late or far, said with their place, and end", "[app][day]") {
    const Scratch room("years");
    copy_scenario("first-day", room.path);
    put_text(room.path / "orders.csv",
             order_header +
                 "T1,shirts,1970-01-02 11:30,1,77-55,58 x 84 cm,photopolymer B,1+1,\n"
                 "T2,shirts,2026-11-26 14:30,1,77-55,58 x 84 cm,photopolymer B,1+1,\n"
                 "T3,shirts,2076-11-26 11:30,1,77-55,58 x 84 cm,photopolymer B,1+1,\n");
    const Ran plan = coatroom("plan " + room.path.string() + " --budget 20sch --quiet");
    INFO(plan.out);
    CHECK(plan.status == 0);
    CHECK(plan.out.find("orders.csv:2:11: warning: ") != std::string::npos);
    CHECK(plan.out.find("orders.csv:4:11: warning: ") != std::string::npos);
    CHECK(plan.out.find("! T1") != std::string::npos);
    CHECK(plan.out.find("! T1") < plan.out.find("  T2 "));
    CHECK(coatroom("check " + room.path.string()).status == 0);
    CHECK(coatroom("check " + room.path.string() + " --date 2026-13-26").status == 2);
}

TEST_CASE("pins stand in the plan, and a pinned weight in its value", "[app]") {
    const Scratch out("weights");
    const std::string base = "plan " + scenarios + "tomorrow --budget 20sch --quiet --json";
    const Scratch without("no-weights");
    REQUIRE(coatroom(base + " --out " + without.path.string()).status == 0);
    const Ran pinned = coatroom(base + " --pin 'A11 counts 9' --out " + out.path.string());
    REQUIRE(pinned.status == 0);
    const std::string plan = text_of(out.path / "plan.json");
    CHECK(plan.find("\"A11 counts 9\"") != std::string::npos);
    const auto weight_of = [](const std::string& text) {
        const auto parsed = nlohmann::json::parse(text);
        for (const auto& order : parsed["orders"])
            if (order["name"] == "A11") return order["weight"].get<int>();
        return -1;
    };
    CHECK(weight_of(plan) == 9);
    CHECK(weight_of(text_of(without.path / "plan.json")) == 1);
    CHECK(text_of(out.path / "plan.html").find("A11 counts 9") != std::string::npos);
    CHECK(coatroom("check " + (out.path / "plan.json").string()).status == 0);
}

TEST_CASE("what is pinned twice is held once", "[app]") {
    const Scratch out("pinned-twice");
    std::string lines;
    for (int i = 0; i < 40; ++i)
        lines += "A2 after A1\nA11 counts 9\n";
    fs::create_directories(out.path);
    put_text(out.path / "pins.txt", lines + "A11 counts 3\n");
    const Ran ran =
        coatroom("plan " + scenarios + "tomorrow --budget 2sch --quiet --on-paper " + "--pins " +
                 (out.path / "pins.txt").string() + " --out " + (out.path / "plan").string());
    REQUIRE(ran.status == 0);
    const auto plan = nlohmann::json::parse(text_of(out.path / "plan" / "plan.json"));
    const auto& pins = plan["pins"];
    CHECK(std::count(pins.begin(), pins.end(), "A2 after A1") == 1);
    for (const auto& order : plan["orders"]) {
        if (order["name"] == "A11") CHECK(order["weight"] == 3);  // the last one counts
    }
}

TEST_CASE("a law of observed times without times is said with its place", "[app][chance]") {
    const Scratch room("no-times");
    copy_scenario("first-day", room.path);
    put_text(room.path / "chance.yaml",
             "times:\n  - step: inspect\n    time: {law: observed, file: seen.csv, column: "
             "minutes}\n");
    for (const char* text : {"", "minutes\n"}) {
        put_text(room.path / "seen.csv", text);
        const Ran size = coatroom("size " + room.path.string() + " --change " + scenarios +
                                  "changes/second-cabinet.yaml --days 2");
        INFO(size.out);
        CHECK(size.status == 2);
        CHECK(size.out.find("seen.csv:1:1: error: ") != std::string::npos);
        CHECK(size.out.find("(no-values)") != std::string::npos);
        CHECK(size.out.find("\"minutes\"") != std::string::npos);
    }
}

TEST_CASE("what nobody can ever do is said by plan, promise, its table and weeks alike", "[app]") {
    // Washing out takes two, and one of two may: no queue grows, no order is merely late.
    const Scratch scratch("never");
    fs::copy(scenarios + "first-day", scratch.path, fs::copy_options::recursive);
    std::string yaml = text_of(scratch.path / "room.yaml");
    const std::string people = "\npeople:";
    REQUIRE(yaml.find(people) != std::string::npos);
    yaml.insert(yaml.find('\n', yaml.find(people) + 1) + 1,
                "  - {name: Ben, can: everything but washing out, shifts: Mon-Fri 07:00-15:30}\n");
    std::ofstream(scratch.path / "room.yaml")
        << yaml << "limits: {two people above: 30 x 40 cm, two people for: [washing out]}\n";
    const std::string room = scratch.path.string();
    const std::string enquiry =
        " --screens 1 --mesh 77-55 --frame 58x84 --coats 1+1 --replications 19";
    for (const std::string& command :
         {"plan " + room + " --quiet --budget 20sch", "promise " + room + enquiry,
          "promise " + room + " --table --weeks 2", "weeks " + room + " --days 20"}) {
        INFO(command);
        const Ran ran = coatroom(command);
        INFO(ran.out);
        CHECK(ran.status == 1);
        CHECK(ran.out.find("2 people at once") != std::string::npos);
        CHECK(ran.out.find("queue grows") == std::string::npos);
    }
}

TEST_CASE("a page of one file goes into the folder that is named", "[app]") {
    const Scratch scratch("page-folder");
    const std::string out = (scratch.path / "pages").string();
    CHECK(
        coatroom("weeks " + scenarios + "first-day --days 20 --precision 50 --out " + out).status ==
        0);
    CHECK(fs::exists(scratch.path / "pages" / "weeks.html"));
    CHECK(coatroom("dose " + scenarios + "first-day --wedge --out " + out).status == 0);
    CHECK(fs::exists(scratch.path / "pages" / "dose.html"));
    CHECK(coatroom("dry " + scenarios + "first-day --out " + out + "/curve.svg").status == 0);
    CHECK(fs::exists(scratch.path / "pages" / "curve.svg"));
}
