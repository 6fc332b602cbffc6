UPDATE steps SET pinned_at = '2026-11-30 08:00:00+00:00' WHERE id = 3;
