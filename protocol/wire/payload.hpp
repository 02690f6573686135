// SPDX-License-Identifier: GPL-3.0-or-later
//
// Payload bytes of one frame to a message, by the byte tables of docs/wire.md.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "protocol/wire/message.hpp"

namespace coldstroke::wire {

enum class PayloadFault : std::uint8_t {
  none,
  unknown_type,  ///< no table for this type: from a newer minor version
  bad_payload,   ///< shorter than its table, or a value outside its table
};

/// Reads `payload` as the message of `type` into `out`. On a fault the content of `out` is of no meaning.
/// A payload longer than its table is from a newer minor version and is read as far as the table goes; sample
/// blocks, whose length follows from their own head, must fit exactly.
[[nodiscard]] PayloadFault read_payload(std::uint8_t type, std::span<const std::uint8_t> payload, Message& out);

/// Writes the payload of `message`. A message that breaks its own limits is a mistake of the caller: asserted.
void write_payload(const Message& message, std::vector<std::uint8_t>& out);

}  // namespace coldstroke::wire
