// SPDX-License-Identifier: GPL-3.0-or-later
#include "tests/house/include_rules.hpp"

#include <gtest/gtest.h>

#include <string>

#include "tests/house/invented_tree.hpp"

namespace coldstroke::house {
namespace {

// A tree with one file in every folder to point at, and `path` with one include line, on line 2.
std::vector<Breach> includes_of(const std::string& path, const std::string& include) {
  const InventedTree tree{{
      {"protocol/board/frame.h", ""},
      {"protocol/wire/decoder.hpp", ""},
      {"analysis/result.hpp", ""},
      {"daq/link/port.hpp", ""},
      {"daq/stream/ring.hpp", ""},
      {"daq/bench/bench.hpp", ""},
      {"gui/window/pages.hpp", ""},
      {"analysis/trial/metric.hpp", ""},
      {path, "// first\n" + include + "\n"},
  }};
  return check_includes(tree.read());
}

struct Arrow {
  const char* from;
  const char* include;
};

class ForbiddenArrow : public testing::TestWithParam<Arrow> {};
TEST_P(ForbiddenArrow, IsReportedWithItsLineAndARemedy) {
  const std::vector<Breach> breaches = includes_of(GetParam().from, GetParam().include);
  ASSERT_EQ(breaches.size(), 1U) << GetParam().from << " " << GetParam().include << "\n" << to_text(breaches);
  EXPECT_EQ(breaches[0].file, GetParam().from);
  EXPECT_EQ(breaches[0].line, 2U);
  EXPECT_FALSE(breaches[0].remedy.empty());
}
INSTANTIATE_TEST_SUITE_P(
    IncludeRules, ForbiddenArrow,
    testing::Values(
        Arrow{"protocol/wire/a.cpp", "#include \"analysis/result.hpp\""}, Arrow{"protocol/wire/a.cpp", "#include <thread>"},
        Arrow{"protocol/wire/a.cpp", "#include <QByteArray>"}, Arrow{"protocol/wire/a.cpp", "#include <boost/crc.hpp>"},
        Arrow{"protocol/board/a.c", "#include \"protocol/wire/decoder.hpp\""}, Arrow{"protocol/board/a.c", "#include <stdlib.h>"},
        Arrow{"protocol/board/a.c", "#include <string.h>"}, Arrow{"analysis/trial/a.cpp", "#include \"protocol/board/frame.h\""},
        Arrow{"analysis/trial/a.cpp", "#include \"daq/link/port.hpp\""}, Arrow{"analysis/trial/a.cpp", "#include <QString>"},
        Arrow{"analysis/trial/a.cpp", "  #  include <QtCore/qglobal.h>"}, Arrow{"analysis/trial/a.cpp", "#include <fstream>"},
        Arrow{"analysis/trial/a.cpp", "#include <chrono>"}, Arrow{"analysis/trial/a.cpp", "#include <iostream>"},
        Arrow{"analysis/trial/a.cpp", "#include <spdlog/spdlog.h>"},
        Arrow{"analysis/trial/a.cpp", "#include <nlohmann/json.hpp>"}, Arrow{"analysis/trial/a.cpp", "#include <sys/time.h>"},
        Arrow{"analysis/trial/a.cpp", "std::printf(\"debug\");"},
        Arrow{"protocol/wire/a.cpp", "if (std::getenv(name) != nullptr) {"},
        Arrow{"daq/stream/a.cpp", "#include \"gui/window/pages.hpp\""}, Arrow{"daq/stream/a.cpp", "#include <QObject>"},
        Arrow{"daq/stream/a.cpp", "#include \"daq/bench/bench.hpp\""},
        Arrow{"daq/sequence/a.cpp", "#include \"daq/stream/ring.hpp\""},
        Arrow{"analysis/signal/a.cpp", "#include \"analysis/trial/metric.hpp\""},
        Arrow{"gui/report/a.cpp", "#include \"gui/window/pages.hpp\""}, Arrow{"daq/record/a.cpp", "#include <QFile>"},
        Arrow{"analysis/trial/a.cpp", "#include <QDateTime>"}, Arrow{"daq/sequence/a.cpp", "#include <QTimer>"},
        Arrow{"daq/stream/a.cpp", "#include <SQLiteCpp/Database.h>"}, Arrow{"daq/bench/a.cpp", "#include <sqlite3.h>"},
        Arrow{"daq/record/a.cpp", "#include <toml++/toml.h>"}, Arrow{"daq/bench/a.cpp", "#include <QWidget>"},
        Arrow{"daq/link/a.cpp", "#include <QtCharts/QChart>"}, Arrow{"daq/bench/a.cpp", "#include <CLI/CLI.hpp>"},
        Arrow{"daq/stream/a.cpp", "#include <daq/link/port.hpp>"}, Arrow{"gui/window/a.cpp", "#include \"pages.hpp\""},
        Arrow{"gui/window/a.cpp", "#include \"../window/pages.hpp\""}, Arrow{"gui/window/a.cpp", "#include <gtest/gtest.h>"},
        Arrow{"gui/window/a.cpp", "#include <SQLiteCpp/Database.h>"},
        Arrow{"gui/window/a.cpp", "#include \"gui/window/gone.hpp\""}));

class AllowedArrow : public testing::TestWithParam<Arrow> {};
TEST_P(AllowedArrow, IsLeftInPeace) { EXPECT_EQ(to_text(includes_of(GetParam().from, GetParam().include)), ""); }
INSTANTIATE_TEST_SUITE_P(
    IncludeRules, AllowedArrow,
    testing::Values(
        Arrow{"protocol/wire/a.cpp", "#include \"protocol/board/frame.h\""}, Arrow{"protocol/wire/a.cpp", "#include <span>"},
        Arrow{"protocol/board/a.c", "#include <stdint.h>"}, Arrow{"analysis/trial/a.cpp", "#include \"analysis/result.hpp\""},
        Arrow{"analysis/trial/a.cpp", "#include <Eigen/Dense>"},
        Arrow{"analysis/trial/a.cpp", "std::snprintf(text, 10, format, value);"},
        Arrow{"gui/main.cpp", "std::printf(\"result\");"}, Arrow{"analysis/trial/a.cpp", "#include <tl/expected.hpp>"},
        Arrow{"analysis/trial/a.cpp", "// #include <QString> is what one may not do here"},
        Arrow{"daq/stream/a.cpp", "#include \"protocol/wire/decoder.hpp\""}, Arrow{"daq/stream/a.cpp", "#include <chrono>"},
        Arrow{"daq/record/a.cpp", "#include \"daq/stream/ring.hpp\""}, Arrow{"gui/main.cpp", "#include \"gui/window/pages.hpp\""},
        Arrow{"daq/virtual_rig/a.cpp", "#include <sys/ioctl.h>"}, Arrow{"daq/link/a.cpp", "#include <QSerialPort>"},
        Arrow{"daq/bench/a.cpp", "#include \"a.moc\""}, Arrow{"daq/record/a.cpp", "#include <QCryptographicHash>"},
        Arrow{"daq/record/a.cpp", "#include <SQLiteCpp/Database.h>"}, Arrow{"gui/window/a.cpp", "#include <QtCharts/QChart>"},
        Arrow{"gui/window/a.cpp", "#include \"daq/link/port.hpp\""}, Arrow{"tests/gui/a_test.cpp", "#include <gtest/gtest.h>"}));

TEST(IncludeRules, CodeOutsideTheHouseMapIsReported) {
  const InventedTree tree{{{"stray/a.cpp", ""}, {"daq/new_folder/a.cpp", ""}}};
  EXPECT_EQ(check_includes(tree.read()).size(), 2U);
}

TEST(QObjectRules, AClassWithSignalsLivesInLinkBenchOrGui) {
  const InventedTree tree{{
      {"daq/bench/a.hpp", "class A : public QObject {\n  Q_OBJECT\n};\n"},
      {"gui/window/a.hpp", "class A : public QWidget {\n  Q_OBJECT\n};\n"},
      {"daq/stream/a.hpp", "class A : public QObject {\n  Q_OBJECT\n};\n"},
  }};
  const std::vector<Breach> breaches = check_qobjects(tree.read());
  ASSERT_EQ(breaches.size(), 1U) << to_text(breaches);
  EXPECT_EQ(breaches[0].file, "daq/stream/a.hpp");
  EXPECT_EQ(breaches[0].line, 2U);
}

TEST(QObjectRules, TheMacroStandsFirstOnItsLine) {
  const InventedTree tree{{{"gui/window/a.hpp", "class A : public QWidget { Q_OBJECT\n};\n"}}};
  EXPECT_EQ(check_qobjects(tree.read()).size(), 1U);
}

}  // namespace
}  // namespace coldstroke::house
