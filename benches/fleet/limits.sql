-- Five checks of an invented fleet in SQL, for DuckDB: FLEET stands for the file.
--
-- What it leaves out: all else that `asleft` looks at. The limits are those of this fleet's standards
-- and nominal voltages, written here by hand; which version of a network's requirements governs a
-- site is not asked; no finding has a place or says what to do.

-- Each line that is no JSON becomes a row of nulls. Only what the checks look at is kept.
CREATE TEMP VIEW sites AS
SELECT * FROM read_json('FLEET', format = 'newline_delimited', ignore_errors = true, maximum_object_size = 4194304, columns = {
    site: 'VARCHAR',
    network: 'VARCHAR',
    requirements: 'STRUCT(standard VARCHAR)',
    supply: 'STRUCT(nominal VARCHAR)',
    devices: 'MAP(VARCHAR, STRUCT(
        certified STRUCT(standard VARCHAR),
        "as-left" STRUCT(settings STRUCT("overvoltage-2" STRUCT(threshold VARCHAR), "volt-watt" STRUCT(state VARCHAR)))))'
});

-- A site has a fault if any of its devices has: NULL where nothing is stated, as for a line of nulls.
CREATE TEMP MACRO too_high(threshold, nominal, standard) AS
    CASE split_part(threshold, ' ', 2)
        WHEN 'V' THEN TRY_CAST(split_part(threshold, ' ', 1) AS DOUBLE)
        WHEN 'pu' THEN TRY_CAST(split_part(threshold, ' ', 1) AS DOUBLE) * nominal
    END > CASE standard WHEN 'ieee-1547' THEN 1.2 * nominal ELSE 275 END;

CREATE TEMP VIEW faults AS
SELECT
    site IS NULL AS syntax,
    list_bool_or([d."as-left" IS NULL FOR d IN devices]) AS nothing_recorded,
    list_bool_or([split_part(d."as-left".settings."overvoltage-2".threshold, ' ', 2) NOT IN ('V', 'kV', 'mV', 'pu') FOR d IN devices])
        AS wrong_unit,
    list_bool_or([too_high(d."as-left".settings."overvoltage-2".threshold, nominal, d.certified.standard) FOR d IN devices]) AS too_high,
    list_bool_or([d."as-left".settings."volt-watt".state = 'off' FOR d IN devices])
        AND coalesce(network, '') <> 'northfold' AND coalesce(standard, '') <> 'ieee-1547/2018-amd1' AS wrong_state
FROM (
    SELECT
        site, network, requirements.standard AS standard, CAST(split_part(supply.nominal, ' ', 1) AS DOUBLE) AS nominal,
        map_values(devices) AS devices
    FROM sites
);

-- How many sites have each.
SELECT
    count(*) FILTER (nothing_recorded) AS "nothing-recorded",
    count(*) FILTER (wrong_unit) AS "value",
    count(*) FILTER (too_high) AS "too-high",
    count(*) FILTER (wrong_state) AS "wrong-state",
    count(*) FILTER (syntax) AS "syntax"
FROM faults;
