// SPDX-License-Identifier: GPL-3.0-or-later
//
// docs/safety.md: the parts of it that are written by the program's own tables, and the tests it names.
#pragma once

#include <set>
#include <string>

namespace coldstroke::daq {

/// The page with everything between `<!-- generated: NAME -->` and `<!-- end: NAME -->` written anew from the tables (NAME:
/// sequence, interlocks). Throws std::runtime_error if a mark is missing.
[[nodiscard]] std::string with_generated_parts(const std::string& page);

/// Every `Hazard.Name` in the rows of the page's hazard table.
[[nodiscard]] std::set<std::string> named_hazard_tests(const std::string& page);
/// Rows of the hazard table (their first cell) that name no test.
[[nodiscard]] std::set<std::string> hazard_rows_without_test(const std::string& page);

}  // namespace coldstroke::daq
