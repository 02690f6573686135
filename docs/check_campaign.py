#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks the digests of a campaign file by docs/campaign-file.md alone. Prints what does not fit; exit code 1 if anything does not."""
import hashlib
import sqlite3
import struct
import sys

ZERO = bytes(32)


def i(value):
    return struct.pack("<q", value)


def t(value):
    data = value.encode() if isinstance(value, str) else value
    return i(len(data)) + data


def r(value):
    return struct.pack("<d", value)


def sha(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


def seal_of(db, number, before, chain, rows):
    status, ended, started, virtual, origin, setup = db.execute(
        "SELECT status, ended_utc, started_utc, virtual_rig, origin, setup_sha256 FROM trial WHERE number = ?", (number,)).fetchone()
    parts = [t("coldstroke seal"), before, i(number), t(status), t(ended), t(started), i(virtual), t(origin), t(setup), chain, i(rows),
             t("calibrations")]
    for row in db.execute("SELECT channel, node, stream, channel_index, quantity, role, range_low, range_high, scale, zero_counts, "
                          "curvature, gain_standard_uncertainty, zero_standard_uncertainty, reference, valid_until, calibrated_low, "
                          "calibrated_high FROM calibration WHERE trial = ? ORDER BY id", (number,)):
        parts += [t(row[0]), *map(i, row[1:4]), *map(t, row[4:6]), *map(r, row[6:13]), *map(t, row[13:15])]
        parts += [i(0)] if row[15] is None else [i(1), *map(r, row[15:])]
    parts.append(t("identities"))
    for row in db.execute("SELECT node, recorded_utc, json FROM identity WHERE trial = ? ORDER BY id", (number,)):
        parts += [i(row[0]), t(row[1]), t(row[2])]
    parts.append(t("events"))
    for row in db.execute("SELECT host_us, kind, text FROM event WHERE trial = ? ORDER BY id", (number,)):
        parts += [i(row[0]), t(row[1]), t(row[2])]
    return sha(*parts)


def check_pages(path):
    """Each page ends in the SHA-256 of its number and its other bytes; the page with the lock byte is never used."""
    wrong = []
    with open(path, "rb") as file:
        size = int.from_bytes(file.read(18)[16:], "big")
        size = 65536 if size == 1 else size
        file.seek(0)
        number = 1
        while len(page := file.read(size)) == size:
            unused = number == 0x40000000 // size + 1
            if any(page) if unused else sha(i(number), page[:-32]) != page[-32:]:
                wrong.append("page %d" % number)
            number += 1
        if page:
            wrong.append("the end of the file")
    return wrong


def check_ledger(db, campaign):
    wrong, chain, entered = [], ZERO, {}
    for number, kind, trial, digest, stored in db.execute("SELECT id, kind, trial, digest, chain FROM ledger ORDER BY id"):
        chain = sha(t("coldstroke ledger"), chain, t(kind), i(trial), digest)
        if chain != stored:
            wrong.append("ledger entry %d" % number)
        entered.setdefault(kind, []).append((trial, digest))
    held = {"campaign": [(0, campaign)], "seal": db.execute("SELECT number, seal FROM trial WHERE seal IS NOT NULL").fetchall()}
    for kind, table in ("result",) * 2, ("note",) * 2, ("attachment",) * 2, ("hand-void", "hand_void"):
        held[kind] = db.execute("SELECT trial, sha256 FROM %s ORDER BY id" % table).fetchall()
    held["stimulus"] = db.execute("SELECT 0, sha256 FROM stimulus ORDER BY number").fetchall()
    wrong += ["ledger: " + kind for kind in held if sorted(held[kind]) != sorted(entered.get(kind, []))]
    return wrong


def check_stimuli(db):
    wrong, last = [], ZERO
    for stored, number, created, name, label, source, period, unit, samples in db.execute(
            "SELECT sha256, number, created_utc, name, label, source, sample_period_s, unit, samples FROM stimulus ORDER BY number"):
        if sha(t("coldstroke stimulus"), last, i(number), t(created), t(name), t(label), t(source), r(period), t(unit), t(samples)) != stored:
            wrong.append("stimulus %d" % number)
        last = stored
    return wrong


def check(path):
    db = sqlite3.connect("file:%s?mode=ro" % path, uri=True)
    wrong = check_pages(path)
    for digest, text in db.execute("SELECT sha256, text FROM setup"):
        if hashlib.sha256(text.encode()).hexdigest() != digest:
            wrong.append("setup " + digest)
    before = sha(t("coldstroke campaign"), *map(t, db.execute("SELECT name, created_utc, program_version FROM campaign").fetchone()))
    wrong += check_stimuli(db) + check_ledger(db, before)
    for number, setup, started, seal in db.execute("SELECT number, setup_sha256, started_utc, seal FROM trial ORDER BY number").fetchall():
        name = "trial %d: " % number
        chain = sha(t("coldstroke chain"), i(number), t(setup), t(started))
        rows = 0
        for sequence, node, direction, host_us, data, stored in db.execute(
                "SELECT sequence, node, direction, host_us, bytes, chain FROM raw WHERE trial = ? ORDER BY sequence", (number,)):
            chain = sha(chain, bytes([node, direction]), i(host_us), data)
            rows += 1
            if sequence != rows or chain != stored:
                wrong.append(name + "raw row %d" % sequence)
                break
        if seal is not None and seal_of(db, number, before, chain, rows) != seal:
            wrong.append(name + "seal")
        before = seal or ZERO
        last = ZERO
        for row in db.execute("SELECT sha256, created_utc, program_version, verdict, json FROM result WHERE trial = ? ORDER BY id", (number,)):
            if sha(t("coldstroke result"), last, before, *map(t, row[1:])) != row[0]:
                wrong.append(name + "result")
            last = row[0]
        last = ZERO
        for row in db.execute("SELECT sha256, created_utc, author, text FROM note WHERE trial = ? ORDER BY id", (number,)):
            if sha(t("coldstroke note"), last, i(number), *map(t, row[1:])) != row[0]:
                wrong.append(name + "note")
            last = row[0]
        last = ZERO
        for row in db.execute("SELECT sha256, created_utc, name, bytes FROM attachment WHERE trial = ? ORDER BY id", (number,)):
            if sha(t("coldstroke attachment"), last, i(number), *map(t, row[1:])) != row[0]:
                wrong.append(name + "attachment")
            last = row[0]
        for row in db.execute("SELECT sha256, created_utc, person, reason, judged_before FROM hand_void WHERE trial = ?", (number,)):
            if sha(t("coldstroke hand-void"), i(number), *map(t, row[1:])) != row[0]:
                wrong.append(name + "hand void")
    return wrong


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: check_campaign.py FILE")
    findings = check(sys.argv[1])
    print("\n".join(findings) if findings else "all digests fit")
    sys.exit(1 if findings else 0)
