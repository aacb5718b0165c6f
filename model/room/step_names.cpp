#include "model/room/step_names.hpp"

namespace model {

std::span<const StepWord> step_words() {
    static const std::vector<StepWord> table{
        {"ink off", {Step::InkOff, Step::InkDegrease}},
        {"degrease after ink", {Step::InkDegrease}},
        {"strip", {Step::Strip, Step::Rinse}},
        {"rinse", {Step::Rinse}},
        {"haze", {Step::Haze}},
        {"abrade", {Step::Abrade}},
        {"degrease", {Step::Degrease}},
        {"dry mesh", {Step::DryMesh}},
        {"coat", {Step::Coat}},
        {"dry coat", {Step::DryCoat}},
        {"face coat", {Step::FaceCoat}},
        {"dry face", {Step::DryFace}},
        {"expose", {Step::Expose}},
        {"wash out", {Step::WashOut}},
        {"dry stencil", {Step::DryStencil}},
        {"inspect", {Step::Inspect}},
        {"touch-up dry", {Step::DryTouchUp}},
        {"post-harden", {Step::PostHarden}},
        {"dissolve", {Step::MixDissolve}},
        {"stir in", {Step::MixStir}},
        {"take out", {Step::TakeOut}},
        {"mix", {Step::MixDissolve, Step::MixStir}},
    };
    return table;
}

std::string_view words_of(Step step) {
    // A later row may list the step too ("mix"), but its own row comes first and begins with it.
    for (const StepWord& row : step_words()) {
        if (row.steps.front() == step) return row.word;
    }
    return {};
}

std::optional<Step> step_of(std::string_view word) {
    if (word == "mix") return std::nullopt;
    for (const StepWord& row : step_words()) {
        if (row.word == word) return row.steps.front();
    }
    return std::nullopt;
}

std::vector<Step> steps_of(std::string_view word) {
    for (const StepWord& row : step_words()) {
        if (row.word == word) return row.steps;
    }
    return {};
}

std::vector<std::string> all_step_words() {
    std::vector<std::string> out;
    for (const StepWord& row : step_words())
        out.emplace_back(row.word);
    return out;
}

}  // namespace model
