// What the board's questions are answered with.

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "model/read/scenario.hpp"
#include "sched/app/parts/enquiry_query.hpp"
#include "sched/app/parts/promise_service.hpp"
#include "sched/engine/draws.hpp"
#include "tests/catch.hpp"

using namespace sched;
namespace fs = std::filesystem;

namespace {

const std::string source = COATROOM_SOURCE "/scenarios/tomorrow";

struct Copy {
    fs::path path = fs::temp_directory_path() / ("coatroom-ask-" + std::to_string(getpid()));
    Copy() {
        fs::remove_all(path);
        fs::create_directories(path);
        for (const char* name : {"room.yaml", "orders.csv", "frames.csv"})
            fs::copy_file(source + "/" + name, path / name);
    }
    ~Copy() { fs::remove_all(path); }
};

model::Scenario tomorrow() {
    model::Diagnostics diagnostics;
    return *model::read_scenario(source, diagnostics);
}

study::PromiseOptions few_days() {
    study::PromiseOptions options;
    options.compile.start = *model::parse_date_time("2026-11-26T00:00");
    options.replications = 19;
    options.base_evaluations = 60;
    options.remedies = false;
    return options;
}

const model::SimTime asked_at = *model::parse_date_time("2026-11-26T08:00");  // a Thursday

std::string problem_of(const model::Scenario& scenario, const board::Query& query) {
    std::string problem;
    CHECK_FALSE(app::enquiry_of_query(scenario, query, asked_at, problem));
    return problem;
}

}  // namespace

TEST_CASE("parameters are taken as the command line takes its options", "[board]") {
    const auto scenario = tomorrow();
    std::string problem;
    const auto good = app::enquiry_of_query(scenario,
                                            {{"screens", "4"},
                                             {"mesh", "120/cm"},
                                             {"frame", "58x84"},
                                             {"coats", "2+2"},
                                             {"wanted", "2026-11-27T11:00"},
                                             {"job", "harbour <café>"},
                                             {"priority", ""},
                                             {"film", ""}},
                                            asked_at, problem);
    INFO(problem);
    REQUIRE(good);
    REQUIRE(good->enquiry.lines.size() == 1);
    CHECK(good->enquiry.lines[0].count == 4);
    CHECK(good->enquiry.lines[0].mesh == "120-34");
    CHECK(good->enquiry.wanted == model::parse_date_time("2026-11-27T11:00"));
    CHECK_FALSE(good->enquiry.lines[0].film_ready);
    for (const char* name : {"order", "job"})
        CHECK(problem_of(scenario, {{"screens", "4"}, {name, "\xC2\xA0"}}) ==
              "--" + std::string(name) + " is blank: nothing of it can be seen.");
    CHECK(problem_of(scenario, {{"screens", "0"}}) == "--screens: Value 0 not in range 1 to 64");
    CHECK(problem_of(scenario, {{"screens", "65"}}) == "--screens: Value 65 not in range 1 to 64");
    CHECK(problem_of(scenario, {{"screens", "4x"}}) == "Could not convert: --screens = 4x");
    CHECK(problem_of(scenario, {{"screens", "99999999999999999999"}}).find("--screens") !=
          std::string::npos);
    CHECK(problem_of(scenario, {{"screns", "4"}}) ==
          "there is no parameter screns. Did you mean screens?");
    CHECK(problem_of(scenario, {{"screens", "1"}, {"screens", "2"}}).find("more than once") !=
          std::string::npos);
    CHECK(problem_of(scenario, {}).find("say what is asked for") != std::string::npos);
    CHECK(problem_of(scenario, {{"screens", "1"}, {"mesh", std::string(500, 'm')}})
              .find("longer than 120") != std::string::npos);
    CHECK(problem_of(scenario, {{"screens", "1"}, {"wanted", "soon"}}) ==
          "--wanted soon is no date and time. Write it as 2026-11-26T10:40, Fri 16:00 or 1 Dec "
          "9:00.");
}

TEST_CASE("times of an enquiry are read from the day of the question on", "[board]") {
    const auto scenario = tomorrow();
    const auto time_said = [&](const char* name, const std::string& text) {
        std::string problem;
        const auto asked = app::enquiry_of_query(scenario,
                                                 {{"screens", "1"},
                                                  {"mesh", "120/cm"},
                                                  {"frame", "58x84"},
                                                  {"coats", "2+2"},
                                                  {name, text}},
                                                 asked_at, problem);
        INFO(problem);
        REQUIRE(asked);
        return std::string(name) == "film" ? asked->enquiry.lines[0].film_ready
                                           : asked->enquiry.wanted;
    };
    CHECK(time_said("wanted", "Fri 16:00") == model::parse_date_time("2026-11-27T16:00"));
    CHECK(time_said("wanted", "15:00") == model::parse_date_time("2026-11-26T15:00"));
    CHECK(time_said("wanted", "1 Dec 9:00") == model::parse_date_time("2026-12-01T09:00"));
    CHECK(time_said("film", "tomorrow 11:00") == model::parse_date_time("2026-11-27T11:00"));
    // A day alone: wanted by the end of its work, the film from its beginning on.
    CHECK(time_said("film", "Fri") < time_said("wanted", "Fri"));
}

TEST_CASE("no parameters whatever break the reader of enquiries", "[board][hostile]") {
    const auto scenario = tomorrow();
    const char* names[] = {"screens",     "mesh",     "frame",    "coats",
                           "film",        "wanted",   "image",    "ruling",
                           "finest-line", "emulsion", "priority", "kept-stencil"};
    const engine::Draws draws(77, 0);
    std::uint64_t n = 0;
    const auto pick = [&](std::uint64_t below) {
        return static_cast<std::uint64_t>(draws.uniform({++n, 0, 0, 0}) *
                                          static_cast<double>(below));
    };
    const std::string likely = "0123456789/x+-:. cmin%T\xc2\xb5\xff\x01\"<";
    int refused = 0;
    for (int round = 0; round < 3000; ++round) {
        board::Query query;
        for (const char* name : names) {
            if (pick(3) == 0) continue;
            std::string text;
            for (std::uint64_t k = pick(14); k > 0; --k)
                text += likely[pick(likely.size())];
            query.emplace(name, text);
        }
        std::string problem;
        if (!app::enquiry_of_query(scenario, query, asked_at, problem)) {
            ++refused;
            REQUIRE_FALSE(problem.empty());
        }
    }
    CHECK(refused > 2900);
}

TEST_CASE("the service answers, and plans anew when the files change", "[board]") {
    const Copy copy;
    app::PromiseService service(copy.path.string(), few_days());
    REQUIRE(service.refresh().empty());
    const board::Query query = {
        {"screens", "1"}, {"mesh", "43-80"}, {"frame", "58x84"}, {"coats", "1+1"}};
    const auto first = service.json(query);
    REQUIRE(first.status == 200);
    const auto promise = nlohmann::json::parse(first.body);
    CHECK(promise["days"] == 19);
    CHECK(promise["recommended"].is_string());
    CHECK(service.json(query).body == first.body);  // asking changes nothing
    CHECK(service.page(query).body.find("<svg class=\"dots\"") != std::string::npos);
    CHECK(service.form().find("name=\"screens\"") != std::string::npos);
    auto wrong = query;
    wrong.find("mesh")->second = "nothing";
    CHECK(service.json(wrong).status == 400);
    CHECK(service.page(wrong).status == 400);
    CHECK(board::words_of(service.json(wrong)).find("nothing") != std::string::npos);

    // The order's own name is taken from now on.
    const std::string name = promise["enquiry"]["order"];
    std::ofstream(copy.path / "orders.csv", std::ios::app)
        << name << ",somebody,2026-11-27 15:00,1,1,43-80,58 x 84 cm,photopolymer B,1+1,,,,,\n";
    const auto second = service.json(query);
    REQUIRE(second.status == 200);
    CHECK(nlohmann::json::parse(second.body)["enquiry"]["order"] != name);

    std::ofstream(copy.path / "orders.csv", std::ios::app) << "broken line\n";
    const auto broken = service.json(query);
    CHECK(broken.status == 409);
    CHECK(board::words_of(broken).find("orders.csv:") != std::string::npos);
    CHECK(service.form().find("orders.csv:") != std::string::npos);
    fs::copy_file(source + "/orders.csv", copy.path / "orders.csv",
                  fs::copy_options::overwrite_existing);
    CHECK(service.json(query).status == 200);
}

TEST_CASE("the service answers out of the middle of the day, and reads the state again",
          "[board]") {
    const Copy copy;
    app::PromiseService service(copy.path.string(), few_days(),
                                {.scenario = copy.path.string(), .now = "08:40"});
    INFO(service.refresh());
    REQUIRE(service.refresh().empty());
    const board::Query query = {
        {"screens", "1"}, {"mesh", "120/cm"}, {"frame", "58x84"}, {"coats", "2+2"}};
    const auto first = service.json(query);
    INFO(first.body);
    REQUIRE(first.status == 200);
    const auto promise = nlohmann::json::parse(first.body);
    CHECK(promise["asked"] == "2026-11-26T08:40");
    CHECK(promise["present"].empty());
    std::ofstream(copy.path / "state.yaml") << "people:\n  - name: Ada\n";
    const auto second = service.json(query);
    REQUIRE(second.status == 200);
    const auto later = nlohmann::json::parse(second.body);
    CHECK(later["present"].size() == 1);
    CHECK(later["ready"] != promise["ready"]);
    std::ofstream(copy.path / "state.yaml") << "people:\n  - name: Adam\n";
    CHECK(board::words_of(service.json(query)).find("state.yaml:2:5") != std::string::npos);
}
