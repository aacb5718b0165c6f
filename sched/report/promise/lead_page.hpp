#pragma once
// The lead-time table for the wall and the quote form: a page to print, CSV, text.

#include <string>

#include "sched/promise/lead_table.hpp"

namespace sched::report {

/// One self-contained page, A4 or Letter upright: kinds and sizes down, times of entry across.
std::string lead_page(const study::LeadTable& table);

/// kind, screens, entry, orders, median h, level h, working days, slot, in words, from.
std::string lead_csv(const study::LeadTable& table);

/// screens, orders, of 100, working days, pick-up time, in words: the price list.
std::string price_csv(const study::LeadTable& table);

/// {"format", "room", ..., "cells": [...]}
std::string lead_json(const study::LeadTable& table);

std::string lead_text(const study::LeadTable& table);

}  // namespace sched::report
