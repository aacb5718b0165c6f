#pragma once
// A day simulated through on compiled rows: random variation in, a flat schedule out, with no
// Problem in between. The same day as realise.hpp and Policy::simulate give, some ten times cheaper
// to set up. Seen in this folder only.

#include <memory>
#include <utility>
#include <vector>

#include "sched/chance/disturbances.hpp"
#include "sched/engine/assembly.hpp"
#include "sched/engine/decode/decoder.hpp"
#include "sched/simulate/executor.hpp"
#include "sched/simulate/review.hpp"

namespace sched::study {

/// The parts of a room's days, compiled once. Immutable; shared by threads.
class DayKit {
public:
    /// @returns nullptr where screens of the run depend on each other by more than places, people
    /// and stores: such days are realised one by one.
    /// @param windows false: what the run waits for (films, kept stencils) is there.
    static std::unique_ptr<DayKit> make(const Disturbances& disturbances, const Policy& policy,
                                        bool windows = true, core::Ties ties = core::Ties::None);

    const Disturbances& disturbances() const { return *disturbances_; }
    const Policy& policy() const { return *policy_; }
    const engine::PartBook& book() const { return *book_; }
    /// Number of a part in the book. @pre random variation().all_parts() names it.
    int part(int first, int count) const;

private:
    friend class DayRun;
    DayKit() = default;
    const Disturbances* disturbances_ = nullptr;
    core::Problem problem_;  // as the book has it
    bool windows_ = true;
    const Policy* policy_ = nullptr;
    std::unique_ptr<engine::PartBook> book_;
    std::vector<std::vector<std::pair<int, int>>> part_;  // by first operation: count, part
    struct Link {                                         // of the run, from one part to another
        int from = 0, to = 0;
        core::Edge edge = core::Edge::End;
        engine::Tick min = 0;
    };
    std::vector<Link> links_;
    std::vector<engine::Tick> window_;  // per operation: its own earliest start; -never: none
};

/// One a thread; the kit must outlive it.
class DayRun {
public:
    explicit DayRun(const DayKit& kit);

    /// @returns false if the day did not end within the horizon.
    /// @param list instead of the kit's policy: a list of work (Policy::list).
    bool simulate(const DayDisturbances& disturbances, const engine::Draws& draws,
                  const std::vector<double>* list = nullptr);

    /// The plan's order led to no end on the last day: it was followed as Recourse::Free does.
    bool improvised() const { return improvised_; }
    /// Of the last day, its lengths applied.
    const engine::CompiledProblem& problem() const { return simulated_run().assembly_.problem(); }
    const engine::FlatSchedule& schedule() const { return simulated_run().decoder_.schedule(); }
    const std::vector<std::int64_t>& objective() {
        return on_tied_ ? tied_->objective() : decoder_.value();
    }

private:
    void set_up(const DayDisturbances& disturbances, const engine::Draws& draws,
                const std::vector<double>* list);
    void rank();
    bool run();
    bool follow(const engine::Recourse* recourse, const DayDisturbances& disturbances,
                const engine::Draws& draws, const std::vector<double>* list);
    const DayRun& simulated_run() const { return on_tied_ ? tied_->simulated_run() : *this; }

    const DayKit& kit_;
    engine::Assembly assembly_;
    engine::Decoder decoder_;
    engine::Sequence sequence_;
    std::vector<double> factor_;
    std::vector<int> place_;    // per nominal operation of the run: where it is; -1: left out
    std::vector<int> begin_;    // per part
    std::vector<double> key_;   // per operation
    std::vector<double> turn_;  // per job: planned start of its last operation
    std::vector<std::int32_t> by_;
    std::vector<engine::Tick> planned_;  // per operation: planned length, for reviews
    ReviewScratch review_;
    engine::Baseline baseline_;
    bool improvised_ = false;
    std::unique_ptr<DayKit> tied_kit_;  // core::tighter; made when first needed
    std::unique_ptr<DayRun> tied_;
    bool tied_set_up_ = false;  // for the day under way
    bool on_tied_ = false;      // the last day was its
};

}  // namespace sched::study
