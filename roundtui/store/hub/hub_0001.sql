-- Schema 1 of the hub: a PostgreSQL database, version 15 or later, in which the laptops of one or more offices meet.
--
-- This file is frozen: what was released never changes, a later schema is a file of its own. Run it as the owner of an
-- empty database. It may be run again: what is there stays as it is.
--
-- The hub keeps what was signed and does not understand it. An entry is the very text that its digest is made of; a kind
-- or a field that is new needs no change here. Laptops have no right on any table: they call functions, which run as the
-- owner, look who is logged in, and add, or show what that one may see. Nothing is ever changed or deleted.

DO $$
BEGIN
    IF current_setting('server_version_num')::int < 150000 THEN
        RAISE EXCEPTION 'the hub needs PostgreSQL 15 or later, this is %', current_setting('server_version');
    END IF;
    IF current_setting('server_encoding') <> 'UTF8' THEN
        RAISE EXCEPTION 'the hub needs a database in UTF8, this one is in %', current_setting('server_encoding');
    END IF;
END $$;

DO $$
BEGIN
    CREATE ROLE hub_laptop NOLOGIN;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL;
END $$;
DO $$
BEGIN
    CREATE ROLE hub_reader NOLOGIN;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL;
END $$;

CREATE SCHEMA IF NOT EXISTS hub;
REVOKE ALL ON SCHEMA hub FROM PUBLIC;
GRANT USAGE ON SCHEMA hub TO hub_laptop, hub_reader;

-- What tells this hub from others, also from one made anew under the same name.
CREATE TABLE IF NOT EXISTS hub.self (
    one boolean PRIMARY KEY DEFAULT true CHECK (one),
    id uuid NOT NULL DEFAULT gen_random_uuid(),
    schema int NOT NULL
);
INSERT INTO hub.self (schema) VALUES (1) ON CONFLICT DO NOTHING;

-- Who may log in, and what they may see. Changed by hub.enrol alone.
CREATE TABLE IF NOT EXISTS hub.people (
    name text PRIMARY KEY,
    office text NOT NULL CHECK (office <> '' AND strpos(office, '/') = 0),
    groups text[] NOT NULL,
    ids text[] NOT NULL DEFAULT '{}',
    carries boolean NOT NULL DEFAULT false,
    reader boolean NOT NULL DEFAULT false,
    granted int NOT NULL DEFAULT 1,
    enrolled_at timestamptz NOT NULL DEFAULT now()
);

-- Lanes of pushes: a folder on a laptop.
CREATE TABLE IF NOT EXISTS hub.writers (
    lane text PRIMARY KEY CHECK (lane ~ '^[0-9a-f]{12}\.[0-9a-f]{12}$'),
    name text NOT NULL REFERENCES hub.people,
    office text NOT NULL
);
CREATE INDEX IF NOT EXISTS writers_office ON hub.writers (office);

-- Each push of a laptop, numbered without a gap; its mark follows from all it holds and from the mark before it.
CREATE TABLE IF NOT EXISTS hub.pushes (
    push bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    lane text NOT NULL REFERENCES hub.writers,
    no bigint NOT NULL CHECK (no >= 1),
    mark bytea NOT NULL CHECK (length(mark) = 32),
    at timestamptz NOT NULL DEFAULT now(),
    entries int NOT NULL,
    program text NOT NULL,
    schema int NOT NULL,
    UNIQUE (lane, no)
);

-- Entries. Reach: the groups that see one, each behind its office and a stroke; the office alone for all its groups.
CREATE TABLE IF NOT EXISTS hub.entries (
    id uuid PRIMARY KEY,
    push bigint NOT NULL,
    kind text NOT NULL CHECK (kind <> ''),
    reach text[] NOT NULL CHECK (cardinality(reach) > 0),
    digest bytea NOT NULL,
    said text NOT NULL,
    CONSTRAINT "a forged digest" CHECK (digest = sha256(convert_to(said, 'UTF8')))
);
CREATE INDEX IF NOT EXISTS entries_push ON hub.entries (push);

-- Entries that a later push showed to further groups.
CREATE TABLE IF NOT EXISTS hub.again (
    push bigint NOT NULL,
    id uuid NOT NULL REFERENCES hub.entries,
    reach text[] NOT NULL,
    PRIMARY KEY (push, id)
);
CREATE INDEX IF NOT EXISTS again_id ON hub.again (id);

CREATE OR REPLACE FUNCTION hub.refuse(why text) RETURNS text[]
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    RAISE EXCEPTION '%', why USING ERRCODE = 'RT001';
END $$;

CREATE OR REPLACE FUNCTION hub.keep() RETURNS trigger
LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    RAISE EXCEPTION 'nothing on the hub is changed or deleted' USING ERRCODE = 'RT001';
END $$;
CREATE OR REPLACE TRIGGER kept BEFORE UPDATE OR DELETE OR TRUNCATE ON hub.self EXECUTE FUNCTION hub.keep();
CREATE OR REPLACE TRIGGER kept BEFORE DELETE OR TRUNCATE ON hub.people EXECUTE FUNCTION hub.keep();
CREATE OR REPLACE TRIGGER kept BEFORE UPDATE OR DELETE OR TRUNCATE ON hub.writers EXECUTE FUNCTION hub.keep();
CREATE OR REPLACE TRIGGER kept BEFORE UPDATE OR DELETE OR TRUNCATE ON hub.pushes EXECUTE FUNCTION hub.keep();
CREATE OR REPLACE TRIGGER kept BEFORE UPDATE OR DELETE OR TRUNCATE ON hub.entries EXECUTE FUNCTION hub.keep();
CREATE OR REPLACE TRIGGER kept BEFORE UPDATE OR DELETE OR TRUNCATE ON hub.again EXECUTE FUNCTION hub.keep();

-- What whoever is logged in may see, as entries have it; nothing for one who is not enrolled.
CREATE OR REPLACE FUNCTION hub.reach() RETURNS text[]
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    SELECT coalesce((SELECT array_agg(office || '/' || one) || (office || '/')
        FROM hub.people, unnest(groups) AS one WHERE name = session_user GROUP BY office), '{}');
$$;

CREATE OR REPLACE FUNCTION hub.reach_of(office text, groups text) RETURNS text[]
LANGUAGE sql IMMUTABLE AS $$ SELECT string_to_array(office || '/' || replace(groups, E'\t', E'\t' || office || '/'), E'\t') $$;

-- Enrol somebody, or grant other groups; whoever is given a group reads everything anew.
CREATE OR REPLACE FUNCTION hub.enrol(who text, of_office text, of_groups text[], laptop_ids text[], may_carry boolean, only_reads boolean)
RETURNS void LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    IF EXISTS (SELECT FROM hub.people WHERE name <> who AND ids && laptop_ids) THEN
        PERFORM hub.refuse('that laptop is enrolled under another name');
    END IF;
    INSERT INTO hub.people AS old (name, office, groups, ids, carries, reader)
    VALUES (who, of_office, of_groups, laptop_ids, may_carry, only_reads)
    ON CONFLICT (name) DO UPDATE SET
        groups = excluded.groups, carries = excluded.carries,
        ids = ARRAY(SELECT DISTINCT unnest(old.ids || excluded.ids)),
        granted = old.granted + CASE WHEN old.groups @> excluded.groups THEN 0 ELSE 1 END
    WHERE old.office = excluded.office AND old.reader = excluded.reader;
    IF NOT FOUND THEN
        PERFORM hub.refuse(who || ' is enrolled already: in another office, or not to the same end; choose another name');
    END IF;
END $$;

-- Where the hub stands: who is asking, and each lane of the office that ends otherwise than the laptop says it saw.
CREATE OR REPLACE FUNCTION hub.hello(own text, lanes text[], nos bigint[], marks bytea[], OUT me jsonb, OUT news jsonb)
LANGUAGE plpgsql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET jit = off AS $$
DECLARE
    asking hub.people;
BEGIN
    SELECT * INTO asking FROM hub.people WHERE name = session_user AND NOT reader;
    IF NOT FOUND THEN
        PERFORM hub.refuse(session_user || ' is not enrolled as a laptop');
    END IF;
    SELECT to_jsonb(asking) || jsonb_build_object('id', id, 'schema', schema) INTO me FROM hub.self;
    SELECT coalesce(jsonb_agg(jsonb_build_array(lane, last.no, encode(last.mark, 'hex'), CASE WHEN EXISTS (
            SELECT FROM hub.pushes AS p WHERE p.lane = known.lane AND p.no = seen.no AND p.mark = seen.mark
        ) THEN seen.no ELSE 0 END)), '[]')
    INTO news
    FROM unnest(lanes, nos, marks) AS seen (lane, no, mark)
    FULL JOIN (SELECT w.lane FROM hub.writers AS w WHERE w.office = asking.office) AS known USING (lane)
    LEFT JOIN LATERAL (
        SELECT p.no, p.mark FROM hub.pushes AS p WHERE p.lane = known.lane ORDER BY p.no DESC LIMIT 1
    ) AS last ON true
    WHERE lane = own OR last.mark IS DISTINCT FROM seen.mark;
END $$;

-- What whoever is logged in may see of the pushes of some lanes after a number, up to another. Texts come a line each,
-- digests one behind the other, as for a push: a row for each entry would cost the laptop more than the entry.
CREATE OR REPLACE FUNCTION hub.pull(lanes text[], after bigint[], upto bigint[])
RETURNS TABLE (push bigint, lane text, no bigint, mark bytea, schema int, digests bytea, says text)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET jit = off AS $$
    SELECT p.push, p.lane, p.no, p.mark, p.schema, e.digests, e.says
    FROM unnest(lanes, after, upto) AS want (lane, after, upto)
    JOIN hub.writers AS w ON w.lane = want.lane
        AND w.office = (SELECT office FROM hub.people WHERE name = session_user AND NOT reader)
    JOIN LATERAL (SELECT * FROM hub.pushes AS q WHERE q.lane = want.lane AND q.no > want.after AND q.no <= want.upto) AS p ON true
    JOIN LATERAL (
        SELECT string_agg(each.digest, '') AS digests, string_agg(each.said, E'\n') AS says FROM (
            SELECT x.digest, x.said FROM hub.entries AS x WHERE x.push = p.push AND x.reach && (SELECT hub.reach())
            UNION ALL
            SELECT x.digest, x.said FROM hub.again AS a JOIN hub.entries AS x ON x.id = a.id
            WHERE a.push = p.push AND a.reach && (SELECT hub.reach())
        ) AS each
    ) AS e ON e.says IS NOT NULL;
$$;

-- Texts of a push as entries, each with its reach; refused where one is not for whoever is asking to send.
CREATE OR REPLACE FUNCTION hub.as_entries(asking hub.people, push bigint, texts text[], digests bytea, groups text[])
RETURNS TABLE (id uuid, push_of bigint, kind text, reach text[], digest bytea, said text)
LANGUAGE sql STABLE AS $$
    SELECT e.id, push, e.kind, CASE
            WHEN NOT split_part(e.lane, '.', 2) = ANY (asking.ids) AND NOT asking.carries
                THEN hub.refuse('entry ' || e.id || ' is of a foreign lane')
            WHEN known.reach IS NULL
                THEN hub.refuse('entry ' || e.id || ' is of a group that is not granted: ' || coalesce(replace(given.of, E'\t', ', '), '?'))
            ELSE known.reach
        END, substr(digests, 32 * given.at::int - 31, 32), given.one
    FROM unnest(texts, groups) WITH ORDINALITY AS given (one, of, at)
    LEFT JOIN (
        SELECT of, CASE WHEN of = '' THEN ARRAY[asking.office || '/']
            WHEN string_to_array(of, E'\t') && asking.groups THEN hub.reach_of(asking.office, of) END AS reach
        FROM (SELECT DISTINCT unnest(groups) AS of) AS each
    ) AS known ON known.of = given.of
    CROSS JOIN LATERAL json_to_record(given.one::json) AS e (id uuid, lane text, kind text)
    WHERE given.one IS NOT NULL;
$$;

-- One push: entries of the laptop's own, numbered after its push before; and entries it sees, shown to further groups.
-- Texts come a line each, digests one behind the other, and groups a line for each text, with tabs between them.
CREATE OR REPLACE FUNCTION hub.push(
    own text, number bigint, before bytea, by_program text, by_schema int,
    says text, digests bytea, groups text, widened uuid[], widened_groups text,
    OUT mark bytea, OUT added int)
LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET jit = off AS $$
DECLARE
    asking hub.people;
    laptop text := split_part(own, '.', 2);
    this bigint;
    same int;
    texts text[] := string_to_array(says, E'\n');
    of_texts text[] := string_to_array(groups, E'\n');
    of_widened text[] := string_to_array(widened_groups, E'\n');
BEGIN
    SELECT * INTO asking FROM hub.people WHERE name = session_user AND NOT reader;
    IF NOT FOUND THEN
        PERFORM hub.refuse(session_user || ' is not enrolled as a laptop');
    END IF;
    IF NOT laptop = ANY (asking.ids) THEN
        IF asking.ids <> '{}' OR EXISTS (SELECT FROM hub.people WHERE laptop = ANY (ids)) THEN
            PERFORM hub.refuse('laptop ' || laptop || ' is not the one enrolled as ' || asking.name);
        END IF;
        UPDATE hub.people SET ids = ARRAY[laptop] WHERE name = asking.name AND ids = '{}';
        asking.ids := ARRAY[laptop];
    END IF;
    INSERT INTO hub.writers (lane, name, office) VALUES (own, asking.name, asking.office) ON CONFLICT DO NOTHING;
    IF number > 1 AND NOT EXISTS (SELECT FROM hub.pushes AS p WHERE p.lane = own AND p.no = number - 1 AND p.mark = before) THEN
        PERFORM hub.refuse('push ' || number || ' does not follow the push before it');
    END IF;
    mark := sha256(coalesce(before, '') || convert_to(own || ' ' || number, 'UTF8')
        || digests);
    INSERT INTO hub.pushes (lane, no, mark, entries, program, schema)
    VALUES (own, number, mark, cardinality(texts), by_program, by_schema) RETURNING push INTO this;
    BEGIN
        INSERT INTO hub.entries (id, push, kind, reach, digest, said)
        SELECT * FROM hub.as_entries(asking, this, texts, digests, of_texts);
        added := cardinality(texts);
    EXCEPTION WHEN unique_violation THEN
        -- Some are there already. Looking for them one by one takes twice the time, and is seldom needed.
        INSERT INTO hub.entries (id, push, kind, reach, digest, said)
        SELECT * FROM hub.as_entries(asking, this, texts, digests, of_texts) ON CONFLICT (id) DO NOTHING;
        GET DIAGNOSTICS added = ROW_COUNT;
        -- Those must be the same to the last letter.
        SELECT count(*) INTO same FROM unnest(texts) AS one
        JOIN hub.entries AS e ON e.id = (one::json ->> 'id')::uuid AND e.said = one;
        IF same < cardinality(texts) THEN
            PERFORM hub.refuse('an entry is there already and says something else');
        END IF;
        of_widened := of_widened[1:cardinality(widened)] || of_texts[1:cardinality(texts)];
        widened := widened || ARRAY(SELECT (one::json ->> 'id')::uuid FROM unnest(texts) AS one);
    END;
    INSERT INTO hub.again (push, id, reach)
    SELECT DISTINCT ON (e.id) this, e.id, want.reach
    FROM unnest(widened) WITH ORDINALITY AS given (id, at)
    CROSS JOIN LATERAL (SELECT CASE WHEN of_widened[at] = '' THEN ARRAY[asking.office || '/']
        ELSE hub.reach_of(asking.office, of_widened[at]) END AS reach) AS want
    JOIN hub.entries AS e ON e.id = given.id
    WHERE NOT EXISTS (SELECT FROM (SELECT e.reach UNION ALL SELECT a.reach FROM hub.again AS a WHERE a.id = e.id) AS had (reach)
            WHERE had.reach @> want.reach OR had.reach @> ARRAY[asking.office || '/'])
        AND (e.reach && hub.reach() OR EXISTS (SELECT FROM hub.again AS a WHERE a.id = e.id AND a.reach && hub.reach()))
    ORDER BY e.id, cardinality(want.reach) DESC;
END $$;

-- The laptops of the office, for hub check: when each pushed last, with which program, and how far.
CREATE OR REPLACE FUNCTION hub.laptops()
RETURNS TABLE (name text, groups text[], pushes bigint, entries bigint, last_at timestamptz, program text, schema int)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, pg_temp SET jit = off AS $$
    SELECT who.name, who.groups, count(p.push), coalesce(sum(p.entries), 0)::bigint, max(p.at),
        (array_agg(p.program ORDER BY p.push DESC))[1], (array_agg(p.schema ORDER BY p.push DESC))[1]
    FROM hub.people AS who
    LEFT JOIN hub.writers AS w ON w.name = who.name
    LEFT JOIN hub.pushes AS p ON p.lane = w.lane
    WHERE NOT who.reader AND who.office = (SELECT one.office FROM hub.people AS one WHERE one.name = session_user)
    GROUP BY who.name ORDER BY who.name;
$$;

REVOKE ALL ON ALL FUNCTIONS IN SCHEMA hub FROM PUBLIC;
GRANT EXECUTE ON FUNCTION hub.hello, hub.pull, hub.push, hub.laptops TO hub_laptop;
GRANT EXECUTE ON FUNCTION hub.reach TO hub_laptop, hub_reader;
