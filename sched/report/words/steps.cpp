#include "sched/report/words/steps.hpp"

#include <algorithm>
#include <optional>
#include <string_view>

#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"

namespace sched::report {

using model::FrameState;
using model::Hazard;
using model::Step;

namespace {

struct Caution {
    std::optional<Hazard> hazard;  // none: two people carry
    std::string_view key, title, words;
};

// Common practice of the trade, no source.
constexpr Caution cautions[] = {
    {Hazard::Cleaner, "cleaner", "Cleaner",
     "Gloves, eye protection and fresh air. Some cleaners burn easily: no flame, no spark, rags "
     "into a closed bin."},
    {Hazard::Remover, "remover", "Remover",
     "Stencil remover is a strong oxidiser: gloves, eye protection, eye-wash within reach. Never "
     "let it dry on the screen: rinse within the time limit."},
    {Hazard::Paste, "paste", "Paste",
     "Haze and abrading pastes may be strongly caustic: gloves, eye protection, eye-wash within "
     "reach; rinse off all of it."},
    {Hazard::Sensitizer, "sensitizer", "Sensitizer",
     "Gloves and eye protection; it stains skin and clothes. Write the mixing date on the pot."},
    {Hazard::Jet, "jet", "Jet",
     "Pressure water: eye and ear protection. Nobody stands in the jet, no hand before it."},
    {Hazard::WaterAndPower, "water-power", "Water and power",
     "Dry hands at every switch. Sockets here need residual-current protection, fitted by a "
     "licensed electrician."},
    {Hazard::Ultraviolet, "uv", "UV light",
     "Ultraviolet: shield the lamp while it burns. Never look into it."},
    {Hazard::WarmAir, "warm-cabinet", "Warm air",
     "Drying cabinet: no screen that is wet with a flammable cleaner goes in. Vents stay free."},
    {Hazard::Drain, "drain", "Drain",
     "What may go down the drain is a local rule: filter, collect and hand in the rest."},
    {std::nullopt, "two-people", "Two people", "Large frame: two lift and carry it."},
};

}  // namespace

std::string step_key(Step step) {
    return std::string(model::row_of(step).key);
}

bool dries_by_air(Step step) {
    return model::row_of(step).dries == model::Dries::ByAir;
}

bool drying_step(const std::string& key) {
    const auto rows = model::step_rows();
    return std::any_of(rows.begin(), rows.end(), [&](const model::StepRow& row) {
        return row.key == key && row.dries != model::Dries::No;
    });
}

std::string state_key(FrameState state) {
    return std::string(model::row_of(state).key);
}

std::string step_words(const std::string& key) {
    for (const model::StepRow& row : model::step_rows()) {
        if (row.key == key) return std::string(row.word);
    }
    std::string words = key;
    std::replace(words.begin(), words.end(), '-', ' ');
    return words;
}

std::string state_words(const std::string& state) {
    for (const model::FrameStateRow& row : model::frame_state_rows()) {
        if (row.key == state) return std::string(row.words);
    }
    return state;
}

std::vector<std::string> cautions_of(Step step, bool two_people) {
    std::vector<std::string> out;
    for (const Caution& c : cautions) {
        if (c.hazard ? model::has(model::row_of(step).hazards, *c.hazard) : two_people)
            out.emplace_back(c.key);
    }
    return out;
}

const std::vector<CautionLine>& all_cautions() {
    static const std::vector<CautionLine> list = [] {
        std::vector<CautionLine> out;
        for (const Caution& c : cautions)
            out.push_back({std::string(c.key), std::string(c.title), std::string(c.words)});
        return out;
    }();
    return list;
}

const std::string& deference() {
    static const std::string words =
        "The product's safety data sheet, local codes and the licensed trades come before this "
        "sheet.";
    return words;
}

}  // namespace sched::report
