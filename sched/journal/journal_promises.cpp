// How it works: a promise is a row, and so is the file that it came from; an accepted order has a
// row with the lines that orders.csv is to get, and one more when they stand there. When an order
// was ready is a mark like others, so that it can be taken back.

#include <algorithm>
#include <map>
#include <tuple>

#include "sched/journal/journal_file.hpp"

namespace sched::journal {

namespace {

using model::PastPromise;

std::string time_text(const std::optional<SimTime>& t) {
    return t ? stamp(*t) : std::string{};
}

/// @param from 0: given here, not read.
bool put_promise(const JournalFile& file, const PastPromise& p, std::int64_t from,
                 Problem& problem) {
    Statement s(file.db,
                "INSERT INTO promise (enquiry, asked, screens, kind, p50, p80, p90, p95, promised, "
                "ready, file) VALUES (?,?,?,?,?,?,?,?,?,?,?)");
    const std::string asked = stamp(p.asked), promised = stamp(p.promised);
    const std::string p50 = time_text(p.p50), p80 = time_text(p.p80), p90 = time_text(p.p90),
                      p95 = time_text(p.p95), ready = time_text(p.ready);
    s.bind(p.enquiry).bind(asked).bind(std::int64_t{p.screens}).bind(p.kind);
    s.bind(p50).bind(p80).bind(p90).bind(p95).bind(promised).bind(ready);
    if (from > 0)
        s.bind(from);
    else
        s.bind_null();
    return file.done(s, problem);
}

std::optional<std::vector<PastPromise>> read_promises(const JournalFile& file, Problem& problem) {
    std::vector<PastPromise> out;
    Statement s(file.db,
                "SELECT id, enquiry, asked, screens, kind, promised, p50, p80, p90, p95, ready "
                "FROM promise ORDER BY id");
    while (s.row()) {
        const auto asked = model::parse_date_time(s.text(2));
        const auto promised = model::parse_date_time(s.text(5));
        if (!asked || !promised) {
            problem = {Problem::Kind::Damaged,
                       file.path + ": promise " + std::to_string(s.number(0)) +
                           " cannot be read. It was written by hand, or the file is damaged."};
            return std::nullopt;
        }
        const auto time = [&](int column) { return model::parse_date_time(s.text(column)); };
        PastPromise p{.enquiry = s.text(1),
                      .asked = *asked,
                      .screens = static_cast<int>(s.number(3)),
                      .kind = s.text(4),
                      .p50 = time(6),
                      .p80 = time(7),
                      .p90 = time(8),
                      .p95 = time(9),
                      .promised = *promised,
                      .ready = time(10),
                      .place = {}};
        p.place.file = file.path;
        out.push_back(std::move(p));
    }
    if (s.failed()) {
        file.fail(s.code(), problem);
        return std::nullopt;
    }
    return out;
}

std::optional<std::vector<PromiseFile>> read_files(const JournalFile& file, Problem& problem) {
    std::vector<PromiseFile> out;
    Statement s(file.db, "SELECT id, name, sha256, entered FROM promise_file ORDER BY id");
    while (s.row()) {
        out.push_back({.id = s.number(0),
                       .name = s.text(1),
                       .sha256 = s.text(2),
                       .entered = model::parse_date_time(s.text(3)).value_or(SimTime{})});
    }
    if (s.failed()) {
        file.fail(s.code(), problem);
        return std::nullopt;
    }
    return out;
}

constexpr std::int64_t first_with_promises = 3;  // version of the tables

std::optional<Promises> read_all(const JournalFile& file, Problem& problem) {
    Promises out;
    if (file.version < first_with_promises) return out;
    auto list = read_promises(file, problem);
    auto files = list ? read_files(file, problem) : std::nullopt;
    const auto marks =
        files ? read_entries(file, 0, "AND mark IN ('ready', 'undo')", problem) : std::nullopt;
    if (!marks) return std::nullopt;
    out.list = *std::move(list);
    out.files = *std::move(files);
    set_ready(out.list, in_force(*marks));
    return out;
}

}  // namespace

PromiseNews news_in(const std::vector<PastPromise>& said, const std::vector<PastPromise>& kept) {
    const auto key = [](const PastPromise& p) {
        return std::tuple(p.enquiry, p.asked, p.promised);
    };
    std::multimap<std::tuple<std::string, SimTime, SimTime>, const PastPromise*> known;
    for (const PastPromise& p : kept)
        known.emplace(key(p), &p);
    PromiseNews news;
    for (const PastPromise& p : said) {
        const auto found = known.find(key(p));
        if (found == known.end()) {
            news.fresh.push_back(p);
            continue;
        }
        if (p.ready && p.ready != found->second->ready) news.ready.push_back(p);
        known.erase(found);
    }
    return news;
}

void set_ready(std::vector<PastPromise>& promises, const std::vector<Entry>& counting) {
    std::map<std::string, std::vector<PastPromise*>> of_order;
    for (PastPromise& p : promises)
        of_order[p.enquiry].push_back(&p);
    for (const Entry& e : counting) {
        const auto mine = of_order.find(e.what);
        if (e.mark != Mark::Ready || mine == of_order.end()) continue;
        PastPromise* last = nullptr;
        for (PastPromise* p : mine->second) {
            if (p->asked <= e.time && (last == nullptr || p->asked >= last->asked)) last = p;
        }
        if (last != nullptr) last->ready = e.time;
    }
}

std::optional<Promises> Journal::promises(Problem& problem) const {
    return read_all(*file_, problem);
}

std::optional<PromiseNews> Journal::take_in(const PromiseFile& from,
                                            const std::vector<PastPromise>& said,
                                            Problem& problem) {
    PromiseNews news;
    const auto all = [&] {
        const auto kept = read_all(*file_, problem);
        if (!kept) return false;
        news = news_in(said, kept->list);
        Statement s(file_->db, "INSERT INTO promise_file (name, sha256, entered) VALUES (?,?,?)");
        const std::string entered = stamp(from.entered);
        s.bind(from.name).bind(from.sha256).bind(entered);
        if (!file_->done(s, problem)) return false;
        const std::int64_t id = sqlite3_last_insert_rowid(file_->db);
        for (const PastPromise& p : news.fresh) {
            if (!put_promise(*file_, p, id, problem)) return false;
        }
        for (const PastPromise& p : news.ready) {
            const Entry ready{
                .time = *p.ready, .entered = from.entered, .mark = Mark::Ready, .what = p.enquiry};
            if (!enter_one(*file_, ready, problem)) return false;
        }
        return true;
    };
    if (!file_->in_one_stroke(all, problem)) return std::nullopt;
    return news;
}

std::optional<std::int64_t> Journal::accept(const PastPromise& promise, const Acceptance& order,
                                            Problem& problem) {
    std::int64_t id = 0;
    const auto both = [&] {
        if (!put_promise(*file_, promise, 0, problem)) return false;
        id = sqlite3_last_insert_rowid(file_->db);
        Statement s(file_->db,
                    "INSERT INTO acceptance (promise, orders, lines, before, after) "
                    "VALUES (?,?,?,?,?)");
        s.bind(id).bind(order.orders).bind(order.lines).bind(order.before).bind(order.after);
        return file_->done(s, problem);
    };
    if (!file_->in_one_stroke(both, problem)) return std::nullopt;
    return id;
}

std::optional<std::vector<Acceptance>> Journal::not_placed(Problem& problem) const {
    std::vector<Acceptance> out;
    if (file_->version < first_with_promises) return out;
    Statement s(file_->db,
                "SELECT a.promise, p.enquiry, a.orders, a.lines, a.before, a.after "
                "FROM acceptance a JOIN promise p ON p.id = a.promise "
                "WHERE NOT EXISTS (SELECT 1 FROM placed WHERE placed.promise = a.promise) "
                "ORDER BY a.promise");
    while (s.row()) {
        out.push_back({.promise = s.number(0),
                       .enquiry = s.text(1),
                       .orders = s.text(2),
                       .lines = s.text(3),
                       .before = s.text(4),
                       .after = s.text(5)});
    }
    if (s.failed()) {
        file_->fail(s.code(), problem);
        return std::nullopt;
    }
    return out;
}

bool Journal::placed(std::int64_t promise, SimTime entered, Problem& problem) {
    const auto one = [&] {
        Statement s(file_->db, "INSERT OR IGNORE INTO placed (promise, entered) VALUES (?,?)");
        const std::string text = stamp(entered);
        s.bind(promise).bind(text);
        return file_->done(s, problem);
    };
    return file_->in_one_stroke(one, problem);
}

}  // namespace sched::journal
