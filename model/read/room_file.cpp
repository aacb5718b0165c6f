// The groups of room.yaml as tables, one row a key, put together in room_table; then what depends
// on several keys is filled in (times of steps, the life of pots).

#include "model/read/room_file.hpp"

#include <fmt/format.h>

#include "model/physics/exposure.hpp"
#include "model/read/room_tables.hpp"
#include "model/room/steps.hpp"

namespace model::read {

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
                    const YamlNode& name = node.keys[i];
                    if (!read_one<std::string>(findings, spec, name)) continue;
                    read_mapping(findings, air_table(), node.items[i], name.text,
                                 out.named_days[name.text]);
                }
            }};
        days.spec.inner = specs_of(air_table());
        rows.push_back(std::move(days));
        return rows;
    }();
    return table;
}

const Table<DryingLaw>& drying_table() {
    static const Table<DryingLaw> table{
        row("final moisture", &DryingLaw::final_moisture,
            {.fallback = "0.08",
             .least = "0.01",
             .most = "1",
             .example = "0.08",
             .help = "kg water per kg dry emulsion at which a coat counts as dry."}),
        row("sorption", &DryingLaw::sorption,
            {.fallback = "0.1",
             .least = "0",
             .most = "1",
             .example = "0.1",
             .help = "Moisture that dry emulsion keeps in saturated air, kg per kg; in proportion "
                     "below."}),
        row("grams after rinsing", &DryingLaw::mesh_water,
            {.fallback = "100",
             .least = "1",
             .most = "1000",
             .example = "100",
             .help = "Water on a square metre of rinsed mesh, both faces together."}),
        row("grams after wash-out", &DryingLaw::stencil_water,
            {.fallback = "110",
             .least = "1",
             .most = "1000",
             .example = "110",
             .help = "The same after washing out."}),
        row("frame bar", &DryingLaw::frame_profile,
            {.fallback = "4 cm",
             .least = "1 cm",
             .most = "15 cm",
             .example = "4 cm",
             .help = "Width of a frame's bar: only the mesh inside is wet."}),
    };
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
        row("coated to drying", &Limits::coat_to_dry,
            {.fallback = "20 min",
             .least = "5 min",
             .most = "24 h",
             .example = "20 min",
             .help = "From a coat that has stood its time to drying: wet emulsion sags and takes "
                     "dust."}),
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
        row("same dose within", &Limits::dose_tolerance,
            {.fallback = "5 %",
             .least = "0 %",
             .most = "50 %",
             .example = "5 %",
             .help = "Screens whose exposures differ by no more may share one."}),
        row("gap on the blanket", &Limits::blanket_gap,
            {.fallback = "2 cm",
             .least = "0 cm",
             .most = "50 cm",
             .example = "2 cm",
             .help = "Between frames that share an exposure."}),
        row("dry at most", &Limits::dry_at_most,
            {.fallback = "40 °C",
             .least = "20 °C",
             .most = "40 °C",
             .example = "40 °C",
             .help = "Hottest drying air allowed."}),
        row("two people above", &Limits::two_people_from,
            {.example = "90 x 120 cm",
             .help =
                 "Frames larger than this in either side are lifted by two: hung up, taken out, "
                 "laid on the exposure unit and taken off it."}),
        steps_row("two people for", &Limits::two_people_for, true,
                  {.example = "everything",
                   .help = "Steps of such frames that take two; take out stands for all carrying. "
                           "Left out: take out, expose."}),
    };
    return table;
}

namespace {

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
        // Whatever dries has been hung up by somebody.
        if (dries_alone(*step)) time.attended = row_of(*step).usual.attended;
        if (node.items[i].kind == YamlNode::Kind::Mapping) {
            read_mapping(findings, step_time_table(), node.items[i], word, time);
            time.stand_said = !dries_alone(*step) || node.items[i].find("stands") != nullptr;
        } else {
            // One time alone: the person's, or of a drying step the cabinet's.
            KeySpec value = step_time_table().front().spec;
            value.key = word;
            if (dries_alone(*step)) value.most = "24 h";
            const auto read = read_one<Seconds>(findings, value, node.items[i]);
            if (!read) continue;
            (dries_alone(*step) ? time.stand : time.attended) = *read;
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

// Weights into volumes: what was read as water weighs `density` kg a cubic metre.
void weigh(Millilitres& volume, bool& weighed, const Emulsion& emulsion) {
    if (weighed) volume.value *= 1000.0 / emulsion.density;
    weighed = false;
}

void fill_volumes(Room& room) {
    for (Emulsion& e : room.emulsions) {
        weigh(e.batch, e.batch_weighed, e);
        for (Pot& pot : room.pots) {
            if (pot.emulsion == e.name) weigh(pot.volume, pot.weighed, e);
        }
    }
}

}  // namespace

const Table<TimeException>& time_exception_table() {
    static const Table<TimeException> table{
        list_row("at", &TimeException::at,
                 {.example = "coating machine", .help = "Stations; left out: at all of them."}),
        row("frames above", &TimeException::frames_from,
            {.example = "70 x 100 cm",
             .help = "Frames larger than this in either side; left out: all."}),
        list_row("by", &TimeException::by,
                 {.example = "Ben", .help = "People; left out: whoever does it."}),
        row("attended", &TimeException::attended,
            {.least = "0 s",
             .most = "4 h",
             .example = "1 min",
             .help = "A person is there so long; left out: as without the exception."}),
        row("stands", &TimeException::stand,
            {.least = "0 s",
             .most = "24 h",
             .example = "6 min",
             .help = "Then it stands alone so long; left out: as without the exception."}),
    };
    return table;
}

const Table<StepTime>& step_time_table() {
    static const Table<StepTime> table{
        row("attended", &StepTime::attended,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "4 h",
             .example = "4 min",
             .help =
                 "A person is there the whole time; of a drying step: hangs the screen up (left "
                 "out: 20 s)."}),
        row("stands", &StepTime::stand,
            {.fallback = "0 s",
             .least = "0 s",
             .most = "24 h",
             .example = "5 min",
             .help =
                 "After that, with nobody there: paste works, screen soaks, machine coats, paint "
                 "or layer dries. Of a drying step, left out: as if the step were not named."}),
        row("spread", &StepTime::spread,
            {.least = "0 s",
             .most = "4 h",
             .example = "45 s",
             .help = "How far the time varies to either side, for studies."}),
        groups_row("but", &StepTime::but, time_exception_table(),
                   {.help = "Other times at some stations, for large frames, by some people."}),
    };
    return table;
}

const Table<PromiseRule>& promise_table() {
    static const Table<PromiseRule> table{
        row("level", &PromiseRule::level,
            {.fallback = "90 %",
             .least = "50 %",
             .most = "99 %",
             .example = "90 %",
             .help = "How many of a hundred promises are to hold."}),
        list_row_as<ClockTrait>(
            "pick-up times", &PromiseRule::slots,
            {.example = "[11:00, 16:00]",
             .help = "Times of the day that are promised; left out: every quarter of an hour.",
             .former = "slots"}),
        list_row("press hours", &PromiseRule::press,
                 {.example = "Mon-Fri 07:00-18:00",
                  .help = "When the press takes screens; left out: at any time."}),
        row("late order counts", &PromiseRule::late_order,
            {.fallback = "48 h",
             .least = "0 h",
             .most = "1000 h",
             .example = "48 h",
             .help = "A promised order that a new one makes late weighs as much as so many hours "
                     "later for the new one."}),
        list_row("order sizes", &PromiseRule::sizes,
                 {.least = "1",
                  .most = "500",
                  .example = "[4, 8, 16]",
                  .help = "Most screens of each class of the lead-time table; larger orders are a "
                          "class of their own. Left out: 4, 8, 16."}),
    };
    return table;
}

const Table<Room>& room_table() {
    static const Table<Room> table{
        row("room", &Room::name,
            {.required = true, .example = "Demo room", .help = "Name on the sheets."}),
        row("invented", &Room::invented,
            {.fallback = "no", .example = "yes", .help = "Demonstration data say so."}),
        row_as<CurrencyTrait>("currency", &Room::currency,
                              {.example = "EUR",
                               .help = "Of all amounts of money: those of change files, those of "
                                       "the command line and those that size writes."}),
        row("day", &Room::day,
            {.example = "2026-11-26",
             .help = "Day of the run; left out: the next working day. --date wins over it."}),
        groups_row("stations", &Room::stations, station_table(),
                   {.required = true, .help = "Places where steps happen."}),
        groups_row("walks", &Room::walks, walk_table(),
                   {.help = "How long a screen is carried from one part of the premises to "
                            "another; the carrier is busy. Pairs left out take no time."}),
        row("walk between stations", &Room::between_stations,
            {.fallback = "10 s",
             .least = "0 s",
             .most = "10 min",
             .example = "10 s",
             .help = "Whoever goes on at another station than before needs so long to come there; "
                     "after a break nothing is counted."}),
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
        group_row("drying", &Room::drying, drying_table(),
                  {.help = "Figures of the drying model that no source gives; calibrate what "
                           "matters (docs/physics.md)."}),
        group_row("limits", &Room::limits, limits_table(),
                  {.help = "Times and sizes never to be passed."}),
        group_row("promise", &Room::promise, promise_table(),
                  {.help = "What customers are promised (coatroom promise)."}),
        list_row("aims", &Room::aims,
                 {.example = "[tardiness, late orders, overtime, finish, holding]",
                  .help = "What a plan is judged by, the most important first. With \"changes\": "
                          "where changes against the posted plan count when the day is "
                          "planned again; left out: after overtime."}),
    };
    return table;
}

bool read_room(std::string_view text, Findings& findings, Room& room, YamlNode& tree) {
    auto parsed = parse_yaml(text, findings);
    if (!parsed) return false;
    tree = std::move(*parsed);
    if (!expect_content(findings, tree, "Begin with room: and a name.")) return false;
    if (tree.kind != YamlNode::Kind::Mapping) {
        expect_mapping(findings, tree, "");
        return false;
    }
    read_room(tree, findings, room);
    return true;
}

void read_room(const YamlNode& tree, Findings& findings, Room& room) {
    room.place = tree.place;
    read_mapping(findings, room_table(), tree, "", room);
    for (Emulsion& emulsion : room.emulsions)
        fill_pot_life(emulsion);
    fill_volumes(room);
    physics::settle_exposure(room);
}

}  // namespace model::read
