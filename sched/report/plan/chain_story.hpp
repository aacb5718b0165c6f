#pragma once
// The chain that makes an order late, in at most six stretches of time that follow each other
// without a gap, so that their minutes add up.

#include <string>
#include <string_view>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// One operation on the chain.
struct ChainStep {
    SimTime start{};
    bool own = false;      // of the order that is late
    std::string work;      // "coat A7-2"
    std::string order;     // empty: of none
    std::string resource;  // that it waited for; empty: none
    Seconds waited{0};     // on its own way, or by something else than somebody's work
    std::string why;       // that wait in words: "until Cleo is there"; empty: for `resource`
    std::string busy;      // what `resource` had meanwhile: "A9"; empty: not said
    struct Away {
        std::string until;  // "Ada is there", "booth can be used again"
        SimTime from{}, to{};
    };
    std::vector<Away> away;  // parts of that wait, one after the other
    std::string mixes;  // the work as a wait in words: "until the pot is usable"; empty: it is none
};

struct ChainPart {
    SimTime from{}, to{};  // whole minutes of the clock
    std::string words;
};

/// @param steps in any order. Neighbours of one kind are one part; beyond six the shortest joins
/// its shorter neighbour, under the words of the longer of the two.
std::vector<ChainPart> chain_parts(std::vector<ChainStep> steps, SimTime ready);

/// " From 08:42: 28 min own work, coat A5-1 to wash out A5-1; 1 h 7 min waiting for Ada (busy with
/// A9); ... ." Empty without steps. @param begins what the beginning waited for, a time follows:
/// "its film is there at" makes it " Its film is there at 09:30. From then: ...". Empty: nothing.
std::string chain_story(const RunLine& run, std::string_view begins,
                        const std::vector<ChainPart>& parts);

}  // namespace sched::report
