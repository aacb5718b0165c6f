#include "sched/compile/pot_capacity.hpp"

#include <algorithm>
#include <limits>

namespace sched::compile {

PotCapacity::PotCapacity(const std::vector<std::int64_t>& coats) : sizes_(coats) {
    std::sort(sizes_.begin(), sizes_.end());
    sizes_.erase(std::unique(sizes_.begin(), sizes_.end()), sizes_.end());
    std::erase_if(sizes_, [](std::int64_t ml) { return ml <= 0; });
    lost_.assign(sizes_.size(), 0);
}

void PotCapacity::add_pot(std::int64_t volume) {
    auto& loss = loss_of_[volume];
    if (loss.empty()) {
        // Which sums of coats there are up to the volume.
        std::vector<char> sum(static_cast<std::size_t>(std::max<std::int64_t>(0, volume)) + 1, 0);
        sum[0] = 1;
        for (const std::int64_t ml : sizes_) {
            const auto step = static_cast<std::size_t>(ml);
            for (std::size_t at = step; at < sum.size(); ++at)
                sum[at] |= sum[at - step];
        }
        for (const std::int64_t ml : sizes_) {
            // The largest sum is one: with another coat on top it would be no sum up to the volume.
            auto at = static_cast<std::size_t>(std::max<std::int64_t>(0, volume - ml + 1));
            while (at < sum.size() && sum[at] == 0)
                ++at;
            loss.push_back(static_cast<std::int64_t>(at));
        }
    }
    for (std::size_t i = 0; i < sizes_.size(); ++i)
        lost_[i] += loss[i];
}

void PotCapacity::add_given(std::int64_t amount) {
    for (std::int64_t& lost : lost_)
        lost += amount;
}

std::int64_t PotCapacity::total() const {
    std::int64_t least = std::numeric_limits<std::int64_t>::max();
    for (std::size_t i = 0; i < sizes_.size(); ++i)
        least = std::min(least, lost_[i] + sizes_[i] - 1);
    return sizes_.empty() ? 0 : least;
}

}  // namespace sched::compile
