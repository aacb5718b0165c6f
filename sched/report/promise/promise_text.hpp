#pragma once
// A promise for the terminal: the sentence for the customer first, then what it rests on.

#include <string>

#include "sched/promise/promise.hpp"

namespace sched::report {

/// UTF-8 lines, at most about 100 columns. @param explain with the chain that decides the date.
std::string promise_to_text(const study::Promise& promise, bool explain);

/// "Thu 26 Nov, 16:00"
std::string weekday_time(core::SimTime t);
/// What it does to that order is more than chance and seconds: one day in fifty is lost, or it is
/// half an hour later.
bool worth_saying(const study::EndangeredOrder& order);
/// It is worse off: one day in fifty is lost, or it is ten minutes more late on average.
bool harmed(const study::EndangeredOrder& order);
/// "97 of 100 days" and the interval: "87 % (95 % sure: 81 % to 91 %)".
std::string odds_words(const study::Odds& odds);

}  // namespace sched::report
