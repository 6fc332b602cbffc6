package seed

// demoCommissions are the orders of the demo shop. Names and clients are invented.
func demoCommissions() []demoCommission {
	return []demoCommission{
		{name: "Bench for the hall", client: "Oduya family", pattern: "hall-bench", weight: 3, takenAgo: 10, promisedIn: 3},
	}
}

// demoToday is the morning of the start.
func demoToday() []demoEvent {
	return nil
}
