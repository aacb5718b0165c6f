#pragma once
// New plans for the day that runs: offered by itself when the day leaves its plan, or asked for as
// a what-if; made by a program of its own beside the board, shown as a difference, hung up only
// when somebody accepts it.

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "sched/app/parts/board_day.hpp"
#include "sched/app/parts/off_plan.hpp"

namespace sched::app {

struct AgainOptions {
    std::string scenario;        // folder
    std::string plan;            // plan.json that hangs
    std::string budget = "20s";  // of the search
    int replications = 100;      // simulated days of each new plan
    OffPlanLimits limits;
    model::Seconds settle{5};  // marks that come together are planned together; of real time
};

/// Something that is tried: a mark of the journal as soon as it is accepted (day_change).
struct DayChange {
    journal::Mark mark = journal::Mark::Down;
    std::string name;       // station, person or order
    model::SimTime time{};  // from then on; the plan is of that time
};

/// Safe from any thread.
class AgainService {
public:
    AgainService(BoardDay& day, std::function<model::SimTime()> clock, AgainOptions options);
    ~AgainService();
    AgainService(const AgainService&) = delete;
    AgainService& operator=(const AgainService&) = delete;
    void start();
    void stop();
    /// Ends the program that plans and takes its files away, without waiting for anything else.
    void abandon();

    /// {"do": "plan" | "what-if" | "adopt" | "discard" | "undo", kind, name, id, by, device}
    board::Reply act(const std::string& body);
    /// What is under way or offered, as JSON.
    std::string json();
    std::string version();

private:
    enum class State { None, Planning, Ready, Failed };
    struct Posted {  // the plan that hangs, read once for each change of the file
        std::string stamp, text;
        std::optional<report::PlanDocument> document;
    };

    void run();
    void look();  // is the day off its plan?
    void learn(const std::vector<journal::Entry>& entries);
    bool begin(const std::vector<OffPlan>& why, std::optional<DayChange> change,
               std::string& problem);  // @pre locked
    void collect();                    // has the program ended?
    void end_child();
    void clear_away();
    bool prepare(const std::string& folder, const DayChange& change, std::string& problem);
    board::Reply adopt(std::int64_t id, const std::string& by, const std::string& device);
    board::Reply undo(const std::string& by, const std::string& device);
    bool hang(const report::PlanDocument& document, const std::string& text, std::string& problem);
    const Posted& posted();

    BoardDay& day_;
    std::function<model::SimTime()> clock_;
    AgainOptions options_;
    std::mutex mutex_;
    std::condition_variable wake_;
    bool stop_ = false;
    std::thread thread_;

    State state_ = State::None;
    std::int64_t id_ = 0;  // of the offer
    std::atomic<std::uint64_t> version_{0};
    std::vector<OffPlan> why_, pending_;
    std::optional<DayChange> change_;  // tried
    std::set<std::string> handled_;    // causes that were offered, accepted or put aside
    std::int64_t seen_ = 0;            // last entry that the plan under way took account of
    journal::PostedPlan knew_;         // the plan that hangs
    std::string learnt_stamp_;         // knew_ is of this file and of these plans in the journal
    std::int64_t learnt_last_ = -1;
    int learnt_plans_ = 0;
    std::string words_;   // why it failed
    std::string folder_;  // of the program under way
    int child_ = 0;
    std::mutex left_mutex_;  // for abandon(), while somebody holds the other one for long
    int left_child_ = 0;
    std::string left_folder_;
    bool abandoned_ = false;  // nothing is begun any more
    std::chrono::steady_clock::time_point begun_{};
    std::string offered_text_;
    std::optional<report::PlanDocument> offered_;
    std::string difference_;  // JSON
    bool may_undo_ = false;
    Posted posted_;
};

}  // namespace sched::app
