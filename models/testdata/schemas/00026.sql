INSERT INTO plan_problems (hash, text) VALUES ('5f70bf18a086007016e948b04aed3b82103a36bea41755b6cddfaf10ace3c6ef', x'1f8b08');
INSERT INTO plan_runs (plan_id, problem_id, tap_seq, work, searches, answer, program)
SELECT id, 1, 0, 20, 1, 'a41755b6cddfaf10ace3c6ef5f70bf18a086007016e948b04aed3b82103a36be', '' FROM plans;
