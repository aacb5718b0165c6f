// How it works: one table of rows a group, as in every other file; what the rows cannot say (one of
// in, done and back to; times in order) is checked after them. Writing is the mirror of reading.

#include "model/read/state_file.hpp"

#include <algorithm>

#include "model/read/bytes.hpp"
#include "model/room/steps.hpp"

namespace model {

namespace read {

namespace {

const Table<ScreenNow>& screen_now_table() {
    static const Table<ScreenNow> table{
        row("screen", &ScreenNow::screen,
            {.required = true, .example = "B3-2", .help = "The tag on its frame."}),
        steps_row("in", &ScreenNow::in, false,
                  {.example = "dry coat", .help = "The step that it is in."}),
        steps_row("done", &ScreenNow::done, false,
                  {.example = "coat",
                   .help = "Instead: the last step that is done; nothing after it has begun."}),
        steps_row("back to", &ScreenNow::back_to, false,
                  {.example = "degrease",
                   .help = "Instead: it has failed, or never came so far; this step and all after "
                           "it are still to be done."}),
        row("round", &ScreenNow::round,
            {.fallback = "1",
             .least = "1",
             .most = "20",
             .example = "2",
             .help = "Which one, of a step that comes several times."}),
        row_as<ClockTrait>("since", &ScreenNow::since,
                           {.example = "10:05",
                            .help = "When the step began, or was done. Left out: as planned."}),
        row_as<ClockTrait>("until", &ScreenNow::until,
                           {.example = "11:10",
                            .help = "When the step will be done, if it takes longer or less than "
                                    "the room file says."}),
        row("at", &ScreenNow::at, {.example = "cabinet", .help = "Station; left out: as planned."}),
        row("by", &ScreenNow::by, {.example = "Ada", .help = "Who does it; left out: as planned."}),
    };
    return table;
}

const Table<AwayNow>& person_now_table() {
    static const Table<AwayNow> table{
        row("name", &AwayNow::name,
            {.required = true, .example = "Ben", .help = "As in room.yaml."}),
        row_as<ClockTrait>("gone from", &AwayNow::from,
                           {.example = "10:30", .help = "Left out: from now."}),
        row_as<ClockTrait>("until", &AwayNow::until,
                           {.example = "13:00", .help = "Left out: for the rest of the day."}),
    };
    return table;
}

const Table<AwayNow>& station_now_table() {
    static const Table<AwayNow> table{
        row("name", &AwayNow::name,
            {.required = true, .example = "booth", .help = "As in room.yaml."}),
        row_as<ClockTrait>("down from", &AwayNow::from,
                           {.example = "10:30", .help = "Left out: from now."}),
        row_as<ClockTrait>("until", &AwayNow::until,
                           {.example = "12:00", .help = "Left out: for the rest of the day."}),
    };
    return table;
}

const Table<FilmNow>& film_now_table() {
    static const Table<FilmNow> table{
        row("order", &FilmNow::order,
            {.required = true, .example = "A9", .help = "As in orders.csv."}),
        row_as<ClockTrait>("from", &FilmNow::from,
                           {.example = "12:30", .help = "Left out: it is there."}),
    };
    return table;
}

const Table<PotState>& pot_now_table() {
    static const Table<PotState> table{
        row("pot", &PotState::pot,
            {.required = true,
             .example = "blue 1",
             .help = "As in room.yaml, or as the earlier plan calls what it mixes."}),
        row_as<ClockTrait>(
            "opened", &PotState::opened,
            {.example = "10:20",
             .help = "When it was opened: its life counts from then; one that needed "
                     "mixing is mixed since."}),
        row_as<ClockTrait>("empty", &PotState::empty,
                           {.example = "10:40", .help = "Instead: nothing is left since."}),
    };
    return table;
}

const Table<ReturnedNow>& returned_now_table() {
    static const Table<ReturnedNow> table{
        row("frame", &ReturnedNow::frame,
            {.required = true,
             .example = "R2",
             .help = "Its tag in the earlier plan, the tag of a screen, or size and mesh as in "
                     "frames.csv: 58 x 84 cm 77-55."}),
        row_as<ClockTrait>("from", &ReturnedNow::from,
                           {.example = "12:30", .help = "Left out: it is there."}),
    };
    return table;
}

// Who writes "back to" says in most cases that a screen has failed.
void tell_failed(RoomState& state) {
    for (ScreenNow& s : state.screens)
        s.failed = !s.back_to.empty();
}

void check_state(const RoomState& state, Findings& findings) {
    for (const PotState& p : state.pots) {
        if (!p.pot.empty() && p.opened.has_value() == p.empty.has_value())
            findings.error(p.place, "state-pot",
                           in_quotes(p.pot) + " needs one of opened and empty.",
                           "Say when it was opened, or since when it is empty.");
    }
    for (const ScreenNow& s : state.screens) {
        const int given =
            (s.in.empty() ? 0 : 1) + (s.done.empty() ? 0 : 1) + (s.back_to.empty() ? 0 : 1);
        if (!s.screen.empty() && given != 1) {
            findings.error(s.place, "state-one-step",
                           in_quotes(s.screen) + " needs exactly one of in, done and back to.",
                           "Say which step it is in, or which is done, or which it goes back to.");
        }
        if (s.since && s.until && *s.until < *s.since) {
            findings.error(s.place, "state-times",
                           in_quotes(s.screen) + " is done before it began.",
                           "Let until be no earlier than since.");
        }
    }
    for (const auto* list : {&state.people, &state.stations}) {
        for (const AwayNow& a : *list) {
            if (a.from && a.until && *a.until <= *a.from)
                findings.error(a.place, "state-times",
                               in_quotes(a.name) + " is back before having gone.",
                               "Let until be later.");
        }
    }
}

}  // namespace

const Table<RoomState>& state_table() {
    static const Table<RoomState> table{
        groups_row("screens", &RoomState::screens, screen_now_table(),
                   {.help = "Screens that are elsewhere than the earlier plan says."}),
        groups_row("people", &RoomState::people, person_now_table(),
                   {.help = "People who have gone."}),
        groups_row("stations", &RoomState::stations, station_now_table(),
                   {.help = "Stations that are out of work; what is in them stays until its step "
                            "is over."}),
        groups_row("films", &RoomState::films, film_now_table(),
                   {.help = "Films that have come, or come later than orders.csv says."}),
        groups_row("pots", &RoomState::pots, pot_now_table(),
                   {.help = "Pots of emulsion that were opened or are empty."}),
        groups_row("returned", &RoomState::returned, returned_now_table(),
                   {.help = "Frames that are back from the press, or come otherwise than "
                            "frames.csv says."}),
    };
    return table;
}

}  // namespace read

std::optional<RoomState> read_state(const std::string& path, bool required,
                                    Diagnostics& diagnostics) {
    using namespace read;
    const std::size_t before = diagnostics.error_count();
    RoomState out;
    Findings findings(path, diagnostics);
    const auto text =
        load(path, yaml_most_bytes, required ? Missing::Error : Missing::Allowed, findings);
    if (text && check_text(*text, findings)) {
        const auto tree = parse_yaml(*text, findings);
        if (tree && expect_content(findings, *tree,
                                   "Write {} where nothing is known, or take the file away.")) {
            out.place = tree->place;
            read_mapping(findings, state_table(), *tree, "state", out);
            tell_failed(out);
            check_state(out, findings);
        }
    }
    if (diagnostics.error_count() > before) return std::nullopt;
    return out;
}

namespace {

// A scalar that YAML reads as this text whatever it contains.
std::string yaml_text(const std::string& text) {
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') out += '\\';
        out += c;
    }
    return out + "\"";
}

std::string yaml_clock(Seconds t) {
    const std::string text = format_date_time(SimTime{std::max(t, Seconds{0})});
    return text.substr(text.find('T') + 1);
}

void put_line(std::string& out, const char* key, const std::string& value) {
    const bool first = out.empty() || out.ends_with("  - ");
    out += (first ? "" : "    ") + std::string(key) + ": " + value + "\n";
}

void put_clock(std::string& out, const char* key, const std::optional<Seconds>& t) {
    if (t) put_line(out, key, yaml_clock(*t));
}

void put_step(std::string& out, const char* key, const std::vector<Step>& steps) {
    if (!steps.empty()) put_line(out, key, std::string(words_of(steps.front())));
}

void put_away(std::string& out, const char* list, const char* from,
              const std::vector<AwayNow>& away) {
    if (!away.empty()) out += std::string(list) + ":\n";
    for (const AwayNow& a : away) {
        out += "  - ";
        put_line(out, "name", yaml_text(a.name));
        put_clock(out, from, a.from);
        put_clock(out, "until", a.until);
    }
}

}  // namespace

std::string state_text(const RoomState& state) {
    std::string out;
    if (!state.screens.empty()) out += "screens:\n";
    for (const ScreenNow& s : state.screens) {
        out += "  - ";
        put_line(out, "screen", yaml_text(s.screen));
        put_step(out, "in", s.in);
        put_step(out, "done", s.done);
        put_step(out, "back to", s.back_to);
        if (s.round > 1) put_line(out, "round", std::to_string(s.round));
        put_clock(out, "since", s.since);
        put_clock(out, "until", s.until);
        if (!s.at.empty()) put_line(out, "at", yaml_text(s.at));
        if (!s.by.empty()) put_line(out, "by", yaml_text(s.by));
    }
    put_away(out, "people", "gone from", state.people);
    put_away(out, "stations", "down from", state.stations);
    if (!state.films.empty()) out += "films:\n";
    for (const FilmNow& f : state.films) {
        out += "  - ";
        put_line(out, "order", yaml_text(f.order));
        put_clock(out, "from", f.from);
    }
    if (!state.pots.empty()) out += "pots:\n";
    for (const PotState& p : state.pots) {
        out += "  - ";
        put_line(out, "pot", yaml_text(p.pot));
        put_clock(out, "opened", p.opened);
        put_clock(out, "empty", p.empty);
    }
    if (!state.returned.empty()) out += "returned:\n";
    for (const ReturnedNow& r : state.returned) {
        out += "  - ";
        put_line(out, "frame", yaml_text(r.frame));
        put_clock(out, "from", r.from);
    }
    // Nothing to say is a file of one list without members.
    return out.empty() ? "screens: []\n" : out;
}

}  // namespace model
