// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QByteArray>
#include <QString>

namespace coldstroke::gui {

/// What the window sounds: each second of the count, the release, and an alarm while people keep clear.
enum class Tone { second, release, alarm };

/// Sounds at once and returns: through a player of the desktop's sound server if there is one, else by the display's bell.
void sound(Tone tone);
/// Which way `sound` goes, for people: "pw-play", or "display bell".
[[nodiscard]] QString sound_way();
/// The tone as a WAV file (RIFF, PCM, 16 bit, mono, 44.1 kHz).
[[nodiscard]] QByteArray tone_wav(Tone tone);

}  // namespace coldstroke::gui
