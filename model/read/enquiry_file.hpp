#pragma once
// A CSV of enquiries, one kind of screens a line, and orders.csv with one more order in it. The
// words of meshes, frames and coat plans are looked up later (sched/promise/enquiry.hpp).

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/read/csv_table.hpp"
#include "model/room/order.hpp"

namespace model::read {

/// One line. Lines with the same order name belong together; without a name each is its own.
struct EnquiryRow {
    std::string order;
    std::string customer;
    std::optional<SimTime> wanted;
    int priority = 1;
    int count = 1;
    std::string mesh;
    std::string frame;
    std::string emulsion;
    std::string coat_plan;
    std::string finest_line;
    std::string ruling;
    std::string image;
    std::optional<SimTime> film_ready;
    bool kept_stencil = false;
    SourcePlace place;
    friend bool operator==(const EnquiryRow&, const EnquiryRow&) = default;
};

const Table<EnquiryRow>& enquiry_table();

/// @param dates what dates without year or time are read from; none: they must be whole.
/// @returns nullopt when `diagnostics` got an error.
std::optional<std::vector<EnquiryRow>> read_enquiries(const std::string& path,
                                                      Diagnostics& diagnostics,
                                                      const DatesFrom* dates = nullptr);

/// The text of orders.csv with the order's lines at its end, in the columns and with the separator
/// that the file has; everything else stays byte for byte. Read back, it is the orders of `text`
/// and then `order`. @returns nullopt with `problem` when a column that the order needs is missing
/// or `text` is no such file.
std::optional<std::string> with_order(std::string_view text, const Order& order,
                                      std::string& problem);

/// Whether orders.csv has a line of the order.
bool has_order(std::string_view text, const std::string& name);

/// The text of orders.csv with `lines` at its end, which with_order made for it or for an earlier
/// version of it; read back, they are the last order, `name`, alone. @returns nullopt with
/// `problem`.
std::optional<std::string> with_lines(std::string_view text, std::string_view lines,
                                      const std::string& name, std::string& problem);

}  // namespace model::read
