// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/commands/progress_line.hpp"

#include <unistd.h>

#include <iostream>

#include "gui/commands/command.hpp"

namespace coldstroke::gui {

daq::Progress progress_line(const char* doing) {
  catch_stop_signals();
  return [doing](std::size_t done, std::size_t of) {
    if (::isatty(STDERR_FILENO) == 1)
      std::cerr << '\r' << doing << ' ' << done << " of " << of << " trials" << (done == of ? "\n" : " (Ctrl-C stops)")
                << std::flush;
    return !stop_asked();
  };
}

}  // namespace coldstroke::gui
