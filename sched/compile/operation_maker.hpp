#pragma once
// One step of a route becomes one operation: where it can be done, by whom, and for how long.

#include <string>
#include <vector>

#include "sched/compile/room_builder.hpp"

namespace sched::compile {

/// The part of a drying step in which somebody brings the screen. Like taking out it is no skill.
bool hangs_up(const model::route::RouteOperation& step);

/// Builds the operations of one screen (or of one mixing, where `screen` is null).
class OperationMaker {
public:
    OperationMaker(Builder& b, const ScreenInfo* screen) : b_(b), screen_(screen) {}

    core::Operation make(const model::route::RouteOperation& step);

    std::string words(const model::route::RouteOperation& step) const;

    /// Where the step can be done, large enough for the frame.
    std::vector<core::ResourceId> stations(model::Step step) const;
    void leave_cold_units(std::vector<core::ResourceId>& units) const;
    const model::Station& station(core::ResourceId id) const;
    core::Need place(core::ResourceId id) const;
    void add_people(core::Mode& mode, model::Step step) const;
    /// At this station, with its walk; nullptr: at none. By this person; nullptr: by anybody.
    core::Seconds attended(const model::route::RouteOperation& step, const model::Station* at,
                           const model::Person* by = nullptr) const;

private:
    int amount(const model::Station& s) const;

    std::vector<core::Mode> modes(const model::route::RouteOperation& step) const;
    model::StepTime time(model::Step step, const model::Station* at = nullptr,
                         const model::Person* by = nullptr) const;
    bool takes_two(model::Step step) const;
    /// One way at one place for each time that people take there; `stands`: what follows its work.
    struct Crew {
        core::Mode mode;
        core::Seconds stand{0};
    };
    std::vector<Crew> crews(const model::route::RouteOperation& step,
                            const model::Station* at) const;
    std::vector<core::Mode> drying_modes(model::Step step) const;
    std::vector<core::Mode> hanging_modes(const model::route::RouteOperation& step) const;
    std::vector<core::Mode> take_out_modes(model::Step dried) const;

    Builder& b_;
    const ScreenInfo* screen_;

public:
    model::Step dried_before = model::Step::DryMesh;  // what a TakeOut takes out
};

}  // namespace sched::compile
