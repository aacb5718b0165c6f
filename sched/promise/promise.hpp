#pragma once
// "When can I have it?": an enquiry planned into the room as it is promised already, simulated
// through many days of random variation, and what may be said to the customer. Below `Enquiry` and
// `Promise` are plain values; sched/report draws them, sched/board serves them.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "sched/chance/chance.hpp"
#include "sched/compile/room_problem.hpp"
#include "sched/core/solution.hpp"
#include "sched/simulate/begun_day.hpp"
#include "sched/statistics/conformal.hpp"
#include "sched/statistics/output_analysis.hpp"

namespace sched::study {

struct Replications;  // simulate/replicate.hpp

/// An order without a due time. Times on the room's clock.
struct Enquiry {
    std::string name;  // unique among the orders; empty: the first free of E1, E2, ...
    std::string customer;
    int priority = 1;                      // 1 .. 9, once it is accepted
    std::vector<model::ScreenLine> lines;  // at least one; film_ready in each
    std::optional<core::SimTime> wanted;   // what is the chance to have it by then?
    friend bool operator==(const Enquiry&, const Enquiry&) = default;
};

/// k of n days on which something was in time, with the Wilson interval of the share.
struct Odds {
    std::int64_t kept = 0;
    std::int64_t of = 0;
    double share = 0.0;  // kept / of
    Interval interval;   // 95 %
    friend bool operator==(const Odds&, const Odds&) = default;
};

/// The ready time that a day not yet seen keeps with at least the chance `level`: of n simulated
/// days the k-th smallest, k = ceil((n + 1) level), so that the chance of a further day at or below
/// it is k / (n + 1) if it is like the simulated ones (Wilks 1941).
struct PromiseQuantile {
    double level = 0.9;
    std::size_t rank = 0;                // k, from 1
    std::optional<core::SimTime> ready;  // none: n too small for the level, or that day never ended
    friend bool operator==(const PromiseQuantile&, const PromiseQuantile&) = default;
};

/// An order that is promised already and what the enquiry does to it, by paired days (common random
/// numbers).
struct EndangeredOrder {
    std::string order;
    std::string customer;
    core::SimTime due{};
    double later_minutes = 0.0;      // mean of ready with - ready without
    Interval later_interval;         // 95 %, paired
    double more_late_minutes = 0.0;  // mean of what it is later than due with, less that without
    Odds before, after;              // in time without, with the enquiry
    std::int64_t lost_days = 0;      // in time without, late with
    std::int64_t won_days = 0;       // late without, in time with
    friend bool operator==(const EndangeredOrder&, const EndangeredOrder&) = default;
};

/// Something that would make it sooner, planned and simulated with the same random variation.
struct Remedy {
    std::string kind;   // "film", "frame", "hour", "displace"
    std::string words;  // "if the films are here by 07:30", "if Ada stays until 15:30"
    std::optional<core::SimTime> ready;         // at the shop's level, with it
    std::optional<core::SimTime> recommended;   // and after the slots
    double sooner_minutes = 0.0;                // at the shop's level
    std::optional<Odds> wanted;                 // chance of the wanted time with it
    std::string order;                          // "displace": the order that goes behind
    std::vector<EndangeredOrder> consequences;  // against today's promises without the enquiry
    friend bool operator==(const Remedy&, const Remedy&) = default;
};

/// One link of the chain that decides the date, first in time first.
struct PromiseLink {
    core::SimTime start{};
    core::Seconds waited{0};  // before `start`
    std::string words;
    core::SimTime end{};  // of the step
    bool dries = false;   // nobody's work: it dries
    friend bool operator==(const PromiseLink&, const PromiseLink&) = default;
};

struct Promise {
    Enquiry enquiry;  // with its name
    std::string room;
    bool invented = false;             // demo data say so
    core::SimTime asked{};             // the time of the question: nothing of it begins sooner
    std::vector<std::string> present;  // what stands in the room then, as it was told
    std::string impossible;            // why there is no answer, in words; empty: there is one
    core::SimTime planned{};           // ready if everything takes as long as planned
    int screens = 0;

    std::uint64_t seed = 1;
    std::size_t days = 0;        // simulated, n
    std::size_t unfinished = 0;  // of them, that did not end within the horizon: counted as latest
    std::vector<core::SimTime> ready;        // of the n - unfinished others, ascending
    std::vector<PromiseQuantile> quantiles;  // 0.50, 0.80, 0.90, 0.95

    double level = 0.9;                        // the shop's service level
    core::Seconds correction{0};               // added from past errors (conformal); 0: none
    std::optional<core::SimTime> at_level;     // the quantile of the level, correction included
    std::optional<core::SimTime> recommended;  // the first slot at or after it that the press takes
    std::string slot_words;                    // how it was rounded: "the next of 11:00 and 16:00"
    Odds recommended_odds;                     // simulated days that keep `recommended`

    std::optional<Odds> wanted;               // chance of Enquiry::wanted
    std::vector<EndangeredOrder> endangered;  // worst first; those whose odds or ready time change
    std::vector<Remedy> remedies;             // best first
    std::vector<PromiseLink> chain;           // filled by report::explain_promise
    std::string sentence;                     // to say to the customer
    friend bool operator==(const Promise&, const Promise&) = default;
};

inline constexpr int most_days_ahead = 40;

struct PromiseOptions {
    /// `days` are looked ahead; doubled up to most_days_ahead when it does not fit.
    compile::CompileOptions compile{.days = 10};
    std::optional<core::SimTime> now;  // the time of the question; none: compile.start
    /// What has begun by then; its `now` is the time of the question. None: nothing has.
    std::shared_ptr<const BegunDay> begun;
    /// Whether a plan passes the checker, who stands above this folder: then what hangs is one of
    /// the plans to choose from. None: it is not.
    std::function<bool(const core::Problem&, const core::Schedule&)> right;
    std::size_t replications = 199;        // (n + 1) level whole: the bound is exact
    std::size_t remedy_replications = 99;  // the first so many of them, for each remedy
    std::int64_t base_evaluations = 400;   // schedules for the plan without the enquiry
    std::uint64_t seed = 1;
    int threads = 1;
    Chance chance;
    std::string policy = "follow";
    bool remedies = true;
    core::Seconds correction{0};  // added to the time at the level
    /// From the journal of past promises, before `correction`, if it is for the shop's level.
    std::optional<Correction> past;
    std::function<bool()> stop;
    /// What is being done, in words; by the thread that asks.
    std::function<void(const std::string& words)> progress;
};

/// The room as it is promised today, planned and simulated once; asked about any number of
/// enquiries.
class PromiseDesk {
public:
    /// @returns nullptr with `diagnostics` filled when the scenario does not compile, or without a
    /// plan of what is promised already (`problem` says so).
    static std::unique_ptr<PromiseDesk> open(const model::Scenario& scenario,
                                             const PromiseOptions& options,
                                             model::Diagnostics& diagnostics, std::string& problem);
    ~PromiseDesk();

    /// A plan with an enquiry in it: for the chain, and for sheets.
    struct Planned {
        model::Scenario scenario;  // with the enquiry as its last order
        compile::RoomProblem room;
        core::Solution solution;
        core::Schedule turns;  // by whose starts work is taken when the day turns out otherwise
        bool by_list = false;  // by them from the beginning: the plan is a list of work
        compile::CompileOptions how = {};  // that the room was compiled with
    };
    /// Deterministic per seed, whatever the threads. Never changes the desk. An enquiry that the
    /// room cannot make (no frame, no coat plan of the name) is a Promise with `impossible`.
    /// @param plan gets the plan that was simulated, if there is an answer.
    Promise ask(const Enquiry& enquiry, Planned* plan = nullptr) const;

    core::SimTime asked() const;  // the time of the question
    /// What the state and the posted plan said of the room, in its words.
    const std::vector<std::string>& notes() const;
    /// What is promised, as it is planned (from now on, in a day that is under way).
    const compile::RoomProblem& room() const;
    const core::Solution& solution() const;
    Planned base() const;              // all of that, and how its days are worked
    const Replications& days() const;  // simulated without any enquiry
    const model::Scenario& scenario() const;
    const PromiseOptions& options() const;

    struct Inside;  // seen in this folder only

private:
    PromiseDesk();
    std::unique_ptr<Inside> in_;
};

/// "Fri 27 Nov, 16:00": the shown minute, as it is said to a customer.
std::string say_time(core::SimTime t);

/// Odds of `kept` of `of`, 95 %; share 0 and interval [0, 1] for of = 0.
Odds odds_of(std::int64_t kept, std::int64_t of);

/// rank k = ceil((n + 1) level), 0 when k > n.
std::size_t promise_rank(std::size_t n, double level);

/// The shop's promise times: the first slot at or after `t` at which the press is open.
core::SimTime next_slot(const model::PromiseRule& rule, core::SimTime t);
/// The same of a room: not on a holiday, which is a day on which all who would work are absent.
core::SimTime next_slot(const model::Room& room, core::SimTime t);
/// "the next of 11:00 and 16:00", "the next full quarter of an hour".
std::string slot_words(const model::PromiseRule& rule);

}  // namespace sched::study
