// How it works: the journal is opened when there is one, for writing with the first mark; entries
// are kept in memory and those behind them read when the file has more. What cannot count any more
// is let go, so that a day of many marks takes no more memory than what they amount to; an undo may
// bring it back, then the file is read anew. A mark is checked field by field before any of its
// batch is entered.

#include "sched/app/parts/board_day.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "model/room/steps.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/journal/so_far.hpp"
#include "sched/report/document/plan_json.hpp"

namespace sched::app {

namespace {

using Json = nlohmann::ordered_json;
using journal::Entry;
using journal::Mark;

constexpr std::size_t most_marks = 200;  // at once: what a device queued in an hour without network
constexpr model::Seconds before_day{12 * 3600};  // marks of a shift that began the evening before
constexpr model::Seconds ahead{15 * 60};         // a device's clock may be that much before ours

constexpr std::size_t least_to_compact = 512;  // entries

/// Of these only the last of each name counts (journal::so_far).
bool replaces(const Entry& e) {
    const auto about = journal::row_of(e.mark).about;
    return about == journal::About::Film || about == journal::About::Returned ||
           about == journal::About::Pot || about == journal::About::Promise;
}

std::string json_text(const Json& json) {
    return json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string at_most(std::string text) {
    return text.size() <= 60 ? text : text.substr(0, 57) + "...";
}

// Reads one member; what is not there stays empty.
bool text_of(const Json& mark, const char* key, std::string& out, std::string& problem) {
    const auto found = mark.find(key);
    if (found == mark.end()) return true;
    if (!found->is_string()) {
        problem = fmt::format("\"{}\" is no text.", key);
        return false;
    }
    out = found->get<std::string>();
    if (out.size() > journal::longest_text) {
        problem = fmt::format("\"{}\" is longer than {} letters.", key, journal::longest_text);
        return false;
    }
    return true;
}

std::optional<Entry> entry_of(const Json& json, model::SimTime now, std::string& problem) {
    if (!json.is_object()) {
        problem = "A mark is an object.";
        return std::nullopt;
    }
    Entry e;
    std::string word, at;
    for (const auto& [key, to] : {std::pair<const char*, std::string*>{"mark", &word},
                                  {"at", &at},
                                  {"what", &e.what},
                                  {"step", &e.step},
                                  {"station", &e.station},
                                  {"person", &e.person},
                                  {"reason", &e.reason},
                                  {"by", &e.by},
                                  {"device", &e.device},
                                  {"client", &e.client}}) {
        if (!text_of(json, key, *to, problem)) return std::nullopt;
    }
    const auto mark = journal::mark_of(word);
    if (!mark || *mark == Mark::Posted) {
        problem = fmt::format("\"{}\" is no mark.", at_most(word));
        return std::nullopt;
    }
    e.mark = *mark;
    const auto number = [&](const char* key, std::int64_t least, std::int64_t most,
                            std::int64_t& out) {
        const auto found = json.find(key);
        if (found == json.end()) return true;
        if (found->is_number_integer() && *found >= least && *found <= most) {
            out = found->get<std::int64_t>();
            return true;
        }
        problem = fmt::format("\"{}\" is no number from {} to {}.", key, least, most);
        return false;
    };
    std::int64_t round = 1;
    if (!number("round", 1, 20, round) ||
        !number("undoes", 1, std::numeric_limits<std::int64_t>::max(), e.undoes))
        return std::nullopt;
    e.round = static_cast<int>(round);
    if (e.mark == Mark::Undo ? e.undoes == 0 : e.what.empty()) {
        problem = "The mark does not say of what it is.";
        return std::nullopt;
    }
    if (!e.step.empty()) {
        const auto rows = model::step_rows();
        if (std::none_of(rows.begin(), rows.end(),
                         [&](const auto& r) { return r.key == e.step; })) {
            problem = fmt::format("\"{}\" is no step.", at_most(e.step));
            return std::nullopt;
        }
        std::string step;
        int again = 1;
        if (!journal::read_step_text(journal::step_text(e), step, again)) {
            problem = fmt::format("\"{}\" does not come so often on the way of a screen.", e.step);
            return std::nullopt;
        }
    } else if (e.mark == Mark::Start || e.mark == Mark::Done) {
        problem = "The mark does not say which step.";
        return std::nullopt;
    }
    e.entered = now;
    e.time = now;
    if (!at.empty()) {
        const auto t = model::parse_date_time(at);
        if (!t) {
            problem = fmt::format("\"{}\" is no date and time.", at_most(at));
            return std::nullopt;
        }
        e.time = *t;
    }
    // Only what is announced may lie ahead.
    const bool announced = journal::row_of(e.mark).about == journal::About::Film ||
                           journal::row_of(e.mark).about == journal::About::Returned;
    if (e.time > now + ahead && !announced) {
        problem = "The mark lies in the future: the device's clock is wrong.";
        return std::nullopt;
    }
    return e;
}

Json json_of(const Entry& e) {
    Json out{{"id", e.id},
             {"kind", journal::row_of(e.mark).word},
             {"at", journal::stamp(e.time)},
             {"what", e.what}};
    if (!e.step.empty()) {
        out["step"] = e.step;
        out["round"] = e.round;
    }
    const std::pair<const char*, const std::string*> texts[] = {
        {"station", &e.station}, {"person", &e.person}, {"reason", &e.reason},
        {"by", &e.by},           {"device", &e.device}, {"client", &e.client}};
    for (const auto& [key, text] : texts) {
        if (!text->empty()) out[key] = *text;
    }
    return out;
}

}  // namespace

BoardDay::BoardDay(std::string folder, std::string plan, std::function<model::SimTime()> clock)
    : folder_(std::move(folder)), plan_(std::move(plan)), clock_(std::move(clock)) {}

bool BoardDay::open(bool writing, std::string& problem) {
    if (journal_ && (writing_ || !writing)) return true;
    if (!writing && !journal::Journal::exists(folder_)) return true;
    journal::Problem why;
    auto opened = journal::Journal::open(
        folder_, writing ? journal::Journal::For::Writing : journal::Journal::For::Reading, why);
    if (!opened) {
        problem = why.words;
        return false;
    }
    journal_.emplace(std::move(*opened));
    writing_ = writing;
    return true;
}

// What others entered meanwhile, too.
bool BoardDay::read(std::string& problem) {
    if (!open(false, problem)) return false;
    if (!journal_) return true;
    journal::Problem why;
    const std::int64_t after = entries_.empty() ? 0 : entries_.back().id;
    auto more = journal_->entries(after, why);
    if (!more) {
        problem = why.words;
        return false;
    }
    const auto told = [this](std::int64_t id) {
        const auto found =
            std::lower_bound(entries_.begin(), entries_.end(), id,
                             [](const Entry& e, std::int64_t i) { return e.id < i; });
        return found == entries_.end() || found->id != id ? nullptr : &*found;
    };
    // What an undo takes back had replaced, or taken back, what is not in memory any more.
    const bool anew = after != 0 && std::any_of(more->begin(), more->end(), [&](const Entry& e) {
                          if (e.mark != Mark::Undo || e.undoes > after) return false;
                          const Entry* about = told(e.undoes);
                          return about == nullptr || about->mark == Mark::Undo || replaces(*about);
                      });
    if (anew) {
        more = journal_->entries(0, why);
        if (!more) {
            problem = why.words;
            return false;
        }
        entries_.clear();
    }
    entries_.insert(entries_.end(), more->begin(), more->end());
    if (anew || entries_.size() > 2 * kept_ + least_to_compact) compact();
    return true;
}

void BoardDay::compact() {
    if (entries_.empty()) return;
    const Entry last = entries_.back();
    auto counting = journal::in_force(entries_);
    // What was taken back today may be news to the plan that hangs (off_plan).
    std::set<std::int64_t> undone;
    for (auto e = entries_.rbegin(); e != entries_.rend(); ++e) {
        const bool today = e->mark == Mark::Undo && e->entered >= day_begins();
        if (undone.count(e->id) == 0 && !today) continue;
        undone.insert(e->id);
        if (e->mark == Mark::Undo) undone.insert(e->undoes);
    }
    std::set<std::pair<Mark, std::string>> later;
    std::vector<Entry> kept;
    for (auto e = counting.rbegin(); e != counting.rend(); ++e) {
        if (!replaces(*e) || later.emplace(e->mark, e->what).second) kept.push_back(std::move(*e));
    }
    std::reverse(kept.begin(), kept.end());
    for (const Entry& e : entries_) {
        if (undone.count(e.id) == 0) continue;
        const auto at = std::lower_bound(kept.begin(), kept.end(), e.id,
                                         [](const Entry& x, std::int64_t id) { return x.id < id; });
        if (at == kept.end() || at->id != e.id) kept.insert(at, e);
    }
    if (kept.empty() || kept.back().id != last.id) kept.push_back(last);
    kept.shrink_to_fit();
    entries_ = std::move(kept);
    kept_ = entries_.size();
}

// What is marked is marked against the plan that hangs: so that one is entered before the first
// mark, unless the journal has one.
bool BoardDay::post_first(std::string& problem) {
    if (posted_) return true;
    journal::Problem why;
    const auto there = journal_->posted(why);
    if (!there) {
        problem = why.words;
        return false;
    }
    posted_ = there->entry != 0;
    if (posted_) return true;
    constexpr std::size_t most_bytes = std::size_t{64} << 20;
    const auto text = read_text(plan_, most_bytes);
    if (!text) return true;
    model::Diagnostics none;
    const auto document = report::plan_from_json(*text, none, "plan.json");
    if (!document) return true;
    Entry entry{.time = clock_(), .entered = clock_(), .mark = Mark::Posted, .device = "board"};
    entry.reason = document->fingerprint;
    journal::PostedPlan plan{.fingerprint = document->fingerprint, .document = *text};
    if (document->again) plan.now = document->again->now;
    if (!read(problem)) return false;
    plan.seen = journal::seen_by(plan, entries_);
    const auto posted = journal_->post(entry, plan, why);
    if (!posted) problem = why.words;
    posted_ = posted.has_value();
    return posted_;
}

board::Reply BoardDay::mark(const std::string& body) {
    const Json json = Json::parse(body, nullptr, false);
    const auto marks = json.is_object() ? json.find("marks") : json.end();
    if (!json.is_object() || marks == json.end() || !marks->is_array() || marks->empty())
        return board::refuse(400, "Send {\"marks\": [...]}.");
    if (marks->size() > most_marks)
        return board::refuse(400, fmt::format("Send at most {} marks at once.", most_marks));
    std::vector<Entry> entries;
    const auto now = clock_();
    std::string problem;
    for (const auto& mark : *marks) {
        auto entry = entry_of(mark, now, problem);
        if (!entry) return board::refuse(400, problem);
        entries.push_back(*std::move(entry));
    }
    const std::lock_guard lock(mutex_);
    if (!open(true, problem) || !post_first(problem)) return board::refuse(507, problem);
    journal::Problem why;
    const auto entered = journal_->add(entries, why);
    if (!entered) {
        const bool ours = why.kind == journal::Problem::Kind::Refused;
        return board::refuse(ours ? 400 : 507, why.words);
    }
    Json out{{"entered", Json::array()}};
    for (std::size_t i = 0; i < entered->size(); ++i) {
        out["entered"].push_back({{"client", entries[i].client},
                                  {"id", (*entered)[i].id},
                                  {"fresh", (*entered)[i].fresh}});
    }
    return {.body = json_text(out)};
}

bool BoardDay::add(const std::vector<Entry>& entries, std::string& problem) {
    const std::lock_guard lock(mutex_);
    if (!open(true, problem) || !post_first(problem)) return false;
    journal::Problem why;
    if (journal_->add(entries, why)) return true;
    problem = why.words;
    return false;
}

bool BoardDay::post(const report::PlanDocument& document, const std::string& text,
                    std::int64_t seen, const std::optional<Entry>& with, const std::string& by,
                    const std::string& device, std::string& problem) {
    const std::lock_guard lock(mutex_);
    if (!open(true, problem) || !post_first(problem)) return false;
    Entry entry{.time = clock_(), .entered = clock_(), .mark = Mark::Posted};
    entry.reason = document.fingerprint;
    entry.by = by;
    entry.device = device;
    journal::Problem why;
    const auto posted =
        journal_->post(entry,
                       {.fingerprint = document.fingerprint,
                        .now = document.again ? std::optional(document.again->now) : std::nullopt,
                        .seen = seen,
                        .document = text},
                       why, with);
    if (!posted) problem = why.words;
    return posted.has_value();
}

journal::PostedPlan BoardDay::posted() {
    const std::lock_guard lock(mutex_);
    std::string problem;
    if (!open(false, problem) || !journal_) return {};
    journal::Problem why;
    return journal_->posted(why).value_or(journal::PostedPlan{});
}

journal::PostedPlan BoardDay::knew(const std::string& text,
                                   const std::optional<model::SimTime>& now) {
    const std::lock_guard lock(mutex_);
    std::string problem;
    journal::PostedPlan plan;
    if (!read(problem) || !journal_) return plan;
    journal::Problem why;
    plan = journal_->posted_as(text, why).value_or(plan);
    if (plan.entry == 0) plan.now = now;
    plan.seen = journal::seen_by(plan, entries_);
    return plan;
}

bool BoardDay::copy_to(const std::string& folder, std::string& problem) {
    const std::lock_guard lock(mutex_);
    namespace fs = std::filesystem;
    for (const char* end : {"", "-wal"}) {
        const fs::path from = fs::path(folder_) / (std::string(journal::journal_name) + end);
        std::error_code error;
        if (!fs::exists(from)) continue;
        fs::copy_file(from, fs::path(folder) / from.filename(), error);
        if (!error) continue;
        problem = from.filename().string() + " cannot be copied: " + error.message();
        return false;
    }
    return true;
}

std::vector<Entry> BoardDay::entries() {
    const std::lock_guard lock(mutex_);
    std::string problem;
    (void)read(problem);
    return entries_;
}

model::SimTime BoardDay::day_begins() const {
    return clock_() - before_day;
}

std::string BoardDay::json(const std::string& again) {
    const std::lock_guard lock(mutex_);
    std::string problem;
    (void)read(problem);
    // Fifty displays ask at once: what they are told is made once. The day's beginning moves on
    // with the clock; by quarters of an hour is fine enough.
    constexpr model::Seconds quarter{15 * 60};
    auto from = day_begins();
    from -= from.time_since_epoch() % quarter;
    const auto with = [&] {
        if (again.empty()) return marks_text_ + "}\n";
        return marks_text_ + ",\"again\":" + again + "}\n";
    };
    if (!marks_text_.empty() && marks_of_ == entries_.size() && marks_from_ == from &&
        marks_problem_ == problem)
        return with();
    marks_of_ = entries_.size();
    marks_from_ = from;
    marks_problem_ = problem;
    Json out{{"last", entries_.empty() ? 0 : entries_.back().id},
             {"problem", problem},
             {"marks", Json::array()},
             {"contradictions", Json::array()}};
    for (const auto& e : journal::in_force(entries_)) {
        if (e.time >= from && e.mark != Mark::Undo) out["marks"].push_back(json_of(e));
    }
    for (const auto& c : journal::so_far(entries_, from).contradictions) {
        if (c.settled_by != 0) continue;
        Json rows = Json::array();
        for (const auto id : c.entries) {
            const auto at = std::find_if(entries_.begin(), entries_.end(),
                                         [&](const Entry& e) { return e.id == id; });
            if (at != entries_.end())
                rows.push_back(
                    {{"id", id}, {"words", journal::words_of(*at, model::date_of(at->time))}});
        }
        out["contradictions"].push_back(
            {{"about", c.about}, {"words", c.words}, {"entries", std::move(rows)}});
    }
    marks_text_ = out.dump(-1, ' ', false, Json::error_handler_t::replace);
    marks_text_.pop_back();
    return with();
}

std::string BoardDay::version() {
    const std::lock_guard lock(mutex_);
    std::string problem;
    if (!open(false, problem)) return "!" + problem;
    if (!journal_) return "none";
    journal::Problem why;
    const auto last = journal_->last_id(why);
    return last ? std::to_string(*last) : "!" + why.words;
}

}  // namespace sched::app
