-- Invented rows, to test the quality report: a store in which every figure can be worked out on paper.

INSERT INTO build VALUES
    ('schema_version', '$schema_version'), ('digest', 'c0ffee'), ('digest:component', 'beef'),
    ('cutpoint_version', '0.0'), ('library:sieve', '1.1'), ('source:alpha_handbook', '00'), ('machine', 'abacus');

INSERT INTO source
SELECT source, 'A table of <' || source || '>', 'Invented & sons, ' || source, 'free', 'none', 'none',
    repeat('0', 64), 10, 9, 1, 2
FROM (VALUES ('alpha_handbook'), ('beta_journal')) AS given(source);

INSERT INTO component VALUES
    ('7732-18-5', 'water', 'H2O', 18.0, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('64-17-5', 'ethanol', 'C2H6O', 46.1, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('67-64-1', 'acetone', 'C3H6O', 58.1, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('108-88-3', 'toluene', 'C7H8', 92.1, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('71-43-2', 'benzene <b>', 'C6H6', 78.1, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('110-54-3', 'hexane', 'C6H14', 86.2, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('141-78-6', 'ethyl acetate', 'C4H8O2', 88.1, NULL, NULL, 'pure', 'boils', 'alpha_handbook', NULL),
    ('57-50-1', 'sucrose', 'C12H22O11', 342.3, NULL, NULL, 'pure', 'decomposes', 'alpha_handbook', NULL),
    ('8032-32-4', 'petroleum ether', NULL, NULL, NULL, NULL, 'stream', NULL, 'alpha_handbook', NULL);

INSERT INTO evaluation VALUES
    ('7732-18-5', 'normal_boiling_point', 373.12, 0.1, 'K', NULL, 'A', 4, 373.1, 373.2, 'consensus'),
    ('64-17-5', 'normal_boiling_point', 351.4, 0.2, 'K', NULL, 'A', 3, 351.4, 351.5, 'consensus'),
    ('108-88-3', 'normal_boiling_point', 383.8, 0.3, 'K', NULL, 'A', 3, 383.7, 383.8, 'consensus'),
    ('71-43-2', 'normal_boiling_point', 353.2, 1.0, 'K', NULL, 'B', 2, 353.2, 353.2, 'consensus'),
    ('141-78-6', 'normal_boiling_point', 350.2, 1.0, 'K', NULL, 'B', 2, 350.2, 350.2, 'consensus'),
    ('110-54-3', 'normal_boiling_point', 341.9, 41.4, 'K', NULL, 'D', 2, 341.9, 342.0, 'consensus'),
    ('67-64-1', 'normal_boiling_point', 329.2, 3.0, 'K', NULL, 'D', 1, 329.2, 329.2, 'consensus'),
    ('108-88-3', 'flash_point', 277.0, 5.0, 'K', NULL, 'B', 2, 277.0, 277.0, 'consensus'),
    ('64-17-5', 'enthalpy_of_vaporization', 42000.0, 420.0, 'J_mol', 298.15, 'B', 2, 42000.0, 42000.0, 'consensus');

INSERT INTO observation
SELECT source, row_number() OVER (), 'Tb', cas, 'normal_boiling_point', value, 'K', NULL, NULL, NULL, NULL, NULL, NULL,
    basis, value::VARCHAR, status, reason
FROM (VALUES
    -- one printed at reduced pressure, and two agree
    ('alpha_handbook', '108-88-3', 383.7, 'compiled', 'accepted', NULL),
    ('beta_journal', '108-88-3', 383.8, 'compiled', 'accepted', NULL),
    ('gamma_list', '108-88-3', 343.8, 'compiled', 'outlier', 'reads like reduced pressure: 384 K is expected'),
    -- two houses against two houses: a table twice in one house, and the correlation below
    ('alpha_handbook', '110-54-3', 341.9, 'compiled', 'accepted', NULL),
    ('alpha_supplement', '110-54-3', 342.0, 'compiled', 'accepted', NULL),
    ('beta_journal', '110-54-3', 300.0, 'compiled', 'outlier', 'outside the consensus near 341.9 K'),
    ('gamma_list', '110-54-3', 300.5, 'compiled', 'outlier', 'outside the consensus near 341.9 K'),
    -- a number that was copied counts once
    ('alpha_handbook', '71-43-2', 353.2, 'compiled', 'accepted', NULL),
    ('beta_journal', '71-43-2', 353.2, 'compiled', 'accepted', NULL),
    ('gamma_list', '71-43-2', 373.2, 'compiled', 'outlier', NULL),
    -- no value came of it
    ('alpha_handbook', '57-50-1', 500.0, 'compiled', 'outlier', 'decomposes'),
    ('beta_journal', '57-50-1', 700.0, 'compiled', 'outlier', 'decomposes'),
    -- none of these is a dispute: agreement, an estimate, a cut that boils over a range
    ('alpha_handbook', '64-17-5', 351.4, 'compiled', 'accepted', NULL),
    ('beta_journal', '64-17-5', 351.5, 'compiled', 'accepted', NULL),
    ('alpha_handbook', '67-64-1', 329.2, 'compiled', 'accepted', NULL),
    ('delta_models', '67-64-1', 250.0, 'estimated', 'accepted', NULL),
    ('alpha_handbook', '8032-32-4', 310.0, 'compiled', 'accepted', NULL),
    ('beta_journal', '8032-32-4', 370.0, 'compiled', 'accepted', NULL)
) AS said(source, cas, value, basis, status, reason);

INSERT INTO observation VALUES
    ('alpha_handbook', 98, 'Tf', '108-88-3', 'flash_point', 277.0, 'K', NULL, NULL, NULL, NULL, NULL, NULL, 'compiled',
     '277', 'accepted', NULL),
    ('beta_journal', 99, 'Tf', '108-88-3', 'flash_point', 327.0, 'K', NULL, NULL, NULL, NULL, NULL, NULL, 'compiled',
     '327', 'outlier', 'outside the consensus near 277 K'),
    -- reaches 101 325 Pa at 2700 / (19.4255 - ln 101325) K = 341.798 K
    ('epsilon_curves', 1, 'A', '110-54-3', 'vapour_pressure', NULL, 'Pa', NULL, NULL, 'antoine',
     [19.4255, 2700.0, 0.0, NULL, NULL, NULL, NULL, NULL], 250.0, 400.0, 'correlated', 'A=19.4255; B=2700', 'accepted',
     NULL),
    -- does not reach one atmosphere inside its range
    ('epsilon_curves', 2, 'A', '64-17-5', 'vapour_pressure', NULL, 'Pa', NULL, NULL, 'antoine',
     [19.4255, 2700.0, 0.0, NULL, NULL, NULL, NULL, NULL], 250.0, 300.0, 'correlated', 'A=19.4255; B=2700', 'accepted',
     NULL);

-- Two tables that share twelve components: three are 5 K apart, four the same, five 0.5 K apart.
INSERT INTO observation
SELECT source, 1000 + number, 'Tb', (100000 + number) || '-00-0', 'normal_boiling_point',
    300.0 + number + CASE WHEN source = 'zeta_table' THEN 0.0 WHEN number < 3 THEN 5.0 WHEN number < 7 THEN 0.0
    ELSE 0.5 END, 'K', NULL, NULL, NULL, NULL, NULL, NULL, 'compiled', 'raw', 'accepted', NULL
FROM range(12) AS numbers(number), (VALUES ('eta_table'), ('zeta_table')) AS tables(source);

INSERT INTO vapour_curve VALUES
    ('64-17-5', 'antoine', [20.0, 3000.0, 0.0, NULL, NULL, NULL, NULL, NULL], 280.0, 400.0, 250.0, 440.0, 0.004, 0.04,
     [0.04, 0.04, 0.04, 0.02, 0.002, 0.001, 0.002, 0.04], 'pooled', 'correlated', 'B', 2, 'epsilon_curves'),
    ('108-88-3', 'antoine', [20.0, 3000.0, 0.0, NULL, NULL, NULL, NULL, NULL], 280.0, 400.0, 250.0, 440.0, 0.004, 0.02,
     [0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02], 'chosen', 'correlated', 'C', 1, 'epsilon_curves');

INSERT INTO crosscheck VALUES
    ('7732-18-5', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 373.12, 373.11, 0.01, 0.5, 'agrees'),
    ('64-17-5', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 351.4, 351.38, 0.02, 0.5, 'agrees'),
    ('108-88-3', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 383.8, 383.86, -0.06, 0.5, 'agrees'),
    ('71-43-2', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 353.2, 351.7, 1.5, 0.5, 'differs'),
    ('141-78-6', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 350.2, 352.2, -2.0, 0.5, 'differs'),
    ('110-54-3', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 341.9, 321.9, 20.0, 0.5, 'differs'),
    ('67-64-1', 'normal_boiling_point', 0, 'CoolProp 1.2.3', 329.2, 324.2, 5.0, 0.5, 'differs'),
    ('64-17-5', 'vapour_pressure', 300, 'CoolProp 1.2.3', 10010.0, 10000.0, 0.001, 0.02, 'agrees'),
    ('64-17-5', 'vapour_pressure', 350, 'CoolProp 1.2.3', 100300.0, 100000.0, 0.003, 0.02, 'agrees'),
    ('64-17-5', 'vapour_pressure', 450, 'CoolProp 1.2.3', 1500000.0, 1000000.0, 0.5, 0.02, 'differs'),
    ('108-88-3', 'vapour_pressure', 350, 'CoolProp 1.2.3', 21000.0, 20000.0, 0.05, 0.02, 'differs'),
    ('64-17-5', 'enthalpy_of_vaporization', 298.15, 'CoolProp 1.2.3', 42000.0, 42300.0, -0.0071, 0.02, 'agrees'),
    ('64-17-5', 'enthalpy_of_vaporization', 350, 'CoolProp 1.2.3', 38000.0, 38300.0, -0.0078, 0.02, 'agrees'),
    ('7732-18-5', 'normal_boiling_point', 0, 'IAPWS-95', 373.12, 373.124, -0.004, 0.05, 'agrees'),
    ('64-17-5', 'normal_boiling_point', 0, 'order: boils below the critical temperature', 351.4, 514.0, 0, 0.5,
     'agrees'),
    ('71-43-2', 'normal_boiling_point', 0, 'order: boils below the critical temperature', 353.2, 340.0, 13.2, 0.5,
     'differs');

INSERT INTO adjudication (cas, property, stands_with, value, unit, source, remark) VALUES
    ('141-78-6', 'normal_boiling_point', 'ours', 350.1, 'K', 'Invented, Handbook of Nothing, 1900',
     'the equation was extrapolated');

INSERT INTO calibration VALUES
    ('normal_boiling_point', 'A', 100, 3, 0.95), ('normal_boiling_point', 'B', 200, 9, 0.90),
    ('normal_boiling_point', 'C', 10, 1, 0.50), ('normal_boiling_point', 'D', 0, 0, NULL),
    ('melting_point', 'A', 40, 2, 0.975), ('flash_point', 'B', 29, 0, 1.0);

INSERT INTO source_model VALUES
    ('normal_boiling_point', 'alpha_handbook', 'values', 'coarse', 'few', 20, 0.5, 0.10),
    ('normal_boiling_point', 'alpha_handbook', 'values', 'fine', 'many', 400, 0.1, 0.01),
    ('normal_boiling_point', 'epsilon_curves', 'correlations', 'covers', 'some', 30, 0.2, 0.02),
    ('critical_pressure', 'beta_journal', 'values', 'fine', 'some', 30, 0.01, 0.05);

INSERT INTO structure_model VALUES
    ('all', 100, 3.0, 15.0, 0.95, 0.9, 10.0, 2.5), ('silicon', 10, 6.0, 20.0, 0.9, 0.0, NULL, NULL);

INSERT INTO rejected VALUES
    ('alpha_handbook', 1, '*', NULL, 'a	b', 'CAS number: its check digit is wrong'),
    ('alpha_handbook', 1, 'Tb', NULL, 'b', 'there is no unit'),
    ('beta_journal', 7, '*', NULL, 'c', 'CAS number: more than ten digits'),
    ('beta_journal', 8, 'Tb', '64-17-5', '<d>', 'there is no unit');
