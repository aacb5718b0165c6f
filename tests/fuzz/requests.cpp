// What comes in over the board and as marks under libFuzzer, one reader at a time, without sockets:
// COATROOM_FUZZ_TARGET=mark.json coatroom-fuzz-requests CORPUS. campaign.py runs all of them from a
// corpus of requests as the pages send them (docs/reliability.md).
//
// How it works: the room is scenarios/first-day, or COATROOM_FUZZ_BASE. Whatever is read goes on:
// an enquiry is compiled, a refused one shown at its field; marks go into a journal in memory, and
// what stands there is written as CSV and read again; a plan goes to the shelf with all its pages.
// A sanitizer or an assertion ends the program; so does an answer that says nothing, breaks what a
// reader promises, or is no JSON.

#include <httplib.h>
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <string>

#include "model/read/scenario.hpp"
#include "sched/app/parts/again_service.hpp"
#include "sched/app/parts/board_day.hpp"
#include "sched/app/parts/day_change.hpp"
#include "sched/app/parts/enquiry_query.hpp"
#include "sched/app/parts/mark_csv.hpp"
#include "sched/board/guard.hpp"
#include "sched/board/shelf.hpp"
#include "sched/check/checker.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/journal/mark_words.hpp"
#include "sched/report/promise/ask_page.hpp"

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using sched::journal::Entry;
using sched::journal::Mark;

[[noreturn]] void wrong(const std::string& what) {
    std::fprintf(stderr, "wrong: %s\n", what.c_str());
    std::abort();
}

const model::SimTime now = *model::parse_date_time("2026-11-26T10:00");

const model::Scenario& scenario() {
    static const model::Scenario read = [] {
        const char* folder = std::getenv("COATROOM_FUZZ_BASE");
        model::Diagnostics diagnostics;
        auto found = model::read_scenario(
            folder != nullptr ? folder : COATROOM_SOURCE "/scenarios/first-day", diagnostics);
        if (!found) wrong("the base is no scenario");
        return *std::move(found);
    }();
    return read;
}

/// In memory, new after so many inputs that nothing grows.
const std::string& folder() {
    static const std::string path = "/dev/shm/coatroom-fuzz-requests-" + std::to_string(getpid());
    fs::create_directories(path);
    return path;
}

void answered(const sched::board::Reply& reply, std::initializer_list<int> statuses) {
    if (std::find(statuses.begin(), statuses.end(), reply.status) == statuses.end())
        wrong("status " + std::to_string(reply.status) + ": " + reply.body);
    const Json json = Json::parse(reply.body, nullptr, false);
    if (!json.is_object()) wrong("no JSON: " + reply.body);
    if (reply.status != 200 && sched::board::words_of(reply).empty())
        wrong("refused without a word");
}

// ---- GET /promise?...

void compile(const sched::study::Enquiry& enquiry) {
    model::Scenario asked = scenario();
    asked.orders.clear();
    asked.orders.push_back({.name = enquiry.name.empty() ? "asked" : enquiry.name,
                            .customer = enquiry.customer,
                            .due = enquiry.wanted.value_or(now + std::chrono::hours{48}),
                            .priority = enquiry.priority,
                            .lines = enquiry.lines});
    if (asked.orders[0].lines[0].count > 6) return;  // for the sake of speed
    model::Diagnostics diagnostics;
    const auto room = sched::compile::compile_room(
        asked, {.start = *model::parse_date_time("2026-11-26T00:00"), .days = 2}, diagnostics);
    if (!room && diagnostics.error_count() == 0) wrong("not compiled, without a word");
    if (!room) return;
    if (const auto found = sched::core::validate(room->problem); !found.empty())
        wrong("the compiled problem: " + found.front());
}

void promise(const std::string& text) {
    httplib::Params params;
    httplib::detail::parse_query_text(text, params);
    if (params.size() > 64) return;  // the server refuses it
    const sched::board::Query query(params.begin(), params.end());
    std::string problem, field;
    const auto asked = sched::app::enquiry_of_query(
        scenario(), query, *model::parse_date_time("2026-11-26T08:00"), problem, &field);
    if (asked) return compile(asked->enquiry);
    if (problem.empty()) wrong("refused without a word");
    answered(sched::board::refuse(400, problem), {400});
    sched::report::AskForm form = sched::report::ask_form(scenario());
    for (const auto& [name, value] : query)
        form.given.emplace(name, value);
    form.wrong_field = field;
    form.wrong = problem;
    const std::string page = sched::report::ask_page(form, "");
    if (page.find("<script>alert") != std::string::npos) wrong("words become a script");
}

// ---- marks

std::string text_without_numbers(const Entry& e) {
    Entry x = e;
    x.id = x.undoes = 0;
    x.client.clear();
    return sched::app::marks_to_csv({x});
}

// What a journal says is read as the same again, into an empty one.
void written_and_read(const std::vector<Entry>& entries) {
    const std::string path = folder() + "/written.csv";
    std::ofstream(path, std::ios::binary) << sched::app::marks_to_csv(entries);
    model::Diagnostics diagnostics;
    const auto read = sched::app::read_marks(path, {}, now, diagnostics);
    if (!read) wrong("what was written is not read: " + to_text(diagnostics.all().front()));
    std::size_t k = 0;
    for (const Entry& e : entries) {
        if (e.mark == Mark::Posted) continue;
        if (k == read->size()) wrong("a mark was lost in CSV");
        if (text_without_numbers(e) != text_without_numbers((*read)[k]))
            wrong("another mark: " + text_without_numbers(e) + text_without_numbers((*read)[k]));
        ++k;
    }
    if (k != read->size()) wrong("more marks than were written");
    model::Diagnostics again;
    const auto none = sched::app::read_marks(path, entries, now, again);
    if (!none || !none->empty()) wrong("entered twice");
}

void look_at(const std::vector<Entry>& entries) {
    for (const Entry& e : entries)
        if (sched::journal::words_of(e).empty()) wrong("an entry without words");
    (void)sched::journal::so_far(entries, now - std::chrono::hours{12});
    (void)sched::journal::so_far(entries, now - std::chrono::hours{12}, now);
    (void)sched::journal::present(entries, {}, {.from = now - std::chrono::hours{12}, .now = now});
    model::Scenario changed = scenario();
    sched::app::put_changes(entries, now - std::chrono::hours{12}, now, changed);
}

void remove_journal() {
    for (const char* end : {"", "-wal", "-shm"})
        fs::remove(folder() + "/" + sched::journal::journal_name + end);
}

// POST /mark.
void mark(const std::string& body) {
    static std::optional<sched::app::BoardDay> day;
    static int runs = 0;
    if (!day || ++runs % 100 == 0) {
        day.reset();
        remove_journal();
        day.emplace(folder(), folder() + "/plan.json", [] { return now; });
    }
    const std::size_t before = day->entries().size();
    const auto reply = day->mark(body);
    answered(reply, {200, 400});
    if (reply.status != 200) {
        if (day->entries().size() != before) wrong("refused, and entered");
        return;
    }
    if (Json::parse(day->json("null"), nullptr, false).is_discarded()) wrong("the day is no JSON");
    const auto entries = day->entries();
    look_at(entries);
    sched::journal::Problem problem;
    const auto journal =
        sched::journal::Journal::open(folder(), sched::journal::Journal::For::Reading, problem);
    const auto all = journal ? journal->entries(0, problem) : std::nullopt;
    if (!all) wrong("the journal is not read: " + problem.words);
    written_and_read(*all);
}

// POST /again; without a plan nothing is begun.
void again(const std::string& body) {
    static sched::app::BoardDay day(folder(), folder() + "/plan.json", [] { return now; });
    static sched::app::AgainService service(
        day, [] { return now; }, {.scenario = folder(), .plan = folder() + "/plan.json"});
    answered(service.act(body), {200, 400, 409});
    if (Json::parse(service.json(), nullptr, false).is_discarded()) wrong("no JSON");
}

// coatroom mark --csv: into a journal that has some of it.
void marks_csv(const std::string& text) {
    static const std::vector<Entry> known = {
        {.id = 1, .time = now, .entered = now, .mark = Mark::Start, .what = "A1-1", .step = "coat"},
        {.id = 2, .time = now, .entered = now, .mark = Mark::Down, .what = "washout booth"},
        {.id = 3, .time = now, .entered = now, .mark = Mark::Undo, .undoes = 2}};
    const std::string path = folder() + "/marks.csv";
    std::ofstream(path, std::ios::binary) << text;
    model::Diagnostics diagnostics;
    const auto read = sched::app::read_marks(path, known, now, diagnostics);
    for (const auto& d : diagnostics.all()) {
        if (d.place.file.empty() || d.message.empty()) wrong("a finding without file or words");
        if (d.place.line < 0 || d.place.column < 0) wrong("a place before the file");
    }
    if (!read) {
        if (diagnostics.error_count() == 0) wrong("refused without a word");
        return;
    }
    static int runs = 0;
    static std::optional<sched::journal::Journal> journal;
    sched::journal::Problem problem;
    if (!journal || ++runs % 100 == 0) {
        journal.reset();
        remove_journal();
        journal =
            sched::journal::Journal::open(folder(), sched::journal::Journal::For::Writing, problem);
        if (!journal) wrong(problem.words);
        auto first = known;
        if (!journal->add(first, problem)) wrong(problem.words);
    }
    const auto before = journal->entries(0, problem);
    const auto entered = journal->add(*read, problem);
    // A mark that is not in the journal any more: its number is of the first three.
    if (!entered) wrong("read, and not entered: " + problem.words);
    const auto after = journal->entries(before->back().id, problem);
    if (!after || after->size() != read->size()) wrong("not all of them entered");
    look_at(*after);
    if (std::none_of(after->begin(), after->end(), [](const Entry& e) { return e.undoes > 0; }))
        written_and_read(*after);
}

// coatroom mark done A1-2 wash out at 10:12
void mark_words(const std::string& text) {
    static const sched::journal::Names names = [] {
        sched::journal::Names out;
        for (const auto& order : scenario().orders) {
            out.orders.push_back(order.name);
            out.promised.push_back(order.name);
            for (int k = 1; k <= 3; ++k)
                out.screens.push_back(order.name + "-" + std::to_string(k));
        }
        for (const auto& station : scenario().room.stations)
            out.stations.push_back(station.name);
        for (const auto& person : scenario().room.people)
            out.people.push_back(person.name);
        out.pots = {"pot 1", "pot 10"};
        out.returned = out.screens;
        out.ways = {{.tag = out.screens[0],
                     .steps = {{.step = "degrease", .start = now, .end = now},
                               {.step = "face-coat", .start = now, .end = now},
                               {.step = "face-coat", .round = 2, .start = now, .end = now}}}};
        return out;
    }();
    std::string problem;
    const auto said = sched::journal::read_mark(text, names, problem);
    if (!said) {
        if (problem.empty()) wrong("refused without a word");
        return;
    }
    Entry e = said->entry;
    e.time = e.entered = now;
    if (e.mark == Mark::Undo) return;
    if (e.what.empty()) wrong("of nothing");
    std::string step;
    int round = 1;
    if (!e.step.empty() &&
        (!sched::journal::read_step_text(sched::journal::step_text(e), step, round) ||
         step != e.step || round != e.round))
        wrong("another step: " + sched::journal::step_text(e));
    if (said->clock && !model::parse_time_of_day(*said->clock) &&
        !model::parse_date_time(*said->clock))
        wrong("no time: " + *said->clock);
}

// ---- who asks: lines are method, path, Host, Origin, Sec-Fetch-Site, Sec-Fetch-Mode, Cookie,
// token, number of Host headers

void knock(const std::string& text) {
    const std::string token = "0123456789abcdef0123456789abcdef";
    std::istringstream lines(text);
    std::vector<std::string> words(9);
    for (auto& word : words)
        std::getline(lines, word);
    sched::board::Knock k{.method = words[0],
                          .path = words[1],
                          .address = "10.0.0.7",
                          .host = words[2],
                          .hosts = words[8] == "2" ? 2u : 1u,
                          .has_origin = !words[3].empty(),
                          .origin = words[3],
                          .fetch_site = words[4],
                          .fetch_mode = words[5],
                          .cookie = words[6],
                          .token = words[7]};
    sched::board::Guard open({}), shut({.proxied = {"board.example"}, .token = token});
    open.set_port(8377);
    shut.set_port(8377);
    const auto at = std::chrono::steady_clock::time_point{} + std::chrono::hours{1};
    const auto let = open.ask(k, at), told = shut.ask(k, at);
    for (const auto& v : {let, told})
        if (v.status != 200 && v.status != 303 && v.words.empty()) wrong("refused without a word");
    const std::set<std::string> hosts = {"127.0.0.1:8377", "localhost:8377"};
    const bool own = hosts.count(k.host) > 0 && k.hosts == 1;
    const bool foreign = k.has_origin && k.origin != "http://" + k.host;
    if (let.status == 200 && (!own || foreign)) wrong("another site was let in");
    const bool knows = k.cookie.find("coatroom=" + token) != std::string::npos;
    if (told.status == 200 && !knows) wrong("let in without the token");
    if (told.status == 303 && k.token != token) wrong("the cookie for a wrong token");
}

// ---- the plan that hangs

void shelf(const std::string& text) {
    const std::string path = folder() + "/hangs.json";
    std::ofstream(path, std::ios::binary) << text;
    sched::board::PlanShelf hangs(path, [](const sched::report::PlanDocument& document) {
        std::vector<std::string> out;
        for (const auto& v : sched::check::check(document.problem, document.schedule))
            out.push_back(v.words);
        return out;
    });
    const auto now_there = hangs.current();
    if (!now_there->planned && now_there->message.empty()) wrong("refused without a word");
    if (!now_there->planned) return;
    for (const auto& [name, file] : now_there->files) {
        if (file.type == "application/json" &&
            Json::parse(file.body, nullptr, false).is_discarded())
            wrong(name + " is no JSON");
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const std::map<std::string, void (*)(const std::string&)> targets = {
        {"promise.query", promise}, {"mark.json", mark},      {"again.json", again},
        {"marks.csv", marks_csv},   {"mark.txt", mark_words}, {"knock.txt", knock},
        {"hangs.json", shelf}};
    static const auto target = [] {
        const char* name = std::getenv("COATROOM_FUZZ_TARGET");
        const auto found = targets.find(name != nullptr ? name : "mark.json");
        if (found == targets.end()) wrong("there is no such target");
        return found->second;
    }();
    target({reinterpret_cast<const char*>(data), size});
    return 0;
}
