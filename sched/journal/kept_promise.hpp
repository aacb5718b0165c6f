#pragma once
// What the journal keeps of promises: what customers were told, the files that earlier promises
// came from, and accepted orders on their way into orders.csv. Plain values.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/room/past_promise.hpp"
#include "sched/journal/entry.hpp"

namespace sched::journal {

/// An accepted order. It counts from the moment it stands in the journal; orders.csv gets it next,
/// or, after a kill, from whoever comes next.
struct Acceptance {
    std::int64_t promise = 0;   // given by the journal
    std::string enquiry;        // of that promise: the order's name
    std::string orders;         // its orders.csv; a plain name lies in the scenario's folder
    std::string lines;          // that it gets, with their line ends
    std::string before, after;  // SHA-256 of its text without them and with them
    friend bool operator==(const Acceptance&, const Acceptance&) = default;
};

/// A file of promises that was taken in.
struct PromiseFile {
    std::int64_t id = 0;  // given by the journal
    std::string name;
    std::string sha256;  // of its bytes
    SimTime entered{};
    friend bool operator==(const PromiseFile&, const PromiseFile&) = default;
};

struct Promises {
    std::vector<model::PastPromise> list;  // in the order in which they were given or taken in
    std::vector<PromiseFile> files;
    friend bool operator==(const Promises&, const Promises&) = default;
};

/// What a file says that is not kept yet.
struct PromiseNews {
    std::vector<model::PastPromise> fresh;  // promises
    std::vector<model::PastPromise> ready;  // kept ones that were not ready, or at another time
    bool empty() const { return fresh.empty() && ready.empty(); }
};

/// Two promises are the same by name, when it was asked and what was told; each of `kept` stands
/// for one of `said`.
PromiseNews news_in(const std::vector<model::PastPromise>& said,
                    const std::vector<model::PastPromise>& kept);

/// When it was ready by the marks: each counts for the last promise of its order that was given by
/// then. @param counting entries in force; only Mark::Ready is looked at.
void set_ready(std::vector<model::PastPromise>& promises, const std::vector<Entry>& counting);

}  // namespace sched::journal
