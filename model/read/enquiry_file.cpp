// How it works: enquiries are a table of columns like every other. An order is added as a line in
// the file's own separator and columns, and the result is read back and compared before it is
// given out.

#include "model/read/enquiry_file.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/read/bytes.hpp"
#include "model/read/order_file.hpp"
#include "model/read/priority_words.hpp"

namespace model::read {

const Table<EnquiryRow>& enquiry_table() {
    static const Table<EnquiryRow> table{
        row("order", &EnquiryRow::order,
            {.example = "B7",
             .help = "Lines with the same name are one enquiry; left out: named."}),
        row("job", &EnquiryRow::customer, {.example = "team shirts", .help = "Label."}),
        row("wanted", &EnquiryRow::wanted,
            {.example = "2026-11-27 11:00", .help = "What is the chance to have it by then?"}),
        with_priority_words(row("priority", &EnquiryRow::priority,
                                {.fallback = "1",
                                 .least = "1",
                                 .most = "9",
                                 .example = "3",
                                 .help = "Of the order once it is accepted."})),
        row("count", &EnquiryRow::count,
            {.required = true,
             .least = "1",
             .most = "64",
             .example = "4",
             .help = "Screens alike."}),
        row("mesh", &EnquiryRow::mesh,
            {.example = "120/cm", .help = "A name of the list of meshes, or a count."}),
        row("frame", &EnquiryRow::frame,
            {.required = true, .example = "58 x 84 cm", .help = "Outer size of the frame."}),
        row("emulsion", &EnquiryRow::emulsion,
            {.example = "dual-cure A",
             .help = "Left out: the one that the orders on this mesh use most."}),
        row("coat plan", &EnquiryRow::coat_plan,
            {.required = true, .example = "2+2", .help = "A name of the list of coat plans."}),
        row("finest line", &EnquiryRow::finest_line,
            {.example = "120 µm", .help = "Instead of a mesh: one is proposed."}),
        row("ruling", &EnquiryRow::ruling, {.example = "24 /cm", .help = "Halftone ruling."}),
        row("image", &EnquiryRow::image, {.example = "40 x 60 cm", .help = "Size of the image."}),
        row("film ready", &EnquiryRow::film_ready,
            {.example = "2026-11-26 09:30", .help = "When the film comes; left out: it is there."}),
        row("kept stencil", &EnquiryRow::kept_stencil,
            {.fallback = "no", .example = "yes", .help = "Repeat order with kept stencils."}),
    };
    return table;
}

std::optional<std::vector<EnquiryRow>> read_enquiries(const std::string& path,
                                                      Diagnostics& diagnostics,
                                                      const DatesFrom* dates) {
    const std::size_t errors_before = diagnostics.error_count();
    Findings findings(path, diagnostics);
    const auto text = load(path, csv_most_bytes, Missing::Error, findings);
    if (!text || !check_text(*text, findings)) return std::nullopt;
    auto table = read_csv_table(*text, findings, enquiry_table(), dates);
    if (diagnostics.error_count() > errors_before) return std::nullopt;
    if (table.values.empty()) {
        findings.error(findings.whole_file(), "no-enquiries", "there is no enquiry in this file.",
                       "Write one kind of screens per line below the first.");
        return std::nullopt;
    }
    return std::move(table.values);
}

namespace {

std::string with_blank(std::string time) {  // 2026-11-26 14:00 reads better than with a T
    if (time.size() > 10) time[10] = ' ';
    return time;
}

std::string value_of(const std::string& key, const Order& order, const ScreenLine& line,
                     bool first) {
    if (key == "order") return order.name;
    if (key == "job") return first ? order.customer : "";
    if (key == "due") return first ? with_blank(format_date_time(order.due)) : "";
    if (key == "priority") return first ? std::to_string(order.priority) : "";
    if (key == "count") return std::to_string(line.count);
    if (key == "mesh") return line.mesh.value_or("");
    if (key == "frame") return format_size(line.frame);
    if (key == "emulsion") return line.emulsion;
    if (key == "coat plan") return line.coat_plan;
    // What was asked in inches has more digits than a cell may have.
    if (key == "finest line" && line.finest_line)
        return fmt::format("{:.10g} µm", line.finest_line->value);
    if (key == "ruling" && line.ruling) return fmt::format("{:.10g} /cm", line.ruling->value);
    if (key == "image" && line.image) return format_size(*line.image);
    if (key == "film ready" && line.film_ready)
        return with_blank(format_date_time(*line.film_ready));
    if (key == "kept stencil") return line.kept_stencil ? "yes" : "";
    return "";
}

// The first column in which what was read back is another; empty: none.
std::string differs(const Order& read, const Order& meant) {
    if (read.lines.size() != meant.lines.size()) return "order";
    for (std::size_t l = 0; l < meant.lines.size(); ++l) {
        for (const char* key :
             {"order", "job", "due", "priority", "count", "mesh", "frame", "emulsion", "coat plan",
              "finest line", "ruling", "image", "film ready", "kept stencil"}) {
            if (value_of(key, read, read.lines[l], l == 0) !=
                value_of(key, meant, meant.lines[l], l == 0))
                return key;
        }
    }
    return {};
}

}  // namespace

std::optional<std::string> with_order(std::string_view text, const Order& order,
                                      std::string& problem) {
    Diagnostics diagnostics;
    Findings findings("orders.csv", diagnostics);
    const DatesFrom dates{midnight(date_of(order.due)), nullptr};
    const auto before = read_csv_table(text, findings, order_table(), &dates);
    if (diagnostics.has_errors() || before.columns.empty()) {
        problem = "orders.csv cannot be read.";
        return std::nullopt;
    }
    for (const auto& known : before.values) {
        if (known.order == order.name) {
            problem = "orders.csv has an order " + order.name + " already.";
            return std::nullopt;
        }
    }
    const char separator = csv_separator(text);
    std::string out(text);
    const std::string end = text.find("\r\n") != std::string_view::npos ? "\r\n" : "\n";
    if (!out.empty() && out.back() != '\n') out += end;
    for (std::size_t l = 0; l < order.lines.size(); ++l) {
        for (std::size_t c = 0; c < before.columns.size(); ++c) {
            if (c > 0) out += separator;
            out += csv_cell(value_of(before.columns[c], order, order.lines[l], l == 0), separator);
        }
        out += end;
    }
    // Read back, it must say the same: a column may be missing, a heading may carry a unit.
    Findings bytes("orders.csv", diagnostics);
    if (!check_text(out, bytes)) {
        problem = "a name holds bytes that are no UTF-8 text. Write it in plain letters.";
        return std::nullopt;
    }
    const auto after = read_csv_table(out, findings, order_table(), &dates);
    std::vector<std::vector<std::size_t>> lines_of;
    const auto orders = gather_orders(after, findings, lines_of);
    if (diagnostics.has_errors()) {
        problem =
            "its line in orders.csv could not be read: " + to_text(diagnostics.sorted().front());
        return std::nullopt;
    }
    const std::string other = orders.empty() ? "order" : differs(orders.back(), order);
    if (other.empty()) return out;
    const bool there =
        std::find(before.columns.begin(), before.columns.end(), other) != before.columns.end();
    problem = there ? "orders.csv would say another \"" + other + "\" than was asked for."
                    : "orders.csv lacks a column that the order needs: \"" + other + "\".";
    return std::nullopt;
}

namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

// Dates without a year are read as of any day: only names are asked for.
CsvTable<OrderRow> lines_of_orders(std::string_view text, Findings& findings) {
    if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
    static const DatesFrom any_day{SimTime{}, nullptr};
    return read_csv_table(text, findings, order_table(), &any_day);
}

}  // namespace

bool has_order(std::string_view text, const std::string& name) {
    Diagnostics diagnostics;
    Findings findings("orders.csv", diagnostics);
    const auto table = lines_of_orders(text, findings);
    return std::any_of(table.values.begin(), table.values.end(),
                       [&](const auto& row) { return row.order == name; });
}

std::optional<std::string> with_lines(std::string_view text, std::string_view lines,
                                      const std::string& name, std::string& problem) {
    while (!lines.empty() && (lines.front() == '\n' || lines.front() == '\r'))
        lines.remove_prefix(1);
    const auto count = static_cast<std::size_t>(std::count(lines.begin(), lines.end(), '\n'));
    std::string out(text);
    const std::string end = text.find("\r\n") != std::string_view::npos ? "\r\n" : "\n";
    if (!out.empty() && out.back() != '\n') out += end;
    out += lines;
    Diagnostics diagnostics;
    Findings findings("orders.csv", diagnostics);
    const auto table = lines_of_orders(out, findings);
    const auto mine =
        static_cast<std::size_t>(std::count_if(table.values.begin(), table.values.end(),
                                               [&](const auto& row) { return row.order == name; }));
    if (!diagnostics.has_errors() && mine == count && count > 0) return out;
    problem = diagnostics.has_errors() ? to_text(diagnostics.sorted().front())
                                       : "orders.csv has an order " + name + " already.";
    return std::nullopt;
}

}  // namespace model::read
