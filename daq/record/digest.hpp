// SPDX-License-Identifier: GPL-3.0-or-later
//
// SHA-256 (FIPS 180-4) over typed fields in one fixed encoding, so that a campaign can be checked without this program.
#pragma once

#include <QCryptographicHash>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace coldstroke::daq {

inline constexpr std::size_t kDigestBytes = 32;

/// Fields in the order added: numbers as 8 bytes little-endian, doubles as their IEEE 754 bits in 8 bytes little-endian, texts as
/// their length in bytes (8 bytes little-endian) and their UTF-8 bytes, fixed-size parts as they are.
class Digest {
 public:
  Digest& fixed(std::string_view bytes);
  Digest& byte(std::uint8_t value);
  Digest& number(std::int64_t value);
  Digest& real(double value);
  Digest& text(std::string_view text);
  /// The 32 bytes.
  [[nodiscard]] std::string value() const;

 private:
  QCryptographicHash hash_{QCryptographicHash::Sha256};
};

/// Two lower-case hexadecimal digits a byte.
[[nodiscard]] std::string hex(std::string_view bytes);
/// 64 lower-case hexadecimal digits of the SHA-256 of the bytes themselves.
[[nodiscard]] std::string sha256_hex(std::string_view bytes);

}  // namespace coldstroke::daq
