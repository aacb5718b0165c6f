#pragma once
// From fits to the values of room.yaml and chance.yaml that say what the marks say.

#include <functional>
#include <string>
#include <vector>

#include "sched/tune/fit.hpp"

namespace sched::tune {

/// One value of a file.
struct Change {
    std::string file;  // "room.yaml" or "chance.yaml"
    std::vector<std::string>
        path;           // keys; "#2": third item of a list (one more than there are: new)
    std::string value;  // to be written there, on one line
    std::string was;    // as it was; empty: the file says nothing
    std::string why;    // in words
    std::function<void(model::Room&, model::ChanceSettings&)> make;
    /// "times: wash out: 4 min 36 s"
    std::string line() const;
};

/// Only what the marks contradict: the old value lies outside the 90 % interval of the new one.
/// Planned times become the mean that was seen, which is what "work varies" has as its mean; a step
/// with a law of its own in chance.yaml gets that law fitted anew, and its median as planned time.
std::vector<Change> changes_of(const model::Room& room, const model::ChanceSettings& chance,
                               const Tuning& tuning);

}  // namespace sched::tune
