#pragma once
// The members of the plan document with their JSON names, once for writing and reading. A new
// member of a struct in plan_document.hpp is one line here and one in docs/plan.schema.json.

#include <concepts>
#include <type_traits>

#include "sched/report/document/plan_document.hpp"

namespace sched::report {

template <class T, class U>
concept Same = std::same_as<std::remove_const_t<T>, U>;

void fields(auto& f, Same<InputFile> auto& x) {
    f("name", x.name);
    f("sha256", x.sha256);
    f("bytes", x.bytes);
}

void fields(auto& f, Same<RunLine> auto& x) {
    f("from", x.from);
    f("until", x.until);
    f("first_start", x.first_start);
    f("last_end", x.last_end);
    f("seed", x.seed);
    f("budget_seconds", x.budget_seconds);
    f("budget_evaluations", x.budget_evaluations);
    f("evaluations", x.evaluations);
    f("seconds", x.seconds);
    f("interrupted", x.interrupted);
    f("replications", x.replications);
    f("first_words", x.first_words);
    f("day", x.day);
}

void fields(auto& f, Same<AimLine> auto& x) {
    f("criterion", x.criterion);
    f("words", x.words);
    f("unit", x.unit);
    f("value", x.value);
    f("bound", x.bound);
    f("value_words", x.value_words);
    f("gap_words", x.gap_words);
}

void fields(auto& f, Same<StationLine> auto& x) {
    f("name", x.name);
    f("places", x.places);
    f("dries", x.dries);
}

void fields(auto& f, Same<Period> auto& x) {
    f("from", x.from);
    f("to", x.to);
}

void fields(auto& f, Same<PersonLine> auto& x) {
    f("name", x.name);
    f("present", x.present);
}

void fields(auto& f, Same<BreakLine> auto& x) {
    f("person", x.person);
    f("from", x.from);
    f("to", x.to);
    f("earliest", x.earliest);
    f("latest", x.latest);
}

void fields(auto& f, Same<ScreenLine> auto& x) {
    f("tag", x.tag);
    f("order", x.order);
    f("number", x.number);
    f("mesh", x.mesh);
    f("frame", x.frame);
    f("emulsion", x.emulsion);
    f("coat_plan", x.coat_plan);
    f("coat_words", x.coat_words);
    f("made_on", x.made_on);
    f("exposure_s", x.exposure);
    f("two_people", x.two_people);
    f("ready", x.ready);
}

void fields(auto& f, Same<OperationLine> auto& x) {
    f("screen", x.screen);
    f("order", x.order);
    f("step", x.step);
    f("round", x.round);
    f("words", x.words);
    f("place", x.place);
    f("places", x.places);
    f("place_until", x.place_until);
    f("also_at", x.also_at);
    f("people", x.people);
    f("people_until", x.people_until);
    f("start", x.start);
    f("work_end", x.work_end);
    f("end", x.end);
    f("batch", x.batch);
    f("cautions", x.cautions);
    f("turn", x.turn);
    f("start_p10", x.start_p10);
    f("start_p90", x.start_p90);
    f("work_end_p10", x.work_end_p10);
    f("work_end_p90", x.work_end_p90);
}

void fields(auto& f, Same<ReasonLine> auto& x) {
    f("cause", x.cause);
    f("operation", x.operation);
    f("because", x.because);
    f("resource", x.resource);
    f("waited_s", x.waited);
    f("words", x.words);
}

void fields(auto& f, Same<OrderLine> auto& x) {
    f("name", x.name);
    f("customer", x.customer);
    f("screens", x.screens);
    f("weight", x.weight);
    f("release", x.release);
    f("due", x.due);
    f("ready", x.ready);
    f("lateness_s", x.lateness);
    f("story", x.story);
    f("reasons", x.reasons);
    f("chance_late", x.chance_late);
    f("ready_p10", x.ready_p10);
    f("ready_p50", x.ready_p50);
    f("ready_p90", x.ready_p90);
}

void fields(auto& f, Same<LoadLine> auto& x) {
    f("resource", x.resource);
    f("kind", x.kind);
    f("capacity", x.capacity);
    f("staffed_s", x.staffed);
    f("working_s", x.working);
    f("holding_s", x.holding);
    f("waited_for_s", x.waited_for);
    f("waited_away_s", x.waited_away);
    f("on_late_chains", x.on_late_chains);
    f("availability", x.availability);
    f("allocation_efficiency", x.allocation_efficiency);
    f("utilisation_efficiency", x.utilisation_efficiency);
}

void fields(auto& f, Same<FillStep> auto& x) {
    f("from", x.from);
    f("working", x.working);
    f("holding", x.holding);
}

void fields(auto& f, Same<FillLine> auto& x) {
    f("station", x.station);
    f("places", x.places);
    f("steps", x.steps);
}

void fields(auto& f, Same<MixLine> auto& x) {
    f("emulsion", x.emulsion);
    f("pot", x.pot);
    f("volume_ml", x.volume_ml);
    f("to_buy", x.to_buy);
    f("buy_by", x.buy_by);
    f("operations", x.operations);
    f("start", x.start);
    f("usable", x.usable);
    f("good_until", x.good_until);
    f("people", x.people);
}

void fields(auto& f, Same<ReclaimLine> auto& x) {
    f("screen", x.screen);
    f("frame", x.frame);
    f("mesh", x.mesh);
    f("state", x.state);
    f("start", x.start);
    f("people", x.people);
}

void fields(auto& f, Same<ReturnLine> auto& x) {
    f("tag", x.tag);
    f("frame", x.frame);
    f("mesh", x.mesh);
    f("state", x.state);
    f("back", x.back);
    f("becomes", x.becomes);
    f("start", x.start);
    f("done", x.done);
    f("people", x.people);
}

void fields(auto& f, Same<StockLine> auto& x) {
    f("frame", x.frame);
    f("mesh", x.mesh);
    f("state", x.state);
    f("count", x.count);
    f("haze", x.haze);
    f("coated_dry", x.coated_dry);
    f("emulsion", x.emulsion);
    f("coat_plan", x.coat_plan);
    f("order", x.order);
    f("from", x.from);
}

void fields(auto& f, Same<WarningLine> auto& x) {
    f("place", x.place);
    f("code", x.code);
    f("words", x.words);
}

void fields(auto& f, Same<MeshChoiceLine> auto& x) {
    f("order", x.order);
    f("mesh", x.mesh);
    f("words", x.words);
}

void fields(auto& f, Same<WhatIfLine> auto& x) {
    f("change", x.change);
    f("words", x.words);
}

void fields(auto& f, Same<Bottleneck> auto& x) {
    f("resource", x.resource);
    f("sentences", x.sentences);
    f("what_ifs", x.what_ifs);
}

void fields(auto& f, Same<ChangeLine> auto& x) {
    f("operation", x.operation);
    f("old_start", x.old_start);
    f("start", x.start);
    f("words", x.words);
}

void fields(auto& f, Same<AgainSection> auto& x) {
    f("now", x.now);
    f("over", x.over);
    f("under_way", x.under_way);
    f("compared", x.compared);
    f("held", x.held);
    f("let_go", x.relaxed);
    f("changes", x.changes);
    f("notes", x.notes);
}

void fields(auto& f, Same<CautionLine> auto& x) {
    f("key", x.key);
    f("title", x.title);
    f("words", x.words);
}

/// Without problem and schedule, which have their own form (problem_json.hpp).
void fields(auto& f, Same<PlanDocument> auto& x) {
    f("format", x.format);
    f("program", x.program);
    f("room", x.room);
    f("invented", x.invented);
    f("fingerprint", x.fingerprint);
    f("inputs", x.inputs);
    f("run", x.run);
    f("status", x.status);
    f("aims", x.aims);
    f("stations", x.stations);
    f("people", x.people);
    f("breaks", x.breaks);
    f("screens", x.screens);
    f("orders", x.orders);
    f("operations", x.operations);
    f("loads", x.loads);
    f("fills", x.fills);
    f("pins", x.pins);
    f("mesh_choices", x.mesh_choices);
    f("mixes", x.mixes);
    f("reclaims", x.reclaims);
    f("returns", x.returns);
    f("warnings", x.warnings);
    f("stock_after", x.stock_after);
    f("bottleneck", x.bottleneck);
    f("again", x.again);
    f("cautions", x.cautions);
}

}  // namespace sched::report
