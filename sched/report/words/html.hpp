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

/// Start of a self-contained page: nothing is fetched; only the style and script given here may run
/// (Content-Security-Policy by their SHA-256). `script` may be empty. `more` lifts limits for pages
/// that a server of ours sends: "connect-src 'self'; form-action 'self'".
std::string page_head(std::string_view title, std::string_view style, std::string_view script,
                      std::string_view more = {});

/// A section that its heading names; ends with "</section>". `title` is plain text.
std::string section_head(std::string_view id, std::string_view title);

}  // namespace sched::report
