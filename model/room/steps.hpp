#pragma once
// The one table of the steps of the trade: words, keys in files, usual times, light, who is there
// and what can hurt. A new step is a row here; DEVELOPERS.md says what else it needs.
// In every step somebody is there for the attended part, and nobody for the standing after it.

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/room/room.hpp"

namespace model {

/// What can hurt at a step; the sheets print a caution for each, in this order.
enum class Hazard : std::uint16_t {
    Cleaner = 1 << 0,
    Remover = 1 << 1,
    Paste = 1 << 2,
    Sensitizer = 1 << 3,
    Jet = 1 << 4,
    WaterAndPower = 1 << 5,
    Ultraviolet = 1 << 6,
    WarmAir = 1 << 7,
    Drain = 1 << 8,
};
using Hazards = std::uint16_t;  // a set of them, added up
constexpr bool has(Hazards set, Hazard one) {
    return (set & static_cast<Hazards>(one)) != 0;
}

/// How a step dries: not at all, by the clock of its cabinet's air, or as long as its time says.
enum class Dries { No, ByAir, ByTime };

struct StepRow {
    Step step;
    std::string_view word;    // what people write in room.yaml: "touch-up dry"
    std::string_view key;     // what files say: "dry-touch-up"
    std::string_view action;  // what a sheet says is done: "let the block-out dry"
    StepTime usual;           // [M] figures of the trade, typical; every one is a setting
    bool light_safe;          // between coat and wash-out: yellow light only [P]
    Dries dries;              // whatever dries does so alone, once it is hung up or set aside
    Hazards hazards;
    std::optional<Step> also{};      // in a list of steps ("does:") its word means this one too
    std::optional<Step> included{};  // whoever does that one does this one
    bool same_hands = false;  // ... to the same screen as well: it is not handed over between
};

/// All steps, in the order of the enum.
std::span<const StepRow> step_rows();
const StepRow& row_of(Step step);

/// Water leaves it and nobody need be there.
bool dries_alone(Step step);

/// Where, on what frame and by whom a step is done, as far as it is known.
struct StepCase {
    const Station* at = nullptr;
    const Area* frame = nullptr;
    const Person* by = nullptr;
};

/// The room's time for the step, or the usual one. A plan that says how long it is coated wins over
/// the step's time, whole: the two never add up. What `but` says of the case wins over both; an
/// exception for a station or person does not count where that is not known.
StepTime time_of(const Room& room, Step step, const CoatPlan* plan = nullptr,
                 const StepCase& of = {});

/// A frame does not lie in `than`, either way round.
bool larger_frame(const Area& frame, const Area& than);

/// The list (`does`, `can`) names the step, or the one that includes it.
bool names_step(const std::vector<Step>& list, Step step);
/// The station does the step, by its list.
bool does_step(const Station& station, Step step);

/// Whether a screen stands longer after this step at one station, or by one person, than another.
bool stand_differs(const Room& room, Step step);
/// Whether one person takes longer for it than another.
bool differs_by_person(const Room& room, Step step);

/// Nothing is carried by nobody, even where the room file says 0 s.
inline constexpr Seconds least_hands{1};

/// A word and the steps that it means where a list of steps is asked for ("does:", "can:").
struct StepWord {
    std::string_view word;
    std::vector<Step> steps;  // the first is the step itself; more: what goes along with it
};

/// Every step's word, and "mix" for both steps of mixing.
const std::vector<StepWord>& step_words();

/// The step's own word: "wash out".
std::string_view words_of(Step step);
/// The step that has this word as its own (not "mix").
std::optional<Step> step_of(std::string_view word);
/// Every step that the word means in a list of steps; empty if there is no such word.
std::vector<Step> steps_of(std::string_view word);
/// All words, for suggestions.
std::vector<std::string> all_step_words();

}  // namespace model
