// Each part of the question has its reader, which says on the error stream what is wrong with its
// options; the order matters: the day of the run comes before the time of day.

#include "sched/app/commands/plan_question.hpp"

#include <cstdio>
#include <sstream>

#include "model/base/units.hpp"
#include "model/read/chance_file.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/budget.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/under_way.hpp"

namespace sched::app {

namespace {

bool refuse(const std::string& words) {
    std::fprintf(stderr, "coatroom plan: %s\n", words.c_str());
    return false;
}

// Lines of the command line and of the file.
bool read_pins_of(const PlanArgs& args, Question& question) {
    constexpr std::size_t most_bytes = std::size_t{1} << 20;
    question.pins = args.pins;
    if (args.pin_file.empty()) return true;
    const auto text = read_text(args.pin_file, most_bytes);
    if (!text) return refuse(args.pin_file + " cannot be read, or is larger than 1 MiB.");
    question.pin_file = args.pin_file;
    question.pins_of_options = question.pins.size();
    std::istringstream in(*text);
    for (std::string line; std::getline(in, line);)
        question.pins.push_back(line);
    return true;
}

// Where the run begins: as the posted plan does, or as day_of_plan says.
bool read_start(const PlanArgs& args, const PostedDay& posted_day, Question& question) {
    const bool as_asked = !args.start.empty() || !args.date.empty();
    if (question.midday && posted_day.plan() != nullptr && !as_asked) {
        question.start = posted_day.plan()->problem.horizon_start;
        return true;
    }
    const auto start =
        day_of_plan({.from = args.start, .date = args.date, .now = args.now}, question.scenario);
    if (start) question.start = *start;
    return start.has_value();
}

// --now, --earlier and --frozen; the time itself counts from the start of the run (below).
bool read_midday(const PlanArgs& args, PostedDay& posted_day, Question& question,
                 model::Diagnostics& diagnostics) {
    if (args.now.empty()) {
        for (const auto& [option, value] :
             {std::pair{"--earlier", &args.earlier}, std::pair{"--state", &args.state},
              std::pair{"--frozen", &args.frozen}}) {
            if (!value->empty())
                return refuse(std::string(option) + " needs the present time. Add --now 10:40.");
        }
        return true;
    }
    question.midday = Question::Midday{};  // clang 14 finds no emplace() for a class in a class
    if (!args.frozen.empty()) {
        const auto length = model::parse_duration(args.frozen);
        if (!length.value || length.value->count() < 0)
            return refuse("--frozen " + args.frozen + " is no length of time. Write 30min or 1h.");
        question.midday->frozen = *length.value;
    }
    std::string problem;
    auto known =
        read_posted_day({.scenario = args.scenario, .earlier = args.earlier, .state = args.state},
                        problem, diagnostics);
    if (!problem.empty()) return refuse(problem);
    if (!known) return false;
    posted_day = *std::move(known);
    if (posted_day.journal) question.seen = posted_day.journal->last();
    if (!args.frozen.empty() && posted_day.plan() == nullptr)
        return refuse("--frozen holds what an earlier plan says. Add --earlier PLAN.json.");
    return true;
}

bool read_now(const PlanArgs& args, const PostedDay& posted_day, Question& question,
              model::Diagnostics& diagnostics) {
    if (!question.midday) return true;
    std::string problem;
    const auto now = now_of(args.now, question.start, problem);
    if (!now) return refuse(problem);
    question.midday->now = *now;
    std::string source;
    auto state = read_state_of({.scenario = args.scenario, .state = args.state}, posted_day,
                               question.start, *now, question.scenario, source, diagnostics);
    if (state) question.midday->state = *std::move(state);
    if (posted_day.plan() != nullptr) question.midday->posted = *posted_day.plan();
    if (!source.empty()) std::fprintf(stderr, "coatroom plan: %s\n", source.c_str());
    return state.has_value();
}

// Simulated days behind the chances: always, unless asked otherwise.
int days_of(const PlanArgs& args) {
    constexpr int usual = 200;
    if (args.replications) return *args.replications;
    return args.on_paper || args.precision ? 0 : usual;
}

}  // namespace

std::optional<Question> question_of(const PlanArgs& args, model::Diagnostics& diagnostics) {
    const auto how = search_options(args.search);
    if (!how) return std::nullopt;
    complete_acceptances(args.scenario);
    auto read = read_folder(args.scenario, diagnostics,
                            run_day({.from = args.start, .date = args.date, .now = args.now}));
    if (!read.scenario) return std::nullopt;
    Question question{.folder = args.scenario,
                      .scenario = *std::move(read.scenario),
                      .inputs = std::move(read.inputs),
                      .day_kind = args.day,
                      .how = *how,
                      .days = {.number = days_of(args),
                               .usual = !args.replications && !args.precision,
                               .precision = args.precision,
                               .policy = args.policy},
                      .on_paper = args.on_paper || args.robust > 0,
                      .robust = args.robust,
                      .what_if = args.what_if,
                      .out = args.out,
                      .station_sheets = args.station_sheets,
                      .post = args.post,
                      .json = args.json,
                      .quiet = args.quiet};
    PostedDay posted_day;
    if (!read_midday(args, posted_day, question, diagnostics) ||
        !read_start(args, posted_day, question) ||
        !read_now(args, posted_day, question, diagnostics) || !read_pins_of(args, question))
        return std::nullopt;
    if (question.days.asked() || question.robust > 0 || !question.on_paper) {
        const auto chances = model::read_chance(question.scenario, diagnostics);
        if (!chances) return std::nullopt;
        question.days.chance = study::Chance::of(chances->chance, question.scenario);
    }
    return question;
}

}  // namespace sched::app
