// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writes the generated parts of docs/safety.md anew: write_safety_page docs/safety.md
#include <fstream>
#include <iostream>
#include <iterator>

#include "tests/daq/safety/safety_page.hpp"

int main(int count, char** words) {
  if (count != 2) {
    std::cerr << "usage: write_safety_page FILE\n";
    return 2;
  }
  std::ifstream in{words[1], std::ios::binary};
  if (!in) {
    std::cerr << words[1] << " cannot be read\n";
    return 1;
  }
  const std::string page{std::istreambuf_iterator<char>{in}, {}};
  try {
    const std::string fresh = coldstroke::daq::with_generated_parts(page);
    std::ofstream{words[1], std::ios::binary} << fresh;
    std::cout << (fresh == page ? "up to date\n" : "written anew\n");
  } catch (const std::exception& error) {
    std::cerr << error.what() << "\n";
    return 1;
  }
  return 0;
}
