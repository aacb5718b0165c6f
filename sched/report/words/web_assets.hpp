#pragma once
// The files of web/ and docs/glossary.md, embedded at build time (embed.cmake).

#include <string_view>

namespace sched::report {

/// Contents of web/<name>, or of "glossary.md"; empty if there is no such file.
std::string_view web_asset(std::string_view name);

}  // namespace sched::report
