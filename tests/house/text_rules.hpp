// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "tests/house/source_tree.hpp"

namespace coldstroke::house {

/// Every source, script and build file names the licence in its first line (second after a #! line).
[[nodiscard]] std::vector<Breach> check_licence_lines(const SourceTree& tree);

/// Code of more than 400 lines stands in tests/house/long_files.txt ("path  reason"), and only such code stands there.
[[nodiscard]] std::vector<Breach> check_file_sizes(const SourceTree& tree);

/// No bare tl::expected outside analysis/result.hpp: only Result makes dropping a failure a compile error.
[[nodiscard]] std::vector<Breach> check_results(const SourceTree& tree);

/// No path of the machine a file was written on, in any text file.
[[nodiscard]] std::vector<Breach> check_machine_paths(const SourceTree& tree);

/// No mark of unfinished work in code, build files and scripts.
[[nodiscard]] std::vector<Breach> check_unfinished_marks(const SourceTree& tree);

/// No test that is switched off, cannot fail, or sleeps in the hope that something is then over.
[[nodiscard]] std::vector<Breach> check_tests_are_real(const SourceTree& tree);

/// Every C and C++ source is named in a CMakeLists.txt of its folder or one above: what is not built is not tested.
[[nodiscard]] std::vector<Breach> check_everything_is_built(const SourceTree& tree);

/// No file or folder named for being left over instead of for what it holds.
[[nodiscard]] std::vector<Breach> check_names(const SourceTree& tree);

}  // namespace coldstroke::house
