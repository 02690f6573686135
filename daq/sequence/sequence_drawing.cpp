// SPDX-License-Identifier: GPL-3.0-or-later
//
// The sequence as a page for people, written from the tables themselves so that it cannot drift from them.
#include <string>

#include "daq/sequence/sequence.hpp"

namespace coldstroke::daq {

namespace {

std::string node(Step step) {
  std::string name = word(step);
  for (char& c : name)
    if (c == ' ') c = '_';
  return name;
}

std::string actions_of(const Row& row) {
  std::string out;
  for (const Action action : row.actions) out += (out.empty() ? "" : ", ") + std::string{word(action)};
  return out.empty() ? "-" : out;
}

std::string drawing() {
  std::string out = "```mermaid\nstateDiagram-v2\n  [*] --> idle\n";
  for (std::size_t from = 0; from < kSteps; ++from)
    for (std::size_t to = 0; to < kSteps; ++to) {
      std::string labels;
      for (const Row& row : sequence_table()) {
        if (row.from != static_cast<Step>(from) || row.to != static_cast<Step>(to) || from == to) continue;
        labels += (labels.empty() ? "" : ", ") + std::string{word(row.on)} + (row.guarded ? " [guarded]" : "");
      }
      if (!labels.empty())
        out += "  " + node(static_cast<Step>(from)) + " --> " + node(static_cast<Step>(to)) + " : " + labels + "\n";
    }
  return out + "```\n";
}

std::string rows() {
  std::string out = "| step | event | guard | to | actions | meaning |\n|---|---|---|---|---|---|\n";
  for (const Row& row : sequence_table())
    out += std::string{"| "} + word(row.from) + " | " + word(row.on) + " | " + (row.guarded ? "every interlock" : "-") + " | " +
           word(row.to) + " | " + actions_of(row) + " | " + std::string{row.meaning} + " |\n";
  return out;
}

std::string disregards() {
  std::string out = "| event | in step | why nothing happens |\n|---|---|---|\n";
  for (const Disregard& disregard : sequence_disregards()) {
    std::string steps;
    for (std::size_t s = 0; s < kSteps; ++s)
      if (disregard.in(static_cast<Step>(s))) steps += (steps.empty() ? "" : ", ") + std::string{word(static_cast<Step>(s))};
    out += std::string{"| "} + word(disregard.on) + " | " + steps + " | " + std::string{disregard.why} + " |\n";
  }
  return out;
}

}  // namespace

std::string sequence_drawing() {
  return drawing() + "\nEvery row. An action list is done in order.\n\n" + rows() +
         "\nEvents that mean nothing in a step, and why; together with the rows above these are all pairs of step and "
         "event.\n\n" +
         disregards();
}

}  // namespace coldstroke::daq
