// SPDX-License-Identifier: GPL-3.0-or-later
#include "gui/window/sound.hpp"

#include <QApplication>
#include <QDir>
#include <QProcess>
#include <QStandardPaths>
#include <QTemporaryDir>
#include <QtEndian>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace coldstroke::gui {
namespace {

constexpr int kRate = 44100;

struct Pitch {
  double hertz, seconds;
};

// Told apart by length as well as by pitch: outdoors, behind ear protection, pitch alone is lost.
Pitch pitch(Tone tone) {
  switch (tone) {
    case Tone::second:
      return {880.0, 0.15};
    case Tone::release:
      return {1320.0, 0.8};
    case Tone::alarm:
      break;
  }
  return {660.0, 0.5};
}

template <class T>
void put_number(QByteArray& bytes, T value) {
  const T little = qToLittleEndian(value);
  bytes.append(reinterpret_cast<const char*>(&little), sizeof little);
}

const QString& player() {
  static const QString found = [] {
    for (const char* name : {"pw-play", "paplay", "aplay"})
      if (const QString path = QStandardPaths::findExecutable(name); !path.isEmpty()) return path;
    return QString{};
  }();
  return found;
}

QString file_of(Tone tone) {
  static const QTemporaryDir folder;
  const QString name = folder.filePath(QStringLiteral("tone_%1.wav").arg(static_cast<int>(tone)));
  if (QFile file{name}; !file.exists() && file.open(QIODevice::WriteOnly)) file.write(tone_wav(tone));
  return name;
}

}  // namespace

QByteArray tone_wav(Tone tone) {
  const Pitch wanted = pitch(tone);
  const int count = static_cast<int>(std::lround(wanted.seconds * kRate));
  QByteArray bytes{"RIFF"};
  put_number<quint32>(bytes, 36U + 2U * static_cast<quint32>(count));
  bytes += "WAVEfmt ";
  put_number<quint32>(bytes, 16);
  put_number<quint16>(bytes, 1);  // PCM
  put_number<quint16>(bytes, 1);  // mono
  put_number<quint32>(bytes, kRate);
  put_number<quint32>(bytes, 2 * kRate);
  put_number<quint16>(bytes, 2);
  put_number<quint16>(bytes, 16);
  bytes += "data";
  put_number<quint32>(bytes, 2U * static_cast<quint32>(count));
  for (int k = 0; k < count; ++k) {
    const double ramp = std::min({1.0, k / 200.0, (count - 1 - k) / 200.0});  // no click at the ends
    const double value = 0.8 * ramp * std::sin(2.0 * std::numbers::pi * wanted.hertz * k / kRate);
    put_number<qint16>(bytes, static_cast<qint16>(std::lround(32767.0 * value)));
  }
  return bytes;
}

QString sound_way() { return player().isEmpty() ? QObject::tr("display bell") : QFileInfo{player()}.fileName(); }

void sound(Tone tone) {
  if (!player().isEmpty() && QProcess::startDetached(player(), {file_of(tone)})) return;
  QApplication::beep();
}

}  // namespace coldstroke::gui
