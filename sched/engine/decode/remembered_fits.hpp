#pragma once
// Where something could go is found anew only when a timeline that it needs has changed: many
// blocks wait for the same people and places and are tried one after the other.

#include <array>
#include <cstdint>
#include <vector>

#include "sched/engine/compiled_problem.hpp"
#include "sched/engine/profile.hpp"

namespace sched::engine {

/// One answer of Decoder::fit_plain and what it holds for: other work that asks for the same goes
/// the same way as long as it is not so short that an earlier gap would do, nor too long for the
/// one that was found.
struct RememberedFit {
    static constexpr std::int32_t most_needs = 4;
    static constexpr std::uint64_t named = 0x4040404040404040;  // in `way`: it must be that one
    std::uint64_t changes = ~std::uint64_t{0};  // of the timelines that were looked at, together
    Tick from = 0;
    SameLengths lengths;
    std::uint64_t way = 0;  // where the candidates of each need begin, and who it must be
    Tick last = 0;          // the last instant that was tried after `from`
    Tick found = 0;
    Tick sets_out = never;  // Decoder::sets_out for it; never: not asked yet
    std::int32_t blocking = -1;
    std::array<std::int32_t, most_needs> pick{};  // per need: who was chosen
};

/// The last few of each kind of need.
class RememberedFits {
public:
    static constexpr std::size_t of_each = 4;
    struct Ask {
        std::vector<std::int32_t> resources;  // all that may be looked at
        std::array<RememberedFit, of_each> fits;
        std::size_t newest = 0;

        RememberedFit* find(std::uint64_t changes, Tick from, std::uint64_t way, Tick work,
                            Tick high) {
            for (RememberedFit& fit : fits) {
                if (fit.changes == changes && fit.from == from && fit.way == way &&
                    work > fit.lengths.low && work <= fit.lengths.high && fit.last <= high)
                    return &fit;
            }
            return nullptr;
        }
        /// The same, whoever is looked at first, of those that had to take nobody in particular:
        /// when it can start is the same for all of them, who takes it up is not.
        RememberedFit* find_any(std::uint64_t changes, Tick from, Tick work, Tick high) {
            for (RememberedFit& fit : fits) {
                if (fit.changes == changes && fit.from == from &&
                    (fit.way & RememberedFit::named) == 0 && work > fit.lengths.low &&
                    work <= fit.lengths.high && fit.last <= high)
                    return &fit;
            }
            return nullptr;
        }
        RememberedFit& add(const RememberedFit& fit) {
            newest = (newest + 1) % of_each;
            return fits[newest] = fit;
        }
    };
    Ask& of(const CompiledProblem& p, const CompiledMode& m) {
        const auto at = static_cast<std::size_t>(m.ask);
        if (at >= asks_.size()) asks_.resize(at + 1);
        Ask& ask = asks_[at];
        if (ask.resources.empty()) {
            for (std::int32_t n = m.needs.begin; n < m.needs.end; ++n) {
                const Range any = p.needs[static_cast<std::size_t>(n)].any_of;
                ask.resources.insert(ask.resources.end(), p.candidates.begin() + any.begin,
                                     p.candidates.begin() + any.end);
            }
        }
        return ask;
    }

private:
    std::vector<Ask> asks_;
};

}  // namespace sched::engine
