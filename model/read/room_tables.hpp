#pragma once
// The tables of the groups of room.yaml, one row a key; put together in room_file.cpp.

#include "model/read/spec.hpp"

namespace model::read {

const Table<Station>& station_table();
const Table<CabinetAir>& cabinet_air_table();
const Table<Lamp>& lamp_table();
const Table<Walk>& walk_table();
const Table<Person>& person_table();
const Table<Emulsion>& emulsion_table();
const Table<Emulsion>& exposure_table();  // the group exposure of an emulsion
const Table<Pot>& pot_table();
const Table<Mesh>& mesh_table();
const Table<CoatPlan>& coat_plan_table();
const Table<TimeException>& time_exception_table();
const Table<Air>& air_table();
const Table<Climate>& climate_table();
const Table<Limits>& limits_table();
const Table<DryingLaw>& drying_table();
const Table<PromiseRule>& promise_table();

}  // namespace model::read
