// One row a key: name, kind, limits, default, help and member, for exposure, emulsion, pot, mesh
// and coat plan. Readers, schema and docs walk these rows.

#include "model/read/room_tables.hpp"

namespace model::read {

namespace {

// "1 l", or "1 kg", which read_room turns into a volume once it knows the density.
template <class T>
Row<T> amount_row(std::string key, Millilitres T::*volume, bool T::*weighed, Words words) {
    Row<T> out = row_as<AmountTrait>(std::move(key), volume, std::move(words));
    out.read = [volume, weighed](Findings& findings, const KeySpec& spec, const YamlNode& node,
                                 T& target) {
        const auto value = read_scalar<AmountTrait>(findings, spec, node);
        if (!value) return;
        target.*volume = *value;
        target.*weighed = node.text.ends_with('g');
    };
    return out;
}

}  // namespace

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
        row("coat plan", &Emulsion::calibrated_plan,
            {.example = "2+2", .help = "for a screen coated by this plan"}),
        row("mesh", &Emulsion::calibrated_mesh, {.example = "77-55", .help = "on this mesh;"}),
        row("stencil", &Emulsion::stencil_given,
            {.least = "1 µm",
             .most = "500 µm",
             .example = "30 µm",
             .help = "or, instead of plan and mesh: for a dry stencil of this thickness on undyed "
                     "mesh, both sides and what fills the mesh together (ml per m²)."}),
    };
    return table;
}

const Table<Emulsion>& emulsion_table() {
    static const Table<Emulsion> table{
        row("name", &Emulsion::name,
            {.required = true, .example = "dual-cure A", .help = "As orders.csv calls it."}),
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
        row("wet film", &Emulsion::wet_film_given,
            {.least = "1 µm",
             .most = "500 µm",
             .example = "15 µm",
             .help = "Of one coat, over the mesh, one side; left out: what leaves the calibrated "
                     "stencil when it is dry, without a stencil 40 µm."}),
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
        amount_row("batch", &Emulsion::batch, &Emulsion::batch_weighed,
                   {.fallback = "1 l",
                    .least = "10 ml",
                    .most = "100 l",
                    .example = "1 kg",
                    .help = "What one mixing makes, or one can holds; a weight is divided by the "
                            "density."}),
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
        row("wash-out growth", &Emulsion::wash_out_growth,
            {.fallback = "0.5",
             .least = "0",
             .most = "5",
             .example = "0.5",
             .help = "Wash-out takes longer by this share of what the stencil is thicker."}),
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
            {.required = true,
             .example = "dual-cure A",
             .help = "A name of the list of emulsions."}),
        amount_row("volume", &Pot::volume, &Pot::weighed,
                   {.required = true,
                    .least = "0 ml",
                    .most = "100 l",
                    .example = "850 ml",
                    .help = "What is left in it; a weight is divided by the density."}),
        row("mixed", &Pot::mixed,
            {.example = "2026-11-20 09:00",
             .help = "When it was mixed; left out: comes ready, or needs mixing."}),
        row("needs mixing", &Pot::needs_mixing,
            {.fallback = "no", .example = "yes", .help = "The two parts still stand apart."}),
        row("refrigerated", &Pot::refrigerated,
            {.fallback = "no", .example = "yes", .help = "Kept cold: keeps longer."}),
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
             .help = "At the stand, all wet coats, with a person; left out: the time of the step "
                     "coat."}),
        row("coat stands", &CoatPlan::coat_stand,
            {.least = "0 s",
             .most = "1 h",
             .example = "6 min",
             .help = "Then it stands there alone (a machine coats); left out: not at all if there "
                     "is a coat time, else as the step coat says. The plan's times take the place "
                     "of the step's, they do not add up."}),
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

}  // namespace model::read
