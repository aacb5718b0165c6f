#pragma once
// One answer to "when can I have it?" as a self-contained page: the sentence for the customer, the
// chance as twenty dots, what it does to other orders, what would make it sooner, the chain.
// Dots instead of a curve: people decide better with them (Kay, Kola, Hullman, Munson, When (ish)
// is My Bus?, CHI 2016; Fernandes et al., Uncertainty Displays Using Quantile Dotplots, CHI 2018).

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sched/promise/promise.hpp"

namespace sched::report {

inline constexpr std::size_t promise_dots = 20;

/// Dot i of `count` stands for an equal share of the days: the (i + 1/2) / count quantile of all
/// of them, ascending. none: that day did not end within the days looked ahead.
/// @pre count > 0; empty without simulated days.
std::vector<std::optional<core::SimTime>> quantile_dots(const study::Promise& promise,
                                                        std::size_t count = promise_dots);

/// "2 of 20 dots are after Thu 26 Nov, 16:00."
std::string dots_sentence(const std::vector<std::optional<core::SimTime>>& dots,
                          core::SimTime promised);

/// A page of its own, promise.html.
std::string promise_page(const study::Promise& promise);

/// The same as sections, for a page that has the form beside them.
std::string promise_answer(const study::Promise& promise);

}  // namespace sched::report
