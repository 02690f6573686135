// SPDX-License-Identifier: GPL-3.0-or-later
#include <hdf5.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <limits>
#include <stdexcept>
#include <utility>

#include "daq/record/csv_columns.hpp"
#include "daq/record/exported_trial.hpp"

namespace coldstroke::daq {
namespace {

/// An HDF5 identifier that is closed with its scope; a failed call throws.
class Handle {
 public:
  using Close = herr_t (*)(hid_t);
  Handle(hid_t id, Close closer, const char* doing) : id_{id}, close_{closer} {
    if (id < 0) throw std::runtime_error{std::string{"HDF5 could not "} + doing};
  }
  Handle(Handle&& other) noexcept : id_{std::exchange(other.id_, -1)}, close_{other.close_} {}
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  Handle& operator=(Handle&&) = delete;
  ~Handle() {
    if (id_ >= 0) close_(id_);
  }
  [[nodiscard]] hid_t get() const { return id_; }

 private:
  hid_t id_;
  Close close_;
};

void must(herr_t result, const char* doing) {
  if (result < 0) throw std::runtime_error{std::string{"HDF5 could not "} + doing};
}

Handle scalar() { return {H5Screate(H5S_SCALAR), H5Sclose, "make a scalar"}; }

Handle text_type(const std::string& text) {
  Handle type{H5Tcopy(H5T_C_S1), H5Tclose, "make a text type"};
  must(H5Tset_size(type.get(), std::max<std::size_t>(1, text.size())), "size a text");
  must(H5Tset_cset(type.get(), H5T_CSET_UTF8), "mark a text as UTF-8");
  must(H5Tset_strpad(type.get(), H5T_STR_NULLPAD), "pad a text");
  return type;
}

void attribute(const Handle& of, const char* name, const std::string& text) {
  const Handle type = text_type(text), space = scalar();
  const Handle made{H5Acreate2(of.get(), name, type.get(), space.get(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose, "make an attribute"};
  must(H5Awrite(made.get(), type.get(), text.empty() ? "" : text.data()), "write an attribute");
}

void attribute(const Handle& of, const char* name, double value) {
  const Handle space = scalar();
  const Handle made{H5Acreate2(of.get(), name, H5T_IEEE_F64LE, space.get(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose,
                    "make an attribute"};
  must(H5Awrite(made.get(), H5T_NATIVE_DOUBLE, &value), "write an attribute");
}

void attribute(const Handle& of, const char* name, std::int64_t value) {
  const Handle space = scalar();
  const Handle made{H5Acreate2(of.get(), name, H5T_STD_I64LE, space.get(), H5P_DEFAULT, H5P_DEFAULT), H5Aclose,
                    "make an attribute"};
  must(H5Awrite(made.get(), H5T_NATIVE_INT64, &value), "write an attribute");
}

Handle group(const Handle& in, const std::string& name) {
  return {H5Gcreate2(in.get(), name.c_str(), H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT), H5Gclose, "make a group"};
}

void text_dataset(const Handle& in, const char* name, const std::string& text) {
  const Handle type = text_type(text), space = scalar();
  const Handle made{H5Dcreate2(in.get(), name, type.get(), space.get(), H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT), H5Dclose,
                    "make a dataset"};
  must(H5Dwrite(made.get(), type.get(), H5S_ALL, H5S_ALL, H5P_DEFAULT, text.empty() ? "" : text.data()), "write a dataset");
}

Handle dataset(const Handle& in, const std::string& name, const std::vector<double>& values) {
  const hsize_t size = values.size();
  const Handle space{H5Screate_simple(1, &size, nullptr), H5Sclose, "make a data space"};
  const Handle layout{H5Pcreate(H5P_DATASET_CREATE), H5Pclose, "make a layout"};
  if (size > 1024) {
    const hsize_t chunk = std::min<hsize_t>(size, 65536);
    must(H5Pset_chunk(layout.get(), 1, &chunk), "set chunks");
    must(H5Pset_shuffle(layout.get()), "set the shuffle filter");
    must(H5Pset_deflate(layout.get(), 4), "set compression");
    must(H5Pset_fletcher32(layout.get()), "set checksums");
  }
  Handle made{H5Dcreate2(in.get(), name.c_str(), H5T_IEEE_F64LE, space.get(), H5P_DEFAULT, layout.get(), H5P_DEFAULT), H5Dclose,
              "make a dataset"};
  if (size > 0) must(H5Dwrite(made.get(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), "write a dataset");
  return made;
}

std::string_view unit_of(analysis::Quantity quantity) {
  switch (quantity) {
    case analysis::Quantity::force:
      return "N";
    case analysis::Quantity::gauge_pressure:
      return "Pa";
    case analysis::Quantity::acceleration:
      return "m/s^2";
    case analysis::Quantity::current:
      return "A";
    case analysis::Quantity::angular_rate:
      return "rad/s";
    case analysis::Quantity::temperature:
      return "K";
    case analysis::Quantity::other:
      break;
  }
  return "";
}

/// A name for a link: a slash would make a folder of it.
std::string link_name(std::string name) {
  std::ranges::replace(name, '/', '_');
  return name.empty() || name == "." ? "unnamed" : name;
}

void write_trace(const Handle& in, const analysis::Trace& trace) {
  std::vector<double> samples = trace.samples;
  for (const analysis::IndexRun& run : trace.missing)
    for (std::size_t k = run.first; k < std::min(run.last, samples.size()); ++k)
      samples[k] = std::numeric_limits<double>::quiet_NaN();
  const Handle made = dataset(in, link_name(trace.name), samples);
  attribute(made, "unit", std::string{unit_of(trace.quantity)});
  attribute(made, "quantity", std::string{quantity_word(trace.quantity)});
  attribute(made, "role", std::string{column_word(trace.role)});
  attribute(made, "start_seconds", trace.start_seconds);
  attribute(made, "period_seconds", trace.period_seconds);
  attribute(made, "gain_standard_uncertainty", trace.gain_standard_uncertainty);
  attribute(made, "zero_standard_uncertainty", trace.zero_standard_uncertainty);
  attribute(made, "resolution", trace.resolution);
  attribute(made, "alignment_standard_uncertainty_seconds", trace.alignment_standard_uncertainty_seconds);
  std::size_t saturated = 0;
  for (const analysis::IndexRun& run : trace.saturated) saturated += run.last - run.first;
  attribute(made, "saturated_samples", static_cast<std::int64_t>(saturated));
}

void write_metrics(const Handle& in, const analysis::TrialResult& result) {
  const Handle metrics = group(in, "metrics");
  for (const analysis::Metric& metric : result.metrics) {
    const Handle one = group(metrics, metric.name);
    attribute(one, "unit", metric.unit);
    attribute(one, "method", metric.method);
    if (const analysis::Measured* measured = metric.measured()) {
      attribute(one, "value", measured->value);
      attribute(one, "standard_uncertainty", measured->standard_uncertainty);
      attribute(one, "low_95", measured->low_95);
      attribute(one, "high_95", measured->high_95);
    } else {
      attribute(one, "absent", std::get<analysis::Absent>(metric.value).reason);
    }
  }
}

void write_trial(const Handle& file, const ExportedTrial& trial) {
  const Handle made = group(file, trial_name(trial.row.number));
  attribute(made, "number", trial.row.number);
  attribute(made, "status", std::string{word(trial.row.status)});
  attribute(made, "started_utc", trial.row.started_utc);
  attribute(made, "origin", trial.row.origin);
  attribute(made, "virtual_rig", std::int64_t{trial.row.virtual_rig ? 1 : 0});
  attribute(made, "setup_sha256", trial.row.setup_sha256);
  attribute(made, "verdict", std::string{word(trial.result.verdict)});
  attribute(made, "outcome", std::string{word(trial.result.outcome)});
  if (!trial.void_words.empty()) attribute(made, "voided_by_hand", trial.void_words);
  text_dataset(made, "setup_toml", trial.setup_text);
  text_dataset(made, "result_json", trial.result_json);
  text_dataset(made, "timing_json", timing_json(trial.traces));
  const Handle traces = group(made, "traces");
  for (const analysis::Trace& trace : trial.traces.traces) write_trace(traces, trace);
  const Handle decisions = dataset(made, "decisions_seconds", trial.traces.detector.decisions_seconds);
  attribute(decisions, "unit", std::string{"s"});
  write_metrics(made, trial.result);
}

/// A file that HDF5 keeps in memory and never writes. On a full disk H5Fclose fails and leaves an open file without a body
/// behind, over which the library (1.10) falls when the program ends; so no disk is shown to it.
Handle file_in_memory(const std::filesystem::path& name) {
  constexpr std::size_t kGrowBytes = std::size_t{1} << 22U;
  const Handle access{H5Pcreate(H5P_FILE_ACCESS), H5Pclose, "make an access list"};
  must(H5Pset_fapl_core(access.get(), kGrowBytes, 0), "keep a file in memory");
  return {H5Fcreate(name.c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, access.get()), H5Fclose, "make the file"};
}

void write_image(const Handle& made, const std::filesystem::path& file) {
  must(H5Fflush(made.get(), H5F_SCOPE_GLOBAL), "finish the file");
  const auto size = H5Fget_file_image(made.get(), nullptr, 0);
  if (size <= 0) throw std::runtime_error{"HDF5 could not finish the file"};
  std::vector<char> image(static_cast<std::size_t>(size));
  if (H5Fget_file_image(made.get(), image.data(), image.size()) != size)
    throw std::runtime_error{"HDF5 could not finish the file"};
  std::ofstream out{file, std::ios::binary};
  out.write(image.data(), static_cast<std::streamsize>(image.size()));
  out.close();
  if (!out) throw std::runtime_error{"it did not reach the disk"};
}

Result<void> write_all(const Campaign& campaign, const std::filesystem::path& file, const TrialNumbers& numbers,
                       const Progress& progress) {
  const auto name = campaign.name();
  const auto head = campaign.head();
  if (!name) return tl::unexpected{name.error()};
  if (!head) return tl::unexpected{head.error()};
  H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);  // complaints are ours to make
  const Handle made = file_in_memory(file);
  attribute(made, "layout", std::string{"coldstroke traces 1"});
  attribute(made, "campaign", *name);
  attribute(made, "chain_head", head->hex);
  text_dataset(made, "README", export_readme(*name, *head));
  for (std::size_t k = 0; k < numbers.size(); ++k) {
    auto trial = read_exported(campaign, numbers[k]);
    if (!trial) return tl::unexpected{trial.error()};
    write_trial(made, *trial);
    if (progress && !progress(k + 1, numbers.size()))
      return complain("Stopped on request.", file.string(), "Start it again; nothing was left behind.");
  }
  write_image(made, file);
  return {};
}

}  // namespace

Result<void> export_hdf5(const Campaign& campaign, const std::filesystem::path& file, const TrialNumbers& trials,
                         const Progress& progress) {
  std::error_code error;
  if (std::filesystem::exists(file, error))
    return complain("The file exists already.", file.string(), "Choose another name; nothing was written over.");
  const auto numbers = chosen_trials(campaign, trials);
  if (!numbers) return tl::unexpected{numbers.error()};
  const std::filesystem::path unfinished = file.string() + ".unfinished";
  Result<void> done;
  try {
    done = write_all(campaign, unfinished, *numbers, progress);
    if (done) std::filesystem::rename(unfinished, file);
  } catch (const std::exception& wrong) {
    done = complain("The file cannot be written: " + std::string{wrong.what()} + ".", file.string(),
                    "Check the folder and the space on the disk; nothing was left behind.");
  }
  if (!done) std::filesystem::remove(unfinished, error);
  return done;
}

}  // namespace coldstroke::daq
