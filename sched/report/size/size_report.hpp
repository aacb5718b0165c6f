#pragma once
// What coatroom size gives: text for the terminal, size.json, a self-contained page, and the
// partial results of shards. All drawn from one SizeResult.

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "model/base/diagnostic.hpp"
#include "sched/size/size.hpp"

namespace sched::report {

inline constexpr int size_format = 1;  // raised when an older reader would misread a newer file

std::string size_to_text(const study::SizeResult& result);

/// docs/size.schema.json; equal results give equal bytes. Without the single days (--csv).
std::string size_to_json(const study::SizeResult& result, std::string_view program);

std::string size_to_page(const study::SizeResult& result, std::string_view program);

/// How precisely the best room's turnaround is known, a sentence.
std::string precision_words(const study::SizeResult& result);

/// Who must be asked before anything is bought.
const std::vector<std::string>& size_cautions();

// ---- shards ------------------------------------------------------------------------------------

/// The days of one shard with the head that says what was asked.
struct SizeShard {
    study::SizeHead head;
    int shard = 0;  // from 0
    int of = 1;
    std::vector<study::SizeDay> days;
};
std::string shard_to_json(const SizeShard& shard);
/// Any input is safe. @returns nullopt after a diagnostic.
std::optional<SizeShard> shard_from_json(std::string_view json, model::Diagnostics& diagnostics,
                                         std::string_view file);
/// All shards of one study, each once, in any order. @returns nullopt after a diagnostic that says
/// what is missing or does not fit. `files`: their names, for the diagnostic.
std::optional<study::SizeResult> merge_shards(std::vector<SizeShard> shards,
                                              const std::vector<std::string>& files,
                                              model::Diagnostics& diagnostics);

}  // namespace sched::report
