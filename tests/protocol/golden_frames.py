#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The worked frames of docs/wire.md, built from the byte tables there by a program of its own.

It shares no code with the project: own stuffing, own checksum, `struct` for the numbers.
  golden_frames.py                prints the frames as docs/wire.md holds them
  golden_frames.py --check FILE   exit code 1 if FILE's golden block differs from them
"""
import struct
import sys

OPEN = 0xFFFFFFFF
NO_TIME = 0xFFFFFFFFFFFFFFFF
SESSION = 0x5EED0001


def crc32c(data):
    """Bit by bit, from the definition: polynomial 0x1EDC6F41 reflected, start and end inverted."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ (0x82F63B78 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def cobs(data):
    """By groups: cut after every zero and after every 254 bytes without one."""
    out = bytearray()
    group = bytearray()
    for byte in data:
        if byte == 0:
            out.append(len(group) + 1)
            out += group
            group.clear()
            continue
        group.append(byte)
        if len(group) == 254:
            out.append(255)
            out += group
            group.clear()
    out.append(len(group) + 1)
    return bytes(out + group)


def text(value):
    raw = value.encode()
    return bytes([len(raw)]) + raw


def u(fmt, *values):
    return struct.pack("<" + fmt, *values)


def packed(bits, counts):
    return b"".join((c & ((1 << bits) - 1)).to_bytes(bits // 8, "little") for c in counts)


def block(stream, bits, channels, first_index, time_us, counts):
    return u("BBBHQQ", stream, bits, channels, len(counts) // channels, first_index, time_us) + packed(bits, counts)


def stream_description(stream, bits, period_ns, channels):
    out = u("BBIB", stream, bits, period_ns, len(channels))
    for quantity, scale, name in channels:
        out += u("Bf", quantity, scale) + text(name)
    return out


BLOCK_16 = block(1, 16, 3, 20000, 10000000, [0, -1, 2048, 1, -32768, 32767])

FRAMES = [
    ("hello", 0x01, u("BBI", 1, 1, SESSION)),
    ("identity", 0x02, u("BBBI", 1, 1, 1, SESSION) + bytes(range(1, 13)) + u("IBB", 3, 1, 0) + text("bench rig") + text("1.0.0")),
    ("stream_description", 0x03, stream_description(1, 24, 100000, [
        (1, 0.001, "force"), (2, 0.25, "supply"), (2, 0.25, "chamber"), (4, 1e-6, "dummy_current")])),
    ("detector_setting", 0x04, u("B", 1) + text("window_ms") + text("20")),
    ("sample_block_16", 0x10, BLOCK_16),
    ("sample_block_24", 0x10, block(1, 24, 4, 100000, 10000000, [0, 1, -1, 8388607, -8388608, 256, 65536, -65536])),
    ("sample_block_32", 0x10, block(2, 32, 1, 0x0123456789ABCDEF, 1, [-(1 << 31), (1 << 31) - 1])),
    ("rig_state", 0x11, u("QBHHHHHIII", 12345678, 1, 0x01, 0x01, 0x09, 0, 24100, 51000, 3, 0)),
    ("flight_state", 0x12, u("QBQIBBHIIBIBIII", 12345678, 1, NO_TIME, 0, 0, 0x01, 7400, 3, 7, 1, 0, 2, 2200, OPEN, 0)),
    ("event", 0x13, u("QHI", 12345678, 14, 80000)),
    ("log_line", 0x14, u("QB", 12345678, 2) + text("supply regulator slow")),
    ("clock_request", 0x20, u("Iq", 42, -1)),
    ("clock_reply", 0x21, u("IqQQ", 42, -1, 1000000, 1000007)),
    ("heartbeat", 0x22, u("I", 258)),
    ("command_request_token", 0x30, u("HBII", 1, 1, 0, 5)),
    ("acknowledgement", 0x31, u("HBBQ", 1, 1, 0, 12000000)),
    ("token_grant", 0x32, u("HBIH", 1, 5, 0xC0FFEE01, 3000)),
    ("command_release", 0x30, u("HBII", 2, 5, 0xC0FFEE01, 80000)),
    ("memory_request", 0x40, u("BQI", 2, 18000, 24576)),
    ("memory_summary", 0x41, u("IIQQQIBB", 7, 1, 18000, 24576, 9000000, 500000, 1, 1)),
    ("memory_decision", 0x42, u("IIQQ", 7, 0, 10020000, 20040)),
    ("memory_samples", 0x43, u("I", 7) + BLOCK_16),
    ("memory_end", 0x44, u("IBI", 7, 2, 24576)),
    ("playback_samples", 0x50, u("IIH", 3, 256, 2) + u("hhh", 0, -1, 33) + u("hhh", 1, -32768, 32767)),
    ("playback_state", 0x51, u("QIBBIIIIIIB", 12345678, 3, 2, 0, 2000, 258, 130, 642, 128, 4, 1) + u("IQB", 121, 12341178, 1)),
]


def frame(kind, sequence, payload):
    raw = u("BBH", kind, 0, sequence) + payload
    return cobs(raw + u("I", crc32c(raw))) + b"\0"


def lines():
    out = []
    for sequence, (name, kind, payload) in enumerate(FRAMES):
        data = frame(kind, sequence, payload)
        out.append(name)
        out += ["  " + data[at:at + 32].hex(" ") for at in range(0, len(data), 32)]
    return out


def golden_block(path):
    with open(path, encoding="utf-8") as file:
        document = file.read().splitlines()
    begin = document.index("```golden") + 1
    return document[begin:document.index("```", begin)]


def main():
    if len(sys.argv) == 1:
        print("\n".join(lines()))
        return 0
    written, built = golden_block(sys.argv[2]), lines()
    for number, (there, here) in enumerate(zip(written, built)):
        if there != here:
            print(f"{sys.argv[2]}: golden line {number + 1} is\n{there}\nbut the tables give\n{here}")
            return 1
    if len(written) != len(built):
        print(f"{sys.argv[2]}: {len(written)} golden lines, the tables give {len(built)}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
