#include "model/read/room_file.hpp"

#include <fmt/format.h>

#include "model/room/step_names.hpp"

namespace model::read {

namespace {

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
            {.fallback = "1 m/s",
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
                   .help = "Steps that the person has learnt, or: everything."}),
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
             .help = "How long the person may stay when asked."}),
    };
    return table;
}

const Table<Emulsion>& exposure_table() {
    static const Table<Emulsion> table{
        row("time", &Emulsion::base_exposure,
            {.required = true,
             .least = "1 s",
             .most = "2 h",
             .example = "90 s",
             .help = "The time that a step wedge found right,"}),
        row("distance", &Emulsion::base_distance,
            {.required = true,
             .least = "1 cm",
             .most = "500 cm",
             .example = "110 cm",
             .help = "at this distance from a new lamp to the glass,"}),
        row("stencil", &Emulsion::base_stencil,
            {.required = true,
             .least = "1 µm",
             .most = "500 µm",
             .example = "20 µm",
             .help = "for a dry stencil of this thickness over undyed mesh, both sides together."}),
    };
    return table;
}

const Table<Emulsion>& emulsion_table() {
    static const Table<Emulsion> table{
        row("name", &Emulsion::name,
            {.required = true, .example = "dual blue", .help = "As orders.csv calls it."}),
        row("family", &Emulsion::family,
            {.required = true,
             .example = "dual-cure",
             .help = "Diazo and dual-cure are mixed from two parts; photopolymer comes ready."}),
        row("solids", &Emulsion::solids,
            {.fallback = "40 %",
             .least = "5 %",
             .most = "80 %",
             .example = "38 %",
             .help = "What stays when it is dry, by mass."}),
        row("wet film", &Emulsion::wet_film,
            {.fallback = "40 µm",
             .least = "1 µm",
             .most = "500 µm",
             .example = "40 µm",
             .help = "Of one coat, over the mesh, one side."}),
        row_as<DensityTrait>("density", &Emulsion::density,
                             {.fallback = "1.05 kg/l",
                              .least = "0.8 kg/l",
                              .most = "2 kg/l",
                              .example = "1.05 kg/l",
                              .help = "Of the liquid."}),
        row("pot life", &Emulsion::pot_life_room,
            {.least = "1 h",
             .most = "200 weeks",
             .example = "5 weeks",
             .help =
                 "After mixing, at room temperature; left out: 4 weeks, photopolymer no limit."}),
        row("pot life cold", &Emulsion::pot_life_cold,
            {.least = "1 h",
             .most = "200 weeks",
             .example = "12 weeks",
             .help = "After mixing, refrigerated; left out: 12 weeks, photopolymer no limit."}),
        row("batch", &Emulsion::batch,
            {.fallback = "1 l",
             .least = "10 ml",
             .most = "100 l",
             .example = "1 l",
             .help = "Volume that one mixing makes, or that one can holds."}),
        row("waste per coat", &Emulsion::waste_per_coat,
            {.fallback = "5 ml",
             .least = "0 ml",
             .most = "1 l",
             .example = "5 ml",
             .help = "Stays in the trough."}),
        row("critical moisture", &Emulsion::critical_moisture,
            {.fallback = "0.5",
             .least = "0.01",
             .most = "5",
             .example = "0.5",
             .help = "kg water per kg dry emulsion below which drying slows down; calibration."}),
        section_row(
            "exposure", exposure_table(),
            {.required = true, .help = "One calibrated exposure that all others are scaled from."}),
    };
    return table;
}

const Table<Pot>& pot_table() {
    static const Table<Pot> table{
        row("name", &Pot::name,
            {.required = true, .example = "pot 1", .help = "Written on the pot."}),
        row("emulsion", &Pot::emulsion,
            {.required = true, .example = "dual blue", .help = "A name of the list of emulsions."}),
        row("volume", &Pot::volume,
            {.required = true,
             .least = "0 ml",
             .most = "100 l",
             .example = "850 ml",
             .help = "What is left in it."}),
        row("mixed", &Pot::mixed,
            {.example = "2026-11-20 09:00",
             .help = "When it was mixed; left out: comes ready, or needs mixing."}),
        row("needs mixing", &Pot::needs_mixing,
            {.fallback = "no", .example = "yes", .help = "The two parts still stand apart."}),
        row("refrigerated", &Pot::refrigerated,
            {.fallback = "no", .example = "yes", .help = "Kept cold: lives longer."}),
    };
    return table;
}

const Table<Mesh>& mesh_table() {
    static const Table<Mesh> table{
        row("name", &Mesh::name,
            {.required = true,
             .example = "120-34",
             .help = "As orders.csv and frames.csv call it."}),
        row("count", &Mesh::count,
            {.required = true,
             .least = "5 /cm",
             .most = "250 /cm",
             .example = "120 /cm",
             .help = "Threads per length."}),
        row("thread", &Mesh::thread,
            {.required = true,
             .least = "10 µm",
             .most = "500 µm",
             .example = "34 µm",
             .help = "Diameter of the thread."}),
        row("fabric", &Mesh::fabric,
            {.least = "15 µm",
             .most = "1000 µm",
             .example = "55 µm",
             .help = "Thickness of the mesh; left out: 1.5 threads."}),
        row("dyed", &Mesh::dyed,
            {.fallback = "no", .example = "yes", .help = "Dyed mesh needs more light."}),
        row("dyed factor", &Mesh::dyed_factor,
            {.fallback = "1.75",
             .least = "1",
             .most = "4",
             .example = "1.75",
             .help = "How much more."}),
    };
    return table;
}

const Table<CoatPlan>& coat_plan_table() {
    static const Table<CoatPlan> table{
        row("name", &CoatPlan::name,
            {.required = true, .example = "2+2", .help = "As orders.csv calls it."}),
        row("print side", &CoatPlan::print_side,
            {.required = true,
             .least = "1",
             .most = "2",
             .example = "2",
             .help = "Coats wet on wet on the print side."}),
        row("squeegee side", &CoatPlan::squeegee_side,
            {.required = true,
             .least = "1",
             .most = "5",
             .example = "2",
             .help = "Then wet on wet on the squeegee side."}),
        row("face coats", &CoatPlan::face,
            {.fallback = "0",
             .least = "0",
             .most = "6",
             .example = "2",
             .help = "Further coats on the dried print side, each dried again."}),
        row("coat time", &CoatPlan::coat,
            {.least = "10 s",
             .most = "1 h",
             .example = "4 min",
             .help = "At the stand, all wet coats; left out: the time of the step coat."}),
        row("drying time", &CoatPlan::dry_coat,
            {.least = "1 min",
             .most = "24 h",
             .example = "40 min",
             .help =
                 "Typed drying time; left out: computed from the air, or the time of dry coat."}),
        row("face drying time", &CoatPlan::dry_face,
            {.least = "1 min",
             .most = "24 h",
             .example = "25 min",
             .help = "The same for one face coat."}),
    };
    return table;
}

const Table<Air>& air_table() {
    static const Table<Air> table{
        row("temperature", &Air::temperature,
            {.required = true,
             .least = "-30 °C",
             .most = "50 °C",
             .example = "21 °C",
             .help = "Of the air in the room."}),
        row("humidity", &Air::humidity,
            {.required = true,
             .least = "1 %",
             .most = "100 %",
             .example = "55 %",
             .help = "Relative humidity."}),
    };
    return table;
}

const Table<Climate>& climate_table() {
    static const Table<Climate> table = [] {
        Table<Climate> rows{
            group_row("air", &Climate::air, air_table(),
                      {.required = true, .help = "The room's air where weather.csv has none."}),
            row("pressure", &Climate::pressure,
                {.fallback = "1013.25 hPa",
                 .least = "500 hPa",
                 .most = "1100 hPa",
                 .example = "1013 hPa",
                 .help = "Of the air; or give the altitude."}),
            row_as<AltitudeTrait>(
                "altitude", &Climate::pressure,
                {.example = "120 m", .help = "Above the sea, instead of pressure."}),
        };
        Row<Climate> days{
            spec_of("named days", Kind::NamedGroup,
                    {.example = "{damp: {temperature: 24 °C, humidity: 75 %}}",
                     .help = "Kinds of day to plan for, under your own names (dry, usual, damp)."}),
            [](Findings& findings, const KeySpec& spec, const YamlNode& node, Climate& out) {
                if (!expect_mapping(findings, node, spec.key)) return;
                for (std::size_t i = 0; i < node.keys.size() && i < node.items.size(); ++i) {
                    if (node.keys[i].kind != YamlNode::Kind::Text) continue;
                    read_mapping(findings, air_table(), node.items[i], node.keys[i].text,
                                 out.named_days[node.keys[i].text]);
                }
            }};
        days.spec.inner = specs_of(air_table());
        rows.push_back(std::move(days));
        return rows;
    }();
    return table;
}

const Table<Limits>& limits_table() {
    static const Table<Limits> table{
        row("remover at most", &Limits::remover_max,
            {.fallback = "5 min",
             .least = "1 min",
             .most = "5 min",
             .example = "5 min",
             .help = "From remover on to rinse; if it dries, the stencil can become permanent."}),
        row("remover at least", &Limits::remover_min,
            {.fallback = "2 min",
             .least = "0 s",
             .most = "5 min",
             .example = "2 min",
             .help = "How long the remover must work."}),
        row("degreased to coated", &Limits::dry_to_coat,
            {.fallback = "4 h",
             .least = "10 min",
             .most = "1 week",
             .example = "4 h",
             .help = "From dry mesh to coat, so that dust has little time to settle."}),
        row("exposed to washed out", &Limits::expose_to_wash,
            {.fallback = "30 min",
             .least = "1 min",
             .most = "24 h",
             .example = "30 min",
             .help = "From the end of the exposure to the start of washing out."}),
        row("coated shelf life", &Limits::coated_shelf,
            {.fallback = "4 weeks",
             .least = "1 h",
             .most = "52 weeks",
             .example = "4 weeks",
             .help = "From dry coat to exposure, in the dark."}),
        row("dry at most", &Limits::dry_at_most,
            {.fallback = "40 °C",
             .least = "20 °C",
             .most = "40 °C",
             .example = "40 °C",
             .help = "Hottest drying air allowed."}),
        row("two people above", &Limits::two_people_from,
            {.example = "90 x 120 cm",
             .help = "Frames larger than this in either side are carried and worked on by two."}),
    };
    return table;
}

bool dries_unattended(Step step) {
    return step == Step::DryMesh || step == Step::DryCoat || step == Step::DryFace ||
           step == Step::DryStencil || step == Step::DryTouchUp;
}

void read_times(Findings& findings, const KeySpec& spec, const YamlNode& node, Room& room) {
    if (!expect_mapping(findings, node, spec.key)) return;
    for (std::size_t i = 0; i < node.keys.size() && i < node.items.size(); ++i) {
        if (node.keys[i].kind != YamlNode::Kind::Text) continue;
        const std::string& word = node.keys[i].text;
        const std::optional<Step> step = step_of(word);
        if (!step) {
            std::vector<std::string> known;
            for (const KeySpec& inner : spec.inner)
                known.push_back(inner.key);
            report_unknown_key(findings, known, node.keys[i], spec.key);
            continue;
        }
        StepTime time;
        if (node.items[i].kind == YamlNode::Kind::Mapping) {
            read_mapping(findings, step_time_table(), node.items[i], word, time);
        } else {
            // One time alone: the person's, or of a drying step the cabinet's.
            KeySpec value = step_time_table().front().spec;
            value.key = word;
            if (dries_unattended(*step)) value.most = "24 h";
            const auto read = read_one<Seconds>(findings, value, node.items[i]);
            if (!read) continue;
            (dries_unattended(*step) ? time.stand : time.attended) = *read;
        }
        room.steps[*step] = time;
    }
}

Row<Room> times_row() {
    Row<Room> row{
        spec_of("times", Kind::StepTimes,
                {.example = "{wash out: 4 min, haze: {attended: 4 min, stands: 5 min}}",
                 .help = "Times of steps; what is not named has the usual time of the trade."}),
        read_times};
    for (const StepWord& word : step_words()) {
        if (!step_of(word.word)) continue;
        KeySpec spec = spec_of(std::string(word.word), Kind::Group, {});
        spec.inner = specs_of(step_time_table());
        row.spec.inner.push_back(std::move(spec));
    }
    return row;
}

// Published practice: mixed emulsion lives 4 to 6 weeks, refrigerated up to 3 months; the shorter
// figures are the safe ones. 0 = no limit (photopolymer comes ready).
void fill_pot_life(Emulsion& emulsion) {
    if (emulsion.family == EmulsionFamily::Photopolymer) return;
    if (emulsion.pot_life_room == Seconds{0}) emulsion.pot_life_room = hours(24 * 28);
    if (emulsion.pot_life_cold == Seconds{0}) emulsion.pot_life_cold = hours(24 * 84);
}

}  // namespace

const Table<StepTime>& step_time_table() {
    static const Table<StepTime> table{
        row("attended", &StepTime::attended,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "4 h",
             .example = "4 min",
             .help = "A person is there the whole time."}),
        row("stands", &StepTime::stand,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "24 h",
             .example = "5 min",
             .help = "After that: paste works, screen soaks, paint or layer dries."}),
        row("spread", &StepTime::spread,
            {.least = "0 s",
             .most = "4 h",
             .example = "45 s",
             .help = "How far the time varies to either side, for studies."}),
    };
    return table;
}

const Table<Room>& room_table() {
    static const Table<Room> table{
        row("room", &Room::name,
            {.required = true, .example = "Demo room", .help = "Name on the sheets."}),
        row("invented", &Room::invented,
            {.fallback = "no", .example = "yes", .help = "Demonstration data say so."}),
        groups_row("stations", &Room::stations, station_table(),
                   {.required = true, .help = "Places where steps happen."}),
        groups_row("people", &Room::people, person_table(),
                   {.required = true, .help = "Who works in the room, and when."}),
        groups_row("meshes", &Room::meshes, mesh_table(),
                   {.required = true, .help = "Meshes that frames are stretched with."}),
        groups_row("emulsions", &Room::emulsions, emulsion_table(),
                   {.required = true, .help = "Emulsions that are coated."}),
        groups_row("pots", &Room::pots, pot_table(),
                   {.help = "Emulsion that is there at the start."}),
        groups_row("coat plans", &Room::coat_plans, coat_plan_table(),
                   {.required = true, .help = "Ways of coating."}),
        times_row(),
        row("haze share", &Room::haze_share,
            {.fallback = "30 %",
             .least = "0 %",
             .most = "100 %",
             .example = "30 %",
             .help =
                 "Of reclaimed screens that need the haze step where frames.csv does not say."}),
        group_row("climate", &Room::climate, climate_table(),
                  {.help = "Air of the room; left out: typed drying times everywhere."}),
        group_row("limits", &Room::limits, limits_table(),
                  {.help = "Times and sizes never to be passed."}),
        list_row("aims", &Room::aims,
                 {.example = "[tardiness, late orders, overtime, finish, holding]",
                  .help = "What a plan is judged by, the most important first."}),
    };
    return table;
}

bool read_room(std::string_view text, Findings& findings, Room& room, YamlNode& tree) {
    auto parsed = parse_yaml(text, findings);
    if (!parsed) return false;
    tree = std::move(*parsed);
    if (tree.kind == YamlNode::Kind::Empty) {
        findings.error(findings.whole_file(), "file-empty", "there is nothing in this file.",
                       "Begin with room: and a name.");
        return false;
    }
    if (tree.kind != YamlNode::Kind::Mapping) {
        expect_mapping(findings, tree, "");
        return false;
    }
    room.place = tree.place;
    read_mapping(findings, room_table(), tree, "", room);
    for (Emulsion& emulsion : room.emulsions)
        fill_pot_life(emulsion);
    return true;
}

}  // namespace model::read
