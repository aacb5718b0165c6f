// Whoever has work with a fixed start to come is booked for it from the beginning of a run, so that
// nothing that is booked ahead takes him away; the block of that work frees him when it is booked
// itself. Not where a plan is followed: that says by itself when everybody is where.

#include <algorithm>

#include "sched/core/index.hpp"
#include "sched/engine/decode/appointments.hpp"

namespace sched::engine {

void Appointments::keep(std::size_t appointment, bool kept) {
    char& now = state_.kept_free[appointment];
    if ((now != 0) == kept) return;
    now = kept ? 1 : 0;
    const Appointment& x = problem_.appointments[appointment];
    Profile& profile = state_.profile[ix(x.resource)];
    const Tick from = std::max(x.from, state_.now);  // the past is forgotten
    if (problem_.resources[ix(x.resource)].walk > 0)
        profile.book_at(from, x.to, kept ? 1 : -1, x.spot);
    else
        profile.add(from, x.to, kept ? 1 : -1);
}

void Appointments::keep_for(std::int32_t b) {
    if (problem_.appointments.empty() || plan_.baseline != nullptr) return;
    const Range own = problem_.appointments_of[ix(b)];
    for (std::int32_t k = own.begin; k < own.end; ++k)
        keep(ix(k), true);
}

void Appointments::keep_all() {
    if (plan_.baseline != nullptr) return;
    for (std::size_t k = 0; k < problem_.appointments.size(); ++k)
        keep(k, true);
}

void Appointments::free_for(std::int32_t b) {
    const Range own = problem_.appointments_of[ix(b)];
    before_.assign(state_.kept_free.begin() + own.begin, state_.kept_free.begin() + own.end);
    for (std::int32_t k = own.begin; k < own.end; ++k)
        keep(ix(k), false);
}

void Appointments::keep_as_before(std::int32_t b) {
    const Range own = problem_.appointments_of[ix(b)];
    for (std::int32_t k = own.begin; k < own.end; ++k)
        keep(ix(k), before_[ix(k - own.begin)] != 0);
}

}  // namespace sched::engine
