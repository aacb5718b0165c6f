// How it works: a heading is known by the table's own name, by what the head of the file says it
// is, or by one of the names that offices use; letters and digits alone count. Dates are completed
// before a row of the table reads them.

#include "model/read/csv_table.hpp"

#include <cctype>

namespace model::read {

Heading parse_heading(std::string_view text) {
    Heading heading;
    const std::size_t open = text.find('(');
    std::string_view name = text.substr(0, open);
    if (open != std::string_view::npos) {
        const std::size_t close = text.find(')', open);
        heading.unit =
            text.substr(open + 1, close == std::string_view::npos ? close : close - open - 1);
    }
    while (!name.empty() && name.back() == ' ')
        name.remove_suffix(1);
    heading.key = name;
    for (char& c : heading.key) {
        c = c == '_' ? ' ' : static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    }
    return heading;
}

namespace {

// What offices call a column, beside its name here; letters and digits only, small.
struct OtherNames {
    std::string_view key;
    std::vector<std::string_view> names;
};

const std::vector<OtherNames>& other_names() {
    static const std::vector<OtherNames> table{
        {"order",
         {"order no", "order number", "order id", "job no", "job number", "job", "ticket"}},
        {"job", {"customer", "client", "job name", "title", "description", "label"}},
        {"due", {"due date", "due at", "deadline", "needed", "needed by", "wanted", "delivery"}},
        {"wanted", {"due", "due date", "deadline", "needed by"}},
        {"priority", {"prio", "urgency", "importance", "weight"}},
        {"count", {"qty", "quantity", "number", "no", "screens", "frames", "pieces", "pcs"}},
        {"mesh", {"mesh count", "fabric", "threads"}},
        {"frame", {"frame size", "size", "screen size", "format"}},
        {"size", {"frame", "frame size", "screen size", "format"}},
        {"state", {"status", "condition"}},
        {"emulsion", {"stencil", "coating material"}},
        {"coat plan", {"coats", "coating", "coat", "coat mode"}},
        {"finest line", {"line", "line width", "detail", "finest detail"}},
        {"ruling", {"lpi", "halftone", "line ruling", "raster"}},
        {"image", {"image size", "print size", "motif"}},
        {"film ready", {"film", "film at", "film due", "positive", "artwork"}},
        {"kept stencil", {"kept", "repeat", "repeat order"}},
        {"from", {"back", "back at", "back from press", "returns"}},
        {"coated dry", {"coated", "dry since"}},
    };
    return table;
}

// Letters, digits and single blanks, small: "No. of screens" and "no of_screens" are one.
std::string plain_words(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const auto u = static_cast<unsigned char>(c);
        if (std::isalnum(u) || u >= 0x80) {
            out += static_cast<char>(u < 0x80 ? std::tolower(u) : c);
        } else if (!out.empty() && out.back() != ' ' && c != '.') {
            out += ' ';
        }
    }
    while (!out.empty() && out.back() == ' ')
        out.pop_back();
    for (const std::string_view head : {"no of ", "number of "}) {
        if (out.starts_with(head)) out.erase(0, head.size());
    }
    return out;
}

// Key of a heading that is none of the names of the table; "" unknown.
std::string key_called(const std::string& heading, const std::vector<std::string>& known) {
    const std::string plain = plain_words(heading);
    const auto has = [&](std::string_view key) {
        return std::find(known.begin(), known.end(), key) != known.end();
    };
    for (const std::string& key : known) {
        if (plain == plain_words(key) || plain == plain_words(key) + "s") return key;
    }
    for (const OtherNames& row : other_names()) {
        if (has(row.key) && std::find(row.names.begin(), row.names.end(), plain) != row.names.end())
            return std::string(row.key);
    }
    return {};
}

constexpr std::string_view columns_line = "# columns:";

// How to say what an unknown column is. Only where one is unknown and one is missing is the one
// likely to be the other.
std::string what_it_is(const std::string& heading, const std::vector<std::string>& missing,
                       std::size_t unknown) {
    if (missing.empty())
        return fmt::format(
            "What is not needed is named above the first line: \"# columns: {} = -\".", heading);
    if (missing.size() == 1 && unknown == 1)
        return fmt::format(
            "Or say above the first line what it is: \"# columns: {} = {}\", - for what is not "
            "needed.",
            heading, missing.front());
    return fmt::format(
        "Or say above the first line what it is: \"# columns: {} = \" and {}, or - for what is not "
        "needed; the next after a comma.",
        heading,
        missing.size() == 1 ? missing.front()
                            : "one of those that are missing (" + name_list(missing, 30) + ")");
}

}  // namespace

OwnHeadings own_headings(std::string_view text, const std::vector<KeySpec>& specs,
                         Findings& findings) {
    OwnHeadings own;
    for (int line = 1; text.starts_with("# ") || text.starts_with("\n"); ++line) {
        std::string_view rest = text.substr(0, text.find_first_of("\r\n"));
        text.remove_prefix(std::min(text.size(), text.find('\n')) +
                           (text.find('\n') < text.size()));
        if (!rest.starts_with(columns_line)) continue;
        rest.remove_prefix(columns_line.size());
        while (!rest.empty()) {
            const std::size_t end = std::min(rest.find(','), rest.size());
            const std::string_view pair = rest.substr(0, end);
            rest.remove_prefix(std::min(end + 1, rest.size()));
            const std::size_t equals = pair.find('=');
            std::string key = plain_words(pair.substr(std::min(equals, pair.size())));
            const bool known = std::any_of(specs.begin(), specs.end(), [&](const KeySpec& spec) {
                return plain_words(spec.key) == key;
            });
            if (equals == std::string_view::npos || !(known || key.empty())) {
                findings.error({findings.file(), line, 1}, "columns-line",
                               fmt::format("{} says no column that is known.", in_quotes(pair)),
                               "Write it like \"# columns: qty = count, price = -\".");
                continue;
            }
            own.emplace_back(plain_words(pair.substr(0, equals)), key);
        }
    }
    return own;
}

bool whole_date(Findings& findings, const KeySpec& spec, const DatesFrom& from, YamlNode& cell) {
    if (spec.kind != Kind::DateTime || cell.kind != YamlNode::Kind::Text) return true;
    const auto read =
        parse_loose_date_time(cell.text, from, spec.key == "due" || spec.key == "wanted");
    if (read.value) {
        cell.text = format_date_time(*read.value);
        return true;
    }
    findings.error(cell.place, "bad-value",
                   fmt::format("{}: {} {}.", spec.key, in_quotes(cell.text), read.problem),
                   "Write date and time like 2026-11-26 14:30, Tue 9:00 or 1 Dec 14:30.");
    return false;
}

std::vector<std::string> match_headings(Findings& findings, const std::vector<KeySpec>& specs,
                                        const CsvRow& header, const OwnHeadings& own,
                                        std::vector<std::string>& units) {
    std::vector<std::string> known;
    for (const KeySpec& spec : specs)
        known.push_back(spec.key);
    const auto here = [&](const std::string& key) {
        return std::any_of(header.cells.begin(), header.cells.end(), [&](const CsvCell& cell) {
            return parse_heading(cell.text).key == key;
        });
    };
    // What must be there and no column is called, but for those that are called like another: with
    // "Job" alone the job is the order.
    std::string absent;
    for (const KeySpec& spec : specs) {
        const bool given =
            std::any_of(header.cells.begin(), header.cells.end(), [&](const CsvCell& cell) {
                const std::string key = parse_heading(cell.text).key;
                const bool named = std::find(known.begin(), known.end(), key) != known.end();
                const auto said = std::find_if(own.begin(), own.end(), [&](const auto& pair) {
                    return pair.first == plain_words(key);
                });
                if (said != own.end()) return said->second == spec.key;
                return named ? key == spec.key : key_called(key, known) == spec.key;
            });
        if (spec.required && !given && absent.empty()) absent = spec.key;
    }
    std::vector<std::string> columns;
    std::vector<std::pair<CsvCell, std::string>> unknown;
    for (const CsvCell& cell : header.cells) {
        Heading heading = parse_heading(cell.text);
        units.push_back(heading.unit);
        const auto said = std::find_if(own.begin(), own.end(), [&](const auto& pair) {
            return pair.first == plain_words(heading.key);
        });
        if (said != own.end()) {
            heading.key = said->second;
            if (heading.key.empty()) {  // not to be read
                columns.emplace_back();
                continue;
            }
        }
        if (!absent.empty() && said == own.end() && heading.key != absent &&
            key_called(heading.key, {absent}) == absent) {
            heading.key = std::exchange(absent, {});
        } else if (std::find(known.begin(), known.end(), heading.key) == known.end()) {
            // A name of the table wins over another name for it.
            const std::string called = key_called(heading.key, known);
            if (!called.empty() && !here(called)) heading.key = called;
        }
        if (std::find(known.begin(), known.end(), heading.key) == known.end()) {
            unknown.emplace_back(cell, heading.key);
            columns.emplace_back();
            continue;
        }
        if (std::find(columns.begin(), columns.end(), heading.key) != columns.end()) {
            findings.error(
                cell.place, "duplicate-column",
                fmt::format("the column {} stands here a second time.", in_quotes(cell.text)),
                "Keep one of them.");
            columns.emplace_back();
            continue;
        }
        columns.push_back(std::move(heading.key));
    }
    std::vector<const KeySpec*> missing;
    std::vector<std::string> names;
    for (const KeySpec& spec : specs) {
        if (spec.required && std::find(columns.begin(), columns.end(), spec.key) == columns.end()) {
            missing.push_back(&spec);
            names.push_back(spec.key);
        }
    }
    for (const auto& [cell, key] : unknown) {
        const std::string near = did_you_mean(key, known);
        findings.error(cell.place, "unknown-column",
                       fmt::format("the column {} is not known.", in_quotes(cell.text)),
                       (near.empty() ? "Known columns: " + name_list(known, 30) + "." : near) +
                           " " + what_it_is(key.substr(0, 40), names, unknown.size()));
    }
    for (const KeySpec* spec : missing) {
        findings.error(header.place, "column-missing",
                       fmt::format("the column {} is missing.", in_quotes(spec->key)), spec->help);
    }
    return columns;
}

namespace {

// First separator in the text that is not the file's; npos: none.
std::size_t other_separator(const std::string& text, char separator) {
    std::size_t at = text.find_first_of(",;\t");
    while (at != std::string::npos && text[at] == separator)
        at = text.find_first_of(",;\t", at + 1);
    return at;
}

SourcePlace place_in(const CsvCell& cell, std::size_t at) {
    SourcePlace place = cell.place;
    for (std::size_t i = 0; i < at; ++i)
        place.column += (static_cast<unsigned char>(cell.text[i]) & 0xC0U) != 0x80U ? 1 : 0;
    return place;
}

std::string separator_words(char separator) {
    return separator == '\t' ? "a tab" : fmt::format("\"{}\"", separator);
}

}  // namespace

std::optional<StraySeparator> stray_separator(const CsvRow& line, std::size_t columns,
                                              char separator) {
    std::optional<StraySeparator> first;
    std::size_t cells = line.cells.size();
    for (std::size_t c = 0; c < line.cells.size(); ++c) {
        const std::string& text = line.cells[c].text;
        if (const std::size_t at = other_separator(text, separator);
            !first && at != std::string::npos) {
            first = StraySeparator{c, at, text[at], place_in(line.cells[c], at)};
        }
        if (first)
            cells +=
                static_cast<std::size_t>(std::count(text.begin(), text.end(), first->character));
    }
    return cells == columns ? first : std::nullopt;
}

bool report_stray_heading(Findings& findings, const std::vector<KeySpec>& specs,
                          const CsvRow& header, const OwnHeadings& own, char separator) {
    std::vector<std::string> known;
    for (const KeySpec& spec : specs)
        known.push_back(spec.key);
    for (const CsvCell& cell : header.cells) {
        const std::string key = parse_heading(cell.text).key;
        const std::size_t at = other_separator(key, separator);
        if (at == std::string::npos || !key_called(key, known).empty() ||
            std::any_of(own.begin(), own.end(),
                        [&](const auto& pair) { return pair.first == plain_words(key); })) {
            continue;
        }
        findings.error(place_in(cell, at), "separator",
                       fmt::format("here {} separates two columns, elsewhere in this line {}.",
                                   separator_words(key[at]), separator_words(separator)),
                       fmt::format("Write {} here too.", separator_words(separator)));
        return true;
    }
    return false;
}

void report_stray_lines(Findings& findings, const std::vector<StraySeparator>& lines,
                        char separator) {
    if (lines.empty()) return;
    const StraySeparator& first = lines.front();
    const std::size_t more = lines.size() - 1;
    findings.error(first.place, "separator",
                   fmt::format("here {} separates two cells, in the first line {} does{}.",
                               separator_words(first.character), separator_words(separator),
                               more == 0   ? ""
                               : more == 1 ? "; so it is in one more line"
                                           : fmt::format("; so it is in {} more lines", more)),
                   fmt::format("Write {} here too, or put text with {} in it in double quotes.",
                               separator_words(separator), separator_words(first.character)));
}

std::string with_unit(const KeySpec& spec, const std::string& text, const std::string& unit) {
    if (unit.empty() || text.empty() || spec.kind != Kind::Measured) return text;
    const char last = text.back();
    const bool bare = last >= '0' && last <= '9';
    return bare ? text + " " + unit : text;
}

}  // namespace model::read
