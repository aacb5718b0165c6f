#pragma once
// orders.csv, frames.csv and weather.csv: the tables of their columns, and reading them.

#include <string_view>
#include <vector>

#include "model/read/csv_table.hpp"
#include "model/room/order.hpp"

namespace model::read {

/// One line of orders.csv, before lines are gathered into orders.
struct OrderRow {
    std::string order;
    std::optional<std::string> customer;
    std::optional<SimTime> due;
    std::optional<int> priority;
    int count = 1;
    std::optional<std::string> mesh;
    Area frame;
    std::string emulsion;
    std::string coat_plan;
    std::optional<Micrometres> finest_line;
    std::optional<LinesPerCm> ruling;
    std::optional<Area> image;
    std::optional<SimTime> film_ready;
    bool kept_stencil = false;
    std::optional<bool> hold;
    SourcePlace place;
    friend bool operator==(const OrderRow&, const OrderRow&) = default;
};

/// WeatherRow with its place.
struct WeatherLine {
    SimTime from{};
    Celsius temperature{};
    RelativeHumidity humidity{};
    SourcePlace place;
    friend bool operator==(const WeatherLine&, const WeatherLine&) = default;
};

inline constexpr int most_screens = 2000;  // of all orders together

const Table<OrderRow>& order_table();
const Table<FrameStock>& frame_table();
const Table<WeatherLine>& weather_table();

/// Gathers lines of one order; its due date, customer and priority stand in its first line at
/// least, and agree where they are repeated. Element i of `lines_of` lists the CSV lines of order
/// i. More screens than `most` are an error.
std::vector<Order> gather_orders(const CsvTable<OrderRow>& table, Findings& findings,
                                 std::vector<std::vector<std::size_t>>& lines_of,
                                 int most = most_screens);

}  // namespace model::read
