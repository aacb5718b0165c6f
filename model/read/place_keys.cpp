// One row a key: name, kind, limits, default, help and member, for cabinet air, lamps, stations,
// walks and people. Readers, schema and docs walk these rows.

#include "model/read/room_tables.hpp"

namespace model::read {

const Table<CabinetAir>& cabinet_air_table() {
    static const Table<CabinetAir> table{
        row("temperature", &CabinetAir::temperature,
            {.fallback = "38 °C",
             .least = "10 °C",
             .example = "38 °C",
             .help = "Setting of the drying air; above 40 °C is refused because it hardens the "
                     "layer."}),
        row("fresh air", &CabinetAir::supply,
            {.required = true,
             .least = "1 m³/h",
             .most = "100000 m³/h",
             .example = "900 m³/h",
             .help = "Air from the room that the fan brings in; not what goes round inside."}),
        row("recirculated", &CabinetAir::recirculated,
            {.fallback = "0 %",
             .least = "0 %",
             .most = "95 %",
             .example = "60 %",
             .help = "Share of the moved air that goes round."}),
        row("speed", &CabinetAir::speed,
            {.fallback = "0.7 m/s",
             .least = "0.05 m/s",
             .most = "10 m/s",
             .example = "1.5 m/s",
             .help = "Air speed along the screens."}),
        row("heater", &CabinetAir::heater,
            {.least = "10 W",
             .most = "100 kW",
             .example = "3 kW",
             .help = "Power of the heater; left out: always enough."}),
        row("dehumidified to", &CabinetAir::dehumidified_to,
            {.least = "1 %",
             .most = "100 %",
             .example = "35 %",
             .help = "Relative humidity that the dehumidifier brings the fresh air down to."}),
        row("transfer factor", &CabinetAir::transfer_factor,
            {.fallback = "1",
             .least = "0.2",
             .most = "5",
             .example = "1.15",
             .help = "Calibration of the drying speed, found from observed drying times."}),
    };
    return table;
}

const Table<Lamp>& lamp_table() {
    static const Table<Lamp> table{
        row("kind", &Lamp::kind,
            {.required = true, .example = "metal halide", .help = "Source of the light."}),
        row("distance", &Lamp::distance,
            {.required = true,
             .least = "1 cm",
             .most = "500 cm",
             .example = "110 cm",
             .help = "From lamp to glass."}),
        row_as<HoursTrait>("hours", &Lamp::hours,
                           {.fallback = "0 h",
                            .least = "0 h",
                            .most = "100000 h",
                            .example = "320 h",
                            .help = "Burnt since the lamp was changed."}),
        row_as<ShareTrait>("output after 1000 h", &Lamp::output_at_1000_h,
                           {.fallback = "70 %",
                            .least = "5 %",
                            .most = "100 %",
                            .example = "70 %",
                            .help = "What an aged lamp still gives, of a new one."}),
        row("integrator", &Lamp::integrator,
            {.fallback = "no",
             .example = "yes",
             .help = "The unit counts light itself and so corrects for ageing."}),
        row("warm-up", &Lamp::warm_up,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "1 h",
             .example = "5 min",
             .help = "Once, before the first exposure of a run."}),
        row("draw-down", &Lamp::draw_down,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "30 min",
             .example = "90 s",
             .help = "Vacuum drawn before each exposure, shared ones once; nobody needed."}),
    };
    return table;
}

const Table<Station>& station_table() {
    static const Table<Station> table{
        row("name", &Station::name,
            {.required = true,
             .example = "drying cabinet",
             .help = "Your own name for the place."}),
        steps_row("does", &Station::does, false,
                  {.required = true,
                   .example = "[dry mesh, dry coat, dry stencil]",
                   .help = "Steps that can be done here (see the list of steps)."}),
        row("slots", &Station::places,
            {.fallback = "1",
             .least = "1",
             .most = "500",
             .example = "12",
             .help = "Screens at once: slots of a cabinet or rack, work places of a sink."}),
        row("light-safe", &Station::light_safe,
            {.fallback = "no",
             .example = "yes",
             .help =
                 "Yellow safelight only; needed wherever a screen is coated and not washed out."}),
        row("largest frame", &Station::largest_frame,
            {.example = "90 x 120 cm", .help = "Larger frames do not fit; left out: any fits."}),
        row("two slots above", &Station::double_from,
            {.example = "70 x 100 cm",
             .help = "Frames larger than this in either side take two slots."}),
        group_row("air", &Station::air, cabinet_air_table(),
                  {.help = "A cabinet's air: drying is then computed, not typed in."}),
        group_row("lamp", &Station::lamp, lamp_table(), {.help = "Lamp of an exposure unit."}),
        row("blanket", &Station::blanket,
            {.example = "110 x 140 cm",
             .help =
                 "Usable area of an exposure unit; several screens may share an exposure on it."}),
        list_row("closed", &Station::closed,
                 {.example = "2026-11-26 12:00 to 13:30", .help = "When it is out of service."}),
        row("walk", &Station::walk,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "1 h",
             .example = "30 s",
             .help = "Added to the attended time of every step done here."}),
        row("stands in", &Station::stands_in,
            {.example = "dark room",
             .help = "Part of the premises, as `walks` calls it; left out: no time to walk."}),
        row("beside", &Station::beside,
            {.example = "drying cabinet",
             .help = "A station next to it: from one to the other nobody walks. A rack stands "
                     "beside the first drying cabinet unless it says another one, or none."}),
    };
    return table;
}

const Table<Walk>& walk_table() {
    static const Table<Walk> table{
        row("from", &Walk::from,
            {.required = true, .example = "wet area", .help = "Where stations stand in."}),
        row("to", &Walk::to,
            {.required = true, .example = "dark room", .help = "Another such part."}),
        row("time", &Walk::time,
            {.required = true,
             .least = "1 s",
             .most = "1 h",
             .example = "40 s",
             .help = "A person carries a screen so long, back as well."}),
        row("one way", &Walk::one_way,
            {.fallback = "no",
             .example = "yes",
             .help = "The way back is another, or not gone: a row of its own says how long."}),
    };
    return table;
}

const Table<Person>& person_table() {
    static const Table<Person> table{
        row("name", &Person::name,
            {.required = true, .example = "Ada", .help = "A first name or a role."}),
        steps_row("can", &Person::can, true,
                  {.required = true,
                   .example = "[coat, face coat, expose]",
                   .help = "Steps that the person has learnt, or: everything, or: everything but "
                           "exposing. Carrying is no skill: "
                           "whoever is there hangs a screen up and takes it out."}),
        list_row("shifts", &Person::shifts,
                 {.required = true,
                  .example = "Mon-Fri 06:00-14:30",
                  .help = "Weekdays and hours; an end before the start is on the next day."}),
        list_row("breaks", &Person::breaks,
                 {.example = "30 min at 12:00",
                  .help = "Fixed (at a time) or floating (between two times)."}),
        list_row("absent", &Person::absent,
                 {.example = "2026-11-27", .help = "Days on which the person is not there."}),
        row("overtime", &Person::overtime,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "6 h",
             .example = "1 h",
             .help = "How long the person may stay after the last shift of a day, when asked."}),
    };
    return table;
}

}  // namespace model::read
