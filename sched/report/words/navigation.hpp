#pragma once
// The way from page to page: every page has the same line of links, to those that lie beside it and
// to no others. Pages that are written later are added to it.

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace sched::report {

struct PageLink {
    std::string href;   // "plan.html"
    std::string words;  // "Plan"
};

/// The pages that commands write under fixed names, in the order of the line.
const std::vector<PageLink>& known_pages();

/// The line of links, hidden and empty when no other page is there. @param own the page it stands
/// in, by its href.
std::string navigation(const std::vector<PageLink>& pages, std::string_view own);

/// The page with another line of links; unchanged if it has none.
std::string with_navigation(std::string page, const std::vector<PageLink>& pages,
                            std::string_view own);

/// Writes the line of links anew into the known pages of a folder, or of the folder of a page,
/// which itself may have any name. Pages of other programs, and what cannot be written, stay as
/// they are.
void join_pages(const std::filesystem::path& folder_or_page);

}  // namespace sched::report
