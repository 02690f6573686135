// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace coldstroke {

/// What went wrong, where, and what the reader can do about it. Shown to people as these three sentences.
struct Complaint {
  std::string what, where, remedy;
  bool operator==(const Complaint&) const = default;
};

/// A value or the reason why there is none. Dropping one unread is a compile error, which tl::expected alone is not.
template <class T, class E = Complaint>
class [[nodiscard]] Result : public tl::expected<T, E> {
 public:
  using Base = tl::expected<T, E>;
  using Base::Base;
  Result(Base base) : Base{std::move(base)} {}  // so that map() and and_then() come back as a Result
};

/// A Result that holds the complaint.
[[nodiscard]] inline tl::unexpected<Complaint> complain(std::string what, std::string where, std::string remedy) {
  return tl::unexpected<Complaint>{Complaint{std::move(what), std::move(where), std::move(remedy)}};
}

}  // namespace coldstroke
