// SPDX-License-Identifier: GPL-3.0-or-later
#include "daq/record/campaign_schema.hpp"

namespace coldstroke::daq {

std::string_view campaign_schema() {
  return R"sql(
CREATE TABLE campaign (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  name TEXT NOT NULL,
  created_utc TEXT NOT NULL,
  program_version TEXT NOT NULL
) STRICT;

CREATE TABLE setup (
  sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  text TEXT NOT NULL
) STRICT;

CREATE TABLE trial (
  number INTEGER PRIMARY KEY CHECK (number > 0),
  status TEXT NOT NULL CHECK (status IN ('recording', 'recorded', 'aborted', 'interrupted')),
  started_utc TEXT NOT NULL,
  ended_utc TEXT NOT NULL DEFAULT '',
  virtual_rig INTEGER NOT NULL CHECK (virtual_rig IN (0, 1)),
  origin TEXT NOT NULL,
  setup_sha256 TEXT NOT NULL REFERENCES setup (sha256),
  seal BLOB CHECK (length(seal) = 32),
  CHECK ((status = 'recording') = (seal IS NULL))
) STRICT;

CREATE TABLE calibration (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  channel TEXT NOT NULL,
  node INTEGER NOT NULL CHECK (node IN (0, 1)),
  stream INTEGER NOT NULL,
  channel_index INTEGER NOT NULL,
  quantity TEXT NOT NULL,
  role TEXT NOT NULL,
  range_low REAL NOT NULL,
  range_high REAL NOT NULL,
  scale REAL NOT NULL,
  zero_counts REAL NOT NULL,
  curvature REAL NOT NULL,
  gain_standard_uncertainty REAL NOT NULL,
  zero_standard_uncertainty REAL NOT NULL,
  reference TEXT NOT NULL,
  valid_until TEXT NOT NULL,
  calibrated_low REAL,
  calibrated_high REAL,
  UNIQUE (trial, channel),
  CHECK ((calibrated_low IS NULL) = (calibrated_high IS NULL))
) STRICT;

CREATE TABLE identity (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  node INTEGER NOT NULL CHECK (node IN (0, 1)),
  recorded_utc TEXT NOT NULL,
  json TEXT NOT NULL
) STRICT;

CREATE TABLE raw (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  sequence INTEGER NOT NULL CHECK (sequence > 0),
  node INTEGER NOT NULL CHECK (node IN (0, 1)),
  direction INTEGER NOT NULL CHECK (direction IN (0, 1)),
  host_us INTEGER NOT NULL,
  bytes BLOB NOT NULL,
  chain BLOB NOT NULL CHECK (length(chain) = 32),
  UNIQUE (trial, sequence)
) STRICT;

CREATE TABLE event (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  host_us INTEGER NOT NULL,
  kind TEXT NOT NULL,
  text TEXT NOT NULL
) STRICT;

CREATE TABLE result (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  created_utc TEXT NOT NULL,
  program_version TEXT NOT NULL,
  verdict TEXT NOT NULL CHECK (verdict IN ('pass', 'fail', 'void')),
  json TEXT NOT NULL,
  sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT;

CREATE TABLE note (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  created_utc TEXT NOT NULL,
  author TEXT NOT NULL,
  text TEXT NOT NULL,
  sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT;

CREATE TABLE attachment (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL REFERENCES trial (number),
  created_utc TEXT NOT NULL,
  name TEXT NOT NULL,
  bytes BLOB NOT NULL,
  sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT;

CREATE TABLE hand_void (
  id INTEGER PRIMARY KEY,
  trial INTEGER NOT NULL UNIQUE REFERENCES trial (number),
  created_utc TEXT NOT NULL,
  person TEXT NOT NULL CHECK (length(person) > 0),
  reason TEXT NOT NULL CHECK (length(reason) > 0),
  judged_before TEXT NOT NULL CHECK (judged_before IN ('pass', 'fail', 'void', 'not judged')),
  sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT;

CREATE TABLE stimulus (
  number INTEGER PRIMARY KEY CHECK (number > 0),
  created_utc TEXT NOT NULL,
  name TEXT NOT NULL UNIQUE CHECK (length(name) > 0),
  label TEXT NOT NULL CHECK (label IN ('must_fire', 'must_stay_silent')),
  source TEXT NOT NULL CHECK (length(source) > 0),
  sample_period_s REAL NOT NULL CHECK (sample_period_s > 0),
  unit TEXT NOT NULL CHECK (unit = 'm/s2'),
  samples BLOB NOT NULL CHECK (length(samples) > 0 AND length(samples) % 8 = 0),
  sha256 BLOB NOT NULL CHECK (length(sha256) = 32)
) STRICT;

CREATE TABLE ledger (
  id INTEGER PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('campaign', 'seal', 'result', 'note', 'attachment', 'hand-void', 'stimulus')),
  trial INTEGER NOT NULL,
  digest BLOB NOT NULL CHECK (length(digest) = 32),
  chain BLOB NOT NULL CHECK (length(chain) = 32)
) STRICT;

CREATE INDEX calibration_of_trial ON calibration (trial);
CREATE INDEX identity_of_trial ON identity (trial);
CREATE INDEX event_of_trial ON event (trial);
CREATE INDEX result_of_trial ON result (trial);
CREATE INDEX note_of_trial ON note (trial);
CREATE INDEX attachment_of_trial ON attachment (trial);

CREATE TRIGGER campaign_fixed BEFORE UPDATE ON campaign BEGIN SELECT RAISE(ABORT, 'a campaign is never changed'); END;
CREATE TRIGGER campaign_kept BEFORE DELETE ON campaign BEGIN SELECT RAISE(ABORT, 'a campaign is never deleted'); END;
CREATE TRIGGER setup_fixed BEFORE UPDATE ON setup BEGIN SELECT RAISE(ABORT, 'a setup is never changed'); END;
CREATE TRIGGER setup_kept BEFORE DELETE ON setup BEGIN SELECT RAISE(ABORT, 'a setup is never deleted'); END;
CREATE TRIGGER trial_fixed BEFORE UPDATE ON trial
  WHEN OLD.status <> 'recording' OR NEW.number <> OLD.number OR NEW.setup_sha256 <> OLD.setup_sha256
  BEGIN SELECT RAISE(ABORT, 'an ended trial is never changed'); END;
CREATE TRIGGER trial_kept BEFORE DELETE ON trial BEGIN SELECT RAISE(ABORT, 'a trial is never deleted'); END;
CREATE TRIGGER calibration_fixed BEFORE UPDATE ON calibration BEGIN SELECT RAISE(ABORT, 'a calibration row is never changed'); END;
CREATE TRIGGER calibration_kept BEFORE DELETE ON calibration BEGIN SELECT RAISE(ABORT, 'a calibration row is never deleted'); END;
CREATE TRIGGER identity_fixed BEFORE UPDATE ON identity BEGIN SELECT RAISE(ABORT, 'an identity is never changed'); END;
CREATE TRIGGER identity_kept BEFORE DELETE ON identity BEGIN SELECT RAISE(ABORT, 'an identity is never deleted'); END;
CREATE TRIGGER raw_fixed BEFORE UPDATE ON raw BEGIN SELECT RAISE(ABORT, 'raw data is never changed'); END;
CREATE TRIGGER raw_kept BEFORE DELETE ON raw BEGIN SELECT RAISE(ABORT, 'raw data is never deleted'); END;
CREATE TRIGGER event_fixed BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END;
CREATE TRIGGER event_kept BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'an event is never deleted'); END;
CREATE TRIGGER result_fixed BEFORE UPDATE ON result BEGIN SELECT RAISE(ABORT, 'a result is never changed'); END;
CREATE TRIGGER result_kept BEFORE DELETE ON result BEGIN SELECT RAISE(ABORT, 'a result is never deleted'); END;
CREATE TRIGGER note_fixed BEFORE UPDATE ON note BEGIN SELECT RAISE(ABORT, 'a note is never changed'); END;
CREATE TRIGGER note_kept BEFORE DELETE ON note BEGIN SELECT RAISE(ABORT, 'a note is never deleted'); END;
CREATE TRIGGER attachment_fixed BEFORE UPDATE ON attachment BEGIN SELECT RAISE(ABORT, 'an attachment is never changed'); END;
CREATE TRIGGER attachment_kept BEFORE DELETE ON attachment BEGIN SELECT RAISE(ABORT, 'an attachment is never deleted'); END;
CREATE TRIGGER hand_void_fixed BEFORE UPDATE ON hand_void BEGIN SELECT RAISE(ABORT, 'a trial voided by hand stays so'); END;
CREATE TRIGGER hand_void_kept BEFORE DELETE ON hand_void BEGIN SELECT RAISE(ABORT, 'a trial voided by hand stays so'); END;
CREATE TRIGGER stimulus_fixed BEFORE UPDATE ON stimulus BEGIN SELECT RAISE(ABORT, 'a stimulus is never changed'); END;
CREATE TRIGGER stimulus_kept BEFORE DELETE ON stimulus BEGIN SELECT RAISE(ABORT, 'a stimulus is never deleted'); END;
CREATE TRIGGER ledger_fixed BEFORE UPDATE ON ledger BEGIN SELECT RAISE(ABORT, 'the ledger is never changed'); END;
CREATE TRIGGER ledger_kept BEFORE DELETE ON ledger BEGIN SELECT RAISE(ABORT, 'the ledger is never deleted'); END;

CREATE TRIGGER raw_only_while_recording BEFORE INSERT ON raw
  WHEN (SELECT seal FROM trial WHERE number = NEW.trial) IS NOT NULL
  BEGIN SELECT RAISE(ABORT, 'the trial has ended'); END;
CREATE TRIGGER event_only_while_recording BEFORE INSERT ON event
  WHEN (SELECT seal FROM trial WHERE number = NEW.trial) IS NOT NULL
  BEGIN SELECT RAISE(ABORT, 'the trial has ended'); END;
CREATE TRIGGER identity_only_while_recording BEFORE INSERT ON identity
  WHEN (SELECT seal FROM trial WHERE number = NEW.trial) IS NOT NULL
  BEGIN SELECT RAISE(ABORT, 'the trial has ended'); END;
CREATE TRIGGER calibration_only_while_recording BEFORE INSERT ON calibration
  WHEN (SELECT seal FROM trial WHERE number = NEW.trial) IS NOT NULL
  BEGIN SELECT RAISE(ABORT, 'the trial has ended'); END;
)sql";
}

}  // namespace coldstroke::daq
