#pragma once
// The form of an enquiry: buttons with the room's own meshes, frames and coat plans, what was wrong
// at its field, and the answer beside it.

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "model/room/order.hpp"
#include "sched/promise/promise.hpp"

namespace sched::report {

struct AskForm {
    std::string room;
    bool invented = false;
    std::vector<std::string> meshes, frames, coats, emulsions;  // what the room has
    std::map<std::string, std::string> given;  // as it was sent, by the names of the fields
    std::string wrong_field;                   // empty: nothing is wrong
    std::string wrong;                         // in the words of the command line
};

AskForm ask_form(const model::Scenario& scenario);

/// GET form to /promise.html, under `links` (navigation.hpp) as the page /ask.
std::string ask_page(const AskForm& form, std::string_view links);

/// The form with the answer beside it.
std::string ask_page(const AskForm& form, const study::Promise& promise, std::string_view links);

/// Why there is no form and no answer.
std::string refusal_page(std::string_view words, std::string_view links);

}  // namespace sched::report
