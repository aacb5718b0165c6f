// How it works: a thread looks twice a second whether the day has left its plan (off_plan) and
// whether the program that makes a new one has ended. That program is this one, as `plan --now`, in
// a process of its own with low priority: nothing of it can hold the board up, and both judges have
// seen the plan before it writes it. It reads the scenario's folder, or a copy of it with what is
// tried; its plan lies in a folder of its own until somebody accepts it.

#include "sched/app/parts/again_service.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "model/base/files.hpp"
#include "sched/app/parts/day_change.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/app/parts/plan_difference.hpp"
#include "sched/report/document/plan_json.hpp"
#include "sched/report/plan/outputs.hpp"

extern char** environ;

namespace sched::app {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using std::chrono::steady_clock;

constexpr std::size_t most_plan_bytes = std::size_t{64} << 20;
constexpr std::size_t most_input_bytes = std::size_t{64} << 20;
constexpr int low_priority = 10;
constexpr const char* frozen = "10min";  // what begins so soon is not moved about

std::string dumped(const Json& json) {
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string stamp_of_file(const fs::path& path) {
    std::error_code error;
    const auto time = fs::last_write_time(path, error);
    if (error) return "none";
    return fmt::format("{}-{}", time.time_since_epoch().count(), fs::file_size(path, error));
}

// A folder of the program under way; gone with it.
constexpr std::string_view folder_mark = "coatroom-again-";
constexpr int most_tries = 5;

// A file that is still being copied into it makes one try fail.
void remove_folder(const std::string& folder) {
    std::error_code error;
    for (int k = 0; k < most_tries && !folder.empty() && fs::exists(folder, error); ++k)
        fs::remove_all(folder, error);
}

// What boards left behind that were killed: the number of the board stands in the name. Another
// container's numbers are others: what is young stays.
void bury_folders() {
    std::error_code error;
    for (fs::directory_iterator it(fs::temp_directory_path(error), error), end; !error && it != end;
         it.increment(error)) {
        const std::string name = it->path().filename().string();
        if (!name.starts_with(folder_mark)) continue;
        const char* const from = name.data() + folder_mark.size();
        pid_t board = 0;
        const auto [stop, wrong] = std::from_chars(from, name.data() + name.size(), board);
        if (wrong != std::errc{} || stop == name.data() + name.size() || *stop != '-') continue;
        const bool old = fs::last_write_time(it->path(), error) + std::chrono::hours(1) <
                         fs::file_time_type::clock::now();
        if (old && board > 0 && kill(board, 0) != 0 && errno == ESRCH)
            remove_folder(it->path().string());
    }
}

std::string new_folder() {
    bury_folders();
    std::string name = (fs::temp_directory_path() /
                        (std::string(folder_mark) + std::to_string(getpid()) + "-XXXXXX"))
                           .string();
    return mkdtemp(name.data()) ? name : "";
}

// The last line that the program said, without its own name before it.
std::string last_words(const std::string& path) {
    auto text = read_text(path, 1u << 20).value_or("");
    while (!text.empty() && text.back() == '\n')
        text.pop_back();
    text = text.substr(text.rfind('\n') == std::string::npos ? 0 : text.rfind('\n') + 1);
    constexpr std::string_view own = "coatroom plan: ";
    if (text.rfind(own, 0) == 0) text.erase(0, own.size());
    return text.substr(0, 400);
}

}  // namespace

AgainService::AgainService(BoardDay& day, std::function<model::SimTime()> clock,
                           AgainOptions options)
    : day_(day), clock_(std::move(clock)), options_(std::move(options)) {}

AgainService::~AgainService() {
    stop();
}

void AgainService::start() {
    thread_ = std::thread([this] { run(); });
}

void AgainService::stop() {
    {
        const std::lock_guard lock(mutex_);
        stop_ = true;
    }
    wake_.notify_all();
    if (thread_.joinable()) thread_.join();
    const std::lock_guard lock(mutex_);
    end_child();
}

void AgainService::abandon() {
    const std::lock_guard lock(left_mutex_);
    abandoned_ = true;
    clear_away();
}

// Two that take one folder away at once find each other's work half done, and both give up:
// @pre left_mutex_ is held.
void AgainService::clear_away() {
    if (left_child_ != 0) {
        kill(left_child_, SIGKILL);
        waitpid(left_child_, nullptr, 0);  // it writes no more
    }
    remove_folder(left_folder_);
    left_child_ = 0;
    left_folder_.clear();
}

void AgainService::run() {
    std::unique_lock lock(mutex_);
    while (!stop_) {
        if (child_ != 0) collect();
        if (child_ == 0) look();
        wake_.wait_for(lock, std::chrono::milliseconds(500), [&] { return stop_; });
    }
}

const AgainService::Posted& AgainService::posted() {
    const std::string stamp = stamp_of_file(options_.plan);
    if (stamp == posted_.stamp) return posted_;
    posted_ = {.stamp = stamp,
               .text = read_text(options_.plan, most_plan_bytes).value_or(""),
               .document = {}};
    model::Diagnostics none;
    if (!posted_.text.empty())
        posted_.document = report::plan_from_json(posted_.text, none, "plan.json");
    return posted_;
}

// Of the plan that hangs, by the journal alone: a board that was started again knows what it knew
// before. What was put aside is not in the journal: it is offered once more.
void AgainService::learn(const std::vector<journal::Entry>& entries) {
    const auto& hangs = posted();
    if (!hangs.document) return;
    std::int64_t last = 0;
    int plans = 0;
    for (const auto& e : journal::in_force(entries)) {
        if (e.mark != journal::Mark::Posted) continue;
        last = e.id;
        if (e.time >= day_.day_begins()) ++plans;
    }
    const bool same_plan = hangs.stamp == learnt_stamp_;
    if (same_plan && last == learnt_last_ && plans == learnt_plans_) return;
    const auto& again = hangs.document->again;
    auto knew = day_.knew(hangs.text, again ? std::optional(again->now) : std::nullopt);
    if (!same_plan || knew.seen != knew_.seen || knew.with != knew_.with) {
        handled_.clear();
        if (knew.with != 0) handled_.insert(fmt::format("entry {}", knew.with));  // it has that
    }
    learnt_stamp_ = hangs.stamp;
    learnt_last_ = last;
    learnt_plans_ = plans;
    const bool may_undo = knew.entry != 0 && knew.entry == last && plans > 1;
    if (may_undo != may_undo_) ++version_;
    may_undo_ = may_undo;
    knew_ = std::move(knew);
}

void AgainService::look() {
    const auto entries = day_.entries();
    if (entries.empty()) return;
    learn(entries);
    const auto& hangs = posted();
    if (!hangs.document) return;
    const auto now = clock_();
    const auto& run = hangs.document->run;
    if (now < run.first_start || now > run.last_end) return;
    // Of marks that come together one plan is made. An entry of later than now is of before the
    // clock was put back.
    const auto since = now - entries.back().entered;
    if (since >= model::Seconds{0} && since < options_.settle) return;
    std::vector<OffPlan> fresh;
    for (auto& cause :
         off_plan(*hangs.document, entries, knew_.seen, day_.day_begins(), now, options_.limits)) {
        if (handled_.count(cause.key) == 0) fresh.push_back(std::move(cause));
    }
    if (fresh.empty()) return;
    for (const auto& cause : fresh)
        handled_.insert(cause.key);
    // What stands as an offer, or is being tried, is made anew with the causes that came to it.
    if (state_ == State::Ready && !change_) {
        std::vector<OffPlan> all = why_;
        all.insert(all.end(), fresh.begin(), fresh.end());
        fresh = std::move(all);
    }
    std::string problem;
    if (!begin(fresh, std::nullopt, problem)) {
        state_ = State::Failed;
        words_ = problem;
        ++version_;
    }
}

// A copy of the scenario with what is tried in its journal. @returns whether it could be made.
bool AgainService::prepare(const std::string& folder, const DayChange& change,
                           std::string& problem) {
    std::error_code error;
    fs::create_directory(folder, error);
    for (fs::directory_iterator it(options_.scenario, error), end; !error && it != end;
         it.increment(error)) {
        const std::string name = it->path().filename().string();
        std::error_code gone;  // what others prepare there comes and goes
        if (!it->is_regular_file(gone) || name.rfind(journal::journal_name, 0) == 0) continue;
        if (it->file_size(gone) > most_input_bytes || it->path().extension() == ".html") continue;
        fs::copy_file(it->path(), fs::path(folder) / name, gone);
        if (gone && gone != std::errc::no_such_file_or_directory) {
            problem = name + " cannot be copied: " + gone.message();
            return false;
        }
    }
    if (error) {
        problem = "The folder cannot be read: " + error.message();
        return false;
    }
    if (!day_.copy_to(folder, problem)) return false;
    journal::Problem why;
    auto copy = journal::Journal::open(folder, journal::Journal::For::Writing, why);
    if (copy && copy->add({{.time = change.time,
                            .entered = clock_(),
                            .mark = change.mark,
                            .what = change.name,
                            .device = "what if"}},
                          why))
        return true;
    problem = why.words;
    return false;
}

bool AgainService::begin(const std::vector<OffPlan>& why, std::optional<DayChange> change,
                         std::string& problem) {
    end_child();
    const auto& hangs = posted();
    if (!hangs.document) {
        problem = "There is no plan that could be made again.";
        return false;
    }
    {
        const std::lock_guard left(left_mutex_);
        if (abandoned_) {
            problem = "The board ends.";
            return false;
        }
        left_folder_ = folder_ = new_folder();
    }
    if (folder_.empty()) {
        problem = "There is no room for temporary files.";
        return false;
    }
    const auto now = clock_();
    const auto minute = now - model::time_of_day(now) % model::minutes(1);
    std::string scenario = options_.scenario;
    if (change) {
        change->time = minute;
        scenario = folder_ + "/room";
        if (!prepare(scenario, *change, problem)) {
            end_child();
            return false;
        }
    }
    // The plan that hangs may be replaced while this one is made.
    const std::string earlier = folder_ + "/earlier.json";
    if (const auto error = model::write_file_atomically(earlier, hangs.text)) {
        problem = *error;
        end_child();
        return false;
    }
    const auto entries = day_.entries();
    seen_ = entries.empty() ? 0 : entries.back().id;
    const std::string at = model::format_date_time(minute);
    const std::string self = fs::read_symlink("/proc/self/exe").string();
    const std::vector<std::string> words = {self,
                                            "plan",
                                            scenario,
                                            "--now",
                                            at,
                                            "--earlier",
                                            earlier,
                                            "--frozen",
                                            frozen,
                                            "--budget",
                                            options_.budget,
                                            "--replications",
                                            std::to_string(options_.replications),
                                            "--threads",
                                            "1",
                                            "--quiet",
                                            "--out",
                                            folder_ + "/out"};
    std::vector<char*> arguments;
    for (const auto& w : words)
        arguments.push_back(const_cast<char*>(w.c_str()));
    arguments.push_back(nullptr);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&files, 1, "/dev/null", O_WRONLY, 0);
    const std::string errors = folder_ + "/errors";
    posix_spawn_file_actions_addopen(&files, 2, errors.c_str(), O_WRONLY | O_CREAT, 0600);
    posix_spawnattr_t attributes;
    posix_spawnattr_init(&attributes);
    // A group of its own: Ctrl-C at the board's terminal is the board's affair.
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP);
    posix_spawnattr_setpgroup(&attributes, 0);
    pid_t child = 0;
    int failed = 1;
    {
        const std::lock_guard left(left_mutex_);
        if (!abandoned_)
            failed =
                posix_spawn(&child, self.c_str(), &files, &attributes, arguments.data(), environ);
        if (failed == 0) left_child_ = child;
    }
    posix_spawn_file_actions_destroy(&files);
    posix_spawnattr_destroy(&attributes);
    if (failed != 0) {
        problem = "The program that plans cannot be started.";
        end_child();
        return false;
    }
    (void)setpriority(PRIO_PROCESS, static_cast<id_t>(child), low_priority);
    child_ = child;
    // What was offered and not answered is offered again after a try.
    if (change && !change_ && (state_ == State::Ready || state_ == State::Planning))
        pending_ = why_;
    if (!change) pending_.clear();
    state_ = State::Planning;
    why_ = why;
    change_ = std::move(change);
    begun_ = steady_clock::now();
    offered_.reset();
    ++id_;
    ++version_;
    return true;
}

void AgainService::collect() {
    int status = 0;
    {
        const std::lock_guard left(left_mutex_);
        if (waitpid(child_, &status, WNOHANG) != child_) return;
        child_ = left_child_ = 0;
    }
    ++version_;
    const std::string path = folder_ + "/out/plan.json";
    offered_text_ = read_text(path, most_plan_bytes).value_or("");
    model::Diagnostics diagnostics;
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0 && !offered_text_.empty())
        offered_ = report::plan_from_json(offered_text_, diagnostics, "plan.json");
    if (!offered_) {
        state_ = State::Failed;
        words_ = last_words(folder_ + "/errors");
        if (words_.empty()) words_ = "The program that plans ended without a plan.";
    } else {
        state_ = State::Ready;
        const auto& hangs = posted();
        difference_ = hangs.document ? plan_difference(*hangs.document, *offered_, clock_()) : "{}";
    }
    end_child();
}

void AgainService::end_child() {
    const std::lock_guard left(left_mutex_);
    clear_away();
    child_ = 0;
    folder_.clear();
}

bool AgainService::hang(const report::PlanDocument& document, const std::string& text,
                        std::string& problem) {
    const fs::path plan(options_.plan);
    if (plan.filename() == "plan.json") {
        const auto written = report::write_outputs(document, plan.parent_path());
        if (!written.errors.empty()) problem = written.errors.front();
    } else if (const auto error = model::write_file_atomically(plan, text)) {
        problem = *error;
    }
    return problem.empty();
}

board::Reply AgainService::adopt(std::int64_t id, const std::string& by,
                                 const std::string& device) {
    if (state_ != State::Ready || id != id_ || !offered_)
        return board::refuse(409, "That plan is not offered any more.");
    std::string problem;
    // The plan was made with it; with marks that came in between it was not.
    std::optional<journal::Entry> with;
    if (change_) {
        with = journal::Entry{.time = change_->time,
                              .entered = clock_(),
                              .mark = change_->mark,
                              .what = change_->name,
                              .by = by,
                              .device = device};
    }
    if (!day_.post(*offered_, offered_text_, seen_, with, by, device, problem) ||
        !hang(*offered_, offered_text_, problem))
        return board::refuse(507, problem);
    learn(day_.entries());
    state_ = State::None;
    change_.reset();
    ++version_;
    return {.body = "{\"done\": true}\n"};
}

// The plan before comes back: the posting is undone, with the mark that it was made with, and what
// hung before hangs again.
board::Reply AgainService::undo(const std::string& by, const std::string& device) {
    learn(day_.entries());
    const auto last = day_.posted();
    if (!may_undo_ || last.entry != knew_.entry)
        return board::refuse(409, "There is no plan to go back to.");
    std::string problem;
    std::vector<journal::Entry> undone;
    for (const std::int64_t entry : {last.entry, last.with}) {
        if (entry == 0) continue;
        undone.push_back({.time = clock_(),
                          .entered = clock_(),
                          .mark = journal::Mark::Undo,
                          .by = by,
                          .device = device,
                          .undoes = entry});
    }
    if (!day_.add(undone, problem)) return board::refuse(507, problem);
    const std::string text = day_.posted().document;
    model::Diagnostics none;
    const auto before = report::plan_from_json(text, none, "plan.json");
    if (!before || !hang(*before, text, problem))
        return board::refuse(507, problem.empty() ? "The plan before cannot be read." : problem);
    learn(day_.entries());
    ++version_;
    return {.body = "{\"done\": true}\n"};
}

board::Reply AgainService::act(const std::string& body) {
    const Json json = Json::parse(body, nullptr, false);
    const auto text = [&](const char* key) {
        const auto found = json.find(key);
        const bool good = found != json.end() && found->is_string();
        const std::string value = good ? found->get<std::string>() : "";
        return value.size() <= journal::longest_text ? value : std::string();
    };
    if (!json.is_object()) return board::refuse(400, "Send {\"do\": ...}.");
    const std::string what = text("do");
    const auto number = json.find("id");
    const std::int64_t id =
        number != json.end() && number->is_number_integer() ? number->get<std::int64_t>() : 0;
    const std::lock_guard lock(mutex_);
    std::string problem;
    if (what == "adopt") return adopt(id, text("by"), text("device"));
    if (what == "undo") return undo(text("by"), text("device"));
    if (what == "discard") {
        if (id != id_) return board::refuse(409, "That plan is not offered any more.");
        end_child();
        if (change_) {
            for (const auto& cause : pending_)
                handled_.erase(cause.key);
        }
        pending_.clear();
        state_ = State::None;
        change_.reset();
        offered_.reset();
        ++version_;
        return {.body = "{\"done\": true}\n"};
    }
    if (what == "plan") {
        if (!begin({{"asked", "asked for"}}, std::nullopt, problem))
            return board::refuse(409, problem);
        return {.body = "{\"done\": true}\n"};
    }
    if (what == "what-if") {
        const auto mark = journal::mark_of(text("kind"));
        if (!mark || !can_be_tried(*mark) || text("name").empty())
            return board::refuse(400, "Say what is tried: kind and name.");
        DayChange change{.mark = *mark, .name = text("name"), .time = {}};
        const std::string words = words_of_change(change.mark, change.name);
        if (!begin({{"what-if", words}}, std::move(change), problem))
            return board::refuse(409, problem);
        return {.body = "{\"done\": true}\n"};
    }
    return board::refuse(400, "\"do\" is plan, what-if, adopt, discard or undo.");
}

std::string AgainService::json() {
    const std::lock_guard lock(mutex_);
    Json why = Json::array();
    for (const auto& cause : why_)
        why.push_back(cause.words);
    const char* words[] = {"none", "planning", "ready", "failed"};
    Json out{{"state", words[static_cast<int>(state_)]},
             {"id", id_},
             {"why", std::move(why)},
             {"what_if", change_.has_value()},
             {"undo", may_undo_}};
    if (state_ == State::Failed) out["words"] = words_;
    if (state_ == State::Planning) {
        out["seconds"] =
            std::chrono::duration_cast<std::chrono::seconds>(steady_clock::now() - begun_).count();
        out["budget"] = options_.budget;
    }
    Json held = Json::array();
    const auto from = day_.day_begins();
    for (const auto& e : journal::in_force(day_.entries())) {
        const bool decided = can_be_tried(e.mark) && e.mark != journal::Mark::Down &&
                             e.mark != journal::Mark::Absent;
        if (decided && e.time >= from) held.push_back(words_of_change(e.mark, e.what));
    }
    out["today"] = std::move(held);
    if (state_ == State::Ready) out["difference"] = Json::parse(difference_, nullptr, false);
    return dumped(out);
}

// Asked for by every page all the time: waits for nothing.
std::string AgainService::version() {
    return std::to_string(version_.load());
}

}  // namespace sched::app
