// SPDX-License-Identifier: GPL-3.0-or-later
//
// docs/safety.md says what the code says, and every hazard of its table has its tests.
#include "tests/daq/safety/safety_page.hpp"

#include <gmock/gmock.h>

#include <fstream>
#include <iterator>

namespace coldstroke::daq {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

std::string page() {
  std::ifstream in{std::string{COLDSTROKE_SOURCE_DIR} + "/docs/safety.md", std::ios::binary};
  return {std::istreambuf_iterator<char>{in}, {}};
}

std::set<std::string> registered_hazard_tests() {
  std::set<std::string> names;
  const auto& tests = *testing::UnitTest::GetInstance();
  for (int s = 0; s < tests.total_test_suite_count(); ++s) {
    const testing::TestSuite& suite = *tests.GetTestSuite(s);
    if (std::string{suite.name()} != "Hazard") continue;
    for (int t = 0; t < suite.total_test_count(); ++t) names.insert("Hazard." + std::string{suite.GetTestInfo(t)->name()});
  }
  return names;
}

TEST(SafetyPage, SaysWhatTheTablesSay) {
  const std::string text = page();
  EXPECT_EQ(with_generated_parts(text), text) << "run: write_safety_page docs/safety.md";
  EXPECT_THAT(text, HasSubstr("| counting | deadline passed | every interlock | releasing |"));
  EXPECT_THAT(text, HasSubstr("| release key | input of the rig board | in | 500 ms | none |"));
  EXPECT_THAT(text, Not(HasSubstr("NOT DESCRIBED")));
}

TEST(SafetyPage, ADriftIsFound) {
  std::string text = page();
  const std::size_t at = text.find("| counting | deadline passed | every interlock |");
  ASSERT_NE(at, std::string::npos);
  text.replace(text.find("every interlock", at), 15, "-");
  EXPECT_NE(with_generated_parts(text), text);
  EXPECT_EQ(with_generated_parts(text), page());
}

TEST(SafetyPage, EveryHazardNamesTestsThatExistAndEveryTestIsNamed) {
  EXPECT_THAT(hazard_rows_without_test(page()), IsEmpty());
  EXPECT_EQ(named_hazard_tests(page()), registered_hazard_tests());
}

}  // namespace
}  // namespace coldstroke::daq
