#pragma once
// The board's parameters as an enquiry: names and words as on the command line of `promise`.

#include <map>
#include <optional>
#include <string>

#include "model/room/order.hpp"
#include "sched/promise/promise.hpp"

namespace sched::app {

struct QueryEnquiry {
    study::Enquiry enquiry;
    bool explain = false;
};

/// @param query decoded parameters, names as the options without "--".
/// @param start of the run: times without a date or a year are read from its day on.
/// @returns nullopt with `problem` in words, and in `field` the parameter that is wrong, if it is
/// one.
std::optional<QueryEnquiry> enquiry_of_query(const model::Scenario& scenario,
                                             const std::multimap<std::string, std::string>& query,
                                             model::SimTime start, std::string& problem,
                                             std::string* field = nullptr);

}  // namespace sched::app
