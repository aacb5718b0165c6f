// Tables of columns for orders, frames and weather; then lines of one order are gathered, and
// what they say about the order itself must agree.

#include "model/read/order_file.hpp"

#include <map>

#include "model/read/priority_words.hpp"

namespace model::read {

const Table<OrderRow>& order_table() {
    static const Table<OrderRow> table{
        row("order", &OrderRow::order,
            {.required = true,
             .example = "A17",
             .help = "Name of the order; lines with the same name belong together."}),
        row("job", &OrderRow::customer,
            {.example = "team shirts", .help = "Label; in the first line of an order or in each."}),
        row("due", &OrderRow::due,
            {.example = "2026-11-26 14:00",
             .help =
                 "When all its screens must be ready; in the first line of an order or in each."}),
        with_priority_words(
            row("priority", &OrderRow::priority,
                {.least = "1",
                 .most = "9",
                 .example = "3",
                 .help = "9 weighs most when something must be late; normal is 1, important 5, "
                         "urgent 9; left out: 1."})),
        row("count", &OrderRow::count,
            {.required = true,
             .least = "1",
             .most = "64",
             .example = "4",
             .help = "Screens alike."}),
        row("mesh", &OrderRow::mesh,
            {.example = "120-34",
             .help = "A name of the list of meshes, or a count that one of them has (120 /cm); "
                     "left out: "
                     "proposed from finest line or ruling."}),
        row("frame", &OrderRow::frame,
            {.required = true,
             .example = "58 x 84 cm",
             .help = "Outer size of the frame, as in frames.csv."}),
        row("emulsion", &OrderRow::emulsion,
            {.required = true,
             .example = "dual-cure A",
             .help = "A name of the list of emulsions."}),
        row("coat plan", &OrderRow::coat_plan,
            {.required = true, .example = "2+2", .help = "A name of the list of coat plans."}),
        row("finest line", &OrderRow::finest_line,
            {.least = "1 µm",
             .most = "50 mm",
             .example = "120 µm",
             .help = "Finest positive or negative line of the film."}),
        row("ruling", &OrderRow::ruling,
            {.least = "5 /cm", .most = "120 /cm", .example = "24 /cm", .help = "Halftone ruling."}),
        row("image", &OrderRow::image,
            {.example = "40 x 60 cm", .help = "Size of the image on the film."}),
        row("film ready", &OrderRow::film_ready,
            {.example = "2026-11-26 09:30", .help = "When the film comes; left out: it is there."}),
        row("kept stencil", &OrderRow::kept_stencil,
            {.fallback = "no",
             .example = "yes",
             .help = "Repeat order whose stencils were kept: they are only inspected."}),
        row("hold", &OrderRow::hold,
            {.example = "yes",
             .help = "On hold: the order is left out of everything until this is taken away; in "
                     "the first line of an order or in each."}),
    };
    return table;
}

const Table<FrameStock>& frame_table() {
    static const Table<FrameStock> table{
        row("size", &FrameStock::size,
            {.required = true, .example = "58 x 84 cm", .help = "Outer size of the frame."}),
        row("mesh", &FrameStock::mesh,
            {.required = true, .example = "120-34", .help = "A name of the list of meshes."}),
        row("state", &FrameStock::state,
            {.required = true, .example = "old stencil", .help = "What must be done to it first."}),
        row("count", &FrameStock::count,
            {.required = true,
             .least = "1",
             .most = "500",
             .example = "6",
             .help = "Frames alike."}),
        row("haze", &FrameStock::haze,
            {.example = "yes",
             .help =
                 "Whether used frames need the haze step; left out: by the room's haze share."}),
        row("coated dry", &FrameStock::coated_dry,
            {.example = "2026-11-25 17:00", .help = "Of a coated frame: dry since."}),
        row("emulsion", &FrameStock::emulsion,
            {.example = "dual-cure A", .help = "Of a coated frame: with this emulsion"}),
        row("coat plan", &FrameStock::coat_plan, {.example = "2+2", .help = "and this coat plan."}),
        row("order", &FrameStock::order,
            {.example = "A17", .help = "Of a kept stencil: the order that it belongs to."}),
        row("from", &FrameStock::from,
            {.example = "2026-11-26 11:00",
             .help = "When it comes back from the press; left out: it is there."}),
    };
    return table;
}

const Table<WeatherLine>& weather_table() {
    static const Table<WeatherLine> table{
        row("time", &WeatherLine::from,
            {.required = true,
             .example = "2026-11-26 06:00",
             .help = "From when on; the values hold until the next line."}),
        row("temperature", &WeatherLine::temperature,
            {.required = true,
             .least = "-30 °C",
             .most = "50 °C",
             .example = "19.5 °C",
             .help = "Of the air that the cabinets take in."}),
        row("humidity", &WeatherLine::humidity,
            {.required = true,
             .least = "1 %",
             .most = "100 %",
             .example = "62 %",
             .help = "Relative humidity of it."}),
    };
    return table;
}

namespace {

// Takes a value of the order from a further line, or reports that it differs.
template <class M>
void agree(const CsvTable<OrderRow>& table, std::size_t line, std::string_view key,
           const std::optional<M>& here, std::optional<M>& whole, int first_line,
           Findings& findings) {
    if (!here) return;
    if (!whole) {
        whole = here;
    } else if (*whole != *here) {
        findings.error(table.place(line, key), "order-disagrees",
                       fmt::format("order {}: another {} stands in line {}.",
                                   in_quotes(table.values[line].order), key, first_line),
                       "Give it once, or the same in every line of the order.");
    }
}

}  // namespace

std::vector<Order> gather_orders(const CsvTable<OrderRow>& table, Findings& findings,
                                 std::vector<std::vector<std::size_t>>& lines_of, int most) {
    struct Whole {
        std::optional<SimTime> due;
        std::optional<int> priority;
        std::optional<std::string> customer;
        std::optional<bool> hold;
    };
    std::map<std::string, std::size_t> known;
    std::vector<Order> orders;
    std::vector<Whole> wholes;
    int screens = 0;
    for (std::size_t i = 0; i < table.values.size(); ++i) {
        const OrderRow& line = table.values[i];
        if (line.order.empty()) continue;
        const auto [at, fresh] = known.emplace(line.order, orders.size());
        if (fresh) {
            orders.emplace_back();
            orders.back().name = line.order;
            orders.back().place = table.place(i, "order");
            orders.back().due_place = table.place(i, "due");
            wholes.emplace_back();
            lines_of.emplace_back();
        }
        const std::size_t o = at->second;
        const int first_line = orders[o].place.line;
        agree(table, i, "due", line.due, wholes[o].due, first_line, findings);
        agree(table, i, "priority", line.priority, wholes[o].priority, first_line, findings);
        agree(table, i, "job", line.customer, wholes[o].customer, first_line, findings);
        agree(table, i, "hold", line.hold, wholes[o].hold, first_line, findings);
        ScreenLine screen;
        screen.count = line.count;
        screen.mesh = line.mesh;
        screen.frame = line.frame;
        screen.emulsion = line.emulsion;
        screen.coat_plan = line.coat_plan;
        screen.finest_line = line.finest_line;
        screen.ruling = line.ruling;
        screen.image = line.image;
        screen.film_ready = line.film_ready;
        screen.kept_stencil = line.kept_stencil;
        screen.place = line.place;
        orders[o].lines.push_back(std::move(screen));
        lines_of[o].push_back(i);
        const int before = screens;
        screens += line.count;
        if (before <= most && screens > most) {
            findings.error(table.place(i, "count"), "too-many-screens",
                           fmt::format("the orders ask for more than {} screens.", most),
                           "Plan a shorter time at once.");
        }
    }
    for (std::size_t o = 0; o < orders.size(); ++o) {
        orders[o].customer = wholes[o].customer.value_or("");
        orders[o].priority = wholes[o].priority.value_or(1);
        orders[o].hold = wholes[o].hold.value_or(false);
        if (wholes[o].due) {
            orders[o].due = *wholes[o].due;
        } else if (table.sound[lines_of[o].front()]) {
            findings.error(
                orders[o].place, "due-missing",
                fmt::format("order {} has no due date and time.", in_quotes(orders[o].name)),
                "Write it in the column due of this line, like 2026-11-26 14:00.");
        }
    }
    return orders;
}

}  // namespace model::read
