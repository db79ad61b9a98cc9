-- The shared record, version 1. Run by an administrator in one transaction, after the roles exist.
-- The owner has no login; technicians and supervisors add rows, auditors read, nobody changes or removes one.

CREATE SCHEMA record AUTHORIZATION seasonlog_owner;
GRANT USAGE ON SCHEMA record TO seasonlog_technician, seasonlog_supervisor, seasonlog_auditor;
SET LOCAL ROLE seasonlog_owner;
SET LOCAL search_path = record, pg_catalog;

CREATE TABLE version (number integer PRIMARY KEY, made timestamptz NOT NULL DEFAULT now());
INSERT INTO version (number) VALUES (1);
GRANT SELECT ON version TO seasonlog_technician, seasonlog_supervisor, seasonlog_auditor;

-- Who may do what in which log. A technician adds entries of the own device only.
CREATE TABLE member (
  login text NOT NULL CHECK (length(login) BETWEEN 1 AND 63),
  log   text NOT NULL CHECK (log ~ '^[0-9a-f]{32}$'),
  role  text NOT NULL CHECK (role IN ('technician', 'supervisor', 'auditor')),
  dev   text NOT NULL DEFAULT '' CHECK (dev ~ '^([0-9a-f]{16})?$'),
  PRIMARY KEY (login, log)
);

-- One row per entry: its line as the device signed it. The columns beside line and sig repeat fields of the line.
CREATE TABLE entry (
  log       text        NOT NULL,
  dev       text        NOT NULL CHECK (dev ~ '^[0-9a-f]{16}$'),
  seq       bigint      NOT NULL CHECK (seq >= 1),
  prev      bytea       NOT NULL CHECK (octet_length(prev) = CASE WHEN seq = 1 THEN 0 ELSE 32 END),
  hash      bytea       NOT NULL CHECK (hash = sha256('\x00'::bytea || line)),
  line      bytea       NOT NULL CHECK (octet_length(line) BETWEEN 2 AND 1000000),
  sig       bytea       NOT NULL CHECK (octet_length(sig) = 64),
  pushed_by text        NOT NULL DEFAULT session_user,
  received  timestamptz NOT NULL DEFAULT clock_timestamp(),
  PRIMARY KEY (log, dev, seq)
);

-- Checkpoints: signed statements of how long each device's part of the log was, with the signatures they gathered.
CREATE TABLE checkpoint (
  log      text        NOT NULL,
  hash     bytea       NOT NULL CHECK (octet_length(hash) = 32),
  text     text        NOT NULL CHECK (octet_length(text) <= 1000000),
  received timestamptz NOT NULL DEFAULT clock_timestamp(),
  PRIMARY KEY (log, hash)
);
CREATE TABLE checkpoint_signature (
  log  text  NOT NULL,
  hash bytea NOT NULL,
  name text  NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
  sig  bytea NOT NULL CHECK (octet_length(sig) = 64),
  PRIMARY KEY (log, hash, name, sig),
  FOREIGN KEY (log, hash) REFERENCES checkpoint
);

-- What lies beside the log, by the hash of its bytes. A supervisor may let go of one: the entry that says who and why
-- stays, and so does its hash.
CREATE TABLE attachment (
  log      text        NOT NULL,
  hash     bytea       NOT NULL CHECK (hash = sha256(bytes)),
  bytes    bytea       NOT NULL CHECK (octet_length(bytes) <= 30000000),
  received timestamptz NOT NULL DEFAULT clock_timestamp(),
  PRIMARY KEY (log, hash)
);

-- What the login that asks may see and add. They run as the owner: members have no right on the table of members.
CREATE FUNCTION my_logs() RETURNS text[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = record, pg_catalog
RETURN ARRAY(SELECT log FROM member WHERE login = session_user);

CREATE FUNCTION my_logs_to_add_to() RETURNS text[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = record, pg_catalog
RETURN ARRAY(SELECT log FROM member WHERE login = session_user AND role IN ('technician', 'supervisor'));

-- Each as log and device in one text; a supervisor's has no device and stands for all of that log.
CREATE FUNCTION my_devices() RETURNS text[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = record, pg_catalog
RETURN ARRAY(SELECT log || CASE role WHEN 'supervisor' THEN '' ELSE dev END FROM member
             WHERE login = session_user AND (role = 'supervisor' OR (role = 'technician' AND dev <> '')));

-- A technician's login is admitted before the device has a key; the first device to say so is the login's.
CREATE FUNCTION claim(wanted text, device text) RETURNS boolean
LANGUAGE plpgsql SECURITY DEFINER SET search_path = record, pg_catalog AS $$
BEGIN
  UPDATE member SET dev = device
    WHERE login = session_user AND log = wanted AND role = 'technician' AND dev = '';
  RETURN EXISTS (SELECT 1 FROM member WHERE login = session_user AND log = wanted
                 AND (role = 'supervisor' OR (role = 'technician' AND dev = device)));
END $$;

CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql SET search_path = record, pg_catalog AS $$
BEGIN
  RAISE EXCEPTION 'the record is append-only: % on % is refused', TG_OP, TG_TABLE_NAME USING ERRCODE = 'SL001';
END $$;

-- All new rows of one statement at once: no gap and no break in any device's chain.
CREATE FUNCTION check_entries() RETURNS trigger LANGUAGE plpgsql SET search_path = record, pg_catalog AS $$
DECLARE bad record;
BEGIN
  SELECT n.dev, n.seq INTO bad FROM (
      SELECT log, dev, seq, prev, lag(seq) OVER own AS seq_before, lag(hash) OVER own AS hash_before
      FROM added WINDOW own AS (PARTITION BY log, dev ORDER BY seq)) AS n
    WHERE n.seq > 1 AND n.prev IS DISTINCT FROM CASE WHEN n.seq_before = n.seq - 1 THEN n.hash_before ELSE
      (SELECT e.hash FROM entry e WHERE e.log = n.log AND e.dev = n.dev AND e.seq = n.seq - 1) END
    LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION 'entry % of device % does not follow the one before it', bad.seq, bad.dev USING ERRCODE = 'SL002';
  END IF;
  -- The columns repeat what the line says. This guards against mistakes of programs: a line made up to deceive is
  -- found by whoever verifies it.
  SELECT n.dev, n.seq INTO bad FROM added n
    WHERE position(convert_to('"dev":"' || n.dev || '","hlc":"', 'UTF8') IN n.line) = 0
       OR position(convert_to('"log":"' || n.log || '","offset":', 'UTF8') IN n.line) = 0
       OR position(convert_to('"prev":"' || encode(n.prev, 'hex') || '","seq":' || n.seq || ',"uid":"', 'UTF8')
                   IN n.line) = 0
    LIMIT 1;
  IF FOUND THEN
    RAISE EXCEPTION 'entry % of device % says something else in its line', bad.seq, bad.dev USING ERRCODE = 'SL003';
  END IF;
  PERFORM pg_notify('seasonlog', log) FROM (SELECT DISTINCT log FROM added) AS logs;
  RETURN NULL;
END $$;

CREATE TRIGGER checked AFTER INSERT ON entry REFERENCING NEW TABLE AS added
  FOR EACH STATEMENT EXECUTE FUNCTION check_entries();

DO $$
DECLARE kept text;
BEGIN
  FOREACH kept IN ARRAY ARRAY['entry', 'checkpoint', 'checkpoint_signature', 'version'] LOOP
    EXECUTE format('CREATE TRIGGER never_changed BEFORE UPDATE OR DELETE ON %I '
                   'FOR EACH ROW EXECUTE FUNCTION refuse_change()', kept);
    EXECUTE format('CREATE TRIGGER never_emptied BEFORE TRUNCATE ON %I '
                   'FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()', kept);
  END LOOP;
  FOREACH kept IN ARRAY ARRAY['entry', 'checkpoint', 'checkpoint_signature', 'attachment'] LOOP
    EXECUTE format('ALTER TABLE %I ENABLE ROW LEVEL SECURITY', kept);
    EXECUTE format('ALTER TABLE %I FORCE ROW LEVEL SECURITY', kept);
    -- In a subselect the function is asked once per statement, not once per row.
    EXECUTE format('CREATE POLICY sees ON %I FOR SELECT USING (log = ANY ((SELECT my_logs())::text[]))', kept);
    EXECUTE format('GRANT SELECT ON %I TO seasonlog_technician, seasonlog_supervisor, seasonlog_auditor', kept);
  END LOOP;
  FOREACH kept IN ARRAY ARRAY['checkpoint', 'checkpoint_signature', 'attachment'] LOOP
    EXECUTE format('CREATE POLICY adds ON %I FOR INSERT '
                   'WITH CHECK (log = ANY ((SELECT my_logs_to_add_to())::text[]))', kept);
  END LOOP;
END $$;

CREATE POLICY adds ON entry FOR INSERT WITH CHECK (
  log = ANY ((SELECT my_devices())::text[]) OR (log || dev) = ANY ((SELECT my_devices())::text[]));

GRANT DELETE ON attachment TO seasonlog_supervisor;
CREATE POLICY lets_go ON attachment FOR DELETE USING (log = ANY ((SELECT my_devices())::text[]));

-- By column: who pushed a row and when it came are the server's words.
GRANT INSERT (log, dev, seq, prev, hash, line, sig) ON entry TO seasonlog_technician, seasonlog_supervisor;
GRANT INSERT (log, hash, text) ON checkpoint TO seasonlog_technician, seasonlog_supervisor;
GRANT INSERT (log, hash, name, sig) ON checkpoint_signature TO seasonlog_technician, seasonlog_supervisor;
GRANT INSERT (log, hash, bytes) ON attachment TO seasonlog_technician, seasonlog_supervisor;
REVOKE EXECUTE ON ALL FUNCTIONS IN SCHEMA record FROM PUBLIC;
GRANT EXECUTE ON FUNCTION my_logs(), my_logs_to_add_to(), my_devices(), claim(text, text)
  TO seasonlog_technician, seasonlog_supervisor, seasonlog_auditor;
