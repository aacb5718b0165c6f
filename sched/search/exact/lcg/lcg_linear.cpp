#include "sched/search/exact/lcg/lcg_linear.hpp"

#include <algorithm>

namespace sched::search::lcg {

namespace {

class LinearAtMost final : public Propagator {
public:
    LinearAtMost(std::vector<Weighted> terms, std::int64_t limit)
        : terms_(std::move(terms)), limit_(limit) {
        because_.reserve(terms_.size());
    }

    bool propagate(Engine& e) override {
        std::int64_t low = 0;
        for (const auto& t : terms_)
            low += t.weight * e.lb(t.side);
        const std::int64_t slack = limit_ - low;
        if (slack < 0) {
            reasons(e, terms_.size(), -slack - 1);
            return e.conflict(because_);
        }
        for (std::size_t k = 0; k < terms_.size(); ++k) {
            const auto& t = terms_[k];
            const std::int64_t room = slack / t.weight;
            if (e.ub(t.side) - e.lb(t.side) <= room) continue;
            // value(side) <= lb + room
            const std::int64_t most = e.lb(t.side) + room;
            reasons(e, k, t.weight - 1 - slack % t.weight);
            if (!e.imply({flipped(t.side), static_cast<int>(-most)}, because_)) return false;
        }
        return true;
    }

private:
    /// The lower bounds of all terms but one, each as weak as `surplus` (in units of the sum) lets
    /// it be.
    void reasons(const Engine& e, std::size_t but, std::int64_t surplus) {
        because_.clear();
        for (std::size_t k = 0; k < terms_.size(); ++k) {
            if (k == but) continue;
            const auto& t = terms_[k];
            Lit l{t.side, e.lb(t.side)};
            if (e.is_root_true(l)) continue;
            const std::int64_t to_root = e.lb(t.side) - e.root_lb(t.side);
            const std::int64_t weaker = std::min(to_root, surplus / t.weight);
            surplus -= weaker * t.weight;
            if (weaker == to_root) continue;
            l.bound -= static_cast<int>(weaker);
            because_.push_back(l);
        }
    }

    std::vector<Weighted> terms_;
    std::int64_t limit_;
    std::vector<Lit> because_;
};

}  // namespace

void post_linear(Engine& engine, std::vector<Weighted> terms, std::int64_t limit, Side total) {
    terms.push_back({1, flipped(total)});
    std::vector<Side> sides;
    for (const auto& t : terms)
        sides.push_back(t.side);
    engine.add_propagator(std::make_unique<LinearAtMost>(std::move(terms), limit), sides, 0);
}

}  // namespace sched::search::lcg
