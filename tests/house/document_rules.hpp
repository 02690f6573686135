// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "tests/house/source_tree.hpp"

namespace coldstroke::house {

/// Paths in backticks and relative links in Markdown files, and docs/*.md named in code, exist. Braces and * are understood.
[[nodiscard]] std::vector<Breach> check_named_files_exist(const SourceTree& tree);

/// Every folder of code down to the second level stands in the house map of DEVELOPERS.md.
[[nodiscard]] std::vector<Breach> check_house_map(const SourceTree& tree);

/// Every page (gui/window/NAME_page.hpp) and every verb (add_subcommand in gui/commands) has its place in docs/user-guide.md:
/// "NAME page" and `coldstroke VERB`.
[[nodiscard]] std::vector<Breach> check_pages_and_verbs_documented(const SourceTree& tree);

/// Every metric name of analysis/trial/metric.hpp is defined in docs/methods.md, and every message type of
/// protocol/wire/message.hpp stands in docs/wire.md.
[[nodiscard]] std::vector<Breach> check_definitions(const SourceTree& tree);

}  // namespace coldstroke::house
