// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "tests/house/source_tree.hpp"

namespace coldstroke::house {

/// Every #include line against the table of what each folder may know (DEVELOPERS.md, house map). Linking alone does
/// not catch an arrow that goes through a header only, since there is one include root.
[[nodiscard]] std::vector<Breach> check_includes(const SourceTree& tree);

/// Q_OBJECT only in daq/link, daq/bench, gui and tests; and first on its line, since the meta-object compiler
/// otherwise passes over the class in silence and the link fails far away.
[[nodiscard]] std::vector<Breach> check_qobjects(const SourceTree& tree);

}  // namespace coldstroke::house
