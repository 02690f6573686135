// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QLabel>
#include <QString>

namespace coldstroke::gui {

/// A label of plain text that wraps; plain, since some of it comes from boards and files.
[[nodiscard]] QLabel* wrapped_label(const char* object_name);
/// Sets the text only if it is another, so that nothing is laid out anew thirty times a second.
void put(QLabel* label, const QString& words);
[[nodiscard]] QLabel* heading_label(const QString& words);

}  // namespace coldstroke::gui
