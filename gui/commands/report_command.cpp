// SPDX-License-Identifier: GPL-3.0-or-later
#include <QDateTime>
#include <iostream>
#include <memory>

#include "gui/commands/command.hpp"
#include "gui/report/campaign_file_source.hpp"
#include "gui/report/html_report.hpp"
#include "gui/report/whole_file.hpp"

namespace coldstroke::gui {

Result<void> report_to_file(const std::string& campaign, const std::string& html_file, std::optional<std::int64_t> only_trial) {
  const CampaignFileSource source{campaign};
  ReportHead head;
  head.program_version = COLDSTROKE_VERSION;
  head.written_utc = QDateTime::currentDateTimeUtc().toString(Qt::ISODate).toStdString();
  auto html = only_trial ? report_of_trial(source, std::move(head), *only_trial) : report_of_campaign(source, std::move(head));
  if (!html) return tl::unexpected{html.error()};
  return write_whole(html_file, *html);
}

void add_report(CLI::App& app, Exit& exit) {
  struct Arguments {
    std::string campaign, html;
    std::int64_t trial = 0;
  };
  auto arguments = std::make_shared<Arguments>();
  CLI::App* verb = app.add_subcommand("report", "Write the one-file HTML report of a campaign or of one trial");
  verb->add_option("campaign", arguments->campaign, "Campaign file")->required()->check(CLI::ExistingFile);
  verb->add_option("--html", arguments->html, "File to write")->required();
  verb->add_option("--trial", arguments->trial, "Only this trial")->check(whole_number(1, kMostTrials));
  verb->footer(std::string{kExitCodes});
  verb->callback([arguments, &exit] {
    const auto only = arguments->trial == 0 ? std::nullopt : std::optional{arguments->trial};
    const auto written = report_to_file(arguments->campaign, arguments->html, only);
    if (!written) {
      print_complaint(written.error());
      exit = Exit::bad_input;
      return;
    }
    std::cout << "report: " << arguments->html << '\n';
  });
}

}  // namespace coldstroke::gui
