// SPDX-License-Identifier: GPL-3.0-or-later
//
// The house rules over this very repository. A failure prints file, line and remedy.
#include <gtest/gtest.h>

#include "tests/house/document_rules.hpp"
#include "tests/house/include_rules.hpp"
#include "tests/house/source_tree.hpp"
#include "tests/house/text_rules.hpp"

namespace coldstroke::house {
namespace {

const SourceTree& our_tree() {
  static const SourceTree tree = read_source_tree(COLDSTROKE_SOURCE_DIR);
  return tree;
}

void expect_none(const std::vector<Breach>& breaches) {
  if (!breaches.empty()) ADD_FAILURE() << breaches.size() << " to mend:\n" << to_text(breaches);
}

// An empty tree would please every rule.
TEST(House, IsFoundWhereTheBuildSaysItIs) {
  EXPECT_TRUE(our_tree().paths.contains("CMakeLists.txt"));
  EXPECT_TRUE(our_tree().paths.contains("analysis/result.hpp"));
  EXPECT_GT(our_tree().files.size(), 50U);
}

TEST(House, EveryIncludeFollowsAnAllowedArrow) { expect_none(check_includes(our_tree())); }
TEST(House, QObjectsLiveWhereTheyMay) { expect_none(check_qobjects(our_tree())); }
TEST(House, EverySourceNamesTheLicence) { expect_none(check_licence_lines(our_tree())); }
TEST(House, LongFilesHaveAReason) { expect_none(check_file_sizes(our_tree())); }
TEST(House, FailuresCannotBeDropped) { expect_none(check_results(our_tree())); }
TEST(House, NoPathOfAMachineIsLeft) { expect_none(check_machine_paths(our_tree())); }
TEST(House, NothingIsMarkedUnfinished) { expect_none(check_unfinished_marks(our_tree())); }
TEST(House, TestsAreRealAndDoNotSleep) { expect_none(check_tests_are_real(our_tree())); }
TEST(House, EverySourceIsBuilt) { expect_none(check_everything_is_built(our_tree())); }
TEST(House, NamesSayWhatIsInside) { expect_none(check_names(our_tree())); }
TEST(House, FilesNamedInDocumentsExist) { expect_none(check_named_files_exist(our_tree())); }
TEST(House, EveryFolderIsOnTheHouseMap) { expect_none(check_house_map(our_tree())); }
TEST(House, EveryPageAndVerbIsDocumented) { expect_none(check_pages_and_verbs_documented(our_tree())); }
TEST(House, EveryMetricAndMessageIsDefined) { expect_none(check_definitions(our_tree())); }

}  // namespace
}  // namespace coldstroke::house
