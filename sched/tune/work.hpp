#pragma once
// Marks of past days as lengths of work: from begin to end of one step of one screen, pauses taken
// out, and how much of that is known. Attended work counts from start to done; what a screen then
// stands is not in it. Of drying counts from hung up to dry.

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "model/room/order.hpp"
#include "model/room/past_mark.hpp"
#include "sched/statistics/censored_fit.hpp"
#include "sched/tune/clocks.hpp"

namespace sched::tune {

/// What decides how long a screen takes.
struct ScreenKind {
    std::string emulsion, mesh, coat_plan;
    model::Area frame;
    bool known = false;  // false: no order has that tag
    friend bool operator==(const ScreenKind&, const ScreenKind&) = default;
};

/// Screens of past orders by their tags.
class Screens {
public:
    /// @param days orders of each day; a name that several days have means the next one due.
    Screens(const model::Room& room, const std::vector<std::vector<model::Order>>& days);
    ScreenKind find(const std::string& tag, model::SimTime at) const;

private:
    struct Known {
        model::SimTime due{};
        ScreenKind kind;
    };
    std::map<std::string, std::vector<Known>> by_tag_;  // by due time
};

enum class Known {
    Whole,    // from start to done
    Late,     // done was touched late, in a bunch or after the next work had begun: at most so long
    Lost,     // no done at all, but the screen or the person went on: at most so long
    Running,  // still under way when the marks end: at least so long
};

/// Whether a length goes into fits. An upper limit of Late or Lost is the length itself and a wait
/// behind it, so it leans on what it limits: taken as a limit that knows nothing of the length, it
/// draws every mean down (3 % in the recovery test's shops), as a length up. It is counted alone.
inline bool fits(Known known) {
    return known == Known::Whole || known == Known::Running;
}

/// One step of one screen: attended work, or drying whose minutes are typed.
struct Work {
    model::Step step = model::Step::Coat;
    std::string what;
    ScreenKind screen;
    std::string station, person;
    model::SimTime start{}, end{};
    Known known = Known::Whole;
    study::Observed length;  // s
    double planned = 0.0;    // s, as room.yaml has it for this screen, place and person; > 0
};

/// A screen in a drying place.
struct Hung {
    model::Step step = model::Step::DryCoat;
    std::string what;
    ScreenKind screen;
    std::string station;
    model::SimTime start{};             // somebody began to hang it up
    std::optional<model::SimTime> dry;  // somebody saw that it was dry
    std::optional<model::SimTime> out;  // it left
    bool late = false;                  // dry was touched in a bunch: dry then at the latest
};

/// How often a step was done and how often a screen was found bad there.
struct Tried {
    model::Step step = model::Step::Inspect;
    ScreenKind screen;
    bool bad = false;
};

struct Observations {
    std::vector<Work> work;  // by start
    std::vector<Hung> hung;  // by start
    std::vector<Tried> tried;
    std::size_t marks = 0;
    std::optional<model::SimTime> first, last;
    int days = 0;  // with a mark
    Clocks clocks;
    // Marks that tell nothing, by reason:
    std::size_t without_start = 0;   // done without a start
    std::size_t forgotten = 0;       // a start that nothing followed, on a day that is over
    std::size_t at_once = 0;         // start and done touched one after the other
    std::size_t unknown_screen = 0;  // no order has the tag, and the step's time depends on it
};

/// @param marks by time, nothing undone among them.
Observations observe(const model::Room& room, const Screens& screens,
                     const std::vector<model::PastMark>& marks);

/// Attended time of a step as room.yaml has it, s; with the walk to the station.
double planned_seconds(const model::Room& room, model::Step step, const ScreenKind& screen,
                       const std::string& station, const std::string& person);

/// Minutes that the files type for a drying step of such a screen there, s; nullopt: they are
/// computed from the air (drying.hpp). @param station may be empty: not known.
std::optional<double> typed_drying_seconds(const model::Room& room, model::Step step,
                                           const ScreenKind& screen, const std::string& station);

/// Whether tune learns this step from start and done. Not drying; and not exposing: between them
/// stands the lamp, and a screen waits there until somebody comes.
bool by_hand(model::Step step);

}  // namespace sched::tune
