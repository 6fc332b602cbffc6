package sequence

func newExact(m *model, seed int64) worker { return nil }
