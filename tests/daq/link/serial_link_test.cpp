// SPDX-License-Identifier: GPL-3.0-or-later
//
// A serial port through a real pseudo-terminal: every byte value, hang-up, and coming back.
#include "daq/link/serial_link.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <unistd.h>

#include <QCoreApplication>
#include <array>
#include <condition_variable>
#include <filesystem>
#include <mutex>
#include <numeric>

namespace coldstroke::daq {
namespace {

/// The board's end of a pseudo-terminal.
class Terminal {
 public:
  Terminal() : master_{posix_openpt(O_RDWR | O_NOCTTY)} {
    grantpt(master_);
    unlockpt(master_);
    std::array<char, 128> name{};
    ptsname_r(master_, name.data(), name.size());
    name_ = name.data();
  }
  ~Terminal() { hang_up(); }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;
  void hang_up() {
    if (master_ >= 0) close(master_);
    master_ = -1;
  }
  [[nodiscard]] const std::string& name() const { return name_; }
  void say(const std::vector<std::byte>& bytes) const {
    ASSERT_EQ(write(master_, bytes.data(), bytes.size()), static_cast<ssize_t>(bytes.size()));
  }
  [[nodiscard]] std::vector<std::byte> hear(std::size_t count) const {
    std::vector<std::byte> out(count);
    std::size_t have = 0;
    while (have < count) {
      const ssize_t got = read(master_, out.data() + have, count - have);
      if (got <= 0) break;
      have += static_cast<std::size_t>(got);
    }
    out.resize(have);
    return out;
  }

 private:
  int master_;
  std::string name_;
};

/// What the link reported, waited for without polling.
class Heard {
 public:
  SerialLink::Handlers handlers() {
    return {
        [this](HostTime, std::vector<std::byte> more) { change([&] { bytes.insert(bytes.end(), more.begin(), more.end()); }); },
        [this](HostTime) { change([&] { ++opened; }); },
        [this](HostTime, const QString& why) {
          change([&] {
            ++lost;
            reason = why.toStdString();
          });
        }};
  }
  template <class Condition>
  bool wait(Condition condition) {
    std::unique_lock lock{mutex_};
    return changed_.wait_for(lock, std::chrono::seconds{20}, condition);
  }
  std::vector<std::byte> bytes;
  int opened = 0, lost = 0;
  std::string reason;

 private:
  template <class Change>
  void change(Change what) {
    {
      const std::scoped_lock lock{mutex_};
      what();
    }
    changed_.notify_all();
  }
  std::mutex mutex_;
  std::condition_variable changed_;
};

std::vector<std::byte> every_byte_value() {
  std::vector<std::byte> out;
  for (int k = 0; k < 1024; ++k) out.push_back(static_cast<std::byte>(k & 0xFF));
  return out;
}

class SerialLinkTest : public testing::Test {
 protected:
  void SetUp() override {
    static int argc = 1;
    static char name[] = "daq_link_test";
    static char* argv[] = {name, nullptr};
    application_ = std::make_unique<QCoreApplication>(argc, argv);
  }
  std::unique_ptr<QCoreApplication> application_;
};

TEST_F(SerialLinkTest, EveryByteValuePassesBothWays) {
  const Terminal terminal;
  Heard heard;
  SerialLink link{{terminal.name(), 3'000'000}, Node::rig, heard.handlers()};
  ASSERT_TRUE(heard.wait([&] { return heard.opened == 1; }));
  const auto bytes = every_byte_value();
  terminal.say(bytes);
  ASSERT_TRUE(heard.wait([&] { return heard.bytes.size() >= bytes.size(); }));
  EXPECT_EQ(heard.bytes, bytes);
  link.write(bytes);
  EXPECT_EQ(terminal.hear(bytes.size()), bytes);
}

TEST_F(SerialLinkTest, AHangUpIsReportedOnceAndThePortIsOpenedAgainWhenItIsBack) {
  const auto link_name = std::filesystem::path{testing::TempDir()} / ("coldstroke_port_" + std::to_string(getpid()));
  std::filesystem::remove(link_name);
  auto first = std::make_unique<Terminal>();
  std::filesystem::create_symlink(first->name(), link_name);
  Heard heard;
  const SerialLink link{{link_name.string(), 921'600}, Node::flight, heard.handlers()};
  ASSERT_TRUE(heard.wait([&] { return heard.opened == 1; }));
  first->hang_up();
  ASSERT_TRUE(heard.wait([&] { return heard.lost >= 1; }));
  EXPECT_NE(heard.reason.find("vanished"), std::string::npos) << heard.reason;
  const Terminal second;
  std::filesystem::remove(link_name);
  std::filesystem::create_symlink(second.name(), link_name);
  ASSERT_TRUE(heard.wait([&] { return heard.opened == 2; }));
  const auto bytes = every_byte_value();
  second.say(bytes);
  EXPECT_TRUE(heard.wait([&] { return heard.bytes.size() >= bytes.size(); }));
  std::filesystem::remove(link_name);
}

TEST_F(SerialLinkTest, AMissingPortIsNamed) {
  Heard heard;
  const SerialLink link{{"/dev/no-such-port", 921'600}, Node::flight, heard.handlers()};
  ASSERT_TRUE(heard.wait([&] { return heard.lost == 1; }));
  EXPECT_NE(heard.reason.find("no such port"), std::string::npos) << heard.reason;
  EXPECT_NE(heard.reason.find("flight board"), std::string::npos);
}

TEST_F(SerialLinkTest, ASecondProgramOnOnePortIsRefused) {
  const Terminal terminal;
  Heard first, second;
  const SerialLink holder{{terminal.name(), 3'000'000}, Node::rig, first.handlers()};
  ASSERT_TRUE(first.wait([&] { return first.opened == 1; }));
  const SerialLink intruder{{terminal.name(), 3'000'000}, Node::rig, second.handlers()};
  ASSERT_TRUE(second.wait([&] { return second.lost == 1; }));
  EXPECT_NE(second.reason.find("in use"), std::string::npos) << second.reason;
  EXPECT_EQ(second.opened, 0);
}

TEST_F(SerialLinkTest, ASecondProgramIsRefusedAlsoUnderAnotherNameOfThePort) {
  const auto alias = std::filesystem::path{testing::TempDir()} / ("coldstroke_alias_" + std::to_string(getpid()));
  std::filesystem::remove(alias);
  const Terminal terminal;
  std::filesystem::create_symlink(terminal.name(), alias);
  Heard first, second;
  {
    const SerialLink holder{{terminal.name(), 3'000'000}, Node::rig, first.handlers()};
    ASSERT_TRUE(first.wait([&] { return first.opened == 1; }));
    const SerialLink intruder{{alias.string(), 3'000'000}, Node::rig, second.handlers()};
    ASSERT_TRUE(second.wait([&] { return second.lost + second.opened >= 1; }));
    EXPECT_EQ(second.opened, 0);
    EXPECT_NE(second.reason.find("in use"), std::string::npos) << second.reason;
  }
  std::filesystem::remove(alias);
}

}  // namespace
}  // namespace coldstroke::daq
