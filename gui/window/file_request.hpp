// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>
#include <filesystem>
#include <functional>

namespace coldstroke::gui {

/// A file that a panel wants from the person; the window asks for it and hands it to `then`.
struct FileRequest {
  QString title, filter;  ///< filter as QFileDialog takes it
  bool to_write = false;
  std::function<void(const std::filesystem::path&)> then{};
};

}  // namespace coldstroke::gui
