// SPDX-License-Identifier: GPL-3.0-or-later
//
// A panel with work of its own: a row of choices with the button that begins it, a bar and a stop while it goes on, and a line
// for complaints.
#pragma once

#include <QWidget>

#include "analysis/result.hpp"
#include "gui/window/background_job.hpp"

class QDoubleSpinBox;
class QHBoxLayout;
class QLabel;
class QProgressBar;
class QPushButton;

namespace coldstroke::gui {

class JobPanel : public QWidget {
  Q_OBJECT
 public:
  /// `name` is the object's name; the button, stop, bar and message are NAME_begin, NAME_stop, NAME_progress, NAME_message.
  explicit JobPanel(const char* name, const QString& verb, QWidget* parent = nullptr);
  [[nodiscard]] bool busy() const { return job_->busy(); }
  void cancel() { job_->cancel(); }
  void complain(const Complaint& complaint);

 protected:
  virtual void begin() = 0;
  /// What is still wanted before the work can begin, for the button's tip; empty: nothing.
  [[nodiscard]] virtual QString wanting() const { return {}; }
  [[nodiscard]] bool ready() const { return wanting().isEmpty(); }
  void say(const QString& words);  ///< empty: nothing to say
  virtual void followJob();
  QDoubleSpinBox* addNumber(const char* name, const QString& words, double low, double high, double value, const QString& suffix);
  void addToRow(QWidget* widget, const QString& words = {});
  /// A long answer below what is there already: selectable, scrolled, as high as `stretch` gives it.
  QLabel* addAnswer(const char* name, const QString& words = {}, int stretch = 1);
  void endRow(QWidget* last = nullptr);  ///< puts the button, the bar, the stop and `last` behind the choices

  BackgroundJob* job_;

 private:
  QHBoxLayout* row_;
  QPushButton *begin_, *stop_;
  QProgressBar* progress_;
  QLabel* message_;
};

}  // namespace coldstroke::gui
