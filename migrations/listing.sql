-- What protects the books in this database, one thing a row: what it is, and the
-- statements that make it so and undo it. Names of owners and of databases are not
-- in it, and neither is anything that PostgreSQL 15 to 18 say in different words.
WITH tables AS (
    SELECT c.oid, c.relname, c.relowner, c.relacl, c.relpersistence, c.relrowsecurity, c.relforcerowsecurity
      FROM pg_class c
     WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm', 'f')
), roles AS (
    SELECT * FROM pg_roles WHERE rolname IN ('pullbook_service', 'pullbook_operator')
), grants AS (
    SELECT t.relname AS on_, '' AS col, t.relowner AS owner, a.grantee, a.privilege_type, a.is_grantable
      FROM tables t, aclexplode(t.relacl) a
     UNION ALL
    SELECT t.relname, att.attname, t.relowner, a.grantee, a.privilege_type, a.is_grantable
      FROM tables t JOIN pg_attribute att ON att.attrelid = t.oid, aclexplode(att.attacl) a
)
SELECT 'table' AS kind, relname::text AS on_, ''::text AS name,
       concat(CASE relpersistence WHEN 'p' THEN 'kept through a crash' ELSE 'NOT kept through a crash' END,
              ', row-level security ', CASE WHEN relrowsecurity THEN 'on' ELSE 'off' END,
              CASE WHEN relforcerowsecurity THEN ', for its owner too' ELSE ', not for its owner' END,
              CASE WHEN pg_has_role('pullbook_service', relowner, 'USAGE') THEN ', OWNED BY THE SERVICE' END) AS is_,
       concat('ALTER TABLE public.', quote_ident(relname), ' OWNER TO CURRENT_USER, ', CASE WHEN relpersistence = 'p' THEN 'SET LOGGED, ' ELSE 'SET UNLOGGED, ' END,
              CASE WHEN relrowsecurity THEN 'ENABLE' ELSE 'DISABLE' END, ' ROW LEVEL SECURITY, ',
              CASE WHEN relforcerowsecurity THEN 'FORCE' ELSE 'NO FORCE' END, ' ROW LEVEL SECURITY') AS make, '' AS unmake
  FROM tables
 UNION ALL
SELECT 'column', t.relname, a.attname::text,
       concat(format_type(a.atttypid, a.atttypmod), CASE WHEN a.attnotnull THEN ' not null' END,
              ' default ' || pg_get_expr(d.adbin, d.adrelid), CASE WHEN a.attgenerated <> '' THEN ' generated' END), '', ''
  FROM tables t
  JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum > 0 AND NOT a.attisdropped
  LEFT JOIN pg_attrdef d ON d.adrelid = a.attrelid AND d.adnum = a.attnum
 UNION ALL
SELECT 'constraint', t.relname, c.conname, pg_get_constraintdef(c.oid),
       format('ALTER TABLE public.%I ADD CONSTRAINT %I %s', t.relname, c.conname, pg_get_constraintdef(c.oid)),
       format('ALTER TABLE public.%I DROP CONSTRAINT %I', t.relname, c.conname)
  FROM tables t
  JOIN pg_constraint c ON c.conrelid = t.oid AND c.contype IN ('c', 'f', 'p', 'u', 'x')
 UNION ALL
SELECT 'index', t.relname, i.relname, pg_get_indexdef(i.oid) || CASE WHEN x.indisvalid AND x.indisready THEN '' ELSE ', not valid' END,
       pg_get_indexdef(i.oid), format('DROP INDEX public.%I', i.relname)
  FROM tables t
  JOIN pg_index x ON x.indrelid = t.oid
  JOIN pg_class i ON i.oid = x.indexrelid
 WHERE NOT EXISTS (SELECT FROM pg_constraint c WHERE c.conindid = i.oid AND c.contype IN ('p', 'u', 'x'))
 UNION ALL
SELECT 'foreign key check', t.relname, '', CASE WHEN bool_and(g.tgenabled = 'O') THEN 'on' ELSE 'off' END,
       format('ALTER TABLE public.%I ENABLE TRIGGER ALL', t.relname), ''
  FROM tables t
  JOIN pg_trigger g ON g.tgrelid = t.oid AND g.tgisinternal
 GROUP BY t.relname
 UNION ALL
SELECT 'trigger', t.relname, g.tgname,
       concat(pg_get_triggerdef(g.oid), CASE g.tgenabled WHEN 'O' THEN ', enabled' WHEN 'A' THEN ', enabled always' WHEN 'R' THEN ', enabled for replicas only' ELSE ', DISABLED' END),
       pg_get_triggerdef(g.oid), format('DROP TRIGGER %I ON public.%I', g.tgname, t.relname)
  FROM tables t
  JOIN pg_trigger g ON g.tgrelid = t.oid AND NOT g.tgisinternal
 UNION ALL
SELECT 'rule', t.relname, r.rulename, pg_get_ruledef(r.oid), '', format('DROP RULE %I ON public.%I', r.rulename, t.relname)
  FROM tables t
  JOIN pg_rewrite r ON r.ev_class = t.oid AND r.rulename <> '_RETURN'
 UNION ALL
SELECT 'policy', t.relname, p.polname, d.is_, format('CREATE POLICY %I ON public.%I AS %s', p.polname, t.relname, d.is_),
       format('DROP POLICY %I ON public.%I', p.polname, t.relname)
  FROM tables t
  JOIN pg_policy p ON p.polrelid = t.oid,
       LATERAL (SELECT concat(CASE WHEN p.polpermissive THEN 'PERMISSIVE' ELSE 'RESTRICTIVE' END,
                    ' FOR ', CASE p.polcmd WHEN 'r' THEN 'SELECT' WHEN 'a' THEN 'INSERT' WHEN 'w' THEN 'UPDATE' WHEN 'd' THEN 'DELETE' ELSE 'ALL' END,
                    ' TO ', (SELECT string_agg(CASE r WHEN 0 THEN 'public' ELSE r::regrole::text END, ', ' ORDER BY r::regrole::text) FROM unnest(p.polroles) r),
                    ' USING (' || pg_get_expr(p.polqual, p.polrelid) || ')',
                    ' WITH CHECK (' || pg_get_expr(p.polwithcheck, p.polrelid) || ')') AS is_) d
 UNION ALL
-- What an owner grants to others. Who may only look, and is none of ours, sees the
-- rows of no outfit, and is left to whoever runs the server.
SELECT 'grant', g.on_, d.name, CASE WHEN bool_or(g.is_grantable) THEN 'may be passed on' ELSE 'given' END,
       concat('GRANT ', d.name), concat('REVOKE ', replace(d.name, ' TO ', ' FROM '))
  FROM grants g,
       LATERAL (SELECT format('%s%s ON public.%I TO %s', g.privilege_type, CASE WHEN g.col <> '' THEN format(' (%I)', g.col) END, g.on_,
                              CASE g.grantee WHEN 0 THEN 'PUBLIC' ELSE g.grantee::regrole::text END) AS name) d
 WHERE g.grantee <> g.owner
   AND (g.privilege_type NOT IN ('SELECT', 'REFERENCES') OR g.grantee = 0 OR g.grantee IN (SELECT oid FROM roles))
 GROUP BY g.on_, d.name
 UNION ALL
SELECT 'grant', 'schema public', format('%s ON SCHEMA public TO %I', p.may, r.rolname), 'given',
       format('GRANT %s ON SCHEMA public TO %I', p.may, r.rolname), format('REVOKE %s ON SCHEMA public FROM %I, PUBLIC', p.may, r.rolname)
  FROM roles r, unnest(ARRAY['USAGE', 'CREATE']) p (may)
 WHERE has_schema_privilege(r.oid, 'public', p.may)
 UNION ALL
SELECT 'function', '', f.oid::regprocedure::text,
       concat('returns ', pg_get_function_result(f.oid), ', ', l.lanname,
              CASE f.provolatile WHEN 'i' THEN ', immutable' WHEN 's' THEN ', stable' ELSE ', volatile' END,
              ', parallel ' || f.proparallel::text, CASE WHEN f.prosecdef THEN ', SECURITY DEFINER' END, CASE WHEN f.proisstrict THEN ', strict' END,
              CASE WHEN f.proleakproof THEN ', leakproof' END, ', with ' || array_to_string(f.proconfig, ', '),
              CASE WHEN pg_has_role('pullbook_service', f.proowner, 'USAGE') THEN ', OWNED BY THE SERVICE' END,
              CASE WHEN NOT has_function_privilege('pullbook_service', f.oid, 'EXECUTE') THEN ', closed to the service' END,
              ', body ', left(encode(sha256(convert_to(coalesce(pg_get_function_sqlbody(f.oid), f.prosrc), 'UTF8')), 'hex'), 16)),
       concat(pg_get_functiondef(f.oid), format('; ALTER FUNCTION %1$s OWNER TO CURRENT_USER; GRANT EXECUTE ON FUNCTION %1$s TO PUBLIC', f.oid::regprocedure)), format('DROP FUNCTION %s', f.oid::regprocedure)
  FROM pg_proc f
  JOIN pg_language l ON l.oid = f.prolang
 WHERE f.pronamespace = 'public'::regnamespace AND f.prokind = 'f'
   AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.classid = 'pg_proc'::regclass AND d.objid = f.oid AND d.deptype = 'e')
 UNION ALL
SELECT 'role', '', rolname,
       concat(CASE WHEN rolsuper THEN 'SUPERUSER ' ELSE 'NOSUPERUSER ' END, CASE WHEN rolbypassrls THEN 'BYPASSRLS ' ELSE 'NOBYPASSRLS ' END,
              CASE WHEN rolcreaterole THEN 'CREATEROLE ' ELSE 'NOCREATEROLE ' END, CASE WHEN rolcreatedb THEN 'CREATEDB ' ELSE 'NOCREATEDB ' END,
              CASE WHEN rolreplication THEN 'REPLICATION' ELSE 'NOREPLICATION' END),
       format('ALTER ROLE %I NOSUPERUSER NOBYPASSRLS NOCREATEROLE NOCREATEDB NOREPLICATION', rolname), ''
  FROM roles
 UNION ALL
SELECT 'membership', '', format('%I TO %I', m.roleid::regrole::text, r.rolname), 'given', '', format('REVOKE %I FROM %I', m.roleid::regrole::text, r.rolname)
  FROM roles r
  JOIN pg_auth_members m ON m.member = r.oid
 UNION ALL
-- Settings that would let rows past the triggers, or acknowledge what is not on the disk.
SELECT 'setting', '', concat(split_part(c, '=', 1), CASE WHEN s.setrole <> 0 THEN ' of the role ' || s.setrole::regrole::text ELSE ' of the database' END), c,
       '', concat('ALTER ', CASE WHEN s.setrole <> 0 THEN 'ROLE ' || s.setrole::regrole::text ELSE '' END,
                  CASE WHEN s.setdatabase <> 0 AND s.setrole <> 0 THEN format(' IN DATABASE %I', current_database()) WHEN s.setdatabase <> 0 THEN format('DATABASE %I', current_database()) END,
                  ' RESET ', split_part(c, '=', 1))
  FROM pg_db_role_setting s, unnest(s.setconfig) c
 WHERE s.setdatabase IN (0, (SELECT oid FROM pg_database WHERE datname = current_database()))
   AND (s.setrole = 0 OR s.setrole IN (SELECT oid FROM roles) OR s.setrole = (SELECT oid FROM pg_roles WHERE rolname = session_user))
   AND split_part(c, '=', 1) IN ('session_replication_role', 'synchronous_commit', 'fsync', 'row_security')
 ORDER BY 1, 2, 3
