#pragma once
// Everything a plan gives, into one folder.

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

/// File name and content of each output, in the order they are written: plan.json, plan.html,
/// sheets.html, plan.txt, plan.csv, plan.ics, plan-<person>.ics.
std::vector<std::pair<std::string, std::string>> outputs_of(const PlanDocument& document);

struct WrittenOutputs {
    std::vector<std::filesystem::path> files;
    std::vector<std::string> errors;  // empty when all is written
};

/// Creates the folder if needed; all files are replaced, or none of them (write_files_together).
/// @param station_sheets station-sheets.html too; an older one is removed otherwise.
WrittenOutputs write_outputs(const PlanDocument& document, const std::filesystem::path& folder,
                             bool station_sheets = false);

}  // namespace sched::report
