#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The host program killed, stopped, or its cable pulled, at random instants of real sequences.

usage: kill_pull.py PROGRAM [COUNT] [RIGS_AT_ONCE] [SEED]

Each run is real: `coldstroke virtual` as a process of its own behind two pseudo-terminals, `coldstroke eject` on them with a person
(this script) at its terminal, in real time. At an instant drawn at random the host gets SIGKILL or SIGSTOP, or the rig's plug is
pulled (the port hangs up). Then:
  * the rig's own log (beside the board, not through the host) must show only the vent open within 500 ms, and so until the end;
  * the campaign file must open and `coldstroke verify` find nothing;
  * what the host had acknowledged must be in it: every trial it said was opened, every verdict it gave, and every line of its log
    that is kept with the trial and was said more than 1.5 s before (the archive commits every 250 ms, a busy disk takes its time).
Prints one line a run and a table; exit code 1 if any run falls short.
"""
import concurrent.futures
import json
import os
import pathlib
import pty
import random
import re
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
import tty

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
COUNT = int(sys.argv[2]) if len(sys.argv) > 2 else 200
AT_ONCE = int(sys.argv[3]) if len(sys.argv) > 3 else 4
SEED = int(sys.argv[4]) if len(sys.argv) > 4 else 1
WAYS = ("killed", "stopped", "pulled")
LONGEST_SECONDS = 17.0  # two trials, the first whole
LIMIT_SECONDS = 0.5
COMMITTED_AFTER_SECONDS = 1.5
OPENING_VALVES = 1 | 4 | 8  # charge, both fast valves: bits of the board's read-back
# lines of the host's log that are kept with the trial, as it words them
KEPT = re.compile(r"( -> .*: | signed all |trial \d+ opened|fast valves opened|vented by itself)")


class Host:
    """`coldstroke eject` with people at its terminal: they do what it asks for as soon as it asks."""

    def __init__(self, folder, setup):
        self.lines, self.step, self.typing, self.began = [], "idle", True, None
        self.master, slave = pty.openpty()
        tty.setraw(slave)
        self.process = subprocess.Popen([PROGRAM, "eject", "--setup", setup, "--campaign", folder / "run.coldstroke", "--trials", "2"],
                                        stdin=slave, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, bufsize=1)
        os.close(slave)
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()

    def type(self, text):
        if self.typing:
            os.write(self.master, (text + "\n").encode())

    def read(self):
        for line in self.process.stderr:
            self.lines.append((time.monotonic(), line.rstrip("\n")))
            if step := re.match(r"\[.*, (.*)\]", line):
                self.step = step[1]
            if word := re.search(r"NEXT: .*: type '(\w+)'", line):
                if word[1] == "begin" and self.began is None:
                    self.began = time.monotonic()
                self.type(word[1])
            if "type the pressure to charge to" in line:
                self.type("target 8.0")
            if missing := re.search(r"Not signed yet: (.*)", line):
                for role in missing[1].split(", ")[:1]:
                    self.type(f"sign {role} Person of the {role}")

    def end(self):
        """Asked to leave, as at the end of a day; True if it does."""
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(20)
            return True
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
            return False


def board_log(file):
    # the rig may be in the middle of a line
    lines = [json.loads(line) for line in file.read_text().split("\n")[:-1]]
    return [line for line in lines if "step" in line], [line for line in lines if "stood_still_seconds" in line]


def settled_seconds(log, instant):
    """When, after `instant`, the board began to show only the vent open and never anything else again. None: never."""
    since = None
    for line in log:
        if not line["vented"]:
            since = None
        elif since is None:
            since = line["machine_seconds"]
    return None if since is None else max(0.0, since - instant)


def missing_of(file, lines, instant):
    """What the host had acknowledged before `instant` and the campaign does not hold."""
    campaign = sqlite3.connect(f"file:{file}?mode=ro", uri=True)
    trials = {number for (number,) in campaign.execute("SELECT number FROM trial")}
    results = {number for (number,) in campaign.execute("SELECT trial.number FROM result JOIN trial ON trial.number = result.trial")}
    kept = {text for (text,) in campaign.execute("SELECT text FROM event")}
    campaign.close()
    missing = []
    for when, line in lines:
        if when > instant:
            break
        text = re.sub(r"^  \d\d:\d\d:\d\d ", "", line)
        if (said := re.search(r"trial (\d+) opened", text)) and int(said[1]) not in trials:
            missing.append(text)
        if (said := re.match(r"trial (\d+): (pass|fail|void)", text)) and int(said[1]) not in results:
            missing.append(text)
        if when < instant - COMMITTED_AFTER_SECONDS and text != line and KEPT.search(text) and text not in kept:
            missing.append(text)
    # what happens between two trials belongs to neither and is not kept
    return [text for text in missing if not text.startswith(("review -> idle", "idle -> checks"))]


def measured(number):
    """One run; once more, and counted, if the machine let the rig's own process stand still while it was measured."""
    for repeats in range(10):
        one = run(number)
        if not one.get("spoiled"):
            break
    one["repeats"] = repeats
    return one


def run(number):
    draw = random.Random(SEED * 100003 + number)
    way, after = WAYS[number % len(WAYS)], draw.uniform(0.0, LONGEST_SECONDS)
    with tempfile.TemporaryDirectory(prefix="coldstroke-kill-pull-") as name:
        folder = pathlib.Path(name)
        setup = folder / "setup.toml"
        subprocess.run([PROGRAM, "virtual", "--write-setup", setup], check=True, stdout=subprocess.DEVNULL)
        text = setup.read_text()
        text = text.replace('\nrig = ""', f'\nrig = "{folder}/rig"').replace('\nflight = ""', f'\nflight = "{folder}/flight"')
        # a busy machine holds bytes back; how well clocks align is tested elsewhere
        text = text.replace("alignment_limit_milliseconds = 0.5", "alignment_limit_milliseconds = 20.0")
        setup.write_text(text)
        rig = subprocess.Popen([PROGRAM, "virtual", "--seed", str(number + 1), "--rig-link", folder / "rig", "--flight-link",
                                folder / "flight", "--ports-file", folder / "ports", "--board-log", folder / "board"],
                               stdout=subprocess.PIPE, text=True)
        try:
            while not (folder / "ports").exists():
                time.sleep(0.01)
            host = Host(folder, setup)
            patience = time.monotonic() + 30.0
            while host.began is None and time.monotonic() < patience and host.process.poll() is None:
                time.sleep(0.01)
            if host.began is None:
                host.process.kill()
                return {"number": number, "way": way, "bad": ["never began: " + " | ".join(line for _, line in host.lines[-3:])]}
            while time.monotonic() < host.began + after:
                time.sleep(0.002)
            step, board_before = host.step, board_log(folder / "board")[0][-1]
            host.typing = False
            if way == "pulled":
                rig.send_signal(signal.SIGUSR1)
            else:
                host.process.send_signal(signal.SIGKILL if way == "killed" else signal.SIGSTOP)
            instant = time.monotonic()
            time.sleep(1.0)
            left = True
            if way == "killed":
                host.process.wait()
                time.sleep(1.5)  # a stall of the rig's process is in its log only once it is over
            else:
                if way == "stopped":
                    host.process.send_signal(signal.SIGCONT)
                else:
                    rig.send_signal(signal.SIGUSR1)
                time.sleep(0.7)
                left = host.end()
            log, stalls = board_log(folder / "board")
            rig.send_signal(signal.SIGTERM)
            rig.communicate(timeout=10)
            host.reader.join(5)
            os.close(host.master)
            bad = []
            settled = settled_seconds(log, instant)
            if settled is None or settled > LIMIT_SECONDS:
                bad.append(f"not vented in time: {settled}, killed at {instant:.3f}, rig: {log[-4:]}, stalls: {stalls[-4:]}")
            late = [line for line in log if line["machine_seconds"] > instant + LIMIT_SECONDS and line["readback"] & OPENING_VALVES]
            if late:
                bad.append(f"a valve opened afterwards: {late[0]}")
            if not left:
                bad.append("the host did not leave when asked to")
            verify = subprocess.run([PROGRAM, "verify", folder / "run.coldstroke"], capture_output=True, text=True)
            if verify.returncode != 0:
                bad.append("verify: " + (verify.stdout + verify.stderr).strip().replace("\n", " | "))
            missing = missing_of(folder / "run.coldstroke", host.lines, instant)
            if missing:
                bad.append(f"acknowledged and lost: {missing}")
            # a stall is logged when it is over: any that touches the second after the instant spoils the measurement
            spoiled = any(instant < stall["machine_seconds"] and stall["machine_seconds"] - stall["stood_still_seconds"] < instant + 1.0
                          for stall in stalls)
            held = not board_before["vented"]
            return {"number": number, "way": way, "after": after, "step": step, "board": board_before["step"],
                    "bar": board_before["supply_pascals"] / 1e5, "held": held, "settled": settled,
                    "spoiled": spoiled, "bad": bad}
        finally:
            if rig.poll() is None:
                rig.kill()
                rig.wait()


def main():
    runs = []
    begun = time.monotonic()
    with concurrent.futures.ThreadPoolExecutor(AT_ONCE) as pool:
        for one in pool.map(measured, range(COUNT)):
            runs.append(one)
            if "settled" not in one:
                print(f"{one['number']:3d} {one['way']:8} {one['bad']}", flush=True)
                continue
            took = "never" if one["settled"] is None else f"{1000 * one['settled']:4.0f} ms"
            still = f" (measured {one['repeats'] + 1} times: the machine stood still)" if one["repeats"] > 0 else ""
            print(f"{one['number']:3d} {one['way']:8} {one['after']:6.2f} s in, host {one['step']:10} board {one['board']:8}"
                  f" vented after {took}{still} {one['bad'] or ''}", flush=True)
    print(f"\n{COUNT} runs in real time over pseudo-terminals, seed {SEED}, {AT_ONCE} rigs at once, {time.monotonic() - begun:.0f} s;"
          f" {sum(one.get('repeats', 0) for one in runs)} repeated because the rig's own process stood still while measured")
    print(f"{'step of the host':16} " + " ".join(f"{way:>8}" for way in WAYS) + "   gas held  worst vented after")
    for step in sorted({one["step"] for one in runs if "step" in one}):
        here = [one for one in runs if one.get("step") == step]
        worst = max((one["settled"] if one["settled"] is not None else float("inf")) for one in here)
        print(f"{step:16} " + " ".join(f"{sum(one['way'] == way for one in here):8d}" for way in WAYS)
              + f"   {sum(one['held'] for one in here):8d}  {1000 * worst:6.0f} ms")
    bad = [one for one in runs if one["bad"]]
    print(f"{COUNT - len(bad)} of {COUNT} good: vented within {1000 * LIMIT_SECONDS:.0f} ms and stayed so, campaign opens, verify finds"
          " nothing, nothing acknowledged is lost")
    return 1 if bad else 0


sys.exit(main())
