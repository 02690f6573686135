// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "gui/window/detector/detector_panel.hpp"
#include "gui/window/detector/map_drawing.hpp"

namespace coldstroke::gui {

class MapView;

/// The operating map of one detector over the library, any two of its parameters, and what the robust region tolerates.
class MapPanel : public DetectorPanel {
  Q_OBJECT
 public:
  explicit MapPanel(QWidget* parent = nullptr);
  void setData(const DetectorData& opened) override;
  [[nodiscard]] MapView* view() const { return view_; }
  void compute() { begin(); }

 protected:
  void begin() override;
  void fillDetectors() override;

 private:
  struct Answer;
  void showAnswer(Result<Answer> answer, bool stopped);
  void showCell(qulonglong row, qulonglong column);
  QComboBox* addParameters(const char* name, const QString& words, analysis::MapParameter chosen);

  void tolerate(const analysis::DetectorSpec& spec);
  bool tolerating_ = false, again_ = false;
  QComboBox *detector_, *rows_, *columns_;
  QLabel *answer_, *cell_;
  MapView* view_;
};

}  // namespace coldstroke::gui
