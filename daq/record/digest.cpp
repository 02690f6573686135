// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/digest.hpp"

#include <QByteArrayView>
#include <array>
#include <bit>

namespace coldstroke::daq {

Digest& Digest::fixed(std::string_view bytes) {
  hash_.addData(QByteArrayView{bytes.data(), static_cast<qsizetype>(bytes.size())});
  return *this;
}

Digest& Digest::byte(std::uint8_t value) {
  const char one = static_cast<char>(value);
  return fixed({&one, 1});
}

Digest& Digest::number(std::int64_t value) {
  std::array<char, 8> bytes{};
  auto rest = static_cast<std::uint64_t>(value);
  for (char& part : bytes) {
    part = static_cast<char>(rest & 0xFFU);
    rest >>= 8U;
  }
  return fixed({bytes.data(), bytes.size()});
}

Digest& Digest::real(double value) { return number(std::bit_cast<std::int64_t>(value)); }

Digest& Digest::text(std::string_view text) {
  number(static_cast<std::int64_t>(text.size()));
  return fixed(text);
}

std::string Digest::value() const { return hash_.result().toStdString(); }

std::string hex(std::string_view bytes) {
  return QByteArray::fromRawData(bytes.data(), static_cast<qsizetype>(bytes.size())).toHex().toStdString();
}

std::string sha256_hex(std::string_view bytes) { return hex(Digest{}.fixed(bytes).value()); }

}  // namespace coldstroke::daq
