#pragma once
// The members of a size study's head and days with their JSON names, for writing and reading.

#include <concepts>
#include <type_traits>

#include "sched/size/size.hpp"

// In the namespace of the types: they are found by argument, from json_fields.hpp.
namespace sched::study {

template <class T, class U>
concept SizeSame = std::same_as<std::remove_const_t<T>, U>;

void fields(auto& f, SizeSame<ChangeCost> auto& x) {
    f("purchase", x.purchase);
    f("installation", x.installation);
    f("life_years", x.life);
    f("left_over", x.left_over);
    f("upkeep", x.upkeep);
    f("floor_area_m2", x.floor_area);
}

void fields(auto& f, SizeSame<Prices> auto& x) {
    f("interest", x.interest);
    f("inflation", x.inflation);
    f("energy_kwh", x.energy);
    f("floor_m2_year", x.floor);
    f("overtime_hour", x.overtime_hour);
    f("late_order", x.late_order);
    f("late_hour", x.late_hour);
    f("screen_sent_out", x.screen_sent_out);
    f("days_a_year", x.days_a_year);
    f("currency", x.currency);
}

void fields(auto& f, SizeSame<DayKind> auto& x) {
    f("name", x.name);
    f("weight", x.weight);
}

void fields(auto& f, SizeSame<SizeTheory> auto& x) {
    f("bottleneck", x.bottleneck);
    f("bottleneck_rate_per_h", x.bottleneck_rate);
    f("screens_a_day", x.screens_a_day);
    f("raw_process_time_h", x.raw_process_time_h);
    f("critical_wip", x.critical_wip);
    f("best_cycle_h", x.best_cycle_h);
    f("practical_worst_cycle_h", x.practical_worst_cycle_h);
    f("worst_cycle_h", x.worst_cycle_h);
    f("load", x.load);
    f("units", x.units);
    f("square_root_units", x.square_root_units);
}

void fields(auto& f, SizeSame<SizeRoomHead> auto& x) {
    f("name", x.name);
    f("words", x.words);
    f("invented", x.invented);
    f("costs", x.costs);
    f("resources", x.resources);
    f("order_of_work", x.order_of_work);
    f("theory", x.theory);
}

void fields(auto& f, SizeSame<SizeHead> auto& x) {
    f("room", x.room);
    f("invented", x.invented);
    f("fingerprint", x.fingerprint);
    f("rooms", x.rooms);
    f("overdue", x.overdue);
    f("volumes", x.volumes);
    f("kinds", x.kinds);
    f("past_days", x.past_days);
    f("seed", x.seed);
    f("least_days", x.least);
    f("most_days", x.most);
    f("every_day", x.every_day);
    f("confidence", x.confidence);
    f("effort", x.effort);
    f("rule", x.policy);
    f("prices", x.prices);
    f("by_money", x.by_money);
    f("indifference", x.indifference);
    f("precision", x.precision);
    f("coping", x.coping);
}

void fields(auto& f, SizeSame<SizeDay> auto& x) {
    f("room", x.option);
    f("volume", x.volume);
    f("day", x.day);
    f("kind", x.kind);
    f("past_day", x.past);
    f("complete", x.complete);
    f("orders", x.orders);
    f("screens", x.screens);
    f("same_day", x.same_day);
    f("late", x.late);
    f("tardiness_h", x.tardiness_h);
    f("turnaround_p90_h", x.turnaround_p90_h);
    f("flow_h", x.flow_h);
    f("overtime_h", x.overtime_h);
    f("energy_kwh", x.energy_kwh);
    f("cost", x.cost);
    f("busiest", x.busiest);
    f("busiest_share", x.busiest_share);
    f("next", x.next);
    f("next_share", x.next_share);
}

}  // namespace sched::study
