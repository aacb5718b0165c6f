#pragma once
// The one way user text gets into a page.

#include <string>
#include <string_view>

namespace sched::report {

/// For element content and quoted attributes: & < > " ' escaped, control characters and broken
/// UTF-8 replaced.
std::string html(std::string_view text);

/// JSON for a <script type="application/json">: every '<', '>' and '&' as \u00XX, so that no text
/// can end the element.
std::string json_for_script(std::string_view json);

/// Start of a self-contained page: nothing is fetched; only the one style file of all pages and the
/// script given here may run (Content-Security-Policy by their SHA-256). `script` may be empty.
/// `more` lifts limits for pages that a server of ours sends: "connect-src 'self'; form-action
/// 'self'".
std::string page_head(std::string_view title, std::string_view script, std::string_view more = {});

/// The head that all pages have, after <body>: the line of links (navigation.hpp, filled when it is
/// known what lies beside), the heading, and on the right the page's own links and the light.
struct PageTop {
    std::string own;    // href of the page, "plan.html"
    std::string title;  // plain text
    std::string under;  // HTML under the title; empty: nothing
    std::string acts;   // HTML of links to files
    std::string links;  // line of links, if it is known already; empty: none yet
};
std::string page_top(const PageTop& top);

/// What every page's script begins with: the button for the safelight.
std::string page_script(std::string_view own = {});

/// A section that its heading names; ends with "</section>". `title` is plain text.
std::string section_head(std::string_view id, std::string_view title);

}  // namespace sched::report
