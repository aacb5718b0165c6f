// How it works: the journal's promises are read, and where no file was ever taken in, what
// promises.csv says is put to them as taking it in would do. Taking in is one stroke of the journal
// under the scenario's lock, so that nobody accepts in between.

#include "sched/app/parts/kept_promises.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>

#include "model/read/promise_file.hpp"
#include "sched/app/parts/accept.hpp"
#include "sched/app/parts/day_of_plan.hpp"
#include "sched/app/parts/files.hpp"
#include "sched/report/document/fingerprint.hpp"

namespace sched::app {

namespace fs = std::filesystem;

namespace {

using journal::Journal;
using model::PastPromise;

std::string own_file(const std::string& folder) {
    return (fs::path(folder) / model::promise_journal_name).string();
}

std::string first_error(const model::Diagnostics& diagnostics) {
    for (const auto& d : diagnostics.sorted()) {
        if (d.severity == model::Severity::Error) return model::to_text(d);
    }
    return {};
}

// What a file of 64 MiB and more would be is refused by the reader.
std::string digest_of(const std::string& path) {
    const auto text = read_text(path, std::size_t{64} << 20);
    return text ? report::sha256_hex(*text) : std::string{};
}

/// As if `said` had been taken in.
void put_to(std::vector<PastPromise>& kept, const std::vector<PastPromise>& said) {
    auto news = journal::news_in(said, kept);
    for (const PastPromise& p : news.ready) {
        const auto same = std::find_if(kept.begin(), kept.end(), [&](const PastPromise& k) {
            return k.enquiry == p.enquiry && k.asked == p.asked && k.promised == p.promised;
        });
        if (same != kept.end()) same->ready = p.ready;
    }
    kept.insert(kept.end(), std::make_move_iterator(news.fresh.begin()),
                std::make_move_iterator(news.fresh.end()));
}

void warn_of_news(const std::string& path, const journal::Promises& kept,
                  model::Diagnostics& diagnostics) {
    const std::string digest = digest_of(path);
    const bool known =
        std::any_of(kept.files.begin(), kept.files.end(),
                    [&](const journal::PromiseFile& f) { return f.sha256 == digest; });
    if (known) return;
    model::Diagnostics unread;  // it does not count any more
    const auto news = journal::news_in(model::read_promises(path, false, unread), kept.list);
    if (news.empty()) return;
    model::SourcePlace place;
    place.file = path;
    diagnostics.warning(
        place, "promises-not-read",
        fmt::format("the journal has taken this file in, and does not have {} of its promises and "
                    "{} of its ready times; they do not count.",
                    news.fresh.size(), news.ready.size()),
        "coatroom promise SCENARIO --import FILE takes them in.");
}

std::optional<journal::PromiseNews> take_in(Journal& journal, const std::string& file,
                                            std::string& problem, model::Diagnostics& diagnostics) {
    const std::size_t errors = diagnostics.error_count();
    const auto said = model::read_promises(file, true, diagnostics);
    if (diagnostics.error_count() > errors) return std::nullopt;
    journal::Problem wrong;
    auto news = journal.take_in({.name = fs::path(file).filename().string(),
                                 .sha256 = digest_of(file),
                                 .entered = clock_of_machine()},
                                said, wrong);
    if (!news) problem = wrong.words;
    return news;
}

}  // namespace

std::optional<std::vector<PastPromise>> past_promises(const std::string& folder,
                                                      model::Diagnostics& diagnostics) {
    const std::string path = own_file(folder);
    const std::size_t errors = diagnostics.error_count();
    journal::Promises kept;
    if (Journal::exists(folder)) {
        journal::Problem wrong;
        const auto file = Journal::open(folder, Journal::For::Reading, wrong);
        auto found = file ? file->promises(wrong) : std::nullopt;
        if (!found) {
            model::SourcePlace place;
            place.file = (fs::path(folder) / journal::journal_name).string();
            diagnostics.error(place, "journal", wrong.words, "");
            return std::nullopt;
        }
        kept = *std::move(found);
    }
    if (kept.files.empty()) {
        put_to(kept.list, model::read_promises(path, false, diagnostics));
    } else {
        warn_of_news(path, kept, diagnostics);
    }
    if (diagnostics.error_count() > errors) return std::nullopt;
    return std::move(kept.list);
}

bool take_in_own_file(const std::string& folder, Journal& journal, std::string& problem) {
    const std::string path = own_file(folder);
    std::error_code error;
    if (!fs::exists(path, error)) return true;
    journal::Problem wrong;
    const auto kept = journal.promises(wrong);
    if (!kept) {
        problem = wrong.words;
        return false;
    }
    if (!kept->files.empty()) return true;
    model::Diagnostics diagnostics;
    const auto news = take_in(journal, path, problem, diagnostics);
    if (!news) {
        if (problem.empty()) problem = first_error(diagnostics);
        return false;
    }
    std::fprintf(stderr,
                 "coatroom promise: %s was taken into the journal (%zu promise%s), which counts "
                 "from now on; --export writes a CSV.\n",
                 path.c_str(), news->fresh.size(), news->fresh.size() == 1 ? "" : "s");
    return true;
}

std::optional<journal::PromiseNews> take_in_promises(const std::string& folder,
                                                     const std::string& file, std::string& problem,
                                                     model::Diagnostics& diagnostics) {
    const ScenarioLock lock(folder);
    if (!lock.held()) {
        problem = lock.problem();
        return std::nullopt;
    }
    // Read first: a file that is wrong makes no journal.
    const std::size_t errors = diagnostics.error_count();
    (void)model::read_promises(file, true, diagnostics);
    if (diagnostics.error_count() > errors) return std::nullopt;
    journal::Problem wrong;
    auto journal = Journal::open(folder, Journal::For::Writing, wrong);
    if (!journal) {
        problem = wrong.words;
        return std::nullopt;
    }
    std::error_code error;
    const bool own = fs::equivalent(file, own_file(folder), error) && !error;
    if (!own && !take_in_own_file(folder, *journal, problem)) return std::nullopt;
    return take_in(*journal, file, problem, diagnostics);
}

std::string promises_to_csv(const std::vector<PastPromise>& promises) {
    std::string out = model::promise_heading();
    for (const PastPromise& p : promises)
        out += model::promise_row(p);
    return out;
}

}  // namespace sched::app
