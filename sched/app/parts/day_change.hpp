#pragma once
// Changes to a scenario's files for one day, as text: whoever stays longer, an order that goes
// first, one more order.

#include <optional>
#include <string>

namespace sched::app {

/// room.yaml with an hour more overtime for this person, whether the person is written over several
/// lines or in braces. @returns nullopt: no such person, or an overtime that is not in h or min.
std::optional<std::string> with_longer(const std::string& room, const std::string& person);

/// orders.csv with the highest priority for this order. @returns nullopt: no such order.
std::optional<std::string> with_first(const std::string& orders, const std::string& order);

/// orders.csv with one more order like this one, under a new name, without a film to wait for.
/// @returns nullopt: no such order.
std::optional<std::string> with_another(const std::string& orders, const std::string& order,
                                        const std::string& name);

}  // namespace sched::app
