#include "sched/report/words/navigation.hpp"

#include <algorithm>

#include "model/base/files.hpp"
#include "sched/report/words/html.hpp"

namespace sched::report {

namespace {

namespace fs = std::filesystem;

// An element that no other program's page has.
constexpr std::string_view nav_begins = "<nav class=\"pages\" data-coatroom aria-label=\"Pages\"";
constexpr std::string_view nav_ends = "</nav>";

// Far larger than any page of ours.
constexpr std::uintmax_t most_page_bytes = 32u << 20;

bool plain_file(const fs::path& path) {
    std::error_code error;
    return fs::is_regular_file(fs::symlink_status(path, error)) &&
           fs::file_size(path, error) <= most_page_bytes && !error;
}

}  // namespace

const std::vector<PageLink>& known_pages() {
    static const std::vector<PageLink> pages = {
        {"plan.html", "Plan"},
        {"sheets.html", "Run sheets"},
        {"timeline.html", "Timeline to print"},
        {"station-sheets.html", "Station sheets"},
        {"size.html", "Size"},
        {"promise.html", "Promise"},
        {"lead-times.html", "Lead times"},
        {"drying.html", "Drying"},
        {"dose.html", "Dose"},
        {"weeks.html", "Weeks"},
    };
    return pages;
}

std::string navigation(const std::vector<PageLink>& pages, std::string_view own) {
    std::string out(nav_begins);
    const bool others =
        std::any_of(pages.begin(), pages.end(), [&](const auto& p) { return p.href != own; });
    out += others ? ">" : " hidden>";
    if (others) {
        for (const PageLink& page : pages) {
            out += "<a href=\"" + html(page.href) + "\"" +
                   (page.href == own ? " aria-current=\"page\"" : "") + ">" + html(page.words) +
                   "</a> ";
        }
        out.pop_back();
    }
    return out + std::string(nav_ends);
}

std::string with_navigation(std::string page, const std::vector<PageLink>& pages,
                            std::string_view own) {
    const auto from = page.find(nav_begins);
    if (from == std::string::npos) return page;
    const auto to = page.find(nav_ends, from);
    if (to == std::string::npos) return page;
    page.replace(from, to + nav_ends.size() - from, navigation(pages, own));
    return page;
}

void join_pages(const fs::path& folder_or_page) {
    std::error_code error;
    const bool one_page = !fs::is_directory(folder_or_page, error);
    const fs::path folder = one_page ? folder_or_page.parent_path() : folder_or_page;
    const std::string also = one_page ? folder_or_page.filename().string() : std::string();
    std::vector<PageLink> there;
    for (const PageLink& page : known_pages()) {
        if (plain_file(folder / page.href)) there.push_back(page);
    }
    const auto join = [&](const std::string& name) {
        const fs::path path = folder / name;
        if (!plain_file(path)) return;
        // Of two programs that write here at once the later one's page stays. A page that cannot be
        // written keeps its links: it is right in all else.
        model::change_file(
            path, [&](const std::string& text) { return with_navigation(text, there, name); });
    };
    for (const PageLink& page : there)
        join(page.href);
    const bool known = std::any_of(there.begin(), there.end(),
                                   [&](const PageLink& page) { return page.href == also; });
    if (!also.empty() && !known) join(also);
}

}  // namespace sched::report
