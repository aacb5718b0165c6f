#pragma once
// The words of docs/glossary.md on the pages: where one stands first in a section it leads to its
// meaning at the end of the page. Everything is in the page; nothing is fetched.

#include <string>
#include <string_view>
#include <vector>

namespace sched::report {

struct GlossaryTerm {
    std::vector<std::string> names;  // the first is the heading, the others say the same
    std::string meaning;             // one sentence
    std::string unit;                // or formula; may be empty
};

/// The table "Words on the pages" of docs/glossary.md, in its order.
const std::vector<GlossaryTerm>& glossary();

/// The page with its words linked and, before </main>, their meanings, folded. Only text is looked
/// at: not attributes, scripts, drawings, or what is pressed (links, buttons, summaries, choices).
/// A word is found in any case and with an s behind it, the longest name first; one with a capital
/// only as it is written, where it is the whole text of an element. A page with none of
/// the words, or without </main>, stays as it is.
std::string with_words(std::string page);

}  // namespace sched::report
