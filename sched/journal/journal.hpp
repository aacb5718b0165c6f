#pragma once
// The journal of a scenario folder: every mark, posted plan and promise, in one SQLite file. Only
// added to, never changed; what add() and post() have returned is on the disk and survives a kill
// and a power cut. The only place that knows the file's form (docs/journal.md).

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sched/journal/entry.hpp"
#include "sched/journal/kept_promise.hpp"

namespace sched::journal {

/// Name of the file in a scenario folder.
inline constexpr const char* journal_name = "journal.sqlite";
/// Version of the tables that this program writes. 1: before devices queued marks. 2: before
/// promises stood in it. 3: before plans said with which mark they were accepted.
inline constexpr int schema_version = 4;

/// Why something could not be done, in words for people.
struct Problem {
    enum class Kind {
        None,
        Missing,    // there is no journal
        Damaged,    // it cannot be read, or is no journal; nothing was written to it
        Newer,      // a later program has written it
        Busy,       // another program holds it for long
        ReadOnly,   // the file or its folder may not be written
        NotStored,  // the disk is full or fails; nothing was entered
        Unknown,    // the disk fails: whether it was entered shows when it works again
        Refused,    // the entry cannot be: what it undoes is not there, a text is too long
    };
    Kind kind = Kind::None;
    std::string words;
};

/// A posted plan.
struct PostedPlan {
    std::int64_t entry = 0;      // its entry
    SimTime time{};              // when it was posted
    std::string fingerprint;     // of the files it was made of
    std::optional<SimTime> now;  // of a plan from the middle of the day; none: of a whole day
    std::int64_t seen = 0;       // the last entry that it took account of; 0: none
    std::int64_t with = 0;       // the mark that it was accepted with, known to it as well; 0: none
    std::string document;        // text of its plan.json
    friend bool operator==(const PostedPlan&, const PostedPlan&) = default;
};

/// The last entry that the plan took account of. One of the middle of the day that does not say it
/// knew what had been entered by its moment, and before it was posted.
/// @param entries ids rise.
std::int64_t seen_by(const PostedPlan& plan, const std::vector<Entry>& entries);

/// What became of an entry.
struct Entered {
    std::int64_t id = 0;
    bool fresh = true;  // false: the same mark of the same device was there already
};

struct JournalFile;

/// Open file. Several may be open at once, in one process or in many; each is for one thread at a
/// time.
class Journal {
public:
    enum class For { Reading, Writing };
    /// For::Writing makes the file where there is none, and brings an older one to schema_version.
    /// For::Reading changes nothing that is kept. @returns nullopt with `problem`.
    static std::optional<Journal> open(const std::string& folder, For what, Problem& problem);
    /// Whether the folder has a journal.
    static bool exists(const std::string& folder);

    Journal(Journal&&) noexcept;
    Journal& operator=(Journal&&) noexcept;
    ~Journal();

    /// All of them or none. `id` of the given ones does not count. Entries of one device with the
    /// same `client` are entered once: again means the earlier id back. An Undo names an entry
    /// that is there, or, by -k, the k-th of this call. Mark::Posted is entered by post() alone.
    /// @returns one per entry; nullopt with `problem`: nothing was entered.
    std::optional<std::vector<Entered>> add(const std::vector<Entry>& entries, Problem& problem);
    /// Enters a plan: entry.mark is Posted; plan.entry, plan.time and plan.with are not read.
    /// @param with the mark that it is accepted with: entered before it, both or neither.
    std::optional<Entered> post(Entry entry, const PostedPlan& plan, Problem& problem,
                                const std::optional<Entry>& with = std::nullopt);

    /// Those with an id above `after`, in the order of their ids, all of them: undone ones too.
    std::optional<std::vector<Entry>> entries(std::int64_t after, Problem& problem) const;
    /// The highest id; 0: empty. Cheap: for whoever waits for news.
    std::optional<std::int64_t> last_id(Problem& problem) const;
    /// The plan posted last whose entry was not taken back; without one `entry` is 0.
    std::optional<PostedPlan> posted(Problem& problem) const;
    /// The same of those with this text; without its text.
    std::optional<PostedPlan> posted_as(const std::string& document, Problem& problem) const;
    /// All promises, ready when the marks say so.
    std::optional<Promises> promises(Problem& problem) const;
    /// What a file of promises says and is not kept yet is entered with the file's name, or none of
    /// it. @returns what that was.
    std::optional<PromiseNews> take_in(const PromiseFile& from,
                                       const std::vector<model::PastPromise>& said,
                                       Problem& problem);
    /// Enters a promise and the order that comes of it, both or neither. @returns its number.
    std::optional<std::int64_t> accept(const model::PastPromise& promise, const Acceptance& order,
                                       Problem& problem);
    /// Accepted orders of which nobody has said yet that they stand in orders.csv.
    std::optional<std::vector<Acceptance>> not_placed(Problem& problem) const;
    /// It stands there.
    bool placed(std::int64_t promise, SimTime entered, Problem& problem);
    /// Reads every page. @returns false with `problem` if the file is damaged.
    bool sound(Problem& problem) const;

    const std::string& path() const;

private:
    explicit Journal(std::unique_ptr<JournalFile> file);
    std::optional<PostedPlan> posted_where(const std::string* document, Problem& problem) const;
    std::unique_ptr<JournalFile> file_;
};

}  // namespace sched::journal
