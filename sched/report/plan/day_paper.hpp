#pragma once
// The timeline for paper: A4 landscape, four hours a page, people above stations.

#include <string>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// One bar of a lane: one operation, or a run of one kind that is narrow on paper.
struct PaperBar {
    SimTime from{}, to{};
    std::string step;               // "coat"
    std::vector<std::string> tags;  // of its screens, each once
    int count = 1;  // of the step; an exposure once, though it is loaded and unloaded too
    std::vector<std::string> verbs;  // of its operations: "load", "expose"
};

struct PaperLane {
    std::string name;
    bool person = false;
    int places = 1;
    std::vector<Period> present;              // people
    std::vector<std::vector<PaperBar>> rows;  // side by side; empty where only `taken` is drawn
    std::vector<std::pair<SimTime, int>>
        taken;  // of stations with many places: places from then on
};

/// People, then stations, in the document's order; those without work are left out.
std::vector<PaperLane> paper_lanes(const PlanDocument& document);

/// Beginnings of the pages: whole hours, four apart, each with work in it.
std::vector<SimTime> paper_windows(const PlanDocument& document);

/// timeline.html
std::string to_day_paper(const PlanDocument& document);

}  // namespace sched::report
