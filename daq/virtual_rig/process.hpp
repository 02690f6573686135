// SPDX-License-Identifier: GPL-3.0-or-later
//
// A host's handle on a virtual rig that it started itself, as a process of its own.
#pragma once

#include <sys/types.h>

#include <string>
#include <vector>

#include "analysis/result.hpp"
#include "daq/virtual_rig/lockstep.hpp"
#include "daq/virtual_rig/serve.hpp"

namespace coldstroke::daq {

/// How to start it: by default this very program with its verb "virtual".
struct VirtualRigProgram {
  std::string executable = "/proc/self/exe";
  std::vector<std::string> leading_arguments{"virtual"};
};

/// Owns the child: it ends with this object, or by itself when this process is gone (its standard input then ends). Not copied.
/// The members may be called from one thread at a time.
class VirtualRigProcess {
 public:
  /// Lock-step; the child answers `exchange`. `options.lockstep` is set here.
  static Result<VirtualRigProcess> start_lockstep(VirtualRigOptions options, const VirtualRigProgram& program = {});
  /// Real time; returns once the child has told its ports, or complains after `limit_seconds`.
  static Result<VirtualRigProcess> start_real_time(VirtualRigOptions options, const VirtualRigProgram& program = {},
                                                   double limit_seconds = 10.0);
  VirtualRigProcess(VirtualRigProcess&& other) noexcept;
  VirtualRigProcess& operator=(VirtualRigProcess&& other) noexcept;
  /// Ends the child: end of its input, then SIGTERM, and SIGKILL if it does not listen within 2 s each.
  ~VirtualRigProcess();

  /// One request, one answer. A complaint means that the child is gone or talks nonsense: it will not come back.
  [[nodiscard]] Result<LockstepReply> exchange(const LockstepRequest& request);
  /// Real time: names of the pseudo-terminals.
  [[nodiscard]] const std::string& rig_port() const { return ports_[0]; }
  [[nodiscard]] const std::string& flight_port() const { return ports_[1]; }
  /// Ends the child and returns its exit code, or 128 + the signal that ended it.
  int end();
  [[nodiscard]] pid_t process_id() const { return child_; }

 private:
  VirtualRigProcess() = default;
  static Result<VirtualRigProcess> start(const VirtualRigOptions& options, const VirtualRigProgram& program);
  [[nodiscard]] Complaint gone(const Complaint& cause);
  Result<bool> read_ports(double limit_seconds);
  pid_t child_ = -1;
  int stream_ = -1;  ///< socket to the child's standard input and output
  int exit_code_ = 0;
  std::string ports_[2];
};

}  // namespace coldstroke::daq
