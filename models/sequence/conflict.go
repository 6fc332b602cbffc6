package sequence

// conflict names tasks that cannot be placed together.
func (s *solver) conflict(p *Problem) []string {
	ids := []string{}
	for _, t := range s.m.broken {
		ids = append(ids, s.m.tasks[t].id)
	}
	return ids
}
