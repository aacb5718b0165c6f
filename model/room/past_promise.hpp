#pragma once
// What the front office promised and what came of it: promises.csv as plain values.

#include <optional>
#include <string>

#include "model/base/diagnostic.hpp"
#include "model/base/time.hpp"

namespace model {

/// One promise given to a customer. `p50` .. `p95`: the forecast of that hour, "ready by then with
/// so many per cent", before it was rounded to a promise slot.
struct PastPromise {
    std::string enquiry;
    SimTime asked{};  // when the promise was given
    int screens = 1;
    std::string kind;  // of order, as the shop sorts them; may be empty
    std::optional<SimTime> p50, p80, p90, p95;
    SimTime promised{};            // what the customer was told
    std::optional<SimTime> ready;  // none: not ready yet
    SourcePlace place;
    friend bool operator==(const PastPromise&, const PastPromise&) = default;

    /// The forecast at 50, 80, 90 or 95 per cent; none for another one or when it was not kept.
    std::optional<SimTime> at(int percent) const {
        switch (percent) {
            case 50:
                return p50;
            case 80:
                return p80;
            case 90:
                return p90;
            case 95:
                return p95;
            default:
                return std::nullopt;
        }
    }
};

}  // namespace model
