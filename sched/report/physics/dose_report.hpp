#pragma once
// coatroom dose: the exposure time of each line of an order, the step wedge that finds an
// emulsion's time, and what a wedge says. Plain results and their texts; nothing is saved.

#include <optional>
#include <string>
#include <vector>

#include "model/physics/exposure.hpp"
#include "model/physics/mesh.hpp"
#include "model/room/order.hpp"

namespace sched::report {

/// One screen line under one lamp.
struct DoseLine {
    std::string order;  // empty: no order was asked, only a combination
    int line = 1;       // of the order, from 1
    std::string mesh, emulsion, coat_plan;
    model::Micrometres stencil;  // dry, over the mesh
    model::physics::ExposureTime time;
    bool integrator = false;
    double warm_up_seconds = 0.0;  // once before the first exposure
    double wash_out_factor = 1.0;  // of the typed wash-out time
    std::optional<model::Centimetres> missing_distance;
    std::vector<model::physics::MeshComplaint> mesh_complaints;
};

struct DoseReport {
    std::string unit;  // exposure unit
    model::Lamp lamp;
    std::vector<DoseLine> lines;
    std::vector<int> families;  // of equal dose within `tolerance`, one per line
    double tolerance = 0.1;
};

struct DoseQuestion {
    std::string unit;   // empty: the first with a lamp
    std::string order;  // all lines of this order; empty: mesh, emulsion and coat plan below (the
                        // room's first)
    std::string mesh, emulsion, coat_plan;
    double tolerance = 0.1;
};
/// @returns nullopt and the reason in `problem` when a name is unknown or no station has a lamp.
std::optional<DoseReport> dose_report(const model::Room& room,
                                      const std::vector<model::Order>& orders,
                                      const DoseQuestion& question, std::string& problem);
std::string dose_text(const DoseReport& report);

/// A wedge for one line.
struct WedgeReport {
    DoseLine line;
    std::vector<model::physics::WedgeStep> steps;
    std::optional<int> best;  // read back, from 1
    double base = 0.0;        // the emulsion's calibrated time as it stands [s]
    double new_base = 0.0;    // with `best`
};
/// @param percentages rising, > 0; empty: 50 to 150.
std::optional<WedgeReport> wedge_report(const model::Room& room, const DoseQuestion& question,
                                        const std::vector<double>& percentages,
                                        std::optional<int> best, std::string& problem);
std::string wedge_text(const WedgeReport& report);

// ---- pages (dose_page.cpp) ---------------------------------------------------------------------

/// The times of the lines, each with what it is made of.
std::string dose_page(const DoseReport& report);
/// The wedge as its strips, each with what it gets, and the openings to be made.
std::string wedge_page(const WedgeReport& report);

}  // namespace sched::report
