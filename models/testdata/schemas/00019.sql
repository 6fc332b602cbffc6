INSERT INTO plan_days (day, first_plan_id, journal) VALUES ('2026-11-26', 1, 9);
