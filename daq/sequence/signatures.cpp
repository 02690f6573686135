// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/sequence/signatures.hpp"

#include <algorithm>
#include <cctype>

#include "daq/sequence/interlocks.hpp"

namespace coldstroke::daq {

namespace {

constexpr std::size_t kReasonLeast = 5, kTextMost = 300;

/// Lower case, without blanks: "Ann  Lee" and "ann lee" are one person.
std::string bare(const std::string& name) {
  std::string out;
  for (const char c : name)
    if (std::isspace(static_cast<unsigned char>(c)) == 0) out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

bool one_line(const std::string& text) {
  return text.size() <= kTextMost && std::ranges::none_of(text, [](unsigned char c) { return c < 0x20 || c == 0x7F; });
}

}  // namespace

std::optional<Complaint> signature_trouble(Step step, const ChecklistSetup& checklist, std::span<const Signature> given,
                                           const std::string& role, const std::string& name,
                                           std::span<const std::string> confirmed) {
  const std::string where = "signature of " + (role.empty() ? std::string{"nobody"} : role);
  if (step != Step::checks)
    return Complaint{"the checklist is signed in the checks of a trial", where, "begin a trial; sign before the charge"};
  if (std::ranges::find(checklist.roles, role) == checklist.roles.end())
    return Complaint{"the setup knows no such role", where, "sign one of the roles of [checklist]"};
  if (bare(name).empty() || !one_line(name)) return Complaint{"a signature needs a name", where, "give a name of one line"};
  if (bare(name) == bare(kUnattendedName))
    return Complaint{"this name stands for nobody", where, "give the name of the person who looked"};
  for (const Signature& signature : given) {
    if (signature.role == role) return Complaint{"the role has signed already", where, "nothing: it is signed"};
    if (bare(signature.name) == bare(name))
      return Complaint{"the same person cannot sign for two roles", where, "a second person goes through the list"};
  }
  if (!std::ranges::equal(confirmed, checklist.items))
    return Complaint{"not every item of the list is confirmed", where, "go through every item, then sign"};
  return std::nullopt;
}

std::optional<Complaint> bypass_trouble(const std::string& interlock, const std::string& reason) {
  const std::string where = "interlock '" + interlock + "'";
  if (!bypass_exists(interlock)) return Complaint{"there is no bypass for this interlock", where, "make the condition true"};
  if (bare(reason).size() < kReasonLeast || !one_line(reason))
    return Complaint{"a bypass needs a reason in words, in one line", where, "say why it is safe to go on without it"};
  return std::nullopt;
}

}  // namespace coldstroke::daq
