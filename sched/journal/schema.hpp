#pragma once
// The tables of the journal's file, version by version. What a version has made is never changed
// here: the next one says what to add.

#include <array>

#include "sched/journal/journal.hpp"

namespace sched::journal {

/// Marks a file as this program's ("Coat"); PRAGMA application_id.
inline constexpr int application_id = 0x436f6174;

/// Statements that bring a file from version k to k + 1.
inline constexpr std::array<const char*, schema_version> migrations{
    // 0 -> 1
    R"sql(
CREATE TABLE entry (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  happened TEXT NOT NULL,
  entered TEXT NOT NULL,
  mark TEXT NOT NULL,
  what TEXT NOT NULL,
  step TEXT NOT NULL DEFAULT '',
  station TEXT NOT NULL DEFAULT '',
  person TEXT NOT NULL DEFAULT '',
  reason TEXT NOT NULL DEFAULT '',
  by TEXT NOT NULL DEFAULT '',
  device TEXT NOT NULL DEFAULT '',
  undoes INTEGER REFERENCES entry(id)
) STRICT;
CREATE TABLE plan (
  entry INTEGER PRIMARY KEY REFERENCES entry(id),
  fingerprint TEXT NOT NULL,
  now TEXT NOT NULL DEFAULT '',
  seen INTEGER NOT NULL DEFAULT 0,
  document TEXT NOT NULL
) STRICT;
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
  BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry
  BEGIN SELECT RAISE(ABORT, 'entries are never taken out'); END;
CREATE TRIGGER plan_stays BEFORE UPDATE ON plan
  BEGIN SELECT RAISE(ABORT, 'plans are never changed'); END;
CREATE TRIGGER plan_is_kept BEFORE DELETE ON plan
  BEGIN SELECT RAISE(ABORT, 'plans are never taken out'); END;
)sql",
    // 1 -> 2: devices that queue marks send them again; steps that come several times
    R"sql(
ALTER TABLE entry ADD COLUMN client TEXT NOT NULL DEFAULT '';
ALTER TABLE entry ADD COLUMN round INTEGER NOT NULL DEFAULT 1;
CREATE UNIQUE INDEX entry_client ON entry(device, client) WHERE client <> '';
)sql",
    // 2 -> 3: promises, and accepted orders on their way into orders.csv
    R"sql(
CREATE TABLE promise_file (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  sha256 TEXT NOT NULL,
  entered TEXT NOT NULL
) STRICT;
CREATE TABLE promise (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  enquiry TEXT NOT NULL,
  asked TEXT NOT NULL,
  screens INTEGER NOT NULL,
  kind TEXT NOT NULL DEFAULT '',
  p50 TEXT NOT NULL DEFAULT '',
  p80 TEXT NOT NULL DEFAULT '',
  p90 TEXT NOT NULL DEFAULT '',
  p95 TEXT NOT NULL DEFAULT '',
  promised TEXT NOT NULL,
  ready TEXT NOT NULL DEFAULT '',
  file INTEGER REFERENCES promise_file(id)
) STRICT;
CREATE TABLE acceptance (
  promise INTEGER PRIMARY KEY REFERENCES promise(id),
  orders TEXT NOT NULL,
  lines TEXT NOT NULL,
  before TEXT NOT NULL,
  after TEXT NOT NULL
) STRICT;
CREATE TABLE placed (
  promise INTEGER PRIMARY KEY REFERENCES acceptance(promise),
  entered TEXT NOT NULL
) STRICT;
CREATE TRIGGER promise_file_stays BEFORE UPDATE ON promise_file
  BEGIN SELECT RAISE(ABORT, 'promises are never changed'); END;
CREATE TRIGGER promise_file_is_kept BEFORE DELETE ON promise_file
  BEGIN SELECT RAISE(ABORT, 'promises are never taken out'); END;
CREATE TRIGGER promise_stays BEFORE UPDATE ON promise
  BEGIN SELECT RAISE(ABORT, 'promises are never changed'); END;
CREATE TRIGGER promise_is_kept BEFORE DELETE ON promise
  BEGIN SELECT RAISE(ABORT, 'promises are never taken out'); END;
CREATE TRIGGER acceptance_stays BEFORE UPDATE ON acceptance
  BEGIN SELECT RAISE(ABORT, 'acceptances are never changed'); END;
CREATE TRIGGER acceptance_is_kept BEFORE DELETE ON acceptance
  BEGIN SELECT RAISE(ABORT, 'acceptances are never taken out'); END;
CREATE TRIGGER placed_stays BEFORE UPDATE ON placed
  BEGIN SELECT RAISE(ABORT, 'acceptances are never changed'); END;
CREATE TRIGGER placed_is_kept BEFORE DELETE ON placed
  BEGIN SELECT RAISE(ABORT, 'acceptances are never taken out'); END;
)sql",
    // 3 -> 4: a plan that was accepted with a mark (somebody stays longer) knows it
    R"sql(
ALTER TABLE plan ADD COLUMN accepted_with INTEGER NOT NULL DEFAULT 0;
)sql",
};

}  // namespace sched::journal
