#pragma once
// A CSV file read by a table of rows (spec.hpp): columns in any order by their heading, every cell
// with its place, a unit in the heading ("humidity (%)") serving a column of bare numbers.

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "model/read/csv.hpp"
#include "model/read/loose_date.hpp"
#include "model/read/spec.hpp"

namespace model::read {

/// What was read, one element per line below the header.
template <class T>
struct CsvTable {
    std::vector<T> values;
    std::vector<CsvRow> rows;
    std::vector<std::string> columns;  // key of each column; "" unknown
    std::vector<bool> sound;           // whether all cells of the line were read

    /// Place of the line's cell under the key; of the line where there is no such cell.
    SourcePlace place(std::size_t line, std::string_view key) const {
        for (std::size_t c = 0; c < columns.size() && c < rows[line].cells.size(); ++c) {
            if (columns[c] == key) return rows[line].cells[c].place;
        }
        return rows[line].place;
    }
    bool has(std::size_t line, std::string_view key) const {
        for (std::size_t c = 0; c < columns.size() && c < rows[line].cells.size(); ++c) {
            if (columns[c] == key) return !rows[line].cells[c].text.empty();
        }
        return false;
    }
};

/// A heading: the key in lower case and the unit that stands in brackets behind it.
struct Heading {
    std::string key;
    std::string unit;
};
Heading parse_heading(std::string_view text);

/// What a line "# columns: qty = count, price = -" at the head of the file says: its own headings
/// and the keys that they are; "-" is not read.
using OwnHeadings = std::vector<std::pair<std::string, std::string>>;
OwnHeadings own_headings(std::string_view text, const std::vector<KeySpec>& specs,
                         Findings& findings);

/// Finds the key of each heading, by its name, by `own` or by what offices call it; unknown, double
/// and missing ones are reported.
std::vector<std::string> match_headings(Findings& findings, const std::vector<KeySpec>& specs,
                                        const CsvRow& header, const OwnHeadings& own,
                                        std::vector<std::string>& units);

/// A separator that is not the file's, inside a cell of a line.
struct StraySeparator {
    std::size_t cell = 0;  // of the line
    std::size_t at = 0;    // byte of its text
    char character = ';';
    SourcePlace place;
};
/// The first one, if with all of its like the line has `columns` cells: that is what is wrong.
std::optional<StraySeparator> stray_separator(const CsvRow& line, std::size_t columns,
                                              char separator);

/// Reports a heading that is none because of a separator in it. @returns whether there is one: then
/// no column below it is where it seems to be.
bool report_stray_heading(Findings& findings, const std::vector<KeySpec>& specs,
                          const CsvRow& header, const OwnHeadings& own, char separator);

/// One error for all lines that go on with another separator. @param lines what was found in them.
void report_stray_lines(Findings& findings, const std::vector<StraySeparator>& lines,
                        char separator);

/// The cell's text with the heading's unit behind a number without one.
std::string with_unit(const KeySpec& spec, const std::string& text, const std::string& unit);

/// A date without year or time in the cell becomes a whole one; what is none is reported and the
/// cell emptied. @returns whether there is something to read.
bool whole_date(Findings& findings, const KeySpec& spec, const DatesFrom& from, YamlNode& cell);

/// @param dates what dates without year or time are read from; none: they must be whole.
/// @param most lines.
template <class T>
CsvTable<T> read_csv_table(std::string_view text, Findings& findings, const Table<T>& table,
                           const DatesFrom* dates = nullptr, std::size_t most = csv_most_rows) {
    CsvTable<T> out;
    auto parsed = parse_csv(text, findings, most);
    if (!parsed) return out;
    if (parsed->empty()) {
        findings.error(findings.whole_file(), "file-empty", "there is nothing in this file.",
                       "The first line names the columns.");
        return out;
    }
    std::vector<std::string> units;
    const char separator = csv_separator(text);
    const OwnHeadings own = own_headings(text, specs_of(table), findings);
    if (report_stray_heading(findings, specs_of(table), parsed->front(), own, separator))
        return out;
    out.columns = match_headings(findings, specs_of(table), parsed->front(), own, units);
    const auto read_cells = [&](const CsvRow& line, std::size_t cells, Findings& into, T& value) {
        for (std::size_t c = 0; c < cells; ++c) {
            if (out.columns[c].empty()) continue;
            const auto found = std::find_if(table.begin(), table.end(), [&](const Row<T>& r) {
                return r.spec.key == out.columns[c];
            });
            YamlNode node;
            node.kind = YamlNode::Kind::Text;
            node.place = line.cells[c].place;
            node.text = with_unit(found->spec, line.cells[c].text, units[c]);
            if (node.text.empty()) {
                if (!found->spec.required) continue;
                node.kind = YamlNode::Kind::Empty;
            }
            if (dates && !whole_date(into, found->spec, *dates, node)) continue;
            found->read(into, found->spec, node, value);
        }
    };
    // Where a line ends early, what is left out at its end is empty, if it may be; but only if all
    // that is there can be read: behind a cell that is left out in the middle something cannot.
    const auto ends_early = [&](const CsvRow& line) {
        if (line.cells.size() >= out.columns.size()) return false;
        CsvRow whole = line;
        whole.cells.resize(out.columns.size(), {"", line.place});
        Diagnostics unheard;
        Findings trial(findings.file(), unheard);
        T value{};
        read_cells(whole, whole.cells.size(), trial, value);
        return trial.count() == 0;
    };
    std::vector<StraySeparator> strays;
    for (std::size_t i = 1; i < parsed->size(); ++i) {
        CsvRow& line = (*parsed)[i];
        const int before = findings.count();
        const auto stray = line.cells.size() == out.columns.size()
                               ? std::nullopt
                               : stray_separator(line, out.columns.size(), separator);
        if (!stray && ends_early(line)) line.cells.resize(out.columns.size(), {"", line.place});
        const bool whole = line.cells.size() == out.columns.size();
        // Behind a cell too many or too few no value is where it seems to be: only what stands
        // first is read, so that the line still has its name.
        const std::size_t cells =
            whole ? out.columns.size() : std::min<std::size_t>(1, line.cells.size());
        if (stray) {
            line.cells[stray->cell].text.resize(stray->at);
            strays.push_back(*stray);
        } else if (!whole) {
            findings.error(line.place, "cell-count",
                           fmt::format("this line has {} cells, the first line names {} columns.",
                                       line.cells.size(), out.columns.size()),
                           "Put text with a comma or semicolon in it in double quotes.");
        }
        T value{};
        value.place = line.place;
        read_cells(line, cells, findings, value);
        out.sound.push_back(whole && findings.count() == before);
        out.values.push_back(std::move(value));
        out.rows.push_back(std::move(line));
    }
    report_stray_lines(findings, strays, separator);
    return out;
}

}  // namespace model::read
