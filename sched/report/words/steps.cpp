// How it works: switches over Step without a default branch, so that the compiler asks for the
// words of a new step; cautions are one table, keyed by what a step does.

#include "sched/report/words/steps.hpp"

namespace sched::report {

using model::FrameState;
using model::Step;

std::string step_key(Step step) {
    switch (step) {
        case Step::InkOff:
            return "ink-off";
        case Step::InkDegrease:
            return "ink-degrease";
        case Step::Strip:
            return "strip";
        case Step::Rinse:
            return "rinse";
        case Step::Haze:
            return "haze";
        case Step::Abrade:
            return "abrade";
        case Step::Degrease:
            return "degrease";
        case Step::DryMesh:
            return "dry-mesh";
        case Step::Coat:
            return "coat";
        case Step::DryCoat:
            return "dry-coat";
        case Step::FaceCoat:
            return "face-coat";
        case Step::DryFace:
            return "dry-face";
        case Step::Expose:
            return "expose";
        case Step::WashOut:
            return "wash-out";
        case Step::DryStencil:
            return "dry-stencil";
        case Step::Inspect:
            return "inspect";
        case Step::DryTouchUp:
            return "dry-touch-up";
        case Step::PostHarden:
            return "post-harden";
        case Step::MixDissolve:
            return "mix-dissolve";
        case Step::MixStir:
            return "mix-stir";
        case Step::TakeOut:
            return "take-out";
    }
    return {};
}

std::string state_key(FrameState state) {
    switch (state) {
        case FrameState::Ready:
            return "ready";
        case FrameState::Inky:
            return "inky";
        case FrameState::OldStencil:
            return "old-stencil";
        case FrameState::NewMesh:
            return "new-mesh";
        case FrameState::Coated:
            return "coated";
        case FrameState::KeptStencil:
            return "kept-stencil";
    }
    return {};
}

std::string state_words(const std::string& state) {
    if (state == "ready") return "clean mesh";
    if (state == "inky") return "inky";
    if (state == "old-stencil") return "with an old stencil";
    if (state == "new-mesh") return "new mesh";
    if (state == "coated") return "coated and dry";
    if (state == "kept-stencil") return "kept stencil";
    return state;
}

std::vector<std::string> cautions_of(Step step, bool two_people) {
    std::vector<std::string> out;
    switch (step) {
        case Step::InkOff:
            out = {"cleaner", "warm-cabinet", "drain"};
            break;
        case Step::InkDegrease:
            out = {"cleaner", "water-power", "drain"};
            break;
        case Step::Strip:
            out = {"remover", "drain"};
            break;
        case Step::Rinse:
            out = {"remover", "jet", "water-power", "drain"};
            break;
        case Step::Haze:
            out = {"paste", "jet", "water-power", "drain"};
            break;
        case Step::Abrade:
            out = {"paste", "water-power", "drain"};
            break;
        case Step::Degrease:
            out = {"cleaner", "water-power", "drain"};
            break;
        case Step::DryMesh:
            out = {"warm-cabinet"};
            break;
        case Step::Coat:
            break;
        case Step::DryCoat:
            out = {"warm-cabinet"};
            break;
        case Step::FaceCoat:
            break;
        case Step::DryFace:
            out = {"warm-cabinet"};
            break;
        case Step::Expose:
            out = {"uv"};
            break;
        case Step::WashOut:
            out = {"jet", "water-power", "drain"};
            break;
        case Step::DryStencil:
            out = {"warm-cabinet"};
            break;
        case Step::Inspect:
            break;
        case Step::DryTouchUp:
            break;
        case Step::PostHarden:
            out = {"uv"};
            break;
        case Step::MixDissolve:
            out = {"sensitizer"};
            break;
        case Step::MixStir:
            out = {"sensitizer"};
            break;
        case Step::TakeOut:
            out = {"warm-cabinet"};
            break;
    }
    if (two_people) out.push_back("two-people");
    return out;
}

const std::vector<CautionLine>& all_cautions() {
    static const std::vector<CautionLine> list = {
        {"cleaner", "Cleaner",
         "Gloves, eye protection and fresh air. Some cleaners burn easily: no flame, no spark, "
         "rags into a "
         "closed bin."},
        {"remover", "Remover",
         "Stencil remover is a strong oxidiser: gloves, eye protection, eye-wash within reach. "
         "Never let it dry on the "
         "screen: "
         "rinse within the time limit."},
        {"paste", "Paste",
         "Haze and abrading pastes may be strongly caustic: gloves, eye protection, eye-wash "
         "within reach; rinse off all of "
         "it."},
        {"sensitizer", "Sensitizer",
         "Gloves and eye protection; it stains skin and clothes. Write the mixing date on the "
         "pot."},
        {"jet", "Jet",
         "Pressure water: eye and ear protection. Nobody stands in the jet, no hand before it."},
        {"water-power", "Water and power",
         "Dry hands at every switch. Sockets here need residual-current protection, fitted by a "
         "licensed "
         "electrician."},
        {"uv", "UV light", "Ultraviolet: shield the lamp while it burns. Never look into it."},
        {"warm-cabinet", "Warm air",
         "Drying cabinet: no screen that is wet with a flammable cleaner goes in. Vents stay "
         "free."},
        {"drain", "Drain",
         "What may go down the drain is a local rule: filter, collect and hand in the rest."},
        {"two-people", "Two people", "Large frame: two lift and carry it."},
    };
    return list;
}

const std::string& deference() {
    static const std::string words =
        "The product's safety data sheet, local codes and the licensed trades come before this "
        "sheet.";
    return words;
}

}  // namespace sched::report
