// Every simulated day of a size study as a table.

#include <fmt/format.h>

#include "sched/size/size.hpp"

namespace sched::study {

std::string days_to_csv(const SizeHead& head, std::span<const SizeDay> days) {
    const auto quoted = [](const std::string& text) {
        std::string out = "\"";
        for (const char c : text)
            out += c == '"' ? std::string("\"\"") : std::string(1, c);
        return out + "\"";
    };
    std::string text =
        "room,volume_percent,day,kind,past_day,complete,orders,screens,same_day_screens,late,"
        "tardiness_h,"
        "turnaround_p90_h,flow_h,overtime_h,energy_kwh,cost,currency,busiest,busiest_share,next,"
        "next_share\n";
    for (const auto& d : days) {
        const auto& room = head.rooms[static_cast<std::size_t>(d.option)];
        const auto name = [&](int r) {
            return r < 0 ? std::string{} : quoted(room.resources[static_cast<std::size_t>(r)]);
        };
        text +=
            fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n",
                        quoted(room.name), 100.0 * head.volumes[static_cast<std::size_t>(d.volume)],
                        d.day, quoted(head.kinds[static_cast<std::size_t>(d.kind)].name),
                        d.past < 0 ? std::string{} : std::to_string(d.past + 1), d.complete ? 1 : 0,
                        d.orders, d.screens, d.same_day, d.late, d.tardiness_h, d.turnaround_p90_h,
                        d.flow_h, d.overtime_h, d.energy_kwh, d.cost, head.prices.currency,
                        name(d.busiest), d.busiest_share, name(d.next), d.next_share);
    }
    return text;
}

}  // namespace sched::study
