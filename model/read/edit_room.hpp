#pragma once
// One value of room.yaml changed in place: comments, order and spacing of the file stay.

#include <optional>
#include <string>

#include "model/base/time.hpp"

namespace model {

/// The text of a room file with another calibrated exposure time of an emulsion, whole seconds.
/// @param text as it lies on the disk (a byte-order mark and CRLF are kept)
/// @returns nullopt and the reason for people in `problem` when the emulsion or its time is not
/// there, or when reading the new text gives anything but the old room with the new time.
std::optional<std::string> with_exposure_time(const std::string& text, const std::string& emulsion,
                                              Seconds time, std::string& problem);

}  // namespace model
