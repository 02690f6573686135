// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/bench/headline_bar.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "tests/gui/invented_bench.hpp"

namespace coldstroke::gui {
namespace {

using daq::Headline;
using Clock = HeadlineBar::Clock;

constexpr std::array kAll{Headline::unknown,   Headline::safe,    Headline::pressurised, Headline::release_enabled,
                          Headline::recording, Headline::venting, Headline::keep_clear};

std::shared_ptr<const daq::BenchView> shared(daq::BenchView view) { return std::make_shared<daq::BenchView>(std::move(view)); }

QImage picture(HeadlineBar& bar) { return bar.grab().toImage(); }

TEST(Headline, SaysPressureWithItsAge) {
  HeadlineBar bar;
  const auto now = Clock::now();
  bar.show(shared(invented_view()), now);
  EXPECT_EQ(bar.stateWords(), "PRESSURISED");
  EXPECT_EQ(bar.pressureWords(), "7.02 bar");
  EXPECT_EQ(bar.ageWords(), "gauge, 12 ms ago");
}

TEST(Headline, GoesOnAgeingWhenNoNewViewComes) {
  HeadlineBar bar;
  const auto now = Clock::now();
  bar.show(shared(invented_view()), now);
  bar.refresh(now + std::chrono::milliseconds{300});
  EXPECT_EQ(bar.ageWords(), "gauge, 312 ms ago");
  EXPECT_FALSE(bar.state().stale);
  bar.refresh(now + std::chrono::milliseconds{3200});
  EXPECT_TRUE(bar.state().stale);
  EXPECT_EQ(bar.ageWords(), "3.3 s old: treat as pressurised");
  EXPECT_EQ(bar.stateWords(), QString::fromUtf8(daq::word(Headline::unknown)));
}

TEST(Headline, GreysOutAndHatchesAStaleReading) {
  HeadlineBar bar;
  bar.setPalette(light_look().palette());
  bar.resize(1280, 76);
  const auto now = Clock::now();
  bar.show(shared(invented_view()), now);
  const QImage fresh = picture(bar);
  bar.refresh(now + std::chrono::seconds{3});
  const QImage stale = picture(bar);
  const QPoint corner = bar.stateRect().topLeft() + QPoint{3, 40};
  EXPECT_EQ(fresh.pixelColor(corner), light_look().abnormal);
  EXPECT_NE(stale.pixelColor(corner), light_look().abnormal);
  // Hatch: the empty right end of the pressure field holds lines in the rule's colour.
  int hatched = 0;
  const QRect field = bar.pressureRect();
  for (int x = field.right() - 40; x < field.right(); ++x) hatched += stale.pixelColor(x, 10) == fresh.pixelColor(x, 10) ? 0 : 1;
  EXPECT_GT(hatched, 3);
}

TEST(Headline, NeverSoftensKeepClear) {
  HeadlineBar bar;
  const auto now = Clock::now();
  daq::BenchView view = invented_view(Headline::keep_clear);
  view.pressure_pascals.reset();
  bar.show(shared(view), now);
  bar.refresh(now + std::chrono::minutes{5});
  EXPECT_EQ(bar.stateWords(), QString::fromUtf8(daq::word(Headline::keep_clear)));
  EXPECT_EQ(bar.pressureWords(), "-.-- bar");
  EXPECT_EQ(bar.ageWords(), "no reading: treat as pressurised");
}

TEST(Headline, FitsEveryStateAtEveryWidthWithoutMoving) {
  HeadlineBar bar;
  for (const int width : {853, 1024, 1280, 1920}) {
    bar.resize(width, 76);
    bar.show(shared(invented_view()));
    bar.grab();  // lays out
    const QRect state = bar.stateRect(), pressure = bar.pressureRect();
    for (const Headline headline : kAll) {
      daq::BenchView view = invented_view(headline);
      view.pressure_pascals = 12.34e5;
      bar.show(shared(view));
      bar.grab();
      EXPECT_TRUE(bar.wordsFit()) << width << " " << daq::word(headline);
      EXPECT_EQ(bar.stateRect(), state);
      EXPECT_EQ(bar.pressureRect(), pressure);
    }
  }
}

TEST(Headline, SurvivesNumbersThatAreNone) {
  HeadlineBar bar;
  daq::BenchView view = invented_view();
  view.pressure_pascals = NAN;
  view.pressure_age_seconds = INFINITY;
  bar.show(shared(view));
  EXPECT_EQ(bar.pressureWords(), "-.-- bar");
  EXPECT_TRUE(bar.state().stale);
  bar.show(nullptr);
  EXPECT_EQ(bar.stateWords(), "NO BENCH");
}

// WCAG 2.2, success criterion 1.4.3 and the definition of relative luminance.
double luminance(const QColor& colour) {
  const auto part = [](double c) { return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4); };
  return 0.2126 * part(colour.redF()) + 0.7152 * part(colour.greenF()) + 0.0722 * part(colour.blueF());
}
double contrast(const QColor& a, const QColor& b) {
  const double x = luminance(a), y = luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

TEST(Look, GivesTextFourAndAHalfToOneEverywhere) {
  for (const Look* look : {&light_look(), &dark_look()}) {
    for (const QColor& ground : {look->sheet, look->paper}) {
      EXPECT_GE(contrast(look->ink, ground), 4.5);
      EXPECT_GE(contrast(look->muted, ground), 4.5);
    }
    for (const Meaning meaning : {Meaning::safe, Meaning::abnormal, Meaning::danger, Meaning::mandatory, Meaning::unknown})
      EXPECT_GE(contrast(look->text_on(meaning), look->fill(meaning)), 4.5);
    for (const auto role : {analysis::Role::force, analysis::Role::supply_pressure, analysis::Role::chamber_pressure,
                            analysis::Role::vehicle_acceleration, analysis::Role::dummy_load_current})
      EXPECT_GE(contrast(look->trace(role), look->sheet), 3.0);  // 1.4.11, graphics
  }
}

}  // namespace
}  // namespace coldstroke::gui
