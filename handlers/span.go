package handlers

// exactSpan says minutes as tapform.Span reads them back, losing none: "45 min",
// "1 h 30", "24 h", "7 days", "2 days 12 h", "3 days 5 min".
func (w words) exactSpan(minutes int) string {
	const day = 24 * 60
	rest := minutes % day
	switch {
	case minutes < 2*day || minutes >= 1000*day: // a thousand is grouped, and not read back
		return span(minutes)
	case rest == 0:
		return w.say("%d days", minutes/day)
	default:
		return w.say("%d days", minutes/day) + " " + span(rest)
	}
}
