// SPDX-License-Identifier: GPL-3.0-or-later
//
// The program as a user runs it, in a process of its own.
#pragma once

#include <sys/wait.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace coldstroke::gui {

/// How a run of the program ended and what it printed.
struct Ran {
  int code = -1;
  std::string out, complaints;
};

inline std::string text_of(const std::filesystem::path& file) {
  std::ifstream in{file, std::ios::binary};
  return {std::istreambuf_iterator<char>{in}, {}};
}

inline Ran run_program(const std::filesystem::path& folder, const std::string& arguments) {
  const std::string errors = (folder / "errors.txt").string();
  FILE* pipe = ::popen((std::string{COLDSTROKE_PROGRAM} + " " + arguments + " 2>" + errors).c_str(), "r");
  Ran out;
  char part[4096];
  for (std::size_t n = 0; (n = std::fread(part, 1, sizeof part, pipe)) > 0;) out.out.append(part, n);
  const int status = ::pclose(pipe);
  out.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  out.complaints = text_of(errors);
  return out;
}

}  // namespace coldstroke::gui
