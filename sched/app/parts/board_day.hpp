#pragma once
// The day as the board's devices mark it: marks come in as JSON and go into the journal, what they
// amount to goes out.

#include <cstdint>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "sched/board/server.hpp"
#include "sched/journal/journal.hpp"
#include "sched/report/document/plan_document.hpp"

namespace sched::app {

/// Safe from any thread.
class BoardDay {
public:
    /// @param folder of the scenario, in which the journal lies; it is made by the first mark.
    /// @param plan plan.json that hangs.
    BoardDay(std::string folder, std::string plan, std::function<model::SimTime()> clock);

    /// {"marks": [{mark, what, step, round, at, station, person, reason, by, device, client,
    /// undoes}]}: all are entered or none. What a device sends twice (`client`) is entered once.
    /// 200 with the numbers of the entries; 400 what is wrong with them; 507 not stored.
    board::Reply mark(const std::string& body);

    /// Marks of the plan's day that count, contradictions, the last entry; with `again`, a JSON
    /// value, as a further member.
    std::string json(const std::string& again = "");
    /// Changes whenever json() does, whoever marked.
    std::string version();

    /// What was marked, whoever did it, in the order of entry; empty without a journal. What was
    /// taken back may be missing, and of a film, frame or pot what a later mark has replaced; the
    /// last entry is there.
    std::vector<journal::Entry> entries();
    /// Enters marks of the board itself, all or none. @returns false with `problem`.
    bool add(const std::vector<journal::Entry>& entries, std::string& problem);
    /// Enters the plan as the one that hangs, and before it the mark that it is accepted with: both
    /// or neither. @returns false with `problem`.
    bool post(const report::PlanDocument& document, const std::string& text, std::int64_t seen,
              const std::optional<journal::Entry>& with, const std::string& by,
              const std::string& device, std::string& problem);
    /// The journal as it is, into another folder. @returns false with `problem`.
    bool copy_to(const std::string& folder, std::string& problem);
    /// The plan that is posted in the journal; entry 0: none.
    journal::PostedPlan posted();
    /// What a plan knew that hangs: as it is posted with this text, and else by its moment alone
    /// (then its entry is 0). `seen` is told in any case.
    journal::PostedPlan knew(const std::string& text, const std::optional<model::SimTime>& now);
    /// From here on a plan's marks are of that day.
    model::SimTime day_begins() const;

private:
    bool open(bool writing, std::string& problem);
    bool read(std::string& problem);
    bool post_first(std::string& problem);
    void compact();

    std::mutex mutex_;
    std::string folder_, plan_;
    std::function<model::SimTime()> clock_;
    std::optional<journal::Journal> journal_;
    bool writing_ = false;
    bool posted_ = false;  // the journal has a plan
    std::vector<journal::Entry> entries_;
    std::size_t kept_ = 0;      // of entries_, when they were compacted last
    std::string marks_text_;    // of json(), as it was last made
    std::size_t marks_of_ = 0;  // ... from so many entries
    model::SimTime marks_from_{};
    std::string marks_problem_;
};

}  // namespace sched::app
