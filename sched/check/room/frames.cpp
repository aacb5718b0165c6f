// The frame store: every screen is made on a frame that frames.csv has, in the state and from the
// time that it says, each frame once; and what is left stands in stock_after.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "sched/check/room/case.hpp"

namespace sched::check::room {

namespace {

std::string key_of(model::FrameState state) {
    switch (state) {
        case model::FrameState::Ready:
            return "ready";
        case model::FrameState::Inky:
            return "inky";
        case model::FrameState::OldStencil:
            return "old-stencil";
        case model::FrameState::NewMesh:
            return "new-mesh";
        case model::FrameState::Coated:
            return "coated";
        case model::FrameState::KeptStencil:
            return "kept-stencil";
    }
    return {};
}

std::string size_words(const model::Area& a) {
    return frame_words(a.width.value, a.height.value);
}

bool has(const ScreenCase& x, Step step) {
    return std::any_of(x.stages.begin(), x.stages.end(),
                       [&](const Stage& s) { return s.step == step; });
}

const Stage* first_of(const ScreenCase& x, Step step) {
    for (const Stage& s : x.stages) {
        if (s.step == step) return &s;
    }
    return nullptr;
}

// Whether the screen, as it is planned, can be made on such a frame.
bool can_be(const Case& c, const ScreenCase& x, const model::FrameStock& f) {
    if (key_of(f.state) != x.line->made_on || f.mesh != x.line->mesh ||
        !same_size(f.size, x.frame) || x.operations.empty())
        return false;
    const bool told = !c.begins_later(x.operations.front());
    if (f.from && !told && c.op(x.operations.front()).start < *f.from) return false;
    const bool used =
        f.state == model::FrameState::Inky || f.state == model::FrameState::OldStencil;
    if (used && f.haze && *f.haze != has(x, Step::Haze)) return false;
    if (f.state == model::FrameState::KeptStencil && f.order != x.line->order) return false;
    if (f.state != model::FrameState::Coated) return true;
    if (f.emulsion != x.line->emulsion || f.coat_plan != x.line->coat_plan) return false;
    const Stage* exposure = first_of(x, Step::Expose);
    return exposure == nullptr || !f.coated_dry ||
           (exposure->start <= *f.coated_dry + c.room.limits.coated_shelf &&
            exposure->start >= *f.coated_dry);
}

// Screens find frames by augmenting paths; a line of frames.csv holds `count` of them.
class Matching {
public:
    Matching(const Case& c, const std::vector<const ScreenCase*>& screens)
        : c_(c), screens_(screens), given_(c.s.frames.size()) {}

    std::vector<std::size_t> without_frame() {
        std::vector<std::size_t> out;
        for (std::size_t i = 0; i < screens_.size(); ++i) {
            tried_.assign(given_.size(), 0);
            if (!place(i)) out.push_back(i);
        }
        return out;
    }
    /// Frames of each line that a screen has.
    std::vector<int> used() const {
        std::vector<int> out;
        for (const auto& list : given_)
            out.push_back(static_cast<int>(list.size()));
        return out;
    }

private:
    bool place(std::size_t i) {
        for (std::size_t f = 0; f < given_.size(); ++f) {
            if (tried_[f] || !can_be(c_, *screens_[i], c_.s.frames[f])) continue;
            tried_[f] = 1;
            if (static_cast<int>(given_[f].size()) < c_.s.frames[f].count) {
                given_[f].push_back(i);
                return true;
            }
            for (std::size_t& other : given_[f]) {
                if (!place(other)) continue;
                other = i;
                return true;
            }
        }
        return false;
    }

    const Case& c_;
    const std::vector<const ScreenCase*>& screens_;
    std::vector<std::vector<std::size_t>> given_;  // per line of frames.csv
    std::vector<char> tried_;
};

void judge_screens(const Case& c) {
    std::vector<const ScreenCase*> screens;
    for (const ScreenCase& x : c.screens) {
        if (x.line != nullptr) screens.push_back(&x);
    }
    Matching matching(c, screens);
    for (const std::size_t i : matching.without_frame()) {
        c.say("frames", fmt::format("{}: frames.csv has no frame {}, {}, {} for it that is left "
                                    "and there in time.",
                                    screens[i]->tag, screens[i]->line->frame,
                                    screens[i]->line->mesh, screens[i]->line->made_on));
    }
}

bool under_way(const Case& c, const ScreenCase& x) {
    for (std::size_t i = 0; i < c.d.operations.size(); ++i) {
        if (c.begun[i] != 0 && c.d.operations[i].screen == x.tag) return true;
    }
    return false;
}

// Where frames.csv does not say whether a used frame needs the haze step, the room's share of them
// gets it, to the nearest frame either way.
void judge_haze(const Case& c) {
    double open = 0.0, hazed = 0.0, surely = 0.0;
    for (const ScreenCase& x : c.screens) {
        if (x.line == nullptr || (x.line->made_on != "inky" && x.line->made_on != "old-stencil"))
            continue;
        bool told = false, open_line = false;
        for (const model::FrameStock& f : c.s.frames) {
            if (f.mesh != x.line->mesh || key_of(f.state) != x.line->made_on ||
                !same_size(f.size, x.frame))
                continue;
            (f.haze ? told : open_line) = true;
        }
        if (!open_line) continue;
        if (told || under_way(c, x)) {
            surely += 1.0;  // may be of either line; or is as it is
            continue;
        }
        open += 1.0;
        if (has(x, Step::Haze)) hazed += 1.0;
    }
    if (std::abs(hazed - open * c.room.haze_share.value) > 1.0 + surely)
        c.say("frames", fmt::format("{:g} of {:g} used frames get the haze step, the room's share "
                                    "is {:g} %.",
                                    hazed, open, 100.0 * c.room.haze_share.value));
}

// ---- what is left ------------------------------------------------------------------------------

struct Like {  // what makes frames alike; `from` is not looked at: who is back by the end is there
    std::string frame, mesh, state, haze, emulsion, plan, order;
    friend auto operator<=>(const Like&, const Like&) = default;
};

std::string haze_word(const std::optional<bool>& haze) {
    return !haze ? "" : *haze ? "yes" : "no";
}

void judge_stock(const Case& c) {
    std::map<Like, int> planned;
    // By size, mesh and state: which of several lines was taken from may differ.
    using Kind = std::tuple<std::string, std::string>;
    std::map<Kind, int> left;
    for (const model::FrameStock& f : c.s.frames)
        left[{size_words(f.size), f.mesh}] += f.count;
    for (const ScreenCase& x : c.screens) {
        if (x.line == nullptr || x.operations.empty()) continue;
        for (const model::FrameStock& f : c.s.frames) {
            if (f.mesh != x.line->mesh || !same_size(f.size, x.frame)) continue;
            auto& count = left[{size_words(f.size), f.mesh}];
            if (count == 0) continue;
            --count;
            break;
        }
    }
    std::map<Kind, int> after;
    for (const report::StockLine& line : c.d.stock_after) {
        after[{frame_words(line.frame), line.mesh}] += line.count;
        if (line.count <= 0) c.say("frames", "stock_after has a line without frames.");
        if (line.from && *line.from <= c.d.run.last_end)
            c.say("frames", fmt::format("{} {} is back at {}, stock_after says it is not yet.",
                                        line.frame, line.mesh, clock_words(*line.from)));
        planned[{frame_words(line.frame), line.mesh, line.state, haze_word(line.haze),
                 line.emulsion.value_or(""), line.coat_plan.value_or(""),
                 line.order.value_or("")}] += line.count;
    }
    for (const auto& [kind, count] : left) {
        const auto found = after.find(kind);
        const int there = found == after.end() ? 0 : found->second;
        if (there != count)
            c.say("frames", fmt::format("{} frames {} {} are left, stock_after says {}.", count,
                                        std::get<0>(kind), std::get<1>(kind), there));
    }
    for (const auto& [kind, count] : after) {
        if (left.find(kind) == left.end())
            c.say("frames", fmt::format("stock_after has {} {}, frames.csv has none.",
                                        std::get<0>(kind), std::get<1>(kind)));
    }
    // State by state: what there was, less what screens took, more and less what was reclaimed.
    std::map<std::tuple<std::string, std::string, std::string>, int> states;
    for (const model::FrameStock& f : c.s.frames)
        states[{size_words(f.size), f.mesh, key_of(f.state)}] += f.count;
    for (const ScreenCase& x : c.screens) {
        if (x.line == nullptr || x.operations.empty()) continue;
        for (const model::FrameStock& f : c.s.frames) {
            if (f.mesh != x.line->mesh || !same_size(f.size, x.frame) ||
                key_of(f.state) != x.line->made_on)
                continue;
            auto& count = states[{size_words(f.size), f.mesh, x.line->made_on}];
            if (count == 0) continue;
            --count;
            break;
        }
    }
    for (const report::ReturnLine& r : c.d.returns) {
        --states[{frame_words(r.frame), r.mesh, r.state}];
        ++states[{frame_words(r.frame), r.mesh, r.becomes}];
    }
    for (const auto& [like, count] : planned)
        states[{like.frame, like.mesh, like.state}] -= count;
    for (const auto& [kind, count] : states) {
        if (count != 0)
            c.say("frames", fmt::format("stock_after has {} {} than there are of {} {}, {}.",
                                        std::abs(count), count > 0 ? "fewer" : "more",
                                        std::get<0>(kind), std::get<1>(kind), std::get<2>(kind)));
    }
    // Of coated and kept ones, no line may say what no line of frames.csv says.
    for (const auto& entry : planned) {
        const Like& like = entry.first;
        const bool same =
            std::any_of(c.s.frames.begin(), c.s.frames.end(), [&](const model::FrameStock& f) {
                return f.emulsion.value_or("") == like.emulsion &&
                       f.coat_plan.value_or("") == like.plan &&
                       f.order.value_or("") == like.order && size_words(f.size) == like.frame &&
                       f.mesh == like.mesh;
            });
        if (!same)
            c.say("frames", fmt::format("stock_after has {} {} of a kind that frames.csv has not.",
                                        like.frame, like.mesh));
    }
}

}  // namespace

void judge_frames(Case& c) {
    judge_screens(c);
    judge_haze(c);
    judge_stock(c);
}

}  // namespace sched::check::room
