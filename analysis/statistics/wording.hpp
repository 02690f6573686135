// SPDX-License-Identifier: GPL-3.0-or-later
//
// Numbers in sentences. Rounding never flatters: the caller says which way is the careful one. No locale is asked.
#pragma once

#include <cstdint>
#include <string>

namespace coldstroke::analysis::statistics {

enum class Rounding { nearest, down, up };

/// `value` with a fixed number of decimals: fixed(0.90063, 3, down) is "0.900". A value that is not finite: "infinite".
[[nodiscard]] std::string fixed(double value, int decimals, Rounding rounding = Rounding::nearest);
/// `value` with about this many significant digits and no exponent between 1e-6 and 1e9: significant(20.5644, 3, up) is
/// "20.6".
[[nodiscard]] std::string significant(double value, int digits, Rounding rounding = Rounding::nearest);
/// A share as people say it, with at least two decimals and no more than needed: "0.90", "0.995".
[[nodiscard]] std::string share(double value);
/// 0.95 as "95 %", 0.995 as "99.5 %".
[[nodiscard]] std::string percent(double share_of_one);
/// "p = 0.012", "p < 0.001".
[[nodiscard]] std::string probability(double p);
/// "1 trial", "3 trials".
[[nodiscard]] std::string counted(std::int64_t count, const std::string& noun);

}  // namespace coldstroke::analysis::statistics
