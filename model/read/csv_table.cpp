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

std::vector<std::string> match_headings(Findings& findings, const std::vector<KeySpec>& specs,
                                        const CsvRow& header, std::vector<std::string>& units) {
    std::vector<std::string> known;
    for (const KeySpec& spec : specs)
        known.push_back(spec.key);
    std::vector<std::string> columns;
    for (const CsvCell& cell : header.cells) {
        Heading heading = parse_heading(cell.text);
        units.push_back(heading.unit);
        if (std::find(known.begin(), known.end(), heading.key) == known.end()) {
            const std::string near = did_you_mean(heading.key, known);
            findings.error(cell.place, "unknown-column",
                           fmt::format("the column {} is not known.", in_quotes(cell.text)),
                           near.empty() ? "Known columns: " + name_list(known, 30) + "." : near);
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
    for (const KeySpec& spec : specs) {
        if (spec.required && std::find(columns.begin(), columns.end(), spec.key) == columns.end()) {
            findings.error(header.place, "column-missing",
                           fmt::format("the column {} is missing.", in_quotes(spec.key)),
                           spec.help);
        }
    }
    return columns;
}

std::string with_unit(const KeySpec& spec, const std::string& text, const std::string& unit) {
    if (unit.empty() || text.empty() || spec.kind != Kind::Measured) return text;
    const char last = text.back();
    const bool bare = last >= '0' && last <= '9';
    return bare ? text + " " + unit : text;
}

}  // namespace model::read
