// Which frame each screen is made on: the one with the least work before it, the urgent orders
// choosing first.

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>

#include "model/base/units.hpp"
#include "model/room/frame_fit.hpp"
#include "model/room/steps.hpp"
#include "model/route/limits.hpp"
#include "sched/compile/room_builder.hpp"

namespace sched::compile {

using model::FrameState;
using model::FrameStock;

namespace {

// Sizes are written by people: a frame of 58 x 84 cm is the same as one of 84 x 58 cm.
bool same_size(const model::Area& a, const model::Area& b) {
    const auto near = [](model::Centimetres x, model::Centimetres y) {
        return std::abs(x.value - y.value) < 0.05;
    };
    return (near(a.width, b.width) && near(a.height, b.height)) ||
           (near(a.width, b.height) && near(a.height, b.width));
}

// Least work first; larger than any = cannot be used.
constexpr int unusable = 9;

int work_rank(const Builder& b, const FrameStock& stock, const ScreenInfo& screen,
              const model::Order& order, const model::ScreenLine& line) {
    if (model::not_reclaimed_here(b.room(), stock)) return unusable;
    switch (stock.state) {
        case FrameState::KeptStencil:
            return line.kept_stencil && stock.order == order.name ? 0 : unusable;
        case FrameState::Coated: {
            if (stock.emulsion != screen.emulsion || stock.coat_plan != screen.coat_plan) {
                return unusable;
            }
            // A day's room, so that it can be exposed in its time whatever else there is to do.
            const auto until = shelf_end(b, stock);
            const auto needed =
                std::max({order.due, b.out.problem.horizon_start + model::hours(24),
                          line.film_ready.value_or(model::SimTime::min()) + model::hours(12)});
            return !until || *until > needed ? 1 : unusable;
        }
        case FrameState::Ready:
            return 2;
        case FrameState::OldStencil:
            return 3;
        case FrameState::Inky:
            return 4;
        case FrameState::NewMesh:
            return 5;
    }
    return unusable;
}

// From the frame to the ready screen at the typed times, nothing waited for: a frame that comes
// back too late for that is taken only where no other is left, however little work it is.
model::Seconds shortest_way(const Builder& b, const FrameStock& stock,
                            const model::ScreenLine& line) {
    model::route::RouteRequest request;
    request.frame = stock.state;
    request.haze = stock.haze.value_or(false);
    request.plan = find_coat_plan(b.room(), line.coat_plan);
    model::Seconds sum{0};
    for (const auto& step : model::route::build_route(b.room(), request).operations)
        sum += model::route::usual_length(b.room(), step, request.plan);
    return sum;
}

// Frames of the store by size and mesh, less what lines took that came to their mesh before: what
// a line that leaves the mesh open finds.
class MeshStock {
public:
    explicit MeshStock(const Builder& b) : b_(b) {
        for (const FrameStock& stock : b.scenario.frames)
            left_.push_back(stock.count);
        for (const model::Order& order : b.scenario.orders) {
            for (const model::ScreenLine& line : order.lines) {
                if (line.mesh) take(order, line, *line.mesh);
            }
        }
    }

    // How many screens of the line would lack a frame, by mesh of the room.
    std::vector<int> missing(const model::Order& order, const model::ScreenLine& line) const {
        std::vector<int> out;
        for (const model::Mesh& mesh : b_.room().meshes) {
            int there = 0;
            for (std::size_t f = 0; f < left_.size(); ++f) {
                if (serves(b_.scenario.frames[f], order, line, mesh.name)) there += left_[f];
            }
            out.push_back(std::max(0, line.count - there));
        }
        return out;
    }

    void take(const model::Order& order, const model::ScreenLine& line, const std::string& mesh) {
        int wanted = line.count;
        for (std::size_t f = 0; f < left_.size() && wanted > 0; ++f) {
            if (!serves(b_.scenario.frames[f], order, line, mesh)) continue;
            const int taken = std::min(wanted, left_[f]);
            left_[f] -= taken;
            wanted -= taken;
        }
    }

private:
    bool serves(const FrameStock& stock, const model::Order& order, const model::ScreenLine& line,
                const std::string& mesh) const {
        if (stock.mesh != mesh || !same_size(stock.size, line.frame)) return false;
        ScreenInfo screen;
        screen.emulsion = line.emulsion;
        screen.coat_plan = line.coat_plan;
        const int rank = work_rank(b_, stock, screen, order, line);
        return rank != unusable && (!line.kept_stencil || rank == 0);
    }

    const Builder& b_;
    std::vector<int> left_;  // by Scenario::frames
};

// The mesh of a line that leaves it open stays what it is once one of its screens has begun.
std::string mesh_under_way(const Builder& b, const model::Order& order, std::size_t index,
                           int before, int count) {
    for (int k = 1; k <= count; ++k) {
        const std::string tag = screen_tag(order, index, before + k);
        for (const FrameOfScreen& x : b.options.frames) {
            if (x.tag == tag) return x.mesh;
        }
    }
    return {};
}

void list_screens(Builder& b) {
    const auto& orders = b.scenario.orders;
    MeshStock stock(b);
    for (std::size_t o = 0; o < orders.size(); ++o) {
        int number = 0;
        for (std::size_t l = 0; l < orders[o].lines.size(); ++l) {
            const model::ScreenLine& line = orders[o].lines[l];
            std::string why;
            std::string mesh = line.mesh ? "" : mesh_under_way(b, orders[o], o, number, line.count);
            if (mesh.empty())
                mesh =
                    mesh_of(b, orders[o], line,
                            line.mesh ? std::vector<int>{} : stock.missing(orders[o], line), why);
            else
                why = "screens of it are on that mesh already";
            if (!line.mesh && !mesh.empty()) {
                stock.take(orders[o], line, mesh);
                b.out.mesh_choices.push_back(
                    {static_cast<int>(o), static_cast<int>(l), mesh, std::move(why)});
            }
            check_exposure(b, orders[o], line, mesh);
            for (int k = 0; k < line.count; ++k) {
                ++number;
                ScreenInfo screen;
                screen.order = static_cast<int>(o);
                screen.line = static_cast<int>(l);
                screen.number = number;
                screen.tag = screen_tag(orders[o], o, number);
                screen.mesh = mesh;
                screen.frame = line.frame;
                screen.emulsion = line.emulsion;
                screen.coat_plan = line.coat_plan;
                b.out.screens.push_back(std::move(screen));
            }
        }
    }
}

// What may be done about an order for which frames lack: an enquiry stands in no file, one that was
// marked stands where the one does that it is like.
std::string without_order(const Builder& b, const model::Order& order) {
    if (order.place.file.empty()) return "or ask for fewer screens.";
    for (const model::Order& other : b.scenario.orders) {
        if (&other == &order) break;
        if (other.place == order.place) return "or take the mark back (undo).";
    }
    return "or put the order on hold (hold: yes in orders.csv).";
}

// ": 6 are inky, and no station does "ink off""; of frames that the room would have to make clean.
std::string unusable_words(const Builder& b, const ScreenInfo& screen,
                           const std::vector<int>& left) {
    std::map<FrameState, std::pair<int, std::string_view>> there;  // how many, what lacks
    for (std::size_t f = 0; f < left.size(); ++f) {
        const FrameStock& stock = b.scenario.frames[f];
        if (left[f] == 0 || stock.mesh != screen.mesh || !same_size(stock.size, screen.frame))
            continue;
        const auto lacks = model::not_reclaimed_here(b.room(), stock);
        if (!lacks) continue;
        there[stock.state].first += left[f];
        there[stock.state].second = model::words_of(*lacks);
    }
    std::string words;
    for (const auto& [state, what] : there) {
        words += (words.empty() ? ": " : "; ") + std::to_string(what.first) +
                 (what.first == 1 ? " is " : " are ") +
                 (state == FrameState::Inky      ? "inky"
                  : state == FrameState::NewMesh ? "of new mesh"
                                                 : "with an old stencil") +
                 ", and no station does \"" + std::string(what.second) + "\" for " +
                 (what.first == 1 ? "it" : "them");
    }
    return words;
}

// "2 are coated, with photo (1+1)"; "1 is coated, for no longer than 2026-11-25 09:00"; of frames
// of the kind that would do otherwise.
std::string coated_words(const Builder& b, const ScreenInfo& screen, const std::vector<int>& left) {
    std::map<std::string, int> why;
    for (std::size_t f = 0; f < left.size(); ++f) {
        const FrameStock& stock = b.scenario.frames[f];
        if (left[f] == 0 || stock.state != FrameState::Coated || stock.mesh != screen.mesh ||
            !same_size(stock.size, screen.frame))
            continue;
        const auto by = shelf_end(b, stock);
        if (stock.emulsion != screen.emulsion || stock.coat_plan != screen.coat_plan)
            why["with " + stock.emulsion.value_or("") + " (" + stock.coat_plan.value_or("") +
                ")"] += left[f];
        else if (by)
            why["for no longer than " + model::format_date_time(*by)] += left[f];
    }
    std::string words;
    for (const auto& [reason, count] : why) {
        words += (words.empty() ? "" : "; ") + std::to_string(count) +
                 (count == 1 ? " is coated, " : " are coated, ") + reason;
    }
    return words;
}

void report_shortage(Builder& b, const ScreenInfo& screen, int missing,
                     const std::vector<int>& left) {
    const auto& order = b.scenario.orders[static_cast<std::size_t>(screen.order)];
    const auto& line = order.lines[static_cast<std::size_t>(screen.line)];
    const std::string what = model::format_size(screen.frame) + " with mesh " + screen.mesh;
    if (line.kept_stencil) {
        b.diagnostics.error(line.place, "no-kept-stencil",
                            "order " + order.name +
                                " wants its kept stencil, the frame store has " +
                                std::to_string(missing) + " too few.",
                            "Add the kept screens to frames.csv, or take the order as a new one.");
        return;
    }
    const std::string dirty = unusable_words(b, screen, left);
    const std::string coated = coated_words(b, screen, left);
    const std::string others =
        coated.empty() ? dirty : dirty + (dirty.empty() ? ": " : "; ") + coated;
    b.diagnostics.error(
        line.place, "frames-run-out",
        "order " + order.name + " needs " + std::to_string(missing) + " more " +
            std::string(missing == 1 ? "frame" : "frames") + " of " + what +
            " than the store holds in " +
            (others.empty() ? "any state" : "a state that this room can use") + others + ".",
        "Order " + std::to_string(missing) + (missing == 1 ? " frame of " : " frames of ") + what +
            ", add those that stand elsewhere to frames.csv" +
            (dirty.empty() ? ", " : " (what is reclaimed elsewhere as ready, with `from`), ") +
            without_order(b, order));
}

// Of coated frames that are left: which keep for less than the day that a run takes.
void report_old_coats(Builder& b, const std::vector<int>& left) {
    for (std::size_t f = 0; f < left.size(); ++f) {
        const FrameStock& stock = b.scenario.frames[f];
        const auto by = left[f] > 0 ? shelf_end(b, stock) : std::nullopt;
        const auto begin = b.out.problem.horizon_start;
        if (!by || *by > begin + model::hours(24)) continue;
        const bool one = left[f] == 1;
        b.diagnostics.warning(
            stock.place, "coat-too-old",
            std::to_string(left[f]) + (one ? " frame of " : " frames of ") +
                model::format_size(stock.size) + " with mesh " + stock.mesh +
                (one ? " is not used: its coat keeps until "
                     : " are not used: the coats keep until ") +
                model::format_date_time(*by) +
                (*by > begin ? ", less than a day from the run's beginning." : "."),
            "Clean what is too old and write its new state, or change coated shelf life (limits in "
            "room.yaml).");
    }
}

// A screen under way keeps its frame: the first stock line that it can have come from, one that
// says of haze what is so before one that does not say (which may be the only one for others).
void keep_frame(const Builder& b, const std::string& order, ScreenInfo& screen,
                const std::vector<int>& left) {
    const auto& known = b.options.frames;
    const auto mine = std::find_if(known.begin(), known.end(), [&](const FrameOfScreen& x) {
        return x.tag == screen.tag && x.mesh == screen.mesh;
    });
    if (mine == known.end()) return;
    const auto possible = [&](std::size_t f) {
        const FrameStock& stock = b.scenario.frames[f];
        if (left[f] == 0 || stock.state != mine->state || stock.mesh != screen.mesh ||
            stock.haze.value_or(mine->haze) != mine->haze || !same_size(stock.size, screen.frame))
            return false;
        // It was there when the screen began, dry and not too old when it was exposed.
        if (stock.from && mine->begun && *stock.from > *mine->begun) return false;
        if (mine->exposed) {
            if (stock.coated_dry && *stock.coated_dry > *mine->exposed) return false;
            const auto by = shelf_end(b, stock);
            if (by && *by < *mine->exposed) return false;
        }
        if (stock.state == FrameState::Coated)
            return stock.emulsion == screen.emulsion && stock.coat_plan == screen.coat_plan;
        return stock.state != FrameState::KeptStencil || stock.order == order;
    };
    for (const bool says : {true, false}) {
        for (std::size_t f = 0; f < b.scenario.frames.size(); ++f) {
            if (b.scenario.frames[f].haze.has_value() != says || !possible(f)) continue;
            screen.stock = static_cast<int>(f);
            screen.haze = mine->haze;
            return;
        }
    }
}

}  // namespace

std::string screen_tag(const model::Order& order, std::size_t index, int number) {
    // A marker pen writes six letters on a frame, not twenty.
    const std::string stem = order.name.size() <= 6 ? order.name : "#" + std::to_string(index + 1);
    return stem + "-" + std::to_string(number);
}

std::vector<std::string> screen_tags(const std::vector<model::Order>& orders) {
    std::vector<std::string> tags;
    for (std::size_t o = 0; o < orders.size(); ++o) {
        int count = 0;
        for (const model::ScreenLine& line : orders[o].lines)
            count += line.count;
        for (int number = 1; number <= count; ++number)
            tags.push_back(screen_tag(orders[o], o, number));
    }
    return tags;
}

std::optional<core::SimTime> shelf_end(const Builder& b, const model::FrameStock& stock) {
    if (stock.state != FrameState::Coated || !stock.coated_dry) return std::nullopt;
    for (const auto& row : model::route::limit_rows()) {
        if (row.from != model::Step::DryCoat || row.to != model::Step::Expose) continue;
        if (const auto limit = row.max(b.room())) return *stock.coated_dry + *limit;
    }
    return std::nullopt;
}

void assign_frames(Builder& b) {
    list_screens(b);
    std::vector<std::size_t> turn(b.out.screens.size());
    std::iota(turn.begin(), turn.end(), std::size_t{0});
    const auto order_of = [&](std::size_t s) -> const model::Order& {
        return b.scenario.orders[static_cast<std::size_t>(b.out.screens[s].order)];
    };
    std::stable_sort(turn.begin(), turn.end(), [&](std::size_t x, std::size_t y) {
        return std::tuple(order_of(x).due, -order_of(x).priority) <
               std::tuple(order_of(y).due, -order_of(y).priority);
    });
    std::vector<int> left;
    for (const FrameStock& stock : b.scenario.frames)
        left.push_back(stock.count);
    std::map<std::pair<int, int>, int> missing;  // order, line -> screens without a frame
    const auto take = [&](std::size_t s) {
        ScreenInfo& screen = b.out.screens[s];
        --left[static_cast<std::size_t>(screen.stock)];
        screen.source = b.scenario.frames[static_cast<std::size_t>(screen.stock)].state;
        if (screen.source == FrameState::Inky || screen.source == FrameState::OldStencil) {
            b.out.reclaims.push_back({static_cast<int>(s), screen.stock});
        }
    };
    for (const std::size_t s : turn) {
        keep_frame(b, order_of(s).name, b.out.screens[s], left);
        if (b.out.screens[s].stock >= 0) take(s);
    }

    for (const std::size_t s : turn) {
        ScreenInfo& screen = b.out.screens[s];
        if (screen.stock >= 0) continue;
        const model::Order& order = order_of(s);
        const auto& line = order.lines[static_cast<std::size_t>(screen.line)];
        auto best = std::tuple(true, unusable, model::SimTime::max(), -1);
        for (std::size_t f = 0; f < b.scenario.frames.size(); ++f) {
            const FrameStock& stock = b.scenario.frames[f];
            if (left[f] == 0 || stock.mesh != screen.mesh || !same_size(stock.size, screen.frame)) {
                continue;
            }
            const int rank = work_rank(b, stock, screen, order, line);
            if (rank == unusable || (line.kept_stencil && rank != 0)) continue;
            const auto from =
                std::max(stock.from.value_or(model::SimTime::min()), b.out.problem.horizon_start);
            const bool late = from > b.out.problem.horizon_start &&
                              from + shortest_way(b, stock, line) > order.due;
            best = std::min(best, std::tuple(late, rank, from, static_cast<int>(f)));
        }
        screen.stock = std::get<3>(best);
        if (screen.stock < 0) {
            ++missing[{screen.order, screen.line}];
            continue;
        }
        take(s);
    }
    for (const auto& [line, count] : missing) {
        for (const ScreenInfo& screen : b.out.screens) {
            if (screen.order == line.first && screen.line == line.second) {
                report_shortage(b, screen, count, left);
                break;
            }
        }
    }
    report_old_coats(b, left);
    b.out.frames_left = std::move(left);
    fill_stock_after(b, b.out.problem.horizon_end);
}

void fill_stock_after(Builder& b, core::SimTime until) {
    auto& after = b.out.stock_after;
    after.clear();
    const auto key = [](const FrameStock& x) {
        return std::tuple(x.size.width.value, x.size.height.value, x.mesh, x.state, x.haze,
                          x.coated_dry, x.emulsion, x.coat_plan, x.order, x.from);
    };
    std::map<decltype(key(FrameStock{})), std::size_t> known;  // where it stands in `after`
    const auto put = [&](FrameStock stock) {
        stock.place = {};
        if (stock.from && *stock.from <= until) stock.from.reset();
        const auto [at, fresh] = known.try_emplace(key(stock), after.size());
        if (fresh)
            after.push_back(std::move(stock));
        else
            after[at->second].count += stock.count;
    };
    std::vector<int> left = b.out.frames_left;
    for (const ReturnInfo& x : b.out.returns)
        --left[static_cast<std::size_t>(x.stock)];
    for (std::size_t f = 0; f < left.size(); ++f) {
        if (left[f] <= 0) continue;
        FrameStock rest = b.scenario.frames[f];
        rest.count = left[f];
        put(std::move(rest));
    }
    for (const ReturnInfo& x : b.out.returns) {
        FrameStock frame = b.scenario.frames[static_cast<std::size_t>(x.stock)];
        frame.count = 1;
        frame.state = x.becomes;
        if (frame.state == FrameState::Ready) frame.haze.reset();
        put(std::move(frame));
    }
}

}  // namespace sched::compile
