// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/setup/setup_page.hpp"

#include <QGridLayout>
#include <QHBoxLayout>
#include <QPushButton>
#include <QScrollArea>
#include <QSerialPortInfo>
#include <QVBoxLayout>
#include <fstream>
#include <iterator>

#include "daq/record/digest.hpp"
#include "gui/report/figures.hpp"
#include "gui/window/bench/keep_out_panel.hpp"
#include "gui/window/label.hpp"
#include "gui/window/look.hpp"
#include "gui/window/setup/setup_text.hpp"
#include "gui/window/sound.hpp"

namespace coldstroke::gui {
namespace {

constexpr std::size_t kTextMost = 4U * 1024 * 1024;  // as for a setup file that loads

QString bar(double pascals) { return text(decimal(pascals * 1.0e-5, 2)) + QStringLiteral(" bar"); }
QString with_unit(double value, int digits, const char* unit) {
  return text(significant(value, digits)) + QLatin1Char{' '} + QString::fromUtf8(unit);
}

QString metres(double value) { return with_unit(value, 3, "m"); }

QString read_text(const std::filesystem::path& file) {
  std::ifstream stream{file, std::ios::binary};
  std::string bytes(kTextMost, '\0');
  stream.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(std::max<std::streamsize>(0, stream.gcount())));
  return QString::fromUtf8(bytes.data(), static_cast<qsizetype>(bytes.size()));
}

void pressures(const daq::Setup& s, std::vector<SetupFact>& facts) {
  facts.push_back({QObject::tr("Pressures (gauge)"), {}});
  facts.push_back({QObject::tr("charge window"), bar(s.charge.low_pascals) + QObject::tr(" to ") + bar(s.charge.high_pascals)});
  facts.push_back({QObject::tr("maximum"), bar(s.charge.maximum_pascals)});
  facts.push_back({QObject::tr("relief valve"), bar(s.charge.relief_pascals)});
  for (const daq::PressurePart& part : s.parts)
    facts.push_back({text(part.name),
                     bar(part.limit_pascals) + (part == s.weakest_part() ? QObject::tr("  ◄ weakest: it rules") : QString{})});
}

void keep_out_facts(const daq::KeepOut& k, std::vector<SetupFact>& facts) {
  facts.push_back({QObject::tr("Stored energy and distances"), {}});
  facts.push_back(
      {QObject::tr("line on the ground"),
       QObject::tr("%1 %2").arg(k.warnings.empty() ? QStringLiteral("✓") : QStringLiteral("✗"), metres(k.configured_metres))});
  for (const std::string& warning : k.warnings) facts.push_back({QObject::tr("too near"), "✗ " + text(warning)});
  facts.push_back({QObject::tr("reservoir holds"), energy_words(k.reservoir_joules) + QObject::tr(" at the maximum pressure")});
  if (k.supply_joules) facts.push_back({QObject::tr("bottle holds"), energy_words(*k.supply_joules)});
  facts.push_back({QObject::tr("published floor"),
                   k.floor_metres ? metres(*k.floor_metres) : QObject::tr("none: beyond what the article covers")});
  facts.push_back({QObject::tr("scaled distance"), metres(k.scaled_metres)});
  facts.push_back({QObject::tr("by"), text(k.edition)});
  facts.push_back({QObject::tr("projectile's reach"),
                   QObject::tr("%1, at most %2 m/s").arg(metres(k.reach_metres), text(decimal(k.exit_speed_bound_mps, 1)))});
}

QString firing_words(const daq::Setup& s) {
  QStringList ends;
  for (const daq::FiringChannel& channel : s.firing_channels)
    ends += channel.dummy_load ? QObject::tr("dummy load %1").arg(with_unit(channel.ohms, 3, "Ω")) : QObject::tr("open");
  return ends.join(", ");
}

}  // namespace

std::vector<SetupFact> setup_facts(const daq::Setup& s) {
  std::vector<SetupFact> facts;
  facts.push_back({QObject::tr("File"), s.file.empty() ? text(s.source) : text(s.file.string())});
  facts.push_back({QObject::tr("SHA-256"), text(daq::sha256_hex(s.text))});
  facts.push_back({QObject::tr("Campaign"), text(s.campaign_name)});
  if (!s.purpose.empty()) facts.push_back({QObject::tr("Purpose"), text(s.purpose)});
  const auto port = [](const daq::PortSetup& one) {
    return QObject::tr("%1, %2 baud").arg(one.name.empty() ? QObject::tr("none named") : text(one.name)).arg(one.baud);
  };
  facts.push_back({QObject::tr("rig board on"), port(s.rig_port)});
  facts.push_back({QObject::tr("flight board on"), port(s.flight_port)});
  facts.push_back({QObject::tr("Rig and vehicle"), {}});
  facts.push_back({QObject::tr("rig"), text(s.rig_name)});
  facts.push_back({QObject::tr("reservoir"), with_unit(s.reservoir_volume_m3 * 1.0e3, 3, "litres")});
  facts.push_back({QObject::tr("bore, stroke"), QObject::tr("%1, %2").arg(with_unit(s.trial.bore_metres * 1.0e3, 3, "mm"),
                                                                          with_unit(s.trial.stroke_metres * 1.0e3, 3, "mm"))});
  facts.push_back({QObject::tr("valves"), s.charge_valves == daq::ChargeValves::hand
                                              ? QObject::tr("charge and vent moved by hand")
                                              : QObject::tr("driven by the rig board")});
  facts.push_back(
      {QObject::tr("lid"), s.lid ? QObject::tr("shut %1 after first motion").arg(with_unit(s.lid->shut_after_seconds, 2, "s"))
                                 : QObject::tr("none")});
  facts.push_back({QObject::tr("vehicle"),
                   QObject::tr("%1, %2, inert").arg(text(s.vehicle_name), with_unit(s.trial.vehicle_mass_kg, 4, "kg"))});
  facts.push_back({QObject::tr("firing channels"), firing_words(s)});
  keep_out_facts(daq::keep_out(s), facts);
  pressures(s, facts);
  facts.push_back({QObject::tr("Sequence"), {}});
  facts.push_back(
      {QObject::tr("countdown"), with_unit(s.sequence.countdown_seconds, 2, "s") + QObject::tr(", sound by ") + sound_way()});
  facts.push_back({QObject::tr("hang"), QObject::tr("no motion in %1, then keep clear %2")
                                            .arg(with_unit(s.sequence.hang_seconds * 1.0e3, 2, "ms"),
                                                 with_unit(s.sequence.keep_clear_seconds, 2, "s"))});
  facts.push_back({QObject::tr("vented below"), bar(s.sequence.vented_below_pascals)});
  QStringList roles;
  for (const std::string& role : s.checklist.roles) roles += text(role);
  facts.push_back(
      {QObject::tr("checklist"), QObject::tr("%1 items, signed by %2").arg(s.checklist.items.size()).arg(roles.join(", "))});
  return facts;
}

SetupPage::SetupPage(QWidget* parent) : QWidget{parent} {
  setObjectName("setup_page");
  auto* whole = new QVBoxLayout{this};
  whole->setContentsMargins(8, 8, 8, 8);
  title_ = heading_label({});
  title_->setObjectName("setup_title");
  title_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred);
  const auto button = [](const char* name, const QString& words) {
    auto* made = new QPushButton{words};
    made->setObjectName(name);
    return made;
  };
  open_ = button("setup_open", tr("Open a setup ..."));
  leave_ = button("setup_leave", tr("Leave this rig"));
  back_ = button("setup_back", tr("Show the one in force"));
  auto* top = new QHBoxLayout;
  top->addWidget(title_, 1);
  for (QPushButton* one : {back_, open_, leave_}) top->addWidget(one);
  whole->addLayout(top);
  blocked_ = wrapped_label("setup_blocked");
  complaint_ = wrapped_label("setup_complaint");
  complaint_->setFont(type(kBodyPt, true));
  complaint_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  whole->addWidget(blocked_);
  whole->addWidget(complaint_);

  facts_place_ = new QWidget;
  auto* column = new QVBoxLayout{facts_place_};
  column->setContentsMargins(0, 0, 8, 0);
  column->addWidget(heading_label(tr("Ports")));
  ports_ = wrapped_label("setup_ports");
  column->addWidget(ports_);
  ports_here_ = wrapped_label("setup_ports_here");
  column->addWidget(ports_here_);
  column->addStretch(1);
  auto* area = facts_area_ = new QScrollArea;
  area->setFrameShape(QFrame::NoFrame);
  area->setWidgetResizable(true);
  area->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  area->setWidget(facts_place_);
  text_ = new SetupText;
  auto* row = new QHBoxLayout;
  row->addWidget(area, 5);
  row->addWidget(text_, 6);
  whole->addLayout(row, 1);
  connect(open_, &QPushButton::clicked, this, &SetupPage::setupWanted);
  connect(leave_, &QPushButton::clicked, this, &SetupPage::leaveWanted);
  connect(back_, &QPushButton::clicked, this, &SetupPage::clearComplaint);
  showNothing();
}

void SetupPage::showFacts(const std::vector<SetupFact>& facts) {
  delete facts_;
  facts_ = new QWidget;
  auto* grid = new QGridLayout{facts_};
  grid->setContentsMargins(0, 0, 0, 8);
  grid->setVerticalSpacing(3);
  grid->setColumnStretch(1, 1);
  int line = 0;
  for (const SetupFact& fact : facts) {
    if (fact.words.isEmpty()) {
      grid->addWidget(heading_label(fact.title), line++, 0, 1, 2);
      continue;
    }
    auto* title = new QLabel{fact.title};
    title->setAlignment(Qt::AlignTop | Qt::AlignLeft);
    QLabel* words = wrapped_label("setup_fact");
    // A digest or a path is one long word: it may break anywhere.
    QString broken = fact.words;
    if (!broken.contains(' '))
      for (qsizetype k = 16; k < broken.size(); k += 17) broken.insert(k, QChar{0x200B});
    words->setText(broken);
    words->setToolTip(fact.words);
    grid->addWidget(title, line, 0);
    grid->addWidget(words, line++, 1);
  }
  static_cast<QVBoxLayout*>(facts_place_->layout())->insertWidget(3, facts_);  // under the ports
}

void SetupPage::show(const daq::Setup& setup, const std::filesystem::path& campaign) {
  in_force_title_ = tr("In force: %1, into %2").arg(text(setup.campaign_name), text(campaign.filename().string()));
  in_force_text_ = text(setup.text);
  showFacts(setup_facts(setup));
  facts_area_->show();
  leave_->setEnabled(true);
  clearComplaint();
}

void SetupPage::follow(const daq::BenchView& view) {
  QStringList lines;
  for (std::size_t k = 0; k < view.links.size(); ++k) {
    const daq::LinkView& link = view.links[k];
    lines += QStringLiteral("%1: %2").arg(
        text(daq::word(static_cast<daq::Node>(k))),
        link.talking ? tr("✓ talking, %1").arg(text(link.identity)) : tr("✗ %1").arg(text(link.trouble)));
  }
  put(ports_, lines.join('\n'));
}

void SetupPage::showEvent(QShowEvent*) {
  QStringList names;
  for (const QSerialPortInfo& port : QSerialPortInfo::availablePorts())
    names += port.description().isEmpty() ? port.systemLocation() : tr("%1 (%2)").arg(port.systemLocation(), port.description());
  put(ports_here_, names.isEmpty() ? tr("No serial port is plugged into this computer now.")
                                   : tr("Plugged into this computer now: %1").arg(names.join(", ")));
}

void SetupPage::showNothing() {
  in_force_title_ = tr("No setup is in force: nothing is connected.");
  in_force_text_.clear();
  facts_area_->hide();
  leave_->setEnabled(false);
  clearComplaint();
  setChangeBlocked({});
}

void SetupPage::showInForce() {
  title_->setText(in_force_title_);
  text_->show(in_force_text_, {});
}

void SetupPage::showComplaint(const std::filesystem::path& file, const Complaint& complaint) {
  title_->setText(tr("Not opened: %1").arg(text(file.filename().string())));
  complaint_->setText(tr("✗ %1\n%2\n%3").arg(text(complaint.what), text(complaint.where), text(complaint.remedy)));
  complaint_->show();
  back_->setVisible(!in_force_text_.isEmpty());
  text_->show(read_text(file), complained_lines(complaint));
}

void SetupPage::clearComplaint() {
  complaint_->hide();
  complaint_->clear();
  back_->hide();
  showInForce();
}

void SetupPage::setChangeBlocked(const QString& why) {
  put(blocked_, why);
  blocked_->setVisible(!why.isEmpty());
  open_->setEnabled(why.isEmpty());
  if (!in_force_text_.isEmpty()) leave_->setEnabled(why.isEmpty());
}

}  // namespace coldstroke::gui
