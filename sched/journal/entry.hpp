#pragma once
// One entry of the journal: what somebody marked, when it happened, when and where it was entered.
// Plain values; the file that keeps them is journal.hpp, what they amount to so_far.hpp.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/base/time.hpp"

namespace sched::journal {

using model::SimTime;

enum class Mark {
    Start,     // a step of a screen has begun
    Done,      // a step of a screen is done
    Dry,       // a coat, a mesh or a stencil felt dry
    Remake,    // a screen has failed: it goes back to `step`, or as far as it must
    Down,      // a station is out of work
    Up,        // and works again
    Absent,    // a person is not there
    Present,   // and is again
    Film,      // the film of an order is there, or will be at `time`
    Returned,  // a screen or frame is back from the press
    Opened,    // a pot of emulsion
    Empty,     // a pot of emulsion
    Ready,     // all screens of a promised order
    Longer,    // a person stays an hour longer than planned
    First,     // an order goes before all others
    Another,   // one more order like this one
    Undo,      // the entry `undoes` was wrong
    Posted,    // a plan was hung up (Journal::post)
};

/// What a mark is about.
enum class About {
    Screen,
    Station,
    Person,
    Film,
    Returned,
    Pot,
    Promise,
    Hours,
    Order,
    Entry,
    Plan
};

struct MarkRow {
    Mark mark;
    std::string_view word;  // on the command line, in the file and in CSV
    About about;
    std::string_view words;  // for people, behind what it is about: "has begun"
};
/// All marks, in the order of the enum.
std::span<const MarkRow> mark_rows();
const MarkRow& row_of(Mark mark);
std::optional<Mark> mark_of(std::string_view word);

struct Entry {
    std::int64_t id = 0;  // given by the journal, rising; 0: not entered yet
    SimTime time{};       // when it happened, local time of the room
    SimTime entered{};    // when it was entered
    Mark mark = Mark::Start;
    std::string what{};     // tag of a screen (A7-2), order, station, person, frame, pot
    std::string step{};     // key of a step (model/room/steps): "dry-coat"; empty: none
    int round = 1;          // of a step that comes several times (face coats), from 1
    std::string station{};  // where; empty: not said
    std::string person{};   // who did it; several joined by " + "; empty: not said
    std::string reason{};   // "pinhole"; of a posted plan its fingerprint
    std::string by{};       // initials of whoever marked
    std::string device{};   // name of the device
    /// Given by a device that may send a mark again: of the same device it is entered once.
    std::string client{};
    std::int64_t undoes = 0;  // of Undo: the entry
    friend bool operator==(const Entry&, const Entry&) = default;
};

/// Most letters of any text of an entry.
inline constexpr std::size_t longest_text = 200;

/// "2026-11-26T09:12:00", seconds always, so that texts sort as times do.
std::string stamp(SimTime t);

/// The step as CSV and people's marks have it: its key, from the second round on with the number:
/// "face-coat", "face-coat 2".
std::string step_text(const Entry& entry);
/// The other way. @returns false if there is a number behind it that is none of 2 to 20, or the
/// step comes but once. Whether it is a key is for the caller to see.
bool read_step_text(std::string_view text, std::string& step, int& round);

/// In words: "A7-2 wash-out done 09:12 (AD, tablet 1)". @param day its date is left out.
std::string words_of(const Entry& entry, std::optional<model::LocalDate> day = {});

/// The entries that count: without undos and what an undo took back (an undo can be undone). In the
/// order of their ids. @pre ids rise.
std::vector<Entry> in_force(const std::vector<Entry>& entries);

}  // namespace sched::journal
