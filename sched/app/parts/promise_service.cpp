// How it works: the desk is opened again when a stamp of the files differs; a question goes through
// one reader for JSON and page, and what is wrong with it comes back at the form's field.

#include "sched/app/parts/promise_service.hpp"

#include <fmt/format.h>

#include <filesystem>

#include "model/read/promise_file.hpp"
#include "model/read/scenario.hpp"
#include "model/read/state_file.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/enquiry_query.hpp"
#include "sched/app/parts/promise_parts.hpp"
#include "sched/board/page.hpp"
#include "sched/report/promise/ask_page.hpp"
#include "sched/report/promise/promise_explain.hpp"
#include "sched/report/promise/promise_json.hpp"
#include "sched/report/words/navigation.hpp"

namespace sched::app {

namespace fs = std::filesystem;

namespace {

constexpr model::Seconds longest_open{10 * 60};

std::string words_of(const model::Diagnostics& diagnostics) {
    std::string out;
    for (const auto& d : diagnostics.sorted()) {
        if (d.severity == model::Severity::Error) out += (out.empty() ? "" : "\n") + to_text(d);
    }
    return out;
}

std::string board_links() {
    return report::navigation(board::board_pages(), "/ask");
}

// The same words for people as the JSON has for programs.
board::Reply as_page(const board::Reply& refusal, const std::string& words) {
    return {.status = refusal.status,
            .type = "text/html; charset=utf-8",
            .body = report::refusal_page(words, board_links())};
}

}  // namespace

PromiseService::PromiseService(std::string folder, study::PromiseOptions options, UnderWay words,
                               bool from_plan, std::function<model::SimTime()> clock)
    : folder_(std::move(folder)),
      options_(std::move(options)),
      under_way_(std::move(words)),
      from_plan_(from_plan),
      clock_(std::move(clock)) {}

// The words of the command line; without a time there, the rest of the day where one runs.
UnderWay PromiseService::under_way() const {
    UnderWay words = under_way_;
    if (!words.now.empty() || !clock_ || !fs::exists(words.earlier)) return words;
    std::string problem;
    model::Diagnostics none;
    const auto posted = read_posted(words.earlier, problem, none);
    const auto now = clock_();
    if (posted && posted->run.first_start <= now && now < posted->run.last_end)
        words.now = model::format_date_time(now - model::time_of_day(now) % model::minutes(1));
    return words;
}

std::string PromiseService::stamp() const {
    const fs::path folder(folder_);
    std::vector<fs::path> files;
    for (const char* name : {"room.yaml", "orders.csv", "frames.csv", "weather.csv", "chance.yaml",
                             model::promise_journal_name})
        files.push_back(folder / name);
    if (!under_way_.now.empty() || clock_) {
        files.push_back(under_way_.state.empty() ? folder / model::state_file_name
                                                 : fs::path(under_way_.state));
    }
    if (!under_way_.earlier.empty()) files.emplace_back(under_way_.earlier);
    // Marks and promises stand in the log beside it first.
    const fs::path marks = folder / journal::journal_name;
    files.push_back(marks);
    files.emplace_back(marks.string() + "-wal");
    std::string out;
    for (const auto& file : files) {
        std::error_code error;
        const auto time = fs::last_write_time(file, error);
        const auto size = error ? 0 : fs::file_size(file, error);
        out += fmt::format("{} {} {};", file.string(), error ? 0 : time.time_since_epoch().count(),
                           size);
    }
    return out;
}

std::string PromiseService::refresh() {
    const std::lock_guard lock(mutex_);
    return opened();
}

std::string PromiseService::opened() {
    complete_acceptances(folder_);
    const std::string now = stamp();
    // A desk that asks from a time gone by is opened again: what it thinks to come has happened.
    const bool old = as_of_ && clock_ && clock_() - *as_of_ > longest_open;
    if (now == seen_ && !old && (desk_ || !problem_.empty())) return problem_;
    seen_ = now;
    as_of_.reset();
    desk_.reset();
    problem_.clear();
    model::Diagnostics diagnostics;
    if (auto scenario = model::read_scenario(
            folder_, diagnostics,
            {.day = model::midnight(model::date_of(options_.compile.start))})) {
        study::PromiseOptions options = options_;
        UnderWay words = under_way();
        if (!words.earlier.empty() && !fs::exists(words.earlier)) words.earlier.clear();
        std::string source;
        if (words.now.empty()) {
            problem_ = follow_posted(words, options, source, diagnostics);
        } else {
            if (under_way_.now.empty()) as_of_ = model::parse_date_time(words.now);
            problem_ = set_under_way(words, from_plan_, *scenario, options, source, diagnostics);
        }
        if (const auto chance = chance_of(*scenario, diagnostics)) options.chance = *chance;
        options.past = learnt_from(folder_, scenario->room, question_of(options), diagnostics);
        if (problem_.empty() && !diagnostics.has_errors())
            desk_ = study::PromiseDesk::open(*scenario, options, diagnostics, problem_);
    }
    if (!desk_ && problem_.empty()) problem_ = words_of(diagnostics);
    if (!desk_ && problem_.empty()) problem_ = "what is promised already cannot be planned.";
    return problem_;
}

std::optional<study::Promise> PromiseService::answer(const board::Query& query, bool explain,
                                                     board::Reply& refusal, std::string* field) {
    // What was cut short looks like an answer, and is none.
    const auto stopped = [&] {
        if (!options_.stop || !options_.stop()) return false;
        refusal = board::refuse(503, "The board is being ended: this question is not answered.");
        return true;
    };
    if (stopped()) return std::nullopt;
    const std::string not_open = opened();
    if (stopped()) return std::nullopt;
    if (!not_open.empty()) {
        refusal = board::refuse(409, not_open);
        return std::nullopt;
    }
    std::string problem;
    const auto asked = enquiry_of_query(desk_->scenario(), query, desk_->asked(), problem, field);
    if (!asked) {
        refusal = board::refuse(400, problem);
        return std::nullopt;
    }
    study::PromiseDesk::Planned plan;
    study::Promise promise = desk_->ask(asked->enquiry, &plan);
    if (stopped()) return std::nullopt;
    if ((explain || asked->explain) && promise.impossible.empty())
        report::explain_promise(plan, promise);
    return promise;
}

board::Reply PromiseService::json(const board::Query& query) {
    const std::lock_guard lock(mutex_);
    board::Reply refusal;
    const auto promise = answer(query, false, refusal);
    if (!promise) return refusal;
    return {.body = report::promise_to_json(*promise)};
}

board::Reply PromiseService::page(const board::Query& query) {
    const std::lock_guard lock(mutex_);
    board::Reply refusal;
    std::string field;
    const auto promise = answer(query, true, refusal, &field);
    const bool at_the_form = desk_ && refusal.status == 400;
    if (!promise && !at_the_form) return as_page(refusal, board::words_of(refusal));
    report::AskForm form = report::ask_form(desk_->scenario());
    for (const auto& [name, text] : query)
        form.given.emplace(name, text);
    if (promise)
        return {.type = "text/html; charset=utf-8",
                .body = report::ask_page(form, *promise, board_links())};
    form.wrong_field = field;
    form.wrong = board::words_of(refusal);
    return {.status = refusal.status,
            .type = "text/html; charset=utf-8",
            .body = report::ask_page(form, board_links())};
}

std::string PromiseService::form() {
    const std::lock_guard lock(mutex_);
    if (const std::string problem = opened(); !problem.empty())
        return as_page(board::Reply{}, problem).body;
    return report::ask_page(report::ask_form(desk_->scenario()), board_links());
}

}  // namespace sched::app
