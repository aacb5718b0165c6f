// How it works: a draw is keyed by purpose and item, never taken in turn, so that more of one
// thing changes nothing of the others. At a load of 2.3 every order comes twice, and once more
// with a chance of 0.3; then the store is filled with the frames that they need.

#include "sched/promise/order_mix.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace sched::study {

using engine::Draws;
using engine::name_key;

namespace {

double draw(const Draws& draws, const char* purpose, std::uint64_t item = 0,
            const std::string& subject = {}) {
    return draws.uniform({name_key(subject), item, name_key(purpose), 0});
}

int draw_within(const Draws& draws, const char* purpose, int least, int most) {
    const double u = draw(draws, purpose);
    return std::min(most, least + static_cast<int>(u * static_cast<double>(most - least + 1)));
}

using FrameKind = std::tuple<double, double, std::string>;

FrameKind frame_kind(const model::Area& size, const std::string& mesh) {
    return {std::min(size.width.value, size.height.value),
            std::max(size.width.value, size.height.value), mesh};
}

}  // namespace

model::Scenario with_load(const model::Scenario& scenario, double load, int spare,
                          const Draws& draws) {
    model::Scenario out = scenario;
    out.orders.clear();
    for (const auto& order : scenario.orders) {
        const double u = draw(draws, "load", 0, order.name);
        const int times =
            static_cast<int>(std::floor(load)) + (u < load - std::floor(load) ? 1 : 0);
        for (int k = 0; k < times; ++k) {
            out.orders.push_back(order);
            out.orders.back().name += std::string(static_cast<std::size_t>(k), '\'');
            if (k == 0) continue;
            // A copy has no stencil that was kept.
            for (auto& line : out.orders.back().lines)
                line.kept_stencil = false;
        }
    }
    // Kept stencils of orders that are not there are of no use to others.
    std::erase_if(out.frames, [&](const model::FrameStock& f) {
        return f.order && std::none_of(out.orders.begin(), out.orders.end(),
                                       [&](const auto& o) { return o.name == *f.order; });
    });
    fill_frames(out, spare);
    return out;
}

void fill_frames(model::Scenario& scenario, int spare) {
    std::map<FrameKind, int> want;
    for (const auto& f : scenario.frames)
        want[frame_kind(f.size, f.mesh)] += 0;
    for (const auto& order : scenario.orders) {
        for (const auto& line : order.lines) {
            if (line.mesh && !line.kept_stencil)
                want[frame_kind(line.frame, *line.mesh)] += line.count;
        }
    }
    for (const auto& [kind, screens] : want) {
        int have = 0;
        std::vector<model::FrameStock*> stock;
        for (auto& f : scenario.frames) {
            if (f.state == model::FrameState::KeptStencil || frame_kind(f.size, f.mesh) != kind)
                continue;
            have += f.count;
            stock.push_back(&f);
        }
        if (stock.empty()) continue;
        for (std::size_t k = 0; have < screens + spare; ++k, ++have)
            stock[k % stock.size()]->count += 1;
    }
}

std::vector<ScreenKind> screen_kinds(const model::Scenario& scenario) {
    std::vector<ScreenKind> out;
    for (const auto& order : scenario.orders) {
        for (const auto& line : order.lines) {
            if (line.kept_stencil || !line.mesh) continue;
            const auto same = std::find_if(out.begin(), out.end(), [&](const ScreenKind& k) {
                return k.line.mesh == line.mesh && k.line.frame == line.frame &&
                       k.line.emulsion == line.emulsion && k.line.coat_plan == line.coat_plan;
            });
            if (same != out.end()) {
                same->screens += line.count;
                continue;
            }
            ScreenKind kind{.line = line, .screens = line.count};
            kind.line.count = 1;
            kind.line.film_ready = std::nullopt;
            kind.line.image = std::nullopt;
            kind.line.place = {};
            kind.words = *line.mesh + ", " + line.coat_plan;
            out.push_back(std::move(kind));
        }
    }
    // Two kinds of the same words differ in frame or emulsion: say it.
    for (std::size_t i = 0; i < out.size(); ++i) {
        for (std::size_t j = i + 1; j < out.size(); ++j) {
            if (out[i].words != out[j].words) continue;
            for (auto* kind : {&out[i], &out[j]}) {
                const auto& f = kind->line.frame;
                const double per = f.in_inches ? 2.54 : 1.0;
                kind->words += ", " + std::to_string(std::lround(f.width.value / per)) + " x " +
                               std::to_string(std::lround(f.height.value / per)) +
                               (f.in_inches ? " in" : " cm");
                if (out[i].line.frame == out[j].line.frame)
                    kind->words += ", " + kind->line.emulsion;
            }
        }
    }
    return out;
}

std::string SizeGroup::words() const {
    return std::to_string(least) + " to " + std::to_string(most);
}

const std::vector<SizeGroup>& size_groups() {
    static const std::vector<SizeGroup> groups = {{1, 2}, {3, 4}, {5, 8}};
    return groups;
}

Enquiry random_enquiry(const model::Scenario& scenario, core::SimTime asked, const Draws& draws) {
    Enquiry out;
    const auto kinds = screen_kinds(scenario);
    if (kinds.empty()) return out;
    int all = 0;
    for (const auto& kind : kinds)
        all += kind.screens;
    double u = draw(draws, "kind") * static_cast<double>(all);
    std::size_t k = 0;
    while (k + 1 < kinds.size() && u >= static_cast<double>(kinds[k].screens))
        u -= static_cast<double>(kinds[k++].screens);
    model::ScreenLine line = kinds[k].line;
    const auto& groups = size_groups();
    const int g = draw_within(draws, "size group", 0, static_cast<int>(groups.size()) - 1);
    const SizeGroup& group = groups[static_cast<std::size_t>(g)];
    line.count = draw_within(draws, "size", group.least, group.most);
    if (draw(draws, "film") < 0.25)
        line.film_ready = asked + model::minutes(draw_within(draws, "film time", 60, 300));
    out.lines.push_back(std::move(line));
    return out;
}

}  // namespace sched::study
