// How it works: an operation whose stations stand in several parts of the premises gets one
// mode for each part. For every step handed on to the next the way between their parts is added
// to the work of whoever carries it: to the second where somebody works there, else to the
// first. Where both sides have a choice the longest way counts, and a warning says so.

#include "sched/compile/walking.hpp"

#include <algorithm>
#include <string>
#include <vector>

namespace sched::compile {

namespace {

using core::Mode;
using core::Operation;
using core::OperationId;
using core::ResourceId;
using core::Seconds;
using core::Span;

class Walker {
public:
    Walker(Builder& b, const model::route::Route& route, std::size_t first)
        : b_(b), route_(route), first_(first), tied_(route.operations.size(), false) {
        for (const auto& lag : route.lags) {
            if (!lag.same_mode) continue;
            tied_[static_cast<std::size_t>(lag.from)] = true;
            tied_[static_cast<std::size_t>(lag.to)] = true;
        }
    }

    void run() {
        for (std::size_t i = 0; i < tied_.size(); ++i) {
            if (!tied_[i]) split(operation(i));
        }
        for (std::size_t i = 0; i + 1 < tied_.size(); ++i) {
            bool follows = false, stays = false, aligned = false;  // a limit may join them as well
            for (const auto& lag : route_.lags) {
                if (lag.from != static_cast<int>(i) || lag.to != lag.from + 1) continue;
                follows = true;
                stays = stays || lag.same_place;
                aligned = aligned || lag.same_mode;
            }
            if (follows && !stays) carry(i, i + 1, aligned);
        }
    }

private:
    Operation& operation(std::size_t i) { return b_.out.problem.operations[first_ + i]; }

    const std::string* part_of(ResourceId r) const {
        const auto& info = b_.out.resources[r.index()];
        if (info.kind != ResourceKind::Station) return nullptr;
        return &b_.room().stations[static_cast<std::size_t>(info.index)].stands_in;
    }
    /// Parts of the premises where it may be done in this mode; empty: at no station.
    std::vector<std::string> parts_of(const Mode& mode) const {
        std::vector<std::string> parts;
        if (mode.needs.empty()) return parts;
        for (const ResourceId r : mode.needs.front().any_of) {
            const std::string* part = part_of(r);
            if (part != nullptr && std::find(parts.begin(), parts.end(), *part) == parts.end())
                parts.push_back(*part);
        }
        return parts;
    }
    std::vector<std::string> parts_of(const Operation& operation) const {
        std::vector<std::string> all;
        for (const Mode& mode : operation.modes) {
            for (auto& part : parts_of(mode)) {
                if (std::find(all.begin(), all.end(), part) == all.end())
                    all.push_back(std::move(part));
            }
        }
        return all;
    }
    static bool attended(const Mode& mode) {
        return std::any_of(mode.needs.begin(), mode.needs.end(),
                           [](const core::Need& n) { return n.span == Span::Work; });
    }
    static bool attended(const Operation& operation) {
        return std::any_of(operation.modes.begin(), operation.modes.end(),
                           [](const Mode& mode) { return attended(mode); });
    }

    Seconds between(const std::string& from, const std::string& to) const {
        if (from == to || from.empty() || to.empty()) return Seconds{0};
        for (const model::Walk& walk : b_.room().walks) {
            if ((walk.from == from && walk.to == to) ||
                (!walk.one_way && walk.from == to && walk.to == from))
                return walk.time;
        }
        return Seconds{0};
    }
    Seconds longest(const std::vector<std::string>& from, const std::vector<std::string>& to) {
        Seconds most{0}, least = Seconds::max();
        for (const auto& a : from) {
            for (const auto& b : to) {
                most = std::max(most, between(a, b));
                least = std::min(least, between(a, b));
            }
        }
        if (!from.empty() && !to.empty() && least < most) warn();
        return most;
    }
    void warn() {
        const auto& place = b_.room().walks.front().place;
        for (const auto& d : b_.diagnostics.all()) {
            if (d.code == "walk-longest") return;
        }
        b_.diagnostics.warning(
            place, "walk-longest",
            "between some steps there are several ways from several places; the "
            "longest counts.",
            "Give the rack, or the stations of one step, one place to stand in.");
    }

    /// Ways of doing it that differ in the part of the premises alone.
    void split(Operation& operation) const {
        std::vector<Mode> modes;
        for (const Mode& mode : operation.modes) {
            const auto parts = parts_of(mode);
            if (parts.size() < 2) {
                modes.push_back(mode);
                continue;
            }
            for (const std::string& part : parts) {
                Mode here = mode;
                std::erase_if(here.needs.front().any_of, [&](ResourceId r) {
                    const std::string* own = part_of(r);
                    return own == nullptr || *own != part;
                });
                modes.push_back(std::move(here));
            }
        }
        operation.modes = std::move(modes);
    }

    void tie(std::size_t a, std::size_t b) {
        tied_[a] = tied_[b] = true;
        b_.out.problem.constraints.push_back(
            core::SameMode{OperationId{first_ + a}, OperationId{first_ + b}});
    }

    void carry(std::size_t from, std::size_t to, bool aligned) {
        Operation& a = operation(from);
        Operation& b = operation(to);
        const auto parts_a = parts_of(a), parts_b = parts_of(b);
        if (parts_a.empty() || parts_b.empty()) return;
        const bool here = attended(b);  // who works there has brought it
        Operation& carrier = here ? b : a;
        if (!here && !attended(a)) return;
        if (aligned) {
            for (std::size_t m = 0; m < a.modes.size(); ++m) {
                Mode& mode = carrier.modes[m];
                if (attended(mode))
                    mode.work += longest(parts_of(a.modes[m]), parts_of(b.modes[m]));
            }
            return;
        }
        const Operation& other = here ? a : b;
        const auto& others = here ? parts_a : parts_b;
        const bool one_way_each =
            std::all_of(other.modes.begin(), other.modes.end(),
                        [&](const Mode& m) { return parts_of(m).size() == 1; });
        if (others.size() > 1 && one_way_each && carrier.modes.size() == 1 &&
            !tied_[here ? to : from]) {
            const Mode plain = carrier.modes.front();
            carrier.modes.clear();
            for (const Mode& m : other.modes) {
                Mode mode = plain;
                mode.work += here ? longest(parts_of(m), parts_of(plain))
                                  : longest(parts_of(plain), parts_of(m));
                carrier.modes.push_back(std::move(mode));
            }
            tie(from, to);
            return;
        }
        for (Mode& mode : carrier.modes) {
            if (attended(mode))
                mode.work +=
                    here ? longest(others, parts_of(mode)) : longest(parts_of(mode), others);
        }
    }

    Builder& b_;
    const model::route::Route& route_;
    std::size_t first_;
    std::vector<bool> tied_;  // modes are those of a neighbour, one by one
};

}  // namespace

void add_walks(Builder& builder, const model::route::Route& route, std::size_t first) {
    if (!builder.room().walks.empty()) Walker(builder, route, first).run();
}

}  // namespace sched::compile
